//! What is late, due and coming, each with the one button that does it.

use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::screens::forms::{CountForm, PotUpForm, RestForm};
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::agenda::{Completion, Item, ItemKind, ItemState};
use domain::words::plural;
use domain::{AnyId, Edit, Germination, IdSource, Project, Task};
use egui::{FontId, Rect, Role, Sense, Ui, WidgetInfo, pos2, vec2};
use kit::drawing::{self, Drawing};
use kit::form::Action;
use kit::state_mark::StateMark;
use kit::theme::{self, muted, space, tokens, type_size};
use kit::widgets::{
    TextField, Weight, focus_outline, form_row, full_date, hairline, numbered_section, one_line,
    row_button,
};
use kit::working_day::short_day;
use std::sync::Arc;

/// How much of one section is drawn before more is asked for: nobody reads on, and each line costs a part of a frame.
pub(super) const SHOWN: usize = 40;

/// What the list remembers between frames.
#[derive(Default)]
pub(super) struct State {
    /// The form that stands open under an item: the same thing may stand in the list for several days.
    form: Option<OpenForm>,
    /// Whether what is shown holds for the project as it is: what was just done still shows for a moment on a large
    /// one, and a second touch mustn't record it twice.
    current: bool,
    /// The forms drawn in this frame, and which frame that is.
    shown: Vec<(AnyId, ItemKind)>,
    frame: u64,
    /// The section that is drawn whole.
    whole: String,
    of_day: Option<DayItems>,
}

/// The items of one day of an agenda.
struct DayItems {
    of: Arc<Vec<Item>>,
    day: NaiveDate,
    items: Vec<Item>,
}

impl State {
    /// Whether the form of an item stands under this one: where it was opened, or at the first of its kind.
    fn is_place_of_form(&self, section: &str, item: &Item) -> bool {
        match &self.form {
            Some(open) if (open.about.0, open.about.1) == (item.about, item.kind) => {
                open.section == section && open.about.2 == item.date
            }
            _ => !self.shown.contains(&(item.about, item.kind)),
        }
    }
}

/// Which form stands open under which item of which section.
struct OpenForm {
    section: String,
    about: (AnyId, ItemKind, NaiveDate),
}

/// Opens the form that asks for what this item needs; whether there is one.
fn open_form(ui: &Ui, item: &Item, project: &Project) -> bool {
    let (run, ctx) = (item.about.typed::<Germination>(), ui.ctx());
    let code = project.code_of(item.about).to_owned();
    let warm = |run| Some(project.germinations().get(run)?.chill_box);
    match (item.kind, run) {
        (ItemKind::CountSprouts, Some(run)) => {
            forms::open(ctx, run.uuid(), code, CountForm::new(run));
        }
        (ItemKind::PotUp, _) => {
            let Some(chill_box) = item.about.typed().or_else(|| warm(run?)) else {
                return false;
            };
            let form = PotUpForm::new(project, chill_box);
            forms::open(ctx, chill_box.uuid(), code, form);
        }
        (ItemKind::DecideRest, Some(run)) => {
            forms::open(ctx, run.uuid(), code, RestForm::new(project, run));
        }
        _ => return false,
    }
    true
}

/// Draws the form of an item, if it is open.
fn show_form(ui: &mut Ui, view: &View<'_>, item: &Item, out: &mut Outbox<'_>) -> bool {
    let about = item.about.uuid;
    let run = item.about.typed::<Germination>();
    match item.kind {
        ItemKind::CountSprouts => forms::show::<CountForm>(ui, view, about, out),
        ItemKind::PotUp => {
            let of_run = run.and_then(|run| view.project.germinations().get(run));
            let about = of_run.map_or(about, |run| run.chill_box.uuid());
            forms::show::<PotUpForm>(ui, view, about, out)
        }
        ItemKind::DecideRest => forms::show::<RestForm>(ui, view, about, out),
        _ => false,
    }
}

/// A task of one's own, until it is added.
#[derive(Clone, PartialEq, serde::Serialize, serde::Deserialize)]
struct TaskForm {
    title: String,
    due: NaiveDate,
}

impl RecordForm for TaskForm {
    const KIND: FormKind = FormKind::Task;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        form_row(ui, "What", |ui| {
            TextField::new("Task")
                .width(260.0)
                .edit(ui, &mut self.title);
        });
        form_row(ui, "Due", |ui| {
            view.date_field("Task due").show(ui, &mut self.due);
        });
        let day = kit::dates::on_button(self.due, view.clock);
        Action::new(format!("Add the task, due {day}"))
            .needs(!self.title.trim().is_empty(), "Say what is to be done.")
    }

    fn submission(&self, _view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let task = Task {
            id: ids.next(),
            title: self.title.trim().into(),
            due: self.due,
            about: None::<AnyId>,
            done: None,
            remark: String::new(),
        };
        Ok(Edit::add(task).into())
    }
}

