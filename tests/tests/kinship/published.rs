//! Kinship held against published figures.

use quant::kinship::{
    Assumptions, FounderKinship, Gamete, Genotype, Kinship, Pedigree, Ploidy, PollenMix, inbreeding,
};

fn kinship(records: &[Genotype]) -> Kinship {
    Kinship::new(Pedigree::new(records.iter().copied(), &Assumptions::default()).unwrap())
}

/// Inbreeding of the last record.
fn last_inbreeding(records: &[Genotype]) -> f64 {
    let pedigree = Pedigree::new(records.iter().copied(), &Assumptions::default()).unwrap();
    *inbreeding(&pedigree).last().unwrap()
}

#[track_caller]
fn close(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "found {found}, expected {expected}"
    );
}

const FOUNDER: Genotype = Genotype::founder(Ploidy::DIPLOID);

fn child(female: usize, male: usize) -> Genotype {
    Genotype::diploid(Some(female), Some(male))
}

/// Mrode (2014), Linear Models for the Prediction of Animal Breeding Values, 3rd ed., section 2.2.
fn mrode() -> [Genotype; 6] {
    [
        FOUNDER,
        FOUNDER,
        child(0, 1),
        Genotype::diploid(Some(0), None),
        child(3, 2),
        child(4, 1),
    ]
}

/// Mrode (2014), section 2.2: the numerator relationship matrix; entries recomputed from the pedigree.
#[test]
fn numerator_relationship_matrix() {
    let expected = [
        [1.0000, 0.0000, 0.5000, 0.5000, 0.5000, 0.2500],
        [0.0000, 1.0000, 0.5000, 0.0000, 0.2500, 0.6250],
        [0.5000, 0.5000, 1.0000, 0.2500, 0.6250, 0.5625],
        [0.5000, 0.0000, 0.2500, 1.0000, 0.6250, 0.3125],
        [0.5000, 0.2500, 0.6250, 0.6250, 1.1250, 0.6875],
        [0.2500, 0.6250, 0.5625, 0.3125, 0.6875, 1.1250],
    ];
    let kinship = kinship(&mrode());
    for (i, row) in expected.iter().enumerate() {
        for (j, &expected) in row.iter().enumerate() {
            close(kinship.relationship(i, j), expected, 1e-12);
        }
    }
    let mendelian: Vec<f64> = (0..6).map(|i| kinship.mendelian_sampling(i)).collect();
    assert_eq!(mendelian, [1.0, 1.0, 0.5, 0.75, 0.5, 0.46875]);
}

/// Colleau (2002), Genet. Sel. Evol. 34:409-421: products with A need no A. Row sums recomputed.
#[test]
fn indirect_product_gives_row_sums() {
    let sums = kinship(&mrode()).relationship_times(&[1.0; 6]);
    for (found, expected) in sums
        .into_iter()
        .zip([2.75, 2.375, 3.4375, 2.6875, 3.8125, 3.5625])
    {
        close(found, expected, 1e-12);
    }
}

/// Henderson (1976), Biometrics 32:69-83, and Quaas (1976), Biometrics 32:949-953: the rules for A⁻¹ with
/// inbreeding, on the pedigree of Mrode (2014), section 2.2; entries recomputed.
#[test]
fn inverse_with_inbreeding() {
    let expected = [
        [1.833333, 0.500000, -1.000000, -0.666667, 0.000000, 0.000000],
        [0.500000, 2.033333, -1.000000, 0.000000, 0.533333, -1.066667],
        [
            -1.000000, -1.000000, 2.500000, 0.500000, -1.000000, 0.000000,
        ],
        [-0.666667, 0.000000, 0.500000, 1.833333, -1.000000, 0.000000],
        [
            0.000000, 0.533333, -1.000000, -1.000000, 2.533333, -1.066667,
        ],
        [0.000000, -1.066667, 0.000000, 0.000000, -1.066667, 2.133333],
    ];
    let inverse = kinship(&mrode()).relationship_inverse();
    let mut dense = [[0.0; 6]; 6];
    for (row, column, value) in inverse.matrix.entries() {
        dense[row][column] = value;
        dense[column][row] = value;
    }
    for (found, expected) in dense.iter().flatten().zip(expected.iter().flatten()) {
        close(*found, *expected, 5e-7);
    }
    close(
        inverse.log_determinant,
        (0.5_f64 * 0.75 * 0.5 * 0.46875).ln(),
        1e-12,
    );
}

