//! The steps of one record's life: what is done, what is at hand, what is expected and about when.
//!
//! A cross goes from its plan to the first plant set out, a lot from the harvest to the first pot, a batch from its
//! plan to its end, a box from the seed laid to its end, a plant from its seed to its end. Days to come are calculated
//! from the settings and the protocol of the batch, as the agenda does it; where there is nothing to calculate from,
//! they are not known.

use crate::agenda::Milestones;
use crate::date::{PartialDate, shift};
use crate::id::Id;
use crate::project::Project;
use crate::record::chill::{ChillBatch, ChillBox};
use crate::record::cross::{Cross, CrossEventKind};
use crate::record::genotype::{EndKind, Genotype, Origin};
use crate::record::seed_lot::{LotSource, SeedLot};
use crate::{Germination, Pollen};
use chrono::NaiveDate;

/// What a step is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(missing_docs, reason = "the word says what each is")]
pub enum StepKind {
    Planned,
    Bagged,
    Pollinated,
    BagsOff,
    Harvested,
    SeedClean,
    Bought,
    Sterilised,
    Cold,
    LastCheck,
    Ready,
    Warmth,
    FirstSprout,
    FirstPot,
    CameIn,
    SexKnown,
    Selected,
    Ended,
}

impl StepKind {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::Bagged => "bagged",
            Self::Pollinated => "pollinated",
            Self::BagsOff => "bags off",
            Self::Harvested => "harvested",
            Self::SeedClean => "seed clean",
            Self::Sterilised => "sterilised",
            Self::Cold => "in the cold",
            Self::LastCheck => "last check",
            Self::Ready => "cold is over",
            Self::Warmth => "in warmth",
            Self::FirstSprout => "first sprout",
            Self::FirstPot => "first pots",
            Self::Bought | Self::CameIn => "came in",
            Self::SexKnown => "sex known",
            Self::Selected => "selected",
            Self::Ended => "ended",
        }
    }
}

/// How a step stands on the day that is asked about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It is done.
    Done,
    /// It is the turn of this one: its day has come.
    Now,
    /// It is to come.
    Expected,
    /// It is to come, nobody knows when; or it happened, and the day isn't known.
    Unknown,
    /// It ended the life of the record.
    Failed,
}

/// One step.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordStep {
    /// What it is.
    pub kind: StepKind,
    /// How it stands.
    pub standing: Standing,
    /// Its day, of what is done; the day it is expected about, of what is to come.
    pub day: Option<NaiveDate>,
    /// A word of its own, where that of its kind doesn't say enough: 'culled', 'male'.
    pub word: Option<&'static str>,
}

impl RecordStep {
    /// What happens there.
    pub fn word(&self) -> &'static str {
        self.word.unwrap_or_else(|| self.kind.word())
    }
}

/// Gathers the steps of one record in their order.
#[derive(Default)]
struct Course {
    steps: Vec<RecordStep>,
}

impl Course {
    fn push(&mut self, kind: StepKind, standing: Standing, day: Option<NaiveDate>) {
        self.steps.push(RecordStep {
            kind,
            standing,
            day,
            word: None,
        });
    }

    /// A step that is done on `done`, or is expected about `expected`.
    fn step(&mut self, kind: StepKind, done: Option<NaiveDate>, expected: Option<NaiveDate>) {
        match (done, expected) {
            (Some(day), _) => self.push(kind, Standing::Done, Some(day)),
            (None, Some(day)) => self.push(kind, Standing::Expected, Some(day)),
            (None, None) => self.push(kind, Standing::Unknown, None),
        }
    }

    /// A step that is only told once it is done.
    fn if_done(&mut self, kind: StepKind, done: Option<NaiveDate>) {
        if let Some(day) = done {
            self.push(kind, Standing::Done, Some(day));
        }
    }

