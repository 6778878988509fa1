//! Plans of the season and what strategies come to, worked out off the window's thread.

use super::genetics::pass_on;
use chrono::NaiveDate;
use domain::Project;
use domain::own_score::OwnScore;
use domain::planning::{
    Binding, Curve, Lock, LookAhead, NoOutlook, NoPlan, PlanWish, Played, Season, SeasonPlan,
};
use egui::Context;
use kit::worker::{Latest, Progress, Worker};
use quant::simulate::Strategy;
use std::cell::RefCell;
use std::sync::Arc;

/// Branches looked into to close the distance to the bound at the point chosen.
const BRANCHES: usize = 12;
/// How often a strategy is played.
const PLAYS: u32 = 100;

/// The plan at the point chosen, and what its locks cost.
pub struct Refined {
    /// The plan.
    pub plan: SeasonPlan,
    /// The locks.
    pub locks: Vec<Lock>,
    /// What holds it back, and what more of that would bring.
    pub binding: Vec<Binding>,
}

type Wished = (u64, NaiveDate, PlanWish);
type PlayKey = (u64, [Strategy; 2], u64);

/// Plans and outlooks, kept for the session.
#[derive(Default)]
pub struct SeasonPlans {
    curve: RefCell<Worker<Wished, Result<Curve, NoPlan>>>,
    refined: RefCell<Worker<(Wished, usize), Option<Refined>>>,
    played: RefCell<Worker<PlayKey, Result<Played, NoOutlook>>>,
    own_score: RefCell<Worker<(u64, NaiveDate), OwnScore>>,
}

impl SeasonPlans {
    /// How good the program's own advice was.
    pub fn own_score(
        &self,
        project: &Project,
        today: NaiveDate,
        ctx: &Context,
    ) -> Option<Latest<OwnScore>> {
        let key = (project.revision(), today);
        self.own_score.borrow_mut().follow(ctx, key, || {
            let snapshot = project.clone();
            move |watch| {
                let mut go_on = |part| {
                    let words = "Judging what was said of each box";
                    watch.tell(words, Some(part)).is_continue()
                };
                OwnScore::of(&snapshot, today, &mut go_on)
            }
        })
    }

    /// Plans along the curve of gain against diversity.
    pub fn curve(
        &self,
        season: &Latest<Season>,
        project: &Project,
        today: NaiveDate,
        wish: &PlanWish,
        ctx: &Context,
    ) -> Option<Latest<Result<Curve, NoPlan>>> {
        let key = (season.candidates.revision, today, wish.clone());
        let mut worker = self.curve.borrow_mut();
        // Plans known already are never done worse than.
        let known: Vec<SeasonPlan> = match worker.latest().map(|answer| &*answer.value) {
            Some(Ok(curve)) => curve.plans.clone(),
            _ => Vec::new(),
        };
        let latest = worker.follow(ctx, key, || {
            let (season, snapshot, wish) =
                (Arc::clone(&season.value), project.clone(), wish.clone());
            move |watch| {
                let sink = &mut pass_on(watch);
                match Curve::of(&snapshot, &season, &wish, today, &known, sink) {
                    Err(NoPlan::Stopped) => None,
                    curve => Some(curve),
                }
            }
        });
        latest.map(|latest| latest.while_current(season))
    }

    /// How far the curve is, while it is worked out.
    pub fn progress(&self) -> Option<Progress> {
        self.curve.borrow().progress()
    }

    /// The plan at a point of the curve, looked for with more patience.
    pub fn refined(
        &self,
        curve: &Latest<Result<Curve, NoPlan>>,
        today: NaiveDate,
        wish: &PlanWish,
        point: usize,
        ctx: &Context,
    ) -> Option<Latest<Option<Refined>>> {
        let revision = match &*curve.value {
            Ok(curve) => curve.planner.revision,
            Err(_) => return None,
        };
        let mut worker = self.refined.borrow_mut();
        let key = ((revision, today, wish.clone()), point);
        if !curve.current {
            // What an earlier curve comes to is no answer to what is wished now.
            worker.take_in();
            let earlier = worker.latest_for(&key);
            return earlier.map(|latest| latest.while_current(curve));
        }
        let latest = worker.follow(ctx, key, || {
            let curve = Arc::clone(&curve.value);
            move |watch| {
                let Ok(curve) = &*curve else {
                    return Some(None);
                };
                let at = curve.plans.get(point)?;
                let refined = curve.planner.refine(at, BRANCHES, &mut pass_on(watch));
                match refined {
                    Ok((plan, locks)) => {
                        let binding = curve.planner.binding(&plan, &mut pass_on(watch))?;
                        Some(Some(Refined {
                            plan,
                            locks,
                            binding,
                        }))
                    }
                    Err(NoPlan::Stopped) => None,
                    Err(_) => Some(None),
                }
            }
        });
        latest.map(|latest| latest.while_current(curve))
    }

    /// Begins to play two strategies out.
    pub fn play(&self, ctx: &Context, ahead: LookAhead, strategies: [Strategy; 2], seed: u64) {
        let key = (ahead.revision, strategies, seed);
        self.played.borrow_mut().start(ctx, key, move |watch| {
            match ahead.play(&strategies, PLAYS, seed, &mut pass_on(watch)) {
                Ok(played) => played.map(Ok),
                Err(why) => Some(Err(why)),
            }
        });
    }

    /// Stops playing.
    pub fn stop_playing(&self) {
        self.played.borrow().stop();
    }

    /// What the strategies came to, whether that holds for these, and how far a play under way is.
    pub fn played(
        &self,
        revision: u64,
        strategies: [Strategy; 2],
        seed: u64,
    ) -> (Option<Latest<Result<Played, NoOutlook>>>, Option<Progress>) {
        let mut worker = self.played.borrow_mut();
        worker.take_in();
        (
            worker.latest_for(&(revision, strategies, seed)),
            worker.progress(),
        )
    }
}
