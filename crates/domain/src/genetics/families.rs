//! What records can tell of heredity: additive variance shows in how families differ, not in how clones do.

use crate::{Genotype, Id, Origin, Project, Trait};
use chrono::Datelike as _;
use quant::evaluation::half_sib_heritability_standard_error;
use std::collections::{BTreeMap, BTreeSet};

/// The heritabilities of single records that are published for hops: 0.04 to 0.29 (`McAdam` et al. 2014, Tree Genetics &
/// Genomes) and 0.57 to 0.89 (Henning & Townsend 2005, Crop Sci.). Before any family was seen, all between the least and
/// the greatest are alike likely: traits and yards differ by as much.
pub const PUBLISHED_HERITABILITIES: [f64; 2] = [0.04, 0.89];
/// The middle of [`PUBLISHED_HERITABILITIES`]: what is expected before any record.
pub const USUAL_HERITABILITY: f64 = 0.465;
/// The heritability at which it is judged whether families tell anything. Our own rule.
const JUDGED_AT: f64 = 0.25;

/// How likely a heritability is before any family was seen, as a density but for a constant.
pub(crate) fn usual_heritability(heritability: f64) -> f64 {
    let [least, most] = PUBLISHED_HERITABILITIES;
    f64::from(u8::from((least..=most).contains(&heritability)))
}

/// Families whose standard error of heritability is above this tell nothing. Our own rule.
const TOO_WIDE: f64 = 0.35;

/// The families of full sibs that a trait was recorded in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FamilyEvidence {
    /// How many have two recorded seedlings or more.
    pub families: usize,
    /// How many recorded seedlings these have, on average.
    pub size: f64,
    /// In how many years they were first recorded: what families of different years differ by may be the years.
    pub years: usize,
}

impl FamilyEvidence {
    /// Of the records of a trait.
    pub fn of(project: &Project, of_trait: Id<Trait>) -> Self {
        let mut recorded: BTreeMap<Id<Genotype>, i32> = BTreeMap::new();
        for each in project.observations_of_trait(of_trait) {
            let first = recorded.entry(each.genotype).or_insert(i32::MAX);
            *first = each.date.year().min(*first);
        }
        let mut seedlings: BTreeMap<_, (usize, i32)> = BTreeMap::new();
        for (plant, year) in recorded {
            if let Some(Origin::Cross { cross }) =
                project.genotypes().get(plant).map(|plant| &plant.origin)
                && let Some(cross) = project.crosses().get(*cross)
            {
                let males: Vec<Id<Genotype>> = cross.pollen.males().collect();
                let family = seedlings
                    .entry((cross.female, males))
                    .or_insert((0, i32::MAX));
                *family = (family.0 + 1, family.1.min(year));
            }
        }
        let families: Vec<(usize, i32)> = seedlings
            .into_values()
            .filter(|family| family.0 > 1)
            .collect();
        let sizes: Vec<usize> = families.iter().map(|family| family.0).collect();
        let years: BTreeSet<i32> = families.iter().map(|family| family.1).collect();
        Self {
            years: years.len(),
            families: sizes.len(),
            size: sizes.iter().sum::<usize>() as f64 / sizes.len().max(1) as f64,
        }
    }

    /// The standard error of a heritability from so many families of full sibs, twice that of their intraclass
    /// correlation (Robertson 1959, Biometrics 15:219-226; Falconer & Mackay 1996, ch. 10). `None` below two families.
    pub fn standard_error(self, heritability: f64) -> Option<f64> {
        let size = self.size.floor() as usize;
        // Years take as many differences between families as there are years beyond the first.
        let families = (self.families + 1).saturating_sub(self.years.max(1));
        let of_half_sibs =
            half_sib_heritability_standard_error(families, size, 0.5 * heritability)?;
        Some(0.5 * of_half_sibs)
    }

    /// Whether additive variance can be told apart from that between clones at all.
    pub fn tells(self) -> bool {
        self.standard_error(JUDGED_AT)
            .is_some_and(|error| error <= TOO_WIDE)
    }

    /// Why nothing can be told, and what it would take, in words.
    pub fn words(self) -> String {
        let families = crate::words::plural(self.families as u32, "family has", "families have");
        let years = if self.years > 1 {
            format!(
                " in {} years, which may be all that they differ by",
                self.years
            )
        } else {
            String::new()
        };
        let need = (2..200)
            .find(|&families| {
                Self {
                    families,
                    size: 5.0,
                    years: 1,
                }
                .tells()
            })
            .unwrap_or(200);
        format!(
            "can\u{2019}t be told from these records: {} {families} two recorded seedlings or more{years}, and plants that are no sibs show only how clones differ. It would take about {need} families of five in one year",
            self.families
        )
    }
}
