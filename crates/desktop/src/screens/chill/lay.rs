//! Seed of a lot laid in boxes of a batch.

use crate::forms::{FormKind, RecordForm, Submission};
use crate::screens::code_picker::{CodePicker, find};
use crate::screens::fields::choice;
use crate::view::{Request, View};
use domain::actions::{box_fillings, lay_boxes};
use domain::ledger::balance;
use domain::status::{BatchStatus, crowding};
use domain::words::plural;
use domain::{ChillBatch, Id, IdSource, Project, SeedLot};
use egui::{RichText, Ui};
use kit::fonts::mark;
use kit::form::Action;
use kit::theme::{muted, tokens};
use kit::widgets::{NumberField, form_row};

/// The most boxes laid at once: more is a slip of the pen.
const MOST_BOXES: u32 = 200;

/// Seed to be laid, until it is.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Form {
    pub(super) batch: Option<Id<ChillBatch>>,
    pub(super) lot: Option<Id<SeedLot>>,
    seeds: Option<f64>,
    /// The most seeds in a box; as the batch's regimen has it, unless typed.
    most: Option<f64>,
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
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::AddBoxes;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let project = view.project;
        let batches: Vec<_> = open_batches(project)
            .map(|batch| (Some(batch.id), batch.code.clone()))
            .collect();
        self.lot_ui(ui, view);
        form_row(ui, "Seeds", |ui| {
            NumberField::new("Seeds to lay", "seeds")
                .decimals(0)
                .range(1.0..=100_000.0)
                .show_optional(ui, &mut self.seeds);
        });
        // Chosen already as a rule: what is typed comes first.
        form_row(ui, "Batch", |ui| {
            choice(ui, "Batch of the boxes", &mut self.batch, &batches)
        });
        let batch = self.batch.and_then(|id| project.chill_batches().get(id));
        let usual = batch.map_or(100, |batch| batch.regimen.box_to);
        let mut most = self.most.unwrap_or_else(|| f64::from(usual));
        form_row(ui, "Most per box", |ui| {
            let field = NumberField::new("Most seeds per box", "seeds").decimals(0);
            if field.range(1.0..=10_000.0).show(ui, &mut most).changed {
                self.most = Some(most);
            }
        });
        let (seeds, most) = (self.seeds.unwrap_or(0.0) as u32, most as u32);
        let stands = self.outcome_ui(ui, view, batch, seeds, most);
        let boxes = seeds.div_ceil(most.max(1));
        let into = batch.map_or("a batch", |batch| batch.code.as_str());
        let words = format!(
            "Lay {seeds} seeds in {boxes} {} of {into}",
            plural(boxes, "box", "boxes")
        );
        Action::new(words)
            .needs(batch.is_some(), "Choose the batch.")
            .needs(self.lot.is_some(), "Choose the lot.")
            .needs(seeds > 0, "Give the number of seeds.")
            .unless(stands)
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let project = view.project;
        let batch = self.batch.and_then(|id| project.chill_batches().get(id));
        let (Some(batch), Some(lot)) = (batch, self.lot) else {
            return Err("Choose the batch and the lot.".into());
        };
        let most = self
            .most
            .map_or(batch.regimen.box_to, |most| most as u32)
            .max(1);
        let seeds = self.seeds.unwrap_or(0.0) as u32;
        let edit = lay_boxes(project, batch, lot, seeds, most, ids);
        Ok(Submission::from(edit).then(Request::Show(batch.id.into())))
    }
}

/// The batches that boxes can still be added to, the latest first.
pub(super) fn open_batches(project: &Project) -> impl Iterator<Item = &ChillBatch> {
    project.chill_batches().iter().rev().filter(|batch| {
        let status = BatchStatus::of(project, batch);
        matches!(status, BatchStatus::Planned | BatchStatus::InCold)
    })
}

impl Form {
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

    /// What it comes to; what stands in the way, if anything.
    fn outcome_ui(
        &self,
        ui: &mut Ui,
        view: &View<'_>,
        batch: Option<&ChillBatch>,
        seeds: u32,
        most: u32,
    ) -> Option<String> {
        let project = view.project;
        let Some(lot) = self.lot.and_then(|id| project.seed_lots().get(id)) else {
            ui.label(muted(
                ui,
                "Choose the lot. Each box holds seed of one lot, never two.",
            ));
            return None;
        };
        let left = balance(project, lot.id);
        let words = format!(
            "{}: {}. {left} seeds left.",
            lot.code,
            lot.source.words(project)
        );
        ui.add(egui::Label::new(muted(ui, words)).wrap());
        let batch = batch.filter(|_| seeds > 0)?;
        if i64::from(seeds) > left {
            return Some(format!(
                "The lot holds {left}: {} too many.",
                i64::from(seeds) - left
            ));
        }
        let boxes = seeds.div_ceil(most);
        if boxes > MOST_BOXES {
            return Some(format!(
                "That makes {boxes} boxes. Lay more seeds in each, or fewer at a time: {MOST_BOXES} boxes at most."
            ));
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
                    "Started chilling {} on {}: the chill of these boxes is counted from that day too.",
                    batch.code,
                    batch.start.format("%-d %b %Y")
                ),
            );
        }
        None
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
