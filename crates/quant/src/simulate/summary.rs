//! What many plays of a strategy come to.

/// One season of one play.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Season {
    pub(super) mean: f64,
    pub(super) chosen: f64,
    pub(super) best: f64,
    pub(super) inbreeding: f64,
    pub(super) kept: bool,
}

/// A figure over many plays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Mean over the plays.
    pub mean: f64,
    /// Nine plays of ten lie above this,
    pub low: f64,
    /// and nine of ten below this.
    pub high: f64,
    /// Standard error of the mean.
    pub error: f64,
}

/// A season over many plays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeasonOutcome {
    /// True value of the seedlings raised, on average.
    pub mean: Band,
    /// True value of the females kept, on average.
    pub chosen: Band,
    /// True value of the best female kept.
    pub best: Band,
    /// Inbreeding F of the seedlings, on average.
    pub inbreeding: Band,
    /// The share of plays that had kept at least one keeper by then, with its 95 % interval (Wilson 1927, JASA
    /// 22:209-212).
    pub keeper: f64,
    /// The lower end of the interval.
    pub keeper_low: f64,
    /// The upper end of the interval.
    pub keeper_high: f64,
}

/// Many plays of one strategy.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Season by season.
    pub seasons: Vec<SeasonOutcome>,
    /// How many plays.
    pub replicates: usize,
    plays: Vec<Vec<Season>>,
}

/// By how much one strategy differs from another in a season.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// In the mean value of the females kept.
    pub chosen: Band,
    /// In the inbreeding of the seedlings.
    pub inbreeding: Band,
}

impl Outcome {
    pub(super) fn of(plays: &[Vec<Season>]) -> Self {
        let longest = plays.iter().map(Vec::len).max().unwrap_or_default();
        let plays: Vec<Vec<Season>> = plays
            .iter()
            .map(|play| {
                // A program that came to its end stays where it is.
                let last = play.last().copied();
                (0..longest)
                    .filter_map(|season| play.get(season).copied().or(last))
                    .collect()
            })
            .collect();
        let seasons = (0..longest)
            .map(|season| {
                let band = |pick: fn(&Season) -> f64| {
                    Band::of(plays.iter().map(|play| pick(&play[season])))
                };
                let kept = plays.iter().filter(|play| play[season].kept).count();
                let (keeper_low, keeper_high) = wilson(kept, plays.len());
                SeasonOutcome {
                    mean: band(|each| each.mean),
                    chosen: band(|each| each.chosen),
                    best: band(|each| each.best),
                    inbreeding: band(|each| each.inbreeding),
                    keeper: kept as f64 / plays.len() as f64,
                    keeper_low,
                    keeper_high,
                }
            })
            .collect();
        Self {
            seasons,
            replicates: plays.len(),
            plays,
        }
    }
}

/// What `one` has more than `other`, play by play of the same seed, season by season.
pub fn compare(one: &Outcome, other: &Outcome) -> Vec<Difference> {
    let seasons = one.seasons.len().min(other.seasons.len());
    (0..seasons)
        .map(|season| {
            let band = |pick: fn(&Season) -> f64| {
                let pairs = one.plays.iter().zip(&other.plays);
                Band::of(pairs.map(|(one, other)| pick(&one[season]) - pick(&other[season])))
            };
            Difference {
                chosen: band(|each| each.chosen),
                inbreeding: band(|each| each.inbreeding),
            }
        })
        .collect()
}

impl Band {
    fn of(values: impl Iterator<Item = f64>) -> Self {
        let mut values: Vec<f64> = values.collect();
        values.sort_by(f64::total_cmp);
        let count = values.len().max(1) as f64;
        let mean = values.iter().sum::<f64>() / count;
        let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
        let error = (squares / (count - 1.0).max(1.0) / count).sqrt();
        let at = |share: f64| {
            let place = share * (count - 1.0);
            let below = place.floor() as usize;
            let get = |place: usize| {
                values
                    .get(place)
                    .or(values.last())
                    .copied()
                    .unwrap_or(f64::NAN)
            };
            get(below) + place.fract() * (get(below + 1) - get(below))
        };
        Self {
            mean,
            low: at(0.1),
            high: at(0.9),
            error,
        }
    }
}

/// Wilson's interval of 95 % for a share.
fn wilson(kept: usize, of: usize) -> (f64, f64) {
    const Z: f64 = 1.959964;
    let n = of.max(1) as f64;
    let p = kept as f64 / n;
    let middle = (p + Z * Z / (2.0 * n)) / (1.0 + Z * Z / n);
    let half = Z / (1.0 + Z * Z / n) * (p * (1.0 - p) / n + Z * Z / (4.0 * n * n)).sqrt();
    ((middle - half).max(0.0), (middle + half).min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Newcombe (1998), Stat. Med. 17:857-872, Table I: Wilson's interval for 81 of 263, 15 of 148 and 0 of 20.
    #[test]
    fn wilson_intervals_of_published_cases() {
        for (kept, of, low, high) in [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0, 0.1611),
        ] {
            let found = wilson(kept, of);
            assert!(
                (found.0 - low).abs() < 5e-5 && (found.1 - high).abs() < 5e-5,
                "{found:?}"
            );
        }
    }
}
