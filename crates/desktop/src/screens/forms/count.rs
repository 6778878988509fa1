//! A count of what came up in a box.

use super::whole_number;
use crate::forms::{FormKind, RecordForm, Submission};
use crate::view::View;
use domain::ledger::BoxTally;
use domain::words::plural;
use domain::{Count, Edit, Germination, Id, IdSource};
use egui::{TextEdit, Ui};
use kit::form::Action;
use kit::theme::muted;
use kit::widgets::form_row;

/// What came up, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct CountForm {
    run: Id<Germination>,
    germinated: u32,
    abnormal: u32,
    dead: u32,
    lost: u32,
    remark: String,
}

impl CountForm {
    /// A form for a count in this run.
    pub const fn new(run: Id<Germination>) -> Self {
        Self {
            run,
            germinated: 0,
            abnormal: 0,
            dead: 0,
            lost: 0,
            remark: String::new(),
        }
    }
}

impl RecordForm for CountForm {
    const KIND: FormKind = FormKind::Count;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let project = view.project;
        let tally = project
            .germinations()
            .get(self.run)
            .and_then(|run| project.chill_boxes().get(run.chill_box))
            .map(|chill_box| BoxTally::of(project, chill_box))
            .unwrap_or_default();
        ui.label(muted(
            ui,
            format!(
                "New since the last count. {} of {} seeds are left.",
                tally.left(),
                tally.laid
            ),
        ));
        let most = tally.laid;
        form_row(ui, "Up", |ui| {
            whole_number(
                ui,
                "Newly germinated",
                "newly germinated",
                &mut self.germinated,
                most,
            );
        });
        form_row(ui, "Abnormal", |ui| {
            whole_number(ui, "Abnormal", "abnormal", &mut self.abnormal, most);
        });
        form_row(ui, "Dead", |ui| {
            whole_number(ui, "Dead", "dead", &mut self.dead, most);
        });
        form_row(ui, "Sprouts lost", |ui| {
            whole_number(
                ui,
                "Sprouts lost",
                "lost or thinned before potting",
                &mut self.lost,
                most,
            );
        });
        form_row(ui, "Remark", |ui| {
            ui.add(TextEdit::singleline(&mut self.remark).desired_width(220.0))
                .accessible_name("Remark on the count");
        });
        let run = project.germinations().get(self.run);
        let code = run.map_or("box", |run| project.code_of(run.chill_box));
        let day = view.on_button();
        let found = self.germinated + self.abnormal + self.dead + self.lost;
        let words = match self.germinated {
            _ if found == 0 => format!("Record nothing new in {code}, {day}"),
            0 => format!("Record the count of {code}, {day}"),
            some => format!(
                "Record {some} {} in {code}, {day}",
                plural(some, "sprout", "sprouts")
            ),
        };
        let taken = self.germinated + self.abnormal + self.dead;
        Action::new(words).needs(
            taken <= tally.left(),
            format!("Only {} seeds are left in the box.", tally.left()),
        )
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let count = Count {
            id: ids.next(),
            run: self.run,
            date: view.today,
            germinated: self.germinated,
            abnormal: self.abnormal,
            dead: self.dead,
            lost: self.lost,
            by: view.preferences.who.clone(),
            remark: self.remark.trim().to_owned(),
        };
        Ok(Edit::add(count).into())
    }
}
