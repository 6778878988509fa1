//! What is measured on stored seed: replicates weighed, and germination tests.

use crate::date::InWords as _;
use crate::date::is_plausible;
use crate::id::{AnyId, Id};
use crate::ledger;
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::record::seed_lot::SeedLot;
use crate::refusal::Refusal;
use crate::units::Grams;
use chrono::NaiveDate;

record! {
    /// Replicates of counted seeds weighed, for the weight of a thousand and its error.
    SeedWeighing, SeedWeighingField {
        required {
            /// The lot.
            Lot lot "seed lot": Id<SeedLot>,
            /// The day.
            Date date: NaiveDate,
            /// How many seeds were counted for each replicate: 100, or 1,000.
            SeedsEach seeds_each "seeds in each replicate": u32,
            /// The weight of each replicate.
            Weights weights "weights of the replicates": Vec<Grams>,
        }
        optional {
            /// Water in percent of the fresh weight, if it was measured (ISTA Rules, chapter 9).
            Moisture moisture "percent of water": Option<f64>,
            /// By whom.
            By by "name of the person": String,
            /// Anything worth knowing.
            Remark remark: String,
        }
    }
}

record! {
    /// A germination or viability test of stored seed.
    GerminationTest, GerminationTestField {
        required {
            /// The lot.
            Lot lot "seed lot": Id<SeedLot>,
            /// The day it was begun.
            Date date: NaiveDate,
            /// How many seeds were tested.
            Seeds seeds "number of seeds": u32,
            /// How many germinated normally, or were found viable.
            Germinated germinated "number germinated": u32,
        }
        optional {
            /// How many of each replicate, all of as many seeds; empty when there was one.
            Replicates replicates "number in each replicate": Vec<u32>,
            /// How: chill, temperature, paper; or a stain.
            Method method: String,
            /// Whether its seeds were taken from the lot for it: they are then a draw of their own.
            Drawn drawn "taking from the lot": bool,
            /// By whom.
            By by "name of the person": String,
            /// Anything worth knowing.
            Remark remark: String,
        }
    }
}

impl Record for SeedWeighing {
    fn owner(&self) -> Option<AnyId> {
        Some(self.lot.into())
    }

    fn summary(&self, project: &Project) -> String {
        format!(
            "{} replicates of {} seeds of {} weighed",
            self.weights.len(),
            self.seeds_each,
            project.code_of(self.lot)
        )
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.lot.into());
    }

    fn check(&self, _project: &Project) -> Result<(), Refusal> {
        let refuse = |what: String, remedy| Err(Refusal::about(self.id, what, remedy));
        if !is_plausible(self.date) {
            return refuse(
                format!("{} can't be the date.", self.date.in_words()),
                "Correct the year.",
            );
        }
        if self.seeds_each == 0 || self.weights.is_empty() {
            return refuse(
                "A weighing needs a replicate of at least one seed.".into(),
                "Count 100 seeds for each replicate, and weigh each.",
            );
        }
        if let Some(wrong) = self
            .weights
            .iter()
            .find(|weight| !(weight.0.is_finite() && weight.0 > 0.0))
        {
            return refuse(
                format!("A replicate can't weigh {wrong}."),
                "Weigh it again.",
            );
        }
        if let Some(moisture) = self.moisture
            && !(0.0..=100.0).contains(&moisture)
        {
            return refuse(
                format!("Seed can't be {moisture} % water."),
                "Give the percent of the fresh weight; dry seed holds 5 to 12.",
            );
        }
        Ok(())
    }
}

impl Record for GerminationTest {
    fn owner(&self) -> Option<AnyId> {
        Some(self.lot.into())
    }

    fn summary(&self, project: &Project) -> String {
        format!(
            "test of {}: {} of {} germinated",
            project.code_of(self.lot),
            self.germinated,
            self.seeds
        )
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.lot.into());
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        let refuse = |what: String, remedy| Err(Refusal::about(self.id, what, remedy));
        if !is_plausible(self.date) {
            return refuse(
                format!("{} can't be the date.", self.date.in_words()),
                "Correct the year.",
            );
        }
        if self.seeds == 0 {
            return refuse("No seed was tested.".into(), "Give the number of seeds.");
        }
        if self.germinated > self.seeds {
            return refuse(
                format!(
                    "{} of {} seeds can't have germinated.",
                    self.germinated, self.seeds
                ),
                "Correct one of the two counts.",
            );
        }
        let sum: u64 = self.replicates.iter().map(|each| u64::from(*each)).sum();
        if !self.replicates.is_empty() && sum != u64::from(self.germinated) {
            return refuse(
                format!(
                    "The replicates add up to {sum}, not {} germinated.",
                    self.germinated
                ),
                "Correct the replicates, or the sum.",
            );
        }
        let each = self.seeds as usize / self.replicates.len().max(1);
        if each * self.replicates.len().max(1) != self.seeds as usize
            || self.replicates.iter().any(|count| *count as usize > each)
        {
            return refuse(
                format!(
                    "{} seeds don't make {} replicates with these counts.",
                    self.seeds,
                    self.replicates.len()
                ),
                "Use replicates of equal size, or none.",
            );
        }
        ledger::check_balance(project, self.lot)
    }

    fn check_without(&self, project: &Project) -> Result<(), Refusal> {
        ledger::check_balance(project, self.lot)
    }
}
