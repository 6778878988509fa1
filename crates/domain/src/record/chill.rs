//! Seed in the cold: batches, their boxes, and every look into a box.

use crate::date::InWords as _;
use crate::date::is_plausible;
use crate::id::{AnyId, Id};
use crate::ledger;
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::record::genotype::Genotype;
use crate::record::protocol::Regimen;
use crate::record::seed_lot::SeedLot;
use crate::refusal::Refusal;
use crate::units::Celsius;
use crate::words::plural;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

record! {
    /// Boxes that went through the cold together under one regimen.
    ChillBatch, ChillBatchField {
        required {
            /// The code, unique in the project.
            Code code: String,
            /// The day planned for the start, then the day it started.
            Start start "day of the start": NaiveDate,
            /// Its own copy of the protocol: what was meant for this batch stays on record.
            Regimen regimen: Regimen,
        }
        optional {
            /// Whether the boxes are in the cold: false while only planned.
            Started started "being in the cold": bool,
            /// Which protocol the regimen was copied from.
            Protocol protocol: String,
            /// How the seed was surface-sterilised.
            Sterilised sterilised "sterilisation": Option<Sterilisation>,
            /// Where the boxes stand.
            Place place: String,
            /// When the last box left the cold, if the batch was ended.
            Ended ended "day of the end": Option<NaiveDate>,
        }
    }
}

/// How seed was surface-sterilised.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Sterilisation {
    /// The day.
    pub date: NaiveDate,
    /// What was used, in which order and strength.
    pub recipe: String,
    /// Minutes in the bath.
    pub minutes: f64,
    /// How many rinses after it.
    pub rinses: u32,
    /// By whom.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
}

impl Sterilisation {
    /// A record to begin from, every part of it meant to be changed to what was really done: alcohol first, water,
    /// then bleach, water again, each in a vessel of its own.
    ///
    /// The order and the figures (alcohol 70 % for up to 2 minutes, bleach 5 to 20 minutes, three rinses) are what is
    /// generally done with seed of many kinds: from memory; nothing published for hops was found.
    pub fn offered(date: NaiveDate, by: &str) -> Self {
        Self {
            date,
            recipe: "1. Alcohol, 70 %, 1 minute, in its own vessel.\n2. Rinse in clean water, 1 minute.\n3. Bleach \
                diluted to 1 % hypochlorite (see Sterilising), in a second vessel.\n4. Rinses in boiled, cooled \
                water.".into(),
            minutes: 10.0,
            rinses: 3,
            by: by.into(),
        }
    }
}

record! {
    /// One labelled box of damp seed. It holds seed of one lot, never two.
    ChillBox, ChillBoxField {
        required {
            /// The code on the box, unique in the project.
            Code code: String,
            /// The batch it belongs to.
            Batch batch: Id<ChillBatch>,
            /// The lot its seed was drawn from.
            Lot lot "seed lot": Id<SeedLot>,
            /// How many seeds were laid in it.
            Seeds seeds "number of seeds": u32,
        }
        optional {
            /// The box whose ungerminated seed is chilled again in this one; such seed isn't drawn from the lot anew.
            RechilledFrom rechilled_from "box chilled before": Option<Id<ChillBox>>,
            /// Where it stands: shelf, corner.
            Place place: String,
            /// When and why it was given up, if it was.
            End end: Option<BoxEnd>,
        }
    }
}

/// The end of a box that never reached warmth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BoxEnd {
    /// When.
    pub date: NaiveDate,
    /// How.
    pub fate: BoxFate,
    /// Why.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub cause: String,
}

/// What became of a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum BoxFate {
    /// Thrown out.
    Discarded,
    /// Lost, or its label.
    Lost,
    /// Its seed went back to the lot.
    Returned,
}

impl BoxFate {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Discarded => "discarded",
            Self::Lost => "lost",
            Self::Returned => "returned to the lot",
        }
    }
}

