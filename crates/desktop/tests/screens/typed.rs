//! What a hand types or taps reaches the right record, or waits where it was typed.

use crate::chill::{started, with_lots};
use crate::crosses::with_cross;
use crate::plants::yard;
use crate::window::{Window, begun};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use store::Store;

const SETUP: Key = Key::Num0;
const PLACE: &str = "Place of the program";

/// What stands in a field.
fn value(window: &Window, name: &str) -> Option<String> {
    let field = window
        .harness
        .query_by_role_and_label(Role::TextInput, name)?;
    field.accesskit_node().value()
}

/// A word typed in the place of the program, the keyboard still in it.
fn place_typed() -> Window {
    let mut window = Window::on(&begun().0, SETUP);
    window.focus(Role::TextInput, PLACE);
    window.write("Tarn farm");
    window
}

#[test]
fn typed_words_are_recorded_before_another_screen_by_keys_and_by_tap() {
    let mut window = place_typed();
    window.press_with(Modifiers::COMMAND, Key::Num2);
    assert_eq!(window.project().settings().place, "Tarn farm");
    let mut window = place_typed();
    window.click(Role::Tab, "Plants");
    assert_eq!(window.project().settings().place, "Tarn farm");
}

#[test]
fn typed_words_are_recorded_before_the_project_is_saved() {
    let mut window = place_typed();
    window.press_with(Modifiers::COMMAND, Key::S);
    window.until_saved();
    let saved = Store::new("test").open_read_only(&window.path()).unwrap();
    assert_eq!(saved.project.settings().place, "Tarn farm");
}

#[test]
fn typed_words_are_recorded_before_the_project_is_closed() {
    let mut window = place_typed();
    let path = window.path();
    window.press_with(Modifiers::COMMAND, Key::W);
    assert!(window.harness.state().project().is_none());
    let opened = Store::new("test").open(&path).unwrap();
    assert_eq!(opened.project.settings().place, "Tarn farm");
}

/// A figure that can't be read, typed in the regimen of a batch.
fn figure_mistyped() -> Window {
    let mut window = Window::on(&started("2026-03-01").0, Key::Num5);
    window.focus(Role::TextInput, "Chill length");
    window.retype("7o");
    window
}

#[test]
fn what_cannot_be_recorded_waits_on_its_screen_and_is_named_and_not_called_saved() {
    let mut window = figure_mistyped();
    window.press_with(Modifiers::COMMAND, Key::Num2);
    let open = window.harness.state().project().unwrap();
    assert_eq!(open.not_recorded().len(), 1);
    assert!(
        window.notice().contains("Chill length"),
        "{}",
        window.notice()
    );
    window.save();
    let open = window.harness.state().project().unwrap();
    assert_eq!(open.save_state().word, "1 draft not recorded");
    window.press_with(Modifiers::COMMAND, Key::Num5);
    assert_eq!(value(&window, "Chill length").as_deref(), Some("7o"));
    window.enter("Chill length", "70");
    assert!(
        window
            .harness
            .state()
            .project()
            .unwrap()
            .not_recorded()
            .is_empty()
    );
}

#[test]
fn what_waits_outlives_closing_and_a_kill() {
    let mut window = figure_mistyped();
    window.press(Key::Tab);
    let beside = window.path().with_file_name("yard.binewright-drafts");
    // No closing: a kill now would find it on the disk.
    window.until(|_| std::fs::read_to_string(&beside).is_ok_and(|text| text.contains("7o")));
    let path = window.path();
    window.press_with(Modifiers::COMMAND, Key::W);
    assert!(window.harness.state().project().is_none());
    let again = Window::another(&path);
    let waiting = again.harness.state().project().unwrap().not_recorded();
    assert_eq!(waiting.len(), 1);
    assert_eq!(waiting[0].text, "7o");
    assert!(
        again.notice().contains("Chill length"),
        "{}",
        again.notice()
    );
}

