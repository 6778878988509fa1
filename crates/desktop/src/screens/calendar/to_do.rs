//! What is late, due and coming, each with the one button that does it.

use super::round::late_words;
use crate::screens::forms::{CountForm, PotUpForm, RestForm};
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::agenda::{Completion, Item, ItemKind, ItemState};
use domain::date::shift;
use domain::{AnyId, Edit, Germination, Project, Task};
use egui::{Frame, Layout, Margin, Role, TextEdit, Ui, WidgetInfo};
use kit::theme::{muted, space, strong, tokens};
use kit::widgets::{DateField, badge, form_row, full_date, section_heading};

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

/// Draws the list; `selected` is the day picked in the month.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    day: NaiveDate,
    selected: Option<NaiveDate>,
    out: &mut Outbox<'_>,
) {
    let agenda = view.derived.agenda(view.project, view.today, ui.ctx());
    state.current = agenda.current;
    let week = shift(view.today, 7);
    let in_round = |item: &Item| {
        item.kind == ItemKind::CheckBox && matches!(item.state, ItemState::Late | ItemState::Due)
    };
    let of = |state: ItemState| {
        agenda
            .iter()
            .filter(move |item| item.state == state && !in_round(item))
    };
    if let Some(selected) = selected.filter(|selected| *selected != view.today) {
        let items: Vec<_> = agenda.iter().filter(|item| item.date == selected).collect();
        section(ui, view, state, day, &full_date(selected), &items, out);
        if items.is_empty() {
            ui.label(muted(ui, "Nothing on this day."));
        }
    }
    let late: Vec<_> = of(ItemState::Late).collect();
    let due: Vec<_> = of(ItemState::Due).collect();
    let coming: Vec<_> = of(ItemState::Coming)
        .filter(|item| item.date <= week)
        .collect();
    section(ui, view, state, day, "Late", &late, out);
    section(ui, view, state, day, "Due today", &due, out);
    section(
        ui,
        view,
        state,
        day,
        "Coming in the next 7 days",
        &coming,
        out,
    );
    if late.is_empty() && due.is_empty() && coming.is_empty() {
        section_heading(ui, "Nothing waits");
        ui.label(muted(
            ui,
            "Plan a cross, or lay seed in the cold: its days show here by themselves.",
        ));
    }
    task_ui(ui, view, state, out);
}

fn section(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    day: NaiveDate,
    title: &str,
    items: &[&Item],
    out: &mut Outbox<'_>,
) {
    if items.is_empty() {
        return;
    }
    section_heading(ui, title);
    let shown = if state.whole == title {
        items.len()
    } else {
        SHOWN
    };
    for item in items.iter().take(shown) {
        ui.push_id((title, item.about, item.kind, item.date), |ui| {
            item_ui(ui, view, state, (title, day), item, out);
            let open = state.form.as_mut().filter(|open| {
                open.section == title && open.about == (item.about, item.kind, item.date)
            });
            if let Some(open) = open {
                let done = Frame::new()
                    .fill(tokens(ui).raised)
                    .inner_margin(Margin::same(space::M as i8))
                    .show(ui, |ui| open.form.show(ui, view, day, out))
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

fn item_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    when: (&str, NaiveDate),
    item: &Item,
    out: &mut Outbox<'_>,
) {
    ui.horizontal(|ui| {
        ui.set_min_height(space::TARGET + space::S);
        ui.with_layout(Layout::right_to_left(egui::Align::Center), |ui| {
            if item.state != ItemState::Done && view.read_only.is_none() {
                let verb = ui.button(item.kind.verb());
                verb.widget_info(|| {
                    // The same thing comes again on later days: only today's goes by its bare name.
                    let later = match item.state {
                        ItemState::Coming => format!(", on {}", item.date),
                        _ => String::new(),
                    };
                    let name = format!("{}: {}{later}", item.kind.verb(), item.title);
                    WidgetInfo::labeled(Role::Button, true, name)
                });
                if verb.clicked() && state.current {
                    act(view, state, when, item, out);
                }
            }
            ui.with_layout(Layout::top_down(egui::Align::Min), |ui| {
                ui.spacing_mut().item_spacing.y = 0.0;
                ui.horizontal(|ui| {
                    if item.state == ItemState::Late {
                        badge(
                            ui,
                            super::month::meaning(item.state),
                            &late_words(item, view.today),
                        );
                    }
                    let title = ui.add(
                        egui::Label::new(strong(&item.title))
                            .truncate()
                            .sense(egui::Sense::click()),
                    );
                    title.widget_info(|| WidgetInfo::labeled(Role::Link, true, &item.title));
                    if title.clicked() {
                        out.show(item.about);
                    }
                });
                let mut words = item.detail.clone();
                if item.state == ItemState::Coming || item.date != view.today {
                    words = format!("{}  {words}", item.date.format("%a %-d %b"));
                }
                ui.add(egui::Label::new(muted(ui, words.trim())).truncate())
                    .on_hover_text(&item.detail);
            });
        });
    });
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

fn task_ui(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
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
        away = ui.button("Put away").clicked();
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
