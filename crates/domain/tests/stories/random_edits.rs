//! Any edits, in any order: what is taken keeps every rule and can be taken back exactly.

use crate::program::{Program, seen, stated_origin};
use chrono::NaiveDate;
use domain::record::Record;
use domain::record::chill::{CheckField, ChillBatchField, ChillBoxField};
use domain::record::cross::{CrossEventField, CrossField};
use domain::record::genotype::GenotypeField;
use domain::record::germination::{CountField, GerminationField};
use domain::record::journal::{NoteField, TaskField};
use domain::record::observation::{ObservationField, TraitField};
use domain::record::seed_lot::{MovementField, SeedLotField};
use domain::record::seed_test::GerminationTestField;
use domain::record::settings::SettingsField;
use domain::record::temperature_log::TemperatureLogField;
use domain::temperature::{Reading, Readings};
use domain::{
    BoxEnd, BoxFate, Celsius, Check, ChillBatch, ChillBox, Count, Cross, CrossEvent,
    CrossEventKind, Edit, End, EndKind, Genotype, Germination, GerminationEnd, GerminationTest,
    Grams, Id, IdSource, LogPlace, LotSource, Movement, MovementKind, Note, Observation, Origin,
    PartialDate, Ploidy, Pollen, PollenShare, Project, ProjectParts, Regimen, RestFate, Scale,
    SeedAmount, SeedLot, SeedWeighing, Sex, Table, Task, TemperatureLog, Trait,
};
use proptest::prelude::*;

/// Dice for one edit: what to do, to which records, with which numbers.
type Roll = (u8, [usize; 3], u32, u16);

fn day(days: u16) -> NaiveDate {
    domain::date::shift("2025-12-01".parse().expect("a day"), i64::from(days % 120))
}

fn pick<R: Record>(table: &Table<R>, at: usize) -> Option<Id<R>> {
    table.iter().nth(at % table.len().max(1)).map(R::id)
}

fn sex(number: u32) -> Option<Sex> {
    [
        None,
        Some(Sex::Female),
        Some(Sex::Male),
        Some(Sex::Monoecious),
    ][number as usize % 4]
}

