//! What becomes of the seed that has not come up.

use crate::theme::{muted, space};
use crate::view::{Outbox, View};
use crate::widgets::{form_row, main_button, segmented};
use chrono::NaiveDate;
use domain::ledger::BoxTally;
use domain::record::germination::GerminationField;
use domain::{ChillBatch, Edit, Germination, GerminationEnd, Id, Project, RestFate, work};
use egui::{ComboBox, TextEdit, Ui};

/// The decision on the rest of a run, until it is recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct RestForm {
    run: Id<Germination>,
    fate: RestFate,
    batch: Option<Id<ChillBatch>>,
    remark: String,
}

impl RestForm {
    /// A form for the rest of this run.
    pub fn new(project: &Project, run: Id<Germination>) -> Self {
        let fate = if left(project, run) == 0 {
            RestFate::NoneLeft
        } else {
            RestFate::Discarded
        };
        Self {
            run,
            fate,
            batch: None,
            remark: String::new(),
        }
    }

    /// The run it is about.
    pub const fn run(&self) -> Id<Germination> {
        self.run
    }

    /// Draws the form. True when it is done with: decided, or put away.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        view: &View<'_>,
        day: NaiveDate,
        out: &mut Outbox<'_>,
    ) -> bool {
        let project = view.project;
        let left = left(project, self.run);
        form_row(ui, "The rest", |ui| {
            let choices = [
                (RestFate::ChilledAgain, "chill again"),
                (RestFate::Discarded, "discard"),
                (RestFate::NoneLeft, "none left"),
            ];
            segmented(ui, "The rest", &mut self.fate, &choices);
        });
        if self.fate == RestFate::ChilledAgain {
            form_row(ui, "In batch", |ui| {
                let name = self.batch.map_or("choose", |batch| project.code_of(batch));
                ComboBox::from_id_salt(("batch for the rest", self.run))
                    .selected_text(name)
                    .show_ui(ui, |ui| {
                        for batch in project
                            .chill_batches()
                            .iter()
                            .filter(|batch| batch.ended.is_none())
                        {
                            ui.selectable_value(&mut self.batch, Some(batch.id), &batch.code);
                        }
                    })
                    .response
                    .widget_info(|| {
                        egui::WidgetInfo::labeled(egui::Role::ComboBox, true, "In batch")
                    });
            });
        }
        form_row(ui, "Remark", |ui| {
            ui.add(TextEdit::singleline(&mut self.remark).desired_width(220.0))
                .accessible_name("Remark on the rest");
        });
        let words = match self.fate {
            RestFate::ChilledAgain if self.batch.is_none() => {
                "Plan a batch on the Chill screen first, then choose it here.".to_owned()
            }
            RestFate::ChilledAgain => format!(
                "{left} seeds go into a new box of {}.",
                self.batch.map_or("", |batch| project.code_of(batch))
            ),
            RestFate::Discarded => format!("{left} seeds are thrown out, and the run is closed."),
            RestFate::NoneLeft => "The run is closed.".to_owned(),
        };
        ui.label(muted(ui, words));
        ui.add_space(space::XS);
        ui.horizontal(|ui| {
            let possible = self.fate != RestFate::ChilledAgain || self.batch.is_some();
            let decided = ui
                .add_enabled_ui(possible, |ui| main_button(ui, "Close the run"))
                .inner
                .clicked();
            if decided {
                let edit = self.edit(project, day, left, out.ids);
                out.edit(edit);
            }
            decided | ui.button("Put away").clicked()
        })
        .inner
    }

    fn edit(
        &self,
        project: &Project,
        day: NaiveDate,
        left: u32,
        ids: &mut domain::IdSource,
    ) -> Edit {
        let end = GerminationEnd {
            date: day,
            rest: self.fate,
            remark: self.remark.trim().to_owned(),
        };
        let close = Edit::set(self.run, GerminationField::End(Some(end)));
        let run = project.germinations().get(self.run);
        let again = match (self.fate, self.batch, run) {
            (RestFate::ChilledAgain, Some(batch), Some(run)) if left > 0 => {
                work::chill_again(project, run.chill_box, batch, left, ids)
            }
            _ => None,
        };
        let code = run.map_or("box", |run| project.code_of(run.chill_box));
        Edit::all(
            format!("close box {code}"),
            std::iter::once(close).chain(again).collect(),
        )
    }
}

fn left(project: &Project, run: Id<Germination>) -> u32 {
    let chill_box = project
        .germinations()
        .get(run)
        .and_then(|run| project.chill_boxes().get(run.chill_box));
    chill_box.map_or(0, |chill_box| BoxTally::of(project, chill_box).left())
}
