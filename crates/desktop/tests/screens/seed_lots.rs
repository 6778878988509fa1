//! The seed lots screen, driven by name: entering lots, editing them, the ledger, the way to the boxes.

use crate::window::{Window, begun, day, founder, today};
use domain::ledger::balance;
use domain::{
    AnyId, Cross, CrossEventKind, Edit, IdSource, LotSource, MovementKind, Pollen, Project,
    SeedAmount, SeedLot, Sex, actions,
};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable as _;

const SCREEN: Key = Key::Num4;

/// A project with one cross, pollinated and picked last summer.
fn harvested() -> (Project, IdSource) {
    let (mut project, mut ids) = begun();
    let female = founder(&mut project, &mut ids, "F-01", Some(Sex::Female));
    let male = founder(&mut project, &mut ids, "M-01", Some(Sex::Male));
    let cross = Cross {
        id: ids.next(),
        code: "25-01".into(),
        female,
        pollen: Pollen::Male(male),
        season: 2025,
        planned_pollination: None,
        seeds_wanted: None,
        purpose: String::new(),
        advised: None,
    };
    let id = cross.id;
    let steps = [
        actions::plan_cross(cross, day("2025-03-01"), &mut ids),
        actions::cross_event(id, day("2025-07-05"), CrossEventKind::Pollinated, &mut ids),
        actions::cross_event(
            id,
            day("2025-09-01"),
            CrossEventKind::ConesHarvested { cones: None },
            &mut ids,
        ),
    ];
    for step in steps {
        project.apply(step).expect("the fixture keeps the rules");
    }
    (project, ids)
}

/// The same, with a lot of 240 seeds of the cross and a bought one of which none is left.
fn with_lots() -> (Project, IdSource) {
    let (mut project, mut ids) = harvested();
    let cross = project
        .crosses()
        .iter()
        .next()
        .expect("the fixture has it")
        .id;
    let clean = actions::clean_seed(
        &project,
        cross,
        day("2025-10-01"),
        SeedAmount::Counted(240),
        &mut ids,
    );
    project.apply(clean).expect("the fixture keeps the rules");
    let bought = SeedLot {
        id: ids.next(),
        code: "Seed 25-01".into(),
        source: LotSource::Bought {
            from: "Alder nursery".into(),
            described_as: String::new(),
        },
        harvested: None,
        cleaned: None,
        amount: None,
        place: "drawer 2".into(),
        conditions: String::new(),
    };
    project
        .apply(Edit::add(bought))
        .expect("the fixture keeps the rules");
    (project, ids)
}

fn lot<'a>(window: &'a Window, code: &str) -> &'a SeedLot {
    let project = window.project();
    let id = project.find_code(code).find_map(AnyId::typed);
    project
        .seed_lots()
        .get(id.expect("the lot is there"))
        .expect("the fixture has it")
}

#[test]
fn an_empty_screen_teaches_and_seed_of_a_cross_is_entered_by_keyboard_alone() {
    let mut window = Window::on(&harvested().0, SCREEN);
    window.focus(Role::Button, "Enter a seed lot");
    window.press(Key::Enter);
    window.focus(Role::TextInput, "Cross of the seed");
    window.write("25");
    window.press(Key::Enter);
    window.fill("Seeds counted", "240");
    window.fill("Place of the new lot", "fridge door");
    window.click_button("Add lot 25-01-S01");
    let lot = lot(&window, "25-01-S01");
    assert_eq!(lot.harvested, Some(day("2025-09-01")), "as its cross was");
    assert_eq!(lot.cleaned, Some(today()));
    assert_eq!(lot.amount, Some(SeedAmount::Counted(240)));
    assert_eq!(lot.place, "fridge door");
    assert!(window.has(Role::Row, "25-01-S01, selected"));
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert!(window.project().seed_lots().is_empty());
}

#[test]
fn bought_seed_is_entered_by_mouse_and_its_number_reckoned_from_weights() {
    let mut window = Window::on(&with_lots().0, SCREEN);
    window.click(Role::Button, "New lot…");
    window.choose("Comes from", "bought or given");
    assert!(window.has(Role::Note, "Caution: Imported or protected plants"));
    window.fill("Bought from", "Alder nursery");
    window.choose("How the seed was counted", "by weight");
    window.fill("Weight of the seed", "12.6");
    window.fill("A thousand seeds", "3.1");
    // 12.6 ÷ 3.1 × 1000 = 4064.5: arithmetic, rounded down to whole seeds.
    window.click(
        Role::Button,
        "Estimated seeds: ≈ 4064. How it is worked out",
    );
    assert!(window.has(Role::Label, "12.6 g ÷ 3.1 g × 1000 = 4064"));
    window.press(Key::Escape);
    window.click_button("Add lot Seed");
    let lot = lot(&window, "Seed 26-01");
    assert_eq!(lot.amount.map(SeedAmount::seeds), Some(4064));
    assert_eq!(
        lot.source,
        LotSource::Bought {
            from: "Alder nursery".into(),
            described_as: String::new()
        }
    );
}

