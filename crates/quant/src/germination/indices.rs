//! Indices of the course of germination, from counts by day.
//!
//! Seed that is counted every few days came up some time between two looks; the indices take the day of the look, as
//! their authors do. Formulas: Ranal & Santana (2006) Revista Brasileira de Botânica 29:1–11; T50: Coolbear, Francis &
//! Grierson (1984) Journal of Experimental Botany 35:1609–1617, and Farooq, Basra, Ahmad & Hafeez (2005) Journal of
//! Integrative Plant Biology 47:187–193; speed: Maguire (1962) Crop Science 2:176–177.

use crate::counted::total;

/// The course of germination in figures. Days are those of the looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Indices {
    /// Seeds germinated.
    pub germinated: u32,
    /// Mean time in days.
    pub mean_time: f64,
    /// Variance of the time, in days squared, of a sample; `None` for one seed.
    pub variance: Option<f64>,
    /// Standard error of the mean time.
    pub standard_error: Option<f64>,
    /// Coefficient of variation of the time, in percent.
    pub variation: Option<f64>,
    /// Mean rate, a day: one over the mean time.
    pub mean_rate: f64,
    /// Coefficient of velocity (Kotowski), in percent: a hundred times the mean rate.
    pub velocity: f64,
    /// Uncertainty in bits: 0 when all came on one day.
    pub uncertainty: f64,
    /// Synchrony: the share of pairs of seeds that came on the same day; `None` for one seed.
    pub synchrony: Option<f64>,
    /// Speed (Maguire): germinated a day, each divided by its day.
    pub speed: f64,
    /// The day by which half of the germinated were up, target (N + 1) / 2 (Coolbear).
    pub t50_coolbear: f64,
    /// The same, target N / 2 (Farooq).
    pub t50_farooq: f64,
}

impl Indices {
    /// The indices of `(day, newly germinated)` in ascending order of days above 0. `None` when nothing germinated, or
    /// a day is out of order.
    pub fn of(counts: &[(f64, u32)]) -> Option<Self> {
        let ordered = counts.windows(2).all(|pair| pair[0].0 < pair[1].0);
        let germinated = total(counts.iter().map(|each| each.1));
        if germinated == 0 || !ordered || counts.first().is_none_or(|first| first.0 <= 0.0) {
            return None;
        }
        let n = f64::from(germinated);
        let sum = |term: &dyn Fn(f64, f64) -> f64| -> f64 {
            counts
                .iter()
                .filter(|each| each.1 > 0)
                .map(|each| term(each.0, f64::from(each.1)))
                .sum()
        };
        let mean_time = sum(&|day, seeds| day * seeds) / n;
        let several = germinated > 1;
        let variance =
            several.then(|| sum(&|day, seeds| seeds * (day - mean_time).powi(2)) / (n - 1.0));
        Some(Self {
            germinated,
            mean_time,
            variance,
            standard_error: variance.map(|variance| (variance / n).sqrt()),
            variation: variance.map(|variance| 100.0 * variance.sqrt() / mean_time),
            mean_rate: 1.0 / mean_time,
            velocity: 100.0 / mean_time,
            uncertainty: -sum(&|_, seeds| seeds / n * (seeds / n).log2()),
            synchrony: several.then(|| sum(&|_, seeds| seeds * (seeds - 1.0)) / (n * (n - 1.0))),
            speed: sum(&|day, seeds| seeds / day),
            t50_coolbear: reached(counts, f64::midpoint(n, 1.0)),
            t50_farooq: reached(counts, n / 2.0),
        })
    }
}

/// Timson's index: the sum, over every day to the `last`, of the percentage of `sown` seeds germinated by that day
/// (Timson 1965, Nature 207:216–217). Between looks the percentage stays where it was.
pub fn timson(counts: &[(f64, u32)], sown: u32, last: u32) -> Option<f64> {
    (sown > 0).then(|| {
        // Each seed counts on its day and on every day after it.
        let days = |day: f64| (f64::from(last) - day.ceil().max(1.0) + 1.0).max(0.0);
        let up = counts.iter().map(|each| f64::from(each.1) * days(each.0));
        100.0 * up.sum::<f64>() / f64::from(sown)
    })
}

/// The day on which so many were up, in a straight line between looks.
fn reached(counts: &[(f64, u32)], target: f64) -> f64 {
    let (mut before, mut up) = (0.0, 0.0);
    for &(day, seeds) in counts {
        let next = up + f64::from(seeds);
        if next >= target && next > up {
            return before + (target - up) / (next - up) * (day - before);
        }
        (before, up) = (day, next);
    }
    before
}
