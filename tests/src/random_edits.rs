//! Random seasons: any order of the day's work, and things a hurried person does.
//!
//! [`walk`] turns a list of numbers into edits that a project took. The numbers come from proptest
//! ([`choices`]), which shortens them when a test fails.

use crate::dice::Dice;
use chrono::NaiveDate;
use domain::actions;
use domain::date::shift;
use domain::record::chill::{CheckField, ChillBoxField};
use domain::record::genotype::GenotypeField;
use domain::record::journal::TaskField;
use domain::record::protocol::ProtocolField;
use domain::record::seed_lot::SeedLotField;
use domain::record::settings::SettingsField;
use domain::record::{OfKind, Record};
use domain::temperature::{Reading, Readings};
use domain::{
    AnyId, Basis, BoxEnd, BoxFate, BreedingUse, Check, Count, Cross, CrossEventKind, CrossTiming,
    DiseaseTest, Edit, EndKind, Genotype, Germination, GerminationEnd, GerminationTest, Grams,
    Hemisphere, Id, IdSource, Infection, LogPlace, LotSource, Moisture, Movement, MovementKind,
    Note, Observation, Origin, PartialDate, Permission, Photo, PlantPart, Ploidy, Pollen,
    PollenShare, Project, RecordKind, RestFate, Rule, Sample, Scale, ScoringSheet, SeedAmount,
    SeedLot, SeedWeighing, Sex, SexBasis, SexRecord, SheetColumn, SheetPaper, Table, Task,
    TemperatureLog, Trait, Value,
};
use proptest::prelude::{Strategy, any};

/// A project that came to be by random edits.
#[derive(Debug, Clone, Default)]
pub struct Walk {
    /// The project after all of them.
    pub project: Project,
    /// What it took, in order, from an empty project.
    pub edits: Vec<Edit>,
    /// What would take each back, in the same order.
    pub inverses: Vec<Edit>,
    /// How many it refused.
    pub refused: usize,
}

/// Up to `most` choices for [`walk`].
pub fn choices(most: usize) -> impl Strategy<Value = Vec<u64>> {
    proptest::collection::vec(any::<u64>(), 0..most)
}

/// A beginning, then one piece of work for each choice; what is refused is left out.
pub fn walk(choices: &[u64]) -> Walk {
    let mut walk = Walk::default();
    let mut ids = IdSource::new(1_767_225_600_000, 1);
    walk.take(actions::begin_project(
        "Random",
        Hemisphere::Northern,
        &mut ids,
    ));
    for choice in choices {
        if let Some(edit) = random_edit(&walk.project, *choice, &mut ids) {
            walk.take(edit);
        }
    }
    walk
}

impl Walk {
    /// Applies an edit, or counts it as refused.
    pub fn take(&mut self, edit: Edit) {
        match self.project.apply(edit.clone()) {
            Ok(inverse) => {
                self.edits.push(edit);
                self.inverses.push(inverse);
            }
            Err(_) => self.refused += 1,
        }
    }
}

/// An edit that could be made next, sensible or not; nothing if the project lacks what it needs.
pub fn random_edit(project: &Project, choice: u64, ids: &mut IdSource) -> Option<Edit> {
    let mut dice = Dice::new(choice);
    // Work goes on through the years as the project grows.
    let days = project.revision() as i64 * 3 + dice.below(40) as i64;
    let today = shift(NaiveDate::from_ymd_opt(2024, 1, 10)?, days);
    let mut hand = Hand {
        project,
        dice,
        ids,
        today,
    };
    match hand.dice.below(12) {
        0 | 1 => hand.plants(),
        2 | 3 => hand.crosses(),
        4 | 5 => hand.seed(),
        6 | 7 => hand.chill(),
        8 => hand.germination(),
        9 => hand.selection(),
        10 => hand.words(),
        _ => hand.whims(),
    }
}

struct Hand<'a> {
    project: &'a Project,
    dice: Dice,
    ids: &'a mut IdSource,
    today: NaiveDate,
}

