//! A picture of each screen on the sample season, light and dark, drawn by a software renderer and held against
//! the pictures in `snapshots/`. Needs a Vulkan driver for the processor (`mesa-vulkan-drivers`), and fails where
//! there is none.
//!
//! Moments are told as the machine's clock shows them: the pictures are those of a machine set to UTC (`TZ=UTC`).
//!
//! `UPDATE_SNAPSHOTS=true cargo test --workspace --features binewright-tests/pixels --test pictures` draws them anew; look
//! at each before it is committed.
#![cfg(feature = "pixels")]
#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use std::path::Path;
use std::sync::{Arc, OnceLock};
use std::time::{Duration, Instant};

use binewright_tests::model_disk::ModelDisk;
use chrono::NaiveDate;
use desktop::app::{App, Places};
use desktop::open_project::OpenProject;
use desktop::preferences::{Preferences, ThemeChoice};
use desktop::view::Screen;
use domain::findings::findings;
use domain::record::genotype::GenotypeField;
use domain::record::settings::SettingsField;
use domain::{AnyId, ChillBox, Cross, Edit, Genotype, IdSource, Note, Pollen, Project};
use egui::{Role, UiBuilder};
use egui_kittest::kittest::{AccessKitNode, Queryable as _};
use egui_kittest::{Harness, SnapshotOptions, SnapshotResults};
use kit::theme::Theme;
use store::{Existing, Opened, Store};
use tempfile::TempDir;

const SIZE: [f32; 2] = [1280.0, 720.0];

/// The day in every picture.
fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 2, 10).unwrap()
}

fn sample() -> &'static Project {
    static SAMPLE: OnceLock<Project> = OnceLock::new();
    SAMPLE.get_or_init(|| sample::sample_project(today()).unwrap())
}

/// A window as one person sees it.
struct Sitting {
    harness: Harness<'static, App>,
    /// The project's own folder, for as long as the window is open.
    folder: TempDir,
}

impl Sitting {
    fn new(theme: ThemeChoice, scale: f32, project: Option<&Project>) -> Self {
        let mut sitting = Self::begin(theme, scale, |app, folder| {
            if let Some(project) = project {
                let path = folder.join("season.binewright");
                app.open_project(OpenProject::create(&path, project.clone(), "").unwrap());
            }
        });
        if project.is_some() {
            sitting.wait_for_findings();
        }
        sitting
    }

    /// A window in a folder of its own, in which `open` opens what it shows; its file dialogs answer with 'other.binewright'
    /// there.
    fn begin(theme: ThemeChoice, scale: f32, open: impl FnOnce(&mut App, &Path)) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let places = Places {
            preferences: None,
            samples: folder.path().into(),
        };
        let preferences = Preferences {
            theme,
            ..Preferences::default()
        };
        let other = folder.path().join("other.binewright");
        let answer = Box::new(move |_: &_| Some(other.clone()));
        let mut app = App::new(preferences, places, answer, Box::new(today));
        open(&mut app, folder.path());
        let harness = Harness::builder()
            .with_size(SIZE)
            .with_pixels_per_point(scale)
            .with_max_steps(30)
            .with_options(close_enough())
            .wgpu()
            .with_theme(match theme {
                ThemeChoice::Dark => egui::Theme::Dark,
                ThemeChoice::Light | ThemeChoice::System => egui::Theme::Light,
            })
            .with_context_setup(move |ctx| Theme::from(theme).apply(ctx))
            .build_ui_state(
                |ui, app: &mut App| {
                    // The harness leaves an edge around; the real window has none.
                    let whole = UiBuilder::new().max_rect(ui.content_rect());
                    app.show(&mut ui.new_child(whole));
                },
                app,
            );
        Self { harness, folder }
    }

    /// Draws until a worker has brought what is waited for.
    fn wait_for(&mut self, role: Role, name: &str) {
        let start = Instant::now();
        while self.harness.query_by_role_and_label(role, name).is_none() {
            assert!(
                start.elapsed() < Duration::from_secs(30),
                "no {role:?} '{name}'"
            );
            std::thread::sleep(Duration::from_millis(10));
            self.harness.step();
        }
        self.harness.run();
    }

    /// The findings come from a worker: waits until the sidebar tells how many there are.
    fn wait_for_findings(&mut self) {
        let open = self.harness.state().project().unwrap();
        let number = findings(open.project(), open.day(today())).len();
        let told = format!("Findings, {number}");
        self.wait_for(Role::Tab, &told);
    }

    fn go(&mut self, screen: Screen) {
        self.harness.state_mut().go(screen);
        self.harness.run();
    }

    fn show(&mut self, id: impl Into<AnyId>) {
        self.harness.state_mut().show_record(id.into());
        self.harness.run();
    }

    fn click(&mut self, name: &str) {
        self.harness.get_by_label(name).click();
        self.harness.run();
    }

    /// Draws until no worker has brought anything for a while.
    fn rest(&mut self) {
        for _ in 0..80 {
            std::thread::sleep(Duration::from_millis(50));
            self.harness.step();
        }
        self.harness.run();
    }

    fn scroll_to(&mut self, name: &str) {
        self.harness.get_by_label(name).scroll_to_me();
        self.harness.run();
    }

    /// Takes the picture; how it compares goes to `album`, which fails the test at its end.
    fn snap(mut self, name: &str, album: &mut SnapshotResults) {
        self.harness.remove_cursor();
        self.harness.run();
        self.harness.snapshot(name);
        album.extend_harness(&mut self.harness);
    }
}

