//! Joint regression where cells are missing: each entry a line over the environments' levels, and these fitted along.

use super::{Cell, additive};

/// Rounds at most.
const ROUNDS: usize = 100_000;

/// Lines of the entries over the levels of the environments.
#[derive(Clone, Debug, PartialEq)]
pub struct Joint {
    /// The value of each entry at the mean level.
    pub means: Vec<f64>,
    /// The slope of each entry; their mean is 1.
    pub slopes: Vec<f64>,
    /// The level of each environment; their mean is 0.
    pub levels: Vec<f64>,
    /// Residual sum of squares.
    pub residual: f64,
}

/// Fits value = mean + slope × level by least squares, lines and levels in turn (Digby 1979), to cells of which some
/// are missing. Means over the environments an entry happened to stand in would give levels and slopes that lie.
///
/// `None` where [`additive`] gives none, an entry stands in fewer than two environments, or it doesn't settle.
pub fn joint_regression(cells: &[Cell]) -> Option<Joint> {
    let start = additive(cells)?;
    let (entries, environments) = (start.means.len(), start.environments.len());
    let mut levels = start.environments;
    let (mut means, mut slopes) = (start.means, vec![1.0; entries]);
    let mut last = f64::INFINITY;
    for _ in 0..ROUNDS {
        center(&mut levels);
        for entry in 0..entries {
            let own = || cells.iter().filter(move |cell| cell.entry == entry);
            let count = own().count() as f64;
            let level = own().map(|cell| levels[cell.environment]).sum::<f64>() / count;
            let mean = own().map(|cell| cell.value).sum::<f64>() / count;
            let spread: f64 = own()
                .map(|cell| (levels[cell.environment] - level).powi(2))
                .sum();
            if spread <= 0.0 {
                return None;
            }
            let both: f64 = own()
                .map(|cell| (levels[cell.environment] - level) * (cell.value - mean))
                .sum();
            slopes[entry] = both / spread;
            means[entry] = mean - slopes[entry] * level;
        }
        let scale = slopes.iter().sum::<f64>() / entries as f64;
        if scale.abs() < 1e-9 {
            return None;
        }
        for slope in &mut slopes {
            *slope /= scale;
        }
        for level in &mut levels {
            *level *= scale;
        }
        let residual: f64 = cells
            .iter()
            .map(|cell| {
                (cell.value - means[cell.entry] - slopes[cell.entry] * levels[cell.environment])
                    .powi(2)
            })
            .sum();
        if last - residual <= 1e-13 * residual.max(f64::MIN_POSITIVE) {
            return Some(Joint {
                means,
                slopes,
                levels,
                residual,
            });
        }
        last = residual;
        let (mut above, mut below) = (vec![0.0; environments], vec![0.0; environments]);
        for cell in cells {
            let slope = slopes[cell.entry];
            above[cell.environment] += slope * (cell.value - means[cell.entry]);
            below[cell.environment] += slope * slope;
        }
        for ((level, above), below) in levels.iter_mut().zip(above).zip(below) {
            *level = above / below;
        }
    }
    None
}

fn center(levels: &mut [f64]) {
    let mean = levels.iter().sum::<f64>() / levels.len() as f64;
    for level in levels {
        *level -= mean;
    }
}
