//! Chances beside a general-purpose library's figures, and what must hold whatever the numbers.

use proptest::prelude::*;
use quant::chance::{
    Rate, StageSurvival, at_least, best_few, expected_best, multivariate_normal_probability, normal,
};
use quant::evaluation::Covariance;
use statrs::distribution::{
    Beta, Binomial, Continuous as _, ContinuousCDF as _, DiscreteCDF as _, Normal,
};

#[test]
fn normal_tails_agree_with_another_library() {
    let other = Normal::new(0.0, 1.0).unwrap();
    for step in -60..=60 {
        let x = f64::from(step) / 10.0;
        // Its error function is good to about ten digits.
        assert!((normal::below(x) - other.cdf(x)).abs() < 1e-10, "{x}");
        assert!((normal::density(x) - other.pdf(x)).abs() < 1e-15, "{x}");
    }
}

#[test]
fn binomial_tails_agree_with_another_library() {
    for (wanted, starts, chance) in [
        (1, 5, 0.5),
        (3, 40, 0.1),
        (10, 28, 0.5),
        (12, 1_000, 0.01),
        (480, 1_000, 0.5),
        (3, 100_000, 0.00004),
    ] {
        let other = Binomial::new(chance, starts).unwrap().sf(wanted - 1);
        let found = at_least(wanted, starts, chance);
        assert!(
            (found - other).abs() < 1e-9,
            "{wanted} of {starts}: {found} and {other}"
        );
        // A rate as good as known gives the same; of a rare one, 10 million trials tell less.
        let known = StageSurvival::through(&[Rate::of_mean(chance, 1e7)]).at_least(wanted, starts);
        let within = if chance < 0.001 { 3e-3 } else { 2e-4 };
        assert!((known - other).abs() < within, "{known} and {other}");
    }
}

#[test]
fn rates_agree_with_another_library() {
    for (passed, failed) in [
        (1.0, 1.0),
        (0.5, 0.5),
        (8.0, 2.0),
        (0.2, 30.0),
        (400.0, 600.0),
    ] {
        let rate = Rate::of_mean(passed / (passed + failed), passed + failed);
        let other = Beta::new(passed, failed).unwrap();
        for chance in [0.001, 0.1, 0.5, 0.9, 0.999] {
            let share = rate.quantile(chance);
            assert!(
                (other.cdf(share) - chance).abs() < 1e-8,
                "{passed}, {failed}: {share}"
            );
        }
    }
}

/// `scipy` 1.16.3 with `numpy` 2.4.6: `norm.sf(6)`, `norm.sf(10)`, `norm.isf(1e-12)`.
#[test]
fn far_tails_agree_with_scipy() {
    assert!((normal::above(6.0) / 9.865876450376946e-10 - 1.0).abs() < 1e-13);
    assert!((normal::above(10.0) / 7.61985302416047e-24 - 1.0).abs() < 1e-13);
    assert!((-normal::quantile(1e-12) - 7.034483825301131).abs() < 1e-12);
}

/// `scipy` 1.16.3: `quad(lambda x: x*n*norm.pdf(x)*norm.cdf(x)**(n-1), -10, 10, limit=500, epsabs=1e-13,
/// points=[0, 2, 4])`.
#[test]
fn the_best_of_many_agrees_with_scipy() {
    for (n, expected) in [
        (12.0, 1.629227639871913),
        (37.5, 2.134725423297465),
        (200.0, 2.746042447451157),
        (1e4, 3.8516158170668917),
        (1e5, 4.384319403109638),
    ] {
        let found = expected_best(n);
        assert!((found - expected).abs() < 1e-9, "{n}: {found}");
    }
}

/// `scipy` 1.16.3: `betabinom.sf(4, 60, 3.2, 7.1)`, `sf(0, 25, 0.5, 9)`, `sf(99, 400, 20, 60)`.
#[test]
fn one_uncertain_stage_agrees_with_scipy() {
    for (wanted, starts, [a, b], expected) in [
        (5, 60, [3.2, 7.1], 0.966208122033713),
        (1, 25, [0.5, 9.0], 0.4907281946053519),
        (100, 400, [20.0, 60.0], 0.49209726814704136),
    ] {
        let passage = StageSurvival::through(&[Rate::of_mean(a / (a + b), a + b)]);
        let found = passage.at_least(wanted, starts);
        assert!(
            (found - expected).abs() < 1e-5,
            "{wanted} of {starts}: {found}"
        );
    }
}

/// `scipy` 1.16.3: `multivariate_normal(zeros(4), R, maxpts=8000000, abseps=1e-8, releps=1e-8).cdf(-lower)`.
#[test]
fn four_thresholds_agree_with_scipy() {
    let matrix = Covariance::from_lower(&[1.0, 0.3, 1.0, -0.2, 0.4, 1.0, 0.1, 0.25, -0.35, 1.0]);
    let found = multivariate_normal_probability(
        &[0.5, -0.3, 0.2, -1.0],
        &[f64::INFINITY; 4],
        &matrix.unwrap(),
        1e-6,
    );
    let found = found.unwrap();
    assert!(
        (found.value - 0.07479199201187617).abs() < 3e-6,
        "{found:?}"
    );
    assert!(found.error < 1e-5);
}

/// The best of n by drawing: seeded, 40,000 families.
#[test]
fn the_best_of_twelve_is_what_drawing_gives() {
    let mut dice = fastrand::Rng::with_seed(7);
    let families = 40_000;
    let sum: f64 = (0..families)
        .map(|_| {
            (0..12)
                .map(|_| normal::quantile(dice.f64().clamp(1e-12, 1.0 - 1e-12)))
                .fold(f64::NEG_INFINITY, f64::max)
        })
        .sum();
    // The best of 12 has a standard deviation of 0.57 (Harter 1961, from memory); five standard errors.
    let found = sum / f64::from(families);
    assert!((found - expected_best(12.0)).abs() < 5.0 * 0.57 / f64::from(families).sqrt());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn more_seeds_never_lower_the_chance(
        means in prop::collection::vec((0.05..0.99_f64, 1.0..200.0_f64), 1..5),
        wanted in 1..20_u64,
        seeds in 1..400_u64,
    ) {
        let stages: Vec<Rate> = means.iter().map(|(mean, trials)| Rate::of_mean(*mean, *trials)).collect();
        let passage = StageSurvival::through(&stages);
        let [few, many] = [seeds, 2 * seeds].map(|seeds| passage.at_least(wanted, seeds));
        prop_assert!(many >= few - 1e-12);
        prop_assert!(passage.at_least(wanted + 1, seeds) <= few + 1e-12);
        let expected: f64 = stages.iter().map(|rate| rate.mean()).product();
        let error = (passage.mean() - expected).abs();
        prop_assert!(error < 1e-5, "off by {error}");
        if let Some(fewest) = passage.fewest(wanted, 0.9, 5_000) {
            prop_assert!(passage.at_least(wanted, fewest) >= 0.9 - 1e-6);
            prop_assert!(fewest == wanted || passage.at_least(wanted, fewest - 1) < 0.9);
        }
    }

    #[test]
    fn the_best_grows_with_the_family_and_shrinks_with_how_many_are_kept(n in 2.0..5_000.0_f64, k in 1..6_u32) {
        prop_assert!(expected_best(n + 1.0) > expected_best(n));
        prop_assert!(best_few(n, k + 1) <= best_few(n, k));
        prop_assert!(best_few(n, k) >= 0.0);
    }
}
