//! Kinship and breeding values of the sample project.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use chrono::NaiveDate;
use domain::genetics::{Kinship, Plan, evaluate, ignore_progress};
use domain::{Genotype, Id, Project};

fn project() -> Project {
    let day = NaiveDate::from_ymd_opt(2026, 2, 15).unwrap();
    sample::sample_project(day).unwrap()
}

fn plant(project: &Project, code: &str) -> Id<Genotype> {
    project
        .find_code(code)
        .find_map(domain::AnyId::typed)
        .unwrap()
}

/// A doubled diploid that is not inbred has F 1/3 and keeps the kinship of its source with itself, 1/2: recomputed from
/// Kerr et al. (2012), Theor. Appl. Genet. 124:1271-1282.
#[test]
fn every_plant_has_an_inbreeding_and_the_odd_ones_that_of_the_books() {
    let project = project();
    let kinship = Kinship::of(&project, 0.0).unwrap();
    assert!(kinship.findings().is_empty());
    for &plant in kinship.plants() {
        let inbreeding = kinship.inbreeding(plant).unwrap();
        assert!((0.0..=1.0).contains(&inbreeding));
    }
    let [source, doubled, triploid, clone, sport] =
        ["BRW", "BRW-4x", "HLB", "TAN", "TAN-E"].map(|code| plant(&project, code));
    assert!((kinship.inbreeding(doubled).unwrap() - 1.0 / 3.0).abs() < 1e-12);
    assert_eq!(kinship.coancestry(source, doubled), Some(0.5));
    assert_eq!(kinship.coancestry(clone, sport), Some(0.5));
    assert_eq!(kinship.inbreeding(triploid), Some(0.0));
    // One gene drawn twice of three: 1/3.
    assert_eq!(kinship.coancestry(triploid, triploid), Some(1.0 / 3.0));
}

#[test]
fn vigour_is_evaluated_or_it_is_said_why_not() {
    let project = project();
    let kinship = Kinship::of(&project, 0.0).unwrap();
    let vigour = project
        .traits()
        .iter()
        .find(|of_trait| of_trait.name == "Vigour")
        .unwrap();
    let plan = Plan::suggested(&project, vigour.id);
    match evaluate(&project, &kinship, &plan, &mut ignore_progress) {
        Ok(evaluation) => {
            assert_eq!(evaluation.values.len(), kinship.plants().len());
            for value in &evaluation.values {
                assert!(value.breeding.value.is_finite());
                assert!((0.0..=1.0).contains(&value.breeding.accuracy));
            }
        }
        Err(refused) => {
            assert!(!refused.stopped, "nobody stopped it");
            assert!(!refused.what.is_empty() && !refused.remedy.is_empty());
        }
    }
}
