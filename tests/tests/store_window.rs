//! The window on a disk that fails and beside programs that meddle: what isn't kept is marked where it was made, and every
//! way back is one button, driven by name.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::model_disk::{Failure, ModelDisk};
use chrono::NaiveDate;
use desktop::app::{App, Places};
use desktop::open_project::OpenProject;
use desktop::preferences::Preferences;
use desktop::view::Screen;
use domain::record::genotype::GenotypeField;
use domain::record::settings::SettingsField;
use domain::{Edit, Genotype, Hemisphere, Id, IdSource, Note, Origin, Project, actions};
use egui::Role;
use egui_kittest::{
    Harness,
    kittest::{NodeT as _, Queryable as _},
};
use kit::theme::Theme;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};
use store::{Existing, Store};

const FILE: &str = "/season.binewright";
/// How long a worker may take on a machine that has much else to do.
const PATIENCE: Duration = Duration::from_mins(2);

fn today() -> NaiveDate {
    "2026-03-10".parse().unwrap()
}

/// A project with three plants.
fn yard() -> (Project, Vec<Id<Genotype>>) {
    let (project, plants, _) = yard_by_edits();
    (project, plants)
}

/// The same, with the edits that made it.
fn yard_by_edits() -> (Project, Vec<Id<Genotype>>, Vec<Edit>) {
    let mut ids = IdSource::new(1_770_000_000_000, 7);
    let mut project = Project::default();
    let begun = actions::begin_project("Tarn yard", Hemisphere::Northern, &mut ids);
    let mut edits = vec![begun.clone()];
    project.apply(begun).unwrap();
    let plants = ["F-01", "F-02", "F-03"].map(|code| {
        let plant = Genotype::new(ids.next(), code, Origin::Unknown);
        let id = plant.id;
        edits.push(Edit::add(plant.clone()));
        project.apply(Edit::add(plant)).unwrap();
        id
    });
    (project, plants.into(), edits)
}

/// A folder with the project saved in it.
fn folder() -> (tempfile::TempDir, PathBuf, Project) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("season.binewright");
    let (project, _, edits) = yard_by_edits();
    let file = Store::new("Ida").create(&path, &Project::default(), Existing::Keep);
    let file = file.unwrap();
    for edit in edits {
        file.append(&edit).unwrap();
    }
    file.save(&project).unwrap();
    (folder, path, project)
}

