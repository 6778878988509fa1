//! What a trial should hold, and the layout that is made of it.

use super::alpha::alpha;
use super::efficiency::{Efficiency, Nuisance};
use super::field::Field;
use super::ground::{Ground, free};
use super::neighbours::keep_apart;
use super::search::{MOST_WORK, Search};
use fastrand::Rng;
use std::fmt;

/// Arrangements drawn by chance to start from.
pub(super) const STARTS: usize = 3;
/// How often a layout is tried anew where an entry lay beside itself.
pub(super) const ATTEMPTS: usize = 5;

/// How the ground is laid out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Complete blocks: one for each replicate.
    Complete,
    /// Incomplete blocks of at most so many plots; their sizes differ by one at most.
    Blocks(usize),
    /// Rows and columns.
    Grid {
        /// Rows of the field, or of each replicate where that is what they hold.
        rows: usize,
        /// Columns.
        columns: usize,
        /// Positions (row, column), from 0, where nothing can be planted.
        missing: Vec<(usize, usize)>,
    },
}

/// What a trial should hold.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// Entries to be tested.
    pub entries: usize,
    /// How often each of them stands at least.
    pub replicates: usize,
    /// How many of them, the first ones, stand once more: partly replicated.
    pub once_more: usize,
    /// Checks besides: each in every replicate; where replicates are not complete, in every block; in rows and
    /// columns without complete replicates, on the plots that are left.
    pub checks: usize,
    /// The ground.
    pub shape: Shape,
    /// What chance is drawn from.
    pub seed: u64,
    /// Exchanges to try; more may find better.
    pub tries: u64,
}

/// A plot of a layout, all numbers from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plot {
    /// The replicate; all the same where replicates are not complete.
    pub replicate: usize,
    /// The block within its replicate.
    pub block: usize,
    /// The row of the field.
    pub row: usize,
    /// The column of the field.
    pub column: usize,
    /// The entry; checks follow the entries.
    pub entry: usize,
}

/// A layout.
#[derive(Clone, Debug, PartialEq)]
pub struct Design {
    /// The plots in the order they are walked: along the first row, back along the second.
    pub plots: Vec<Plot>,
    /// How well it compares entries and checks.
    pub efficiency: Efficiency,
    /// What was taken out of the comparisons.
    pub nuisance: Nuisance,
    /// The same by name.
    pub ground: Ground,
    /// True where each entry stands once in each replicate.
    pub resolvable: bool,
}

impl Design {
    /// The degrees of freedom that are left to tell the error of a plot by, once entries and ground are fitted.
    pub fn error_degrees_of_freedom(&self) -> usize {
        let entries = self.efficiency.factors.len() + 1;
        free(self.plots.len(), &self.nuisance, entries)
    }
}

/// Why there is no layout.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DesignError {
    /// Fewer than two entries, or no replicate.
    Nothing,
    /// More entries stand once more than there are.
    OnceMore,
    /// Blocks too small: they hold no two plots, or checks alone.
    Blocks,
    /// The field has so many plots, but so many are needed.
    Plots {
        /// Plots the field has.
        there: usize,
        /// Plots the entries and checks need.
        needed: usize,
    },
    /// A missing position lies outside the field.
    Missing,
    /// More entries and checks than are compared within blocks, rows and columns.
    Many {
        /// How many there are.
        entries: usize,
        /// How many are compared at most.
        most: usize,
    },
    /// Entries could never be compared between blocks, rows or columns: none stands more than once.
    Apart,
    /// No layout was found in which no entry lies beside itself.
    Beside,
}

impl fmt::Display for DesignError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nothing => {
                f.write_str("a trial needs two entries and one replicate at least; ask for more")
            }
            Self::Many { entries, most } => write!(
                f,
                "{entries} entries and checks are more than the {most} that can be compared; split them into several \
                trials with the same checks"
            ),
            Self::OnceMore => f.write_str(
                "more entries should stand once more than there are entries; use one replicate more instead",
            ),
            Self::Blocks => f.write_str(
                "the blocks are too small: each needs two plots, and one besides the checks; make them larger",
            ),
            Self::Plots { there, needed } if there < needed => write!(
                f,
                "the field has {there} plots, but {needed} are needed; add rows or columns, or leave something out"
            ),
            Self::Plots { there, needed } => write!(
                f,
                "the field has {there} plots, but only {needed} are needed; name the positions that stay empty as missing, or leave out rows or columns"
            ),
            Self::Missing => f.write_str(
                "a missing position lies outside the field; rows and columns are counted from the first",
            ),
            Self::Apart => f.write_str(
                "too few plots of an entry stand in different blocks, rows and columns for all to be compared; add checks or replicates",
            ),
            Self::Beside => f.write_str(
                "no layout was found in which no entry lies beside itself; change the rows and columns, or the number of entries",
            ),
        }
    }
}