/// An edit of the kind the dice ask for, if the records it needs are there. It need not be acceptable.
#[expect(
    clippy::too_many_lines,
    reason = "one arm for each thing that can be done"
)]
fn edit(project: &Project, ids: &mut IdSource, (what, at, number, days): Roll) -> Option<Edit> {
    let plant = |nth: usize| pick(project.genotypes(), at[nth]);
    let small = number % 50;
    let code = format!("{}{}", ["x", "X", "y"][at[2] % 3], number % 40);
    let (date, pollen) = (day(days), pollen(project, at, number));
    Some(match what % 48 {
        0..=2 => {
            let sex = sex(number).map(seen);
            Edit::add(Genotype {
                sex,
                ..Genotype::new(ids.next(), code, stated_origin())
            })
        }
        3 => Edit::add(Genotype::new(
            ids.next(),
            code,
            origin(project, at, number)?,
        )),
        4 => Edit::set(
            plant(0)?,
            GenotypeField::Origin(origin(project, at, number)?),
        ),
        5 => Edit::set(plant(0)?, GenotypeField::Sex(sex(number).map(seen))),
        6 => Edit::set(plant(0)?, GenotypeField::Code(code)),
        7 => Edit::set(
            plant(0)?,
            GenotypeField::Born((number % 3 > 0).then(|| date.into())),
        ),
        8 => {
            let end = End {
                date: date.into(),
                kind: EndKind::Culled,
                cause: String::new(),
            };
            Edit::set(
                plant(0)?,
                GenotypeField::End((number % 4 > 0).then_some(end)),
            )
        }
        9 => Edit::set(
            plant(0)?,
            if number % 2 == 0 {
                GenotypeField::PottedFrom(pick(project.germinations(), at[1]))
            } else {
                GenotypeField::SproutedIn(pick(project.chill_boxes(), at[1]))
            },
        ),
        10 => Edit::set(plant(0)?, GenotypeField::Ploidy(Ploidy(number as u8 % 6))),
        11 => Edit::remove(plant(0)?),
        12 | 13 => Edit::add(Cross {
            id: ids.next(),
            code,
            female: plant(0)?,
            pollen: pollen?,
            season: 2026,
            planned_pollination: Some(date),
            seeds_wanted: None,
            purpose: String::new(),
            advised: None,
        }),
        14 => Edit::set(
            pick(project.crosses(), at[2])?,
            CrossField::Female(plant(0)?),
        ),
        15 => Edit::set(pick(project.crosses(), at[2])?, CrossField::Pollen(pollen?)),
        16 => Edit::remove(pick(project.crosses(), at[0])?),
        17 | 18 => Edit::add(CrossEvent {
            id: ids.next(),
            cross: pick(project.crosses(), at[0])?,
            date,
            what: happening(number),
            by: String::new(),
            remark: String::new(),
        }),
        19 => Edit::set(
            pick(project.cross_events(), at[0])?,
            match number % 3 {
                0 => CrossEventField::Date(date),
                1 => CrossEventField::What(happening(number / 3)),
                _ => CrossEventField::Cross(pick(project.crosses(), at[1])?),
            },
        ),
        20 | 21 => Edit::add(SeedLot {
            id: ids.next(),
            code,
            source: source(project, at, number)?,
            harvested: (number % 2 == 0).then_some(date),
            cleaned: None,
            amount: Some(SeedAmount::Counted(small * 3)),
            place: String::new(),
            conditions: String::new(),
        }),
        22 => Edit::set(
            pick(project.seed_lots(), at[2])?,
            match number % 3 {
                0 => {
                    SeedLotField::Amount((number % 5 > 0).then_some(SeedAmount::Counted(small * 2)))
                }
                1 => SeedLotField::Source(source(project, at, number / 3)?),
                _ => SeedLotField::Harvested(Some(date)),
            },
        ),
        23 | 24 => Edit::add(Movement {
            id: ids.next(),
            lot: pick(project.seed_lots(), at[0])?,
            date,
            direction: direction(number),
            seeds: small,
            reason: String::new(),
        }),
        25 => Edit::set(
            pick(project.movements(), at[0])?,
            match number % 4 {
                0 => MovementField::Date(date),
                1 => MovementField::Lot(pick(project.seed_lots(), at[1])?),
                2 => MovementField::Direction(direction(number / 4)),
                _ => MovementField::Seeds(small),
            },
        ),
        26 => Edit::remove(pick(project.movements(), at[0])?),
        27 => Edit::add(ChillBatch {
            id: ids.next(),
            code,
            start: date,
            regimen: Regimen::default(),
            started: number % 2 == 0,
            protocol: String::new(),
            sterilised: None,
            place: String::new(),
            ended: None,
        }),
        28 => Edit::set(
            pick(project.chill_batches(), at[0])?,
            match number % 3 {
                0 => ChillBatchField::Start(date),
                1 => ChillBatchField::Started(number % 2 == 0),
                _ => ChillBatchField::Ended((number % 2 == 0).then_some(date)),
            },
        ),
        29 | 30 => Edit::add(ChillBox {
            id: ids.next(),
            code,
            batch: pick(project.chill_batches(), at[0])?,
            lot: pick(project.seed_lots(), at[1])?,
            seeds: small,
            rechilled_from: (number % 4 == 0)
                .then(|| pick(project.chill_boxes(), at[2]))
                .flatten(),
            place: String::new(),
            end: None,
        }),
        31 | 32 => Edit::set(
            pick(project.chill_boxes(), at[0])?,
            box_field(project, at, number, date)?,
        ),
        33 => Edit::remove(pick(project.chill_boxes(), at[0])?),
        34 | 35 => Edit::add(Check {
            mouldy_removed: number % 3,
            sprouted_early: number % 2,
            sprouts_lost: number % 3 / 2,
            ..Check::nothing_found(ids.next(), pick(project.chill_boxes(), at[0])?, date)
        }),
        36 => Edit::set(
            pick(project.checks(), at[0])?,
            match number % 3 {
                0 => CheckField::Date(date),
                1 => CheckField::ChillBox(pick(project.chill_boxes(), at[1])?),
                _ => CheckField::MouldyRemoved(small),
            },
        ),
        37 => Edit::add(Germination {
            id: ids.next(),
            chill_box: pick(project.chill_boxes(), at[0])?,
            moved: date,
            place: String::new(),
            end: None,
        }),
        38 => Edit::set(
            pick(project.germinations(), at[0])?,
            match number % 3 {
                0 => GerminationField::Moved(date),
                1 => GerminationField::ChillBox(pick(project.chill_boxes(), at[1])?),
                _ => GerminationField::End((number % 2 == 0).then(|| GerminationEnd {
                    date,
                    rest: RestFate::Discarded,
                    remark: String::new(),
                })),
            },
        ),
        39 => match pick(project.counts(), at[0]).filter(|_| number % 2 == 0) {
            Some(count) => Edit::set(count, CountField::Run(pick(project.germinations(), at[1])?)),
            None => Edit::add(Count {
                id: ids.next(),
                run: pick(project.germinations(), at[0])?,
                date,
                germinated: small,
                abnormal: 0,
                dead: 0,
                lost: 0,
                by: String::new(),
                remark: String::new(),
            }),
        },
        40 => match pick(project.observations(), at[0]).filter(|_| number % 2 == 0) {
            Some(observation) => Edit::set(observation, ObservationField::Genotype(plant(1)?)),
            None => Edit::add(Observation::new(
                ids.next(),
                plant(0)?,
                pick(project.traits(), at[1])?,
                date,
                f64::from(number % 10),
            )),
        },
        41 => {
            let of_trait: Id<Trait> = pick(project.traits(), at[0])?;
            let scale = Scale::Score {
                from: 0,
                to: (number % 12) as i32,
                low: String::new(),
                high: String::new(),
                between: Vec::new(),
            };
            Edit::set(of_trait, TraitField::Scale(scale))
        }
        42 => journal(project, ids, at, number, date)?,
        43 => temperatures(project, ids, at, number, date)?,
        44 => match pick(project.germination_tests(), at[0]).filter(|_| number % 2 == 0) {
            Some(test) => Edit::set(
                test,
                GerminationTestField::Lot(pick(project.seed_lots(), at[1])?),
            ),
            None => Edit::add(GerminationTest {
                id: ids.next(),
                lot: pick(project.seed_lots(), at[0])?,
                date,
                seeds: small,
                germinated: number % 30,
                replicates: Vec::new(),
                method: String::new(),
                drawn: number % 3 > 0,
                by: String::new(),
                remark: String::new(),
            }),
        },
        45 => match pick(project.seed_weighings(), at[0]).filter(|_| number % 3 == 0) {
            Some(weighing) => Edit::remove(weighing),
            None => Edit::add(SeedWeighing {
                id: ids.next(),
                lot: pick(project.seed_lots(), at[0])?,
                date,
                seeds_each: 100,
                weights: vec![Grams(f64::from(small) / 100.0); 4],
                moisture: None,
                by: String::new(),
                remark: String::new(),
            }),
        },
        _ => Edit::Settings(SettingsField::Protocol(
            number
                .is_multiple_of(2)
                .then(|| pick(project.protocols(), at[0]))
                .flatten(),
        )),
    })
}

