//! What becomes of the seed that has not come up.

use crate::forms::{FormKind, RecordForm, Submission};
use crate::view::View;
use chrono::NaiveDate;
use domain::ledger::BoxTally;
use domain::record::germination::GerminationField;
use domain::{
    ChillBatch, Edit, Germination, GerminationEnd, Id, IdSource, Project, RestFate, actions,
};
use egui::{ComboBox, TextEdit, Ui};
use kit::form::Action;
use kit::theme::muted;
use kit::widgets::{form_row, segmented};

/// The decision on the rest of a run, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct RestForm {
    run: Id<Germination>,
    fate: RestFate,
    batch: Second,
    remark: String,
}

/// Where seed goes that is chilled again.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
enum Second {
    /// A batch yet to be chosen.
    Choose,
    /// A batch of its own, planned for the day under the regimen of the first.
    New,
    /// This batch.
    Into(Id<ChillBatch>),
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
            batch: Second::Choose,
            remark: String::new(),
        }
    }
}

impl RecordForm for RestForm {
    const KIND: FormKind = FormKind::RemainingSeed;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let day = view.today;
        let project = view.project;
        let left = left(project, self.run);
        form_row(ui, "Remaining seed", |ui| {
            let choices = [
                (RestFate::ChilledAgain, "chill again"),
                (RestFate::Discarded, "discard"),
                (RestFate::NoneLeft, "none left"),
            ];
            segmented(ui, "Remaining seed", &mut self.fate, &choices);
        });
        if self.fate == RestFate::ChilledAgain {
            form_row(ui, "In batch", |ui| {
                let name = match self.batch {
                    Second::Choose => "choose",
                    Second::New => "a new batch",
                    Second::Into(batch) => project.code_of(batch),
                };
                ComboBox::from_id_salt(("batch for the rest", self.run))
                    .selected_text(name)
                    .show_ui(ui, |ui| {
                        ui.selectable_value(&mut self.batch, Second::New, "a new batch");
                        for batch in project
                            .chill_batches()
                            .iter()
                            .filter(|batch| batch.ended.is_none())
                        {
                            ui.selectable_value(
                                &mut self.batch,
                                Second::Into(batch.id),
                                &batch.code,
                            );
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
            RestFate::ChilledAgain => match self.batch {
                Second::Choose => "Choose the batch it goes into, or a new one.".to_owned(),
                Second::New => format!(
                    "{left} seeds go into a box of a new batch, planned for {} under the same regimen.",
                    day.format("%-d %b %Y")
                ),
                Second::Into(batch) => {
                    format!(
                        "{left} seeds go into a new box of {}.",
                        project.code_of(batch)
                    )
                }
            },
            RestFate::Discarded => format!("{left} seeds are discarded and the box is closed."),
            RestFate::NoneLeft => "The box is closed.".to_owned(),
        };
        ui.label(muted(ui, words));
        let run = project.germinations().get(self.run);
        let code = run.map_or("box", |run| project.code_of(run.chill_box));
        let chosen = self.fate != RestFate::ChilledAgain || self.batch != Second::Choose;
        Action::new(format!("Close box {code}, {}", view.on_button()))
            .needs(chosen, "Choose the batch it goes into, or a new one.")
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        Ok(self.edit(view.project, view.today, ids).into())
    }
}

impl RestForm {
    fn edit(&self, project: &Project, day: NaiveDate, ids: &mut IdSource) -> Edit {
        let into = match self.batch {
            Second::Into(batch) => Some(batch),
            Second::New | Second::Choose => None,
        };
        let remark = self.remark.trim();
        if self.fate == RestFate::ChilledAgain
            && let Some(edit) = actions::second_chill(project, self.run, into, day, remark, ids)
        {
            return edit;
        }
        let end = GerminationEnd {
            date: day,
            rest: self.fate,
            remark: remark.to_owned(),
        };
        let close = Edit::set(self.run, GerminationField::End(Some(end)));
        let run = project.germinations().get(self.run);
        let code = run.map_or("box", |run| project.code_of(run.chill_box));
        Edit::all(format!("close box {code}"), vec![close])
    }
}

fn left(project: &Project, run: Id<Germination>) -> u32 {
    let chill_box = project
        .germinations()
        .get(run)
        .and_then(|run| project.chill_boxes().get(run.chill_box));
    chill_box.map_or(0, |chill_box| BoxTally::of(project, chill_box).left())
}
