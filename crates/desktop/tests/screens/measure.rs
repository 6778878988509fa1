//! Measuring through the window, driven by name: several traits typed down and across, a block pasted, values asked
//! about, corrected and removed, and what isn't understood kept.

use crate::window::{Window, begun, day, founder};
use domain::{Direction, Edit, Id, IdSource, Project, Scale, Trait, Value};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable as _;

fn add_trait(project: &mut Project, ids: &mut IdSource, name: &str, scale: Scale) -> Id<Trait> {
    let id = ids.next();
    let one = Trait {
        id,
        name: name.into(),
        scale,
        direction: Direction::Neutral,
        method: String::new(),
    };
    project.apply(Edit::add(one)).unwrap();
    id
}

/// Six founders and a trait of each kind.
fn project() -> Project {
    let (mut project, mut ids) = begun();
    for nth in 1..=6 {
        founder(&mut project, &mut ids, &format!("K-{nth}"), None);
    }
    let percent = Scale::Measure {
        unit: "%".into(),
        at_least: Some(0.0),
        at_most: Some(100.0),
    };
    let shape = Scale::Classes {
        classes: vec!["loose".into(), "medium".into(), "dense".into()],
    };
    for (name, scale) in [
        ("Alpha acids", percent),
        ("Leaf colour", Scale::one_to_nine("weak", "strong")),
        ("Cone", shape),
        ("Burrs open", Scale::Date),
        ("Frosted", Scale::YesNo),
        ("Smell", Scale::Text),
        ("Cones on a hill", Scale::Number),
    ] {
        add_trait(&mut project, &mut ids, name, scale);
    }
    project
}

/// The page of measuring, on founders, for these traits.
fn window(traits: &[&str]) -> Window {
    let mut window = Window::on(&project(), Key::Num2);
    window.click(Role::Tab, "Measure");
    window.choose("Group of plants", "founders and checks");
    for each in traits {
        window.click(Role::CheckBox, each);
    }
    window.click(Role::Button, "Hide the settings");
    window
}

fn value(window: &Window, code: &str, name: &str) -> Option<Value> {
    let project = window.project();
    let of_trait = project.traits().iter().find(|each| each.name == name)?;
    let seen = project.latest_observation(window.plant(code).id, of_trait.id)?;
    Some(seen.value.clone())
}

fn number(window: &Window, code: &str, name: &str) -> Option<f64> {
    match value(window, code, name)? {
        Value::Number(number) => Some(number),
        other => panic!("{other} is no number"),
    }
}

fn says(window: &Window, part: &str) -> bool {
    let mut found = window.harness.query_all_by_label_contains(part);
    found.next().is_some()
}

/// A whole score goes on by itself; whoever ends each with Enter all the same must not leave every other plant out.
#[test]
fn enter_after_a_score_leaves_no_plant_out() {
    let mut window = window(&["Leaf colour (1 to 9)"]);
    window.focus(Role::TextInput, "Leaf colour of K-1");
    for text in ["7", "8"] {
        window.write(text);
        window.press(Key::Enter);
    }
    assert_eq!(number(&window, "K-1", "Leaf colour"), Some(7.0));
    assert_eq!(number(&window, "K-2", "Leaf colour"), Some(8.0));
    window.press(Key::Enter);
    assert!(
        in_hand(&window, "Leaf colour of K-4"),
        "a second one goes on"
    );
}

/// The hand is on this cell: its text box has this name.
fn in_hand(window: &Window, name: &str) -> bool {
    window.has(Role::TextInput, name)
}

#[test]
fn values_are_typed_down_a_column_with_their_circumstances() {
    let mut window = window(&["Alpha acids (%)"]);
    window.click(Role::Button, "Set up the round");
    window.enter("Observer", "Ada");
    window.enter("Site", "Tarn yard");
    window.enter("Method", "HPLC");
    window.click(Role::Button, "Hide the settings");
    assert!(says(&window, "by Ada, Tarn yard, HPLC"));
    window.focus(Role::TextInput, "Alpha acids of K-1");
    for text in ["8.2", "7,9 %", ""] {
        window.write(text);
        window.press(Key::Enter);
    }
    assert!(in_hand(&window, "Alpha acids of K-4"));
    assert_eq!(number(&window, "K-1", "Alpha acids"), Some(8.2));
    assert_eq!(number(&window, "K-2", "Alpha acids"), Some(7.9));
    assert_eq!(number(&window, "K-3", "Alpha acids"), None);
    let first = window
        .project()
        .observations_of(window.plant("K-1").id)
        .next()
        .unwrap();
    let told = (&*first.by, &*first.site, &*first.method, first.date);
    assert_eq!(told, ("Ada", "Tarn yard", "HPLC", day("2026-03-10")));
}

