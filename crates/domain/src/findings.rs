//! What is doubtful or missing in the records, each with its record and its remedy.

use crate::agenda::{State, agenda};
use crate::date::shift;
use crate::id::{AnyId, Id};
use crate::ledger::BoxTally;
use crate::project::Project;
use crate::work::plural;
use crate::{ChillBox, CrossEventKind, Genotype, LotSource, Origin, Pollen, Sex, SexBasis};
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// Something doubtful or missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// How much it matters.
    pub weight: Weight,
    /// The record.
    pub about: Option<AnyId>,
    /// What was found, as a sentence.
    pub what: String,
    /// What to do, as a sentence.
    pub remedy: String,
}

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// The records contradict each other.
    Fault,
    /// Something is likely wrong or at risk.
    Doubt,
    /// Something is missing that will be wanted one day.
    Gap,
}

impl Weight {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fault => "fault",
            Self::Doubt => "doubt",
            Self::Gap => "gap",
        }
    }
}

/// Every finding on a day, the weightiest first.
pub fn findings(project: &Project, today: NaiveDate) -> Vec<Finding> {
    let mut found = Found {
        project,
        today,
        findings: Vec::new(),
    };
    found.faults();
    found.crosses();
    found.plants();
    found.lots();
    found.boxes();
    found.future_dates();
    found
        .findings
        .sort_by_key(|finding| (finding.weight, finding.about));
    found.findings
}

struct Found<'a> {
    project: &'a Project,
    today: NaiveDate,
    findings: Vec<Finding>,
}

