//! The plants screen, driven by name: founders, fields in place, many plants at once, notes and photos.

use crate::window::{Window, begun, founder, today};
use domain::{EndKind, Genotype, Origin, Pollen, Sex, actions};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable as _;

pub(crate) fn yard() -> (domain::Project, domain::IdSource) {
    let (mut project, mut ids) = begun();
    let mother = founder(&mut project, &mut ids, "F-01", Some(Sex::Female));
    let father = founder(&mut project, &mut ids, "M-01", Some(Sex::Male));
    founder(&mut project, &mut ids, "X-01", None);
    let cross = domain::Cross {
        id: ids.next(),
        code: "25-01".into(),
        female: mother,
        pollen: Pollen::Male(father),
        season: 2025,
        planned_pollination: None,
        seeds_wanted: None,
        purpose: String::new(),
        advised: None,
    };
    let cross_id = cross.id;
    let plan = actions::plan_cross(cross, today(), &mut ids);
    project.apply(plan).unwrap();
    for number in 1..=3 {
        let seedling = Genotype::new(
            ids.next(),
            format!("25-01-00{number}"),
            Origin::Cross { cross: cross_id },
        );
        project.apply(domain::Edit::add(seedling)).unwrap();
    }
    (project, ids)
}

#[test]
fn an_empty_project_teaches_and_its_button_adds_the_first_founder() {
    let mut window = Window::on(&begun().0, Key::Num2);
    window.click(Role::Button, "Add the first founder");
    window.focus(Role::TextInput, "Source of the founder");
    window.write("the old garden");
    window.click(Role::RadioButton, "♀ female");
    window.click_button("Add founder F-01");
    let plant = window.plant("F-01");
    assert_eq!(plant.known_sex(), Some(Sex::Female));
    assert!(matches!(&plant.origin, Origin::Founder { source, .. } if source == "the old garden"));
    assert!(
        window.has(Role::Row, "F-01, selected"),
        "the new founder is shown"
    );
}

#[test]
fn a_founder_is_added_by_keyboard_alone_and_a_code_in_use_is_refused() {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.focus(Role::Button, "Add a founder");
    window.press(Key::Enter);
    window.retype("m-01");
    window.press(Key::Enter);
    assert!(
        window.notice().contains("already the code of a plant"),
        "{}",
        window.notice()
    );
    let before = window.project().genotypes().len();
    window.focus(Role::TextInput, "Code of the founder");
    window.retype("M-02");
    window.press(Key::Tab);
    window.press(Key::Tab);
    window.press(Key::Tab);
    window.press(Key::Space);
    window.press(Key::Tab);
    window.press(Key::Tab);
    window.write("river bank");
    window.press(Key::Enter);
    assert_eq!(window.project().genotypes().len(), before + 1);
    assert_eq!(window.plant("M-02").known_sex(), Some(Sex::Male));
    assert!(
        matches!(&window.plant("M-02").origin, Origin::Founder { source, .. } if source == "river bank")
    );
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert_eq!(
        window.project().genotypes().len(),
        before,
        "one step takes it back"
    );
}

#[test]
fn fields_are_edited_in_place_and_a_refusal_leaves_them_as_they_were() {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.click(Role::Row, "F-01");
    window.enter("Location", "row 2 hill 7");
    assert_eq!(window.plant("F-01").location, "row 2 hill 7");
    window.enter("Potted or received", "2021-04");
    assert_eq!(
        window.plant("F-01").born,
        Some(domain::PartialDate::Month(2021, 4))
    );
    window.choose("Ploidy", "4x");
    assert_eq!(window.plant("F-01").ploidy, domain::Ploidy::TETRAPLOID);
    window.choose("Sex", "♂ male");
    assert!(
        window.notice().contains("female parent of cross 25-01"),
        "{}",
        window.notice()
    );
    assert_eq!(window.plant("F-01").known_sex(), Some(Sex::Female));
    window.click(Role::Button, "Record its end…");
    window.fill("Ended on", "2020");
    window.click_button("Record: F-01 was culled");
    assert!(
        window.notice().contains("before it was potted"),
        "{}",
        window.notice()
    );
    assert!(window.plant("F-01").is_alive());
}

#[test]
fn the_origin_of_a_plant_is_chosen_by_part_of_a_code() {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.click(Role::Row, "X-01");
    window.click(Role::Button, "Change the origin…");
    window.choose("Origin", "open-pollinated seed");
    window.focus(Role::TextInput, "Female parent");
    window.write("01");
    let males = window
        .harness
        .query_by_role_and_label(Role::ListBoxOption, "M-01, male");
    assert!(males.is_none(), "a known male is no mother");
    window.retype("f-0");
    window.press(Key::Enter);
    window.click_button("Record the origin of X-01");
    let mother = window.plant("F-01").id;
    assert_eq!(
        window.plant("X-01").origin,
        Origin::OpenPollinated { female: mother }
    );
}

