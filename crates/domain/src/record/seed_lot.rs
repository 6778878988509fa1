//! Seed: a lot of one origin, its count, and the ledger of what was taken and brought back.

use crate::Origin;
use crate::date::InWords as _;
use crate::date::is_plausible;
use crate::display::origin_words;
use crate::id::{AnyId, Id};
use crate::ledger;
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::record::cross::Cross;
use crate::record::genotype::{Genotype, Sex};
use crate::refusal::Refusal;
use crate::units::Grams;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

record! {
    /// Seed of one origin kept together.
    SeedLot, SeedLotField {
        required {
            /// The code on the packet, unique in the project.
            Code code: String,
            /// Where the seed comes from.
            Source source "origin": LotSource,
        }
        optional {
            /// When the cones were picked.
            Harvested harvested "day of harvest": Option<NaiveDate>,
            /// When the seed was cleaned.
            Cleaned cleaned "day of cleaning": Option<NaiveDate>,
            /// How much clean seed there was.
            Amount amount "number of seeds": Option<SeedAmount>,
            /// Where it is kept.
            Place place: String,
            /// How it is kept: dry, sealed, temperature.
            Conditions conditions: String,
        }
    }
}

/// Where seed comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum LotSource {
    /// A cross of the program.
    Cross(Id<Cross>),
    /// A plant of the program left open to any pollen.
    OpenPollinated(Id<Genotype>),
    /// Bought or given.
    Bought {
        /// By whom.
        from: String,
        /// As what.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        described_as: String,
    },
    /// Not known.
    Unknown,
}

impl LotSource {
    /// The origin in a few words: 'B2 × B7', 'B2 × open', 'bought of …', 'unknown'.
    pub fn words(&self, project: &Project) -> String {
        match self {
            Self::Cross(cross) => origin_words(project, &Origin::Cross { cross: *cross }),
            Self::OpenPollinated(female) => {
                origin_words(project, &Origin::OpenPollinated { female: *female })
            }
            Self::Bought { from, described_as } => match (from.is_empty(), described_as.is_empty())
            {
                (true, true) => "bought".into(),
                (true, false) => format!("bought: {described_as}"),
                (false, true) => format!("bought from {from}"),
                (false, false) => format!("bought from {from}: {described_as}"),
            },
            Self::Unknown => "unknown".into(),
        }
    }
}

/// How much clean seed a lot held.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum SeedAmount {
    /// Counted seed by seed.
    Counted(u32),
    /// Weighed, and calculated from the weight of a thousand seeds.
    Weighed {
        /// The lot's weight.
        weight: Grams,
        /// The weight of a thousand seeds.
        thousand_seed_weight: Grams,
    },
}

impl SeedAmount {
    /// The number of seeds: exact, or rounded down from the weights.
    ///
    /// 12.6 g at 3.1 g a thousand are 4,064 whole seeds (arithmetic after ISTA Rules, chapter 10).
    pub fn seeds(self) -> u32 {
        match self {
            Self::Counted(seeds) => seeds,
            Self::Weighed {
                weight,
                thousand_seed_weight,
            } => {
                // Decimals divide a hair short: 0.62 g at 3.1 g a thousand are 200 seeds, not 199.
                (weight.0 / thousand_seed_weight.0 * 1000.0 * (1.0 + 1e-12)) as u32
            }
        }
    }

    /// Whether the number is an estimate.
    pub const fn is_estimate(self) -> bool {
        matches!(self, Self::Weighed { .. })
    }
}

record! {
    /// Seed taken from a lot or brought back, other than what went into boxes (a box is its own draw).
    Movement, MovementField {
        required {
            /// The lot.
            Lot lot: Id<SeedLot>,
            /// The day.
            Date date: NaiveDate,
            /// Which way.
            Direction direction: MovementKind,
            /// How many seeds.
            Seeds seeds: u32,
        }
        optional {
            /// What for.
            Reason reason: String,
        }
    }
}

/// Which way seed moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum MovementKind {
    /// Taken out.
    Draw,
    /// Brought back.
    Return,
}

