//! Temperatures: what loggers and people wrote down, against the band of each batch.

use crate::forms;
use crate::view::{Outbox, Request, View};
use domain::status::BatchStatus;
use domain::{AnyId, ChillBatch, Id, LogPlace, Project, TemperatureLog};
use egui::{ComboBox, Context, Role, ScrollArea, Ui, WidgetInfo};
use kit::theme::{muted, space};
use kit::widgets::{empty_state, heading, main_button};
use std::path::PathBuf;

mod by_hand;
mod chart;
mod figures;
mod import_page;
mod logs;
mod mapping;

/// What the screen remembers between frames.
#[derive(Default)]
pub struct State {
    shown: Option<Subject>,
    chart: chart::State,
    figures: figures::State,
    import: import_page::State,
    /// Something else is looked at than the file on its way in, if there is one.
    looks_elsewhere: bool,
}

/// What is shown: the cold of a batch, or a place for itself.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Subject {
    Batch(Id<ChillBatch>),
    Place(String),
}

/// Opens the file of a logger.
pub fn read_in(state: &mut State, ctx: &Context, path: PathBuf) {
    state.looks_elsewhere = false;
    import_page::open(ctx, path);
}

/// Shows the temperatures of a batch.
pub fn show_batch(state: &mut State, batch: Id<ChillBatch>) {
    state.looks_elsewhere = true;
    state.shown = Some(Subject::Batch(batch));
}

/// Shows what a log belongs to.
pub fn reveal(state: &mut State, project: &Project, id: AnyId) {
    let log = id
        .typed::<TemperatureLog>()
        .and_then(|id| project.temperature_logs().get(id));
    if let Some(log) = log {
        state.looks_elsewhere = true;
        state.shown = Some(match &log.at {
            LogPlace::Batch(batch) => Subject::Batch(*batch),
            LogPlace::Place(place) => Subject::Place(place.clone()),
        });
    }
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    if import_page::is_open(ui.ctx()) && !state.looks_elsewhere {
        let batch = match &state.shown {
            Some(Subject::Batch(batch)) => Some(*batch),
            _ => first_batch(project),
        };
        match state.import.show(ui, view, batch, out) {
            import_page::Next::Stay => {}
            import_page::Next::PutAway => import_page::put_away(ui.ctx()),
            // The page stays until the readings are in the project.
            import_page::Next::Kept(place) => {
                state.shown = Some(subject_of(project, state.shown.take(), place));
            }
        }
        return;
    }
    let subjects = subjects(project);
    if subjects.is_empty() {
        heading(ui, "Temperatures");
        let sentence = "Whether seed got its cold is known only from its temperatures. Import the file of a logger \
            that was in the refrigerator, whatever it looks like; hours in the band, freezes and warm spells are worked \
            out from it.";
        if empty_state(ui, sentence, "Import a file…") && view.read_only.is_none() {
            out.ask(Request::OpenLogger);
        }
        return;
    }
    let known = state.shown.take().filter(|shown| subjects.contains(shown));
    let shown = known.unwrap_or_else(|| match first_batch(project) {
        Some(batch) => Subject::Batch(batch),
        None => subjects[0].clone(),
    });
    ui.horizontal_wrapped(|ui| {
        heading(ui, "Temperatures");
        ui.add_space(space::M);
        if view.read_only.is_none() {
            if import_page::is_open(ui.ctx()) && ui.button("Go on with the import").clicked() {
                state.looks_elsewhere = false;
            }
            if main_button(ui, "Import a file…").clicked()
                || kit::page_keys::acts(ui, egui::Key::I, "import a file")
            {
                out.ask(Request::OpenLogger);
            }
            if ui.button("Enter a reading…").clicked()
                || kit::page_keys::acts(ui, egui::Key::R, "enter a reading")
            {
                let form = by_hand::Form::new(view, place_of(project, &shown));
                forms::open(ui.ctx(), "temperatures", "", form);
            }
        }
    });
    let mut chosen = shown.clone();
    ui.horizontal(|ui| {
        ui.label(muted(ui, "Show"));
        ComboBox::from_id_salt("temperatures of")
            .selected_text(words(project, &shown))
            .width(260.0)
            .show_ui(ui, |ui| {
                for subject in &subjects {
                    let words = words(project, subject);
                    if ui.selectable_label(*subject == chosen, words).clicked() {
                        chosen = subject.clone();
                    }
                }
            })
            .response
            .widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, "Temperatures of"));
    });
    state.shown = Some(chosen);
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        forms::show::<by_hand::Form>(ui, view, "temperatures", out);
        chart::show(ui, view, &mut state.chart, &shown, out);
        figures::show(ui, view, &mut state.figures, &shown);
        logs::show(ui, view, &shown, out);
    });
}

/// Everything that can be shown: batches that have started, the latest first; then places with temperatures.
fn subjects(project: &Project) -> Vec<Subject> {
    let mut batches: Vec<&ChillBatch> = project
        .chill_batches()
        .iter()
        .filter(|batch| batch.started)
        .collect();
    batches.sort_by_key(|batch| std::cmp::Reverse((batch.start, batch.id)));
    let mut places: Vec<String> = project
        .temperature_logs()
        .iter()
        .filter_map(|log| match &log.at {
            LogPlace::Place(place) => Some(place.clone()),
            LogPlace::Batch(_) => None,
        })
        .collect();
    places.sort();
    places.dedup();
    batches
        .into_iter()
        .map(|batch| Subject::Batch(batch.id))
        .chain(places.into_iter().map(Subject::Place))
        .collect()
}

fn first_batch(project: &Project) -> Option<Id<ChillBatch>> {
    let cold = |batch: &&ChillBatch| BatchStatus::of(project, batch) == BatchStatus::InCold;
    let mut started = project.chill_batches().iter().filter(|batch| batch.started);
    let in_cold = project
        .chill_batches()
        .iter()
        .filter(cold)
        .min_by_key(|batch| batch.start);
    in_cold
        .or_else(|| started.next_back())
        .map(|batch| batch.id)
}

fn words(project: &Project, subject: &Subject) -> String {
    match subject {
        Subject::Batch(id) => match project.chill_batches().get(*id) {
            Some(batch) => format!(
                "{}, {}",
                batch.code,
                BatchStatus::of(project, batch).words()
            ),
            None => project.code_of(*id).to_owned(),
        },
        Subject::Place(place) => place.clone(),
    }
}

/// The place that a subject stands in, for a form to begin with.
fn place_of(project: &Project, subject: &Subject) -> String {
    match subject {
        Subject::Place(place) => place.clone(),
        Subject::Batch(id) => {
            let place = project
                .chill_batches()
                .get(*id)
                .map_or("", |batch| &batch.place);
            place
                .split(',')
                .next()
                .unwrap_or_default()
                .trim()
                .to_owned()
        }
    }
}

/// What to show once a file was kept: what was shown if the temperatures hold for it, else where they belong.
fn subject_of(project: &Project, shown: Option<Subject>, place: LogPlace) -> Subject {
    match place {
        LogPlace::Batch(batch) => Subject::Batch(batch),
        LogPlace::Place(place) => {
            match shown.or_else(|| first_batch(project).map(Subject::Batch)) {
                Some(shown @ Subject::Batch(_)) if place_of(project, &shown) == place => shown,
                _ => Subject::Place(place),
            }
        }
    }
}