impl std::error::Error for DesignError {}

impl Request {
    pub(super) fn resolvable(&self) -> bool {
        self.once_more == 0 && (self.replicates > 1 || self.checks == 0)
    }

    pub(super) fn all(&self) -> usize {
        self.entries + self.checks
    }

    /// Plots of the entries, without the checks.
    pub(super) fn tested(&self) -> usize {
        self.entries * self.replicates + self.once_more
    }

    /// Every entry as often as it stands, checks left out.
    pub(super) fn entries_on_plots(&self) -> Vec<usize> {
        let mut list: Vec<usize> = (0..self.replicates).flat_map(|_| 0..self.entries).collect();
        list.extend(0..self.once_more);
        list
    }
}

/// So many parts of a sum, larger ones first, which differ by one at most.
fn parts(sum: usize, count: usize) -> Vec<usize> {
    (0..count)
        .map(|part| sum / count + usize::from(part < sum % count))
        .collect()
}

pub(super) fn in_blocks(
    request: &Request,
    size: usize,
    random: &mut Rng,
) -> Result<Design, DesignError> {
    // Blocks as random effects where they leave nothing to compare.
    match on_blocks(request, size, false, random) {
        Err(DesignError::Apart) => on_blocks(request, size, true, random),
        found => found,
    }
}

fn on_blocks(
    request: &Request,
    size: usize,
    random_blocks: bool,
    random: &mut Rng,
) -> Result<Design, DesignError> {
    let (all, checks) = (request.all(), request.checks);
    let resolvable = request.resolvable();
    if size < 2 || !resolvable && size <= checks {
        return Err(DesignError::Blocks);
    }
    let sizes: Vec<Vec<usize>> = if resolvable {
        vec![parts(all, all.div_ceil(size)); request.replicates]
    } else {
        let blocks = request.tested().div_ceil(size - checks);
        vec![
            parts(request.tested(), blocks)
                .into_iter()
                .map(|tested| tested + checks)
                .collect(),
        ]
    };
    if sizes[0].iter().any(|&plots| plots < 2) {
        return Err(DesignError::Blocks);
    }
    let field = Field::of_blocks(&sizes);
    let mut nuisance = field.blocks();
    nuisance.random = random_blocks;
    let ground = match (size, random_blocks) {
        (usize::MAX, _) if resolvable => Ground::Replicates,
        (usize::MAX, _) => Ground::OneBlock,
        (_, false) => Ground::Blocks,
        (_, true) => Ground::RandomBlocks,
    };
    let starts: Vec<Vec<usize>> = if resolvable {
        let known = (checks == 0)
            .then(|| alpha(all, request.replicates, sizes[0].len()))
            .flatten()
            .map(|known| known.concat().concat());
        let drawn = (0..STARTS).map(|_| drawn_replicates(request, &sizes[0], random));
        known.into_iter().chain(drawn).collect()
    } else {
        (0..STARTS)
            .map(|_| {
                let mut tested = request.entries_on_plots();
                random.shuffle(&mut tested);
                let mut rest = tested.into_iter();
                sizes[0]
                    .iter()
                    .flat_map(|&plots| {
                        let checks = request.entries..all;
                        checks
                            .chain(rest.by_ref().take(plots - request.checks))
                            .collect::<Vec<_>>()
                    })
                    .collect()
            })
            .collect()
    };
    // Where each entry stands in a block is free: neighbours are seen to afterwards.
    let block_plots = plots_by(&field, |plot| field.places[plot].row);
    let within = plots_by(&field, |plot| field.places[plot].replicate);
    let pairs = pairs(&within, |one, other| {
        let apart = field.places[one].row != field.places[other].row;
        apart && (starts[0][one] < request.entries) == (starts[0][other] < request.entries)
    });
    // Checks stand where they stand in the first start: all starts put them on the same plots.
    let search = Search {
        nuisance: &nuisance,
        count: all,
        pairs,
        neighbours: Vec::new(),
        tries: request.tries,
        work: MOST_WORK,
        replicate: resolvable.then(|| field.replicates()),
    };
    let found = search.run(starts, random).ok_or(DesignError::Apart)?;
    let neighbours = field.neighbours();
    for _ in 0..ATTEMPTS {
        let mut entries = found.clone();
        rearrange(&field, &mut entries, &block_plots, random);
        for block in &block_plots {
            shuffle_within(&mut entries, block, random);
        }
        if keep_apart(&mut entries, &neighbours, &block_plots, random) {
            return finish(request, &field, (ground, nuisance), entries, random);
        }
    }
    Err(DesignError::Beside)
}

