//! What the runs of a group say together.

use super::run_counts::RunCounts;
use super::{Forecasts, Group, LEVEL, Waiting};
use crate::words::plural;
use crate::{Germination, Id, Project};
use quant::contingency::{ChiSquare, homogeneity};
use quant::counted::total;
use quant::germination::tolerance::{Tolerance, tolerance};
use quant::germination::{Cure, Curve, Emergence, Indices, NoFit, timson};
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
    /// What is still to come of the seed that waits, and when to stop waiting for it.
    pub waiting: Waiting,
    /// Whether its boxes agree.
    pub agreement: Agreement,
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
    /// Of these runs, waiting until no more than `few` would be lost. Long work: fits a curve.
    pub fn of(
        project: &Project,
        group: Group,
        runs: &[Id<Germination>],
        forecasts: &Forecasts,
        few: u32,
    ) -> Self {
        let courses: Vec<RunCounts> = runs
            .iter()
            .filter_map(|run| RunCounts::of(project, project.germinations().get(*run)?))
            .collect();
        let emergence = emergence(&courses);
        let counts = counts(&courses);
        let sown = total(seen(&courses).map(|each| each.sown));
        let last = seen(&courses)
            .filter_map(|each| each.last_look)
            .fold(0.0, f64::max);
        let fit = Cure::best(&emergence, LEVEL).map(|(best, _)| best);
        let boxes: Vec<_> = replicates(&courses).collect();
        Self {
            title: group.title(project),
            group,
            curve: Curve::of(&emergence, LEVEL),
            indices: Indices::of(&counts),
            timson: timson(&counts, sown, last as u32).filter(|_| last > 0.0),
            waiting: Waiting::of(project, &courses, forecasts, few),
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
        total(seen(&self.courses).map(|each| each.sown))
    }

    /// Seeds germinated in warmth.
    pub fn germinated(&self) -> u32 {
        self.sum(|each| each.germinated)
    }

    /// The same figure of all boxes together.
    pub fn sum(&self, of: impl Fn(&RunCounts) -> u32) -> u32 {
        total(self.courses.iter().map(of))
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

    /// Whether seed of any of its boxes is still waited for.
    pub fn is_open(&self) -> bool {
        self.courses.iter().any(|each| each.open)
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

pub(super) fn seen(courses: &[RunCounts]) -> impl Iterator<Item = &RunCounts> {
    courses.iter().filter(|each| each.last_look.is_some())
}

pub(super) fn emergence(courses: &[RunCounts]) -> Vec<Emergence> {
    // Boxes looked at on the same days give the same few groups of seed: the fit is as quick as for one.
    let mut together: BTreeMap<(u64, u64), u32> = BTreeMap::new();
    for each in courses.iter().flat_map(RunCounts::emergence) {
        let seeds = together
            .entry((each.after.to_bits(), each.by.to_bits()))
            .or_default();
        *seeds = seeds.saturating_add(each.seeds);
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
