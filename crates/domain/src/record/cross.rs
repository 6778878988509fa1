//! A cross and what happened to it, day by day.

use crate::ancestry;
use crate::date::InWords as _;
use crate::date::is_plausible;
use crate::id::{AnyId, Id};
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::record::genotype::{Genotype, Sex};
use crate::refusal::Refusal;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

record! {
    /// A controlled cross: one female and the pollen meant for her.
    Cross, CrossField {
        required {
            /// The code on the bag, unique in the project.
            Code code: String,
            /// The seed parent.
            Female female "female parent": Id<Genotype>,
            /// The pollen.
            Pollen pollen: Pollen,
            /// The year of its harvest.
            Season season: i32,
        }
        optional {
            /// The day planned for pollination; bagging, harvest and the rest are calculated from it.
            PlannedPollination planned_pollination "planned day of pollination": Option<NaiveDate>,
            /// How many seeds are hoped for.
            SeedsWanted seeds_wanted: Option<u32>,
            /// Why this cross.
            Purpose purpose: String,
            /// What the plan said of it when it was accepted, if it came of one.
            Advised advised "what the plan said": Option<Advised>,
        }
    }
}

/// What a plan of the season said of one of its crosses on the day it was accepted: kept so that it can be held against
/// what came.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Advised {
    /// The day it was accepted.
    pub on: NaiveDate,
    /// The season planned for.
    pub season: i32,
    /// Good females hoped for from the whole plan.
    pub wanted: u32,
    /// The chance of them, from all crosses of the plan together.
    pub chance: f64,
    /// Seeds of this cross to sow.
    pub seeds: u32,
    /// Sprouts expected of them.
    pub sprouts: f64,
    /// Good females expected of them.
    pub good_females: f64,
}

impl Advised {
    fn is_sound(&self) -> bool {
        let amount = |value: f64| (0.0..=1e9).contains(&value);
        (0.0..=1.0).contains(&self.chance)
            && amount(self.sprouts)
            && amount(self.good_females)
            && is_plausible(self.on)
            && (1800..=2200).contains(&self.season)
    }
}

/// The pollen of a cross.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Pollen {
    /// Of one male.
    Male(Id<Genotype>),
    /// Of several males mixed.
    Mix(Vec<PollenShare>),
    /// Whatever the wind brought.
    Open,
    /// Not known: the label was lost.
    Unknown,
}

impl Pollen {
    /// Every plant that gave pollen.
    pub fn males(&self) -> impl Iterator<Item = Id<Genotype>> + '_ {
        let (single, mix) = match self {
            Self::Male(male) => (Some(*male), &[][..]),
            Self::Mix(shares) => (None, &shares[..]),
            Self::Open | Self::Unknown => (None, &[][..]),
        };
        single.into_iter().chain(mix.iter().map(|share| share.male))
    }
}

/// One male's part in a pollen mix.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PollenShare {
    /// Who gave the pollen.
    pub male: Id<Genotype>,
    /// Its part of the whole, 0 to 1, if it was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub share: Option<f64>,
}

record! {
    /// Something that happened to a cross on a day.
    CrossEvent, CrossEventField {
        required {
            /// The cross.
            Cross cross: Id<Cross>,
            /// The day.
            Date date: NaiveDate,
            /// What happened.
            What what "what was done": CrossEventKind,
        }
        optional {
            /// Who did it.
            By by "name of the person": String,
            /// Anything worth knowing.
            Remark remark: String,
        }
    }
}

/// What can happen to a cross.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum CrossEventKind {
    /// The cross was decided on.
    Planned,
    /// The female's side arms were bagged, before her flowers could take pollen.
    FemaleBagged {
        /// How many bags.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bags: Option<u32>,
    },
    /// Stigmas were first seen ready for pollen (BBCH 61 and on).
    Receptive,
    /// Pollen was gathered.
    PollenCollected,
    /// Pollen was put by.
    PollenStored {
        /// Where and how: jar, temperature.
        place: String,
    },
    /// Pollen was given.
    Pollinated,
    /// The bags came off.
    BagOff,
    /// The cones were picked.
    ConesHarvested {
        /// How many cones.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        cones: Option<u32>,
    },
    /// The cross came to nothing.
    Failed {
        /// Why.
        why: String,
    },
}

