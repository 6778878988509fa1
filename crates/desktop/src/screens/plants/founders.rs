//! Several founders at once: a line for each, with its code, its name, its sex, where it grows and whether it may be
//! crossed; whose they are and where that stands written is said once for all of them.

use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::screens::fields::choice;
use crate::view::{Outbox, View};
use domain::{
    BreedingUse, Edit, Genotype, IdSource, Origin, Permission, Sex, SexBasis, SexRecord, cautions,
};
use egui::Ui;
use kit::form::Action;
use kit::selection::named;
use kit::theme::{muted, space};
use kit::widgets::{TextField, form_row, segmented};

/// Where the form stands: it is about no record yet.
const ABOUT: &str = "founders";

/// What is typed about one founder.
#[derive(Debug, Clone, Default, PartialEq, serde::Serialize, serde::Deserialize)]
struct Line {
    code: String,
    name: String,
    sex: Option<Sex>,
    place: String,
    #[serde(default)]
    breeding: BreedingUse,
}

impl Line {
    fn is_empty(&self) -> bool {
        [&self.code, &self.name, &self.place]
            .iter()
            .all(|words| words.trim().is_empty())
    }
}

/// What is typed about founders to be; the last line is always an empty one.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Form {
    lines: Vec<Line>,
    #[serde(default)]
    owner: String,
    #[serde(default)]
    document: String,
    #[serde(default)]
    conditions: String,
}

impl Form {
    fn new() -> Self {
        Self {
            lines: vec![Line::default(); 3],
            owner: String::new(),
            document: String::new(),
            conditions: String::new(),
        }
    }

    /// What is noted of the permission for one plant: nothing while it isn't known.
    fn permission(&self, line: &Line) -> Permission {
        if line.breeding == BreedingUse::NotKnown {
            return Permission::default();
        }
        let conditions = if line.breeding == BreedingUse::WithConditions {
            self.conditions.trim().to_owned()
        } else {
            String::new()
        };
        Permission {
            breeding: line.breeding,
            owner: self.owner.trim().to_owned(),
            document: self.document.trim().to_owned(),
            conditions,
            until: None,
        }
    }

    /// Whose the plants are, once something is allowed or forbidden of one.
    fn permission_ui(&mut self, ui: &mut Ui) {
        let any = |of: &dyn Fn(BreedingUse) -> bool| self.told().any(|line| of(line.breeding));
        if !any(&|breeding| breeding != BreedingUse::NotKnown) {
            return;
        }
        let conditions = any(&|breeding| breeding == BreedingUse::WithConditions);
        let mut row = |name: &str, hint: &str, words: &mut String| {
            form_row(ui, name, |ui| {
                TextField::new(name).hint(hint).edit(ui, words)
            });
        };
        row("Owner of these plants", "", &mut self.owner);
        row(
            "Document of the permission",
            "letter, licence or permit",
            &mut self.document,
        );
        if conditions {
            row("Conditions", "as they are written", &mut self.conditions);
        }
    }

    fn told(&self) -> impl Iterator<Item = &Line> {
        self.lines.iter().filter(|line| !line.is_empty())
    }
}

/// Opens the form.
pub fn open(ui: &Ui) {
    forms::open(ui.ctx(), ABOUT, "", Form::new());
}

/// Draws the form, if it is open. Whether it is.
pub fn show(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) -> bool {
    forms::show::<Form>(ui, view, ABOUT, out)
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::Founders;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let width = ui.available_width();
        let code = 104.0;
        let sex = 136.0;
        let breeding = 148.0;
        let rest = ((width - code - sex - breeding - 6.0 * space::S) / 2.0).clamp(84.0, 220.0);
        ui.horizontal(|ui| {
            let head = |ui: &mut Ui, words: &str, width: f32| {
                ui.allocate_ui(egui::vec2(width, 16.0), |ui| {
                    ui.set_width(width);
                    ui.label(muted(ui, words).small());
                });
            };
            head(ui, "Code", code);
            head(ui, "Name, if it has one", rest);
            head(ui, "Sex", sex);
            head(ui, "Where it grows", rest);
            head(ui, "May be crossed", breeding);
        });
        for (nth, line) in self.lines.iter_mut().enumerate() {
            line_ui(ui, nth + 1, line, [code, rest]);
        }
        if self.lines.last().is_none_or(|line| !line.is_empty()) {
            self.lines.push(Line::default());
        }
        self.permission_ui(ui);
        if self.told().any(|line| line.sex == Some(Sex::Male)) {
            crate::screens::fields::caution_lines(ui, &[cautions::MALES]);
        }
        let codes = self.told().map(|line| line.code.trim());
        let who = named(codes).unwrap_or_else(|| "plants".to_owned());
        let without = self.told().any(|line| line.code.trim().is_empty());
        Action::new(format!("Record {who}, {}", view.on_button()))
            .needs(self.told().next().is_some(), "Give the first plant a code.")
            .needs(
                !without,
                "Give each plant a code: it is what you write on its label.",
            )
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let plants: Vec<Edit> = self
            .told()
            .map(|line| {
                let origin = Origin::Founder {
                    source: String::new(),
                    permission: String::new(),
                    protected: false,
                    imported: false,
                };
                let name = line.name.trim();
                Edit::add(Genotype {
                    permission: self.permission(line),
                    name: (!name.is_empty()).then(|| name.to_owned()),
                    location: line.place.trim().to_owned(),
                    sex: line.sex.map(|sex| SexRecord {
                        sex,
                        basis: SexBasis::Stated,
                        date: Some(view.today.into()),
                    }),
                    ..Genotype::new(ids.next(), line.code.trim(), origin)
                })
            })
            .collect();
        let codes = self.told().map(|line| line.code.trim());
        let who = named(codes).unwrap_or_default();
        Ok(Edit::all(format!("add {who}"), plants).into())
    }
}

fn line_ui(ui: &mut Ui, nth: usize, line: &mut Line, [code, rest]: [f32; 2]) {
    ui.horizontal(|ui| {
        let field = |name: &str, width: f32, ui: &mut Ui, words: &mut String| {
            let name = format!("{name} of plant {nth}");
            TextField::new(&name)
                .width(width - 2.0 * space::S)
                .edit(ui, words);
        };
        field("Code", code, ui, &mut line.code);
        field("Name", rest, ui, &mut line.name);
        let choices = [
            (Some(Sex::Female), "\u{2640} F"),
            (Some(Sex::Male), "\u{2642} M"),
            (None, "? U"),
        ];
        segmented(ui, &format!("Sex of plant {nth}"), &mut line.sex, &choices);
        field("Place", rest, ui, &mut line.place);
        let uses = BreedingUse::ALL.map(|each| (each, each.words().to_owned()));
        choice(
            ui,
            &format!("May plant {nth} be crossed"),
            &mut line.breeding,
            &uses,
        );
    });
}
