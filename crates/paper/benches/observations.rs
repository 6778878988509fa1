//! A table of 1,000,000 observations brought in and written out, as ratios to the csv crate and to `serde_json` of the
//! same in one run.
//!
//! `cargo bench -p paper`. A ratio holds from machine to machine; the seconds beside it don't. `BINEWRIGHT_ROWS` says
//! how many rows instead.

#![expect(clippy::print_stdout, reason = "a bench reports on the terminal")]

use chrono::NaiveDate;
use domain::date::shift;
use domain::import::{Mapping, Round, TableKind, dry_run};
use domain::{Direction, Genotype, IdSource, Origin, Project, ProjectParts, Scale, Trait};
use exchange::sheets::{Table, Wishes, read};
use paper::tables::{TableSource, table};
use std::error::Error;
use std::fmt::Write as _;
use std::ops::ControlFlow;
use std::time::{Duration, Instant};

/// Of so many plants, so many traits are seen on each day.
const PLANTS: usize = 1000;
const TRAITS: usize = 10;

fn main() -> Result<(), Box<dyn Error>> {
    let rows: usize = match std::env::var("BINEWRIGHT_ROWS") {
        Ok(rows) => rows.parse()?,
        Err(_) => 1_000_000,
    };
    let (project, text) = made(rows)?;
    println!("{rows} rows, {:.1} MB", text.len() as f64 / 1e6);

    let (bare, fields) = timed(|| {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let mut record = csv::StringRecord::new();
        let mut fields = 0;
        while reader.read_record(&mut record)? {
            fields += record.len();
        }
        Ok(fields)
    })?;
    assert_eq!(fields, 4 * rows);
    let (seen, tabled) = timed(|| {
        let book = read(text.as_bytes())?;
        Ok(Table::of(book.first()?.clone(), Wishes::default())?)
    })?;
    let (tried, run) = timed(|| {
        let source = TableSource(&tabled);
        let mapping = Mapping::guess(&project, &source);
        let mut ids = IdSource::new(1_790_000_000_000, 11);
        let go_on = &mut |_, _| ControlFlow::Continue(());
        dry_run(
            &project,
            &source,
            &mapping,
            &Round::default(),
            &mut ids,
            go_on,
        )
        .ok_or_else(|| "stopped".into())
    })?;
    if run.counts().get("new") != Some(&rows) {
        let first = run.rows.iter().find(|(_, fate)| fate.word() != "new");
        return Err(format!("not all rows are new: {:?}, {first:?}", run.counts()).into());
    }
    let mut full = project;
    let edit = run.edit.ok_or("nothing new")?;
    let (applied, _) = timed(|| Ok(full.apply(edit)?))?;
    let (json, written) = timed(|| {
        let all: Vec<_> = full.observations().iter().collect();
        Ok(serde_json::to_vec(&all)?)
    })?;
    let (parsed, _) = timed(|| {
        let all: Vec<domain::Observation> = serde_json::from_slice(&written)?;
        Ok(all.len())
    })?;
    let (exported, out) = timed(|| Ok(table(&full, TableKind::Observations).csv()))?;
    let (plain, _) = timed(|| {
        let mut writer = csv::Writer::from_writer(Vec::with_capacity(out.len()));
        for line in out.lines() {
            writer.write_record(line.split(','))?;
        }
        Ok(writer.into_inner().map_err(|error| error.to_string())?)
    })?;
    ratio("read as a table / csv crate", seen, bare);
    ratio("every row's fate / csv crate", tried, bare);
    ratio(
        "read, tried and made / serde_json of the same records",
        seen + tried + applied,
        parsed,
    );
    ratio("written as CSV / csv crate", exported, plain);
    ratio("written as CSV / serde_json", exported, json);
    Ok(())
}

fn ratio(what: &str, ours: Duration, other: Duration) {
    println!(
        "{what}: {:.2} ({:.3} s / {:.3} s)",
        ours.as_secs_f64() / other.as_secs_f64(),
        ours.as_secs_f64(),
        other.as_secs_f64()
    );
}

fn timed<T>(
    work: impl FnOnce() -> Result<T, Box<dyn Error>>,
) -> Result<(Duration, T), Box<dyn Error>> {
    let begun = Instant::now();
    let done = work()?;
    Ok((begun.elapsed(), done))
}

/// A project of the plants and traits, and the table.
fn made(rows: usize) -> Result<(Project, String), Box<dyn Error>> {
    let mut ids = IdSource::new(1_770_000_000_000, 5);
    let genotypes = (0..PLANTS)
        .map(|nth| Genotype::new(ids.next(), format!("P-{nth:04}"), Origin::Unknown))
        .collect();
    let traits = (0..TRAITS)
        .map(|nth| Trait {
            id: ids.next(),
            name: format!("Trait {nth}"),
            scale: Scale::measure("g"),
            direction: Direction::Neutral,
            method: String::new(),
        })
        .collect();
    let project = Project::from_parts(ProjectParts {
        genotypes,
        traits,
        ..ProjectParts::default()
    });
    let first = NaiveDate::from_ymd_opt(2020, 1, 1).ok_or("no such day")?;
    let mut text = String::from("plant,date,trait,value\n");
    for row in 0..rows {
        let (plant, of_trait) = (row % PLANTS, row / PLANTS % TRAITS);
        let day = shift(first, (row / (PLANTS * TRAITS)) as i64);
        writeln!(text, "P-{plant:04},{day},Trait {of_trait},{}.5", row % 97)?;
    }
    Ok((project, text))
}