    /// The steps: the first open one after all that is done is at hand, if its day has come. What was passed over on
    /// the way stays not known. After an end nothing more is expected.
    fn finish(mut self, today: NaiveDate) -> Vec<RecordStep> {
        let last_done = self
            .steps
            .iter()
            .rposition(|step| matches!(step.standing, Standing::Done | Standing::Failed));
        for (nth, step) in self.steps.iter_mut().enumerate() {
            let passed = last_done.is_some_and(|last| nth < last);
            if passed && step.standing == Standing::Expected {
                step.standing = Standing::Unknown;
                step.day = None;
            }
        }
        if let Some(failed) = self
            .steps
            .iter()
            .position(|step| step.standing == Standing::Failed)
        {
            self.steps.truncate(failed + 1);
            return self.steps;
        }
        let next = last_done.map_or(0, |last| last + 1);
        if let Some(step) = self.steps.get_mut(next)
            && step.standing == Standing::Expected
            && step.day.is_some_and(|day| day <= today)
        {
            step.standing = Standing::Now;
        }
        self.steps
    }
}

/// What came of the seed of these boxes, first of each.
#[derive(Default)]
struct Sown {
    cold: Option<NaiveDate>,
    /// When the cold of the first batch is planned to begin or to be over.
    cold_expected: Option<NaiveDate>,
    ready: Option<NaiveDate>,
    warm: Option<NaiveDate>,
    sprout: Option<NaiveDate>,
    sprout_expected: Option<NaiveDate>,
    pot: Option<NaiveDate>,
}

impl Sown {
    fn of<'a>(project: &Project, boxes: impl Iterator<Item = &'a ChillBox>) -> Self {
        let mut sown = Self::default();
        for chill_box in boxes {
            if let Some(batch) = project.chill_batches().get(chill_box.batch) {
                let day = Some(batch.start);
                if batch.started {
                    sown.cold = earliest(sown.cold, day);
                } else {
                    sown.cold_expected = earliest(sown.cold_expected, day);
                }
                sown.ready = earliest(sown.ready, Some(batch.ready_on()));
                if let Some(run) = project.run_of(chill_box.id) {
                    sown.warm = earliest(sown.warm, Some(run.moved));
                    let due = shift(run.moved, i64::from(batch.regimen.sprouts_from));
                    sown.sprout_expected = earliest(sown.sprout_expected, Some(due));
                } else {
                    let due = shift(batch.ready_on(), i64::from(batch.regimen.sprouts_from));
                    sown.sprout_expected = earliest(sown.sprout_expected, Some(due));
                }
            }
            if let Some(run) = project.run_of(chill_box.id) {
                sown.sprout = earliest(sown.sprout, first_sprout(project, run));
            }
            let potted = project.potted_out_of(chill_box.id);
            let first = potted.filter_map(|plant| plant.born.and_then(known_day));
            sown.pot = earliest(sown.pot, first.min());
        }
        sown
    }
}

fn earliest(one: Option<NaiveDate>, other: Option<NaiveDate>) -> Option<NaiveDate> {
    one.into_iter().chain(other).min()
}

/// The day of a date that is known to the day.
fn known_day(date: PartialDate) -> Option<NaiveDate> {
    (date.earliest() == date.latest()).then(|| date.earliest())
}

fn first_sprout(project: &Project, run: &Germination) -> Option<NaiveDate> {
    let counts = project.counts_of(run.id);
    counts
        .filter(|count| count.germinated > 0)
        .map(|count| count.date)
        .min()
}

