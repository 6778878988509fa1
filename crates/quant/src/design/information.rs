//! What exchanging the entries of two plots does to the mean variance of a difference, without inverting anew.
//!
//! C = X'(I - T)X with T = Z G Z'. Exchanging entry x on one plot against y on another turns C into
//! `C - (d h' + h d')`, `d = e_y - e_x`, `h = Σ ± H_g + ½ c'Gc d`, H = X'Z G and c the difference of the two plots'
//! rows of Z. With M = C⁻¹, and M, M² multiplied out with H, the criterion after any exchange costs a few look-ups.

use super::efficiency::Nuisance;
use faer::linalg::matmul::matmul;
use faer::linalg::solvers::Solve as _;
use faer::{Accum, Mat, Par, Side};
use std::ops::Range;

/// Stiffens C a little, as a share of the plots of an entry, so that arrangements that fall apart have a criterion,
/// too: a very high one.
const STIFF: f64 = 1e-5;
/// Exchanges made at least before everything is worked out anew, against rounding; with many entries, which take long
/// to work out, a quarter of their number.
const ANEW: u32 = 60;
/// How much faster multiplying whole matrices is than going through them.
const WHOLE: f64 = 8.0;

/// An arrangement and what is known of it.
pub(super) struct Information<'a> {
    nuisance: &'a Nuisance,
    ground: &'a Mat<f64>,
    pub(super) entries: Vec<usize>,
    count: usize,
    /// Stretches of groups that are met together in an exchange: only within them is H'MH needed.
    clusters: &'a [Range<usize>],
    /// M and M², entries × entries.
    m: [Mat<f64>; 2],
    /// H, entries × groups.
    h: Mat<f64>,
    /// MH and M²H.
    mh: [Mat<f64>; 2],
    /// H'MH and H'M²H.
    hmh: [Mat<f64>; 2],
    /// M1 and H'M1.
    ones: Vec<f64>,
    h_ones: Vec<f64>,
    since: u32,
    /// tr M - 1'M1/v: half (v - 1) times the mean variance of a difference.
    pub(super) value: f64,
}

/// The groups that an exchange touches, with their signs in c: no plot belongs to more than three.
#[derive(Clone, Copy)]
struct Signs {
    list: [(usize, f64); 6],
    count: usize,
}

impl Signs {
    fn of(one: &[usize], other: &[usize]) -> Self {
        let mut signs = Self {
            list: [(0, 0.0); 6],
            count: 0,
        };
        for (&here, &there) in one.iter().zip(other) {
            if here != there && signs.count < 6 {
                signs.list[signs.count] = (here, 1.0);
                signs.list[signs.count + 1] = (there, -1.0);
                signs.count += 2;
            }
        }
        signs
    }

    fn iter(&self) -> std::slice::Iter<'_, (usize, f64)> {
        self.list[..self.count].iter()
    }
}

/// An exchange looked at: the sums it is made from.
struct Exchange {
    signs: Signs,
    /// ½ c'Gc.
    half: f64,
    /// U'MU and U'M²U for U = (d, h): dd, dh, hh.
    square: [[f64; 3]; 2],
    /// 1'MU.
    ones: [f64; 2],
}

impl Exchange {
    /// The determinant of D⁻¹ + U'MU, which is negative so long as the result can be compared.
    fn determinant(&self) -> f64 {
        let [dd, dh, hh] = self.square[0];
        dd * hh - (dh - 1.0) * (dh - 1.0)
    }

    /// (D⁻¹ + U'MU)⁻¹ as its corners and its middle.
    fn core(&self) -> [f64; 3] {
        let [dd, dh, hh] = self.square[0];
        let determinant = self.determinant();
        [hh / determinant, (1.0 - dh) / determinant, dd / determinant]
    }

    fn rise(&self, count: f64) -> f64 {
        if self.determinant() > -1e-9 {
            return f64::INFINITY;
        }
        let [a, b, c] = self.core();
        let of = |[first, middle, last]: [f64; 3]| a * first + 2.0 * b * middle + c * last;
        let [one, other] = self.ones;
        of([one * one, one * other, other * other]) / count - of(self.square[1])
    }
}

impl<'a> Information<'a> {
    pub(super) fn new(
        nuisance: &'a Nuisance,
        ground: &'a Mat<f64>,
        entries: Vec<usize>,
        count: usize,
        clusters: &'a [Range<usize>],
    ) -> Option<Self> {
        let empty = || [Mat::zeros(0, 0), Mat::zeros(0, 0)];
        let mut made = Self {
            nuisance,
            ground,
            entries,
            count,
            clusters,
            m: empty(),
            h: Mat::zeros(0, 0),
            mh: empty(),
            hmh: empty(),
            ones: Vec::new(),
            h_ones: Vec::new(),
            since: 0,
            value: f64::INFINITY,
        };
        made.work_out().then_some(made)
    }

