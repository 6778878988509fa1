//! Which changes are shown: by words, record, kind, person and days, all at once.

use crate::record_history::{LoadedHistory, signed};
use crate::screens::fields::choice;
use crate::view::View;
use chrono::{DateTime, Days, Local, NaiveDate, NaiveTime, Utc};
use domain::{AnyId, RecordKind};
use egui::{Button, Role, Ui, WidgetInfo, vec2};
use kit::fonts::mark;
use kit::theme::space;
use kit::widgets::{capital, find_box};
use kit::worker::JobProgress;
use std::collections::BTreeSet;
use store::{HistoryLine, RecordKinds};

/// Which changes are shown; all that is set must fit.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Filter {
    /// Part of a code, or of a person's name.
    words: String,
    /// A record and what hangs on it.
    record: Option<AnyId>,
    touched: Option<Touched>,
    person: Option<String>,
    /// The first day.
    from: Option<NaiveDate>,
    /// The last day.
    to: Option<NaiveDate>,
}

/// What a change is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Touched {
    Records(RecordKind),
    Settings,
}

impl Filter {
    /// The changes of this record alone.
    pub(super) fn of_record(id: AnyId) -> Self {
        Self {
            record: Some(id),
            ..Self::default()
        }
    }

    /// The record whose changes alone are shown.
    pub(super) const fn record(&self) -> Option<AnyId> {
        self.record
    }

    /// Draws the controls.
    pub(super) fn show(&mut self, ui: &mut Ui, view: &View<'_>, known: &LoadedHistory) {
        if let Some(id) = self.record {
            let words = known.with_removed().describe(id);
            let only = ui.button(format!("Only {words} {}", mark::TIMES));
            let name = format!("Show more than {words}");
            only.widget_info(|| WidgetInfo::labeled(Role::Button, true, &name));
            if only
                .on_hover_text("Show the changes of all records")
                .clicked()
            {
                self.record = None;
            }
        }
        find_box(ui, "Code, or a person", &mut self.words);
        let room = vec2(132.0, space::TARGET);
        let kinds = RecordKind::ALL.iter().copied();
        let kinds = kinds.map(|kind| (Some(Touched::Records(kind)), plural(kind)));
        let touched: Vec<_> = std::iter::once((None, "Any kind".to_owned()))
            .chain(kinds)
            .chain([(Some(Touched::Settings), "Settings".to_owned())])
            .collect();
        ui.allocate_ui(room, |ui| {
            choice(ui, "RecordKind of record", &mut self.touched, &touched);
        });
        let people = known.history.people().iter();
        let people = people.map(|person| (Some(person.clone()), signed(person).to_owned()));
        let people: Vec<_> = std::iter::once((None, "Anybody".to_owned()))
            .chain(people)
            .collect();
        ui.allocate_ui(room, |ui| {
            choice(ui, "Person", &mut self.person, &people);
        });
        ui.label("from");
        view.date_field("First day")
            .show_optional(ui, &mut self.from);
        ui.label("to");
        view.date_field("Last day").show_optional(ui, &mut self.to);
        if *self != Self::default() {
            let clear = ui.add(Button::new("Clear").min_size(vec2(space::TARGET, space::TARGET)));
            clear.widget_info(|| WidgetInfo::labeled(Role::Button, true, "Clear all filters"));
            if clear.clicked() {
                *self = Self::default();
            }
        }
    }

    /// The same with its words as they are compared, so that what finds the same is found once.
    pub(super) fn tidied(&self) -> Self {
        Self {
            words: self.words.trim().to_lowercase(),
            ..self.clone()
        }
    }

    /// The places of the changes that fit, the latest first, up to the change of a number. Nothing once they are no
    /// longer wanted.
    pub(super) fn places(
        &self,
        known: &LoadedHistory,
        upto: Option<u64>,
        watch: &mut JobProgress,
    ) -> Option<Vec<usize>> {
        let history = &known.history;
        let by_words = match self.words.as_str() {
            "" => None,
            words => Some(Named::of(known, words, watch)?),
        };
        let from = self.from.and_then(begins);
        let until = self
            .to
            .and_then(|day| begins(day.checked_add_days(Days::new(1))?));
        let fits = |place: &usize| {
            let Some(line) = history.line(*place) else {
                return false;
            };
            upto.is_none_or(|upto| line.sequence <= upto)
                && from.is_none_or(|from| from <= line.at)
                && until.is_none_or(|until| line.at < until)
                && self.touched.is_none_or(|touched| touched.is_in(line.kinds))
                && self.person.as_ref().is_none_or(|by| by == line.by)
                && (by_words.as_ref()).is_none_or(|named| named.fits(*place, &line))
        };
        Some(match self.record {
            Some(id) => {
                let of_record = known.places_of(id);
                of_record.into_iter().rev().filter(fits).collect()
            }
            None => (0..history.len()).rev().filter(fits).collect(),
        })
    }
}

impl Touched {
    fn is_in(self, kinds: RecordKinds) -> bool {
        match self {
            Self::Records(kind) => kinds.contains(kind),
            Self::Settings => kinds == RecordKinds::default(),
        }
    }
}

/// What words name: people, and changes of records whose code holds them.
struct Named<'a> {
    people: BTreeSet<&'a str>,
    places: BTreeSet<usize>,
}

impl<'a> Named<'a> {
    fn of(known: &'a LoadedHistory, words: &str, watch: &mut JobProgress) -> Option<Self> {
        let people = known.history.people().iter().map(String::as_str);
        let mut places = BTreeSet::new();
        for (code, id) in known.with_removed().codes() {
            if code.contains(words) {
                // The next letter typed asks for something else.
                if watch.tell("Searching codes", None).is_break() {
                    return None;
                }
                places.extend(known.places_of(id));
            }
        }
        Some(Self {
            people: people
                .filter(|person| person.to_lowercase().contains(words))
                .collect(),
            places,
        })
    }

    fn fits(&self, place: usize, line: &HistoryLine<'_>) -> bool {
        self.people.contains(line.by) || self.places.contains(&place)
    }
}

/// When a day begins here. On the day when clocks go on at midnight, it begins an hour later.
fn begins(day: NaiveDate) -> Option<DateTime<Utc>> {
    let midnight = day.and_time(NaiveTime::MIN);
    let begins = midnight.and_local_timezone(Local).earliest();
    let begins = begins.map(|begins| begins.to_utc());
    begins.or_else(|| Some(midnight.and_utc()))
}

/// The kind in the plural, as a choice.
fn plural(kind: RecordKind) -> String {
    let counted = kind.counted(2);
    capital(counted.trim_start_matches("2 "))
}
