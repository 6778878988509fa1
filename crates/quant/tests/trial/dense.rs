//! Random models of up to four terms, space and relatives together, by way of dense V: slow, and independent of the
//! program.

use faer::prelude::Solve as _;
use faer::{Mat, Side};
use fastrand::Rng;
use proptest::prelude::*;
use quant::evaluation::{
    Combination, Components, Covariance, FixedEffect, Model, Observations, RandomEffect,
    Relationship, Residual, Role,
};
use quant::kinship::{Assumptions, Genotype, Kinship, Pedigree, Ploidy};

use crate::table::near;

const ROWS: usize = 4;
const COLUMNS: usize = 6;
const PLANTS: usize = 10;

/// Where space comes in.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Space {
    Nowhere,
    Residual,
    Term,
}

/// Founders, then plants of two parents each.
fn kinship(rng: &mut Rng) -> Kinship {
    let genotypes = (0..PLANTS).map(|plant| {
        if plant < 4 {
            return Genotype::founder(Ploidy::DIPLOID);
        }
        let female = rng.usize(..plant);
        let male = (female + rng.usize(1..plant)) % plant;
        Genotype::diploid(Some(female), Some(male))
    });
    let genotypes: Vec<Genotype> = genotypes.collect();
    Kinship::new(Pedigree::new(genotypes, &Assumptions::default()).unwrap())
}

/// The correlation of two places of the grid.
fn along(one: usize, other: usize, shape: [f64; 2]) -> f64 {
    let steps = |a: usize, b: usize| a.abs_diff(b) as i32;
    shape[0].powi(steps(one / COLUMNS, other / COLUMNS))
        * shape[1].powi(steps(one % COLUMNS, other % COLUMNS))
}

