//! What is late, due and coming, each with the one button that does it.

use crate::screens::forms::{CountForm, PotUpForm, RestForm};
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::actions::plural;
use domain::agenda::{Completion, Item, ItemKind, ItemState};
use domain::{AnyId, Edit, Germination, Project, Task};
use egui::{FontId, Frame, Margin, Rect, Role, Sense, TextEdit, Ui, WidgetInfo, pos2, vec2};
use kit::drawing::{self, Drawing};
use kit::state_mark::StateMark;
use kit::theme::{self, muted, space, tokens, type_size};
use kit::widgets::{
    DateField, Weight, focus_outline, form_row, full_date, hairline, numbered_section, one_line,
    row_button, section_heading,
};
use kit::working_day::short_day;

/// How much of one section is drawn before more is asked for: nobody reads on, and each line costs a part of a frame.
pub(super) const SHOWN: usize = 40;

/// What the list remembers between frames.
#[derive(Default)]
pub(super) struct State {
    form: Option<OpenForm>,
    /// Whether what is shown holds for the project as it is: what was just done still shows for a moment on a large
    /// one, and a second touch mustn't record it twice.
    current: bool,
    task: Option<(String, NaiveDate)>,
    /// The section that is drawn whole.
    whole: String,
}

/// A form, open under one item of one section: the same thing may stand in the list for several days.
struct OpenForm {
    section: String,
    about: (AnyId, ItemKind, NaiveDate),
    form: Form,
}

/// A form open under an item.
enum Form {
    Count(CountForm),
    PotUp(PotUpForm),
    Rest(RestForm),
}

impl Form {
    /// The form that asks for what this item needs, if one does.
    fn of(item: &Item, project: &Project) -> Option<Self> {
        let run = item.about.typed::<Germination>();
        match item.kind {
            ItemKind::CountSprouts => Some(Self::Count(CountForm::new(run?))),
            ItemKind::PotUp => {
                let warm = |run| Some(project.germinations().get(run)?.chill_box);
                let chill_box = item.about.typed().or_else(|| warm(run?))?;
                Some(Self::PotUp(PotUpForm::new(project, chill_box)))
            }
            ItemKind::DecideRest => Some(Self::Rest(RestForm::new(project, run?))),
            _ => None,
        }
    }

