//! The month on the wall.

use crate::theme::Meaning;
use crate::view::View;
use crate::widgets::{DayEntry, MonthState, MonthView};
use chrono::NaiveDate;
use domain::agenda::{Duty, Item, State};
use egui::Ui;
use std::collections::BTreeMap;

/// The lines of each day, kept until the project or the day changes.
#[derive(Default)]
pub(super) struct Entries {
    made_for: Option<(u64, NaiveDate)>,
    by_day: BTreeMap<NaiveDate, Vec<DayEntry>>,
}

impl Entries {
    /// Draws the month.
    pub(super) fn show(&mut self, ui: &mut Ui, view: &View<'_>, state: &mut MonthState) {
        let key = (view.project.revision(), view.today);
        if self.made_for != Some(key) {
            self.by_day = entries(view.derived.agenda(view.project, view.today));
            self.made_for = Some(key);
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
        let text = match (several(duty, state), items.as_slice()) {
            (Some(words), [_, _, ..]) => format!("{} {words}", items.len()),
            (_, [first, ..]) => first.title.clone(),
            (_, []) => continue,
        };
        by_day
            .entry(day)
            .or_default()
            .push(DayEntry::new(text, meaning(state)));
    }
    by_day
}

/// The words for several of a kind, after their number.
const fn several(duty: Duty, state: State) -> Option<&'static str> {
    let done = matches!(state, State::Done);
    Some(match duty {
        Duty::LookInBox if done => "boxes looked into",
        Duty::LookInBox => "boxes to look in",
        Duty::MoveToWarmth if done => "boxes moved to warmth",
        Duty::MoveToWarmth => "boxes to warmth",
        Duty::CountSprouts if done => "boxes counted",
        Duty::CountSprouts => "boxes to count",
        Duty::PotUp => "boxes to pot up",
        Duty::DecideRest if done => "boxes closed",
        Duty::DecideRest => "boxes to decide on",
        _ => return None,
    })
}
