//! How long a family tree takes to lay out, against sorting as many codes: the median of a few runs of each.
#![expect(clippy::print_stdout, reason = "a bench for the command line")]

#[path = "../examples/support/pedigree.rs"]
mod pedigree;

use std::{
    hint::black_box,
    time::{Duration, Instant},
};

use family_tree::{Extract, FamilyGraph, Layout, Scope, Sizes};

const RUNS: usize = 7;

fn median(mut work: impl FnMut()) -> Duration {
    let mut times: Vec<Duration> = (0..RUNS)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed()
        })
        .collect();
    times.sort();
    times[RUNS / 2]
}

fn main() {
    for count in [40, 2_000, 20_000] {
        let plants = pedigree::program(count);
        let codes: Vec<String> = plants
            .iter()
            .rev()
            .map(|plant| plant.code.clone())
            .collect();
        let sort = median(|| {
            let mut codes = codes.clone();
            codes.sort();
            black_box(codes);
        });
        let build = median(|| drop(black_box(FamilyGraph::new(plants.clone()))));
        println!("{count} plants: sort codes {sort:?}, build graph {build:?}");
        let graph = FamilyGraph::new(plants);
        for (name, fold_from) in [
            ("families folded", Scope::default().fold_from),
            ("every plant", usize::MAX),
        ] {
            let scope = Scope {
                fold_from,
                ..Scope::default()
            };
            let extract = Extract::new(&graph, &scope);
            let crossings = Layout::new(&extract, Sizes::fitting(&graph)).crossings;
            let time = median(|| {
                let extract = Extract::new(&graph, black_box(&scope));
                black_box(Layout::new(&extract, Sizes::fitting(&graph)));
            });
            println!(
                "  lay out, {name}: {time:?} ({} boxes, {crossings} crossings)",
                extract.boxes.len()
            );
        }
    }
}
