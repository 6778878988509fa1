//! What is printed from the records of a whole season: bench sheets, crossing cards, the season's report.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use chrono::NaiveDate;
use domain::agenda::{ItemKind, ItemState, agenda};
use domain::progress::{CrossProgress, seeds_got};
use domain::{Project, RecordKind};
use exchange::report::{Report, Section, pdf};
use paper::{bench_sheet, crossing_cards, season_report};
use std::collections::BTreeSet;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn section<'r>(report: &'r Report, heading: &str) -> &'r Section {
    let mut sections = report.sections.iter();
    sections
        .find(|section| section.heading == heading)
        .unwrap_or_else(|| panic!("no {heading}"))
}

fn column(section: &Section, nth: usize) -> Vec<String> {
    let table = section.table.as_ref().unwrap();
    table.rows.iter().map(|row| row[nth].clone()).collect()
}

/// Over a year of the sample, each box that is due for a look stands on the sheet of its day once, and nothing else.
#[test]
fn the_bench_sheet_holds_every_box_that_is_due() {
    let (mut sheets, mut boxes) = (0, 0);
    for month in 1..=12 {
        let today = NaiveDate::from_ymd_opt(2026, month, 15).unwrap();
        let project = sample::sample_project(today).unwrap();
        let due: BTreeSet<String> = agenda(&project, day("2020-01-01")..=today, today)
            .into_iter()
            .filter(|item| matches!(item.state, ItemState::Late | ItemState::Due))
            .filter(|item| item.kind == ItemKind::CheckBox)
            .map(|item| project.code_of(item.about).to_owned())
            .collect();
        let Some(sheet) = bench_sheet::report(&project, today) else {
            assert!(due.is_empty(), "{today}");
            continue;
        };
        sheets += 1;
        if !due.is_empty() {
            let codes = column(section(&sheet, "Boxes to open"), 0);
            assert_eq!(codes.len(), due.len(), "{today}: {codes:?}");
            assert_eq!(codes.iter().cloned().collect::<BTreeSet<_>>(), due);
            boxes += codes.len();
            // Mould is warned of before the boxes are opened.
            let mouldy = project
                .chill_boxes()
                .iter()
                .filter(|each| due.contains(&each.code))
                .any(|each| domain::cautions::box_had_mould(&project, each.id));
            let warned = section(&sheet, "Boxes to open").sentences.len() > 1;
            assert_eq!(warned, mouldy, "{today}");
        }
        assert!(pdf(&sheet, Some(today)).unwrap().starts_with(b"%PDF-"));
    }
    assert!(sheets > 3 && boxes > 5, "{sheets} sheets, {boxes} boxes");
    assert!(bench_sheet::report(&Project::default(), day("2026-06-01")).is_none());
}

/// A card for each cross that waits for something in the yard; its code can be read back by a scanner.
#[test]
fn crossing_cards_are_of_crosses_that_are_open() {
    let today = day("2026-07-01");
    let project = sample::sample_project(today).unwrap();
    let open = crossing_cards::open_crosses(&project);
    assert!(!open.is_empty());
    for cross in project.crosses().iter() {
        let waits = CrossProgress::of(&project, cross) < CrossProgress::Harvested;
        assert_eq!(open.contains(&cross.id), waits, "{}", cross.code);
    }
    let cards = crossing_cards::cards(&project, &open);
    assert_eq!(cards.len(), open.len());
    for (card, id) in cards.iter().zip(&open) {
        let cross = project.crosses().get(*id).unwrap();
        assert_eq!(card.code, cross.code);
        assert!(card.title.starts_with(project.code_of(cross.female)));
    }
    assert!(
        exchange::cards::pdf("Crossing cards", &cards, Some(today))
            .unwrap()
            .starts_with(b"%PDF-")
    );
}

/// The report's sums are those of the records, counted here another way.
#[test]
fn the_report_of_a_season_adds_up() {
    let today = day("2026-09-20");
    let project = sample::sample_project(today).unwrap();
    let seasons = season_report::seasons(&project);
    assert!(seasons.len() > 1, "{seasons:?}");
    let mut charts = 0;
    for season in &seasons {
        let report = season_report::report(&project, *season, today).unwrap();
        let crosses: Vec<_> = project
            .crosses()
            .iter()
            .filter(|cross| cross.season == *season)
            .collect();
        assert_eq!(column(section(&report, "Crosses"), 0).len(), crosses.len());
        let seeds: u32 = column(section(&report, "Crosses"), 6)
            .iter()
            .filter_map(|seeds| seeds.trim_start_matches("about ").parse::<u32>().ok())
            .sum();
        let got: u32 = crosses
            .iter()
            .filter_map(|cross| seeds_got(&project, cross))
            .map(|(seeds, _)| seeds)
            .sum();
        assert_eq!(seeds, got, "{season}");
        let potted: usize = crosses
            .iter()
            .map(|cross| project.progeny_of(cross.id).count())
            .sum();
        if potted > 0 {
            let told: usize = column(section(&report, "Plants"), 1)
                .iter()
                .map(|count| count.parse::<usize>().unwrap())
                .sum();
            assert_eq!(told, potted, "{season}");
        }
        for section in &report.sections {
            for chart in &section.charts {
                charts += 1;
                for series in &chart.series {
                    for (_, up) in &series.marks {
                        assert!(
                            (chart.up.from..=chart.up.to).contains(up),
                            "{}",
                            chart.title
                        );
                    }
                }
            }
        }
        assert!(pdf(&report, Some(today)).unwrap().starts_with(b"%PDF-"));
    }
    assert!(charts > 2, "{charts} charts");
    assert!(project.count(RecordKind::Cross) > 0);
    assert!(season_report::report(&project, 1900, today).is_none());
}
