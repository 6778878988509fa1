//! Time to plan forty crosses, against a plain greedy search in the same run.
//!
//! Forty females and twenty males give 800 families; forty crosses may be made, 400 portions of ten seeds. The plain
//! reference gives portion after portion to the family where it gains most, every family tried each time.

use faer::Mat;
use quant::mating::{CountLimit, Family, Plan, Problem, Quantities, Request, RoomLimit, plan};
use std::ops::ControlFlow;

const FEMALES: usize = 40;
const MALES: usize = 20;
const CROSSES: u32 = 40;
const ROOM: u32 = 400;

fn main() {
    divan::main();
}

/// Parents in sib groups of four, their values in a fixed pattern.
fn problem() -> Problem {
    let parents = FEMALES + MALES;
    let merit = |parent: usize| ((parent * 7919) % 101) as f64 / 50.0 - 1.0;
    let families: Vec<Family> = (0..FEMALES)
        .flat_map(|female| (FEMALES..parents).map(move |male| (female, male)))
        .map(|(female, male)| Family {
            female,
            male,
            mean: 0.5 * (merit(female) + merit(male)),
            deviation: 0.4 + 0.01 * ((female * 31 + male * 17) % 29) as f64,
            rate: 0.25,
            most: 40,
        })
        .collect();
    let kinship = Mat::from_fn(parents, parents, |i, j| match (i == j, i / 4 == j / 4) {
        (true, _) => 0.5,
        (false, true) => 0.25,
        (false, false) => 0.0,
    });
    let takes = (0..families.len()).map(|family| (family, 1.0)).collect();
    let counts = vec![CountLimit {
        most: CROSSES,
        families: (0..families.len()).collect(),
    }];
    let quantities = Quantities {
        portion: 10,
        least: 1,
        wanted: 5,
        floor: 0.0,
    };
    let rooms = vec![RoomLimit {
        room: ROOM.into(),
        takes,
        whole: 1,
    }];
    match Problem::new(families, kinship, quantities, rooms, counts) {
        Ok(problem) => problem,
        Err(error) => panic!("{error}"),
    }
}

/// The limit that makes the plan spread over about forty crosses.
const COANCESTRY: f64 = 0.03;

#[divan::bench(sample_count = 3, sample_size = 1)]
fn forty_crosses(bencher: divan::Bencher<'_, '_>) {
    let problem = problem();
    let request = Request {
        coancestry: COANCESTRY,
        locked: Vec::new(),
        branches: 0,
    };
    bencher.bench(|| -> Plan {
        match plan(&problem, &request, &[], &mut |_| ControlFlow::Continue(())) {
            Ok(plan) => plan,
            Err(error) => panic!("{error}"),
        }
    });
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn portion_by_portion(bencher: divan::Bencher<'_, '_>) {
    let problem = problem();
    bencher.bench(|| {
        let mut portions = vec![0; problem.families().len()];
        for _ in 0..ROOM {
            let mut best: Option<(f64, usize)> = None;
            for family in 0..portions.len() {
                portions[family] += 1;
                if problem.allows(&portions, f64::INFINITY, &[]) {
                    let gain = problem.gain(&portions);
                    if best.is_none_or(|best| gain > best.0) {
                        best = Some((gain, family));
                    }
                }
                portions[family] -= 1;
            }
            let Some((_, family)) = best else { break };
            portions[family] += 1;
        }
        problem.gain(&portions)
    });
}
