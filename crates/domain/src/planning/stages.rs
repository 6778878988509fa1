//! Selection among the seedlings of a family in stages: by what can be seen of them by each year.

use quant::chance::expected_best;
use quant::stages::{one_stage, with_index};

/// The accuracy that a single decision would need to gain what selection of one of `seedlings` in stages gains, given the
/// accuracy of what is known at each stage, the last with all traits.
///
/// The same share is kept at each stage (our own rule): of 50 in two stages the best seven, then the best of these. A stage
/// at which nothing tells keeps seedlings at random, as where room runs out before cones are borne. The gain of normal values in
/// any number (Cochran 1951, Proc. 2nd Berkeley Symp.: 449-470; here by integrals from stage to stage) is brought to so many
/// seedlings by the ratio of the expected best of them to the mean above the same share.
pub(super) fn accuracy_in_stages(accuracies: &[f64], seedlings: u32) -> f64 {
    let Some(&all) = accuracies.last() else {
        return 0.0;
    };
    let stages = accuracies.len();
    if stages < 2 || seedlings < 2 || all <= 0.0 {
        return all;
    }
    let kept = f64::from(seedlings).powf(-1.0 / stages as f64);
    // Seedlings kept at random are no selection: fewer come to the stages that follow.
    let telling: Vec<f64> = accuracies
        .iter()
        .copied()
        .filter(|each| *each > 1e-6)
        .collect();
    let shares = vec![kept; telling.len()];
    let Some(gain) = with_index(&telling, &shares) else {
        return all;
    };
    let telling_share = kept.powi(telling.len() as i32);
    let picked_of = (1.0 / telling_share).max(2.0);
    let finite = expected_best(picked_of) / one_stage(1.0, telling_share);
    let whole = expected_best(f64::from(seedlings));
    (gain.gain * finite / whole).clamp(0.0, all)
}

#[cfg(test)]
mod tests {
    use super::accuracy_in_stages;

    #[test]
    fn one_stage_is_as_accurate_as_it_is() {
        assert_eq!(accuracy_in_stages(&[0.6], 50), 0.6);
        assert_eq!(accuracy_in_stages(&[], 50), 0.0);
    }

    #[test]
    fn what_is_seen_later_counts_for_less_than_if_it_were_seen_at_once() {
        let staged = accuracy_in_stages(&[0.3, 0.7], 50);
        assert!(staged < 0.7 && staged > 0.3, "{staged}");
        // The better the early records, the better the whole.
        assert!(accuracy_in_stages(&[0.5, 0.7], 50) > staged);
        // Nothing new later is one decision.
        let same = accuracy_in_stages(&[0.7, 0.7], 50);
        assert!((same - 0.7).abs() < 0.01, "{same}");
        // Nothing known at first: seven of fifty at random, the best of these. Harter (1961), Biometrika 48: the expected
        // best of 7 is 1.35218, of 50 it is 2.24907.
        let late = accuracy_in_stages(&[0.0, 0.7], 50);
        assert!((late - 0.7 * 1.352_18 / 2.249_07).abs() < 0.01, "{late}");
    }

    /// Against drawing families: fifty seedlings, seven kept on the early index, the best of these on all.
    #[test]
    fn it_is_what_drawn_families_give() {
        let (early, all) = (0.4_f64, 0.7_f64);
        let mut state = 3_u64;
        let mut uniform = move || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            ((state >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
        };
        let mut normal = move || {
            let (one, two) = (uniform(), uniform());
            (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * two).cos()
        };
        let families = 8000;
        let mut sum = 0.0;
        for _ in 0..families {
            // The early index is what is expected of the value by then, the later one moves it by what is new.
            let mut seedlings: Vec<[f64; 3]> = (0..50)
                .map(|_| {
                    let first = early * normal();
                    let second = first + (all * all - early * early).sqrt() * normal();
                    [first, second, second + (1.0 - all * all).sqrt() * normal()]
                })
                .collect();
            seedlings.sort_by(|one, other| other[0].total_cmp(&one[0]));
            let best = seedlings[..7]
                .iter()
                .max_by(|one, other| one[1].total_cmp(&other[1]))
                .map_or(0.0, |best| best[2]);
            sum += best;
        }
        let drawn = sum / f64::from(families) / 2.249_07;
        let told = accuracy_in_stages(&[early, all], 50);
        assert!((told - drawn).abs() < 0.02, "{told} for {drawn}");
    }
}