struct Window(Harness<'static, App>);

impl Window {
    fn on(open: Result<OpenProject, &Path>) -> Self {
        let places = Places {
            preferences: None,
            samples: std::env::temp_dir(),
        };
        let mut app = App::new(
            Preferences::default(),
            places,
            Box::new(|_: &_| None),
            Box::new(today),
        );
        match open {
            Ok(open) => app.open_project(open),
            Err(path) => app.open_path(path),
        }
        let mut window = Self(
            Harness::builder()
                .with_size([1280.0, 720.0])
                .with_context_setup(|ctx| Theme::Light.apply(ctx))
                .build_ui_state(|ui, app: &mut App| app.show(ui), app),
        );
        window.draw();
        window
    }

    fn draw(&mut self) {
        self.0.run_steps(3);
    }

    fn go(&mut self, screen: Screen) {
        self.0.state_mut().go(screen);
        self.draw();
    }

    fn open(&mut self) -> &mut OpenProject {
        self.0.state_mut().project_mut().unwrap()
    }

    /// Every name that is said on screen.
    fn said(&self) -> String {
        let root = self.0.root();
        let all = root.children_recursive();
        let names = all.filter_map(|node| {
            let node = node.accesskit_node();
            node.label().or_else(|| node.value())
        });
        names.collect::<Vec<_>>().join("\n")
    }

    fn says(&self, words: &str) -> bool {
        self.said().contains(words)
    }

    fn until(&mut self, words: &str) {
        let begun = Instant::now();
        while !self.says(words) {
            assert!(
                begun.elapsed() < PATIENCE,
                "never '{words}':\n{}",
                self.said()
            );
            std::thread::sleep(Duration::from_millis(10));
            self.draw();
        }
    }

    fn click(&mut self, button: &str) {
        self.0.get_by_role_and_label(Role::Button, button).click();
        self.draw();
    }
}

#[test]
fn a_change_that_is_not_on_the_disk_is_marked_at_its_row_and_on_its_page() {
    let disk = ModelDisk::default();
    let store = Store::with_files("Ida", Arc::new(disk.clone()));
    let (project, plants) = yard();
    drop(
        store
            .create(Path::new(FILE), &project, Existing::Keep)
            .unwrap(),
    );
    let mut window = Window::on(Ok(OpenProject::open_in(store, Path::new(FILE)).unwrap()));
    window.go(Screen::Plants);
    let change = |window: &mut Window, edit: Edit| {
        window.open().apply(&edit).unwrap();
        let _ = window.open().file().flush();
        window.draw();
    };
    let row_of =
        |plant: Id<Genotype>, row: &str| Edit::set(plant, GenotypeField::Location(row.into()));
    change(&mut window, row_of(plants[0], "Row 1"));
    assert!(!window.says(kit::unkept::WORDS), "{}", window.said());
    disk.set_unwritable(Some(ErrorKind::StorageFull));
    change(&mut window, row_of(plants[1], "Row 2"));
    // A note is read on the page of its plant.
    let note = Note {
        id: IdSource::new(1_780_000_000_000, 9).next(),
        about: plants[2].into(),
        date: today(),
        text: "late shoots".into(),
        by: "Ida".into(),
    };
    change(&mut window, Edit::add(note));
    for (code, marked) in [("F-01", false), ("F-02", true), ("F-03", true)] {
        let row = format!("{code}, {}", kit::unkept::WORDS);
        assert_eq!(window.says(&row), marked, "{code}: {}", window.said());
    }
    // And in the corner.
    assert!(window.says("not written"), "{}", window.said());
    window.0.state_mut().show_record(plants[1].into());
    window.until("The last change here is not on the disk");
    disk.set_unwritable(None);
    window.open().file().flush().unwrap();
    window.draw();
    assert!(!window.says(kit::unkept::WORDS), "{}", window.said());
    assert!(!window.says("The last change here is not on the disk"));
}

#[test]
fn what_is_done_on_today_is_not_called_done_while_the_disk_is_full() {
    let disk = ModelDisk::default();
    let store = Store::with_files("Ida", Arc::new(disk.clone()));
    let project = sample::sample_project(today()).unwrap();
    drop(
        store
            .create(Path::new(FILE), &project, Existing::Keep)
            .unwrap(),
    );
    let mut window = Window::on(Ok(OpenProject::open_in(store, Path::new(FILE)).unwrap()));
    window.go(Screen::Calendar);
    disk.set_unwritable(Some(ErrorKind::StorageFull));
    let said = window.said();
    let mark = said
        .lines()
        .find(|line| line.starts_with("Mark box ") && line.ends_with(" as checked"));
    let mark = mark.unwrap_or_else(|| panic!("{said}")).to_owned();
    let code = mark.split(' ').nth(2).unwrap().to_owned();
    window.0.get_by_label(&mark).click();
    window.draw();
    let _ = window.open().file().flush();
    window.draw();
    // At its row, and at the foot, which would show a tick.
    let row = format!("{code}, {}", kit::unkept::WORDS);
    assert!(window.says(&row), "{row}: {}", window.said());
    let foot = format!(": {}", kit::unkept::WORDS);
    assert!(window.says(&foot), "{}", window.said());
    disk.set_unwritable(None);
    window.open().file().flush().unwrap();
    window.draw();
    assert!(!window.says(kit::unkept::WORDS), "{}", window.said());
}

#[test]
fn what_was_changed_outside_the_program_can_be_looked_at() {
    let (_folder, path, _) = folder();
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replacen("\"F-02\"", "\"F-22\"", 1)).unwrap();
    let mut window = Window::on(Err(&path));
    window.until("changed outside the program since");
    window.click("Look at the difference…");
    window.until("F-22");
    window.click("Close");
    assert!(!window.says("F-22"), "{}", window.said());
    assert!(window.says("Look at the difference"));
}

