//! How good the program's own advice was: what it advised, what was done, what came of it.
//!
//! The plan of a season is kept with its crosses when it is accepted ([`Advised`](crate::Advised)). What was said of seed in
//! warmth follows from the counts that were on record on a day, and is worked out anew as of that day: no count made
//! later goes into it. Nothing here is stored.

use crate::date::shift;
use crate::derived_traits::values_of_trait;
use crate::germination::RunCounts;
use crate::germination::{Learnt, runs};
use crate::ledger::BoxTally;
use crate::words::plural;
use crate::{Cross, CrossEventKind, Genotype, Id, Project, Sex};
use chrono::{Datelike as _, NaiveDate};
pub use quant::chance::BrierScore;
use quant::chance::SettledChance;
use std::collections::{BTreeMap, BTreeSet};

/// The day in warmth as of which the advice on waiting is judged: a box is usually looked at weekly by then.
const JUDGED_ON: f64 = 14.0;
/// Seedlings that may be lost by stopping.
const FEW: u32 = 1;
/// Seasons after which good females that didn't come are taken not to: cones come in the second or third year (common
/// practice), and a year to score them.
const JUDGED_AFTER: i32 = 4;
/// A date is kept if it was done within so many days of the day planned.
const KEPT_WITHIN: i64 = 7;
/// Groups of chances.
const GROUPS: usize = 10;

/// A season's plan that was accepted, and what came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanScore {
    /// The season.
    pub season: i32,
    /// Good females hoped for.
    pub wanted: u32,
    /// The chance that was told of them.
    pub chance: f64,
    /// Good females expected of all its crosses.
    pub expected_good: f64,
    /// Crosses advised, and those of them that were pollinated.
    pub crosses: [usize; 2],
    /// Seeds advised, and those harvested that are on record.
    pub seeds: [u64; 2],
    /// Sprouts expected, and those that came.
    pub sprouts: [f64; 2],
    /// Females found that reach every threshold of the goals.
    pub good: u32,
    /// Whether the goal was reached; `None` while that isn't settled.
    pub reached: Option<bool>,
}

/// What was said of a box in warmth, and what came.
#[derive(Debug, Clone, PartialEq)]
pub struct WaitingScore {
    /// The run.
    pub run: Id<crate::Germination>,
    /// The day as of which it was said.
    pub on: NaiveDate,
    /// Seedlings expected still to come, and 9 in 10 times so many.
    pub expected: f64,
    /// 9 in 10 times so many.
    pub interval: (u32, u32),
    /// The chance that no more than one was to come.
    pub no_more: f64,
    /// How many came.
    pub came: u32,
}

/// Planned days of pollination, and how many were kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DatesKept {
    /// Crosses that were planned for a day and pollinated.
    pub done: usize,
    /// Those pollinated within a week of it.
    pub kept: usize,
    /// Crosses whose planned day is past by more than a week and that weren't pollinated.
    pub missed: usize,
}

/// How good the program's advice was.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnScore {
    /// Plans, the latest season first.
    pub plans: Vec<PlanScore>,
    /// Boxes in warmth that are closed.
    pub waiting: Vec<WaitingScore>,
    /// Dates of crosses.
    pub dates: DatesKept,
    /// All chances that are settled, grouped, with the Brier score and its parts; `None` while none is.
    pub chances: Option<BrierScore>,
}

impl OwnScore {
    /// Reads it from the records as they are on `today`. Long work: learns anew as of each box's day; `None` if `go_on`
    /// says to stop.
    pub fn of(
        project: &Project,
        today: NaiveDate,
        go_on: &mut impl FnMut(f32) -> bool,
    ) -> Option<Self> {
        let plans = plans(project, today);
        let waiting = waiting(project, go_on)?;
        let mut told: Vec<SettledChance> = plans
            .iter()
            .filter_map(|plan| {
                Some(SettledChance {
                    chance: plan.chance,
                    came: plan.reached?,
                })
            })
            .collect();
        told.extend(waiting.iter().map(|each| SettledChance {
            chance: each.no_more.clamp(0.0, 1.0),
            came: each.came <= FEW,
        }));
        Some(Self {
            plans,
            waiting,
            dates: dates(project, today),
            chances: BrierScore::of(&told, GROUPS),
        })
    }

