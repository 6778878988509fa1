//! Tables brought in through the window, driven by name: a laboratory's file looked at, imported, and taken back.

use crate::window::{Window, begun};
use domain::{Direction, Edit, Genotype, IdSource, Origin, Project, Scale, Trait};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

fn project() -> Project {
    let (mut project, mut ids): (Project, IdSource) = begun();
    for code in ["K-1", "M-1"] {
        let plant = Genotype::new(ids.next(), code, Origin::Unknown);
        project.apply(Edit::add(plant)).unwrap();
    }
    let alpha = Trait {
        id: ids.next(),
        name: "Alpha acids".into(),
        scale: Scale::measure("%"),
        direction: Direction::Higher,
        method: String::new(),
    };
    project.apply(Edit::add(alpha)).unwrap();
    project
}

/// A window on the page of tables; asked for a file, it gets these bytes as `results.csv`.
fn window(project: &Project, file: &'static [u8]) -> Window {
    let mut window = Window::answering(project, Key::Num5, move |folder| {
        let path = folder.join("results.csv");
        std::fs::write(&path, file).unwrap();
        Some(path)
    });
    window.click(Role::Tab, "Tables");
    window
}

fn says(window: &Window, part: &str) -> bool {
    window
        .harness
        .query_all_by_label_contains(part)
        .next()
        .is_some()
}

#[test]
fn a_laboratorys_file_is_looked_at_imported_and_taken_back() {
    let project = project();
    let before = project.observations().len();
    let mut window = window(
        &project,
        b"plant;date;alpha acids (%)\nK-1;20.9.2026;11,2\nM-2;20.9.2026;9,9\nM-1;20.9.2026;oops\n",
    );
    window.click(Role::Button, "Choose a table…");
    window.until(|window| says(window, "Import 1 row"));
    for words in ["1 new", "1 unknown", "1 refused"] {
        assert!(says(&window, words), "{words}");
    }
    // Nothing is in the project before.
    assert_eq!(window.project().observations().len(), before);
    window.click(Role::Button, "Import 1 row");
    window.until(|window| window.project().observations().len() == before + 1);
    window.until(|window| says(window, "Nothing in it is new."));
    window.press_with(Modifiers::COMMAND, Key::Z);
    window.until(|window| window.project().observations().len() == before);
}

#[test]
fn a_file_that_is_no_table_says_so() {
    let mut window = window(&project(), b"%PDF-1.7");
    window.click(Role::Button, "Choose a table…");
    window.until(|window| says(window, "This is a PDF"));
}

#[test]
fn how_a_table_was_read_is_remembered_for_the_next_one_like_it() {
    let mut window = window(
        &project(),
        b"plant;date;alpha acids (%)\nK-1;20.9.2026;11,2\n",
    );
    window.click(Role::Button, "Choose a table…");
    window.until(|window| says(window, "Import 1 row"));
    assert!(!says(&window, "Read as the last table"));
    window.click(Role::Button, "Import 1 row");
    window.until(|window| window.project().observations().len() == 1);
    window.until(|window| says(window, "Nothing in it is new."));
    window.click(Role::Button, "Close the table");
    window.click(Role::Button, "Choose a table…");
    window.until(|window| says(window, "Read as the last table with these columns"));
    window.until(|window| says(window, "1 same"));
}

