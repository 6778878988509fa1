//! Boxes in warmth: counting, potting, deciding on the rest.

use super::{Collector, ItemKind, potting};
use crate::Germination;
use crate::date::{next_of_every, shift};
use crate::ledger::BoxTally;
use crate::project::Project;

pub(super) fn run_items(project: &Project, run: &Germination, collect: &mut Collector<'_>) {
    let Some(chill_box) = project.chill_boxes().get(run.chill_box) else {
        return;
    };
    let Some(batch) = project.chill_batches().get(chill_box.batch) else {
        return;
    };
    let (code, regimen) = (&chill_box.code, &batch.regimen);
    let (mut last, mut counted_later) = (None, false);
    for count in project.counts_of(run.id) {
        collect.done(run.id, ItemKind::CountSprouts, count.date, || {
            (
                format!(
                    "Box {code}: {} up, {} abnormal, {} dead",
                    count.germinated, count.abnormal, count.dead
                ),
                count.remark.clone(),
            )
        });
        // What is due on a day follows from what was known by that day.
        if count.date > collect.today {
            counted_later = true;
        } else {
            last = Some(count.date);
        }
    }
    if run.moved > collect.today {
        return;
    }
    // A sprout is potted when its first leaves spread, some days after it was counted (common practice).
    let counted = last.unwrap_or(run.moved);
    let when = (shift(counted, 2), shift(counted, 10));
    potting::ask(project, chill_box, run.id, when, collect);
    if let Some(end) = &run.end {
        collect.done(run.id, ItemKind::DecideRest, end.date, || {
            (
                format!("Box {code}: {}", end.rest.words()),
                end.remark.clone(),
            )
        });
        if end.date <= collect.today {
            return;
        }
        counted_later = true;
    }
    let left = BoxTally::of(project, chill_box).left();
    let give_up = shift(run.moved, regimen.give_up_after.into());
    let decide = if left == 0 {
        last.unwrap_or(run.moved)
    } else {
        give_up
    };
    if run.end.is_none() {
        collect.open(run.id, ItemKind::DecideRest, decide, None, || match left {
            0 => (
                format!("Close box {code}"),
                "Every seed is accounted for.".into(),
            ),
            _ => (
                format!("Decide what to do with the remaining seed in box {code}"),
                format!("{left} seeds have not germinated: chill them again, or discard them."),
            ),
        });
    }
    if left == 0 {
        return;
    }
    let first = shift(run.moved, regimen.sprouts_from.into());
    let mut due = last.map_or(first, |day| next_of_every(day, regimen.count_every));
    let mut next = true;
    while due <= collect.to && (due <= give_up || next) {
        // Where it is known what came later, only the count that was due by then is told.
        if counted_later && (!next || due > collect.today) {
            return;
        }
        collect.open(run.id, ItemKind::CountSprouts, due, None, || {
            let window = format!(
                "The first seedlings usually appear {} to {} days after the move.",
                regimen.sprouts_from, regimen.sprouts_to
            );
            (
                format!("Count sprouts in box {code}"),
                format!(
                    "Lot {}, {left} seeds left. {window}",
                    project.code_of(chill_box.lot)
                ),
            )
        });
        next = false;
        due = next_of_every(due.max(collect.today), regimen.count_every);
    }
}
