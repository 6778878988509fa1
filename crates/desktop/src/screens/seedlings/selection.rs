//! What is done with several seedlings at once: sex, selection, the next stage, culling.

use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::view::{Outbox, Request, View};
use chrono::NaiveDate;
use domain::actions::{end_plants, move_to_stage, select};
use domain::record::genotype::GenotypeField;
use domain::{Edit, EndKind, Genotype, Id, IdSource, Project, Sex, SexBasis, SexRecord, cautions};
use egui::Ui;
use kit::form::Action;
use kit::selection::named;
use kit::theme::{muted, space, strong};
use kit::widgets::{TextField, form_row, segmented};

/// What the bar remembers between frames.
#[derive(Default)]
pub(super) struct State {
    /// The plants that were said to be male last, so that the caution stands under the bar.
    males: bool,
}

/// Plants to be culled, or otherwise ended, until they are.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
struct CullForm {
    plants: Vec<Id<Genotype>>,
    kind: EndKind,
    why: String,
}

/// Plants to be selected, until they are.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
struct SelectForm {
    plants: Vec<Id<Genotype>>,
    why: String,
}

/// The plants by name: '24-02-030 and 2 more'.
fn names(project: &Project, plants: &[Id<Genotype>]) -> String {
    let codes = plants.iter().map(|id| project.code_of(*id));
    named(codes).unwrap_or_else(|| "no plant".to_owned())
}

impl RecordForm for SelectForm {
    const KIND: FormKind = FormKind::SelectPlants;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        form_row(ui, "Why", |ui| {
            TextField::new("Why selected")
                .width(280.0)
                .edit(ui, &mut self.why);
        });
        let who = names(view.project, &self.plants);
        Action::new(format!("Select {who}, {}", view.on_button()))
    }

    fn submission(&self, view: &View<'_>, _ids: &mut IdSource) -> Result<Submission, String> {
        let edit = select(&self.plants, view.today.into(), self.why.trim());
        Ok(with_names(view.project, &self.plants, "select", edit).into())
    }
}

impl RecordForm for CullForm {
    const KIND: FormKind = FormKind::CullPlants;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let choices = [
            (EndKind::Culled, "culled"),
            (EndKind::Died, "died"),
            (EndKind::Lost, "lost"),
        ];
        form_row(ui, "How they ended", |ui| {
            segmented(ui, "How they ended", &mut self.kind, &choices);
        });
        form_row(ui, "Why", |ui| {
            TextField::new("Why ended")
                .width(280.0)
                .edit(ui, &mut self.why);
        });
        ui.label(muted(ui, "Their records and scores stay."));
        let living = self.living(view.project);
        let verb = match self.kind {
            EndKind::Culled => "Cull".to_owned(),
            EndKind::Died => "Record as died:".to_owned(),
            EndKind::Lost => "Record as lost:".to_owned(),
        };
        let who = names(view.project, &living);
        Action::new(format!("{verb} {who}, {}", view.on_button()))
            .needs(!living.is_empty(), "None of them is living.")
    }

    fn submission(&self, view: &View<'_>, _ids: &mut IdSource) -> Result<Submission, String> {
        let living = self.living(view.project);
        let day = view.today.into();
        let edit = end_plants(view.project, &living, self.kind, day, self.why.trim());
        Ok(with_names(view.project, &living, self.kind.word(), edit).into())
    }
}

impl CullForm {
    fn living(&self, project: &Project) -> Vec<Id<Genotype>> {
        let plants = self.plants.iter().copied();
        plants
            .filter(|id| project.genotypes().get(*id).is_some_and(Genotype::is_alive))
            .collect()
    }
}

/// The edit under a label that names the plants, so that the notice and the history name them.
fn with_names(project: &Project, plants: &[Id<Genotype>], what: &str, edit: Edit) -> Edit {
    let label = format!("{what} {}", names(project, plants));
    match edit {
        Edit::All { edits, .. } => Edit::all(label, edits),
        one => Edit::all(label, vec![one]),
    }
}

