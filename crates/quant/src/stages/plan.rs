//! Replicates, sites, years and numbers kept, under a budget of plots.

use super::{EntryVariances, one_stage, with_index};

/// The size of a trial for each entry in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TrialSize {
    /// Years it lasts.
    pub years: u32,
    /// Sites in each year.
    pub sites: u32,
    /// Replicates at each site.
    pub replicates: u32,
}

impl TrialSize {
    /// Plots of an entry, counted in each year.
    pub fn plots(self) -> u64 {
        [self.sites, self.replicates]
            .iter()
            .fold(self.years.into(), |plots: u64, &times| {
                plots.saturating_mul(times.into())
            })
    }
}

/// What is to be planned. The trials of different stages are taken to stand in years and on ground of their own.
#[derive(Clone, Debug, PartialEq)]
pub struct StageRequest {
    /// Variances of entries and errors.
    pub variances: EntryVariances,
    /// Candidates at the beginning.
    pub candidates: u32,
    /// How many are to be kept at the end.
    pub wanted: u32,
    /// Plots in all stages and years together.
    pub plots: u64,
    /// For each stage, the sizes its trial may have.
    pub sizes: Vec<Vec<TrialSize>>,
}

/// A stage of a plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stage {
    /// Entries in its trial.
    pub entries: u32,
    /// Its size.
    pub size: TrialSize,
    /// How many are kept.
    pub kept: u32,
    /// The accuracy of the index of all stages so far.
    pub accuracy: f64,
}

/// Stages and what they gain.
#[derive(Clone, Debug, PartialEq)]
pub struct StagePlan {
    /// The stages.
    pub stages: Vec<Stage>,
    /// Plots used.
    pub plots: u64,
    /// The expected gain, in units of the value.
    pub gain: f64,
    /// What keeping as many in one step would gain if every candidate went through all these trials: no plan with trials
    /// of these sizes gains more.
    pub bound: f64,
}

/// The plan that gains most: every combination of sizes is tried, with the numbers kept on a grid of steps of about an
/// eighth, the last stage as full as the plots allow.
///
/// `None` if no combination stays within the plots, fewer than one are wanted or more than there are candidates, no
/// stage is asked for, or entries have no variance.
pub fn plan_stages(request: &StageRequest) -> Option<StagePlan> {
    let StageRequest {
        candidates,
        wanted,
        ref sizes,
        ..
    } = *request;
    if wanted == 0 || wanted > candidates || sizes.is_empty() || request.variances.entry <= 0.0 {
        return None;
    }
    let mut best: Option<StagePlan> = None;
    let mut chosen = vec![0; sizes.len()];
    if sizes.iter().any(Vec::is_empty) {
        return None;
    }
    loop {
        let trial: Vec<TrialSize> = chosen
            .iter()
            .zip(sizes)
            .map(|(&place, sizes)| sizes[place])
            .collect();
        try_sizes(request, &trial, &mut best);
        // The next combination, like a counter.
        let mut stage = 0;
        loop {
            if stage == chosen.len() {
                return best;
            }
            chosen[stage] += 1;
            if chosen[stage] < sizes[stage].len() {
                break;
            }
            chosen[stage] = 0;
            stage += 1;
        }
    }
}

fn try_sizes(request: &StageRequest, trial: &[TrialSize], best: &mut Option<StagePlan>) {
    let variances = &request.variances;
    let mut told = 0.0;
    let accuracies: Vec<f64> = trial
        .iter()
        .map(|size| {
            let noise =
                variances.noise(size.years.into(), size.sites.into(), size.replicates.into());
            told += variances.entry / noise;
            // Without any noise one trial tells all.
            if told.is_finite() {
                (told / (1.0 + told)).sqrt()
            } else {
                1.0
            }
        })
        .collect();
    let scale = variances.entry.sqrt();
    let last = accuracies[accuracies.len() - 1];
    let share = f64::from(request.wanted) / f64::from(request.candidates);
    let bound = scale * one_stage(last, share);
    if best.as_ref().is_some_and(|best| bound <= best.gain) {
        return;
    }
    let spent = u64::from(request.candidates).saturating_mul(trial[0].plots());
    let Some(left) = request.plots.checked_sub(spent) else {
        return;
    };
    let mut numbers = vec![request.candidates];
    fill(request, trial, left, &mut numbers, &mut |numbers| {
        let kept: Vec<u32> = numbers[1..]
            .iter()
            .copied()
            .chain([request.wanted])
            .collect();
        let shares: Vec<f64> = numbers
            .iter()
            .zip(&kept)
            .map(|(&entries, &kept)| f64::from(kept) / f64::from(entries))
            .collect();
        let Some(found) = with_index(&accuracies, &shares) else {
            return;
        };
        let gain = scale * found.gain;
        if best.as_ref().is_none_or(|best| gain > best.gain) {
            let stages: Vec<Stage> = (0..trial.len())
                .map(|stage| Stage {
                    entries: numbers[stage],
                    size: trial[stage],
                    kept: kept[stage],
                    accuracy: accuracies[stage],
                })
                .collect();
            *best = Some(StagePlan {
                plots: stages
                    .iter()
                    .map(|stage| u64::from(stage.entries) * stage.size.plots())
                    .sum(),
                stages,
                gain,
                bound,
            });
        }
    });
}

/// Every row of numbers on the grid that the plots allow.
fn fill(
    request: &StageRequest,
    trial: &[TrialSize],
    left: u64,
    numbers: &mut Vec<u32>,
    each: &mut dyn FnMut(&[u32]),
) {
    let stage = numbers.len();
    if stage == trial.len() {
        each(numbers);
        return;
    }
    let before = numbers[stage - 1];
    let plots = trial[stage].plots().max(1);
    let most = u32::try_from(left / plots).unwrap_or(u32::MAX).min(before);
    if most < request.wanted {
        return;
    }
    // More entries in the last stage never gain less.
    let mut entries = most;
    loop {
        numbers.push(entries);
        fill(
            request,
            trial,
            left - u64::from(entries) * plots,
            numbers,
            each,
        );
        numbers.pop();
        if stage + 1 == trial.len() || entries == request.wanted {
            return;
        }
        entries = (entries * 7 / 8).min(entries - 1).max(request.wanted);
    }
}
