//! Simulated trials: what is said of them holds as often as it is said to hold.
//!
//! `BINEWRIGHT_TRIALS` is the number of simulated trials, few unless it is set. What is allowed to chance is four standard
//! errors at that number, so that few trials only find gross faults.

#![expect(clippy::print_stdout, reason = "the counts of long runs are read")]

use fastrand::Rng;
use quant::evaluation::{Coordinate, Parameter};
use quant::trial::{Analysis, Entries, Factor, Space, Trial, least_difference};

fn trials() -> usize {
    let wanted = std::env::var("BINEWRIGHT_TRIALS").ok();
    wanted.and_then(|text| text.parse().ok()).unwrap_or(12)
}

/// How far a mean of `count` values of this variance strays.
fn astray(variance: f64, count: usize) -> f64 {
    4.0 * (variance / count as f64).sqrt()
}

/// A standard normal value (Box & Muller 1958).
pub(crate) fn normal(rng: &mut Rng) -> f64 {
    let radius = (-2.0 * (1.0 - rng.f64()).ln()).sqrt();
    radius * (std::f64::consts::TAU * rng.f64()).cos()
}

pub(crate) fn factor(level: Vec<usize>) -> Factor {
    let levels = level.iter().max().unwrap() + 1;
    Factor { level, levels }
}

/// Which entry stands in which incomplete block of which replicate: `size` entries a block, `blocks` a replicate, by the
/// first columns of an alpha array.
struct Field {
    entry: Vec<usize>,
    replicate: Vec<usize>,
    block: Vec<usize>,
}

impl Field {
    /// Up to three replicates of `blocks` (odd) times `size` entries.
    fn alpha(size: usize, blocks: usize, replicates: usize) -> Self {
        let (mut entry, mut of_replicate, mut of_block) = (vec![], vec![], vec![]);
        for replicate in 0..replicates {
            for block in 0..blocks {
                for row in 0..size {
                    let step = [0, row, blocks - row][replicate];
                    entry.push(row * blocks + (step + block) % blocks);
                    of_replicate.push(replicate);
                    of_block.push(replicate * blocks + block);
                }
            }
        }
        Self {
            entry,
            replicate: of_replicate,
            block: of_block,
        }
    }

    fn complete(entries: usize, replicates: usize) -> Self {
        let plots = || 0..entries * replicates;
        Self {
            entry: plots().map(|plot| plot % entries).collect(),
            replicate: plots().map(|plot| plot / entries).collect(),
            block: plots().map(|plot| plot / entries).collect(),
        }
    }

    /// Loses plots by chance, of no entry all.
    fn thinned(mut self, rng: &mut Rng, share: f64) -> Self {
        let lost: Vec<bool> = self.entry.iter().map(|_| rng.f64() < share).collect();
        let kept = |levels: &Vec<usize>| -> Vec<usize> {
            let pairs = levels.iter().zip(&lost);
            pairs.filter(|(_, lost)| !**lost).map(|(l, _)| *l).collect()
        };
        let entry = kept(&self.entry);
        if (0..=*self.entry.iter().max().unwrap()).all(|one| entry.contains(&one)) {
            self = Self {
                replicate: kept(&self.replicate),
                block: kept(&self.block),
                entry,
            };
        }
        self
    }

    /// A trial with these variances of entries, blocks and plots, and the true values of the entries.
    fn grown(&self, rng: &mut Rng, [entries, blocks, plots]: [f64; 3]) -> (Trial, Vec<f64>) {
        let mut draw = |variance: f64, levels: &[usize]| -> Vec<f64> {
            let count = levels.iter().max().unwrap() + 1;
            let root = variance.sqrt();
            (0..count).map(|_| root * normal(rng)).collect()
        };
        let truth = draw(entries, &self.entry);
        let of_block = draw(blocks, &self.block);
        let values = (0..self.entry.len())
            .map(|plot| {
                let own = truth[self.entry[plot]] + of_block[self.block[plot]];
                10.0 + own + plots.sqrt() * normal(rng)
            })
            .collect();
        let within = self.block != self.replicate;
        let trial = Trial {
            values,
            entry: factor(self.entry.clone()),
            fixed: vec![factor(self.replicate.clone())],
            random: within
                .then(|| factor(self.block.clone()))
                .into_iter()
                .collect(),
            ..Trial::default()
        };
        (trial, truth)
    }
}