/// Another processor rounds the edges of letters otherwise, by less than `threshold` a pixel and in few pixels; a
/// word, a line or a colour that changed is far beyond both.
fn close_enough() -> SnapshotOptions {
    SnapshotOptions::new()
        .threshold(1.0)
        .max_failed_pixels(10)
        .output_path("tests/snapshots")
}

const THEMES: [(ThemeChoice, &str); 2] =
    [(ThemeChoice::Light, "light"), (ThemeChoice::Dark, "dark")];

/// Pictures of the sample season, light and dark, after `steps` taken in it.
fn both(name: &str, album: &mut SnapshotResults, steps: impl Fn(&mut Sitting)) {
    for (theme, word) in THEMES {
        let mut sitting = Sitting::new(theme, 1.0, Some(sample()));
        steps(&mut sitting);
        sitting.snap(&format!("{name}_{word}"), album);
    }
}

/// A picture of a screen where a point is two pixels.
fn fine(screen: Screen, name: &str, theme: ThemeChoice, album: &mut SnapshotResults) {
    let mut sitting = Sitting::new(theme, 2.0, Some(sample()));
    sitting.go(screen);
    sitting.snap(&format!("{name}_fine"), album);
}

#[test]
fn welcome() {
    let album = &mut SnapshotResults::new();
    for (theme, word) in THEMES {
        Sitting::new(theme, 1.0, None).snap(&format!("welcome_{word}"), album);
    }
}

#[test]
fn calendar() {
    let album = &mut SnapshotResults::new();
    both("calendar", album, |sitting| sitting.go(Screen::Calendar));
    fine(Screen::Calendar, "calendar", ThemeChoice::Light, album);
}

#[test]
fn season() {
    both("season", &mut SnapshotResults::new(), |sitting| {
        sitting.go(Screen::Calendar);
        sitting.click("Season");
    });
}

#[test]
fn plants() {
    let selected = |plant: &&Genotype| plant.selected.is_some() && plant.is_alive();
    let plant = sample().genotypes().iter().find(selected).unwrap().id;
    both("plants", &mut SnapshotResults::new(), |sitting| {
        sitting.show(plant);
    });
}

#[test]
fn crosses() {
    let mixed = |cross: &&Cross| matches!(cross.pollen, Pollen::Mix(_));
    let cross = sample().crosses().iter().find(mixed).unwrap().id;
    both("crosses", &mut SnapshotResults::new(), |sitting| {
        sitting.show(cross);
    });
}

#[test]
fn seed_lots() {
    let lot = sample().chill_boxes().iter().next_back().unwrap().lot;
    both("seed_lots", &mut SnapshotResults::new(), |sitting| {
        sitting.show(lot);
    });
}