record! {
    /// One look into a box.
    Check, CheckField {
        required {
            /// The box.
            ChillBox chill_box "box": Id<ChillBox>,
            /// The day.
            Date date: NaiveDate,
        }
        optional {
            /// How damp it was found.
            Moisture moisture: Option<Moisture>,
            /// Whether water was added.
            WaterAdded water_added "adding of water": bool,
            /// Mouldy seeds taken out.
            MouldyRemoved mouldy_removed "number of mouldy seeds taken out": u32,
            /// Seeds found sprouted in the cold.
            SproutedEarly sprouted_early "number sprouted in the cold": u32,
            /// Early sprouts that died or were thrown out before they were potted.
            SproutsLost sprouts_lost "number of early sprouts lost": u32,
            /// The temperature read.
            Temperature temperature: Option<Celsius>,
            /// Whether air was let in.
            AirLetIn air_let_in "letting in of air": bool,
            /// By whom.
            By by "name of the person": String,
            /// Anything worth knowing.
            Remark remark: String,
        }
    }
}

/// How damp a box was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Moisture {
    /// Too dry: add water.
    Dry,
    /// As it should be.
    Moist,
    /// Standing water: let it drain.
    Wet,
}

impl Moisture {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Dry => "dry",
            Self::Moist => "moist",
            Self::Wet => "wet",
        }
    }
}

impl ChillBatch {
    /// The day the chill is over under this batch's regimen.
    pub fn ready_on(&self) -> NaiveDate {
        self.regimen.chill.after(self.start)
    }
}

impl Check {
    /// A look with nothing found.
    pub const fn nothing_found(id: Id<Self>, chill_box: Id<ChillBox>, date: NaiveDate) -> Self {
        Self {
            id,
            chill_box,
            date,
            moisture: None,
            water_added: false,
            mouldy_removed: 0,
            sprouted_early: 0,
            sprouts_lost: 0,
            temperature: None,
            air_let_in: false,
            by: String::new(),
            remark: String::new(),
        }
    }

    /// What was found and done, in a few words, the temperature in degrees Celsius.
    pub fn words(&self) -> String {
        self.words_with(|temperature| temperature.to_string())
    }

    /// The same, with the temperature as `show` writes it.
    pub fn words_with(&self, show: impl Fn(Celsius) -> String) -> String {
        let mut words = vec!["checked".to_owned()];
        words.extend(self.moisture.map(|moisture| moisture.word().to_owned()));
        words.extend(self.water_added.then(|| "water added".to_owned()));
        words.extend(
            (self.mouldy_removed > 0).then(|| format!("{} mouldy removed", self.mouldy_removed)),
        );
        words.extend(
            (self.sprouted_early > 0).then(|| format!("{} sprouted early", self.sprouted_early)),
        );
        words.extend((self.sprouts_lost > 0).then(|| {
            let sprouts = plural(self.sprouts_lost, "sprout", "sprouts");
            format!("{} {sprouts} lost", self.sprouts_lost)
        }));
        words.extend(self.temperature.map(show));
        words.extend(self.air_let_in.then(|| "aired".to_owned()));
        words.extend((!self.remark.is_empty()).then(|| self.remark.clone()));
        words.join(", ")
    }
}

impl Record for ChillBatch {
    fn code(&self) -> Option<&str> {
        Some(&self.code)
    }

    fn each_reference(&self, _visit: &mut dyn FnMut(AnyId)) {}

