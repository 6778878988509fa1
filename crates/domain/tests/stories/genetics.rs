//! Kinship and breeding values of a project's plants.

use crate::program::{Program, day};
use domain::findings::Weight;
use domain::genetics::model::{Effects, Variances};
use domain::genetics::{
    Factor, Kinship, Plan, Progress, Wanted, evaluate, evaluate_several, ignore_progress,
};
use domain::planning::{Goals, Knowledge, TraitGoal};
use domain::record::settings::SettingsField;
use domain::{
    Direction, Edit, Genotype, Id, Observation, Origin, Ploidy, Pollen, PollenShare, Project,
    ProjectParts, Scale, Trait,
};
use std::ops::ControlFlow;

impl Program {
    fn child(&mut self, code: &str, female: Id<Genotype>, pollen: Pollen) -> Id<Genotype> {
        let cross = self.cross(&format!("x{code}"), female, pollen);
        self.seedling(code, Origin::Cross { cross })
    }

    fn plant(&mut self, code: &str, ploidy: Ploidy, origin: Origin) -> Id<Genotype> {
        let plant = Genotype {
            ploidy,
            ..Genotype::new(self.ids.next(), code, origin)
        };
        self.add(plant)
    }

    fn trait_of(&mut self, name: &str, direction: Direction) -> Id<Trait> {
        let of_trait = Trait {
            id: self.ids.next(),
            name: name.into(),
            scale: Scale::measure("%"),
            direction,
            method: String::new(),
        };
        self.add(of_trait)
    }

    fn see(
        &mut self,
        plant: Id<Genotype>,
        of_trait: Id<Trait>,
        date: &str,
        site: &str,
        value: f64,
    ) {
        let observation = Observation {
            site: site.into(),
            ..Observation::new(self.ids.next(), plant, of_trait, day(date), value)
        };
        self.make(Edit::add(observation));
    }
}

fn close(found: f64, expected: f64, within: f64) {
    assert!(
        (found - expected).abs() <= within,
        "{found} is not {expected}"
    );
}

fn of(project: &Project) -> Kinship {
    Kinship::of(project, 0.0).expect("kinship")
}

/// Wright's classics (1922, Am. Nat. 56:330-338; Falconer & Mackay 1996, Table 5.1): child of full sibs 1/4, of half
/// sibs 1/8. Plants are entered in an order of which no one comes after its parents by code.
#[test]
fn children_of_sibs_are_inbred() {
    let mut story = Program::begun();
    let [mother, other, father] = ["M", "N", "P"].map(|code| story.founder(code, None));
    let [brother, sister] = ["B", "S"].map(|code| story.child(code, mother, Pollen::Male(father)));
    let half = story.child("H", other, Pollen::Male(father));
    let of_full = story.child("A1", sister, Pollen::Male(brother));
    let of_half = story.child("A2", half, Pollen::Male(brother));
    let open = story.seedling("O", Origin::OpenPollinated { female: of_full });
    let kinship = of(&story.project);
    assert!(kinship.findings().is_empty());
    assert_eq!(kinship.revision(), story.project.revision());
    let f = |plant| kinship.inbreeding(plant).expect("known");
    assert_eq!(
        (f(of_full), f(of_half), f(open), f(mother)),
        (0.25, 0.125, 0.0, 0.0)
    );
    assert_eq!(kinship.coancestry(brother, sister), Some(0.25));
    // Half the genes of the seedling are her mother's, whose kinship with herself is (1 + F) / 2.
    assert_eq!(kinship.coancestry(open, of_full), Some(0.5 * 0.625));
    let all = kinship.with_all(brother).expect("known");
    for (place, &plant) in kinship.plants().iter().enumerate() {
        close(
            all[place],
            kinship.coancestry(brother, plant).expect("known"),
            1e-15,
        );
    }
    let explained = kinship
        .explain_inbreeding(&story.project, of_full)
        .expect("known")
        .to_string();
    assert!(explained.contains("f(S, B): 0.25"), "{explained}");
    let explained = kinship
        .explain_coancestry(&story.project, brother, half)
        .expect("known")
        .to_string();
    assert!(
        explained.contains("Kinship f of B and H: 0.125"),
        "{explained}"
    );
}