/// Wright (1922), Am. Nat. 56:330-338; Falconer & Mackay (1996), Introduction to Quantitative Genetics, Table 5.1
/// (from memory); recomputed. Kinships also in Lange, Applied Probability, Table 5.1, p. 82.
#[test]
fn inbreeding_from_matings_of_relatives() {
    let founders = [FOUNDER; 6];
    let from = |records: &[Genotype]| last_inbreeding(&[&founders[..], records].concat());
    assert_eq!(
        from(&[child(0, 1), child(0, 1), child(6, 7)]),
        0.25,
        "full sibs"
    );
    assert_eq!(
        from(&[child(0, 1), child(6, 0)]),
        0.25,
        "parent and offspring"
    );
    assert_eq!(
        from(&[child(0, 1), child(0, 2), child(6, 7)]),
        0.125,
        "half sibs"
    );
    assert_eq!(
        from(&[child(0, 1), child(0, 1), child(6, 2), child(7, 8)]),
        0.125,
        "uncle and niece"
    );
    assert_eq!(
        from(&[
            child(0, 1),
            child(0, 1),
            child(2, 3),
            child(2, 3),
            child(6, 8),
            child(7, 9),
            child(10, 11)
        ]),
        0.125,
        "double first cousins"
    );
    assert_eq!(
        from(&[child(0, 1), child(6, 2), child(7, 0)]),
        0.125,
        "grandparent and grandchild"
    );
    assert_eq!(
        from(&[
            child(0, 1),
            child(0, 1),
            child(2, 6),
            child(2, 7),
            child(8, 9)
        ]),
        0.1875,
        "sibs by one parent whose other parents are full sibs"
    );
    assert_eq!(
        from(&[
            child(0, 1),
            child(0, 1),
            child(6, 2),
            child(7, 3),
            child(8, 9)
        ]),
        0.0625,
        "first cousins"
    );
    assert_eq!(
        from(&[
            child(0, 1),
            child(0, 2),
            child(6, 3),
            child(7, 4),
            child(8, 9)
        ]),
        0.03125,
        "half first cousins"
    );
    assert_eq!(
        from(&[
            child(0, 1),
            child(0, 1),
            child(6, 2),
            child(7, 3),
            child(8, 4),
            child(9, 5),
            child(10, 11)
        ]),
        0.015625,
        "second cousins"
    );
}

/// Wright (1921), Genetics 6:124-143: F = (1 + 2F' + F'')/4 under repeated full-sib mating.
#[test]
fn repeated_full_sib_mating() {
    let mut records = vec![FOUNDER, FOUNDER];
    let expected = [
        0.25,
        0.375,
        0.5,
        0.59375,
        0.671875,
        0.734375,
        0.78515625,
        0.826171875,
        0.859375,
        0.88623047,
    ];
    for generation in 0..=expected.len() {
        records.extend([child(2 * generation, 2 * generation + 1); 2]);
    }
    let kinship = kinship(&records);
    for (generation, expected) in expected.into_iter().enumerate() {
        close(kinship.inbreeding(2 * generation + 4), expected, 5e-9);
    }
}

/// Wright (1921): F = (1 + 6F' + F'')/8, one male mated to half sisters that are half sisters of one another.
#[test]
fn repeated_half_sib_mating() {
    // Each generation, one male has one child by each female; the first is the next male, the others the females.
    let expected = [
        0.125,
        0.21875,
        0.3046875,
        0.380859375,
        0.44873047,
        0.50915527,
        0.56296,
    ];
    let breadth = expected.len() + 2;
    let mut records = vec![FOUNDER; breadth + 1];
    let mut males = 0;
    let mut females: Vec<usize> = (1..=breadth).collect();
    let mut found = Vec::new();
    for _ in 0..=expected.len() {
        let first = records.len();
        records.extend(females.iter().map(|&female| child(female, males)));
        found.push(first);
        males = first;
        females = (first + 1..first + females.len()).collect();
    }
    let kinship = kinship(&records);
    for (&generation, expected) in found[1..].iter().zip(expected) {
        close(kinship.inbreeding(generation), expected, 5e-6);
    }
}

