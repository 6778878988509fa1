//! Figures of another library, SciPy 1.16.3 with NumPy 2.4.6; each call stands beside its values.

use crate::near;
use quant::contingency::{TwoByTwo, homogeneity};
use quant::germination::{Cure, Emergence, TimeDistribution, log_rank};
use quant::proportion::{exact_interval, exact_test, power, trials_for_power, wilson_interval};
use quant::segregation::{self, Ratio, more_to_settle};
use quant::stock::{Decline, SeedWeight, Test};

/// `binomtest(x, n, 0.5).proportion_ci(0.95, 'exact')`, the same with `'wilson'`, and `.pvalue` of that and of
/// `binomtest(x, n, 0.3)`.
#[test]
fn shares() {
    for (x, n, exact, wilson, even, third) in [
        (
            17,
            53,
            (0.1991866468316226, 0.46316122877131816),
            (0.21092214079135074, 0.45481479850967377),
            0.012660335802414213,
            0.7648532727282336,
        ),
        (
            1,
            7,
            (0.003610296861900811, 0.5787231970431982),
            (0.02567962434474358, 0.5131278292743189),
            0.125,
            0.6823476999999998,
        ),
        (
            240,
            250,
            (0.9276706445096194, 0.9806545014948509),
            (0.9279472764187335, 0.9781300880454575),
            2.5252663870669353e-58,
            2.033827227419172e-110,
        ),
    ] {
        let found = exact_interval(x, n, 0.95);
        near(found.low, exact.0, 1e-9);
        near(found.high, exact.1, 1e-9);
        let found = wilson_interval(x, n, 0.95);
        near(found.low, wilson.0, 1e-9);
        near(found.high, wilson.1, 1e-9);
        near(exact_test(x, n, 0.5), even, even * 1e-9);
        near(exact_test(x, n, 0.3), third, third * 1e-9);
    }
}

/// `fisher_exact(table).pvalue`; `odds_ratio(table, kind='conditional')` with `.confidence_interval(0.95)` of
/// `scipy.stats.contingency`.
#[test]
fn two_counts() {
    for (first, second, p, odds, low, high) in [
        (
            (18, 20),
            (11, 20),
            0.030950305143853538,
            6.994398270958909,
            1.1477931002151485,
            78.28314064763627,
        ),
        (
            (45, 50),
            (30, 50),
            0.0009668432030628979,
            5.892182650652024,
            1.879400835463228,
            22.3297113427157,
        ),
        (
            (0, 12),
            (5, 14),
            0.04247491638795986,
            0.0,
            0.0,
            1.0872552672597746,
        ),
        (
            (8, 10),
            (1, 6),
            0.034965034965034975,
            15.465819716921013,
            1.0088492079476723,
            1059.6394950862782,
        ),
    ] {
        let table = TwoByTwo::of(first, second);
        near(table.fisher(), p, p * 1e-9);
        let found = table.odds_ratio(0.95).unwrap();
        near(found.estimate, odds, odds * 1e-6);
        near(found.interval.low, low, low * 1e-6);
        near(found.interval.high, high, high * 1e-6);
    }
}

/// `chi2_contingency([[16, 4], [11, 9], [18, 2]], correction=False)`.
#[test]
fn several_counts() {
    let groups = [(16, 20), (11, 20), (18, 20)];
    let found = homogeneity(&groups).unwrap();
    near(found.statistic, 6.933333333333333, 1e-9);
    near(found.p, 0.031220927161230906, 1e-9);
    assert_eq!(homogeneity(&[(1, 2), (2, 3)]), None, "too few to tell");
}

/// The sum over all tables of `multinomial(n, shares).pmf` no greater than that of the counts (times 1 + 1e-7), and
/// `chisquare`.
#[test]
fn ratios_of_several_classes() {
    let ratio = Ratio::new(&[2.0, 1.0, 1.0]).unwrap();
    near(
        segregation::exact_test(&[14, 9, 7], &ratio).unwrap(),
        0.8386455271962316,
        1e-9,
    );
    let found = segregation::chi_square(&[14, 9, 7], &ratio).unwrap();
    near(found.p, 0.8187307530779819, 1e-9);
    let ratio = Ratio::new(&[9.0, 3.0, 4.0]).unwrap();
    near(
        segregation::exact_test(&[30, 8, 2], &ratio).unwrap(),
        0.003918846591591731,
        1e-9,
    );
}

