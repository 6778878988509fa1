//! The chill screen, driven by name: batches, boxes, looks, ends, the move to warmth.

use crate::window::{Window, begun, day, today};
use domain::ledger::balance;
use domain::{
    AnyId, BoxFate, ChillBatch, ChillBox, Edit, Id, IdSource, LotSource, Moisture, Project,
    SeedAmount, SeedLot, Span, actions,
};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable as _;

const SCREEN: Key = Key::Num5;

/// A project with two lots: L-1 of 500 seeds, L-2 of 90.
pub(crate) fn with_lots() -> (Project, IdSource) {
    let (mut project, mut ids) = begun();
    for (code, seeds) in [("L-1", 500), ("L-2", 90)] {
        let lot = SeedLot {
            id: ids.next(),
            code: code.into(),
            source: LotSource::Unknown,
            harvested: None,
            cleaned: None,
            amount: Some(SeedAmount::Counted(seeds)),
            place: String::new(),
            conditions: String::new(),
        };
        project
            .apply(Edit::add(lot))
            .expect("the fixture keeps the rules");
    }
    (project, ids)
}

/// The same, with a batch of two boxes of L-1 (75 seeds each), started on this day.
pub(crate) fn started(start: &str) -> (Project, IdSource) {
    let (mut project, mut ids) = with_lots();
    let protocol = project.settings().protocol.expect("the fixture has it");
    let batch =
        actions::plan_batch(&project, protocol, day(start), &mut ids).expect("the fixture has it");
    let lot = project
        .seed_lots()
        .iter()
        .next()
        .expect("the fixture has it")
        .id;
    project
        .apply(Edit::add(batch.clone()))
        .expect("the fixture keeps the rules");
    let lay = actions::lay_boxes(&project, &batch, lot, 150, 100, &mut ids);
    project.apply(lay).expect("the fixture keeps the rules");
    project
        .apply(actions::start_batch(&batch, day(start)))
        .expect("the fixture keeps the rules");
    (project, ids)
}

fn batch(window: &Window) -> &ChillBatch {
    let mut batches = window.project().chill_batches().iter();
    batches.next().expect("there is a batch")
}

fn chill_box<'a>(window: &'a Window, code: &str) -> &'a ChillBox {
    let project = window.project();
    let id: Id<ChillBox> = project
        .find_code(code)
        .find_map(AnyId::typed)
        .expect("the box is there");
    project.chill_boxes().get(id).expect("the fixture has it")
}

fn left(window: &Window, lot: &str) -> i64 {
    let project = window.project();
    let id = project
        .find_code(lot)
        .find_map(AnyId::typed)
        .expect("the fixture has it");
    balance(project, id)
}

#[test]
fn an_empty_screen_teaches_and_a_batch_is_planned_filled_and_started_by_keyboard_alone() {
    let mut window = Window::on(&with_lots().0, SCREEN);
    window.focus(Role::Button, "Plan a batch");
    window.press(Key::Enter);
    window.fill("Start of the batch", "2026-03-12");
    window.click_button("Plan a batch to start");
    window.focus(Role::TextInput, "Lot to lay");
    window.write("L-1");
    window.press(Key::Enter);
    window.fill("Seeds to lay", "200");
    window.fill("Most seeds per box", "70");
    assert!(window.has(Role::Label, "3 boxes: 2 with 67 seeds, 1 with 66."));
    window.click_button("Lay 200 seeds");
    let laid: Vec<_> = window
        .project()
        .chill_boxes()
        .iter()
        .map(|each| (each.code.as_str(), each.seeds))
        .collect();
    assert_eq!(laid, [("C-01", 67), ("C-02", 67), ("C-03", 66)]);
    assert_eq!(left(&window, "L-1"), 300);
    assert_eq!(batch(&window).start, day("2026-03-12"));
    let start = window.button("Start");
    window.focus(Role::Button, &start);
    window.press(Key::Enter);
    assert!(batch(&window).started);
    assert_eq!(batch(&window).start, today());
    let all = window.button("3 boxes, all clear");
    window.focus(Role::Button, &all);
    // A moment later, so that it isn't the same tap.
    window.settle();
    window.settle();
    window.press(Key::Enter);
    assert_eq!(window.project().checks().len(), 3);
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert!(window.project().checks().is_empty(), "one round, one step");
}

#[test]
fn crowded_boxes_and_too_much_seed_are_told_before_and_refused() {
    let (mut project, mut ids) = with_lots();
    let protocol = project.settings().protocol.unwrap();
    let batch = actions::plan_batch(&project, protocol, today(), &mut ids).unwrap();
    project.apply(Edit::add(batch)).unwrap();
    let mut window = Window::on(&project, SCREEN);
    window.click_button("Add boxes…");
    window.focus(Role::TextInput, "Lot to lay");
    window.write("L-2");
    window.press(Key::Enter);
    window.fill("Seeds to lay", "120");
    window.fill("Most seeds per box", "120");
    assert!(window.has(Role::Label, "The lot holds 90: 30 too many."));
    window.fill("Seeds to lay", "90");
    window.fill("Most seeds per box", "120");
    window.fill("Seeds to lay", "120");
    window.click_button("Lay 120 seeds");
    assert!(window.project().chill_boxes().is_empty());
}

