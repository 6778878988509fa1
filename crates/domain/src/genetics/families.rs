//! What records can tell of heredity: additive variance shows in how families differ, not in how clones do.

use crate::{Genotype, Id, Origin, Project, Trait};
use quant::evaluation::half_sib_heritability_standard_error;
use std::collections::{BTreeMap, BTreeSet};

/// Heritability of single records before any family was seen, and how sure that is: the middle of what is published for
/// hops, 0.04 to 0.29 (`McAdam` et al. 2014, Tree Genetics & Genomes) and 0.57 to 0.89 (Henning & Townsend 2005, Crop
/// Sci.), drawn towards the lower, which rests on more families.
pub const USUAL_HERITABILITY: f64 = 0.25;
/// The standard deviation of that, so that two times it covers nearly all that is published. Our own judgement.
const USUAL_SPREAD: f64 = 0.2;
/// Families whose standard error of heritability is above this tell nothing. Our own rule.
const TOO_WIDE: f64 = 0.35;

/// The families of full sibs that a trait was recorded in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FamilyEvidence {
    /// How many have two recorded seedlings or more.
    pub families: usize,
    /// How many recorded seedlings these have, on average.
    pub size: f64,
}

impl FamilyEvidence {
    /// Of the records of a trait.
    pub fn of(project: &Project, of_trait: Id<Trait>) -> Self {
        let recorded: BTreeSet<Id<Genotype>> = project
            .observations_of_trait(of_trait)
            .map(|each| each.genotype)
            .collect();
        let mut seedlings: BTreeMap<_, usize> = BTreeMap::new();
        for plant in recorded {
            if let Some(Origin::Cross { cross }) =
                project.genotypes().get(plant).map(|plant| &plant.origin)
                && let Some(cross) = project.crosses().get(*cross)
            {
                let males: Vec<Id<Genotype>> = cross.pollen.males().collect();
                *seedlings.entry((cross.female, males)).or_default() += 1;
            }
        }
        let sizes: Vec<usize> = seedlings.into_values().filter(|size| *size > 1).collect();
        Self {
            families: sizes.len(),
            size: sizes.iter().sum::<usize>() as f64 / sizes.len().max(1) as f64,
        }
    }

    /// The standard error of a heritability from so many families of full sibs, twice that of their intraclass
    /// correlation (Robertson 1959, Biometrics 15:219-226; Falconer & Mackay 1996, ch. 10). `None` below two families.
    pub fn standard_error(self, heritability: f64) -> Option<f64> {
        let size = self.size.floor() as usize;
        let of_half_sibs =
            half_sib_heritability_standard_error(self.families, size, 0.5 * heritability)?;
        Some(0.5 * of_half_sibs)
    }

    /// Whether additive variance can be told apart from that between clones at all.
    pub fn tells(self) -> bool {
        self.standard_error(USUAL_HERITABILITY)
            .is_some_and(|error| error <= TOO_WIDE)
    }

    /// The heritability to go by: what was estimated and what is published, each as it is sure.
    pub fn weighed(self, estimated: f64) -> Option<f64> {
        let error = self.standard_error(estimated).filter(|_| self.tells())?;
        let (prior, own) = (USUAL_SPREAD.powi(-2), error.powi(-2));
        Some((prior * USUAL_HERITABILITY + own * estimated) / (prior + own))
    }

    /// Why nothing can be told, and what it would take, in words.
    pub fn words(self) -> String {
        let families = crate::actions::plural(self.families as u32, "family has", "families have");
        let need = (2..200)
            .find(|&families| {
                Self {
                    families,
                    size: 5.0,
                }
                .tells()
            })
            .unwrap_or(200);
        format!(
            "can\u{2019}t be told from these records: {} {families} two recorded seedlings or more, and plants that are no sibs show only how clones differ. It would take about {need} families of five",
            self.families
        )
    }
}
