//! The temperatures screen, driven by name: a logger's file on its way in, its chart, a reading by hand.

use crate::window::{Window, begun, day};
use domain::{
    Check, ChillBatch, Edit, Id, IdSource, LogPlace, LotSource, Project, SeedAmount, SeedLot,
    actions,
};
use egui::{Key, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

impl Window {
    fn says(&self, part: &str) -> bool {
        self.harness
            .query_all_by_label_contains(part)
            .next()
            .is_some()
    }
}

/// A batch of two boxes in the refrigerator since 25 October 2025, one look with a temperature.
fn project() -> (Project, IdSource, Id<ChillBatch>) {
    let (mut project, mut ids) = begun();
    let lot = SeedLot {
        id: ids.next(),
        code: "L-1".into(),
        source: LotSource::Unknown,
        harvested: None,
        cleaned: None,
        amount: Some(SeedAmount::Counted(500)),
        place: String::new(),
        conditions: String::new(),
    };
    let lot_id = lot.id;
    project.apply(Edit::add(lot)).unwrap();
    let protocol = project.settings().protocol.unwrap();
    let mut batch = actions::plan_batch(&project, protocol, day("2025-12-20"), &mut ids).unwrap();
    batch.place = "Seed refrigerator, shelf 1".into();
    project.apply(Edit::add(batch.clone())).unwrap();
    let lay = actions::lay_boxes(&project, &batch, lot_id, 150, 100, &mut ids);
    project.apply(lay).unwrap();
    project
        .apply(actions::start_batch(&batch, day("2025-12-20")))
        .unwrap();
    let chill_box = project.boxes_of(batch.id).next().unwrap().id;
    let mut check = Check::nothing_found(ids.next(), chill_box, day("2026-01-02"));
    check.temperature = Some(domain::Celsius(3.0));
    project.apply(Edit::add(check)).unwrap();
    (project, ids, batch.id)
}

/// A window on the temperatures screen; asked for a file, it gets these bytes as `winter.csv`.
fn window(project: &Project, file: &'static [u8]) -> Window {
    let mut window = Window::answering(project, Key::Num5, move |folder| {
        let path = folder.join("winter.csv");
        std::fs::write(&path, file).unwrap();
        Some(path)
    });
    window.click(Role::Tab, "Temperatures");
    window
}

const SAMPLE: &[u8] = include_bytes!("../../../../examples/logger-winter.csv");

#[test]
fn an_empty_project_is_taught_what_belongs_here() {
    let (project, _) = begun();
    let window = window(&project, b"");
    assert!(window.has(Role::Button, "Import a file…"));
    assert!(window.says("Whether seed got its cold is known only from its temperatures."));
}

#[test]
fn the_sample_file_is_read_in_by_its_guess_and_kept_with_bad_rows_named() {
    let (project, _, batch) = project();
    let mut window = window(&project, SAMPLE);
    window.click(Role::Button, "Import a file…");
    window.until(|window| window.has(Role::Label, "Logger: TL-20417"));
    assert!(
        window.has(Role::ComboBox, "Date column") && window.has(Role::TextInput, "Lines of header")
    );
    assert!(window.says("summer time ended before 26 Oct 2025 02:00."));
    assert!(window.says("summer time began before 29 Mar 2026 03:00."));
    window
        .harness
        .get_by_label_contains("'---' is no temperature.")
        .scroll_to_me();
    window.settle();
    assert!(
        window.says("it says 2000-01-01"),
        "rows of the lost clock are named"
    );
    window
        .harness
        .query_all_by_label_contains("Keep ")
        .next()
        .unwrap()
        .click();
    window.settle();
    let log = window
        .project()
        .temperature_logs()
        .iter()
        .next()
        .unwrap()
        .clone();
    assert_eq!(log.at, LogPlace::Place("Seed refrigerator".into()));
    assert_eq!(log.source, "logger TL-20417, winter.csv");
    assert!(
        log.remark.contains("22 bad rows kept out"),
        "{}",
        log.remark
    );
    // The chart of the batch that stands there, in words.
    window.until(|window| window.says("Temperatures of Chill A-25, in the cold. "));
    window.until(|window| window.says("at or under freezing in 1 spell"));
    assert!(window.says("1 read by hand"));
    let figure = window
        .harness
        .query_all_by_role(Role::Figure)
        .next()
        .is_some();
    assert!(figure, "the chart is a figure");
    window.until(|window| window.says("Ready by its temperatures: "));
    assert!(
        window.says("Dry seed bears frost"),
        "what a freeze means is said"
    );
    window.press_with(egui::Modifiers::COMMAND, Key::Z);
    assert!(window.project().temperature_logs().is_empty(), "one step");
    assert!(window.project().chill_batches().contains(batch));
}

/// All days and months are at most 12, within one hour: nothing in the file tells them apart.
const EITHER: &[u8] = b"Date;Temp;Box\n03/01/2026 08:00;3,5;38,3\n03/01/2026 08:30;3,6;38,4\n03/01/2026 09:00;3,7;38,6\n";

#[test]
fn a_guess_is_corrected_and_remembered_for_the_logger() {
    let (project, ..) = project();
    let mut window = window(&project, EITHER);
    window.click(Role::Button, "Import a file…");
    window.until(|window| window.has(Role::Button, "Keep 3 temperatures"));
    assert!(window.says("Day and month can't be distinguished"));
    assert!(window.has(Role::Label, "From: 3 Jan 2026 08:00"));
    window.choose("Dates are", "month, day, year");
    window.until(|window| window.has(Role::Label, "From: 1 Mar 2026 08:00"));
    window.choose("Temperature in", "3. Box");
    window.click(Role::RadioButton, "°F");
    window.until(|window| window.has(Role::Label, "Temperatures: 3.5 °C to 3.7 °C"));
    window.until(|window| window.has(Role::Button, "Keep 3 temperatures"));
    window.click(Role::RadioButton, "one batch");
    window.until(|window| {
        let keep = window
            .harness
            .get_by_role_and_label(Role::Button, "Keep 3 temperatures");
        !keep.accesskit_node().is_disabled()
    });
    window.click(Role::Button, "Keep 3 temperatures");
    let log = window.project().temperature_logs().iter().next().unwrap();
    assert!(matches!(log.at, LogPlace::Batch(_)));
    assert_eq!(
        log.readings.first().unwrap().moment().to_string(),
        "2026-03-01 08:00:00"
    );
    window.click(Role::Button, "Import a file…");
    window.until(|window| window.says("Read as you set it before for this logger."));
    window.until(|window| window.has(Role::Label, "From: 1 Mar 2026 08:00"));
}

#[test]
fn a_file_of_no_logger_says_so_and_can_be_put_away() {
    let (project, ..) = project();
    let mut window = window(&project, b"to whom it may concern\nthis is a letter\n");
    window.click(Role::Button, "Import a file…");
    window
        .until(|window| window.says("No column of times with a column of temperatures was found."));
    assert!(window.says("line 1: it has 1 fields"));
    window.click(Role::Button, "Cancel");
    assert!(window.has(Role::Button, "Enter a reading…"));
}

#[test]
fn a_temperature_is_written_down_by_keyboard_alone() {
    let (project, ..) = project();
    let mut window = window(&project, b"");
    window.focus(Role::Button, "Enter a reading…");
    window.press(Key::Enter);
    window.focus(Role::TextInput, "Time of the reading");
    window.write("25:00");
    window.fill("Temperature read", "3.4");
    assert!(window.has(Role::Label, "Write the time as 07:30."));
    window.focus(Role::TextInput, "Time of the reading");
    window.press(Key::Enter);
    assert!(window.project().temperature_logs().is_empty());
    window.retype("07:30");
    window.press(Key::Enter);
    let log = window.project().temperature_logs().iter().next().unwrap();
    assert_eq!(log.at, LogPlace::Place("Seed refrigerator".into()));
    assert_eq!(
        log.readings.last().unwrap().moment().to_string(),
        "2026-03-10 07:30:00"
    );
    assert_eq!(log.readings.last().unwrap().hundredths, 340);
}
