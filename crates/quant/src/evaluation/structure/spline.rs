//! Penalized splines as random effects (Eilers & Marx 1996, Statistical Science 11:89–121).
//!
//! A curve is a sum of cubic B-splines on equal segments whose coefficients a are held by their second differences,
//! `a′D′Da / σ²`; a surface is a sum of products of two such bases, held along rows and along columns. What the penalty
//! leaves free is a straight line, or `1, u, v, uv` of a surface: it belongs to the fixed effects. The coefficients at
//! two places along each side are then redundant and set to zero, which leaves a random effect with a sparse inverse
//! covariance of full rank and the same restricted likelihood as any other split of the spline into a fixed and a
//! random part (Currie, Durbán & Eilers 2006, Journal of the Royal Statistical Society B 68:259–280; for fields
//! Rodríguez-Álvarez, Boer, van Eeuwijk & Eilers 2018, Spatial Statistics 23:52–71).

use super::autoregressive::kronecker;
use super::{Entries, ShapeKind, ShapeParameter, Structure, StructureKind};
use crate::evaluation::{EvaluationError, FixedEffect};

/// Cubic B-splines on equal segments of an interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Basis {
    low: f64,
    high: f64,
    segments: usize,
}

impl Basis {
    /// `segments` (at least 1) equal segments from `low` to `high`.
    ///
    /// # Errors
    /// An interval without length, or no segment.
    pub fn new(low: f64, high: f64, segments: usize) -> Result<Self, EvaluationError> {
        let reason = "of a spline needs an interval with a length and at least one segment";
        if low.is_finite() && high.is_finite() && low < high && segments > 0 {
            Ok(Self {
                low,
                high,
                segments,
            })
        } else {
            Err(EvaluationError::Relationship { reason })
        }
    }

    /// How many B-splines.
    pub fn size(&self) -> usize {
        self.segments + 3
    }

    /// The four B-splines that are not zero at a place in the interval, with their values.
    pub fn at(&self, place: f64) -> [(usize, f64); 4] {
        let along = (place - self.low) / (self.high - self.low) * self.segments as f64;
        let segment = (along.floor().max(0.0) as usize).min(self.segments - 1);
        let t = along - segment as f64;
        let s = 1.0 - t;
        let sixth = [
            s * s * s,
            3.0 * t * t * t - 6.0 * t * t + 4.0,
            3.0 * s * s * s - 6.0 * s * s + 4.0,
            t * t * t,
        ];
        std::array::from_fn(|nth| (segment + nth, sixth[nth] / 6.0))
    }

    /// The places of coefficients that are set to zero.
    fn corners(&self) -> [usize; 2] {
        [0, self.size() - 1]
    }

    /// The lower triangle of D′D for second differences.
    fn penalty(&self) -> Entries {
        let mut entries = Vec::new();
        for first in 0..self.size() - 2 {
            for (i, x) in [1.0, -2.0, 1.0].into_iter().enumerate() {
                for (j, z) in [1.0, -2.0, 1.0].into_iter().enumerate().take(i + 1) {
                    entries.push(((first + i) as u32, (first + j) as u32, x * z));
                }
            }
        }
        entries
    }

    fn identity(&self) -> Entries {
        (0..self.size() as u32).map(|i| (i, i, 1.0)).collect()
    }

    fn scaled(&self, place: f64) -> f64 {
        2.0 * (place - self.low) / (self.high - self.low) - 1.0
    }
}

/// A spline over the records: the columns for the fixed effects, and the random effect's relationship and levels.
#[derive(Debug)]
pub struct Spline {
    /// The covariates that the penalty leaves free, besides the general mean.
    pub fixed: Vec<FixedEffect>,
    pub(in crate::evaluation) structure: Structure,
}

impl Spline {
    /// A curve along one place a record; record n is level n of the random effect.
    ///
    /// # Errors
    /// A place outside the interval.
    pub fn curve(basis: Basis, at: &[f64]) -> Result<Self, EvaluationError> {
        inside(basis, at)?;
        let fixed = vec![FixedEffect::Covariate {
            value: at.iter().map(|&place| basis.scaled(place)).collect(),
        }];
        let number = numbers(basis.size(), |place| basis.corners().contains(&place));
        let expressions = at
            .iter()
            .map(|&place| {
                let terms = basis.at(place).into_iter();
                terms
                    .filter_map(|(nth, value)| Some((number[nth]?, value)))
                    .collect()
            })
            .collect();
        let penalty = kept(&basis.penalty(), &number);
        let size = basis.size() - 2;
        let structure = Structure::new(
            StructureKind::Curve,
            Vec::new(),
            size,
            &[penalty],
            expressions,
        )?;
        Ok(Self { fixed, structure })
    }

