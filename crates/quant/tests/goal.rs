//! The chance that a plan brings enough good plants: against other ways to work it out, and against what then happens.
//!
//! `BINEWRIGHT_PLANS=3000 cargo test -p quant --test goal -- --nocapture` plays as many simulated programs out and prints
//! how often plans reached their goal, by how often they said they would; by default some are played.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use fastrand::Rng;
use quant::chance::{Rate, StageSurvival, at_least};
use quant::evaluation::Covariance;
use quant::mating::{
    Coancestries, Family, FamilyGoal, GoodPlants, Problem, Quantities, RoomLimit, SureRequest,
    Uncertainty, curve, surest,
};
use std::ops::ControlFlow;
use std::sync::Arc;

fn normal(rng: &mut Rng) -> f64 {
    (-2.0 * rng.f64().max(1e-300).ln()).sqrt() * (std::f64::consts::TAU * rng.f64()).cos()
}

/// Marsaglia & Tsang (2000), ACM Transactions on Mathematical Software 26:363-372, for shapes of 1 and more; the usual
/// power of a uniform number below.
fn gamma(shape: f64, rng: &mut Rng) -> f64 {
    if shape < 1.0 {
        return gamma(shape + 1.0, rng) * rng.f64().max(1e-300).powf(1.0 / shape);
    }
    let d = shape - 1.0 / 3.0;
    let c = 1.0 / (9.0 * d).sqrt();
    loop {
        let x = normal(rng);
        let v = (1.0 + c * x).powi(3);
        if v > 0.0 && rng.f64().max(1e-300).ln() < 0.5 * x * x + d * (1.0 - v + v.ln()) {
            return d * v;
        }
    }
}

fn beta(rate: Rate, rng: &mut Rng) -> f64 {
    let [a, b] = rate.parameters();
    let (x, y) = (gamma(a, rng), gamma(b, rng));
    x / (x + y)
}

fn known(rate: f64) -> Arc<StageSurvival> {
    Arc::new(StageSurvival::through(&[Rate::of_mean(rate, 1e7)]))
}

fn family(parents: [usize; 2], margin: f64, survival: Arc<StageSurvival>) -> FamilyGoal {
    FamilyGoal {
        parents,
        transmitted: [0.5, 0.5],
        margins: vec![margin],
        mendelian: 0.5,
        survival,
    }
}

/// Errors of parents that have nothing in common.
fn apart(errors: &[f64]) -> Covariance {
    let variances: Vec<f64> = errors.iter().map(|error| error * error).collect();
    Covariance::diagonal(&variances)
}

fn one_trait(errors: &[f64]) -> Uncertainty {
    Uncertainty {
        thresholds: vec![vec![1.0]],
        genetic: Covariance::diagonal(&[1.0]),
        beside: Covariance::zeros(1),
        correlations: Covariance::diagonal(&[1.0]),
        errors: vec![apart(errors)],
    }
}

/// All known: the number of good plants of two families is a sum of binomials.
#[test]
fn with_all_known_it_is_the_exact_chance_of_a_sum_of_binomials() {
    let families = vec![
        family([0, 1], f64::INFINITY, known(0.1)),
        family([0, 1], f64::INFINITY, known(0.04)),
    ];
    let good = GoodPlants::new(3, families, &one_trait(&[0.0, 0.0]));
    let exact = |n: u64| at_least(3, n, 0.1);
    assert!((good.chance(&[(0, 40)]) - exact(40)).abs() < 1e-6);
    let binomial = |n: u64, p: f64, k: u64| at_least(k, n, p) - at_least(k + 1, n, p);
    let mut fewer = 0.0;
    for one in 0..3 {
        for other in 0..3 - one {
            fewer += binomial(40, 0.1, one) * binomial(50, 0.04, other);
        }
    }
    let found = good.chance(&[(0, 40), (1, 50)]);
    assert!((found - (1.0 - fewer)).abs() < 1e-6, "{found}");
    assert_eq!(good.chance(&[]), 0.0);
}

