//! Seed: lots, boxes and batches.

use super::{Found, Weight};
use crate::agenda::{ItemKind, ItemState, agenda_of_cold};
use crate::date::InWords as _;
use crate::date::shift;
use crate::ledger::BoxTally;
use crate::temperature::{BatchCold, hours};
use crate::words::plural;
use crate::{ChillBatch, ChillBox, LotSource};

impl Found<'_> {
    pub(super) fn lots(&mut self) {
        let project = self.project;
        for lot in project.seed_lots().iter() {
            if lot.source == LotSource::Unknown {
                self.add(
                    Weight::Doubt,
                    lot.id,
                    format!(
                        "The parents of lot {} are unknown.",
                        lot.code
                    ),
                    "Enter its origin if you can trace it; otherwise its seedlings have unknown parents.",
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

    pub(super) fn boxes(&mut self) {
        self.forgotten();
        let project = self.project;
        for chill_box in project.chill_boxes().iter() {
            let Some(batch) = project.chill_batches().get(chill_box.batch) else {
                continue;
            };
            self.contents(chill_box, batch);
            self.cold(chill_box, batch);
        }
        self.batches();
    }

    /// Boxes nobody looked into, or moved when their cold was over.
    fn forgotten(&mut self) {
        let project = self.project;
        for item in agenda_of_cold(project, self.today) {
            if item.state == ItemState::Late && item.kind == ItemKind::CheckBox {
                let days = (self.today - item.date).num_days();
                let what = format!(
                    "Box {} was due for a check on {}, {days} {} ago.",
                    project.code_of(item.about),
                    item.date.in_words(),
                    plural(days as u32, "day", "days")
                );
                self.add(
                    Weight::Doubt,
                    item.about,
                    what,
                    "Open it, look for mould, add water if the towel is dry.",
                );
            }
            if item.state == ItemState::Late
                && item.kind == ItemKind::MoveToWarmth
                && shift(item.date, 14) < self.today
            {
                let what = format!(
                    "Box {} has been ready for warmth since {}.",
                    project.code_of(item.about),
                    item.date.in_words()
                );
                self.add(
                    Weight::Doubt,
                    item.about,
                    what,
                    "Move it, or record what became of it.",
                );
            }
        }
    }

    /// Seeds that don't add up, lie too close, or whose end nobody wrote down.
    fn contents(&mut self, chill_box: &ChillBox, batch: &ChillBatch) {
        let (project, regimen, code) = (self.project, &batch.regimen, &chill_box.code);
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
        let again: u64 = self
            .project
            .referring::<ChillBox>(chill_box.id)
            .map(|other| u64::from(other.seeds))
            .sum();
        if again > u64::from(tally.left()) {
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
                    "Box {code} left the cold on {ended}, but what happened to it is not recorded."
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
    }

    /// Temperatures read outside the band.
    fn cold(&mut self, chill_box: &ChillBox, batch: &ChillBatch) {
        let (project, regimen, code) = (self.project, &batch.regimen, &chill_box.code);
        for check in project.checks_of(chill_box.id) {
            let Some(temperature) = check.temperature else {
                continue;
            };
            if temperature <= regimen.freezing {
                self.add(Weight::Doubt, check.id, format!("Box {code} was at {temperature} on {}: freezing.", check.date.in_words()), "Move it to a warmer shelf and watch its germination; damp seed can be killed by frost.");
            } else if (temperature < regimen.cold_from || temperature > regimen.cold_to)
                && project
                    .run_of(chill_box.id)
                    .is_none_or(|run| check.date < run.moved)
            {
                let what = format!(
                    "Box {code} was at {temperature} on {}, outside {} to {}.",
                    check.date.in_words(),
                    regimen.cold_from,
                    regimen.cold_to
                );
                self.add(
                    Weight::Doubt,
                    check.id,
                    what,
                    "Move it, or adjust the refrigerator.",
                );
            }
        }
    }

    fn batches(&mut self) {
        let project = self.project;
        for batch in project.chill_batches().iter() {
            if !batch.started
                && let Some((chill_box, look)) = project
                    .boxes_of(batch.id)
                    .find_map(|each| Some((each, project.checks_of(each.id).next()?)))
            {
                let what = format!(
                    "Box {} was checked on {}, but {} has no recorded start of chilling.",
                    chill_box.code,
                    look.date.in_words(),
                    batch.code
                );
                self.add(
                    Weight::Doubt,
                    batch.id,
                    what,
                    "Record the start of its chill.",
                );
            }
            if batch.started && batch.sterilised.is_none() {
                self.add(
                    Weight::Gap,
                    batch.id,
                    format!(
                        "{} has no record of how its seed was surface-sterilised.",
                        batch.code
                    ),
                    "Record the bath, or that there was none.",
                );
            }
            let cold = (batch.ended.is_none())
                .then(|| BatchCold::of(project, batch, self.today))
                .flatten();
            if let Some(cold) = cold.filter(|cold| cold.exposure.freezing > 0.0) {
                let what = format!(
                    "{} was at or below {} for {} in total, according to its temperature records.",
                    batch.code,
                    batch.regimen.freezing,
                    hours(cold.exposure.freezing)
                );
                self.add(
                    Weight::Doubt,
                    batch.id,
                    what,
                    "Keep the germination counts of its boxes separate, and find out why the refrigerator froze.",
                );
            }
            if batch.started && project.boxes_of(batch.id).next().is_none() {
                self.add(
                    Weight::Doubt,
                    batch.id,
                    format!("{} is in the cold without a box.", batch.code),
                    "Add its boxes, or remove the batch.",
                );
            }
        }
    }
}
