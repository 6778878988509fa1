//! Kinship, population figures and breeding values of the open project, worked out off the window's thread.

use domain::genetics::{
    self, Evaluation, GroupFigures, Kinship, KinshipMatrix, NotEvaluated, Plan, PlantValue,
    Population, evaluate,
};
use domain::{Genotype, Id, Project, Trait};
use egui::Context;
use kit::worker::{JobProgress, Latest, Progress, Worker};
use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::sync::Arc;

/// A revision of the project, and the plants asked for.
type OfPlants = (u64, Vec<Id<Genotype>>);
/// A revision of the project, and the number of the run.
type OfRun = (u64, u64);
/// A trait's values, or why there are none.
pub type Outcome = Result<Arc<Evaluation>, NotEvaluated>;

/// Kinship and breeding values, kept for the session.
#[derive(Default)]
pub struct Genetics {
    kinship: RefCell<Worker<u64, Kinship>>,
    population: RefCell<Worker<u64, Population>>,
    group: RefCell<Worker<OfPlants, Group>>,
    near: RefCell<Worker<(u64, Id<Genotype>), Near>>,
    evaluations: RefCell<BTreeMap<Id<Trait>, Worker<OfRun, Outcome>>>,
    runs: Cell<u64>,
    shown: Cell<Option<Id<Trait>>>,
}

/// A chosen set of plants.
pub struct Group {
    /// What the kinship was read from.
    pub kinship: Arc<Kinship>,
    /// Kinship of each with each.
    pub matrix: KinshipMatrix,
    /// Figures of the set; `None` without plants.
    pub figures: Option<GroupFigures>,
}

/// Kinship of every plant to one of them.
pub struct Near {
    /// The one.
    pub to: Id<Genotype>,
    kinship: Arc<Kinship>,
    values: Vec<f64>,
}

impl Near {
    /// The revision of the project that it holds for.
    pub fn revision(&self) -> u64 {
        self.kinship.revision()
    }

    /// Kinship of a plant to the one.
    pub fn kinship(&self, plant: Id<Genotype>) -> Option<f64> {
        self.values.get(self.kinship.index(plant)?).copied()
    }

    /// The same as a share of the kinship that the one has with itself: 1 for itself and its clones, 0 for strangers.
    pub fn share(&self, plant: Id<Genotype>) -> Option<f32> {
        Some((self.kinship(plant)? / self.kinship(self.to)?) as f32)
    }
}

/// How the evaluation of a trait stands.
#[derive(Default)]
pub struct Evaluated {
    /// The last answer, if there is one.
    pub outcome: Option<Arc<Outcome>>,
    /// Whether it holds for the project as it stands.
    pub current: bool,
    /// How far a run under way is.
    pub progress: Option<Progress>,
    /// The last run was stopped, or failed.
    pub ended_without: bool,
}

/// What changes when figures do: to key what is made of them.
pub type Stamp = (Option<u64>, Option<(Id<Trait>, OfRun)>);

/// The figures of single plants that other screens show.
#[derive(Clone, Default)]
pub struct Figures {
    /// Inbreeding and kinship.
    pub kinship: Option<Latest<Kinship>>,
    /// Breeding values of the trait that is shown.
    pub values: Option<Latest<Evaluation>>,
    run: OfRun,
}

impl Figures {
    /// Inbreeding F of a plant.
    pub fn inbreeding(&self, plant: Id<Genotype>) -> Option<f64> {
        self.kinship.as_ref()?.inbreeding(plant)
    }

    /// Breeding value of a plant.
    pub fn value(&self, plant: Id<Genotype>) -> Option<&PlantValue> {
        self.values.as_ref()?.value.value(plant)
    }

    /// The trait of the breeding values.
    pub fn of_trait<'a>(&self, project: &'a Project) -> Option<&'a Trait> {
        project.traits().get(self.values.as_ref()?.plan.of_trait)
    }

    /// Changes when any of the figures do.
    pub fn stamp(&self) -> Stamp {
        let values = self.values.as_ref();
        (
            self.kinship.as_ref().map(|kinship| kinship.revision()),
            values.map(|values| (values.plan.of_trait, self.run)),
        )
    }
}

impl Genetics {
    /// Inbreeding and kinship of every plant.
    pub fn kinship(&self, project: &Project, ctx: &Context) -> Option<Latest<Kinship>> {
        let mut worker = self.kinship.borrow_mut();
        worker.follow(ctx, project.revision(), || {
            let snapshot = project.clone();
            move |_| Kinship::of(&snapshot, 0.0).ok()
        })
    }

    /// Figures season by season.
    pub fn population(&self, project: &Project, ctx: &Context) -> Option<Latest<Population>> {
        let kinship = self.kinship(project, ctx)?;
        let mut worker = self.population.borrow_mut();
        let latest = worker.follow(ctx, kinship.revision(), || {
            let source = Arc::clone(&kinship.value);
            move |watch| source.population(&mut pass_on(watch))
        });
        latest.map(|latest| latest.while_current(&kinship))
    }

