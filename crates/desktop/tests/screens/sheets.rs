//! A scoring sheet printed from the window, filled in, photographed, read back and looked over.

#[path = "../../../scoring-sheet/tests/generator/mod.rs"]
mod generator;

use crate::window::{Window, begun, founder, today};
use domain::{Edit, Id, Project, Scale, Sex, Trait, Value};
use egui::{Key, Modifiers, Role};
use fastrand::Rng;
use generator::camera::Shot;
use generator::hand::{MarkKind, mark_in};
use generator::page::Page;
use scoring_sheet::Tag;
// What the generator draws its codes with.
use qrcode as _;

use std::cell::RefCell;
use std::fs;
use std::path::PathBuf;
use std::rc::Rc;

/// Three plants, and vigour to score.
fn yard() -> Project {
    let (mut project, mut ids) = begun();
    for code in ["F-01", "F-02", "F-03"] {
        founder(&mut project, &mut ids, code, Some(Sex::Female));
    }
    let vigour = Trait {
        id: ids.next(),
        name: "Shoot vigour".into(),
        scale: Scale::one_to_nine("weak", "strong"),
        direction: domain::Direction::Higher,
        method: String::new(),
    };
    project.apply(Edit::add(vigour)).unwrap();
    project
}

fn trait_named(project: &Project, name: &str) -> Id<Trait> {
    let mut all = project.traits().iter();
    all.find(|each| each.name == name).unwrap().id
}

/// A window whose file dialogs answer with the path that is set.
fn window() -> (Window, Rc<RefCell<PathBuf>>) {
    let answer = Rc::new(RefCell::new(PathBuf::from("sheet.pdf")));
    let asked = Rc::clone(&answer);
    let mut window = Window::answering(&yard(), Key::Num8, move |folder| {
        Some(folder.join(asked.borrow().as_path()))
    });
    window.click(Role::Tab, "Scoring sheets");
    (window, answer)
}

/// The photo of the one sheet of a project, filled in: 4 for the first plant, two bubbles for the second.
fn photo(window: &Window) -> Vec<u8> {
    let sheet = window.project().scoring_sheets().iter().next().unwrap();
    let form = paper::scoring_sheet::form(sheet).unwrap();
    let tag = Tag {
        sheet: sheet.id.uuid().as_u128(),
        page: 0,
        paper: form.paper(),
        landscape: form.landscape(),
    };
    let mut rng = Rng::with_seed(2);
    let mut page = Page::printed(&form, tag);
    mark_in(&mut page, &form, (0, 0), MarkKind::Filled, 3, &mut rng);
    mark_in(&mut page, &form, (2, 0), MarkKind::Filled, 4, &mut rng);
    mark_in(&mut page, &form, (1, 0), MarkKind::Filled, 1, &mut rng);
    mark_in(&mut page, &form, (1, 0), MarkKind::Filled, 6, &mut rng);
    let shot = Shot {
        megapixels: 1.6,
        turn: 90.0,
        blur: 0.05,
        ..Shot::scan(&mut rng)
    };
    shot.jpeg(&page)
}

