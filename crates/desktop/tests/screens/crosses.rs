//! The crosses screen, driven by name: planning, what happened day by day, seed.

use crate::window::{Window, begun, day, founder, today};
use domain::progress::CrossProgress;
use domain::{Cross, CrossEventKind, Pollen, SeedAmount, Sex, actions};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable as _;

fn yard() -> (domain::Project, domain::IdSource) {
    let (mut project, mut ids) = begun();
    founder(&mut project, &mut ids, "F-01", Some(Sex::Female));
    founder(&mut project, &mut ids, "F-02", Some(Sex::Female));
    founder(&mut project, &mut ids, "M-01", Some(Sex::Male));
    founder(&mut project, &mut ids, "M-02", Some(Sex::Male));
    founder(&mut project, &mut ids, "X-01", None);
    (project, ids)
}

pub(crate) fn with_cross() -> domain::Project {
    let (mut project, mut ids) = yard();
    let find = |code: &str| {
        project
            .find_code(code)
            .find_map(domain::AnyId::typed)
            .unwrap()
    };
    let cross = Cross {
        id: ids.next(),
        code: "26-01".into(),
        female: find("F-01"),
        pollen: Pollen::Male(find("M-01")),
        season: 2026,
        planned_pollination: Some(day("2026-07-05")),
        seeds_wanted: Some(200),
        purpose: String::new(),
        advised: None,
    };
    let plan = actions::plan_cross(cross, today(), &mut ids);
    project.apply(plan).unwrap();
    project
}

fn only_cross(window: &Window) -> &Cross {
    window
        .project()
        .crosses()
        .iter()
        .next()
        .expect("there is a cross")
}

#[test]
fn an_empty_screen_teaches_and_a_cross_is_planned_by_keyboard_alone() {
    let mut window = Window::on(&yard().0, Key::Num3);
    window.focus(Role::Button, "Plan the first cross");
    window.press(Key::Enter);
    window.focus(Role::TextInput, "Female parent");
    window.write("0");
    assert!(
        window.has(Role::ListBoxOption, "F-01, female")
            && window.has(Role::ListBoxOption, "X-01, sex unknown")
    );
    assert!(
        !window.has(Role::ListBoxOption, "M-01, male"),
        "a known male bears no seed"
    );
    window.press(Key::ArrowDown);
    window.press(Key::Enter);
    window.focus(Role::TextInput, "Male parent");
    window.write("m-0");
    assert!(
        !window.has(Role::ListBoxOption, "F-01, female"),
        "a known female has no pollen"
    );
    window.press(Key::ArrowDown);
    window.press(Key::Enter);
    window.fill("Planned pollination", "2026-07-05");
    window.fill("Seeds wanted", "250");
    window.click_button("Plan cross 26-01");
    let cross = only_cross(&window);
    assert_eq!(
        (cross.code.as_str(), cross.season, cross.seeds_wanted),
        ("26-01", 2026, Some(250))
    );
    assert_eq!(cross.female, window.plant("F-02").id);
    assert_eq!(cross.pollen, Pollen::Male(window.plant("M-02").id));
    assert_eq!(cross.planned_pollination, Some(day("2026-07-05")));
    assert!(window.has(Role::Row, "26-01, selected"));
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert!(
        window.project().crosses().is_empty(),
        "one step takes back the cross and its planning"
    );
}

#[test]
fn candidates_can_be_clicked_and_a_code_in_use_is_refused() {
    let mut window = Window::on(&with_cross(), Key::Num3);
    window.click(Role::Button, "Plan a cross");
    window.click(Role::TextInput, "Female parent");
    window.click(Role::ListBoxOption, "X-01, sex unknown");
    window.click(Role::RadioButton, "Open");
    assert!(
        window.has(Role::Label, "⚠ The sex of X-01 isn't recorded."),
        "told before it is planned"
    );
    window.focus(Role::TextInput, "Code of the cross");
    window.retype("26-01");
    window.click_button("Plan cross 26-");
    assert!(
        window.notice().contains("already the code of a cross"),
        "{}",
        window.notice()
    );
    window.focus(Role::TextInput, "Code of the cross");
    window.retype("26-07");
    window.click_button("Plan cross 26-");
    assert_eq!(window.project().crosses().len(), 2);
}

#[test]
fn a_mix_shares_its_pollen_equally() {
    let mut window = Window::on(&with_cross(), Key::Num3);
    window.click(Role::Row, "26-01");
    window.click(Role::Button, "Change the pollen…");
    window.click(Role::RadioButton, "Mix");
    for male in ["m-01", "m-02", "x-01"] {
        window.focus(Role::TextInput, "Add a male");
        window.write(male);
        window.press(Key::Enter);
    }
    window.click(Role::Button, "Share equally");
    window.click_button("Record M-01");
    let Pollen::Mix(shares) = &only_cross(&window).pollen else {
        panic!("{:?}", only_cross(&window).pollen)
    };
    assert_eq!(shares.len(), 3);
    assert!(shares.iter().all(|part| part.share == Some(1.0 / 3.0)));
}

