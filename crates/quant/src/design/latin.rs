//! Latin squares drawn by chance.

use fastrand::Rng;

/// A Latin square of this order: row by row, each of 0, 1, … once in each row and each column. Drawn by the walk of
/// Jacobson & Matthews (1996, J. Combin. Designs 4:405–437), whose long run visits all squares equally often; n³ squares
/// are passed, and at least 200.
pub fn latin_square(order: usize, random: &mut Rng) -> Vec<Vec<usize>> {
    if order < 2 {
        return vec![vec![0; order]; order];
    }
    let n = order;
    // The incidence cube: 1 where the row has the symbol in the column. One cell may be -1 on the way.
    let mut cube = vec![0_i8; n * n * n];
    let at = |row: usize, column: usize, symbol: usize| (row * n + column) * n + symbol;
    for row in 0..n {
        for column in 0..n {
            cube[at(row, column, (row + column) % n)] = 1;
        }
    }
    let mut improper: Option<[usize; 3]> = None;
    let mut steps = (n * n * n).max(200);
    // Only proper squares are counted: those between two of them are visited unequally often.
    while steps > 0 || improper.is_some() {
        steps -= usize::from(improper.is_none());
        let [row, column, symbol] = improper.unwrap_or_else(|| {
            loop {
                let cell = [random.usize(..n), random.usize(..n), random.usize(..n)];
                if cube[at(cell[0], cell[1], cell[2])] == 0 {
                    break cell;
                }
            }
        });
        let mut one_of = |is_one: &dyn Fn(usize) -> bool| {
            let found: Vec<usize> = (0..n).filter(|&place| is_one(place)).collect();
            found[random.usize(..found.len())]
        };
        let other_row = one_of(&|place| cube[at(place, column, symbol)] == 1);
        let other_column = one_of(&|place| cube[at(row, place, symbol)] == 1);
        let other_symbol = one_of(&|place| cube[at(row, column, place)] == 1);
        for (cell, by) in [
            ([row, column, symbol], 1),
            ([row, other_column, other_symbol], 1),
            ([other_row, column, other_symbol], 1),
            ([other_row, other_column, symbol], 1),
            ([other_row, column, symbol], -1),
            ([row, other_column, symbol], -1),
            ([row, column, other_symbol], -1),
            ([other_row, other_column, other_symbol], -1),
        ] {
            cube[at(cell[0], cell[1], cell[2])] += by;
        }
        let last = [other_row, other_column, other_symbol];
        improper = (cube[at(last[0], last[1], last[2])] < 0).then_some(last);
    }
    (0..n)
        .map(|row| {
            (0..n)
                .map(|column| {
                    (0..n)
                        .find(|&symbol| cube[at(row, column, symbol)] == 1)
                        .unwrap_or(0)
                })
                .collect()
        })
        .collect()
}
