//! Seedlings of a family sorted into classes, held against Mendel's ratios.
//!
//! ```
//! use quant::segregation::{Ratio, exact_test};
//!
//! let three_to_one = Ratio::new(&[3.0, 1.0]).unwrap();
//! assert!(exact_test(&[75, 25], &three_to_one).unwrap() > 0.99);
//! ```

use crate::contingency::ChiSquare;
use crate::counted::total;
use crate::proportion::{TIE, at_least, at_most};
use statrs::function::factorial::ln_factorial;

/// The most tables that the exact test goes through.
const MOST_TABLES: f64 = 2e6;
/// The most seedlings more that are looked for.
const MOST_MORE: u32 = 5_000;

/// The shares expected of classes.
#[derive(Debug, Clone, PartialEq)]
pub struct Ratio {
    shares: Vec<f64>,
}

impl Ratio {
    /// A ratio such as 3 to 1. `None` unless two parts or more are given, all above nothing.
    pub fn new(parts: &[f64]) -> Option<Self> {
        let total: f64 = parts.iter().sum();
        let sound = parts.len() > 1 && total.is_finite() && parts.iter().all(|part| *part > 0.0);
        sound.then(|| Self {
            shares: parts.iter().map(|part| part / total).collect(),
        })
    }

    /// The expected share of each class; together 1.
    pub fn shares(&self) -> &[f64] {
        &self.shares
    }

    /// The logarithm of the probability of just these counts, the orders they could have come in among them. `None`
    /// where the classes are not as many.
    pub fn log_chance(&self, counts: &[u32]) -> Option<f64> {
        (counts.len() == self.shares.len()).then(|| {
            let all = total(counts);
            let parts = counts.iter().zip(&self.shares).map(|(count, share)| {
                f64::from(*count) * share.ln() - ln_factorial(u64::from(*count))
            });
            ln_factorial(u64::from(all)) + parts.sum::<f64>()
        })
    }
}

/// Pearson's chi-square of counts against a ratio, without a correction. `None` without seedlings, or where the classes
/// are not as many.
pub fn chi_square(counts: &[u32], ratio: &Ratio) -> Option<ChiSquare> {
    let all = total(counts);
    if all == 0 || counts.len() != ratio.shares.len() {
        return None;
    }
    let statistic = counts
        .iter()
        .zip(&ratio.shares)
        .map(|(count, share)| {
            let expected = f64::from(all) * share;
            (f64::from(*count) - expected).powi(2) / expected
        })
        .sum();
    ChiSquare::of(statistic, counts.len() - 1)
}

/// The exact multinomial test: the probability of all counts no likelier than these. `None` where the classes are not
/// as many, or there are more tables than can be gone through.
pub fn exact_test(counts: &[u32], ratio: &Ratio) -> Option<f64> {
    let observed = ratio.log_chance(counts)? + TIE.ln();
    let all = total(counts);
    let free = (counts.len() - 1) as u64;
    let tables =
        (ln_factorial(u64::from(all) + free) - ln_factorial(u64::from(all)) - ln_factorial(free))
            .exp();
    if tables > MOST_TABLES {
        return None;
    }
    let logs: Vec<f64> = ratio.shares.iter().map(|share| share.ln()).collect();
    let sum = unlikelier(all, &logs, ln_factorial(u64::from(all)), observed);
    Some(sum.min(1.0))
}

/// The probability of all ways to share `left` seedlings over these classes that end at or below `bound`.
fn unlikelier(left: u32, logs: &[f64], so_far: f64, bound: f64) -> f64 {
    let Some((first, rest)) = logs.split_first() else {
        return 0.0;
    };
    let with = |count: u32| so_far + f64::from(count) * first - ln_factorial(u64::from(count));
    if rest.is_empty() {
        let log = with(left);
        return if log <= bound { log.exp() } else { 0.0 };
    }
    (0..=left)
        .map(|count| unlikelier(left - count, rest, with(count), bound))
        .sum()
}

/// How likely each ratio is after these counts, where all were equally likely before, and beside them 'some other
/// ratio', every one of which was equally likely: the last value. `None` where a ratio has other classes, or there
/// is none.
pub fn posterior(counts: &[u32], ratios: &[Ratio]) -> Option<Vec<f64>> {
    let mut logs: Vec<f64> = ratios
        .iter()
        .map(|ratio| ratio.log_chance(counts))
        .collect::<Option<_>>()?;
    if logs.is_empty() {
        return None;
    }
    // With every ratio equally likely, so is every way to fill the classes.
    let (all, free) = (total(counts), (counts.len() - 1) as u64);
    let ways =
        ln_factorial(u64::from(all) + free) - ln_factorial(u64::from(all)) - ln_factorial(free);
    logs.push(-ways);
    let highest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|log| (log - highest).exp()).collect();
    let sum: f64 = weights.iter().sum();
    Some(weights.into_iter().map(|weight| weight / sum).collect())
}

/// How many more seedlings would settle between two shares of the first of two classes: with so many, whichever of the
/// two is true, the counts so far and the new ones together favour it by `odds` to one, with probability `assurance`.
/// `None` where the shares are alike, or more than 5,000 would be needed.
pub fn more_to_settle(
    (first, total): (u32, u32),
    one: f64,
    other: f64,
    odds: f64,
    assurance: f64,
) -> Option<u32> {
    let sound = |share: f64| share > 0.0 && share < 1.0;
    if !sound(one) || !sound(other) || (one - other).abs() < 1e-6 {
        return None;
    }
    let (high, low) = if one > other {
        (one, other)
    } else {
        (other, one)
    };
    // What a seedling of the first class, and of the second, says for the higher share.
    let (gain, loss) = ((high / low).ln(), ((1.0 - low) / (1.0 - high)).ln());
    let said = f64::from(first) * gain - f64::from(total - first.min(total)) * loss;
    let settled = |more: u32| {
        // For the higher share: at least so many of the first class among the new ones.
        let need = |evidence: f64| (evidence - said + f64::from(more) * loss) / (gain + loss);
        let for_high = need(odds.ln()).ceil().max(0.0);
        let for_low = need(-odds.ln()).floor();
        let up = if for_high > f64::from(more) {
            0.0
        } else {
            at_least(for_high as u32, more, high)
        };
        let down = if for_low < 0.0 {
            0.0
        } else {
            at_most((for_low as u32).min(more), more, low)
        };
        up >= assurance && down >= assurance
    };
    (said.abs() >= odds.ln())
        .then_some(0)
        .or_else(|| (1..=MOST_MORE).find(|more| settled(*more)))
}
