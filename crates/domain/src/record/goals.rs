//! What the season's crosses are to bring, and what they may take.

use crate::record::is_default;
use crate::{Direction, Id, Project, Trait};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// What the season's crosses are to bring, and what they may take. Part of the project's settings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Goals {
    /// The traits that matter, each once.
    #[serde(skip_serializing_if = "is_default")]
    pub traits: Vec<TraitGoal>,
    /// How good a plant must be in all traits together, in points of the index: 0 is an unselected plant.
    #[serde(skip_serializing_if = "is_default")]
    pub index: Option<f64>,
    /// How many good females are hoped for: females that reach every threshold, that of the index too.
    pub good_females: u32,
    /// How sure one wants to be of them, above 0 and below 1.
    pub sure: f64,
    /// The greatest inbreeding F accepted in a seedling, 0 to 1. Half sibs mated give 1/8.
    pub inbreeding: f64,
    /// The greatest rate of coancestry per generation accepted, 0 to 1; 1/100 is an effective size of 50. Without it
    /// the most diverse plan is taken that gives up no more than a tenth of the gain.
    #[serde(skip_serializing_if = "is_default")]
    pub coancestry_rate: Option<f64>,
    /// The room there is.
    #[serde(skip_serializing_if = "is_default")]
    pub space: Space,
    /// The last day seedlings can be planted out.
    #[serde(skip_serializing_if = "is_default")]
    pub plant_out_by: Option<NaiveDate>,
    /// What plants and people can bear.
    #[serde(skip_serializing_if = "is_default")]
    pub limits: CrossLimits,
}

impl Default for Goals {
    /// Three good females, nine times in ten; no closer than half sibs: common practice.
    fn default() -> Self {
        Self {
            traits: Vec::new(),
            index: None,
            good_females: 3,
            sure: 0.9,
            inbreeding: 0.125,
            coancestry_rate: None,
            space: Space::default(),
            plant_out_by: None,
            limits: CrossLimits::default(),
        }
    }
}

/// A trait that matters.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TraitGoal {
    /// The trait. Less is better where the trait says so; otherwise more is.
    pub of_trait: Id<Trait>,
    /// What it counts beside the others: the worth of one standard deviation of breeding values the better way.
    #[serde(default, skip_serializing_if = "is_default")]
    pub weight: f64,
    /// The least good value a plant may have, in the trait's unit, such as 5 of 9 for 'at least moderate'.
    #[serde(default, skip_serializing_if = "is_default")]
    pub threshold: Option<f64>,
    /// The heritability of single records, stated: used where the records don't tell it.
    #[serde(default, skip_serializing_if = "is_default")]
    pub heritability: Option<f64>,
    /// The standard deviation of single records, stated in the trait's unit: used where the records don't tell it.
    #[serde(default, skip_serializing_if = "is_default")]
    pub spread: Option<f64>,
    /// The first year in which a seedling shows it, the year of germination being 1: vigour and mildew at once, cones in
    /// the second or third. 1 unless said.
    #[serde(default, skip_serializing_if = "is_default")]
    pub first_seen: Option<u8>,
}

/// The latest year in which a trait may first be seen.
pub const LATEST_SEEN: u8 = 10;

/// The room there is; what is not given is no limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Space {
    /// Boxes in the refrigerator.
    #[serde(skip_serializing_if = "is_default")]
    pub boxes: Option<u32>,
    /// Cells under lights, one sprout in each.
    #[serde(skip_serializing_if = "is_default")]
    pub cells: Option<u32>,
    /// Pots, one seedling in each.
    #[serde(skip_serializing_if = "is_default")]
    pub pots: Option<u32>,
    /// Hills, one plant on each.
    #[serde(skip_serializing_if = "is_default")]
    pub hills: Option<u32>,
}

/// What plants and people can bear; what is not given is no limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct CrossLimits {
    /// Bagged cones one female can carry in a season, over all her crosses.
    #[serde(skip_serializing_if = "is_default")]
    pub cones_per_female: Option<u32>,
    /// Crosses one male's pollen serves in a season.
    #[serde(skip_serializing_if = "is_default")]
    pub crosses_per_male: Option<u32>,
    /// Crosses the people can make in a week.
    #[serde(skip_serializing_if = "is_default")]
    pub crosses_per_week: Option<u32>,
}

