//! What a trial can tell, before it is planted.

use crate::chance::normal;
use statrs::distribution::{ContinuousCDF as _, StudentsT};
use statrs::function::gamma::ln_gamma;

/// Two entries compared in a trial: two-sided test of their difference.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comparison {
    /// The coefficient of variation of a plot, per cent of the mean.
    pub variation: f64,
    /// Plots of each entry.
    pub replicates: u32,
    /// Entries in the trial.
    pub entries: u32,
    /// The chance to find a difference where there is none, such as 0.05.
    pub level: f64,
}

impl Comparison {
    /// Degrees of freedom of the error in complete blocks: (replicates - 1)(entries - 1).
    fn freedom(&self) -> Option<f64> {
        let freedom = self.replicates.checked_sub(1)? * self.entries.checked_sub(1)?;
        let sound = self.variation > 0.0 && self.level > 0.0 && self.level < 1.0;
        (freedom > 0 && sound).then(|| f64::from(freedom))
    }

    fn standard_error(&self) -> f64 {
        self.variation * (2.0 / f64::from(self.replicates)).sqrt()
    }

    /// The chance that a true difference, per cent of the mean, is found: noncentral t with both tails. `None` for
    /// fewer than two replicates or entries, or figures out of their range.
    pub fn power(&self, difference: f64) -> Option<f64> {
        let freedom = self.freedom()?;
        let critical = t_quantile(1.0 - self.level / 2.0, freedom)?;
        let shift = difference.abs() / self.standard_error();
        Some(
            noncentral_t_above(critical, freedom, shift)
                + noncentral_t_above(critical, freedom, -shift),
        )
    }

    /// The least true difference, per cent of the mean, that is found with this chance: t of the level plus t of the
    /// chance, times the standard error of a difference (Cochran & Cox 1957, Experimental Designs, section 2.2).
    pub fn least_difference(&self, power: f64) -> Option<f64> {
        let freedom = self.freedom()?;
        let both = t_quantile(1.0 - self.level / 2.0, freedom)? + t_quantile(power, freedom)?;
        Some(both * self.standard_error())
    }

    /// The fewest replicates, two or more and at most 1000, with which a difference is found with this chance, by the
    /// same rule; those of `self` are not looked at. `None` if 1000 are too few.
    pub fn replicates_for(&self, difference: f64, power: f64) -> Option<u32> {
        (2..=1000).find(|&replicates| {
            Self {
                replicates,
                ..*self
            }
            .least_difference(power)
            .is_some_and(|least| least <= difference)
        })
    }
}

fn t_quantile(chance: f64, freedom: f64) -> Option<f64> {
    let distribution = StudentsT::new(0.0, 1.0, freedom).ok()?;
    (chance > 0.0 && chance < 1.0).then(|| distribution.inverse_cdf(chance))
}

/// The chance that noncentral t with this freedom and noncentrality exceeds `t`: the normal chance given the estimated
/// standard deviation, averaged over the latter's distribution (Simpson's rule, error below 1e-9).
pub fn noncentral_t_above(t: f64, freedom: f64, noncentrality: f64) -> f64 {
    const STEPS: i32 = 2000;
    // √(χ²/freedom) has a mean near 1 and a standard deviation near √(1/2 freedom).
    let spread = 12.0 / (2.0 * freedom).sqrt();
    let (low, high) = ((1.0 - spread).max(0.0), 1.0 + spread);
    let constant =
        std::f64::consts::LN_2 + freedom / 2.0 * (freedom / 2.0).ln() - ln_gamma(freedom / 2.0);
    let density = |s: f64| {
        if s > 0.0 {
            (constant + (freedom - 1.0) * s.ln() - freedom * s * s / 2.0).exp()
        } else if freedom > 1.0 {
            0.0
        } else {
            constant.exp()
        }
    };
    let width = (high - low) / f64::from(STEPS);
    (0..=STEPS)
        .map(|step| {
            let s = low + width * f64::from(step);
            let weight = match step {
                0 | STEPS => 1.0,
                _ if step % 2 == 1 => 4.0,
                _ => 2.0,
            };
            weight * density(s) * normal::above(t * s - noncentrality)
        })
        .sum::<f64>()
        * width
        / 3.0
}