    /// Puts another arrangement in place.
    pub(super) fn restart(&mut self, entries: &[usize]) -> bool {
        self.entries.clear();
        self.entries.extend_from_slice(entries);
        self.work_out()
    }

    fn work_out(&mut self) -> bool {
        let (count, groups) = (self.count, self.nuisance.count);
        let mut incidence = Mat::<f64>::zeros(count, groups);
        let mut times = vec![0.0; count];
        for (&entry, of_plot) in self.entries.iter().zip(&self.nuisance.groups) {
            times[entry] += 1.0;
            for &group in of_plot {
                incidence[(entry, group)] += 1.0;
            }
        }
        self.h = &incidence * self.ground;
        let taken = &self.h * incidence.transpose();
        let usual = self.entries.len() as f64 / count as f64;
        // With fixed groups C knows nothing of the mean of all; it is given some knowledge, which no difference feels.
        let mean = if self.nuisance.random {
            0.0
        } else {
            usual / count as f64
        };
        let information = Mat::from_fn(count, count, |row, column| {
            let own = if row == column {
                times[row] + STIFF * usual
            } else {
                0.0
            };
            own + mean - taken[(row, column)]
        });
        let Ok(factor) = information.llt(Side::Lower) else {
            return false;
        };
        let m = factor.solve(&Mat::<f64>::identity(count, count));
        let squared = &m * &m;
        self.mh = [&m * &self.h, &squared * &self.h];
        for power in 0..2 {
            let mut within = Mat::<f64>::zeros(groups, groups);
            for cluster in self.clusters {
                let (start, size) = (cluster.start, cluster.len());
                matmul(
                    within.as_mut().submatrix_mut(start, start, size, size),
                    Accum::Replace,
                    self.h.as_ref().subcols(start, size).transpose(),
                    self.mh[power].as_ref().subcols(start, size),
                    1.0,
                    Par::Seq,
                );
            }
            self.hmh[power] = within;
        }
        self.ones = (0..count)
            .map(|row| (0..count).map(|column| m[(row, column)]).sum())
            .collect();
        self.h_ones = (0..groups)
            .map(|group| {
                (0..count)
                    .map(|entry| self.h[(entry, group)] * self.ones[entry])
                    .sum()
            })
            .collect();
        let trace: f64 = (0..count).map(|entry| m[(entry, entry)]).sum();
        self.value = trace - self.ones.iter().sum::<f64>() / count as f64;
        self.m = [m, squared];
        self.since = 0;
        true
    }

    /// Multiplications of an exchange that is made, with its share of working everything out anew.
    pub(super) fn work_of_exchange(&self) -> f64 {
        let (entries, groups) = (self.count as f64, self.nuisance.count as f64);
        let kept_up = entries * entries + 2.0 * entries * groups + self.within_clusters();
        4.0 * kept_up + self.work_anew() / f64::from(self.anew_after())
    }

    /// Multiplications of working everything out anew, with what small matrices take however small they are.
    pub(super) fn work_anew(&self) -> f64 {
        let (entries, groups) = (self.count as f64, self.nuisance.count as f64);
        let ground = entries * groups * groups;
        let products = 4.0 * entries.powi(3) + 4.0 * entries.powi(2) * groups + ground;
        20_000.0 + (products + 2.0 * entries * self.within_clusters()) / WHOLE
    }

    fn within_clusters(&self) -> f64 {
        self.clusters
            .iter()
            .map(|cluster| (cluster.len() as f64).powi(2))
            .sum()
    }

    fn anew_after(&self) -> u32 {
        ANEW.max(self.count as u32 / 4)
    }

    /// How much the criterion rises if these plots exchange their entries; infinite if nothing could be compared.
    pub(super) fn rise(&self, one: usize, other: usize) -> f64 {
        self.look(one, other).rise(self.count as f64)
    }

    fn look(&self, one: usize, other: usize) -> Exchange {
        let (x, y) = (self.entries[one], self.entries[other]);
        let groups = &self.nuisance.groups;
        let signs = Signs::of(&groups[one], &groups[other]);
        let twice = |table: &Mat<f64>| -> f64 {
            let mut sum = 0.0;
            for (place, &(group, sign)) in signs.iter().enumerate() {
                sum += table[(group, group)];
                for &(before, its) in signs.iter().take(place) {
                    sum += 2.0 * sign * its * table[(group, before)];
                }
            }
            sum
        };
        let half = 0.5 * twice(self.ground);
        let square = [0, 1].map(|power| {
            let m = &self.m[power];
            let mh = &self.mh[power];
            let dd = m[(x, x)] + m[(y, y)] - 2.0 * m[(x, y)];
            let dg: f64 = signs
                .iter()
                .map(|&(group, sign)| sign * (mh[(y, group)] - mh[(x, group)]))
                .sum();
            let gg = twice(&self.hmh[power]);
            [dd, dg + half * dd, gg + 2.0 * half * dg + half * half * dd]
        });
        let d_ones = self.ones[y] - self.ones[x];
        let g_ones: f64 = signs
            .iter()
            .map(|&(group, sign)| sign * self.h_ones[group])
            .sum();
        Exchange {
            signs,
            half,
            square,
            ones: [d_ones, g_ones + half * d_ones],
        }
    }

