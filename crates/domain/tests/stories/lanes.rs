//! The season as lanes: planned, as it was, and calculated onward.

use crate::program::{Program, day};
use domain::timeline::{BarKind, lanes};
use domain::{BoxFate, CrossEventKind};

/// The bars of the one lane, as 'label from to kind'.
fn bars(program: &Program, today: &str) -> Vec<(&'static str, String, String, BarKind)> {
    let found = lanes(
        &program.project,
        day("2020-01-01"),
        day("2030-01-01"),
        day(today),
    );
    assert_eq!(found.len(), 1, "{found:?}");
    found[0]
        .bars
        .iter()
        .map(|bar| {
            (
                bar.label,
                bar.from.to_string(),
                bar.to.to_string(),
                bar.kind,
            )
        })
        .collect()
}

fn bar(
    label: &'static str,
    from: &str,
    to: &str,
    kind: BarKind,
) -> (&'static str, String, String, BarKind) {
    (label, from.into(), to.into(), kind)
}

#[test]
fn a_cross_is_planned_then_under_way_then_over() {
    let mut program = Program::begun();
    let (_, _, cross) = program.usual_cross();
    // Pollination on 1 July: bagged 10 days before, ripe at the latest 56 days after.
    assert_eq!(
        bars(&program, "2026-01-01"),
        [bar(
            "on the plant",
            "2026-06-21",
            "2026-08-26",
            BarKind::Planned
        )]
    );
    program.event(
        cross,
        "2026-06-20",
        CrossEventKind::FemaleBagged { bags: None },
    );
    program.event(cross, "2026-07-03", CrossEventKind::Pollinated);
    assert_eq!(
        bars(&program, "2026-07-10"),
        [
            bar("on the plant", "2026-06-20", "2026-07-10", BarKind::Actual),
            bar(
                "on the plant",
                "2026-07-10",
                "2026-08-28",
                BarKind::Projected
            )
        ]
    );
    program.event(
        cross,
        "2026-08-20",
        CrossEventKind::ConesHarvested { cones: None },
    );
    assert_eq!(
        bars(&program, "2026-12-01"),
        [bar(
            "on the plant",
            "2026-06-20",
            "2026-08-20",
            BarKind::Actual
        )]
    );
}

#[test]
fn a_batch_is_planned_then_cold_then_warm() {
    let mut program = Program::begun();
    let lot = program.lot("Lot", 100);
    let batch = program.batch("Batch", "2026-01-01", false);
    let chill_box = program.chill_box("Box", batch, lot, 50);
    assert_eq!(
        bars(&program, "2025-12-01"),
        [bar("cold", "2026-01-01", "2026-03-02", BarKind::Planned)]
    );
    let record = program
        .project
        .chill_batches()
        .get(batch)
        .expect("the batch")
        .clone();
    program.make(domain::actions::start_batch(&record, day("2026-01-02")));
    assert_eq!(
        bars(&program, "2026-01-12"),
        [
            bar("cold", "2026-01-02", "2026-01-12", BarKind::Actual),
            bar("cold", "2026-01-12", "2026-03-03", BarKind::Projected)
        ]
    );
    program.warm(chill_box, "2026-03-05");
    // Given up 28 days after the move.
    assert_eq!(
        bars(&program, "2026-03-10"),
        [
            bar("cold", "2026-01-02", "2026-03-05", BarKind::Actual),
            bar("warmth", "2026-03-05", "2026-03-10", BarKind::Actual),
            bar("warmth", "2026-03-10", "2026-04-02", BarKind::Projected)
        ]
    );
}

#[test]
fn a_batch_whose_boxes_were_all_given_up_ends_with_the_last() {
    let mut program = Program::begun();
    let (_, _, chill_box) = program.usual_box("2026-01-01");
    let end = crate::program::box_end("2026-01-20", BoxFate::Discarded);
    program.make(domain::actions::end_box(chill_box, end));
    assert_eq!(
        bars(&program, "2026-02-10"),
        [bar("cold", "2026-01-01", "2026-01-20", BarKind::Actual)]
    );
}

#[test]
fn only_lanes_that_touch_the_days_are_shown() {
    let mut program = Program::begun();
    program.usual_cross();
    program.usual_box("2026-01-01");
    let seen = |from, to| lanes(&program.project, day(from), day(to), day("2026-01-01")).len();
    assert_eq!(seen("2026-01-01", "2026-12-31"), 2);
    assert_eq!(seen("2026-01-01", "2026-02-01"), 1);
    assert_eq!(seen("2026-08-26", "2026-08-26"), 1);
    assert_eq!(seen("2026-08-27", "2026-12-31"), 0);
}

#[test]
fn mould_is_marked() {
    let mut program = Program::begun();
    let (_, _, chill_box) = program.usual_box("2026-01-01");
    let mut check = program.check_record(chill_box, "2026-01-09");
    check.mouldy_removed = 3;
    program.add(check);
    let found = lanes(
        &program.project,
        day("2026-01-01"),
        day("2026-02-01"),
        day("2026-01-10"),
    );
    assert_eq!(found[0].marks, [(day("2026-01-09"), "mould".to_owned())]);
}
