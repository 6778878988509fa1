//! A checked pedigree, stored by full-sib family.

use super::founders::FounderKinship;
use super::order::{ABSENT, Cycle, Order, ancestors_first};
use super::records::Distinct;
use super::resolve::{Resolved, Resolver};
use super::{Genotype, PedigreeError, Ploidy, PollenMix};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// What a pedigree is read with, besides its records.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Assumptions {
    /// Pollen mixes that gametes refer to by index.
    pub mixes: Vec<PollenMix>,
    /// Founders that are related or inbred.
    pub founders: FounderKinship,
    /// Double reduction of gametes that do not state their own: it applies to reduced gametes of two genes or
    /// more from known plants of four sets or more. Between 0 (the default) and about 1/6.
    pub double_reduction: f64,
}

/// Genotypes with their descent, checked: every parent exists, nobody is their own ancestor, gametes add up.
///
/// Records may come in any order. Genotypes with the same parentage, ploidy and gametes share one stored
/// *family*, as they share inbreeding; only genotypes that are parents are kept in order of descent. The cost of
/// a large pedigree is therefore that of its families and parents, plus a few bytes per genotype.
#[derive(Clone, Debug)]
pub struct Pedigree {
    /// Family of each genotype.
    family_of: Vec<u32>,
    families: Vec<Family>,
    /// Where each family's donors start in `donors`, and one more.
    starts: Vec<usize>,
    donors: Vec<Donor>,
    /// Genotypes that something descends from, ancestors first.
    parents: Vec<u32>,
    /// Place of each genotype in `parents`, or `ABSENT`.
    position: Vec<u32>,
}

/// Distinct parentage.
#[derive(Clone, Copy, Debug)]
pub(super) struct Family {
    pub(super) ploidy: Ploidy,
    pub(super) descent: Descent,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum Descent {
    /// Two gametes; the family's donors are those of the first and then those of the second.
    /// A founder has two gametes without donors.
    Gametes([Meiosis; 2]),
    /// All genes of the one donor, each equally often.
    Copy,
    /// A founder regressed on other founders.
    Regressed { residual: f64, self_coancestry: f64 },
}

/// One gamete, its dose and double reduction settled.
#[derive(Clone, Copy, Debug)]
pub(super) struct Meiosis {
    pub(super) dose: u8,
    pub(super) double_reduction: f64,
    /// How many of the family's donors belong to it: none if unknown, several for a mix.
    pub(super) donors: usize,
}

/// A plant that genes came from, with the expected share of the child's genes that are its.
#[derive(Clone, Copy, Debug)]
pub(super) struct Donor {
    /// Place among the parents in order of descent.
    pub(super) parent: u32,
    pub(super) share: f64,
}

impl Pedigree {
    /// Checks the records, in any order, and works out their descent.
    pub fn new(
        genotypes: impl IntoIterator<Item = Genotype>,
        assumptions: &Assumptions,
    ) -> Result<Self, PedigreeError> {
        assumptions.check()?;
        let unordered = Unordered::new(Distinct::collect(genotypes)?, assumptions)?;
        let (parents, position) = unordered.ancestors_first().map_err(|mut cycles| {
            let members = cycles.swap_remove(0);
            PedigreeError::Cycle { members }
        })?;
        let Unordered {
            family_of,
            families,
            starts,
            mut donors,
        } = unordered;
        for donor in &mut donors {
            donor.parent = position[donor.parent as usize];
        }
        Ok(Self {
            family_of,
            families,
            starts,
            donors,
            parents,
            position,
        })
    }

    /// Every fault that a record has by itself, such as sets of chromosomes that no gametes give, with the genotypes of that
    /// record; where no record has any, every cycle, with its members. [`Self::new`] tells of the first alone.
    pub fn faults(
        genotypes: impl IntoIterator<Item = Genotype>,
        assumptions: &Assumptions,
    ) -> Vec<(PedigreeError, Vec<usize>)> {
        let Ok(records) = Distinct::collect(genotypes) else {
            return Vec::new();
        };
        let found = Resolver::new(&records, assumptions).faults();
        if found.is_empty() {
            let cycles = Unordered::new(records, assumptions)
                .ok()
                .and_then(|unordered| unordered.ancestors_first().err());
            let told = |members: Vec<usize>| {
                let error = PedigreeError::Cycle {
                    members: members.clone(),
                };
                (error, members)
            };
            return cycles.into_iter().flatten().map(told).collect();
        }
        let mut members: BTreeMap<u32, Vec<usize>> = found
            .iter()
            .map(|(record, _)| (*record, Vec::new()))
            .collect();
        for (genotype, record) in records.family_of.iter().enumerate() {
            if let Some(members) = members.get_mut(record) {
                members.push(genotype);
            }
        }
        found
            .into_iter()
            .map(|(record, fault)| (fault, members.remove(&record).unwrap_or_default()))
            .collect()
    }

    /// Number of genotypes.
    pub fn len(&self) -> usize {
        self.family_of.len()
    }

    /// Whether there are no genotypes.
    pub fn is_empty(&self) -> bool {
        self.family_of.is_empty()
    }