    /// Exchanges the entries of two plots.
    pub(super) fn exchange(&mut self, one: usize, other: usize) -> bool {
        let exchange = self.look(one, other);
        let rise = exchange.rise(self.count as f64);
        let (x, y) = (self.entries[one], self.entries[other]);
        self.entries.swap(one, other);
        self.since += 1;
        if self.since >= self.anew_after() || !rise.is_finite() {
            return self.work_out();
        }
        let [a, b, c] = exchange.core();
        let core = Mat::from_fn(2, 2, |row, column| match row + column {
            0 => a,
            1 => b,
            _ => c,
        });
        let (count, groups) = (self.count, self.nuisance.count);
        // MU and M²U, U'MH and U'M²H.
        // H c, through which the groups of other clusters feel the exchange, too.
        let lines = Mat::from_fn(1, count, |_, row| -> f64 {
            let signs = exchange.signs.iter();
            signs
                .map(|&(group, sign)| sign * self.h[(row, group)])
                .sum()
        });
        let mut mu = [Mat::<f64>::zeros(count, 2), Mat::<f64>::zeros(count, 2)];
        let mut uh = [Mat::<f64>::zeros(2, groups), Mat::<f64>::zeros(2, groups)];
        for power in 0..2 {
            let (m, mh) = (&self.m[power], &self.mh[power]);
            let through: Mat<f64> = &lines * mh;
            for row in 0..count {
                let d = m[(row, y)] - m[(row, x)];
                let g: f64 = exchange
                    .signs
                    .iter()
                    .map(|&(group, sign)| sign * mh[(row, group)])
                    .sum();
                mu[power][(row, 0)] = d;
                mu[power][(row, 1)] = g + exchange.half * d;
            }
            for column in 0..groups {
                let d = mh[(y, column)] - mh[(x, column)];
                let g = through[(0, column)];
                uh[power][(0, column)] = d;
                uh[power][(1, column)] = g + exchange.half * d;
            }
        }
        let [dd, dh, hh] = exchange.square[1];
        let middle = Mat::from_fn(2, 2, |row, column| match row + column {
            0 => dd,
            1 => dh,
            _ => hh,
        });
        // M' = M - B K B'; M'² = M² - B₂ K B' - B K B₂' + B K (B'B) K B'; the same with H' on the right.
        let left = &mu[0] * &core;
        let again = &left * &middle * &core - &mu[1] * &core;
        self.m[0] -= &left * mu[0].transpose();
        self.m[1] += &again * mu[0].transpose() - &left * mu[1].transpose();
        self.mh[0] -= &left * &uh[0];
        self.mh[1] += &again * &uh[0] - &left * &uh[1];
        let right = uh[0].transpose() * &core;
        let again = &right * &middle * &core - uh[1].transpose() * &core;
        for (power, left, right, times) in [
            (0, &right, &uh[0], -1.0),
            (1, &again, &uh[0], 1.0),
            (1, &right, &uh[1], -1.0),
        ] {
            for cluster in self.clusters {
                let (start, size) = (cluster.start, cluster.len());
                matmul(
                    self.hmh[power]
                        .as_mut()
                        .submatrix_mut(start, start, size, size),
                    Accum::Add,
                    left.as_ref().subrows(start, size),
                    right.as_ref().subcols(start, size),
                    times,
                    Par::Seq,
                );
            }
        }
        let [one, other] = exchange.ones;
        let along = [a * one + b * other, b * one + c * other];
        for (row, sum) in self.ones.iter_mut().enumerate() {
            *sum -= mu[0][(row, 0)] * along[0] + mu[0][(row, 1)] * along[1];
        }
        for (group, sum) in self.h_ones.iter_mut().enumerate() {
            *sum -= uh[0][(0, group)] * along[0] + uh[0][(1, group)] * along[1];
        }
        self.move_lines(exchange.signs, x, y);
        self.value += rise;
        true
    }

