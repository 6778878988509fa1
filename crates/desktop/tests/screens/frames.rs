//! A frame costs what is seen, not what there is: no screen sorts, filters or formats all rows while nothing changes.
//!
//! What a frame allocates is counted, since every word that is formatted and every list that is gathered is; the count
//! may not grow with the number of records.

use crate::window::{Window, begun, day, today};
use desktop::view::Screen;
use domain::date::shift;
use domain::{
    ChillBatch, ChillBox, Count, Cross, Genotype, Germination, LotSource, Origin, Pollen, Project,
    ProjectParts, Regimen, SeedAmount, SeedLot,
};
use egui::{Key, Role};
use egui_kittest::kittest::Queryable as _;
use std::fmt::Write as _;
use std::time::Duration;

/// A program with so many crosses, lots, boxes in the cold, boxes in warmth and seedlings.
fn busy(size: usize) -> Project {
    let (mut project, mut ids) = begun();
    let mut parents = Vec::new();
    for nth in 0..2 {
        let sex = [domain::Sex::Female, domain::Sex::Male][nth];
        let code = format!("F-{nth}");
        parents.push(crate::window::founder(
            &mut project,
            &mut ids,
            &code,
            Some(sex),
        ));
    }
    let mut parts = ProjectParts {
        settings: project.settings().clone(),
        stages: project.stages().iter().cloned().collect(),
        traits: project.traits().iter().cloned().collect(),
        protocols: project.protocols().iter().cloned().collect(),
        genotypes: project.genotypes().iter().cloned().collect(),
        ..ProjectParts::default()
    };
    let mut batch = None;
    for nth in 0..size {
        let cross = Cross {
            id: ids.next(),
            code: format!("25-{nth:04}"),
            female: parents[0],
            pollen: Pollen::Male(parents[1]),
            season: 2025,
            planned_pollination: Some(day("2025-07-10")),
            seeds_wanted: None,
            purpose: String::new(),
            advised: None,
        };
        let lot = SeedLot {
            id: ids.next(),
            code: format!("S{nth:04}"),
            source: LotSource::Cross(cross.id),
            harvested: Some(day("2025-09-10")),
            cleaned: Some(day("2025-09-20")),
            amount: Some(SeedAmount::Counted(400)),
            place: String::new(),
            conditions: String::new(),
        };
        if nth % 10 == 0 {
            let each = ChillBatch {
                id: ids.next(),
                code: format!("Chill {nth:04}"),
                start: shift(today(), -30),
                regimen: Regimen::default(),
                started: true,
                protocol: String::new(),
                sterilised: None,
                place: String::new(),
                ended: None,
            };
            batch = Some(each.id);
            parts.chill_batches.push(each);
        }
        for (which, warm) in [("C", false), ("W", true)] {
            let chill_box = ChillBox {
                id: ids.next(),
                code: format!("{which}-{nth:04}"),
                batch: batch.unwrap(),
                lot: lot.id,
                seeds: 80,
                rechilled_from: None,
                place: String::new(),
                end: None,
            };
            if warm {
                let run = Germination {
                    id: ids.next(),
                    chill_box: chill_box.id,
                    moved: shift(today(), -12),
                    place: String::new(),
                    end: None,
                };
                parts.counts.push(Count {
                    id: ids.next(),
                    run: run.id,
                    date: shift(today(), -4),
                    germinated: 9,
                    abnormal: 0,
                    dead: 0,
                    lost: 0,
                    by: String::new(),
                    remark: String::new(),
                });
                parts.germinations.push(run);
            }
            parts.chill_boxes.push(chill_box);
        }
        let origin = Origin::Cross { cross: cross.id };
        let seedling = Genotype::new(ids.next(), format!("25-{nth:04}-01"), origin);
        parts.genotypes.push(seedling);
        parts.crosses.push(cross);
        parts.seed_lots.push(lot);
    }
    Project::from_parts(parts)
}

/// Draws until workers have brought everything, then counts what one more frame allocates.
fn allocated(window: &mut Window) -> u64 {
    for _ in 0..40 {
        window.settle();
        std::thread::sleep(Duration::from_millis(10));
    }
    let frame =
        |window: &mut Window| allocation_counter::measure(|| window.harness.step()).count_total;
    // The least of several: a worker may hand something over in one of them.
    (0..4).map(|_| frame(window)).min().unwrap()
}