fn temperatures(
    project: &Project,
    ids: &mut IdSource,
    at: [usize; 3],
    number: u32,
    date: NaiveDate,
) -> Option<Edit> {
    let readings = |count: u32| {
        let begin = date.and_time(chrono::NaiveTime::MIN);
        let reading = |nth: u32| {
            let moment = begin + chrono::TimeDelta::minutes(i64::from(nth) * 10);
            Reading::new(moment, Celsius(f64::from(nth)))
        };
        Readings::new((0..count).map(reading).collect())
    };
    Some(match number % 4 {
        0 => Edit::remove(pick(project.temperature_logs(), at[0])?),
        1 => Edit::set(
            pick(project.temperature_logs(), at[0])?,
            TemperatureLogField::Readings(readings(number / 4 % 5)),
        ),
        2 => Edit::add(TemperatureLog {
            id: ids.next(),
            at: LogPlace::Place(
                if (number / 4).is_multiple_of(3) {
                    ""
                } else {
                    "cellar"
                }
                .into(),
            ),
            readings: readings(number / 4 % 100),
            source: String::new(),
            remark: String::new(),
        }),
        _ => Edit::add(TemperatureLog {
            id: ids.next(),
            at: LogPlace::Batch(pick(project.chill_batches(), at[0])?),
            readings: readings(3),
            source: String::new(),
            remark: String::new(),
        }),
    })
}