#[test]
fn a_journal_that_went_its_own_way_is_offered_back() {
    let (folder, path, _) = folder();
    let journal = folder.path().join("season.binewright-journal");
    // The other machine went on from the same save and saved; its journal came here, its file didn't.
    let place = |name: &str| Edit::Settings(SettingsField::Place(name.into()));
    let before = [fs::read(&path).unwrap(), fs::read(&journal).unwrap()];
    let change = |name: &str| {
        let mut opened = Store::new("Otto").open(&path).unwrap();
        opened.project.apply(place(name)).unwrap();
        opened.file.append(&place(name)).unwrap();
        opened.file.save(&opened.project).unwrap();
    };
    change("Meadow");
    let theirs = fs::read(&journal).unwrap();
    fs::write(&path, &before[0]).unwrap();
    fs::write(&journal, &before[1]).unwrap();
    change("Hill");
    fs::write(&journal, &theirs).unwrap();
    let mut window = Window::on(Err(&path));
    window.until("was put aside, whole: season.binewright-journal.other-");
    assert_eq!(window.open().project().settings().place, "Hill");
    // Later it is among the findings, and offered there.
    window.go(Screen::Findings);
    window.until("to bring it in");
    window.click("Look at it…");
    window.until("To decide: 1");
    assert!(window.says("Meadow"), "{}", window.said());
    // Nothing was thrown away.
    let aside = fs::read_dir(folder.path()).unwrap();
    assert!(
        aside
            .filter_map(|entry| fs::read(entry.unwrap().path()).ok())
            .any(|bytes| bytes == theirs)
    );
}

fn cut_in_half(path: &Path) {
    let bytes = fs::read(path).unwrap();
    fs::write(path, &bytes[..bytes.len() * 55 / 100]).unwrap();
}

#[test]
fn what_is_missing_from_a_damaged_file_comes_back_by_one_button() {
    let (folder, path, project) = folder();
    cut_in_half(&path);
    // Without its journal it is the backup that has it.
    fs::remove_file(folder.path().join("season.binewright-journal")).unwrap();
    let mut window = Window::on(Err(&path));
    window.until("are missing; the backup of");
    assert!(window.open().read_only().is_some());
    assert!(
        window.says("records missing") && !window.says("saved"),
        "{}",
        window.said()
    );
    window.click("Bring back what is missing");
    window.until("were brought back");
    assert_eq!(window.open().read_only(), None);
    assert_eq!(
        window.open().project().record_count(),
        project.record_count()
    );
    assert!(!window.says("Bring back what is missing"));
    drop(window);
    let opened = Store::new("Ida").open(&path).unwrap();
    assert_eq!(opened.project.record_count(), project.record_count());
}

#[test]
fn damage_that_is_gone_on_without_stays_among_the_findings() {
    let (_folder, path, project) = folder();
    cut_in_half(&path);
    let mut window = Window::on(Err(&path));
    window.until("are missing; the journal has every missing record");
    window.click("Go on without it");
    assert_eq!(window.open().read_only(), None);
    assert!(window.open().project().record_count() < project.record_count());
    drop(window);
    let mut window = Window::on(Err(&path));
    window.go(Screen::Findings);
    window.until("went missing from a damaged file, which was gone on with on");
}

#[test]
fn a_project_that_another_machine_has_is_taken_over_by_a_button() {
    let (folder, path, _) = folder();
    let lock = folder.path().join("season.binewright-lock");
    let text =
        r#"{"who":"Otto","machine":"the yard laptop","process":1,"since":"2026-03-01T08:00:00Z"}"#;
    fs::write(&lock, text).unwrap();
    let mut window = Window::on(Err(&path));
    window.until("Otto on the yard laptop");
    assert!(window.open().read_only().is_some());
    window.click("Take over");
    assert_eq!(window.open().read_only(), None);
    assert!(!window.says("Take over"));
}

