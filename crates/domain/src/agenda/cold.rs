//! Boxes in the cold: when to look into each, and when it is over.

use super::{Collector, ItemKind, is_late, potting};
use crate::date::{next_of_every, shift};
use crate::ledger::BoxTally;
use crate::project::Project;
use crate::{Check, ChillBatch, ChillBox, Moisture, Regimen};
use chrono::NaiveDate;

pub(super) fn batch_items(project: &Project, batch: &ChillBatch, collect: &mut Collector<'_>) {
    let boxes: Vec<_> = project.boxes_of(batch.id).collect();
    if !batch.started {
        collect.open(batch.id, ItemKind::StartChill, batch.start, None, || {
            let seeds: u64 = boxes
                .iter()
                .map(|chill_box| u64::from(chill_box.seeds))
                .sum();
            (
                format!("Start {}", batch.code),
                format!(
                    "{} boxes, {seeds} seeds, {} in the cold.",
                    boxes.len(),
                    batch.regimen.chill
                ),
            )
        });
        return;
    }
    collect.done(batch.id, ItemKind::StartChill, batch.start, || {
        (format!("Started chilling {}", batch.code), String::new())
    });
    for chill_box in boxes {
        box_items(project, batch, chill_box, collect);
    }
}

fn box_items(
    project: &Project,
    batch: &ChillBatch,
    chill_box: &ChillBox,
    collect: &mut Collector<'_>,
) {
    for check in project.checks_of(chill_box.id) {
        collect.done(chill_box.id, ItemKind::CheckBox, check.date, || {
            (
                format!("Box {}: {}", chill_box.code, check.words()),
                String::new(),
            )
        });
    }
    potting::tell(project, chill_box, collect);
    if let Some(run) = project.run_of(chill_box.id) {
        collect.done(chill_box.id, ItemKind::MoveToWarmth, run.moved, || {
            (
                format!("Box {} moved to warmth", chill_box.code),
                String::new(),
            )
        });
    }
    open_items(project, batch, chill_box, collect);
}

/// What a box in the cold needs; nothing once it has left the cold. What is due on a day follows from what was known
/// by that day: a check on a later day doesn't make up for one that was missed.
pub(super) fn open_items(
    project: &Project,
    batch: &ChillBatch,
    chill_box: &ChillBox,
    collect: &mut Collector<'_>,
) {
    let left = left_the_cold(project, batch, chill_box);
    if !batch.started || left.is_some_and(|left| left <= collect.today) {
        return;
    }
    let (mut last, mut sprouted, mut checked_later) = (None, batch.start, false);
    for check in project.checks_of(chill_box.id) {
        if check.date > collect.today {
            checked_later = true;
            continue;
        }
        if check.sprouted_early > 0 {
            sprouted = check.date;
        }
        last = Some(check);
    }
    if left.is_none() {
        // Nothing grows on in the cold: an early sprout is potted as soon as it is found (common practice).
        potting::ask(
            project,
            chill_box,
            chill_box.id,
            (sprouted, shift(sprouted, 3)),
            collect,
        );
        ask_for_warmth(project, batch, chill_box, collect);
    }
    let known = left.is_some() || checked_later;
    check_items(project, batch, chill_box, (last, known), collect);
}

/// The day on which a box left the cold, however it did.
fn left_the_cold(project: &Project, batch: &ChillBatch, chill_box: &ChillBox) -> Option<NaiveDate> {
    let moved = project.run_of(chill_box.id).map(|run| run.moved);
    let ended = chill_box.end.as_ref().map(|end| end.date);
    [moved, ended, batch.ended].into_iter().flatten().min()
}

fn ask_for_warmth(
    project: &Project,
    batch: &ChillBatch,
    chill_box: &ChillBox,
    collect: &mut Collector<'_>,
) {
    let lot = project.code_of(chill_box.lot);
    let ready = batch.ready_on();
    collect.open(chill_box.id, ItemKind::MoveToWarmth, ready, None, || {
        let regimen = &batch.regimen;
        (
            format!("Move box {} to warmth", chill_box.code),
            format!(
                "Lot {lot}, {} seeds: {} of cold completed. Next: {} with {} h of light a day.",
                BoxTally::of(project, chill_box).left(),
                regimen.chill,
                regimen.warm,
                regimen.light_hours
            ),
        )
    });
}

