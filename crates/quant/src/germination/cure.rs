//! A curve of germination in which some seed never comes: the share `p` that will, times a distribution over time, fitted
//! to counts between looks by maximum likelihood.
//!
//! Time-to-event analysis of germination: Onofri, Mesgaran & Ray (2022) Weed Research 62:249–257; models with a share
//! that never comes: Boag (1949) Journal of the Royal Statistical Society B 11:15–53; Farewell (1982) Biometrics
//! 38:1041–1046. Intervals and bands are those of the profile likelihood: see [`crate::likelihood`].

use super::Emergence;
use crate::counted::total;
use crate::likelihood::{ConfidenceRegion, Maximum, maximize};
use crate::proportion::Interval;
use statrs::distribution::{ContinuousCDF as _, Normal};
use std::f64::consts::LN_2;

/// The fewest counts with new seedlings from which a distribution can be fitted.
const LEAST_LOOKS: usize = 3;
/// The fewest seeds up from which a curve is fitted.
const LEAST_UP: u32 = 5;

/// The shape of the distribution of those seeds that come: each has a median and a steepness.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum TimeDistribution {
    /// `1 / (1 + (median / t)^steepness)`.
    LogLogistic,
    /// The normal distribution of `ln t`, its standard deviation one over the steepness.
    LogNormal,
    /// `1 - 2^-(t / median)^steepness`.
    Weibull,
}

impl TimeDistribution {
    /// Every shape.
    pub const ALL: [Self; 3] = [Self::LogLogistic, Self::LogNormal, Self::Weibull];

    /// The part of the seeds that come which are up by a day.
    pub fn up_by(self, day: f64, median: f64, steepness: f64) -> f64 {
        if day <= 0.0 {
            return 0.0;
        }
        let log = steepness * (day / median).ln();
        match self {
            Self::LogLogistic => 1.0 / (1.0 + (-log).exp()),
            Self::LogNormal => Normal::standard().cdf(log),
            Self::Weibull => -(-LN_2 * log.exp()).exp_m1(),
        }
    }
}

/// Why no curve was fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoFit {
    /// No seed was given, or a group of it is out of order.
    NoSeed,
    /// Too few seeds are up.
    TooFewUp(u32),
    /// New seedlings were found at too few looks.
    TooFewLooks(usize),
}

/// A fitted curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Cure {
    /// The shape of the distribution.
    pub distribution: TimeDistribution,
    /// The log-likelihood at the fit.
    pub log_likelihood: f64,
    /// The level of every interval.
    pub level: f64,
    fitted: Vec<f64>,
    region: ConfidenceRegion,
}

impl Cure {
    /// Fits a distribution of this shape, with intervals at `level`.
    ///
    /// # Errors
    /// See [`NoFit`].
    pub fn fit(
        seeds: &[Emergence],
        distribution: TimeDistribution,
        level: f64,
    ) -> Result<Self, NoFit> {
        let bounds = bounds(seeds)?;
        let maximum = maximum(seeds, distribution, &bounds);
        Ok(Self::around(seeds, distribution, maximum, &bounds, level))
    }

    fn around(
        seeds: &[Emergence],
        distribution: TimeDistribution,
        maximum: Maximum,
        bounds: &[Bound; 3],
        level: f64,
    ) -> Self {
        let likelihood = |at: &[f64]| log_likelihood(seeds, distribution, at, bounds);
        Self {
            distribution,
            log_likelihood: maximum.value,
            level,
            region: ConfidenceRegion::around(&likelihood, &maximum, bounds, level),
            fitted: maximum.at,
        }
    }
    /// Fits every shape and takes the likeliest: all have as many parameters, so that no other measure says more.
    /// The second value tells each one's log-likelihood.
    ///
    /// # Errors
    /// See [`NoFit`].
    pub fn best(
        seeds: &[Emergence],
        level: f64,
    ) -> Result<(Self, Vec<(TimeDistribution, f64)>), NoFit> {
        let bounds = bounds(seeds)?;
        let maxima = TimeDistribution::ALL
            .map(|distribution| (distribution, maximum(seeds, distribution, &bounds)));
        let values = maxima
            .iter()
            .map(|(distribution, maximum)| (*distribution, maximum.value))
            .collect();
        let (distribution, maximum) = maxima
            .into_iter()
            .reduce(|one, other| {
                if other.1.value > one.1.value {
                    other
                } else {
                    one
                }
            })
            .ok_or(NoFit::NoSeed)?;
        Ok((
            Self::around(seeds, distribution, maximum, &bounds, level),
            values,
        ))
    }

    fn figure(&self, of: impl Fn(&Parameters) -> f64) -> (f64, Interval) {
        let value = |at: &[f64]| of(&Parameters::of(self.distribution, at));
        (value(&self.fitted), self.region.range(value))
    }

