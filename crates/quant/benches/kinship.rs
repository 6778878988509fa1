//! Inbreeding by size of the pedigree, beside a plain Meuwissen & Luo loop and the parsing of the same pedigree's
//! CSV. `cargo bench -p quant --bench kinship`; the table of ratios comes last.

#[path = "kinship/meuwissen_luo.rs"]
mod meuwissen_luo;
#[path = "kinship/program.rs"]
mod program;

use divan::{Bencher, black_box};
use program::Program;
use quant::kinship::{Assumptions, Kinship, Pedigree, inbreeding};
use std::io::Write as _;
use std::time::{Duration, Instant};

const SIZES: [usize; 3] = [10_000, 100_000, 1_000_000];

fn main() -> std::io::Result<()> {
    divan::main();
    // `cargo test --benches` and listing of benchmarks want no timings.
    if std::env::args().any(|argument| argument == "--bench") {
        compare()
    } else {
        Ok(())
    }
}

#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn inbreeding_of_all(bencher: Bencher<'_, '_>, size: usize) {
    let program = Program::families(size);
    bencher.bench_local(|| solve(&program));
}

#[divan::bench(args = [10_000, 100_000], sample_count = 5, sample_size = 1)]
fn inbreeding_where_every_plant_is_a_cross_of_its_own(bencher: Bencher<'_, '_>, size: usize) {
    let program = Program::single_plants(size);
    bencher.bench_local(|| solve(&program));
}

#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn sparse_inverse(bencher: Bencher<'_, '_>, size: usize) {
    let kinship = Kinship::new(pedigree(&Program::families(size)));
    bencher.bench_local(|| kinship.relationship_inverse());
}

#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn one_column(bencher: Bencher<'_, '_>, size: usize) {
    let kinship = Kinship::new(pedigree(&Program::families(size)));
    bencher.bench_local(|| kinship.coancestries_with(size / 2));
}

/// A block of a hundred plants, as shown on a screen.
#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn block_of_a_hundred(bencher: Bencher<'_, '_>, size: usize) {
    let kinship = Kinship::new(pedigree(&Program::families(size)));
    let chosen: Vec<usize> = (0..100).map(|i| i * (size / 100)).collect();
    bencher.bench_local(|| kinship.coancestry_block(&chosen, &chosen));
}

#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn parse_csv(bencher: Bencher<'_, '_>, size: usize) {
    let text = Program::families(size).csv();
    bencher.bench_local(|| parse(&text));
}

fn pedigree(program: &Program) -> Pedigree {
    match Pedigree::new(program.genotypes(), &Assumptions::default()) {
        Ok(pedigree) => pedigree,
        Err(error) => panic!("{error}"),
    }
}

/// From records to inbreeding, the checking and ordering of the pedigree included.
fn solve(program: &Program) -> Vec<f64> {
    inbreeding(&pedigree(program))
}

/// Reads every field and keeps none: the least that any reader of the file must do.
fn parse(text: &[u8]) -> usize {
    let mut reader = csv::Reader::from_reader(text);
    let mut record = csv::ByteRecord::new();
    let mut read = 0;
    while reader.read_byte_record(&mut record).is_ok_and(|more| more) {
        read += record
            .iter()
            .map(|field| black_box(field).len())
            .sum::<usize>();
    }
    read
}

/// Prints time by size, and how many times as long the others take.
fn compare() -> std::io::Result<()> {
    println(&[
        "plants",
        "families",
        "parents",
        "inbreeding",
        "CSV",
        "CSV ratio",
        "M&L by family",
        "M&L by plant",
    ])?;
    for size in SIZES {
        compare_on(&Program::families(size))?;
    }
    for size in [10_000, 100_000] {
        compare_on(&Program::single_plants(size))?;
    }
    println(&["(ratio: inbreeding / CSV; M&L with the times it takes as long as inbreeding)"])
}

fn compare_on(program: &Program) -> std::io::Result<()> {
    let checked = pedigree(program);
    let text = program.csv();
    let (own, found) = best_of(3, || solve(program));
    let (csv, _) = best_of(3, || parse(&text));
    let (by_family, expected) = best_of(1, || meuwissen_luo::inbreeding(program, true));
    let (by_plant, _) = best_of(1, || meuwissen_luo::inbreeding(program, false));
    assert!(
        found
            .iter()
            .zip(&expected)
            .all(|(a, b)| (a - b).abs() < 1e-9),
        "both methods agree"
    );
    let ratio = |one: Duration, other: Duration| one.as_secs_f64() / other.as_secs_f64();
    println(&[
        &checked.len().to_string(),
        &checked.family_count().to_string(),
        &checked.parents().len().to_string(),
        &format!("{own:.1?}"),
        &format!("{csv:.1?}"),
        &format!("{:.2}", ratio(own, csv)),
        &format!("{by_family:.1?} ({:.1}x)", ratio(by_family, own)),
        &format!("{by_plant:.1?} ({:.1}x)", ratio(by_plant, own)),
    ])
}

fn println(cells: &[&str]) -> std::io::Result<()> {
    let padded: Vec<String> = cells.iter().map(|cell| format!("{cell:<17}")).collect();
    writeln!(std::io::stdout(), "{}", padded.concat().trim_end())
}

fn best_of<T>(runs: usize, mut work: impl FnMut() -> T) -> (Duration, T) {
    let mut timed = || {
        let start = Instant::now();
        let result = black_box(work());
        (start.elapsed(), result)
    };
    let first = timed();
    (1..runs).fold(first, |best, _| {
        let next = timed();
        if next.0 < best.0 { next } else { best }
    })
}
