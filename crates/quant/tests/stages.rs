//! Selection in stages: integrals against simulation and worked examples.

use fastrand::Rng;
use quant::chance::normal::quantile;
use quant::stages::{
    Correlated, EntryVariances, StageRequest, TrialSize, one_stage, plan_stages,
    realised_heritability, response, two_stages, with_index,
};

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found}, not {expected}"
    );
}

/// Response to selection, i h² σ: 10 % kept, h² 0.75, 120 kg/ha is 157.9485; a correlated response of -0.842392. Formulas
/// of Falconer & Mackay (1996), chapters 11 and 19, worked out.
#[test]
fn one_stage_and_a_correlated_response() {
    let intensity = one_stage(1.0, 0.1);
    near(intensity, 1.754983, 1e-6);
    near(
        one_stage(0.75_f64.sqrt(), 0.1) * 0.75_f64.sqrt() * 120.0,
        157.9485,
        1e-4,
    );
    let a_cycle = response(intensity, 0.75, 120.0);
    near(a_cycle, 157.9485, 1e-4);
    near(a_cycle / 5.0, 31.5897, 1e-4);
    near(realised_heritability(2.4, 3.2).unwrap(), 0.75, 1e-12);
    assert_eq!(realised_heritability(2.4, 0.0), None);
    let pair = Correlated {
        selected: 0.8,
        answering: 0.6,
        genetic_correlation: -0.5,
    };
    near(pair.response(intensity, 2.0), -0.842392, 1e-6);
    let pair = Correlated {
        selected: 0.9,
        answering: 0.6,
        genetic_correlation: 0.5,
    };
    near(pair.efficiency(), 0.75, 1e-12);
    assert_eq!(one_stage(0.5, 1.0), 0.0);
}

/// The formula of Cochran (1951) at h² 0.3 and 0.6 of independent trials, 10 % kept twice: worked out independently, and
/// by a simulation of four million, 2.073. The index of both at the second stage: 2.099029; in one stage 2.064466,
/// 1.459798 and, as the bound, 2.162828.
#[test]
fn two_stages_of_a_tenth() {
    let (first, second) = (0.3_f64.sqrt(), 0.6_f64.sqrt());
    let found = two_stages([first, second], 0.18_f64.sqrt(), [0.1, 0.1]).unwrap();
    near(found.cutoffs[0], 1.281552, 1e-6);
    near(found.cutoffs[1], 1.927127, 1e-6);
    near(found.gain, 2.076326, 1e-6);
    let index = (0.658_536_585_f64).sqrt();
    near(index, 0.811503, 1e-6);
    let found = with_index(&[first, index], &[0.1, 0.1]).unwrap();
    near(found.cutoffs[1], 2.197736, 1e-6);
    near(found.gain, 2.099029, 1e-6);
    near(one_stage(second, 0.01), 2.064466, 1e-6);
    near(one_stage(first, 0.01), 1.459798, 1e-6);
    near(one_stage(index, 0.01), 2.162828, 1e-6);
    // With the correlation first / index, Cochran's formula is the index, too.
    let again = two_stages([first, index], first / index, [0.1, 0.1]).unwrap();
    near(again.gain, found.gain, 1e-7);
}

/// Values, and at each stage a trial whose noise leaves this accuracy to the index so far.
fn simulated(accuracies: &[f64], shares: &[f64], candidates: usize, seed: u64) -> f64 {
    let mut random = Rng::with_seed(seed);
    let mut normal = || quantile(random.f64().max(1e-15));
    // The index moves from stage to stage by what is new.
    let mut plants: Vec<(f64, f64)> = (0..candidates).map(|_| (0.0, normal())).collect();
    let mut told = 0.0;
    for (accuracy, share) in accuracies.iter().zip(shares) {
        let information = accuracy * accuracy / (1.0 - accuracy * accuracy);
        let noise = (information - told).recip().sqrt();
        for (sum, value) in &mut plants {
            // Precision-weighted sum of the trials; the index is this over 1 + information.
            *sum += (*value + noise * normal()) / (noise * noise);
        }
        told = information;
        plants.sort_by(|one, other| other.0.total_cmp(&one.0));
        plants.truncate((plants.len() as f64 * share).round() as usize);
    }
    plants.iter().map(|plant| plant.1).sum::<f64>() / plants.len() as f64
}

