//! How well an arrangement compares its entries.

use faer::linalg::solvers::Solve as _;
use faer::{Mat, Side};

/// Canonical efficiency factors below this are none: the entries fall apart into groups that can't be compared.
const NOTHING: f64 = 1e-7;

/// What of the ground is taken out before entries are compared: every plot belongs to one group or to several (its
/// block; its row and its column).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Nuisance {
    /// The groups of each plot, from 0.
    pub groups: Vec<Vec<usize>>,
    /// How many groups there are.
    pub count: usize,
    /// True where the groups are taken as random effects with the variance of a plot, false where as fixed effects.
    pub random: bool,
}

impl Nuisance {
    /// One fixed group for each plot, such as its block.
    pub fn blocks(of_plot: &[usize]) -> Self {
        Self {
            groups: of_plot.iter().map(|&block| vec![block]).collect(),
            count: of_plot.iter().max().map_or(0, |&most| most + 1),
            random: false,
        }
    }

    /// (Z'Z + λI)⁻, λ being 1 for random groups and 0 for fixed ones, and its rank.
    pub(super) fn inverse(&self) -> (Mat<f64>, usize) {
        let mut square = Mat::<f64>::zeros(self.count, self.count);
        for groups in &self.groups {
            for &one in groups {
                for &other in groups {
                    square[(one, other)] += 1.0;
                }
            }
        }
        if self.random {
            for group in 0..self.count {
                square[(group, group)] += 1.0;
            }
        }
        self.pseudo_inverse_by_parts(&square)
    }

    /// Groups that no plot joins, such as blocks, or the rows and columns of different replicates, are inverted apart.
    fn pseudo_inverse_by_parts(&self, square: &Mat<f64>) -> (Mat<f64>, usize) {
        let mut first: Vec<usize> = (0..self.count).collect();
        fn root(first: &[usize], mut group: usize) -> usize {
            while first[group] != group {
                group = first[group];
            }
            group
        }
        for groups in &self.groups {
            for pair in groups.windows(2) {
                let (one, other) = (root(&first, pair[0]), root(&first, pair[1]));
                first[one.max(other)] = one.min(other);
            }
        }
        let mut parts: Vec<Vec<usize>> = vec![Vec::new(); self.count];
        for group in 0..self.count {
            parts[root(&first, group)].push(group);
        }
        let mut inverse = Mat::<f64>::zeros(self.count, self.count);
        let mut rank = 0;
        for part in parts.into_iter().filter(|part| !part.is_empty()) {
            let size = part.len();
            let own = Mat::from_fn(size, size, |row, column| square[(part[row], part[column])]);
            let (of_part, its_rank) = pseudo_inverse(&own);
            for (row, &i) in part.iter().enumerate() {
                for (column, &j) in part.iter().enumerate() {
                    inverse[(i, j)] = of_part[(row, column)];
                }
            }
            rank += its_rank;
        }
        (inverse, rank)
    }
}

/// The Moore–Penrose inverse of a symmetric matrix without negative eigenvalues, and its rank.
pub(super) fn pseudo_inverse(square: &Mat<f64>) -> (Mat<f64>, usize) {
    let size = square.nrows();
    let Ok(eigen) = square.self_adjoint_eigen(Side::Lower) else {
        return (Mat::zeros(size, size), 0);
    };
    let values: Vec<f64> = (0..size).map(|place| eigen.S()[place]).collect();
    let least = values.iter().copied().fold(0.0, f64::max) * 1e-9;
    let rank = values.iter().filter(|&&value| value > least).count();
    let scaled = Mat::from_fn(size, size, |row, column| {
        let value = values[column];
        if value > least {
            eigen.U()[(row, column)] / value
        } else {
            0.0
        }
    });
    (&scaled * eigen.U().transpose(), rank)
}

/// How well an arrangement compares its entries, all pairs counted alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Efficiency {
    /// The canonical efficiency factors, one fewer than the entries, least first: the information on each of as many
    /// independent comparisons, as a share of what the same plots would give on even ground.
    pub factors: Vec<f64>,
    /// The mean variance of a difference between two entries, in variances of a plot; `None` if some differences
    /// can't be told at all.
    pub mean_variance: Option<f64>,
    /// The mean variance of a difference on even ground with the same plots, as a share of `mean_variance`. For
    /// entries that stand equally often it is the harmonic mean of `factors`.
    pub average: Option<f64>,
    /// What `average` of no arrangement with as many plots of each entry on this ground can exceed.
    pub bound: f64,
}