    /// How good it was, in sentences, the plainest first.
    pub fn words(&self) -> Vec<String> {
        let mut words = Vec::new();
        match &self.chances {
            None => words.push(
                "Nothing can be said yet: no chance that was told is settled. It takes boxes that are closed, or plans whose seedlings were scored.".into(),
            ),
            Some(score) => {
                let count: usize = score.groups.iter().map(|each| each.count).sum();
                let came: f64 = score.groups.iter().map(|each| each.count as f64 * each.came).sum();
                let said: f64 = score.groups.iter().map(|each| each.count as f64 * each.chance).sum();
                words.push(format!(
                    "The program gave a chance for {count} {} whose outcome is now known. By those chances {said:.1} should have happened; {came:.0} did.",
                    plural(count as u32, "thing", "things"),
                ));
                words.push(format!(
                    "Its forecasts score {:.2} (Brier score): 0 is perfect, and 0.25 is what always saying 'even chances' gets.",
                    score.score
                ));
            }
        }
        let boxes = self.waiting.len() as u32;
        if boxes > 0 {
            let within = self.waiting.iter().filter(|each| each.is_within()).count();
            words.push(format!(
                "On day {JUDGED_ON:.0} in warmth it said how many more sprouts a box would bring: right for {within} of {boxes} {}, and meant to be right for 9 in 10.",
                plural(boxes, "box", "boxes")
            ));
        }
        let DatesKept { done, kept, missed } = self.dates;
        if done + missed > 0 {
            words.push(format!(
                "Of {done} {} pollinated, {kept} {} within a week of the planned day. {missed} {} planned but not made.",
                plural(done as u32, "cross", "crosses"),
                plural(kept as u32, "was", "were"),
                plural(missed as u32, "was", "were")
            ));
        }
        words
    }
}

impl WaitingScore {
    /// Whether what came lay in the interval.
    pub const fn is_within(&self) -> bool {
        self.interval.0 <= self.came && self.came <= self.interval.1
    }
}

impl PlanScore {
    /// What was advised, done and came, in a sentence.
    pub fn words(&self) -> String {
        let so_far = match self.reached {
            Some(true) => "the goal was reached",
            Some(false) => "the goal was not reached",
            None => "not settled yet",
        };
        format!(
            "Plan of {}: {} good {} wanted, {:.0} % sure. {} of {} planned crosses were pollinated and {} of {} planned seeds harvested. {:.0} seeds germinated, {:.0} were expected; {} good {} found so far, {:.1} expected. Outcome: {so_far}.",
            self.season,
            self.wanted,
            plural(self.wanted, "female", "females"),
            100.0 * self.chance,
            self.crosses[1],
            self.crosses[0],
            self.seeds[1],
            self.seeds[0],
            self.sprouts[1],
            self.sprouts[0],
            self.good,
            plural(self.good, "female", "females"),
            self.expected_good,
        )
    }
}

fn plans(project: &Project, today: NaiveDate) -> Vec<PlanScore> {
    let mut by_plan: BTreeMap<(NaiveDate, i32), Vec<&Cross>> = BTreeMap::new();
    for cross in project.crosses().iter() {
        if let Some(advised) = &cross.advised {
            by_plan
                .entry((advised.on, advised.season))
                .or_default()
                .push(cross);
        }
    }
    let reaching = Reaching::of(project);
    let mut plans: Vec<PlanScore> = by_plan
        .into_values()
        .filter_map(|crosses| plan(project, &crosses, &reaching, today))
        .collect();
    plans.sort_by_key(|plan| std::cmp::Reverse(plan.season));
    plans
}

fn plan(
    project: &Project,
    crosses: &[&Cross],
    reaching: &Reaching,
    today: NaiveDate,
) -> Option<PlanScore> {
    let first = crosses.first()?.advised.as_ref()?;
    let advised = || crosses.iter().filter_map(|cross| cross.advised.as_ref());
    let pollinated = |cross: &&&Cross| {
        project
            .events_of(cross.id)
            .any(|event| event.what == CrossEventKind::Pollinated)
    };
    let lots = || crosses.iter().flat_map(|cross| project.lots_of(cross.id));
    let harvested = lots()
        .filter_map(|lot| lot.amount)
        .map(|amount| u64::from(amount.seeds()))
        .sum();
    let sprouts: f64 = lots()
        .flat_map(|lot| project.referring::<crate::ChillBox>(lot.id))
        .map(|chill_box| f64::from(BoxTally::of(project, chill_box).sprouts()))
        .sum();
    let progeny: Vec<&Genotype> = crosses
        .iter()
        .flat_map(|cross| project.progeny_of(cross.id))
        .collect();
    let good = progeny.iter().filter(|plant| reaching.good(plant)).count() as u32;
    let all_judged = !progeny.is_empty() && progeny.iter().all(|plant| reaching.judged(plant));
    let reached = if !reaching.tells {
        None
    } else if good >= first.wanted {
        Some(true)
    } else if all_judged || first.season + JUDGED_AFTER <= today.year() {
        Some(false)
    } else {
        None
    };
    Some(PlanScore {
        season: first.season,
        wanted: first.wanted,
        chance: first.chance,
        expected_good: advised().map(|each| each.good_females).sum(),
        crosses: [crosses.len(), crosses.iter().filter(pollinated).count()],
        seeds: [advised().map(|each| u64::from(each.seeds)).sum(), harvested],
        sprouts: [advised().map(|each| each.sprouts).sum(), sprouts],
        good,
        reached,
    })
}

