use std::time::{Duration, Instant};

use egui_kittest::{Harness, kittest::Queryable as _};

use super::*;
use crate::graph::{Descent, Parent, Plant, Sex};
use kit::theme::Theme;

struct Window {
    graph: FamilyGraph,
    state: TreeState,
    picked: Vec<PlantKey>,
}

fn plant(number: u128, code: &str, sex: Sex, parents: Option<(u128, u128)>) -> Plant {
    let descent = parents.map_or(Descent::Unrecorded, |(female, male)| Descent::Cross {
        female: Parent::Known(PlantKey(female)),
        male: Parent::Known(PlantKey(male)),
    });
    Plant {
        sex,
        descent,
        ..Plant::new(PlantKey(number), code)
    }
}

/// A × M → B26-014 and nine unnamed sibs; B26-014 × M → C.
fn plants() -> Vec<Plant> {
    let mut plants = vec![
        plant(1, "A", Sex::Female, None),
        plant(2, "M", Sex::Male, None),
        Plant {
            selected: true,
            ..plant(3, "B26-014", Sex::Female, Some((1, 2)))
        },
        plant(20, "C", Sex::Unknown, Some((3, 2))),
    ];
    plants.extend((1..10).map(|number| {
        plant(
            3 + number,
            &format!("B26-{:03}", 20 + number),
            Sex::Unknown,
            Some((1, 2)),
        )
    }));
    plants
}

fn harness() -> Harness<'static, Window> {
    in_window(Window {
        graph: FamilyGraph::new(plants()),
        state: TreeState::default(),
        picked: Vec::new(),
    })
}

fn in_window(window: Window) -> Harness<'static, Window> {
    let mut harness = Harness::builder()
        .with_size([1000.0, 700.0])
        .with_context_setup(|ctx| Theme::Light.apply(ctx))
        .build_ui_state(
            |ui, window: &mut Window| {
                let response = FamilyTree::new(&window.graph).show(ui, &mut window.state);
                window.picked.extend(response.picked);
            },
            window,
        );
    harness.run();
    harness
}

const B: &str = "B26-014, female, selected; parents A × M";
const TREE: &str = "Family tree: 13 plants, 5 in view";

#[test]
fn a_plant_is_found_by_its_name_and_picked_by_a_click() {
    let mut harness = harness();
    harness.get_by_label(B).click();
    harness.run();
    assert_eq!(harness.state().picked, [PlantKey(3)]);
    assert_eq!(harness.state().state.cursor(), Some(PlantKey(3)));
}

#[test]
fn a_plant_is_picked_by_a_screen_reader() {
    let mut harness = harness();
    harness.get_by_label(B).click_accesskit();
    harness.run();
    assert_eq!(harness.state().picked, [PlantKey(3)]);
}

#[test]
fn arrows_lead_to_mother_father_and_back_to_the_child_that_was_left() {
    let mut harness = harness();
    harness.get_by_label(B).click();
    harness.run();
    let mut walk = |modifiers: Modifiers, key: Key| {
        harness.key_press_modifiers(modifiers, key);
        harness.run();
        harness.state().state.cursor()
    };
    assert_eq!(walk(Modifiers::NONE, Key::ArrowUp), Some(PlantKey(1)));
    assert_eq!(walk(Modifiers::NONE, Key::ArrowDown), Some(PlantKey(3)));
    assert_eq!(walk(Modifiers::SHIFT, Key::ArrowUp), Some(PlantKey(2)));
    assert_eq!(walk(Modifiers::NONE, Key::ArrowDown), Some(PlantKey(3)));
    assert_eq!(walk(Modifiers::NONE, Key::ArrowDown), Some(PlantKey(20)));
    assert_eq!(walk(Modifiers::NONE, Key::ArrowUp), Some(PlantKey(3)));
    // The neighbour is the folded rest of the family; back from there.
    assert_eq!(walk(Modifiers::NONE, Key::ArrowRight), Some(PlantKey(4)));
    assert_eq!(walk(Modifiers::NONE, Key::ArrowLeft), Some(PlantKey(3)));
}