/// The steps of a cross on `today`.
pub fn of_cross(project: &Project, cross: &Cross, today: NaiveDate) -> Vec<RecordStep> {
    let first = |wanted: fn(&CrossEventKind) -> bool| {
        let events = project.events_of(cross.id);
        events
            .filter(|event| wanted(&event.what))
            .map(|event| event.date)
            .min()
    };
    let failed = first(|what| matches!(what, CrossEventKind::Failed { .. }));
    let expected = Milestones::of(project, cross);
    let timing = &project.settings().cross_timing;
    let controlled = !matches!(cross.pollen, Pollen::Open);
    let mut course = Course::default();
    course.step(
        StepKind::Planned,
        first(|what| matches!(what, CrossEventKind::Planned)),
        None,
    );
    if controlled {
        let bagged = first(|what| matches!(what, CrossEventKind::FemaleBagged { .. }));
        let given = first(|what| matches!(what, CrossEventKind::Pollinated));
        let bags_off = first(|what| matches!(what, CrossEventKind::BagOff));
        course.step(StepKind::Bagged, bagged, expected.map(|days| days.bag));
        course.step(
            StepKind::Pollinated,
            given,
            expected.map(|days| days.pollinate),
        );
        course.step(
            StepKind::BagsOff,
            bags_off,
            expected.map(|days| days.bags_off),
        );
    }
    let harvested = first(|what| matches!(what, CrossEventKind::ConesHarvested { .. }));
    course.step(
        StepKind::Harvested,
        harvested,
        // The middle of the days in which cones ripen: the first of them is early for most.
        expected.map(|days| mid_way(days.ripe_from, days.ripe_to)),
    );
    let lots: Vec<&SeedLot> = project.lots_of(cross.id).collect();
    let counted = lots.iter().filter(|lot| lot.amount.is_some());
    let cleaned = counted.filter_map(|lot| lot.cleaned).min();
    let clean_by = harvested
        .or(expected.map(|days| mid_way(days.ripe_from, days.ripe_to)))
        .map(|day| shift(day, i64::from(timing.clean_within)));
    if let (Some(day), true) = (failed, lots.is_empty()) {
        course.push(StepKind::Ended, Standing::Failed, Some(day));
        if let Some(step) = course.steps.last_mut() {
            step.word = Some("failed");
        }
        // What was not done before the failure will not be.
        course
            .steps
            .retain(|step| !matches!(step.standing, Standing::Expected | Standing::Unknown));
        return course.finish(today);
    }
    course.step(StepKind::SeedClean, cleaned, clean_by);
    let boxes = lots.iter().flat_map(|lot| project.boxes_from(lot.id));
    let sown = Sown::of(project, boxes);
    sown_steps(&mut course, &sown);
    let mut pots = sown.pot;
    pots = earliest(
        pots,
        project
            .progeny_of(cross.id)
            .filter_map(|plant| plant.born.and_then(known_day))
            .min(),
    );
    course.step(StepKind::FirstPot, pots, sown.sprout_expected);
    course.finish(today)
}

/// Cold, warmth and the first sprout of what was sown.
fn sown_steps(course: &mut Course, sown: &Sown) {
    course.step(StepKind::Cold, sown.cold, sown.cold_expected);
    course.step(StepKind::Warmth, sown.warm, sown.ready);
    course.step(StepKind::FirstSprout, sown.sprout, sown.sprout_expected);
}

/// The steps of a seed lot on `today`.
pub fn of_lot(project: &Project, lot: &SeedLot, today: NaiveDate) -> Vec<RecordStep> {
    let mut course = Course::default();
    match lot.source {
        LotSource::Bought { .. } => course.step(StepKind::Bought, lot.harvested, None),
        _ => course.step(StepKind::Harvested, lot.harvested, None),
    }
    if lot.cleaned.is_some() || lot.amount.is_none() {
        let within = i64::from(project.settings().cross_timing.clean_within);
        let by = lot.harvested.map(|day| shift(day, within));
        course.step(StepKind::SeedClean, lot.cleaned, by);
    }
    let sown = Sown::of(project, project.boxes_from(lot.id));
    sown_steps(&mut course, &sown);
    course.step(StepKind::FirstPot, sown.pot, sown.sprout_expected);
    course.finish(today)
}

