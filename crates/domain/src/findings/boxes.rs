//! Boxes: unseen, overfull, too warm or frozen, or with more seeds than were laid in them.

use super::Found;
use crate::agenda::{Duty, State, agenda};
use crate::date::shift;
use crate::ledger::BoxTally;
use crate::work::plural;
use crate::{ChillBatch, ChillBox};

/// So many days after its chill was over, a box still in the cold is a finding.
const OVERDUE_FOR_WARMTH: i64 = 14;

pub(super) fn find(found: &mut Found<'_>) {
    unseen(found);
    for chill_box in found.project.chill_boxes().iter() {
        if let Some(batch) = found.project.chill_batches().get(chill_box.batch) {
            numbers(found, batch, chill_box);
            temperatures(found, batch, chill_box);
        }
    }
    for batch in found
        .project
        .chill_batches()
        .iter()
        .filter(|batch| batch.started)
    {
        if batch.sterilised.is_none() {
            let what = format!(
                "{} has no record of how its seed was sterilised.",
                batch.code
            );
            found.gap(batch.id, what, "Record the bath, or that there was none.");
        }
        if found.project.boxes_of(batch.id).next().is_none() {
            let what = format!("{} is in the cold without a box.", batch.code);
            found.doubt(batch.id, what, "Lay its boxes, or take the batch away.");
        }
    }
}

fn unseen(found: &mut Found<'_>) {
    let today = found.today;
    let late = agenda(found.project, today..=today, today)
        .into_iter()
        .filter(|item| item.state == State::Late);
    for item in late {
        let code = found.project.code_of(item.about);
        match item.duty {
            Duty::LookInBox => {
                let days = (today - item.date).num_days();
                let word = plural(days as u32, "day", "days");
                let what = format!(
                    "Box {code} was due for a look on {}, {days} {word} ago.",
                    item.date
                );
                found.doubt(
                    item.about,
                    what,
                    "Open it, look for mould, add water if the towel is dry.",
                );
            }
            Duty::MoveToWarmth if shift(item.date, OVERDUE_FOR_WARMTH) < today => {
                let what = format!("Box {code} has been ready for warmth since {}.", item.date);
                found.doubt(item.about, what, "Move it, or record what became of it.");
            }
            _ => {}
        }
    }
}

fn numbers(found: &mut Found<'_>, batch: &ChillBatch, chill_box: &ChillBox) {
    let (project, code) = (found.project, &chill_box.code);
    let tally = BoxTally::of(project, chill_box);
    if tally.accounted() > tally.laid {
        let what = format!(
            "Box {code} held {} seeds, but {} are accounted for.",
            tally.laid,
            tally.accounted()
        );
        found.doubt(
            chill_box.id,
            what,
            "Correct the number laid in it, or the counts.",
        );
    }
    let again: u32 = project
        .referring::<ChillBox>(chill_box.id)
        .map(|other| other.seeds)
        .sum();
    if again > tally.left() {
        let what = format!(
            "{again} seeds of box {code} were chilled again, but only {} were left in it.",
            tally.left()
        );
        found.doubt(
            chill_box.id,
            what,
            "Correct the number chilled again, or the counts.",
        );
    }
    if let Some(ended) = batch.ended
        && chill_box.end.is_none()
        && project.run_of(chill_box.id).is_none()
    {
        let what =
            format!("On {ended} box {code} left the cold, but nobody wrote what became of it.");
        found.doubt(chill_box.id, what, "Record its move to warmth, or its end.");
    }
    if chill_box.seeds > batch.regimen.box_to {
        let (seeds, most) = (chill_box.seeds, batch.regimen.box_to);
        let what = format!(
            "Box {code} holds {seeds} seeds; more than {most} touch each other and mould spreads."
        );
        found.doubt(chill_box.id, what, "Spread them over two boxes.");
    }
}

fn temperatures(found: &mut Found<'_>, batch: &ChillBatch, chill_box: &ChillBox) {
    let (project, code, regimen) = (found.project, &chill_box.code, &batch.regimen);
    let moved = project.run_of(chill_box.id).map(|run| run.moved);
    for check in project.checks_of(chill_box.id) {
        let Some(temperature) = check.temperature else {
            continue;
        };
        let outside = temperature < regimen.cold_from || temperature > regimen.cold_to;
        if temperature <= regimen.freezing {
            let what = format!(
                "Box {code} was at {temperature} on {}: freezing.",
                check.date
            );
            found.doubt(check.id, what, "Move it to a warmer shelf and watch its germination; damp seed can be killed by frost.");
        } else if outside && moved.is_none_or(|moved| check.date < moved) {
            let (from, to) = (regimen.cold_from, regimen.cold_to);
            let what = format!(
                "Box {code} was at {temperature} on {}, outside {from} to {to}.",
                check.date
            );
            found.doubt(check.id, what, "Move it, or set the refrigerator.");
        }
    }
}
