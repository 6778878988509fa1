//! The window: what is open, what is shown, and the one place where edits are applied.

use crate::command::Command;
use crate::dialogs::{Dialogs, Question};
use crate::open_project::OpenProject;
use crate::preferences::Preferences;
use crate::screens::Screens;
use crate::timers::Timers;
use crate::view::{Asked, DoneAct, Outbox, Request, Screen};
use chrono::NaiveDate;
use domain::{AnyId, Edit, Project};
use drafts::settle;
use egui::{CentralPanel, Context, Frame, Margin, Ui};
use kit::bell::{self, Bell};
use kit::drafts::Ticket;
use kit::theme::{Theme, space, tokens};
use kit::working_day::WorkingDay;
use std::collections::BTreeSet;
use std::path::PathBuf;

mod banner;
mod damage;
mod drafts;
mod files;
mod find;
mod kept_calendar;
mod key_strip;
mod notice;
mod outside;
mod overlays;
mod own_drafts;
mod past;
mod scanner;
mod sidebar;
mod signing;
mod tables;
mod timers;
mod top_bar;
mod welcome;

pub use notice::Notice;
use overlays::Overlay;
use own_drafts::OwnDrafts;

/// The least room a page is drawn in: in less, it is moved under the window. Narrower than what is left of 1024×700
/// beside the frame with text at 200 %, so that nothing is read by moving it to and fro. Where that is the width, things
/// stand under each other, and the page is higher than the window.
fn least_page(ui: &Ui) -> egui::Vec2 {
    let height = if ui.available_width() < 520.0 {
        600.0
    } else {
        380.0
    };
    egui::vec2(400.0, height)
}

/// Tells the day. The window asks it, never the system, so that a test can set it.
pub type Today = Box<dyn Fn() -> NaiveDate>;

/// Where the window keeps things of its own.
#[derive(Debug, Clone)]
pub struct Places {
    /// The file of preferences; nothing keeps them, in a test.
    pub preferences: Option<PathBuf>,
    /// The folder of sample projects.
    pub samples: PathBuf,
}

/// The window.
pub struct App {
    open: Option<OpenProject>,
    screens: Screens,
    /// The screens of the present, as they were left, while a moment of the past is looked at.
    screens_of_now: Option<Screens>,
    preferences: Preferences,
    places: Places,
    dialogs: Dialogs,
    today: Today,
    /// The day that is written up; nothing for today.
    recorded_for: Option<NaiveDate>,
    notice: Option<Notice>,
    overlay: Option<Overlay>,
    find: find::State,
    /// What is to become of the tables of the page, once it is drawn.
    tables_wanted: Option<tables::Wanted>,
    /// Those of which the person is to choose one, and what for.
    tables_offered: Option<(tables::Wanted, Vec<kit::widgets::TakenTable>)>,
    /// The calendar file that is kept up to date.
    kept_calendar: kept_calendar::State,
    scanner: scanner::State,
    timers: Timers,
    bell: Bell,
    /// What is typed where no project keeps it.
    own: OwnDrafts,
    /// What wasn't recorded when the list of it was opened, while that is looked at.
    listed: Vec<kit::drafts::Pending>,
    /// What was done since the page that is shown was come to.
    done: Vec<DoneAct>,
    /// The page that `done` belongs to.
    done_on: Screen,
    /// What a press brought out of fields, until the finger is lifted.
    held: Vec<Asked>,
    /// A command that waits until fields have recorded what they hold.
    waiting: Option<Command>,
    /// The window is to be closed once the project is.
    closing: bool,
}

impl App {
    /// A window with nothing open.
    pub fn new(preferences: Preferences, places: Places, dialogs: Dialogs, today: Today) -> Self {
        let own = OwnDrafts::beside(places.preferences.as_deref());
        Self {
            open: None,
            screens: Screens::default(),
            screens_of_now: None,
            preferences,
            places,
            dialogs,
            today,
            recorded_for: None,
            notice: None,
            overlay: None,
            find: find::State::default(),
            tables_wanted: None,
            tables_offered: None,
            kept_calendar: kept_calendar::State::default(),
            scanner: scanner::State::default(),
            timers: Timers::default(),
            bell: bell::silent(),
            own,
            listed: Vec::new(),
            done: Vec::new(),
            done_on: Screen::default(),
            held: Vec::new(),
            waiting: None,
            closing: false,
        }
    }

