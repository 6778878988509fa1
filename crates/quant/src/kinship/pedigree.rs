//! A checked pedigree, stored by full-sib family.

use super::doses::{Side, doses};
use super::founders::FounderKinship;
use super::order::{ABSENT, ancestors_first};
use super::{Gamete, Genotype, Origin, PedigreeError, Ploidy, PollenMix, Source};
use std::borrow::Cow;
use std::collections::HashMap;

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
        let Interned {
            mut family_of,
            distinct,
        } = Interned::collect(genotypes)?;
        let mut resolver = Resolver {
            assumptions,
            ploidy: |genotype: usize| {
                let &family = family_of.get(genotype)?;
                Some(distinct[family as usize].record.ploidy)
            },
            families: Vec::with_capacity(distinct.len()),
            starts: vec![0],
            donors: Vec::with_capacity(2 * distinct.len()),
        };
        for found in &distinct {
            resolver.add(found)?;
        }
        let regressions = assumptions.founders.regressions(|genotype| {
            family_of
                .get(genotype)
                .map(|&family| distinct[family as usize].record)
        })?;
        let mut regressed = Vec::with_capacity(regressions.len());
        for founder in &regressions {
            let ploidy = (resolver.ploidy)(founder.genotype).unwrap_or(Ploidy::DIPLOID);
            resolver
                .donors
                .extend(founder.on.iter().map(|&(other, share)| Donor {
                    parent: other as u32,
                    share,
                }));
            let descent = Descent::Regressed {
                residual: founder.residual,
                self_coancestry: founder.self_coancestry,
            };
            regressed.push((
                founder.genotype,
                resolver.finish(Family { ploidy, descent }),
            ));
        }
        let Resolver {
            families,
            starts,
            mut donors,
            ..
        } = resolver;
        for (genotype, family) in regressed {
            family_of[genotype] = family;
        }

        let donors_of = |genotype: usize| {
            let family = family_of[genotype] as usize;
            &donors[starts[family]..starts[family + 1]]
        };
        let (parents, position) = ancestors_first(
            family_of.len(),
            donors.iter().map(|donor| donor.parent),
            donors_of,
        )
        .map_err(|members| PedigreeError::Cycle { members })?;
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

/// A distinct record and the first genotype that has it, to be named in errors.
struct Distinct {
    record: Genotype,
    first: usize,
}

/// Records with repeats folded together.
struct Interned {
    family_of: Vec<u32>,
    distinct: Vec<Distinct>,
}

impl Interned {
    fn collect(genotypes: impl IntoIterator<Item = Genotype>) -> Result<Self, PedigreeError> {
        let genotypes = genotypes.into_iter();
        let mut family_of: Vec<u32> = Vec::with_capacity(genotypes.size_hint().0);
        let mut distinct: Vec<Distinct> = Vec::new();
        let mut known = HashMap::new();
        for record in genotypes {
            // Sibs mostly stand together; asking the neighbour first saves the look-up.
            let neighbour = family_of
                .last()
                .copied()
                .filter(|&family| distinct[family as usize].record == record);
            let family = neighbour.unwrap_or_else(|| {
                *known.entry(Identity::of(&record)).or_insert_with(|| {
                    distinct.push(Distinct {
                        record,
                        first: family_of.len(),
                    });
                    (distinct.len() - 1) as u32
                })
            });
            family_of.push(family);
        }
        // Three values of the index type are kept as markers.
        if family_of.len() >= (u32::MAX - 2) as usize {
            return Err(PedigreeError::TooLarge);
        }
        Ok(Self {
            family_of,
            distinct,
        })
    }
}

/// A record as integers, to be hashed.
#[derive(PartialEq, Eq, Hash)]
struct Identity {
    ploidy: Ploidy,
    /// Kind of source and its index, of each side.
    sources: [(u8, usize); 2],
    /// What is stated of dose and double reduction, of each side.
    meioses: [(Option<u8>, Option<u64>); 2],
}

impl Identity {
    fn of(record: &Genotype) -> Self {
        let source = |gamete: &Gamete| match gamete.source {
            Source::Unknown => (0, 0),
            Source::Plant(plant) => (1, plant),
            Source::Mix(mix) => (2, mix),
        };
        let meiosis = |gamete: &Gamete| (gamete.dose, gamete.double_reduction.map(f64::to_bits));
        let (sources, meioses) = match &record.origin {
            Origin::Founder => ([(3, 0); 2], [(None, None); 2]),
            Origin::Doubled { source } => ([(4, *source); 2], [(None, None); 2]),
            Origin::Variant { source } => ([(5, *source); 2], [(None, None); 2]),
            Origin::Cross { female, male } => (
                [source(female), source(male)],
                [meiosis(female), meiosis(male)],
            ),
        };
        Self {
            ploidy: record.ploidy,
            sources,
            meioses,
        }
    }
}

/// Turns distinct records into families. Until the order of descent is known, donors hold genotype indices.
struct Resolver<'a, P> {
    assumptions: &'a Assumptions,
    /// Ploidy of a genotype, `None` if there is no such genotype.
    ploidy: P,
    families: Vec<Family>,
    starts: Vec<usize>,
    donors: Vec<Donor>,
}

