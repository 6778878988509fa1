//! What is derived from a project, kept until the project or the day changes.

use crate::photos::Photos;
use chrono::NaiveDate;
use domain::agenda::{Item, agenda};
use domain::chill_response::{Response, response, trials};
use domain::date::shift;
use domain::findings::{Finding, findings, of_photos};
use domain::risk::{BoxRisk, by_risk};
use domain::status::BoxStatus;
use domain::temperature::{BatchCold, Harm};
use domain::{ChillBatch, Id, Project};
use kit::steady_rows::SteadyRows;
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
pub use planning::{Asked, Planning, Sized};
pub use season_plan::{Refined, SeasonPlans};

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
    open_work: RefCell<OpenWork>,
    cold: RefCell<Worker<(u64, NaiveDate), Cold>>,
    risks: OnceCell<Vec<BoxRisk>>,
}

/// What of an agenda is not done, by the record it is about.
#[derive(Default)]
struct OpenWork {
    /// The agenda it was gathered from.
    of: Arc<Vec<Item>>,
    by_record: BTreeMap<domain::AnyId, Vec<usize>>,
}

/// The cold of the batches, and what the program's own germination says of it.
#[derive(Debug)]
pub struct Cold {
    /// Of every batch that has started and has temperatures.
    pub batches: BTreeMap<Id<ChillBatch>, BatchCold>,
    /// Germination by length of cold.
    pub response: Response,
    /// What harmed seed that still waits.
    pub harms: Arc<[Harm]>,
}

impl Cold {
    fn of(project: &Project, today: NaiveDate) -> Self {
        let known = |batch: &ChillBatch| {
            let cold = BatchCold::of(project, batch, today)?;
            (cold.exposure.readings > 0).then_some((batch.id, cold))
        };
        let batches: BTreeMap<_, _> = project.chill_batches().iter().filter_map(known).collect();
        let harm = |(id, cold): (&Id<ChillBatch>, &BatchCold)| {
            Harm::of(project, project.chill_batches().get(*id)?, cold)
        };
        Self {
            harms: batches.iter().filter_map(harm).collect(),
            batches,
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

    /// What is to be done about a record, the first day first, and whether that holds for the project as it stands.
    pub fn work_on(
        &self,
        project: &Project,
        today: NaiveDate,
        ctx: &egui::Context,
        about: &[domain::AnyId],
    ) -> (Vec<Item>, bool) {
        let agenda = self.agenda(project, today, ctx);
        let mut open = self.open_work.borrow_mut();
        if !Arc::ptr_eq(&open.of, &agenda.value) {
            let mut by_record: BTreeMap<_, Vec<usize>> = BTreeMap::new();
            for (nth, item) in agenda.value.iter().enumerate() {
                if item.state != domain::agenda::ItemState::Done {
                    by_record.entry(item.about).or_default().push(nth);
                }
            }
            *open = OpenWork {
                of: Arc::clone(&agenda.value),
                by_record,
            };
        }
        let found = about
            .iter()
            .filter_map(|id| open.by_record.get(id))
            .flatten();
        let mut items: Vec<Item> = found.map(|nth| open.of[*nth].clone()).collect();
        items.sort_by_key(|item| item.date);
        (items, agenda.current)
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

    /// What harmed seed that still waits, as far as a worker has come.
    pub fn harms(&self, project: &Project, today: NaiveDate, ctx: &egui::Context) -> Arc<[Harm]> {
        let cold = self.cold(project, today, ctx);
        cold.map_or_else(Arc::default, |cold| Arc::clone(&cold.harms))
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
///
/// A row that no longer fits because of something done on the page stays where it is until the filter or the order is
/// changed, or the page is left: see [`Self::steady_rows`].
pub struct Listing<R, Key> {
    made_for: Option<(u64, Key)>,
    rows: Rc<[Id<R>]>,
    steady: SteadyRows<Id<R>>,
    /// The frame in which the rows were asked for last.
    pass: u64,
}

impl<R, Key> Default for Listing<R, Key> {
    fn default() -> Self {
        Self {
            made_for: None,
            rows: Rc::default(),
            steady: SteadyRows::default(),
            pass: 0,
        }
    }
}

impl<R, Key: PartialEq> Listing<R, Key>
where
    Id<R>: Ord + Clone,
{
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

    /// The same, each row in the place where it first stood: what was done here and no longer fits stays, and the order
    /// is not made anew under the hand. `exists` tells what is still in the project.
    pub fn steady_rows(
        &mut self,
        ctx: &egui::Context,
        project: &Project,
        key: Key,
        make: impl FnOnce(&Project, &Key) -> Vec<Id<R>>,
        exists: impl Fn(Id<R>) -> bool,
    ) -> Rc<[Id<R>]> {
        let pass = ctx.cumulative_pass_nr();
        // Other pages were drawn in between.
        let came_back = pass > self.pass + 3;
        self.pass = pass;
        let asked_anew = self.made_for.as_ref().is_none_or(|(_, made)| *made != key);
        let wanted = (project.revision(), key);
        if came_back || self.made_for.as_ref() != Some(&wanted) {
            if came_back || asked_anew {
                self.steady.leave();
            }
            self.steady.follow(make(project, &wanted.1));
            let rows = self.steady.rows().map(|(id, _)| *id);
            self.rows = rows.filter(|id| exists(*id)).collect();
            self.made_for = Some(wanted);
        }
        Rc::clone(&self.rows)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use domain::{Edit, Genotype, IdSource, Origin};

    #[test]
    fn a_row_that_no_longer_fits_stays_until_the_filter_changes() {
        let ctx = egui::Context::default();
        let mut ids = IdSource::new(1, 1);
        let mut project = Project::default();
        let plants: Vec<Id<Genotype>> = (0..3).map(|_| ids.next()).collect();
        for (nth, id) in plants.iter().enumerate() {
            let plant = Genotype::new(*id, format!("P{nth}"), Origin::Unknown);
            project.apply(Edit::add(plant)).unwrap();
        }
        let mut listing: Listing<Genotype, u8> = Listing::default();
        let shown = |listing: &mut Listing<Genotype, u8>, project: &Project, key, fits: &[_]| {
            let fits = fits.to_vec();
            let exists = |id| project.genotypes().contains(id);
            listing.steady_rows(&ctx, project, key, |_, _| fits, exists)
        };
        assert_eq!(shown(&mut listing, &project, 0, &plants).len(), 3);
        let rename = |code: &str| {
            let field = domain::record::genotype::GenotypeField::Code(code.into());
            Edit::set(plants[1], field)
        };
        project.apply(rename("done")).unwrap();
        let still = shown(&mut listing, &project, 0, &[plants[2], plants[0]]);
        assert_eq!(still[..], plants[..], "in place, in the old order");
        let filtered = shown(&mut listing, &project, 1, &[plants[2], plants[0]]);
        assert_eq!(filtered[..], [plants[2], plants[0]]);
        project.apply(Edit::remove(plants[2])).unwrap();
        let left = shown(&mut listing, &project, 1, &[plants[0]]);
        assert_eq!(left[..], [plants[0]], "what is gone from the project goes");
    }
}
