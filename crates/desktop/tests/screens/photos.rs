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

/// The same as a JPEG that says when it was taken (EXIF 2.3, 4.5 and 4.6.5 F): a directory that leads to another, which
/// holds `DateTimeOriginal`.
fn dated(code: &str, moment: &str) -> Vec<u8> {
    let picture = image::load_from_memory(&label(code)).unwrap();
    let mut plain = std::io::Cursor::new(Vec::new());
    picture
        .write_to(&mut plain, image::ImageFormat::Jpeg)
        .unwrap();
    let plain = plain.into_inner();
    let entry = |tag: u16, kind: u16, count: u32, at: u32| {
        let mut bytes = 1_u16.to_le_bytes().to_vec();
        bytes.extend(tag.to_le_bytes());
        bytes.extend(kind.to_le_bytes());
        bytes.extend(count.to_le_bytes());
        bytes.extend(at.to_le_bytes());
        bytes.extend([0; 4]);
        bytes
    };
    let mut tiff = b"II*\0\x08\0\0\0".to_vec();
    tiff.extend(entry(0x8769, 4, 1, 26));
    tiff.extend(entry(0x9003, 2, 20, 44));
    tiff.extend(moment.as_bytes());
    tiff.push(0);
    let mut bytes = plain[..2].to_vec();
    bytes.extend([0xFF, 0xE1]);
    bytes.extend(((tiff.len() + 8) as u16).to_be_bytes());
    bytes.extend(b"Exif\0\0");
    bytes.extend(tiff);
    bytes.extend(&plain[2..]);
    bytes
}

/// A photo of a label: its QR code on a grey ground.
fn label(code: &str) -> Vec<u8> {
    let modules = exchange::label::Modules::encode(code, exchange::label::Level::Q).unwrap();
    let side = modules.side();
    let picture = image::GrayImage::from_fn(640, 480, |x, y| {
        let at = |pixel: u32, from: u32| pixel.checked_sub(from).map(|pixel| pixel / 6);
        let (column, row) = (at(x, 120), at(y, 80));
        let paper =
            at(x, 84).is_some_and(|u| u < side + 12) && at(y, 44).is_some_and(|v| v < side + 12);
        let dark = column.zip(row).is_some_and(|(column, row)| {
            column < side && row < side && modules.is_dark(column, row)
        });
        image::Luma([if dark {
            30
        } else if paper {
            220
        } else {
            120
        }])
    });
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture
        .write_to(&mut bytes, image::ImageFormat::Png)
        .unwrap();
    bytes.into_inner()
}

#[test]
fn photos_of_a_folder_go_to_the_labels_seen_on_them_and_the_rest_is_placed_by_hand() {
    let (mut project, mut ids) = begun();
    let brw = founder(&mut project, &mut ids, "BRW", Some(Sex::Female));
    let tam = founder(&mut project, &mut ids, "TAM", Some(Sex::Male));
    let camera = tempfile::tempdir().unwrap();
    let files = [
        ("IMG_1.jpg", dated("BRW", "2026:02:21 07:45:10")),
        ("IMG_2.PNG", png(90)),
        ("IMG_3.png", label("NOT-HERE")),
        ("IMG_4.heic", b"ftypheic".to_vec()),
        ("notes.txt", b"words".to_vec()),
    ];
    for (name, bytes) in &files {
        fs::write(camera.path().join(name), bytes).unwrap();
    }
    let folder = camera.path().to_path_buf();
    let mut window = Window::answering(&project, Key::Num2, move |_| Some(folder.clone()));
    window.click(Role::Tab, "Photos");
    window.click(Role::Button, "Choose a folder…");
    window.wait_for(Role::Button, "Add 1 photo to its record");
    for words in [
        "2 to be placed",
        "1 not read",
        "One other file is passed over.",
        "No label is seen on it.",
        "The code on it says NOT-HERE, which isn't in the project.",
    ] {
        let seen = window.harness.query_all_by_label_contains(words).count();
        assert!(seen > 0, "{words}");
    }
    assert!(window.project().photos().is_empty());
    window.click(Role::Button, "Add 1 photo to its record");
    window.until(|window| window.project().photos_of(brw).count() == 1);
    // The day of the picture, not that on which it is read in.
    let photo = window.project().photos_of(brw).next().unwrap();
    let taken = crate::window::day("2026-02-21");
    assert_eq!((photo.date, photo.caption.as_str()), (Some(taken), ""));
    assert_eq!(
        fs::read(window.folder().join(&photo.path)).unwrap(),
        files[0].1
    );
    window.wait_for(Role::RadioButton, "1 there already");

    window.click(Role::Row, "IMG_2.PNG");
    window.wait_for(Role::Image, "The photo IMG_2.PNG");
    window.fill("Record of IMG_2.PNG", "TAM");
    window.click(Role::Button, "Add it to TAM");
    window.until(|window| window.project().photos_of(tam).count() == 1);
    window.wait_for(Role::Button, "Show the record");
    // Its file says no day.
    let by_hand = window.project().photos_of(tam).next().unwrap();
    assert_eq!(by_hand.date, None);
    // The originals are as they were, and each adding is a step of its own.
    for (name, bytes) in &files {
        assert_eq!(
            fs::read(camera.path().join(name)).unwrap(),
            *bytes,
            "{name}"
        );
    }
    window.press_with(egui::Modifiers::COMMAND, Key::Z);
    window.until(|window| window.project().photos_of(tam).count() == 0);
    assert_eq!(window.project().photos_of(brw).count(), 1);
}