impl Efficiency {
    /// Of these entries, one a plot and numbered from 0, on this ground. `replicate` tells the replicate of each plot
    /// where each entry stands once in each.
    ///
    /// `None` where plots and groups are not equally many, there are fewer than two entries, or one has no plot.
    pub fn of(entries: &[usize], nuisance: &Nuisance, replicate: Option<&[usize]>) -> Option<Self> {
        let count = entries.iter().max().map_or(0, |&most| most + 1);
        if count < 2 || nuisance.groups.len() != entries.len() {
            return None;
        }
        let mut times = vec![0.0_f64; count];
        for &entry in entries {
            times[entry] += 1.0;
        }
        if times.contains(&0.0) {
            return None;
        }
        let (inverse, rank) = nuisance.inverse();
        let information = information(entries, &times, nuisance, &inverse);
        let roots: Vec<f64> = times.iter().map(|times| times.sqrt()).collect();
        let even: f64 = 2.0 * times.iter().map(|times| times.recip()).sum::<f64>() / count as f64;
        let factors = factors(&information, &times, &roots);
        let mean_variance = (factors[0] > NOTHING)
            .then(|| mean_variance(&information, nuisance.random))
            .flatten();
        let bound = bound(&times, nuisance, &inverse, rank, replicate);
        Some(Self {
            factors,
            mean_variance,
            average: mean_variance.map(|found| even / found),
            bound,
        })
    }
}

/// The variance of the difference between any two entries, in variances of a plot. `None` where [`Efficiency::of`] is,
/// or some can't be compared.
pub fn differences(entries: &[usize], nuisance: &Nuisance) -> Option<Mat<f64>> {
    let efficiency = Efficiency::of(entries, nuisance, None)?;
    efficiency.mean_variance?;
    let count = efficiency.factors.len() + 1;
    let mut times = vec![0.0_f64; count];
    for &entry in entries {
        times[entry] += 1.0;
    }
    let (inverse, _) = nuisance.inverse();
    let (variances, _) = pseudo_inverse(&information(entries, &times, nuisance, &inverse));
    Some(Mat::from_fn(count, count, |one, other| {
        variances[(one, one)] + variances[(other, other)] - 2.0 * variances[(one, other)]
    }))
}

/// C = X'(I - Z (Z'Z + λI)⁻ Z')X, the information on entries.
fn information(
    entries: &[usize],
    times: &[f64],
    nuisance: &Nuisance,
    inverse: &Mat<f64>,
) -> Mat<f64> {
    let count = times.len();
    let mut incidence = Mat::<f64>::zeros(count, nuisance.count);
    for (&entry, groups) in entries.iter().zip(&nuisance.groups) {
        for &group in groups {
            incidence[(entry, group)] += 1.0;
        }
    }
    let taken = &incidence * inverse * incidence.transpose();
    Mat::from_fn(count, count, |row, column| {
        let own = if row == column { times[row] } else { 0.0 };
        own - f64::midpoint(taken[(row, column)], taken[(column, row)])
    })
}

/// Eigenvalues of R^-½ C R^-½ after the mean is taken out, the one of the mean left out.
fn factors(information: &Mat<f64>, times: &[f64], roots: &[f64]) -> Vec<f64> {
    let count = times.len();
    let sums: Vec<f64> = (0..count)
        .map(|row| (0..count).map(|column| information[(row, column)]).sum())
        .collect();
    let whole: f64 = sums.iter().sum();
    let plots: f64 = times.iter().sum();
    let scaled = Mat::from_fn(count, count, |row, column| {
        // With random groups the mean is still in: it is fitted, too.
        let mean = if whole > 1e-9 * plots {
            sums[row] * sums[column] / whole
        } else {
            0.0
        };
        (information[(row, column)] - mean) / (roots[row] * roots[column])
    });
    let Ok(eigen) = scaled.self_adjoint_eigen(Side::Lower) else {
        return vec![0.0; count - 1];
    };
    let mut values: Vec<f64> = (0..count).map(|place| eigen.S()[place]).collect();
    values.sort_by(f64::total_cmp);
    values.remove(0);
    values
}

