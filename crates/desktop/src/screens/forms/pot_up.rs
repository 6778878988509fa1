//! Sprouts become numbered plants.

use super::whole_number;
use crate::forms::{FormKind, RecordForm, Submission};
use crate::view::View;
use domain::actions::{self, seedling_codes};
use domain::words::plural;
use domain::{ChillBox, Id, IdSource, Project, ledger};
use egui::Ui;
use kit::form::Action;
use kit::theme::muted;
use kit::widgets::form_row;
use std::sync::Arc;

/// How many sprouts to pot, until it is done.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct PotUpForm {
    chill_box: Id<ChillBox>,
    sprouts: u32,
}

impl PotUpForm {
    /// A form for the sprouts of this box, all that aren't potted yet to begin with.
    pub fn new(project: &Project, chill_box: Id<ChillBox>) -> Self {
        let sprouts = project
            .chill_boxes()
            .get(chill_box)
            .map_or(0, |chill_box| ledger::unpotted(project, chill_box));
        Self { chill_box, sprouts }
    }

    /// The button that opens it, where sprouts wait. True when it was clicked.
    pub fn button(&self, ui: &mut Ui) -> bool {
        self.sprouts > 0 && ui.button(format!("Pot up {}…", self.sprouts)).clicked()
    }
}

impl PotUpForm {
    /// What the seedlings will be called. Thousands of codes are made to tell two: only when something changed.
    fn codes_in_words(&self, ui: &Ui, project: &Project) -> Arc<str> {
        type CodesInWords = ((u64, u32), Arc<str>);
        let place = egui::Id::unique(("codes to come", self.chill_box));
        let key = (project.revision(), self.sprouts);
        let told: Option<CodesInWords> = ui.data(|data| data.get_temp(place));
        if let Some((_, words)) = told.filter(|(of, _)| *of == key) {
            return words;
        }
        let codes = seedling_codes(project, self.chill_box, self.sprouts);
        let words: Arc<str> = match (codes.first(), codes.last()) {
            (Some(first), Some(last)) if codes.len() > 1 => {
                format!("They become {first} to {last}.").into()
            }
            (Some(only), _) => format!("It becomes {only}.").into(),
            _ => "Give the number of sprouts.".into(),
        };
        ui.data_mut(|data| data.insert_temp::<CodesInWords>(place, (key, Arc::clone(&words))));
        words
    }
}

impl RecordForm for PotUpForm {
    const KIND: FormKind = FormKind::PotUp;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        form_row(ui, "Sprouts", |ui| {
            whole_number(ui, "Sprouts to pot", "sprouts", &mut self.sprouts, 2000);
        });
        ui.label(muted(ui, &*self.codes_in_words(ui, view.project)));
        let word = plural(self.sprouts, "sprout", "sprouts");
        Action::new(format!(
            "Pot up {} {word}, {}",
            self.sprouts,
            view.on_button()
        ))
        .needs(self.sprouts > 0, "Give the number of sprouts.")
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        actions::pot_up(view.project, self.chill_box, self.sprouts, view.today, ids)
            .map(Submission::from)
            .ok_or_else(|| {
                "The template of seedling codes can't number them: correct it in Setup.".to_owned()
            })
    }
}