/// What the forms of the bar are about: the plants are in the form.
const ABOUT: &str = "seedlings";

/// Draws the bar for the plants chosen, if any are.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    chosen: &[Id<Genotype>],
    day: NaiveDate,
    out: &mut Outbox<'_>,
) {
    follow_choice(ui, chosen);
    if chosen.is_empty() || view.read_only.is_some() {
        ui.label(muted(
            ui,
            "Select plants for sex, selection, the next stage or culling.",
        ));
        return;
    }
    let project = view.project;
    let who = names(project, chosen);
    ui.horizontal_wrapped(|ui| {
        ui.label(strong(format!("{who}:")));
        for (sex, word) in [(Sex::Female, "Female"), (Sex::Male, "Male")] {
            if ui
                .button(word)
                .on_hover_text("Flowers seen on the day above")
                .clicked()
            {
                let edit = record_sex(project, chosen, sex, day);
                out.act_on(ui, sex.word(), &who, edit);
                state.males = sex == Sex::Male;
            }
        }
        if ui.button("Select…").clicked() {
            forms::close::<SelectForm>(ui.ctx(), ABOUT);
            let form = SelectForm {
                plants: chosen.to_vec(),
                why: String::new(),
            };
            forms::open(ui.ctx(), ABOUT, &who, form);
        }
        ui.menu_button("Move to stage", |ui| {
            for stage in project.stages_in_order() {
                if ui.button(&stage.name).clicked() {
                    let edit = move_to_stage(project, chosen, stage.id);
                    let what = format!("move to {}:", stage.name);
                    let edit = with_names(project, chosen, &what, edit);
                    out.act_on(ui, "move to stage", &who, edit);
                    ui.close();
                }
            }
        });
        if ui.button("Cull…").clicked() {
            forms::close::<CullForm>(ui.ctx(), ABOUT);
            let form = CullForm {
                plants: chosen.to_vec(),
                kind: EndKind::Culled,
                why: String::new(),
            };
            forms::open(ui.ctx(), ABOUT, &who, form);
        }
        if ui.button("Label").clicked() {
            out.ask(Request::Label(
                chosen.iter().map(|id| (*id).into()).collect(),
            ));
        }
        if let [only] = chosen {
            if ui.button("Open its page").clicked() {
                out.show(*only);
            }
            if ui.button("Show in family tree").clicked() {
                out.ask(Request::ShowInTree(*only));
            }
        }
    });
    forms::show::<SelectForm>(ui, view, ABOUT, out);
    forms::show::<CullForm>(ui, view, ABOUT, out);
    if state.males {
        crate::screens::fields::cautions(ui, &[cautions::MALES]);
        state.males = !ui.button("Close").clicked();
    }
    ui.add_space(space::XS);
}

/// A form of the bar is about the plants chosen and shown: when others are, it takes those over, and closes when
/// there are none.
fn follow_choice(ui: &Ui, chosen: &[Id<Genotype>]) {
    let ctx = ui.ctx();
    if chosen.is_empty() {
        forms::close::<SelectForm>(ctx, ABOUT);
        forms::close::<CullForm>(ctx, ABOUT);
        return;
    }
    forms::change(ctx, ABOUT, |form: &mut SelectForm| {
        chosen.clone_into(&mut form.plants);
    });
    forms::change(ctx, ABOUT, |form: &mut CullForm| {
        chosen.clone_into(&mut form.plants);
    });
}

fn record_sex(project: &Project, chosen: &[Id<Genotype>], sex: Sex, day: NaiveDate) -> Edit {
    let record = SexRecord {
        sex,
        basis: SexBasis::FlowersSeen,
        date: Some(day.into()),
    };
    let edits = chosen
        .iter()
        .map(|id| Edit::set(*id, GenotypeField::Sex(Some(record.clone()))));
    let label = format!("{} {}", names(project, chosen), sex.word());
    Edit::all(label, edits.collect())
}
