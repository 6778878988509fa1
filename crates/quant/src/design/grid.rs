//! Layouts in rows and columns.

use super::checks::spread;
use super::efficiency::Nuisance;
use super::field::Field;
use super::ground::{Ground, free};
use super::latin::latin_square;
use super::request::{ATTEMPTS, Design, DesignError, Request, STARTS, finish, pairs, plots_by};
use super::search::{MOST_WORK, Search};
use fastrand::Rng;

/// Exchanges tried to find out whether anything hangs together at all.
const BRIEF_TRIES: u64 = 20_000;

/// Lays out rows and columns.
pub(super) fn in_grid(
    request: &Request,
    rows: usize,
    columns: usize,
    missing: &[(usize, usize)],
    random: &mut Rng,
) -> Result<Design, DesignError> {
    if missing
        .iter()
        .any(|&(row, column)| row >= rows || column >= columns)
    {
        return Err(DesignError::Missing);
    }
    let mut gaps = missing.to_vec();
    gaps.sort_unstable();
    gaps.dedup();
    let there = rows * columns - gaps.len();
    let (all, replicates) = (request.all(), request.replicates);
    let resolvable = request.resolvable();
    let needed = if resolvable {
        all * replicates
    } else {
        request.tested() + request.checks
    };
    // Rows and columns may be those of one replicate: then replicates lie one behind the other.
    let (rows, there) = if resolvable && gaps.is_empty() && there == all {
        (rows * replicates, there * replicates)
    } else {
        (rows, there)
    };
    if there < needed || (resolvable || request.checks == 0) && there > needed {
        return Err(DesignError::Plots { there, needed });
    }
    let square = resolvable
        && request.checks == 0
        && gaps.is_empty()
        && [rows, columns, replicates].iter().all(|&side| side == all);
    if square {
        let field = Field::of_tiles(rows, columns, (1, columns));
        let drawn = latin_square(all, random);
        let entries = field
            .places
            .iter()
            .map(|place| drawn[place.row][place.column])
            .collect();
        let ground = (Ground::LatinSquare, field.rows_and_columns(false));
        return finish(request, &field, ground, entries, random);
    }
    let shape = tile(all, rows, columns).filter(|_| resolvable && gaps.is_empty());
    let stretch = if resolvable { all } else { there };
    let field = match shape {
        Some(shape) => Field::of_tiles(rows, columns, shape),
        None => Field::of_stretches(rows, columns, &gaps, stretch),
    };
    // Rows and columns within replicates where those leave entries and error to tell, else those of the whole field, else
    // those as random effects: by the degrees of freedom, which no seed changes.
    let leaves_error = |nuisance: &Nuisance| free(field.len(), nuisance, all) > 0;
    let within = shape
        .filter(|shape| shape.0 > 1 && shape.1 > 1)
        .map(|shape| field.rows_and_columns_within(shape))
        .filter(leaves_error);
    let whole = resolvable
        .then(|| field.rows_and_columns(false))
        .filter(leaves_error);
    let fixed = [
        (Ground::LinesOfReplicates, within),
        (Ground::LinesOfField, whole),
    ];
    for (name, nuisance) in fixed {
        let Some(ground) = nuisance.map(|nuisance| (name, nuisance)) else {
            continue;
        };
        let known = if free(field.len(), &ground.1, all) >= all {
            None
        } else {
            // Where little is left, arrangements that hang together may be few, or none: that is found out in a way that
            // no seed changes.
            let brief = Request {
                tries: request.tries.min(BRIEF_TRIES),
                ..request.clone()
            };
            match on_grid(&brief, &field, &ground, &mut Rng::with_seed(0)) {
                Err(DesignError::Apart) => continue,
                found => found.ok(),
            }
        };
        return match (on_grid(request, &field, &ground, random), known) {
            (Err(DesignError::Apart), Some(known)) => {
                let entries = known.plots.iter().map(|plot| plot.entry).collect();
                finish(request, &field, ground, entries, random)
            }
            (found, _) => found,
        };
    }
    let ground = (Ground::RandomLines, field.rows_and_columns(true));
    on_grid(request, &field, &ground, random)
}

/// The rectangle of so many plots, as square as can be, that fills a field without rest.
fn tile(plots: usize, rows: usize, columns: usize) -> Option<(usize, usize)> {
    (1..=rows)
        .filter(|&high| rows.is_multiple_of(high) && plots.is_multiple_of(high))
        .map(|high| (high, plots / high))
        .filter(|&(_, wide)| wide <= columns && columns.is_multiple_of(wide))
        .min_by_key(|&(high, wide)| high.abs_diff(wide))
}

fn on_grid(
    request: &Request,
    field: &Field,
    ground: &(Ground, Nuisance),
    random: &mut Rng,
) -> Result<Design, DesignError> {
    let neighbours = field.neighbours();
    let within = plots_by(field, |plot| field.places[plot].replicate);
    let mut why = DesignError::Apart;
    let mut work = MOST_WORK;
    for _ in 0..ATTEMPTS {
        // Checks first, spread; entries are exchanged with entries and checks with checks.
        let mut is_check = vec![false; field.len()];
        for plots in &within {
            let count = if request.resolvable() {
                request.checks
            } else {
                field.len() - request.tested()
            };
            for plot in spread(field, &neighbours, plots, count, &is_check, random) {
                is_check[plot] = true;
            }
        }
        let starts = (0..grid_starts(field.len()))
            .map(|_| drawn_on_grid(request, &within, &is_check, random))
            .collect();
        let search = Search {
            nuisance: &ground.1,
            count: request.all(),
            pairs: pairs(&within, |one, other| is_check[one] == is_check[other]),
            neighbours: neighbours.clone(),
            tries: request.tries,
            work,
            replicate: request.resolvable().then(|| field.replicates()),
        };
        work /= 2.0;
        let Some(entries) = search.run(starts, random) else {
            continue;
        };
        if super::neighbours::alike(&entries, &neighbours) > 0 {
            why = DesignError::Beside;
            continue;
        }
        return finish(request, field, ground.clone(), entries, random);
    }
    Err(why)
}

/// Chance starts on a grid: many on a small one, where most exchanges lead into arrangements that fall apart.
fn grid_starts(plots: usize) -> usize {
    if plots <= 60 { 40 } else { STARTS }
}

fn drawn_on_grid(
    request: &Request,
    within: &[Vec<usize>],
    is_check: &[bool],
    random: &mut Rng,
) -> Vec<usize> {
    let mut held = vec![0; is_check.len()];
    let mut whole = request.entries_on_plots();
    for plots in within {
        if request.resolvable() {
            whole = (0..request.entries).collect();
        }
        random.shuffle(&mut whole);
        let mut tested = whole.iter();
        let first = random.usize(..request.checks.max(1));
        let mut checks = (0..).map(|nth| request.entries + (first + nth) % request.checks.max(1));
        let mut order = plots.clone();
        random.shuffle(&mut order);
        for plot in order {
            held[plot] = if is_check[plot] {
                checks.next().unwrap_or(0)
            } else {
                tested.next().copied().unwrap_or(0)
            };
        }
    }
    held
}
