//! Pairs of which a parent came of mixed pollen: what may be, not only what is expected on average.

use crate::program::{Program, day, seen};
use domain::genetics::{Kinship, ignore_progress};
use domain::planning::{Candidate, Candidates, Goals, Knowledge, TraitGoal};
use domain::record::genotype::GenotypeField;
use domain::record::settings::SettingsField;
use domain::{
    Direction, Edit, Genotype, Id, Observation, Origin, Pollen, PollenShare, Project, Scale, Sex,
    Trait,
};
use std::sync::Arc;

const TODAY: &str = "2026-03-10";

fn candidates(project: &Project) -> Candidates {
    let kinship = Arc::new(Kinship::of(project, 0.0).expect("a kinship"));
    let knowledge =
        Arc::new(Knowledge::of(project, &kinship, &mut ignore_progress).expect("not stopped"));
    Candidates::rank(project, &kinship, &knowledge, day(TODAY))
}

/// A daughter and a son of one female and pollen mixed of two males, 30 % and 70 %; a third male beside.
struct Mixed {
    program: Program,
    daughter: Id<Genotype>,
    son: Id<Genotype>,
    males: [Id<Genotype>; 2],
    other: Id<Genotype>,
}

/// With each child's father known where `fathers` says so.
fn mixed(fathers: Option<[usize; 2]>) -> Mixed {
    let mut program = Program::begun();
    let female = program.founder("F-01", Some(Sex::Female));
    let males = ["M-01", "M-02"].map(|code| program.founder(code, Some(Sex::Male)));
    let other = program.founder("M-03", Some(Sex::Male));
    let shares = [0.3, 0.7];
    let mix = Pollen::Mix(
        males
            .into_iter()
            .zip(shares)
            .map(|(male, share)| PollenShare {
                male,
                share: Some(share),
            })
            .collect(),
    );
    let children = [("D", Sex::Female), ("S", Sex::Male)];
    let [daughter, son] = [0, 1].map(|nth| {
        let (code, sex) = children[nth];
        let pollen = fathers.map_or_else(|| mix.clone(), |known| Pollen::Male(males[known[nth]]));
        let cross = program.cross(&format!("24-0{nth}"), female, pollen);
        let plant = program.seedling(code, Origin::Cross { cross });
        program.make(Edit::set(plant, GenotypeField::Sex(Some(seen(sex)))));
        plant
    });
    let of_trait = Trait {
        id: program.ids.next(),
        name: "Leafiness".into(),
        scale: Scale::one_to_nine("least", "most"),
        direction: Direction::Higher,
        method: String::new(),
    };
    let of_trait = program.add(of_trait);
    for (male, value) in males.into_iter().zip([8.0, 3.0]) {
        let seen = Observation::new(program.ids.next(), male, of_trait, day("2025-08-01"), value);
        program.add(seen);
    }
    program.make(Edit::Settings(SettingsField::Goals(Goals {
        traits: vec![TraitGoal::new(of_trait)],
        inbreeding: 0.125,
        ..Goals::default()
    })));
    Mixed {
        program,
        daughter,
        son,
        males,
        other,
    }
}

fn pair(found: &Candidates, female: Id<Genotype>, male: Id<Genotype>) -> &Candidate {
    found.pair(female, male).expect("a pair")
}

/// The mean F 0.075 is accepted; with 30 % it is a father with his daughter, F 0.25 (Wright 1922, Am. Nat. 56: parent
/// and offspring of unrelated parents).
#[test]
fn the_bad_case_behind_an_accepted_mean_is_flagged() {
    let made = mixed(None);
    let project = &made.program.project;
    let found = candidates(project);
    let with_father = pair(&found, made.daughter, made.males[0]);
    assert!((with_father.relatedness.inbreeding - 0.075).abs() < 1e-12);
    assert!(with_father.is_offered());
    let bad = with_father.bad_case.expect("a bad case");
    assert!((bad.chance - 0.3).abs() < 1e-12);
    assert!((bad.inbreeding - 0.25).abs() < 1e-12);
    let words = found.father_words(project, with_father).join(" ");
    assert!(
        words.contains(
            "With 30 % the seedlings are more inbred than the goals accept, up to F 0.250"
        ),
        "{words}"
    );
    assert!(
        words.contains("30 %: M-01 is the father of D. F 0.250"),
        "{words}"
    );
    assert!(words.contains("A paternity test of D"), "{words}");
    // With a male outside the mix there is nothing to fear, whoever the father is.
    let outside = pair(&found, made.daughter, made.other);
    assert_eq!(outside.bad_case, None);
    assert!(!found.father_words(project, outside).is_empty());
}

