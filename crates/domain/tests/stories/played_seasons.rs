//! Ten seasons in which a program follows its own advice: what was said beforehand against what then came.
//!
//! Every plant has true values that nobody in the program sees. Each season's plan is the one that the goals take; its
//! seed is sown, lost and germinated at rates of its family, its seedlings get their parents' values and chance, and
//! what is counted and measured goes into the project, from which the next season is planned. Parents are those that the
//! program ranks first. `BINEWRIGHT_TEN_SEASONS=60 cargo test -p domain --test stories played -- --nocapture` plays as
//! many programs and prints the tables; by default one is played for a few seasons.

use crate::program::{Program, day, seen};
use chrono::NaiveDate;
use domain::genetics::{Kinship, ignore_progress};
use domain::planning::{
    BestOf, Candidates, Goals, Knowledge, PlanWish, Planner, Rates, SeasonPlan, Space, TraitGoal,
};
use domain::record::genotype::GenotypeField;
use domain::record::germination::GerminationField;
use domain::record::settings::SettingsField;
use domain::{
    Direction, Edit, End, EndKind, Genotype, GerminationEnd, Id, LotSource, Observation, Origin,
    Pollen, RestFate, Scale, Sex, Trait,
};
use fastrand::Rng;
use std::collections::BTreeMap;
use std::sync::Arc;

/// True breeding values of the two traits.
type Values = [f64; 2];

/// The spread of breeding values of the two traits.
const DEVIATION: Values = [1.0, 2.0];
const FOUNDERS: usize = 12;
/// Parents of each sex that are kept.
const KEPT: usize = 8;

fn normal(rng: &mut Rng) -> f64 {
    (-2.0 * rng.f64().max(1e-300).ln()).sqrt() * (std::f64::consts::TAU * rng.f64()).cos()
}

/// What came of a season.
struct Outcome {
    crosses: usize,
    /// Rate of coancestry a generation that was said.
    rate: f64,
    said: f64,
    reached: bool,
    expected: f64,
    good: u32,
    /// For each cross with seedlings enough and each trait: by how many of its own standard deviations the mean of the
    /// family was off what was said.
    off: Vec<f64>,
    /// Mean true index of the best females of the plan, of as much seed spread over the best pairs by the index of
    /// parents, and what the plan said no other could exceed, all from the same level.
    gains: [f64; 2],
    /// The best of fifty seedlings of the first pair: said and come.
    best: [f64; 2],
}

struct Played {
    program: Program,
    truth: BTreeMap<Id<Genotype>, Values>,
    traits: [Id<Trait>; 2],
    /// Heritabilities of single records, drawn as the program thinks of them before it knows: 0.25 ± 0.2.
    heritability: Values,
    rng: Rng,
    season: i32,
}

impl Played {
    fn begun(seed: u64) -> Self {
        let mut program = Program::begun();
        let traits = ["Resin", "Yield"].map(|name| {
            let new = Trait {
                id: program.ids.next(),
                name: name.into(),
                scale: Scale::Measure {
                    unit: String::new(),
                    at_least: None,
                    at_most: None,
                },
                direction: Direction::Higher,
                method: String::new(),
            };
            program.add(new)
        });
        let mut rng = Rng::with_seed(seed);
        let mut played = Self {
            program,
            truth: BTreeMap::new(),
            traits,
            heritability: [0, 1].map(|_| (0.25 + 0.2 * normal(&mut rng)).clamp(0.08, 0.8)),
            rng,
            season: 2000,
        };
        let goals = Goals {
            traits: traits.map(TraitGoal::new).to_vec(),
            ..Goals::default()
        };
        played
            .program
            .make(Edit::Settings(SettingsField::Goals(goals)));
        for nth in 0..FOUNDERS {
            let sex = if nth % 2 == 0 { Sex::Female } else { Sex::Male };
            let plant = played.program.founder(&format!("P{nth}"), Some(sex));
            let values = [0, 1].map(|place: usize| DEVIATION[place] * normal(&mut played.rng));
            played.truth.insert(plant, values);
            for _ in 0..2 {
                played.measure(plant, "1999-08-01");
            }
        }
        played
    }

