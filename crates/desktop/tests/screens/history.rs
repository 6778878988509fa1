//! The history screen, driven by name: a backup restored, two copies brought together, a second window that takes over,
//! and a program killed before it saved.

use crate::window::{Window, begun, day, founder};
use domain::record::genotype::GenotypeField;
use domain::record::settings::SettingsField;
use domain::{Edit, Note};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use store::Store;

fn place(window: &Window) -> &str {
    &window.project().settings().place
}

pub(crate) fn set_place(place: &str) -> Edit {
    Edit::Settings(SettingsField::Place(place.into()))
}

#[test]
fn a_backup_is_compared_restored_and_the_restoring_undone() {
    let (mut project, mut ids) = begun();
    founder(&mut project, &mut ids, "F-01", None);
    let mut window = Window::on(&project, Key::Num1);
    window.save();
    let path = window.path();
    let backups = Store::new("test").backups(&path).unwrap();
    assert_eq!(backups.len(), 1, "the save left one");
    window.click(Role::Tab, "Setup");
    window.enter("Place of the program", "Hill");
    assert_eq!(place(&window), "Hill");
    window.click(Role::Tab, "History");
    window.click(Role::RadioButton, "Backups");
    let row = format!(
        "Backup of {}",
        backups[0]
            .at
            .with_timezone(&chrono::Local)
            .format("%-d %b %Y %H:%M")
    );
    window.wait_for(Role::Row, &row);
    window.click(Role::Row, &row);
    window.wait_for(Role::Label, "Differs from now: 1 setting.");
    window.click(Role::Button, "Restore it");
    assert_eq!(place(&window), "");
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert_eq!(place(&window), "Hill");
    // The changes tell who did what.
    window.click(Role::RadioButton, "Changes");
    window.wait_for(Role::Row, "Change 3");
    window.click(Role::Row, "Change 1");
    window.wait_for(Role::Label, "What: change place of the program");
}

#[test]
fn two_copies_come_together_and_the_person_decides_where_they_clash() {
    let (mut project, mut ids) = begun();
    founder(&mut project, &mut ids, "F-01", None);
    let mut window = Window::answering(&project, Key::Num1, |folder| {
        Some(folder.join("other.binewright"))
    });
    let other = window.folder().join("other.binewright");
    std::fs::copy(window.path(), &other).unwrap();
    let opened = Store::new("Otto").open(&other).unwrap();
    let mut theirs = opened.project;
    for edit in [
        set_place("Meadow"),
        Edit::Settings(SettingsField::Name("Tarn".into())),
    ] {
        theirs.apply(edit.clone()).unwrap();
        opened.file.append(&edit).unwrap();
    }
    opened.file.flush().unwrap();
    drop(opened.file);
    window.click(Role::Tab, "Setup");
    window.enter("Place of the program", "Hill");
    window.click(Role::Tab, "History");
    window.click(Role::RadioButton, "Merge a copy");
    window.click(Role::Button, "Choose the other copy…");
    window.wait_for(
        Role::Label,
        "Comes in from the other copy: 1 setting. To decide: 1.",
    );
    window.click(Role::RadioButton, "Take there: change place of the program");
    window.click(Role::Button, "Merge");
    assert_eq!(place(&window), "Meadow");
    assert_eq!(window.project().settings().name, "Tarn");
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert_eq!(place(&window), "Hill");
}

#[test]
fn a_second_window_only_reads_and_takes_over_when_the_first_is_gone() {
    let (project, _) = begun();
    let first = Window::on(&project, Key::Num1);
    let path = first.path();
    let mut second = Window::another(&path);
    assert!(
        second
            .harness
            .state()
            .project()
            .unwrap()
            .read_only()
            .is_some()
    );
    let mut first = first;
    first.harness.state_mut().close_project();
    second.wait_for(Role::Button, "Take over");
    second.click(Role::Button, "Take over");
    assert!(
        second
            .harness
            .state()
            .project()
            .unwrap()
            .read_only()
            .is_none()
    );
}