    /// Turns H into H + d γ', γ = G c, in all that is multiplied out with it.
    fn move_lines(&mut self, signs: Signs, x: usize, y: usize) {
        let (count, groups) = (self.count, self.nuisance.count);
        let gamma: Vec<f64> = (0..groups)
            .map(|group| {
                signs
                    .iter()
                    .map(|&(other, sign)| sign * self.ground[(group, other)])
                    .sum()
            })
            .collect();
        for power in 0..2 {
            let (m, mh, hmh) = (&self.m[power], &mut self.mh[power], &mut self.hmh[power]);
            let dmh: Vec<f64> = (0..groups)
                .map(|group| mh[(y, group)] - mh[(x, group)])
                .collect();
            let dmd = m[(x, x)] + m[(y, y)] - 2.0 * m[(x, y)];
            for cluster in self.clusters {
                for column in cluster.clone() {
                    for row in cluster.clone() {
                        hmh[(row, column)] += gamma[row] * dmh[column]
                            + dmh[row] * gamma[column]
                            + gamma[row] * gamma[column] * dmd;
                    }
                }
            }
            for column in 0..groups {
                if gamma[column] != 0.0 {
                    for row in 0..count {
                        mh[(row, column)] += (m[(row, y)] - m[(row, x)]) * gamma[column];
                    }
                }
            }
        }
        for (group, gamma) in gamma.iter().enumerate() {
            self.h[(y, group)] += gamma;
            self.h[(x, group)] -= gamma;
        }
        let d_ones = self.ones[y] - self.ones[x];
        for (sum, gamma) in self.h_ones.iter_mut().zip(&gamma) {
            *sum += gamma * d_ones;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use fastrand::Rng;

    /// The same in blocks, where exchanges meet only the groups of one replicate at a time.
    #[test]
    fn replicates_apart_are_kept_up() {
        let mut random = Rng::with_seed(3);
        let blocks: Vec<usize> = (0..36).map(|plot| plot / 4).collect();
        let nuisance = Nuisance::blocks(&blocks);
        let (ground, _) = nuisance.inverse();
        let entries: Vec<usize> = (0..36).map(|plot| (plot * 5) % 12).collect();
        let clusters = [0..3, 3..6, 6..9];
        let mut kept = Information::new(&nuisance, &ground, entries, 12, &clusters).unwrap();
        for _ in 0..50 {
            let first = 12 * random.usize(..3);
            let (one, other) = (first + random.usize(..12), first + random.usize(..12));
            let foretold = kept.value + kept.rise(one, other);
            if one == other || !foretold.is_finite() || foretold > 100.0 {
                continue;
            }
            assert!(kept.exchange(one, other));
            let entries = kept.entries.clone();
            let anew = Information::new(&nuisance, &ground, entries, 12, &clusters).unwrap();
            for found in [foretold, kept.value] {
                assert!(
                    (found / anew.value - 1.0).abs() < 1e-7,
                    "{found} {}",
                    anew.value
                );
            }
        }
    }

    /// The criterion after each exchange, as foretold and as kept up, against working it out anew.
    #[test]
    fn what_is_kept_up_is_what_is_worked_out_anew() {
        for (random_groups, seed) in [(false, 1), (true, 2)] {
            let mut random = Rng::with_seed(seed);
            // Five rows by six columns with a gap, ten entries.
            let places: Vec<(usize, usize)> = (0..5)
                .flat_map(|row| (0..6).map(move |column| (row, column)))
                .filter(|&place| place != (2, 3))
                .collect();
            let nuisance = Nuisance {
                groups: places
                    .iter()
                    .map(|&(row, column)| vec![row, 5 + column])
                    .collect(),
                count: 11,
                random: random_groups,
            };
            let (ground, _) = nuisance.inverse();
            let entries: Vec<usize> = (0..29).map(|plot| plot % 10).collect();
            let all = std::slice::from_ref(&(0..11));
            let mut kept = Information::new(&nuisance, &ground, entries, 10, all).unwrap();
            for _ in 0..40 {
                let (one, other) = (random.usize(..29), random.usize(..29));
                if kept.entries[one] == kept.entries[other] {
                    continue;
                }
                let foretold = kept.value + kept.rise(one, other);
                if !foretold.is_finite() || foretold > 100.0 {
                    continue;
                }
                assert!(kept.exchange(one, other));
                let entries = kept.entries.clone();
                let anew = Information::new(&nuisance, &ground, entries, 10, all).unwrap();
                for found in [foretold, kept.value] {
                    assert!(
                        (found / anew.value - 1.0).abs() < 1e-7,
                        "{found} {}",
                        anew.value
                    );
                }
                for place in 0..11 {
                    let off = kept.hmh[1][(place, 3)] - anew.hmh[1][(place, 3)];
                    assert!(off.abs() < 1e-6 * anew.value, "{off}");
                    assert!((kept.h_ones[place] - anew.h_ones[place]).abs() < 1e-7);
                }
            }
        }
    }
}
