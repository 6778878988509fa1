//! Adding a founder: its code, its sex, where it came from.

use crate::screens::fields::sex_label;
use crate::view::{Outbox, View};
use domain::code::next_code;
use domain::{Edit, Genotype, Id, Origin, Project, Sex, SexBasis, SexRecord, cautions};
use egui::{Key, Ui};
use kit::theme::{muted, space};
use kit::widgets::{form_row, main_button};

/// What has been typed about a founder to be.
pub(super) struct Form {
    code: String,
    sex: Option<Sex>,
    source: String,
    is_new: bool,
    /// The founder handed in: the form closes once it is in the project, and stays if it was refused.
    pub(super) sent: Option<Id<Genotype>>,
}

impl Form {
    /// An empty form, with a free code offered.
    pub(super) fn new(project: &Project) -> Self {
        Self {
            code: next_code(project, "F-"),
            sex: None,
            source: String::new(),
            is_new: true,
            sent: None,
        }
    }

    /// Draws the form; true when it was put away.
    pub(super) fn show(&mut self, ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) -> bool {
        ui.label(muted(ui, "A founder came into the program from outside. The rest of what is known about it can be added once it stands in the list."));
        ui.add_space(space::S);
        let mut entered = false;
        form_row(ui, "Code of the founder", |ui| {
            let field = ui
                .text_edit_singleline(&mut self.code)
                .accessible_name("Code of the founder");
            if std::mem::take(&mut self.is_new) {
                field.request_focus();
            }
            entered |= field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
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
            let field = ui
                .add(egui::TextEdit::singleline(&mut self.source).hint_text("from whom or where"))
                .accessible_name("Source of the founder");
            entered |= field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        });
        let mut put_away = false;
        ui.add_space(space::S);
        ui.horizontal(|ui| {
            if main_button(ui, "Add this founder").clicked() || entered {
                let founder = self.founder(view, out.ids.next());
                self.sent = Some(founder.id);
                out.edit(Edit::add(founder));
            }
            put_away = ui.button("Put away").clicked();
        });
        if self.sex == Some(Sex::Male) || self.sex == Some(Sex::Monoecious) {
            ui.add_space(space::S);
            crate::screens::fields::cautions(ui, &[cautions::MALES]);
        }
        put_away
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