    fn show(&mut self, ui: &mut Ui, view: &View<'_>, day: NaiveDate, out: &mut Outbox<'_>) -> bool {
        match self {
            Self::Count(form) => form.show(ui, view, day, out),
            Self::PotUp(form) => form.show(ui, view, day, out),
            Self::Rest(form) => form.show(ui, view, day, out),
        }
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
    let items: Vec<_> = agenda.iter().filter(|item| item.date == day).collect();
    let title = full_date(day);
    numbered_section(ui, None, &title, "");
    if items.is_empty() {
        ui.label(muted(ui, "Nothing on this day."));
    }
    rows(ui, view, state, &title, &items, out);
}

/// Draws one row for each item of a section, with the one button that does it.
pub(super) fn rows(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    title: &str,
    items: &[&Item],
    out: &mut Outbox<'_>,
) {
    state.current = view
        .derived
        .agenda(view.project, view.today, ui.ctx())
        .current;
    let shown = if state.whole == title {
        items.len()
    } else {
        SHOWN
    };
    for item in items.iter().take(shown) {
        ui.push_id((title, item.about, item.kind, item.date), |ui| {
            item_ui(ui, view, state, title, item, out);
            let open = state.form.as_mut().filter(|open| {
                open.section == title && open.about == (item.about, item.kind, item.date)
            });
            if let Some(open) = open {
                let done = Frame::new()
                    .fill(tokens(ui).raised)
                    .inner_margin(Margin::same(space::M as i8))
                    .show(ui, |ui| open.form.show(ui, view, view.today, out))
                    .inner;
                if done {
                    state.form = None;
                }
            }
        });
    }
    let more = items.len().saturating_sub(shown);
    if more > 0 && ui.button(format!("Show {more} more")).clicked() {
        title.clone_into(&mut state.whole);
    }
}

/// The drawing of a kind of work.
pub(super) const fn drawing_of(kind: ItemKind) -> Drawing {
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
    let size = vec2(ui.available_width(), space::BENCH_ROW);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
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
            ItemState::Coming => format!(", on {}", item.date),
            _ => String::new(),
        };
        let name = format!("{}: {}{later}", item.kind.verb(), item.title);
        let verb = row_button(ui, button, Weight::Outline, item.kind.verb(), &name);
        if verb.clicked() && state.current {
            act(view, state, (section, view.today), item, out);
        }
        right -= 124.0;
    }
    let words = Rect::from_min_max(
        pos2(rect.left() + 36.0, rect.top()),
        pos2(right, rect.bottom()),
    );
    let id = ui.make_persistent_id("title");
    let title = ui.interact(words, id, Sense::click());
    title.widget_info(|| WidgetInfo::labeled(Role::Link, true, &item.title));
    let ink = if done { colours.muted } else { colours.ink };
    let (mark, when) = standing(item, view.today);
    let small = FontId::proportional(type_size::SMALL);
    let when_width = ui
        .painter()
        .layout_no_wrap(when.clone(), small.clone(), ink)
        .size()
        .x;
    let badge = Rect::from_min_max(
        pos2(words.right() - when_width - 24.0, rect.top() + 4.0),
        pos2(words.right(), rect.top() + 24.0),
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
        small.clone(),
        mark.ink(colours),
    );
    let top = words.with_max_x(badge.left() - 6.0);
    one_line(
        ui,
        top,
        y - 9.0,
        &item.title,
        theme::bold(type_size::BODY),
        ink,
    );
    one_line(ui, words, y + 11.0, &item.detail, small, colours.muted);
    hairline(ui, rect.x_range(), rect.bottom());
    focus_outline(ui, &title, words);
    if title.clicked() {
        out.show(item.about);
    }
    title.on_hover_text(format!("{}\n{}", item.title, item.detail));
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
    view: &View<'_>,
    state: &mut State,
    (section, day): (&str, NaiveDate),
    item: &Item,
    out: &mut Outbox<'_>,
) {
    match item.completion(view.project, day, out.ids) {
        Completion::Ready(edit) => out.edit(*edit),
        Completion::Done => {}
        Completion::Asks => {
            let form = Form::of(item, view.project);
            if form.is_none() {
                out.show(item.about);
            }
            state.form = form.map(|form| OpenForm {
                section: section.to_owned(),
                about: (item.about, item.kind, item.date),
                form,
            });
        }
    }
}

pub(super) fn task_ui(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    if view.read_only.is_some() {
        return;
    }
    ui.add_space(space::M);
    let Some((title, due)) = &mut state.task else {
        if ui.button("Add a task…").clicked() {
            state.task = Some((String::new(), view.today));
        }
        return;
    };
    section_heading(ui, "New task");
    let mut field = None;
    form_row(ui, "What", |ui| {
        field = Some(
            ui.add(TextEdit::singleline(title).desired_width(260.0))
                .accessible_name("Task"),
        );
    });
    form_row(ui, "Due", |ui| {
        DateField::new("Task due", view.today)
            .first_weekday(view.preferences.first_weekday())
            .show(ui, due);
    });
    let entered = field.is_some_and(|field| field.lost_focus())
        && ui.input(|input| input.key_pressed(egui::Key::Enter));
    let (mut add, mut away) = (entered, false);
    ui.horizontal(|ui| {
        add |= ui.button("Add the task").clicked();
        away = ui.button("Cancel").clicked();
    });
    if add && !title.trim().is_empty() {
        let task = Task {
            id: out.ids.next(),
            title: title.trim().into(),
            due: *due,
            about: None::<AnyId>,
            done: None,
            remark: String::new(),
        };
        out.edit(Edit::add(task));
        away = true;
    }
    if away {
        state.task = None;
    }
}
