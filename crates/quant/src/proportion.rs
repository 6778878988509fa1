//! A share of a count: its interval, its test against an expected share, and how many it takes to tell.
//!
//! ```
//! use quant::proportion::{exact_interval, wilson_interval};
//!
//! let (exact, wilson) = (exact_interval(80, 100, 0.95), wilson_interval(80, 100, 0.95));
//! assert!(exact.low < wilson.low && wilson.high < exact.high);
//! ```

use statrs::distribution::{Beta, ContinuousCDF as _, Normal};
use statrs::function::beta::beta_reg;
use statrs::function::factorial::ln_binomial;

/// Outcomes within this factor of the observed one count as equally likely: rounding, not chance, parts them.
pub(crate) const TIE: f64 = 1.0 + 1e-7;
/// The most trials that a sample size is looked for among.
const MOST_TRIALS: u32 = 100_000;

/// A range that holds a number with some confidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

impl Interval {
    /// Whether a value lies in it, ends included.
    pub fn contains(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }
}

/// The exact interval of a share (Clopper & Pearson 1934, Biometrika 26:404–413): never covers less often than `level`
/// says, mostly more. Without trials it is 0 to 1.
pub fn exact_interval(successes: u32, trials: u32, level: f64) -> Interval {
    let successes = successes.min(trials);
    let (x, n) = (f64::from(successes), f64::from(trials));
    let tail = (1.0 - level) / 2.0;
    let quantile =
        |a: f64, b: f64, share: f64| Beta::new(a, b).map_or(0.0, |beta| beta.inverse_cdf(share));
    Interval {
        low: if successes == 0 {
            0.0
        } else {
            quantile(x, n - x + 1.0, tail)
        },
        high: if successes == trials {
            1.0
        } else {
            quantile(x + 1.0, n - x, 1.0 - tail)
        },
    }
}

/// The interval of a share by the score test (Wilson 1927, Journal of the American Statistical Association
/// 22:209–212): covers about as often as `level` says, also in small samples. Without trials it is 0 to 1.
pub fn wilson_interval(successes: u32, trials: u32, level: f64) -> Interval {
    if trials == 0 {
        return Interval {
            low: 0.0,
            high: 1.0,
        };
    }
    let n = f64::from(trials);
    let share = f64::from(successes.min(trials)) / n;
    let z = normal_quantile(f64::midpoint(1.0, level));
    let centre = (share + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * (share * (1.0 - share) / n + z * z / (4.0 * n * n)).sqrt();
    Interval {
        low: (centre - half).max(0.0),
        high: (centre + half).min(1.0),
    }
}

/// The exact two-sided test of a share: the probability of all outcomes no likelier than the observed one, where each
/// trial succeeds with `probability`.
pub fn exact_test(successes: u32, trials: u32, probability: f64) -> f64 {
    let observed = chance(successes.min(trials), trials, probability) * TIE;
    let total: f64 = (0..=trials)
        .map(|each| chance(each, trials, probability))
        .filter(|each| *each <= observed)
        .sum();
    total.min(1.0)
}

/// The probability of exactly so many successes.
pub fn chance(successes: u32, trials: u32, probability: f64) -> f64 {
    if successes > trials {
        return 0.0;
    }
    let (x, rest) = (f64::from(successes), f64::from(trials - successes));
    // Nothing times the logarithm of nothing is nothing.
    let term = |count: f64, share: f64| {
        if count == 0.0 {
            0.0
        } else {
            count * share.ln()
        }
    };
    (ln_binomial(u64::from(trials), u64::from(successes))
        + term(x, probability)
        + term(rest, 1.0 - probability))
    .exp()
}

/// The probability of at most so many successes.
pub fn at_most(successes: u32, trials: u32, probability: f64) -> f64 {
    if successes >= trials || probability <= 0.0 {
        return 1.0;
    }
    if probability >= 1.0 {
        return 0.0;
    }
    let (x, n) = (f64::from(successes), f64::from(trials));
    beta_reg(n - x, x + 1.0, 1.0 - probability)
}

/// The probability of at least so many successes.
pub fn at_least(successes: u32, trials: u32, probability: f64) -> f64 {
    match successes.checked_sub(1) {
        None => 1.0,
        Some(fewer) => 1.0 - at_most(fewer, trials, probability),
    }
}

/// How often the exact test finds a share to differ from `expected` (p at or below `significance`) where the true
/// share is `truth`.
pub fn power(trials: u32, expected: f64, truth: f64, significance: f64) -> f64 {
    let mut outcomes: Vec<(f64, u32)> = (0..=trials)
        .map(|each| (chance(each, trials, expected), each))
        .collect();
    outcomes.sort_by(|one, other| one.0.total_cmp(&other.0));
    // Outcomes are rejected from the least likely up, those equally likely together.
    let (mut rejected, mut found, mut from) = (0.0, 0.0, 0);
    while from < outcomes.len() {
        let bound = outcomes[from].0 * TIE;
        let tied: Vec<_> = outcomes[from..]
            .iter()
            .take_while(|each| each.0 <= bound)
            .collect();
        rejected += tied.iter().map(|each| each.0).sum::<f64>();
        if rejected > significance {
            break;
        }
        found += tied
            .iter()
            .map(|each| chance(each.1, trials, truth))
            .sum::<f64>();
        from += tied.len();
    }
    found
}

/// The fewest trials from which the exact test has this power. Power rises in a saw's teeth: a few more trials may
/// have a little less. `None` where the shares are equal, or nearly so.
pub fn trials_for_power(expected: f64, truth: f64, significance: f64, wanted: f64) -> Option<u32> {
    let difference = (truth - expected).abs();
    if difference < 1e-3 {
        return None;
    }
    let (alpha, beta) = (
        normal_quantile(1.0 - significance / 2.0),
        normal_quantile(wanted),
    );
    let spread = |share: f64| (share * (1.0 - share)).sqrt();
    let about = ((alpha * spread(expected) + beta * spread(truth)) / difference).powi(2);
    let from = ((about * 0.7) as u32).max(1);
    if from > MOST_TRIALS {
        return None;
    }
    (from..=from.saturating_mul(4).saturating_add(50))
        .find(|trials| power(*trials, expected, truth, significance) >= wanted)
}

/// The value below which a standard normal deviate falls with this probability.
pub(crate) fn normal_quantile(probability: f64) -> f64 {
    Normal::standard().inverse_cdf(probability)
}
