//! Population figures held against published definitions and values by hand.

use crate::random::pedigrees;
use proptest::prelude::*;
use quant::kinship::{
    Assumptions, Founder, Gamete, Genotype, Kinship, Pedigree, Ploidy, effective_number,
};

const FOUNDER: Genotype = Genotype::founder(Ploidy::DIPLOID);

fn child(female: usize, male: usize) -> Genotype {
    Genotype::diploid(Some(female), Some(male))
}

fn pedigree(records: &[Genotype]) -> Pedigree {
    Pedigree::new(records.iter().copied(), &Assumptions::default()).unwrap()
}

fn effective_founders(pedigree: &Pedigree, group: &[usize]) -> f64 {
    effective_number(
        pedigree
            .founder_contributions(group)
            .into_iter()
            .map(|(_, share)| share),
    )
    .unwrap()
}

/// Effective number of ancestors, all of them found.
fn effective_ancestors(pedigree: &Pedigree, group: &[usize]) -> f64 {
    let found = pedigree.ancestor_contributions(group, usize::MAX);
    close(found.unexplained, 0.0, 1e-9);
    let (lower, upper) = found.effective_number().unwrap();
    close(lower, upper, 1e-9);
    upper
}

#[track_caller]
fn close(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "found {found}, expected {expected}"
    );
}

/// Definitions: `f_e` and `f_g` of Lacy (1989), Zoo Biol. 8:111-123; `f_a` of Boichard, Maignel & Verrier (1997), Genet.
/// Sel. Evol. 29:5-23; `f_ge` of Caballero & Toro (2000), Genet. Res. 75:331-343. Values by hand: one male on four
/// females, one child of each; retention is 1 - (1/2)⁴ of the male's genes and 1/2 of each female's.
#[test]
fn one_male_on_four_females() {
    let records = [
        [FOUNDER; 5].to_vec(),
        (1..5).map(|female| child(female, 0)).collect(),
    ]
    .concat();
    let group = [5, 6, 7, 8];
    let pedigree = pedigree(&records);
    let expected: Vec<(Founder, f64)> = (0..5)
        .map(|i| (Founder::Plant(i), if i == 0 { 0.5 } else { 0.125 }))
        .collect();
    assert_eq!(pedigree.founder_contributions(&group), expected);
    close(effective_founders(&pedigree, &group), 3.2, 1e-12);
    close(effective_ancestors(&pedigree, &group), 3.2, 1e-9);
    let drop = pedigree.gene_drop(&group, 20_000, 7);
    // The standard error of f_g with this many loci is below 0.01.
    close(drop.founder_genomes().unwrap(), 2.553191, 0.04);
    let kinship = Kinship::new(pedigree);
    close(kinship.group_coancestry(&group).unwrap(), 0.21875, 1e-12);
    close(
        kinship.founder_genome_equivalents(&group).unwrap(),
        2.285714,
        5e-7,
    );
}

/// Sources as above; by hand: four founders pass through two plants.
#[test]
fn a_bottleneck() {
    let records = [
        [FOUNDER; 4].to_vec(),
        vec![child(0, 1), child(2, 3)],
        vec![child(4, 5); 4],
    ]
    .concat();
    let group = [6, 7, 8, 9];
    let pedigree = pedigree(&records);
    close(effective_founders(&pedigree, &group), 4.0, 1e-12);
    close(effective_ancestors(&pedigree, &group), 2.0, 1e-9);
    let ancestors = pedigree.ancestor_contributions(&group, 1);
    assert_eq!(ancestors.ancestors, [(4, 0.5)]);
    let (lower, upper) = ancestors.effective_number().unwrap();
    assert!(
        lower <= 2.0 && upper >= 2.0,
        "bounds {lower} to {upper} hold f_a"
    );
    let kinship = Kinship::new(pedigree);
    close(kinship.group_coancestry(&group).unwrap(), 0.3125, 1e-12);
    close(
        kinship.founder_genome_equivalents(&group).unwrap(),
        1.6,
        1e-12,
    );
}

/// Pedigree of Mrode (2014), 3rd ed., section 2.2; values by hand. The unknown parent of the fourth plant counts.
#[test]
fn an_unknown_parent_is_a_founder() {
    let pedigree = pedigree(&[
        FOUNDER,
        FOUNDER,
        child(0, 1),
        Genotype::diploid(Some(0), None),
        child(3, 2),
        child(4, 1),
    ]);
    let expected = [
        (Founder::Plant(0), 0.375),
        (Founder::Plant(1), 0.4375),
        (Founder::UnknownParentOf(3), 0.1875),
    ];
    assert_eq!(pedigree.founder_contributions(&[4, 5]), expected);
    close(effective_founders(&pedigree, &[4, 5]), 2.723404, 5e-7);
    let kinship = Kinship::new(pedigree);
    close(kinship.group_coancestry(&[4, 5]).unwrap(), 0.453125, 1e-12);
    close(
        kinship.founder_genome_equivalents(&[4, 5]).unwrap(),
        1.103448,
        5e-7,
    );
    // Mean kinship of all six, each with itself: the sum of A is 18.625.
    close(
        kinship.group_coancestry(&[0, 1, 2, 3, 4, 5]).unwrap(),
        18.625 / 72.0,
        1e-12,
    );
    let mean = kinship.mean_kinship(&[0, 1, 2, 3, 4, 5]);
    close(mean[4], 3.8125 / 12.0, 1e-12);
}

