//! What is shown goes along: small tables and maps copied and saved, every chart kept as a picture, the calendar kept up to
//! date.

use crate::window::{PATIENCE, Window, today};
use domain::record::settings::SettingsField;
use domain::{Edit, Project};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable as _;
use std::cell::RefCell;
use std::fs;
use std::path::PathBuf;
use std::rc::Rc;
use std::time::Instant;

fn season() -> Project {
    sample::sample_project(today()).unwrap()
}

/// A window on the sample, whose dialogs answer with the path that is set.
fn window(screen: Key) -> (Window, Rc<RefCell<PathBuf>>) {
    let answer = Rc::new(RefCell::new(PathBuf::from("out")));
    let asked = Rc::clone(&answer);
    let window = Window::answering(&season(), screen, move |folder| {
        Some(folder.join(asked.borrow().as_path()))
    });
    (window, answer)
}

fn copy(window: &mut Window) {
    window.press_with(Modifiers::COMMAND | Modifiers::SHIFT, Key::T);
    window.settle();
}

/// The buttons that offer a table, without the rest of what is on the page.
fn offered(window: &Window, name: &str) -> Option<String> {
    let mut all = window.harness.query_all_by_label_contains(name);
    all.find_map(|node| {
        let label = egui_kittest::kittest::NodeT::accesskit_node(&node).label()?;
        label.ends_with(" rows").then_some(label)
    })
}

#[test]
fn of_several_tables_on_a_page_the_person_says_which() {
    let (mut window, answer) = window(Key::Num1);
    window.click(Role::Tab, "Seed bench");
    window.wait_for(Role::Table, "Figures of germination");
    copy(&mut window);
    assert!(window.has(Role::Heading, "Which table?"));
    let words = offered(&window, "Figures of germination, ").unwrap();
    window.click(Role::Button, &words);
    window.settle();
    let notice = window.notice().to_owned();
    assert!(
        notice.starts_with("Copied: Figures of germination"),
        "{notice}"
    );
    assert!(!window.has(Role::Heading, "Which table?"));

    // As CSV, the one that is chosen; as a workbook, all of them.
    *answer.borrow_mut() = "figures.csv".into();
    window.click(Role::Button, "Edit");
    window.click_button("Save the table as CSV…");
    window.settle();
    window.click(Role::Button, &words);
    window.settle();
    let csv = fs::read_to_string(window.folder().join("figures.csv")).unwrap();
    assert!(csv.starts_with("Figure,"), "{csv}");
    assert!(
        csv.contains("Final germination") || csv.lines().count() > 4,
        "{csv}"
    );
    *answer.borrow_mut() = "figures.xlsx".into();
    window.click(Role::Button, "Edit");
    window.click_button("Save the tables as XLSX…");
    window.settle();
    let book = fs::read(window.folder().join("figures.xlsx")).unwrap();
    let book = exchange::sheets::read(&book).unwrap();
    assert!(book.sheets.len() > 1);
    // Left without a choice, nothing is copied.
    copy(&mut window);
    window.click(Role::Button, "Cancel");
    window.settle();
    assert!(!window.has(Role::Heading, "Which table?"));
}

/// Every page that shows figures hands over a table of them, and every chart is kept as a file, also those that are no
/// lines over two axes.
#[test]
fn every_page_of_figures_hands_over_its_tables_and_charts() {
    let pages = [
        ("Today", "Day", None),
        ("Today", "Season", Some("Save chart: Season")),
        ("Seed bench", "What to sow first", None),
        ("Seed bench", "Female and male", None),
        ("Seed bench", "Ratios", None),
        (
            "Season plan",
            "Dates",
            Some("Save chart: Room, week by week"),
        ),
        (
            "Kinship",
            "Kinship of plants",
            Some("Save chart: Kinship of each with each"),
        ),
        ("Temperatures", "", Some("Save chart: Temperatures of ")),
        ("Findings", "", None),
    ];
    let (mut window, answer) = window(Key::Num1);
    for (screen, page, chart) in pages {
        match screen {
            "Today" => {}
            // Its tab also tells how many there are.
            "Findings" => window.press_with(Modifiers::COMMAND, Key::Num9),
            _ => window.click(Role::Tab, screen),
        }
        if !page.is_empty() {
            window.wait_for(Role::RadioButton, page);
            window.click(Role::RadioButton, page);
        }
        if let Some(button) = chart {
            window.until(|window| says(window, button));
            keep_chart(&mut window, &answer, button);
        }
        let rows = tables(&mut window, &answer);
        assert!(rows > 1, "{screen} {page}");
    }
}