impl Record for SeedLot {
    fn code(&self) -> Option<&str> {
        Some(&self.code)
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        match self.source {
            LotSource::Cross(cross) => visit(cross.into()),
            LotSource::OpenPollinated(female) => visit(female.into()),
            LotSource::Bought { .. } | LotSource::Unknown => {}
        }
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        if let Some(SeedAmount::Weighed {
            weight,
            thousand_seed_weight,
        }) = self.amount
            && !(weight.0.is_finite()
                && weight.0 >= 0.0
                && thousand_seed_weight.0.is_finite()
                && thousand_seed_weight.0 > 0.0)
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} can't weigh {weight} at {thousand_seed_weight} a thousand seeds.",
                    self.code
                ),
                "Weigh again; a thousand hop seeds weigh about 3 g.",
            ));
        }
        if self
            .amount
            .is_some_and(|amount| amount.seeds() > 100_000_000)
        {
            return Err(Refusal::about(
                self.id,
                format!("{} can't hold so many seeds.", self.code),
                "Check the count, or both weights.",
            ));
        }
        if let LotSource::OpenPollinated(mother) = self.source
            && project
                .genotypes()
                .get(mother)
                .and_then(Genotype::known_sex)
                == Some(Sex::Male)
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} can't come from {}, a male: it bears no cones.",
                    self.code,
                    project.code_of(mother)
                ),
                "Give the plant whose cones the seed came from.",
            ));
        }
        let dates = [self.harvested, self.cleaned];
        if let Some(wrong) = dates.into_iter().flatten().find(|day| !is_plausible(*day)) {
            return Err(Refusal::about(
                self.id,
                format!("{} can't be a date of lot {}.", wrong.in_words(), self.code),
                "Correct the year.",
            ));
        }
        if let (Some(harvested), Some(cleaned)) = (self.harvested, self.cleaned)
            && cleaned < harvested
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} can't be cleaned on {cleaned}, before its harvest on {harvested}.",
                    self.code
                ),
                "Correct one of the two dates.",
            ));
        }
        if let (LotSource::Cross(cross), Some(harvested)) = (&self.source, self.harvested)
            && let Some(pollinated) = project.last_pollination(*cross)
            && harvested <= pollinated
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} can't be harvested on {harvested}: pollen was given on {pollinated}.",
                    self.code
                ),
                "Correct one of the two dates.",
            ));
        }
        ledger::check_balance(project, self.id)
    }
}

impl Record for Movement {
    fn owner(&self) -> Option<AnyId> {
        Some(self.lot.into())
    }

    fn summary(&self, project: &Project) -> String {
        let word = match self.direction {
            MovementKind::Draw => "from",
            MovementKind::Return => "to",
        };
        format!("{} seeds {word} {}", self.seeds, project.code_of(self.lot))
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.lot.into());
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        if self.seeds == 0 {
            return Err(Refusal::about(
                self.id,
                "No seed was moved.",
                "Give the number of seeds.",
            ));
        }
        if !is_plausible(self.date) {
            return Err(Refusal::about(
                self.id,
                format!("{} can't be the date.", self.date.in_words()),
                "Correct the year.",
            ));
        }
        ledger::check_balance(project, self.lot)
    }

    fn check_without(&self, project: &Project) -> Result<(), Refusal> {
        ledger::check_balance(project, self.lot)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seeds_reckoned_from_weights_are_whole_and_rounded_down() {
        let seeds = |weight, thousand_seed_weight| {
            SeedAmount::Weighed {
                weight: Grams(weight),
                thousand_seed_weight: Grams(thousand_seed_weight),
            }
            .seeds()
        };
        // Arithmetic by hand: 12.6 / 3.1 thousand are 4064.5, of which 4,064 are whole.
        assert_eq!(seeds(12.6, 3.1), 4064);
        assert_eq!(
            seeds(0.62, 3.1),
            200,
            "exactly 200, however binary fractions divide"
        );
        assert_eq!(seeds(0.6199, 3.1), 199);
    }
}