impl Found<'_> {
    fn add(&mut self, weight: Weight, about: impl Into<AnyId>, what: String, remedy: &str) {
        self.findings.push(Finding {
            weight,
            about: Some(about.into()),
            what,
            remedy: remedy.into(),
        });
    }

    /// What no edit could have brought about, but a file from elsewhere can.
    fn faults(&mut self) {
        let project = self.project;
        for (from, to) in project.dangling_references() {
            let what = format!(
                "{} refers to a {} that isn't there.",
                sentence(&project.describe(from)),
                to.kind.noun()
            );
            self.add(
                Weight::Fault,
                from,
                what,
                "Restore it from a backup, or correct the record.",
            );
        }
        for refusal in project.broken_rules() {
            self.findings.push(Finding {
                weight: Weight::Fault,
                about: refusal.about,
                what: refusal.what,
                remedy: refusal.remedy,
            });
        }
        let codes: Vec<_> = project.codes().collect();
        let twice: BTreeSet<_> = codes
            .windows(2)
            .filter(|pair| pair[0].0 == pair[1].0)
            .map(|pair| pair[1].1)
            .collect();
        for id in twice {
            let what = format!(
                "{} is the code of more than one record.",
                project.code_of(id)
            );
            self.add(
                Weight::Fault,
                id,
                what,
                "Give one of them another code, on its label too.",
            );
        }
    }

    fn crosses(&mut self) {
        let project = self.project;
        for cross in project.crosses().iter() {
            let code = &cross.code;
            let day_of = |wanted: fn(&CrossEventKind) -> bool| {
                project
                    .events_of(cross.id)
                    .filter(|event| wanted(&event.what))
                    .map(|event| event.date)
                    .min()
            };
            let bagged = day_of(|what| matches!(what, CrossEventKind::FemaleBagged { .. }));
            let receptive = day_of(|what| *what == CrossEventKind::Receptive);
            let pollinated = day_of(|what| *what == CrossEventKind::Pollinated);
            let last_pollinated = project.last_pollination(cross.id);
            let bag_off = day_of(|what| *what == CrossEventKind::BagOff);
            let harvested = day_of(|what| matches!(what, CrossEventKind::ConesHarvested { .. }));
            let failed = day_of(|what| matches!(what, CrossEventKind::Failed { .. }));

            for parent in std::iter::once(cross.female).chain(cross.pollen.males()) {
                if project
                    .genotypes()
                    .get(parent)
                    .is_some_and(|plant| plant.sex.is_none())
                {
                    let role = if parent == cross.female {
                        "seed parent"
                    } else {
                        "pollen parent"
                    };
                    let what = format!(
                        "{} is the {role} of {code}, but its sex isn't recorded.",
                        project.code_of(parent)
                    );
                    self.add(
                        Weight::Doubt,
                        cross.id,
                        what,
                        "Record its sex when it flowers.",
                    );
                }
            }
            match &cross.pollen {
                Pollen::Unknown => self.add(
                    Weight::Gap,
                    cross.id,
                    format!("The pollen of {code} is unknown."),
                    "Record the male if it can still be found out.",
                ),
                Pollen::Mix(shares) if shares.iter().any(|share| share.share.is_none()) => {
                    self.add(
                        Weight::Gap,
                        cross.id,
                        format!("The shares of the pollen mix of {code} aren't all known."),
                        "Estimate them if you can.",
                    );
                }
                _ => {}
            }
            if !matches!(cross.pollen, Pollen::Open) {
                match (bagged, pollinated) {
                    (None, Some(day)) => {
                        self.add(Weight::Doubt, cross.id, format!("{code} was pollinated on {day} without a bag on record."), "Other pollen may have got in: add the bagging, or call the pollen open.");
                    }
                    (Some(bag), Some(day)) if bag > day => {
                        self.add(
                            Weight::Doubt,
                            cross.id,
                            format!("{code} was bagged on {bag}, after pollen was given on {day}."),
                            "The female wasn't isolated: correct the dates, or doubt the male.",
                        );
                    }
                    _ => {}
                }
            }
            if let (Some(bag), Some(ready)) = (bagged, receptive)
                && bag >= ready
            {
                self.add(Weight::Doubt, cross.id, format!("{code} was bagged on {bag}, but her flowers were ready for pollen on {ready}."), "Stray pollen may have come first: doubt the male of these seeds.");
            }
            if let (Some(off), Some(given)) = (bag_off, last_pollinated)
                && off <= given
            {
                self.add(
                    Weight::Doubt,
                    cross.id,
                    format!(
                        "The bags of {code} came off on {off}; pollen was last given on {given}."
                    ),
                    "Stray pollen may have got in: correct the dates, or doubt the male.",
                );
            }
            if harvested.is_some()
                && failed.is_none()
                && project.lots_of(cross.id).next().is_none()
                && harvested.is_some_and(|day| shift(day, 60) < self.today)
            {
                self.add(
                    Weight::Gap,
                    cross.id,
                    format!("{code} was harvested but has no seed lot."),
                    "Record the seed, or that the cross failed.",
                );
            }
            if cross.planned_pollination.is_none()
                && pollinated.is_none()
                && failed.is_none()
                && harvested.is_none()
            {
                self.add(
                    Weight::Gap,
                    cross.id,
                    format!("{code} has no day planned for pollination."),
                    "Give a day, so that the calendar can remind you.",
                );
            }
        }
    }

    fn plants(&mut self) {
        let project = self.project;
        for plant in project.genotypes().iter() {
            let code = &plant.code;
            let is_parent = project.referring::<crate::Cross>(plant.id).next().is_some();
            let tail = code.as_bytes();
            let male_number = tail.len() > 1
                && tail[tail.len() - 1] == b'M'
                && tail[tail.len() - 2].is_ascii_digit();
            if male_number && plant.known_sex() == Some(Sex::Female) {
                self.add(Weight::Doubt, plant.id, format!("{code} is entered as female, but a number ending in M marks a male in older accessions."), "Look at its flowers, or at its source.");
            }
            if let Some(sex) = &plant.sex
                && let SexBasis::MarkerTest { .. } = sex.basis
                && is_parent
            {
                self.add(
                    Weight::Gap,
                    plant.id,
                    format!("{code} is a parent, but its sex rests on a marker test alone."),
                    "Record the flowers when they are seen; marker tests err now and then.",
                );
            }
            if let Origin::Founder {
                permission,
                protected,
                ..
            } = &plant.origin
                && is_parent
                && permission.is_empty()
            {
                let what = if *protected {
                    format!(
                        "{code} is protected and used as a parent, without a note of what its owner allows."
                    )
                } else {
                    format!("{code} is used as a parent, without a note of what its source allows.")
                };
                self.add(
                    if *protected {
                        Weight::Doubt
                    } else {
                        Weight::Gap
                    },
                    plant.id,
                    what,
                    "Write down the permission, and keep the letter.",
                );
            }
            if plant.selected.is_some() && plant.known_sex().is_none() && plant.is_alive() {
                self.add(
                    Weight::Gap,
                    plant.id,
                    format!("{code} is selected, but its sex isn't known."),
                    "Record its sex when it flowers.",
                );
            }
        }
        for run in project.germinations().iter() {
            let sprouts = project
                .chill_boxes()
                .get(run.chill_box)
                .map_or(0, |chill_box| BoxTally::of(project, chill_box).sprouts());
            let potted = project.potted_from(run.id).count() as u32;
            if potted > sprouts {
                let what = format!(
                    "{potted} seedlings were potted from box {}, but only {sprouts} {} counted.",
                    project.code_of(run.chill_box),
                    plural(sprouts, "sprout was", "sprouts were")
                );
                self.add(
                    Weight::Doubt,
                    run.id,
                    what,
                    "Add the missing count, or correct where the seedlings came from.",
                );
            }
        }
    }

    fn lots(&mut self) {
        let project = self.project;
        for lot in project.seed_lots().iter() {
            if lot.source == LotSource::Unknown {
                self.add(
                    Weight::Doubt,
                    lot.id,
                    format!(
                        "Lot {} has no cross: nobody knows whose seed it is.",
                        lot.code
                    ),
                    "Find its cross, or keep its plants out of the pedigree.",
                );
            }
            if lot.amount.is_none() {
                self.add(
                    Weight::Gap,
                    lot.id,
                    format!("Lot {} was neither counted nor weighed.", lot.code),
                    "Count it, or weigh it with a thousand seeds.",
                );
            }
        }
    }

    fn boxes(&mut self) {
        let project = self.project;
        for item in agenda(project, self.today..=self.today, self.today) {
            if item.state == State::Late && item.duty == crate::agenda::Duty::LookInBox {
                let days = (self.today - item.date).num_days();
                let what = format!(
                    "Box {} was due for a look on {}, {days} {} ago.",
                    project.code_of(item.about),
                    item.date,
                    plural(days as u32, "day", "days")
                );
                self.add(
                    Weight::Doubt,
                    item.about,
                    what,
                    "Open it, look for mould, add water if the towel is dry.",
                );
            }
            if item.state == State::Late
                && item.duty == crate::agenda::Duty::MoveToWarmth
                && shift(item.date, 14) < self.today
            {
                let what = format!(
                    "Box {} has been ready for warmth since {}.",
                    project.code_of(item.about),
                    item.date
                );
                self.add(
                    Weight::Doubt,
                    item.about,
                    what,
                    "Move it, or record what became of it.",
                );
            }
        }
        for chill_box in project.chill_boxes().iter() {
            let Some(batch) = project.chill_batches().get(chill_box.batch) else {
                continue;
            };
            let regimen = &batch.regimen;
            let code = &chill_box.code;
            let tally = BoxTally::of(project, chill_box);
            if tally.accounted() > tally.laid {
                let what = format!(
                    "Box {code} held {} seeds, but {} are accounted for.",
                    tally.laid,
                    tally.accounted()
                );
                self.add(
                    Weight::Doubt,
                    chill_box.id,
                    what,
                    "Correct the number laid in it, or the counts.",
                );
            }
            let again: u32 = project
                .referring::<ChillBox>(chill_box.id)
                .map(|other| other.seeds)
                .sum();
            if again > tally.left() {
                let what = format!(
                    "{again} seeds of box {code} were chilled again, but only {} were left in it.",
                    tally.left()
                );
                self.add(
                    Weight::Doubt,
                    chill_box.id,
                    what,
                    "Correct the number chilled again, or the counts.",
                );
            }
            if let Some(ended) = batch.ended
                && chill_box.end.is_none()
                && project.run_of(chill_box.id).is_none()
            {
                self.add(
                    Weight::Doubt,
                    chill_box.id,
                    format!(
                        "On {ended} box {code} left the cold, but nobody wrote what became of it."
                    ),
                    "Record its move to warmth, or its end.",
                );
            }
            if chill_box.seeds > regimen.box_to {
                let what = format!(
                    "Box {code} holds {} seeds; more than {} touch each other and mould spreads.",
                    chill_box.seeds, regimen.box_to
                );
                self.add(
                    Weight::Doubt,
                    chill_box.id,
                    what,
                    "Spread them over two boxes.",
                );
            }
            for check in project.checks_of(chill_box.id) {
                let Some(temperature) = check.temperature else {
                    continue;
                };
                if temperature <= regimen.freezing {
                    self.add(Weight::Doubt, check.id, format!("Box {code} was at {temperature} on {}: freezing.", check.date), "Move it to a warmer shelf and watch its germination; damp seed can be killed by frost.");
                } else if (temperature < regimen.cold_from || temperature > regimen.cold_to)
                    && project
                        .run_of(chill_box.id)
                        .is_none_or(|run| check.date < run.moved)
                {
                    let what = format!(
                        "Box {code} was at {temperature} on {}, outside {} to {}.",
                        check.date, regimen.cold_from, regimen.cold_to
                    );
                    self.add(
                        Weight::Doubt,
                        check.id,
                        what,
                        "Move it, or set the refrigerator.",
                    );
                }
            }
        }
        for batch in project.chill_batches().iter() {
            if batch.started && batch.sterilised.is_none() {
                self.add(
                    Weight::Gap,
                    batch.id,
                    format!(
                        "{} has no record of how its seed was sterilised.",
                        batch.code
                    ),
                    "Record the bath, or that there was none.",
                );
            }
            if batch.started && project.boxes_of(batch.id).next().is_none() {
                self.add(
                    Weight::Doubt,
                    batch.id,
                    format!("{} is in the cold without a box.", batch.code),
                    "Lay its boxes, or take the batch away.",
                );
            }
        }
    }

    fn future_dates(&mut self) {
        let (project, today) = (self.project, self.today);
        let events = project
            .cross_events()
            .iter()
            .map(|each| (AnyId::from(each.id), each.date));
        let checks = project
            .checks()
            .iter()
            .map(|each| (each.id.into(), each.date));
        let moves = project
            .germinations()
            .iter()
            .map(|each| (each.id.into(), each.moved));
        let movements = project
            .movements()
            .iter()
            .map(|each| (each.id.into(), each.date));
        let counts = project
            .counts()
            .iter()
            .map(|each| (each.id.into(), each.date));
        let scores = project
            .observations()
            .iter()
            .map(|each| (each.id.into(), each.date));
        let notes = project
            .notes()
            .iter()
            .map(|each| (each.id.into(), each.date));
        for (id, date) in events
            .chain(checks)
            .chain(moves)
            .chain(movements)
            .chain(counts)
            .chain(scores)
            .chain(notes)
            .filter(|(_, date)| *date > today)
        {
            let what = format!(
                "{} is dated {date}, which is still to come.",
                sentence(&project.describe(id))
            );
            self.add(
                Weight::Doubt,
                id,
                what,
                "Correct the date, or this computer's clock.",
            );
        }
    }
}