impl CrossEventKind {
    /// The event in a few words.
    pub fn words(&self) -> String {
        match self {
            Self::Planned => "planned".into(),
            Self::FemaleBagged { bags: None } => "female bagged".into(),
            Self::FemaleBagged { bags: Some(1) } => "female bagged, 1 bag".into(),
            Self::FemaleBagged { bags: Some(bags) } => format!("female bagged, {bags} bags"),
            Self::Receptive => "flowers receptive".into(),
            Self::PollenCollected => "pollen collected".into(),
            Self::PollenStored { place } if place.is_empty() => "pollen stored".into(),
            Self::PollenStored { place } => format!("pollen stored, {place}"),
            Self::Pollinated => "pollinated".into(),
            Self::BagOff => "bags off".into(),
            Self::ConesHarvested { cones: None } => "cones harvested".into(),
            Self::ConesHarvested { cones: Some(cones) } => format!("cones harvested, {cones}"),
            Self::Failed { why } if why.is_empty() => "failed".into(),
            Self::Failed { why } => format!("failed: {why}"),
        }
    }
}

impl Cross {
    /// Its parents, as far as they are known: the female first.
    pub(crate) fn parents(&self) -> impl Iterator<Item = Id<Genotype>> + '_ {
        std::iter::once(self.female).chain(self.pollen.males())
    }

    /// The refusal of a cross whose parents descend from its progeny, one of which has this code.
    pub(crate) fn own_progeny(&self, code: &str) -> Refusal {
        Refusal::about(
            self.id,
            format!(
                "{code} comes from cross {} and would be its own ancestor.",
                self.code
            ),
            "Choose parents that don't descend from this cross.",
        )
    }
}

impl Record for Cross {
    fn code(&self) -> Option<&str> {
        Some(&self.code)
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.female.into());
        self.pollen.males().for_each(|male| visit(male.into()));
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        self.check_parents(project)?;
        self.check_shares(project)?;
        if !(1800..=2200).contains(&self.season)
            || self
                .planned_pollination
                .is_some_and(|day| !is_plausible(day))
        {
            return Err(Refusal::about(
                self.id,
                format!("The season of {} can't be {}.", self.code, self.season),
                "Correct the year.",
            ));
        }
        if self
            .advised
            .as_ref()
            .is_some_and(|advised| !advised.is_sound())
        {
            return Err(Refusal::about(
                self.id,
                format!("What the plan said of {} makes no sense.", self.code),
                "Take it away, or correct it: a chance lies between 0 and 1, amounts are 0 or more.",
            ));
        }
        Ok(())
    }

    fn check_descent(&self, project: &Project) -> Result<(), Refusal> {
        let progeny: BTreeSet<_> = project.progeny_of(self.id).map(|plant| plant.id).collect();
        let parents: Vec<_> = self.parents().collect();
        let own = || {
            ancestry::ancestors(project, &parents)
                .into_iter()
                .find(|id| progeny.contains(id))
        };
        // A cross without progeny can't be anybody's origin.
        match (!progeny.is_empty()).then(own).flatten() {
            Some(descendant) => Err(self.own_progeny(project.code_of(descendant))),
            None => Ok(()),
        }
    }

    fn check_dependents(&self, project: &Project) -> Result<(), Refusal> {
        project
            .events_of(self.id)
            .try_for_each(|event| event.check(project))
    }
}

