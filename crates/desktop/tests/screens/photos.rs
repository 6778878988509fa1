//! Photos: added, shown, missed, altered, and taken along.

use crate::window::{Window, begun, founder, today};
use domain::{Edit, Photo, Sex};
use egui::{Key, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use std::fs;
use std::path::PathBuf;

/// A small PNG of one colour.
fn png(red: u8) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image::RgbImage::from_pixel(60, 30, image::Rgb([red, 120, 40]))
        .write_to(&mut bytes, image::ImageFormat::Png)
        .unwrap();
    bytes.into_inner()
}

/// A window on one plant, whose camera holds a photo.
fn window() -> (Window, tempfile::TempDir) {
    let (mut project, mut ids) = begun();
    founder(&mut project, &mut ids, "BRW", Some(Sex::Female));
    let camera = tempfile::tempdir().unwrap();
    let photo = camera.path().join("IMG_0001.PNG");
    fs::write(&photo, png(200)).unwrap();
    let mut window = Window::answering(&project, Key::Num2, move |_| Some(photo.clone()));
    window.click(Role::Row, "BRW");
    (window, camera)
}

fn add(window: &mut Window) -> PathBuf {
    window.click(Role::Button, "Add photo…");
    window.until(|window| !window.project().photos().is_empty());
    let photo = window.project().photos().iter().next().unwrap();
    window.folder().join(&photo.path)
}

#[test]
fn a_photo_is_copied_in_shown_and_looked_at() {
    let (mut window, camera) = window();
    let kept = add(&mut window);
    assert_eq!(fs::read(&kept).unwrap(), png(200));
    assert_eq!(
        fs::read(camera.path().join("IMG_0001.PNG")).unwrap(),
        png(200)
    );
    let photo = window.project().photos().iter().next().unwrap();
    assert_eq!(photo.date, Some(today()));
    assert!(
        photo.path.starts_with("photos/") && kept.extension().is_some_and(|ending| ending == "png")
    );
    window.until(|window| window.has(Role::Button, "Look at photo 1"));
    window.click(Role::Button, "Look at photo 1");
    window.until(|window| window.has(Role::Button, "Done"));
    window.click(Role::Button, "Done");
    assert!(!window.has(Role::Button, "Done"));
    // Taking the record away leaves the file: it can be made again.
    window.click(Role::Button, "Remove photo 1");
    assert!(window.project().photos().is_empty() && kept.exists());
}

#[test]
fn a_photo_is_shown_in_the_moments_it_was_there() {
    let (mut window, _camera) = window();
    add(&mut window);
    window.click(Role::Button, "Remove photo 1");
    let file = window.harness.state().project().unwrap().file();
    file.flush().unwrap();
    window.click(Role::Tab, "History");
    window.wait_for(Role::Row, "Change 1");
    window.click(Role::Row, "Change 1");
    window.wait_for(Role::Button, "Open as it was then");
    window.click(Role::Button, "Open as it was then");
    window.click(Role::Tab, "Plants");
    window.click(Role::Row, "BRW");
    window.wait_for(Role::Button, "Look at photo 1");
    let remove = window
        .harness
        .get_by_role_and_label(Role::Button, "Remove photo 1");
    assert!(remove.accesskit_node().is_disabled());
    window.click(Role::Button, "Look at photo 1");
    window.wait_for(Role::Button, "Done");
    window.click(Role::Button, "Done");
    window.click(Role::Button, "Back to now");
    window.click(Role::Tab, "Plants");
    assert!(!window.has(Role::Button, "Look at photo 1"));
}

#[test]
fn what_is_no_photo_is_refused_with_words() {
    let (mut window, camera) = window();
    fs::write(camera.path().join("IMG_0001.PNG"), "a letter").unwrap();
    window.click(Role::Button, "Add photo…");
    window.until(|window| window.notice().contains("neither a JPEG nor a PNG"));
    assert!(window.project().photos().is_empty());
}

#[test]
fn a_missing_and_an_altered_photo_are_findings() {
    let (mut window, _camera) = window();
    let kept = add(&mut window);
    fs::write(&kept, png(10)).unwrap();
    window.press_with(egui::Modifiers::COMMAND, Key::Num9);
    window.click(Role::Button, "Check all photos");
    window.until(|window| {
        window
            .harness
            .query_by_label("1 photo isn't as it was added.")
            .is_some()
    });
    let told = |window: &Window, words: &str| {
        let mut found = window.harness.query_all_by_label_contains(words);
        found.next().is_some()
    };
    window.until(|window| told(window, "was altered after it was added"));
    fs::remove_file(&kept).unwrap();
    window.click(Role::Button, "Check all photos");
    window.until(|window| told(window, "isn't beside the project"));
}

#[test]
fn photos_go_along_with_a_copy() {
    let (mut project, mut ids) = begun();
    let plant = founder(&mut project, &mut ids, "BRW", Some(Sex::Female));
    let photo = Photo {
        id: ids.next(),
        about: plant.into(),
        path: "photos/yard.png".into(),
        date: None,
        caption: String::new(),
    };
    project.apply(Edit::add(photo)).unwrap();
    let mut window = Window::answering(&project, Key::Num2, |folder| {
        Some(folder.join("away").join("copy.binewright"))
    });
    let folder = window.folder().to_path_buf();
    fs::create_dir(folder.join("away")).unwrap();
    fs::create_dir(folder.join("photos")).unwrap();
    fs::write(folder.join("photos/yard.png"), png(90)).unwrap();
    window.press_with(egui::Modifiers::COMMAND | egui::Modifiers::SHIFT, Key::S);
    let copy = folder.join("away/photos/yard.png");
    window.until(|window| window.notice().contains("copied along"));
    assert_eq!(fs::read(copy).unwrap(), png(90));
    assert!(folder.join("photos/yard.png").exists());
}