/// Expected relationships through a pollen mix: Henderson (1988), J. Anim. Sci. 66:1614-1621, worked by hand.
#[test]
fn males_of_a_mix_count_by_their_share() {
    let mut story = Program::begun();
    let mother = story.founder("M", None);
    let males = ["P", "Q", "R"].map(|code| story.founder(code, None));
    let shares = [Some(0.5), None, None];
    let mix = males
        .iter()
        .zip(shares)
        .map(|(&male, share)| PollenShare { male, share });
    let cross = story.cross("mixed", mother, Pollen::Mix(mix.collect()));
    let [one, two] = ["A", "B"].map(|code| story.seedling(code, Origin::Cross { cross }));
    let kinship = of(&story.project);
    let f = |x, y| kinship.coancestry(x, y).expect("known");
    assert_eq!(f(one, males[0]), 0.125);
    assert_eq!((f(one, males[1]), f(one, males[2])), (0.0625, 0.0625));
    // A quarter from the mother's kinship with herself, a quarter from that of the pollen: Σ share² / 2.
    assert_eq!(f(one, two), 0.25 * 0.5 + 0.25 * 0.5 * (0.25 + 2.0 * 0.0625));
}

/// Recomputed from Kerr et al. (2012), Theor. Appl. Genet. 124:1271-1282: a doubled diploid has F 1/3, its triploid
/// child with an unrelated diploid 1/9.
#[test]
fn doubled_plants_triploids_and_sports() {
    let mut story = Program::begun();
    let [source, male] = ["D", "P"].map(|code| story.founder(code, None));
    let doubled = story.plant("D4", Ploidy::TETRAPLOID, Origin::Doubled { from: source });
    let sport = story.seedling("DS", Origin::Variant { of: source });
    let cross = story.cross("x3", doubled, Pollen::Male(male));
    let triploid = story.plant("T", Ploidy::TRIPLOID, Origin::Cross { cross });
    let kinship = of(&story.project);
    close(
        kinship.inbreeding(doubled).expect("known"),
        1.0 / 3.0,
        1e-15,
    );
    close(
        kinship.inbreeding(triploid).expect("known"),
        1.0 / 9.0,
        1e-15,
    );
    assert_eq!(kinship.coancestry(source, doubled), Some(0.5));
    assert_eq!(kinship.coancestry(source, sport), Some(0.5));
    close(
        kinship.coancestry(triploid, doubled).expect("known"),
        1.0 / 3.0,
        1e-15,
    );
    for plant in [source, doubled, sport, triploid] {
        let explained = kinship
            .explain_inbreeding(&story.project, plant)
            .expect("known");
        assert!(!explained.formula.is_empty() && !explained.source.is_empty());
    }
}

/// A file from elsewhere: what no pedigree can hold is left out and told, the rest is as good as ever.
#[test]
fn what_cannot_be_is_left_out_and_told() {
    let mut story = Program::begun();
    let [mother, father] = ["M", "P"].map(|code| story.founder(code, None));
    let cross = story.cross("x", mother, Pollen::Male(father));
    let good = story.seedling("G", Origin::Cross { cross });
    let sister = story.seedling("G2", Origin::Cross { cross });
    let triploid = story.plant("T3", Ploidy::TRIPLOID, Origin::Cross { cross });
    let id = |story: &mut Program| story.ids.next::<Genotype>();
    let [one, two, stray] = [(); 3].map(|()| id(&mut story));
    let mut plants: Vec<Genotype> = story.project.genotypes().iter().cloned().collect();
    plants.push(Genotype::new(one, "L1", Origin::Variant { of: two }));
    plants.push(Genotype::new(
        two,
        "L2",
        Origin::OpenPollinated { female: one },
    ));
    plants.push(Genotype::new(
        stray,
        "S",
        Origin::Cross {
            cross: story.ids.next(),
        },
    ));
    let project = Project::from_parts(ProjectParts {
        genotypes: plants,
        crosses: story.project.crosses().iter().cloned().collect(),
        ..ProjectParts::default()
    });
    let kinship = of(&project);
    assert_eq!(kinship.coancestry(good, sister), Some(0.25));
    assert_eq!(kinship.coancestry(triploid, mother), Some(0.0));
    assert_eq!(kinship.coancestry(one, two), Some(0.0));
    let told: Vec<&str> = kinship
        .findings()
        .iter()
        .map(|finding| finding.what.as_str())
        .collect();
    assert_eq!(told.len(), 3, "{told:?}");
    assert!(
        told.iter()
            .any(|what| what.starts_with("S comes from a cross that is not in the project"))
    );
    assert!(
        told.iter()
            .any(|what| what.contains("L1") && what.contains("L2"))
    );
    assert!(
        told.iter()
            .any(|what| what.starts_with("T3 is 3x, but gametes of its parents add up"))
    );
    assert!(
        kinship
            .findings()
            .iter()
            .all(|finding| finding.weight == Weight::Fault)
    );
    assert!(Kinship::of(&project, 2.0).is_err());
}