fn inverse(matrix: &Mat<f64>) -> (Mat<f64>, f64) {
    let factor = matrix.llt(Side::Lower).unwrap();
    let diagonal = factor.L().diagonal().column_vector();
    let log = 2.0 * diagonal.iter().map(|value| value.ln()).sum::<f64>();
    (
        factor.solve(Mat::<f64>::identity(matrix.nrows(), matrix.nrows())),
        log,
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Likelihood, estimates, predictions and their covariances, to 1e-8.
    #[test]
    fn sparse_equations_agree_with_dense_formulas(
        seed in any::<u64>(),
        space in prop_oneof![Just(Space::Nowhere), Just(Space::Residual), Just(Space::Term)],
        with_blocks in any::<bool>(),
        with_relatives in any::<bool>(),
        two_environments in any::<bool>(),
        shape in [-0.8..0.9, -0.8..0.9],
    ) {
        let mut rng = Rng::with_seed(seed);
        let kinship = kinship(&mut rng);
        let places: Vec<usize> = (0..ROWS * COLUMNS).filter(|_| rng.f64() > 0.15).collect();
        let n = places.len();
        prop_assume!(n > 8);
        let values: Vec<f64> = (0..n).map(|_| 10.0 + 4.0 * rng.f64()).collect();
        let plant: Vec<usize> = (0..n).map(|_| rng.usize(..PLANTS)).collect();
        let block: Vec<usize> = places.iter().map(|place| place % COLUMNS / 2).collect();
        let environment: Vec<usize> = (0..n).map(|record| usize::from(record >= n / 2)).collect();
        let covariate: Vec<f64> = (0..n).map(|_| rng.f64()).collect();

        let (mut random, mut levels, mut relations, mut variances, mut shapes) =
            (Vec::new(), Vec::new(), Vec::new(), Vec::new(), Vec::new());
        random.push(RandomEffect::independent(Role::Clonal, &plant, PLANTS));
        levels.push(plant.clone());
        relations.push(Mat::<f64>::identity(PLANTS, PLANTS));
        shapes.push(vec![]);
        if with_blocks {
            random.push(RandomEffect::independent(Role::Other, &block, 3));
            levels.push(block);
            relations.push(Mat::identity(3, 3));
            shapes.push(vec![]);
        }
        if with_relatives {
            let additive = Relationship::additive(&kinship);
            random.push(RandomEffect::related(Role::Additive, &plant, additive));
            levels.push(plant);
            relations.push(Mat::from_fn(PLANTS, PLANTS, |i, j| kinship.relationship(i, j)));
            shapes.push(vec![]);
        }
        let grid = Relationship::grid(ROWS, COLUMNS).unwrap();
        let correlations = Mat::from_fn(ROWS * COLUMNS, ROWS * COLUMNS, |i, j| along(i, j, shape));
        if space == Space::Term {
            random.push(RandomEffect::related(Role::Other, &places, grid.clone()));
            levels.push(places.clone());
            relations.push(correlations);
            shapes.push(shape.to_vec());
        }
        variances.extend(random.iter().map(|_| 0.2 + rng.f64()));
        let (residual, residuals) = if space == Space::Residual {
            shapes.push(shape.to_vec());
            (Residual::correlated(&places, grid), vec![0.7])
        } else if two_environments {
            shapes.extend([vec![], vec![]]);
            (Residual::by_environment(&environment, 2), vec![0.4, 1.9])
        } else {
            shapes.push(vec![]);
            (Residual::independent(n), vec![0.8])
        };
        let components = Components {
            effects: variances.iter().map(|&v| Covariance::variance(v)).collect(),
            residuals: residuals.iter().map(|&v| Covariance::variance(v)).collect(),
            shapes,
        };
        let model = Model::with_residual(
            Observations::single(values.iter().copied().map(Some).collect()).unwrap(),
            vec![FixedEffect::mean(n), FixedEffect::Covariate { value: covariate.clone() }],
            random,
            residual,
        )
        .unwrap();
        let solution = model.solve(&components).unwrap();

        let mean = covariate.iter().sum::<f64>() / n as f64;
        let x = Mat::from_fn(n, 2, |i, j| if j == 0 { 1.0 } else { covariate[i] - mean });
        let y = Mat::from_fn(n, 1, |i, _| values[i]);
        let mut v = Mat::from_fn(n, n, |i, j| match space {
            Space::Residual => 0.7 * along(places[i], places[j], shape),
            _ if i != j => 0.0,
            _ if residuals.len() == 2 => residuals[environment[i]],
            _ => residuals[0],
        });
        for ((level, relation), variance) in levels.iter().zip(&relations).zip(&variances) {
            v += Mat::from_fn(n, n, |i, j| variance * relation[(level[i], level[j])]);
        }
        let (vi, log_v) = inverse(&v);
        let (xvx, log_x) = inverse(&(x.transpose() * &vi * &x));
        let p = &vi - &vi * &x * &xvx * x.transpose() * &vi;
        let quadratic = (y.transpose() * &p * &y)[(0, 0)];
        let criterion = (n - 2) as f64 * std::f64::consts::TAU.ln() + log_v + log_x + quadratic;
        near(solution.minus_two_log_likelihood(), criterion, 1e-8 * criterion.abs().max(1.0));
        let fixed = &xvx * x.transpose() * &vi * &y;
        for effect in 0..2 {
            let found = solution.fixed(effect, 0, 0).unwrap();
            near(found.value, fixed[(effect, 0)], 1e-8);
            near(found.standard_error.powi(2), xvx[(effect, effect)], 1e-8);
        }
        let py = &p * &y;
        for (k, (level, relation)) in levels.iter().zip(&relations).enumerate() {
            let count = relation.nrows();
            let back = Mat::from_fn(count, n, |i, j| variances[k] * relation[(i, level[j])]);
            let prediction = &back * &py;
            let error = variances[k] * relation - &back * &p * back.transpose();
            let combinations: Vec<Combination> = (0..count)
                .map(|one| Combination::new().with_random(k, one, 1.0))
                .collect();
            let combined = model.combine(&components, 0, &combinations).unwrap();
            for one in 0..count {
                near(combined.estimate(one).value, prediction[(one, 0)], 1e-8);
                near(solution.random(k, one, 0).error_variance, error[(one, one)], 1e-8);
                for other in 0..one {
                    near(combined.covariance(one, other), error[(one, other)], 1e-8);
                }
            }
        }
    }
}

/// A climb ends where the likelihood falls off in every direction: variances, correlations, environments.
#[test]
fn estimates_stand_at_the_top() {
    let mut rng = Rng::with_seed(1996);
    let mut normal = || (0..12).map(|_| rng.f64()).sum::<f64>() - 6.0;
    let (rows, columns) = (9, 14);
    let (mut field, n) = (vec![0.0; rows * columns], rows * columns);
    for place in 0..n {
        let (row, column) = (place / columns, place % columns);
        let at = |r: usize, c: usize| field[r * columns + c];
        let above = if row > 0 {
            0.6 * at(row - 1, column)
        } else {
            0.0
        };
        let left = if column > 0 {
            0.7 * at(row, column - 1)
        } else {
            0.0
        };
        let corner = if row > 0 && column > 0 {
            0.42 * at(row - 1, column - 1)
        } else {
            0.0
        };
        field[place] = above + left - corner + 0.6 * normal();
    }
    let clone: Vec<usize> = (0..n).map(|place| place * 5 % 21).collect();
    let effect: Vec<f64> = (0..21).map(|_| normal()).collect();
    let values = (0..n)
        .map(|p| Some(effect[clone[p]] + field[p] + 0.5 * normal()))
        .collect();
    let place: Vec<usize> = (0..n).collect();
    let model = Model::new(
        Observations::single(values).unwrap(),
        vec![FixedEffect::mean(n)],
        vec![
            RandomEffect::independent(Role::Clonal, &clone, 21),
            RandomEffect::related(
                Role::Other,
                &place,
                Relationship::grid(rows, columns).unwrap(),
            ),
        ],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    let top = fit.minus_two_log_likelihood();
    let at = |components: &Components| model.solve(components).unwrap().minus_two_log_likelihood();
    near(at(fit.components()), top, 1e-8);
    for by in [-1e-3, 1e-3] {
        for index in 0..2 {
            let mut moved = fit.components().clone();
            moved.shapes[1][index] += by;
            assert!(at(&moved) > top);
        }
        for k in 0..3 {
            let mut moved = fit.components().clone();
            let matrix = if k < 2 {
                &mut moved.effects[k]
            } else {
                &mut moved.residuals[0]
            };
            matrix.set(0, 0, matrix.get(0, 0) * (1.0 + 10.0 * by));
            assert!(at(&moved) > top);
        }
    }
}