/// Which plants reach the thresholds of the goals by their records, and of which that is known.
struct Reaching {
    tells: bool,
    reach: Vec<BTreeMap<Id<Genotype>, bool>>,
}

impl Reaching {
    fn of(project: &Project) -> Self {
        let goals = &project.settings().goals;
        let reach: Vec<BTreeMap<Id<Genotype>, bool>> = goals
            .traits
            .iter()
            .filter(|goal| goal.threshold.is_some())
            .map(|goal| {
                let mut sums: BTreeMap<Id<Genotype>, (f64, f64)> = BTreeMap::new();
                for each in &values_of_trait(project, goal.of_trait) {
                    if let Some(value) = each.number(project) {
                        let sum = sums.entry(each.genotype).or_default();
                        *sum = (sum.0 + value, sum.1 + 1.0);
                    }
                }
                sums.into_iter()
                    .map(|(plant, (sum, count))| (plant, goal.is_reached_by(sum / count, project)))
                    .collect()
            })
            .collect();
        Self {
            // The index is of true values, which no record tells.
            tells: !reach.is_empty() && goals.index.is_none(),
            reach,
        }
    }

    fn good(&self, plant: &Genotype) -> bool {
        plant.known_sex() == Some(Sex::Female)
            && self
                .reach
                .iter()
                .all(|each| each.get(&plant.id) == Some(&true))
    }

    fn judged(&self, plant: &Genotype) -> bool {
        !plant.is_alive()
            || plant.known_sex() == Some(Sex::Male)
            || self
                .reach
                .iter()
                .any(|each| each.get(&plant.id) == Some(&false))
            || self.good(plant)
    }
}

/// What was known on a day of a run: nothing if it came to warmth later.
fn known_on(run: &RunCounts, day: NaiveDate) -> Option<RunCounts> {
    let age = (day - run.moved).num_days();
    (age > 0).then(|| run.as_of(age as f64))
}

fn waiting(project: &Project, go_on: &mut impl FnMut(f32) -> bool) -> Option<Vec<WaitingScore>> {
    let all = runs(project);
    let mut found = Vec::new();
    let closed: Vec<&RunCounts> = all
        .iter()
        .filter(|run| !run.open && run.last_look.is_some_and(|last| last > JUDGED_ON))
        .collect();
    for (nth, run) in closed.iter().enumerate() {
        if !go_on(nth as f32 / closed.len() as f32) {
            return None;
        }
        let on = shift(run.moved, JUDGED_ON as i64);
        let others: Vec<RunCounts> = all
            .iter()
            .filter(|other| other.run != run.run)
            .filter_map(|other| known_on(other, on))
            .collect();
        let cut = run.as_of(JUDGED_ON);
        if cut.left == 0 || cut.last_look.is_none() {
            continue;
        }
        let others: Vec<&RunCounts> = others.iter().chain(std::iter::once(&cut)).collect();
        // Too few were closed by then: nothing was said.
        let Ok(learnt) = Learnt::of(&others, &run.treatment) else {
            continue;
        };
        let lots = [cut.as_lot()];
        let outlook = learnt.forecaster.outlook(&lots);
        let to_come = outlook.still_to_come();
        found.push(WaitingScore {
            run: run.run,
            on,
            expected: to_come.mean(),
            interval: to_come.interval(quant::germination::LEVEL),
            no_more: to_come.at_most(FEW),
            came: run.germinated.saturating_sub(cut.germinated),
        });
    }
    Some(found)
}

fn dates(project: &Project, today: NaiveDate) -> DatesKept {
    let mut kept = DatesKept::default();
    let mut seen = BTreeSet::new();
    for cross in project.crosses().iter() {
        let Some(planned) = cross.planned_pollination else {
            continue;
        };
        if !seen.insert(cross.id) {
            continue;
        }
        let done = project
            .events_of(cross.id)
            .filter(|event| event.what == CrossEventKind::Pollinated)
            .map(|event| event.date)
            .min();
        match done {
            Some(day) => {
                kept.done += 1;
                kept.kept += usize::from((day - planned).num_days().abs() <= KEPT_WITHIN);
            }
            None if planned < shift(today, -KEPT_WITHIN) => kept.missed += 1,
            None => {}
        }
    }
    kept
}
