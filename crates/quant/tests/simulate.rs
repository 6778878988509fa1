//! Seasons played out by chance, against theory.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use std::ops::ControlFlow;

use quant::chance::intensity;
use quant::kinship::{Assumptions, Genotype, Pedigree};
use quant::simulate::{
    Outcome, Pairing, Stock, StockPlant, Strategy, StrategyFault, compare, play,
};

fn go(_: f64) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

/// Founders, half of them female, of values that nothing is known of.
fn founders(count: usize) -> (Pedigree, Vec<StockPlant>) {
    let records = (0..count).map(|_| Genotype::diploid(None, None));
    let pedigree = Pedigree::new(records, &Assumptions::default()).unwrap();
    let plants = (0..count)
        .map(|plant| StockPlant {
            plant,
            value: 0.0,
            error: 1.0,
            female: plant % 2 == 0,
        })
        .collect();
    (pedigree, plants)
}

const PLAIN: Strategy = Strategy {
    seasons: 1,
    crosses: 20,
    plants: 50,
    female_share: 0.5,
    culled: 0.0,
    screen_heritability: 0.0,
    heritability: 0.3,
    females: 10,
    males: 10,
    again: 0,
    pairing: Pairing::Chance,
};

fn played(
    pedigree: &Pedigree,
    plants: &[StockPlant],
    strategy: &Strategy,
    replicates: u32,
) -> Outcome {
    let stock = Stock {
        pedigree,
        plants: plants.to_vec(),
        deviation: 1.0,
        keeper: 1.5,
    };
    play(&stock, strategy, replicates, 17, &mut go)
        .unwrap()
        .unwrap()
}

/// Gain of one generation: i · accuracy · σ (Lush 1937; Falconer & Mackay 1996, eq. 11.3). A tenth of many seedlings is
/// kept by a record whose error has the variance 7/3: heritability 0.3 at a genetic variance of 1. Forty unrelated
/// parents of either sex leave ½ (1 - 1/40) of it between families and ½ within.
#[test]
fn first_generation_gain_is_intensity_times_accuracy_times_deviation() {
    let (pedigree, mut plants) = founders(80);
    for plant in &mut plants {
        plant.value = 0.0;
    }
    let strategy = Strategy {
        seasons: 2,
        crosses: 800,
        plants: 1,
        females: 40,
        males: 40,
        ..PLAIN
    };
    let outcome = played(&pedigree, &plants, &strategy, 150);
    let genetic: f64 = 0.5 * (1.0 - 1.0 / 40.0) + 0.5;
    let accuracy = (genetic / (genetic + 0.7 / 0.3)).sqrt();
    let expected = intensity(0.1) * accuracy * genetic.sqrt();
    let kept = outcome.seasons[0].chosen.mean - outcome.seasons[0].mean.mean;
    assert!(
        (kept - expected).abs() < 0.03 * expected,
        "{kept} for {expected}"
    );
    let gain = outcome.seasons[1].mean.mean - outcome.seasons[0].mean.mean;
    assert!(
        (gain - expected).abs() < 0.03 * expected,
        "{gain} for {expected}"
    );
}

/// Inbreeding under random mating with equal numbers of either sex: F rises by 1/(2N) a generation, and
/// heterozygosity falls by as much, N = 20 with ½ added as no plant can mate with itself (Wright 1931, Genetics
/// 16:97-159; Falconer & Mackay 1996, eq. 4.1).
#[test]
fn heterozygosity_falls_by_one_in_twice_the_size_a_generation() {
    let (pedigree, plants) = founders(20);
    let strategy = Strategy {
        seasons: 9,
        crosses: 200,
        plants: 2,
        heritability: 0.0,
        ..PLAIN
    };
    let outcome = played(&pedigree, &plants, &strategy, 60);
    assert!(outcome.seasons[0].inbreeding.mean == 0.0);
    let left = |season: usize| 1.0 - outcome.seasons[season].inbreeding.mean;
    let rate = 1.0 - (left(8) / left(2)).powf(1.0 / 6.0);
    let expected = 1.0 / (2.0 * 20.5);
    assert!(
        (rate - expected).abs() < 0.15 * expected,
        "{rate} for {expected}"
    );
    // Nothing is gained by chance alone.
    let drift = outcome.seasons[8].mean;
    assert!(drift.mean.abs() < 4.0 * drift.error, "{drift:?}");
}