    /// The share of all seed that comes in the end.
    pub fn share(&self) -> (f64, Interval) {
        self.figure(|at| at.share)
    }

    /// The day by which half of those that come are up.
    pub fn median(&self) -> (f64, Interval) {
        self.figure(|at| at.median)
    }

    /// How steep the distribution is: the higher, the more at once.
    pub fn steepness(&self) -> (f64, Interval) {
        self.figure(|at| at.steepness)
    }

    /// The share of all seed up by a day, with its pointwise band.
    pub fn up_by(&self, day: f64) -> (f64, Interval) {
        self.figure(|at| at.up_by(day))
    }
}

struct Parameters {
    distribution: TimeDistribution,
    share: f64,
    median: f64,
    steepness: f64,
}

impl Parameters {
    fn of(distribution: TimeDistribution, at: &[f64]) -> Self {
        Self {
            distribution,
            share: 1.0 / (1.0 + (-at[0]).exp()),
            median: at[1].exp(),
            steepness: at[2].exp(),
        }
    }

    fn up_by(&self, day: f64) -> f64 {
        self.share * self.distribution.up_by(day, self.median, self.steepness)
    }
}

type Bound = (f64, f64);

fn came(seeds: &[Emergence]) -> impl Iterator<Item = &Emergence> {
    seeds
        .iter()
        .filter(|group| group.by.is_finite() && group.seeds > 0)
}

/// Within what the logit of the share, and the logarithms of the median and the steepness are looked for, if there is
/// enough to fit.
fn bounds(seeds: &[Emergence]) -> Result<[Bound; 3], NoFit> {
    let sound = |group: &Emergence| group.is_sound() && group.after < group.by;
    let all = total(seeds.iter().map(|group| group.seeds));
    if all == 0 || !seeds.iter().all(sound) {
        return Err(NoFit::NoSeed);
    }
    let up = total(came(seeds).map(|group| group.seeds));
    if up < LEAST_UP {
        return Err(NoFit::TooFewUp(up));
    }
    let mut looks: Vec<f64> = came(seeds).map(|group| group.by).collect();
    looks.sort_by(f64::total_cmp);
    looks.dedup();
    if looks.len() < LEAST_LOOKS {
        return Err(NoFit::TooFewLooks(looks.len()));
    }
    let (first, last) = (looks[0], looks[looks.len() - 1]);
    Ok([
        (-12.0, 12.0),
        ((first / 50.0).ln(), (last * 50.0).ln()),
        (0.1_f64.ln(), 100.0_f64.ln()),
    ])
}

/// The maximum of the likelihood, searched for from several starts: for some counts the likelihood has more than one peak.
fn maximum(seeds: &[Emergence], distribution: TimeDistribution, bounds: &[Bound; 3]) -> Maximum {
    let likelihood = |at: &[f64]| log_likelihood(seeds, distribution, at, bounds);
    let all = total(seeds.iter().map(|group| group.seeds));
    let up = total(came(seeds).map(|group| group.seeds));
    let share = (f64::from(up) + 0.5) / (f64::from(all) + 1.0);
    let middle = came(seeds)
        .map(|group| f64::from(group.seeds) * f64::midpoint(group.after, group.by))
        .sum::<f64>()
        / f64::from(up);
    let last = came(seeds).map(|group| group.by).fold(0.0, f64::max);
    let starts = [share, f64::midpoint(share, 1.0)]
        .into_iter()
        .flat_map(|share| [2.0_f64, 6.0].map(|steep| (share, middle, steep)))
        .chain([(0.98, last * 2.0, 1.5)]);
    let mut maximum = Maximum {
        at: vec![0.0; 3],
        value: f64::NEG_INFINITY,
    };
    for (share, median, steepness) in starts {
        let start = [(share / (1.0 - share)).ln(), median.ln(), steepness.ln()];
        let next = maximize(&likelihood, &start, &[0.5, 0.2, 0.3]);
        if next.value > maximum.value {
            maximum = next;
        }
    }
    maximum
}

fn log_likelihood(
    seeds: &[Emergence],
    distribution: TimeDistribution,
    at: &[f64],
    bounds: &[(f64, f64)],
) -> f64 {
    let inside = at
        .iter()
        .zip(bounds)
        .all(|(at, bound)| bound.0 <= *at && *at <= bound.1);
    if !inside {
        return f64::NEG_INFINITY;
    }
    let parameters = Parameters::of(distribution, at);
    seeds
        .iter()
        .filter(|group| group.seeds > 0)
        .map(|group| {
            let before = parameters.up_by(group.after);
            let chance = if group.by.is_infinite() {
                1.0 - before
            } else {
                parameters.up_by(group.by) - before
            };
            f64::from(group.seeds) * chance.max(1e-300).ln()
        })
        .sum()
}