/// De Noma (1994), MS thesis, Oregon State University: two thirds of a triploid from its tetraploid parent.
#[test]
fn contributions_follow_the_doses() {
    let triploid = Genotype::cross(Ploidy::TRIPLOID, Gamete::of(0), Gamete::of(1));
    let pedigree = pedigree(&[Genotype::founder(Ploidy::TETRAPLOID), FOUNDER, triploid]);
    let expected = [
        (Founder::Plant(0), 2.0 / 3.0),
        (Founder::Plant(1), 1.0 / 3.0),
    ];
    assert_eq!(pedigree.founder_contributions(&[2]), expected);
}

/// Maignel, Boichard & Verrier (1996): the sum of (1/2)ⁿ over known ancestors; by hand.
#[test]
fn completeness_of_ancestry() {
    let records = [
        FOUNDER,
        FOUNDER,
        child(0, 1),
        Genotype::diploid(Some(0), None),
        child(3, 2),
        Genotype::variant(Ploidy::DIPLOID, 4),
    ];
    let pedigree = pedigree(&records);
    assert_eq!(
        pedigree.equivalent_generations(),
        [0.0, 0.0, 1.0, 0.5, 1.75, 1.75]
    );
    assert_eq!(pedigree.completeness(&[4], 3), [1.0, 0.75, 0.0]);
    assert_eq!(
        pedigree.completeness(&[4, 5, 0], 2),
        [2.0 / 3.0, 0.5],
        "a variant stands beside its source"
    );
}

/// Falconer & Mackay (1996), ch. 4: ΔF = (F - F')/(1 - F') and effective size 1/(2 ΔF). With selfing every season
/// 1 - F halves: ΔF is 1/2 and the effective size 1, whatever way it is found. Gutiérrez et al. (2009) find it from
/// each plant alone.
#[test]
fn rate_of_inbreeding_under_selfing() {
    let records: Vec<Genotype> = std::iter::once(FOUNDER)
        .chain((0..6).map(|i| child(i, i)))
        .collect();
    let kinship = Kinship::new(pedigree(&records));
    let season: Vec<Option<i32>> = (0..7).map(|i| Some(2020 + i)).collect();
    let trend = kinship.inbreeding_trend(&season);
    assert_eq!(trend.cohorts.len(), 7);
    assert_eq!(trend.cohorts[0].rate, None);
    for cohort in &trend.cohorts[1..] {
        close(cohort.rate.unwrap(), 0.5, 1e-12);
    }
    close(trend.rate_per_season.unwrap(), 0.5, 1e-12);
    assert_eq!(trend.generation_interval, Some(1.0));
    close(trend.effective_size().unwrap(), 1.0, 1e-12);

    // The same plants with two seasons between generations: less each season, the same each generation.
    let slower: Vec<Option<i32>> = (0..7).map(|i| Some(2020 + 2 * i)).collect();
    let trend = kinship.inbreeding_trend(&slower);
    close(trend.rate_per_season.unwrap(), 1.0 - 0.5_f64.sqrt(), 1e-12);
    close(trend.effective_size().unwrap(), 1.0, 1e-12);

    assert_eq!(kinship.inbreeding_trend(&[None; 7]).effective_size(), None);
    // A selfed plant of t generations has 1 - F = (1/2)ᵗ, which t - 1 generations of chance must explain.
    close(
        kinship.realized_effective_size(&[6]).unwrap(),
        0.5 / (1.0 - 0.5_f64.powf(6.0 / 5.0)),
        1e-12,
    );
    assert_eq!(kinship.realized_effective_size(&[0]), None);
}

#[test]
fn nothing_is_said_of_an_empty_group() {
    let kinship = Kinship::new(pedigree(&[FOUNDER]));
    assert_eq!(kinship.group_coancestry(&[]), None);
    assert_eq!(kinship.founder_genome_equivalents(&[]), None);
    assert_eq!(kinship.pedigree().founder_contributions(&[]), []);
    assert_eq!(
        kinship
            .pedigree()
            .ancestor_contributions(&[], 5)
            .effective_number(),
        None
    );
    assert_eq!(
        kinship.pedigree().gene_drop(&[], 10, 1).founder_genomes(),
        None
    );
}

proptest! {
    /// Contributions are shares of a whole, found largest first; bounds of `f_a` hold it.
    #[test]
    fn contributions_add_up((random, picks) in (pedigrees(40), prop::collection::vec(any::<u16>(), 1..12))) {
        let pedigree = Pedigree::new(random.records.iter().copied(), &random.assumptions).unwrap();
        let group: Vec<usize> = picks.iter().map(|&pick| usize::from(pick) % pedigree.len()).collect();
        let founders = pedigree.founder_contributions(&group);
        let total: f64 = founders.iter().map(|&(_, share)| share).sum();
        prop_assert!((total - 1.0).abs() < 1e-9);
        let all = pedigree.ancestor_contributions(&group, usize::MAX);
        prop_assert!(all.unexplained < 1e-9);
        prop_assert!(all.ancestors.is_sorted_by(|a, b| a.1 >= b.1 - 1e-9));
        let (_, ancestors) = all.effective_number().unwrap();
        for limit in 1..all.ancestors.len() {
            let (lower, upper) = pedigree.ancestor_contributions(&group, limit).effective_number().unwrap();
            prop_assert!(lower <= ancestors + 1e-9 && ancestors <= upper + 1e-9);
        }
        for (_, contribution, retention) in pedigree.gene_drop(&group, 20, 3).founders {
            prop_assert!(contribution > 0.0 && (0.0..=1.0).contains(&retention));
        }
    }
}
