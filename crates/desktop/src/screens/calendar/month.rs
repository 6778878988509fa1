//! The month on the wall.

use crate::theme::Meaning;
use crate::view::View;
use crate::widgets::{DayEntry, MonthState, MonthView};
use chrono::NaiveDate;
use domain::agenda::{Duty, Item, State};
use egui::Ui;
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
pub(super) const fn meaning(state: State) -> Meaning {
    match state {
        State::Late => Meaning::Late,
        State::Due => Meaning::Soon,
        State::Coming => Meaning::Plain,
        State::Done => Meaning::Good,
    }
}

/// The lines of each day: what is the same for several boxes stands in one line.
fn entries(items: &[Item]) -> BTreeMap<NaiveDate, Vec<DayEntry>> {
    let mut groups: BTreeMap<(NaiveDate, State, Duty), Vec<&Item>> = BTreeMap::new();
    for item in items {
        groups
            .entry((item.date, item.state, item.duty))
            .or_default()
            .push(item);
    }
    let mut by_day: BTreeMap<NaiveDate, Vec<DayEntry>> = BTreeMap::new();
    for ((day, state, duty), items) in groups {
        let text = match items.as_slice() {
            [_, _, ..] => several(duty, state, items.len()),
            _ => None,
        };
        let Some(text) = text.or_else(|| items.first().map(|first| first.title.clone())) else {
            continue;
        };
        by_day
            .entry(day)
            .or_default()
            .push(DayEntry::new(text, meaning(state)));
    }
    by_day
}

/// The words for several of a kind. What it is comes first: a day is narrow, and the end of a line is cut.
fn several(duty: Duty, state: State, count: usize) -> Option<String> {
    let done = state == State::Done;
    let words = match duty {
        Duty::LookInBox if done => "Looked in",
        Duty::LookInBox => "Look in",
        Duty::MoveToWarmth if done => "Warmed",
        Duty::MoveToWarmth => "Warm",
        Duty::CountSprouts if done => "Counted",
        Duty::CountSprouts => "Count",
        Duty::PotUp => "Pot up",
        Duty::DecideRest if done => "Closed",
        Duty::DecideRest => "Decide",
        _ => return None,
    };
    Some(format!("{words} {count} boxes"))
}