/// Two cases worked by hand after Lacy (1989), Zoo Biol. 8:111-123, Boichard, Maignel & Verrier (1997), Genet. Sel.
/// Evol. 29:5-23, and Caballero & Toro (2000), Genet. Res. 75:331-343: one male on four females; and a bottleneck.
#[test]
fn founders_and_bottlenecks_in_figures() {
    let mut story = Program::begun();
    let male = story.founder("P", None);
    let half_sibs: Vec<_> = (0..4)
        .map(|n| {
            let female = story.founder(&format!("M{n}"), None);
            story.child(&format!("C{n}"), female, Pollen::Male(male))
        })
        .collect();
    let figures = of(&story.project)
        .group_figures(&half_sibs)
        .expect("plants");
    close(figures.founders.expect("f_e"), 3.2, 1e-12);
    close(figures.ancestors.expect("f_a").0, 3.2, 1e-9);
    close(figures.kinship, 0.21875, 1e-12);
    close(figures.genomes.expect("f_ge"), 2.285714, 1e-6);
    assert_eq!((figures.size, figures.generations), (4, 1.0));

    let mut story = Program::begun();
    let founders: Vec<_> = (0..4)
        .map(|n| story.founder(&format!("F{n}"), None))
        .collect();
    let mother = story.child("A", founders[0], Pollen::Male(founders[1]));
    let father = story.child("B", founders[2], Pollen::Male(founders[3]));
    let cross = story.cross("x", mother, Pollen::Male(father));
    let sibs: Vec<_> = (0..4)
        .map(|n| story.seedling(&format!("S{n}"), Origin::Cross { cross }))
        .collect();
    let kinship = of(&story.project);
    let figures = kinship.group_figures(&sibs).expect("plants");
    close(figures.founders.expect("f_e"), 4.0, 1e-12);
    let (low, high) = figures.ancestors.expect("f_a");
    close(low, 2.0, 1e-9);
    close(high, 2.0, 1e-9);
    close(figures.kinship, 0.3125, 1e-12);
    close(figures.genomes.expect("f_ge"), 1.6, 1e-12);
    assert_eq!(figures.explain().len(), 6);
    let population = kinship
        .population(&mut ignore_progress)
        .expect("not stopped");
    assert_eq!(population.seasons.len(), 1);
    assert_eq!(population.seasons[0].season, 2026);
    assert_eq!(
        (
            population.seasons[0].plants.len(),
            population.without_season
        ),
        (6, 4)
    );
    assert_eq!(population.effective_size, None);
    assert_eq!(kinship.population(&mut |_| ControlFlow::Break(())), None);
    assert!(kinship.group_figures(&[]).is_none());
}