    fn check(&self, _project: &Project) -> Result<(), Refusal> {
        self.regimen.check().map_err(|(what, remedy)| {
            Refusal::about(self.id, format!("{}: {what}", self.code), remedy)
        })?;
        let dates = [
            Some(self.start),
            self.ended,
            self.sterilised.as_ref().map(|bath| bath.date),
        ];
        if let Some(wrong) = dates.into_iter().flatten().find(|day| !is_plausible(*day)) {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} can't be a date of batch {}.",
                    wrong.in_words(),
                    self.code
                ),
                "Correct the year.",
            ));
        }
        if let Some(ended) = self.ended
            && ended < self.start
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} can't end on {}, before its start on {}.",
                    self.code,
                    ended.in_words(),
                    self.start.in_words()
                ),
                "Correct one of the two dates.",
            ));
        }
        if let Some(bath) = &self.sterilised {
            if bath.date > self.start {
                return Err(Refusal::about(
                    self.id,
                    format!(
                        "The seed of {} can't be sterilised on {}, after it went into the cold on {}.",
                        self.code,
                        bath.date.in_words(),
                        self.start.in_words()
                    ),
                    "Correct one of the two dates.",
                ));
            }
            if !(bath.minutes.is_finite() && (0.0..=1440.0).contains(&bath.minutes)) {
                return Err(Refusal::about(
                    self.id,
                    format!("{} minutes in the bath can't be.", bath.minutes),
                    "Give the minutes as a number.",
                ));
            }
        }
        Ok(())
    }

    fn check_dependents(&self, project: &Project) -> Result<(), Refusal> {
        for chill_box in project.boxes_of(self.id) {
            for check in project.checks_of(chill_box.id) {
                check.check(project)?;
            }
            if let Some(run) = project.run_of(chill_box.id) {
                run.check(project)?;
            }
            chill_box.check_end(project)?;
            chill_box.check_sprouts(project)?;
        }
        // The start of a batch is the day its boxes were filled: moved, it reorders the ledgers of their lots.
        let lots: BTreeSet<_> = project
            .boxes_of(self.id)
            .map(|chill_box| chill_box.lot)
            .collect();
        lots.into_iter()
            .try_for_each(|lot| ledger::check_balance(project, lot))
    }
}

impl Record for ChillBox {
    fn code(&self) -> Option<&str> {
        Some(&self.code)
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.batch.into());
        visit(self.lot.into());
        self.rechilled_from
            .iter()
            .for_each(|from| visit((*from).into()));
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        if self.seeds == 0 {
            return Err(Refusal::about(
                self.id,
                format!("Box {} holds no seed.", self.code),
                "Give the number of seeds laid in it.",
            ));
        }
        self.check_rechilling(project)?;
        self.check_end(project)
    }

    fn check_dependents(&self, project: &Project) -> Result<(), Refusal> {
        for check in project.checks_of(self.id) {
            check.check(project)?;
        }
        if let Some(run) = project.run_of(self.id) {
            run.check(project)?;
        }
        self.check_sprouts(project)?;
        ledger::check_balance(project, self.lot)
    }

    fn check_without(&self, project: &Project) -> Result<(), Refusal> {
        ledger::check_balance(project, self.lot)
    }
}

impl ChillBox {
    /// The plants that sprouted in its cold still can have.
    fn check_sprouts(&self, project: &Project) -> Result<(), Refusal> {
        project
            .referring::<Genotype>(self.id)
            .try_for_each(|plant| plant.check(project))
    }

    /// Seed chilled again stays seed of its lot, and goes back to a box that was filled from it.
    fn check_rechilling(&self, project: &Project) -> Result<(), Refusal> {
        let refuse = |about: &Self| {
            Err(Refusal::about(
                about.id,
                format!("Box {} can't go on with seed of another lot.", about.code),
                "Choose the box its seed was in before.",
            ))
        };
        let lot_of = |id| project.chill_boxes().get(id).map(|chill_box| chill_box.lot);
        if self
            .rechilled_from
            .is_some_and(|from| lot_of(from) != Some(self.lot))
        {
            return refuse(self);
        }
        if let Some(again) = project
            .referring::<Self>(self.id)
            .find(|again| again.lot != self.lot)
        {
            return refuse(again);
        }
        let mut passed = BTreeSet::new();
        let mut before = self.rechilled_from;
        while let Some(id) = before {
            if id == self.id {
                return Err(Refusal::about(
                    self.id,
                    format!("The seed of box {} would come from itself.", self.code),
                    "Choose the box its seed was in before.",
                ));
            }
            if !passed.insert(id) {
                break;
            }
            before = project
                .chill_boxes()
                .get(id)
                .and_then(|chill_box| chill_box.rechilled_from);
        }
        Ok(())
    }

