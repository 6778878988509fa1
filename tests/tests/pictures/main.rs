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

mod history;
mod looks;
mod sitting;

use chrono::NaiveDate;
use desktop::preferences::ThemeChoice;
use desktop::view::Screen;
use domain::{ChillBox, Cross, Genotype, Pollen};
use egui::Role;
use egui_kittest::SnapshotResults;
use egui_kittest::kittest::{AccessKitNode, Queryable as _};

use sitting::{FINE, Sitting, THEMES, USUAL, both, sample};

/// A picture of a screen where a point is two pixels.
fn fine(screen: Screen, name: &str, theme: ThemeChoice, album: &mut SnapshotResults) {
    let mut sitting = Sitting::new(theme, FINE, Some(sample()));
    sitting.go(screen);
    sitting.snap(&format!("{name}_fine"), album);
}

#[test]
fn welcome() {
    let album = &mut SnapshotResults::new();
    for (theme, word) in THEMES {
        Sitting::new(theme, USUAL, None).snap(&format!("welcome_{word}"), album);
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
        let file = include_bytes!("../../../examples/logger-winter.csv");
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

/// Two pictures of README.md, a spring morning with work of every kind and a cross; the third is the family tree's.
#[test]
fn readme() {
    let album = &mut SnapshotResults::new();
    let spring = NaiveDate::from_ymd_opt(2026, 3, 24).unwrap();
    let project = sample::sample_project(spring).unwrap();
    let morning = || Sitting::on(spring, ThemeChoice::Light, USUAL, Some(&project));
    let mut sitting = morning();
    sitting.go(Screen::Calendar);
    sitting.snap("readme_today", album);
    let potted = |cross: &&Cross| project.progeny_of(cross.id).next().is_some();
    let cross = project.crosses().iter().rfind(potted).unwrap().id;
    let mut sitting = morning();
    sitting.show(cross);
    sitting.snap("readme_cross", album);
}