/// The steps of a batch on `today`.
pub fn of_batch(project: &Project, batch: &ChillBatch, today: NaiveDate) -> Vec<RecordStep> {
    let sown = Sown::of(project, project.boxes_of(batch.id));
    let mut course = Course::default();
    course.if_done(
        StepKind::Sterilised,
        batch.sterilised.as_ref().map(|done| done.date),
    );
    let started = batch.started.then_some(batch.start);
    course.step(StepKind::Cold, started, Some(batch.start));
    let ready = batch.ready_on();
    let over = batch.started && ready <= today && batch.ended.is_none_or(|day| day >= ready);
    course.step(StepKind::Ready, over.then_some(ready), Some(ready));
    course.step(StepKind::Warmth, sown.warm, Some(ready));
    course.step(StepKind::FirstSprout, sown.sprout, sown.sprout_expected);
    course.step(StepKind::FirstPot, sown.pot, sown.sprout_expected);
    course.step(StepKind::Ended, batch.ended, None);
    course.finish(today)
}

/// The steps of a box on `today`.
pub fn of_box(project: &Project, chill_box: &ChillBox, today: NaiveDate) -> Vec<RecordStep> {
    let sown = Sown::of(project, std::iter::once(chill_box));
    let mut course = Course::default();
    course.step(StepKind::Cold, sown.cold, sown.cold_expected);
    let last = project.checks_of(chill_box.id).map(|check| check.date);
    course.if_done(StepKind::LastCheck, last.max());
    if let Some(end) = &chill_box.end {
        course.steps.push(RecordStep {
            kind: StepKind::Ended,
            standing: Standing::Failed,
            day: Some(end.date),
            word: Some(end.fate.word()),
        });
        return course.finish(today);
    }
    let over = sown.cold.and(sown.ready).filter(|day| *day <= today);
    course.step(StepKind::Ready, over, sown.ready);
    course.step(StepKind::Warmth, sown.warm, sown.ready);
    course.step(StepKind::FirstSprout, sown.sprout, sown.sprout_expected);
    course.step(StepKind::FirstPot, sown.pot, sown.sprout_expected);
    let closed = project
        .run_of(chill_box.id)
        .and_then(|run| run.end.as_ref());
    course.step(StepKind::Ended, closed.map(|end| end.date), None);
    if let (Some(step), Some(_)) = (course.steps.last_mut(), closed) {
        step.word = Some("closed");
    }
    course.finish(today)
}

/// The steps of a plant on `today`.
pub fn of_plant(project: &Project, plant: &Genotype, today: NaiveDate) -> Vec<RecordStep> {
    let mut course = Course::default();
    let day = |date: Option<PartialDate>| date.and_then(known_day);
    let mut seedling = true;
    match plant.origin {
        Origin::Cross { cross } => {
            course.step(StepKind::Pollinated, project.last_pollination(cross), None);
        }
        Origin::Founder { .. } => seedling = false,
        _ => {}
    }
    let sown = box_of(project, plant)
        .map(|chill_box| Sown::of(project, std::iter::once(chill_box)))
        .unwrap_or_default();
    course.if_done(StepKind::Cold, sown.cold);
    course.if_done(StepKind::Warmth, sown.warm);
    let born = if seedling {
        StepKind::FirstPot
    } else {
        StepKind::CameIn
    };
    course.step(born, day(plant.born), None);
    if let (StepKind::FirstPot, Some(step)) = (born, course.steps.last_mut()) {
        step.word = Some("potted");
    }
    match &plant.sex {
        Some(record) => {
            let known = day(record.date);
            course.push(
                StepKind::SexKnown,
                if known.is_some() {
                    Standing::Done
                } else {
                    Standing::Unknown
                },
                known,
            );
            if let Some(step) = course.steps.last_mut() {
                step.word = Some(record.sex.word());
            }
        }
        None => course.push(StepKind::SexKnown, Standing::Unknown, None),
    }
    if let Some(selected) = &plant.selected {
        course.step(StepKind::Selected, day(Some(selected.date)), None);
    }
    // Each in the order of time, where days are known: a plant may be selected before it flowers.
    course
        .steps
        .sort_by_key(|step| (step.day.is_none(), step.day));
    if let Some(end) = &plant.end {
        course.steps.push(RecordStep {
            kind: StepKind::Ended,
            standing: Standing::Failed,
            day: day(Some(end.date)),
            word: Some(match end.kind {
                EndKind::Died => "died",
                EndKind::Culled => "culled",
                EndKind::Lost => "lost",
            }),
        });
    }
    course.finish(today)
}