impl<P: Fn(usize) -> Option<Ploidy>> Resolver<'_, P> {
    fn add(
        &mut self,
        &Distinct {
            record: Genotype { ploidy, origin },
            first,
        }: &Distinct,
    ) -> Result<(), PedigreeError> {
        let descent = match origin {
            Origin::Founder => {
                let larger = ploidy.sets().div_ceil(2);
                let gamete = |dose| Meiosis {
                    dose,
                    double_reduction: 0.0,
                    donors: 0,
                };
                Descent::Gametes([gamete(larger), gamete(ploidy.sets() - larger)])
            }
            Origin::Cross { female, male } => self.cross(first, ploidy, [female, male])?,
            Origin::Doubled { source } => self.copy(first, ploidy, source, 2)?,
            Origin::Variant { source } => self.copy(first, ploidy, source, 1)?,
        };
        self.finish(Family { ploidy, descent });
        Ok(())
    }

    /// Closes the family whose donors were pushed last and returns its number.
    fn finish(&mut self, family: Family) -> u32 {
        self.families.push(family);
        self.starts.push(self.donors.len());
        (self.families.len() - 1) as u32
    }

    fn ploidy_of(&self, genotype: usize, parent: usize) -> Result<Ploidy, PedigreeError> {
        (self.ploidy)(parent).ok_or(PedigreeError::MissingParent { genotype, parent })
    }

    fn copy(
        &mut self,
        genotype: usize,
        ploidy: Ploidy,
        source: usize,
        times: u16,
    ) -> Result<Descent, PedigreeError> {
        let expected = times * u16::from(self.ploidy_of(genotype, source)?.sets());
        if u16::from(ploidy.sets()) != expected {
            return Err(PedigreeError::CopyPloidy {
                genotype,
                ploidy,
                expected,
            });
        }
        self.donors.push(Donor {
            parent: source as u32,
            share: 1.0,
        });
        Ok(Descent::Copy)
    }

    fn cross(
        &mut self,
        genotype: usize,
        ploidy: Ploidy,
        gametes: [Gamete; 2],
    ) -> Result<Descent, PedigreeError> {
        let mut parents = [None; 2];
        for (parent, gamete) in parents.iter_mut().zip(&gametes) {
            *parent = self.parent_ploidy(genotype, ploidy, gamete)?;
        }
        let [female, male] = [0, 1].map(|side| Side {
            parent: parents[side],
            stated: gametes[side].dose,
        });
        let doses = doses(ploidy.sets(), female, male).map_err(|fault| PedigreeError::Dose {
            genotype,
            ploidy,
            fault,
        })?;
        let mut settled = [Meiosis {
            dose: 0,
            double_reduction: 0.0,
            donors: 0,
        }; 2];
        for side in 0..2 {
            let (gamete, dose) = (&gametes[side], doses[side]);
            let reduced = parents[side].is_some_and(|sets| sets >= 4 && dose < sets);
            let default = if reduced {
                self.assumptions.double_reduction
            } else {
                0.0
            };
            let double_reduction = gamete.double_reduction.unwrap_or(default);
            if !(0.0..=1.0).contains(&double_reduction) {
                return Err(PedigreeError::DoubleReduction {
                    genotype: Some(genotype),
                    probability: double_reduction,
                });
            }
            let donors = if dose == 0 {
                0
            } else {
                self.push_donors(gamete.source, f64::from(dose) / ploidy.genes())
            };
            settled[side] = Meiosis {
                dose,
                double_reduction,
                donors,
            };
        }
        Ok(Descent::Gametes(settled))
    }

    /// Sets of the plants a gamete may come from; those of a mix must agree unless the dose is stated.
    fn parent_ploidy(
        &self,
        genotype: usize,
        ploidy: Ploidy,
        gamete: &Gamete,
    ) -> Result<Option<u8>, PedigreeError> {
        match gamete.source {
            Source::Unknown => Ok(None),
            Source::Plant(plant) => Ok(Some(self.ploidy_of(genotype, plant)?.sets())),
            Source::Mix(mix) => {
                let PollenMix { members } = self
                    .assumptions
                    .mixes
                    .get(mix)
                    .ok_or(PedigreeError::MissingMix { genotype, mix })?;
                let mut range: Option<(u8, u8)> = None;
                for &(plant, _) in members {
                    let sets = self.ploidy_of(genotype, plant)?.sets();
                    range = Some(range.map_or((sets, sets), |(least, most)| {
                        (least.min(sets), most.max(sets))
                    }));
                }
                match range {
                    Some((least, most)) if least != most && gamete.dose.is_none() => {
                        Err(PedigreeError::Dose {
                            genotype,
                            ploidy,
                            fault: super::DoseFault::Ambiguous,
                        })
                    }
                    _ => Ok(range.map(|(least, _)| least)),
                }
            }
        }
    }

    /// Adds the plants a gamete may come from, which together give `share` of the child's genes.
    fn push_donors(&mut self, source: Source, share: f64) -> usize {
        let before = self.donors.len();
        match source {
            Source::Unknown => {}
            Source::Plant(plant) => self.donors.push(Donor {
                parent: plant as u32,
                share,
            }),
            Source::Mix(mix) => self
                .donors
                .extend(
                    self.assumptions.mixes[mix]
                        .members
                        .iter()
                        .map(|&(plant, part)| Donor {
                            parent: plant as u32,
                            share: share * part,
                        }),
                ),
        }
        self.donors.len() - before
    }
}