    fn measure(&mut self, plant: Id<Genotype>, date: &str) {
        for (place, of_trait) in self.traits.into_iter().enumerate() {
            let h2 = self.heritability[place];
            let other = DEVIATION[place] * ((1.0 - h2) / h2).sqrt();
            let value = 20.0 + self.truth[&plant][place] + other * normal(&mut self.rng);
            let seen = Observation::new(self.program.ids.next(), plant, of_trait, day(date), value);
            self.program.add(seen);
        }
    }

    fn today(&self) -> NaiveDate {
        day(&format!("{}-03-10", self.season))
    }

    fn index(values: Values) -> f64 {
        (0..2).map(|place| values[place] / DEVIATION[place]).sum()
    }

    /// True values of a seedling of two plants, kin by `f`, themselves inbred by `inbreeding` in the mean.
    fn seedling(&mut self, parents: [Id<Genotype>; 2], mendelian: f64) -> Values {
        let [one, other] = parents.map(|each| self.truth[&each]);
        [0, 1].map(|place: usize| {
            let spread = DEVIATION[place] * mendelian.sqrt();
            0.5 * (one[place] + other[place]) + spread * normal(&mut self.rng)
        })
    }

    /// Plans a season as the program advises, does it, and tells what came.
    fn play(&mut self) -> Option<Outcome> {
        let today = self.today();
        let kinship = Arc::new(Kinship::of(&self.program.project, 0.0).expect("a kinship"));
        let knowledge = Arc::new(
            Knowledge::of(&self.program.project, &kinship, &mut ignore_progress)
                .expect("not stopped"),
        );
        self.keep_the_best(&kinship, &knowledge);
        self.set_goals(&kinship, &knowledge);
        let project = &self.program.project;
        let candidates = Candidates::rank(project, &kinship, &knowledge, today)
            .with_chances(&mut ignore_progress)
            .expect("not stopped");
        let rates = Rates::of(project, today);
        let wish = PlanWish::default();
        let planner = Planner::of(project, &candidates, &rates, &wish, today).ok()?;
        let plans = planner
            .curve(3, &[], &mut ignore_progress)
            .expect("plans within the room");
        let plan = plans[planner.accepted(&plans)].clone();
        let best = self.best_of_fifty(&candidates);
        let truncation = self.by_truncation(&candidates, &plan);
        let (mut outcome, mut found) = (
            Outcome {
                crosses: plan.crosses.len(),
                rate: plan.rate,
                said: plan.chance,
                reached: false,
                expected: plan.crosses.iter().map(|cross| cross.females).sum(),
                good: 0,
                off: Vec::new(),
                gains: [0.0; 2],
                best,
            },
            Vec::new(),
        );
        for (nth, cross) in plan.crosses.iter().enumerate() {
            let pair = candidates
                .pair(cross.female, cross.male)
                .expect("a pair of the plan")
                .clone();
            let all = self.raise(nth, [cross.female, cross.male], cross.seeds, pair.mendelian);
            let values: Vec<Values> = all.iter().map(|each| self.truth[each]).collect();
            if values.len() >= 5 {
                for place in 0..2 {
                    let said = pair.traits[place].expect("an outlook");
                    let mean =
                        values.iter().map(|each| each[place]).sum::<f64>() / values.len() as f64;
                    let mean = mean + 20.0 - said.mean;
                    let luck = said.spread.powi(2) / values.len() as f64;
                    outcome
                        .off
                        .push(mean / (said.standard_error.powi(2) + luck).sqrt());
                }
            }
            found.extend(all);
        }
        let goals = &self.program.project.settings().goals;
        let (wanted, thresholds) = (goals.good_females, goals.traits.clone());
        let females: Vec<Values> = found
            .iter()
            .filter(|plant| {
                let record = self.program.project.genotypes().get(**plant);
                record.and_then(Genotype::known_sex) == Some(Sex::Female)
            })
            .map(|plant| self.truth[plant])
            .collect();
        outcome.good = females
            .iter()
            .filter(|values| {
                (0..2).all(|place| {
                    let least = thresholds[place].threshold.expect("a threshold");
                    20.0 + values[place] >= least
                })
            })
            .count() as u32;
        outcome.reached = outcome.good >= wanted;
        outcome.gains = [
            mean_of_best(&females, wanted),
            mean_of_best(&truncation, wanted),
        ];
        self.season += 2;
        Some(outcome)
    }