/// Draws everything of one day, done or to be done.
pub(super) fn of_day(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    day: NaiveDate,
    out: &mut Outbox<'_>,
) {
    let agenda = view.derived.agenda(view.project, view.today, ui.ctx());
    let known = state
        .of_day
        .take()
        .filter(|known| Arc::ptr_eq(&known.of, &agenda.value) && known.day == day);
    let known = known.unwrap_or_else(|| DayItems {
        items: agenda
            .iter()
            .filter(|item| item.date == day)
            .cloned()
            .collect(),
        of: Arc::clone(&agenda.value),
        day,
    });
    let items = &known.items;
    let title = full_date(day);
    numbered_section(ui, None, &title, "");
    if items.is_empty() {
        ui.label(muted(ui, "Nothing on this day."));
    }
    rows(ui, view, state, &title, items, out);
    state.of_day = Some(known);
}

/// Draws one row for each item of a section, with the one button that does it.
pub(super) fn rows(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    title: &str,
    items: &[Item],
    out: &mut Outbox<'_>,
) {
    state.current = view
        .derived
        .agenda(view.project, view.today, ui.ctx())
        .current;
    let frame = ui.ctx().cumulative_pass_nr();
    if state.frame != frame {
        state.frame = frame;
        state.shown.clear();
    }
    let shown = if state.whole == title {
        items.len()
    } else {
        SHOWN
    };
    for item in items.iter().take(shown) {
        ui.push_id((title, item.about, item.kind, item.date), |ui| {
            item_ui(ui, view, state, title, item, out);
            if state.is_place_of_form(title, item) && show_form(ui, view, item, out) {
                state.shown.push((item.about, item.kind));
            }
        });
    }
    let more = items.len().saturating_sub(shown);
    if more > 0 && ui.button(format!("Show {more} more")).clicked() {
        title.clone_into(&mut state.whole);
    }
}

/// The drawing of a kind of work.
pub(in crate::screens) const fn drawing_of(kind: ItemKind) -> Drawing {
    match kind {
        ItemKind::BagFemale | ItemKind::TakeBagsOff => Drawing::Bag,
        ItemKind::GivePollen => Drawing::Pollen,
        ItemKind::HarvestCones => Drawing::Cone,
        ItemKind::CleanSeed => Drawing::Seed,
        ItemKind::LayInBoxes | ItemKind::CheckBox => Drawing::Box,
        ItemKind::StartChill => Drawing::Cold,
        ItemKind::MoveToWarmth => Drawing::Warm,
        ItemKind::CountSprouts => Drawing::Sprout,
        ItemKind::PotUp | ItemKind::HardenOff => Drawing::Pot,
        ItemKind::DecideRest => Drawing::Decision,
        ItemKind::PlantOut => Drawing::Hill,
        ItemKind::Task => Drawing::Label,
    }
}

fn item_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    section: &str,
    item: &Item,
    out: &mut Outbox<'_>,
) {
    let (mark, when) = standing(item, view.today);
    let words = Words::of(ui, view, item, &when);
    let size = vec2(ui.available_width(), words.height());
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    kit::unkept::row_ui(ui, rect, item.about, &item.title);
    let colours = tokens(ui);
    let y = rect.center().y;
    let done = item.state == ItemState::Done;
    let print = if done {
        drawing::Inks::plain(colours.muted)
    } else {
        drawing::Inks::of(colours)
    };
    let centre = pos2(rect.left() + 14.0, y);
    drawing::paint(ui.painter(), drawing_of(item.kind), centre, 26.0, print);
    let mut right = rect.right();
    if !done && view.read_only.is_none() {
        let button = Rect::from_min_max(pos2(right - 112.0, rect.top()), rect.max);
        // The same thing comes again on later days: only today's goes by its bare name.
        let later = match item.state {
            ItemState::Coming => format!(", on {}", kit::dates::day(item.date)),
            _ => String::new(),
        };
        let name = format!("{}: {}{later}", item.kind.verb(), item.title);
        let verb = row_button(ui, button, Weight::Outline, item.kind.verb(), &name);
        if verb.clicked() && state.current {
            act(ui, view, state, (section, view.today), item, out);
        }
        right -= BUTTON;
    }
    let room = Rect::from_min_max(
        pos2(rect.left() + WORDS_FROM, rect.top()),
        pos2(right, rect.bottom()),
    );
    let id = ui.make_persistent_id("title");
    let title = ui.interact(room, id, Sense::click());
    title.widget_info(|| WidgetInfo::labeled(Role::Link, true, &item.title));
    let ink = if done { colours.muted } else { colours.ink };
    let small = FontId::proportional(type_size::SMALL);
    let badge = Rect::from_min_max(
        pos2(room.right() - words.when, rect.top() + 4.0),
        pos2(room.right(), rect.top() + 24.0),
    );
    if let Some(ground) = mark.ground(colours) {
        ui.painter().rect_filled(badge, 0.0, ground);
    }
    let at = pos2(badge.left() + 10.0, badge.center().y);
    mark.paint(ui.painter(), at, 10.0, colours, colours.surface);
    let when_room = badge.with_min_x(badge.left() + 19.0);
    one_line(
        ui,
        when_room,
        badge.center().y,
        &when,
        small,
        mark.ink(colours),
    );
    words.paint(ui, room.left(), rect, ink, colours.muted);
    hairline(ui, rect.x_range(), rect.bottom());
    focus_outline(ui, &title, room);
    if title.clicked() {
        out.show(item.about);
    }
    title.on_hover_text(format!("{}\n{}", item.title, item.detail));
}