/// A window on a project that lies on a disk of ours.
fn on_a_model_disk() -> (Window, ModelDisk, Vec<Id<Genotype>>) {
    let disk = ModelDisk::default();
    let store = Store::with_files("Ida", Arc::new(disk.clone()));
    let (project, plants) = yard();
    let made = store.create(Path::new(FILE), &project, Existing::Keep);
    drop(made.unwrap());
    let open = OpenProject::open_in(store, Path::new(FILE)).unwrap();
    (Window::on(Ok(open)), disk, plants)
}

impl Window {
    fn change(&mut self, plant: Id<Genotype>, row: &str) {
        let edit = Edit::set(plant, GenotypeField::Location(row.into()));
        self.open().apply(&edit).unwrap();
        self.draw();
    }

    fn save(&mut self) {
        let ctx = self.0.ctx.clone();
        self.0.state_mut().save(&ctx);
    }
}

#[test]
fn a_save_that_breaks_off_says_so_and_the_next_one_saves() {
    let (mut window, disk, plants) = on_a_model_disk();
    window.change(plants[0], "Row 1");
    disk.set_unmakeable(Some(("/season.binewright-new", Failure::Panics)));
    window.save();
    window.until("the work broke off");
    assert!(!window.says("Saved in"), "{}", window.said());
    assert!(window.open().file().has_unsaved());
    disk.set_unmakeable(None);
    window.save();
    window.until("Saved in");
    assert!(!window.open().file().has_unsaved());
}

#[test]
fn a_closing_save_that_fails_says_so_and_stays_open() {
    let (mut window, disk, plants) = on_a_model_disk();
    window.change(plants[0], "Row 1");
    disk.set_unmakeable(Some((
        "/season.binewright-new",
        Failure::Refused(ErrorKind::StorageFull),
    )));
    window.0.state_mut().close_project();
    window.until("full");
    assert!(window.open().file().has_unsaved());
    disk.set_unmakeable(None);
    window.0.state_mut().close_project();
    assert!(window.0.state().project().is_none());
}

#[test]
fn a_backup_that_fails_says_so_where_the_save_is_told_and_in_the_corner() {
    let (mut window, disk, plants) = on_a_model_disk();
    disk.set_unmakeable(Some(("/season.binewright-backups", Failure::Broken)));
    window.change(plants[0], "Row 1");
    window.save();
    window.until("Saved, but no backup could be left");
    window.until("saved, no backup");
    // Also where the save comes with the closing: once, and closing again lets go.
    window.change(plants[0], "Row 2");
    window.0.state_mut().close_project();
    window.draw();
    assert!(
        window.says("Saved, but no backup could be left"),
        "{}",
        window.said()
    );
    window.0.state_mut().close_project();
    assert!(window.0.state().project().is_none());
    // What works again is no longer told.
    disk.set_unmakeable(None);
    let (mut window, _, plants) = on_a_model_disk();
    window.change(plants[0], "Row 1");
    window.save();
    window.until("Saved in");
    assert!(!window.says("no backup"), "{}", window.said());
}

#[test]
fn a_photo_that_fails_while_the_project_is_closed_says_so() {
    let (mut window, disk, plants) = on_a_model_disk();
    let camera = Path::new("/camera.jpg");
    disk.put(camera, b"\xFF\xD8\xFF the yard in July");
    for (failure, told) in [
        (Failure::Refused(ErrorKind::StorageFull), "full"),
        (Failure::Panics, "the work broke off"),
    ] {
        disk.set_unmakeable(Some(("/photos", failure)));
        let ctx = window.0.ctx.clone();
        let kept = window
            .open()
            .keep_photo(&ctx, plants[0].into(), camera, today());
        kept.unwrap();
        window.0.state_mut().close_project();
        window.draw();
        assert!(window.says(told), "{}", window.said());
        assert_eq!(window.open().project().photos().len(), 0);
    }
    // While it stays open, too.
    window.save();
    window.until("Saved in");
    let ctx = window.0.ctx.clone();
    let kept = window
        .open()
        .keep_photo(&ctx, plants[0].into(), camera, today());
    kept.unwrap();
    window.until("copying a photo");
    disk.set_unmakeable(None);
    let kept = window
        .open()
        .keep_photo(&ctx, plants[0].into(), camera, today());
    kept.unwrap();
    window.0.state_mut().close_project();
    assert!(window.0.state().project().is_none());
    let store = Store::with_files("Ida", Arc::new(disk));
    let opened = store.open(Path::new(FILE)).unwrap();
    assert_eq!(opened.project.photos().len(), 1);
}