fn says(window: &Window, part: &str) -> bool {
    let mut all = window.harness.query_all_by_label_contains(part);
    all.next().is_some()
}

/// How many rows all tables of the page have, saved as a workbook.
fn tables(window: &mut Window, answer: &RefCell<PathBuf>) -> usize {
    *answer.borrow_mut() = "page.xlsx".into();
    let path = window.folder().join("page.xlsx");
    // What is worked out first comes a little later.
    let begun = Instant::now();
    while !path.exists() {
        assert!(begun.elapsed() < PATIENCE, "{}", window.notice());
        window.click(Role::Button, "Edit");
        window.click_button("Save the tables as XLSX…");
        window.settle();
    }
    let book = exchange::sheets::read(&fs::read(&path).unwrap()).unwrap();
    fs::remove_file(&path).unwrap();
    book.sheets.iter().map(exchange::sheets::Sheet::rows).sum()
}

fn keep_chart(window: &mut Window, answer: &RefCell<PathBuf>, button: &str) {
    *answer.borrow_mut() = "chart".into();
    let path = window.folder().join("chart");
    for (way, beginning) in [
        ("SVG, to be worked on further…", &b"<svg"[..]),
        ("PNG, for a letter or a page…", b"\x89PNG"),
        ("PDF, to be printed…", b"%PDF-"),
    ] {
        window.click_button(button);
        window.click(Role::Button, way);
        window.settle();
        let bytes = fs::read(&path).unwrap();
        assert!(bytes.starts_with(beginning), "{button} {way}");
        assert!(bytes.len() > 2000, "{button} {way}");
        // For a reader's eyes.
        if let Ok(folder) = std::env::var("BINEWRIGHT_LOOKS") {
            let name = format!("{} {}", &button[12..], &way[..3]);
            fs::write(PathBuf::from(folder).join(name), &bytes).unwrap();
        }
        fs::remove_file(&path).unwrap();
    }
}

fn due(calendar: &str) -> usize {
    calendar.matches("BEGIN:VTODO").count()
}

#[test]
fn a_calendar_is_kept_up_to_date_where_the_person_said() {
    let (mut window, answer) = window(Key::Num1);
    let path = window.folder().join("away").join("hops.ics");
    fs::create_dir(path.parent().unwrap()).unwrap();
    // A calendar of somebody else's stands there: it stays beside it.
    fs::write(&path, "BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n").unwrap();
    *answer.borrow_mut() = path.clone();
    window.click(Role::Tab, "Tables");
    window.click(Role::Button, "Keep a calendar up to date…");
    window.until(|_| fs::read_to_string(&path).is_ok_and(|text| due(&text) > 5));
    let before = fs::read_to_string(&path).unwrap();
    let theirs = fs::read(path.with_file_name("hops.ics.before")).unwrap();
    assert_eq!(theirs, b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n");

    // Recorded alone it isn't told; saved it is.
    let name = SettingsField::Name("Lower yard".into());
    window.change("Oda", |_| vec![Edit::Settings(name)]);
    assert_eq!(fs::read_to_string(&path).unwrap(), before);
    window.save();
    window.until(|_| fs::read_to_string(&path).is_ok_and(|text| text != before));
    let after = fs::read_to_string(&path).unwrap();
    assert_eq!(
        fs::read(path.with_file_name("hops.ics.before")).unwrap(),
        theirs
    );
    let read: icalendar::Calendar = after.parse().unwrap();
    assert_eq!(read.components.len(), due(&after));

    // It can't be written: that is told at the foot, after the save, and the project is saved all the same.
    fs::remove_file(&path).unwrap();
    fs::create_dir(&path).unwrap();
    window.press_with(Modifiers::COMMAND, Key::Z);
    window.press_with(Modifiers::COMMAND, Key::S);
    window.until(|window| window.notice().starts_with("The calendar isn't up to date"));
    fs::remove_dir(&path).unwrap();
    window.save();
    window.until(|_| path.exists());

    // No longer wanted, it stays as it is.
    window.click(Role::Button, "Stop keeping it");
    assert!(window.has(Role::Button, "Keep a calendar up to date…"));
    fs::remove_file(&path).unwrap();
    window.save();
    window.settle();
    assert!(!path.exists());
}
