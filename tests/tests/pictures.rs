//! A picture of each screen on the sample season, light and dark, drawn by a software renderer and held against
//! the pictures in `snapshots/`. Needs a Vulkan driver for the processor (`mesa-vulkan-drivers`), and fails where
//! there is none.
//!
//! `UPDATE_SNAPSHOTS=true cargo test --workspace --features binewright-tests/pixels --test pictures` draws them anew; look
//! at each before it is committed.
#![cfg(feature = "pixels")]
#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use std::sync::OnceLock;
use std::time::{Duration, Instant};

use binewright::app::{App, Places};
use binewright::open_project::OpenProject;
use binewright::preferences::{Preferences, ThemeChoice};
use binewright::theme::Theme;
use binewright::view::Screen;
use chrono::NaiveDate;
use domain::findings::findings;
use domain::{AnyId, ChillBox, Cross, Genotype, Pollen, Project};
use egui::{Role, UiBuilder};
use egui_kittest::kittest::{AccessKitNode, Queryable as _};
use egui_kittest::{Harness, SnapshotOptions, SnapshotResults};
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
    _folder: TempDir,
}

impl Sitting {
    fn new(theme: ThemeChoice, scale: f32, project: Option<&Project>) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let places = Places {
            preferences: None,
            samples: folder.path().into(),
        };
        let preferences = Preferences {
            theme,
            ..Preferences::default()
        };
        let mut app = App::new(preferences, places, Box::new(|_| None), Box::new(today));
        if let Some(project) = project {
            let path = folder.path().join("season.binewright");
            app.open_project(OpenProject::create(&path, project.clone(), "").unwrap());
        }
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
        let mut sitting = Self {
            harness,
            _folder: folder,
        };
        if let Some(project) = project {
            sitting.wait_for_findings(project);
        }
        sitting
    }

    /// The findings come from a worker: waits until the sidebar tells how many there are.
    fn wait_for_findings(&mut self, project: &Project) {
        let told = format!("Findings, {}", findings(project, today()).len());
        let start = Instant::now();
        while self
            .harness
            .query_by_role_and_label(Role::Tab, &told)
            .is_none()
        {
            assert!(start.elapsed() < Duration::from_secs(30), "no '{told}'");
            std::thread::sleep(Duration::from_millis(10));
            self.harness.step();
        }
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
        sitting.show(plant)
    });
}

#[test]
fn crosses() {
    let mixed = |cross: &&Cross| matches!(cross.pollen, Pollen::Mix(_));
    let cross = sample().crosses().iter().find(mixed).unwrap().id;
    both("crosses", &mut SnapshotResults::new(), |sitting| {
        sitting.show(cross)
    });
}

#[test]
fn seed_lots() {
    let lot = sample().chill_boxes().iter().next_back().unwrap().lot;
    both("seed_lots", &mut SnapshotResults::new(), |sitting| {
        sitting.show(lot)
    });
}

#[test]
fn chill() {
    let project = sample();
    let looked_into = |each: &&ChillBox| {
        project.run_of(each.id).is_none() && project.checks_of(each.id).next().is_some()
    };
    let boxes = project.chill_boxes().iter().filter(looked_into);
    let last = boxes.last().unwrap().id;
    both("chill", &mut SnapshotResults::new(), |sitting| {
        sitting.show(last)
    });
}

#[test]
fn seedlings() {
    let album = &mut SnapshotResults::new();
    both("germination", album, |sitting| {
        sitting.go(Screen::Seedlings)
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
        sitting.go(Screen::FamilyTree)
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
        sitting.go(Screen::Findings)
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
