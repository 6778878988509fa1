//! Gain against diversity, and what each lock costs.

use super::branch::{Plan, Request, plan, promising};
use super::exchange::Exchange;
use super::{MatingError, Problem, SearchProgress};

/// Plans from the least coancestry that whole portions reach to the most gain, so many of them, evenly spaced in
/// coancestry; never one that another beats in both.
///
/// Each point is handed the plans found for the others, so that the curve never falls as more coancestry is
/// allowed. `known` plans are points of departure. At least one plan is made.
///
/// # Errors
/// No plan within the limits, or stopped.
pub fn curve(
    problem: &Problem,
    locked: &[usize],
    points: usize,
    known: &[Vec<u32>],
    progress: &mut SearchProgress<'_>,
) -> Result<Vec<Plan>, MatingError> {
    let request = |coancestry: f64| Request {
        coancestry,
        locked: locked.to_vec(),
        branches: 0,
    };
    let steps = points.max(1) as f64 + 1.0;
    let richest = plan(problem, &request(f64::INFINITY), known, &mut |part| {
        progress(part / steps)
    })?;
    let mut pool: Vec<Vec<u32>> = known.to_vec();
    pool.push(richest.portions.clone());
    let Some(most) = richest.coancestry.filter(|_| points > 1) else {
        return Ok(vec![richest]);
    };
    let narrow = narrowest(problem, locked, &richest.portions);
    let least = problem
        .coancestry(&narrow)
        .map_or(most, |least| least.min(most));
    pool.push(narrow);
    let mut plans = vec![richest];
    for point in (0..points - 1).rev() {
        let limit = least + (most - least) * point as f64 / (points - 1) as f64;
        let done = (points - 1 - point) as f64;
        let found = plan(problem, &request(limit + 1e-9), &pool, &mut |part| {
            progress((done + part) / steps)
        });
        match found {
            Ok(found) => {
                pool.push(found.portions.clone());
                plans.push(found);
            }
            Err(MatingError::Stopped) => return Err(MatingError::Stopped),
            Err(_) => break,
        }
    }
    plans.reverse();
    Ok(front(problem, locked, plans, &pool))
}

/// Each plan replaced by the best of all found that is no less diverse; those that are beaten left out.
fn front(problem: &Problem, locked: &[usize], plans: Vec<Plan>, pool: &[Vec<u32>]) -> Vec<Plan> {
    let mut kept: Vec<Plan> = Vec::new();
    for mut plan in plans {
        let limit = plan.coancestry.unwrap_or(0.0);
        for portions in pool {
            let better = problem.gain(portions) > plan.gain
                && problem
                    .coancestry(portions)
                    .is_some_and(|each| each <= limit)
                && problem.allows(portions, f64::INFINITY, locked);
            if better {
                plan.gain = problem.gain(portions);
                plan.coancestry = problem.coancestry(portions);
                plan.portions.clone_from(portions);
                plan.bound = plan.bound.max(plan.gain);
            }
        }
        let rises = kept.last().is_none_or(|last| {
            plan.gain > last.gain + 1e-9 * (1.0 + last.gain.abs())
                && plan.coancestry > last.coancestry
        });
        if rises {
            kept.push(plan);
        } else if let Some(last) = kept.last_mut()
            && plan.coancestry <= last.coancestry
            && plan.gain >= last.gain
        {
            *last = plan;
        }
    }
    kept
}

/// The plan of whole portions with the least coancestry that exchange finds.
fn narrowest(problem: &Problem, locked: &[usize], start: &[u32]) -> Vec<u32> {
    let exchange = Exchange::new(problem, 0.0, locked);
    let mut among = promising(problem, 40);
    among.extend((0..start.len()).filter(|&family| start[family] > 0));
    among.extend(locked);
    among.sort_unstable();
    among.dedup();
    exchange.narrowest(start, &among)
}

/// What it costs that a cross must be made.
#[derive(Clone, Debug, PartialEq)]
pub struct LockCost {
    /// The family that is locked in.
    pub family: usize,
    /// Gain without this lock, the others kept, less the gain with it: at least 0.
    pub cost: f64,
    /// The plan without this lock.
    pub without: Plan,
}

/// The plan asked for, and what each of its locks costs.
///
/// What a plan without a lock gains is never less than with it: the plan with all locks is handed to each search
/// without one.
///
/// # Errors
/// No plan within the limits, or stopped.
pub fn lock_costs(
    problem: &Problem,
    request: &Request,
    known: &[Vec<u32>],
    progress: &mut SearchProgress<'_>,
) -> Result<(Plan, Vec<LockCost>), MatingError> {
    let steps = 1.0 + request.locked.len() as f64;
    let with = plan(problem, request, known, &mut |part| progress(part / steps))?;
    let mut pool = known.to_vec();
    pool.push(with.portions.clone());
    let mut costs = Vec::with_capacity(request.locked.len());
    for (done, &family) in request.locked.iter().enumerate() {
        let fewer = Request {
            locked: request
                .locked
                .iter()
                .copied()
                .filter(|&each| each != family)
                .collect(),
            ..request.clone()
        };
        let without = plan(problem, &fewer, &pool, &mut |part| {
            progress((1.0 + done as f64 + part) / steps)
        })?;
        costs.push(LockCost {
            family,
            cost: without.gain - with.gain,
            without,
        });
    }
    Ok((with, costs))
}