#[test]
fn chill() {
    let project = sample();
    let looked_into = |each: &&ChillBox| {
        project.run_of(each.id).is_none() && project.checks_of(each.id).next().is_some()
    };
    let mut boxes = project.chill_boxes().iter().filter(looked_into);
    let last = boxes.next_back().unwrap().id;
    both("chill", &mut SnapshotResults::new(), |sitting| {
        sitting.show(last);
    });
}

#[test]
fn seedlings() {
    let album = &mut SnapshotResults::new();
    both("germination", album, |sitting| {
        sitting.go(Screen::Seedlings);
    });
    for (page, name) in [("Scoring", "scoring"), ("Families", "families")] {
        both(name, album, |sitting| {
            sitting.go(Screen::Seedlings);
            sitting.click(page);
        });
    }
}

#[test]
fn family_tree() {
    let album = &mut SnapshotResults::new();
    both("family_tree", album, |sitting| {
        sitting.go(Screen::FamilyTree);
    });
    fine(Screen::FamilyTree, "family_tree", ThemeChoice::Dark, album);
}

#[test]
fn labels() {
    both("labels", &mut SnapshotResults::new(), |sitting| {
        sitting.go(Screen::Labels);
        let boxes = |node: &AccessKitNode<'_>| {
            node.label()
                .is_some_and(|label| label.starts_with("Boxes in the cold"))
        };
        sitting.harness.get_by(boxes).click();
        sitting.harness.run();
    });
}

#[test]
fn findings_told() {
    both("findings", &mut SnapshotResults::new(), |sitting| {
        sitting.go(Screen::Findings);
    });
}

#[test]
fn setup() {
    let album = &mut SnapshotResults::new();
    both("setup", album, |sitting| sitting.go(Screen::Setup));
    both("protocols", album, |sitting| {
        sitting.go(Screen::Setup);
        sitting.click("Protocols");
    });
    fine(Screen::Setup, "setup", ThemeChoice::Light, album);
}

#[test]
fn bench_work() {
    let album = &mut SnapshotResults::new();
    for (screen, name) in [
        (Screen::Sterilising, "sterilising"),
        (Screen::Bench, "seed_bench"),
        (Screen::Temperatures, "temperatures"),
    ] {
        both(name, album, |sitting| {
            sitting.go(screen);
            sitting.rest();
        });
    }
}

/// The file of a whole winter, as it is asked about before it is kept.
#[test]
fn loggers_file() {
    let album = &mut SnapshotResults::new();
    both("logger_file", album, |sitting| {
        let file = include_bytes!("../../examples/logger-winter.csv");
        std::fs::write(sitting.folder.path().join("other.binewright"), file).unwrap();
        sitting.go(Screen::Temperatures);
        sitting.click("Import a file…");
        sitting.wait_for(Role::Label, "Logger: TL-20417");
    });
}

#[test]
fn parents() {
    let album = &mut SnapshotResults::new();
    for (screen, name) in [
        (Screen::Kinship, "kinship"),
        (Screen::Planning, "season_plan"),
    ] {
        both(name, album, |sitting| sitting.go(screen));
    }
}

/// Four plants of the sample that are changed in the pictures of its history.
fn changed_plants() -> Vec<AnyId> {
    let living = |plant: &&Genotype| plant.is_alive() && !plant.location.is_empty();
    let plants = sample().genotypes().iter().filter(living);
    plants.map(|plant| plant.id.into()).take(4).collect()
}

fn moved(plant: AnyId, to: &str) -> Edit {
    Edit::set(
        plant.typed::<Genotype>().unwrap(),
        GenotypeField::Location(to.into()),
    )
}

/// Makes these changes, each a while after the one before, as this person.
fn change(disk: &ModelDisk, opened: &mut Opened, who: &str, edits: Vec<Edit>) {
    opened.file.sign_as(who);
    for edit in edits {
        disk.pass(Duration::from_mins(137));
        opened.project.apply(edit.clone()).unwrap();
        opened.file.append(&edit).unwrap();
    }
    opened.file.flush().unwrap();
}

