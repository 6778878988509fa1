//! The layout of a trial.

use super::tables::{CommandResult, Sheet, may_write};
use crate::voice::Voice;
use quant::design::{Design, Ground, Request, Shape, design};
use std::io::Write;
use std::path::Path;

/// Exchanges tried for up to 200 plots. Each takes longer in a larger trial, where fewer are tried.
const TRIES: usize = 1_000_000;
/// More plots than this are refused: a slip of the finger, not a trial.
const MOST_PLOTS: f64 = 5000.0;

/// Below this share of its bound the efficiency of a layout is called poor.
const FAR_BELOW: f64 = 0.85;

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
    err: &mut Voice<'_>,
) -> CommandResult<u8> {
    may_write(wanted.to, &[])?;
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
    // First on the disk beside its place, then the report, and into its place last: nothing is reported that isn't kept.
    let waiting = sheet.stage(wanted.to, &[])?;
    tell(wanted, &request, &made, err)
        .map_err(|error| format!("the output can't be written: {error}."))?;
    waiting.deliver(out)?;
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
            missing: positions(wanted.missing)?,
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

/// Reads positions; refuses one named twice.
fn positions(texts: &[String]) -> CommandResult<Vec<(usize, usize)>> {
    let mut positions = Vec::new();
    for text in texts {
        let found = position(text)?;
        if positions.contains(&found) {
            return Err(format!("--missing {text} is named twice. Name it once."));
        }
        positions.push(found);
    }
    Ok(positions)
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

/// Prints the efficiency, its bound, and which entries are repeated or are checks.
fn tell(
    wanted: &Wanted<'_>,
    request: &Request,
    made: &Design,
    err: &mut Voice<'_>,
) -> std::io::Result<()> {
    let free = made.error_degrees_of_freedom();
    if free == 0 {
        // No efficiency is printed here: it would suggest that entries can be compared.
        writeln!(
            err,
            "With so few plots nothing is left to tell the error by, so that no difference between entries could be judged. Add replicates, or checks that stand several times."
        )?;
    } else if let Some(average) = made.efficiency.average {
        let bound = made.efficiency.bound;
        writeln!(err, "efficiency {average:.6}\nbound {bound:.6}")?;
        if average < FAR_BELOW * bound {
            writeln!(
                err,
                "The efficiency is {:.0} % of its bound, which can't always be reached. Try another --seed, or other blocks, rows and columns.",
                100.0 * average / bound
            )?;
        }
    }
    let asked = wanted.replicates.fract() * wanted.entries as f64;
    if (asked - request.once_more as f64).abs() > 1e-6 {
        let so_that = match request.once_more {
            0 => "none stands once more".to_owned(),
            1 => "1 entry stands once more than the others".to_owned(),
            more => format!("{more} entries stand once more than the others"),
        };
        writeln!(
            err,
            "--replicates {} of {} entries is no whole number of plots: rounded, so that {so_that}.",
            wanted.replicates, wanted.entries
        )?;
    }
    let ground = match made.ground {
        Ground::OneBlock if request.once_more > 0 => {
            "partly replicated in one block, nothing taken out"
        }
        Ground::OneBlock => "one block, nothing taken out",
        Ground::Replicates => "complete blocks, replicates taken out",
        Ground::Blocks if made.resolvable => "blocks within replicates taken out",
        Ground::Blocks => "blocks taken out",
        Ground::RandomBlocks => "blocks taken out, with the variance of a plot",
        Ground::LatinSquare => "a Latin square, rows and columns taken out",
        Ground::LinesOfReplicates => "the rows and columns of each replicate taken out",
        Ground::LinesOfField => "replicates and the rows and columns of the whole field taken out",
        Ground::RandomLines if made.resolvable => {
            "replicates, rows and columns taken out, each with the variance of a plot"
        }
        Ground::RandomLines => "rows and columns taken out, each with the variance of a plot",
    };
    writeln!(
        err,
        "{} plots, seed {}: {ground}.",
        made.plots.len(),
        request.seed
    )?;
    if let (Shape::Blocks(_), Some((least, most))) = (&request.shape, block_sizes(made))
        && least < most
    {
        writeln!(err, "Blocks hold {least} or {most} plots.")?;
    }
    if let Some((meet, blocks)) = meetings(made)
        && matches!(request.shape, Shape::Blocks(_))
    {
        writeln!(
            err,
            "Some pairs of entries share {meet} blocks, others none: blocks that hold more plots than a replicate has blocks ({blocks}) can't avoid it. Smaller blocks would."
        )?;
    }
    match request.once_more {
        0 => {}
        1 => writeln!(err, "Entry 1 appears once more than the others.")?,
        more => writeln!(err, "Entries 1 to {more} appear once more than the others.")?,
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

/// The most blocks that any pair of entries shares, and the blocks of a replicate. `None` unless blocks hold more plots
/// than a replicate has blocks: then some pair meets twice before others meet at all.
fn meetings(made: &Design) -> Option<(usize, usize)> {
    let (_, largest) = block_sizes(made)?;
    let blocks = 1 + made.plots.iter().map(|plot| plot.block).max()?;
    if !made.resolvable || blocks < 2 || largest <= blocks {
        return None;
    }
    let mut held = std::collections::BTreeMap::<(usize, usize), Vec<usize>>::new();
    for plot in &made.plots {
        held.entry((plot.replicate, plot.block))
            .or_default()
            .push(plot.entry);
    }
    let entries = 1 + made.plots.iter().map(|plot| plot.entry).max()?;
    let mut shared = std::collections::HashMap::<(usize, usize), usize>::new();
    for block in held.values() {
        for (nth, &one) in block.iter().enumerate() {
            for &other in &block[..nth] {
                *shared.entry((one.min(other), one.max(other))).or_default() += 1;
            }
        }
    }
    let most = shared.values().copied().max()?;
    let all_meet = shared.len() == entries * (entries - 1) / 2;
    (most > 1 && !all_meet).then_some((most, blocks))
}

/// The plots of the smallest and of the largest block.
fn block_sizes(made: &Design) -> Option<(usize, usize)> {
    let mut sizes = std::collections::BTreeMap::new();
    for plot in &made.plots {
        *sizes.entry((plot.replicate, plot.block)).or_insert(0_usize) += 1;
    }
    Some((
        sizes.values().copied().min()?,
        sizes.values().copied().max()?,
    ))
}
