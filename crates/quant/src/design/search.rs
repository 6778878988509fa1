//! The search: exchanges that lower the criterion until none does, then a few by chance, and again.

use super::efficiency::{Nuisance, bound};
use super::information::Information;
use super::neighbours;
use faer::Mat;
use fastrand::Rng;
use std::ops::Range;

/// Multiplications spent on a search: some seconds, whatever the clock says, so that the seed tells the layout.
pub(super) const MOST_WORK: f64 = 5e9;
/// Multiplications to look at an exchange.
const LOOK: f64 = 80.0;
/// Exchanges by chance after which the search begins anew.
const SHAKEN: usize = 3;
/// Times in a row that shaking finds nothing better before the search ends.
const PATIENCE: usize = 200;

/// What is searched.
pub(super) struct Search<'a> {
    /// What is taken out.
    pub(super) nuisance: &'a Nuisance,
    /// How many entries there are.
    pub(super) count: usize,
    /// Plots that may exchange their entries.
    pub(super) pairs: Vec<(u32, u32)>,
    /// Plots side by side that must not hold the same entry; none where that is seen to afterwards.
    pub(super) neighbours: Vec<Vec<usize>>,
    /// Exchanges to try in all.
    pub(super) tries: u64,
    /// Multiplications to spend at most.
    pub(super) work: f64,
    /// The replicate of each plot, where each entry stands once in each.
    pub(super) replicate: Option<Vec<usize>>,
}

/// An arrangement and its criterion; `alike` counts entries beside themselves.
#[derive(Clone)]
struct Found {
    alike: usize,
    value: f64,
    entries: Vec<usize>,
}

impl Found {
    fn of(information: &Information<'_>, neighbours: &[Vec<usize>]) -> Self {
        Self {
            alike: neighbours::alike(&information.entries, neighbours),
            value: information.value,
            entries: information.entries.clone(),
        }
    }

    fn beats(&self, other: &Self) -> bool {
        self.alike < other.alike
            || self.alike == other.alike && self.value < other.value * (1.0 - 1e-10)
    }
}

