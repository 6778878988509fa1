//! A rate that isn't known exactly: a Beta distribution.

use statrs::function::beta::checked_beta_reg;
use statrs::function::gamma::digamma;

/// A rate with what isn't known of it: a Beta distribution, which may be read as `passed` of `passed + failed` seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rate {
    passed: f64,
    failed: f64,
}

/// No rate is taken as known better than from so many trials.
const MOST: f64 = 1e7;
/// Nor closer to 0 or 1 than this.
const LEAST: f64 = 1e-9;

impl Rate {
    /// Nothing known: each rate as likely as any other.
    pub const UNKNOWN: Self = Self {
        passed: 1.0,
        failed: 1.0,
    };

    /// A rate of this mean, as well known as from `trials` seen. Means are kept a hair inside 0 and 1.
    pub fn of_mean(mean: f64, trials: f64) -> Self {
        let mean = if mean.is_nan() {
            0.5
        } else {
            mean.clamp(LEAST, 1.0 - LEAST)
        };
        let trials = if trials.is_nan() {
            2.0
        } else {
            trials.clamp(1e-6, MOST)
        };
        Self {
            passed: mean * trials,
            failed: (1.0 - mean) * trials,
        }
    }

    /// A rate of this mean and variance; a variance greater than any rate's gives the least knowledge.
    pub fn of_moments(mean: f64, variance: f64) -> Self {
        let mean = mean.clamp(LEAST, 1.0 - LEAST);
        Self::of_mean(mean, mean * (1.0 - mean) / variance.max(1e-300) - 1.0)
    }

    /// After `passed` of `trials` more were seen.
    #[must_use]
    pub fn updated(self, passed: f64, trials: f64) -> Self {
        Self {
            passed: self.passed + passed.clamp(0.0, trials),
            failed: self.failed + (trials - passed).clamp(0.0, trials),
        }
    }

    /// Its mean.
    pub fn mean(self) -> f64 {
        self.passed / self.trials()
    }

    /// Its variance.
    pub fn variance(self) -> f64 {
        let mean = self.mean();
        mean * (1.0 - mean) / (self.trials() + 1.0)
    }

    /// From how many trials it could be known so well.
    pub fn trials(self) -> f64 {
        self.passed + self.failed
    }

    /// The two parameters, a and b.
    pub const fn parameters(self) -> [f64; 2] {
        [self.passed, self.failed]
    }

    /// The chance that the rate is at most `share`.
    pub fn below(self, share: f64) -> f64 {
        if share <= 0.0 {
            return 0.0;
        }
        if share >= 1.0 {
            return 1.0;
        }
        checked_beta_reg(self.passed, self.failed, share).unwrap_or(0.0)
    }

    /// The share that the rate is below with this chance: by halving the interval of ln p / (1 - p), which finds any.
    pub fn quantile(self, chance: f64) -> f64 {
        let share = |logit: f64| 1.0 / (1.0 + (-logit).exp());
        if chance <= 0.0 {
            return 0.0;
        }
        if chance >= 1.0 {
            return 1.0;
        }
        let (mut low, mut high) = (-100.0, 100.0);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if self.below(share(middle)) < chance {
                low = middle;
            } else {
                high = middle;
            }
        }
        share(f64::midpoint(low, high))
    }

    /// The middle of it: between its ends the rate lies with this chance.
    pub fn interval(self, chance: f64) -> [f64; 2] {
        let tail = (1.0 - chance) / 2.0;
        [self.quantile(tail), self.quantile(1.0 - tail)]
    }

    /// The mean of -ln rate.
    pub(super) fn mean_log_loss(self) -> f64 {
        digamma(self.trials()) - digamma(self.passed)
    }
}

/// How many passed of how many, in one group.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Tally {
    /// How many passed.
    pub passed: f64,
    /// Of how many.
    pub trials: f64,
}

/// How rates vary from group to group, learned from groups: the rate of a group still unseen.
///
/// Groups share a mean, which starts from `prior`; about it their rates are Beta with an intraclass correlation ρ by
/// moments (Kleinman 1973, J. Am. Stat. Assoc. 68:46-54, weights by size). Where fewer than three groups tell it, ρ is
/// `usual`. For the mean, a group of n counts as n / (1 + (n - 1) ρ) trials: what is alike in it is seen once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pooled {
    /// The groups' mean rate.
    pub mean: Rate,
    /// The intraclass correlation ρ: 0 where all groups have one rate, 1 where each passes wholly or not at all.
    pub correlation: f64,
}

