//! The chance of an outcome by dose: a logistic line fitted to counts by maximum likelihood, and the dose for a wanted
//! chance, with intervals.
//!
//! Counts in groups vary more than coin tosses do; what they vary more (Pearson's chi-square over its degrees of
//! freedom, `McCullagh` & Nelder 1989, *Generalized linear models*, 2nd ed., section 4.5) widens the intervals, and
//! never narrows them.

use statrs::distribution::{ContinuousCDF as _, StudentsT};
use std::fmt;

/// Trials at one dose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Group {
    /// The dose.
    pub dose: f64,
    /// How many were tried.
    pub trials: u32,
    /// How many came out.
    pub successes: u32,
}

/// Why no line was fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoFit {
    /// A dose isn't a number, or more came out than were tried.
    Wrong,
    /// Fewer than three different doses: a line through two can't be doubted.
    TooFewDoses,
    /// All or none came out, or a dose parts them entirely: the line has no end.
    Parted,
}

impl fmt::Display for NoFit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Wrong => "a dose or a count can't be",
            Self::TooFewDoses => "fewer than three different doses",
            Self::Parted => "all or none came out above some dose",
        })
    }
}

impl std::error::Error for NoFit {}

/// A fitted line: log odds = intercept + slope × dose.
#[derive(Debug, Clone, PartialEq)]
pub struct DoseResponse {
    /// The log odds at dose 0.
    pub intercept: f64,
    /// The log odds a unit of dose adds.
    pub slope: f64,
    /// Variances of intercept and slope, and their covariance, before they are widened.
    pub variances: [f64; 3],
    /// Twice the log likelihood lost against a chance of its own for each group.
    pub deviance: f64,
    /// How many times the variance is that of coin tosses, at least 1.
    pub dispersion: f64,
    /// Groups less the two parameters.
    pub freedom: usize,
}

/// A dose with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dose {
    /// The dose for the wanted chance.
    pub dose: f64,
    /// The interval; an end is open where the slope is too uncertain to close it.
    pub interval: (Option<f64>, Option<f64>),
}

/// Fits the line by Fisher scoring.
///
/// # Errors
/// See [`NoFit`].
pub fn fit(groups: &[Group]) -> Result<DoseResponse, NoFit> {
    let groups: Vec<Group> = groups
        .iter()
        .filter(|group| group.trials > 0)
        .copied()
        .collect();
    if groups
        .iter()
        .any(|group| !group.dose.is_finite() || group.successes > group.trials)
    {
        return Err(NoFit::Wrong);
    }
    let mut doses: Vec<f64> = groups.iter().map(|group| group.dose).collect();
    doses.sort_by(f64::total_cmp);
    doses.dedup();
    if doses.len() < 3 {
        return Err(NoFit::TooFewDoses);
    }
    // About the mean, and in units of their spread, doses of any size give well-scaled equations.
    let centre = doses.iter().sum::<f64>() / doses.len() as f64;
    let spread = (doses[doses.len() - 1] - doses[0]) / 2.0;
    let scaled = |dose: f64| (dose - centre) / spread;
    let (mut at_centre, mut rise) = (0.0_f64, 0.0_f64);
    let mut information = [0.0; 3];
    let mut settled = false;
    for _ in 0..60 {
        let mut score = [0.0; 2];
        information = [0.0; 3];
        for group in &groups {
            let dose = scaled(group.dose);
            let chance = logistic(at_centre + rise * dose);
            let trials = f64::from(group.trials);
            let weight = trials * chance * (1.0 - chance);
            let over = f64::from(group.successes) - trials * chance;
            score[0] += over;
            score[1] += over * dose;
            information[0] += weight;
            information[1] += weight * dose * dose;
            information[2] += weight * dose;
        }
        let determinant = information[0] * information[1] - information[2] * information[2];
        if determinant.is_nan() || determinant <= 1e-10 {
            return Err(NoFit::Parted);
        }
        let step = [
            (information[1] * score[0] - information[2] * score[1]) / determinant,
            (information[0] * score[1] - information[2] * score[0]) / determinant,
        ];
        // No step is longer than the likelihood is known to be round for.
        let shorten = 4.0 / step[0].abs().max(step[1].abs()).max(4.0);
        at_centre += step[0] * shorten;
        rise += step[1] * shorten;
        if at_centre.abs().max(rise.abs()) > 40.0 {
            return Err(NoFit::Parted);
        }
        if step[0].abs().max(step[1].abs()) < 1e-11 {
            settled = true;
            break;
        }
    }
    if !settled {
        return Err(NoFit::Parted);
    }
    let determinant = information[0] * information[1] - information[2] * information[2];
    let (of_centre, of_rise, of_both) = (
        information[1] / determinant,
        information[0] / determinant,
        -information[2] / determinant,
    );
    let ratio = centre / spread;
    let (mut deviance, mut pearson) = (0.0, 0.0);
    for group in &groups {
        let chance = logistic(at_centre + rise * scaled(group.dose));
        let (trials, came) = (f64::from(group.trials), f64::from(group.successes));
        let term = |seen: f64, expected: f64| {
            if seen > 0.0 {
                seen * (seen / expected).ln()
            } else {
                0.0
            }
        };
        deviance +=
            2.0 * (term(came, trials * chance) + term(trials - came, trials * (1.0 - chance)));
        pearson += (came - trials * chance).powi(2) / (trials * chance * (1.0 - chance));
    }
    let freedom = groups.len() - 2;
    Ok(DoseResponse {
        intercept: at_centre - rise * ratio,
        slope: rise / spread,
        variances: [
            of_centre - 2.0 * ratio * of_both + ratio * ratio * of_rise,
            of_rise / (spread * spread),
            (of_both - ratio * of_rise) / spread,
        ],
        deviance,
        dispersion: (pearson / freedom as f64).max(1.0),
        freedom,
    })
}

