//! The day on one page: the month as a ruler, then what waits, in numbered sections in the order of need.

use super::{State, counts, first_steps, round, to_do};
use crate::screens::fields::caution_lines;
use crate::screens::harm;
use crate::view::{Outbox, Request, View};
use chrono::{Days, NaiveDate};
use domain::agenda::{Item, ItemKind, ItemState};
use domain::catching_up::{MissedDay, missed_days, same_checks};
use domain::cautions::{self, Caution};
use egui::{Key, Modifiers, ScrollArea, Ui};
use kit::dates::weekday_and_day;
use kit::page_keys;
use kit::theme::{muted, space, strong};
use kit::widgets::{Ruler, RulerDay, Weight, grouped, hairline, numbered_section, wide_button};
use kit::working_day::short_day;
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

/// In less width than this the day is one column: the window is narrow, or its text large.
const ONE_COLUMN: f32 = 640.0;

/// What stands at each day of the ruler, and the days that were missed, until the agenda changes.
#[derive(Default)]
pub(super) struct Kept {
    made_of: Option<(Arc<Vec<Item>>, u64, NaiveDate)>,
    ruler: BTreeMap<NaiveDate, RulerDay>,
    missed: Vec<MissedDay>,
    sections: Rc<Sections>,
}

impl Kept {
    fn refresh(&mut self, ui: &Ui, view: &View<'_>) {
        let agenda = view.derived.agenda(view.project, view.today, ui.ctx());
        let revision = view.project.revision();
        let holds = self.made_of.as_ref().is_some_and(|(known, of, day)| {
            Arc::ptr_eq(known, &agenda.value) && (*of, *day) == (revision, view.today)
        });
        if holds {
            return;
        }
        self.ruler = ruler_days(&agenda, view.today);
        self.missed = missed_days(view.project, view.today);
        self.sections = Rc::new(Sections::of(&agenda, view.today));
        self.made_of = Some((agenda.value, revision, view.today));
    }
}

/// What stands at each day. What is late stands at the day it was due.
fn ruler_days(agenda: &[Item], today: NaiveDate) -> BTreeMap<NaiveDate, RulerDay> {
    let mut days = BTreeMap::<NaiveDate, RulerDay>::new();
    for item in agenda {
        let day = match item.state {
            ItemState::Due => today,
            _ => item.date,
        };
        let on = days.entry(day).or_default();
        match item.state {
            ItemState::Late => on.late += 1,
            ItemState::Due => on.due += 1,
            ItemState::Coming => on.coming += 1,
            ItemState::Done => on.done += 1,
        }
    }
    days
}

/// Draws the day.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let agenda = view.derived.agenda(view.project, view.today, ui.ctx());
    let waits = agenda
        .iter()
        .any(|item| matches!(item.state, ItemState::Late | ItemState::Due));
    // What is due today comes before any teaching.
    if !waits && first_steps::are_shown(view) {
        first_steps::show(ui, view, out);
        return;
    }
    state.day.refresh(ui, view);
    page_keys::declare(
        ui,
        [
            ("↑ ↓", "box"),
            ("Space", "checked, nothing found"),
            ("Enter", "note what was found"),
            ("A", "all clear"),
        ],
    );
    let words;
    let missed = match state.day.missed.as_slice() {
        [first, .., last] => {
            words = format!("{} days without an entry", state.day.missed.len());
            Some((first.day, last.day, words.as_str()))
        }
        _ => None,
    };
    let ruler = Ruler {
        name: "Month",
        day: view.today,
        first_weekday: view.preferences.first_weekday(),
        missed,
    };
    if let Some(day) = ruler.show(ui, &state.day.ruler) {
        out.ask(Request::RecordFor(day));
    }
    ui.add_space(space::XS);
    harm::today(ui, view, out);
    let sections = Rc::clone(&state.day.sections);
    let (width, height) = (ui.available_width(), ui.available_height());
    if width < ONE_COLUMN {
        column(ui, "column", width, height, |ui| {
            first_column(ui, view, state, &sections, out);
            second_column(ui, view, state, &sections, out);
        });
        return;
    }
    let left_width = ((width - space::XXXL) * 0.56).floor();
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = 0.0;
        column(ui, "first column", left_width, height, |ui| {
            first_column(ui, view, state, &sections, out);
        });
        ui.add_space(space::XXXL);
        let right_width = (width - left_width - space::XXXL).max(120.0);
        column(ui, "second column", right_width, height, |ui| {
            second_column(ui, view, state, &sections, out);
        });
    });
}

/// The boxes in the cold, and the pots.
fn first_column(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    sections: &Sections,
    out: &mut Outbox<'_>,
) {
    let mut number = 1;
    if round::show(ui, view, &mut state.round, number, out) {
        number += 1;
        catch_up(ui, view, &state.day.missed, &mut state.catching_up, out);
    }
    if !sections.pots.is_empty() {
        let sprouts = format!("{} boxes wait", grouped(sections.pots.len() as u64));
        numbered_section(ui, Some(number), "Pots", &sprouts);
        to_do::rows(ui, view, &mut state.to_do, "Pots", &sections.pots, out);
        number += 1;
    }
    if number == 1 {
        numbered_section(ui, None, "Nothing to do in the boxes", "");
        let next = sections.coming.first().map_or_else(
            || {
                "Plan a cross, or lay seed in the cold: its days show here by themselves."
                    .to_owned()
            },
            |next| format!("Next: {}, {}.", next.title, weekday_and_day(next.date)),
        );
        ui.add(egui::Label::new(muted(ui, next)).wrap());
    }
    state.sections_left = number;
}

