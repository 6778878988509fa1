//! What a screen sees, and what it hands back.

use crate::derived::Derived;
use crate::dialogs::Question;
use crate::past_state::PastState;
use crate::preferences::Preferences;
use crate::record_history::{LoadedHistory, RecordHistory};
use chrono::NaiveDate;
use domain::{AnyId, Edit, IdSource, Project};
use kit::drafts::Ticket;
use kit::widgets::DateField;
use kit::worker::Latest;
use kit::working_day::WorkingDay;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use store::{Loss, LostChanges, ProjectFile, QuarantinedRecord};

/// Everything a screen may read.
#[derive(Clone, Copy)]
pub struct View<'a> {
    /// The project as it stands, or as it stood at a moment of the past.
    pub project: &'a Project,
    /// Its file: photos lie beside it.
    pub path: &'a Path,
    /// The open file, with its journal and backups: to be read by a worker, never while drawing.
    pub file: &'a Arc<ProjectFile>,
    /// Records that can't be in the project, kept in the file as they were found.
    pub quarantined: &'a [QuarantinedRecord],
    /// Records that went missing from a damaged file, and were gone on without.
    pub losses: &'a [Loss],
    /// Changes of journals that aren't in the project.
    pub lost_changes: &'a [LostChanges],
    /// The moment of the past that `project` is of; nothing in the present.
    pub moment: Option<&'a PastState>,
    /// The project of the present.
    pub now: &'a Project,
    /// The history, as far as it was asked for.
    pub record_history: &'a RecordHistory,
    /// The working day: today, the day that is written up, or the day of that moment. Everything late and due is told as
    /// of it, and forms record for it.
    pub today: NaiveDate,
    /// The same, with how far it is from the day the machine tells.
    pub working: WorkingDay,
    /// Units and the like.
    pub preferences: &'a Preferences,
    /// What is derived from the project, kept by revision.
    pub derived: &'a Derived,
    /// Why nothing can be changed, if so.
    pub read_only: Option<&'a str>,
    /// The day by the clock; `today` is the day that is worked for.
    pub clock: NaiveDate,
    /// What was done since the page was come to, and still stands.
    pub done: &'a [DoneAct],
}

/// An act that was done on the page that is shown, to be seen there with an Undo of its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DoneAct {
    /// The kind of act.
    pub act: String,
    /// The record it was done to.
    pub record: String,
    /// Every record that it touched.
    pub touched: Vec<AnyId>,
    /// In words.
    pub label: String,
    /// The step of the session that did it.
    pub step: u64,
}

impl View<'_> {
    /// The history, read by a worker from the first asking: ask only where it is shown. Nothing until it is there.
    pub fn history(&self, ctx: &egui::Context) -> Option<Latest<Result<LoadedHistory, String>>> {
        self.record_history.known(ctx, self.file, self.now)
    }

    /// The day that is worked for, as a button says it: 'today', or '5 Sep'.
    pub fn on_button(&self) -> String {
        kit::dates::on_button(self.today, self.clock)
    }

    /// What was done of this kind to this record since the page was come to.
    pub fn done(&self, act: &str, record: impl Into<AnyId>) -> Option<&DoneAct> {
        let record = record.into().uuid.to_string();
        self.done
            .iter()
            .rev()
            .find(|done| done.act == act && done.record == record)
    }

    /// What was done last to this record, in any way, since the page was come to.
    pub fn done_to(&self, record: impl Into<AnyId>) -> Option<&DoneAct> {
        let record = record.into();
        let mut done = self.done.iter().rev();
        done.find(|done| done.touched.contains(&record))
    }

    /// A date field whose calendar opens on today, its weeks as preferred.
    pub fn date_field<'n>(&self, name: &'n str) -> DateField<'n> {
        DateField::new(name, self.today).first_weekday(self.preferences.first_weekday())
    }
}

/// Which screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
#[expect(missing_docs, reason = "each is the screen of that name")]
pub enum Screen {
    #[default]
    Calendar,
    Plants,
    Crosses,
    SeedLots,
    Chill,
    Sterilising,
    Temperatures,
    Seedlings,
    Measure,
    Bench,
    FamilyTree,
    Kinship,
    Planning,
    Tables,
    Photos,
    Labels,
    Sheets,
    Findings,
    History,
    Setup,
}