/// The checks to come of a box, after the `last` one. Where it is known what came after the day asked about, only the
/// one that was due by then is told.
fn check_items(
    project: &Project,
    batch: &ChillBatch,
    chill_box: &ChillBox,
    (last, known): (Option<&Check>, bool),
    collect: &mut Collector<'_>,
) {
    let lot = project.code_of(chill_box.lot);
    let ready = batch.ready_on();
    let mut due = next_check(&batch.regimen, batch.start, last);
    let unseen = (collect.today - last.map_or(batch.start, |check| check.date)).num_days();
    let mut first = true;
    // What comes after the next look is calculated as if each were made on its day, the next today if it is late.
    while due <= collect.to && (due < ready || first) {
        if known && (!first || due > collect.today) {
            return;
        }
        let told_unseen = first;
        collect.open(chill_box.id, ItemKind::CheckBox, due, None, || {
            let detail = if told_unseen {
                advice(last, unseen)
            } else {
                "Look for mould; add water if the towel is dry.".into()
            };
            (format!("Check box {} ({lot})", chill_box.code), detail)
        });
        first = false;
        due = next_check_if_clear(&batch.regimen, batch.start, due.max(collect.today));
    }
}

/// Whether the next check of a box in the cold is late on a day, after the `last` one.
pub fn check_is_late(
    regimen: &Regimen,
    start: NaiveDate,
    last: Option<&Check>,
    today: NaiveDate,
) -> bool {
    is_late(next_check(regimen, start, last), None, today)
}

/// The day of the next check after the last one, or after the start.
pub fn next_check(regimen: &Regimen, start: NaiveDate, last: Option<&Check>) -> NaiveDate {
    let Some(check) = last else {
        return next_check_if_clear(regimen, start, start);
    };
    let usual = next_check_if_clear(regimen, start, check.date);
    let troubled =
        check.mouldy_removed > 0 || matches!(check.moisture, Some(Moisture::Dry | Moisture::Wet));
    if troubled {
        usual.min(shift(check.date, regimen.recheck_after.into()))
    } else {
        usual
    }
}

/// The day after `day` on which a box is next due, if nothing is found on `day`: the next one in the first days, later
/// after the longer interval.
pub fn next_check_if_clear(regimen: &Regimen, start: NaiveDate, day: NaiveDate) -> NaiveDate {
    let tomorrow = shift(day, 1);
    if tomorrow <= shift(start, regimen.daily_checks.into()) {
        tomorrow
    } else {
        next_of_every(day, regimen.check_every)
    }
}

fn advice(last: Option<&Check>, unseen: i64) -> String {
    let mut words = match unseen {
        ..=1 => String::new(),
        days => format!("Not checked for {days} days. "),
    };
    if let Some(check) = last {
        if check.mouldy_removed > 0 {
            words += "Mould was found last time. ";
        }
        match check.moisture {
            Some(Moisture::Dry) => words += "It was dry last time. ",
            Some(Moisture::Wet) => words += "It was wet last time. ",
            Some(Moisture::Moist) | None => {}
        }
    }
    words + "Open it, look for mould, add water if the towel is dry."
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::IdSource;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn boxes_are_due_daily_for_a_week_then_weekly() {
        // Common practice: every day in the first 7 days, then at least once a week.
        let regimen = Regimen::default();
        let start = day("2025-12-28");
        let mut days = vec![];
        let mut next = start;
        for _ in 0..10 {
            next = next_check_if_clear(&regimen, start, next);
            days.push(next.to_string());
        }
        assert_eq!(
            days,
            [
                "2025-12-29",
                "2025-12-30",
                "2025-12-31",
                "2026-01-01",
                "2026-01-02",
                "2026-01-03",
                "2026-01-04",
                "2026-01-11",
                "2026-01-18",
                "2026-01-25"
            ]
        );
    }

    #[test]
    fn trouble_brings_the_next_look_forward() {
        let regimen = Regimen::default();
        let (start, seen) = (day("2026-01-01"), day("2026-01-20"));
        let mut ids = IdSource::new(0, 0);
        let mut check = Check::nothing_found(ids.next(), ids.next(), seen);
        assert_eq!(next_check(&regimen, start, Some(&check)), day("2026-01-27"));
        check.mouldy_removed = 1;
        assert_eq!(next_check(&regimen, start, Some(&check)), day("2026-01-22"));
    }
}