    /// Ends all but the plants that the program ranks first.
    fn keep_the_best(&mut self, kinship: &Kinship, knowledge: &Knowledge) {
        let index = |plant: &Genotype| {
            kinship.index(plant.id).map_or(0.0, |at| {
                (0..2)
                    .map(|place| knowledge.traits[place].values[at].value / DEVIATION[place])
                    .sum::<f64>()
            })
        };
        let mut gone = Vec::new();
        for sex in [Sex::Female, Sex::Male] {
            let mut living: Vec<(f64, Id<Genotype>)> = self
                .program
                .project
                .genotypes()
                .iter()
                .filter(|plant| plant.is_alive() && plant.known_sex() == Some(sex))
                .map(|plant| (index(plant), plant.id))
                .collect();
            living.sort_by(|one, other| other.0.total_cmp(&one.0));
            // Two of a family at the most, so that not all that is left is of one.
            let (mut kept, mut of_family) = (0, BTreeMap::new());
            for (_, plant) in living {
                let record = self.program.project.genotypes().get(plant);
                let family = match record.map(|record| &record.origin) {
                    Some(Origin::Cross { cross }) => Some(*cross),
                    _ => None,
                };
                let so_far: &mut u32 = of_family.entry(family).or_default();
                if kept < KEPT && (family.is_none() || *so_far < 2) {
                    kept += 1;
                    *so_far += 1;
                } else {
                    gone.push(plant);
                }
            }
        }
        let today = self.today();
        for plant in gone {
            let end = End {
                date: today.into(),
                kind: EndKind::Culled,
                cause: String::new(),
            };
            self.program
                .make(Edit::set(plant, GenotypeField::End(Some(end))));
        }
    }

    /// Goals near what the parents are thought to give: now within easy reach, now beyond it.
    fn set_goals(&mut self, kinship: &Kinship, knowledge: &Knowledge) {
        let living: Vec<usize> = self
            .program
            .project
            .genotypes()
            .iter()
            .filter(|plant| plant.is_alive())
            .filter_map(|plant| kinship.index(plant.id))
            .collect();
        let traits = (0..2).map(|place: usize| {
            let known = &knowledge.traits[place];
            let level = mean(living.iter().map(|at| known.values[*at].value));
            let above = DEVIATION[place] * (1.6 * self.rng.f64() - 0.2);
            TraitGoal {
                threshold: Some(20.0 + level + above),
                ..TraitGoal::new(self.traits[place])
            }
        });
        let goals = Goals {
            traits: traits.collect(),
            good_females: self.rng.u32(1..10),
            inbreeding: 0.5,
            coancestry_rate: Some(0.05),
            space: Space {
                cells: Some(self.rng.u32(60..160)),
                ..Space::default()
            },
            ..Goals::default()
        };
        self.program
            .make(Edit::Settings(SettingsField::Goals(goals)));
    }

    /// Seed of a cross laid, looked at, warmed, counted, potted, sexed and measured.
    fn raise(
        &mut self,
        nth: usize,
        parents: [Id<Genotype>; 2],
        seeds: u32,
        mendelian: f64,
    ) -> Vec<Id<Genotype>> {
        let (season, [female, male]) = (self.season, parents);
        let code = format!("{season}-{nth:02}");
        let program = &mut self.program;
        let mut cross = program.cross_record(&code, female, Pollen::Male(male));
        cross.season = season;
        cross.planned_pollination = Some(day(&format!("{season}-07-01")));
        let cross = program.add(cross);
        let lot = program.lot_of(&format!("{code}-S"), LotSource::Cross(cross), seeds);
        let next = season + 1;
        let batch = program.batch(&format!("{code}-B"), &format!("{season}-12-01"), true);
        let laid = program.chill_box(&format!("{code}-C"), batch, lot, seeds);
        let rng = &mut self.rng;
        let mut share = |of: u32, rate: f64| (0..of).filter(|_| rng.f64() < rate).count() as u32;
        // What families differ by is of the size that the program expects before it knows: common practice.
        let alive = share(seeds, 0.9);
        let through = share(alive, 0.95);
        let own = 0.7;
        let up = share(through, own);
        let mut check = program.check_record(laid, &format!("{next}-01-10"));
        check.mouldy_removed = alive - through;
        program.add(check);
        let run = program.warm(laid, &format!("{next}-02-01"));
        let mut count = program.count_record(run, &format!("{next}-03-01"), up);
        count.dead = seeds - alive;
        program.add(count);
        let end = GerminationEnd {
            date: day(&format!("{next}-03-20")),
            rest: RestFate::Discarded,
            remark: String::new(),
        };
        program.make(Edit::set(run, GerminationField::End(Some(end))));
        let mut grown = Vec::new();
        for plant in 0..up {
            let program = &mut self.program;
            let mut record = Genotype::new(
                program.ids.next(),
                format!("{code}-{plant:03}"),
                Origin::Cross { cross },
            );
            record.born = Some(day(&format!("{next}-03-01")).into());
            record.potted_from = Some(run);
            let lives = self.rng.f64() < 0.9;
            if lives {
                let is_female = self.rng.f64() < 0.63;
                record.sex = Some(seen(if is_female { Sex::Female } else { Sex::Male }));
            } else {
                record.end = Some(End {
                    date: day(&format!("{next}-04-01")).into(),
                    kind: EndKind::Died,
                    cause: String::new(),
                });
            }
            let id = program.add(record);
            if lives {
                let values = self.seedling(parents, mendelian);
                self.truth.insert(id, values);
                self.measure(id, &format!("{next}-08-01"));
                grown.push(id);
            }
        }
        grown
    }