/// Falconer & Mackay (1996), Table 5.1 (from memory), recomputed: selfing and backcrossing to one plant.
#[test]
fn repeated_selfing_and_backcrossing() {
    let selfed: Vec<Genotype> = std::iter::once(FOUNDER)
        .chain((0..5).map(|i| child(i, i)))
        .collect();
    let kinship_of_selfed = kinship(&selfed);
    for (i, expected) in [0.5, 0.75, 0.875, 0.9375, 0.96875].into_iter().enumerate() {
        assert_eq!(kinship_of_selfed.inbreeding(i + 1), expected);
    }
    let backcrossed: Vec<Genotype> = [FOUNDER, FOUNDER, child(0, 1)]
        .into_iter()
        .chain((2..6).map(|i| child(0, i)))
        .collect();
    let kinship_of_backcrossed = kinship(&backcrossed);
    for (i, expected) in [0.25, 0.375, 0.4375, 0.46875].into_iter().enumerate() {
        assert_eq!(kinship_of_backcrossed.inbreeding(i + 3), expected);
    }
}

const HAPLOID_GAMETE: Gamete = Gamete::UNKNOWN.with_dose(0);

fn gamete(plant: usize, dose: u8, double_reduction: f64) -> Gamete {
    Gamete::of(plant)
        .with_dose(dose)
        .with_double_reduction(double_reduction)
}

/// Hamilton & Kerr (2018), Theor. Appl. Genet. 131:851-860, method after Kerr et al. (2012), Theor. Appl. Genet.
/// 124:1271-1282; the pedigree is said to be Table 1 of the 2018 paper.
fn hamilton_kerr() -> [Genotype; 8] {
    let founder_gamete = Gamete::UNKNOWN.with_dose(2).with_double_reduction(0.167);
    let single = |plant| gamete(plant, 1, 0.0);
    let late = Genotype::cross(Ploidy::TETRAPLOID, gamete(5, 2, 0.167), gamete(1, 2, 0.167));
    [
        Genotype::founder(Ploidy::DIPLOID),
        Genotype::cross(Ploidy::TETRAPLOID, founder_gamete, founder_gamete),
        Genotype::cross(Ploidy::DIPLOID, HAPLOID_GAMETE, gamete(1, 2, 0.167)),
        Genotype::cross(Ploidy::DIPLOID, gamete(0, 2, 0.041), HAPLOID_GAMETE),
        Genotype::cross(Ploidy::DIPLOID, single(0), single(2)),
        Genotype::cross(Ploidy::TETRAPLOID, gamete(0, 2, 0.918), gamete(2, 2, 0.041)),
        late,
        late,
    ]
}

/// Hamilton & Kerr (2018); values recomputed twice, independently, from the papers' recursion.
#[test]
#[expect(
    clippy::approx_constant,
    reason = "a relationship that happens to be 1/√2"
)]
fn mixed_ploidy_inbreeding_and_kinship() {
    let kinship = kinship(&hamilton_kerr());
    let inbreeding = [
        0.0,
        0.0770650669,
        0.2311952007,
        0.041,
        0.0,
        0.1967860329,
        0.1962859278,
        0.1962859278,
    ];
    for (i, expected) in inbreeding.into_iter().enumerate() {
        close(kinship.inbreeding(i), expected, 5e-11);
    }
    let coancestries = [
        (1, 1, 0.5),
        (2, 2, 0.3077988),
        (3, 3, 0.6155976),
        (4, 4, 0.5205),
        (5, 5, 0.5),
        (6, 6, 0.3975895),
        (7, 7, 0.3972144),
        (8, 8, 0.3972144),
        (1, 2, 0.0),
        (2, 3, 0.3077988),
        (1, 4, 0.5),
        (1, 5, 0.25),
        (1, 6, 0.25),
        (1, 7, 0.125),
        (2, 5, 0.1538994),
        (2, 6, 0.1538994),
        (2, 7, 0.2308491),
        (3, 5, 0.3077988),
        (3, 6, 0.3077988),
        (3, 7, 0.3077988),
        (4, 5, 0.25),
        (4, 6, 0.25),
        (4, 7, 0.125),
        (5, 6, 0.2788994),
        (5, 7, 0.2163994),
        (6, 7, 0.2757445),
        (7, 8, 0.2532968),
    ];
    for (i, j, expected) in coancestries {
        close(kinship.coancestry(i - 1, j - 1), expected, 5.1e-8);
    }
    let relationships = [
        (1, 1, 1.0),
        (2, 2, 1.2311952),
        (3, 3, 1.2311952),
        (4, 4, 1.041),
        (5, 5, 1.0),
        (6, 6, 1.5903581),
        (7, 7, 1.5888578),
        (2, 3, 0.8705865),
        (1, 6, 0.7071068),
        (1, 7, 0.3535534),
        (2, 6, 0.6155976),
        (2, 7, 0.9233964),
        (5, 6, 0.7888466),
        (5, 7, 0.6120699),
        (6, 7, 1.1029778),
        (7, 8, 1.0131871),
    ];
    for (i, j, expected) in relationships {
        close(kinship.relationship(i - 1, j - 1), expected, 5.1e-8);
    }
}

