//! The layout of a trial.

use super::tables::{CommandResult, Sheet};
use quant::design::{Design, Request, Shape, design};
use std::io::Write;
use std::path::Path;

/// Exchanges tried for up to 200 plots; each costs more with more plots, so that fewer are tried.
const TRIES: usize = 1_000_000;
/// More plots than this are refused: a slip of the finger, not a trial.
const MOST_PLOTS: f64 = 5000.0;

/// What is asked for.
pub(super) struct Wanted<'a> {
    pub(super) entries: usize,
    pub(super) replicates: f64,
    pub(super) block_size: Option<usize>,
    pub(super) grid: Option<(usize, usize)>,
    pub(super) missing: &'a [String],
    pub(super) checks: usize,
    pub(super) seed: u64,
    pub(super) to: Option<&'a Path>,
}

pub(super) fn run(
    wanted: &Wanted<'_>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> CommandResult<u8> {
    let request = request(wanted)?;
    let made = design(&request).map_err(|why| format!("No layout: {why}."))?;
    let mut sheet = Sheet::new(&["replicate", "block", "row", "column", "plot", "entry"])?;
    for (place, plot) in made.plots.iter().enumerate() {
        let numbers = [
            plot.replicate,
            plot.block,
            plot.row,
            plot.column,
            place,
            plot.entry,
        ];
        for number in numbers {
            sheet.text(&(number + 1).to_string())?;
        }
        sheet.end_row()?;
    }
    sheet.deliver(wanted.to, &[], out)?;
    tell(&request, &made, err).map_err(|error| format!("the output can't be written: {error}."))?;
    Ok(0)
}

fn request(wanted: &Wanted<'_>) -> CommandResult<Request> {
    let Wanted {
        entries,
        replicates,
        ..
    } = *wanted;
    if !(replicates.is_finite() && replicates >= 1.0) {
        return Err(format!(
            "--replicates {replicates} is no number of replicates. Give 1 or more, such as 3, or 1.25 for a quarter of the entries twice."
        ));
    }
    if entries as f64 * replicates > MOST_PLOTS {
        return Err(format!(
            "--entries {entries} with --replicates {replicates} would be more than {MOST_PLOTS} plots. Give smaller numbers."
        ));
    }
    if wanted.checks as f64 > MOST_PLOTS {
        return Err(format!(
            "--checks {} would be more than {MOST_PLOTS} plots. Give a smaller number.",
            wanted.checks
        ));
    }
    if let Some((rows, columns)) = wanted.grid
        && rows as f64 * columns as f64 > MOST_PLOTS
    {
        return Err(format!(
            "--rows {rows} with --columns {columns} would be more than {MOST_PLOTS} plots. Give smaller numbers."
        ));
    }
    let shape = match (wanted.block_size, wanted.grid) {
        (Some(size), _) => Shape::Blocks(size),
        (None, Some((rows, columns))) => Shape::Grid {
            rows,
            columns,
            missing: wanted
                .missing
                .iter()
                .map(|text| position(text))
                .collect::<CommandResult<_>>()?,
        },
        (None, None) => Shape::Complete,
    };
    let whole = replicates.floor();
    let once_more = ((replicates - whole) * entries as f64).round() as usize;
    let plots = entries as f64 * replicates + wanted.checks as f64;
    let tries = (TRIES as f64 * (200.0 / plots.max(200.0))).max(200_000.0);
    Ok(Request {
        entries,
        replicates: whole as usize,
        once_more,
        checks: wanted.checks,
        shape,
        seed: wanted.seed,
        tries: tries as u64,
    })
}

/// Row and column, counted from 1, such as 3:5.
fn position(text: &str) -> CommandResult<(usize, usize)> {
    let number = |part: &str| {
        part.trim()
            .parse::<usize>()
            .ok()
            .and_then(|number| number.checked_sub(1))
    };
    text.split_once(':')
        .and_then(|(row, column)| number(row).zip(number(column)))
        .ok_or_else(|| {
            format!(
                "--missing {text} is no position. Give row and column, counted from 1, such as 3:5."
            )
        })
}

/// Efficiency, its bound, and what the numbers of the entries mean.
fn tell(request: &Request, made: &Design, err: &mut dyn Write) -> std::io::Result<()> {
    if let Some(average) = made.efficiency.average {
        writeln!(
            err,
            "efficiency {average:.6}\nbound {:.6}",
            made.efficiency.bound
        )?;
    }
    let ground = match (&request.shape, made.nuisance.random) {
        (Shape::Complete, _) => "complete blocks",
        (Shape::Blocks(_), false) => "blocks within replicates taken out",
        (Shape::Blocks(_), true) => "blocks with the variance of a plot taken out",
        (Shape::Grid { .. }, false) => "rows and columns taken out",
        (Shape::Grid { .. }, true) => "rows and columns with the variance of a plot taken out",
    };
    writeln!(
        err,
        "{} plots, seed {}: {ground}.",
        made.plots.len(),
        request.seed
    )?;
    if request.once_more > 0 {
        writeln!(
            err,
            "Entries 1 to {} appear once more than the others.",
            request.once_more
        )?;
    }
    match request.checks {
        0 => Ok(()),
        1 => writeln!(err, "Entry {} is the check.", request.entries + 1),
        checks => writeln!(
            err,
            "Entries {} to {} are the checks.",
            request.entries + 1,
            request.entries + checks
        ),
    }
}