fn variance(analysis: &Analysis, component: usize) -> f64 {
    analysis.fit.components().get(component).get(0, 0)
}

/// The mean of estimates against the truth, with what is allowed to chance.
fn unbiased(name: &str, estimates: &[f64], truth: f64, more: f64) {
    let count = estimates.len();
    let mean = estimates.iter().sum::<f64>() / count as f64;
    let squares: f64 = estimates.iter().map(|e| (e - mean).powi(2)).sum();
    let allowed = astray(squares / (count - 1) as f64, count) + more;
    println!("{name}: mean {mean:.4} of {count}, truth {truth}, allowed {allowed:.4}");
    assert!((mean - truth).abs() <= allowed, "{name}: {mean}");
}

#[test]
fn variances_come_back_without_bias() {
    let mut rng = Rng::with_seed(1);
    let truth = [1.0, 1.0, 1.5];
    let mut found = [vec![], vec![], vec![]];
    for _ in 0..trials() {
        let field = Field::alpha(5, 7, 3).thinned(&mut rng, 0.05);
        let (trial, _) = field.grown(&mut rng, truth);
        let analysis = trial.analyse(Entries::Random).unwrap();
        for (component, found) in found.iter_mut().enumerate() {
            found.push(variance(&analysis, component));
        }
    }
    for ((name, found), truth) in ["entries", "blocks", "plots"].iter().zip(&found).zip(truth) {
        unbiased(name, found, truth, 0.0);
    }
}

/// Plots in rows and columns that share with their neighbours what these correlations say, each of variance 1.
pub(crate) fn neighbours([rows, columns]: [usize; 2], shape: [f64; 2], rng: &mut Rng) -> Vec<f64> {
    let mut field = vec![0.0; rows * columns];
    for place in 0..rows * columns {
        let (row, column) = (place / columns, place % columns);
        let (up, left) = (row > 0, column > 0);
        let mut mean = 0.0;
        let mut root = 1.0;
        if up {
            mean += shape[0] * field[place - columns];
            root *= (1.0 - shape[0].powi(2)).sqrt();
        }
        if left {
            mean += shape[1] * field[place - 1];
            root *= (1.0 - shape[1].powi(2)).sqrt();
        }
        if up && left {
            mean -= shape[0] * shape[1] * field[place - columns - 1];
        }
        field[place] = mean + root * normal(rng);
    }
    field
}

/// Correlations are estimated with a bias of the order of one over the number of plots, which is allowed for.
#[test]
fn neighbours_come_back() {
    let mut rng = Rng::with_seed(2);
    let (rows, columns) = (12, 20);
    let shape = [0.4_f64, 0.6];
    let count = (trials() / 5).max(8);
    let mut found = [vec![], vec![], vec![], vec![]];
    for _ in 0..count {
        let field = neighbours([rows, columns], shape, &mut rng);
        let mut entry: Vec<usize> = (0..rows * columns).map(|place| place % 60).collect();
        rng.shuffle(&mut entry);
        let truth: Vec<f64> = (0..60).map(|_| normal(&mut rng)).collect();
        let trial = Trial {
            values: entry
                .iter()
                .zip(&field)
                .map(|(&e, f)| truth[e] + f)
                .collect(),
            entry: factor(entry),
            space: Space::Neighbours {
                place: (0..rows * columns)
                    .map(|p| [p / columns, p % columns])
                    .collect(),
                size: [rows, columns],
                nugget: false,
            },
            ..Trial::default()
        };
        let analysis = trial.analyse(Entries::Random).unwrap();
        let shapes = &analysis.fit.components().shapes[1];
        let here = [
            variance(&analysis, 0),
            variance(&analysis, 1),
            shapes[0],
            shapes[1],
        ];
        for (found, value) in found.iter_mut().zip(here) {
            found.push(value);
        }
    }
    for (name, found, truth, more) in [
        ("entries beside neighbours", &found[0], 1.0, 0.01),
        ("plots beside neighbours", &found[1], 1.0, 0.02),
        ("row correlation", &found[2], shape[0], 0.01),
        ("column correlation", &found[3], shape[1], 0.01),
    ] {
        unbiased(name, found, truth, more);
    }
}