#[test]
fn integrals_are_what_simulated_programs_gain() {
    for (nth, (accuracies, shares)) in [
        (vec![0.55, 0.8], vec![0.1, 0.2]),
        (vec![0.4, 0.6, 0.85], vec![0.3, 0.3, 0.3]),
        (vec![0.5, 0.55, 0.7, 0.9], vec![0.5, 0.4, 0.5, 0.25]),
        (vec![0.3, 0.95], vec![0.5, 0.02]),
    ]
    .into_iter()
    .enumerate()
    {
        let found = with_index(&accuracies, &shares).unwrap().gain;
        let candidates = 400_000;
        let kept = candidates as f64 * shares.iter().product::<f64>();
        let gained = simulated(&accuracies, &shares, candidates, nth as u64);
        near(gained, found, 4.0 / kept.sqrt());
        let bound = one_stage(accuracies[accuracies.len() - 1], shares.iter().product());
        assert!(found <= bound + 1e-9, "{found} {bound}");
    }
}

/// Stages that tell nothing new change nothing, nor do stages that keep all.
#[test]
fn stages_without_news() {
    let twice = with_index(&[0.7, 0.7], &[0.5, 0.1]).unwrap().gain;
    near(twice, one_stage(0.7, 0.05), 1e-5);
    near(
        with_index(&[0.5, 0.7], &[1.0, 0.05]).unwrap().gain,
        one_stage(0.7, 0.05),
        1e-6,
    );
    let almost = with_index(&[0.7, 0.70001], &[0.5, 0.1]).unwrap().gain;
    near(almost, one_stage(0.7, 0.05), 1e-4);
    assert_eq!(with_index(&[0.7, 0.6], &[0.5, 0.1]), None);
    assert_eq!(with_index(&[0.7], &[0.0]), None);
    assert_eq!(two_stages([0.5, 0.5], 1.0, [0.1, 0.1]), None);
}

fn sizes(sites: u32, replicates: u32) -> Vec<TrialSize> {
    (1..=sites)
        .flat_map(|sites| {
            (1..=replicates).map(move |replicates| TrialSize {
                years: 1,
                sites,
                replicates,
            })
        })
        .collect()
}

/// Plots under a budget: within it, no worse than any other split tried by hand, below the bound; more plots gain more.
#[test]
fn plots_under_a_budget() {
    let variances = EntryVariances {
        entry: 1.0,
        by_year: 0.3,
        by_site: 0.2,
        by_year_and_site: 0.4,
        error: 1.2,
    };
    let request = |plots| StageRequest {
        variances,
        candidates: 200,
        wanted: 3,
        plots,
        sizes: vec![sizes(2, 2), sizes(3, 3)],
    };
    let mut last = 0.0;
    for plots in [250, 400, 700] {
        let plan = plan_stages(&request(plots)).unwrap();
        assert!(plan.plots <= plots && plan.gain <= plan.bound + 1e-9);
        assert!(plan.gain > last, "{plan:?}");
        last = plan.gain;
        assert_eq!(plan.stages[0].kept, plan.stages[1].entries);
        // Every other split with as many plots, one by one.
        for first in sizes(2, 2) {
            for second in sizes(3, 3) {
                let left = plots.saturating_sub(200 * first.plots());
                let entries = (left / second.plots()).min(200);
                if entries < 3 {
                    continue;
                }
                let information = |size: &TrialSize| {
                    1.0 / variances.noise(1.0, size.sites.into(), size.replicates.into())
                };
                let told = [
                    information(&first),
                    information(&first) + information(&second),
                ];
                let accuracies = told.map(|told| (told / (1.0 + told)).sqrt());
                let shares = [entries as f64 / 200.0, 3.0 / entries as f64];
                let gain = with_index(&accuracies, &shares).unwrap().gain;
                assert!(
                    gain <= plan.gain + 1e-9,
                    "{first:?} {second:?} {entries}: {gain}"
                );
            }
        }
    }
    assert_eq!(plan_stages(&request(199)), None);
    let three = StageRequest {
        sizes: vec![sizes(1, 1), sizes(2, 2), sizes(3, 2)],
        ..request(400)
    };
    let plan = plan_stages(&three).unwrap();
    assert!(plan.plots <= 400 && plan.stages.len() == 3);
    assert!(
        plan.stages
            .windows(2)
            .all(|pair| pair[0].accuracy < pair[1].accuracy)
    );
}