#[test]
fn enter_puts_in_focus_escape_ends_it_and_space_picks() {
    let mut harness = harness();
    harness.get_by_label(B).click();
    harness.run();
    harness.key_press(Key::Enter);
    harness.run();
    assert_eq!(harness.state().state.focus(), Some(PlantKey(3)));
    harness.key_press(Key::Space);
    harness.run();
    assert_eq!(harness.state().picked, [PlantKey(3), PlantKey(3)]);
    harness.key_press(Key::Escape);
    harness.run();
    assert_eq!(harness.state().state.focus(), None);
}

#[test]
fn a_folded_family_opens_and_closes_on_a_click() {
    let mut harness = harness();
    harness
        .get_by_label("B26-021 – B26-029, 9 more plants; parents A × M")
        .click();
    harness.run();
    assert!(
        harness
            .query_by_label("B26-025, sex unknown; parents A × M")
            .is_some()
    );
    harness
        .get_by_label("Family without a code, parents A × M; click to fold or unfold")
        .click();
    harness.run();
    assert!(
        harness
            .query_by_label("B26-025, sex unknown; parents A × M")
            .is_none()
    );
}

#[test]
fn the_search_goes_to_a_plant_and_says_how_many_there_are() {
    let mut harness = harness();
    harness.get_by_label("Find by code").focus();
    harness.run();
    harness.get_by_label("Find by code").type_text("b26-02");
    harness.run();
    assert_eq!(harness.state().state.cursor(), Some(PlantKey(4)));
    assert!(harness.query_by_label("1 of 9").is_some());
    harness.key_press(Key::Enter);
    harness.run();
    assert_eq!(harness.state().state.cursor(), Some(PlantKey(5)));
    assert!(harness.query_by_label("2 of 9").is_some());
}

#[test]
fn a_search_without_a_find_says_so() {
    let mut harness = harness();
    harness.get_by_label("Find by code").focus();
    harness.run();
    harness.get_by_label("Find by code").type_text("zzz");
    harness.run();
    assert!(
        harness
            .query_by_label("No plant with this code or name")
            .is_some()
    );
}

#[test]
fn only_relatives_leaves_the_others_out() {
    let mut harness = harness();
    harness.get_by_label("A, female").click();
    harness.run();
    harness.get_by_label("Focus").click();
    harness.run();
    harness.get_by_label("Only relatives").click();
    harness.run();
    assert!(harness.query_by_label("M, male").is_none());
    assert!(harness.query_by_label(B).is_some());
    harness.get_by_label("Clear focus").click();
    harness.run();
    assert!(harness.query_by_label("M, male").is_some());
}

#[test]
fn ancestors_are_hidden_and_shown() {
    let mut harness = harness();
    harness
        .get_by_label("C, sex unknown; parents B26-014 × M")
        .click();
    harness.run();
    harness.get_by_label("Hide ancestors").click();
    harness.run();
    assert!(harness.query_by_label(B).is_none());
    assert!(
        harness.query_by_label("M, male").is_some(),
        "still the father of the others"
    );
    harness.get_by_label("Show ancestors").click();
    harness.run();
    assert!(harness.query_by_label(B).is_some());
}

#[test]
fn keys_zoom_and_drags_move_and_zero_brings_everything_back() {
    let mut harness = harness();
    let tree = harness.get_by_label(TREE).rect();
    let before = harness.get_by_label(B).rect();
    harness.get_by_label(B).click();
    harness.run();
    harness.key_press(Key::Plus);
    harness.run();
    assert!(harness.get_by_label(B).rect().width() > before.width() * 1.2);
    let zoomed = harness.get_by_label(B).rect();
    harness.drag_at(tree.left_bottom() + vec2(20.0, -20.0));
    harness.hover_at(tree.left_bottom() + vec2(60.0, -60.0));
    harness.drop_at(tree.left_bottom() + vec2(60.0, -60.0));
    harness.run();
    let moved = harness.get_by_label(B).rect().center() - zoomed.center();
    assert!((moved - vec2(40.0, -40.0)).length() < 2.0, "{moved:?}");
    harness.key_press(Key::Num0);
    harness.run();
    assert!((harness.get_by_label(B).rect().center() - before.center()).length() < 1.0);
}

