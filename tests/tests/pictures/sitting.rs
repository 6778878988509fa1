//! A window as one person sees it, drawn by a software renderer.

use std::path::Path;
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use chrono::NaiveDate;
use desktop::app::{App, Places};
use desktop::open_project::OpenProject;
use desktop::preferences::{Preferences, ThemeChoice};
use desktop::view::Screen;
use domain::findings::findings;
use domain::{AnyId, Project};
use egui::{Role, UiBuilder};
use egui_kittest::kittest::Queryable as _;
use egui_kittest::{Harness, SnapshotOptions, SnapshotResults};
use kit::theme::Theme;
use tempfile::TempDir;

/// How large a window is, and how many pixels a point of it takes.
#[derive(Clone, Copy)]
pub(crate) struct Size {
    pub(crate) points: [f32; 2],
    pub(crate) scale: f32,
}

pub(crate) const USUAL: Size = Size {
    points: [1280.0, 720.0],
    scale: 1.0,
};

/// The smallest window that everything must fit into.
pub(crate) const NARROW: Size = Size {
    points: [1024.0, 700.0],
    scale: 1.0,
};

/// A screen of many pixels: 2560 × 1440 of them.
pub(crate) const FINE: Size = Size {
    points: [1280.0, 720.0],
    scale: 2.0,
};

/// The day in every picture.
pub(crate) fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 2, 10).unwrap()
}

pub(crate) fn sample() -> &'static Project {
    static SAMPLE: OnceLock<Project> = OnceLock::new();
    SAMPLE.get_or_init(|| sample::sample_project(today()).unwrap())
}

/// A window as one person sees it.
pub(crate) struct Sitting {
    pub(crate) harness: Harness<'static, App>,
    /// The project's own folder, for as long as the window is open.
    pub(crate) folder: TempDir,
    /// The day on its clock.
    day: NaiveDate,
}

impl Sitting {
    pub(crate) fn new(theme: ThemeChoice, size: Size, project: Option<&Project>) -> Self {
        Self::on(today(), theme, size, project)
    }

    /// The same on another day.
    pub(crate) fn on(
        day: NaiveDate,
        theme: ThemeChoice,
        size: Size,
        project: Option<&Project>,
    ) -> Self {
        let mut sitting = Self::begin(day, theme, size, |app, folder| {
            if let Some(project) = project {
                let path = folder.join("season.binewright");
                app.open_project(OpenProject::create(&path, project.clone(), "").unwrap());
            }
        });
        // A narrow sidebar shows no number of findings.
        if project.is_some() && size.points[0] >= USUAL.points[0] {
            sitting.wait_for_findings();
        }
        sitting
    }

    /// A window in a folder of its own, in which `open` opens what it shows; its file dialogs answer with 'other.binewright'
    /// there.
    pub(crate) fn begin(
        day: NaiveDate,
        theme: ThemeChoice,
        size: Size,
        open: impl FnOnce(&mut App, &Path),
    ) -> Self {
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
        let mut app = App::new(preferences, places, answer, Box::new(move || day));
        open(&mut app, folder.path());
        let harness = Harness::builder()
            .with_size(size.points)
            .with_pixels_per_point(size.scale)
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
        Self {
            harness,
            folder,
            day,
        }
    }

    /// Draws until a worker has brought what is waited for.
    pub(crate) fn wait_for(&mut self, role: Role, name: &str) {
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
    pub(crate) fn wait_for_findings(&mut self) {
        let open = self.harness.state().project().unwrap();
        let number = findings(open.project(), open.day(self.day)).len();
        let told = format!("Findings, {number}");
        self.wait_for(Role::Tab, &told);
    }

    pub(crate) fn go(&mut self, screen: Screen) {
        self.harness.state_mut().go(screen);
        self.harness.run();
    }

    pub(crate) fn show(&mut self, id: impl Into<AnyId>) {
        self.harness.state_mut().show_record(id.into());
        self.harness.run();
    }

    pub(crate) fn click(&mut self, name: &str) {
        self.harness.get_by_label(name).click();
        self.harness.run();
    }

    /// Draws until no worker has brought anything for a while.
    pub(crate) fn rest(&mut self) {
        for _ in 0..80 {
            std::thread::sleep(Duration::from_millis(50));
            self.harness.step();
        }
        self.harness.run();
    }

    pub(crate) fn scroll_to(&mut self, name: &str) {
        self.harness.get_by_label(name).scroll_to_me();
        self.harness.run();
    }

    /// Takes the picture; how it compares goes to `album`, which fails the test at its end.
    pub(crate) fn snap(mut self, name: &str, album: &mut SnapshotResults) {
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

pub(crate) const THEMES: [(ThemeChoice, &str); 2] =
    [(ThemeChoice::Light, "light"), (ThemeChoice::Dark, "dark")];

/// Pictures of the sample season, light and dark, after `steps` taken in it.
pub(crate) fn both(name: &str, album: &mut SnapshotResults, steps: impl Fn(&mut Sitting)) {
    for (theme, word) in THEMES {
        let mut sitting = Sitting::new(theme, USUAL, Some(sample()));
        steps(&mut sitting);
        sitting.snap(&format!("{name}_{word}"), album);
    }
}
