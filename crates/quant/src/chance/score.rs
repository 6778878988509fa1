//! How good chances were that were told beforehand: the Brier score, taken apart.

/// A chance that was told, and whether what it was told of came.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SettledChance {
    /// The chance, 0 to 1.
    pub chance: f64,
    /// Whether it came.
    pub came: bool,
}

/// Chances of about the same size, and how often what they were told of came.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Group {
    /// How many.
    pub count: usize,
    /// Their mean.
    pub chance: f64,
    /// The share that came.
    pub came: f64,
}

/// The Brier score of some chances (Brier 1950, Mon. Weather Rev. 78:1-3, for one event: half of the score over both
/// outcomes) and its parts (Murphy 1973, J. Appl. Meteorol. 12:595-600).
///
/// score = reliability - resolution + uncertainty + within, the last being what chances differ by within a group: 0
/// where each group holds one chance (Stephenson, Coelho & Jolliffe 2008, Weather Forecast. 23:752-757).
#[derive(Debug, Clone, PartialEq)]
pub struct BrierScore {
    /// Mean square of the difference between the chance told and 1 or 0. 0 is best; always to say 1/2 scores 1/4.
    pub score: f64,
    /// How far chances are from the shares that came: 0 if they are as true as they say.
    pub reliability: f64,
    /// How well chances tell cases apart that differ.
    pub resolution: f64,
    /// What there is to tell: the score of one who always says how often it came.
    pub uncertainty: f64,
    /// What grouping leaves over.
    pub within: f64,
    /// The groups, from the least chance to the greatest, without empty ones.
    pub groups: Vec<Group>,
}

