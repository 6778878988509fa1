//! Time to lay out trials: sixty entries three times on ten rows by eighteen columns, against inverting the information
//! matrix anew for as many exchanges, in the same run.

use quant::design::{Efficiency, Request, Shape, design};
use std::hint::black_box;

fn main() {
    divan::main();
}

fn request(tries: u64) -> Request {
    Request {
        entries: 60,
        replicates: 3,
        once_more: 0,
        checks: 0,
        shape: Shape::Grid {
            rows: 10,
            columns: 18,
            missing: Vec::new(),
        },
        seed: 1,
        tries,
    }
}

/// As the command line asks for it.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn rows_and_columns() {
    black_box(design(&request(1_000_000)).is_ok());
}

/// The cost of twenty thousand exchanges looked at, found by look-ups.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn twenty_thousand_exchanges() {
    black_box(design(&request(20_000)).is_ok());
}

/// The same for a hundred of them, each worked out from the start: times two hundred to compare.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn a_hundred_exchanges_worked_out_anew(bencher: divan::Bencher<'_, '_>) {
    let Ok(made) = design(&request(2000)) else {
        panic!("no layout to start from");
    };
    let entries: Vec<usize> = made.plots.iter().map(|plot| plot.entry).collect();
    bencher.bench_local(|| {
        for first in 0..100 {
            let mut entries = entries.clone();
            entries.swap(first, first + 1);
            black_box(Efficiency::of(&entries, &made.nuisance, None));
        }
    });
}