fn box_of<'a>(project: &'a Project, plant: &Genotype) -> Option<&'a ChillBox> {
    let id: Id<ChillBox> = project.box_of(plant)?;
    project.chill_boxes().get(id)
}

/// The day in the middle of two.
fn mid_way(from: NaiveDate, to: NaiveDate) -> NaiveDate {
    shift(from, (to - from).num_days() / 2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{CrossEvent, Edit, IdSource, SeedAmount, actions};

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    /// A controlled cross planned to be pollinated on 12 July.
    fn crossed() -> (Project, IdSource, Cross) {
        let mut ids = IdSource::new(1, 1);
        let mut project = Project::default();
        let begin = actions::begin_project("Tarn yard", crate::Hemisphere::Northern, &mut ids);
        project.apply(begin).unwrap();
        let (mother, father, id) = (ids.next(), ids.next(), ids.next());
        for (id, code) in [(mother, "F1"), (father, "M1")] {
            let plant = Genotype::new(id, code, Origin::Unknown);
            project.apply(Edit::add(plant)).unwrap();
        }
        let cross = Cross {
            id,
            code: "26-01".into(),
            female: mother,
            pollen: Pollen::Male(father),
            season: 2026,
            planned_pollination: Some(day("2026-07-12")),
            seeds_wanted: None,
            purpose: String::new(),
            advised: None,
        };
        let plan = actions::plan_cross(cross.clone(), day("2026-03-14"), &mut ids);
        project.apply(plan).unwrap();
        (project, ids, cross)
    }

    fn told(steps: &[RecordStep]) -> Vec<(StepKind, Standing)> {
        steps
            .iter()
            .map(|step| (step.kind, step.standing))
            .collect()
    }

    fn standing(steps: &[RecordStep], kind: StepKind) -> Standing {
        steps
            .iter()
            .find(|step| step.kind == kind)
            .unwrap()
            .standing
    }

    #[test]
    fn a_cross_that_is_planned_tells_what_is_expected_and_what_nobody_knows() {
        let (project, _, cross) = crossed();
        let steps = of_cross(&project, &cross, day("2026-03-20"));
        let known = &told(&steps)[..3];
        assert_eq!(
            known,
            [
                (StepKind::Planned, Standing::Done),
                (StepKind::Bagged, Standing::Expected),
                (StepKind::Pollinated, Standing::Expected),
            ]
        );
        assert_eq!(standing(&steps, StepKind::Cold), Standing::Unknown);
        let due = of_cross(&project, &cross, day("2026-07-12"));
        assert_eq!(standing(&due, StepKind::Bagged), Standing::Now);
        assert_eq!(
            standing(&due, StepKind::Pollinated),
            Standing::Expected,
            "one thing at a time"
        );
    }

    #[test]
    fn what_was_passed_over_is_not_known_and_what_was_done_has_its_day() {
        let (mut project, mut ids, cross) = crossed();
        for (what, on) in [
            (CrossEventKind::Pollinated, "2026-07-13"),
            (
                CrossEventKind::ConesHarvested { cones: Some(38) },
                "2026-09-07",
            ),
        ] {
            let edit = actions::cross_event(cross.id, day(on), what, &mut ids);
            project.apply(edit).unwrap();
        }
        let steps = of_cross(&project, &cross, day("2026-11-28"));
        assert_eq!(standing(&steps, StepKind::Bagged), Standing::Unknown);
        let harvested = steps.iter().find(|step| step.kind == StepKind::Harvested);
        assert_eq!(harvested.unwrap().day, Some(day("2026-09-07")));
        assert_eq!(standing(&steps, StepKind::SeedClean), Standing::Now);
    }

    #[test]
    fn nothing_is_expected_of_a_cross_that_failed() {
        let (mut project, mut ids, cross) = crossed();
        let failed = CrossEventKind::Failed { why: String::new() };
        let edit = actions::cross_event(cross.id, day("2026-07-20"), failed, &mut ids);
        project.apply(edit).unwrap();
        let steps = of_cross(&project, &cross, day("2026-11-28"));
        assert_eq!(
            told(&steps),
            [
                (StepKind::Planned, Standing::Done),
                (StepKind::Ended, Standing::Failed)
            ]
        );
        let events: Vec<&CrossEvent> = project.events_of(cross.id).collect();
        assert_eq!(events.len(), 2);
    }

    #[test]
    fn a_box_goes_from_the_cold_to_warmth_by_the_regimen_of_its_batch() {
        let (mut project, mut ids, cross) = crossed();
        let clean = actions::clean_seed(
            &project,
            cross.id,
            day("2026-11-01"),
            SeedAmount::Counted(100),
            &mut ids,
        );
        project.apply(clean).unwrap();
        let lot = project.seed_lots().iter().next().unwrap().id;
        let protocol = project.settings().protocol.unwrap();
        let batch = actions::plan_batch(&project, protocol, day("2026-12-01"), &mut ids).unwrap();
        let chill_box = ChillBox {
            id: ids.next(),
            code: "C-01".into(),
            batch: batch.id,
            lot,
            seeds: 60,
            place: String::new(),
            rechilled_from: None,
            end: None,
        };
        project.apply(Edit::add(batch.clone())).unwrap();
        project.apply(Edit::add(chill_box.clone())).unwrap();
        let planned = of_box(&project, &chill_box, day("2026-11-20"));
        assert_eq!(standing(&planned, StepKind::Cold), Standing::Expected);
        let start = actions::start_batch(&batch, day("2026-12-01"));
        project.apply(start).unwrap();
        let batch = project.chill_batches().iter().next().unwrap().clone();
        let ready = batch.ready_on();
        let within = of_box(&project, &chill_box, shift(ready, -1));
        assert_eq!(standing(&within, StepKind::Ready), Standing::Expected);
        let over = of_box(&project, &chill_box, ready);
        assert_eq!(standing(&over, StepKind::Ready), Standing::Done);
        assert_eq!(standing(&over, StepKind::Warmth), Standing::Now);
        let batch_steps = of_batch(&project, &batch, ready);
        assert_eq!(standing(&batch_steps, StepKind::Warmth), Standing::Now);
        let lot = project.seed_lots().iter().next().unwrap();
        let of_lot = of_lot(&project, lot, ready);
        assert_eq!(standing(&of_lot, StepKind::Cold), Standing::Done);
    }

    #[test]
    fn a_plant_that_was_culled_ends_there() {
        let (mut project, _, cross) = crossed();
        let female = project.genotypes().get(cross.female).unwrap().clone();
        let end = crate::End {
            date: PartialDate::from(day("2026-08-01")),
            kind: EndKind::Culled,
            cause: "mildew".into(),
        };
        project
            .apply(Edit::set(
                female.id,
                crate::record::genotype::GenotypeField::End(Some(end)),
            ))
            .unwrap();
        let female = project.genotypes().get(female.id).unwrap();
        let steps = of_plant(&project, female, day("2026-11-28"));
        let last = steps.last().unwrap();
        assert_eq!((last.kind, last.word()), (StepKind::Ended, "culled"));
    }
}