/// The counts, and all other work.
fn second_column(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    sections: &Sections,
    out: &mut Outbox<'_>,
) {
    let mut number = state.sections_left;
    if counts::show(ui, view, &mut state.counts, number, out) {
        number += 1;
    }
    let none = Vec::new();
    for (title, items, cautions) in [
        ("Crosses and seed", &sections.others, &sections.cautions),
        ("Coming in the next 7 days", &sections.coming, &none),
    ] {
        if items.is_empty() {
            continue;
        }
        let remark = match items.len() {
            1 => String::new(),
            count => count.to_string(),
        };
        numbered_section(ui, Some(number), title, &remark);
        caution_lines(ui, cautions);
        to_do::rows(ui, view, &mut state.to_do, title, items, out);
        number += 1;
    }
    if number == state.sections_left {
        numbered_section(ui, None, "Nothing else to do", "");
    }
    to_do::task_ui(ui, view, out);
}

/// One column, which scrolls by itself where a day is overfull.
fn column(ui: &mut Ui, name: &str, width: f32, height: f32, add: impl FnOnce(&mut Ui)) {
    ui.allocate_ui_with_layout(
        egui::vec2(width, height),
        egui::Layout::top_down(egui::Align::Min),
        |ui| {
            ScrollArea::vertical()
                .id_salt(name)
                .auto_shrink(false)
                .show(ui, |ui| {
                    ui.spacing_mut().item_spacing = egui::vec2(space::S, 0.0);
                    ui.set_width(width - space::M);
                    add(ui);
                    ui.add_space(space::M);
                });
        },
    );
}

/// The cautions that work due today calls for, each once. What is still to come is shown without them.
fn cautions_for(items: &[Item]) -> Vec<Caution> {
    let mut cautions = Vec::new();
    let due = |item: &&Item| matches!(item.state, ItemState::Late | ItemState::Due);
    for item in items.iter().filter(due) {
        for caution in cautions::for_item(item.kind) {
            if !cautions.contains(caution) {
                cautions.push(*caution);
            }
        }
    }
    cautions
}

/// What waits beside the round and the counts, gathered once for each agenda.
#[derive(Default)]
struct Sections {
    pots: Vec<Item>,
    others: Vec<Item>,
    coming: Vec<Item>,
    /// What the work of `others` calls for.
    cautions: Vec<Caution>,
}

impl Sections {
    fn of(agenda: &[Item], today: NaiveDate) -> Self {
        let week = today.checked_add_days(Days::new(7)).unwrap_or(today);
        let mut sections = Self::default();
        for item in agenda {
            match (item.state, item.kind) {
                (ItemState::Late | ItemState::Due, ItemKind::PotUp) => {
                    sections.pots.push(item.clone());
                }
                // The round and the counts have sections of their own.
                (ItemState::Late | ItemState::Due, ItemKind::CheckBox | ItemKind::CountSprouts) => {
                }
                (ItemState::Late | ItemState::Due, _) => sections.others.push(item.clone()),
                (ItemState::Coming, _) if item.date <= week => sections.coming.push(item.clone()),
                _ => {}
            }
        }
        sections.cautions = cautions_for(&sections.others);
        sections
    }
}

/// The days before without an entry, and the one button that writes them up once the entries were shown.
fn catch_up(
    ui: &mut Ui,
    view: &View<'_>,
    missed: &[MissedDay],
    open: &mut bool,
    out: &mut Outbox<'_>,
) {
    if missed.is_empty() || view.read_only.is_some() {
        *open = false;
        return;
    }
    let days = match missed.len() {
        1 => "the missed day".to_owned(),
        count => format!("{count} missed days"),
    };
    ui.add_space(space::S);
    if !*open {
        let words = format!("Catch up on {days}…");
        let pressed = ui.memory(|memory| memory.focused().is_none())
            && ui.input_mut(|input| input.consume_key(Modifiers::NONE, Key::K));
        if wide_button(ui, Weight::Outline, &words, "K", true).clicked() || pressed {
            *open = true;
            // Enter records what is shown.
            ui.data_mut(|data| data.insert_temp(egui::Id::unique("catching up, fresh"), true));
        }
        return;
    }
    let checks: usize = missed.iter().map(|missed| missed.boxes.len()).sum();
    ui.label(strong(format!(
        "If all was clear on {days}, record them together. These are the entries:"
    )));
    for missed in missed {
        let codes: Vec<&str> = missed
            .boxes
            .iter()
            .take(12)
            .map(|&chill_box| view.project.code_of(chill_box))
            .collect();
        let more = missed.boxes.len().saturating_sub(codes.len());
        let rest = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        let line = format!(
            "{}: {}{rest}, all clear",
            short_day(missed.day),
            codes.join(", ")
        );
        let label = ui.add(egui::Label::new(line).wrap());
        hairline(ui, label.rect.x_range(), label.rect.bottom() + 1.0);
        ui.add_space(space::XS);
    }
    let words = format!("Record {} checks, one Undo", grouped(checks as u64));
    let record = wide_button(ui, Weight::Solid, &words, "Enter", true);
    let fresh = egui::Id::unique("catching up, fresh");
    if ui
        .data_mut(|data| data.remove_temp::<bool>(fresh))
        .is_some()
    {
        record.request_focus();
        record.scroll_to_me(None);
    }
    if record.clicked() {
        let edit = same_checks(missed, out.ids);
        out.act_on(ui, "same checks", "days", edit);
        *open = false;
    }
    ui.add_space(space::XS);
    if ui.button("Cancel").clicked() {
        *open = false;
    }
}