    /// As many seeds shared by the four best pairs whose parents are the best by the index: true values of its females.
    fn by_truncation(&mut self, candidates: &Candidates, plan: &SeasonPlan) -> Vec<Values> {
        let mut pairs: Vec<_> = candidates
            .pairs
            .iter()
            .filter(|pair| pair.is_offered())
            .map(|pair| {
                (
                    pair.index.mean,
                    [pair.female, pair.pollen.male],
                    pair.mendelian,
                )
            })
            .collect();
        pairs.sort_by(|one, other| other.0.total_cmp(&one.0));
        pairs.truncate(4);
        let mut females = Vec::new();
        for (_, parents, mendelian) in &pairs {
            for _ in 0..plan.seeds() / pairs.len() as u32 {
                if self.rng.f64() < 0.9 * 0.95 * 0.7 * 0.9 * 0.63 {
                    females.push(self.seedling(*parents, *mendelian));
                }
            }
        }
        females
    }

    /// Fifty seedlings of the first pair, the best picked by one record of each trait weighed as the program weighs them:
    /// what was said of its true index from the level of unselected plants, and what it is.
    fn best_of_fifty(&mut self, candidates: &Candidates) -> [f64; 2] {
        let pair = &candidates.pairs[0];
        let said = pair.best(BestOf::seedlings(50));
        let deviations: Vec<Option<f64>> = candidates
            .knowledge
            .traits
            .iter()
            .map(domain::planning::TraitKnowledge::deviation)
            .collect();
        let bases: Vec<f64> = candidates
            .knowledge
            .traits
            .iter()
            .map(|known| known.base.unwrap_or(20.0))
            .collect();
        let parents = [pair.female, pair.pollen.male];
        let mut best = (f64::NEG_INFINITY, 0.0);
        for _ in 0..50 {
            let values = self.seedling(parents, pair.mendelian);
            let (mut looks, mut is) = (0.0, 0.0);
            for place in 0..2 {
                let h2 = self.heritability[place];
                let other = DEVIATION[place] * ((1.0 - h2) / h2).sqrt();
                let Some(deviation) = deviations[place] else {
                    continue;
                };
                let from = 20.0 + values[place] - bases[place];
                is += from / deviation;
                looks += (from + other * normal(&mut self.rng)) / deviation;
            }
            if looks > best.0 {
                best = (looks, is);
            }
        }
        [said, best.1]
    }
}

/// Mean true index of the best few, places that none fills counting nothing.
fn mean_of_best(plants: &[Values], wanted: u32) -> f64 {
    let mut all: Vec<f64> = plants.iter().map(|each| Played::index(*each)).collect();
    all.sort_by(|one, other| other.total_cmp(one));
    all.truncate(wanted as usize);
    all.iter().sum::<f64>() / f64::from(wanted)
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), each| (sum + each, count + 1.0));
    sum / f64::max(count, 1.0)
}