#[test]
fn plants_are_found_by_the_code_of_a_parent_and_culled_together() {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.focus(Role::TextInput, "Find plants");
    window.write("m-01");
    assert!(
        window.has(Role::Row, "25-01-002")
            && window.has(Role::Row, "M-01")
            && !window.has(Role::Row, "X-01")
    );
    window.retype("25-01");
    window.focus(Role::Table, "All plants");
    window.press_with(Modifiers::COMMAND, Key::A);
    window.click(Role::Button, "Move 25-01-001 and 2 more to Seedling");
    window.click(Role::Button, "Cull 25-01-001 and 2 more…");
    window.fill("Why ended", "mildew");
    window.click_button("Cull 25-01-001 and 2 more, today");
    let culled = window.project().genotypes().iter().filter(|plant| {
        plant
            .end
            .as_ref()
            .is_some_and(|end| end.kind == EndKind::Culled && end.cause == "mildew")
    });
    assert_eq!(culled.count(), 3);
    assert!(
        window.has(Role::Row, "25-01-002, selected"),
        "what was done here stays in its place"
    );
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert!(window.plant("25-01-002").is_alive());
}

#[test]
fn males_and_protected_founders_bring_a_caution() {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.click(Role::Row, "M-01");
    assert!(window.has(Role::Note, "Caution: Male plants"));
    window.click(Role::Row, "F-01");
    assert!(!window.has(Role::Note, "Caution: Imported or protected plants"));
    window.click(Role::CheckBox, "Protected or patented");
    assert!(window.has(Role::Note, "Caution: Imported or protected plants"));
}

#[test]
fn parents_and_offspring_are_a_click_away() {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.click(Role::Row, "25-01-002");
    window.click(Role::Button, "M-01");
    assert!(window.has(Role::Row, "M-01, selected"));
    window.click(Role::Button, "25-01-003");
    assert!(window.has(Role::Row, "25-01-003, selected"));
}

#[test]
fn notes_are_dated_and_an_empty_one_is_refused() {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.click(Role::Row, "F-01");
    window.click(Role::Button, "Add a note…");
    assert!(window.has(Role::Label, "Write what is to be kept."));
    window.focus(Role::MultilineTextInput, "New note");
    window.write("Strong regrowth after the frost.");
    window.press_with(Modifiers::COMMAND, Key::Enter);
    let plant = window.plant("F-01").id;
    let notes: Vec<_> = window
        .project()
        .notes_on(plant)
        .map(|note| (note.date, note.text.clone()))
        .collect();
    assert_eq!(
        notes,
        [(today(), "Strong regrowth after the frost.".to_owned())]
    );
    window.click(Role::Button, "Remove note 1");
    assert_eq!(window.project().notes_on(plant).count(), 0);
}

#[test]
fn a_plant_with_many_offspring_keeps_its_page_as_narrow_as_any() {
    let project = sample::sample_project(today()).unwrap();
    let mother = project
        .find_code("BRW")
        .find_map(domain::AnyId::typed::<Genotype>)
        .unwrap();
    let mut window = Window::on(&project, Key::Num2);
    window.harness.state_mut().show_record(mother.into());
    for _ in 0..5 {
        window.settle();
    }
    let young: Vec<_> = project.crosses_with_female(mother).collect();
    let codes = young.iter().flat_map(|cross| project.progeny_of(cross.id));
    let mut seen = 0;
    for code in codes.map(|plant| plant.code.as_str()) {
        for button in window
            .harness
            .query_all_by_role_and_label(Role::Button, code)
        {
            let place = button.rect();
            assert!(
                place.right() < 1264.0 && place.height() < 40.0,
                "{code} at {place:?}"
            );
            seen += 1;
        }
    }
    assert!(seen > 10, "{seen} offspring listed");
}

#[test]
fn several_founders_are_noted_with_what_their_owner_allows() {
    let mut window = Window::on(&yard().0, Key::Num2);
    window.click(Role::Button, "Add several…");
    window.fill("Code of plant 1", "BRW");
    window.fill("Code of plant 2", "KET");
    assert!(!window.has(Role::TextInput, "Owner of these plants"));
    window.choose("May plant 1 be crossed", "not for breeding");
    window.fill("Owner of these plants", "Orlen Yard");
    window.fill("Document of the permission", "Letter 14/3");
    window.click_button("Record BRW and 1 more");
    let noted = &window.plant("BRW").permission;
    assert_eq!(
        noted.words(),
        "not for breeding (Letter 14/3, by Orlen Yard)"
    );
    // What was said of one is not said of the other.
    assert_eq!(
        window.plant("KET").permission,
        domain::Permission::default()
    );
}