/// Replicates drawn by chance; checks go round the blocks, first ones first.
fn drawn_replicates(request: &Request, sizes: &[usize], random: &mut Rng) -> Vec<usize> {
    let mut list = Vec::new();
    for _ in 0..request.replicates {
        let mut checks: Vec<usize> = (request.entries..request.all()).collect();
        let mut tested: Vec<usize> = (0..request.entries).collect();
        random.shuffle(&mut checks);
        random.shuffle(&mut tested);
        let shares = parts(request.checks, sizes.len());
        for (&size, share) in sizes.iter().zip(shares) {
            list.extend(checks.drain(..share));
            list.extend(tested.drain(..size - share));
        }
    }
    list
}

/// Puts blocks of the same size of a replicate in an order drawn by chance.
fn rearrange(field: &Field, entries: &mut [usize], blocks: &[Vec<usize>], random: &mut Rng) {
    let old = entries.to_vec();
    let mut order: Vec<usize> = (0..blocks.len()).collect();
    random.shuffle(&mut order);
    let kind = |block: usize| {
        (
            field.places[blocks[block][0]].replicate,
            blocks[block].len(),
        )
    };
    order.sort_by_key(|&block| kind(block));
    let mut places: Vec<usize> = (0..blocks.len()).collect();
    places.sort_by_key(|&block| kind(block));
    for (from, to) in order.into_iter().zip(places) {
        for (&source, &target) in blocks[from].iter().zip(&blocks[to]) {
            entries[target] = old[source];
        }
    }
}

fn shuffle_within(entries: &mut [usize], plots: &[usize], random: &mut Rng) {
    let mut held: Vec<usize> = plots.iter().map(|&plot| entries[plot]).collect();
    random.shuffle(&mut held);
    for (&plot, entry) in plots.iter().zip(held) {
        entries[plot] = entry;
    }
}

/// Plots by a number from 0.
pub(super) fn plots_by(field: &Field, key: impl Fn(usize) -> usize) -> Vec<Vec<usize>> {
    let mut lists: Vec<Vec<usize>> = Vec::new();
    for plot in 0..field.len() {
        let key = key(plot);
        if lists.len() <= key {
            lists.resize(key + 1, Vec::new());
        }
        lists[key].push(plot);
    }
    lists
}

pub(super) fn pairs(within: &[Vec<usize>], may: impl Fn(usize, usize) -> bool) -> Vec<(u32, u32)> {
    let mut list = Vec::new();
    for plots in within {
        for (place, &one) in plots.iter().enumerate() {
            for &other in &plots[..place] {
                if may(one, other) {
                    list.push((one as u32, other as u32));
                }
            }
        }
    }
    list
}

/// Gives the entries their numbers by chance, so that each stands on each plot equally often over seeds, and tells how
/// good the layout is.
pub(super) fn finish(
    request: &Request,
    field: &Field,
    (ground, nuisance): (Ground, Nuisance),
    mut entries: Vec<usize>,
    random: &mut Rng,
) -> Result<Design, DesignError> {
    let mut names: Vec<usize> = (0..request.all()).collect();
    let (more, rest) = names.split_at_mut(request.once_more);
    let (rest, checks) = rest.split_at_mut(request.entries - request.once_more);
    random.shuffle(more);
    random.shuffle(rest);
    random.shuffle(checks);
    for entry in &mut entries {
        *entry = names[*entry];
    }
    let replicates = field.replicates();
    let resolvable = request.resolvable();
    let efficiency = Efficiency::of(&entries, &nuisance, resolvable.then_some(&replicates[..]))
        .ok_or(DesignError::Nothing)?;
    if efficiency.average.is_none() {
        return Err(DesignError::Apart);
    }
    let plots = field
        .places
        .iter()
        .zip(entries)
        .map(|(place, entry)| Plot {
            replicate: place.replicate,
            block: place.block,
            row: place.row,
            column: place.column,
            entry,
        })
        .collect();
    Ok(Design {
        plots,
        efficiency,
        nuisance,
        ground,
        resolvable,
    })
}