    /// Rings this bell, from here on, when a time is over: a new window has a silent one.
    pub fn ring_with(&mut self, bell: Bell) {
        self.bell = bell;
    }

    /// What a person chose on this machine, their name among it.
    pub const fn preferences(&self) -> &Preferences {
        &self.preferences
    }

    /// Installs fonts and colours. Call once where the window is made.
    pub fn install_theme(&self, ctx: &Context) {
        Theme::from(self.preferences.theme).apply(ctx);
        ctx.set_zoom_factor(self.preferences.zoom);
    }

    /// The open project, if there is one.
    pub const fn project(&self) -> Option<&OpenProject> {
        self.open.as_ref()
    }

    /// The same, to be changed past the screens.
    pub const fn project_mut(&mut self) -> Option<&mut OpenProject> {
        self.open.as_mut()
    }

    /// The day that is recorded for.
    pub fn working_day(&self) -> WorkingDay {
        let mut working = WorkingDay::new((self.today)());
        if let Some(day) = self.recorded_for {
            working.choose(day);
        }
        working
    }

    /// Records for this day from here on, until it is changed again.
    pub fn record_for(&mut self, day: NaiveDate) {
        let mut working = self.working_day();
        working.choose(day);
        self.recorded_for = (!working.is_today()).then(|| working.day());
    }

    fn step_day(&mut self, by: i64) {
        let mut working = self.working_day();
        working.step(by);
        self.record_for(working.day());
    }

    const fn back_to_today(&mut self) {
        self.recorded_for = None;
    }

    /// The working day, or that of the moment of the past that is looked at.
    fn shown_day(&self, working: WorkingDay) -> WorkingDay {
        let open = self.open.as_ref().filter(|open| open.moment().is_some());
        open.map_or(working, |open| WorkingDay::new(open.day(working.day())))
    }

    /// Goes to a screen.
    pub const fn go(&mut self, screen: Screen) {
        self.screens.current = screen;
    }

    /// Shows a record of the open project on its screen.
    pub fn show_record(&mut self, id: AnyId) {
        if let Some(open) = &self.open {
            self.screens.reveal(open.project(), id);
        }
    }

    /// What the notice line says.
    pub fn notice_text(&self) -> Option<&str> {
        self.notice.as_ref().map(|notice| notice.text.as_str())
    }

    /// Draws everything and carries out what was asked for. The seam between the window and its tests.
    pub fn show(&mut self, ui: &mut Ui) {
        self.scan(ui.ctx());
        if let Some(command) = Command::pressed(ui.ctx()) {
            self.run(ui.ctx(), command);
        }
        self.place_drafts(ui.ctx());
        self.follow_saving(ui.ctx());
        self.follow_calendar(ui.ctx());
        self.tick(ui.ctx());
        let today = (self.today)();
        let working = self.working_day();
        self.top_bar_ui(ui, self.shown_day(working));
        self.past_ui(ui);
        self.damage_ui(ui);
        self.elsewhere_ui(ui);
        self.timers_ui(ui);
        self.key_strip_ui(ui);
        let day = self.shown_day(working).day();
        self.follow_page();
        if self.open.is_some() {
            self.sidebar_ui(ui, day, self.shown_day(working));
        }
        // Where text is large the margins give way first.
        let margin = if ui.ctx().content_rect().width() < 800.0 {
            Margin::same(space::S as i8)
        } else {
            Margin::symmetric(space::XL as i8, space::M as i8)
        };
        let frame = Frame::new().fill(tokens(ui).surface).inner_margin(margin);
        CentralPanel::default()
            .frame(frame)
            .show(ui, |ui| match &mut self.open {
                None => self.welcome_ui(ui),
                Some(open) => {
                    open.refresh(day);
                    kit::unkept::tell(ui.ctx(), open.unkept());
                    // What fields keep between frames is of one moment too.
                    let moment = open.moment().map(|moment| (moment.at, moment.after));
                    let standing = open.session();
                    self.done.retain(|done| standing.has_step(done.step));
                    let title = self.screens.current.title();
                    let asked = {
                        let (mut view, ids) = open.view(working, &self.preferences);
                        view.done = &self.done;
                        let mut out = Outbox::new(ids);
                        ui.push_id(moment, |ui| {
                            kit::drafts::screen(ui, title, |ui| {
                                kit::widgets::with_room(ui, title, least_page(ui), |ui| {
                                    self.screens.show(ui, &view, &mut out);
                                });
                            });
                        });
                        out.into_asked()
                    };
                    self.carry_out_all(ui.ctx(), asked);
                }
            });
        self.overlay_ui(ui, today);
        self.name_window(ui.ctx());
        self.run_waiting(ui.ctx());
        self.follow_tables(ui.ctx());
        kit::form::select_on_arrival(ui.ctx());
    }