#[test]
#[expect(
    clippy::too_many_lines,
    reason = "one table: each figure is printed beside the bound it is held to"
)]
fn played_seasons_bring_what_was_said() {
    let asked = std::env::var("BINEWRIGHT_TEN_SEASONS").ok();
    let programs: u64 = asked
        .as_deref()
        .map_or(1, |text| text.parse().expect("a number of programs"));
    let seasons = if asked.is_some() { 10 } else { 3 };
    let mut all = Vec::new();
    let mut by_season = vec![Vec::new(); seasons];
    for seed in 0..programs {
        let mut played = Played::begun(seed);
        for at_season in &mut by_season {
            let Some(outcome) = played.play() else { break };
            let crosses = outcome.crosses as f64;
            at_season.push((outcome.said, outcome.reached, crosses, outcome.rate));
            all.push(outcome);
        }
    }
    assert!(all.len() as u64 >= programs * seasons as u64 * 8 / 10);
    let count = all.len() as f64;
    let luck = 3.0 / count.sqrt();
    let came = |outcome: &Outcome| f64::from(u8::from(outcome.reached));
    println!("{} seasons of {programs} programs", all.len());
    let mut calibrated = Vec::new();
    for fifth in 0..5 {
        let of = || {
            let place = |outcome: &&Outcome| ((5.0 * outcome.said) as usize).min(4) == fifth;
            all.iter().filter(place)
        };
        let (n, said, reached) = (
            of().count(),
            mean(of().map(|each| each.said)),
            mean(of().map(came)),
        );
        println!(
            "said {} to {} %: {n} plans, said {:.1} %, reached {:.1} %",
            20 * fifth,
            20 * (fifth + 1),
            100.0 * said,
            100.0 * reached
        );
        calibrated.push((fifth, n, said, reached));
    }
    for (nth, at) in by_season.iter().enumerate() {
        println!(
            "season {}: {} plans of {:.1} crosses, {:.1} % coancestry a generation; said {:.2}, reached {:.2}",
            nth + 1,
            at.len(),
            mean(at.iter().map(|each| each.2)),
            100.0 * mean(at.iter().map(|each| each.3)),
            mean(at.iter().map(|each| each.0)),
            mean(at.iter().map(|each| f64::from(u8::from(each.1))))
        );
    }
    let said = mean(all.iter().map(|each| each.said));
    let reached = mean(all.iter().map(came));
    println!(
        "all: said {:.1} %, reached {:.1} %",
        100.0 * said,
        100.0 * reached
    );
    let (expected, good) = (
        mean(all.iter().map(|each| each.expected)),
        mean(all.iter().map(|each| f64::from(each.good))),
    );
    println!("good females a season: {expected:.2} expected, {good:.2} came");
    for place in 0..2 {
        let of_trait = |each: &Outcome| {
            each.off
                .iter()
                .copied()
                .skip(place)
                .step_by(2)
                .collect::<Vec<_>>()
        };
        let off: Vec<f64> = all.iter().flat_map(of_trait).collect();
        println!(
            "trait {place}: family means off by {:.2} deviations in the mean, spread {:.2}",
            mean(off.iter().copied()),
            mean(off.iter().map(|z| z * z)).sqrt()
        );
    }
    let off: Vec<f64> = all
        .iter()
        .flat_map(|each| each.off.iter().copied())
        .collect();
    let within = mean(off.iter().map(|z| f64::from(u8::from(z.abs() < 1.645))));
    println!(
        "means of {} families: {:.1} % within the 90 % interval, off by {:.2} deviations in the mean",
        off.len(),
        100.0 * within,
        mean(off.iter().copied())
    );
    let gains = [0, 1].map(|place: usize| mean(all.iter().map(|each| each.gains[place])));
    println!(
        "best females, true index: {:.2} by the plan, {:.2} by truncation",
        gains[0], gains[1]
    );
    let best = [0, 1].map(|place: usize| mean(all.iter().map(|each| each.best[place])));
    println!("best of fifty: {:.2} said, {:.2} came", best[0], best[1]);
    for (fifth, n, said, reached) in calibrated.into_iter().filter(|each| each.1 > 0) {
        let luck = 3.0 * (0.25 / n as f64).sqrt();
        assert!(
            (said - reached).abs() < 0.05 + luck,
            "fifth {fifth}: {said} and {reached}"
        );
    }
    assert!(
        (said - reached).abs() < 0.05 + 0.5 * luck,
        "{said} and {reached}"
    );
    assert!((expected - good).abs() < 0.15 * expected + 2.0 * luck * expected.max(1.0).sqrt());
    assert!(within > 0.85 - luck, "{within}");
    assert!(
        (best[0] - best[1]).abs() < 0.15 * best[0].abs() + 4.0 * luck,
        "{best:?}"
    );
}
