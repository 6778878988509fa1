//! A surface of splines beside blocks and relatives, by way of dense V and a spline basis of its own: B-splines by the
//! recursion of Cox (1972) and de Boor (1972), the penalty's pseudo-inverse, all coefficients kept.

use faer::linalg::solvers::Solve as _;
use faer::{Mat, Side};
use fastrand::Rng;
use quant::evaluation::{
    Components, Covariance, FixedEffect, Model, Observations, RandomEffect, Relationship, Role,
    Spline, SplineBasis,
};
use quant::kinship::{Assumptions, Genotype, Kinship, Pedigree, Ploidy};

use crate::table::near;

/// B-spline `nth` of a degree on knots a step apart.
fn b_spline(knots: &[f64], nth: usize, degree: usize, at: f64) -> f64 {
    if degree == 0 {
        return f64::from(u8::from(knots[nth] <= at && at < knots[nth + 1]));
    }
    let rising = (at - knots[nth]) / (knots[nth + degree] - knots[nth]);
    let falling = (knots[nth + degree + 1] - at) / (knots[nth + degree + 1] - knots[nth + 1]);
    rising * b_spline(knots, nth, degree - 1, at)
        + falling * b_spline(knots, nth + 1, degree - 1, at)
}

/// The values of all cubic B-splines of an interval from 0 at a place.
fn basis(high: f64, segments: usize, at: f64) -> Vec<f64> {
    let step = high / segments as f64;
    let knots: Vec<f64> = (0..segments + 7)
        .map(|nth| step * (nth as f64 - 3.0))
        .collect();
    // The last place belongs to the last segment.
    let at = at.min(high - 1e-12);
    (0..segments + 3)
        .map(|nth| b_spline(&knots, nth, 3, at))
        .collect()
}

/// D′D of second differences.
fn penalty(size: usize) -> Mat<f64> {
    let d = Mat::from_fn(size - 2, size, |i, j| match j.checked_sub(i) {
        Some(0 | 2) => 1.0,
        Some(1) => -2.0,
        _ => 0.0,
    });
    d.transpose() * &d
}

fn pseudo_inverse(matrix: &Mat<f64>) -> Mat<f64> {
    let eigen = matrix.self_adjoint_eigen(Side::Lower).unwrap();
    let values = eigen.S().column_vector();
    let largest = values[matrix.nrows() - 1];
    let scaled = Mat::from_fn(matrix.nrows(), matrix.nrows(), |i, j| {
        if values[j] > 1e-9 * largest {
            eigen.U()[(i, j)] / values[j]
        } else {
            0.0
        }
    });
    scaled * eigen.U().transpose()
}

fn inverse(matrix: &Mat<f64>) -> (Mat<f64>, f64) {
    let factor = matrix.llt(Side::Lower).unwrap();
    let diagonal = factor.L().diagonal().column_vector();
    let log = 2.0 * diagonal.iter().map(|value| value.ln()).sum::<f64>();
    let one = Mat::<f64>::identity(matrix.nrows(), matrix.nrows());
    (factor.solve(one), log)
}