#[test]
fn an_idle_drawing_asks_for_no_repaint() {
    let mut harness = harness();
    harness.get_by_label(B).click();
    harness.run();
    harness.key_press(Key::Enter);
    // `run` panics when the frames do not come to rest; after that a step wants no other.
    harness.run();
    harness.step();
    assert!(!harness.ctx.has_requested_repaint());
}

#[test]
fn related_plants_are_told_from_the_rest() {
    let graph = FamilyGraph::new(plants());
    let extract = Extract::new(&graph, &Scope::default());
    let related = Related::to(&graph, &extract, graph.index_of(PlantKey(20)).unwrap());
    use crate::draw::Tone;
    let tone = |key| related.content(cursor_box(&graph, &extract, Some(PlantKey(key))).unwrap());
    assert_eq!(tone(20), Tone::Focus);
    assert_eq!(tone(3), Tone::Plain);
    assert_eq!(tone(1), Tone::Plain);
    assert_eq!(tone(7), Tone::Faded, "a sib of a parent");
}

#[test]
fn pinching_zooms_about_the_pointer() {
    let mut harness = harness();
    let before = harness.get_by_label(B).rect();
    // Away from the plants, where nothing pops up.
    let at = harness.get_by_label(TREE).rect().left_bottom() + vec2(30.0, -30.0);
    harness.hover_at(at);
    harness.run();
    harness.event(egui::Event::Zoom(1.2));
    harness.run();
    let after = harness.get_by_label(B).rect();
    assert!((after.width() / before.width() - 1.2).abs() < 0.01);
    assert!((after.center() - at - 1.2 * (before.center() - at)).length() < 1.0);
}

#[test]
fn the_wheel_zooms_and_comes_to_rest() {
    let mut harness = harness();
    let before = harness.get_by_label(B).rect();
    harness.hover_at(harness.get_by_label(TREE).rect().left_bottom() + vec2(30.0, -30.0));
    harness.run();
    harness.event(egui::Event::MouseWheel {
        unit: egui::MouseWheelUnit::Point,
        delta: vec2(0.0, 60.0),
        phase: egui::TouchPhase::Move,
        source: egui::MouseWheelSource::Wheel,
        modifiers: Modifiers::NONE,
    });
    // The wheel is smoothed over some frames.
    harness.run_steps(60);
    assert!(harness.get_by_label(B).rect().width() > before.width() * 1.1);
    harness.run();
}

#[test]
fn where_there_are_too_many_to_name_a_click_still_picks() {
    let plants = (0..700)
        .map(|number| plant(number, &format!("P{number}"), Sex::Unknown, None))
        .collect();
    let window = Window {
        graph: FamilyGraph::new(plants),
        state: TreeState::default(),
        picked: Vec::new(),
    };
    let mut harness = in_window(window);
    // So many are laid out off the window's thread, which asks for a frame at its end.
    let start = Instant::now();
    while harness.state().state.drawing().is_none() && start.elapsed() < Duration::from_secs(20) {
        std::thread::sleep(Duration::from_millis(5));
        harness.run();
    }
    let state = &harness.state().state;
    let (_, _, layout) = state.drawing().unwrap();
    // Boxes are ordered by code: the second is P1.
    let at = state
        .camera
        .to_screen(state.area.unwrap(), layout.boxes[1].center());
    assert!(harness.query_by_label("P1, sex unknown").is_none());
    harness.hover_at(at);
    harness.drag_at(at);
    harness.drop_at(at);
    harness.run();
    assert_eq!(harness.state().picked, [PlantKey(1)]);
    assert!(
        harness.query_by_label("P1, sex unknown").is_some(),
        "the plant at the cursor is named"
    );
}