impl TraitGoal {
    /// A trait that matters, no more said yet.
    pub const fn new(of_trait: Id<Trait>) -> Self {
        Self {
            of_trait,
            weight: 1.0,
            threshold: None,
            heritability: None,
            spread: None,
            first_seen: None,
        }
    }

    /// The year of a seedling in which it first shows the trait, from 1.
    pub fn seen_in(&self) -> u8 {
        self.first_seen.unwrap_or(1)
    }

    /// 1 where more is better, -1 where less is.
    pub fn sign(&self, project: &Project) -> f64 {
        match project
            .traits()
            .get(self.of_trait)
            .map(|each| each.direction)
        {
            Some(Direction::Lower) => -1.0,
            _ => 1.0,
        }
    }

    /// Whether a value reaches the threshold, if there is one.
    pub fn is_reached_by(&self, value: f64, project: &Project) -> bool {
        let sign = self.sign(project);
        self.threshold
            .is_none_or(|threshold| sign * value >= sign * threshold)
    }
}

impl Goals {
    /// Whether the figures make sense; if not, what is wrong and what to do.
    pub fn check(&self) -> Result<(), (String, &'static str)> {
        let share = |value: f64| (0.0..=1.0).contains(&value);
        if !(self.sure > 0.0 && self.sure < 1.0) {
            return Err((
                "How sure must be between 0 and 100 %.".into(),
                "Say how sure you want to be between 0 and 100 %, such as 90 %.",
            ));
        }
        if self.good_females == 0 || self.good_females > 10_000 {
            return Err((
                format!(
                    "The crosses can't be made for {} good females.",
                    self.good_females
                ),
                "Give a number from 1 to 10,000.",
            ));
        }
        if !share(self.inbreeding) || !self.coancestry_rate.is_none_or(share) {
            return Err((
                "Inbreeding and the rate of coancestry lie between 0 and 1.".into(),
                "Give a share, such as 0.125 for half sibs mated.",
            ));
        }
        if self.index.is_some_and(|index| !index.is_finite()) {
            return Err((
                "A threshold of the index must be a number.".into(),
                "Give points; 0 is an unselected plant.",
            ));
        }
        for (nth, goal) in self.traits.iter().enumerate() {
            if self.traits[..nth]
                .iter()
                .any(|other| other.of_trait == goal.of_trait)
            {
                return Err((
                    "A trait is among the goals twice.".into(),
                    "Give each trait once.",
                ));
            }
            if !(goal.weight.is_finite() && (0.0..=1000.0).contains(&goal.weight)) {
                return Err((
                    format!("A trait can't count {}.", goal.weight),
                    "Give its weight beside the others, from 0 to 1000; which way is better is set with the trait.",
                ));
            }
            if goal
                .threshold
                .is_some_and(|threshold| !threshold.is_finite())
            {
                return Err(("A threshold must be a number.".into(), "Correct it."));
            }
            if goal
                .heritability
                .is_some_and(|heritability| !(heritability > 0.0 && heritability <= 1.0))
            {
                return Err((
                    "A heritability lies above 0 and is at most 1.".into(),
                    "Give a share, such as 0.25.",
                ));
            }
            if goal
                .first_seen
                .is_some_and(|year| !(1..=LATEST_SEEN).contains(&year))
            {
                return Err((
                    "A trait is first seen in year 1 to 10 of a seedling.".into(),
                    "Give the year, 1 for the year of germination.",
                ));
            }
            if goal
                .spread
                .is_some_and(|spread| !(spread.is_finite() && spread > 0.0))
            {
                return Err((
                    "A standard deviation lies above 0.".into(),
                    "Give it in the trait's unit.",
                ));
            }
        }
        Ok(())
    }

    /// What is wanted of a trait, if it is among the goals.
    pub fn of_trait(&self, of_trait: Id<Trait>) -> Option<&TraitGoal> {
        self.traits.iter().find(|goal| goal.of_trait == of_trait)
    }
}
