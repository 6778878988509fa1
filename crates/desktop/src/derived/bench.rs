//! Germination compared, sexes, ratios and stock of the open project, worked out off the window's thread.

use chrono::NaiveDate;
use domain::germination::{Figure, Forecasts, Group, Interval, Report, report};
use domain::segregation::{Classes, Sexes, classes, sexes};
use domain::stock::{Stock, sow_first};
use domain::{Id, Project, Trait};
use egui::Context;
use kit::worker::{Latest, Worker};
use std::cell::RefCell;
use std::sync::{Arc, Mutex, PoisonError};

/// A revision, the groups compared, and how few seedlings may be lost by no longer waiting.
type Compared = (u64, Vec<Group>, u32);
/// A revision, a trait, and the highest value of the first class (its bits).
type Sorted = (u64, Id<Trait>, u64);

/// What the runs of the project teach, learnt once for a revision, by whichever job first needs it.
type KeptForecasts = Arc<Mutex<Option<(u64, Arc<Forecasts>)>>>;

fn learnt(kept: &KeptForecasts, project: &Project) -> Arc<Forecasts> {
    let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
    match &*kept {
        Some((revision, forecasts)) if *revision == project.revision() => Arc::clone(forecasts),
        _ => {
            let forecasts = Arc::new(Forecasts::of(project));
            *kept = Some((project.revision(), Arc::clone(&forecasts)));
            forecasts
        }
    }
}

/// The figures of the bench, kept for the session.
#[derive(Default)]
pub struct Bench {
    germination: RefCell<Worker<Compared, Compare>>,
    forecasts: KeptForecasts,
    sexes: RefCell<Worker<u64, Vec<Sexes>>>,
    classes: RefCell<Worker<Sorted, Vec<Classes>>>,
    stock: RefCell<Worker<(u64, NaiveDate), Vec<Stock>>>,
}

/// Groups compared, with what is drawn of each.
pub struct Compare {
    /// The analyses and how they compare.
    pub report: Report,
    /// The figures of each, the same ones in the same order.
    pub figures: Vec<Vec<Figure>>,
    /// The fitted curve of each: day, share up, and its band; empty where there is none.
    pub fitted: Vec<Vec<(f64, f64, Interval)>>,
}

/// Points of a fitted curve that are drawn.
const POINTS: usize = 60;

impl Bench {
    /// Compares groups.
    pub fn germination(
        &self,
        project: &Project,
        groups: &[Group],
        few: u32,
        ctx: &Context,
    ) -> Option<Latest<Compare>> {
        let key = (project.revision(), groups.to_vec(), few);
        self.germination.borrow_mut().follow(ctx, key, || {
            let (snapshot, groups) = (project.clone(), groups.to_vec());
            let forecasts = Arc::clone(&self.forecasts);
            move |watch| {
                if watch
                    .tell("Learning from the boxes that are closed", None)
                    .is_break()
                {
                    return None;
                }
                let forecasts = learnt(&forecasts, &snapshot);
                let mut go_on = |part| watch.tell("Fitting curves", Some(part)).is_continue();
                let report = report(&snapshot, &groups, &forecasts, few, &mut go_on)?;
                Some(Compare::of(report))
            }
        })
    }

    /// The sexes of every family.
    pub fn sexes(&self, project: &Project, ctx: &Context) -> Option<Latest<Vec<Sexes>>> {
        self.sexes.borrow_mut().follow(ctx, project.revision(), || {
            let snapshot = project.clone();
            move |_| Some(sexes(&snapshot))
        })
    }

    /// Every family in two classes of a trait.
    pub fn classes(
        &self,
        project: &Project,
        of_trait: Id<Trait>,
        limit: f64,
        ctx: &Context,
    ) -> Option<Latest<Vec<Classes>>> {
        let key = (project.revision(), of_trait, limit.to_bits());
        self.classes.borrow_mut().follow(ctx, key, || {
            let snapshot = project.clone();
            move |_| Some(classes(&snapshot, of_trait, limit))
        })
    }

    /// The lots in stock, those to sow first at the top.
    pub fn stock(
        &self,
        project: &Project,
        today: NaiveDate,
        ctx: &Context,
    ) -> Option<Latest<Vec<Stock>>> {
        let key = (project.revision(), today);
        self.stock.borrow_mut().follow(ctx, key, || {
            let snapshot = project.clone();
            move |_| Some(sow_first(&snapshot, today))
        })
    }
}

impl Compare {
    fn of(report: Report) -> Self {
        let analyses = &report.analyses;
        let last = analyses
            .iter()
            .map(domain::germination::Analysis::last_look)
            .fold(0.0, f64::max);
        let fitted = analyses
            .iter()
            .map(|analysis| {
                let Ok(fit) = &analysis.fit else {
                    return Vec::new();
                };
                (0..=POINTS)
                    .map(|nth| {
                        let day = last * 1.25 * nth as f64 / POINTS as f64;
                        let (share, band) = fit.up_by(day);
                        (day, share, band)
                    })
                    .collect()
            })
            .collect();
        Self {
            figures: analyses
                .iter()
                .map(domain::germination::Analysis::figures)
                .collect(),
            fitted,
            report,
        }
    }
}
