//! A breeding program of 100,000 seedlings: twenty-five seasons of twenty crosses, with everything that a
//! season leaves behind; the last season's seed is in the cold and in warmth.

use chrono::NaiveDate;
use domain::actions::begin_project;
use domain::date::shift;
use domain::record::genotype::SexRecord;
use domain::{
    Check, ChillBatch, ChillBox, Count, Cross, CrossEvent, CrossEventKind, End, EndKind, Genotype,
    Germination, GerminationEnd, Hemisphere, Id, IdSource, LotSource, Observation, Origin, Pollen,
    Project, ProjectParts, Regimen, RestFate, SeedAmount, SeedLot, Selection, Sex, SexBasis,
};

const SEASONS: i64 = 25;
const CROSSES: usize = 20;
/// Of each cross; with its twenty crosses and twenty-five seasons they are the 100,000.
const SEEDLINGS: usize = 200;
const BOXES: usize = 3;
const FOUNDERS: usize = 40;

/// The program as it stands on `today`.
pub(crate) fn program(today: NaiveDate) -> Project {
    let mut maker = Maker {
        ids: IdSource::new(1_500_000_000_000, 1),
        parts: ProjectParts::default(),
        traits: Vec::new(),
        stage: None,
        parents: Vec::new(),
    };
    maker.begin();
    maker.founders(today);
    for season in 0..SEASONS {
        let next_parents = maker.season(season, shift(today, -365 * (SEASONS - 1 - season)));
        maker.parents.extend(next_parents);
        // Parents of the last few seasons, so that generations follow each other.
        let old = maker.parents.len().saturating_sub(60);
        maker.parents.drain(..old);
    }
    Project::from_parts(maker.parts)
}

struct Maker {
    ids: IdSource,
    parts: ProjectParts,
    traits: Vec<Id<domain::Trait>>,
    stage: Option<Id<domain::Stage>>,
    /// Females at even places, males at odd ones.
    parents: Vec<Id<Genotype>>,
}

impl Maker {
    /// The stages, traits and protocols a new project has.
    fn begin(&mut self) {
        let mut project = Project::default();
        let begun = begin_project("Long program", Hemisphere::Northern, &mut self.ids);
        if let Err(refusal) = project.apply(begun) {
            unreachable!("a new project takes its own beginning: {refusal}");
        }
        self.parts.settings = project.settings().clone();
        self.parts.stages = project.stages().iter().cloned().collect();
        self.parts.traits = project.traits().iter().cloned().collect();
        self.parts.protocols = project.protocols().iter().cloned().collect();
        self.traits = self.parts.traits.iter().map(|each| each.id).collect();
        self.stage = project.stages_in_order().first().map(|stage| stage.id);
    }

    fn founders(&mut self, today: NaiveDate) {
        for nth in 0..FOUNDERS {
            let origin = Origin::Founder {
                source: "a collection".into(),
                permission: "crossing allowed".into(),
                protected: false,
                imported: false,
            };
            let mut plant = Genotype::new(self.ids.next(), format!("Founder {nth}"), origin);
            plant.sex = Some(sex(nth, shift(today, -365 * SEASONS)));
            self.parents.push(plant.id);
            self.parts.genotypes.push(plant);
        }
    }

    /// One season that ended in warmth around `day`; returns the parents it gives to the next.
    fn season(&mut self, season: i64, day: NaiveDate) -> Vec<Id<Genotype>> {
        let last = season == SEASONS - 1;
        let (chilled, moved) = (shift(day, -70), shift(day, -9));
        let batch = ChillBatch {
            id: self.ids.next(),
            code: format!("Chill {season}"),
            start: chilled,
            regimen: Regimen::default(),
            started: true,
            protocol: "common practice".into(),
            sterilised: None,
            place: String::new(),
            ended: None,
        };
        let mut selected = Vec::new();
        for nth in 0..CROSSES {
            let (female, male) = (self.pick(2 * nth), self.pick(2 * nth + 1));
            let cross = Cross {
                id: self.ids.next(),
                code: format!("{season:02}-{nth:02}"),
                female,
                pollen: Pollen::Male(male),
                season: 2000 + season as i32,
                planned_pollination: Some(shift(chilled, -150)),
                seeds_wanted: Some(300),
                purpose: String::new(),
                advised: None,
            };
            self.events(&cross, chilled);
            let lot = SeedLot {
                id: self.ids.next(),
                code: format!("{}-S1", cross.code),
                source: LotSource::Cross(cross.id),
                harvested: Some(shift(chilled, -100)),
                cleaned: Some(shift(chilled, -90)),
                amount: Some(SeedAmount::Counted(400)),
                place: "drawer".into(),
                conditions: String::new(),
            };
            for number in 0..BOXES {
                let code = format!("C{season:02}-{nth:02}-{number}");
                let chill_box = self.chill_box(code, batch.id, lot.id, chilled);
                // Of the last season only one box in three has gone to warmth.
                if !last || number == 0 {
                    let run = self.run(&chill_box, moved, last);
                    selected.extend(self.seedlings(&cross, run, number, nth, moved, last));
                }
                self.parts.chill_boxes.push(chill_box);
            }
            if last {
                // The seedlings of the boxes still in the cold: raised a year earlier from the same cross.
                for number in 1..BOXES {
                    self.seedlings(&cross, None, number, nth, shift(moved, -365), false);
                }
            }
            self.parts.crosses.push(cross);
            self.parts.seed_lots.push(lot);
        }
        self.parts.chill_batches.push(batch);
        selected
    }

