//! Candidates for the season's crosses and the seeds they take, worked out off the window's thread.

use super::genetics::{Genetics, pass_on};
use chrono::NaiveDate;
use domain::grounds::Grounds;
use domain::planning::{Funnel, LearnedRate, Left, Need, Season, needs};
use domain::{Genotype, Id, Project};
use egui::Context;
use kit::worker::{Latest, Progress, Worker};
use std::cell::RefCell;
use std::sync::Arc;

/// What a pair gives for a number of seeds: chances, needs, and why.
pub struct Sized {
    /// How much seed survives each stage on the way to a good female.
    pub funnel: Funnel,
    /// The fewest seeds for what the goals want; `None` if a million are too few.
    pub fewest: Option<u64>,
    /// The seeds that the rest is calculated for: those given, else the fewest.
    pub seeds: u64,
    /// The chance that they bring what the goals want.
    pub chance: f64,
    /// What is left after each stage.
    pub left: Vec<Left>,
    /// The boxes, pots and places that those seeds need.
    pub needs: Vec<Need>,
    /// The chance that the cross gives seed at all.
    pub sets_seed: LearnedRate,
    /// The chance of what the goals want for other numbers of seeds.
    pub curve: Vec<(u64, f64)>,
    /// Why so many seeds, how sure, and what would change it.
    pub grounds: Grounds,
}

/// The pair, and the seeds given, if any.
pub type Asked = (Id<Genotype>, Id<Genotype>, Option<u64>);

/// Planning, kept for the session.
#[derive(Default)]
pub struct Planning {
    season: RefCell<Worker<(u64, NaiveDate), Season>>,
    sized: RefCell<Worker<(u64, NaiveDate, Asked), Sized>>,
}

impl Planning {
    /// The pairs of the season that is planned on `today`.
    pub fn season(
        &self,
        genetics: &Genetics,
        project: &Project,
        today: NaiveDate,
        ctx: &Context,
    ) -> Option<Latest<Season>> {
        let kinship = genetics.kinship(project, ctx)?;
        let mut worker = self.season.borrow_mut();
        let key = (project.revision(), today);
        if !kinship.current {
            worker.take_in();
            return worker.latest_for(&key);
        }
        // Breeding values take longest; a change of weights leaves them as they are.
        let before = worker
            .latest()
            .map(|answer| Arc::clone(&answer.value.candidates.knowledge));
        worker.follow(ctx, key, || {
            let (snapshot, kinship) = (project.clone(), Arc::clone(&kinship.value));
            move |watch| Season::of(&snapshot, &kinship, before, today, &mut pass_on(watch))
        })
    }

    /// How far the pairs are, while they are worked out.
    pub fn progress(&self) -> Option<Progress> {
        self.season.borrow().progress()
    }

    /// What a pair's seed comes to.
    pub fn sized(
        &self,
        season: &Latest<Season>,
        project: &Project,
        today: NaiveDate,
        asked: Asked,
        ctx: &Context,
    ) -> Option<Latest<Sized>> {
        let key = (season.candidates.revision, today, asked);
        let latest = self.sized.borrow_mut().follow(ctx, key, || {
            let (season, snapshot) = (Arc::clone(&season.value), project.clone());
            move |_| Sized::of(&season, &snapshot, asked)
        });
        latest.map(|latest| latest.while_current(season))
    }
}

impl Sized {
    fn of(season: &Season, project: &Project, (female, male, given): Asked) -> Option<Self> {
        let goals = &season.candidates.goals;
        let pair = season.candidates.pair(female, male)?;
        let funnel = Funnel::of(&season.candidates, pair, &season.rates);
        let fewest = funnel.fewest_seeds(goals.good_females, goals.sure);
        let seeds = given.or(fewest).unwrap_or(0);
        let round = (seeds.max(8) / 4).max(1);
        Some(Self {
            chance: funnel.chance(seeds, goals.good_females),
            left: funnel.left(seeds),
            needs: needs(project, goals, &season.rates, &funnel, seeds),
            sets_seed: season.rates.takes(female),
            curve: (0..=8)
                .map(|step| {
                    (
                        step * round,
                        funnel.chance(step * round, goals.good_females),
                    )
                })
                .collect(),
            grounds: funnel.grounds(project, fewest, goals.good_females, goals.sure),
            funnel,
            fewest,
            seeds,
        })
    }
}