/// Full sibs, and children of one pair of them: kinship of different plants 1/4 and 3/8 (Falconer & Mackay 1996, ch. 5).
/// F says nothing of the last season's kinship: it would be read as of the pair before.
#[test]
fn the_rate_of_coancestry_rises_with_the_kinship_of_different_plants() {
    let mut story = Program::begun();
    let mother = story.founder("F", None);
    let father = story.founder("M", None);
    let family = |story: &mut Program, season: i32, female, male| -> Vec<Id<Genotype>> {
        let cross = domain::Cross {
            season,
            ..story.cross_record(&format!("{season}-x"), female, Pollen::Male(male))
        };
        let cross = story.add(cross);
        (0..4)
            .map(|nth| story.seedling(&format!("S{season}-{nth}"), Origin::Cross { cross }))
            .collect()
    };
    let sibs = family(&mut story, 2022, mother, father);
    family(&mut story, 2024, sibs[0], sibs[1]);
    let population = of(&story.project)
        .population(&mut ignore_progress)
        .expect("not stopped");
    assert_eq!(population.generation_interval, Some(2.0));
    // From 1/4 to 3/8 in the two seasons of a generation: 1 - (5/8) / (3/4) = 1/6.
    close(
        population.coancestry_rate.expect("two seasons"),
        1.0 / 6.0,
        1e-9,
    );
    close(population.coancestry_size.expect("it rises"), 3.0, 1e-9);
    let source = population.explain_coancestry().source;
    assert!(source.contains("Caballero"), "{source}");
}

/// Twelve founders, two records each: what they differ by is clonal, and no heritability is named; forty families of six
/// tell one. Robertson (1959): the standard error of h² from 40 full-sib families of 6 at h² = 1/4 is
/// 2 √(2 (7/8)² (1 + 5/8)² / (6 × 5 × 39)) = 0.1176, by hand.
#[test]
fn clones_alone_tell_no_heritability_and_families_do() {
    let mut story = Program::begun();
    let of_trait = story.project.traits().iter().next().expect("a trait").id;
    let observe = |story: &mut Program, plant, value: f64| {
        let id = story.ids.next();
        story.add(Observation::new(
            id,
            plant,
            of_trait,
            day("2026-08-01"),
            value,
        ));
    };
    for nth in 0..12 {
        let plant = story.founder(&format!("F{nth}"), None);
        for _ in 0..2 {
            observe(&mut story, plant, f64::from(1 + nth % 9));
        }
    }
    let evidence = domain::genetics::FamilyEvidence::of(&story.project, of_trait);
    assert!(!evidence.tells() && evidence.families == 0);
    let kinship = of(&story.project);
    let plan = Plan::suggested(&story.project, of_trait);
    if let Ok(evaluation) = evaluate(&story.project, &kinship, &plan, &mut ignore_progress) {
        for narrow in evaluation
            .heritabilities
            .iter()
            .filter(|each| each.name.starts_with("heritability"))
        {
            assert!(
                narrow.words().contains("be told from these records"),
                "{}",
                narrow.words()
            );
            assert!(
                narrow.words().contains("families of five"),
                "{}",
                narrow.words()
            );
        }
    }
    let many = domain::genetics::FamilyEvidence {
        families: 40,
        size: 6.0,
        years: 1,
    };
    close(many.standard_error(0.25).expect("told"), 0.117_6, 5e-4);
}

/// What is published leaves open anything from 0.04 to 0.89; families drawn at a heritability of 0.6 leave less open the
/// more they are, and name it.
#[test]
fn what_is_published_yields_as_families_accumulate() {
    let told = |families: usize| {
        let mut story = Program::begun();
        let resin = Trait {
            id: story.ids.next(),
            name: "Resin".into(),
            scale: Scale::Measure {
                unit: String::new(),
                at_least: None,
                at_most: None,
            },
            direction: Direction::Higher,
            method: String::new(),
        };
        let of_trait = story.add(resin);
        story.make(Edit::Settings(SettingsField::Goals(Goals {
            traits: vec![TraitGoal::new(of_trait)],
            ..Goals::default()
        })));
        let mut rng = fastrand::Rng::with_seed(3);
        let mut normal = || -> f64 { (0..12).map(|_| rng.f64()).sum::<f64>() - 6.0 };
        for nth in 0..families {
            let parents = ["F", "M"].map(|sex| story.founder(&format!("{sex}{nth}"), None));
            let cross = story.cross(&format!("x{nth}"), parents[0], Pollen::Male(parents[1]));
            let middle = 0.3_f64.sqrt() * normal();
            for plant in 0..10 {
                let plant = story.seedling(&format!("S{nth}-{plant}"), Origin::Cross { cross });
                let value = 5.0 + middle + 0.3_f64.sqrt() * normal() + 0.4_f64.sqrt() * normal();
                let id = story.ids.next();
                story.add(Observation::new(
                    id,
                    plant,
                    of_trait,
                    day("2026-08-01"),
                    value,
                ));
            }
        }
        let kinship = of(&story.project);
        Knowledge::of(&story.project, &kinship, &mut ignore_progress)
            .expect("not stopped")
            .traits[0]
            .heritability
    };
    let [few, more, many] = [2, 12, 50].map(told);
    assert!(
        few[1] > more[1] && more[1] > many[1],
        "{few:?} {more:?} {many:?}"
    );
    assert!(
        (many[0] - 0.6).abs() < 2.5 * many[1] && many[1] < 0.12,
        "{many:?}"
    );
}

