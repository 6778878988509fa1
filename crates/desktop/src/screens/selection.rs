//! What is done with the plants chosen in a list, one or many: sex, selection, the next stage, culling.

use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::view::{Outbox, Request, View};
use chrono::NaiveDate;
use domain::actions::{end_plants, move_to_stage, next_stage, select};
use domain::record::genotype::GenotypeField;
use domain::{Edit, EndKind, Genotype, Id, IdSource, Project, Sex, SexBasis, SexRecord, cautions};
use egui::{Key, Ui};
use kit::form::Action;
use kit::page_keys;
use kit::selection::named;
use kit::theme::{muted, space};
use kit::widgets::{TextField, form_row, segmented};

/// What the bar remembers between frames.
#[derive(Default)]
pub struct State {
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
pub fn names(project: &Project, plants: &[Id<Genotype>]) -> String {
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

/// Opens the form that culls these plants, in the bar of the list that is called `list`.
pub fn open_cull(ui: &Ui, project: &Project, list: &str, plants: &[Id<Genotype>]) {
    forms::close::<CullForm>(ui.ctx(), list);
    let form = CullForm {
        plants: plants.to_vec(),
        kind: EndKind::Culled,
        why: String::new(),
    };
    forms::open(ui.ctx(), list, names(project, plants), form);
}

/// Opens the form that selects them.
pub fn open_select(ui: &Ui, project: &Project, list: &str, plants: &[Id<Genotype>]) {
    forms::close::<SelectForm>(ui.ctx(), list);
    let form = SelectForm {
        plants: plants.to_vec(),
        why: String::new(),
    };
    forms::open(ui.ctx(), list, names(project, plants), form);
}

/// Records the sex that was seen in these plants.
pub fn tell_sex(
    ui: &Ui,
    view: &View<'_>,
    state: &mut State,
    chosen: &[Id<Genotype>],
    sex: Sex,
    out: &mut Outbox<'_>,
) {
    let who = names(view.project, chosen);
    let edit = record_sex(view.project, chosen, sex, view.today);
    out.act_on(ui, sex.word(), &who, edit);
    state.males = sex == Sex::Male;
}

/// Draws the forms of the bar that are open, and the caution after males were told.
pub fn forms_ui(ui: &mut Ui, view: &View<'_>, state: &mut State, list: &str, out: &mut Outbox<'_>) {
    forms::show::<SelectForm>(ui, view, list, out);
    forms::show::<CullForm>(ui, view, list, out);
    if state.males {
        crate::screens::fields::cautions(ui, &[cautions::MALES]);
        state.males = !ui.button("Close").clicked();
    }
}

/// Draws what can be done with the plants chosen in the list of this name.
pub fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    (list, chosen): (&str, &[Id<Genotype>]),
    out: &mut Outbox<'_>,
) {
    follow_choice(ui, list, chosen);
    if chosen.is_empty() || view.read_only.is_some() {
        return;
    }
    let project = view.project;
    let who = names(project, chosen);
    let living = chosen.iter().filter(|id| {
        let plant = project.genotypes().get(**id);
        plant.is_some_and(Genotype::is_alive)
    });
    let ended = chosen.len() - living.count();
    if ended > 0 {
        let rest = chosen.len() - ended;
        ui.label(muted(
            ui,
            format!("{rest} of them live; {ended} ended already."),
        ));
    }
    ui.horizontal_wrapped(|ui| {
        for (sex, word, key) in [(Sex::Female, "Female", Key::F), (Sex::Male, "Male", Key::M)] {
            let told = ui.button(format!("{word}: {who}")).clicked();
            if told || page_keys::pressed(ui, key) {
                tell_sex(ui, view, state, chosen, sex, out);
            }
        }
    });
    ui.horizontal_wrapped(|ui| {
        let select = ui.button(format!("Select {who}…")).clicked();
        if select || page_keys::pressed(ui, Key::S) {
            open_select(ui, project, list, chosen);
        }
        let cull = ui.button(format!("Cull {who}…")).clicked();
        if cull || page_keys::pressed(ui, Key::X) {
            open_cull(ui, project, list, chosen);
        }
    });
    stage_ui(ui, view, chosen, out);
    ui.horizontal_wrapped(|ui| {
        let label = ui.button(format!("Label {who}")).clicked();
        if label || page_keys::pressed(ui, Key::L) {
            out.ask(Request::Label(
                chosen.iter().map(|id| (*id).into()).collect(),
            ));
        }
        if ui.button(format!("Measure {who}")).clicked() {
            out.ask(Request::Measure(chosen.to_vec()));
        }
        if ui.button("Scoring sheet").clicked() {
            out.ask(Request::Score(chosen.to_vec()));
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
    page_keys::declare(
        ui,
        [
            ("F", "female"),
            ("M", "male"),
            ("S", "select"),
            ("X", "cull"),
            ("L", "label"),
        ],
    );
    forms_ui(ui, view, state, list, out);
    ui.add_space(space::XS);
}

/// Moves the plants chosen to a stage: the next one by a button of its own.
pub fn stage_ui(ui: &mut Ui, view: &View<'_>, chosen: &[Id<Genotype>], out: &mut Outbox<'_>) {
    let project = view.project;
    let who = names(project, chosen);
    let mut to = None;
    ui.horizontal_wrapped(|ui| {
        let next = next_stage(project, chosen).and_then(|id| project.stages().get(id));
        if let Some(next) = next
            && ui.button(format!("Move {who} to {}", next.name)).clicked()
        {
            to = Some(next);
        }
        ui.menu_button("Other stage", |ui| {
            for stage in project.stages_in_order() {
                if ui.button(&stage.name).clicked() {
                    to = Some(stage);
                    ui.close();
                }
            }
        });
    });
    if let Some(stage) = to {
        let edit = move_to_stage(project, chosen, stage.id);
        let what = format!("move to {}:", stage.name);
        let edit = with_names(project, chosen, &what, edit);
        out.act_on(ui, "move to stage", &who, edit);
    }
}

/// A form of the bar is about the plants chosen and shown: when others are, it takes those over, and closes when
/// there are none.
pub fn follow_choice(ui: &Ui, list: &str, chosen: &[Id<Genotype>]) {
    let ctx = ui.ctx();
    if chosen.is_empty() {
        forms::close::<SelectForm>(ctx, list);
        forms::close::<CullForm>(ctx, list);
        return;
    }
    forms::change(ctx, list, |form: &mut SelectForm| {
        chosen.clone_into(&mut form.plants);
    });
    forms::change(ctx, list, |form: &mut CullForm| {
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