    /// Kinship within a set of plants.
    pub fn group(
        &self,
        project: &Project,
        plants: &[Id<Genotype>],
        ctx: &Context,
    ) -> Option<Latest<Group>> {
        let kinship = self.kinship(project, ctx)?;
        let mut worker = self.group.borrow_mut();
        let latest = worker.follow(ctx, (kinship.revision(), plants.to_vec()), || {
            let (source, wanted) = (Arc::clone(&kinship.value), plants.to_vec());
            move |_| {
                Some(Group {
                    matrix: source.matrix(&wanted),
                    figures: source.group_figures(&wanted),
                    kinship: source,
                })
            }
        });
        latest.map(|latest| latest.while_current(&kinship))
    }

    /// Kinship of every plant to one.
    pub fn near(&self, project: &Project, to: Id<Genotype>, ctx: &Context) -> Option<Latest<Near>> {
        let kinship = self.kinship(project, ctx)?;
        let mut worker = self.near.borrow_mut();
        let latest = worker.follow(ctx, (kinship.revision(), to), || {
            let source = Arc::clone(&kinship.value);
            move |_| {
                Some(Near {
                    to,
                    values: source.with_all(to)?,
                    kinship: source,
                })
            }
        });
        latest.map(|latest| latest.while_current(&kinship))
    }

    /// Begins to evaluate a trait; its values will be shown on the other screens.
    pub fn evaluate(&self, project: &Project, ctx: &Context, plan: Plan) {
        let run = self.runs.get() + 1;
        self.runs.set(run);
        self.shown.set(Some(plan.of_trait));
        let kinship = self
            .kinship(project, ctx)
            .filter(|kinship| kinship.current)
            .map(|kinship| kinship.value);
        let snapshot = project.clone();
        self.evaluations
            .borrow_mut()
            .entry(plan.of_trait)
            .or_default()
            .start(ctx, (project.revision(), run), move |watch| {
                let kinship = match kinship {
                    Some(kinship) => kinship,
                    None => Arc::new(Kinship::of(&snapshot, 0.0).ok()?),
                };
                match evaluate(&snapshot, &kinship, &plan, &mut pass_on(watch)) {
                    Err(stopped) if stopped.stopped => None,
                    outcome => Some(outcome.map(Arc::new)),
                }
            });
    }

    /// Stops the evaluation of a trait.
    pub fn stop(&self, of_trait: Id<Trait>) {
        if let Some(worker) = self.evaluations.borrow().get(&of_trait) {
            worker.stop();
        }
    }

    /// How the evaluation of a trait stands.
    pub fn evaluation(&self, project: &Project, of_trait: Id<Trait>) -> Evaluated {
        let mut evaluations = self.evaluations.borrow_mut();
        let Some(worker) = evaluations.get_mut(&of_trait) else {
            return Evaluated::default();
        };
        worker.take_in();
        let latest = worker.latest();
        Evaluated {
            outcome: latest.map(|answer| Arc::clone(&answer.value)),
            current: latest.is_some_and(|answer| answer.key.0 == project.revision()),
            progress: worker.progress(),
            ended_without: worker.ended_without().is_some(),
        }
    }

    /// The traits with breeding values, in the order of the project.
    pub fn evaluated(&self, project: &Project) -> Vec<Id<Trait>> {
        let mut evaluations = self.evaluations.borrow_mut();
        let traits = project.traits().iter().map(|each| each.id);
        traits
            .filter(|of_trait| {
                evaluations.get_mut(of_trait).is_some_and(|worker| {
                    worker.take_in();
                    worker.latest().is_some_and(|answer| answer.value.is_ok())
                })
            })
            .collect()
    }

    /// The trait whose breeding values are shown: the one evaluated last, unless another was chosen.
    pub const fn shown(&self) -> Option<Id<Trait>> {
        self.shown.get()
    }

    /// Shows the breeding values of another trait.
    pub fn show(&self, of_trait: Id<Trait>) {
        self.shown.set(Some(of_trait));
    }

    /// The figures of single plants.
    pub fn figures(&self, project: &Project, ctx: &Context) -> Figures {
        let mut figures = Figures {
            kinship: self.kinship(project, ctx),
            ..Figures::default()
        };
        let mut evaluations = self.evaluations.borrow_mut();
        let shown = self.shown.get().and_then(|id| evaluations.get_mut(&id));
        if let Some(worker) = shown {
            worker.take_in();
            if let Some(answer) = worker.latest()
                && let Ok(values) = answer.value.as_ref()
            {
                figures.run = answer.key;
                figures.values = Some(Latest {
                    value: Arc::clone(values),
                    current: answer.key.0 == project.revision(),
                });
            }
        }
        figures
    }
}

/// Tells the window of progress, and the computation of being stopped.
pub(super) fn pass_on(
    watch: &mut JobProgress,
) -> impl FnMut(genetics::Progress) -> ControlFlow<()> + '_ {
    move |progress| match progress.iteration {
        Some(iteration) => watch.tell(
            &format!("{}, round {iteration}", progress.step),
            progress.part,
        ),
        None => watch.tell(progress.step, progress.part),
    }
}
