//! How far replicates of a germination test may lie apart.
//!
//! The tables are for replicates of 100 seeds and can't be had from a formula. Figures marked [`Source::Printed`] are
//! those of 7 CFR 201.55 (United States, Federal Seed Act regulations); [`Source::Memory`] are figures of the
//! same table from memory. The International Rules for Seed Testing carry the same numbers (after Miles 1963,
//! Proceedings of the International Seed Testing Association 28:525–686).

/// Where a figure was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// In print.
    Printed,
    /// From memory.
    Memory,
}

/// Replicates of 100 seeds held against the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// Their mean in percent, rounded.
    pub mean: u32,
    /// From the lowest to the highest, in percent.
    pub range: u32,
    /// The most that the table allows.
    pub most: u32,
    /// Where the table's figure was read.
    pub source: Source,
}

impl Tolerance {
    /// Whether the replicates agree; otherwise the test is to be made again.
    pub const fn holds(&self) -> bool {
        self.range <= self.most
    }
}

/// Holds two or four replicates of 100 seeds against the table, each as seeds germinated of 100. `None` for another
/// number of replicates, a count above 100, or a mean that no table at hand covers.
pub fn tolerance(replicates: &[u32]) -> Option<Tolerance> {
    let (lowest, highest) = (replicates.iter().min()?, replicates.iter().max()?);
    if *highest > 100 {
        return None;
    }
    let sum: u32 = replicates.iter().sum();
    let mean = (f64::from(sum) / replicates.len() as f64).round() as u32;
    let (most, source) = match replicates.len() {
        4 => of_four(mean)?,
        2 => of_two(mean)?,
        _ => return None,
    };
    Some(Tolerance {
        mean,
        range: highest - lowest,
        most,
        source,
    })
}

/// The tables run from 99 % down to 51 %; below, they mirror.
const fn mirrored(mean: u32) -> u32 {
    if mean <= 50 { 101 - mean } else { mean }
}

fn of_four(mean: u32) -> Option<(u32, Source)> {
    let most = match mirrored(mean) {
        99 => 5,
        98 => 6,
        97 => 7,
        96 => 8,
        95 => 9,
        93..=94 => 10,
        91..=92 => 11,
        89..=90 => 12,
        87..=88 => 13,
        84..=86 => 14,
        81..=83 => 15,
        78..=80 => 16,
        73..=77 => 17,
        67..=72 => 18,
        56..=66 => 19,
        51..=55 => 20,
        _ => return None,
    };
    let source = if mirrored(mean) >= 71 {
        Source::Printed
    } else {
        Source::Memory
    };
    Some((most, source))
}

fn of_two(mean: u32) -> Option<(u32, Source)> {
    let most = match mirrored(mean) {
        96..=97 => 6,
        95 => 7,
        93..=94 => 8,
        90..=92 => 9,
        88..=89 => 10,
        84..=87 => 11,
        81..=83 => 12,
        76..=80 => 13,
        71..=75 => 14,
        _ => return None,
    };
    Some((most, Source::Printed))
}