impl Screen {
    /// Every screen, in the order of the sidebar.
    pub const ALL: [Self; 20] = [
        Self::Calendar,
        Self::Plants,
        Self::Crosses,
        Self::FamilyTree,
        Self::Kinship,
        Self::Planning,
        Self::SeedLots,
        Self::Chill,
        Self::Seedlings,
        Self::Measure,
        Self::Sterilising,
        Self::Temperatures,
        Self::Bench,
        Self::Findings,
        Self::History,
        Self::Tables,
        Self::Photos,
        Self::Labels,
        Self::Sheets,
        Self::Setup,
    ];

    /// Its name.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Calendar => "Today",
            Self::Plants => "Plants",
            Self::Crosses => "Crosses",
            Self::SeedLots => "Seed lots",
            Self::Chill => "Chill",
            Self::Sterilising => "Sterilising",
            Self::Temperatures => "Temperatures",
            Self::Seedlings => "Seedlings",
            Self::Measure => "Measure",
            Self::Bench => "Seed bench",
            Self::FamilyTree => "Family tree",
            Self::Kinship => "Kinship",
            Self::Planning => "Season plan",
            Self::Tables => "Tables",
            Self::Photos => "Photos",
            Self::Labels => "Labels",
            Self::Sheets => "Scoring sheets",
            Self::Findings => "Findings",
            Self::History => "History",
            Self::Setup => "Setup",
        }
    }
}

/// A group of screens, as the work of a year hangs together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// What waits today.
    Today,
    /// Plants, and what is made of them.
    Plants,
    /// Seed and what comes of it.
    Seed,
    /// Hills and trials.
    Yard,
    /// What the records tell.
    Records,
    /// The program itself.
    Program,
}

impl Group {
    /// Every group, in the order of the sidebar.
    pub const ALL: [Self; 6] = [
        Self::Today,
        Self::Plants,
        Self::Seed,
        Self::Yard,
        Self::Records,
        Self::Program,
    ];

    /// Its name.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Today => "Today",
            Self::Plants => "Plants and crosses",
            Self::Seed => "Seed and seedlings",
            Self::Yard => "Yard and trials",
            Self::Records => "What the records tell",
            Self::Program => "Program",
        }
    }

    /// Its name where there is little room.
    pub const fn short_title(self) -> &'static str {
        match self {
            Self::Today => "Today",
            Self::Plants => "Plants",
            Self::Seed => "Seed",
            Self::Yard => "Yard",
            Self::Records => "Records",
            Self::Program => "Program",
        }
    }

    /// Its screens. A group without any isn't shown.
    pub const fn screens(self) -> &'static [Screen] {
        match self {
            Self::Today => &[Screen::Calendar],
            Self::Plants => &[
                Screen::Plants,
                Screen::Crosses,
                Screen::FamilyTree,
                Screen::Kinship,
                Screen::Planning,
            ],
            Self::Seed => &[
                Screen::SeedLots,
                Screen::Chill,
                Screen::Seedlings,
                Screen::Measure,
                Screen::Sterilising,
                Screen::Temperatures,
            ],
            Self::Yard => &[],
            Self::Records => &[Screen::Bench, Screen::Findings, Screen::History],
            Self::Program => &[
                Screen::Tables,
                Screen::Photos,
                Screen::Labels,
                Screen::Sheets,
                Screen::Setup,
            ],
        }
    }
}

/// What a screen wants done, gathered while it is drawn and carried out after.
pub struct Outbox<'a> {
    /// Makes identities for new records.
    pub ids: &'a mut IdSource,
    asked: Vec<Asked>,
}

/// What was asked for, with whoever is to hear what became of it.
#[expect(
    clippy::large_enum_variant,
    reason = "few a frame, carried out at once"
)]
pub(crate) enum Asked {
    /// Make this edit; when it was made, do these too.
    Edit(Ticket, Edit, Vec<Request>),
    /// Take back this step.
    TakeBack(u64),
    /// Anything that is no edit.
    Other(Request),
}