#[test]
fn what_was_said_of_a_table_outlives_another_screen_closing_and_a_kill() {
    let mut window = window(
        &project(),
        b"plant;date;alpha acids (%)\nK-1;20.9.2026;11,2\n",
    );
    window.click(Role::Button, "Choose a table…");
    window.until(|window| says(window, "Import 1 row"));
    window.click(Role::DisclosureTriangle, "How it is read");
    window.focus(Role::TextInput, "Observer of all rows");
    window.write("Oda Lenn");
    // The keyboard is still in the field.
    window.press_with(Modifiers::COMMAND, Key::Num2);
    let waiting = window.harness.state().project().unwrap().not_recorded();
    assert_eq!(waiting.len(), 1);
    assert_eq!(waiting[0].words, "Table to bring in: results.csv");
    let beside = window.path().with_file_name("yard.binewright-drafts");
    // No closing: a kill now would find it on the disk.
    window.until(|_| std::fs::read_to_string(&beside).is_ok_and(|text| text.contains("Oda Lenn")));
    let path = window.path();
    window.press_with(Modifiers::COMMAND, Key::W);
    let mut again = Window::another(&path);
    again.click(Role::Tab, "Tables");
    again.until(|window| says(window, "Import 1 row"));
    again.click(Role::DisclosureTriangle, "How it is read");
    let field = again
        .harness
        .get_by_role_and_label(Role::TextInput, "Observer of all rows");
    let value = field.accesskit_node().value();
    assert_eq!(value.as_deref(), Some("Oda Lenn"));
    again.click(Role::Button, "Import 1 row");
    again.until(|window| window.project().observations().len() == 1);
    let seen = again.project().observations().iter().next().unwrap();
    assert_eq!(seen.by, "Oda Lenn");
    // Recorded, nothing of it waits.
    again.settle();
    let open = again.harness.state().project().unwrap();
    assert!(open.not_recorded().is_empty(), "{:?}", open.not_recorded());
}

#[test]
fn a_table_that_is_no_longer_there_says_so_and_is_put_away() {
    let mut window = window(
        &project(),
        b"plant;date;alpha acids (%)\nK-1;20.9.2026;11,2\n",
    );
    window.click(Role::Button, "Choose a table…");
    window.until(|window| says(window, "Import 1 row"));
    let path = window.path();
    window.press_with(Modifiers::COMMAND, Key::W);
    std::fs::remove_file(path.with_file_name("results.csv")).unwrap();
    let mut again = Window::another(&path);
    again.click(Role::Tab, "Tables");
    again.until(|window| says(window, "can't be read"));
    again.click(Role::Button, "Close the table");
    assert!(again.has(Role::Button, "Choose a table…"));
}

/// Out with the whole project, back with it: first all is there already; changed in a spreadsheet, each row tells what
/// would become of it, and one step takes them back.
#[test]
fn the_whole_project_goes_out_as_a_workbook_and_comes_back() {
    let project = project();
    let mut window =
        Window::answering(&project, Key::Num5, |folder| Some(folder.join("book.xlsx")));
    window.click(Role::Tab, "Tables");
    window.click(Role::Button, "Whole project as a workbook…");
    window.click(Role::Button, "Choose a table…");
    window.until(|window| says(window, "Nothing in it is new."));
    // In a spreadsheet: a plant gets a name, another is added, a third can't be read.
    let (name, mut ids) = ("Tarnsong", IdSource::new(1_790_000_000_000, 5));
    let mut changed = project.clone();
    let first = changed.genotypes().iter().next().unwrap().id;
    let named = domain::record::genotype::GenotypeField::Name(Some(name.into()));
    changed.apply(Edit::set(first, named)).unwrap();
    let added = Genotype::new(ids.next(), "N-9", Origin::Unknown);
    changed.apply(Edit::add(added)).unwrap();
    let mut sheets = paper::workbook::sheets(&changed).unwrap();
    let plants = sheets
        .iter_mut()
        .find(|sheet| sheet.name == "genotypes")
        .unwrap();
    let mut wrong = plants.rows[0].clone();
    let sex = plants
        .header
        .iter()
        .position(|field| field == "origin")
        .unwrap();
    wrong[0] = exchange::sheets::Written::text("no id");
    wrong[sex] = exchange::sheets::Written::text("a neighbour");
    plants.rows.push(wrong);
    let path = window.folder().join("book.xlsx");
    std::fs::write(path, exchange::sheets::xlsx(&sheets).unwrap()).unwrap();
    window.click(Role::Button, "Close the table");
    window.click(Role::Button, "Choose a table…");
    window.until(|window| says(window, "Import 2 rows"));
    for words in ["1 new", "1 changes", "1 refused", "all that differ 3"] {
        assert!(says(&window, words), "{words}");
    }
    assert!(window.project() == &project);
    window.click(Role::Button, "Import 2 rows");
    window.until(|window| says(window, "Nothing in it is new."));
    let plant = window.project().genotypes().get(first).unwrap();
    assert_eq!(plant.name.as_deref(), Some(name));
    assert_eq!(window.project().find_code("N-9").count(), 1);
    window.press_with(Modifiers::COMMAND, Key::Z);
    window.until(|window| window.project() == &project);
}

