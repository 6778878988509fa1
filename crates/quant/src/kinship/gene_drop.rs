//! Gene dropping: founder genes followed to a group by chance.

use super::contributions::Founder;
use super::pedigree::{Descent, Donor, Meiosis, Pedigree};
use fastrand::Rng;
use std::collections::BTreeMap;

/// Founder genes found again in a group, averaged over simulated loci.
#[derive(Clone, Debug, PartialEq)]
pub struct GeneDrop {
    /// Each founder with its contribution to the group and the share of its genes found there (retention).
    pub founders: Vec<(Founder, f64, f64)>,
    /// Number of loci simulated.
    pub loci: u32,
}

impl GeneDrop {
    /// Lacy's founder genome equivalents, `f_g` = 1 / Σ (p²/r) with contribution p and retention r (Lacy 1989, Zoo
    /// Biol. 8:111-123). `None` for an empty group.
    ///
    /// A founder that was never seen although it contributes counts as seen half a time in all loci.
    pub fn founder_genomes(&self) -> Option<f64> {
        let unseen = 0.5 / f64::from(self.loci.max(1));
        let sum: f64 = self
            .founders
            .iter()
            .map(|&(_, p, r)| p * p / r.max(unseen))
            .sum();
        (sum > 0.0).then(|| sum.recip())
    }
}

impl Pedigree {
    /// Drops the genes of every founder through the pedigree, at `loci` independent loci.
    ///
    /// All founder genes are told apart, even those of related founders. Two genes of a gamete are copies of one
    /// parental gene with the gamete's probability of double reduction. The same seed gives the same result.
    pub fn gene_drop(&self, group: &[usize], loci: u32, seed: u64) -> GeneDrop {
        let contributions = self.founder_contributions(group);
        let mut found: BTreeMap<Founder, (u64, u64)> = BTreeMap::new();
        let mut members = group.to_vec();
        members.sort_unstable();
        members.dedup();
        let mut drop = Drop {
            pedigree: self,
            random: Rng::with_seed(seed),
            genes: Vec::new(),
            origins: Vec::new(),
        };
        let mut own = Vec::new();
        for _ in 0..loci {
            drop.parents();
            let mut present = vec![false; drop.origins.len()];
            for &member in &members {
                match self.position(member) {
                    Some(place) => own.clone_from(&drop.genes[place]),
                    None => drop.child(member, &mut own),
                }
                present.resize(drop.origins.len(), false);
                for &gene in &own {
                    present[gene as usize] = true;
                }
            }
            for (origin, present) in drop.origins.iter().zip(present) {
                let (seen, dropped) = found.entry(*origin).or_default();
                *seen += u64::from(present);
                *dropped += 1;
            }
        }
        let retention = |founder: &Founder| {
            found
                .get(founder)
                .map_or(0.0, |&(seen, dropped)| seen as f64 / dropped as f64)
        };
        let founders = contributions
            .into_iter()
            .map(|(founder, p)| (founder, p, retention(&founder)))
            .collect();
        GeneDrop { founders, loci }
    }

    /// The genes of each member of a group, in its order and each gene by the number of the founder gene that it is
    /// a copy of, at `loci` independent loci. The same seed gives the same result.
    pub fn dropped_genes(&self, group: &[usize], loci: u32, seed: u64) -> Vec<Vec<u32>> {
        let mut drop = Drop {
            pedigree: self,
            random: Rng::with_seed(seed),
            genes: Vec::new(),
            origins: Vec::new(),
        };
        let mut own = Vec::new();
        (0..loci)
            .map(|_| {
                drop.parents();
                let mut of_group = Vec::with_capacity(2 * group.len());
                for &member in group {
                    if let Some(place) = self.position(member) {
                        of_group.extend(&drop.genes[place]);
                    } else {
                        drop.child(member, &mut own);
                        of_group.extend(&own);
                    }
                }
                of_group
            })
            .collect()
    }
}

/// One locus.
struct Drop<'p> {
    pedigree: &'p Pedigree,
    random: Rng,
    /// Genes of each parent.
    genes: Vec<Vec<u32>>,
    /// Where each gene entered.
    origins: Vec<Founder>,
}

impl Drop<'_> {
    fn parents(&mut self) {
        self.genes.clear();
        self.origins.clear();
        for place in 0..self.pedigree.parent_count() {
            let mut own = Vec::new();
            self.child(self.pedigree.parent(place), &mut own);
            self.genes.push(own);
        }
    }

    /// Draws the genes of a genotype whose parents have theirs.
    fn child(&mut self, genotype: usize, own: &mut Vec<u32>) {
        own.clear();
        let family = self.pedigree.family(genotype);
        let donors = self.pedigree.known_donors(family);
        let sets = self.pedigree.ploidy(genotype).sets();
        match self.pedigree.families()[family].descent {
            Descent::Regressed { .. } => self.enter(Founder::Plant(genotype), sets, own),
            Descent::Gametes(_) if donors.is_empty() => {
                self.enter(Founder::Plant(genotype), sets, own);
            }
            Descent::Copy => {
                let source = &self.genes[donors[0].parent as usize];
                own.extend(source.iter().cycle().take(usize::from(sets)));
            }
            Descent::Gametes(gametes) => {
                let (female, male) = donors.split_at(gametes[0].donors);
                for (gamete, donors) in gametes.iter().zip([female, male]) {
                    self.gamete(genotype, f64::from(sets), gamete, donors, own);
                }
            }
        }
    }

    fn enter(&mut self, founder: Founder, genes: u8, own: &mut Vec<u32>) {
        for _ in 0..genes {
            own.push(self.origins.len() as u32);
            self.origins.push(founder);
        }
    }

    fn gamete(
        &mut self,
        genotype: usize,
        sets: f64,
        gamete: &Meiosis,
        donors: &[Donor],
        own: &mut Vec<u32>,
    ) {
        let dose = usize::from(gamete.dose);
        let mut drawn = self.random.f64() * f64::from(gamete.dose) / sets;
        let chosen = donors.iter().find(|donor| {
            drawn -= donor.share;
            drawn < 0.0
        });
        // Rounding must not turn the last of several donors into an unknown one.
        let known: f64 = donors.iter().map(|donor| donor.share * sets).sum();
        let complete = known > f64::from(gamete.dose) - 1e-9;
        let Some(donor) = chosen.or(if complete { donors.last() } else { None }) else {
            return self.enter(Founder::UnknownParentOf(genotype), gamete.dose, own);
        };
        let parental = &self.genes[donor.parent as usize];
        if dose > 1 && self.random.f64() < gamete.double_reduction {
            let copied = parental[self.random.usize(..parental.len())];
            own.extend(std::iter::repeat_n(copied, dose));
        } else {
            own.extend(self.random.choose_multiple(parental.iter().copied(), dose));
        }
    }
}