#[test]
fn draws_and_returns_go_through_the_ledger_and_too_much_is_refused() {
    let mut window = Window::on(&with_lots().0, SCREEN);
    window.click(Role::Row, "25-01-S01");
    assert!(window.has(Role::Label, "240 left"));
    window.click(Role::Button, "Take seed out…");
    window.fill("Seeds moved", "300");
    assert!(
        window.has(Role::Label, "The lot holds 240: 60 too many."),
        "told before it is tried"
    );
    window.click_button("Record 300 seeds");
    assert!(window.project().movements().is_empty(), "it can't be tried");
    window.fill("Seeds moved", "40");
    window.fill("Reason of the movement", "given to a school");
    window.click_button("Record 40 seeds taken out");
    window.click(Role::Button, "Bring seed back…");
    window.fill("Seeds moved", "10");
    window.click_button("Record 10 seeds brought back");
    let id = lot(&window, "25-01-S01").id;
    assert_eq!(balance(window.project(), id), 210);
    let movements: Vec<_> = window
        .project()
        .movements()
        .iter()
        .map(|each| (each.direction, each.seeds, each.reason.as_str(), each.date))
        .collect();
    assert_eq!(
        movements,
        [
            (MovementKind::Draw, 40, "given to a school", today()),
            (MovementKind::Return, 10, "", today())
        ]
    );
    window.click(Role::Button, "Remove: taken: given to a school 40");
    assert_eq!(balance(window.project(), id), 250);
}

#[test]
fn fields_are_edited_in_place_and_a_count_below_what_was_taken_is_refused() {
    let (mut project, mut ids) = with_lots();
    let id = project.seed_lots().iter().next().unwrap().id;
    let draw = domain::Movement {
        id: ids.next(),
        lot: id,
        date: day("2026-01-05"),
        direction: MovementKind::Draw,
        seeds: 100,
        reason: String::new(),
    };
    project.apply(Edit::add(draw)).unwrap();
    let mut window = Window::on(&project, SCREEN);
    window.click(Role::Row, "25-01-S01");
    window.enter("Place of the lot", "shed");
    window.enter("Conditions of the lot", "dry, sealed, 4 °C");
    window.click(Role::Button, "Change the amount…");
    window.fill("Seeds counted", "60");
    window.click_button("Record 60 seeds");
    assert!(
        window.notice().contains("holds 60 seeds"),
        "{}",
        window.notice()
    );
    assert_eq!(
        lot(&window, "25-01-S01").amount,
        Some(SeedAmount::Counted(240))
    );
    window.fill("Seeds counted", "260");
    window.click_button("Record 260 seeds");
    window.click(Role::Button, "Change the origin…");
    window.choose("Comes from", "open-pollinated");
    assert!(
        matches!(lot(&window, "25-01-S01").source, LotSource::Cross(_)),
        "nothing changes until the plant is chosen"
    );
    window.focus(Role::TextInput, "Female parent");
    window.write("F-01");
    window.press(Key::Enter);
    window.click_button("Record the origin of");
    window.enter("Code of the lot", "OP one");
    let changed = lot(&window, "OP one");
    assert_eq!(changed.amount, Some(SeedAmount::Counted(260)));
    assert_eq!(changed.place, "shed");
    assert_eq!(changed.conditions, "dry, sealed, 4 °C");
    assert_eq!(
        changed.source,
        LotSource::OpenPollinated(window.plant("F-01").id)
    );
}

#[test]
fn lots_are_found_and_those_without_seed_left_out() {
    let mut window = Window::on(&with_lots().0, SCREEN);
    assert!(window.has(Role::Row, "25-01-S01") && window.has(Role::Row, "Seed 25-01"));
    window.click(Role::RadioButton, "With seed left");
    assert!(window.has(Role::Row, "25-01-S01") && !window.has(Role::Row, "Seed 25-01"));
    window.click(Role::RadioButton, "All");
    window.focus(Role::TextInput, "Find a lot");
    window.write("alder");
    assert!(!window.has(Role::Row, "25-01-S01") && window.has(Role::Row, "Seed 25-01"));
    window.retype("nowhere");
    assert!(
        window
            .harness
            .query_by_label_contains("No lot fits")
            .is_some()
    );
}

#[test]
fn laying_seed_leads_to_the_boxes_by_way_of_a_batch() {
    let mut window = Window::on(&with_lots().0, SCREEN);
    window.click(Role::Row, "25-01-S01");
    window.click_button("Lay seed in boxes…");
    window.click(Role::Button, "Plan a batch first…");
    window.click_button("Plan a batch to start");
    window.click_button("Lay 240 seeds");
    let id = lot(&window, "25-01-S01").id;
    let laid: Vec<u32> = window
        .project()
        .boxes_from(id)
        .map(|each| each.seeds)
        .collect();
    assert_eq!(laid, [80, 80, 80]);
    assert_eq!(balance(window.project(), id), 0);
}