    /// Ploidy of a genotype.
    ///
    /// # Panics
    /// If there is no such genotype; as in all functions that take an index.
    pub fn ploidy(&self, genotype: usize) -> Ploidy {
        self.families[self.family_of[genotype] as usize].ploidy
    }

    /// Genes in the female and the male gamete of a genotype; `None` if it is a clone or a doubled plant.
    pub fn doses(&self, genotype: usize) -> Option<[u8; 2]> {
        match self.families[self.family_of[genotype] as usize].descent {
            Descent::Gametes(gametes) => Some(gametes.map(|gamete| gamete.dose)),
            Descent::Copy | Descent::Regressed { .. } => None,
        }
    }

    /// Number of distinct parentages: genotypes that share one are full sibs.
    pub fn family_count(&self) -> usize {
        self.families.len()
    }

    /// Which of the distinct parentages is a genotype's.
    pub fn family(&self, genotype: usize) -> usize {
        self.family_of[genotype] as usize
    }

    /// The genotypes that others descend from, ancestors before their descendants.
    pub fn parents(&self) -> impl ExactSizeIterator<Item = usize> + '_ {
        self.parents.iter().map(|&genotype| genotype as usize)
    }

    /// Known parents of a genotype, each with the share of the genotype's genes expected from it.
    pub fn donors(&self, genotype: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let known = self.known_donors(self.family(genotype));
        known
            .iter()
            .map(|donor| (self.parents[donor.parent as usize] as usize, donor.share))
    }

    pub(super) fn families(&self) -> &[Family] {
        &self.families
    }

    pub(super) fn family_donors(&self, family: usize) -> &[Donor] {
        &self.donors[self.starts[family]..self.starts[family + 1]]
    }

    /// Donors of a family that are its parents: none for a founder, even one related to other founders.
    pub(super) fn known_donors(&self, family: usize) -> &[Donor] {
        match self.families[family].descent {
            Descent::Regressed { .. } => &[],
            Descent::Gametes(_) | Descent::Copy => self.family_donors(family),
        }
    }

    pub(super) fn parent_count(&self) -> usize {
        self.parents.len()
    }

    pub(super) fn parent(&self, position: usize) -> usize {
        self.parents[position] as usize
    }

    /// Family of the parent at a place in order of descent.
    pub(super) fn family_at(&self, position: usize) -> usize {
        self.family_of[self.parents[position] as usize] as usize
    }

    /// Donors of the parent at a place in order of descent.
    pub(super) fn donors_at(&self, position: usize) -> &[Donor] {
        self.family_donors(self.family_at(position))
    }

    /// Place of a genotype among the parents, if it is one.
    pub(super) fn position(&self, genotype: usize) -> Option<usize> {
        let position = self.position[genotype];
        (position != ABSENT).then_some(position as usize)
    }

    /// A genotype as shares of parents, up to its own Mendelian sampling: itself if it is a parent.
    pub(super) fn expressed(&self, genotype: usize) -> Cow<'_, [Donor]> {
        match self.position(genotype) {
            Some(position) => Cow::Owned(vec![Donor {
                parent: position as u32,
                share: 1.0,
            }]),
            None => Cow::Borrowed(self.family_donors(self.family(genotype))),
        }
    }
}

/// A pedigree whose records are settled one by one, its order of descent not worked out yet: parents of donors are genotypes.
struct Unordered {
    family_of: Vec<u32>,
    families: Vec<Family>,
    starts: Vec<usize>,
    donors: Vec<Donor>,
}

impl Unordered {
    fn new(mut records: Distinct, assumptions: &Assumptions) -> Result<Self, PedigreeError> {
        let mut resolver = Resolver::new(&records, assumptions);
        resolver.add_records()?;
        let related = resolver.add_related_founders()?;
        let Resolved {
            families,
            starts,
            donors,
        } = resolver.finish();
        for (founder, family) in related {
            records.family_of[founder] = family;
        }
        Ok(Self {
            family_of: records.family_of,
            families,
            starts,
            donors,
        })
    }

    /// See [`ancestors_first`].
    fn ancestors_first(&self) -> Result<Order, Vec<Cycle>> {
        let donors_of = |genotype: usize| {
            let family = self.family_of[genotype] as usize;
            &self.donors[self.starts[family]..self.starts[family + 1]]
        };
        let parents = self.donors.iter().map(|donor| donor.parent);
        ancestors_first(self.family_of.len(), parents, donors_of)
    }
}

impl Assumptions {
    fn check(&self) -> Result<(), PedigreeError> {
        if !(0.0..=1.0).contains(&self.double_reduction) {
            return Err(PedigreeError::DoubleReduction {
                genotype: None,
                probability: self.double_reduction,
            });
        }
        for (mix, PollenMix { members }) in self.mixes.iter().enumerate() {
            let total: f64 = members.iter().map(|&(_, share)| share).sum();
            if total.is_nan()
                || total > 1.0 + 1e-9
                || members.iter().any(|&(_, share)| share <= 0.0)
            {
                return Err(PedigreeError::Shares { mix });
            }
        }
        Ok(())
    }
}
