//! Fixed effects: columns, and which of them the records can estimate.

use super::{EvaluationError, Observations};

/// A level of the first factor: which, how many records it has, and the sums of the other columns over them.
type LevelSums = (usize, f64, Vec<(usize, f64)>);

/// Something the caller takes as given: a place, a season, a block, an age.
///
/// Each trait has its own effects. When columns depend on each other, the earlier effect keeps
/// its columns and the later one loses its first levels, which become the reference at zero: put
/// the factor whose levels are to be read as means first, which is also the one that may have any
/// number of levels.
#[derive(Clone, Debug)]
pub enum FixedEffect {
    /// One level per record.
    Factor {
        /// The level of each record, below `levels`.
        level: Vec<usize>,
        /// How many levels there are.
        levels: usize,
    },
    /// One number per record. It acts as the departure from its own mean over the records when
    /// the model has a factor, so that level means stay means; without factors it acts as it is.
    Covariate {
        /// The number of each record.
        value: Vec<f64>,
    },
}

impl FixedEffect {
    /// The general mean, for models without another factor.
    pub fn mean(records: usize) -> Self {
        Self::Factor {
            level: vec![0; records],
            levels: 1,
        }
    }

    /// How many columns it has per trait: the levels, or one.
    pub fn columns(&self) -> usize {
        match self {
            Self::Factor { levels, .. } => *levels,
            Self::Covariate { .. } => 1,
        }
    }
}

/// The most columns of all fixed effects but the first factor; they are held dense.
const MOST_COLUMNS: usize = 4000;

/// A column is dropped when less than this share of its sum of squares is its own.
const OWN_SHARE: f64 = 1e-9;

/// The columns of the fixed effects, and what least squares makes of them, trait by trait.
#[derive(Debug)]
pub(super) struct FixedDesign {
    effects: Vec<FixedEffect>,
    /// The first column of each effect, and the number of all columns.
    pub(super) first_column: Vec<usize>,
    centre: Vec<f64>,
    /// Whether the column is estimated: trait by trait, column by column.
    pub(super) kept: Vec<Vec<bool>>,
    /// The columns left out that have records, trait by trait.
    pub(super) dependent: Vec<Vec<Dependent>>,
    /// The variance about the fixed effects, per trait.
    pub(super) residual_mean_square: Vec<f64>,
}

/// A column that is a sum of estimated ones.
#[derive(Debug, PartialEq)]
pub(super) struct Dependent {
    pub(super) column: usize,
    /// The estimated columns and how often each is taken; none for a column of zeros.
    pub(super) on: Vec<(usize, f64)>,
}

/// What least squares makes of the columns for one trait.
struct LeastSquares {
    kept: Vec<bool>,
    dependent: Vec<Dependent>,
    mean_square: f64,
}

impl FixedDesign {
    pub(super) fn new(
        observations: &Observations,
        effects: Vec<FixedEffect>,
    ) -> Result<Self, EvaluationError> {
        check(observations, &effects)?;
        let absorbed = match effects.first() {
            Some(FixedEffect::Factor { levels, .. }) => *levels,
            _ => 0,
        };
        let columns = effects.iter().map(FixedEffect::columns).sum::<usize>() - absorbed;
        if columns > MOST_COLUMNS {
            return Err(EvaluationError::TooManyFixed {
                columns,
                most: MOST_COLUMNS,
            });
        }
        let has_factor = effects
            .iter()
            .any(|effect| matches!(effect, FixedEffect::Factor { .. }));
        let used: Vec<usize> = (0..observations.records())
            .filter(|&record| observations.any(record))
            .collect();
        let centre = effects
            .iter()
            .map(|effect| match effect {
                FixedEffect::Covariate { value } if has_factor && !used.is_empty() => {
                    used.iter().map(|&record| value[record]).sum::<f64>() / used.len() as f64
                }
                _ => 0.0,
            })
            .collect();
        let mut first_column = vec![0];
        for effect in &effects {
            first_column.push(first_column[first_column.len() - 1] + effect.columns());
        }
        let mut design = Self {
            effects,
            first_column,
            centre,
            kept: Vec::new(),
            dependent: Vec::new(),
            residual_mean_square: Vec::new(),
        };
        for of_trait in 0..observations.traits() {
            let found = design.least_squares(observations, of_trait);
            design.kept.push(found.kept);
            design.dependent.push(found.dependent);
            design.residual_mean_square.push(found.mean_square);
        }
        Ok(design)
    }

