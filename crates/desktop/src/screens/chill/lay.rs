//! Seed of a lot laid in boxes of a batch.

use crate::screens::code_picker::{CodePicker, find};
use crate::screens::fields::choice;
use crate::view::{Outbox, View};
use domain::actions::{box_fillings, lay_boxes, plural};
use domain::ledger::balance;
use domain::status::{BatchStatus, crowding};
use domain::{ChillBatch, Id, Project, SeedLot};
use egui::{RichText, Ui};
use kit::fonts::mark;
use kit::theme::{muted, space, tokens};
use kit::widgets::{NumberField, form_row, main_button};

/// The most boxes laid at once: more is a slip of the pen.
const MOST_BOXES: u32 = 200;

/// Seed to be laid, until it is.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Form {
    batch: Option<Id<ChillBatch>>,
    lot: Option<Id<SeedLot>>,
    seeds: Option<f64>,
    /// The most seeds in a box; as the batch's regimen has it, unless typed.
    most: Option<f64>,
}

/// How a form ended.
pub(super) enum Ended {
    /// The boxes of this batch were asked for, or the form was put away.
    Done(Option<Id<ChillBatch>>),
    /// A batch is wanted first, for this lot.
    PlanFirst(Option<Id<SeedLot>>),
}

impl Form {
    /// A form for a batch and a lot, either still to be chosen.
    pub(super) fn new(
        project: &Project,
        batch: Option<Id<ChillBatch>>,
        lot: Option<Id<SeedLot>>,
    ) -> Self {
        Self {
            batch,
            lot,
            seeds: lot.map(|lot| balance(project, lot).max(0) as f64),
            most: None,
        }
    }