/// One threshold, one parent's error: the share that reaches it is Φ((m + e / 2) / √½), so that the chance of at least
/// one of one seed is Φ(m / √(½ + ¼ v)).
#[test]
fn one_seed_reaches_a_threshold_as_often_as_the_normal_says() {
    let good = GoodPlants::new(
        1,
        vec![family([0, 1], 0.6, known(1.0))],
        &one_trait(&[0.8, 0.5]),
    );
    let whole: f64 = 0.5 + 0.25 * (0.8_f64.powi(2) + 0.5_f64.powi(2));
    let expected = quant::chance::normal::below(0.6 / whole.sqrt());
    let found = good.chance(&[(0, 1)]);
    assert!((found - expected).abs() < 2e-3, "{found} for {expected}");
}

/// A plant that must reach a threshold and show it in a record of half heritability is one of a bivariate normal: with
/// both thresholds in the middle, 1/4 + asin(ρ) / 2π (Sheppard 1899; Kendall & Stuart, *The Advanced Theory of
/// Statistics* 1, section 15.8), ρ being the accuracy of the record, the square root of 1/2: 3/8.
#[test]
fn a_plant_that_must_show_it_too_is_rarer() {
    let goal = |thresholds: usize, beside: &[f64]| {
        let families = vec![FamilyGoal {
            margins: vec![0.0; thresholds],
            mendelian: 1.0,
            ..family([0, 1], 0.0, known(1.0))
        }];
        let mut genetic = Covariance::zeros(thresholds);
        for row in 0..thresholds {
            for column in 0..=row {
                genetic.set(row, column, 1.0);
            }
        }
        let uncertainty = Uncertainty {
            thresholds: vec![vec![1.0]; thresholds],
            genetic,
            beside: Covariance::diagonal(beside),
            correlations: Covariance::diagonal(&[1.0]),
            errors: vec![apart(&[0.0; 2])],
        };
        GoodPlants::new(1, families, &uncertainty).chance(&[(0, 1)])
    };
    assert!((goal(1, &[0.0]) - 0.5).abs() < 1e-3);
    let both = goal(2, &[0.0, 1.0]);
    assert!((both - 0.375).abs() < 4e-3, "{both}");
    // A record that tells all asks for nothing more.
    assert!((goal(2, &[0.0, 0.0]) - 0.5).abs() < 1e-3);
}

/// Two families that share a parent of whom little is known fail together; two without a common parent don't.
#[test]
fn families_of_one_unknown_parent_fail_together() {
    let families = vec![
        family([0, 1], -0.8, known(0.5)),
        family([0, 2], -0.8, known(0.5)),
        family([3, 4], -0.8, known(0.5)),
    ];
    let errors = [1.2, 0.0, 0.0, 1.2, 0.0];
    let good = GoodPlants::new(2, families, &one_trait(&errors));
    let (shared, apart) = (
        good.chance(&[(0, 40), (1, 40)]),
        good.chance(&[(0, 40), (2, 40)]),
    );
    assert!(apart > shared + 0.01, "{apart} apart, {shared} together");
    let alone = good.chance(&[(0, 80)]);
    assert!(
        (alone - shared).abs() < 0.01,
        "half sibs of one gamble are that gamble again"
    );
}

/// What isn't known of both parents alike doesn't cancel out: two with the same error of variance 1 have one of variance 1
/// between them, two with errors of their own one of 1/2, and two with opposite errors none.
#[test]
fn errors_that_parents_share_do_not_cancel_out() {
    let chance = |correlation: f64| {
        let uncertainty = Uncertainty {
            errors: vec![Covariance::from_lower(&[1.0, correlation, 1.0]).unwrap()],
            ..one_trait(&[])
        };
        let families = vec![family([0, 1], -0.8, known(1.0))];
        GoodPlants::new(1, families, &uncertainty).chance(&[(0, 1)])
    };
    for correlation in [-1.0, 0.0, 0.5, 1.0] {
        let whole: f64 = 0.5 + 0.5 * (1.0 + correlation);
        let expected = quant::chance::normal::below(-0.8 / whole.sqrt());
        let found = chance(correlation);
        assert!((found - expected).abs() < 3e-3, "{found} for {expected}");
    }
}

