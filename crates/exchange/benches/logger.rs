//! A million readings of a logger, imported and summarised, beside the `csv` crate just reading the same file.
//! `cargo bench -p exchange`; the table of ratios comes last.

#[path = "../../domain/benches/support/processor.rs"]
mod processor;

use divan::Bencher;
use domain::temperature::{Band, Exposure, Reading, Readings};
use exchange::logger::{self, Import};
use processor::processor_time;
use std::fmt::Write as _;
use std::io::Write as _;
use std::time::Duration;

const ROWS: usize = 1_000_000;

fn main() -> std::io::Result<()> {
    divan::main();
    // `cargo test --benches` and listing of benchmarks want no timings.
    if std::env::args().any(|argument| argument == "--bench") {
        compare()
    } else {
        Ok(())
    }
}

/// A file as loggers write it: number, date and time, a temperature with a decimal comma, humidity.
fn file() -> String {
    let begin: chrono::NaiveDateTime = chrono::NaiveDate::from_ymd_opt(2007, 1, 1)
        .unwrap_or_default()
        .into();
    let mut file = String::from("Serial No.;20417\nNo.;Time;Temp (°C);RH (%)\n");
    for nth in 0..ROWS {
        let moment = begin + chrono::TimeDelta::minutes(10 * nth as i64);
        let tenths = 27 + nth % 13;
        let _never = writeln!(
            file,
            "{};{};{},{};{}",
            nth + 1,
            moment.format("%d.%m.%Y %H:%M:%S"),
            tenths / 10,
            tenths % 10,
            70 + nth % 20
        );
    }
    file
}

fn just_read(file: &str) -> usize {
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(b';')
        .flexible(true)
        .from_reader(file.as_bytes());
    let mut record = csv::StringRecord::new();
    let mut rows = 0;
    while reader.read_record(&mut record).unwrap_or(false) {
        rows += 1;
    }
    rows
}

fn import(file: &str) -> Import {
    let head = &file.as_bytes()[..logger::HEAD];
    let guess = logger::guess(head);
    logger::import(file.as_bytes(), &guess.mapping, &mut |_| true)
        .ok()
        .flatten()
        .unwrap_or_default()
}

fn summarise(import: &Import) -> Exposure {
    let readings = import.readings.iter().map(|reading| Reading {
        at: reading.at,
        hundredths: reading.hundredths,
    });
    let band = Band {
        freezing: 0.0,
        from: 1.1,
        to: 4.4,
    };
    Exposure::of_readings(&Readings::new(readings.collect()), band)
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn csv_just_read(bencher: Bencher<'_, '_>) {
    let file = file();
    bencher.bench_local(|| just_read(&file));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn imported(bencher: Bencher<'_, '_>) {
    let file = file();
    bencher.bench_local(|| import(&file));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn summarised(bencher: Bencher<'_, '_>) {
    let import = import(&file());
    bencher.bench_local(|| summarise(&import));
}

fn compare() -> std::io::Result<()> {
    let file = file();
    let imported = import(&file);
    let exposure = summarise(&imported);
    let reading = processor_time(10, || just_read(&file));
    let importing = processor_time(10, || import(&file));
    let both = processor_time(10, || summarise(&import(&file)));
    let ratio = |time: Duration| time.as_secs_f64() / reading.as_secs_f64();
    let mut out = std::io::stdout().lock();
    writeln!(
        out,
        "\n{} readings of {} bytes, {:.0} hours in the band",
        imported.readings.len(),
        file.len(),
        exposure.in_band
    )?;
    writeln!(out, "csv crate, just read      {reading:>10.1?}   1.00")?;
    writeln!(
        out,
        "guessed and imported      {importing:>10.1?}   {:.2}",
        ratio(importing)
    )?;
    writeln!(
        out,
        "imported and summarised   {both:>10.1?}   {:.2}",
        ratio(both)
    )
}