    /// Says to those who can't see it which window this is.
    fn name_window(&self, ctx: &Context) {
        let name = self
            .open
            .as_ref()
            .map(|open| open.project().settings().name.as_str());
        let words = match name.filter(|name| !name.is_empty()) {
            Some(name) => format!("{name}, Binewright"),
            None => "Binewright".to_owned(),
        };
        ctx.accesskit_node_builder(egui::accesskit_root_id(), |node| node.set_label(words));
    }

    /// Carries out what was asked for. What a press brings out of a field waits until the finger is lifted: the page
    /// may change for it, and what is pressed would slide away. Until it is made, the field keeps it as a draft.
    fn carry_out_all(&mut self, ctx: &Context, asked: Vec<Asked>) {
        let down = ctx.input(|input| input.pointer.any_down()) && self.waiting.is_none();
        let held = std::mem::take(&mut self.held);
        for each in held.into_iter().chain(asked) {
            match each {
                Asked::Edit(ticket, edit, then) if down && ticket.is_of_field() => {
                    self.held.retain(|held| {
                        !matches!(held, Asked::Edit(other, ..) if other.is_of_same_field(&ticket))
                    });
                    self.held.push(Asked::Edit(ticket, edit, then));
                }
                each => self.carry_out(ctx, each),
            }
        }
    }

    /// Carries out what a screen asked for.
    fn carry_out(&mut self, ctx: &Context, asked: Asked) {
        match asked {
            Asked::Edit(ticket, edit, then) => {
                if self.make(ticket, &edit) {
                    for request in then {
                        self.grant(ctx, request);
                    }
                }
            }
            Asked::TakeBack(step) => self.take_back(step),
            Asked::Other(request) => self.grant(ctx, request),
        }
        // What was asked for shows in the next frame.
        ctx.request_repaint();
    }

    /// Makes an edit and tells whoever handed it in what became of it. True if it was made.
    fn make(&mut self, ticket: Ticket, edit: &Edit) -> bool {
        let Some(open) = &mut self.open else {
            return false;
        };
        if ticket.is_repeat() {
            return false;
        }
        let edit = &naming(open.project(), edit);
        match open.apply(edit) {
            Ok(label) => {
                let act = ticket.act().or_else(|| ticket.form());
                let act = act.zip(open.session().last_step());
                if let Some(((act, record), step)) = act {
                    self.done.push(DoneAct {
                        act: act.to_owned(),
                        record: record.to_owned(),
                        touched: edit.touches(),
                        label: label.clone(),
                        step,
                    });
                }
                ticket.made();
                self.notice = Some(Notice::made(&label));
                true
            }
            Err(why) => {
                ticket.refused(&why);
                self.notice = Some(Notice::refused(why));
                false
            }
        }
    }

