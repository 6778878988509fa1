//! What may be bred from a plant: what is noted with it, what it inherits, and the form that notes it.

use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::screens::fields::choice_row;
use crate::view::{Outbox, View};
use domain::permission::{guess, limits};
use domain::record::genotype::GenotypeField;
use domain::{BreedingUse, Edit, Genotype, Id, IdSource, Origin, Permission};
use egui::{Label, RichText, Ui};
use kit::fonts::mark;
use kit::form::Action;
use kit::theme::{muted, tokens};
use kit::widgets::{DateField, TextField, detail, form_row};

/// Another permission for a plant, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Form {
    plant: Id<Genotype>,
    permission: Permission,
}

impl Form {
    /// A form that begins with what is noted; where nothing is, with what an old note may mean.
    pub(super) fn new(plant: &Genotype) -> Self {
        let mut permission = plant.permission.clone();
        if permission == Permission::default()
            && let Some((_, breeding)) = guessed(plant)
        {
            permission.breeding = breeding;
        }
        Self {
            plant: plant.id,
            permission,
        }
    }
}

/// What the note of a founder may mean, while nobody has chosen.
fn guessed(plant: &Genotype) -> Option<(&str, BreedingUse)> {
    match &plant.origin {
        Origin::Founder {
            permission: note, ..
        } if plant.permission.breeding == BreedingUse::NotKnown => {
            guess(note).map(|breeding| (note.as_str(), breeding))
        }
        _ => None,
    }
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::Permission;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let plant = view.project.genotypes().get(self.plant);
        if let Some((note, breeding)) = plant.and_then(guessed) {
            let words = format!(
                "The note '{note}' may mean '{}'. Choose what is right.",
                breeding.words()
            );
            ui.add(Label::new(muted(ui, words)).wrap());
        }
        let kinds = BreedingUse::ALL.map(|each| (each, each.words().to_owned()));
        choice_row(ui, "May be crossed", &mut self.permission.breeding, &kinds);
        if self.permission.breeding == BreedingUse::WithConditions {
            form_row(ui, "Conditions", |ui| {
                TextField::new("Conditions")
                    .hint("as they are written")
                    .edit(ui, &mut self.permission.conditions)
            });
        }
        form_row(ui, "Owner", |ui| {
            TextField::new("Owner").edit(ui, &mut self.permission.owner)
        });
        form_row(ui, "Document", |ui| {
            TextField::new("Document")
                .hint("letter, licence or permit")
                .edit(ui, &mut self.permission.document)
        });
        form_row(ui, "Holds until", |ui| {
            DateField::new("Holds until", view.today).show_optional(ui, &mut self.permission.until)
        });
        ui.label(
            muted(
                ui,
                "It holds for all that descends from the plant. What is noted here is no legal advice: the document decides.",
            )
            .small(),
        );
        let code = view.project.code_of(self.plant);
        let same = plant.is_some_and(|plant| plant.permission == self.permission);
        Action::new(format!("Record the permission for {code}"))
            .needs(!same, "That is noted already.")
    }

    fn submission(&self, _view: &View<'_>, _ids: &mut IdSource) -> Result<Submission, String> {
        let mut permission = self.permission.clone();
        for words in [
            &mut permission.owner,
            &mut permission.document,
            &mut permission.conditions,
        ] {
            *words = words.trim().to_owned();
        }
        Ok(Edit::set(self.plant, GenotypeField::Permission(permission)).into())
    }
}

/// Draws what may be bred from a plant.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    detail(ui, "May be crossed", &plant.permission.words());
    for limit in limits(view.project, plant, view.today) {
        let sentence = limit.sentence(view.project, &plant.code);
        if limit.holds_back() {
            let words = format!("{} {sentence}", mark::WARNING);
            let ink = tokens(ui).late.text;
            ui.add(Label::new(RichText::new(words).color(ink)).wrap());
        } else if !limit.chain.is_empty() {
            ui.add(Label::new(muted(ui, sentence)).wrap());
        }
    }
    let about = plant.id.uuid();
    if !forms::show::<Form>(ui, view, about, out) {
        form_row(ui, "", |ui| {
            if ui.button("Note what is allowed…").clicked() {
                forms::open(ui.ctx(), about, &plant.code, Form::new(plant));
            }
        });
    }
}