/// The sample with a history that always has the same hours, laid in a folder; beside it a copy that Otto changed
/// elsewhere.
fn lay_history(folder: &Path) {
    let disk = ModelDisk::default();
    let store = Store::with_files("Ida", Arc::new(disk.clone()));
    let (own, other) = (
        Path::new("/season.binewright"),
        Path::new("/other.binewright"),
    );
    drop(store.create(own, sample(), Existing::Keep).unwrap());
    let mut opened = store.open(own).unwrap();
    let plants = changed_plants();
    let note = Edit::add(Note {
        id: IdSource::new(1_770_000_000_000, 7).next(),
        about: plants[0],
        date: today(),
        text: "Cones early, smells of citrus and hay".into(),
        by: "Ida".into(),
    });
    change(
        &disk,
        &mut opened,
        "Ida",
        vec![moved(plants[0], "Yard B, hill 7"), note],
    );
    opened.file.save(&opened.project).unwrap();
    let row = Edit::All {
        label: "move 2 plants to row 9".into(),
        edits: vec![
            moved(plants[1], "Row 9, hill 1"),
            moved(plants[2], "Row 9, hill 2"),
        ],
    };
    let place = Edit::Settings(SettingsField::Place("Ostrel Valley, upper yard".into()));
    change(&disk, &mut opened, "Otto", vec![row, place]);
    opened.file.save(&opened.project).unwrap();
    drop(
        opened
            .file
            .save_as(other, &opened.project, Existing::Keep)
            .unwrap(),
    );
    change(
        &disk,
        &mut opened,
        "Ida",
        vec![
            moved(plants[0], "Yard B, hill 8"),
            moved(plants[3], "Nursery, bed 2"),
        ],
    );
    opened.file.save(&opened.project).unwrap();
    let mut apart = store.open(other).unwrap();
    change(
        &disk,
        &mut apart,
        "Otto",
        vec![
            moved(plants[0], "Yard C, hill 1"),
            moved(plants[1], "Row 10, hill 1"),
        ],
    );
    apart.file.save(&apart.project).unwrap();
    drop((opened, apart));
    for path in disk.paths() {
        let there = folder.join(path.strip_prefix("/").unwrap());
        std::fs::create_dir_all(there.parent().unwrap()).unwrap();
        std::fs::write(there, disk.peek(&path).unwrap()).unwrap();
    }
}

/// Pictures of the sample with a history, light and dark, after `steps` taken in it.
fn both_of_history(name: &str, album: &mut SnapshotResults, steps: impl Fn(&mut Sitting)) {
    for (theme, word) in THEMES {
        let mut sitting = Sitting::begin(theme, 1.0, |app, folder| {
            lay_history(folder);
            app.open_path(&folder.join("season.binewright"));
        });
        sitting.wait_for_findings();
        sitting.go(Screen::History);
        steps(&mut sitting);
        sitting.snap(&format!("{name}_{word}"), album);
    }
}

#[test]
fn history() {
    let album = &mut SnapshotResults::new();
    let choose = |sitting: &mut Sitting, change: &str| {
        sitting.wait_for(Role::Row, change);
        sitting
            .harness
            .get_by_role_and_label(Role::Row, change)
            .click();
        sitting.harness.run();
        sitting.wait_for(Role::Button, "Open as it was then");
    };
    both_of_history("history", album, |sitting| choose(sitting, "Change 3"));
    both_of_history("moment", album, |sitting| {
        choose(sitting, "Change 3");
        sitting.click("Open as it was then");
        sitting.wait_for_findings();
    });
    both_of_history("copies", album, |sitting| {
        sitting.click("Merge a copy");
        sitting.click("Choose the other copy…");
        sitting.wait_for(Role::Button, "Merge");
        let plant = sample().describe(changed_plants()[0]);
        sitting.click(&format!("Take there: place of {plant}"));
    });
    both_of_history("record_history", album, |sitting| {
        sitting.show(changed_plants()[0]);
        sitting.scroll_to("History of this record");
        sitting.click("History of this record");
        let all = "All 3 changes of this record";
        sitting.wait_for(Role::Button, all);
        sitting.scroll_to(all);
    });
}