#[test]
fn a_refused_form_keeps_what_was_typed_over_another_screen_until_it_is_mended() {
    let mut window = Window::on(&started("2026-03-01").0, Key::Num5);
    window.click(Role::Row, "Box C-01");
    window.click(Role::Button, "Add a check…");
    window.fill("Day of the check", "20 feb");
    window.fill("Mouldy seeds removed", "3");
    window.click_button("Record the check of C-01");
    assert!(window.project().checks().is_empty());
    window.press_with(Modifiers::COMMAND, Key::Num2);
    window.press_with(Modifiers::COMMAND, Key::Num5);
    assert_eq!(value(&window, "Mouldy seeds removed").as_deref(), Some("3"));
    window.focus(Role::TextInput, "Day of the check");
    window.retype("8 mar");
    window.press(Key::Enter);
    let check = window.project().checks().iter().next().unwrap();
    assert_eq!(check.mouldy_removed, 3);
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert!(window.project().checks().is_empty());
}

#[test]
fn a_form_with_a_figure_that_cannot_be_read_cannot_be_recorded() {
    let (mut project, mut ids) = with_lots();
    let protocol = project.settings().protocol.unwrap();
    let batch =
        domain::actions::plan_batch(&project, protocol, crate::window::today(), &mut ids).unwrap();
    project.apply(domain::Edit::add(batch)).unwrap();
    let mut window = Window::on(&project, Key::Num5);
    window.click_button("Add boxes…");
    window.focus(Role::TextInput, "Lot to lay");
    window.write("L-2");
    window.press(Key::Enter);
    window.focus(Role::TextInput, "Seeds to lay");
    window.retype("3O");
    window.press(Key::Enter);
    assert!(window.project().chill_boxes().is_empty());
    window.retype("30");
    window.press(Key::Enter);
    assert_eq!(window.project().chill_boxes().len(), 1, "Enter records");
}

#[test]
fn two_taps_are_one_event_and_a_second_on_the_same_day_is_asked_about() {
    let mut window = Window::on(&with_cross(), Key::Num3);
    window.click(Role::Row, "26-01");
    let events = |window: &Window| window.project().cross_events().len();
    let before = events(&window);
    let next = window.button("Bag F-01");
    let place = window
        .harness
        .get_by_role_and_label(Role::Button, &next)
        .rect();
    // The next step takes the place of the one that is done: the second tap falls on it, and is the same tap.
    for _ in 0..2 {
        window.tap(place.center());
    }
    window.settle();
    assert_eq!(events(&window), before + 1);
    window.click(Role::Button, "Other work…");
    window.choose("What happened", "Bagged");
    window.click_button("Record 'Bagged' of 26-01 a second time");
    assert_eq!(events(&window), before + 2);
}

#[test]
fn a_plant_that_is_not_shown_is_not_acted_on() {
    let mut window = Window::on(&yard().0, Key::Num6);
    window.click(Role::RadioButton, "Scoring");
    window.click(Role::Row, "25-01-002");
    assert!(window.has(Role::Button, "Cull 25-01-002…"));
    window.focus(Role::TextInput, "Find a plant");
    window.write("25-01-003");
    assert!(!window.has(Role::Button, "Cull 25-01-002…"));
}

#[test]
fn culled_plants_are_named_on_the_button_and_in_the_notice_and_stay_in_their_place() {
    let mut window = Window::on(&yard().0, Key::Num6);
    window.click(Role::RadioButton, "Scoring");
    window.click(Role::Row, "25-01-002");
    window.click(Role::Button, "Cull 25-01-002…");
    window.click_button("Cull 25-01-002, today");
    assert!(window.notice().contains("25-01-002"), "{}", window.notice());
    let places = ["25-01-001", "25-01-002, selected", "25-01-003"].map(|name| {
        let row = window.harness.get_by_role_and_label(Role::Row, name);
        row.rect().top() as i32
    });
    assert!(places.is_sorted(), "it stays where it was: {places:?}");
    window.settle();
    window.settle();
    window.click(Role::Button, "Undo: 25-01-002");
    assert!(window.plant("25-01-002").is_alive());
    // Left and come back to, the list is made anew.
    window.click(Role::Button, "Cull 25-01-002…");
    window.click_button("Cull 25-01-002, today");
    window.press_with(Modifiers::COMMAND, Key::Num2);
    window.press_with(Modifiers::COMMAND, Key::Num6);
    assert!(!window.has(Role::Row, "25-01-002"));
}

