//! What the runs of a group say together.

use super::run_counts::RunCounts;
use super::{Group, LEVEL};
use crate::actions::plural;
use crate::date::shift;
use crate::{Germination, Id, Project};
use chrono::NaiveDate;
use quant::contingency::{ChiSquare, homogeneity};
use quant::germination::tolerance::{Tolerance, tolerance};
use quant::germination::{Cure, Curve, Emergence, Expected, Indices, NoFit, Stop, Waiting, timson};
use quant::proportion::{Interval, exact_interval, wilson_interval};
use std::collections::BTreeMap;

/// What the runs of a group say together.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// The group.
    pub group: Group,
    /// Its name.
    pub title: String,
    /// Its runs.
    pub courses: Vec<RunCounts>,
    /// The days of the looks with the new seedlings of each, all runs together.
    pub counts: Vec<(f64, u32)>,
    /// The course without a model; `None` before the first look.
    pub curve: Option<Curve>,
    /// The fitted curve, or why there is none.
    pub fit: Result<Cure, NoFit>,
    /// The indices; `None` while nothing is up.
    pub indices: Option<Indices>,
    /// Timson's index to the last day of the looks.
    pub timson: Option<f64>,
    /// What is still to come of the seed that waits; `None` without a fit or without such seed.
    pub still_to_come: Option<Expected>,
    /// When to stop waiting for it.
    pub stop: Option<StopWaiting>,
    /// Whether its boxes agree.
    pub agreement: Agreement,
}

/// When to stop waiting.
#[derive(Debug, Clone, PartialEq)]
pub struct StopWaiting {
    /// No more than this many are expected after it.
    pub few: f64,
    /// The day after the move to warmth, with its interval.
    pub stop: Stop,
    /// The day it was last looked at, after the move.
    pub now: f64,
    /// The date of the stop, where all boxes that wait were moved on one day.
    pub date: Option<NaiveDate>,
}

impl StopWaiting {
    /// The rule in words, on a day.
    pub fn words(&self, today: NaiveDate) -> String {
        let few = format!(
            "no more than {} {}",
            self.few,
            plural(if self.few > 1.0 { 2 } else { 1 }, "seedling", "seedlings")
        );
        if self.stop.day <= self.now {
            return format!("Waiting can stop: {few} is expected still to come.");
        }
        if self.stop.day.is_infinite() {
            return format!(
                "The counts set no end yet: count on, and ask again. The rule is to stop once {few} is expected."
            );
        }
        let day = self.stop.day.ceil();
        if let Some(date) = self.date.filter(|date| *date <= today) {
            return format!(
                "By {date} (day {day:.0}) all but {few} should have been up: count now, and stop if the count bears it out."
            );
        }
        let when = self.date.map_or_else(
            || format!("day {day:.0}"),
            |date| format!("{date} (day {day:.0})"),
        );
        let to = if self.stop.interval.high.is_infinite() {
            "no end that can be estimated".to_owned()
        } else {
            format!("day {:.0}", self.stop.interval.high.ceil())
        };
        format!(
            "Wait until {when}: from then on {few} is expected. The counts leave room from day {:.0} to {to}.",
            self.stop.interval.low.ceil()
        )
    }
}

/// Whether the boxes of a group agree among themselves.
#[derive(Debug, Clone, PartialEq)]
pub enum Agreement {
    /// There are not two boxes to compare, or too few seeds to tell.
    NotKnown,
    /// Two or four boxes of 100 seeds, held against the published tolerance.
    Table(Tolerance),
    /// Boxes of another size: the table doesn't apply, and chance is calculated from their own counts.
    Chance {
        /// Lowest and highest share germinated.
        from: f64,
        /// Highest.
        to: f64,
        /// The test.
        test: ChiSquare,
    },
}

impl Agreement {
    /// Boxes given as germinated and sown.
    pub fn of(boxes: &[(u32, u32)]) -> Self {
        if boxes.iter().all(|each| each.1 == 100) {
            let germinated: Vec<u32> = boxes.iter().map(|each| each.0).collect();
            if let Some(found) = tolerance(&germinated) {
                return Self::Table(found);
            }
        }
        let shares = boxes
            .iter()
            .filter(|each| each.1 > 0)
            .map(|each| f64::from(each.0) / f64::from(each.1));
        let (from, to) = shares.fold((1.0_f64, 0.0_f64), |(low, high), share| {
            (low.min(share), high.max(share))
        });
        homogeneity(boxes).map_or(Self::NotKnown, |test| Self::Chance { from, to, test })
    }

    /// Whether they lie further apart than they should; the chance one is held to one in a hundred.
    pub fn is_doubtful(&self) -> bool {
        match self {
            Self::NotKnown => false,
            Self::Table(tolerance) => !tolerance.holds(),
            Self::Chance { test, .. } => test.p < 0.01,
        }
    }
}