struct Program {
    problem: Problem,
    good: GoodPlants,
    families: Vec<FamilyGoal>,
    stages: Vec<[Rate; 2]>,
    errors: Vec<[f64; 2]>,
    correlation: f64,
    wanted: u32,
}

/// A program with two traits, parents known well and badly, and rates of seed learnt from few or many.
fn program(rng: &mut Rng) -> Program {
    let (females, males) = (rng.usize(2..6), rng.usize(2..5));
    let parents = females + males;
    let errors: Vec<[f64; 2]> = (0..parents)
        .map(|_| [0.2 + 0.8 * rng.f64(), 0.2 + 0.8 * rng.f64()])
        .collect();
    let values: Vec<[f64; 2]> = (0..parents).map(|_| [normal(rng), normal(rng)]).collect();
    let correlation = 0.8 * rng.f64() - 0.4;
    let threshold = [0.3 * normal(rng) + 0.2, 0.3 * normal(rng)];
    let mut families = Vec::new();
    let mut stages = Vec::new();
    let mut of_problem = Vec::new();
    for female in 0..females {
        for male in females..parents {
            let rates = [
                Rate::of_mean(0.3 + 0.5 * rng.f64(), 5.0 + 40.0 * rng.f64()),
                Rate::of_mean(0.5, 50.0),
            ];
            let mean = |place: usize| 0.5 * (values[female][place] + values[male][place]);
            families.push(FamilyGoal {
                parents: [female, male],
                transmitted: [0.5, 0.5],
                margins: (0..2).map(|place| mean(place) - threshold[place]).collect(),
                mendelian: 0.5,
                survival: Arc::new(StageSurvival::through(&rates)),
            });
            stages.push(rates);
            of_problem.push(Family {
                female,
                male,
                mean: mean(0) + mean(1),
                deviation: 0.5,
                rate: 0.1 + 0.2 * rng.f64(),
                most: 100,
            });
        }
    }
    let wanted = rng.u32(1..5);
    let uncertainty = Uncertainty {
        thresholds: vec![vec![1.0, 0.0], vec![0.0, 1.0]],
        genetic: Covariance::from_lower(&[1.0, correlation, 1.0]).unwrap(),
        beside: Covariance::zeros(2),
        correlations: Covariance::from_lower(&[1.0, correlation, 1.0]).unwrap(),
        errors: (0..2)
            .map(|place| apart(&errors.iter().map(|each| each[place]).collect::<Vec<_>>()))
            .collect(),
    };
    let kinship = Coancestries::from_fn(parents, parents, |i, j| if i == j { 0.5 } else { 0.0 });
    let quantities = Quantities {
        portion: 2,
        least: 3,
        wanted,
        floor: -2.0,
    };
    let room = RoomLimit {
        room: f64::from(10 + rng.u32(0..60)),
        takes: (0..families.len()).map(|family| (family, 1.0)).collect(),
        whole: 1,
    };
    Program {
        problem: Problem::new(of_problem, kinship, quantities, vec![room], vec![]).unwrap(),
        good: GoodPlants::new(wanted, families.clone(), &uncertainty),
        families,
        stages,
        errors,
        correlation,
        wanted,
    }
}