/// Nobody has signed yet, nothing is typed and nothing saved: the watch alone notices it.
#[test]
fn a_file_replaced_under_an_open_window_is_told_within_a_tick_and_saved_is_withdrawn() {
    let (_folder, path, _) = folder();
    let mut window = Window::on(OpenProject::open(&path, "").map_err(|error| panic!("{error}")));
    assert_eq!(window.open().save_state().word, "saved");
    let other = path.with_file_name("other.binewright");
    drop(
        Store::new("Ben")
            .create(&other, &yard().0, Existing::Keep)
            .unwrap(),
    );
    fs::rename(&other, &path).unwrap();
    let begun = Instant::now();
    window.until("Another program changed the file");
    // Twice its tick, and time for a machine that has much else to do.
    assert!(begun.elapsed() < Duration::from_secs(30));
    let state = window.open().save_state();
    assert_eq!(state.word, "file changed", "{}", state.detail);
    assert!(!state.passing);
    window.draw();
    assert!(window.says("file changed") && !window.says("\nsaved\n"));
}

/// What the window shows of a loss that was gone on with is what the commands say, until it is mended.
#[test]
fn an_accepted_loss_stays_on_the_badge_and_among_the_findings() {
    let (_folder, path, _) = folder();
    let text = fs::read_to_string(&path).unwrap();
    let mut file: serde_json::Value = serde_json::from_str(&text).unwrap();
    let plants = file["project"]["genotypes"].as_array_mut().unwrap();
    plants.pop();
    fs::write(&path, serde_json::to_vec_pretty(&file).unwrap()).unwrap();
    fs::remove_file(path.with_file_name("season.binewright-journal")).unwrap();
    let _ = fs::remove_dir_all(path.with_file_name("season.binewright-backups"));
    let mut window = Window::on(OpenProject::open(&path, "Ida").map_err(|error| panic!("{error}")));
    window.click("Go on without it");
    for _ in 0..2 {
        let state = window.open().save_state();
        assert_eq!(state.word, "records missing", "{}", state.detail);
        assert!(
            state.detail.contains("1 plant went missing"),
            "{}",
            state.detail
        );
        window.go(Screen::Findings);
        assert!(window.says("Faults 1"), "{}", window.said());
        assert!(window.says("1 plant went missing"));
        // Saved and opened again, it stands there still.
        let open = window.open();
        open.apply(&Edit::Settings(SettingsField::Place("On".into())))
            .unwrap();
        assert!(open.finish().unwrap().is_none());
        drop(window);
        window = Window::on(OpenProject::open(&path, "Ida").map_err(|error| panic!("{error}")));
    }
}

#[test]
fn changes_that_a_journal_lost_are_on_the_badge_too() {
    let (_folder, path, _) = folder();
    let journal = path.with_file_name("season.binewright-journal");
    let opened = Store::new("Ida").open(&path).unwrap();
    for n in 0..3 {
        let edit = Edit::Settings(SettingsField::Place(format!("Hill {n}")));
        opened.file.append(&edit).unwrap();
    }
    drop(opened);
    let mut bytes = fs::read(&journal).unwrap();
    let at = bytes.windows(6).position(|part| part == b"Hill 1").unwrap();
    bytes[at] ^= 1;
    fs::write(&journal, bytes).unwrap();
    let mut window = Window::on(OpenProject::open(&path, "Ida").map_err(|error| panic!("{error}")));
    let state = window.open().save_state();
    assert_eq!(state.word, "changes missing", "{}", state.detail);
    window.go(Screen::Findings);
    assert!(
        window.says("Faults 1") && window.says("2 changes"),
        "{}",
        window.said()
    );
}
