//! Adding a founder: its code, its sex, where it came from.

use crate::forms::{FormKind, RecordForm, Submission};
use crate::screens::fields::sex_label;
use crate::view::{Request, View};
use domain::code::next_code;
use domain::{Edit, Genotype, Id, IdSource, Origin, Project, Sex, SexBasis, SexRecord, cautions};
use egui::Ui;
use kit::form::Action;
use kit::theme::{muted, space};
use kit::widgets::{TextField, form_row};

/// What has been typed about a founder to be.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Form {
    code: String,
    sex: Option<Sex>,
    source: String,
}

impl Form {
    /// An empty form, with a free code offered.
    pub(super) fn new(project: &Project) -> Self {
        Self {
            code: next_code(project, "F-"),
            sex: None,
            source: String::new(),
        }
    }

    fn founder(&self, view: &View<'_>, id: Id<Genotype>) -> Genotype {
        let origin = Origin::Founder {
            source: self.source.trim().to_owned(),
            permission: String::new(),
            protected: false,
            imported: false,
        };
        Genotype {
            sex: self.sex.map(|sex| SexRecord {
                sex,
                basis: SexBasis::Stated,
                date: Some(view.today.into()),
            }),
            ..Genotype::new(id, self.code.trim(), origin)
        }
    }
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::Founder;

    fn rows(&mut self, ui: &mut Ui, _view: &View<'_>) -> Action {
        ui.label(muted(ui, "A founder is a plant that came from outside your program. You can add the rest of what \
            you know about it once it is in the list."));
        ui.add_space(space::S);
        form_row(ui, "Code of the founder", |ui| {
            TextField::new("Code of the founder")
                .width(200.0)
                .edit(ui, &mut self.code);
        });
        form_row(ui, "Sex of the founder", |ui| {
            ui.horizontal_wrapped(|ui| {
                for sex in [
                    None,
                    Some(Sex::Female),
                    Some(Sex::Male),
                    Some(Sex::Monoecious),
                ] {
                    let words = if sex.is_none() {
                        "unknown".to_owned()
                    } else {
                        sex_label(sex)
                    };
                    ui.radio_value(&mut self.sex, sex, words);
                }
            });
        });
        form_row(ui, "Source", |ui| {
            TextField::new("Source of the founder")
                .hint("from whom or where")
                .width(260.0)
                .edit(ui, &mut self.source);
        });
        if self.sex == Some(Sex::Male) || self.sex == Some(Sex::Monoecious) {
            ui.add_space(space::S);
            crate::screens::fields::cautions(ui, &[cautions::MALES]);
        }
        Action::new(format!("Add founder {}", self.code.trim()))
            .needs(!self.code.trim().is_empty(), "Give it a code.")
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let founder = self.founder(view, ids.next());
        let show = Request::Show(founder.id.into());
        Ok(Submission::from(Edit::add(founder)).then(show))
    }
}
