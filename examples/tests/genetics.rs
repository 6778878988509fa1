//! Kinship and breeding values of the sample project.

use chrono::NaiveDate;
use domain::genetics::{Kinship, Plan, evaluate, unwatched};
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

#[test]
fn smoke() {
    let project = project();
    let kinship = Kinship::of(&project, 0.0).unwrap();
    println!("{:?}", kinship.findings());
    for id in kinship.plants() {
        let f = kinship.inbreeding(*id).unwrap();
        if f != 0.0 {
            println!("{} {f}", project.code_of(*id));
        }
    }
    let population = kinship.population(&mut unwatched).unwrap();
    println!("{population:#?}");
    for of_trait in project.traits().iter() {
        let plan = Plan::suggested(&project, of_trait.id);
        println!("{} {plan:?}", of_trait.name);
        match evaluate(&project, &kinship, &plan, &mut unwatched) {
            Ok(e) => {
                println!(
                    "{} {:?} {:?} {:?} {:?} {} {}",
                    e.model,
                    e.components,
                    e.heritabilities,
                    e.notes,
                    e.simpler,
                    e.records,
                    e.plants_with_records
                );
                for v in e.ranked(&project).iter().take(4) {
                    println!("{} {v:?}", project.code_of(v.plant));
                }
            }
            Err(e) => println!("ERR {e} {e:?}"),
        }
    }
    let brw = plant(&project, "BRW-4x");
    println!("{}", kinship.explain_inbreeding(&project, brw).unwrap());
}
