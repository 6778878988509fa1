//! A layout for what is asked.

use super::grid::in_grid;
use super::request::{Design, DesignError, Request, Shape, in_blocks};
use fastrand::Rng;

/// The most entries and checks that are compared within blocks, rows or columns: the work grows with their third power.
const MOST_COMPARED: usize = 1500;

/// Lays out a trial. The same request gives the same layout.
///
/// # Errors
/// See [`DesignError`].
pub fn design(request: &Request) -> Result<Design, DesignError> {
    let Request {
        entries,
        replicates,
        once_more,
        checks,
        ..
    } = *request;
    if entries == 0 || entries.saturating_add(checks) < 2 || replicates == 0 {
        return Err(DesignError::Nothing);
    }
    if once_more > entries {
        return Err(DesignError::OnceMore);
    }
    let all = entries.saturating_add(checks);
    if all > MOST_COMPARED {
        return Err(DesignError::Many {
            entries: all,
            most: MOST_COMPARED,
        });
    }
    let mut random = Rng::with_seed(request.seed);
    match &request.shape {
        _ if once_more == 0
            && replicates == 1
            && checks == 0
            && request.shape != Shape::Complete =>
        {
            Err(DesignError::Apart)
        }
        Shape::Grid {
            rows,
            columns,
            missing,
        } => in_grid(request, *rows, *columns, missing, &mut random),
        Shape::Complete => in_blocks(request, usize::MAX, &mut random),
        Shape::Blocks(size) => in_blocks(request, *size, &mut random),
    }
}

#[cfg(test)]
mod tests {
    use super::super::ground::Ground;
    use super::*;

    /// Columns of two plots leave most arrangements in parts that can't be compared: the search must find its way out.
    /// Chance arrangements alone reach .374, .366, .389 and .367.
    #[test]
    fn narrow_replicates_are_no_worse_than_chance() {
        let cases = [(10, 5, 0.374), (6, 3, 0.366), (8, 4, 0.389), (12, 6, 0.367)];
        for (entries, rows, chance) in cases {
            for seed in 1..=4 {
                let made = design(&Request {
                    entries,
                    replicates: 3,
                    once_more: 0,
                    checks: 0,
                    shape: Shape::Grid {
                        rows,
                        columns: 2,
                        missing: Vec::new(),
                    },
                    seed,
                    tries: 200_000,
                })
                .unwrap();
                let reached = made.efficiency.average.unwrap();
                assert!(
                    reached > chance - 0.001,
                    "{entries} on {rows} × 2, seed {seed}: {reached}"
                );
            }
        }
    }

    /// What is taken out of the ground is the same for every seed, and chosen so that it leaves an error where it can.
    #[test]
    fn no_seed_changes_what_is_taken_out() {
        let cases = [
            (8, 3, 4, 2, Ground::LinesOfReplicates),
            (10, 2, 5, 2, Ground::RandomLines),
            (4, 3, 2, 2, Ground::LinesOfField),
            (12, 3, 4, 3, Ground::LinesOfReplicates),
        ];
        for (entries, replicates, rows, columns, ground) in cases {
            for seed in 0..12 {
                let made = design(&Request {
                    entries,
                    replicates,
                    once_more: 0,
                    checks: 0,
                    shape: Shape::Grid {
                        rows,
                        columns,
                        missing: Vec::new(),
                    },
                    seed,
                    tries: 20_000,
                })
                .unwrap();
                let found = (made.ground, made.error_degrees_of_freedom() > 0);
                assert_eq!(found, (ground, true), "{entries} on {rows} × {columns}");
            }
        }
    }
}
