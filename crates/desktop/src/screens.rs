//! The screens, one file each: they read the project and hand back edits.

use crate::view::{Outbox, Screen, View};
use domain::{AnyId, Project, RecordKind};
use egui::Ui;

pub mod bench;
pub mod calendar;
mod chart_file;
pub mod chill;
pub mod code_picker;
pub mod crosses;
pub mod explanation;
pub mod family_tree;
pub mod fields;
pub mod findings;
pub mod forms;
mod harm;
pub mod history;
pub mod import;
pub mod kinship;
pub mod labels;
pub mod measure;
mod on_paper;
pub mod photos;
pub mod planning;
pub mod plants;
pub mod readiness;
pub mod record_history;
pub mod record_notes;
pub mod record_page;
pub mod regimen_form;
pub mod seed_lots;
pub mod seedlings;
pub mod selection;
pub mod setup;
pub mod sheets;
mod sorting;
pub mod sterilising;
pub mod temperatures;
pub mod text_field;

/// What every screen remembers between frames.
#[derive(Default)]
#[expect(missing_docs, reason = "each is the state of the screen of that name")]
pub struct Screens {
    pub current: Screen,
    pub calendar: calendar::State,
    pub bench: bench::State,
    pub plants: plants::State,
    pub crosses: crosses::State,
    pub seed_lots: seed_lots::State,
    pub chill: chill::State,
    pub sterilising: sterilising::State,
    pub temperatures: temperatures::State,
    pub seedlings: seedlings::State,
    pub measure: measure::State,
    pub family_tree: family_tree::State,
    pub kinship: kinship::State,
    pub planning: planning::State,
    pub import: import::State,
    pub photos: photos::State,
    pub labels: labels::State,
    pub findings: findings::State,
    pub history: history::State,
    pub setup: setup::State,
    pub sheets: sheets::State,
}

impl Screens {
    /// Draws the current screen.
    pub fn show(&mut self, ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
        match self.current {
            Screen::Calendar => calendar::show(ui, view, &mut self.calendar, out),
            Screen::Plants => plants::show(ui, view, &mut self.plants, out),
            Screen::Crosses => crosses::show(ui, view, &mut self.crosses, out),
            Screen::SeedLots => seed_lots::show(ui, view, &mut self.seed_lots, out),
            Screen::Chill => chill::show(ui, view, &mut self.chill, out),
            Screen::Sterilising => sterilising::show(ui, view, &mut self.sterilising, out),
            Screen::Temperatures => temperatures::show(ui, view, &mut self.temperatures, out),
            Screen::Seedlings => seedlings::show(ui, view, &mut self.seedlings, out),
            Screen::Measure => measure::show(ui, view, &mut self.measure, out),
            Screen::Bench => bench::show(ui, view, &mut self.bench, out),
            Screen::FamilyTree => family_tree::show(ui, view, &mut self.family_tree, out),
            Screen::Kinship => kinship::show(ui, view, &mut self.kinship, out),
            Screen::Planning => planning::show(ui, view, &mut self.planning, out),
            Screen::Sheets => sheets::show(ui, view, &mut self.sheets, out),
            Screen::Tables => import::show(ui, view, &mut self.import, out),
            Screen::Photos => photos::show(ui, view, &mut self.photos, out),
            Screen::Labels => labels::show(ui, view, &mut self.labels, out),
            Screen::Findings => findings::show(ui, view, &mut self.findings, out),
            Screen::History => history::show(ui, view, &mut self.history, out),
            Screen::Setup => setup::show(ui, view, &mut self.setup, out),
        }
    }

    /// Goes to the screen of a record and brings it into view.
    pub fn reveal(&mut self, project: &Project, id: AnyId) {
        let id = project.shown_with(id);
        self.current = Self::home_of(id.kind);
        match self.current {
            Screen::Calendar => calendar::reveal(&mut self.calendar, project, id),
            Screen::Plants => plants::reveal(&mut self.plants, project, id),
            Screen::Crosses => crosses::reveal(&mut self.crosses, project, id),
            Screen::SeedLots => seed_lots::reveal(&mut self.seed_lots, project, id),
            Screen::Chill => chill::reveal(&mut self.chill, project, id),
            Screen::Temperatures => temperatures::reveal(&mut self.temperatures, project, id),
            Screen::Seedlings => seedlings::reveal(&mut self.seedlings, project, id),
            Screen::Sheets => sheets::reveal(&mut self.sheets, project, id),
            Screen::Setup => setup::reveal(&mut self.setup, project, id),
            Screen::Measure
            | Screen::Bench
            | Screen::Sterilising
            | Screen::FamilyTree
            | Screen::Kinship
            | Screen::Planning
            | Screen::History
            | Screen::Tables
            | Screen::Photos
            | Screen::Labels
            | Screen::Findings => {}
        }
    }

    /// The screen that shows records of a kind.
    pub const fn home_of(kind: RecordKind) -> Screen {
        match kind {
            RecordKind::Genotype
            | RecordKind::Observation
            | RecordKind::Sample
            | RecordKind::DiseaseTest => Screen::Plants,
            RecordKind::ScoringSheet => Screen::Sheets,
            RecordKind::Cross | RecordKind::CrossEvent => Screen::Crosses,
            RecordKind::SeedLot
            | RecordKind::Movement
            | RecordKind::SeedWeighing
            | RecordKind::GerminationTest => Screen::SeedLots,
            RecordKind::ChillBatch | RecordKind::ChillBox | RecordKind::Check => Screen::Chill,
            RecordKind::TemperatureLog => Screen::Temperatures,
            RecordKind::Germination | RecordKind::Count => Screen::Seedlings,
            RecordKind::Stage | RecordKind::Trait | RecordKind::Protocol => Screen::Setup,
            RecordKind::Task | RecordKind::Note | RecordKind::Photo => Screen::Calendar,
        }
    }
}
