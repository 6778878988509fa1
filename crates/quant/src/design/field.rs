//! The plots of a trial, where they lie, and which of them are compared within what.

use super::efficiency::Nuisance;

/// Where a plot lies, all from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) replicate: usize,
    pub(super) block: usize,
    pub(super) row: usize,
    pub(super) column: usize,
}

/// The plots in the order they are walked: along the first row, back along the second, and so on.
#[derive(Clone, Debug)]
pub(super) struct Field {
    pub(super) places: Vec<Place>,
}

impl Field {
    /// Blocks of these sizes, one a row of the field; the first index is the replicate.
    pub(super) fn of_blocks(sizes: &[Vec<usize>]) -> Self {
        let mut places = Vec::new();
        let mut row = 0;
        for (replicate, blocks) in sizes.iter().enumerate() {
            for (block, &size) in blocks.iter().enumerate() {
                places.extend(walk(row, size).map(|column| Place {
                    replicate,
                    block,
                    row,
                    column,
                }));
                row += 1;
            }
        }
        Self { places }
    }

    /// A field of rows and columns without the `missing` positions, cut into replicates that are rectangles of
    /// `shape` (rows, columns).
    pub(super) fn of_tiles(rows: usize, columns: usize, shape: (usize, usize)) -> Self {
        let across = columns / shape.1;
        let replicate = |row: usize, column: usize| row / shape.0 * across + column / shape.1;
        Self::of_grid(rows, columns, &[], replicate)
    }

    /// A field of rows and columns, cut into stretches of so many plots along the shorter side.
    pub(super) fn of_stretches(
        rows: usize,
        columns: usize,
        missing: &[(usize, usize)],
        stretch: usize,
    ) -> Self {
        let mut field = Self::of_grid(rows, columns, missing, |_, _| 0);
        let mut order: Vec<usize> = (0..field.places.len()).collect();
        if rows < columns {
            order.sort_by_key(|&plot| {
                let Place { row, column, .. } = field.places[plot];
                (column, if column % 2 == 0 { row } else { rows - row })
            });
        }
        for (nth, &plot) in order.iter().enumerate() {
            field.places[plot].replicate = nth / stretch;
        }
        field
    }

    fn of_grid(
        rows: usize,
        columns: usize,
        missing: &[(usize, usize)],
        replicate: impl Fn(usize, usize) -> usize,
    ) -> Self {
        let mut places = Vec::with_capacity(rows * columns);
        for row in 0..rows {
            places.extend(
                walk(row, columns)
                    .filter(|&column| !missing.contains(&(row, column)))
                    .map(|column| Place {
                        replicate: replicate(row, column),
                        block: 0,
                        row,
                        column,
                    }),
            );
        }
        Self { places }
    }

    pub(super) fn len(&self) -> usize {
        self.places.len()
    }

    pub(super) fn replicates(&self) -> Vec<usize> {
        self.places.iter().map(|place| place.replicate).collect()
    }

    /// Every block is compared within itself.
    pub(super) fn blocks(&self) -> Nuisance {
        // One block is one row.
        let of_plot: Vec<usize> = self.places.iter().map(|place| place.row).collect();
        Nuisance::blocks(&of_plot)
    }

    /// The rows and columns of every replicate.
    pub(super) fn rows_and_columns_within(&self, shape: (usize, usize)) -> Nuisance {
        let lines = shape.0 + shape.1;
        let groups = self.places.iter().map(|place| {
            let first = place.replicate * lines;
            vec![
                first + place.row % shape.0,
                first + shape.0 + place.column % shape.1,
            ]
        });
        Nuisance {
            groups: groups.collect(),
            count: lines * (1 + self.replicates().iter().max().map_or(0, |&most| most)),
            random: false,
        }
    }

    /// Replicates, and the rows and columns of the whole field.
    pub(super) fn rows_and_columns(&self, random: bool) -> Nuisance {
        let most = |of: fn(&Place) -> usize| 1 + self.places.iter().map(of).max().unwrap_or(0);
        let (replicates, rows) = (most(|place| place.replicate), most(|place| place.row));
        let groups = self.places.iter().map(|place| {
            vec![
                place.replicate,
                replicates + place.row,
                replicates + rows + place.column,
            ]
        });
        Nuisance {
            groups: groups.collect(),
            count: replicates + rows + most(|place| place.column),
            random,
        }
    }

    /// The plots beside each plot: before and behind it in its column, left and right in its row, and those walked
    /// just before and after it.
    pub(super) fn neighbours(&self) -> Vec<Vec<usize>> {
        let at: std::collections::HashMap<(usize, usize), usize> = self
            .places
            .iter()
            .enumerate()
            .map(|(plot, place)| ((place.row, place.column), plot))
            .collect();
        let mut beside = vec![Vec::new(); self.len()];
        let mut join = |one: usize, other: usize| {
            if !beside[one].contains(&other) {
                beside[one].push(other);
                beside[other].push(one);
            }
        };
        for (plot, place) in self.places.iter().enumerate() {
            if plot > 0 {
                join(plot, plot - 1);
            }
            for next in [(place.row + 1, place.column), (place.row, place.column + 1)] {
                if let Some(&other) = at.get(&next) {
                    join(plot, other);
                }
            }
        }
        beside
    }
}

/// The columns of a row in the order they are walked.
fn walk(row: usize, columns: usize) -> impl Iterator<Item = usize> {
    (0..columns).map(move |step| {
        if row.is_multiple_of(2) {
            step
        } else {
            columns - 1 - step
        }
    })
}