#[test]
fn sterilisation_is_recorded_under_its_caution_from_a_recipe_that_can_be_changed() {
    let mut window = Window::on(&started("2026-03-10").0, SCREEN);
    window.click(Role::Button, "Record the sterilisation…");
    assert!(window.has(Role::Note, "Caution: Bleach and alcohol"));
    // With wet hands: two figures by large buttons, the rest as usual until it is said to be otherwise.
    window.click(Role::Button, "More: Rinses after it");
    window.click(Role::Button, "Less: Rinses after it");
    assert!(!window.has(Role::MultilineTextInput, "Recipe"));
    window.click(Role::Button, "It was done otherwise…");
    window.focus(Role::MultilineTextInput, "Recipe");
    window.retype("Bleach as labelled, then water");
    window.fill("Minutes in the bath", "5");
    window.fill("Rinses after it", "4");
    window.fill("Sterilised by", "Ada");
    window.click_button("Record the sterilisation of");
    let bath = batch(&window).sterilised.clone().expect("it is recorded");
    assert_eq!(bath.recipe, "Bleach as labelled, then water");
    assert_eq!(
        (bath.minutes, bath.rinses, bath.by.as_str()),
        (5.0, 4, "Ada")
    );
    assert_eq!(bath.date, today());
    window.click(Role::Button, "Remove this record");
    assert_eq!(batch(&window).sterilised, None);
}

#[test]
fn a_look_is_added_corrected_and_removed() {
    let mut window = Window::on(&started("2026-03-01").0, SCREEN);
    window.click(Role::Row, "Box C-01");
    window.click(Role::Button, "Add a check…");
    window.fill("Day of the check", "2026-03-08");
    window.click(Role::RadioButton, "dry");
    window.fill("Mouldy seeds removed", "3");
    assert!(window.has(Role::Note, "Caution: Mould"));
    window.click_button("Record the check of");
    let look = window.project().checks().iter().next().unwrap().clone();
    assert!(
        window.has(Role::Note, "Caution: Mould"),
        "before a box that was mouldy is opened again"
    );
    assert_eq!((look.date, look.mouldy_removed), (day("2026-03-08"), 3));
    assert_eq!(
        (look.moisture, look.water_added),
        (Some(Moisture::Dry), true)
    );
    assert!(window.has(
        Role::Image,
        "Checks over time: 1 checks, 3 mouldy seeds removed"
    ));
    window.click(Role::Button, "Edit the check of 8 Mar 2026");
    window.fill("Mouldy seeds removed", "2");
    window.click_button("Correct the check");
    let corrected = window.project().checks().iter().next().unwrap().clone();
    assert_eq!(
        corrected,
        domain::Check {
            mouldy_removed: 2,
            ..look
        },
        "nothing else changed"
    );
    window.click(Role::Button, "Remove the check of 8 Mar 2026");
    assert!(window.project().checks().is_empty());
}

#[test]
fn an_early_sprout_is_potted_from_the_cold_and_one_that_died_is_told() {
    let mut window = Window::on(&started("2026-03-01").0, SCREEN);
    window.click(Role::Row, "Box C-01");
    assert!(!window.has(Role::Button, "Pot up 3…"));
    window.click(Role::Button, "Add a check…");
    window.fill("Seeds sprouted early", "3");
    window.fill("Early sprouts lost", "1");
    window.click_button("Record the check of");
    window.click(Role::Button, "Pot up 2…");
    window.click_button("Pot up 2 sprouts,");
    let from = chill_box(&window, "C-01").id;
    let potted: Vec<_> = window
        .project()
        .genotypes()
        .iter()
        .map(|plant| (plant.sprouted_in, plant.potted_from))
        .collect();
    assert_eq!(potted, [(Some(from), None); 2]);
    assert!(!window.has(Role::Button, "Pot up 2…"), "none waits");
}

#[test]
fn a_look_before_the_start_is_refused() {
    let mut window = Window::on(&started("2026-03-01").0, SCREEN);
    window.click(Role::Row, "Box C-01");
    window.click(Role::Button, "Add a check…");
    window.fill("Day of the check", "2026-02-20");
    window.click_button("Record the check of");
    assert!(
        window
            .notice()
            .contains("it goes into the cold on 1 Mar 2026"),
        "{}",
        window.notice()
    );
}