impl BrierScore {
    /// Of chances, grouped into this many equal parts of 0 to 1. `None` without any, or where one is no chance.
    pub fn of(told: &[SettledChance], groups: usize) -> Option<Self> {
        let sound = told.iter().all(|each| (0.0..=1.0).contains(&each.chance));
        if told.is_empty() || !sound || groups == 0 {
            return None;
        }
        let outcome = |each: &SettledChance| f64::from(u8::from(each.came));
        let all = told.len() as f64;
        let mean = told.iter().map(outcome).sum::<f64>() / all;
        let place = |each: &SettledChance| ((each.chance * groups as f64) as usize).min(groups - 1);
        let mut parts: Vec<Vec<SettledChance>> = vec![Vec::new(); groups];
        for each in told {
            parts[place(each)].push(*each);
        }
        let mut found = Self {
            score: told
                .iter()
                .map(|each| (each.chance - outcome(each)).powi(2))
                .sum::<f64>()
                / all,
            reliability: 0.0,
            resolution: 0.0,
            uncertainty: mean * (1.0 - mean),
            within: 0.0,
            groups: Vec::new(),
        };
        for part in parts.iter().filter(|part| !part.is_empty()) {
            let count = part.len() as f64;
            let chance = part.iter().map(|each| each.chance).sum::<f64>() / count;
            let came = part.iter().map(outcome).sum::<f64>() / count;
            found.reliability += count * (chance - came).powi(2) / all;
            found.resolution += count * (came - mean).powi(2) / all;
            found.within += part
                .iter()
                .map(|each| {
                    let off = each.chance - chance;
                    off * off - 2.0 * off * (outcome(each) - came)
                })
                .sum::<f64>()
                / all;
            found.groups.push(Group {
                count: part.len(),
                chance,
                came,
            });
        }
        Some(found)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(pairs: &[(f64, bool)]) -> Vec<SettledChance> {
        pairs
            .iter()
            .map(|&(chance, came)| SettledChance { chance, came })
            .collect()
    }

    /// scikit-learn (user guide and docstring of `sklearn.metrics.brier_score_loss`):
    /// `brier_score_loss([0, 1, 1, 0], [0.1, 0.9, 0.8, 0.3])` is 0.0375. From memory; (0.01 + 0.01 + 0.04 + 0.09) / 4.
    #[test]
    fn the_score_is_that_of_a_general_library() {
        let found = BrierScore::of(
            &told(&[(0.1, false), (0.9, true), (0.8, true), (0.3, false)]),
            10,
        )
        .expect("a score");
        assert!((found.score - 0.0375).abs() < 1e-12);
    }

    /// By hand from the definitions of Murphy (1973): of five told 0.2 one came, of five told 0.8 three. Half of the ten
    /// would be 0.4: REL = (5 × 0 + 5 × 0.04) / 10 = 0.02, RES = (5 × 0.04 + 5 × 0.04) / 10 = 0.04, UNC = 0.24; the
    /// score (4 × 0.04 + 0.64 + 3 × 0.04 + 2 × 0.64) / 10 = 0.22.
    #[test]
    fn the_parts_are_those_of_murphy() {
        let mut pairs = vec![(0.2, false); 4];
        pairs.push((0.2, true));
        pairs.extend([(0.8, true); 3]);
        pairs.extend([(0.8, false); 2]);
        let found = BrierScore::of(&told(&pairs), 10).expect("a score");
        let expected = [
            (found.score, 0.22),
            (found.reliability, 0.02),
            (found.resolution, 0.04),
            (found.uncertainty, 0.24),
            (found.within, 0.0),
        ];
        for (value, by_hand) in expected {
            assert!((value - by_hand).abs() < 1e-12, "{value} is not {by_hand}");
        }
        assert_eq!(found.groups.len(), 2);
    }

    /// Forecasts of precipitation in twelve classes of chance (Wilks 1995, *Statistical Methods in the Atmospheric Sciences*,
    /// Table 7.3, p. 246; the figures as the examples and the code of the R package `verification` carry them): how often
    /// each was told, of 12,402, and how often it rained. Counts are the shares rounded. The parts of Murphy (1973) were
    /// worked out from these counts in exact fractions with Python 3.11 (`fractions.Fraction`), without this code.
    #[test]
    fn the_parts_of_a_published_table_are_those_of_exact_arithmetic() {
        let chances = [0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0];
        let times = [
            5100, 832, 2273, 1223, 764, 454, 376, 341, 304, 273, 211, 252,
        ];
        let came = [31, 16, 134, 183, 212, 171, 192, 200, 220, 213, 197, 235];
        let mut pairs = Vec::new();
        for ((chance, times), came) in chances.into_iter().zip(times).zip(came) {
            pairs.extend((0..times).map(|nth| (chance, nth < came)));
        }
        let found = BrierScore::of(&told(&pairs), 20).expect("a score");
        assert_eq!(found.groups.len(), 12);
        let expected = [
            (found.score, 0.073_488_672_095_460_77),
            (found.reliability, 0.000_831_321_151_396_455_9),
            (found.resolution, 0.062_810_364_864_562_08),
            (found.uncertainty, 0.135_467_715_808_626_4),
            (found.within, 0.0),
        ];
        for (value, exact) in expected {
            assert!((value - exact).abs() < 1e-12, "{value} is not {exact}");
        }
    }

    /// However chances are grouped, the parts sum to the score.
    #[test]
    fn the_parts_sum_to_the_score() {
        let mut state = 9_u64;
        let mut draw = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            (state >> 33) as f64 / f64::from(1_u32 << 31)
        };
        for groups in 1..12 {
            let pairs: Vec<_> = (0..60).map(|_| (draw(), draw() < 0.4)).collect();
            let found = BrierScore::of(&told(&pairs), groups).expect("a score");
            let sum = found.reliability - found.resolution + found.uncertainty + found.within;
            assert!((sum - found.score).abs() < 1e-12, "{groups} groups");
        }
        assert_eq!(BrierScore::of(&[], 10), None);
        assert_eq!(BrierScore::of(&told(&[(1.5, true)]), 10), None);
    }
}