fn journal(
    project: &Project,
    ids: &mut IdSource,
    at: [usize; 3],
    number: u32,
    date: NaiveDate,
) -> Option<Edit> {
    Some(match number % 5 {
        0 => Edit::add(Note {
            id: ids.next(),
            about: pick(project.genotypes(), at[0])?.into(),
            date,
            text: "note".into(),
            by: String::new(),
        }),
        1 => Edit::set(
            pick(project.notes(), at[0])?,
            NoteField::About(pick(project.notes(), at[1])?.into()),
        ),
        2 => Edit::add(Task {
            id: ids.next(),
            title: "task".into(),
            due: date,
            about: pick(project.notes(), at[0]).map(Into::into),
            done: None,
            remark: String::new(),
        }),
        3 => Edit::set(pick(project.tasks(), at[0])?, TaskField::Done(Some(date))),
        _ => Edit::remove(pick(project.notes(), at[0])?),
    })
}

fn box_field(
    project: &Project,
    at: [usize; 3],
    number: u32,
    date: NaiveDate,
) -> Option<ChillBoxField> {
    Some(match number % 5 {
        0 => ChillBoxField::Batch(pick(project.chill_batches(), at[1])?),
        1 => ChillBoxField::Lot(pick(project.seed_lots(), at[1])?),
        2 => ChillBoxField::Seeds(number / 5 % 60),
        3 => ChillBoxField::RechilledFrom(
            number
                .is_multiple_of(2)
                .then(|| pick(project.chill_boxes(), at[1]))
                .flatten(),
        ),
        _ => {
            let fate = [BoxFate::Returned, BoxFate::Discarded][number as usize / 5 % 2];
            ChillBoxField::End((!number.is_multiple_of(3)).then(|| BoxEnd {
                date,
                fate,
                cause: String::new(),
            }))
        }
    })
}

fn direction(number: u32) -> MovementKind {
    [MovementKind::Draw, MovementKind::Return][number as usize % 2]
}

fn happening(number: u32) -> CrossEventKind {
    match number % 5 {
        0 => CrossEventKind::Planned,
        1 => CrossEventKind::FemaleBagged { bags: None },
        2 => CrossEventKind::Pollinated,
        3 => CrossEventKind::BagOff,
        _ => CrossEventKind::ConesHarvested { cones: None },
    }
}

fn pollen(project: &Project, at: [usize; 3], number: u32) -> Option<Pollen> {
    let male = |nth: usize| pick(project.genotypes(), at[nth]);
    Some(match number % 6 {
        0 => Pollen::Open,
        1 => Pollen::Unknown,
        2 => Pollen::Mix(vec![
            PollenShare {
                male: male(1)?,
                share: Some(0.5),
            },
            PollenShare {
                male: male(2)?,
                share: Some(0.5),
            },
        ]),
        _ => Pollen::Male(male(1)?),
    })
}