    /// A parent, the `nth` from the latest; females at even places.
    fn pick(&self, nth: usize) -> Id<Genotype> {
        self.parents[nth % self.parents.len()]
    }

    fn events(&mut self, cross: &Cross, chilled: NaiveDate) {
        for (before, what) in [
            (160, CrossEventKind::FemaleBagged { bags: Some(4) }),
            (150, CrossEventKind::Pollinated),
            (136, CrossEventKind::BagOff),
            (100, CrossEventKind::ConesHarvested { cones: Some(60) }),
        ] {
            self.parts.cross_events.push(CrossEvent {
                id: self.ids.next(),
                cross: cross.id,
                date: shift(chilled, -before),
                what,
                by: "Ida".into(),
                remark: String::new(),
            });
        }
    }

    /// A box with its looks: every day in the first week, then weekly.
    fn chill_box(
        &mut self,
        code: String,
        batch: Id<ChillBatch>,
        lot: Id<SeedLot>,
        start: NaiveDate,
    ) -> ChillBox {
        let chill_box = ChillBox {
            id: self.ids.next(),
            code,
            batch,
            lot,
            seeds: 100,
            rechilled_from: None,
            place: "shelf 2".into(),
            end: None,
        };
        for after in (1..=7).chain((14..=56).step_by(7)) {
            let look = Check::nothing_found(self.ids.next(), chill_box.id, shift(start, after));
            self.parts.checks.push(look);
        }
        chill_box
    }

    #[expect(
        clippy::unnecessary_wraps,
        reason = "a record keeps it where there may be none"
    )]
    fn run(
        &mut self,
        chill_box: &ChillBox,
        moved: NaiveDate,
        open: bool,
    ) -> Option<Id<Germination>> {
        let run = Germination {
            id: self.ids.next(),
            chill_box: chill_box.id,
            moved,
            place: "light shelf".into(),
            end: (!open).then(|| GerminationEnd {
                date: shift(moved, 30),
                rest: RestFate::Discarded,
                remark: String::new(),
            }),
        };
        for after in [5, 7, 9] {
            self.parts.counts.push(Count {
                id: self.ids.next(),
                run: run.id,
                date: shift(moved, after),
                germinated: 25,
                abnormal: 1,
                dead: 0,
                lost: 0,
                by: String::new(),
                remark: String::new(),
            });
        }
        let id = run.id;
        self.parts.germinations.push(run);
        Some(id)
    }

    /// The seedlings of one box, scored; most of an older season are culled. Returns the two selected as parents.
    fn seedlings(
        &mut self,
        cross: &Cross,
        run: Option<Id<Germination>>,
        number: usize,
        nth: usize,
        moved: NaiveDate,
        fresh: bool,
    ) -> Vec<Id<Genotype>> {
        let potted = shift(moved, 9);
        let mut parents = Vec::new();
        for plant in (number..SEEDLINGS).step_by(BOXES) {
            let origin = Origin::Cross { cross: cross.id };
            let code = format!("{}-{plant:03}", cross.code);
            let mut seedling = Genotype::new(self.ids.next(), code, origin);
            seedling.born = Some(potted.into());
            seedling.potted_from = run;
            seedling.stage = self.stage;
            seedling.location = format!("tray {}", plant / 50);
            let chosen = plant / BOXES == 7 && number < 2 && !fresh;
            if !fresh {
                for of_trait in self.traits.clone() {
                    self.parts.observations.push(Observation::new(
                        self.ids.next(),
                        seedling.id,
                        of_trait,
                        shift(potted, 60),
                        (1 + (plant * 7 + nth) % 9) as f64,
                    ));
                }
            }
            if chosen {
                seedling.sex = Some(sex(number, shift(potted, 80)));
                seedling.selected = Some(Selection {
                    date: shift(potted, 90).into(),
                    reason: "the best of its family".into(),
                });
                parents.push(seedling.id);
            } else if !fresh && plant % 4 != 0 {
                seedling.end = Some(End {
                    date: shift(potted, 90).into(),
                    kind: EndKind::Culled,
                    cause: "weak".into(),
                });
            }
            self.parts.genotypes.push(seedling);
        }
        parents
    }
}

fn sex(nth: usize, seen: NaiveDate) -> SexRecord {
    SexRecord {
        sex: if nth.is_multiple_of(2) {
            Sex::Female
        } else {
            Sex::Male
        },
        basis: SexBasis::FlowersSeen,
        date: Some(seen.into()),
    }
}
