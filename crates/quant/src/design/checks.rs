//! Where the checks stand in a field of rows and columns: as evenly over rows and columns as can be, none beside
//! another where there is room.

use super::field::Field;
use fastrand::Rng;

/// Moves tried to spread the checks.
const TRIES: usize = 20_000;

/// `count` of the plots in `within`; those already taken elsewhere on the field are told by `chosen`.
pub(super) fn spread(
    field: &Field,
    neighbours: &[Vec<usize>],
    within: &[usize],
    count: usize,
    chosen: &[bool],
    random: &mut Rng,
) -> Vec<usize> {
    let mut plots = within.to_vec();
    random.shuffle(&mut plots);
    if count == 0 || count >= plots.len() {
        plots.truncate(count);
        return plots;
    }
    // The chosen come first.
    let mut chosen = chosen.to_vec();
    let lines = 1 + field
        .places
        .iter()
        .map(|place| place.row.max(place.column))
        .max()
        .unwrap_or(0);
    let (mut rows, mut columns) = (vec![0_i32; lines], vec![0_i32; lines]);
    for &plot in &plots[..count] {
        chosen[plot] = true;
    }
    for plot in (0..field.len()).filter(|&plot| chosen[plot]) {
        rows[field.places[plot].row] += 1;
        columns[field.places[plot].column] += 1;
    }
    // Beside another costs less than standing unevenly, so that it is avoided among even arrangements.
    let beside = |chosen: &[bool], plot: usize| -> f64 {
        neighbours[plot]
            .iter()
            .filter(|&&other| chosen[other])
            .count() as f64
    };
    for step in 0..TRIES {
        let (out, back) = (random.usize(..count), random.usize(count..plots.len()));
        let (old, new) = (plots[out], plots[back]);
        let (from, to) = (field.places[old], field.places[new]);
        let mut change = 0;
        if from.row != to.row {
            change += rows[to.row] - rows[from.row] + 1;
        }
        if from.column != to.column {
            change += columns[to.column] - columns[from.column] + 1;
        }
        chosen[old] = false;
        let touching = beside(&chosen, new) - beside(&chosen, old);
        let rise = f64::from(change) + 0.4 * touching;
        // Cooling lets an uneven arrangement through early on, so that it doesn't get stuck.
        let heat = 1.0 - 1.25 * step as f64 / TRIES as f64;
        if rise <= 0.0 || (heat > 0.0 && random.f64() < (-rise / heat).exp()) {
            chosen[new] = true;
            rows[from.row] -= 1;
            rows[to.row] += 1;
            columns[from.column] -= 1;
            columns[to.column] += 1;
            plots.swap(out, back);
        } else {
            chosen[old] = true;
        }
    }
    plots.truncate(count);
    plots
}