    /// Does what a screen asked for that is no edit.
    #[expect(clippy::too_many_lines, reason = "a line or two for each request")]
    fn grant(&mut self, ctx: &Context, request: Request) {
        let Some(open) = &mut self.open else { return };
        match request {
            Request::Show(id) => self.show_record(id),
            Request::ShowInTree(plant) => {
                self.screens.current = Screen::FamilyTree;
                crate::screens::family_tree::reveal(
                    &mut self.screens.family_tree,
                    open.project(),
                    plant.into(),
                );
            }
            Request::Go(screen) => self.go(screen),
            Request::RecordFor(day) => self.record_for(day),
            Request::AddBoxes(batch, lot) => {
                self.screens.current = Screen::Chill;
                let chill = &mut self.screens.chill;
                crate::screens::chill::lay_in_boxes(chill, ctx, open.project(), batch, lot);
            }
            Request::PlanCross => {
                self.screens.current = Screen::Crosses;
                let working = self.recorded_for.unwrap_or_else(|| (self.today)());
                crate::screens::crosses::plan_one(
                    &mut self.screens.crosses,
                    ctx,
                    open.project(),
                    working,
                );
            }
            Request::NewLot => {
                self.screens.current = Screen::SeedLots;
                let working = self.recorded_for.unwrap_or_else(|| (self.today)());
                crate::screens::seed_lots::enter_one(&mut self.screens.seed_lots, ctx, working);
            }
            Request::KnowTheWay => {
                self.preferences.knows_the_way = true;
                self.keep_preferences();
            }
            Request::Label(records) => {
                self.screens.current = Screen::Labels;
                crate::screens::labels::choose(&mut self.screens.labels, records);
            }
            Request::Score(plants) => {
                self.screens.current = Screen::Sheets;
                crate::screens::sheets::choose(&mut self.screens.sheets, plants);
            }
            Request::Measure(plants) => {
                self.screens.current = Screen::Measure;
                crate::screens::measure::choose(&mut self.screens.measure, plants);
            }
            Request::OpenSheetPhoto => {
                if let Some(path) = (self.dialogs)(&Question::OpenPhoto) {
                    crate::screens::sheets::read_in(&mut self.screens.sheets, path);
                }
            }
            Request::ChooseCopy => {
                if let Some(path) = (self.dialogs)(&Question::OpenProject) {
                    crate::screens::history::meet(&mut self.screens.history, path);
                }
            }
            Request::Merge(path) => self.merge_with(path),
            Request::ShowHistory(id) => {
                self.screens.current = Screen::History;
                crate::screens::history::show_record(&mut self.screens.history, id);
            }
            Request::LookBack(moment) => self.look_back(moment),
            Request::Say(sentence) => self.notice = Some(Notice::said(sentence)),
            Request::AddPhoto(about) => {
                if let Some(path) = (self.dialogs)(&Question::OpenPhoto)
                    && let Err(sentence) = open.keep_photo(ctx, about, &path, (self.today)())
                {
                    self.notice = Some(Notice::refused(sentence));
                }
            }
            Request::ShowTemperatures(batch) => {
                self.screens.current = Screen::Temperatures;
                crate::screens::temperatures::show_batch(&mut self.screens.temperatures, batch);
            }
            Request::StartTimers(steps) => {
                let now = ctx.input(|input| input.time);
                self.timers.start(steps, now);
            }
            Request::OpenLogger => {
                if let Some(path) = (self.dialogs)(&Question::OpenLogger) {
                    crate::screens::temperatures::read_in(
                        &mut self.screens.temperatures,
                        ctx,
                        path,
                    );
                }
            }
            Request::OpenTable => {
                if let Some(path) = (self.dialogs)(&Question::OpenTable) {
                    crate::screens::import::read_in(&mut self.screens.import, path);
                }
            }
            Request::OpenPhotoFolder => {
                if let Some(path) = (self.dialogs)(&Question::OpenPhotoFolder) {
                    crate::screens::photos::look_through(&mut self.screens.photos, path);
                }
            }
            Request::RememberCopies(copies) => {
                self.preferences.label_copies = copies;
                self.keep_preferences();
            }
            Request::RememberLogger(fingerprint, mapping) => {
                self.preferences.loggers.insert(fingerprint, mapping);
                self.keep_preferences();
            }
            Request::RememberTable(shape, reading) => {
                self.preferences.tables.insert(shape, reading);
                self.keep_preferences();
            }
            Request::KeepCalendar => self.keep_calendar(),
            Request::LeaveCalendar => self.leave_calendar(),
            Request::Export(question, bytes) => {
                if let Some(path) = (self.dialogs)(&question) {
                    self.export(&path, &bytes);
                }
            }
        }
    }

