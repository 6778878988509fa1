//! Whether groups of seed germinate alike over time.
//!
//! Where all groups were looked at on the same days, the log-rank test (Mantel 1966, Cancer Chemotherapy Reports
//! 50:163–170). Otherwise its scores for seeds that came up between two looks of their own (Sun 1996, Statistics in
//! Medicine 15:1387–1395), with the variance of a permutation (Fay & Shaw 2010, Journal of Statistical Software 36(2)).

use super::Emergence;
use super::curve::Grid;
use crate::contingency::ChiSquare;
use faer::linalg::solvers::Solve as _;
use faer::{Mat, Side};

/// What a comparison over time found.
#[derive(Debug, Clone, PartialEq)]
pub struct LogRank {
    /// For each group, germinations beyond those expected were all alike: more and earlier is above 0.
    pub excess: Vec<f64>,
    /// The variance of each group's excess.
    pub variance: Vec<f64>,
    /// The test.
    pub test: ChiSquare,
    /// Whether all groups were looked at on the same days.
    pub same_days: bool,
}

/// Compares groups of seed. `None` unless two have seed and something germinated.
pub fn log_rank(groups: &[Vec<Emergence>]) -> Option<LogRank> {
    let of_group: Vec<usize> = groups
        .iter()
        .enumerate()
        .flat_map(|(nth, group)| group.iter().filter(|each| each.seeds > 0).map(move |_| nth))
        .collect();
    let grid = Grid::of(&groups.concat())?;
    let same_days = grid
        .groups
        .iter()
        .all(|group| group.waiting || group.last == group.first + 1);
    let (excess, covariance) = if same_days {
        mantel(&grid, &of_group, groups.len())
    } else {
        permuted(&grid, &of_group, groups.len())?
    };
    let with_seed: Vec<usize> = (0..groups.len())
        .filter(|nth| covariance[(*nth, *nth)] > 1e-12)
        .collect();
    // The excesses sum to nothing: all but one tell it all.
    let (_, free) = with_seed.split_last()?;
    if free.is_empty() {
        return None;
    }
    let part = Mat::from_fn(free.len(), free.len(), |row, column| {
        covariance[(free[row], free[column])]
    });
    let wanted = Mat::from_fn(free.len(), 1, |row, _| excess[free[row]]);
    let solved = part.llt(Side::Lower).ok()?.solve(&wanted);
    let statistic = (wanted.transpose() * &solved)[(0, 0)];
    Some(LogRank {
        variance: (0..groups.len())
            .map(|nth| covariance[(nth, nth)])
            .collect(),
        excess,
        test: ChiSquare::of(statistic, free.len())?,
        same_days,
    })
}

/// Observed less expected at each look, with the variance of drawing without putting back.
fn mantel(grid: &Grid, of_group: &[usize], count: usize) -> (Vec<f64>, Mat<f64>) {
    let mut excess = vec![0.0; count];
    let mut covariance = Mat::zeros(count, count);
    for stretch in 0..grid.spans.len() {
        let (mut up, mut waiting) = (vec![0.0; count], vec![0.0; count]);
        for (seeds, &group) in grid.groups.iter().zip(of_group) {
            if seeds.first == stretch && !seeds.waiting {
                up[group] += seeds.seeds;
            }
            // Seed not up by its last look is followed only as far as it was looked at.
            if seeds.first > stretch || (seeds.first == stretch && !seeds.waiting) {
                waiting[group] += seeds.seeds;
            }
        }
        let (all_up, all): (f64, f64) = (up.iter().sum(), waiting.iter().sum());
        if all_up == 0.0 {
            continue;
        }
        for one in 0..count {
            excess[one] += up[one] - all_up * waiting[one] / all;
            if all < 2.0 {
                continue;
            }
            let factor = all_up * (all - all_up) / (all - 1.0);
            for other in 0..count {
                let same = if one == other {
                    waiting[one] / all
                } else {
                    0.0
                };
                covariance[(one, other)] +=
                    factor * (same - waiting[one] * waiting[other] / all / all);
            }
        }
    }
    (excess, covariance)
}

/// Sun's scores summed by group, with their covariance were the groups dealt anew.
fn permuted(grid: &Grid, of_group: &[usize], count: usize) -> Option<(Vec<f64>, Mat<f64>)> {
    let masses = grid.masses();
    // Before each stretch: the share not yet up, and the cumulated hazard.
    let (mut left, mut hazard) = (vec![1.0], vec![0.0]);
    for mass in &masses {
        let (now, so_far) = (left[left.len() - 1], hazard[hazard.len() - 1]);
        let risk: f64 = if now > 1e-12 {
            (mass / now).min(1.0)
        } else {
            0.0
        };
        left.push((now - mass).max(0.0));
        hazard.push(so_far + risk);
    }
    let scored: Vec<(f64, f64)> = grid
        .groups
        .iter()
        .map(|group| {
            let (now, so_far) = (left[group.first], hazard[group.first]);
            let (later, beyond) = if group.waiting {
                (0.0, 0.0)
            } else {
                (left[group.last], hazard[group.last])
            };
            ((later * beyond - now * so_far) / (now - later), group.seeds)
        })
        .collect();
    if scored.iter().any(|(score, _)| !score.is_finite()) {
        return None;
    }
    let all: f64 = scored.iter().map(|each| each.1).sum();
    let mean = scored
        .iter()
        .map(|(score, seeds)| score * seeds)
        .sum::<f64>()
        / all;
    let spread = scored
        .iter()
        .map(|(score, seeds)| seeds * (score - mean).powi(2))
        .sum::<f64>()
        / (all - 1.0);
    let (mut excess, mut sizes) = (vec![0.0; count], vec![0.0; count]);
    for ((score, seeds), group) in scored.iter().zip(of_group) {
        excess[*group] += score * seeds;
        sizes[*group] += seeds;
    }
    let covariance = Mat::from_fn(count, count, |one, other| {
        let same = if one == other { sizes[one] } else { 0.0 };
        spread * (same - sizes[one] * sizes[other] / all)
    });
    Some((excess, covariance))
}