    /// Draws the form; how it ended, once it has.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        view: &View<'_>,
        out: &mut Outbox<'_>,
    ) -> Option<Ended> {
        let project = view.project;
        let batches: Vec<_> = project
            .chill_batches()
            .iter()
            .rev()
            .filter(|batch| {
                let status = BatchStatus::of(project, batch);
                matches!(status, BatchStatus::Planned | BatchStatus::InCold)
            })
            .map(|batch| (Some(batch.id), batch.code.clone()))
            .collect();
        if batches.is_empty() {
            ui.label(muted(ui, "There is no batch to lay boxes in."));
            return ui
                .horizontal(|ui| {
                    if main_button(ui, "Plan a batch first…").clicked() {
                        return Some(Ended::PlanFirst(self.lot));
                    }
                    ui.button("Put away").clicked().then_some(Ended::Done(None))
                })
                .inner;
        }
        form_row(ui, "Batch", |ui| {
            choice(ui, "Batch of the boxes", &mut self.batch, &batches)
        });
        self.lot_ui(ui, view);
        let batch = self.batch.and_then(|id| project.chill_batches().get(id));
        form_row(ui, "Seeds", |ui| {
            NumberField::new("Seeds to lay", "seeds")
                .decimals(0)
                .range(1.0..=100_000.0)
                .show_optional(ui, &mut self.seeds);
        });
        let usual = batch.map_or(100, |batch| batch.regimen.box_to);
        let mut most = self.most.unwrap_or_else(|| f64::from(usual));
        form_row(ui, "Most per box", |ui| {
            let field = NumberField::new("Most seeds per box", "seeds").decimals(0);
            if field.range(1.0..=10_000.0).show(ui, &mut most).changed {
                self.most = Some(most);
            }
        });
        let (seeds, most) = (self.seeds.unwrap_or(0.0) as u32, most as u32);
        let possible = self.outcome_ui(ui, view, batch, seeds, most);
        ui.add_space(space::XS);
        ui.horizontal(|ui| {
            let lay = ui
                .add_enabled_ui(possible, |ui| main_button(ui, "Lay the boxes"))
                .inner;
            if lay.clicked()
                && let Some((batch, lot)) = batch.zip(self.lot)
            {
                let edit = lay_boxes(project, batch, lot, seeds, most, out.ids);
                out.edit(edit);
                return Some(Ended::Done(Some(batch.id)));
            }
            ui.button("Put away").clicked().then_some(Ended::Done(None))
        })
        .inner
    }

    fn lot_ui(&mut self, ui: &mut Ui, view: &View<'_>) {
        let project = view.project;
        form_row(ui, "Lot", |ui| {
            let shown = self.lot.map_or("", |lot| project.code_of(lot));
            let chosen = CodePicker::new("Lot to lay").show(
                ui,
                shown,
                project.revision(),
                &mut self.lot,
                |typed| {
                    let lots = project.seed_lots().iter().rev();
                    find(
                        lots.filter(|lot| balance(project, lot.id) > 0),
                        typed,
                        |lot| vec![&lot.code],
                        |lot| {
                            let left = balance(project, lot.id);
                            format!("{}, {left} left", lot.source.words(project))
                        },
                    )
                },
            );
            if chosen && let Some(lot) = self.lot {
                self.seeds = Some(balance(project, lot).max(0) as f64);
            }
        });
    }

    /// What it comes to, and what is wrong with it; whether it can be tried.
    fn outcome_ui(
        &self,
        ui: &mut Ui,
        view: &View<'_>,
        batch: Option<&ChillBatch>,
        seeds: u32,
        most: u32,
    ) -> bool {
        let project = view.project;
        let Some(lot) = self.lot.and_then(|id| project.seed_lots().get(id)) else {
            ui.label(muted(
                ui,
                "Choose the lot. Each box holds seed of one lot, never two.",
            ));
            return false;
        };
        let left = balance(project, lot.id);
        let words = format!(
            "{}: {}. {left} seeds left.",
            lot.code,
            lot.source.words(project)
        );
        ui.add(egui::Label::new(muted(ui, words)).wrap());
        let Some(batch) = batch.filter(|_| seeds > 0) else {
            return false;
        };
        if i64::from(seeds) > left {
            warning(
                ui,
                &format!(
                    "The lot holds {left}: {} too many.",
                    i64::from(seeds) - left
                ),
            );
        }
        let boxes = seeds.div_ceil(most);
        if boxes > MOST_BOXES {
            warning(
                ui,
                &format!(
                    "That makes {boxes} boxes. Lay more seeds in each, or fewer at a time: {MOST_BOXES} boxes at most."
                ),
            );
            return false;
        }
        let fillings = box_fillings(seeds, most);
        ui.label(filling_words(&fillings));
        let largest = fillings.first().copied().unwrap_or(0);
        if let Some(words) = crowding(&batch.regimen, largest) {
            warning(ui, &words);
        }
        if batch.started {
            warning(
                ui,
                &format!(
                    "{} went into the cold on {}: the chill of these boxes is counted from that day too.",
                    batch.code,
                    batch.start.format("%-d %b %Y")
                ),
            );
        }
        true
    }
}

/// '3 boxes: 2 with 67 seeds, 1 with 66'.
fn filling_words(fillings: &[u32]) -> String {
    let boxes = fillings.len() as u32;
    let (most, least) = (
        fillings.first().copied().unwrap_or(0),
        fillings.last().copied().unwrap_or(0),
    );
    let full = fillings.iter().filter(|each| **each == most).count() as u32;
    let noun = plural(boxes, "box", "boxes");
    if most == least {
        let each = if boxes == 1 { "" } else { " each" };
        format!("{boxes} {noun} with {most} seeds{each}.")
    } else {
        format!(
            "{boxes} {noun}: {full} with {most} seeds, {} with {least}.",
            boxes - full
        )
    }
}

fn warning(ui: &mut Ui, words: &str) {
    let ink = tokens(ui).late.text;
    let text = RichText::new(format!("{} {words}", mark::WARNING)).color(ink);
    ui.add(egui::Label::new(text).wrap());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fillings_are_told_in_numbers() {
        assert_eq!(filling_words(&[80]), "1 box with 80 seeds.");
        assert_eq!(filling_words(&[80, 80]), "2 boxes with 80 seeds each.");
        assert_eq!(
            filling_words(&box_fillings(200, 70)),
            "3 boxes: 2 with 67 seeds, 1 with 66."
        );
    }
}