#[test]
fn the_first_score_typed_on_opening_the_page_is_recorded() {
    let (project, _) = yard();
    let mut window = Window::on(&project, Key::Num6);
    let tab = window
        .harness
        .get_by_role_and_label(Role::RadioButton, "Scoring");
    tab.click();
    // Typed in the very frame the page appears in.
    window.harness.step();
    window.write("7");
    window.write("3");
    let mut values: Vec<_> = window
        .project()
        .observations()
        .iter()
        .map(|seen| {
            let code = window.project().code_of(seen.genotype);
            (code.to_owned(), seen.number(window.project()))
        })
        .collect();
    values.sort_by(|a, b| a.0.cmp(&b.0));
    assert_eq!(
        values,
        [
            ("25-01-001".into(), Some(7.0)),
            ("25-01-002".into(), Some(3.0))
        ]
    );
    assert!(
        window
            .harness
            .query_by_label_contains("Score 7 for")
            .is_some(),
        "what the scale means is in view"
    );
}

#[test]
fn a_goal_that_is_refused_stays_where_it_was_typed_and_takes_no_other_with_it() {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.click(Role::Tab, "Season plan");
    window.focus(Role::TextInput, "Good females");
    window.retype("12oo");
    window.focus(Role::TextInput, "Hills");
    window.retype("40");
    window.press_with(Modifiers::COMMAND, Key::Num2);
    let goals = &window.project().settings().goals;
    assert_eq!(goals.space.hills, Some(40));
    let open = window.harness.state().project().unwrap();
    assert_eq!(open.not_recorded().len(), 1);
    window.click(Role::Tab, "Season plan");
    assert_eq!(value(&window, "Good females").as_deref(), Some("12oo"));
    window.enter("Good females", "12");
    assert_eq!(window.project().settings().goals.good_females, 12);
}

#[test]
fn a_name_typed_in_the_preferences_outlives_a_kill() {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.press_with(Modifiers::COMMAND, Key::Comma);
    window.focus(Role::TextInput, "Your name");
    window.write("Oda Lenn");
    let beside = window.path().with_file_name("yard.binewright-drafts");
    window.until(|_| std::fs::read_to_string(&beside).is_ok_and(|text| text.contains("Oda Lenn")));
    window.press(Key::Enter);
    window.press_with(Modifiers::COMMAND, Key::Comma);
    assert_eq!(value(&window, "Your name").as_deref(), Some("Oda Lenn"));
}

#[test]
fn a_new_project_half_filled_in_outlives_another_project_and_a_kill() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = Window::empty(folder.path());
    window.click(Role::Button, "New project…");
    window.focus(Role::TextInput, "Name");
    window.write("Kettle yard");
    let wanted = folder
        .path()
        .join("no such folder")
        .join("kettle.binewright");
    window.fill("File", &format!("{}\u{0}", wanted.display()));
    window.click(Role::Button, "Create project");
    assert!(window.harness.state().project().is_none());
    assert_eq!(value(&window, "Name").as_deref(), Some("Kettle yard"));
    window.harness.state_mut().open_sample();
    window.settle();
    window.press_with(Modifiers::COMMAND, Key::W);
    assert_eq!(value(&window, "Name").as_deref(), Some("Kettle yard"));
    let kept = folder.path().join("preferences.drafts");
    window.until(|_| std::fs::read_to_string(&kept).is_ok_and(|text| text.contains("Kettle")));
    // No closing: as after a kill.
    let mut window = Window::empty(folder.path());
    assert_eq!(value(&window, "Name").as_deref(), Some("Kettle yard"));
    let path = folder.path().join("kettle.binewright");
    window.focus(Role::TextInput, "File");
    window.retype(path.to_str().unwrap());
    window.press(Key::Enter);
    assert_eq!(window.project().settings().name, "Kettle yard");
}
