//! What is derived from a whole program of 100,000 seedlings, the agenda and the findings, as ratios to going through
//! every record once in the same run, in processor time. `cargo bench -p domain --bench derived`.

#[path = "support/processor.rs"]
mod processor;
#[path = "support/program.rs"]
mod program;

use chrono::NaiveDate;
use domain::Project;
use domain::agenda::agenda;
use domain::date::shift;
use domain::findings::findings;
use processor::processor_time;
use std::io::Write as _;
use std::time::Duration;

fn main() -> std::io::Result<()> {
    // `cargo test --benches` and listing of benchmarks want no timings.
    if !std::env::args().any(|argument| argument == "--bench") {
        return Ok(());
    }
    let today = NaiveDate::from_ymd_opt(2026, 2, 10).unwrap_or_default();
    let project = program::program(today);
    let mut out = std::io::stdout().lock();
    writeln!(out, "{} records", project.record_count())?;
    let bare = processor_time(20, || go_through(&project));
    let mut report = |what: &str, items: usize, taken: Duration| {
        writeln!(
            out,
            "{what}: {items} items, {:.1} times as long as going through every record ({taken:.1?} / {bare:.1?})",
            taken.as_secs_f64() / bare.as_secs_f64()
        )
    };
    for (what, days) in [
        ("agenda of a year", today..=shift(today, 365)),
        (
            "agenda as the window keeps it",
            shift(today, -400)..=shift(today, 400),
        ),
    ] {
        let items = agenda(&project, days.clone(), today).len();
        report(
            what,
            items,
            processor_time(10, || agenda(&project, days.clone(), today)),
        )?;
    }
    let items = findings(&project, today).len();
    report(
        "findings",
        items,
        processor_time(5, || findings(&project, today)),
    )
}

/// Looks at every record once.
fn go_through(project: &Project) -> usize {
    let plants = project.genotypes().iter().filter(|plant| plant.is_alive());
    let seen = project
        .observations()
        .iter()
        .filter(|seen| seen.number(project).is_some_and(|score| score > 5.0));
    let looks = project.checks().iter().filter(|look| look.water_added);
    let boxes = project.chill_boxes().iter().filter(|each| each.seeds > 50);
    let counts = project.counts().iter().filter(|count| count.germinated > 1);
    let runs = project
        .germinations()
        .iter()
        .filter(|run| run.end.is_none());
    let events = project
        .cross_events()
        .iter()
        .filter(|each| each.by.is_empty());
    let crosses = project.crosses().iter().filter(|cross| cross.season > 2000);
    let lots = project
        .seed_lots()
        .iter()
        .filter(|lot| lot.amount.is_some());
    let batches = project.chill_batches().iter().filter(|each| each.started);
    [
        plants.count(),
        seen.count(),
        looks.count(),
        boxes.count(),
        counts.count(),
        runs.count(),
        events.count(),
        crosses.count(),
        lots.count(),
        batches.count(),
    ]
    .iter()
    .sum()
}