#[test]
fn a_sheet_is_printed_read_back_looked_over_and_recorded_in_one_step() {
    let (mut window, answer) = window();
    window.click_button("All living plants: 3");
    window.click(Role::CheckBox, "Shoot vigour (1 to 9)");
    window.click(Role::Button, "Print the sheet as PDF…");
    assert_eq!(window.project().scoring_sheets().len(), 1);
    let pdf = fs::read(window.folder().join("sheet.pdf")).unwrap();
    assert!(pdf.starts_with(b"%PDF-"));

    fs::write(window.folder().join("IMG_1.jpg"), photo(&window)).unwrap();
    *answer.borrow_mut() = "IMG_1.jpg".into();
    window.click(Role::Button, "Read a photo…");
    window.wait_for(Role::Label, "One cell is still to be looked at.");
    assert!(window.has(Role::Image, "Shoot vigour of F-02 on the paper"));
    window.fill("Shoot vigour of F-02", "12");
    window.click(Role::Button, "Take this for Shoot vigour of F-02");
    assert!(window.has(Role::Label, "One cell is still to be looked at."));
    window.fill("Shoot vigour of F-02", "7");
    window.click(Role::Button, "Take this for Shoot vigour of F-02");
    assert!(window.project().observations().is_empty());
    window.click_button("Record 3 observations of this page");
    window.until(|window| window.project().observations().len() == 3);

    let vigour = trait_named(window.project(), "Shoot vigour");
    for (code, score) in [("F-01", 4.0), ("F-02", 7.0), ("F-03", 5.0)] {
        let plant = window.plant(code).id;
        let scored = window.project().latest_observation(plant, vigour).unwrap();
        assert_eq!(scored.value, Value::Number(score));
        assert_eq!(scored.date, today());
    }
    let kept = window.project().photos().iter().next().unwrap();
    assert_eq!(kept.caption, "Page 1");
    assert!(window.folder().join(&kept.path).exists());
    // One step takes it all back.
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert!(window.project().observations().is_empty());
    assert!(window.project().photos().is_empty());
    assert_eq!(window.project().scoring_sheets().len(), 1);
}

#[test]
fn a_photo_of_something_else_gets_a_sentence_and_changes_nothing() {
    let (mut window, answer) = window();
    let mut bytes = std::io::Cursor::new(Vec::new());
    image::RgbImage::from_pixel(900, 700, image::Rgb([90, 120, 40]))
        .write_to(&mut bytes, image::ImageFormat::Png)
        .unwrap();
    fs::write(window.folder().join("IMG_2.png"), bytes.into_inner()).unwrap();
    *answer.borrow_mut() = "IMG_2.png".into();
    window.click(Role::Button, "Read a photo…");
    window.wait_for(
        Role::Label,
        "No scoring sheet is seen. Photograph the whole page, with the ring in each corner in sight.",
    );
    assert!(window.project().photos().is_empty());
}

/// The program ends while a page is looked over: what was typed and taken is there again when it is begun anew.
#[test]
fn a_page_that_is_looked_over_outlives_the_program() {
    let (mut window, answer) = window();
    window.click_button("All living plants: 3");
    window.click(Role::CheckBox, "Shoot vigour (1 to 9)");
    window.click(Role::Button, "Print the sheet as PDF…");
    fs::write(window.folder().join("IMG_1.jpg"), photo(&window)).unwrap();
    *answer.borrow_mut() = "IMG_1.jpg".into();
    window.click(Role::Button, "Read a photo…");
    window.wait_for(Role::Label, "One cell is still to be looked at.");
    window.fill("Scored by", "Ida");
    window.fill("Shoot vigour of F-02", "7");
    window.click(Role::Button, "Take this for Shoot vigour of F-02");
    window.wait_for(Role::Label, "taken: 7");
    // Killed: a copy of what is on the disk is opened in its place.
    let beside = window.path().with_file_name("yard.binewright-drafts");
    // What was typed, and what was taken.
    let kept = |text: &str| text.matches("\"7\"").count() > 1;
    window.until(|_| fs::read_to_string(&beside).is_ok_and(|text| kept(&text)));
    window
        .harness
        .state()
        .project()
        .unwrap()
        .file()
        .flush()
        .unwrap();
    let copy = tempfile::tempdir().unwrap();
    for name in [
        "yard.binewright",
        "yard.binewright-journal",
        "yard.binewright-drafts",
    ] {
        fs::copy(window.folder().join(name), copy.path().join(name)).unwrap();
    }
    let mut again = Window::another(&copy.path().join("yard.binewright"));
    again.click(Role::Tab, "Scoring sheets");
    again.wait_for(Role::Label, "taken: 7");
    assert!(again.has(Role::TextInput, "Scored by"));
    again.click_button("Record 3 observations of this page");
    again.until(|window| window.project().observations().len() == 3);
    let mut seen = again.project().observations().iter();
    assert!(seen.all(|seen| seen.by == "Ida"));
}
