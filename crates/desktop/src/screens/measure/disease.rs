//! Disease tests: begun here, scored on the grid, summed up over the season beside it.

use super::Sheet;
use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::screens::fields::choice_row;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::derived_traits::{area_of_disease, course_of_disease};
use domain::{DiseaseTest, Edit, Genotype, Id, IdSource, Infection, PlantPart, Scale, Trait};
use egui::Ui;
use kit::form::Action;
use kit::theme::{muted, space, strong};
use kit::widgets::{TextField, form_row, segmented};

/// A disease test, until it is recorded.
#[derive(Clone, PartialEq, serde::Serialize, serde::Deserialize)]
struct TestForm {
    name: String,
    of_trait: Option<Id<Trait>>,
    date: NaiveDate,
    infection: Infection,
    isolate: String,
    part: PlantPart,
    site: String,
}

/// The place where the form stands.
const HERE: &str = "measure";

/// The traits that a disease can be scored by.
fn scored_by(view: &View<'_>) -> Vec<(Option<Id<Trait>>, String)> {
    let numeric = |each: &&Trait| {
        matches!(
            each.scale,
            Scale::Score { .. } | Scale::Measure { .. } | Scale::Number | Scale::Classes { .. }
        )
    };
    let all = view.project.traits().iter().filter(numeric);
    all.map(|each| {
        let words = format!("{} ({})", each.name, each.scale.unit());
        (Some(each.id), words)
    })
    .collect()
}

impl RecordForm for TestForm {
    const KIND: FormKind = FormKind::DiseaseTest;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        form_row(ui, "Name", |ui| {
            TextField::new("Name of the test")
                .hint("downy mildew, greenhouse")
                .width(200.0)
                .edit(ui, &mut self.name)
        });
        choice_row(ui, "Scored by", &mut self.of_trait, &scored_by(view));
        form_row(ui, "Began on", |ui| {
            view.date_field("Test began on").show(ui, &mut self.date);
        });
        form_row(ui, "Infection", |ui| {
            let choices =
                [Infection::Inoculated, Infection::Natural].map(|each| (each, each.words()));
            segmented(ui, "Infection", &mut self.infection, &choices)
        });
        form_row(ui, "Isolate", |ui| {
            TextField::new("Isolate of the test")
                .hint("or race")
                .width(200.0)
                .edit(ui, &mut self.isolate)
        });
        let parts = PlantPart::ALL.map(|part| (part, part.word().to_owned()));
        choice_row(ui, "Part", &mut self.part, &parts);
        form_row(ui, "Site", |ui| {
            TextField::new("Site of the test")
                .width(200.0)
                .edit(ui, &mut self.site)
        });
        if self.infection == Infection::Natural {
            ui.add(egui::Label::new(muted(ui, "A plant without it may have escaped.")).wrap());
        }
        let day = kit::dates::on_button(self.date, view.clock);
        Action::new(format!("Begin {}, {day}", self.name.trim()))
            .needs(!self.name.trim().is_empty(), "Give the test a name.")
            .needs(self.of_trait.is_some(), "Choose the trait it is scored by.")
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let test = DiseaseTest {
            id: ids.next(),
            name: self.name.trim().to_owned(),
            of_trait: self.of_trait.ok_or("Choose the trait it is scored by.")?,
            date: self.date,
            infection: self.infection,
            isolate: self.isolate.trim().to_owned(),
            part: self.part,
            site: self.site.trim().to_owned(),
            by: view.preferences.who.clone(),
            remark: String::new(),
        };
        Ok(Edit::add(test).into())
    }
}

/// Draws the button that begins a test, and its form.
pub(super) fn begin_ui(ui: &mut Ui, view: &View<'_>, sheet: &Sheet, out: &mut Outbox<'_>) {
    if forms::show::<TestForm>(ui, view, HERE, out) {
        return;
    }
    let choices = scored_by(view);
    if choices.is_empty() || view.read_only.is_some() {
        return;
    }
    if ui.button("Begin a disease test…").clicked() {
        let form = TestForm {
            name: String::new(),
            of_trait: choices[0].0,
            date: view.today,
            infection: Infection::Inoculated,
            isolate: sheet.round.isolate.clone(),
            part: PlantPart::Leaves,
            site: sheet.round.site.clone(),
        };
        forms::open(ui.ctx(), HERE, "", form);
    }
}

/// The course of the disease in a plant, and the area under it.
pub(super) fn course_ui(ui: &mut Ui, view: &View<'_>, sheet: &Sheet, plant: Id<Genotype>) {
    let Some(test) = sheet.round.test else { return };
    let course = course_of_disease(view.project, test, plant);
    if course.is_empty() {
        return;
    }
    ui.add_space(space::S);
    ui.label(strong("Course of the disease"));
    for (day, score) in course.iter().rev().take(6) {
        ui.label(format!("{}: {score:.1}", kit::dates::day(*day)));
    }
    let words = match area_of_disease(view.project, test, plant) {
        Some(area) => format!("AUDPC {area:.1}, from {} days", course.len()),
        None => "Score it on a second day for the area under its curve (AUDPC).".to_owned(),
    };
    ui.add(egui::Label::new(words).wrap());
}