#[test]
fn a_matrix_brings_sibs_together() {
    let mut story = Program::begun();
    let founders: Vec<_> = (0..4)
        .map(|n| story.founder(&format!("F{n}"), None))
        .collect();
    let cross = [(0, 1), (2, 3)]
        .map(|(f, m)| story.cross(&format!("x{f}"), founders[f], Pollen::Male(founders[m])));
    let sibs: Vec<_> = (0..6)
        .map(|n| {
            story.seedling(
                &format!("S{n}"),
                Origin::Cross {
                    cross: cross[n % 2],
                },
            )
        })
        .collect();
    let matrix = of(&story.project).matrix(&sibs);
    assert_eq!(matrix.plants, sibs);
    assert_eq!(
        (matrix.get(0, 0), matrix.get(0, 1), matrix.get(0, 2)),
        (0.5, 0.0, 0.25)
    );
    let families: Vec<usize> = matrix.clustered.iter().map(|place| place % 2).collect();
    assert!(
        families
            .windows(2)
            .filter(|pair| pair[0] != pair[1])
            .count()
            == 1,
        "{families:?}"
    );
    close(
        matrix.mean().expect("plants"),
        (0.5 + 2.0 * 0.25) / 6.0,
        1e-15,
    );
}

/// Mrode (2014) *Linear Models for the Prediction of Animal Breeding Values*, 3rd ed., Example 3.1: what the sexes are
/// there, two sites are here.
#[test]
fn breeding_values_as_in_the_book() {
    let mut story = Program::begun();
    let gain = story.trait_of("Gain", Direction::Lower);
    let [one, two, three] = ["1", "2", "3"].map(|code| story.founder(code, None));
    // The book's fourth has a known male and an unknown female; which side is unknown makes no difference.
    let four = story.seedling("4", Origin::OpenPollinated { female: one });
    let five = story.child("5", two, Pollen::Male(three));
    let six = story.child("6", two, Pollen::Male(one));
    let seven = story.child("7", five, Pollen::Male(four));
    let eight = story.child("8", six, Pollen::Male(three));
    for (plant, site, value) in [
        (four, "M", 4.5),
        (five, "F", 2.9),
        (six, "F", 3.9),
        (seven, "M", 3.5),
        (eight, "M", 5.0),
    ] {
        story.see(plant, gain, "2026-08-01", site, value);
    }
    let kinship = of(&story.project);
    let mut plan = Plan::suggested(&story.project, gain);
    assert_eq!(plan.fixed, [Factor::Site]);
    assert_eq!(plan.effects, Effects::default());
    plan.variances = Some(Variances {
        additive: 20.0,
        clonal: None,
        permanent: None,
        residual: 40.0,
    });
    let evaluation =
        evaluate(&story.project, &kinship, &plan, &mut ignore_progress).expect("an evaluation");
    let expected = [
        (one, 0.098445, 0.240440),
        (two, -0.018770, 0.125732),
        (three, -0.041084, 0.295097),
        (four, -0.008663, 0.380315),
        (five, -0.185732, 0.379192),
        (six, 0.176872, 0.339756),
        (seven, -0.249459, 0.341010),
        (eight, 0.182615, 0.394045),
    ];
    for (plant, value, accuracy) in expected {
        let found = evaluation.value(plant).expect("known");
        close(found.breeding.value, value, 1e-6);
        close(found.breeding.accuracy, accuracy, 1e-5);
        assert_eq!(found.clone, None);
    }
    assert_eq!(
        evaluation.ranked(&story.project)[0].plant,
        seven,
        "lower is better"
    );
    assert_eq!((evaluation.records, evaluation.plants_with_records), (5, 5));
    let explained = evaluation
        .explain(&story.project, eight)
        .expect("known")
        .to_string();
    assert!(explained.contains("Record = site + [breeding value (related through the pedigree)] + residual; variances given."), "{explained}");
    assert_eq!(evaluation.heritabilities[0].value, 20.0 / 60.0);
}

