//! What selection in stages gains.

use crate::chance::normal::{above, below, density, quantile};

/// Simpson's intervals over a range, unless more are needed.
const INTERVALS: usize = 400;
/// Where normal tails are taken to end, in standard deviations.
const END: f64 = 8.5;

/// The outcome of selection in stages.
#[derive(Clone, Debug, PartialEq)]
pub struct Gain {
    /// The mean value of those kept at the end.
    pub gain: f64,
    /// The least criterion that is kept at each stage, in standard deviations of the criterion.
    pub cutoffs: Vec<f64>,
}

/// The gain of keeping the best share on a criterion with this accuracy (its correlation with the value): accuracy
/// times the intensity φ(k)/share.
pub fn one_stage(accuracy: f64, share: f64) -> f64 {
    let cutoff = quantile(1.0 - share);
    if cutoff.is_finite() {
        accuracy * density(cutoff) / share
    } else {
        0.0
    }
}

/// Two stages, each on a criterion of its own: these accuracies, this correlation between the criteria, these shares
/// kept, the second of those kept before. Cochran's formula. `None` unless shares lie above 0 and up to 1, accuracies
/// from 0 to 1 and the correlation between -1 and 1.
pub fn two_stages(accuracies: [f64; 2], correlation: f64, shares: [f64; 2]) -> Option<Gain> {
    let sound = shares.iter().all(|&share| share > 0.0 && share <= 1.0)
        && accuracies
            .iter()
            .all(|accuracy| (0.0..=1.0).contains(accuracy))
        && correlation.abs() < 1.0;
    if !sound {
        return None;
    }
    let all = shares[0] * shares[1];
    let rest = (1.0 - correlation * correlation).sqrt();
    let first = quantile(1.0 - shares[0]).max(-END);
    let kept = |second: f64| {
        simpson(first, END.max(first + 1.0), INTERVALS, |x| {
            density(x) * above((second - correlation * x) / rest)
        })
    };
    let second = bisect(-END, END, |second| kept(second) > all);
    let gain = accuracies[0] * density(first) * below((correlation * first - second) / rest)
        + accuracies[1] * density(second) * below((correlation * second - first) / rest);
    Some(Gain {
        gain: gain / all,
        cutoffs: vec![first, second],
    })
}

/// Any number of stages, at each of which the best index of all that is known by then decides. `accuracies` are those of
/// the index, rising; `shares` those kept of the ones before. The index is an expectation that only moves by what is
/// new, so that its distribution among those kept is carried from stage to stage by one integral each.
///
/// `None` unless there are as many shares as accuracies, shares lie above 0 and up to 1, accuracies above 0 and up to 1.
pub fn with_index(accuracies: &[f64], shares: &[f64]) -> Option<Gain> {
    let sound = accuracies.len() == shares.len()
        && !shares.is_empty()
        && shares.iter().all(|&share| share > 0.0 && share <= 1.0)
        && accuracies
            .iter()
            .all(|&accuracy| accuracy > 0.0 && accuracy <= 1.0)
        && accuracies.windows(2).all(|pair| pair[0] <= pair[1]);
    if !sound {
        return None;
    }
    let first = accuracies[0];
    let mut cutoffs = vec![quantile(1.0 - shares[0]).max(-END)];
    let mut all = shares[0];
    let mut held = Held::new(cutoffs[0] * first, END * first, INTERVALS, |u| {
        density(u / first) / first
    });
    for (step, &share) in accuracies.windows(2).zip(&shares[1..]) {
        let [before, after] = [step[0], step[1]];
        all *= share;
        let move_by = (after * after - before * before).sqrt();
        if move_by < 1e-4 {
            // Nothing new: the same index, cut further.
            let low = bisect(held.low, held.high, |cut| held.above(cut) > all);
            held = Held::new(low, held.high, held.values.len() - 1, |u| held.at(u));
            cutoffs.push(low / after);
            continue;
        }
        // Points close enough together for the narrow kernel.
        held = held.refined(move_by / 3.0);
        let kept = |cut: f64| held.sum(|u| above((cut - u) / move_by));
        let low = bisect(-END * after, END * after, |cut| kept(cut) > all);
        held = Held::new(low, END * after, INTERVALS, |v| {
            held.sum(|u| density((v - u) / move_by) / move_by)
        });
        cutoffs.push(low / after);
    }
    Some(Gain {
        gain: held.sum(|u| u) / held.sum(|_| 1.0),
        cutoffs,
    })
}

/// A density over a range on evenly spaced points, an odd number of them.
struct Held {
    low: f64,
    high: f64,
    values: Vec<f64>,
}

impl Held {
    fn new(low: f64, high: f64, intervals: usize, density: impl Fn(f64) -> f64) -> Self {
        let width = (high - low) / intervals as f64;
        Self {
            low,
            high,
            values: (0..=intervals)
                .map(|point| density(low + width * point as f64))
                .collect(),
        }
    }

    fn width(&self) -> f64 {
        (self.high - self.low) / (self.values.len() - 1) as f64
    }

    /// The integral of the density times a function, by Simpson's rule.
    fn sum(&self, function: impl Fn(f64) -> f64) -> f64 {
        let last = self.values.len() - 1;
        let width = self.width();
        let weighed = self.values.iter().enumerate().map(|(point, value)| {
            weight(point, last) * value * function(self.low + width * point as f64)
        });
        weighed.sum::<f64>() * width / 3.0
    }

    /// The density between points, by a parabola through three.
    fn at(&self, u: f64) -> f64 {
        let place = ((u - self.low) / self.width()).clamp(0.0, (self.values.len() - 1) as f64);
        let middle = (place.round() as usize).clamp(1, self.values.len() - 2);
        let t = place - middle as f64;
        let [a, b, c] = [
            self.values[middle - 1],
            self.values[middle],
            self.values[middle + 1],
        ];
        b + t * (c - a) / 2.0 + t * t * (a - 2.0 * b + c) / 2.0
    }

    fn above(&self, cut: f64) -> f64 {
        simpson(cut, self.high, self.values.len() - 1, |u| self.at(u))
    }

    /// The same with points at most so far apart.
    fn refined(self, apart: f64) -> Self {
        let intervals = ((self.high - self.low) / apart).ceil() as usize;
        if intervals < self.values.len() {
            return self;
        }
        Self::new(self.low, self.high, intervals.next_multiple_of(2), |u| {
            self.at(u)
        })
    }
}

fn weight(point: usize, last: usize) -> f64 {
    match point {
        _ if point == 0 || point == last => 1.0,
        _ if point % 2 == 1 => 4.0,
        _ => 2.0,
    }
}

fn simpson(low: f64, high: f64, intervals: usize, function: impl Fn(f64) -> f64) -> f64 {
    Held::new(low, high, intervals, function).sum(|_| 1.0)
}

/// Where `more` turns from true to false.
fn bisect(mut low: f64, mut high: f64, more: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if more(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}
