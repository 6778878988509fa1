//! Intervals of heritabilities, played against heritabilities that are known.
//!
//! `BINEWRIGHT_HERITABILITIES=1000 cargo test --workspace --test evaluation -- --nocapture coverage` draws as many
//! programs of each kind and prints the table; by default a few are drawn.

use crate::pedigree::{Parents, relationship};
use crate::random::Random;
use quant::evaluation::{Basis, FixedEffect, Model, Observations, RandomEffect, Role, Sense};

/// Crosses of unrelated parents in a circle, so that each parent has two families.
fn families(count: usize, size: usize) -> Vec<Parents> {
    let mut pedigree: Vec<Parents> = vec![[None, None]; count];
    for family in 0..count {
        let parents = [Some(family), Some((family + 1) % count)];
        pedigree.extend(std::iter::repeat_n(parents, size));
    }
    pedigree
}

/// One record of each seedling of `count` families, at a heritability.
fn drawn(count: usize, size: usize, heritability: f64, random: &mut Random) -> Model {
    let pedigree = families(count, size);
    let mut breeding: Vec<f64> = Vec::new();
    for parents in &pedigree {
        let value = match *parents {
            [Some(one), Some(other)] => {
                0.5 * (breeding[one] + breeding[other])
                    + (0.5 * heritability).sqrt() * random.normal()
            }
            _ => heritability.sqrt() * random.normal(),
        };
        breeding.push(value);
    }
    let seedlings: Vec<usize> = (count..pedigree.len()).collect();
    let records = seedlings
        .iter()
        .map(|&plant| Some(breeding[plant] + (1.0 - heritability).sqrt() * random.normal()))
        .collect();
    Model::new(
        Observations::single(records).unwrap(),
        vec![FixedEffect::mean(seedlings.len())],
        vec![RandomEffect::related(
            Role::Additive,
            &seedlings,
            relationship(&pedigree),
        )],
    )
    .unwrap()
}

/// An interval that is shown holds the heritability in 95 of 100 programs, within what so many draws may be off by luck; and
/// where records don't tell it, none is shown rather than one from 0 to 0.
#[test]
fn heritability_intervals_hold_what_is_true() {
    let programs: u32 =
        std::env::var("BINEWRIGHT_HERITABILITIES").map_or(24, |text| text.parse().unwrap());
    let mut random = Random::new(1951);
    let (mut held, mut shown) = (0, 0);
    for (count, size, heritability) in [(12, 12, 0.3), (24, 8, 0.5), (30, 16, 0.15)] {
        let (mut of_kind, mut told) = (0, 0);
        for _ in 0..programs {
            let fit = drawn(count, size, heritability, &mut random)
                .estimate()
                .unwrap();
            let Some(found) = fit.heritability(0, Sense::Narrow, Basis::Plot) else {
                continue;
            };
            assert!(found.value > 0.0 && found.lower < found.upper);
            told += 1;
            of_kind += u32::from((found.lower..=found.upper).contains(&heritability));
        }
        println!(
            "{count} families of {size}, heritability {heritability}: told in {told} of {programs}, held in {:.1} %",
            100.0 * f64::from(of_kind) / f64::from(told.max(1))
        );
        held += of_kind;
        shown += told;
    }
    let share = f64::from(held) / f64::from(shown);
    println!("all: {:.2} % of {shown}", 100.0 * share);
    let luck = 3.0 * (0.95 * 0.05 / f64::from(shown)).sqrt();
    assert!((share - 0.95).abs() < 0.02 + luck, "{share}");
    assert!(2 * shown > 3 * programs, "told in {shown}");
}