/// 50 seeds looked at daily to day 11 and on day 14. The likelihood was written anew and climbed with
/// `minimize(method='Nelder-Mead')`; the interval of the share: `brentq` on the profile at `chi2.ppf(0.95, 1) / 2`.
#[test]
fn curves_with_seed_that_never_comes() {
    let daily = [
        (4.0, 5.0, 4),
        (5.0, 6.0, 17),
        (6.0, 7.0, 10),
        (7.0, 8.0, 7),
        (8.0, 9.0, 1),
        (10.0, 11.0, 1),
    ];
    let mut seeds: Vec<_> = daily
        .map(|(after, by, seeds)| Emergence::between(after, by, seeds))
        .to_vec();
    let early = seeds[..3].to_vec();
    seeds.push(Emergence::not_by(14.0, 10));
    for (course, log_likelihood, share, median, steepness, interval, to_come) in [
        (
            TimeDistribution::LogLogistic,
            -85.56039779549957,
            0.8001492818424814,
            6.0513184380815535,
            10.236912478662555,
            (0.6758347517702605, 0.8944837567555324),
            0.007464104259889891,
        ),
        (
            TimeDistribution::LogNormal,
            -85.76740910694302,
            0.8000008804366116,
            6.101974225322719,
            5.700145632808399,
            (0.6757097574130205, 0.8943167646728643),
            4.410204269661068e-05,
        ),
        (
            TimeDistribution::Weibull,
            -92.17420195065787,
            0.8000000078330947,
            6.22478416653446,
            5.064577800371431,
            (0.6757090124746385, 0.8943157784426342),
            0.0,
        ),
    ] {
        let fit = Cure::fit(&seeds, course, 0.95).unwrap();
        near(fit.log_likelihood, log_likelihood, 1e-7);
        near(fit.share().0, share, 1e-5);
        near(fit.median().0, median, 1e-4);
        near(fit.steepness().0, steepness, 1e-3);
        near(fit.share().1.low, interval.0, 2e-3);
        near(fit.share().1.high, interval.1, 2e-3);
        near(to_come_of(&fit, 14.0, 10.0), to_come, 1e-4);
    }
    // Stopped on day 7, with 19 to wait for.
    let seeds = [early, vec![Emergence::not_by(7.0, 19)]].concat();
    let fit = Cure::fit(&seeds, TimeDistribution::LogLogistic, 0.95).unwrap();
    near(fit.log_likelihood, -63.11615013050222, 1e-7);
    near(fit.share().0, 0.6570057167614909, 1e-5);
    near(fit.share().1.low, 0.505338275293021, 2e-3);
    near(fit.share().1.high, 0.8758565830681768, 5e-3);
    near(to_come_of(&fit, 7.0, 19.0), 1.8502858585891304, 1e-3);
}

/// What the fitted curve alone has yet to bring of seed not up on a day.
fn to_come_of(fit: &Cure, looked: f64, waiting: f64) -> f64 {
    let up = fit.up_by(looked).0;
    waiting * (fit.share().0 - up) / (1.0 - up)
}

/// Groups looked at on days of their own. The curve of all by 400,000 rounds of self-consistency in NumPy, Sun's
/// scores from it, the permutation variance, `chi2.sf`.
#[test]
fn courses_with_looks_of_their_own() {
    let never = f64::INFINITY;
    let group = |counts: &[(f64, f64, u32)]| -> Vec<Emergence> {
        counts
            .iter()
            .map(|each| Emergence::between(each.0, each.1, each.2))
            .collect()
    };
    let first = group(&[
        (0.0, 5.0, 6),
        (5.0, 8.0, 8),
        (8.0, 12.0, 3),
        (12.0, never, 3),
    ]);
    let second = group(&[
        (0.0, 4.0, 2),
        (4.0, 7.0, 5),
        (7.0, 10.0, 4),
        (10.0, 14.0, 2),
        (14.0, never, 7),
    ]);
    let found = log_rank(&[first, second]).unwrap();
    assert!(!found.same_days);
    near(found.excess[0], 3.1792407642125964, 1e-4);
    near(found.variance[0], 5.765375540096692, 1e-4);
    near(found.test.statistic, 1.7531506432730273, 1e-4);
    near(found.test.p, 0.1854811423862797, 1e-4);
}

/// `minimize` of the binomial likelihood with `norm.logcdf`; the interval of the loss by `brentq` on its profile.
#[test]
fn viability_over_the_years() {
    let tests = [(0.0, 93), (1.0, 90), (3.0, 78), (5.0, 61)].map(|(age, germinated)| Test {
        age,
        seeds: 100,
        germinated,
    });
    let fit = Decline::fit(&tests, 0.95).unwrap();
    near(fit.initial().0, 1.50132313, 1e-5);
    near(fit.loss().0, 0.24367836, 1e-5);
    near(fit.loss().1.low, 0.1663097149659579, 1e-3);
    near(fit.loss().1.high, 0.32311109544680783, 1e-3);
    near(fit.viability(7.0).0, 0.4190105323229064, 1e-5);
}

/// `binom.pmf` summed over the outcomes that `binomtest` rejects at 5 %: the first n with power 80 %.
#[test]
fn how_many_it_takes_to_tell_a_share_from_one_half() {
    for (truth, trials, of_hundred) in [
        (0.61, 162, 0.543760433111553),
        (0.70, 49, 0.9790114241380646),
        (0.75, 30, 0.9993134077920656),
    ] {
        assert_eq!(trials_for_power(0.5, truth, 0.05, 0.8), Some(trials));
        near(power(100, 0.5, truth, 0.05), of_hundred, 1e-9);
    }
    assert_eq!(trials_for_power(0.5, 0.5, 0.05, 0.8), None);
}

/// Sums of `binom.pmf` over the outcomes with a likelihood ratio beyond 19, going up one by one to the first that
/// reaches 80 % for either.
#[test]
fn how_many_more_settle_between_two_ratios() {
    assert_eq!(more_to_settle((19, 31), 0.5, 0.75, 19.0, 0.8), Some(44));
    assert_eq!(more_to_settle((0, 0), 0.5, 0.75, 19.0, 0.8), Some(43));
    assert_eq!(
        more_to_settle((7, 10), 0.75, 9.0 / 16.0, 19.0, 0.8),
        Some(71)
    );
    assert_eq!(more_to_settle((60, 60), 0.75, 0.5, 19.0, 0.8), Some(0));
}

/// `t.ppf(0.975, 7)` with the mean and standard deviation of eight replicates.
#[test]
fn seed_by_weight_with_its_error() {
    let weights = [0.301, 0.297, 0.312, 0.305, 0.299, 0.308, 0.303, 0.310];
    let (seeds, interval) = SeedWeight::of(&weights, 100).unwrap().seeds(12.6, 0.95);
    near(seeds, 4139.630390143738, 1e-6);
    near(interval.low, 4079.7517236077992, 1e-4);
    near(interval.high, 4201.292921321778, 1e-4);
}