    /// A surface over rows and columns, one place of each a record; record n is level n of the random effect.
    ///
    /// # Errors
    /// A place outside its interval, or lists of different lengths.
    pub fn surface(bases: [Basis; 2], at: [&[f64]; 2]) -> Result<Self, EvaluationError> {
        if at[0].len() != at[1].len() {
            return Err(EvaluationError::Length {
                input: "columns of a surface",
                index: 1,
                found: at[1].len(),
                expected: at[0].len(),
            });
        }
        inside(bases[0], at[0])?;
        inside(bases[1], at[1])?;
        let scaled: Vec<[f64; 2]> = at[0]
            .iter()
            .zip(at[1])
            .map(|(&u, &v)| [bases[0].scaled(u), bases[1].scaled(v)])
            .collect();
        let covariate = |value: fn(&[f64; 2]) -> f64| FixedEffect::Covariate {
            value: scaled.iter().map(value).collect(),
        };
        let fixed = vec![
            covariate(|place| place[0]),
            covariate(|place| place[1]),
            covariate(|place| place[0] * place[1]),
        ];
        let [rows, columns] = bases.map(|basis| basis.size());
        let corner = |place: usize| {
            bases[0].corners().contains(&(place / columns))
                && bases[1].corners().contains(&(place % columns))
        };
        let number = numbers(rows * columns, corner);
        let expression = |(&u, &v): (&f64, &f64)| {
            let along = bases[1].at(v);
            let products = bases[0].at(u).into_iter().flat_map(move |(i, x)| {
                along
                    .into_iter()
                    .map(move |(j, z)| (i * columns + j, x * z))
            });
            products
                .filter_map(|(place, value)| Some((number[place]?, value)))
                .collect()
        };
        let expressions = at[0].iter().zip(at[1]).map(expression).collect();
        let pieces = [
            kronecker(&bases[0].penalty(), &bases[1].identity(), columns),
            kronecker(&bases[0].identity(), &bases[1].penalty(), columns),
        ]
        .map(|entries| kept(&entries, &number));
        let balance = ShapeParameter {
            kind: ShapeKind::Balance,
            lower: -7.0,
            upper: 7.0,
            start: 0.0,
        };
        let structure = Structure::new(
            StructureKind::Surface,
            vec![balance],
            rows * columns - 4,
            &pieces,
            expressions,
        )?;
        Ok(Self { fixed, structure })
    }
}

fn inside(basis: Basis, at: &[f64]) -> Result<(), EvaluationError> {
    let reason = "of a spline was asked for a place outside its interval";
    if at
        .iter()
        .all(|place| (basis.low..=basis.high).contains(place))
    {
        Ok(())
    } else {
        Err(EvaluationError::Relationship { reason })
    }
}

/// New numbers of the coefficients that stay.
fn numbers(size: usize, left_out: impl Fn(usize) -> bool) -> Vec<Option<usize>> {
    let mut next = 0;
    (0..size)
        .map(|place| {
            (!left_out(place)).then(|| {
                next += 1;
                next - 1
            })
        })
        .collect()
}

fn kept(entries: &Entries, number: &[Option<usize>]) -> Entries {
    entries
        .iter()
        .filter_map(|&(i, j, value)| {
            let (i, j) = (number[i as usize]?, number[j as usize]?);
            Some((i as u32, j as u32, value))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cubic B-spline at a knot is 1/6, 2/3, 1/6 (Eilers & Marx 1996).
    #[test]
    fn basis_at_knots() {
        let basis = Basis::new(0.0, 20.0, 10).unwrap();
        assert_eq!(basis.size(), 13);
        for (place, first) in [(0.0, 0), (2.0, 1), (18.0, 9)] {
            let values = basis.at(place);
            assert_eq!(values[0].0, first);
            for (found, expected) in values.iter().zip([1.0 / 6.0, 2.0 / 3.0, 1.0 / 6.0, 0.0]) {
                assert!((found.1 - expected).abs() < 1e-14);
            }
        }
        assert!((basis.at(20.0)[3].1 - 1.0 / 6.0).abs() < 1e-14);
    }
}