impl Search<'_> {
    /// The best arrangement found from these starts: the tries are shared out among them, what is left goes to the
    /// best. It ends with the tries, with the work, where the best can't be bettered, or where nothing better has come
    /// for long. `None` if nothing can be worked out from any of them.
    pub(super) fn run(&self, mut starts: Vec<Vec<usize>>, random: &mut Rng) -> Option<Vec<usize>> {
        if self.pairs.is_empty() {
            // Complete blocks: nothing could be exchanged for the better.
            return starts.pop();
        }
        let (ground, rank) = self.nuisance.inverse();
        let clusters = self.clusters();
        let least = self.least(starts.first()?, &ground, rank);
        let make = |start| Information::new(self.nuisance, &ground, start, self.count, &clusters);
        let mut best: Option<Found> = None;
        let share = self.tries / (2 * starts.len().max(1) as u64);
        let mut left = self.tries;
        let mut pairs = self.pairs.clone();
        let mut work = 0.0;
        for start in starts {
            if best.is_some() && work > self.work / 4.0 {
                break;
            }
            let Some(mut information) = make(start) else {
                continue;
            };
            work += information.work_anew();
            let spent = self.descend(&mut information, &mut pairs, share, &mut work, random);
            left = left.saturating_sub(spent);
            // From a start that falls apart, rounding swamps the criterion: it is worked out anew, and searched on.
            let entries = information.entries.clone();
            work += information.work_anew();
            if !information.restart(&entries) {
                continue;
            }
            let spent = self.descend(&mut information, &mut pairs, share, &mut work, random);
            left = left.saturating_sub(spent);
            let found = Found::of(&information, &self.neighbours);
            if best.as_ref().is_none_or(|best| found.beats(best)) {
                best = Some(found);
            }
        }
        let mut best = best?;
        let mut fruitless = 0;
        let ended = |best: &Found| best.alike == 0 && best.value <= least;
        if ended(&best) || left == 0 || work >= self.work {
            return Some(best.entries);
        }
        let mut information = make(best.entries.clone())?;
        while left > 0 && work < self.work && fruitless < PATIENCE && !ended(&best) {
            for _ in 0..SHAKEN {
                let (one, other) = pairs[random.usize(..pairs.len())];
                let (one, other) = (one as usize, other as usize);
                if self.allows(&information, one, other) <= 0
                    && information.rise(one, other).is_finite()
                    && !information.exchange(one, other)
                {
                    return Some(best.entries);
                }
            }
            left = left.saturating_sub(SHAKEN as u64);
            let spent = self.descend(&mut information, &mut pairs, left, &mut work, random);
            left = left.saturating_sub(spent);
            let mut found = Found::of(&information, &self.neighbours);
            if found.beats(&best) {
                // Through an arrangement that falls apart, rounding may leave any figure: only one worked out anew counts.
                work += information.work_anew();
                if !information.restart(&found.entries) {
                    break;
                }
                found.value = information.value;
            }
            if found.beats(&best) {
                best = found;
                fruitless = 0;
            } else {
                fruitless += 1;
                work += information.work_anew();
                if !information.restart(&best.entries) {
                    break;
                }
            }
        }
        Some(best.entries)
    }

    /// Groups that exchanges bring together lie in one stretch of their numbers.
    fn clusters(&self) -> Vec<Range<usize>> {
        let mut end: Vec<usize> = (1..=self.nuisance.count).collect();
        for &(one, other) in &self.pairs {
            let groups = [one, other].map(|plot| &self.nuisance.groups[plot as usize]);
            let numbers = || groups.iter().flat_map(|groups| groups.iter().copied());
            if let (Some(low), Some(high)) = (numbers().min(), numbers().max()) {
                end[low] = end[low].max(high + 1);
            }
        }
        let mut clusters: Vec<Range<usize>> = Vec::new();
        for (first, end) in end.into_iter().enumerate() {
            match clusters.last_mut() {
                Some(last) if first < last.end => last.end = last.end.max(end),
                _ => clusters.push(first..end),
            }
        }
        clusters
    }

    /// What no arrangement's criterion lies below.
    fn least(&self, start: &[usize], ground: &Mat<f64>, rank: usize) -> f64 {
        let mut times = vec![0.0_f64; self.count];
        for &entry in start {
            times[entry] += 1.0;
        }
        if times.contains(&0.0) {
            return 0.0;
        }
        let even: f64 = times.iter().map(|times| times.recip()).sum::<f64>() / self.count as f64;
        let bound = bound(
            &times,
            self.nuisance,
            ground,
            rank,
            self.replicate.as_deref(),
        );
        even * (self.count - 1) as f64 / bound
    }

    /// How many more entries lie beside themselves after an exchange; one that changes nothing is never allowed.
    fn allows(&self, information: &Information<'_>, one: usize, other: usize) -> i32 {
        let entries = &information.entries;
        if entries[one] == entries[other] {
            return i32::MAX;
        }
        if self.neighbours.is_empty() {
            0
        } else {
            neighbours::change(entries, &self.neighbours, one, other)
        }
    }

    /// Takes every exchange that helps until none does or the tries are spent; returns how many were tried.
    fn descend(
        &self,
        information: &mut Information<'_>,
        pairs: &mut [(u32, u32)],
        most: u64,
        work: &mut f64,
        random: &mut Rng,
    ) -> u64 {
        let mut spent = 0;
        random.shuffle(pairs);
        // Pairs gone through since the last exchange; once round without one is the end.
        let (mut since, mut at) = (0, 0);
        while since < pairs.len() && spent < most && *work < self.work {
            let (one, other) = (pairs[at].0 as usize, pairs[at].1 as usize);
            at = (at + 1) % pairs.len();
            since += 1;
            spent += 1;
            *work += LOOK;
            let more = self.allows(information, one, other);
            if more > 0 {
                continue;
            }
            let rise = information.rise(one, other);
            let helps = if more < 0 {
                rise.is_finite()
            } else {
                rise < -1e-9 * information.value
            };
            if helps {
                if !information.exchange(one, other) {
                    return spent;
                }
                *work += information.work_of_exchange();
                since = 0;
            }
        }
        spent
    }
}