#[test]
fn a_season_is_recorded_event_by_event_down_to_the_seed_lot() {
    let mut window = Window::on(&with_cross(), Key::Num3);
    window.click(Role::Row, "26-01");
    window.work_for("2026-06-24");
    window.click(Role::Button, "Other work…");
    assert!(window.has(Role::Note, "Caution: Ladders"));
    assert!(window.has(Role::Note, "Caution: Hop bines and lupulin"));
    window.fill("Bags", "3");
    window.click_button("Record 'Bagged' of 26-01");
    window.work_for("2026-07-06");
    window.click_button("Pollinate 26-01");
    window.work_for("2026-07-01");
    window.click(Role::Button, "Other work…");
    window.choose("What happened", "Cones harvested");
    window.click_button("Record 'Cones harvested' of 26-01");
    assert!(
        window.notice().contains("can't be harvested"),
        "{}",
        window.notice()
    );
    window.fill("Date of the work", "30 aug 2026");
    window.fill("Cones", "40");
    window.click_button("Record 'Cones harvested' of 26-01");
    let cross = only_cross(&window);
    let events: Vec<_> = window
        .project()
        .events_of(cross.id)
        .map(|event| (event.date, event.what.clone()))
        .collect();
    assert_eq!(
        events[1..],
        [
            (
                day("2026-06-24"),
                CrossEventKind::FemaleBagged { bags: Some(3) }
            ),
            (day("2026-07-06"), CrossEventKind::Pollinated),
            (
                day("2026-08-30"),
                CrossEventKind::ConesHarvested { cones: Some(40) }
            ),
        ]
    );
    window.click(Role::Button, "Clean seed…");
    assert!(window.has(Role::Label, "Give the number of seeds."));
    window.click(Role::RadioButton, "Weighed");
    window.fill("Weight of the seed", "0.62");
    window.fill("Thousand-seed weight", "3.1");
    window.fill("Cleaned on", "2026-09-10");
    window.click_button("Make a lot of 200 seeds");
    let lot = window
        .project()
        .lots_of(only_cross(&window).id)
        .next()
        .expect("a lot");
    assert_eq!(
        (lot.code.as_str(), lot.harvested),
        ("26-01-S01", Some(day("2026-08-30")))
    );
    assert_eq!(lot.amount.map(SeedAmount::seeds), Some(200));
    assert_eq!(
        CrossProgress::of(window.project(), only_cross(&window)),
        CrossProgress::SeedInLot
    );
    assert!(window.has(Role::Button, "Clean seed…"), "the form is done");
}

#[test]
fn an_event_is_corrected_and_removed() {
    let mut window = Window::on(&with_cross(), Key::Num3);
    window.click(Role::Row, "26-01");
    window.click(Role::Button, "Correct event 1");
    window.enter("Day of event 1", "2026-03-01");
    window.enter("Remark on event 1", "at the winter meeting");
    let cross = only_cross(&window).id;
    let event = window
        .project()
        .events_of(cross)
        .next()
        .expect("it was planned");
    assert_eq!(
        (event.date, event.remark.as_str()),
        (day("2026-03-01"), "at the winter meeting")
    );
    window.click(Role::Button, "Remove event 1");
    assert_eq!(window.project().events_of(cross).count(), 0);
}

#[test]
fn the_female_of_a_cross_is_changed_in_place() {
    let mut window = Window::on(&with_cross(), Key::Num3);
    window.click(Role::Row, "26-01");
    window.focus(Role::TextInput, "Female parent");
    window.retype("f-02");
    window.press(Key::Tab);
    assert_eq!(
        only_cross(&window).female,
        window.plant("F-02").id,
        "a code typed in full is taken on leaving the field"
    );
    window.focus(Role::TextInput, "Female parent");
    window.retype("zz");
    window.press(Key::Tab);
    assert_eq!(only_cross(&window).female, window.plant("F-02").id);
    assert!(
        window
            .harness
            .query_by_label_contains("Nothing fits 'zz'")
            .is_some()
    );
}

#[test]
fn mixed_pollen_is_shown_father_by_father_before_it_is_given() {
    let (mut project, mut ids) = yard();
    let find = |project: &domain::Project, code: &str| {
        project
            .find_code(code)
            .find_map(domain::AnyId::typed)
            .unwrap()
    };
    let share = |male, share| domain::PollenShare {
        male,
        share: Some(share),
    };
    let cross = Cross {
        id: ids.next(),
        code: "26-02".into(),
        female: find(&project, "F-01"),
        pollen: Pollen::Mix(vec![
            share(find(&project, "M-01"), 0.3),
            share(find(&project, "M-02"), 0.7),
        ]),
        season: 2026,
        planned_pollination: Some(day("2026-07-05")),
        seeds_wanted: Some(200),
        purpose: String::new(),
        advised: None,
    };
    let plan = actions::plan_cross(cross, today(), &mut ids);
    project.apply(plan).unwrap();
    let mut window = Window::on(&project, Key::Num3);
    window.click(Role::Row, "26-02");
    window.until(|window| {
        window
            .harness
            .query_by_label_contains("70 %: M-02 is the father. F 0.000")
            .is_some()
    });
    assert!(
        window
            .harness
            .query_by_label_contains("over all fathers")
            .is_some()
    );
}