/// Hamilton & Kerr (2018); the inverse recomputed once.
#[test]
fn mixed_ploidy_inverse() {
    let inverse = kinship(&hamilton_kerr()).relationship_inverse();
    let expected = [
        (1, 1, 27.0087600),
        (2, 2, 2.4929900),
        (3, 3, 3.2429539),
        (4, 4, 24.3902439),
        (5, 5, 2.2614140),
        (6, 6, 2.9748774),
        (7, 7, 1.7371043),
        (8, 8, 1.7371043),
        (1, 3, 1.6185161),
        (1, 4, -24.3902439),
        (1, 5, -1.1307070),
        (1, 6, -1.4893968),
        (2, 3, -1.1486510),
        (2, 6, 0.8685522),
        (2, 7, -0.8685522),
        (2, 8, -0.8685522),
        (3, 5, -1.1307070),
        (3, 6, -1.4893968),
        (6, 7, -0.8685522),
        (6, 8, -0.8685522),
    ];
    let mut dense = [[0.0; 8]; 8];
    for (row, column, value) in inverse.matrix.entries() {
        dense[row][column] = value;
    }
    for (column, row, expected) in expected {
        close(
            std::mem::take(&mut dense[row - 1][column - 1]),
            expected,
            5.1e-8,
        );
    }
    assert!(
        dense.iter().flatten().all(|rest| rest.abs() < 1e-12),
        "all other entries are zero"
    );
}

/// F' = (1 + 5F)/6 under selfing of a tetraploid (textbook, from memory) and values by hand from the recursion of
/// Kerr et al. (2012).
#[test]
fn tetraploids_selfed_and_crossed() {
    let founder = Genotype::founder(Ploidy::TETRAPLOID);
    let cross =
        |f: usize, m: usize| Genotype::cross(Ploidy::TETRAPLOID, Gamete::of(f), Gamete::of(m));
    let selfed = kinship(&[founder, cross(0, 0), cross(1, 1), cross(2, 2)]);
    for (i, expected) in [1.0 / 6.0, 0.305556, 0.421296].into_iter().enumerate() {
        close(selfed.inbreeding(i + 1), expected, 5e-7);
    }
    let chromatid = Assumptions {
        double_reduction: 1.0 / 6.0,
        ..Assumptions::default()
    };
    let selfed = inbreeding(&Pedigree::new([founder, cross(0, 0)], &chromatid).unwrap());
    close(selfed[1], 0.222222, 5e-7);

    close(
        last_inbreeding(&[founder, founder, cross(0, 1), cross(0, 1), cross(2, 3)]),
        1.0 / 12.0,
        1e-12,
    );
    close(
        last_inbreeding(&[
            founder,
            founder,
            founder,
            cross(0, 1),
            cross(0, 2),
            cross(3, 4),
        ]),
        1.0 / 24.0,
        1e-12,
    );
    close(
        last_inbreeding(&[founder, founder, cross(0, 1), cross(2, 0)]),
        1.0 / 12.0,
        1e-12,
    );
}

