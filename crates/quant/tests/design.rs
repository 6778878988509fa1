//! Layouts of trials: against published arrangements and factors, and what must hold whatever the seed.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use fastrand::Rng;
use quant::design::{
    Comparison, Design, DesignError, Efficiency, Nuisance, Request, Shape, alpha, design,
    differences, latin_square, noncentral_t_above,
};
use std::collections::{BTreeMap, HashMap, HashSet};

fn request(entries: usize, replicates: usize, shape: Shape, seed: u64) -> Request {
    Request {
        entries,
        replicates,
        once_more: 0,
        checks: 0,
        shape,
        seed,
        tries: 3000,
    }
}

fn grid(rows: usize, columns: usize) -> Shape {
    Shape::Grid {
        rows,
        columns,
        missing: Vec::new(),
    }
}

/// Entry and block of each plot, blocks numbered through.
fn of_blocks(arrangement: &[Vec<Vec<usize>>]) -> (Vec<usize>, Vec<usize>, Vec<usize>) {
    let (mut entries, mut blocks, mut replicates) = (Vec::new(), Vec::new(), Vec::new());
    let mut count = 0;
    for (replicate, of_replicate) in arrangement.iter().enumerate() {
        for block in of_replicate {
            for &entry in block {
                entries.push(entry);
                blocks.push(count);
                replicates.push(replicate);
            }
            count += 1;
        }
    }
    (entries, blocks, replicates)
}

fn efficiency(arrangement: &[Vec<Vec<usize>>]) -> Efficiency {
    let (entries, blocks, replicates) = of_blocks(arrangement);
    Efficiency::of(&entries, &Nuisance::blocks(&blocks), Some(&replicates)).unwrap()
}

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found}, not {expected}"
    );
}

/// Spring oats of John & Williams (1995), Cyclic and Computer Generated Designs, p. 146, as `john.alpha` of the R package
/// agridat: 24 entries, 3 replicates of 6 blocks of 4. The harmonic mean of the canonical factors, the concurrences
/// (168 pairs never together, 108 once) and the intrablock variance of a difference (0.0765904 at a residual of
/// 0.0834631) were worked out independently.
#[test]
fn the_factors_of_a_published_alpha_design() {
    let mut reader = csv::Reader::from_path("tests/data/john.alpha.csv").unwrap();
    let (mut entries, mut blocks, mut replicates) = (Vec::new(), Vec::new(), Vec::new());
    for row in reader.records() {
        let row = row.unwrap();
        let replicate: usize = row[2][1..].parse::<usize>().unwrap() - 1;
        let block: usize = row[3][1..].parse::<usize>().unwrap() - 1;
        entries.push(row[4][1..].parse::<usize>().unwrap() - 1);
        blocks.push(replicate * 6 + block);
        replicates.push(replicate);
    }
    let found = Efficiency::of(&entries, &Nuisance::blocks(&blocks), Some(&replicates)).unwrap();
    assert_eq!(found.factors.len(), 23);
    near(found.average.unwrap(), 0.726488, 1e-6);
    let harmonic = 23.0
        / found
            .factors
            .iter()
            .map(|factor| factor.recip())
            .sum::<f64>();
    near(harmonic, 0.726488, 1e-6);
    near(found.bound, 0.754098, 1e-6);
    near(found.mean_variance.unwrap() * 0.0834631, 0.0765904, 1e-6);
    let mut together = HashMap::new();
    for one in 0..72 {
        for other in 0..one {
            if blocks[one] == blocks[other] {
                *together
                    .entry((
                        entries[one].min(entries[other]),
                        entries[one].max(entries[other]),
                    ))
                    .or_insert(0) += 1;
            }
        }
    }
    assert_eq!(together.len(), 108);
    assert!(together.values().all(|&times| times == 1));
}