/// Writes to the open file as another program would: a copy that went its own way is put in its place.
pub(crate) fn written_by_another(window: &Window, edit: &Edit) {
    let path = window.path();
    let apart = window.folder().join("apart.binewright");
    std::fs::copy(&path, &apart).unwrap();
    let mut opened = Store::new("Otto").open(&apart).unwrap();
    opened.project.apply(edit.clone()).unwrap();
    opened.file.append(edit).unwrap();
    opened.file.save(&opened.project).unwrap();
    std::fs::copy(&apart, &path).unwrap();
}

#[test]
fn a_file_changed_by_another_program_is_told_even_in_the_past_and_brought_together_or_saved_over() {
    let (project, _) = begun();
    let mut window = Window::on(&project, Key::Num1);
    window.change("Ida", |_| vec![set_place("Hill")]);
    window.click(Role::Tab, "History");
    window.wait_for(Role::Row, "Change 1");
    window.click(Role::Row, "Change 1");
    window.wait_for(Role::Button, "Open as it was then");
    window.click(Role::Button, "Open as it was then");
    written_by_another(&window, &Edit::Settings(SettingsField::Name("Tarn".into())));
    window.wait_for(Role::Button, "Merge…");
    window.click(Role::Button, "Merge…");
    assert!(!window.has(Role::Button, "Back to now"));
    // The window knows what both began from: one changed the name, the other the place, and nothing is to be decided.
    window.wait_for(Role::Button, "Merge");
    window.click(Role::Button, "Merge");
    assert_eq!(window.project().settings().name, "Tarn");
    assert_eq!(place(&window), "Hill");
    // What the other wrote is in the project now: saving needs no question.
    window.press_with(Modifiers::COMMAND, Key::S);
    window.until_saved();
    let saved = Store::new("test").open_read_only(&window.path()).unwrap();
    assert!(saved.project == *window.project());
    window.wait_without(Role::Button, "Merge…");
}

#[test]
fn a_second_window_reads_again_what_the_first_changed() {
    let (project, _) = begun();
    let mut first = Window::on(&project, Key::Num1);
    let mut second = Window::another(&first.path());
    second.press_with(Modifiers::COMMAND, Key::Z);
    assert!(second.notice().contains("open"), "{}", second.notice());
    first.change("Ida", |_| vec![set_place("Hill")]);
    second.wait_for(Role::Button, "Read it again");
    second.click(Role::Button, "Read it again");
    assert_eq!(place(&second), "Hill");
    assert!(!second.has(Role::Button, "Read it again"));
    // A moment is looked at from there too, and the way back leads to reading only.
    second.click(Role::Tab, "History");
    second.wait_for(Role::Row, "Change 1");
    second.click(Role::Row, "Change 1");
    second.wait_for(Role::Button, "Open as it was then");
    second.click(Role::Button, "Open as it was then");
    second.click(Role::Button, "Back to now");
    let open = second.harness.state().project().unwrap();
    assert!(open.read_only().is_some() && open.moment().is_none());
}

#[test]
fn what_a_killed_program_had_not_saved_is_brought_back_and_told() {
    let (project, _) = begun();
    let mut window = Window::on(&project, Key::Num1);
    window.click(Role::Tab, "Setup");
    window.enter("Place of the program", "Hill");
    window
        .harness
        .state()
        .project()
        .unwrap()
        .file()
        .flush()
        .unwrap();
    // What lies on the disk at this moment is what a kill leaves.
    let left = tempfile::tempdir().unwrap();
    let name = |suffix: &str| format!("yard.binewright{suffix}");
    for suffix in ["", "-journal"] {
        let from = window.folder().join(name(suffix));
        std::fs::copy(from, left.path().join(name(suffix))).unwrap();
    }
    let again = Window::another(&left.path().join(name("")));
    assert_eq!(place(&again), "Hill");
    assert!(
        again.notice().contains("Brought back 1 change"),
        "{}",
        again.notice()
    );
}