/// What should give pause before a cross between these two is planned, as sentences.
pub fn cautions_for_parents(
    project: &Project,
    female: Id<Genotype>,
    pollen: &Pollen,
) -> Vec<String> {
    let mut words = Vec::new();
    for parent in std::iter::once(female).chain(pollen.males()) {
        let Some(plant) = project.genotypes().get(parent) else {
            continue;
        };
        if plant.sex.is_none() {
            words.push(format!("The sex of {} isn't recorded.", plant.code));
        }
        if let Some(end) = &plant.end {
            words.push(format!(
                "{} {} on {}; only stored pollen could be used.",
                plant.code,
                end.kind.word(),
                end.date
            ));
        }
        if let Origin::Founder {
            protected: true,
            permission,
            ..
        } = &plant.origin
        {
            let note = if permission.is_empty() {
                "No permission is on record."
            } else {
                permission
            };
            words.push(format!("{} is protected. {note}", plant.code));
        }
        if plant.ploidy.0 % 2 == 1 {
            words.push(format!(
                "{} is {}: nearly sterile, its gametes are uneven.",
                plant.code, plant.ploidy
            ));
        }
    }
    words
}

/// The words with a capital at the front.
fn sentence(words: &str) -> String {
    let mut signs = words.chars();
    signs.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(signs).collect()
    })
}
