//! Traits of every kind made and changed on the setup page, driven by name.

use crate::window::{Window, begun, founder, today};
use domain::{Direction, Edit, Observation, Rule, Scale, Trait, Value};
use egui::{Key, Role};

fn setup(window: &mut Window) {
    window.click(Role::RadioButton, "Traits");
}

fn the_trait<'a>(window: &'a Window, name: &str) -> &'a Trait {
    let mut all = window.project().traits().iter();
    all.find(|each| each.name == name).unwrap()
}

#[test]
fn a_trait_becomes_each_kind_with_what_belongs_to_it() {
    let (project, _) = begun();
    let mut window = Window::on(&project, Key::Num0);
    setup(&mut window);
    let before = window.project().traits().len();
    window.click(Role::Button, "New trait");
    assert_eq!(window.project().traits().len(), before + 1);
    let name = window
        .project()
        .traits()
        .iter()
        .find(|each| each.name.starts_with("Trait "))
        .unwrap()
        .name
        .clone();
    window.enter(&format!("Name of trait {name}"), "Alpha acids");
    window.choose("Kind of Alpha acids", "a measurement");
    window.enter("Unit of Alpha acids", "%");
    window.enter("Lowest Alpha acids there can be", "0");
    window.enter("Highest Alpha acids there can be", "30");
    let Scale::Measure {
        unit,
        at_least,
        at_most,
    } = &the_trait(&window, "Alpha acids").scale
    else {
        panic!("no measurement");
    };
    assert_eq!((&**unit, *at_least, *at_most), ("%", Some(0.0), Some(30.0)));
    window.choose("Kind of Alpha acids", "scores");
    window.enter("What 5 of Alpha acids means", "middling");
    let scale = &the_trait(&window, "Alpha acids").scale;
    assert_eq!(scale.word_for(5), Some("middling"));
    window.choose("Kind of Alpha acids", "yes or no");
    assert_eq!(the_trait(&window, "Alpha acids").scale, Scale::YesNo);
}

#[test]
fn a_class_that_is_called_otherwise_is_so_in_what_is_recorded() {
    let (mut project, mut ids) = begun();
    let plant = founder(&mut project, &mut ids, "K-1", None);
    let cone = Trait {
        id: ids.next(),
        name: "Cone".into(),
        scale: Scale::Classes {
            classes: ["loose", "dense"].map(str::to_owned).to_vec(),
        },
        direction: Direction::Neutral,
        method: String::new(),
    };
    let class = Value::Class {
        class: "loose".into(),
    };
    let seen = Observation::new(ids.next(), plant, cone.id, today(), class.clone());
    let seen_id = seen.id;
    project.apply(Edit::add(cone)).unwrap();
    project.apply(Edit::add(seen)).unwrap();
    let mut window = Window::on(&project, Key::Num0);
    setup(&mut window);
    window.enter("Classes of Cone, lowest first", "open < middle < dense");
    let stood = window.project().observations().get(seen_id).unwrap();
    assert_eq!(
        stood.value, class,
        "three for two: what is recorded has no place"
    );
    assert!(window.notice().contains("loose"), "{}", window.notice());
    window.enter("Classes of Cone, lowest first", "open < dense");
    let stands = window.project().observations().get(seen_id).unwrap();
    let open = Value::Class {
        class: "open".into(),
    };
    assert_eq!(stands.value, open);
    // A kind that can't hold what is recorded is refused with a sentence.
    window.choose("Kind of Cone", "a date");
    assert!(matches!(
        the_trait(&window, "Cone").scale,
        Scale::Classes { .. }
    ));
    assert!(
        window.notice().contains("Cone is a date, not 'open'"),
        "{}",
        window.notice()
    );
}

#[test]
fn a_trait_is_calculated_from_two_others_by_a_rule() {
    let (mut project, mut ids) = begun();
    let mut made = Vec::new();
    for name in ["Green weight", "Dry matter", "Dry yield"] {
        let one = Trait {
            id: ids.next(),
            name: name.into(),
            scale: Scale::measure("%"),
            direction: Direction::Neutral,
            method: String::new(),
        };
        made.push(one.id);
        project.apply(Edit::add(one)).unwrap();
    }
    let mut window = Window::on(&project, Key::Num0);
    setup(&mut window);
    window.choose("Kind of Dry yield", "calculated from others");
    window.choose("Rule of Dry yield", "weight at a moisture");
    window.choose("Green weight of Dry yield", "Green weight");
    window.choose("Dry matter of Dry yield", "Dry matter");
    window.enter("Moisture of Dry yield", "9");
    let rule = Rule::AtMoisture {
        green: made[0],
        dry_matter: made[1],
        moisture: 9.0,
    };
    assert_eq!(
        the_trait(&window, "Dry yield").scale,
        Scale::Derived { rule }
    );
}