impl Hand<'_> {
    fn any<R: Record>(&mut self, table: &Table<R>) -> Option<Id<R>> {
        let at = self.dice.below(table.len());
        table.iter().nth(at).map(OfKind::id)
    }

    fn some<R: Record>(&mut self, table: &Table<R>, most: usize) -> Vec<Id<R>> {
        let wanted = 1 + self.dice.below(most);
        let mut found: Vec<_> = (0..wanted).filter_map(|_| self.any(table)).collect();
        found.sort();
        found.dedup();
        found
    }

    fn code(&mut self, prefix: &str) -> String {
        // Narrow, so that the same code comes up twice now and then.
        format!("{prefix}{}", self.dice.below(200))
    }

    fn remark(&mut self) -> String {
        let remarks = [
            "",
            "",
            "good",
            "lehmiger Boden, naß",
            "5 \u{2640} \u{00d7} 3 \u{2642}",
            "\"quoted\"\n\ttwo lines",
        ];
        self.dice
            .pick(&remarks)
            .map_or_else(String::new, |text| (*text).into())
    }

    fn plants(&mut self) -> Option<Edit> {
        let origin = match self.dice.below(6) {
            0..=2 => Origin::Founder {
                source: "a neighbour".into(),
                permission: self.remark(),
                protected: self.dice.one_in(5),
                imported: self.dice.one_in(5),
            },
            3 => Origin::OpenPollinated {
                female: self.any(self.project.genotypes())?,
            },
            4 => Origin::Doubled {
                from: self.any(self.project.genotypes())?,
            },
            _ => Origin::Unknown,
        };
        let sexes = [Sex::Female, Sex::Male, Sex::Monoecious];
        let sex = self.dice.pick(&sexes).map(|sex| SexRecord {
            sex: *sex,
            basis: SexBasis::Stated,
            date: None,
        });
        Some(Edit::add(Genotype {
            sex: sex.filter(|_| !self.dice.one_in(3)),
            ploidy: Ploidy(2 + 2 * self.dice.below(2) as u8),
            location: self.remark(),
            born: self.dice.one_in(2).then_some(PartialDate::Year(2019)),
            permission: self.permission(),
            ..Genotype::new(self.ids.next(), self.code("F"), origin)
        }))
    }

    fn permission(&mut self) -> Permission {
        let breeding = self.dice.pick(&BreedingUse::ALL).copied();
        if self.dice.one_in(2) {
            return Permission::default();
        }
        Permission {
            breeding: breeding.unwrap_or_default(),
            owner: self.remark(),
            document: self.remark(),
            conditions: self.remark(),
            until: self.dice.one_in(3).then_some(self.today),
        }
    }

    fn crosses(&mut self) -> Option<Edit> {
        if self.dice.one_in(2) {
            let female = self.any(self.project.genotypes())?;
            let male = self.any(self.project.genotypes())?;
            let other = self.any(self.project.genotypes())?;
            let pollen = match self.dice.below(4) {
                0 | 1 => Pollen::Male(male),
                2 => Pollen::Mix(vec![
                    PollenShare {
                        male,
                        share: Some(0.3),
                    },
                    PollenShare {
                        male: other,
                        share: Some(0.7),
                    },
                ]),
                _ => Pollen::Open,
            };
            let cross = Cross {
                id: self.ids.next(),
                code: actions::next_cross_code(self.project, 2024),
                female,
                pollen,
                season: 2024,
                planned_pollination: self.dice.one_in(2).then_some(self.today),
                seeds_wanted: self.dice.one_in(2).then_some(200),
                purpose: self.remark(),
                advised: None,
            };
            return Some(actions::plan_cross(cross, self.today, self.ids));
        }
        let cross = self.any(self.project.crosses())?;
        let kinds = [
            CrossEventKind::FemaleBagged { bags: Some(3) },
            CrossEventKind::Receptive,
            CrossEventKind::PollenStored {
                place: "freezer".into(),
            },
            CrossEventKind::Pollinated,
            CrossEventKind::Pollinated,
            CrossEventKind::BagOff,
            CrossEventKind::ConesHarvested { cones: Some(40) },
            CrossEventKind::Failed { why: "hail".into() },
        ];
        let what = self.dice.pick(&kinds)?.clone();
        Some(actions::cross_event(cross, self.today, what, self.ids))
    }

    fn seed(&mut self) -> Option<Edit> {
        let amount = if self.dice.one_in(2) {
            SeedAmount::Counted(50 + self.dice.below(2000) as u32)
        } else {
            SeedAmount::Weighed {
                weight: domain::Grams(0.1 + self.dice.below(1000) as f64 / 70.0),
                thousand_seed_weight: domain::Grams(2.9 + self.dice.below(10) as f64 / 30.0),
            }
        };
        match self.dice.below(7) {
            0 | 1 => {
                let cross = self.any(self.project.crosses())?;
                Some(actions::clean_seed(
                    self.project,
                    cross,
                    self.today,
                    amount,
                    self.ids,
                ))
            }
            2 => Some(Edit::add(SeedLot {
                id: self.ids.next(),
                code: self.code("L"),
                source: LotSource::Bought {
                    from: "a friend".into(),
                    described_as: self.remark(),
                },
                harvested: None,
                cleaned: None,
                amount: Some(amount),
                place: self.remark(),
                conditions: String::new(),
            })),
            3 => Some(Edit::set(
                self.any(self.project.seed_lots())?,
                SeedLotField::Amount(Some(amount)),
            )),
            4 => Some(Edit::add(SeedWeighing {
                id: self.ids.next(),
                lot: self.any(self.project.seed_lots())?,
                date: self.today,
                seeds_each: self.dice.below(3) as u32 * 100,
                weights: vec![Grams(0.3), Grams(0.31)],
                moisture: None,
                by: String::new(),
                remark: self.remark(),
            })),
            5 => Some(Edit::add(GerminationTest {
                id: self.ids.next(),
                lot: self.any(self.project.seed_lots())?,
                date: self.today,
                seeds: 20,
                germinated: self.dice.below(24) as u32,
                replicates: Vec::new(),
                method: self.remark(),
                drawn: self.dice.one_in(2),
                by: String::new(),
                remark: String::new(),
            })),
            _ => Some(Edit::add(Movement {
                id: self.ids.next(),
                lot: self.any(self.project.seed_lots())?,
                date: self.today,
                direction: if self.dice.one_in(3) {
                    MovementKind::Return
                } else {
                    MovementKind::Draw
                },
                seeds: self.dice.below(60) as u32,
                reason: self.remark(),
            })),
        }
    }

    fn chill(&mut self) -> Option<Edit> {
        let batch = self.any(self.project.chill_batches());
        let Some(batch) = batch.filter(|_| !self.dice.one_in(5)) else {
            let protocol = self.any(self.project.protocols())?;
            let planned = actions::plan_batch(self.project, protocol, self.today, self.ids)?;
            return Some(Edit::add(planned));
        };
        let batch = self.project.chill_batches().get(batch)?;
        match self.dice.below(6) {
            0 | 1 => {
                let lot = self.any(self.project.seed_lots())?;
                let seeds = 1 + self.dice.below(300) as u32;
                Some(actions::lay_boxes(
                    self.project,
                    batch,
                    lot,
                    seeds,
                    100,
                    self.ids,
                ))
            }
            2 => Some(actions::start_batch(batch, self.today)),
            3 => {
                let boxes = self.some(self.project.chill_boxes(), 6);
                Some(actions::check_boxes(&boxes, self.today, self.ids))
            }
            4 => {
                let chill_box = self.any(self.project.chill_boxes())?;
                Some(Edit::add(Check {
                    moisture: Some(Moisture::Dry),
                    water_added: self.dice.one_in(2),
                    mouldy_removed: self.dice.below(4) as u32,
                    sprouted_early: self.dice.below(3) as u32,
                    temperature: Some(domain::Celsius(self.dice.below(70) as f64 / 9.0)),
                    ..Check::nothing_found(self.ids.next(), chill_box, self.today)
                }))
            }
            _ => {
                let fates = [BoxFate::Discarded, BoxFate::Lost, BoxFate::Returned];
                let end = BoxEnd {
                    date: self.today,
                    fate: *self.dice.pick(&fates)?,
                    cause: self.remark(),
                };
                Some(actions::end_box(self.any(self.project.chill_boxes())?, end))
            }
        }
    }

    fn germination(&mut self) -> Option<Edit> {
        match self.dice.below(5) {
            0 => {
                let boxes = self.some(self.project.chill_boxes(), 3);
                Some(actions::warm(&boxes, self.today, self.ids))
            }
            1 => Some(Edit::add(Count {
                id: self.ids.next(),
                run: self.any(self.project.germinations())?,
                date: self.today,
                germinated: self.dice.below(30) as u32,
                abnormal: self.dice.below(3) as u32,
                dead: self.dice.below(3) as u32,
                lost: 0,
                by: self.remark(),
                remark: self.remark(),
            })),
            2 => {
                let from = self.any(self.project.chill_boxes())?;
                let sprouts = 1 + self.dice.below(12) as u32;
                actions::pot_up(self.project, from, sprouts, self.today, self.ids)
            }
            3 => {
                let from = self.any(self.project.chill_boxes())?;
                let batch = self.any(self.project.chill_batches())?;
                actions::chill_again(self.project, from, batch, 10, self.ids)
            }
            _ => {
                let end = GerminationEnd {
                    date: self.today,
                    rest: RestFate::Discarded,
                    remark: self.remark(),
                };
                let run: Id<Germination> = self.any(self.project.germinations())?;
                let field = domain::record::germination::GerminationField::End(Some(end));
                Some(Edit::set(run, field))
            }
        }
    }

    fn selection(&mut self) -> Option<Edit> {
        let plants = self.some(self.project.genotypes(), 8);
        match self.dice.below(9) {
            5 => Some(Edit::add(Sample {
                id: self.ids.next(),
                code: self.code("S-"),
                genotype: *plants.first()?,
                part: *self.dice.pick(&PlantPart::ALL)?,
                taken: self.today,
                site: self.remark(),
                replicate: None,
                by: "Ida".into(),
                laboratory: self.remark(),
                sent: self.dice.one_in(3).then_some(self.today),
                remark: String::new(),
            })),
            6 => Some(Edit::add(DiseaseTest {
                id: self.ids.next(),
                name: self.code("Mildew test "),
                of_trait: self.any(self.project.traits())?,
                date: self.today,
                infection: Infection::Inoculated,
                isolate: self.remark(),
                part: PlantPart::Leaves,
                site: String::new(),
                by: String::new(),
                remark: self.remark(),
            })),
            7 => self.measured(),
            8 => {
                let of_trait = self.any(self.project.traits())?;
                let levels = match &self.project.traits().get(of_trait)?.scale {
                    Scale::Score { from, to, .. } => {
                        (*from..=*to).map(|score| f64::from(score).into()).collect()
                    }
                    Scale::YesNo => vec![Value::YesNo(true), Value::YesNo(false)],
                    _ => Vec::new(),
                };
                Some(Edit::add(ScoringSheet {
                    id: self.ids.next(),
                    name: self.code("Round "),
                    printed: self.today,
                    paper: SheetPaper::A4,
                    columns: vec![SheetColumn { of_trait, levels }],
                    plants,
                    remark: self.remark(),
                }))
            }
            0 | 1 => {
                let plant = *plants.first()?;
                let of_trait = self.any(self.project.traits())?;
                let value = self.dice.below(11) as f64;
                Some(actions::score(
                    self.project,
                    plant,
                    of_trait,
                    self.today,
                    value,
                    self.ids,
                ))
            }
            2 => Some(actions::select(&plants, self.today.into(), "vigour")),
            3 => {
                let kinds = [EndKind::Died, EndKind::Culled, EndKind::Lost];
                let kind = *self.dice.pick(&kinds)?;
                let date = self.today.into();
                Some(actions::end_plants(
                    self.project,
                    &plants,
                    kind,
                    date,
                    "mildew",
                ))
            }
            _ => {
                let stage = self.any(self.project.stages())?;
                Some(actions::move_to_stage(self.project, &plants, stage))
            }
        }
    }

    /// Values of every kind of scale, with all that may belong to one, fitting or not.
    fn measured(&mut self) -> Option<Edit> {
        let of_trait = self.any(self.project.traits())?;
        let value = match &self.project.traits().get(of_trait)?.scale {
            Scale::Classes { classes } => Value::Class {
                class: self.dice.pick(classes)?.clone(),
            },
            Scale::Date => Value::Date { date: self.today },
            Scale::YesNo => Value::YesNo(self.dice.one_in(2)),
            Scale::Text => Value::Text {
                text: self.remark(),
            },
            _ => Value::Number(self.dice.below(11) as f64),
        };
        let sample = self.any(self.project.samples());
        let plant = match sample.and_then(|sample| self.project.samples().get(sample)) {
            Some(sample) if self.dice.one_in(3) => sample.genotype,
            _ => self.any(self.project.genotypes())?,
        };
        let moisture = self.dice.below(12) as f64;
        Some(Edit::add(Observation {
            site: self.remark(),
            isolate: self.remark(),
            method: self.remark(),
            basis: *self
                .dice
                .pick(&[Basis::Unstated, Basis::Dry, Basis::AsIs { moisture }])?,
            replicate: self.dice.one_in(2).then_some(2),
            sample: sample.filter(|_| self.dice.one_in(2)),
            test: self
                .any(self.project.disease_tests())
                .filter(|_| self.dice.one_in(3)),
            ..Observation::new(self.ids.next(), plant, of_trait, self.today, value)
        }))
    }

    fn a_scale(&mut self) -> Option<Scale> {
        Some(match self.dice.below(7) {
            0 => Scale::Classes {
                classes: ["poor", "moderate", "excellent"].map(Into::into).into(),
            },
            1 => Scale::Date,
            2 => Scale::YesNo,
            3 => Scale::Text,
            4 => Scale::Derived {
                rule: Rule::Ratio {
                    over: self.any(self.project.traits())?,
                    under: self.any(self.project.traits())?,
                },
            },
            5 => Scale::Measure {
                unit: "%".into(),
                at_least: Some(0.0),
                at_most: Some(100.0),
            },
            _ => Scale::measure("g"),
        })
    }

    fn words(&mut self) -> Option<Edit> {
        let about = AnyId::from(self.any(self.project.genotypes())?);
        match self.dice.below(5) {
            0 => Some(Edit::add(Note {
                id: self.ids.next(),
                about,
                date: self.today,
                text: self.remark(),
                by: "Ida".into(),
            })),
            1 => Some(Edit::add(Photo {
                id: self.ids.next(),
                about,
                path: self.code("photos/"),
                date: Some(self.today),
                caption: self.remark(),
            })),
            2 => Some(Edit::add(Task {
                id: self.ids.next(),
                title: self.code("Mend net "),
                due: self.today,
                about: self.dice.one_in(2).then_some(about),
                done: None,
                remark: self.remark(),
            })),
            3 => Some(Edit::set(
                self.any(self.project.tasks())?,
                TaskField::Done(Some(self.today)),
            )),
            _ => Some(Edit::add(Trait {
                id: self.ids.next(),
                name: self.code("Cone weight "),
                scale: self.a_scale()?,
                direction: domain::Direction::Higher,
                method: self.remark(),
            })),
        }
    }

    /// Corrections, renames, removals and settings.
    fn whims(&mut self) -> Option<Edit> {
        match self.dice.below(9) {
            8 => self.temperatures(),
            0 => Some(Edit::set(
                self.any(self.project.genotypes())?,
                GenotypeField::Code(self.code("F")),
            )),
            1 => Some(Edit::set(
                self.any(self.project.genotypes())?,
                GenotypeField::Aliases(vec![self.remark(), "old name".into()]),
            )),
            2 => Some(Edit::set(
                self.any(self.project.chill_boxes())?,
                ChillBoxField::Seeds(self.dice.below(120) as u32),
            )),
            3 => Some(Edit::set(
                self.any(self.project.checks())?,
                CheckField::MouldyRemoved(self.dice.below(5) as u32),
            )),
            4 if self.dice.one_in(2) => self.protocol(),
            4 => Some(Edit::Settings(SettingsField::Place(self.remark()))),
            5 => Some(Edit::Settings(SettingsField::CrossTiming(CrossTiming {
                ripe_from: 30 + self.dice.below(20) as u32,
                ..CrossTiming::default()
            }))),
            _ => self.removal(),
        }
    }

    /// Another source or name of a protocol, or another length of its chill.
    fn protocol(&mut self) -> Option<Edit> {
        let protocol = self.any(self.project.protocols())?;
        let field = match self.dice.below(3) {
            0 => ProtocolField::Name(self.code("Chill ")),
            1 => ProtocolField::Source(self.remark()),
            _ => {
                let mut regimen = self.project.protocols().get(protocol)?.regimen.clone();
                regimen.check_every = self.dice.below(10) as u32;
                ProtocolField::Regimen(regimen)
            }
        };
        Some(Edit::set(protocol, field))
    }

    /// A log of an hour or two, now and then one that can't be.
    fn temperatures(&mut self) -> Option<Edit> {
        let begin = self.today.and_hms_opt(8, 0, 0)?;
        let readings = (0..self.dice.below(12)).map(|nth| {
            let degrees = self.dice.below(900) as f64 / 100.0 - 2.0;
            Reading::new(
                begin + chrono::TimeDelta::minutes(nth as i64 * 10),
                domain::Celsius(degrees),
            )
        });
        let readings = Readings::new(readings.collect());
        let at = if self.dice.one_in(2) {
            LogPlace::Batch(self.any(self.project.chill_batches())?)
        } else {
            LogPlace::Place(self.remark())
        };
        Some(Edit::add(TemperatureLog {
            id: self.ids.next(),
            at,
            readings,
            source: self.remark(),
            remark: String::new(),
        }))
    }

    fn removal(&mut self) -> Option<Edit> {
        let project = self.project;
        Some(match self.dice.pick(RecordKind::ALL)? {
            RecordKind::Stage => Edit::remove(self.any(project.stages())?),
            RecordKind::Trait => Edit::remove(self.any(project.traits())?),
            RecordKind::Protocol => Edit::remove(self.any(project.protocols())?),
            RecordKind::Genotype => Edit::remove(self.any(project.genotypes())?),
            RecordKind::Cross => Edit::remove(self.any(project.crosses())?),
            RecordKind::CrossEvent => Edit::remove(self.any(project.cross_events())?),
            RecordKind::SeedLot => Edit::remove(self.any(project.seed_lots())?),
            RecordKind::Movement => Edit::remove(self.any(project.movements())?),
            RecordKind::SeedWeighing => Edit::remove(self.any(project.seed_weighings())?),
            RecordKind::GerminationTest => Edit::remove(self.any(project.germination_tests())?),
            RecordKind::ChillBatch => Edit::remove(self.any(project.chill_batches())?),
            RecordKind::ChillBox => Edit::remove(self.any(project.chill_boxes())?),
            RecordKind::Check => Edit::remove(self.any(project.checks())?),
            RecordKind::TemperatureLog => Edit::remove(self.any(project.temperature_logs())?),
            RecordKind::Germination => Edit::remove(self.any(project.germinations())?),
            RecordKind::Count => Edit::remove(self.any(project.counts())?),
            RecordKind::Sample => Edit::remove(self.any(project.samples())?),
            RecordKind::DiseaseTest => Edit::remove(self.any(project.disease_tests())?),
            RecordKind::ScoringSheet => Edit::remove(self.any(project.scoring_sheets())?),
            RecordKind::Observation => Edit::remove(self.any(project.observations())?),
            RecordKind::Task => Edit::remove(self.any(project.tasks())?),
            RecordKind::Note => Edit::remove(self.any(project.notes())?),
            RecordKind::Photo => Edit::remove(self.any(project.photos())?),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_walk_reaches_every_kind_of_record_and_is_refused_now_and_then() {
        let mut dice = Dice::new(3);
        let choices: Vec<u64> = (0..2000).map(|_| dice.roll()).collect();
        let walk = walk(&choices);
        let tables = serde_json::to_value(&walk.project).unwrap();
        for kind in RecordKind::ALL {
            assert!(
                tables[kind.table()]
                    .as_array()
                    .is_some_and(|all| !all.is_empty()),
                "no {} was made",
                kind.noun()
            );
        }
        assert!(
            walk.edits.len() > 700 && walk.refused > 50,
            "{} {}",
            walk.edits.len(),
            walk.refused
        );
    }
}