    fn check_end(&self, project: &Project) -> Result<(), Refusal> {
        let Some(end) = &self.end else { return Ok(()) };
        if !is_plausible(end.date) {
            return Err(Refusal::about(
                self.id,
                format!("{} can't be the date.", end.date.in_words()),
                "Correct the year.",
            ));
        }
        if project.run_of(self.id).is_some() {
            return Err(Refusal::about(
                self.id,
                format!("Box {} is already in warmth.", self.code),
                "Close its germination run and say there what became of the rest.",
            ));
        }
        // A box may be given up while its batch is only planned: it never saw the cold.
        if let Some(batch) = project.chill_batches().get(self.batch)
            && batch.started
            && end.date < batch.start
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "Box {} can't have been {} on {}: it goes into the cold on {}.",
                    self.code,
                    end.fate.word(),
                    end.date.in_words(),
                    batch.start.in_words()
                ),
                "Correct one of the two dates.",
            ));
        }
        if let Some(later) = project
            .checks_of(self.id)
            .find(|check| check.date > end.date)
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "Box {} was checked on {}, after its end on {}.",
                    self.code,
                    later.date.in_words(),
                    end.date.in_words()
                ),
                "Correct one of the two dates.",
            ));
        }
        Ok(())
    }
}

impl Record for Check {
    fn owner(&self) -> Option<AnyId> {
        Some(self.chill_box.into())
    }

    fn summary(&self, project: &Project) -> String {
        format!(
            "check {}: {}",
            project.code_of(self.chill_box),
            self.words()
        )
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.chill_box.into());
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        let Some(chill_box) = project.chill_boxes().get(self.chill_box) else {
            return Ok(());
        };
        if let Some(batch) = project.chill_batches().get(chill_box.batch)
            && self.date < batch.start
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "Box {} can't be checked on {}: it goes into the cold on {}.",
                    chill_box.code,
                    self.date.in_words(),
                    batch.start.in_words()
                ),
                "Correct the date of the check, or the start of the batch.",
            ));
        }
        if let Some(end) = &chill_box.end
            && self.date > end.date
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "Box {} was {} on {}.",
                    chill_box.code,
                    end.fate.word(),
                    end.date.in_words()
                ),
                "Give an earlier date, or take back the end of the box.",
            ));
        }
        if let Some(temperature) = self.temperature
            && !(temperature.0.is_finite() && (-80.0..=80.0).contains(&temperature.0))
        {
            return Err(Refusal::about(
                self.id,
                format!("A box can't be at {temperature}."),
                "Read the thermometer again, and check whether it shows °C or °F.",
            ));
        }
        if !is_plausible(self.date) {
            return Err(Refusal::about(
                self.id,
                format!("{} can't be the date.", self.date.in_words()),
                "Correct the year.",
            ));
        }
        Ok(())
    }

    fn check_dependents(&self, project: &Project) -> Result<(), Refusal> {
        let chill_box = project.chill_boxes().get(self.chill_box);
        // What is taken out of a box doesn't come back to the lot with the rest of it.
        match chill_box {
            Some(ChillBox {
                lot,
                end: Some(end),
                ..
            }) if end.fate == BoxFate::Returned => ledger::check_balance(project, *lot),
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_recipe_offered_puts_water_between_alcohol_and_bleach() {
        // Bleach and alcohol form harmful compounds together: see [`crate::cautions::STERILISING`] for sources.
        let offered = Sterilisation::offered(NaiveDate::MIN, "");
        let place = |word: &str| offered.recipe.find(word).unwrap();
        assert!(
            place("Alcohol") < place("Rinse in clean water")
                && place("Rinse in clean water") < place("Bleach")
        );
        assert!(place("Bleach") < place("Rinses"));
        assert!(!offered.recipe.to_lowercase().contains("mix"));
    }
}