/// Four random terms (relatives, clones, blocks, a surface) on fields with gaps: likelihood, residuals and predictions.
#[test]
#[expect(
    clippy::too_many_lines,
    reason = "one model, and its formulas from top to bottom"
)]
fn a_surface_among_terms_agrees_with_dense_formulas() {
    const PLANTS: usize = 9;
    let mut rng = Rng::with_seed(2018);
    for round in 0..12 {
        let genotypes = (0..PLANTS).map(|plant| {
            if plant < 4 {
                return Genotype::founder(Ploidy::DIPLOID);
            }
            let female = rng.usize(..plant);
            Genotype::diploid(Some(female), Some((female + rng.usize(1..plant)) % plant))
        });
        let genotypes: Vec<Genotype> = genotypes.collect();
        let kinship = Kinship::new(Pedigree::new(genotypes, &Assumptions::default()).unwrap());
        let places: Vec<(f64, f64)> = (0..42)
            .map(|place| (f64::from(place / 7), f64::from(place % 7)))
            .filter(|_| rng.f64() > 0.1)
            .collect();
        let n = places.len();
        let (row, column): (Vec<f64>, Vec<f64>) = places.iter().copied().unzip();
        let values: Vec<f64> = (0..n).map(|_| 5.0 + 3.0 * rng.f64()).collect();
        let plant: Vec<usize> = (0..n).map(|_| rng.usize(..PLANTS)).collect();
        let block: Vec<usize> = row.iter().map(|&row| row as usize / 2).collect();
        let segments = [3, 4];
        let bases = [
            SplineBasis::new(0.0, 5.0, segments[0]).unwrap(),
            SplineBasis::new(0.0, 6.0, segments[1]).unwrap(),
        ];
        let spline = Spline::surface(bases, [&row, &column]).unwrap();
        let mut fixed = vec![FixedEffect::mean(n)];
        fixed.extend(spline.fixed.clone());
        let record: Vec<usize> = (0..n).collect();
        let related = Relationship::additive(&kinship);
        let model = Model::new(
            Observations::single(values.iter().copied().map(Some).collect()).unwrap(),
            fixed.clone(),
            vec![
                RandomEffect::related(Role::Additive, &plant, related),
                RandomEffect::independent(Role::Clonal, &plant, PLANTS),
                RandomEffect::independent(Role::Other, &block, 3),
                RandomEffect::related(Role::Other, &record, Relationship::spline(spline)),
            ],
        )
        .unwrap();
        let variances: Vec<f64> = (0..5).map(|_| 0.2 + rng.f64()).collect();
        let balance = [-1.0, 0.0, 0.7][round % 3];
        let components = Components {
            effects: variances[..4]
                .iter()
                .map(|&v| Covariance::variance(v))
                .collect(),
            residuals: vec![Covariance::variance(variances[4])],
            shapes: vec![vec![], vec![], vec![], vec![balance], vec![]],
        };

        let [rows, columns] = segments.map(|segments| segments + 3);
        let z = Mat::from_fn(n, rows * columns, |record, place| {
            basis(5.0, segments[0], row[record])[place / columns]
                * basis(6.0, segments[1], column[record])[place % columns]
        });
        let (of_rows, of_columns) = (penalty(rows), penalty(columns));
        let whole = Mat::from_fn(rows * columns, rows * columns, |i, j| {
            let same = |one: usize, other: usize| f64::from(u8::from(one == other));
            f64::exp(balance) * of_rows[(i / columns, j / columns)] * same(i % columns, j % columns)
                + f64::exp(-balance)
                    * of_columns[(i % columns, j % columns)]
                    * same(i / columns, j / columns)
        });
        let surface = &z * pseudo_inverse(&whole) * z.transpose();
        let v = Mat::from_fn(n, n, |i, j| {
            let same = |levels: &[usize]| f64::from(u8::from(levels[i] == levels[j]));
            variances[0] * kinship.relationship(plant[i], plant[j])
                + variances[1] * same(&plant)
                + variances[2] * same(&block)
                + variances[3] * surface[(i, j)]
                + variances[4] * same(&record)
        });
        let means: Vec<f64> = fixed[1..]
            .iter()
            .map(|effect| match effect {
                FixedEffect::Covariate { value } => value.iter().sum::<f64>() / n as f64,
                FixedEffect::Factor { .. } => 0.0,
            })
            .collect();
        let x = Mat::from_fn(n, 4, |i, j| match (j, fixed.get(j)) {
            (1.., Some(FixedEffect::Covariate { value })) => value[i] - means[j - 1],
            _ => 1.0,
        });
        let y = Mat::from_fn(n, 1, |i, _| values[i]);
        let (vi, log_v) = inverse(&v);
        let (xvx, log_x) = inverse(&(x.transpose() * &vi * &x));
        let p = &vi - &vi * &x * &xvx * x.transpose() * &vi;
        let py = &p * &y;
        let quadratic = (y.transpose() * &py)[(0, 0)];
        let criterion = (n - 4) as f64 * std::f64::consts::TAU.ln() + log_v + log_x + quadratic;
        let solution = model.solve(&components).unwrap();
        near(
            solution.minus_two_log_likelihood(),
            criterion,
            1e-8 * criterion.abs(),
        );
        for (found, dense) in model.residuals(&components).unwrap().iter().zip(0..) {
            near(found.unwrap(), variances[4] * py[(dense, 0)], 1e-8);
        }
        for one in 0..PLANTS {
            let through = |record: usize| kinship.relationship(one, plant[record]);
            let predicted: f64 = (0..n).map(|i| through(i) * py[(i, 0)]).sum();
            near(
                solution.random(0, one, 0).value,
                variances[0] * predicted,
                1e-8,
            );
        }
    }
}
