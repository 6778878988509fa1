//! The plan of crosses: against exhaustive search, against its bound, and what more space and locks do.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use std::ops::ControlFlow;

use faer::Mat;
use fastrand::Rng;
use quant::mating::{
    CountLimit, Family, MatingError, Plan, Problem, Quantities, Request, RoomLimit, curve,
    lock_costs, plan,
};

fn go(_: f64) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

/// Parents in sib groups of three: kinship ½ with themselves, ¼ within a group.
fn kinship(parents: usize) -> Mat<f64> {
    Mat::from_fn(parents, parents, |i, j| match (i == j, i / 3 == j / 3) {
        (true, _) => 0.5,
        (false, true) => 0.25,
        (false, false) => 0.0,
    })
}

struct Case {
    females: usize,
    males: usize,
    room: u32,
    most: u32,
    per_female: u32,
    per_male: u32,
    crosses: u32,
    least: u32,
    wanted: u32,
}

/// Females come first; means are those of the parents, spreads differ.
fn problem(case: &Case, seed: u64) -> Problem {
    let mut random = Rng::with_seed(seed);
    let parents = case.females + case.males;
    let merit: Vec<f64> = (0..parents).map(|_| 2.0 * random.f64() - 1.0).collect();
    let mut families = Vec::new();
    for female in 0..case.females {
        for male in case.females..parents {
            families.push(Family {
                female,
                male,
                mean: 0.5 * (merit[female] + merit[male]),
                deviation: 0.4 + 0.3 * random.f64(),
                rate: 0.2 + 0.2 * random.f64(),
                most: case.most,
            });
        }
    }
    let of = |wanted: usize| -> Vec<usize> {
        let is_in = |family: &&usize| {
            families[**family].female == wanted || families[**family].male == wanted
        };
        (0..families.len())
            .collect::<Vec<_>>()
            .iter()
            .filter(is_in)
            .copied()
            .collect()
    };
    let all: Vec<usize> = (0..families.len()).collect();
    let mut rooms = vec![RoomLimit {
        room: case.room.into(),
        takes: all.iter().map(|&family| (family, 1.0)).collect(),
        whole: 1,
    }];
    rooms.extend((0..case.females).map(|female| RoomLimit {
        room: case.per_female.into(),
        takes: of(female).into_iter().map(|family| (family, 1.0)).collect(),
        whole: 1,
    }));
    let mut counts = vec![CountLimit {
        most: case.crosses,
        families: all,
    }];
    counts.extend((case.females..parents).map(|male| CountLimit {
        most: case.per_male,
        families: of(male),
    }));
    let quantities = Quantities {
        portion: 10,
        least: case.least,
        wanted: case.wanted,
        floor: -1.0,
    };
    Problem::new(families, kinship(parents), quantities, rooms, counts).unwrap()
}

const SMALL: Case = Case {
    females: 3,
    males: 2,
    room: 7,
    most: 5,
    per_female: 4,
    per_male: 2,
    crosses: 3,
    least: 2,
    wanted: 3,
};

fn request(coancestry: f64, locked: &[usize], branches: usize) -> Request {
    Request {
        coancestry,
        locked: locked.to_vec(),
        branches,
    }
}

/// The best gain of all plans there are.
fn exhaustive(problem: &Problem, limit: f64, locked: &[usize]) -> Option<f64> {
    let families = problem.families().len();
    let mut portions = vec![0; families];
    let mut best: Option<f64> = None;
    loop {
        if problem.allows(&portions, limit, locked) {
            let gain = problem.gain(&portions);
            if best.is_none_or(|best| gain > best) {
                best = Some(gain);
            }
        }
        let mut place = 0;
        while place < families && portions[place] == problem.most(place) {
            portions[place] = 0;
            place += 1;
        }
        if place == families {
            return best;
        }
        portions[place] += 1;
    }
}

#[test]
fn small_cases_equal_exhaustive_search() {
    for seed in 0..6 {
        let problem = problem(&SMALL, seed);
        for (limit, locked) in [
            (f64::INFINITY, vec![]),
            (0.24, vec![]),
            (0.2, vec![]),
            (f64::INFINITY, vec![4]),
            (0.24, vec![1]),
        ] {
            let expected = exhaustive(&problem, limit, &locked);
            let found = plan(&problem, &request(limit, &locked, 400), &[], &mut go);
            match (expected, found) {
                (Some(expected), Ok(found)) => {
                    assert!(problem.allows(&found.portions, limit, &locked));
                    assert!(
                        (found.gain - expected).abs() < 1e-5,
                        "{seed} {limit}: {found:?} for {expected}"
                    );
                    assert!(
                        found.bound >= expected - 1e-9 && found.distance() < 1e-4,
                        "{found:?}"
                    );
                }
                (None, Err(_)) => {}
                (expected, found) => {
                    panic!("{seed} {limit} {locked:?}: {found:?} for {expected:?}")
                }
            }
        }
    }
}