/// Each case is what the program says of a project in which that father is known.
#[test]
fn each_case_is_the_kinship_of_the_project_in_which_the_father_is_known() {
    let made = mixed(None);
    let project = &made.program.project;
    let found = candidates(project);
    for (female, male) in [
        (made.daughter, made.males[0]),
        (made.daughter, made.males[1]),
        (made.daughter, made.son),
    ] {
        let of_mix = pair(&found, female, male);
        let uncertain = found.uncertain_fathers(project, of_mix).expect("cases");
        let chances: f64 = uncertain.cases.iter().map(|each| each.chance).sum();
        assert!((chances - 1.0).abs() < 1e-12);
        let mean: f64 = uncertain
            .cases
            .iter()
            .map(|each| each.chance * each.inbreeding)
            .sum();
        assert!((mean - of_mix.relatedness.inbreeding).abs() < 1e-12);
        assert!((uncertain.index().mean - of_mix.index.mean).abs() < 1e-9);
        for case in &uncertain.cases {
            let father_of = |plant| {
                let father = case.fathers.iter().find(|each| each.0 == plant);
                father.map_or(0, |each| usize::from(each.1 == Some(made.males[1])))
            };
            let known = mixed(Some([father_of(made.daughter), father_of(made.son)]));
            let of_known = candidates(&known.program.project);
            let partner = if male == made.son {
                known.son
            } else {
                known.males[usize::from(male == made.males[1])]
            };
            let told = pair(&of_known, known.daughter, partner)
                .relatedness
                .inbreeding;
            assert!((told - case.inbreeding).abs() < 1e-12, "{case:?}, {told}");
        }
    }
}

/// The daughter of the better male is expected to be better. Without records of hers, half of what the males differ by.
#[test]
fn values_differ_between_the_possible_fathers_and_a_test_is_worth_something() {
    let made = mixed(None);
    let project = &made.program.project;
    let found = candidates(project);
    let outside = pair(&found, made.daughter, made.other);
    let uncertain = found.uncertain_fathers(project, outside).expect("cases");
    let of_father = |father| {
        let case = uncertain
            .cases
            .iter()
            .find(|case| case.fathers == [(made.daughter, Some(father))]);
        case.expect("a case").index
    };
    let [better, worse] = made.males;
    assert!(of_father(better) > of_father(worse) + 0.05);
    assert!(uncertain.index().deviation > 0.0);
    // What a test is worth is never negative, and nothing where no answer would change the choice.
    for each in found.pairs.iter().filter(|each| each.is_offered()) {
        if let Some(test) = found.paternity_test(project, each) {
            assert!(test.worth >= 0.0, "{test:?}");
        }
    }
    let risky = pair(&found, made.daughter, better);
    let test = found.paternity_test(project, risky).expect("a test");
    assert_eq!(test.plants, [made.daughter]);
    assert!((test.rules_out - 0.3).abs() < 1e-12);
    let known = mixed(Some([0, 0]));
    let of_known = candidates(&known.program.project);
    let sure = pair(&of_known, known.daughter, known.other);
    assert_eq!(of_known.paternity_test(&known.program.project, sure), None);
}

/// The daughter of the first male, crossed with the pollen of both: a father with his daughter gives F 0.25 (Wright 1922,
/// Am. Nat. 56), a stranger 0. The whole is the mean of the families of each male.
#[test]
fn a_cross_with_mixed_pollen_is_shown_father_by_father() {
    let made = mixed(Some([0, 1]));
    let project = &made.program.project;
    let found = candidates(project);
    let shares = made.males.map(|male| PollenShare {
        male,
        share: (male == made.males[0]).then_some(0.3),
    });
    let cross = found
        .mixed(project, made.daughter, &shares)
        .expect("two males");
    let cases = &cross.by_father.cases;
    let told: Vec<(f64, f64)> = cases
        .iter()
        .map(|case| (case.chance, case.inbreeding))
        .collect();
    assert!((told[0].0 - 0.3).abs() < 1e-12 && (told[0].1 - 0.25).abs() < 1e-12);
    assert!((told[1].0 - 0.7).abs() < 1e-12 && told[1].1.abs() < 1e-12);
    let of = |male| pair(&found, made.daughter, male).index.mean;
    let mean = 0.3 * of(made.males[0]) + 0.7 * of(made.males[1]);
    assert!((cross.index().mean - mean).abs() < 1e-12);
    let apart = (0.3_f64 * 0.7).sqrt() * (of(made.males[0]) - of(made.males[1])).abs();
    assert!((cross.index().deviation - apart).abs() < 1e-12);
    let words = cross.words(project, 0.125);
    assert!(
        words[0].starts_with(
            "30 % of the seedlings would be more inbred than the goals accept, up to F 0.250"
        ),
        "{words:?}"
    );
    assert!(
        words[2].starts_with("30 %: M-01 is the father. F 0.250"),
        "{words:?}"
    );
    // Every male accepted, there is no bad case; of one male there is nothing to tell apart.
    assert!(!cross.words(project, 0.25)[0].contains("more inbred"));
    assert_eq!(found.mixed(project, made.daughter, &shares[..1]), None);
}
