//! A screen drawn over a file whose values are unsound.

use crate::today;
use desktop::app::{App, Places};
use desktop::open_project::OpenProject;
use desktop::preferences::Preferences;
use desktop::view::Screen;
use domain::{AnyId, Project};
use egui_kittest::Harness;
use kit::theme::Theme;
use std::fs;

/// How many records of a kind are looked at on their own pages.
const PAGES: usize = 2;

/// Opens the file in a window and goes to one screen, or to the pages of some records: `turn` says which, each as often.
pub(crate) fn draw_one(turn: u64, bytes: &[u8]) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("season.binewright");
    fs::write(&path, bytes).unwrap();
    // What can't be opened at all shows nothing but the reason.
    let Ok(open) = OpenProject::open(&path, "Ida") else {
        return;
    };
    let records = some_records(open.project());
    let places = Places {
        preferences: None,
        samples: folder.path().into(),
    };
    let mut app = App::new(
        Preferences::default(),
        places,
        Box::new(|_: &_| None),
        Box::new(today),
    );
    app.open_project(open);
    let mut harness = Harness::builder()
        .with_size([1280.0, 720.0])
        // The window draws a box for a letter that no font has.
        .allow_missing_glyphs()
        .with_context_setup(|ctx| Theme::Light.apply(ctx))
        .build_ui_state(|ui, app: &mut App| app.show(ui), app);
    let draw = |harness: &mut Harness<'_, App>| {
        for _ in 0..2 {
            harness.step();
        }
    };
    let screens = Screen::ALL;
    match screens.get(turn as usize % (screens.len() + 1)) {
        Some(screen) => {
            harness.state_mut().go(*screen);
            draw(&mut harness);
        }
        None => {
            for record in records {
                harness.state_mut().show_record(record);
                draw(&mut harness);
            }
        }
    }
}

fn some_records(project: &Project) -> Vec<AnyId> {
    let plants = project.genotypes().iter().map(|each| each.id.into());
    let boxes = project.chill_boxes().iter().map(|each| each.id.into());
    let lots = project.seed_lots().iter().map(|each| each.id.into());
    let crosses = project.crosses().iter().map(|each| each.id.into());
    let each = |records: Vec<AnyId>| records.into_iter().rev().take(PAGES);
    [
        plants.collect(),
        boxes.collect(),
        lots.collect(),
        crosses.collect(),
    ]
    .into_iter()
    .flat_map(each)
    .collect()
}