fn origin(project: &Project, at: [usize; 3], number: u32) -> Option<Origin> {
    let plant = pick(project.genotypes(), at[1]);
    Some(match number % 7 {
        0 => Origin::OpenPollinated { female: plant? },
        1 => Origin::Doubled { from: plant? },
        2 => Origin::Variant { of: plant? },
        3 => Origin::Unknown,
        _ => Origin::Cross {
            cross: pick(project.crosses(), at[1])?,
        },
    })
}

fn source(project: &Project, at: [usize; 3], number: u32) -> Option<LotSource> {
    Some(match number % 4 {
        0 => LotSource::OpenPollinated(pick(project.genotypes(), at[0])?),
        1 => LotSource::Unknown,
        _ => LotSource::Cross(pick(project.crosses(), at[0])?),
    })
}

fn parts_of(project: &Project) -> ProjectParts {
    serde_json::from_str(&serde_json::to_string(project).expect("json")).expect("parts")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 192, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_edits_then_all_inverses_give_the_equal_project(rolls in proptest::collection::vec(any::<Roll>(), 1..160)) {
        let Program { mut project, mut ids } = Program::begun();
        let start = project.clone();
        let (mut inverses, mut made, mut taken) = (Vec::new(), Vec::new(), 0);
        for roll in rolls {
            let Some(edit) = edit(&project, &mut ids, roll) else { continue };
            let before = project.clone();
            match project.apply(edit.clone()) {
                Ok(inverse) => {
                    taken += 1;
                    prop_assert_eq!(project.broken_rules(), vec![], "after {:?}", edit);
                    inverses.push((before, inverse));
                    made.push(edit);
                }
                Err(_) => prop_assert!(project == before, "a refusal left a trace of {:?}", edit),
            }
        }
        let end = project.clone();
        // The indices derived while editing are those derived from the file.
        let reread = Project::from_parts(parts_of(&end));
        prop_assert!(reread == end);
        prop_assert!(reread.codes().eq(end.codes()));
        prop_assert!(reread.dangling_references().is_empty());
        for plant in end.genotypes().iter() {
            prop_assert!(reread.referrers(plant.id.into()).eq(end.referrers(plant.id.into())));
            let has_offspring = end.referring::<Cross>(plant.id).next().is_some()
                || end.referring::<Genotype>(plant.id).next().is_some();
            prop_assert_eq!(domain::ancestry::is_parent(&end, plant.id), has_offspring);
        }
        for chill_box in end.chill_boxes().iter() {
            let plants = end.genotypes().iter().filter(|plant| end.box_of(plant) == Some(chill_box.id));
            prop_assert_eq!(end.potted_out_of(chill_box.id).count(), plants.count());
        }
        let mut replayed = start.clone();
        for edit in made {
            let line = serde_json::to_string(&edit).expect("a line");
            replayed.apply(serde_json::from_str(&line).expect("the edit")).expect("what was taken once is taken again");
        }
        prop_assert!(replayed == end);
        prop_assert_eq!(project.revision(), start.revision() + taken);
        for (before, inverse) in inverses.into_iter().rev() {
            match project.apply(inverse.clone()) {
                Ok(_) => prop_assert!(project == before, "not exactly taken back by {:?}", inverse),
                Err(refusal) => prop_assert!(false, "{}: {:?}", refusal, inverse),
            }
        }
        prop_assert!(project == start);
    }

    #[test]
    fn dates_known_in_part_are_written_and_read_back(year in 1800..=2200_i32, month in 1..=12_u32, day in 1..=31_u32) {
        let mut dates = vec![PartialDate::Year(year), PartialDate::Month(year, month)];
        dates.extend(NaiveDate::from_ymd_opt(year, month, day).map(PartialDate::Day));
        for date in dates {
            prop_assert_eq!(date.to_string().parse::<PartialDate>(), Ok(date));
            prop_assert!(date.earliest() <= date.latest());
        }
    }
}