/// One thing a screen wants done.
#[expect(
    clippy::large_enum_variant,
    reason = "few a frame, carried out at once"
)]
#[derive(Debug, Clone, PartialEq)]
pub enum Request {
    /// Show this record on its screen.
    Show(AnyId),
    /// Show this plant in the family tree.
    ShowInTree(domain::Id<domain::Genotype>),
    /// Go to this screen.
    Go(Screen),
    /// Record for this day from here on.
    RecordFor(NaiveDate),
    /// Open the form that lays seed in boxes: of this batch, or the latest that is planned, and of this lot.
    AddBoxes(
        Option<domain::Id<domain::ChillBatch>>,
        Option<domain::Id<domain::SeedLot>>,
    ),
    /// Open the form that plans a cross.
    PlanCross,
    /// Open the form of a new seed lot.
    NewLot,
    /// Show the first steps of a project no longer.
    KnowTheWay,
    /// Make labels for these records.
    Label(Vec<AnyId>),
    /// Print a scoring sheet for these plants.
    Score(Vec<domain::Id<domain::Genotype>>),
    /// Observe these plants for several traits.
    Measure(Vec<domain::Id<domain::Genotype>>),
    /// Ask for a photo of a scoring sheet, and read it.
    OpenSheetPhoto,
    /// Ask for a photo in the project's folder, and hang it on this record.
    AddPhoto(AnyId),
    /// Show the history of this record.
    ShowHistory(AnyId),
    /// Show the whole project as it stood at this moment.
    LookBack(PastState),
    /// Ask for another copy of the project, and bring it together with this one.
    ChooseCopy,
    /// Bring this file beside the project together with it.
    Merge(PathBuf),
    /// Say this in the notice line.
    Say(String),
    /// Show the temperatures of this batch.
    ShowTemperatures(domain::Id<domain::ChillBatch>),
    /// Begin timers of these steps: they run on every screen.
    StartTimers(Vec<crate::timers::TimedStep>),
    /// Ask for a logger's file, and open it on the temperatures screen.
    OpenLogger,
    /// Ask for a folder of photos, and look through it.
    OpenPhotoFolder,
    /// Ask for a table, and show what would become of its rows.
    OpenTable,
    /// Remember on this machine how many labels are printed of each record.
    RememberCopies(u32),
    /// Remember on this machine how the files of a logger are read.
    RememberLogger(String, exchange::logger::Mapping),
    /// Remember on this machine how tables of a shape are read.
    RememberTable(String, crate::preferences::TableReading),
    /// Keep a calendar of the project up to date, where the person says.
    KeepCalendar,
    /// Keep it no longer.
    LeaveCalendar,
    /// Ask where to write these bytes, and write them there.
    Export(Question, Vec<u8>),
}

impl<'a> Outbox<'a> {
    /// An empty outbox.
    pub const fn new(ids: &'a mut IdSource) -> Self {
        Self {
            ids,
            asked: Vec::new(),
        }
    }

    /// Hands in an edit. Whoever made the ticket hears whether it was made: a form closes then, a refused one is shown
    /// where it was typed.
    pub fn submit(&mut self, ticket: Ticket, edit: impl Into<Edit>) {
        self.submit_then(ticket, edit, []);
    }

    /// The same; once it was made, and only then, these are done too.
    pub fn submit_then(
        &mut self,
        ticket: Ticket,
        edit: impl Into<Edit>,
        then: impl IntoIterator<Item = Request>,
    ) {
        let then = then.into_iter().collect();
        self.asked.push(Asked::Edit(ticket, edit.into(), then));
    }

    /// Hands in what a button or a key does to a record at once: `act` is its kind, such as 'bagged'. The same act on
    /// the same record a moment later is the same tap, and isn't made again; what is refused is told in the notice line.
    pub fn act(
        &mut self,
        ui: &egui::Ui,
        act: &str,
        record: impl Into<AnyId>,
        edit: impl Into<Edit>,
    ) {
        let ticket = Ticket::of_act(ui, act, record.into().uuid);
        self.submit(ticket, edit);
    }

    /// The same for what is of no record: the settings, several records at once, a new one. `place` tells one such
    /// button from another.
    pub fn act_on(&mut self, ui: &egui::Ui, act: &str, place: &str, edit: impl Into<Edit>) {
        self.submit(Ticket::of_act(ui, act, place), edit);
    }

    /// Takes back one thing that was done, whatever came after it.
    pub fn take_back(&mut self, done: &DoneAct) {
        self.asked.push(Asked::TakeBack(done.step));
    }

    /// Asks for a record to be shown on its screen.
    pub fn show(&mut self, id: impl Into<AnyId>) {
        self.ask(Request::Show(id.into()));
    }

    /// Asks for anything else.
    pub fn ask(&mut self, request: Request) {
        self.asked.push(Asked::Other(request));
    }

    /// Puts a sentence in the notice line.
    pub fn say(&mut self, sentence: impl Into<String>) {
        self.ask(Request::Say(sentence.into()));
    }

    /// What was asked for, in order.
    pub(crate) fn into_asked(self) -> Vec<Asked> {
        self.asked
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_screen_hangs_in_one_group_in_the_order_of_the_menu() {
        let hung: Vec<_> = Group::ALL
            .into_iter()
            .flat_map(|group| group.screens().iter().copied())
            .collect();
        assert_eq!(hung, Screen::ALL);
    }
}
