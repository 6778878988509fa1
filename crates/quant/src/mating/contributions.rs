//! Optimal contributions of parents: the most gain at a limited coancestry.

use faer::Mat;

use super::cone::{Program, Terms};
use super::problem::{MatingError, root_of};

/// What each parent should give to the next generation.
#[derive(Clone, Debug, PartialEq)]
pub struct Contributions {
    /// Its share, from 0.
    pub shares: Vec<f64>,
    /// The mean value of the next generation.
    pub gain: f64,
    /// Its mean coancestry.
    pub coancestry: f64,
}

/// The shares c of parents that maximise c'g while c'Kc is at most `limit`, those of each group of parents adding up
/// to what is given for it, such as one half for females and one half for males.
///
/// Meuwissen (1997), J. Anim. Sci. 75:934-940, there with the relationship A = 2K, solved as a second-order cone
/// program so that no share falls below 0. With no limit (infinity) the best parents give all; as the limit falls
/// to the least coancestry there is, values cease to matter.
///
/// # Errors
/// Kinships of no plants, groups that name what is not there, or a limit below the least coancestry.
pub fn optimal_contributions(
    values: &[f64],
    kinship: &Mat<f64>,
    groups: &[(Vec<usize>, f64)],
    limit: f64,
) -> Result<Contributions, MatingError> {
    let size = values.len();
    if kinship.nrows() != size {
        return Err(MatingError::Kinship);
    }
    if groups
        .iter()
        .flat_map(|group| &group.0)
        .any(|&parent| parent >= size)
    {
        return Err(MatingError::Missing);
    }
    if limit.is_nan() || values.iter().any(|value| !value.is_finite()) {
        return Err(MatingError::Figure);
    }
    let root = root_of(kinship)?;
    let mut program = Program::new(values.iter().map(|value| -value).collect());
    for (members, share) in groups {
        let terms: Terms = members.iter().map(|&parent| (parent, 1.0)).collect();
        program.equal(&terms, *share);
    }
    for parent in 0..size {
        program.at_most(&[(parent, -1.0)], 0.0);
    }
    if limit.is_finite() {
        program.cone(&[], limit.max(0.0).sqrt(), &rows_of(&root));
    }
    let solved = program.solve().ok_or(MatingError::Nothing)?;
    let shares: Vec<f64> = solved
        .variables
        .iter()
        .map(|share| share.max(0.0))
        .collect();
    let gain = values
        .iter()
        .zip(&shares)
        .map(|(value, share)| value * share)
        .sum();
    let coancestry = (0..size)
        .flat_map(|i| (0..size).map(move |j| (i, j)))
        .map(|(i, j)| shares[i] * kinship[(i, j)] * shares[j])
        .sum();
    Ok(Contributions {
        shares,
        gain,
        coancestry,
    })
}

/// The rows of R as terms in variables of the same numbers.
pub(super) fn rows_of(root: &Mat<f64>) -> Vec<Terms> {
    (0..root.nrows())
        .map(|row| {
            (0..root.ncols())
                .map(|column| (column, root[(row, column)]))
                .collect()
        })
        .collect()
}

/// Coancestries of plants, each with each.
pub type Coancestries = Mat<f64>;

/// Coancestries K' that contributions x of some plants are weighed with, so that x'K'x, x summing to 1, is the mean
/// coancestry of a generation of which `share` comes of x and the rest is given: by plants `given`, summing to 1, with
/// coancestries `with` the plants of x (a row each of these) and `among` themselves. `own` are those of the plants of x.
///
/// # Panics
/// If the sizes don't fit together.
pub fn with_given(
    own: &Coancestries,
    with: &Coancestries,
    among: &Coancestries,
    given: &[f64],
    share: f64,
) -> Coancestries {
    let rest = 1.0 - share;
    let to_given: Vec<f64> = (0..own.nrows())
        .map(|row| {
            let each = given.iter().enumerate();
            each.map(|(place, given)| with[(row, place)] * given).sum()
        })
        .collect();
    let mut of_given = 0.0;
    for (i, one) in given.iter().enumerate() {
        for (j, other) in given.iter().enumerate() {
            of_given += one * other * among[(i, j)];
        }
    }
    Mat::from_fn(own.nrows(), own.ncols(), |i, j| {
        share * share * own[(i, j)]
            + share * rest * (to_given[i] + to_given[j])
            + rest * rest * of_given
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, expected: f64) {
        assert!((found - expected).abs() < 1e-6, "{found} is not {expected}");
    }

    /// Meuwissen (1997): three unrelated plants that are not inbred, K = I/2, g = (1, ½, 0), c'Kc ≤ 0.20. In closed
    /// form c = 1/3 + t (½, 0, -½) with c'c = 1/3 + t²/2 = 0.4; recomputed by hand, no published example was found.
    #[test]
    fn closed_form_of_three_unrelated_plants() {
        let kinship = Mat::from_fn(3, 3, |i, j| if i == j { 0.5 } else { 0.0 });
        let all = [(vec![0, 1, 2], 1.0)];
        let found = optimal_contributions(&[1.0, 0.5, 0.0], &kinship, &all, 0.2).unwrap();
        for (share, expected) in found.shares.iter().zip([0.515908, 0.333333, 0.150759]) {
            close(*share, expected);
        }
        close(found.gain, 0.682574);
        close(found.coancestry, 0.2);
        let refused = optimal_contributions(&[1.0, 0.5, 0.0], &kinship, &all, 0.16);
        assert_eq!(refused, Err(MatingError::Nothing));
        let free = optimal_contributions(&[1.0, 0.5, 0.0], &kinship, &all, f64::INFINITY).unwrap();
        close(free.gain, 1.0);
    }

    /// Two females and two males, unrelated: each sex gives one half whatever the values; at the least coancestry
    /// there is, 4 · ¼² · ½ = 1/8, all give a quarter.
    #[test]
    fn each_sex_gives_one_half() {
        let kinship = Mat::from_fn(4, 4, |i, j| if i == j { 0.5 } else { 0.0 });
        let sexes = [(vec![0, 1], 0.5), (vec![2, 3], 0.5)];
        let values = [3.0, 0.0, 1.0, 0.0];
        let even = optimal_contributions(&values, &kinship, &sexes, 0.125 + 1e-9).unwrap();
        assert!(
            even.shares.iter().all(|share| (share - 0.25).abs() < 1e-3),
            "{even:?}"
        );
        let wide = optimal_contributions(&values, &kinship, &sexes, 0.2).unwrap();
        close(wide.shares[0] + wide.shares[1], 0.5);
        close(wide.shares[2] + wide.shares[3], 0.5);
        assert!(wide.shares[0] > wide.shares[2] && wide.shares[2] > 0.25);
    }
}