/// Each paper is reached from its own page and from the page of tables, and lands where the person said.
#[test]
fn papers_are_printed_from_where_one_looks_for_them() {
    let today = crate::window::today();
    let project = sample::sample_project(today).unwrap();
    let print = |screen: Key, tab: Option<&str>, press: &[(Role, &str)], text: &str| {
        let mut window = Window::answering(&project, screen, |folder| Some(folder.join("out.pdf")));
        if let Some(tab) = tab {
            window.click(Role::Tab, tab);
        }
        for (role, name) in press {
            window.wait_for(*role, name);
            window.click(*role, name);
        }
        let path = window.folder().join("out.pdf");
        window.until(|_| path.exists());
        let bytes = std::fs::read(&path).unwrap();
        assert!(bytes.starts_with(b"%PDF-"), "{press:?}");
        let title = text.as_bytes();
        let told = bytes.windows(title.len()).any(|part| part == title);
        assert!(told, "{press:?}: no {text} in the PDF's title");
    };
    let season = paper::season_report::seasons(&project)[0];
    let report = format!("Report of {season}…");
    print(
        Key::Num1,
        None,
        &[(Role::Button, "Print the bench sheet…")],
        "Bench sheet",
    );
    print(
        Key::Num3,
        None,
        &[(Role::Button, "Print cards…")],
        "Crossing cards",
    );
    print(
        Key::Num7,
        None,
        &[(Role::Button, "Print over pages…")],
        "Family tree",
    );
    let reports = [
        (Role::Button, "Season's report…"),
        (Role::Button, report.as_str()),
    ];
    print(Key::Num5, Some("Tables"), &reports, "Season");
    let sheet = [(Role::Button, "Bench sheet of the day…")];
    print(Key::Num5, Some("Tables"), &sheet, "Bench sheet");
    print(
        Key::Num5,
        Some("Tables"),
        &[(Role::Button, "Crossing cards…")],
        "Crossing cards",
    );
}

/// Any table that is shown, from the one menu: copied as a block, saved as CSV and as a workbook, whole and guarded.
#[test]
fn the_table_of_a_page_is_copied_and_saved_as_it_stands() {
    let (mut project, mut ids) = begun();
    for nth in 0..120 {
        let plant = Genotype::new(ids.next(), format!("P-{nth:03}"), Origin::Unknown);
        project.apply(Edit::add(plant)).unwrap();
    }
    let odd = Genotype::new(ids.next(), "=1+2", Origin::Unknown);
    project.apply(Edit::add(odd)).unwrap();
    let mut window =
        Window::answering(&project, Key::Num2, |folder| Some(folder.join("table.out")));
    window.press_with(Modifiers::COMMAND | Modifiers::SHIFT, Key::T);
    window.settle();
    assert!(
        window.notice().starts_with("Copied: All plants, 121 rows"),
        "{}",
        window.notice()
    );
    let save = |window: &mut Window, command: &str| {
        let path = window.folder().join("table.out");
        drop(std::fs::remove_file(&path));
        window.click(Role::Button, "Edit");
        window.click_button(command);
        window.settle();
        std::fs::read(path).unwrap()
    };
    let csv = String::from_utf8(save(&mut window, "Save the table as CSV…")).unwrap();
    // One line for each plant, though fewer are in sight; and what a spreadsheet would run is guarded.
    assert_eq!(csv.lines().count(), 122, "{csv}");
    assert!(csv.contains("P-119") && csv.contains("'=1+2"), "{csv}");
    let book = exchange::sheets::read(&save(&mut window, "Save the tables as XLSX…")).unwrap();
    let sheet = book.first().unwrap();
    assert_eq!((sheet.name.as_str(), sheet.rows()), ("All plants", 122));
    // A page without a table says so.
    window.click(Role::Tab, "Labels");
    window.press_with(Modifiers::COMMAND | Modifiers::SHIFT, Key::T);
    window.settle();
    assert!(
        window.notice().starts_with("No table is shown"),
        "{}",
        window.notice()
    );
}