/// Intervals by the profile hold the truth in 95 ± 1 % of trials, in a middling and in a small one.
#[test]
fn intervals_hold_the_truth() {
    let mut rng = Rng::with_seed(3);
    for (name, truth, make) in [
        (
            "35 entries, 3 replicates",
            [1.0, 0.6, 1.0],
            (|| Field::alpha(5, 7, 3)) as fn() -> Field,
        ),
        ("12 entries, 4 replicates", [1.0, 0.0, 1.0], || {
            Field::complete(12, 4)
        }),
    ] {
        let mut held = [0_usize; 3];
        let components = if truth[1] > 0.0 { 3 } else { 2 };
        for _ in 0..trials() {
            let (trial, _) = make().grown(&mut rng, truth);
            let analysis = trial.analyse(Entries::Random).unwrap();
            for (component, held) in held.iter_mut().enumerate().take(components) {
                let coordinate = Coordinate::Entry(Parameter {
                    component,
                    a: 0,
                    b: 0,
                });
                let found = analysis
                    .model
                    .profile_interval(&analysis.fit, coordinate, 0.95);
                assert!(found.low.is_ok() && found.high.is_ok(), "{found:?}");
                let truth = match (components, component) {
                    (2, 1) => truth[2],
                    _ => truth[component],
                };
                *held += usize::from(found.contains(truth));
            }
        }
        for (component, held) in held.into_iter().enumerate().take(components) {
            let share = held as f64 / trials() as f64;
            println!(
                "{name}, component {component}: {held} of {} intervals hold",
                trials()
            );
            assert!(
                (share - 0.95).abs() <= 0.01 + astray(0.95 * 0.05, trials()),
                "{name} {component}: {share}"
            );
        }
    }
}

/// Of entries that don't differ, one is told to differ from the check in 5 % of trials, however many there are: in
/// complete blocks, in incomplete ones with recovery of information between them, and with lost plots. 5 ± 1 % of thousands.
#[test]
fn checks_are_rarely_left_by_accident() {
    let mut rng = Rng::with_seed(4);
    for (name, blocks, lost) in [
        ("complete blocks", false, 0.0),
        ("incomplete blocks", true, 0.0),
        ("incomplete blocks with lost plots", true, 0.08),
    ] {
        let mut wrong = 0;
        for _ in 0..trials() {
            let field = if blocks {
                Field::alpha(3, 5, 3)
            } else {
                Field::complete(10, 4)
            };
            let (trial, _) = field
                .thinned(&mut rng, lost)
                .grown(&mut rng, [0.0, 0.7, 1.0]);
            let analysis = trial.analyse(Entries::Fixed).unwrap();
            wrong += usize::from(any_differs(&analysis));
        }
        let share = wrong as f64 / trials() as f64;
        println!(
            "{name}: {wrong} of {} trials tell a difference that isn't",
            trials()
        );
        assert!(
            (share - 0.05).abs() <= astray(0.95 * 0.05, trials()).max(0.01),
            "{name}: {share}"
        );
    }
}

/// Whether any entry is told to differ from entry 0. The critical value lies between that of one comparison and
/// Bonferroni's: where the largest difference isn't between them, nothing more needs to be known.
fn any_differs(analysis: &Analysis) -> bool {
    let pairs: Vec<(usize, usize)> = (1..analysis.combined.len()).map(|one| (one, 0)).collect();
    let degrees = analysis.degrees_of_freedom(&pairs).unwrap();
    let largest = pairs
        .iter()
        .map(|&(entry, check)| analysis.difference(entry, check))
        .map(|difference| difference.value.abs() / difference.standard_error)
        .fold(0.0, f64::max);
    let (fewest, most) = degrees
        .iter()
        .fold((f64::INFINITY, 0.0_f64), |(low, high), &d| {
            (low.min(d), high.max(d))
        });
    if largest < least_difference(1.0, most, 0.05) {
        return false;
    }
    if largest > least_difference(1.0, fewest, 0.05 / pairs.len() as f64) {
        return true;
    }
    analysis.significance_of_the_farthest(0).unwrap() < 0.05
}

