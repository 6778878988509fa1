//! The agenda as a calendar file.

use chrono::{NaiveDate, NaiveDateTime};
use domain::Project;
use domain::agenda::{ItemState, agenda};
use exchange::calendar::{CalendarEntry, EntryKind, write};
use std::collections::HashMap;

/// What is still to be done in these days, as iCalendar (RFC 5545), each with an alarm on its morning. An entry keeps its
/// identifier while it is about the same record, so that a calendar which reads a second export replaces the first.
pub fn calendar(
    project: &Project,
    (first, last): (NaiveDate, NaiveDate),
    today: NaiveDate,
    written: NaiveDateTime,
) -> String {
    let mut count: HashMap<(domain::AnyId, &'static str), usize> = HashMap::new();
    let items = agenda(project, first..=last, today);
    let open = items
        .into_iter()
        .filter(|item| item.state != ItemState::Done);
    let entries: Vec<CalendarEntry> = open
        .map(|item| {
            let verb = item.kind.verb();
            // The first of its kind that is open, the second, and so on: a look put off is the same look.
            let nth = count.entry((item.about, verb)).or_default();
            *nth += 1;
            let word: String = verb
                .to_lowercase()
                .split_whitespace()
                .collect::<Vec<_>>()
                .join("-");
            CalendarEntry {
                uid: format!("{}-{word}-{nth}@binewright", item.about.uuid),
                summary: item.title,
                description: item.detail,
                first: item.date,
                last: item.latest.unwrap_or(item.date),
                kind: EntryKind::Todo { done: false },
                alarm: true,
            }
        })
        .collect();
    write(&project.settings().name, &entries, written)
}
