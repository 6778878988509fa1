//! Ranking 200 females × 100 males on 6 traits, beside a plain double loop that only adds up the parents' merits and
//! sorts: the least any ranking must do. `cargo bench -p domain --bench planning`; the ratio comes last.

#[path = "support/processor.rs"]
mod processor;

use chrono::NaiveDate;
use divan::Bencher;
use domain::genetics::{Kinship, ignore_progress};
use domain::planning::{Candidates, Goals, Knowledge, TraitGoal};
use domain::record::settings::SettingsField;
use domain::{
    Cross, Direction, Edit, Genotype, Id, IdSource, Observation, Origin, Pollen, Project, Scale,
    Sex, SexBasis, SexRecord, Trait,
};
use processor::processor_time;
use std::io::Write as _;
use std::sync::Arc;

const FEMALES: usize = 200;
const MALES: usize = 100;
const TRAITS: usize = 6;

fn main() -> std::io::Result<()> {
    divan::main();
    // `cargo test --benches` and listing of benchmarks want no timings.
    if std::env::args().any(|argument| argument == "--bench") {
        compare()
    } else {
        Ok(())
    }
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn rank_all_pairs(bencher: Bencher<'_, '_>) {
    let yard = Yard::new();
    bencher.bench_local(|| yard.rank());
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn plain_double_loop(bencher: Bencher<'_, '_>) {
    let yard = Yard::new();
    let merits = yard.merits();
    bencher.bench_local(|| plain(&merits));
}

/// With the joint chance of six thresholds for every pair, as the worker makes it after the ranking.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn rank_with_chances(bencher: Bencher<'_, '_>) {
    let yard = Yard::new();
    bencher.bench_local(|| yard.rank().with_chances(&mut ignore_progress));
}

fn compare() -> std::io::Result<()> {
    let yard = Yard::new();
    let merits = yard.merits();
    let ranked = processor_time(50, || yard.rank());
    let least = processor_time(100, || plain(&merits));
    writeln!(
        std::io::stdout(),
        "{} pairs of {TRAITS} traits ranked in {ranked:?}; the plain loop took {least:?}: {:.1} times that",
        FEMALES * MALES,
        ranked.as_secs_f64() / least.as_secs_f64()
    )
}

/// The mean of the parents' merits in each trait and over all, sorted.
fn plain((females, males): &(Vec<[f64; TRAITS]>, Vec<[f64; TRAITS]>)) -> Vec<(f64, Vec<f64>)> {
    let mut pairs = Vec::with_capacity(females.len() * males.len());
    for female in females {
        for male in males {
            let means: Vec<f64> = female
                .iter()
                .zip(male)
                .map(|(a, b)| f64::midpoint(*a, *b))
                .collect();
            pairs.push((means.iter().sum(), means));
        }
    }
    pairs.sort_by(|one: &(f64, _), other| other.0.total_cmp(&one.0));
    pairs
}

/// A program of 300 parents from 30 crosses of 20 founders, each scored once for every trait.
struct Yard {
    project: Project,
    kinship: Arc<Kinship>,
    knowledge: Arc<Knowledge>,
    females: Vec<Id<Genotype>>,
    males: Vec<Id<Genotype>>,
}

impl Yard {
    fn new() -> Self {
        let mut ids = IdSource::new(0, 1);
        let mut edits = Vec::new();
        let traits: Vec<Trait> = (0..TRAITS)
            .map(|nth| Trait {
                id: ids.next(),
                name: format!("Trait {nth}"),
                scale: Scale::one_to_nine("least", "most"),
                direction: Direction::Higher,
                method: String::new(),
            })
            .collect();
        let mut plants = Vec::new();
        let mut add =
            |edits: &mut Vec<Edit>, ids: &mut IdSource, nth: usize, female: bool, origin| {
                let plant = Genotype {
                    sex: Some(SexRecord {
                        sex: if female { Sex::Female } else { Sex::Male },
                        basis: SexBasis::FlowersSeen,
                        date: None,
                    }),
                    ..Genotype::new(ids.next(), format!("P{nth}"), origin)
                };
                plants.push((plant.id, female));
                edits.push(Edit::add(plant));
                plants[plants.len() - 1].0
            };
        let founders: Vec<Id<Genotype>> = (0..20)
            .map(|nth| add(&mut edits, &mut ids, nth, nth < 10, Origin::Unknown))
            .collect();
        let mut crosses = Vec::new();
        for nth in 0..30 {
            let cross = Cross {
                id: ids.next(),
                code: format!("C{nth}"),
                female: founders[nth % 10],
                pollen: Pollen::Male(founders[10 + nth * 7 % 10]),
                season: 2020,
                planned_pollination: None,
                seeds_wanted: None,
                purpose: String::new(),
                advised: None,
            };
            crosses.push(cross.id);
            edits.push(Edit::add(cross));
        }
        for nth in 20..FEMALES + MALES {
            let cross = crosses[nth % crosses.len()];
            // With the ten founders of each sex, 200 females and 100 males.
            let female = (nth - 20) < FEMALES - 10;
            add(&mut edits, &mut ids, nth, female, Origin::Cross { cross });
        }
        let goals = Goals {
            traits: traits
                .iter()
                .map(|each| TraitGoal {
                    threshold: Some(5.0),
                    ..TraitGoal::new(each.id)
                })
                .collect(),
            inbreeding: 1.0,
            ..Goals::default()
        };
        let mut first: Vec<Edit> = traits.iter().cloned().map(Edit::add).collect();
        first.append(&mut edits);
        for (nth, &(plant, _)) in plants.iter().enumerate() {
            for (place, of_trait) in traits.iter().enumerate() {
                first.push(Edit::add(Observation::new(
                    ids.next(),
                    plant,
                    of_trait.id,
                    NaiveDate::default(),
                    ((nth * 31 + place * 17) % 9 + 1) as f64,
                )));
            }
        }
        first.push(Edit::Settings(SettingsField::Goals(goals)));
        let mut project = Project::default();
        if let Err(refusal) = project.apply(Edit::all("a yard", first)) {
            panic!("{refusal}");
        }
        let Ok(kinship) = Kinship::of(&project, 0.0).map(Arc::new) else {
            panic!("no kinship");
        };
        let Some(knowledge) = Knowledge::of(&project, &kinship, &mut ignore_progress).map(Arc::new)
        else {
            panic!("stopped");
        };
        let of_sex = |wanted: bool| {
            let those = plants.iter().filter(|(_, female)| *female == wanted);
            those.map(|(plant, _)| *plant).collect()
        };
        Self {
            females: of_sex(true),
            males: of_sex(false),
            project,
            kinship,
            knowledge,
        }
    }

    fn rank(&self) -> Candidates {
        let candidates = Candidates::rank(
            &self.project,
            &self.kinship,
            &self.knowledge,
            NaiveDate::default(),
        );
        assert_eq!(candidates.pairs.len(), FEMALES * MALES, "all are paired");
        candidates
    }

    fn merits(&self) -> (Vec<[f64; TRAITS]>, Vec<[f64; TRAITS]>) {
        let of = |plants: &[Id<Genotype>]| {
            plants
                .iter()
                .map(|&plant| {
                    let place = self.kinship.index(plant).unwrap_or_default();
                    std::array::from_fn(|nth| self.knowledge.traits[nth].values[place].value)
                })
                .collect()
        };
        (of(&self.females), of(&self.males))
    }
}
