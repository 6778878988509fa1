//! A plan that reaches its goal as surely as is wished, with the most gain besides.

use super::goal::GoodPlants;
use super::{MatingError, Plan, Problem, SearchProgress};
use crate::mating::branch::promising;

/// Sweeps over all exchanges, at most.
const SWEEPS: usize = 40;
/// Families that are tried besides those of the plans known.
const MANY: usize = 24;

/// What is asked of a sure plan.
#[derive(Debug, Clone, PartialEq)]
pub struct SureRequest {
    /// The greatest mean coancestry of the plants raised; infinite for none.
    pub coancestry: f64,
    /// Families that must be made.
    pub locked: Vec<usize>,
    /// How sure enough good plants shall be.
    pub sure: f64,
}

/// The plan with the most gain of those that bring enough good plants as surely as wished, or the surest where none
/// does: found by exchange from plans `known` and from nothing. `bound` is what no plan gains more than.
///
/// # Errors
/// No plan within the limits, or stopped.
pub fn surest(
    problem: &Problem,
    good: &GoodPlants,
    request: &SureRequest,
    known: &[Vec<u32>],
    bound: f64,
    progress: &mut SearchProgress<'_>,
) -> Result<Plan, MatingError> {
    let search = Search {
        problem,
        good,
        request,
    };
    let mut among = promising(problem, MANY);
    among.truncate(3 * MANY);
    among.extend(&request.locked);
    for plan in known {
        among.extend((0..plan.len()).filter(|&family| plan[family] > 0));
    }
    among.retain(|&family| problem.most[family] > 0);
    among.sort_unstable();
    among.dedup();
    let mut starts: Vec<Vec<u32>> = known
        .iter()
        .filter(|plan| problem.allows(plan, request.coancestry, &request.locked))
        .cloned()
        .collect();
    if request.locked.is_empty() {
        starts.push(vec![0; problem.families.len()]);
    }
    let mut best: Option<(Score, Vec<u32>)> = None;
    let count = starts.len();
    for (nth, start) in starts.into_iter().enumerate() {
        if progress(nth as f64 / count as f64).is_break() {
            return Err(MatingError::Stopped);
        }
        let found = search.climb(start, &among, progress, nth as f64 / count as f64)?;
        if best.as_ref().is_none_or(|best| found.0.is_above(best.0)) {
            best = Some(found);
        }
    }
    let portions = best
        .map(|best| best.1)
        .filter(|portions| portions.iter().any(|&each| each > 0));
    let Some(portions) = portions else {
        return Err(if request.locked.is_empty() {
            MatingError::Nothing
        } else {
            MatingError::Locked
        });
    };
    let gain = problem.gain(&portions);
    Ok(Plan {
        coancestry: problem.coancestry(&portions),
        gain,
        bound: bound.max(gain),
        portions,
    })
}

struct Search<'a> {
    problem: &'a Problem,
    good: &'a GoodPlants,
    request: &'a SureRequest,
}

/// What a plan is judged by: how far short it falls of what is wished first, gain then.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Score {
    chance: f64,
    gain: f64,
}

impl Score {
    fn is_above(self, other: Self) -> bool {
        if (self.chance - other.chance).abs() > 1e-6 {
            self.chance > other.chance
        } else {
            self.gain > other.gain * (1.0 + 1e-9) + 1e-12
        }
    }
}

impl Search<'_> {
    fn score(&self, portions: &[u32], expected: &[f64]) -> Score {
        // A little above what is wished, so that the exact chance is not just below it.
        let enough = (self.request.sure + 0.003).min(0.9999);
        Score {
            chance: self.good.quick_chance(expected).min(enough),
            gain: self.problem.gain(portions),
        }
    }

    fn climb(
        &self,
        start: Vec<u32>,
        among: &[usize],
        progress: &mut SearchProgress<'_>,
        part: f64,
    ) -> Result<(Score, Vec<u32>), MatingError> {
        let seeds = self.problem.quantities.portion;
        let mut portions = start;
        let made = portions.iter().enumerate();
        let mut expected = self
            .good
            .expected(made.map(|(family, &portions)| (family, portions * seeds)));
        let mut score = self.score(&portions, &expected);
        for _ in 0..SWEEPS {
            let before = score;
            if progress(part).is_break() {
                return Err(MatingError::Stopped);
            }
            for &grown in among {
                let now = portions[grown];
                let first = now.max(self.problem.quantities.least - 1) + 1;
                for more in [first, first + now.max(4), self.problem.most[grown]] {
                    self.try_change(&mut portions, &mut expected, &mut score, &[(grown, more)]);
                }
            }
            let held: Vec<usize> = (0..portions.len()).filter(|&f| portions[f] > 0).collect();
            // Where coancestry is at its limit families can only grow together.
            for part in [1, 4, 16] {
                let all: Vec<(usize, u32)> = held
                    .iter()
                    .map(|&family| {
                        (
                            family,
                            portions[family] + (portions[family] / 16 * part).max(1),
                        )
                    })
                    .collect();
                self.try_change(&mut portions, &mut expected, &mut score, &all);
            }
            for shrunk in held {
                for &grown in among.iter().filter(|&&grown| grown != shrunk) {
                    self.shift(&mut portions, &mut expected, &mut score, shrunk, grown);
                }
            }
            if !score.is_above(before) {
                break;
            }
        }
        Ok((score, portions))
    }

    fn shift(
        &self,
        portions: &mut Vec<u32>,
        expected: &mut Vec<f64>,
        score: &mut Score,
        shrunk: usize,
        grown: usize,
    ) {
        let least = self.problem.quantities.least;
        for part in [1, 4, 0] {
            let held = portions[shrunk];
            let moved = if part == 0 {
                held
            } else {
                (held / 4 * part).max(part).min(held)
            };
            if moved == 0 {
                return;
            }
            let left = if held - moved < least {
                0
            } else {
                held - moved
            };
            let more = (portions[grown] + held - left)
                .max(least)
                .min(self.problem.most[grown]);
            self.try_change(portions, expected, score, &[(shrunk, left), (grown, more)]);
        }
    }

    fn try_change(
        &self,
        portions: &mut Vec<u32>,
        expected: &mut Vec<f64>,
        score: &mut Score,
        changes: &[(usize, u32)],
    ) {
        let sound = changes.iter().all(|&(family, wanted)| {
            wanted <= self.problem.most[family]
                && (wanted > 0 || !self.request.locked.contains(&family))
        });
        if !sound
            || changes
                .iter()
                .all(|&(family, wanted)| portions[family] == wanted)
        {
            return;
        }
        let seeds = f64::from(self.problem.quantities.portion);
        let mut next = portions.clone();
        let mut then = expected.clone();
        for &(family, wanted) in changes {
            let by = f64::from(wanted) - f64::from(portions[family]);
            self.good.add(&mut then, family, by * seeds);
            next[family] = wanted;
        }
        let found = self.score(&next, &then);
        let is_allowed = || {
            self.problem
                .allows(&next, self.request.coancestry, &self.request.locked)
        };
        if found.is_above(*score) && is_allowed() {
            (*portions, *expected, *score) = (next, then, found);
        }
    }
}