impl Cross {
    fn check_parents(&self, project: &Project) -> Result<(), Refusal> {
        let sex_of = |id| project.genotypes().get(id).and_then(Genotype::known_sex);
        if sex_of(self.female) == Some(Sex::Male) {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} is male and bears no cones.",
                    project.code_of(self.female)
                ),
                "Choose a female, or a plant whose sex isn't known yet.",
            ));
        }
        for male in self.pollen.males() {
            if sex_of(male) == Some(Sex::Female) {
                return Err(Refusal::about(
                    self.id,
                    format!("{} is female and has no pollen.", project.code_of(male)),
                    "Choose a male, or a plant whose sex isn't known yet.",
                ));
            }
            if male == self.female && sex_of(male) != Some(Sex::Monoecious) {
                return Err(Refusal::about(
                    self.id,
                    format!(
                        "{} can't be both parents: a hop plant is normally either female or male.",
                        project.code_of(male)
                    ),
                    "Choose another plant for the pollen, or record that this one is monoecious.",
                ));
            }
        }
        Ok(())
    }

    fn check_shares(&self, project: &Project) -> Result<(), Refusal> {
        let Pollen::Mix(shares) = &self.pollen else {
            return Ok(());
        };
        if shares.is_empty() {
            return Err(Refusal::about(
                self.id,
                "A pollen mix needs at least one male.",
                "Add the males, or say the pollen is unknown.",
            ));
        }
        let mut seen = BTreeSet::new();
        if let Some(twice) = shares.iter().find(|share| !seen.insert(share.male)) {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} is in the pollen mix twice.",
                    project.code_of(twice.male)
                ),
                "Give each male once, with its whole share.",
            ));
        }
        if shares
            .iter()
            .filter_map(|share| share.share)
            .any(|share| !(share > 0.0 && share <= 1.0))
        {
            return Err(Refusal::about(
                self.id,
                "A share of pollen must lie between 0 and 1.",
                "Give shares such as 0.5, or leave them out.",
            ));
        }
        let known: f64 = shares.iter().filter_map(|share| share.share).sum();
        let all_known = shares.iter().all(|share| share.share.is_some());
        if known > 1.0 + 1e-6 || (all_known && (known - 1.0).abs() > 1e-6) {
            return Err(Refusal::about(
                self.id,
                format!("The shares of pollen add up to {known}."),
                "Make them add up to 1, or leave some out.",
            ));
        }
        Ok(())
    }
}

impl Record for CrossEvent {
    fn owner(&self) -> Option<AnyId> {
        Some(self.cross.into())
    }

    fn summary(&self, project: &Project) -> String {
        format!("to {}: {}", project.code_of(self.cross), self.what.words())
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.cross.into());
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        let code = project.code_of(self.cross);
        if !is_plausible(self.date) {
            return Err(Refusal::about(
                self.id,
                format!("{} can't be a date of cross {code}.", self.date.in_words()),
                "Correct the year.",
            ));
        }
        let last_pollination = project.last_pollination(self.cross);
        let first = |wanted: fn(&CrossEventKind) -> bool| {
            project
                .events_of(self.cross)
                .filter(|event| wanted(&event.what))
                .map(|event| event.date)
                .min()
        };
        let harvest = first(|what| matches!(what, CrossEventKind::ConesHarvested { .. }));
        if let (Some(pollinated), Some(harvested)) = (last_pollination, harvest)
            && harvested <= pollinated
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "Cones of {code} can't be harvested on {harvested}: pollen was given on {pollinated}."
                ),
                "Correct one of the two dates.",
            ));
        }
        let bagged = first(|what| matches!(what, CrossEventKind::FemaleBagged { .. }));
        let bag_off = project
            .events_of(self.cross)
            .filter(|event| event.what == CrossEventKind::BagOff)
            .map(|event| event.date)
            .max();
        if let (Some(bagged), Some(off)) = (bagged, bag_off)
            && off < bagged
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "The bags of {code} can't come off on {}: they went on on {}.",
                    off.in_words(),
                    bagged.in_words()
                ),
                "Correct one of the two dates.",
            ));
        }
        let female_end = project
            .crosses()
            .get(self.cross)
            .and_then(|cross| project.genotypes().get(cross.female)?.end.as_ref());
        if let Some(end) = female_end
            && self.what != CrossEventKind::Planned
            && !matches!(self.what, CrossEventKind::Failed { .. })
            && self.date > end.date.latest()
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "The female of {code} {} on {}; this is dated {}.",
                    end.kind.word(),
                    end.date.in_words(),
                    self.date.in_words()
                ),
                "Correct the date, or the record of the female.",
            ));
        }
        Ok(())
    }

    fn check_dependents(&self, project: &Project) -> Result<(), Refusal> {
        if self.what == CrossEventKind::Pollinated {
            for lot in project.lots_of(self.cross) {
                lot.check(project)?;
            }
        }
        Ok(())
    }

    /// The bag taken off needs the bag that was put on: without it, another may stand in the wrong order.
    fn check_without(&self, project: &Project) -> Result<(), Refusal> {
        project
            .events_of(self.cross)
            .try_for_each(|event| event.check(project))
    }
}