/// Efficiency and bound of the alpha arrays of Patterson, Williams & Hunter (1978), arrays from memory, factors worked
/// out independently; the bound is U of John & Williams (1995).
const ARRAYS: [(usize, usize, usize, f64, f64); 6] = [
    (20, 4, 2, 0.676960, 0.703704),
    (20, 4, 3, 0.744681, 0.76),
    (24, 4, 2, 0.650094, 0.696970),
    (24, 4, 3, 0.726488, 0.754098),
    (30, 5, 3, 0.784346, 0.794521),
    (49, 7, 4, 0.857143, 0.857143),
];

#[test]
fn alpha_arrays_have_their_published_efficiency() {
    for (entries, size, replicates, average, bound) in ARRAYS {
        let found = efficiency(&alpha(entries, replicates, entries / size).unwrap());
        near(found.average.unwrap(), average, 1e-6);
        near(found.bound, bound, 1e-6);
    }
    // Square lattices reach the bound (r-1)(k+1) / [(r-1)(k+1) + r], up to the balanced one.
    for side in [3, 5, 7] {
        for replicates in 2..=side + 1 {
            let found = efficiency(&alpha(side * side, replicates, side).unwrap());
            let (r, k) = (replicates as f64, side as f64);
            let lattice = (r - 1.0) * (k + 1.0) / ((r - 1.0) * (k + 1.0) + r);
            near(found.average.unwrap(), lattice, 1e-9);
            near(found.bound, lattice, 1e-9);
        }
    }
}

/// E = v(k-1) / [k(v-1)] of balanced incomplete blocks: 7 in 3s 0.777778, 13 in 4s 0.8125.
#[test]
fn balanced_incomplete_blocks() {
    for (start, count, expected) in [
        (vec![0, 1, 3], 7, 7.0 / 9.0),
        (vec![0, 1, 3, 9], 13, 0.8125),
    ] {
        let blocks: Vec<Vec<usize>> = (0..count)
            .map(|shift| start.iter().map(|place| (place + shift) % count).collect())
            .collect();
        let (entries, blocks, _) = of_blocks(&[blocks]);
        let found = Efficiency::of(&entries, &Nuisance::blocks(&blocks), None).unwrap();
        near(found.average.unwrap(), expected, 1e-9);
        near(found.bound, expected, 1e-9);
    }
}

/// The search finds designs at least as good as the published arrays, and never beyond the bound.
#[test]
fn searched_designs_are_at_or_above_the_alpha_arrays() {
    for (entries, size, replicates, average, bound) in ARRAYS {
        let mut asked = request(entries, replicates, Shape::Blocks(size), 5);
        asked.tries = 100_000;
        let found = design(&asked).unwrap();
        let reached = found.efficiency.average.unwrap();
        assert!(
            reached > average - 1e-6,
            "{entries}/{size}/{replicates}: {reached}"
        );
        assert!(reached <= bound + 1e-6);
        near(found.efficiency.bound, bound, 1e-6);
    }
}

/// What must hold whatever the seed.
fn check(request: &Request, made: &Design) {
    let at: BTreeMap<(usize, usize), usize> = made
        .plots
        .iter()
        .map(|plot| ((plot.row, plot.column), plot.entry))
        .collect();
    assert_eq!(at.len(), made.plots.len(), "two plots in one place");
    // No entry beside itself, along rows, columns and the way walked.
    for (&(row, column), entry) in &at {
        for next in [(row + 1, column), (row, column + 1)] {
            assert_ne!(at.get(&next), Some(entry), "{request:?} {row} {column}");
        }
    }
    for pair in made.plots.windows(2) {
        assert_ne!(pair[0].entry, pair[1].entry, "{request:?}");
    }
    let mut times = vec![0; request.entries + request.checks];
    let mut cells = HashSet::new();
    let mut sizes: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    let mut checks: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    for plot in &made.plots {
        times[plot.entry] += 1;
        if made.resolvable {
            assert!(cells.insert((plot.replicate, plot.entry)), "{request:?}");
        }
        *sizes.entry((plot.replicate, plot.block)).or_default() += 1;
        *checks.entry((plot.replicate, plot.block)).or_default() +=
            usize::from(plot.entry >= request.entries);
    }
    for (entry, &times) in times.iter().enumerate().take(request.entries) {
        let more = usize::from(entry < request.once_more);
        assert_eq!(times, request.replicates + more, "{request:?}");
    }
    for counts in [&sizes, &checks] {
        let (least, most) = (
            counts.values().min().unwrap(),
            counts.values().max().unwrap(),
        );
        assert!(most - least <= 1, "{request:?}: {counts:?}");
    }
    if let Shape::Blocks(size) = request.shape {
        assert!(sizes.values().all(|&plots| plots <= size));
    }
    let of_checks = &times[request.entries..];
    if let (Some(least), Some(most)) = (of_checks.iter().min(), of_checks.iter().max()) {
        assert!(most - least <= 1 && *least > 0);
    }
    let reached = made.efficiency.average.unwrap();
    assert!(
        reached <= made.efficiency.bound + 1e-6,
        "{request:?}: {:?}",
        made.efficiency
    );
}

