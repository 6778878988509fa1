//! Exact kinship against genes dropped down the pedigree by a simulation of its own.

use crate::random::{Random, pedigrees};
use fastrand::Rng;
use proptest::strategy::{Strategy as _, ValueTree as _};
use proptest::test_runner::TestRunner;
use quant::kinship::{Assumptions, Gamete, Genotype, Kinship, Origin, Pedigree, Source};

const LOCI: u32 = 1500;
/// Standard errors allowed. Of some five thousand comparisons, 0.003 would by chance lie beyond.
const LIMIT: f64 = 5.0;

/// Mean and sum of squares of a sample.
#[derive(Clone, Copy, Default)]
struct Sample {
    sum: f64,
    squares: f64,
}

impl Sample {
    fn add(&mut self, value: f64) {
        self.sum += value;
        self.squares += value * value;
    }

    #[track_caller]
    fn check(self, exact: f64) {
        let n = f64::from(LOCI);
        let mean = self.sum / n;
        // Where next to nothing varied in the sample, the exact value tells how much should have.
        let spread = (self.squares / n - mean * mean).max(exact * (1.0 - exact) / n);
        let limit = LIMIT * (spread / n).sqrt() + 1e-9;
        assert!(
            (mean - exact).abs() <= limit,
            "simulated {mean}, exact {exact}, limit {limit}"
        );
    }
}

/// Genes of every genotype at one locus, each founder gene a number of its own.
fn drop_genes(records: &[Genotype], assumptions: &Assumptions, random: &mut Rng) -> Vec<Vec<u32>> {
    let mut next = 0;
    let mut genes: Vec<Vec<u32>> = Vec::with_capacity(records.len());
    let mut fresh = |count: u8| -> Vec<u32> {
        next += u32::from(count);
        (next - u32::from(count)..next).collect()
    };
    for record in records {
        let own = match record.origin {
            Origin::Founder => fresh(record.ploidy.sets()),
            Origin::Variant { source } => genes[source].clone(),
            Origin::Doubled { source } => [&genes[source][..], &genes[source][..]].concat(),
            Origin::Cross { female, male } => {
                let mut own = gamete(&female, &genes, assumptions, random, &mut fresh);
                own.extend(gamete(&male, &genes, assumptions, random, &mut fresh));
                own
            }
        };
        genes.push(own);
    }
    genes
}

fn gamete(
    gamete: &Gamete,
    genes: &[Vec<u32>],
    assumptions: &Assumptions,
    random: &mut Rng,
    fresh: &mut impl FnMut(u8) -> Vec<u32>,
) -> Vec<u32> {
    let dose = gamete.dose.unwrap();
    let donor = match gamete.source {
        Source::Unknown => None,
        Source::Plant(plant) => Some(plant),
        Source::Mix(mix) => {
            let mut drawn = random.f64();
            let chosen = assumptions.mixes[mix].members.iter().find(|&&(_, share)| {
                drawn -= share;
                drawn < 0.0
            });
            chosen.map(|&(plant, _)| plant)
        }
    };
    let Some(donor) = donor else {
        return fresh(dose);
    };
    let mut parental = genes[donor].clone();
    random.shuffle(&mut parental);
    if dose > 1 && random.f64() < gamete.double_reduction.unwrap() {
        vec![parental[0]; usize::from(dose)]
    } else {
        parental.truncate(usize::from(dose));
        parental
    }
}

/// Share of gene pairs, one of each list, that are the same founder gene.
fn same(one: &[u32], other: &[u32]) -> f64 {
    let count = one
        .iter()
        .map(|a| other.iter().filter(|&b| a == b).count())
        .sum::<usize>();
    count as f64 / (one.len() * other.len()) as f64
}

/// Unrelated founders, and no stated double reduction in gametes of unknown plants: all genes enter different.
fn with_distinct_founder_genes(mut random: Random) -> Random {
    random.assumptions.founders = quant::kinship::FounderKinship::default();
    for record in &mut random.records {
        if let Origin::Cross { female, male } = &mut record.origin {
            for gamete in [female, male] {
                if !matches!(gamete.source, Source::Plant(_)) {
                    gamete.double_reduction = Some(0.0);
                }
            }
        }
    }
    random
}

#[test]
fn simulated_and_exact_kinship_agree() {
    let mut runner = TestRunner::deterministic();
    let strategy = pedigrees(40).prop_map(with_distinct_founder_genes);
    for seed in 0..8 {
        let random = strategy.new_tree(&mut runner).unwrap().current();
        let size = random.records.len();
        let mut coancestry = vec![Sample::default(); size * size];
        let mut inbreeding = vec![Sample::default(); size];
        let mut rng = Rng::with_seed(seed);
        for _ in 0..LOCI {
            let genes = drop_genes(&random.records, &random.assumptions, &mut rng);
            for i in 0..size {
                let sets = genes[i].len() as f64;
                if sets > 1.0 {
                    inbreeding[i].add((same(&genes[i], &genes[i]) * sets - 1.0) / (sets - 1.0));
                }
                for j in 0..i {
                    coancestry[i * size + j].add(same(&genes[i], &genes[j]));
                }
            }
        }
        let kinship = Kinship::new(
            Pedigree::new(random.records.iter().copied(), &random.assumptions).unwrap(),
        );
        for i in 0..size {
            inbreeding[i].check(kinship.inbreeding(i));
            for j in 0..i {
                coancestry[i * size + j].check(kinship.coancestry(i, j));
            }
        }
    }
}
