//! What is derived from a project, kept until the project or the day changes.

use crate::photos::Photos;
use chrono::NaiveDate;
use domain::agenda::{Item, agenda};
use domain::chill_response::{Response, response, trials};
use domain::date::shift;
use domain::findings::{Finding, findings, of_photos};
use domain::risk::{BoxRisk, by_risk};
use domain::status::BoxStatus;
use domain::temperature::BatchCold;
use domain::{ChillBatch, Id, Project};
use kit::worker::{Latest, Worker};
use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;
use std::path::Path;
use std::rc::Rc;
use std::sync::Arc;
use store::Store;

mod bench;
mod genetics;
mod planning;
mod season_plan;

pub use bench::{Bench, Compare};
pub use genetics::{Evaluated, Figures, Genetics, Group, Near, Outcome, Stamp};
pub use planning::{Asked, Planning, Season, Sized};
pub use season_plan::{Curve, Refined, SeasonPlans};

/// How many days before and after today the kept agenda reaches.
const REACH: (i64, i64) = (400, 400);

/// The agenda of so many records is made within a frame.
const AT_ONCE: usize = 20_000;

/// What is derived from one revision of a project on one day, each thing on first asking.
#[derive(Default)]
pub struct Derived {
    key: Option<(u64, NaiveDate)>,
    agenda: RefCell<Worker<(u64, NaiveDate), Vec<Item>>>,
    /// On a large project they cost more than a frame, and they look at the files of photos.
    findings: RefCell<Worker<(u64, NaiveDate, u64), Vec<Finding>>>,
    genetics: Genetics,
    bench: Bench,
    /// The photos of the project, as far as they are read.
    pub photos: Photos,
    planning: Planning,
    season_plans: SeasonPlans,
    cold: RefCell<Worker<(u64, NaiveDate), Cold>>,
    risks: OnceCell<Vec<BoxRisk>>,
}

/// The cold of the batches, and what the program's own germination says of it.
#[derive(Debug)]
pub struct Cold {
    /// Of every batch that has started and has temperatures.
    pub batches: BTreeMap<Id<ChillBatch>, BatchCold>,
    /// Germination by length of cold.
    pub response: Response,
}

impl Cold {
    fn of(project: &Project, today: NaiveDate) -> Self {
        let known = |batch: &ChillBatch| {
            let cold = BatchCold::of(project, batch, today)?;
            (cold.exposure.readings > 0).then_some((batch.id, cold))
        };
        Self {
            batches: project.chill_batches().iter().filter_map(known).collect(),
            response: response(&trials(project, today)),
        }
    }
}

impl Derived {
    /// Of the project at `path`, beside which its photos lie.
    pub fn beside(store: &Store, path: &Path) -> Self {
        let mut derived = Self::default();
        derived.photos.belong_to(store.clone(), path);
        derived
    }

    /// Forgets what no longer holds.
    pub fn refresh(&mut self, project: &Project, today: NaiveDate) {
        let key = (project.revision(), today);
        if self.key != Some(key) {
            self.key = Some(key);
            self.risks = OnceCell::new();
        }
    }

    /// Forgets everything: another project was opened.
    pub fn clear(&mut self) {
        *self = Self::default();
    }

    /// The agenda from 400 days ago to 400 days on; on a large project that of the latest revision a worker has
    /// finished.
    pub fn agenda(
        &self,
        project: &Project,
        today: NaiveDate,
        ctx: &egui::Context,
    ) -> Latest<Vec<Item>> {
        let key = (project.revision(), today);
        let little = project.record_count() <= AT_ONCE;
        let latest = self.agenda.borrow_mut().follow_sized(ctx, key, little, || {
            let snapshot = project.clone();
            let days = shift(today, -REACH.0)..=shift(today, REACH.1);
            move |_| Some(agenda(&snapshot, days, today))
        });
        latest.unwrap_or_default()
    }

    /// The findings: those of the latest revision a worker has finished, which may lag a moment behind.
    pub fn findings(
        &self,
        project: &Project,
        today: NaiveDate,
        ctx: &egui::Context,
    ) -> Arc<Vec<Finding>> {
        let key = (project.revision(), today, self.photos.epoch());
        let latest = self.findings.borrow_mut().follow(ctx, key, || {
            let (snapshot, watch) = (project.clone(), self.photos.watch());
            move |_| {
                let mut all = findings(&snapshot, today);
                all.extend(of_photos(&snapshot, &watch(&snapshot)));
                all.sort_by_key(|finding| (finding.weight, finding.about));
                Some(all)
            }
        });
        latest.map(|latest| latest.value).unwrap_or_default()
    }

    /// Germination compared, sexes, ratios and stock.
    pub const fn bench(&self) -> &Bench {
        &self.bench
    }

    /// What the temperatures of the batches add up to: of the latest revision a worker has finished.
    pub fn cold(
        &self,
        project: &Project,
        today: NaiveDate,
        ctx: &egui::Context,
    ) -> Option<Latest<Cold>> {
        let key = (project.revision(), today);
        self.cold.borrow_mut().follow(ctx, key, || {
            let snapshot = project.clone();
            move |_| Some(Cold::of(&snapshot, today))
        })
    }

    /// Every box in the cold, the one that wants a look most first.
    pub fn risks(&self, project: &Project, today: NaiveDate) -> &[BoxRisk] {
        self.risks.get_or_init(|| {
            let cold: Vec<_> = project
                .chill_boxes()
                .iter()
                .filter(|each| BoxStatus::of(project, each, today).in_cold())
                .map(|each| each.id)
                .collect();
            by_risk(project, &cold, today)
        })
    }

    /// Kinship, population figures and breeding values.
    pub const fn genetics(&self) -> &Genetics {
        &self.genetics
    }

    /// Candidates for the season's crosses.
    pub const fn planning(&self) -> &Planning {
        &self.planning
    }

    /// Plans of the season, and strategies played ahead.
    pub const fn season_plans(&self) -> &SeasonPlans {
        &self.season_plans
    }
}

/// The rows of a table, filtered and sorted, kept until the project, the filter or the order changes.
pub struct Listing<R, Key> {
    made_for: Option<(u64, Key)>,
    rows: Rc<[Id<R>]>,
}

impl<R, Key> Default for Listing<R, Key> {
    fn default() -> Self {
        Self {
            made_for: None,
            rows: Rc::default(),
        }
    }
}

impl<R, Key: PartialEq> Listing<R, Key> {
    /// The rows for this revision and `key` (what is filtered by, how it is sorted), made anew only when either changed.
    /// They are shared, not copied, so that the state they are kept in stays free to be changed beside them.
    pub fn rows(
        &mut self,
        project: &Project,
        key: Key,
        make: impl FnOnce(&Project, &Key) -> Vec<Id<R>>,
    ) -> Rc<[Id<R>]> {
        let wanted = (project.revision(), key);
        if self.made_for.as_ref() != Some(&wanted) {
            self.rows = make(project, &wanted.1).into();
            self.made_for = Some(wanted);
        }
        Rc::clone(&self.rows)
    }
}
