//! One run as the sciences see it: how many seeds came up between which looks, and how many not yet.

use super::group::treatment;
use crate::{Germination, Id, Project};
use chrono::NaiveDate;
use quant::germination::Emergence;
use std::collections::BTreeMap;

const DAYS_A_YEAR: f64 = 365.25;

/// One run. Days are counted from the move to warmth.
#[derive(Debug, Clone, PartialEq)]
pub struct RunCounts {
    /// The run.
    pub run: Id<Germination>,
    /// How its seed was treated in the cold, as [`Group::Treatment`](super::Group::Treatment) names it.
    pub treatment: String,
    /// The day it was moved.
    pub moved: NaiveDate,
    /// Seeds laid in the box.
    pub laid: u32,
    /// Taken out mouldy in the cold.
    pub mouldy: u32,
    /// Sprouted in the cold.
    pub early: u32,
    /// Seeds that came to warmth not yet up.
    pub sown: u32,
    /// New normal seedlings in warmth by the day of the look, those of one day together, days with none among them.
    pub counts: Vec<(f64, u32)>,
    /// Germinated in warmth, in all.
    pub germinated: u32,
    /// Abnormal in warmth.
    pub abnormal: u32,
    /// Dead or mouldy in warmth.
    pub dead: u32,
    /// Not up by the last look.
    pub left: u32,
    /// The day of the last look; none was made yet where it is `None`.
    pub last_look: Option<f64>,
    /// Whether the seeds left are still being waited for.
    pub open: bool,
    /// Years from the lot's harvest to the move to warmth; `None` where the harvest isn't known.
    pub age: Option<f64>,
}

#[derive(Default)]
struct Look {
    up: u32,
    abnormal: u32,
    dead: u32,
}

impl RunCounts {
    /// The course of a run; `None` when its box is missing.
    pub fn of(project: &Project, run: &Germination) -> Option<Self> {
        let chill_box = project.chill_boxes().get(run.chill_box)?;
        let mut looks: BTreeMap<i64, Look> = BTreeMap::new();
        let (mut mouldy, mut early) = (0_u32, 0_u32);
        for check in project.checks_of(run.chill_box) {
            if check.date <= run.moved {
                mouldy = mouldy.saturating_add(check.mouldy_removed);
                early = early.saturating_add(check.sprouted_early);
            } else if check.mouldy_removed > 0 || check.sprouted_early > 0 {
                let look = looks
                    .entry((check.date - run.moved).num_days())
                    .or_default();
                look.dead = look.dead.saturating_add(check.mouldy_removed);
                look.up = look.up.saturating_add(check.sprouted_early);
            }
        }
        for count in project.counts_of(run.id) {
            let day = (count.date - run.moved).num_days().max(0);
            let look = looks.entry(day).or_default();
            look.up = look.up.saturating_add(count.germinated);
            look.abnormal = look.abnormal.saturating_add(count.abnormal);
            look.dead = look.dead.saturating_add(count.dead);
        }
        let sown = chill_box.seeds.saturating_sub(mouldy.saturating_add(early));
        // A look on the day of the move itself found what came up within that day.
        let day = |day: i64| if day == 0 { 0.5 } else { day as f64 };
        let mut left = sown;
        let mut take = |wanted: u32| {
            let taken = wanted.min(left);
            left -= taken;
            taken
        };
        let (mut germinated, mut abnormal, mut dead) = (0, 0, 0);
        let mut counts = Vec::new();
        for (at, look) in &looks {
            let up = take(look.up);
            germinated += up;
            abnormal += take(look.abnormal);
            dead += take(look.dead);
            counts.push((day(*at), up));
        }
        let closed = run
            .end
            .as_ref()
            .map(|end| day((end.date - run.moved).num_days().max(0)));
        let last_look = counts.last().map(|last| last.0);
        Some(Self {
            run: run.id,
            treatment: project
                .chill_batches()
                .get(chill_box.batch)
                .map_or_else(String::new, |batch| treatment(batch, chill_box)),
            moved: run.moved,
            laid: chill_box.seeds,
            mouldy,
            early,
            sown,
            counts,
            germinated,
            abnormal,
            dead,
            left,
            last_look: closed.or(last_look),
            open: run.end.is_none() && left > 0,
            age: project
                .seed_lots()
                .get(chill_box.lot)
                .and_then(|lot| lot.harvested)
                .map(|harvested| (run.moved - harvested).num_days().max(0) as f64 / DAYS_A_YEAR),
        })
    }

    /// What is known of each seed. Seed found dead or abnormal stays in the count: it never comes. Nothing is known
    /// before the first look.
    pub fn emergence(&self) -> Vec<Emergence> {
        let Some(last_look) = self.last_look else {
            return Vec::new();
        };
        let mut before = 0.0;
        let mut seeds: Vec<Emergence> = self
            .counts
            .iter()
            .map(|&(day, up)| Emergence::between(std::mem::replace(&mut before, day), day, up))
            .collect();
        seeds.push(Emergence::not_by(last_look, self.left));
        seeds.push(Emergence::never(self.abnormal + self.dead));
        seeds.retain(|each| each.seeds > 0);
        seeds
    }
}
