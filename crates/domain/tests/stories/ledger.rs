//! No lot gives more seed than it holds, in whatever order the days are told.

use crate::program::{Program, box_end, day};
use domain::ledger::{balance, ledger};
use domain::record::chill::{ChillBatchField, ChillBoxField};
use domain::record::seed_lot::{MovementField, SeedLotField};
use domain::{BoxFate, Edit, MovementKind, SeedAmount};

#[test]
fn a_balance_never_falls_below_zero() {
    let mut program = Program::begun();
    let (lot, batch, chill_box) = program.usual_box("2026-01-10");
    assert_eq!(balance(&program.project, lot), 140);
    let too_many = program.box_record("Big", batch, lot, 141);
    let refusal = program.refused(Edit::add(too_many));
    assert!(
        refusal.what.contains("holds 140 seeds; 141 can't be taken"),
        "{refusal}"
    );
    let draw = program.movement(lot, "2026-01-05", MovementKind::Draw, 140);
    let draw = program.add(draw);
    assert_eq!(balance(&program.project, lot), 0);
    program.refused(Edit::set(draw, MovementField::Seeds(141)));
    program.refused(Edit::set(draw, MovementField::Seeds(0)));
    program.refused(Edit::set(chill_box, ChillBoxField::Seeds(61)));
    program.refused(Edit::set(
        lot,
        SeedLotField::Amount(Some(SeedAmount::Counted(199))),
    ));
    program.refused(Edit::set(lot, SeedLotField::Amount(None)));
}

#[test]
fn seed_brought_back_later_doesnt_cover_what_was_taken_before() {
    let mut program = Program::begun();
    let lot = program.lot("Lot", 100);
    let draw = program.movement(lot, "2026-01-01", MovementKind::Draw, 50);
    program.add(draw);
    let back = program.movement(lot, "2026-01-05", MovementKind::Return, 50);
    let back = program.add(back);
    let batch = program.batch("Batch", "2026-01-10", true);
    program.chill_box("Box", batch, lot, 80);
    program.refused(Edit::set(back, MovementField::Date(day("2026-01-11"))));
    program.refused(Edit::remove(back));
    // The start of a batch is the day its boxes are drawn.
    program.refused(Edit::set(batch, ChillBatchField::Start(day("2026-01-03"))));
    // A return that belongs to another lot after all leaves this one short.
    let other = program.lot("Other", 100);
    program.refused(Edit::set(back, MovementField::Lot(other)));
}

#[test]
fn a_box_returned_brings_back_what_was_left_in_it() {
    let mut program = Program::begun();
    let (lot, _, chill_box) = program.usual_box("2026-01-10");
    let mut check = program.check_record(chill_box, "2026-01-12");
    check.mouldy_removed = 5;
    program.add(check);
    program.make(Edit::set(
        chill_box,
        ChillBoxField::End(Some(box_end("2026-01-20", BoxFate::Returned))),
    ));
    assert_eq!(balance(&program.project, lot), 195);
    let draw = program.movement(lot, "2026-02-01", MovementKind::Draw, 195);
    program.add(draw);
    let mut late = program.check_record(chill_box, "2026-01-13");
    late.mouldy_removed = 1;
    program.refused(Edit::add(late));
    program.refused(Edit::set(
        chill_box,
        ChillBoxField::End(Some(box_end("2026-01-20", BoxFate::Discarded))),
    ));
    let lines = ledger(&program.project, lot);
    assert_eq!(
        lines.iter().map(|line| line.balance).collect::<Vec<_>>(),
        [200, 140, 195, 0]
    );
}

#[test]
fn seed_chilled_again_isnt_drawn_twice() {
    let mut program = Program::begun();
    let (lot, batch, first) = program.usual_box("2026-01-10");
    let edit = domain::actions::chill_again(&program.project, first, batch, 30, &mut program.ids)
        .expect("a box");
    program.make(edit);
    assert_eq!(balance(&program.project, lot), 140);
}

#[test]
fn a_weighed_lot_holds_whole_seeds() {
    // Shared reference figure: 12.6 g at 3.1 g a thousand are 4064.5 seeds.
    let amount = SeedAmount::Weighed {
        weight: domain::Grams(12.6),
        thousand_seed_weight: domain::Grams(3.1),
    };
    assert_eq!(amount.seeds(), 4064);
    assert!(amount.is_estimate() && !SeedAmount::Counted(3).is_estimate());
}

#[test]
fn absurd_counts_are_doubted_not_wrapped_round() {
    let mut program = Program::begun();
    let (_, _, chill_box) = program.usual_box("2026-01-10");
    for date in ["2026-01-12", "2026-01-13"] {
        let mut check = program.check_record(chill_box, date);
        check.mouldy_removed = u32::MAX;
        program.add(check);
    }
    let record = program
        .project
        .chill_boxes()
        .get(chill_box)
        .expect("the box");
    let tally = domain::ledger::BoxTally::of(&program.project, record);
    assert_eq!((tally.accounted(), tally.left()), (u32::MAX, 0));
}