/// Checks stand as evenly over the lines of a field as can be.
fn spread_evenly(request: &Request, made: &Design) {
    for line in [|row: usize, _: usize| row, |_: usize, column: usize| column] {
        let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
        for plot in &made.plots {
            *counts.entry(line(plot.row, plot.column)).or_default() +=
                usize::from(plot.entry >= request.entries);
        }
        let (least, most) = (
            counts.values().min().unwrap(),
            counts.values().max().unwrap(),
        );
        assert!(most - least <= 1, "{request:?}: {counts:?}");
    }
}

#[test]
fn thousands_of_seeds_break_no_rule() {
    let mut random = Rng::with_seed(1);
    for seed in 0..3000 {
        let (entries, replicates) = (random.usize(4..17), random.usize(2..5));
        let mut asked = match seed % 4 {
            0 => request(entries, replicates, Shape::Complete, seed),
            1 => {
                let size = random.usize(3..entries.max(4));
                request(entries, replicates, Shape::Blocks(size), seed)
            }
            2 => request(entries, replicates, grid(entries, replicates), seed),
            _ => {
                let rows = random.usize(3..6);
                request(rows * 4, replicates, grid(rows, 4 * replicates), seed)
            }
        };
        asked.tries = 400;
        if seed % 8 == 1 {
            asked.checks = 2;
        }
        match design(&asked) {
            Ok(made) => {
                check(&asked, &made);
                assert!(made.resolvable);
                if seed % 40 < 4 {
                    assert_eq!(design(&asked), Ok(made), "not the same again");
                }
            }
            Err(why) => panic!("{asked:?}: {why}"),
        }
    }
}

#[test]
fn augmented_and_partly_replicated_trials_break_no_rule() {
    let mut random = Rng::with_seed(2);
    for seed in 0..1000 {
        let entries = random.usize(10..40);
        let mut asked = request(entries, 1, Shape::Complete, seed);
        asked.tries = 400;
        match seed % 4 {
            0 => {
                asked.checks = random.usize(2..5);
                asked.shape = Shape::Blocks(asked.checks + random.usize(3..8));
            }
            1 => {
                asked.once_more = entries / 2;
                asked.shape = Shape::Blocks(random.usize(5..9));
            }
            2 => {
                let (rows, columns) = (random.usize(5..9), random.usize(5..9));
                asked.checks = 3;
                asked.entries = rows * columns - rows.max(columns) - seed as usize % 3;
                asked.shape = grid(rows, columns);
            }
            _ => {
                let (rows, columns) = (random.usize(5..9), random.usize(5..9));
                asked.entries = rows * columns * 3 / 4;
                asked.once_more = rows * columns - asked.entries - 1;
                asked.shape = Shape::Grid {
                    rows,
                    columns,
                    missing: vec![(2, 2)],
                };
            }
        }
        let made = design(&asked).unwrap();
        check(&asked, &made);
        match seed % 4 {
            // Every check in every block.
            0 => assert!(
                made.plots
                    .iter()
                    .filter(|plot| plot.entry == entries)
                    .count()
                    > 1
            ),
            2 => spread_evenly(&asked, &made),
            3 => assert!(
                made.plots
                    .iter()
                    .all(|plot| (plot.row, plot.column) != (2, 2))
            ),
            _ => {}
        }
    }
}