impl DoseResponse {
    /// The chance at a dose.
    pub fn chance(&self, dose: f64) -> f64 {
        logistic(self.intercept + self.slope * dose)
    }

    /// The interval of the chance at a dose, at a level such as 0.95.
    pub fn chance_interval(&self, dose: f64, level: f64) -> (f64, f64) {
        let odds = self.intercept + self.slope * dose;
        let [a, b, both] = self.variances;
        let width = self.quantile(level)
            * (self.dispersion * (a + 2.0 * dose * both + dose * dose * b)).sqrt();
        (logistic(odds - width), logistic(odds + width))
    }

    /// The interval of the slope.
    pub fn slope_interval(&self, level: f64) -> (f64, f64) {
        let width = self.quantile(level) * (self.dispersion * self.variances[1]).sqrt();
        (self.slope - width, self.slope + width)
    }

    /// The dose for a wanted chance with its interval by Fieller's theorem (Finney 1971, *Probit analysis*, 3rd ed.,
    /// section 4.6). Nothing for a flat line or a chance of 0 or 1.
    pub fn dose_for(&self, chance: f64, level: f64) -> Option<Dose> {
        if !(chance > 0.0 && chance < 1.0) || self.slope == 0.0 {
            return None;
        }
        let odds = (chance / (1.0 - chance)).ln();
        let above = odds - self.intercept;
        let dose = above / self.slope;
        let square = self.quantile(level).powi(2) * self.dispersion;
        let [a, b, both] = self.variances.map(|variance| variance * square);
        // The doses at which intercept + slope × dose - odds isn't told from nothing: a quadratic in the dose.
        let (leading, middle, last) = (
            self.slope * self.slope - b,
            -(self.slope * above + both),
            above * above - a,
        );
        if leading <= 0.0 {
            return Some(Dose {
                dose,
                interval: (None, None),
            });
        }
        let root = (middle * middle - leading * last).max(0.0).sqrt();
        Some(Dose {
            dose,
            interval: (
                Some((-middle - root) / leading),
                Some((-middle + root) / leading),
            ),
        })
    }