/// A window on two plants: Ida moved both and wrote a note on the first, Otto named the place.
fn changed_by_two() -> Window {
    let (mut project, mut ids) = begun();
    let [first, second] = ["F-01", "F-02"].map(|code| founder(&mut project, &mut ids, code, None));
    let mut window = Window::on(&project, Key::Num2);
    window.change("Ida", |ids| {
        let to = |plant, row: &str| Edit::set(plant, GenotypeField::Location(row.into()));
        let note = Edit::add(Note {
            id: ids.next(),
            about: first.into(),
            date: day("2026-03-09"),
            text: "cones early".into(),
            by: "Ida".into(),
        });
        vec![
            to(first, "Row 1"),
            to(second, "Row 2"),
            note,
            to(first, "Row 3"),
        ]
    });
    window.change("Otto", |_| vec![set_place("Hill")]);
    window
}

fn changes(window: &Window) -> Vec<u32> {
    (1..=5)
        .filter(|number| window.has(Role::Row, &format!("Change {number}")))
        .collect()
}

#[test]
fn changes_are_filtered_by_kind_person_words_and_days_all_at_once() {
    let mut window = changed_by_two();
    window.click(Role::Tab, "History");
    window.wait_for(Role::Label, "5 changes");
    window.choose("RecordKind of record", "Plants");
    assert_eq!(changes(&window), [1, 2, 4]);
    assert!(window.has(Role::Label, "3 of 5 changes"));
    window.focus(Role::TextInput, "Code, or a person");
    window.write("f-01");
    assert_eq!(changes(&window), [1, 4]);
    window.choose("RecordKind of record", "Any kind");
    assert_eq!(changes(&window), [1, 3, 4], "with its note");
    window.choose("Person", "Otto");
    assert!(
        window.has(Role::Label, "0 of 5 changes") && window.has(Role::Label, "No change fits.")
    );
    window.click(Role::Button, "Clear: Code, or a person");
    assert_eq!(changes(&window), [5]);
    window.choose("RecordKind of record", "Settings");
    assert_eq!(changes(&window), [5]);
    let today = chrono::Local::now().date_naive();
    window.enter("Last day", &(today - chrono::Days::new(1)).to_string());
    assert!(window.has(Role::Label, "No change fits."));
    window.enter("Last day", &today.to_string());
    window.enter("First day", &today.to_string());
    assert_eq!(changes(&window), [5]);
    window.click(Role::Button, "Clear all filters");
    assert_eq!(changes(&window), [1, 2, 3, 4, 5]);
    assert!(window.has(Role::Label, "5 changes") && !window.has(Role::Button, "Clear all filters"));
}

#[test]
fn the_page_of_a_record_tells_what_it_went_through_once_it_is_asked() {
    let mut window = changed_by_two();
    window.click(Role::Row, "F-01");
    let last = "place: Row 1 → Row 3";
    assert!(!window.has(Role::Label, last), "nothing is read unasked");
    window.click(Role::DisclosureTriangle, "History of this record");
    window.wait_for(Role::Label, last);
    assert!(window.has(Role::Label, "place: nothing → Row 1"));
    assert!(!window.has(Role::Label, "place: nothing → Row 2"));
    // A change made now is told as soon as it is on the disk; the section stays open from plant to plant.
    window.enter("Location", "Row 4");
    window.wait_for(Role::Label, "place: Row 3 → Row 4");
    window.click(Role::Row, "F-02");
    window.wait_for(Role::Label, "place: nothing → Row 2");
    window.click(Role::Row, "F-01");
    window.click(Role::Button, "All 4 changes of this record");
    window.wait_for(Role::Label, "4 of 6 changes");
    assert_eq!(changes(&window), [1, 3, 4]);
    window.click(Role::Button, "Show more than plant F-01");
    assert_eq!(changes(&window), [1, 2, 3, 4, 5]);
}