/// Over 10,000 seeds each entry stands on each plot equally often: chi-square below its 0.999 quantile, by Wilson &
/// Hilferty (1931).
#[test]
fn every_entry_stands_everywhere_equally_often() {
    for (entries, shape) in [(6, Shape::Blocks(3)), (6, grid(3, 6)), (5, Shape::Complete)] {
        let mut counts: HashMap<(usize, usize), f64> = HashMap::new();
        for seed in 0..10_000 {
            let mut asked = request(entries, 3, shape.clone(), seed);
            asked.tries = 20;
            for (place, plot) in design(&asked).unwrap().plots.iter().enumerate() {
                *counts.entry((place, plot.entry)).or_default() += 1.0;
            }
        }
        let expected = 10_000.0 / entries as f64;
        for place in 0..3 * entries {
            let squares: f64 = (0..entries)
                .map(|entry| (counts[&(place, entry)] - expected).powi(2) / expected)
                .sum();
            // 18 plots are looked at: 0.999 for all of them.
            let freedom = (entries - 1) as f64;
            let z = 3.9;
            let part = 2.0 / (9.0 * freedom);
            let limit = freedom * (1.0 - part + z * part.sqrt()).powi(3);
            assert!(squares < limit, "{entries} {place}: {squares} {limit}");
        }
    }
}

/// All 576 Latin squares of order 4 come equally often; of order 3 all 12 (counts: reduced 1, 1, 4 times n!(n-1)!).
#[test]
fn latin_squares_are_drawn_evenly() {
    let mut random = Rng::with_seed(11);
    for (order, squares, draws) in [(3, 12, 2400), (4, 576, 23_040)] {
        let mut counts: HashMap<Vec<Vec<usize>>, f64> = HashMap::new();
        for _ in 0..draws {
            let square = latin_square(order, &mut random);
            *counts.entry(square).or_default() += 1.0;
        }
        assert_eq!(counts.len(), squares);
        let expected = f64::from(draws) / squares as f64;
        let sum: f64 = counts
            .values()
            .map(|count| (count - expected).powi(2) / expected)
            .sum();
        let freedom = squares as f64 - 1.0;
        assert!(
            (sum - freedom).abs() < 4.0 * (2.0 * freedom).sqrt(),
            "{order}: {sum}"
        );
    }
    for seed in 0..200 {
        let order = 2 + seed as usize % 9;
        let asked = request(order, order, grid(order, order), seed);
        let made = design(&asked).unwrap();
        check(&asked, &made);
        let columns: HashSet<(usize, usize)> = made
            .plots
            .iter()
            .map(|plot| (plot.column, plot.entry))
            .collect();
        assert_eq!(columns.len(), order * order);
        near(made.efficiency.average.unwrap(), 1.0, 1e-9);
    }
}