impl Pooled {
    /// Learns from groups; those without trials tell nothing.
    pub fn learn(groups: &[Tally], prior: Rate, usual: f64) -> Self {
        let groups: Vec<Tally> = groups
            .iter()
            .filter(|group| group.trials > 0.0)
            .copied()
            .collect();
        let correlation = correlation(&groups).unwrap_or(usual).clamp(0.002, 0.5);
        let mean = groups.iter().fold(prior, |mean, group| {
            let worth = 1.0 / (1.0 + (group.trials - 1.0).max(0.0) * correlation);
            mean.updated(group.passed * worth, group.trials * worth)
        });
        Self { mean, correlation }
    }

    /// The rate of a group not seen yet: it varies as groups do, and the mean isn't exactly known either.
    pub fn new_group(&self) -> Rate {
        let (mean, weight) = (self.mean.mean(), self.mean.trials());
        let within = weight / (weight + 1.0) * self.correlation;
        Rate::of_moments(mean, mean * (1.0 - mean) * (within + 1.0 / (weight + 1.0)))
    }
}

/// Kleinman's moment estimator with weights by size; `None` below three groups, or where nothing varies.
fn correlation(groups: &[Tally]) -> Option<f64> {
    if groups.len() < 3 {
        return None;
    }
    let trials: f64 = groups.iter().map(|group| group.trials).sum();
    let passed: f64 = groups.iter().map(|group| group.passed).sum();
    let mean = passed / trials;
    let binomial = mean * (1.0 - mean);
    let squares: f64 = groups.iter().map(|group| group.trials.powi(2)).sum();
    let spread: f64 = groups
        .iter()
        .map(|group| group.trials * (group.passed / group.trials - mean).powi(2))
        .sum();
    let free = groups.len() as f64 - 1.0;
    let room = binomial * (trials - squares / trials - free);
    (room > 0.0).then(|| (spread - binomial * free) / room)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Newcombe (1998), Stat. Med. 17:857-872, table I: 81 of 263. The Beta interval with a half to each side
    /// (Jeffreys) is 0.2545 to 0.3655 (Brown et al. 2001, Stat. Sci. 16:101-133, method; figures by
    /// arithmetic).
    #[test]
    fn intervals_are_those_of_the_beta_distribution() {
        let rate = Rate::of_mean(0.5, 1.0).updated(81.0, 263.0);
        let [low, high] = rate.interval(0.95);
        assert!((rate.below(low) - 0.025).abs() < 1e-9 && (rate.below(high) - 0.975).abs() < 1e-9);
        assert!(
            (low - 0.2545).abs() < 1e-3 && (high - 0.3655).abs() < 1e-3,
            "{low} {high}"
        );
        assert!((Rate::UNKNOWN.quantile(0.3) - 0.3).abs() < 1e-9);
    }

    #[test]
    fn moments_come_back() {
        let rate = Rate::of_moments(0.3, 0.01);
        assert!((rate.mean() - 0.3).abs() < 1e-12 && (rate.variance() - 0.01).abs() < 1e-12);
        assert!(
            (Rate::UNKNOWN.mean_log_loss() - 1.0).abs() < 1e-12,
            "∫ -ln p dp = 1"
        );
    }

    /// Groups that differ no more than chance have no correlation; groups all or nothing have all of it. Hand-worked:
    /// 10 of 10, 0 of 10, 10 of 10, 0 of 10 give S = 10, pq = 1/4: (10 - 3/4) / (1/4 × (40 - 10 - 3)) = 1.37.
    #[test]
    fn groups_tell_how_much_they_differ() {
        let tally = |passed, trials| Tally { passed, trials };
        let alike = [tally(5.0, 10.0); 4];
        assert!(correlation(&alike).unwrap() < 0.0);
        let apart = [
            tally(10.0, 10.0),
            tally(0.0, 10.0),
            tally(10.0, 10.0),
            tally(0.0, 10.0),
        ];
        assert!((correlation(&apart).unwrap() - 9.25 / 6.75).abs() < 1e-12);
        let prior = Rate::of_mean(0.5, 4.0);
        let [of_alike, of_apart] =
            [&alike[..], &apart[..]].map(|groups| Pooled::learn(groups, prior, 0.05).new_group());
        assert!(of_alike.variance() < of_apart.variance() / 4.0);
        assert_eq!(correlation(&alike[..2]), None);
    }

    #[test]
    fn without_groups_the_prior_speaks() {
        let pooled = Pooled::learn(&[], Rate::of_mean(0.61, 30.0), 0.05);
        let rate = pooled.new_group();
        assert!((rate.mean() - 0.61).abs() < 1e-12);
        // Var = m (1 - m) (30/31 × 0.05 + 1/31).
        let expected = 0.61 * 0.39 * (30.0 / 31.0 * 0.05 + 1.0 / 31.0);
        assert!((rate.variance() - expected).abs() < 1e-12);
    }
}