/// Where the words of a row begin, after its drawing.
const WORDS_FROM: f32 = 36.0;
/// What the button of a row takes.
const BUTTON: f32 = 124.0;

/// The title and the detail of a row, laid out in the room beside its day and its button: each goes on to a second line
/// where one is too short, and nothing is cut.
struct Words {
    title: Arc<egui::Galley>,
    detail: Arc<egui::Galley>,
    /// How wide the day is, with its mark.
    when: f32,
}

impl Words {
    fn of(ui: &Ui, view: &View<'_>, item: &Item, when: &str) -> Self {
        let painter = ui.painter();
        let small = FontId::proportional(type_size::SMALL);
        let placeholder = egui::Color32::PLACEHOLDER;
        let when = painter
            .layout_no_wrap(when.to_owned(), small.clone(), placeholder)
            .size()
            .x
            + 24.0;
        let has_button = item.state != ItemState::Done && view.read_only.is_none();
        let button = if has_button { BUTTON } else { 0.0 };
        let width = (ui.available_width() - WORDS_FROM - button).max(80.0);
        let bold = theme::bold(type_size::BODY);
        let beside = (width - when - 6.0).max(60.0);
        Self {
            title: painter.layout(item.title.clone(), bold, placeholder, beside),
            detail: painter.layout(item.detail.clone(), small, placeholder, width),
            when,
        }
    }

    fn height(&self) -> f32 {
        let words = self.title.size().y + self.detail.size().y;
        (words + 10.0).max(space::BENCH_ROW)
    }

    fn paint(self, ui: &Ui, left: f32, row: Rect, ink: egui::Color32, muted: egui::Color32) {
        let words = self.title.size().y + self.detail.size().y;
        let top = row.center().y - words / 2.0;
        let below = top + self.title.size().y;
        ui.painter().galley(pos2(left, top), self.title, ink);
        ui.painter().galley(pos2(left, below), self.detail, muted);
    }
}

/// How an item stands, with its day in words.
fn standing(item: &Item, today: NaiveDate) -> (StateMark, String) {
    match item.state {
        ItemState::Late => (StateMark::Late, late_words(item, today)),
        ItemState::Due => (StateMark::Soon, "due today".to_owned()),
        ItemState::Coming => (StateMark::Expected, short_day(item.date)),
        ItemState::Done => (StateMark::Done, format!("done {}", short_day(item.date))),
    }
}

/// How late a thing is.
fn late_words(item: &Item, today: NaiveDate) -> String {
    let days = (today - item.latest.unwrap_or(item.date)).num_days().max(1) as u32;
    format!("{days} {} late", plural(days, "day", "days"))
}

/// Does what an item asks for, or opens the form that asks for the rest.
fn act(
    ui: &Ui,
    view: &View<'_>,
    state: &mut State,
    (section, day): (&str, NaiveDate),
    item: &Item,
    out: &mut Outbox<'_>,
) {
    match item.completion(view.project, day, out.ids) {
        Completion::Ready(edit) => out.act(ui, item.kind.verb(), item.about, *edit),
        Completion::Done => {}
        Completion::Asks => {
            if open_form(ui, item, view.project) {
                state.form = Some(OpenForm {
                    section: section.to_owned(),
                    about: (item.about, item.kind, item.date),
                });
            } else {
                out.show(item.about);
            }
        }
    }
}

pub(super) fn task_ui(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
    if view.read_only.is_some() {
        return;
    }
    ui.add_space(space::M);
    if !forms::show::<TaskForm>(ui, view, "calendar", out) && ui.button("Add a task…").clicked() {
        let form = TaskForm {
            title: String::new(),
            due: view.today,
        };
        forms::open(ui.ctx(), "calendar", "", form);
    }
}