/// Augmented blocks as Federer (1956) lays them out: 4 checks in 3 blocks, 8 new entries. Standard errors of a difference
/// at the residual 161.833/6 from the normal equations, and the formulas. TRAP: a form with +1/(rc) for new against
/// check gives 6.70475 and is wrong.
#[test]
fn augmented_differences_come_from_the_matrix() {
    let blocks = [
        vec![0, 1, 2, 3, 6, 10, 11],
        vec![0, 1, 2, 3, 4, 8],
        vec![0, 1, 2, 3, 5, 7, 9],
    ];
    let (entries, blocks, _) = of_blocks(&[blocks.to_vec()]);
    let variances = differences(&entries, &Nuisance::blocks(&blocks)).unwrap();
    let residual = 161.833 / 6.0;
    let error = |one, other| f64::sqrt(residual * variances[(one, other)]);
    near(error(0, 1), 4.24046, 1e-4);
    near(error(6, 10), 7.34469, 1e-4);
    near(error(6, 4), 8.21161, 1e-4);
    near(error(6, 0), 6.36069, 1e-4);
    let (r, c) = (3.0, 4.0);
    near(
        error(6, 0),
        f64::sqrt(residual * (1.0 + 1.0 / r + 1.0 / c - 1.0 / (r * c))),
        1e-9,
    );
    near(
        error(6, 4),
        f64::sqrt(2.0 * residual * (1.0 + 1.0 / c)),
        1e-9,
    );
    assert!((error(6, 0) - 6.70475).abs() > 0.3);
    // The same trial, laid out here.
    let mut asked = request(8, 1, Shape::Blocks(7), 3);
    asked.checks = 4;
    let made = design(&asked).unwrap();
    check(&asked, &made);
    assert_eq!(made.plots.len(), 20);
}

/// Sixty entries three times on ten rows by eighteen columns: rows and columns both taken out.
#[test]
fn sixty_entries_on_ten_rows() {
    let mut asked = request(60, 3, grid(10, 18), 42);
    asked.tries = 60_000;
    let made = design(&asked).unwrap();
    check(&asked, &made);
    let (reached, bound) = (made.efficiency.average.unwrap(), made.efficiency.bound);
    assert!(reached > 0.93 * bound, "{reached} of {bound}");
    // Better than the mean of layouts by chance.
    asked.tries = 0;
    let chance = design(&Request {
        tries: 2000,
        ..asked.clone()
    })
    .unwrap();
    assert!(reached > chance.efficiency.average.unwrap());
    // With checks and with rows and columns given for one replicate.
    let mut asked = request(33, 2, grid(5, 7), 7);
    asked.checks = 2;
    let made = design(&asked).unwrap();
    check(&asked, &made);
    spread_evenly(&asked, &made);
    assert_eq!(made.plots.iter().map(|plot| plot.row).max(), Some(9));
}

/// Positions that can't be planted: 34 entries twice on two times five rows by seven columns, one gap in each half.
#[test]
fn gaps_in_the_field() {
    let shape = Shape::Grid {
        rows: 10,
        columns: 7,
        missing: vec![(1, 2), (8, 5)],
    };
    for seed in 0..20 {
        let asked = request(34, 2, shape.clone(), seed);
        let made = design(&asked).unwrap();
        check(&asked, &made);
        assert!(
            made.plots
                .iter()
                .all(|plot| ![(1, 2), (8, 5)].contains(&(plot.row, plot.column)))
        );
    }
}

#[test]
fn refuses_what_can_not_be_laid_out() {
    let refused = |asked: &Request| design(asked).unwrap_err();
    assert_eq!(
        refused(&request(1, 3, Shape::Complete, 0)),
        DesignError::Nothing
    );
    assert_eq!(
        refused(&request(8, 0, Shape::Complete, 0)),
        DesignError::Nothing
    );
    assert_eq!(
        refused(&request(8, 2, Shape::Blocks(1), 0)),
        DesignError::Blocks
    );
    assert_eq!(
        refused(&request(60, 3, grid(10, 17), 0)),
        DesignError::Plots {
            there: 170,
            needed: 180
        }
    );
    assert_eq!(
        refused(&request(60, 3, grid(10, 19), 0)),
        DesignError::Plots {
            there: 190,
            needed: 180
        }
    );
    // Each entry once in blocks, nothing that stands twice: nothing can be compared across blocks.
    assert_eq!(
        refused(&request(20, 1, Shape::Blocks(5), 0)),
        DesignError::Apart
    );
    let mut asked = request(20, 1, Shape::Blocks(4), 0);
    asked.checks = 4;
    assert_eq!(refused(&asked), DesignError::Blocks);
    let missing = Shape::Grid {
        rows: 3,
        columns: 3,
        missing: vec![(3, 0)],
    };
    assert_eq!(refused(&request(4, 2, missing, 0)), DesignError::Missing);
    // Two entries on three plots in a row can't be kept apart from themselves.
    let made = design(&request(2, 2, grid(1, 4), 0));
    assert!(
        made.is_err()
            || made.is_ok_and(|made| made
                .plots
                .windows(2)
                .all(|pair| pair[0].entry != pair[1].entry))
    );
}

