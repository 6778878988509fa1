//! The search: exchanges that lower the criterion until none does, then a few by chance, and again.

use super::efficiency::Nuisance;
use super::information::Information;
use super::neighbours;
use fastrand::Rng;

/// Multiplications spent on exchanges that are made, which costs far more than to look at one with many entries.
const MOST_WORK: f64 = 3e10;
/// Exchanges by chance after which the search begins anew.
const SHAKEN: usize = 3;

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
    /// best. `None` if nothing can be worked out from any of them.
    pub(super) fn run(&self, starts: Vec<Vec<usize>>, random: &mut Rng) -> Option<Vec<usize>> {
        let (ground, _) = self.nuisance.inverse();
        let mut best: Option<Found> = None;
        let share = self.tries / (2 * starts.len().max(1) as u64);
        let mut left = self.tries;
        let mut pairs = self.pairs.clone();
        let mut work = 0.0;
        for start in starts {
            let Some(mut information) = Information::new(self.nuisance, &ground, start, self.count)
            else {
                continue;
            };
            let spent = self.descend(&mut information, &mut pairs, share, &mut work, random);
            left = left.saturating_sub(spent);
            let found = Found::of(&information, &self.neighbours);
            if best.as_ref().is_none_or(|best| found.beats(best)) {
                best = Some(found);
            }
        }
        let mut best = best?;
        let mut information =
            Information::new(self.nuisance, &ground, best.entries.clone(), self.count)?;
        while left > 0 && work < MOST_WORK && !pairs.is_empty() {
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
            let found = Found::of(&information, &self.neighbours);
            if found.beats(&best) {
                best = found;
            } else if !information.restart(&best.entries) {
                break;
            }
        }
        Some(best.entries)
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
        while since < pairs.len() && spent < most && *work < MOST_WORK {
            let (one, other) = (pairs[at].0 as usize, pairs[at].1 as usize);
            at = (at + 1) % pairs.len();
            since += 1;
            spent += 1;
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