    /// Student's t with the freedom of the groups, so that few groups give wide intervals.
    fn quantile(&self, level: f64) -> f64 {
        StudentsT::new(0.0, 1.0, self.freedom as f64).map_or(f64::INFINITY, |student| {
            student.inverse_cdf(f64::midpoint(1.0, level))
        })
    }
}

fn logistic(odds: f64) -> f64 {
    1.0 / (1.0 + (-odds).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bliss 1935, *Annals of Applied Biology* 22:134-167: beetles after five hours of carbon disulphide, log10 dose.
    fn beetles() -> Vec<Group> {
        [
            (1.6907, 59, 6),
            (1.7242, 60, 13),
            (1.7552, 62, 18),
            (1.7842, 56, 28),
            (1.8113, 63, 52),
            (1.8369, 59, 53),
            (1.8610, 62, 61),
            (1.8839, 60, 60),
        ]
        .map(|(dose, trials, successes)| Group {
            dose,
            trials,
            successes,
        })
        .to_vec()
    }

    #[track_caller]
    fn near(one: f64, other: f64, within: f64) {
        assert!((one - other).abs() <= within, "{one} is not {other}");
    }

    #[test]
    fn the_beetles_as_published() {
        // Dobson 2002, An introduction to generalized linear models, 2nd ed., section 7.3.1: intercept -60.72 (5.18),
        // slope 34.27 (2.91), deviance 11.23 on 6 degrees of freedom (from memory, high confidence).
        let fit = fit(&beetles()).unwrap();
        near(fit.intercept, -60.72, 0.005);
        near(fit.slope, 34.27, 0.005);
        near(fit.variances[0].sqrt(), 5.18, 0.005);
        near(fit.variances[1].sqrt(), 2.91, 0.005);
        near(fit.deviance, 11.23, 0.005);
        assert_eq!(fit.freedom, 6);
        let half = fit.dose_for(0.5, 0.95).unwrap();
        near(half.dose, 60.72 / 34.27, 0.0005);
        let (low, high) = (half.interval.0.unwrap(), half.interval.1.unwrap());
        assert!(
            low < half.dose && half.dose < high && high - low < 0.05,
            "{half:?}"
        );
    }

    #[test]
    fn the_interval_of_a_dose_ends_where_the_line_is_told_from_the_wanted_chance() {
        // Fieller's ends are the doses at which the interval of the chance just holds the wanted one.
        let fit = fit(&beetles()).unwrap();
        let dose = fit.dose_for(0.8, 0.9).unwrap();
        near(
            fit.chance_interval(dose.interval.0.unwrap(), 0.9).1,
            0.8,
            1e-9,
        );
        near(
            fit.chance_interval(dose.interval.1.unwrap(), 0.9).0,
            0.8,
            1e-9,
        );
        near(fit.chance(dose.dose), 0.8, 1e-12);
    }

    #[test]
    fn few_flat_or_parted_counts_are_said_so() {
        let group = |dose, successes| Group {
            dose,
            trials: 10,
            successes,
        };
        assert_eq!(
            fit(&[group(1.0, 2), group(2.0, 4)]),
            Err(NoFit::TooFewDoses)
        );
        assert_eq!(
            fit(&[group(1.0, 0), group(2.0, 0), group(3.0, 10)]),
            Err(NoFit::Parted)
        );
        assert_eq!(
            fit(&[group(1.0, 0), group(2.0, 0), group(3.0, 0)]),
            Err(NoFit::Parted)
        );
        assert_eq!(
            fit(&[group(f64::NAN, 0), group(2.0, 0), group(3.0, 0)]),
            Err(NoFit::Wrong)
        );
        let flat = fit(&[group(1.0, 5), group(2.0, 4), group(3.0, 5), group(4.0, 4)]).unwrap();
        let (low, high) = flat.slope_interval(0.95);
        assert!(low < 0.0 && high > 0.0);
        assert_eq!(flat.dose_for(0.9, 0.95).unwrap().interval, (None, None));
    }
}
