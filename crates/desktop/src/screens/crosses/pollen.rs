//! Choosing the pollen of a cross: one male, a mix, open, or unknown.

use crate::forms::{FormKind, RecordForm, Submission};
use crate::screens::code_picker::{self, CodePicker};
use crate::view::View;
use domain::record::cross::CrossField;
use domain::{Cross, Edit, Genotype, Id, IdSource, Pollen, PollenShare};
use egui::{Button, Role, Ui, WidgetInfo, vec2};
use kit::form::Action;
use kit::theme::space;
use kit::widgets::{NumberField, form_row, segmented};

/// Pollen being chosen.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Draft {
    kind: PollenKind,
    male: Option<Id<Genotype>>,
    mix: Vec<PollenShare>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
enum PollenKind {
    Male,
    Mix,
    Open,
    Unknown,
}

impl Default for Draft {
    fn default() -> Self {
        Self {
            kind: PollenKind::Male,
            male: None,
            mix: Vec::new(),
        }
    }
}

impl From<&Pollen> for Draft {
    fn from(pollen: &Pollen) -> Self {
        match pollen {
            Pollen::Male(male) => Self {
                kind: PollenKind::Male,
                male: Some(*male),
                mix: Vec::new(),
            },
            Pollen::Mix(shares) => Self {
                kind: PollenKind::Mix,
                male: None,
                mix: shares.clone(),
            },
            Pollen::Open => Self {
                kind: PollenKind::Open,
                ..Self::default()
            },
            Pollen::Unknown => Self {
                kind: PollenKind::Unknown,
                ..Self::default()
            },
        }
    }
}

/// Another pollen for a cross, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Form {
    cross: Id<Cross>,
    female: Id<Genotype>,
    chosen: Draft,
}

impl Form {
    /// A form that begins with the pollen it has.
    pub(super) fn new(cross: &Cross) -> Self {
        Self {
            cross: cross.id,
            female: cross.female,
            chosen: Draft::from(&cross.pollen),
        }
    }
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::Pollen;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        self.chosen.show(ui, view, Some(self.female));
        let code = view.project.code_of(self.cross);
        let pollen = self.chosen.pollen();
        let words = pollen.as_ref().map_or_else(
            || format!("Record the pollen of {code}"),
            |pollen| {
                let words = domain::display::pollen_words(view.project, pollen);
                format!("Record {words} as the pollen of {code}")
            },
        );
        Action::new(words).needs(
            pollen.is_some(),
            "Choose the pollen: a male, a mix, open or unknown.",
        )
    }

    fn submission(&self, _view: &View<'_>, _ids: &mut IdSource) -> Result<Submission, String> {
        let pollen = self.chosen.pollen().ok_or("Choose the pollen.")?;
        Ok(Edit::set(self.cross, CrossField::Pollen(pollen)).into())
    }
}

impl Draft {
    /// The pollen chosen; nothing while it is incomplete.
    pub(super) fn pollen(&self) -> Option<Pollen> {
        match self.kind {
            PollenKind::Male => self.male.map(Pollen::Male),
            PollenKind::Mix => (!self.mix.is_empty()).then(|| Pollen::Mix(self.mix.clone())),
            PollenKind::Open => Some(Pollen::Open),
            PollenKind::Unknown => Some(Pollen::Unknown),
        }
    }

    /// Draws the choice.
    pub(super) fn show(&mut self, ui: &mut Ui, view: &View<'_>, female: Option<Id<Genotype>>) {
        let kinds = [
            (PollenKind::Male, "One male"),
            (PollenKind::Mix, "Mix"),
            (PollenKind::Open, "Open"),
            (PollenKind::Unknown, "Unknown"),
        ];
        ui.label(kit::theme::muted(ui, "Pollen"));
        segmented(ui, "Kind of pollen", &mut self.kind, &kinds);
        match self.kind {
            PollenKind::Male => {
                form_row(ui, "Male parent", |ui| {
                    pick_male(ui, view, "Male parent", female, &mut self.male)
                });
            }
            PollenKind::Mix => self.mix_ui(ui, view, female),
            PollenKind::Open | PollenKind::Unknown => {}
        }
    }

    fn mix_ui(&mut self, ui: &mut Ui, view: &View<'_>, female: Option<Id<Genotype>>) {
        let mut away = None;
        for (nth, part) in self.mix.iter_mut().enumerate() {
            let code = view.project.code_of(part.male).to_owned();
            ui.push_id(part.male, |ui| {
                form_row(ui, &code, |ui| {
                    ui.horizontal(|ui| {
                        let mut percent = part.share.map(|share| share * 100.0);
                        let name = format!("Share of {code}");
                        let field = NumberField::new(&name, "%").range(0.0..=100.0);
                        if field.show_optional(ui, &mut percent).changed {
                            part.share = percent.map(|percent| percent / 100.0);
                        }
                        let remove = ui.add(
                            Button::new(kit::fonts::mark::TIMES)
                                .min_size(vec2(space::TARGET, space::TARGET)),
                        );
                        remove.widget_info(|| {
                            WidgetInfo::labeled(
                                Role::Button,
                                true,
                                format!("Take {code} out of the mix"),
                            )
                        });
                        if remove.clicked() {
                            away = Some(nth);
                        }
                    });
                });
            });
        }
        if let Some(nth) = away {
            self.mix.remove(nth);
        }
        let mut another = None;
        form_row(ui, "Add a male", |ui| {
            pick_male(ui, view, "Add a male", female, &mut another)
        });
        if let Some(male) = another.filter(|male| self.mix.iter().all(|part| part.male != *male)) {
            self.mix.push(PollenShare { male, share: None });
        }
        if self.mix.len() > 1 {
            form_row(ui, "", |ui| {
                if ui.button("Share equally").clicked() {
                    let share = 1.0 / self.mix.len() as f64;
                    self.mix
                        .iter_mut()
                        .for_each(|part| part.share = Some(share));
                }
            });
        }
    }
}

/// A plant that may give pollen; the female herself only if she bears both kinds of flowers.
fn pick_male(
    ui: &mut Ui,
    view: &View<'_>,
    name: &str,
    female: Option<Id<Genotype>>,
    male: &mut Option<Id<Genotype>>,
) -> bool {
    let project = view.project;
    let shown = male.map_or("", |male| project.code_of(male));
    let allowed = |plant: &Genotype| {
        female.map_or_else(
            || plant.may_give_pollen(),
            |female| plant.may_pollinate(female),
        )
    };
    let find = |typed: &str| code_picker::find_plants(project, typed, allowed);
    CodePicker::new(name).show(ui, shown, project.revision(), male, find)
}

/// A plant that may bear seed.
pub(super) fn pick_female(ui: &mut Ui, view: &View<'_>, female: &mut Option<Id<Genotype>>) -> bool {
    let project = view.project;
    let shown = female.map_or("", |female| project.code_of(female));
    let find = |typed: &str| code_picker::find_plants(project, typed, Genotype::may_bear_seed);
    form_row(ui, "Female parent", |ui| {
        CodePicker::new("Female parent").show(ui, shown, project.revision(), female, find)
    })
}