/// Replicates for 80 % power, two-sided 5 %, ten entries, by the rule of Cochran & Cox (1957), for differences of 10, 15,
/// 20, 25 and 30 % of the mean.
#[test]
fn replicates_before_planting() {
    for (variation, expected) in [
        (10.0, [16, 8, 5, 3, 3]),
        (15.0, [36, 16, 10, 6, 5]),
        (20.0, [64, 29, 16, 11, 8]),
    ] {
        for (difference, expected) in [10.0, 15.0, 20.0, 25.0, 30.0].into_iter().zip(expected) {
            let found = comparison(variation, 0).replicates_for(difference, 0.8);
            assert_eq!(found, Some(expected), "{variation} {difference}");
        }
    }
    for (replicates, least) in [(3, 36.289), (4, 30.833), (6, 24.801)] {
        near(
            comparison(15.0, replicates).least_difference(0.8).unwrap(),
            least,
            1e-3,
        );
    }
    near(comparison(15.0, 4).power(20.0).unwrap(), 0.443819, 1e-6);
    near(comparison(15.0, 4).power(0.0).unwrap(), 0.05, 1e-8);
    assert_eq!(comparison(15.0, 1).power(20.0), None);
}

fn comparison(variation: f64, replicates: u32) -> Comparison {
    Comparison {
        variation,
        replicates,
        entries: 10,
        level: 0.05,
    }
}

/// Power as the share of simulated trials in which the difference is found.
#[test]
fn power_is_what_simulated_trials_find() {
    let mut random = Rng::with_seed(5);
    let mut normal = || quant::chance::normal::quantile(random.f64().max(1e-12));
    const TRIALS: usize = 40_000;
    let (replicates, freedom, critical) = (4, 27, 2.051_831);
    let mut found = 0;
    for _ in 0..TRIALS {
        let difference = 20.0 + 15.0 * f64::sqrt(2.0 / f64::from(replicates)) * normal();
        let squares: f64 = (0..freedom).map(|_| (15.0 * normal()).powi(2)).sum();
        let error = f64::sqrt(2.0 / f64::from(replicates) * squares / f64::from(freedom));
        found += usize::from((difference / error).abs() > critical);
    }
    let share = found as f64 / TRIALS as f64;
    near(
        share,
        comparison(15.0, 4).power(20.0).unwrap(),
        4.0 * f64::sqrt(0.25 / TRIALS as f64),
    );
    // Without noncentrality it is Student's t: 2.228139 leaves 2.5 % above at 10 degrees of freedom.
    near(noncentral_t_above(2.228_139, 10.0, 0.0), 0.025, 1e-7);
}

/// A search ends where the bound is reached or nothing better comes, however many exchanges it may try.
#[test]
fn a_search_without_end_of_tries_ends() {
    for (entries, replicates, shape) in [
        (2, 2, Shape::Blocks(2)),
        (9, 4, Shape::Blocks(3)),
        (7, 3, Shape::Blocks(3)),
        (5, 4, grid(4, 5)),
    ] {
        let mut asked = request(entries, replicates, shape, 1);
        asked.tries = u64::MAX;
        let made = design(&asked).unwrap();
        let reached = made.efficiency.average.unwrap();
        assert!(reached <= made.efficiency.bound + 1e-9, "{reached}");
        // The square lattice of nine in threes attains the bound.
        assert!(entries != 9 || reached > made.efficiency.bound - 1e-9);
    }
}
