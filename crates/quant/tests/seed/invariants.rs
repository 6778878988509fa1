//! What must hold for any counts.

use proptest::prelude::*;
use quant::contingency::{TwoByTwo, holm};
use quant::germination::{Cure, Curve, Emergence, Indices, log_rank};
use quant::proportion::{at_most, exact_interval, exact_test, wilson_interval};
use quant::segregation::{Ratio, exact_test as exact_ratio, posterior};
use quant::stock::{Decline, Test};

/// A share: successes and trials.
fn share() -> impl Strategy<Value = (u32, u32)> {
    (1_u32..200).prop_flat_map(|trials| (0..=trials, Just(trials)))
}

/// A lot looked at on days of its own: the days between looks, new seedlings at each, and seed that never came.
fn looked_at() -> impl Strategy<Value = Vec<Emergence>> {
    (prop::collection::vec((1_u32..4, 0_u32..9), 2..9), 0_u32..30).prop_map(|(looks, rest)| {
        let mut day = 0;
        let mut seeds = Vec::new();
        for (gap, up) in looks {
            seeds.push(Emergence::between(f64::from(day), f64::from(day + gap), up));
            day += gap;
        }
        seeds.push(Emergence::not_by(f64::from(day), rest + 1));
        seeds
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn an_interval_holds_its_estimate_and_mirrors((x, n) in share()) {
        let estimate = f64::from(x) / f64::from(n);
        for interval in [exact_interval, wilson_interval] {
            let (one, other) = (interval(x, n, 0.95), interval(n - x, n, 0.95));
            prop_assert!(one.low <= estimate + 1e-12 && estimate <= one.high + 1e-12);
            prop_assert!((one.low - (1.0 - other.high)).abs() < 1e-7);
            prop_assert!(interval(x, n, 0.5).high <= one.high + 1e-12);
        }
    }

    /// The exact interval holds the shares that neither one-sided test rejects.
    #[test]
    fn the_ends_of_the_exact_interval_leave_a_fortieth_in_each_tail((x, n) in share()) {
        let found = exact_interval(x, n, 0.95);
        if x < n {
            prop_assert!((at_most(x, n, found.high) - 0.025).abs() < 1e-6);
        }
        prop_assert!(exact_test(x, n, f64::from(x) / f64::from(n)) > 0.4);
    }

    #[test]
    fn fisher_is_the_same_however_the_table_is_turned(one in share(), other in share()) {
        let p = TwoByTwo::of(one, other).fisher();
        prop_assert!((0.0..=1.0).contains(&p));
        let failures = |(x, n): (u32, u32)| (n - x, n);
        for turned in [
            TwoByTwo::of(other, one),
            TwoByTwo::of(failures(one), failures(other)),
            TwoByTwo::of((one.0, one.0 + other.0), failures_of(one, other)),
        ] {
            prop_assert!((turned.fisher() - p).abs() < 1e-9);
        }
        if let Some(odds) = TwoByTwo::of(one, other).odds_ratio(0.95) {
            prop_assert!(odds.interval.low <= odds.estimate && odds.estimate <= odds.interval.high);
            let back = TwoByTwo::of(other, one).odds_ratio(0.95).unwrap();
            let inside = odds.estimate > 0.0 && odds.estimate.is_finite();
            prop_assert!(!inside || (back.estimate * odds.estimate - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn the_masses_of_a_curve_sum_to_one_and_it_never_falls(one in looked_at(), other in looked_at()) {
        let all = [one, other].concat();
        let curve = Curve::of(&all, 0.95).unwrap();
        let mass: f64 = curve.steps.iter().map(|step| step.mass).sum();
        prop_assert!((mass + curve.rest - 1.0).abs() < 1e-9);
        let mut before = 0.0;
        for step in &curve.steps {
            prop_assert!(step.reached >= before && step.after < step.by);
            prop_assert!(step.band.low <= step.reached + 1e-9 && step.reached <= step.band.high + 1e-9);
            before = step.reached;
        }
    }

    /// Looked at on the same days throughout, the curve is the plain share, its error that of a share.
    #[test]
    fn one_series_of_looks_gives_plain_shares(seeds in looked_at()) {
        let total: u32 = seeds.iter().map(|each| each.seeds).sum();
        let curve = Curve::of(&seeds, 0.95).unwrap();
        for step in &curve.steps {
            let up: u32 = seeds.iter().filter(|each| each.by <= step.by).map(|each| each.seeds).sum();
            let share = f64::from(up) / f64::from(total);
            prop_assert!((step.reached - share).abs() < 1e-6);
            let error = (share * (1.0 - share) / f64::from(total)).sqrt();
            prop_assert!((step.standard_error.unwrap() - error).abs() < 1e-5);
        }
    }

    #[test]
    fn groups_compared_with_themselves_do_not_differ(seeds in looked_at(), other in looked_at()) {
        if let Some(same) = log_rank(&[seeds.clone(), seeds.clone()]) {
            prop_assert!(same.test.statistic < 1e-6);
        }
        if let (Some(one), Some(turned)) = (log_rank(&[seeds.clone(), other.clone()]), log_rank(&[other, seeds])) {
            prop_assert!((one.test.statistic - turned.test.statistic).abs() < 1e-5);
            prop_assert!((one.excess[0] + one.excess[1]).abs() < 1e-5);
        }
    }

    #[test]
    fn indices_scale_with_the_day(seeds in looked_at(), times in 1_u32..5) {
        let counts: Vec<(f64, u32)> = seeds.iter().filter(|each| each.by.is_finite()).map(|each| (each.by, each.seeds)).collect();
        let slower: Vec<(f64, u32)> = counts.iter().map(|each| (each.0 * f64::from(times), each.1)).collect();
        if let (Some(one), Some(other)) = (Indices::of(&counts), Indices::of(&slower)) {
            prop_assert!((one.mean_time * f64::from(times) - other.mean_time).abs() < 1e-9);
            prop_assert!((one.t50_farooq * f64::from(times) - other.t50_farooq).abs() < 1e-9);
            prop_assert!((one.uncertainty - other.uncertainty).abs() < 1e-12);
            prop_assert!(one.t50_farooq <= one.t50_coolbear);
        }
    }

    #[test]
    fn exact_ratios_agree_with_exact_shares((x, n) in share(), part in 1_u32..10) {
        let share = f64::from(part) / 10.0;
        let ratio = Ratio::new(&[share, 1.0 - share]);
        if let Some(ratio) = ratio {
            prop_assert!((exact_ratio(&[x, n - x], &ratio).unwrap() - exact_test(x, n, share)).abs() < 1e-7);
            let all = posterior(&[x, n - x], &[ratio, Ratio::new(&[1.0, 1.0]).unwrap()]).unwrap();
            prop_assert!((all.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn raised_p_values_keep_their_order(values in prop::collection::vec(0.0_f64..1.0, 1..9)) {
        let raised = holm(&values);
        for (one, up) in values.iter().zip(&raised) {
            prop_assert!(up >= one && *up <= 1.0);
        }
        for (one, other) in values.iter().zip(&raised).zip(values.iter().zip(&raised).skip(1)) {
            prop_assert!((one.0 < other.0) == (one.1 < other.1) || one.1 == other.1);
        }
    }
}

fn failures_of(one: (u32, u32), other: (u32, u32)) -> (u32, u32) {
    (one.1 - one.0, one.1 - one.0 + other.1 - other.0)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn a_fitted_curve_lies_in_its_band(seeds in looked_at()) {
        let Ok((fit, told)) = Cure::best(&seeds, 0.95) else { return Ok(()) };
        prop_assert!(told.iter().all(|each| each.1 <= fit.log_likelihood));
        for (value, interval) in [fit.share(), fit.median(), fit.steepness(), fit.up_by(5.0)] {
            prop_assert!(interval.contains(value));
        }
    }

    #[test]
    fn viability_never_rises(ups in prop::collection::vec(0_u32..=50, 2..6)) {
        let tests: Vec<Test> = ups.iter().enumerate().map(|(age, up)| Test { age: age as f64, seeds: 50, germinated: *up }).collect();
        let Some(fit) = Decline::fit(&tests, 0.95) else { return Ok(()) };
        let (now, later) = (fit.viability(1.0), fit.viability(9.0));
        prop_assert!(later.0 <= now.0 + 1e-12 && now.1.contains(now.0));
        prop_assert!(fit.loss().0 >= 0.0);
    }
}