#[test]
fn each_kind_of_page_ends_with_the_history_of_its_record() {
    let project = sample::sample_project(crate::window::today()).unwrap();
    let mut window = Window::on(&project, Key::Num1);
    let records: Vec<domain::AnyId> = vec![
        project.genotypes().iter().next().unwrap().id.into(),
        project.crosses().iter().next().unwrap().id.into(),
        project.seed_lots().iter().next().unwrap().id.into(),
        project.chill_boxes().iter().next_back().unwrap().id.into(),
        project.germinations().iter().next_back().unwrap().id.into(),
    ];
    let noted = records.clone();
    window.change("Ida", |ids| {
        let note = |about: domain::AnyId| {
            Edit::add(Note {
                id: ids.next(),
                about,
                date: crate::window::today(),
                text: format!("of a {}", about.kind.noun()),
                by: "Ida".into(),
            })
        };
        noted.into_iter().map(note).collect()
    });
    for (nth, id) in records.into_iter().enumerate() {
        window.harness.state_mut().show_record(id);
        window.settle();
        let title = "History of this record";
        window.wait_for(Role::DisclosureTriangle, title);
        if nth == 0 {
            window.click(Role::DisclosureTriangle, title);
        }
        window.wait_for(Role::Label, &format!("add note: of a {}", id.kind.noun()));
        window.wait_for(Role::Button, "Show it in the history");
    }
}

#[test]
fn one_change_is_taken_back_by_itself_and_what_came_later_stays() {
    let mut window = changed_by_two();
    let (first, second) = (window.plant("F-01").id, window.plant("F-02").id);
    let note = window.project().notes().iter().next().unwrap().clone();
    window.change("Otto", |_| {
        let to = |plant| Edit::set(plant, GenotypeField::Location("Row 9".into()));
        vec![
            Edit::remove(note.id),
            Edit::All {
                label: "move 2 plants".into(),
                edits: vec![to(first), to(second)],
            },
            Edit::set(first, GenotypeField::Location("Row 10".into())),
        ]
    });
    let take_back = |window: &mut Window, change: &str| {
        window.wait_for(Role::Row, change);
        window.click(Role::Row, change);
        window.click(Role::Button, "Undo this change");
    };
    window.click(Role::Tab, "History");
    // A note that was taken away comes back as it was.
    take_back(&mut window, "Change 6");
    // What one does oneself is a change too; it comes without moving the rows that are looked at.
    let place = |window: &Window| {
        let row = window.harness.get_by_role_and_label(Role::Row, "Change 7");
        row.rect().top()
    };
    let stood = place(&window);
    window.wait_for(Role::Button, "Show 1 newer");
    assert!((place(&window) - stood).abs() < 0.5, "it slid away");
    window.click(Role::Button, "Show 1 newer");
    window.wait_for(Role::Row, "Change 9");
    assert_eq!(window.project().notes().get(note.id), Some(&note));
    assert_eq!(window.notice(), "Take back: remove note on plant F-01");
    // Of the two plants moved, one was moved again since: that one stays.
    take_back(&mut window, "Change 7");
    assert_eq!(window.plant("F-01").location, "Row 10");
    assert_eq!(window.plant("F-02").location, "Row 2");
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert_eq!(window.plant("F-02").location, "Row 9");
    // Nothing of what was changed again is left to take back.
    window.wait_for(Role::Row, "Change 4");
    window.click(Role::Row, "Change 4");
    let button = window
        .harness
        .get_by_role_and_label(Role::Button, "Undo this change");
    assert!(button.accesskit_node().is_disabled());
}

#[test]
fn going_through_the_changes_by_keys_compares_the_one_where_it_ends() {
    let mut window = changed_by_two();
    window.click(Role::Tab, "History");
    window.wait_for(Role::Row, "Change 5");
    window.click(Role::Row, "Change 5");
    for _ in 0..4 {
        window.press(Key::ArrowDown);
    }
    window.wait_for(
        Role::Label,
        "Differs from now: 2 plants, 1 note and 1 setting.",
    );
    assert!(window.has(Role::Label, "What: place of plant F-01"));
    // What is changed while it is looked at is compared with it too.
    window.change("Otto", |_| vec![set_place("")]);
    window.wait_for(Role::Label, "Differs from now: 2 plants and 1 note.");
}