const LARGE: Case = Case {
    females: 10,
    males: 8,
    room: 60,
    most: 20,
    per_female: 15,
    per_male: 4,
    crosses: 16,
    least: 1,
    wanted: 5,
};

#[test]
fn larger_cases_come_near_their_bound() {
    let problem = problem(&LARGE, 7);
    let free = plan(&problem, &request(f64::INFINITY, &[], 0), &[], &mut go).unwrap();
    let narrow = free.coancestry.unwrap();
    for limit in [f64::INFINITY, 0.5 * (narrow + 0.11)] {
        let found = plan(&problem, &request(limit, &[], 0), &[], &mut go).unwrap();
        assert!(problem.allows(&found.portions, limit, &[]));
        assert!(found.bound >= found.gain);
        assert!(
            found.distance() < 0.03,
            "{:.4} below the bound: {found:?}",
            found.distance()
        );
    }
    // No plan drawn at random gains more than the bound.
    let mut random = Rng::with_seed(3);
    for _ in 0..2_000 {
        let mut portions = vec![0; problem.families().len()];
        for _ in 0..80 {
            let family = random.usize(..portions.len());
            portions[family] += 1;
            if !problem.allows(&portions, f64::INFINITY, &[]) {
                portions[family] -= 1;
            }
        }
        assert!(problem.gain(&portions) <= free.bound);
    }
}

#[test]
fn the_curve_rises_from_diverse_to_rich() {
    let problem = problem(&LARGE, 11);
    let plans = curve(&problem, &[], 5, &[], &mut go).unwrap();
    assert!(plans.len() >= 3, "{} points", plans.len());
    for pair in plans.windows(2) {
        assert!(pair[1].gain > pair[0].gain && pair[1].coancestry > pair[0].coancestry);
    }
    for each in &plans {
        assert!(problem.allows(&each.portions, f64::INFINITY, &[]) && each.bound >= each.gain);
    }
}

#[test]
fn more_space_never_makes_the_plan_worse() {
    for seed in 0..4 {
        let mut known: Vec<Vec<u32>> = Vec::new();
        let mut last = 0.0;
        for room in [4, 6, 9, 20, 40] {
            let problem = problem(&Case { room, ..SMALL }, 20 + seed);
            let found = plan(&problem, &request(0.25, &[], 20), &known, &mut go).unwrap();
            assert!(found.gain >= last, "{room}: {} after {last}", found.gain);
            last = found.gain;
            known.push(found.portions);
        }
    }
}

#[test]
fn a_lock_never_makes_the_plan_better() {
    for seed in 0..4 {
        let problem = problem(&LARGE, 40 + seed);
        let locked = [3, 41, 77];
        let asked = request(0.3, &locked, 0);
        let (with, costs) = lock_costs(&problem, &asked, &[], &mut go).unwrap();
        assert!(locked.iter().all(|&family| with.portions[family] > 0));
        assert_eq!(costs.len(), 3);
        for each in &costs {
            assert!(each.cost >= 0.0, "{each:?}");
            assert!((each.without.gain - each.cost - with.gain).abs() < 1e-12);
        }
        let free = plan(
            &problem,
            &request(0.3, &[], 0),
            std::slice::from_ref(&with.portions),
            &mut go,
        )
        .unwrap();
        assert!(free.gain >= with.gain);
    }
}

#[test]
fn what_cannot_be_is_refused() {
    let problem = problem(&SMALL, 1);
    let mut stop = |_: f64| ControlFlow::Break(());
    let free = request(f64::INFINITY, &[], 0);
    assert_eq!(
        plan(&problem, &free, &[], &mut stop),
        Err(MatingError::Stopped)
    );
    let all: Vec<usize> = (0..6).collect();
    let crowded = plan(&problem, &request(f64::INFINITY, &all, 0), &[], &mut go);
    assert_eq!(crowded, Err(MatingError::Locked));
    let missing = plan(&problem, &request(f64::INFINITY, &[99], 0), &[], &mut go);
    assert_eq!(missing, Err(MatingError::Missing));
    let broken = Mat::from_fn(2, 2, |i, j| if i == j { 0.5 } else { 0.9 });
    let quantities = problem.quantities();
    let refused = Problem::new(vec![], broken, quantities, vec![], vec![]);
    assert!(matches!(refused, Err(MatingError::Kinship)));
}

#[test]
fn the_same_question_has_the_same_answer() {
    let problem = problem(&LARGE, 5);
    let asked = request(0.25, &[2], 4);
    let answer = || -> Plan { plan(&problem, &asked, &[], &mut go).unwrap() };
    assert_eq!(answer(), answer());
}