    /// Carries out a command: at once, or when fields have recorded what they hold.
    fn run(&mut self, ctx: &Context, command: Command) {
        if command.needs_project() && self.open.is_none() {
            return;
        }
        if command.settles_fields() && self.open.is_some() {
            self.waiting = Some(command);
            if let Some(open) = &self.open {
                settle(open.drafts(), true);
            }
            ctx.request_repaint();
            return;
        }
        self.run_now(ctx, command);
    }

    fn run_now(&mut self, ctx: &Context, command: Command) {
        match command {
            Command::Drafts => self.overlay = Some(Overlay::Drafts),
            Command::New => self.begin_new(),
            Command::Open => self.ask_open(),
            Command::Sample => self.open_sample(),
            Command::Save => self.save(ctx),
            Command::SaveAs => self.save_as(ctx),
            Command::Close => self.close_project(),
            Command::Undo => self.step(OpenProject::undo, "Undone"),
            Command::Redo => self.step(OpenProject::redo, "Redone"),
            Command::Find => self.overlay = Some(Overlay::Find),
            Command::CopyTable => self.want_tables(ctx, tables::Wanted::Copy),
            Command::TableAsCsv => self.want_tables(ctx, tables::Wanted::Csv),
            Command::TableAsXlsx => self.want_tables(ctx, tables::Wanted::Xlsx),
            Command::Go(screen) => self.go(screen),
            Command::DayBefore => self.step_day(-1),
            Command::DayAfter => self.step_day(1),
            Command::Today => self.back_to_today(),
            Command::ZoomIn => self.zoom(ctx, 0.1),
            Command::ZoomOut => self.zoom(ctx, -0.1),
            Command::ZoomReset => self.zoom(ctx, 1.0 - self.preferences.zoom),
            Command::Preferences => self.overlay = Some(Overlay::Preferences),
            Command::Keys => self.overlay = Some(Overlay::Keys),
            Command::About => self.overlay = Some(Overlay::About),
        }
        ctx.request_repaint();
    }

    fn step(&mut self, step: fn(&mut OpenProject) -> Result<Option<String>, String>, word: &str) {
        let Some(open) = &mut self.open else { return };
        self.notice = match step(open) {
            Ok(Some(label)) => Some(Notice::said(format!("{word}: {label}"))),
            Ok(None) => Some(Notice::said(format!(
                "Nothing to be {}.",
                word.to_lowercase()
            ))),
            Err(refusal) => Some(Notice::refused(refusal)),
        };
    }

    fn zoom(&mut self, ctx: &Context, by: f32) {
        self.preferences.zoom = (self.preferences.zoom + by).clamp(0.6, 2.5);
        ctx.set_zoom_factor(self.preferences.zoom);
        self.keep_preferences();
    }

    fn keep_preferences(&mut self) {
        let Some(path) = &self.places.preferences else {
            return;
        };
        if let Err(error) = self.preferences.write(path) {
            self.notice = Some(Notice::failed(format!(
                "Preferences could not be kept. {error}"
            )));
        }
    }
}

/// The same edit under a label that names what it touches, for the notice, the menu and the history: '2 boxes checked'
/// alone says of none which it was. A table brought in is not gone through for it.
fn naming(project: &Project, edit: &Edit) -> Edit {
    const MOST: usize = 500;
    let Edit::All { label, edits } = edit else {
        return edit.clone();
    };
    let touched = edit.touches();
    let mut after = project.clone();
    if touched.len() > MOST || after.apply(edit.clone()).is_err() {
        return edit.clone();
    }
    let mut seen = BTreeSet::new();
    let mut codes: Vec<&str> = Vec::new();
    for id in touched {
        let standing = [&after, project].into_iter().find_map(|project| {
            let owner = project.owner(id).unwrap_or(id);
            let code = project.code(owner).filter(|code| !code.is_empty())?;
            Some((owner, code))
        });
        if let Some((owner, code)) = standing
            && seen.insert(owner)
        {
            codes.push(code);
        }
    }
    if codes.iter().any(|code| label.contains(code)) {
        return edit.clone();
    }
    match kit::selection::named(codes.into_iter()) {
        Some(who) => Edit::all(format!("{label}: {who}"), edits.clone()),
        None => edit.clone(),
    }
}
