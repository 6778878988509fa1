//! Errors that calculate with the variances being estimates: against published values and dense formulas.

use faer::prelude::Solve as _;
use faer::{Mat, Side};
use fastrand::Rng;
use proptest::prelude::*;
use quant::evaluation::{
    Combination, FixedEffect, Model, Observations, RandomEffect, Residual, Role,
};

use crate::table::{Table, adjusted, near};

/// Oats of Yates (1935, Supplement to the Journal of the Royal Statistical Society 2:181–247), the values of `nlme::Oats`,
/// in which the vignette 'sophisticated' of the R package emmeans (R. V. Lenth, edition of 25 February 2018 on CRAN) leaves
/// out nine plots and prints errors and degrees of freedom after Kenward & Roger, and, by Satterthwaite alone, errors that
/// are smaller.
#[test]
fn oats_of_yates_with_lost_plots() {
    let mut table = Table::read("yates.oats.csv");
    let lost = [1, 2, 3, 5, 8, 13, 21, 34, 55];
    let mut row = 0;
    table.rows.retain(|_| {
        row += 1;
        !lost.contains(&row)
    });
    let model = Model::new(
        table.observed("yield"),
        vec![table.fixed(&["nitrogen"]), table.fixed(&["variety"])],
        vec![
            table.random(&["block"]),
            table.random(&["block", "variety"]),
        ],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    let nitrogen = adjusted(4, &[3]);
    let errors = model.small_sample(&fit, &nitrogen).unwrap().unwrap();
    let plain = model.combine(fit.components(), 0, &nitrogen).unwrap();
    for (level, (mean, error, degrees, satterthwaite)) in [
        (78.89207, 7.294379, 7.78, 7.28),
        (97.03425, 7.136271, 7.19, 7.13),
        (114.19816, 7.136186, 7.19, 7.13),
        (124.06857, 7.070235, 6.95, 7.07),
    ]
    .into_iter()
    .enumerate()
    {
        let own = plain.estimate(level);
        near(own.value, mean, 2e-5);
        near(errors.covariance(level, level).sqrt(), error, 2e-5);
        near(errors.degrees_of_freedom(level), degrees, 0.005);
        near(own.standard_error, satterthwaite, 0.005);
    }
    // The same vignette, edition of 2025: varieties against each other.
    let of_varieties: Vec<Combination> = (0..3)
        .map(|variety| Combination::new().with_fixed(1, variety, 1.0))
        .collect();
    let errors = model.small_sample(&fit, &of_varieties).unwrap().unwrap();
    for (one, other, error, degrees) in [(0, 1, 6.55, 9.56), (0, 2, 6.71, 9.80), (1, 2, 6.67, 9.80)]
    {
        near(
            errors.variance_of_difference(one, other).sqrt(),
            error,
            0.005,
        );
        near(
            errors.degrees_of_freedom_of_difference(one, other),
            degrees,
            0.005,
        );
    }
}

fn inverse(matrix: &Mat<f64>) -> Mat<f64> {
    let factor = matrix.llt(Side::Lower).unwrap();
    factor.solve(Mat::<f64>::identity(matrix.nrows(), matrix.nrows()))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// The formulas of Kenward & Roger (1997) with dense V, `P_i = −X′V⁻¹V_iV⁻¹X` and `Q_ij = X′V⁻¹V_iV⁻¹V_jV⁻¹X`; W is
    /// the inverse of the expected information of all variances, those estimated as 0 among them.
    #[test]
    fn adjusted_errors_agree_with_dense_formulas(
        seed in any::<u64>(),
        two_terms in any::<bool>(),
        two_environments in any::<bool>(),
    ) {
        let mut rng = Rng::with_seed(seed);
        let n = 40;
        let mut levels = |count: usize| -> Vec<usize> {
            (0..n).map(|r| if r < count { r } else { rng.usize(..count) }).collect()
        };
        let entry = levels(6);
        let mut terms = vec![(levels(7), 7)];
        if two_terms {
            terms.push((levels(5), 5));
        }
        let environment: Vec<usize> = (0..n).map(|r| if two_environments { r % 2 } else { 0 }).collect();
        let parts = if two_environments { 2 } else { 1 };
        let block: Vec<f64> = (0..7).map(|_| 3.0 * rng.f64()).collect();
        let values: Vec<f64> = (0..n).map(|r| block[terms[0].0[r]] + rng.f64() + rng.f64()).collect();
        let random = terms
            .iter()
            .map(|(level, count)| RandomEffect::independent(Role::Other, level, *count))
            .collect();
        let model = Model::with_residual(
            Observations::single(values.iter().copied().map(Some).collect()).unwrap(),
            vec![FixedEffect::Factor { level: entry.clone(), levels: 6 }],
            random,
            Residual::by_environment(&environment, parts),
        )
        .unwrap();
        let Ok(fit) = model.estimate() else { return Ok(()); };
        prop_assume!((0..parts).all(|part| !fit.residual_is_zero(part)));
        let means: Vec<Combination> = (0..6)
            .map(|one| Combination::new().with_fixed(0, one, 1.0))
            .collect();
        let errors = model.small_sample(&fit, &means).unwrap().unwrap();

        let components = fit.components();
        let mut slopes: Vec<Mat<f64>> = terms
            .iter()
            .map(|(level, _)| Mat::from_fn(n, n, |i, j| f64::from(u8::from(level[i] == level[j]))))
            .collect();
        slopes.extend((0..parts).map(|part| {
            Mat::from_fn(n, n, |i, j| f64::from(u8::from(i == j && environment[i] == part)))
        }));
        let mut v = Mat::<f64>::zeros(n, n);
        for (k, slope) in slopes.iter().enumerate() {
            v += components.get(k).get(0, 0) * slope;
        }
        let vi = inverse(&v);
        let x = Mat::from_fn(n, 6, |i, j| f64::from(u8::from(entry[i] == j)));
        let phi = inverse(&(x.transpose() * &vi * &x));
        let p = &vi - &vi * &x * &phi * x.transpose() * &vi;
        let count = slopes.len();
        let trace = |m: Mat<f64>| (0..m.nrows()).map(|i| m[(i, i)]).sum::<f64>();
        let information = Mat::from_fn(count, count, |i, j| {
            0.5 * trace(&p * &slopes[i] * &p * &slopes[j])
        });
        let w = inverse(&information);
        let pi: Vec<Mat<f64>> = slopes
            .iter()
            .map(|s| -1.0 * (x.transpose() * &vi * s * &vi * &x))
            .collect();
        let mut inner = Mat::<f64>::zeros(6, 6);
        for i in 0..count {
            for j in 0..count {
                let q = x.transpose() * &vi * &slopes[i] * &vi * &slopes[j] * &vi * &x;
                inner += w[(i, j)] * (q - &pi[i] * &phi * &pi[j]);
            }
        }
        let whole = &phi + 2.0 * (&phi * inner * &phi);
        for one in 0..6 {
            for other in 0..=one {
                let size = whole[(one, one)].abs();
                near(errors.covariance(one, other), whole[(one, other)], 1e-8 * size.max(1.0));
            }
            let l = |m: &Mat<f64>| m[(one, one)] + m[(0, 0)] - 2.0 * m[(one, 0)];
            if one == 0 {
                continue;
            }
            let g: Vec<f64> = pi.iter().map(|p| l(&(&phi * p * &phi))).collect();
            let spread: f64 = (0..count)
                .flat_map(|i| (0..count).map(move |j| (i, j)))
                .map(|(i, j)| g[i] * g[j] * w[(i, j)])
                .sum();
            let degrees = 2.0 * l(&phi).powi(2) / spread;
            near(errors.degrees_of_freedom_of_difference(one, 0), degrees, 1e-6 * degrees);
            prop_assert!(errors.variance_of_difference(one, 0) >= l(&phi) * (1.0 - 1e-9));
        }
    }
}