#[test]
fn each_kind_of_trait_is_entered_in_its_own_way() {
    let all = [
        "Leaf colour (1 to 9)",
        "Cone (loose < medium < dense)",
        "Burrs open (date)",
        "Frosted (yes or no)",
        "Smell (text)",
        "Cones on a hill (number)",
    ];
    let mut window = window(&all);
    window.focus(Role::TextInput, "Leaf colour of K-1");
    window.write("7");
    assert!(
        in_hand(&window, "Leaf colour of K-2"),
        "one digit is a whole score"
    );
    window.press(Key::ArrowUp);
    for text in ["", "den", "1 mar", "y", "of pine", "120"] {
        if !text.is_empty() {
            window.write(text);
        }
        window.press(Key::Tab);
    }
    window.press(Key::Tab);
    assert!(
        in_hand(&window, "Leaf colour of K-2"),
        "Tab goes on to the next plant"
    );
    let words = |name: &str| value(&window, "K-1", name).unwrap().to_string();
    assert_eq!(words("Leaf colour"), "7");
    assert_eq!(words("Cone"), "dense");
    assert_eq!(words("Burrs open"), "2026-03-01");
    assert_eq!(words("Frosted"), "yes");
    assert_eq!(words("Smell"), "of pine");
    assert_eq!(words("Cones on a hill"), "120");
    // And by tapping.
    window.click(Role::Button, "Leaf colour: 9 strong for K-2");
    assert_eq!(number(&window, "K-2", "Leaf colour"), Some(9.0));
    assert!(in_hand(&window, "Leaf colour of K-3"));
}

#[test]
fn what_cant_be_read_stays_beside_the_grid_until_it_is_mended() {
    let mut window = window(&["Alpha acids (%)"]);
    window.focus(Role::TextInput, "Alpha acids of K-1");
    window.write("120");
    window.press(Key::Enter);
    assert_eq!(window.project().observations().len(), 0);
    assert!(says(&window, "can't be above 100 %"));
    // Left and come back to, it is still there.
    window.press_with(Modifiers::COMMAND, Key::Num2);
    window.click(Role::Tab, "Measure");
    assert!(says(&window, "Not recorded: 1"));
    window.click(Role::Button, "Go to Alpha acids of K-1");
    window.retype("12");
    window.press(Key::Enter);
    assert_eq!(number(&window, "K-1", "Alpha acids"), Some(12.0));
    assert!(!says(&window, "Not recorded: 1"));
}

#[test]
fn a_block_is_one_undoable_edit_and_its_unread_cells_are_kept() {
    let mut window = window(&["Alpha acids (%)", "Leaf colour (1 to 9)"]);
    window.focus(Role::TextInput, "Alpha acids of K-1");
    let block = "Plant\tLeaf colour\tAlpha acids (%)\nK-3\t5\t9,1\nK-1\toops\t8.8\nK-2\t6\t\n";
    window.harness.event(egui::Event::Paste(block.into()));
    window.settle();
    assert_eq!(window.project().observations().len(), 4);
    assert_eq!(number(&window, "K-3", "Alpha acids"), Some(9.1));
    assert_eq!(number(&window, "K-2", "Leaf colour"), Some(6.0));
    assert!(says(&window, "Leaf colour of K-1: 'oops'"));
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert_eq!(window.project().observations().len(), 0);
    assert!(says(&window, "Leaf colour of K-1: 'oops'"));
}

#[test]
fn ten_times_the_usual_is_asked_about_and_recorded() {
    let mut window = window(&["Alpha acids (%)"]);
    window.focus(Role::TextInput, "Alpha acids of K-1");
    window
        .harness
        .event(egui::Event::Paste("7.1\n7.4\n7.9\n8.2\n8.8\n90".into()));
    window.settle();
    assert_eq!(number(&window, "K-6", "Alpha acids"), Some(90.0));
    assert!(says(
        &window,
        "K-6: Alpha acids 90 is ten times the usual 7.90"
    ));
    window.click(Role::Button, "Go to Alpha acids of K-6");
    window.retype("9.0");
    window.press(Key::Enter);
    assert_eq!(number(&window, "K-6", "Alpha acids"), Some(9.0));
    assert!(!says(&window, "is ten times the usual"));
}

#[test]
fn a_value_of_the_day_is_shown_corrected_and_removed_and_a_remark_goes_with_it() {
    let mut window = window(&["Alpha acids (%)"]);
    window.focus(Role::TextInput, "Alpha acids of K-1");
    window.write("8");
    window.press(Key::Tab);
    window.write("hail");
    window.press(Key::Enter);
    let seen = |window: &Window| {
        let all = window.project().observations().iter();
        all.map(|each| (each.value.clone(), each.remark.clone()))
            .collect::<Vec<_>>()
    };
    assert_eq!(seen(&window), [(8.0.into(), "hail".to_owned())]);
    assert!(window.has(Role::Cell, "Alpha acids of K-1: 8"));
    window.click(Role::Cell, "Alpha acids of K-1: 8");
    window.retype("8.5");
    window.press(Key::Enter);
    assert_eq!(seen(&window), [(8.5.into(), "hail".to_owned())]);
    window.press(Key::ArrowUp);
    window.press(Key::Delete);
    window.press(Key::Enter);
    assert_eq!(seen(&window), []);
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert_eq!(seen(&window), [(8.5.into(), "hail".to_owned())]);
}

