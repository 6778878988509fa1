//! What is not a pedigree is refused, with the genotype to blame.

use quant::kinship::{
    Assumptions, DoseFault, FounderKinship, Gamete, Genotype, Pedigree, PedigreeError, Ploidy,
    PollenMix,
};

const FOUNDER: Genotype = Genotype::founder(Ploidy::DIPLOID);

fn child(female: usize, male: usize) -> Genotype {
    Genotype::diploid(Some(female), Some(male))
}

fn refusal_with(records: &[Genotype], assumptions: &Assumptions) -> PedigreeError {
    Pedigree::new(records.iter().copied(), assumptions).unwrap_err()
}

fn refusal(records: &[Genotype]) -> PedigreeError {
    refusal_with(records, &Assumptions::default())
}

#[test]
fn cycles_are_named_in_order_of_descent() {
    // 1 is a parent of 2, 2 of 4, 4 of 1; 3 and 5 hang on.
    let records = [
        FOUNDER,
        child(4, 0),
        child(1, 0),
        child(2, 0),
        child(0, 2),
        child(4, 3),
    ];
    let PedigreeError::Cycle { members } = refusal(&records) else {
        panic!("a cycle")
    };
    let start = members.iter().position(|&member| member == 1).unwrap();
    let turned: Vec<usize> = members[start..]
        .iter()
        .chain(&members[..start])
        .copied()
        .collect();
    assert_eq!(turned, [1, 2, 4]);
    assert_eq!(
        refusal(&[child(0, 0)]),
        PedigreeError::Cycle { members: vec![0] }
    );
}

#[test]
fn long_descent_is_no_burden() {
    // Youngest first, so that the search has to go all the way down.
    let records: Vec<Genotype> = (1..100_000)
        .map(|parent| Genotype::diploid(Some(parent), None))
        .chain([FOUNDER])
        .collect();
    assert_eq!(
        Pedigree::new(records, &Assumptions::default())
            .unwrap()
            .parents()
            .next(),
        Some(99_999)
    );
}

#[test]
fn missing_plants_and_mixes() {
    assert_eq!(
        refusal(&[child(0, 7)]),
        PedigreeError::MissingParent {
            genotype: 0,
            parent: 7
        }
    );
    let mixed = Genotype::cross(Ploidy::DIPLOID, Gamete::UNKNOWN, Gamete::of_mix(2));
    assert_eq!(
        refusal(&[mixed]),
        PedigreeError::MissingMix {
            genotype: 0,
            mix: 2
        }
    );
    let lost = Assumptions {
        mixes: vec![PollenMix {
            members: vec![(9, 1.0)],
        }],
        ..Assumptions::default()
    };
    let mixed = Genotype::cross(Ploidy::DIPLOID, Gamete::UNKNOWN, Gamete::of_mix(0));
    assert_eq!(
        refusal_with(&[mixed], &lost),
        PedigreeError::MissingParent {
            genotype: 0,
            parent: 9
        }
    );
}

#[test]
fn ploidies_that_cannot_be() {
    let octoploid = Genotype::cross(Ploidy::new(8).unwrap(), Gamete::of(0), Gamete::of(0));
    let PedigreeError::Dose {
        genotype: 1,
        fault: DoseFault::Impossible,
        ..
    } = refusal(&[FOUNDER, octoploid])
    else {
        panic!("no gametes of a diploid make an octoploid")
    };
    let doubled = Genotype::doubled(Ploidy::TRIPLOID, 0);
    assert_eq!(
        refusal(&[FOUNDER, doubled]),
        PedigreeError::CopyPloidy {
            genotype: 1,
            ploidy: Ploidy::TRIPLOID,
            expected: 4
        }
    );
}

#[test]
fn probabilities_and_shares_out_of_range() {
    for shares in [
        vec![(0, 0.7), (0, 0.7)],
        vec![(0, 0.0)],
        vec![(0, f64::NAN)],
        vec![(0, -0.5), (0, 0.5)],
    ] {
        let assumptions = Assumptions {
            mixes: vec![PollenMix { members: shares }],
            ..Assumptions::default()
        };
        assert_eq!(
            refusal_with(&[FOUNDER], &assumptions),
            PedigreeError::Shares { mix: 0 }
        );
    }
    let assumptions = Assumptions {
        double_reduction: 1.5,
        ..Assumptions::default()
    };
    assert_eq!(
        refusal_with(&[FOUNDER], &assumptions),
        PedigreeError::DoubleReduction {
            genotype: None,
            probability: 1.5
        }
    );
    let gamete = Gamete::of(0).with_double_reduction(-0.1);
    assert_eq!(
        refusal(&[
            FOUNDER,
            Genotype::cross(Ploidy::DIPLOID, gamete, Gamete::UNKNOWN)
        ]),
        PedigreeError::DoubleReduction {
            genotype: Some(1),
            probability: -0.1
        }
    );
}

#[test]
fn founder_matrices_that_contradict_themselves() {
    let with = |founders: &[usize], coancestry: &[f64]| {
        let founders = FounderKinship {
            founders: founders.to_vec(),
            coancestry: coancestry.to_vec(),
        };
        let assumptions = Assumptions {
            founders,
            ..Assumptions::default()
        };
        refusal_with(&[FOUNDER, FOUNDER, FOUNDER, child(0, 1)], &assumptions)
    };
    assert_eq!(
        with(&[3], &[0.5]),
        PedigreeError::NotAFounder { genotype: 3 }
    );
    assert_eq!(
        with(&[0, 0], &[0.5; 4]),
        PedigreeError::NotAFounder { genotype: 0 }
    );
    assert_eq!(
        with(&[0, 1], &[0.5]),
        PedigreeError::FounderMatrixSize {
            expected: 4,
            found: 1
        }
    );
    let asymmetric = PedigreeError::FounderCoancestry {
        row: 0,
        column: 1,
        coancestry: 0.2,
    };
    assert_eq!(with(&[0, 1], &[0.5, 0.2, 0.1, 0.5]), asymmetric);
    let impossible = PedigreeError::FounderCoancestry {
        row: 0,
        column: 0,
        coancestry: 0.4,
    };
    assert_eq!(with(&[0], &[0.4]), impossible);
    // 0 equals 1 and 1 equals 2, but 0 and 2 are unrelated.
    let entries = [0.5, 0.5, 0.0, 0.5, 0.5, 0.5, 0.0, 0.5, 0.5];
    assert_eq!(
        with(&[0, 1, 2], &entries),
        PedigreeError::FounderMatrixIndefinite { genotype: 2 }
    );
}

#[test]
fn refusals_read_as_sentences() {
    assert_eq!(
        refusal(&[child(1, 1), child(0, 0)]).to_string(),
        "genotypes that are their own ancestors: 1 > 0 > 1"
    );
    let octoploid = Genotype::cross(Ploidy::new(8).unwrap(), Gamete::of(0), Gamete::of(0));
    assert_eq!(
        refusal(&[FOUNDER, octoploid]).to_string(),
        "genotype 1 is 8x, but no gametes of its parents add up to that"
    );
}