/// By hand from the recursion of Kerr et al. (2012); two thirds of a triploid's genes come from its tetraploid
/// parent (De Noma 1994, MS thesis, Oregon State University).
#[test]
fn a_doubled_plant_and_its_triploid_child() {
    let triploid = |f, m| Genotype::cross(Ploidy::TRIPLOID, Gamete::of(f), Gamete::of(m));
    let doubled = Genotype::doubled(Ploidy::TETRAPLOID, 0);
    let unrelated = kinship(&[FOUNDER, FOUNDER, doubled, triploid(2, 1)]);
    close(unrelated.inbreeding(2), 1.0 / 3.0, 1e-12);
    close(unrelated.coancestry(2, 0), 0.5, 1e-12);
    close(unrelated.coancestry(2, 2), 0.5, 1e-12);
    close(unrelated.inbreeding(3), 1.0 / 9.0, 1e-12);
    close(unrelated.coancestry(3, 2), 1.0 / 3.0, 1e-12);
    close(unrelated.coancestry(3, 1), 1.0 / 6.0, 1e-12);
    close(unrelated.coancestry(3, 3), 0.407407, 5e-7);
    let shares: Vec<(usize, f64)> = unrelated.pedigree().donors(3).collect();
    assert_eq!(shares, [(2, 2.0 / 3.0), (1, 1.0 / 3.0)]);

    // The father is a half sib of the plant that was doubled.
    let records = [
        FOUNDER,
        FOUNDER,
        FOUNDER,
        child(1, 0),
        child(2, 0),
        Genotype::doubled(Ploidy::TETRAPLOID, 3),
        triploid(5, 4),
    ];
    close(last_inbreeding(&records), 7.0 / 36.0, 1e-12);
}

/// Henderson (1988), J. Anim. Sci. 66:1614-1621: relationships through several possible sires are averages.
/// By hand: two males with shares 3/4 and 1/4 on one female.
#[test]
fn a_pollen_mix_gives_expected_relationships() {
    let mixes = vec![PollenMix {
        members: vec![(1, 0.75), (2, 0.25)],
    }];
    let sib = Genotype::cross(Ploidy::DIPLOID, Gamete::of(0), Gamete::of_mix(0));
    let assumptions = Assumptions {
        mixes,
        ..Assumptions::default()
    };
    let kinship =
        Kinship::new(Pedigree::new([FOUNDER, FOUNDER, FOUNDER, sib, sib], &assumptions).unwrap());
    assert_eq!(kinship.coancestry(3, 1), 0.1875);
    assert_eq!(kinship.coancestry(3, 2), 0.0625);
    // 1/8 through the mother, and (0.75² + 0.25²)/8 through fathers that may be the same.
    assert_eq!(kinship.coancestry(3, 4), 0.125 + (0.5625 + 0.0625) / 8.0);
    assert_eq!(kinship.inbreeding(3), 0.0);
    // On the scale of A: 1 - 1/4 for the mother - (0.75² + 0.25²)/4 for the mean of the fathers.
    assert_eq!(kinship.mendelian_sampling(3), 0.59375);
}

/// By hand: founders of coancestry 1/4 have a child of F 1/4; an inbred founder passes its F on.
#[test]
fn founders_related_and_inbred() {
    let founders = FounderKinship {
        founders: vec![0, 1],
        coancestry: vec![0.5, 0.25, 0.25, 0.75],
    };
    let assumptions = Assumptions {
        founders,
        ..Assumptions::default()
    };
    let records = [
        FOUNDER,
        FOUNDER,
        FOUNDER,
        child(0, 1),
        child(1, 2),
        child(1, 1),
    ];
    let kinship = Kinship::new(Pedigree::new(records, &assumptions).unwrap());
    assert_eq!(kinship.inbreeding(1), 0.5);
    assert_eq!(kinship.inbreeding(3), 0.25);
    assert_eq!(kinship.coancestry(3, 4), (0.25 + 0.75) / 4.0);
    assert_eq!(kinship.inbreeding(5), 0.75, "selfing: (1 + F)/2");
}