fn by_screen(size: usize) -> Vec<(String, u64)> {
    let mut window = Window::on(&busy(size), Key::Num1);
    let mut all = Vec::new();
    for screen in Screen::ALL {
        window.harness.state_mut().go(screen);
        all.push((screen.title().to_owned(), allocated(&mut window)));
        let pages: &[&str] = match screen {
            Screen::Calendar => &["Month", "Season"],
            Screen::Seedlings => &["Families", "Scoring"],
            Screen::Planning => &["Pairs", "Plan"],
            _ => &[],
        };
        for page in pages {
            let found = window
                .harness
                .query_by_role_and_label(Role::RadioButton, page)
                .is_some();
            if found {
                window.click(Role::RadioButton, page);
                let name = format!("{}, {page}", screen.title());
                all.push((name, allocated(&mut window)));
            }
        }
    }
    all
}

#[test]
fn what_a_frame_costs_does_not_grow_with_the_records() {
    let (few, many) = (by_screen(100), by_screen(600));
    let mut grown = Vec::new();
    for ((screen, few), (_, many)) in few.iter().zip(&many) {
        println!("{screen}: {few} and {many} allocations in a frame");
        // The whole tree is in sight: each plant is drawn.
        if screen != "Family tree" && *many > few + few / 3 + 600 {
            grown.push(format!("{screen}: {few} for 100, {many} for 600"));
        }
    }
    assert!(grown.is_empty(), "{}", grown.join("\n"));
}

/// A frame of the grid in which so many plants are measured for three traits, and one of a table of as many rows that is
/// looked at before it is imported.
fn of_measuring(plants: usize) -> (u64, u64) {
    let (mut project, mut ids) = begun();
    let mut parts = ProjectParts {
        settings: project.settings().clone(),
        stages: project.stages().iter().cloned().collect(),
        protocols: project.protocols().iter().cloned().collect(),
        ..ProjectParts::default()
    };
    for name in ["Vigour", "Leaf colour", "Cone density"] {
        parts.traits.push(domain::Trait {
            id: ids.next(),
            name: name.into(),
            scale: domain::Scale::one_to_nine("weak", "strong"),
            direction: domain::Direction::Higher,
            method: String::new(),
        });
    }
    let mut csv = String::from("plant;date;vigour;leaf colour\n");
    for nth in 0..plants {
        let code = format!("P-{nth:05}");
        writeln!(csv, "{code};2026-03-09;{};5", 1 + nth % 9).unwrap();
        parts
            .genotypes
            .push(Genotype::new(ids.next(), code, Origin::Unknown));
    }
    project = Project::from_parts(parts);
    let mut window = Window::answering(&project, Key::Num2, move |folder| {
        let path = folder.join("scores.csv");
        std::fs::write(&path, &csv).unwrap();
        Some(path)
    });
    window.click(Role::Tab, "Measure");
    window.choose("Group of plants", "all living plants");
    for name in [
        "Vigour (1 to 9)",
        "Leaf colour (1 to 9)",
        "Cone density (1 to 9)",
    ] {
        window.click(Role::CheckBox, name);
    }
    window.click(Role::Button, "Hide the settings");
    let grid = allocated(&mut window);
    window.click(Role::Tab, "Tables");
    window.click(Role::Button, "Choose a table…");
    window.wait_for(Role::Button, &format!("Import {plants} rows"));
    (grid, allocated(&mut window))
}

#[test]
fn measuring_ten_thousand_plants_costs_a_frame_no_more_than_measuring_two_hundred() {
    let (few, many) = (of_measuring(200), of_measuring(10_000));
    println!(
        "grid: {} and {}, table: {} and {}",
        few.0, many.0, few.1, many.1
    );
    assert!(
        many.0 <= few.0 + few.0 / 5,
        "grid: {} and {}",
        few.0,
        many.0
    );
    assert!(
        many.1 <= few.1 + few.1 / 5,
        "table: {} and {}",
        few.1,
        many.1
    );
}