#[test]
fn ready_boxes_move_to_warmth_under_the_caution_on_lights() {
    // 60 days from 9 January 2026 end on 10 March.
    let mut window = Window::on(&started("2026-01-09").0, SCREEN);
    assert!(
        window
            .harness
            .query_by_label_contains("Move to warmth…, ready")
            .is_some()
    );
    window.click_button("Move to warmth…, ready");
    assert!(window.has(Role::Note, "Caution: Lights near water"));
    window.click_button("Move C-01 and 1 more to warmth");
    let moved: Vec<_> = window
        .project()
        .germinations()
        .iter()
        .map(|run| run.moved)
        .collect();
    assert_eq!(moved, [today(), today()]);
    window.click(Role::Row, "Box C-01");
    assert!(
        window.has(Role::Button, "Show its sprouts") && !window.has(Role::Button, "End this box…")
    );
}

#[test]
fn a_box_not_ready_offers_no_move_of_all_but_can_be_moved_by_itself() {
    let mut window = Window::on(&started("2026-01-10").0, SCREEN);
    assert!(
        window
            .harness
            .query_by_label_contains("ready for warmth")
            .is_none()
    );
    window.click(Role::Row, "Box C-02");
    window.click(Role::Button, "Move this box to warmth…");
    assert!(window.has(
        Role::Label,
        "1 day of chilling is still due; germination may be poor."
    ));
    window.click_button("Move C-02 to warmth");
    assert_eq!(window.project().germinations().len(), 1);
}

#[test]
fn the_end_of_a_box_is_said_in_numbers_and_returned_seed_is_in_the_lot_again() {
    let mut window = Window::on(&started("2026-03-01").0, SCREEN);
    assert_eq!(left(&window, "L-1"), 350);
    window.click(Role::Row, "Box C-01");
    window.click(Role::Button, "End this box…");
    assert!(window.has(Role::Label, "75 seeds are discarded."));
    window.choose("The seed is", "returned to the lot");
    assert!(window.has(Role::Label, "75 seeds go back to lot L-1."));
    window.fill("Cause of the end", "no room");
    window.click_button("End box C-01");
    let end = chill_box(&window, "C-01").end.clone().unwrap();
    assert_eq!(
        (end.fate, end.cause.as_str()),
        (BoxFate::Returned, "no room")
    );
    assert_eq!(left(&window, "L-1"), 425);
    window.click(Role::Button, "Reopen the box");
    assert_eq!(left(&window, "L-1"), 350);
}

#[test]
fn ending_a_batch_says_how_many_boxes_and_seeds_go_with_it() {
    let mut window = Window::on(&started("2026-03-01").0, SCREEN);
    window.click(Role::Button, "End the batch…");
    assert!(window.has(
        Role::Label,
        "2 boxes are still in the cold. 150 seeds are discarded."
    ));
    window.click_button("End Chill");
    assert_eq!(batch(&window).ended, Some(today()));
    assert_eq!(
        chill_box(&window, "C-02").end.as_ref().map(|end| end.fate),
        Some(BoxFate::Discarded)
    );
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert_eq!(batch(&window).ended, None);
    assert_eq!(chill_box(&window, "C-02").end, None);
}

#[test]
fn the_regimen_of_a_batch_is_its_own() {
    let mut window = Window::on(&started("2026-03-01").0, SCREEN);
    window.enter("Chill length", "70");
    assert_eq!(batch(&window).regimen.chill, Span::Days(70));
    let protocol = window.project().settings().protocol.unwrap();
    let protocol = window.project().protocols().get(protocol).unwrap();
    assert_eq!(protocol.regimen.chill, Span::Days(60), "the protocol stays");
    window.enter("Place of the batch", "cellar fridge");
    assert_eq!(batch(&window).place, "cellar fridge");
}

#[test]
fn boxes_are_found_and_labelled() {
    let mut window = Window::on(&started("2026-03-01").0, SCREEN);
    window.focus(Role::TextInput, "Find a box");
    window.write("c-02");
    assert!(!window.has(Role::Row, "Box C-01") && window.has(Role::Row, "Box C-02"));
    window.click(Role::Row, "Box C-02");
    window.click(Role::Button, "Label");
    assert!(
        !window.has(Role::Button, "Plan a batch…"),
        "the labels screen is shown"
    );
}

#[test]
fn the_round_of_an_earlier_day_asks_for_what_was_not_checked_by_then() {
    let (mut project, mut ids) = started("2026-03-01");
    let boxes: Vec<_> = project.chill_boxes().iter().map(|each| each.id).collect();
    let checked = actions::check_boxes(&boxes, today(), &mut ids);
    project.apply(checked).unwrap();
    let mut window = Window::on(&project, Key::Num1);
    let mark = "Mark box C-01 as checked";
    assert!(!window.has(Role::Button, "Checked, nothing found: box C-01"));
    window.work_for("2026-03-05");
    assert!(window.has(Role::Button, "Checked, nothing found: box C-01"));
    assert!(window.has(Role::CheckBox, mark), "it was not seen by then");
    window.press(Key::A);
    let on: Vec<_> = window
        .project()
        .checks()
        .iter()
        .filter(|check| check.date == day("2026-03-05"))
        .collect();
    assert_eq!(on.len(), 2, "{}", window.notice());
    assert!(window.has(Role::Button, "Undo the check of box C-01"));
}