/// The critical value, which takes longer to find, and the significance of the farthest tell the same.
#[test]
fn critical_values_and_significances_agree() {
    let mut rng = Rng::with_seed(8);
    for _ in 0..6 {
        let field = Field::alpha(3, 5, 3).thinned(&mut rng, 0.08);
        let (trial, _) = field.grown(&mut rng, [0.3, 0.7, 1.0]);
        let analysis = trial.analyse(Entries::Fixed).unwrap();
        let significance = analysis.significance_of_the_farthest(0).unwrap();
        for (level, found) in [(significance * 0.97, false), (significance * 1.03, true)] {
            let against = analysis.against(0, level.min(0.999)).unwrap();
            let any = !(against.above.is_empty() && against.below.is_empty());
            assert!(
                any == found || significance > 0.97,
                "{significance} {level}"
            );
        }
    }
}

/// Of statements that an entry beats the check by an amount with probability p, the share p is true.
#[test]
fn probabilities_of_beating_a_check_are_true_as_often_as_they_say() {
    let mut rng = Rng::with_seed(5);
    for (name, make, variances) in [
        (
            "35 entries, 3 replicates",
            (|| Field::alpha(5, 7, 3)) as fn() -> Field,
            [1.0, 0.6, 1.0],
        ),
        (
            "12 entries, 3 replicates",
            || Field::complete(12, 3),
            [1.0, 0.0, 1.0],
        ),
    ] {
        let (mut said, mut so, mut count) = ([0.0; 10], [0.0; 10], [0_usize; 10]);
        for _ in 0..trials() {
            let (trial, truth) = make().grown(&mut rng, variances);
            let analysis = trial.analyse(Entries::Random).unwrap();
            // One comparison a trial, so that statements are independent.
            let entry = rng.usize(1..truth.len());
            for amount in [0.0, 0.5] {
                let Some(p) = analysis.probability_of_beating(entry, 0, amount) else {
                    continue;
                };
                let bin = ((10.0 * p) as usize).min(9);
                said[bin] += p;
                so[bin] += f64::from(u8::from(truth[entry] - truth[0] > amount));
                count[bin] += 1;
            }
        }
        for ((&n, said), so) in count.iter().zip(said).zip(so) {
            let (said, so) = (said / n.max(1) as f64, so / n.max(1) as f64);
            println!("{name}: {n} statements of {said:.3}, true {so:.3}");
            let allowed = 0.02 + astray(2.0 * said * (1.0 - said), n.max(1));
            assert!(
                n < 20 || (said - so).abs() <= allowed,
                "{name}: said {said}, true {so}"
            );
        }
    }
}

/// Of fixed entries the confidence that a difference is larger than it is lies evenly between 0 and 1.
#[test]
fn confidence_in_a_difference_is_even() {
    let mut rng = Rng::with_seed(6);
    for (name, make) in [
        (
            "4 entries, 3 replicates",
            (|| Field::complete(4, 3)) as fn() -> Field,
        ),
        ("15 entries in incomplete blocks", || Field::alpha(3, 5, 3)),
    ] {
        let mut count = [0_usize; 10];
        for _ in 0..trials() {
            let (trial, truth) = make().grown(&mut rng, [1.0, 0.7, 1.0]);
            let analysis = trial.analyse(Entries::Fixed).unwrap();
            let p = analysis
                .probability_of_beating(1, 0, truth[1] - truth[0])
                .unwrap();
            count[((10.0 * p) as usize).min(9)] += 1;
        }
        println!("{name}: {count:?}");
        for count in count {
            let share = count as f64 / trials() as f64;
            let allowed = 0.01 + astray(0.09, trials());
            assert!((share - 0.1).abs() <= allowed, "{name}: {share}");
        }
    }
}