/// Mean variance of a difference over all pairs of entries that can all be compared. With fixed groups C knows nothing
/// of the mean of all; it is given some knowledge, which no difference feels.
fn mean_variance(information: &Mat<f64>, random: bool) -> Option<f64> {
    let count = information.nrows();
    let trace: f64 = (0..count).map(|entry| information[(entry, entry)]).sum();
    let mean = if random {
        0.0
    } else {
        trace / (count * count) as f64
    };
    let whole = Mat::from_fn(count, count, |row, column| {
        information[(row, column)] + mean
    });
    let factor = whole.llt(Side::Lower).ok()?;
    let inverse = factor.solve(&Mat::<f64>::identity(count, count));
    let trace: f64 = (0..count).map(|entry| inverse[(entry, entry)]).sum();
    let sum: f64 = (0..count)
        .map(|column| inverse.col(column).iter().sum::<f64>())
        .sum();
    Some(2.0 * (trace - sum / count as f64) / (count - 1) as f64)
}

/// With R^-½ C R^-½ = I - Q, the variances are those on even ground plus a part that grows with Q/(I - Q). Q has no more
/// positive eigenvalues q than the ground has degrees of freedom m, and their sum is at least a figure S that doesn't
/// depend on the arrangement; the part is least if they are shared out evenly, or, where entries stand unequally often,
/// so that w/(1 - q)² is the same for all, w being the m smallest of one over the times an entry stands.
/// For resolvable blocks this is U of John & Williams (1995), and the smaller (v-1-s+1)/(v-1) where it is the tighter.
pub(super) fn bound(
    times: &[f64],
    nuisance: &Nuisance,
    inverse: &Mat<f64>,
    rank: usize,
    replicate: Option<&[usize]>,
) -> f64 {
    let count = times.len();
    let even: f64 = times.iter().map(|times| times.recip()).sum::<f64>() / count as f64;
    let weight = |one: usize, other: usize| -> f64 {
        let pairs = nuisance.groups[one]
            .iter()
            .flat_map(|&a| nuisance.groups[other].iter().map(move |&b| (a, b)));
        pairs.map(|place| inverse[place]).sum()
    };
    let plots = nuisance.groups.len();
    let own = (0..plots)
        .map(|plot| weight(plot, plot))
        .fold(f64::INFINITY, f64::min);
    let mut across = f64::INFINITY;
    if times.iter().any(|&times| times > 1.0) {
        for one in 0..plots {
            for other in 0..one {
                if replicate.is_none_or(|replicate| replicate[one] != replicate[other]) {
                    across = across.min(weight(one, other));
                }
            }
        }
    } else {
        across = 0.0;
    }
    let sum: f64 = times
        .iter()
        .map(|&times| own + (times - 1.0) * across)
        .sum::<f64>()
        - 1.0;
    let lost = replicate.map_or(1, |replicate| {
        replicate.iter().max().map_or(1, |&most| most + 1)
    });
    let free = rank
        .saturating_sub(if nuisance.random { 0 } else { lost })
        .min(count - 1);
    if free == 0 || sum <= 0.0 {
        return 1.0;
    }
    let mut weights: Vec<f64> = times.iter().map(|times| times.recip()).collect();
    weights.sort_by(f64::total_cmp);
    weights.truncate(free);
    let more = least_rise(&weights, sum.min(free as f64 - 1e-9));
    // The mean variance is 2/(v-1) times what follows; on even ground that is `even * (count - 1)`.
    let on_even_ground = even * (count - 1) as f64;
    on_even_ground / (on_even_ground + more)
}

/// The least Σ w q/(1 - q) for q from 0 to 1 that sum to `sum`.
fn least_rise(weights: &[f64], sum: f64) -> f64 {
    let share = |level: f64, weight: f64| (1.0 - (weight * level).sqrt()).max(0.0);
    let total = |level: f64| -> f64 { weights.iter().map(|&weight| share(level, weight)).sum() };
    let (mut low, mut high) = (0.0, 1.0 / weights[0]);
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if total(middle) > sum {
            low = middle;
        } else {
            high = middle;
        }
    }
    weights
        .iter()
        .map(|&weight| {
            let q = share(high, weight);
            weight * q / (1.0 - q)
        })
        .sum()
}