    pub(super) fn effects(&self) -> &[FixedEffect] {
        &self.effects
    }

    pub(super) fn columns(&self) -> usize {
        self.first_column[self.effects.len()]
    }

    /// How many columns are estimated for a trait.
    pub(super) fn rank(&self, of_trait: usize) -> usize {
        self.kept[of_trait].iter().filter(|&&kept| kept).count()
    }

    /// The columns that act on a record, with their coefficients.
    pub(super) fn row(&self, record: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        self.effects
            .iter()
            .enumerate()
            .map(move |(k, effect)| match effect {
                FixedEffect::Factor { level, .. } => (self.first_column[k] + level[record], 1.0),
                FixedEffect::Covariate { value } => {
                    (self.first_column[k], value[record] - self.centre[k])
                }
            })
    }

    /// Eliminates the columns of X′X in turn, leaving out those that add nothing to earlier ones.
    ///
    /// Levels of the first factor never meet in a record, so that any number of them is eliminated at once; the columns
    /// of the other effects are held dense.
    #[expect(
        clippy::too_many_lines,
        reason = "one elimination from the records to the last column"
    )]
    fn least_squares(&self, observations: &Observations, of_trait: usize) -> LeastSquares {
        let columns = self.columns();
        let first = match self.effects.first() {
            Some(FixedEffect::Factor { level, levels }) => Some((level, *levels)),
            _ => None,
        };
        let absorbed = first.map_or(0, |(_, levels)| levels);
        let others = columns - absorbed;
        let side = others + 1;
        // The columns in the order in which they are swept, the observations last; of the matrix only what stands on and
        // right of the diagonal is held.
        let order: Vec<usize> = self
            .sweep_order()
            .filter(|&column| column >= absorbed)
            .collect();
        let mut position = vec![others; columns];
        for (place, &column) in order.iter().enumerate() {
            position[column] = place;
        }
        let mut gram = vec![0.0; side * side];
        // Products are taken about one observation, so that a large mean costs no digits.
        let origin = (0..observations.records())
            .find_map(|record| observations.get(record, of_trait))
            .unwrap_or(0.0);
        let mut records: Vec<(usize, usize)> = (0..observations.records())
            .filter(|&record| observations.get(record, of_trait).is_some())
            .map(|record| (first.map_or(0, |(level, _)| level[record]), record))
            .collect();
        records.sort_unstable();
        let count = records.len();
        // By level of the first factor that has records: how many, and the sums of the other columns over them.
        let mut levels: Vec<LevelSums> = Vec::new();
        let mut sums = vec![0.0; side];
        let mut touched = Vec::new();
        let mut whole = vec![0.0; side];
        for group in records.chunk_by(|left, right| left.0 == right.0) {
            for &(_, record) in group {
                let value = observations.get(record, of_trait).unwrap_or(origin) - origin;
                let row = || {
                    let skipped = usize::from(first.is_some());
                    let own = self.row(record).skip(skipped);
                    own.map(|(column, x)| (position[column], x))
                        .chain([(others, value)])
                };
                for (i, x) in row() {
                    if sums[i] == 0.0 {
                        touched.push(i);
                    }
                    sums[i] += x;
                    whole[i] += x * x;
                    for (j, z) in row().filter(|&(j, _)| j >= i) {
                        gram[i * side + j] += x * z;
                    }
                }
            }
            touched.sort_unstable();
            touched.dedup();
            let of_level: Vec<(usize, f64)> = touched.drain(..).map(|i| (i, sums[i])).collect();
            for &(i, _) in &of_level {
                sums[i] = 0.0;
            }
            if first.is_some() {
                let records = group.len() as f64;
                for (nth, &(i, x)) in of_level.iter().enumerate() {
                    for &(j, z) in &of_level[nth..] {
                        gram[i * side + j] -= x * z / records;
                    }
                }
                levels.push((group[0].0, records, of_level));
            }
        }
        let mut kept = vec![false; columns];
        for (level, _, _) in &levels {
            kept[*level] = true;
        }
        for pivot in 0..others {
            let own = gram[pivot * side + pivot];
            if own <= OWN_SHARE * whole[pivot] || whole[pivot] == 0.0 {
                continue;
            }
            kept[order[pivot]] = true;
            let (above, below) = gram.split_at_mut((pivot + 1) * side);
            let pivot_row = &above[pivot * side..];
            for (row, i) in below.chunks_exact_mut(side).zip(pivot + 1..) {
                if pivot_row[i] != 0.0 {
                    let factor = pivot_row[i] / own;
                    for (value, &above) in row[i..].iter_mut().zip(&pivot_row[i..]) {
                        *value -= factor * above;
                    }
                }
            }
        }
        let rank = kept.iter().filter(|&&kept| kept).count();
        let squares = gram[side * side - 1].max(0.0);
        // What is left is a triangle: the row of a kept column holds what those swept later and the dropped ones still
        // have of it, so that each dropped column is solved for from the last kept column back. A column that was dropped
        // has nothing of those kept after it.
        let swept: Vec<usize> = (0..others).filter(|&place| kept[order[place]]).collect();
        let taken = |column: usize| {
            let before = swept.partition_point(|&place| place < column);
            let mut times = vec![0.0; others];
            for (nth, &row) in swept[..before].iter().enumerate().rev() {
                let of_row = &gram[row * side..(row + 1) * side];
                let rest = &swept[nth + 1..before];
                let later: f64 = rest.iter().map(|&q| of_row[q] * times[q]).sum();
                times[row] = (of_row[column] - later) / of_row[row];
            }
            let of_levels = levels.iter().map(|(level, records, sums)| {
                let left = |&(i, x): &(usize, f64)| {
                    let own = f64::from(u8::from(i == column));
                    x * (own - times.get(i).copied().unwrap_or(0.0))
                };
                (*level, sums.iter().map(left).sum::<f64>() / records)
            });
            let of_others = swept.iter().map(|&row| (order[row], times[row]));
            of_levels
                .chain(of_others)
                .filter(|(_, times)| times.abs() > 1e-9)
                .collect()
        };
        let dependent = (0..columns)
            .filter(|&column| !kept[column])
            .map(|column| Dependent {
                column,
                on: if column >= absorbed {
                    taken(position[column])
                } else {
                    // A level without records.
                    Vec::new()
                },
            })
            .collect();
        LeastSquares {
            dependent,
            mean_square: if count > rank {
                squares / (count - rank) as f64
            } else {
                0.0
            },
            kept,
        }
    }

    /// Effects in their order, the levels of each from the last to the first.
    fn sweep_order(&self) -> impl Iterator<Item = usize> + '_ {
        self.first_column
            .windows(2)
            .flat_map(|ends| (ends[0]..ends[1]).rev())
    }
}

fn check(observations: &Observations, effects: &[FixedEffect]) -> Result<(), EvaluationError> {
    let expected = observations.records();
    for (index, effect) in effects.iter().enumerate() {
        let (input, found) = match effect {
            FixedEffect::Factor { level, .. } => ("fixed factor", level.len()),
            FixedEffect::Covariate { value } => ("covariate", value.len()),
        };
        if found != expected {
            return Err(EvaluationError::Length {
                input,
                index,
                found,
                expected,
            });
        }
        match effect {
            FixedEffect::Factor { level, levels } => {
                if let Some(record) = level.iter().position(|level| level >= levels) {
                    let level = level[record];
                    return Err(EvaluationError::Level {
                        input,
                        index,
                        record,
                        level,
                        levels: *levels,
                    });
                }
            }
            FixedEffect::Covariate { value } => {
                let wrong =
                    |&record: &usize| observations.any(record) && !value[record].is_finite();
                if let Some(record) = (0..expected).find(wrong) {
                    return Err(EvaluationError::NotFinite { input, record });
                }
            }
        }
    }
    Ok(())
}
