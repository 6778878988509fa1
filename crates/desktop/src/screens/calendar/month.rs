//! The month on the wall.

use crate::view::View;
use chrono::NaiveDate;
use domain::agenda::{Item, ItemKind, ItemState};
use egui::Ui;
use kit::theme::Meaning;
use kit::widgets::{DayEntry, MonthState, MonthView};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The lines of each day, kept until the agenda changes.
#[derive(Default)]
pub(super) struct Entries {
    made_of: Option<Arc<Vec<Item>>>,
    by_day: BTreeMap<NaiveDate, Vec<DayEntry>>,
}

impl Entries {
    /// Draws the month.
    pub(super) fn show(&mut self, ui: &mut Ui, view: &View<'_>, state: &mut MonthState) {
        let agenda = view.derived.agenda(view.project, view.today, ui.ctx());
        if !matches!(&self.made_of, Some(known) if Arc::ptr_eq(known, &agenda.value)) {
            self.by_day = entries(&agenda);
            self.made_of = Some(agenda.value);
        }
        MonthView::new("Month", view.today)
            .first_weekday(view.preferences.first_weekday())
            .show(ui, state, |day| {
                self.by_day.get(&day).map_or(&[], Vec::as_slice)
            });
    }
}

/// How a state is shown.
pub(super) const fn meaning(state: ItemState) -> Meaning {
    match state {
        ItemState::Late => Meaning::Late,
        ItemState::Due => Meaning::Soon,
        ItemState::Coming => Meaning::Plain,
        ItemState::Done => Meaning::Good,
    }
}

/// The lines of each day: what is the same for several boxes stands in one line.
fn entries(items: &[Item]) -> BTreeMap<NaiveDate, Vec<DayEntry>> {
    let mut groups: BTreeMap<(NaiveDate, ItemState, ItemKind), Vec<&Item>> = BTreeMap::new();
    for item in items {
        groups
            .entry((item.date, item.state, item.kind))
            .or_default()
            .push(item);
    }
    let mut by_day: BTreeMap<NaiveDate, Vec<DayEntry>> = BTreeMap::new();
    for ((day, state, kind), items) in groups {
        let text = match items.as_slice() {
            [_, _, ..] => several(kind, state, items.len()),
            _ => None,
        };
        let Some(text) = text.or_else(|| items.first().map(|first| first.title.clone())) else {
            continue;
        };
        let entry = DayEntry::new(text, meaning(state));
        by_day
            .entry(day)
            .or_default()
            .push(entry.with_figure(super::drawing_of(kind), items.len() as u32));
    }
    by_day
}

/// The words for several of a kind. What it is comes first: a day is narrow, and the end of a line is cut.
fn several(kind: ItemKind, state: ItemState, count: usize) -> Option<String> {
    let done = state == ItemState::Done;
    let words = match kind {
        ItemKind::CheckBox if done => "Checked",
        ItemKind::CheckBox => "Check",
        ItemKind::MoveToWarmth if done => "Warmed",
        ItemKind::MoveToWarmth => "Warm",
        ItemKind::CountSprouts if done => "Counted",
        ItemKind::CountSprouts => "Count",
        ItemKind::PotUp => "Pot up",
        ItemKind::DecideRest if done => "Closed",
        ItemKind::DecideRest => "Decide",
        _ => return None,
    };
    Some(format!("{words} {count} boxes"))
}
