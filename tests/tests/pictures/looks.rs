//! Every page of every screen for a reader's eyes: in a window of each size, light and dark, with an empty, a usual
//! and an overfull project. Where `BINEWRIGHT_LOOKS` names a folder the pictures are written there, some hundreds of
//! them; `BINEWRIGHT_LOOKS_OF` takes only those whose name holds a text.

use std::path::{Path, PathBuf};

use desktop::preferences::ThemeChoice;
use desktop::view::Screen;
use domain::record::cross::CrossField;
use domain::record::genotype::GenotypeField;
use domain::record::settings::SettingsField;
use domain::{AnyId, Edit, Project};
use egui::Role;
use egui_kittest::kittest::{AccessKitNode, Queryable as _};

use crate::sitting::{FINE, NARROW, Sitting, Size, THEMES, USUAL, sample};

/// A page: its screen, and the name of the switch that turns to it.
const PAGES: [(&str, Screen, Option<&str>); 37] = [
    ("today", Screen::Calendar, None),
    ("month", Screen::Calendar, Some("Month")),
    ("season", Screen::Calendar, Some("Season")),
    ("plants", Screen::Plants, None),
    ("crosses", Screen::Crosses, None),
    ("family-tree", Screen::FamilyTree, None),
    ("kinship", Screen::Kinship, None),
    ("population", Screen::Kinship, Some("Population")),
    ("breeding-values", Screen::Kinship, Some("Breeding values")),
    ("goals", Screen::Planning, Some("Goals")),
    ("pairs", Screen::Planning, Some("Pairs")),
    ("how-many-seeds", Screen::Planning, Some("How many seeds")),
    ("plan", Screen::Planning, Some("Plan")),
    ("dates", Screen::Planning, Some("Dates")),
    ("look-ahead", Screen::Planning, Some("Look ahead")),
    ("own-score", Screen::Planning, Some("Own score")),
    ("seed-lots", Screen::SeedLots, None),
    ("chill", Screen::Chill, None),
    ("germination", Screen::Seedlings, Some("Germination")),
    ("scoring", Screen::Seedlings, Some("Scoring")),
    ("families", Screen::Seedlings, Some("Families")),
    ("measure", Screen::Measure, None),
    ("sterilising", Screen::Sterilising, None),
    ("temperatures", Screen::Temperatures, None),
    ("bench", Screen::Bench, Some("Germination")),
    ("sow-first", Screen::Bench, Some("What to sow first")),
    ("sexes", Screen::Bench, Some("Female and male")),
    ("ratios", Screen::Bench, Some("Ratios")),
    ("findings", Screen::Findings, None),
    ("changes", Screen::History, Some("Changes")),
    ("tables", Screen::Tables, None),
    ("photos", Screen::Photos, None),
    ("labels", Screen::Labels, None),
    ("sheets", Screen::Sheets, None),
    ("setup", Screen::Setup, Some("Program")),
    ("protocols", Screen::Setup, Some("Protocols")),
    ("traits", Screen::Setup, Some("Traits")),
];

const SIZES: [(Size, &str); 3] = [(NARROW, "narrow"), (USUAL, "usual"), (FINE, "fine")];

/// The sample with long names, places and notes, as a hand types them that has no thought for a column's width.
fn overfull() -> Project {
    let mut project = sample().clone();
    let mut edits = vec![
        Edit::Settings(SettingsField::Name(
            "Ostrel Valley and Upper Pennow hop growers' breeding circle".into(),
        )),
        Edit::Settings(SettingsField::Place(
            "Pennow Farm, second gate past the chapel, Ostrel Valley".into(),
        )),
    ];
    for plant in project.genotypes().iter() {
        edits.push(Edit::set(
            plant.id,
            GenotypeField::Name(Some("Late Lantern of the Upper Meadow".into())),
        ));
        edits.push(Edit::set(
            plant.id,
            GenotypeField::Location("Yard behind the old kiln, row 112, hill 1048".into()),
        ));
    }
    for cross in project.crosses().iter() {
        edits.push(Edit::set(
            cross.id,
            CrossField::Code(format!("{}-second-attempt", cross.code)),
        ));
    }
    for edit in edits {
        project.apply(edit).unwrap();
    }
    project
}

/// The first record that a screen shows as a page.
fn first_record(project: &Project, screen: Screen) -> Option<AnyId> {
    match screen {
        Screen::Plants => project
            .genotypes()
            .iter()
            .next_back()
            .map(|plant| plant.id.into()),
        Screen::Crosses => project
            .crosses()
            .iter()
            .next_back()
            .map(|cross| cross.id.into()),
        Screen::SeedLots => project
            .seed_lots()
            .iter()
            .next_back()
            .map(|lot| lot.id.into()),
        Screen::Chill => project
            .chill_boxes()
            .iter()
            .next_back()
            .map(|each| each.id.into()),
        _ => None,
    }
}

#[test]
fn every_page_for_a_reader() {
    let Some(folder) = std::env::var_os("BINEWRIGHT_LOOKS").map(PathBuf::from) else {
        return;
    };
    let wanted = std::env::var("BINEWRIGHT_LOOKS_OF").unwrap_or_default();
    std::fs::create_dir_all(&folder).unwrap();
    let empty = Project::default();
    let contents = [
        (empty, "empty"),
        (sample().clone(), "sample"),
        (overfull(), "overfull"),
    ];
    for (project, content) in &contents {
        for (size, width) in SIZES {
            for (theme, shade) in THEMES {
                for (page, screen, switch) in PAGES {
                    let name = format!("{page}_{content}_{width}_{shade}");
                    if name.contains(&wanted) {
                        look(project, size, theme, screen, switch, &folder.join(name));
                    }
                }
            }
        }
    }
}

fn look(
    project: &Project,
    size: Size,
    theme: ThemeChoice,
    screen: Screen,
    switch: Option<&str>,
    to: &Path,
) {
    let mut sitting = Sitting::new(theme, size, Some(project));
    match first_record(project, screen) {
        Some(record) => sitting.show(record),
        None => sitting.go(screen),
    }
    // An empty project shows the way to its first records in place of some pages.
    if let Some(switch) = switch {
        let switches = |node: &AccessKitNode<'_>| {
            node.role() == Role::RadioButton && node.label().is_some_and(|label| label == switch)
        };
        if let Some(turn) = sitting.harness.query_by(switches) {
            turn.click();
            sitting.harness.run();
        }
    }
    sitting.rest();
    sitting.harness.remove_cursor();
    let picture = sitting.harness.render().unwrap();
    picture.save(to.with_extension("png")).unwrap();
}