#[test]
fn a_plant_is_added_by_its_code_and_the_round_is_there_again() {
    let mut window = Window::on(&project(), Key::Num2);
    window.click(Role::Tab, "Measure");
    window.click(Role::CheckBox, "Alpha acids (%)");
    window.enter("Add a plant by its code", "K-5");
    assert!(in_hand(&window, "Alpha acids of K-5"));
    assert!(!window.has(Role::Cell, "Alpha acids of K-1: "));
    window.press_with(Modifiers::COMMAND, Key::Num2);
    window.click(Role::Tab, "Measure");
    assert!(in_hand(&window, "Alpha acids of K-5"));
}

/// What a scanner types: signs without a pause, and Enter.
fn scan(window: &mut Window, code: &str) {
    let pressed = |key| egui::Event::Key {
        key,
        physical_key: None,
        pressed: true,
        repeat: false,
        modifiers: Modifiers::NONE,
    };
    let events = &mut window.harness.input_mut().events;
    for sign in code.chars() {
        let key = Key::from_name(&sign.to_uppercase().to_string());
        events.extend(key.map(pressed));
        events.push(egui::Event::Text(sign.to_string()));
    }
    events.push(pressed(Key::Enter));
    window.harness.step();
    window.settle();
}

#[test]
fn a_scanned_label_opens_its_record_on_any_screen_and_its_row_here() {
    let mut window = Window::on(&project(), Key::Num0);
    scan(&mut window, "K-4");
    assert!(window.has(Role::Button, "Take a sample…"));
    let before = window.project().clone();
    scan(&mut window, "K-9999");
    assert!(window.notice().contains("No record has the code K-9999"));
    assert_eq!(
        window.project(),
        &before,
        "its letters and figures did nothing"
    );
    window.click(Role::Tab, "Measure");
    window.choose("Group of plants", "founders and checks");
    window.click(Role::CheckBox, "Leaf colour (1 to 9)");
    window.click(Role::Button, "Hide the settings");
    assert!(in_hand(&window, "Leaf colour of K-1"));
    scan(&mut window, "K-5");
    assert!(in_hand(&window, "Leaf colour of K-5"));
    assert_eq!(window.project(), &before);
    window.write("6");
    window.settle();
    assert_eq!(number(&window, "K-5", "Leaf colour"), Some(6.0));
}

#[test]
fn a_sample_is_taken_and_a_disease_test_is_scored_twice_and_summed_up() {
    let mut window = Window::on(&project(), Key::Num0);
    scan(&mut window, "K-2");
    window.click(Role::Button, "Take a sample…");
    window.click_button("Take sample S26-01");
    let sample = window.project().samples().iter().next().unwrap();
    assert_eq!((&*sample.code, sample.taken), ("S26-01", day("2026-03-10")));
    window.click(Role::Button, "Label sample S26-01");
    assert!(says(&window, "Chosen: 1"));
    window.click(Role::Tab, "Measure");
    window.click(Role::Button, "Begin a disease test…");
    window.enter("Name of the test", "mildew");
    assert_eq!(window.project().disease_tests().len(), 1);
    window.choose("Disease test", "mildew");
    window.choose("Group of plants", "founders and checks");
    window.click(Role::CheckBox, "Vigour (1 to 9)");
    window.click(Role::Button, "Hide the settings");
    window.focus(Role::TextInput, "Vigour of K-1");
    window.write("3");
    window.settle();
    window.work_for("2026-03-17");
    window.press(Key::ArrowUp);
    window.write("5");
    window.settle();
    window.press(Key::ArrowUp);
    let seen = window.project().observations().iter();
    let told: Vec<_> = seen
        .map(|each| (each.date, each.value.to_string(), each.test.is_some()))
        .collect();
    let both = [("2026-03-10", "3"), ("2026-03-17", "5")];
    assert_eq!(
        told,
        both.map(|(on, value)| (day(on), value.to_owned(), true))
    );
    // Seven days between scores of 3 and 5, by the trapezoidal rule (Shaner and Finney 1977, Phytopathology 67: 1051): 28.
    assert!(says(&window, "AUDPC 28.0, from 2 days"));
}

/// Once the round is folded the keyboard is in the grid: what is typed next is a value.
#[test]
fn who_folds_the_round_types_the_first_value_at_once() {
    let mut window = window(&["Leaf colour (1 to 9)"]);
    window.settle();
    window.write("7");
    window.press(Key::Enter);
    window.until(|window| number(window, "K-1", "Leaf colour") == Some(7.0));
}
