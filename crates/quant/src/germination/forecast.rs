//! Whether to wait on: what is still to come of the lots that wait, by what came of those that are done with.

use super::Emergence;
use super::program::{AgedSeed, Beforehand, Program, ToCome};
use crate::counted::total;

/// The fewest closed lots from which anything is said. Our own rule: fewer don't tell how lots differ.
pub const LEAST_CLOSED: usize = 3;
/// The most lots that are learnt from, the last ones given: more change nothing and take time.
const MOST_LOTS: usize = 200;
/// The level of intervals, and how sure a day to stop is.
pub const LEVEL: f64 = 0.9;

/// One lot in warmth, its days counted from the day warmth began.
#[derive(Debug, Clone, PartialEq)]
pub struct LotCounts {
    /// What is known of each seed.
    pub seeds: Vec<Emergence>,
    /// How many may still come: not up, dead or abnormal at the last look.
    pub waiting: u32,
    /// The day of the last look.
    pub looked: f64,
    /// Whether nobody waits for the rest.
    pub closed: bool,
    /// Years from harvest to warmth; `None` where the harvest isn't known.
    pub age: Option<f64>,
}

impl LotCounts {
    fn aged(&self) -> AgedSeed {
        AgedSeed {
            seeds: self.seeds.clone(),
            age: self.age,
        }
    }
}

/// Too few lots are done with to say what is still to come of the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TooFewClosed {
    /// How many there are.
    pub closed: usize,
}

/// What was learnt from the lots of a program.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecaster {
    program: Program,
    until: f64,
    closed: usize,
}

impl Forecaster {
    /// Learns from lots, closed and open, those of the program that are alike in how they were treated.
    ///
    /// # Errors
    /// Fewer than [`LEAST_CLOSED`] closed lots in which anything came up.
    pub fn of(lots: &[LotCounts]) -> Result<Self, TooFewClosed> {
        let closed: Vec<&LotCounts> = lots
            .iter()
            .filter(|lot| lot.closed && up(lot).next().is_some())
            .collect();
        if closed.len() < LEAST_CLOSED {
            return Err(TooFewClosed {
                closed: closed.len(),
            });
        }
        let until = closed.iter().map(|lot| lot.looked).fold(0.0, f64::max);
        let known: Vec<AgedSeed> = lots
            .iter()
            .rev()
            .take(MOST_LOTS)
            .map(LotCounts::aged)
            .collect();
        Ok(Self {
            program: Program::of(&known, beforehand(&closed)),
            until,
            closed: closed.len(),
        })
    }

    /// By what factor a year of age changes the odds of a seed to come, and the day by which half of those that come are
    /// up; 1 where the ages of lots don't differ.
    pub fn by_year_of_age(&self) -> [f64; 2] {
        self.program.by_year_of_age()
    }

    /// How many closed lots it rests on.
    pub fn closed(&self) -> usize {
        self.closed
    }

    /// The last day that a closed lot was waited for: nothing is said of what would come later.
    pub fn until(&self) -> f64 {
        self.until
    }

    /// What these lots together may still bring. Weighs each lot: keep it while they stand as they do.
    pub fn outlook(&self, lots: &[LotCounts]) -> Outlook<'_> {
        Outlook {
            forecaster: self,
            lots: lots
                .iter()
                .map(|lot| Weighed {
                    waiting: lot.waiting,
                    looked: lot.looked,
                    known: self.program.weigh(&lot.aged()),
                })
                .collect(),
        }
    }
}

/// What lots may still bring, as they stand.
#[derive(Debug, Clone)]
pub struct Outlook<'a> {
    forecaster: &'a Forecaster,
    lots: Vec<Weighed>,
}

#[derive(Debug, Clone)]
struct Weighed {
    waiting: u32,
    looked: f64,
    known: super::Lot,
}

impl Outlook<'_> {
    /// What is still to come of the lots together.
    pub fn still_to_come(&self) -> ToCome {
        self.lost_after(0.0)
    }

    /// The first day after which at most `few` more come of all the lots together, with 9 in 10 odds; `None` if there is
    /// none before the last day closed lots were waited for.
    pub fn stop(&self, few: u32) -> Option<f64> {
        let looked = self.lots.iter().map(|lot| lot.looked);
        let first = looked.fold(f64::INFINITY, f64::min);
        if !first.is_finite() {
            return None;
        }
        let last = self.forecaster.until.max(first).ceil() as u32;
        (first.ceil() as u32..=last)
            .map(f64::from)
            .find(|&day| self.lost_after(day).at_most(few) >= LEVEL)
    }

    /// What is lost if waiting ends on a day: the number that would still have come.
    pub fn lost_after(&self, day: f64) -> ToCome {
        let Forecaster { program, until, .. } = self.forecaster;
        let each = self.lots.iter().map(|lot| {
            lot.known
                .still_to_come(program, lot.waiting, lot.looked, day, *until)
        });
        each.reduce(|one, other| one.and(&other))
            .unwrap_or_else(ToCome::none)
    }
}

fn up(lot: &LotCounts) -> impl Iterator<Item = &Emergence> {
    lot.seeds
        .iter()
        .filter(|group| group.by.is_finite() && group.seeds > 0)
}

/// The middle of what closed lots did, pooled.
fn beforehand(closed: &[&LotCounts]) -> Beforehand {
    let seeds = closed.iter().flat_map(|lot| &lot.seeds);
    let seeds = total(seeds.map(|group| group.seeds));
    let mut came: Vec<(f64, u32)> = closed
        .iter()
        .flat_map(|lot| up(lot))
        .map(|group| (f64::midpoint(group.after, group.by), group.seeds))
        .collect();
    came.sort_by(|one, other| one.0.total_cmp(&other.0));
    let all = total(came.iter().map(|each| each.1));
    let mut passed = 0;
    let median = came
        .iter()
        .find(|each| {
            passed = total([passed, each.1]);
            2 * u64::from(passed) >= u64::from(all)
        })
        .map_or(1.0, |each| each.0.max(0.5));
    Beforehand {
        share: (f64::from(all) + 1.0) / (f64::from(seeds) + 2.0),
        median,
        // Germination of wild and crossed seed comes over some weeks: common practice.
        steepness: 3.0,
    }
}