/// The variance within a family of unrelated parents that are not inbred is half the genetic variance, that of full
/// sibs mated a quarter less of it: ½ (1 - F̄) with parents of F = ¼ in the next generation (Falconer & Mackay 1996,
/// ch. 15). Told here by the best of many: it lies twice as far above the mean where the deviation is twice as great.
#[test]
fn known_parents_give_families_of_half_the_variance() {
    let (pedigree, mut plants) = founders(2);
    for plant in &mut plants {
        plant.error = 0.0;
    }
    let strategy = Strategy {
        crosses: 1,
        plants: 400,
        heritability: 1.0,
        females: 1,
        males: 1,
        ..PLAIN
    };
    let outcome = played(&pedigree, &plants, &strategy, 300);
    let season = &outcome.seasons[0];
    // The best of about 200 females: 2.746 standard deviations (Harter 1961, Biometrika 48:151-165).
    let expected = 2.746 * 0.5_f64.sqrt();
    assert!(
        (season.best.mean - expected).abs() < 0.05,
        "{} for {expected}",
        season.best.mean
    );
    assert!(season.mean.mean.abs() < 0.02);
}

#[test]
fn the_same_seed_gives_the_same_and_another_does_not() {
    let (pedigree, plants) = founders(20);
    let one = played(&pedigree, &plants, &PLAIN, 10);
    assert_eq!(one, played(&pedigree, &plants, &PLAIN, 10));
    let stock = Stock {
        pedigree: &pedigree,
        plants,
        deviation: 1.0,
        keeper: 1.5,
    };
    let other = play(&stock, &PLAIN, 10, 18, &mut go).unwrap().unwrap();
    assert_ne!(one, other);
    assert_eq!(
        play(&stock, &PLAIN, 10, 18, &mut |_| ControlFlow::Break(())),
        Ok(None)
    );
}

/// Common random numbers: the difference of two strategies is told apart from chance better than by plays of their
/// own, and a strategy does not differ from itself.
#[test]
fn two_strategies_meet_the_same_luck() {
    let (pedigree, plants) = founders(20);
    let harder = Strategy {
        seasons: 3,
        females: 4,
        males: 4,
        ..PLAIN
    };
    let softer = Strategy {
        seasons: 3,
        ..PLAIN
    };
    let (one, other) = (
        played(&pedigree, &plants, &harder, 80),
        played(&pedigree, &plants, &softer, 80),
    );
    for same in compare(&one, &one) {
        assert_eq!((same.chosen.mean, same.chosen.error), (0.0, 0.0));
    }
    let last = compare(&one, &other)[2];
    let apart = one.seasons[2]
        .chosen
        .error
        .hypot(other.seasons[2].chosen.error);
    assert!(
        last.chosen.error < 0.9 * apart,
        "{} with, {apart} without",
        last.chosen.error
    );
    assert!(
        last.chosen.mean > 0.0 && last.inbreeding.mean > 0.0,
        "{last:?}"
    );
    assert!(one.seasons[2].keeper >= one.seasons[0].keeper);
}

#[test]
fn what_cannot_be_played_is_refused() {
    let (pedigree, plants) = founders(4);
    let stock = |plants: Vec<StockPlant>| Stock {
        pedigree: &pedigree,
        plants,
        deviation: 1.0,
        keeper: 1.0,
    };
    let fault = |plants: Vec<StockPlant>, strategy: &Strategy| {
        play(&stock(plants), strategy, 2, 1, &mut go).unwrap_err()
    };
    let females = plants.iter().copied().filter(|each| each.female).collect();
    assert_eq!(fault(females, &PLAIN), StrategyFault::OneSex);
    let none = Strategy {
        crosses: 0,
        ..PLAIN
    };
    assert_eq!(fault(plants.clone(), &none), StrategyFault::Nothing);
    let wrong = Strategy {
        culled: 1.5,
        ..PLAIN
    };
    assert_eq!(fault(plants, &wrong), StrategyFault::Figure);
}