/// Families of several plants scored on two sites in two years.
fn trial() -> (Program, [Id<Trait>; 2], Vec<Id<Genotype>>) {
    let mut story = Program::begun();
    let traits = ["Alpha", "Yield"].map(|name| story.trait_of(name, Direction::Higher));
    let mut chance = 9_u64;
    let mut noise = move || {
        chance = chance
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (chance >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
    };
    let mut plants = Vec::new();
    for family in 0..12 {
        let [female, male] = ["M", "P"].map(|side| story.founder(&format!("{side}{family}"), None));
        let cross = story.cross(&format!("x{family}"), female, Pollen::Male(male));
        let level = 3.0 * noise();
        for n in 0..5 {
            let plant = story.seedling(&format!("{family}-{n}"), Origin::Cross { cross });
            let (own, other) = (level + 2.0 * noise(), 2.0 * noise());
            for site in ["Hill", "Vale"] {
                let hill = noise();
                for year in [2026, 2027] {
                    let date = format!("{year}-09-01");
                    story.see(plant, traits[0], &date, site, 8.0 + own + hill + noise());
                    story.see(
                        plant,
                        traits[1],
                        &date,
                        site,
                        5.0 + own + other + 2.0 * noise(),
                    );
                }
            }
            plants.push(plant);
        }
    }
    (story, traits, plants)
}

#[test]
fn clonal_and_permanent_effects_where_the_records_can_tell() {
    let (story, [alpha, _], plants) = trial();
    let kinship = of(&story.project);
    let plan = Plan::suggested(&story.project, alpha);
    assert_eq!(plan.fixed, [Factor::Year, Factor::Site]);
    assert_eq!(
        plan.effects,
        Effects {
            clonal: true,
            permanent: true,
            without_additive: false,
        }
    );
    let mut steps = Vec::new();
    let mut watch = |progress: Progress| {
        steps.push((progress.step, progress.iteration));
        ControlFlow::Continue(())
    };
    let evaluation = evaluate(&story.project, &kinship, &plan, &mut watch).expect("an evaluation");
    assert!(
        steps
            .iter()
            .any(|(step, iteration)| *step == "Estimating variances" && *iteration == Some(1))
    );
    let names: Vec<&str> = evaluation
        .components
        .iter()
        .map(|component| component.name)
        .collect();
    assert_eq!(
        names,
        ["additive", "clonal", "permanent environment", "residual"]
    );
    assert!(
        evaluation
            .heritabilities
            .iter()
            .all(|each| (0.0..=1.0).contains(&each.value))
    );
    let first = evaluation.value(plants[0]).expect("known");
    assert_eq!(first.records, 4);
    assert!(first.breeding.accuracy > 0.0 && first.clone.is_some());
    // A founder without records is known through its children.
    let founder = story
        .project
        .find_code("M0")
        .find_map(domain::AnyId::typed)
        .expect("a founder");
    let founder = evaluation.value(founder).expect("known");
    assert!(founder.records == 0 && founder.breeding.accuracy > 0.0);

    let stopped = evaluate(&story.project, &kinship, &plan, &mut |progress| {
        if progress.iteration.is_some() {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    });
    assert!(stopped.expect_err("stopped").stopped);
}

#[test]
fn records_that_cannot_support_a_model_offer_the_simpler() {
    let mut story = Program::begun();
    let alpha = story.trait_of("Alpha", Direction::Higher);
    let kinship = of(&story.project);
    let plan = Plan::suggested(&story.project, alpha);
    let refused =
        evaluate(&story.project, &kinship, &plan, &mut ignore_progress).expect_err("no records");
    assert_eq!(refused.what, "Nothing is recorded of Alpha.");

    let [mother, father] = ["M", "P"].map(|code| story.founder(code, None));
    let cross = story.cross("x", mother, Pollen::Male(father));
    for n in 0..8 {
        let plant = story.seedling(&format!("S{n}"), Origin::Cross { cross });
        story.see(plant, alpha, "2026-09-01", "", 5.0 + f64::from(n * n % 5));
    }
    let kinship = of(&story.project);
    let plan = Plan {
        effects: Effects {
            clonal: false,
            permanent: true,
            without_additive: false,
        },
        ..Plan::suggested(&story.project, alpha)
    };
    let refused = evaluate(&story.project, &kinship, &plan, &mut ignore_progress)
        .expect_err("single records");
    assert!(
        refused
            .what
            .starts_with("The permanent environment effect can't be separated from the residual"),
        "{refused}"
    );
    let simpler = refused.simpler.expect("a simpler plan");
    assert_eq!(simpler.effects, Effects::default());
    // One family tells nothing of what parents pass on; the answer is a sentence, not a number.
    let refused = evaluate(&story.project, &kinship, &simpler, &mut ignore_progress);
    match refused {
        Err(refused) => assert!(
            refused.simpler.is_none() && !refused.remedy.is_empty(),
            "{refused}"
        ),
        Ok(evaluation) => assert!(!evaluation.notes.is_empty(), "{:?}", evaluation.components),
    }
}

#[test]
fn several_traits_and_an_index() {
    let (story, traits, plants) = trial();
    let kinship = of(&story.project);
    let fixed = [Factor::Year, Factor::Site];
    let effects = Effects {
        clonal: false,
        permanent: true,
        without_additive: false,
    };
    let several = evaluate_several(
        &story.project,
        &kinship,
        &traits,
        &fixed,
        effects,
        &mut ignore_progress,
    )
    .expect("an evaluation");
    assert_eq!((several.records, several.correlations.len()), (240, 1));
    let correlation = several.correlations[0]
        .phenotypic
        .expect("records have both");
    assert!(correlation.value > 0.0 && correlation.value < 1.0);
    let worth = several
        .index(&Wanted::Worth(vec![1.0, 0.5]))
        .expect("an index");
    let place = kinship.index(plants[0]).expect("known");
    let values = &several.values[place];
    close(
        worth.values[place],
        values[0].value + 0.5 * values[1].value,
        1e-12,
    );
    let gains = several
        .index(&Wanted::Gains(vec![1.0, 1.0]))
        .expect("an index");
    close(gains.gains[0], gains.gains[1], 1e-9);
    // Worth that comes to these gains gives them.
    let again = several
        .index(&Wanted::Worth(gains.worth))
        .expect("an index");
    close(again.gains[0], gains.gains[0], 1e-9);
    close(again.gains[1], gains.gains[1], 1e-9);
    assert!(several.index(&Wanted::Worth(vec![1.0])).is_err());
}

#[test]
fn the_parents_of_a_season_are_told_once_each_in_the_order_of_its_crosses() {
    use domain::ancestry::parents_of_season;
    let mut program = Program::begun();
    let [one, two] = ["F-01", "F-02"].map(|code| program.founder(code, Some(domain::Sex::Female)));
    let male = program.founder("M-01", Some(domain::Sex::Male));
    program.cross("26-01", two, Pollen::Male(male));
    program.cross("26-02", one, Pollen::Male(male));
    program.cross("26-03", two, Pollen::Open);
    assert_eq!(parents_of_season(&program.project, 2026), [two, male, one]);
    assert_eq!(
        parents_of_season(&program.project, 2025),
        [] as [Id<Genotype>; 0]
    );
}