impl Program {
    /// Whether seeds sown bring enough good plants, plant by plant.
    fn play(&self, portions: &[u32], rng: &mut Rng) -> bool {
        let pair = |rng: &mut Rng| {
            let one = normal(rng);
            let rest = (1.0 - self.correlation.powi(2)).sqrt();
            [one, self.correlation * one + rest * normal(rng)]
        };
        let off: Vec<[f64; 2]> = self
            .errors
            .iter()
            .map(|errors| {
                let drawn = pair(rng);
                [errors[0] * drawn[0], errors[1] * drawn[1]]
            })
            .collect();
        let mut good = 0;
        for (family, &portions) in portions.iter().enumerate() {
            let goal = &self.families[family];
            let rate: f64 = self.stages[family]
                .iter()
                .map(|&rate| beta(rate, rng))
                .product();
            for _ in 0..2 * portions {
                if rng.f64() >= rate {
                    continue;
                }
                let own = pair(rng);
                let reaches = (0..2).all(|place| {
                    let parents: f64 = goal
                        .parents
                        .iter()
                        .map(|&each| 0.5 * off[each][place])
                        .sum();
                    goal.margins[place] + parents + 0.5_f64.sqrt() * own[place] >= 0.0
                });
                good += u32::from(reaches);
            }
        }
        good >= self.wanted
    }
}

#[test]
fn plans_reach_their_goal_as_often_as_they_say() {
    let programs: u64 = std::env::var("BINEWRIGHT_PLANS").map_or(40, |text| text.parse().unwrap());
    let mut rng = Rng::with_seed(11);
    let mut go = |_| ControlFlow::Continue(());
    // By tenths of the chance said: how many plans, the chance said, how many reached their goal.
    let mut tenths = [(0_u32, 0.0, 0.0); 10];
    let (mut surer, mut said_surer) = (0, 0.0);
    let plays = 20;
    for _ in 0..programs {
        let program = program(&mut rng);
        let plans = curve(&program.problem, &[], 3, &[], &mut go).unwrap();
        let known: Vec<Vec<u32>> = plans.iter().map(|plan| plan.portions.clone()).collect();
        let request = SureRequest {
            coancestry: f64::INFINITY,
            locked: vec![],
            sure: 0.9,
        };
        let sure = surest(
            &program.problem,
            &program.good,
            &request,
            &known,
            0.0,
            &mut go,
        )
        .unwrap();
        let chance = |portions: &[u32]| {
            let made: Vec<(usize, u32)> =
                portions.iter().map(|each| 2 * each).enumerate().collect();
            program.good.chance(&made)
        };
        let of_curve = known
            .iter()
            .map(|each| chance(each).min(0.9))
            .fold(0.0, f64::max);
        let of_sure = chance(&sure.portions);
        assert!(of_sure >= of_curve - 0.01, "{of_sure} after {of_curve}");
        surer += u32::from(of_sure >= 0.9 && of_curve < 0.9);
        said_surer += of_sure - of_curve;
        for portions in known.iter().take(1).chain([&sure.portions]) {
            let said = chance(portions);
            let reached = (0..plays)
                .filter(|_| program.play(portions, &mut rng))
                .count();
            let tenth = &mut tenths[((10.0 * said) as usize).min(9)];
            tenth.0 += 1;
            tenth.1 += said;
            tenth.2 += reached as f64 / f64::from(plays);
        }
    }
    println!(
        "{programs} programs; the search reached 90 % where the curve didn't in {surer}, and was surer by {:.1} points",
        100.0 * said_surer / programs as f64
    );
    let (mut said, mut came, mut all) = (0.0, 0.0, 0.0);
    for (nth, &(plans, chance, reached)) in tenths.iter().enumerate() {
        let count = f64::from(plans.max(1));
        println!(
            "said {}0 to {}0 %: {plans} plans, said {:.1} %, reached {:.1} %",
            nth,
            nth + 1,
            100.0 * chance / count,
            100.0 * reached / count
        );
        said += chance;
        came += reached;
        all += f64::from(plans);
        // Within five points, and what so few plans may be off by luck: three standard errors.
        let luck = 3.0 * (0.25 / count).sqrt();
        let few = if plans < 400 { luck } else { 0.0 };
        assert!(
            (chance - reached).abs() / count < 0.05 + few,
            "tenth {nth}: said {}, reached {}",
            chance / count,
            reached / count
        );
    }
    assert!(
        (said - came).abs() / all < 0.03,
        "{} and {}",
        said / all,
        came / all
    );
}
