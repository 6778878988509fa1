//! A pair that could be crossed, and what is expected of its seedlings.

use super::Exclusion;
use crate::{Genotype, Id, Ploidy, Trait};
use chrono::NaiveDate;

/// Pollen that can be had.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PollenAtHand {
    /// The plant that gives or gave it.
    pub male: Id<Genotype>,
    /// The last day pollen of it was put by, if any was.
    pub stored: Option<NaiveDate>,
}

/// What is expected of one seedling of a family, and how widely seedlings vary about it.
///
/// A seedling's value is taken as normal about `mean`. Two kinds of not knowing are kept apart: `spread` differs from
/// seedling to seedling, `standard_error` is shared by the whole family.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Outlook {
    /// Expected value of a seedling, in the trait's unit, or in index points.
    pub mean: f64,
    /// How far the whole family may lie from it, as a standard deviation: what isn't known of the parents.
    pub standard_error: f64,
    /// Standard deviation of true genetic values within the family (Mendelian sampling).
    pub spread: f64,
}

impl Outlook {
    /// Standard deviation of one seedling about the mean, the error of the family's mean included.
    pub fn whole(&self) -> f64 {
        self.spread.hypot(self.standard_error)
    }

    /// Expected true value of the one of many seedlings that looks best: picked at a selection `intensity` (of
    /// `n`: [`quant::chance::expected_best`]) on something that is correlated with the true value by `accuracy` within the
    /// family; 1 for the truly best. Schnell & Utz (1975).
    pub fn picked(&self, intensity: f64, accuracy: f64) -> f64 {
        quant::index::usefulness(self.mean, intensity, accuracy, self.spread)
    }
}

/// How the seedlings of a pair stand to each other and to the program.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Relatedness {
    /// Kinship f of the parents.
    pub of_parents: f64,
    /// Inbreeding F of the seedlings.
    pub inbreeding: f64,
    /// Mean kinship of a seedling with the living plants of the program.
    pub to_program: f64,
    /// How much more that is than the program's own mean kinship: above 0 the pair narrows the program.
    pub added: f64,
}

/// Resistance that a parent was seen to carry: a trait scored with an isolate, where it reached the threshold.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct ResistanceSource {
    /// The trait.
    pub of_trait: Id<Trait>,
    /// The isolate or race it was seen against.
    pub isolate: String,
}

/// The bad case of a pair: more inbred than the goals accept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BadCase {
    /// The chance of it.
    pub chance: f64,
    /// The inbreeding F of the seedlings in the worst of its cases.
    pub inbreeding: f64,
}

impl BadCase {
    /// The bad case in a sentence.
    pub fn words(self) -> String {
        format!(
            "With {:.0} % the seedlings are more inbred than the goals accept, up to F {:.3}: the father of a parent isn't known for sure.",
            100.0 * self.chance,
            self.inbreeding
        )
    }
}

/// A female and pollen for her, and what is expected of their seedlings.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// The seed parent.
    pub female: Id<Genotype>,
    /// The pollen.
    pub pollen: PollenAtHand,
    /// Why it is not offered; empty if it can be made.
    pub exclusions: Vec<Exclusion>,
    /// Sets of chromosomes of the seedlings; `None` where the gametes are odd.
    pub ploidy: Option<Ploidy>,
    /// The share of the genetic variance that is left within the family: 1/2 for parents not inbred, less for inbred.
    pub mendelian: f64,
    /// How much of each parent's value, and of its error, the seedlings get: 1/2 of diploids.
    pub transmitted: [f64; 2],
    /// What is expected in each trait, in the order of [`Goals::traits`](super::Goals); `None` where too little is
    /// known: a measurement that nobody took or described.
    pub traits: Vec<Option<Outlook>>,
    /// What is expected in the index: the sum over the traits of weight × standard deviations of breeding values
    /// the better way from the program's base. 0 is an unselected plant.
    pub index: Outlook,
    /// Correlation of index and true value within the family, when seedlings are picked on one record of each trait.
    pub accuracy: f64,
    /// Chance that a seedling reaches all thresholds; `None` without thresholds, or where too little is known.
    pub reaches_all: Option<f64>,
    /// Kinship figures.
    pub relatedness: Relatedness,
    /// Different sources of resistance that would meet: of the female, then of the pollen.
    pub sources: [usize; 2],
    /// What may come of it at worst where the father of a parent isn't known for sure, if that is more inbred than the
    /// goals accept.
    pub bad_case: Option<BadCase>,
}

impl Candidate {
    /// The true index expected of the seedling that looks best, picked on one record of each trait.
    pub fn best(&self, of: BestOf) -> f64 {
        self.index.picked(of.intensity(), self.accuracy)
    }

    /// Whether the pair can be made.
    pub const fn is_offered(&self) -> bool {
        self.exclusions.is_empty()
    }
}

/// A number of seedlings of which the best is picked, with the selection intensity that comes to: worked out once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BestOf {
    seedlings: u32,
    intensity: f64,
}

impl BestOf {
    /// The best of so many seedlings, one at least.
    pub fn seedlings(seedlings: u32) -> Self {
        let seedlings = seedlings.max(1);
        Self {
            seedlings,
            intensity: quant::chance::expected_best(f64::from(seedlings)),
        }
    }

    /// How many.
    pub const fn count(self) -> u32 {
        self.seedlings
    }

    /// The expected best of so many standard normal values, exact.
    pub const fn intensity(self) -> f64 {
        self.intensity
    }
}