impl Analysis {
    /// Of these runs, waiting until no more than `few` are expected. Long work: fits a curve.
    pub fn of(project: &Project, group: Group, runs: &[Id<Germination>], few: f64) -> Self {
        let courses: Vec<RunCounts> = runs
            .iter()
            .filter_map(|run| RunCounts::of(project, project.germinations().get(*run)?))
            .collect();
        let emergence = emergence(&courses);
        let counts = counts(&courses);
        let sown: u32 = seen(&courses).map(|each| each.sown).sum();
        let last = seen(&courses)
            .filter_map(|each| each.last_look)
            .fold(0.0, f64::max);
        let fit = Cure::best(&emergence, LEVEL).map(|(best, _)| best);
        let waiting: Vec<(&RunCounts, Waiting)> = courses
            .iter()
            .filter(|each| each.open)
            .filter_map(|each| Some((each, (each.last_look?, each.left))))
            .collect();
        let seeds: Vec<Waiting> = waiting.iter().map(|each| each.1).collect();
        let fitted = fit.as_ref().ok().filter(|_| !seeds.is_empty());
        let stop = fitted.map(|fit| {
            let now = seeds
                .iter()
                .map(|each| each.0)
                .fold(f64::INFINITY, f64::min);
            let stop = fit.stop(&seeds, now, few);
            let moved = waiting[0].0.moved;
            let one_day = waiting.iter().all(|each| each.0.moved == moved);
            StopWaiting {
                few,
                now,
                date: (one_day && stop.day.is_finite())
                    .then(|| shift(moved, stop.day.ceil() as i64)),
                stop,
            }
        });
        let boxes: Vec<_> = replicates(&courses).collect();
        Self {
            title: group.title(project),
            group,
            curve: Curve::of(&emergence, LEVEL),
            indices: Indices::of(&counts),
            timson: timson(&counts, sown, last as u32).filter(|_| last > 0.0),
            still_to_come: fitted.map(|fit| fit.still_to_come(&seeds)),
            stop,
            fit,
            counts,
            agreement: Agreement::of(&boxes),
            courses,
        }
    }

    /// What is known of each seed.
    pub fn emergence(&self) -> Vec<Emergence> {
        emergence(&self.courses)
    }

    /// Seeds that came to warmth, in boxes that were looked into.
    pub fn sown(&self) -> u32 {
        seen(&self.courses).map(|each| each.sown).sum()
    }

    /// Seeds germinated in warmth.
    pub fn germinated(&self) -> u32 {
        self.sum(|each| each.germinated)
    }

    /// The same figure of all boxes together.
    pub fn sum(&self, of: impl Fn(&RunCounts) -> u32) -> u32 {
        self.courses.iter().map(of).sum()
    }

    /// The share germinated of the seed that came to warmth, with the exact and the Wilson interval; `None` before the
    /// first look.
    pub fn share(&self) -> Option<(f64, Interval, Interval)> {
        let (up, sown) = (self.germinated(), self.sown());
        (sown > 0).then(|| {
            (
                f64::from(up) / f64::from(sown),
                exact_interval(up, sown, LEVEL),
                wilson_interval(up, sown, LEVEL),
            )
        })
    }

    /// The last day any of its boxes was looked into.
    pub fn last_look(&self) -> f64 {
        self.courses
            .iter()
            .filter_map(|each| each.last_look)
            .fold(0.0, f64::max)
    }

    /// Why no curve is fitted, in words.
    pub fn no_fit_words(&self) -> Option<String> {
        self.fit.as_ref().err().map(|why| match why {
            NoFit::NoSeed => "Nothing was counted yet.".into(),
            NoFit::TooFewUp(up) => {
                format!("{up} up are too few to fit a curve to: from 5 on it says something.")
            }
            NoFit::TooFewLooks(looks) => format!(
                "New seedlings were found at {looks} {}: a curve needs three. Count more often.",
                plural(*looks as u32, "count", "counts")
            ),
        })
    }
}

/// Germinated and sown of the boxes that are done with: what has not come yet tells nothing.
fn replicates(courses: &[RunCounts]) -> impl Iterator<Item = (u32, u32)> {
    courses
        .iter()
        .filter(|each| !each.open && each.last_look.is_some())
        .map(|each| (each.germinated, each.sown))
}

fn seen(courses: &[RunCounts]) -> impl Iterator<Item = &RunCounts> {
    courses.iter().filter(|each| each.last_look.is_some())
}

fn emergence(courses: &[RunCounts]) -> Vec<Emergence> {
    // Boxes looked at on the same days give the same few groups of seed: the fit is as quick as for one.
    let mut together: BTreeMap<(u64, u64), u32> = BTreeMap::new();
    for each in courses.iter().flat_map(RunCounts::emergence) {
        *together
            .entry((each.after.to_bits(), each.by.to_bits()))
            .or_default() += each.seeds;
    }
    together
        .into_iter()
        .map(|((after, by), seeds)| {
            Emergence::between(f64::from_bits(after), f64::from_bits(by), seeds)
        })
        .collect()
}

fn counts(courses: &[RunCounts]) -> Vec<(f64, u32)> {
    let mut together: BTreeMap<u64, u32> = BTreeMap::new();
    // Days are above nothing: their bits are in their order.
    for &(day, up) in courses.iter().flat_map(|each| &each.counts) {
        *together.entry(day.to_bits()).or_default() += up;
    }
    together
        .into_iter()
        .map(|(day, up)| (f64::from_bits(day), up))
        .collect()
}
