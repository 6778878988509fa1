//! What a season may take, as the optimiser takes it, and what more of it would bring.

use super::{NoPlan, POLLINATION_WEEKS, PerSeed, Planner, SeasonPlan, progress};
use crate::genetics::ProgressSink;
use crate::planning::diversity::Diversity;
use crate::planning::{Candidate, Candidates};
use crate::{Genotype, Id};
use quant::mating::{self, CountLimit, Family, Problem, Quantities, RoomLimit, SureRequest};
use std::collections::BTreeMap;

/// A limit of the season.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LimitKind {
    /// Seeds in all.
    Seeds,
    /// Boxes in the cold.
    Boxes,
    /// Cells under lights.
    Cells,
    /// Pots.
    Pots,
    /// Hills.
    Hills,
    /// Bagged cones of one female.
    Cones,
    /// Crosses that one male serves.
    Male,
    /// Crosses in a week.
    Week,
}

impl LimitKind {
    /// The words for it, as many of it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Seeds => "seeds in total",
            Self::Boxes => "boxes",
            Self::Cells => "cells",
            Self::Pots => "pots",
            Self::Hills => "hills",
            Self::Cones => "cones a female",
            Self::Male => "crosses a male",
            Self::Week => "crosses a week",
        }
    }

    /// How much more of it is tried.
    const fn step(self) -> u32 {
        match self {
            Self::Seeds => 50,
            Self::Cells | Self::Pots | Self::Hills => 10,
            Self::Cones => 5,
            Self::Boxes | Self::Male | Self::Week => 1,
        }
    }
}

/// A limit that holds a plan back, and what more of it would bring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Binding {
    /// Which.
    pub limit: LimitKind,
    /// How much there is.
    pub there: u32,
    /// How much more was tried.
    pub more: u32,
    /// The chance of enough good females with it.
    pub chance: f64,
    /// The gain with it.
    pub gain: f64,
}

impl Binding {
    /// What it would bring, in words, beside the plan it holds back.
    pub fn words(&self, plan: &SeasonPlan) -> String {
        format!(
            "{} {} {}: {} more would bring the chance from {:.0} to {:.0} % and the gain from {:.2} to {:.2}.",
            match self.limit {
                LimitKind::Male | LimitKind::Week | LimitKind::Cones => "No more than",
                _ => "There are",
            },
            self.there,
            self.limit.words(),
            self.more,
            100.0 * plan.chance,
            100.0 * self.chance,
            plan.gain,
            self.gain
        )
    }
}

impl Planner {
    /// The limits that hold a plan back, those whose easing brings most first: each is eased a little, and the plan is
    /// bettered within it. `None` if `sink` stops it.
    pub fn binding(&self, plan: &SeasonPlan, sink: &mut ProgressSink<'_>) -> Option<Vec<Binding>> {
        let known = self.known(std::slice::from_ref(plan));
        let mut kinds: Vec<LimitKind> = self
            .room_kinds
            .iter()
            .chain(&self.count_kinds)
            .copied()
            .collect();
        kinds.sort_unstable();
        kinds.dedup();
        let many = kinds.len();
        let mut found = Vec::new();
        for (nth, kind) in kinds.into_iter().enumerate() {
            if sink(progress(
                "What holds the plan back",
                nth as f64 / many as f64,
            ))
            .is_break()
            {
                return None;
            }
            let (eased, there) = self.eased(kind);
            let request = SureRequest {
                // A whole portion more for one cross must not fail by a hair of diversity.
                coancestry: self.diversity.coancestry(plan.rate + 0.01),
                locked: self.locked.clone(),
                sure: self.sure,
            };
            let better = mating::surest(
                &eased,
                &self.good.found,
                &request,
                &known,
                plan.bound,
                &mut |_| std::ops::ControlFlow::Continue(()),
            );
            if let Ok(better) = better {
                let chance = self.chance(&better.portions);
                let brings = chance > plan.chance + 0.005
                    || better.gain > plan.gain + 0.005 * plan.gain.abs();
                if brings {
                    found.push(Binding {
                        limit: kind,
                        there,
                        more: kind.step(),
                        chance,
                        gain: better.gain,
                    });
                }
            }
        }
        found.sort_by(|one, other| {
            let worth = |each: &Binding| (each.chance.min(self.sure), each.gain);
            worth(other)
                .partial_cmp(&worth(one))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        Some(found)
    }

    /// The problem with a little more of one limit, and how much of it there is now.
    fn eased(&self, kind: LimitKind) -> (Problem, u32) {
        let step = kind.step();
        let mut there = 0;
        let rooms = self.problem.rooms().iter().zip(&self.room_kinds);
        let rooms = rooms.map(|(room, of)| {
            let mut room = room.clone();
            if *of == kind {
                there = room.room as u32;
                room.room += f64::from(step);
            }
            room
        });
        let rooms: Vec<RoomLimit> = rooms.collect();
        let counts = self.problem.counts().iter().zip(&self.count_kinds);
        let counts = counts.map(|(count, of)| {
            let mut count = count.clone();
            if *of == kind {
                let weeks = if kind == LimitKind::Week {
                    POLLINATION_WEEKS
                } else {
                    1
                };
                there = count.most / weeks;
                count.most += step * weeks;
            }
            count
        });
        let counts: Vec<CountLimit> = counts.collect();
        (self.problem.with_limits(rooms, counts), there)
    }
}

/// The limits of a season as the optimiser takes them.
pub(in crate::planning) struct Limits<'a> {
    pub(super) goals: &'a Candidates,
    pub(super) offered: &'a [&'a Candidate],
    pub(super) per_seed: &'a [PerSeed],
    pub(super) diversity: &'a Diversity,
    pub(super) box_fill: u32,
    pub(super) portion: u32,
    pub(super) asked: u32,
}

impl Limits<'_> {
    pub(super) fn problem(
        &self,
        parents: &[Id<Genotype>],
        quantities: Quantities,
    ) -> Result<Problem, NoPlan> {
        let place = |plant: Id<Genotype>| parents.binary_search(&plant).unwrap_or(0);
        let of_all = &self.goals.kinship;
        let indices: Vec<usize> = parents
            .iter()
            .filter_map(|&plant| of_all.index(plant))
            .collect();
        if indices.len() != parents.len() {
            return Err(NoPlan::Figures);
        }
        let kinship = self.diversity.weighed(of_all, &indices);
        let families = self
            .offered
            .iter()
            .zip(self.per_seed)
            .map(|(pair, each)| Family {
                female: place(pair.female),
                male: place(pair.pollen.male),
                mean: each.mean,
                deviation: pair.accuracy * pair.index.spread,
                rate: each.females.clamp(0.0, 1.0),
                most: self.asked / self.portion,
            });
        let rooms = self.rooms().into_iter().map(|each| each.1).collect();
        let counts = self.counts().into_iter().map(|each| each.1).collect();
        Ok(Problem::new(
            families.collect(),
            kinship,
            quantities,
            rooms,
            counts,
        )?)
    }

    /// The seeds that there is room for.
    pub(super) fn seeds(&self) -> u32 {
        let boxes = self
            .goals
            .goals
            .space
            .boxes
            .map(|boxes| boxes.saturating_mul(self.box_fill));
        let share = |pick: fn(&PerSeed) -> f64| {
            let most = self.per_seed.iter().map(pick).fold(0.0, f64::max);
            move |room: u32| {
                if most > 0.0 {
                    (f64::from(room) / most) as u32
                } else {
                    u32::MAX
                }
            }
        };
        let space = self.goals.goals.space;
        let sprouts = share(|each| each.sprouts);
        let settled = share(|each| each.settled);
        [
            boxes,
            space.cells.map(&sprouts),
            space.pots.map(&sprouts),
            space.hills.map(settled),
            Some(self.asked),
        ]
        .into_iter()
        .flatten()
        .min()
        .unwrap_or(self.asked)
    }

    /// Every limit on room, with its kind.
    pub(super) fn rooms(&self) -> Vec<(LimitKind, RoomLimit)> {
        let all = |room: u32, take: &dyn Fn(&PerSeed) -> f64| RoomLimit {
            room: room.into(),
            takes: self.per_seed.iter().map(take).enumerate().collect(),
            whole: 1,
        };
        let seeds = f64::from(self.portion);
        let space = self.goals.goals.space;
        let sprouts = |each: &PerSeed| seeds * each.sprouts;
        let mut rooms = Vec::new();
        if self.asked < u32::MAX {
            rooms.push((LimitKind::Seeds, all(self.asked, &|_| seeds)));
        }
        if let Some(boxes) = space.boxes {
            // A box holds seed of one lot, so that the last one of a cross may be filled in part.
            let whole = (self.box_fill / self.portion).max(1);
            let of_box = RoomLimit {
                whole,
                ..all(boxes, &|_| 1.0 / f64::from(whole))
            };
            rooms.push((LimitKind::Boxes, of_box));
        }
        let settled = |each: &PerSeed| seeds * each.settled;
        for (kind, room, take) in [
            (
                LimitKind::Cells,
                space.cells,
                &sprouts as &dyn Fn(&PerSeed) -> f64,
            ),
            (LimitKind::Pots, space.pots, &sprouts),
            (LimitKind::Hills, space.hills, &settled),
        ] {
            rooms.extend(room.map(|room| (kind, all(room, take))));
        }
        if let Some(cones) = self.goals.goals.limits.cones_per_female {
            rooms.extend(self.by(|pair| pair.female).into_values().map(|families| {
                let of_female = RoomLimit {
                    room: cones.into(),
                    takes: families
                        .iter()
                        .map(|&each| (each, seeds * self.per_seed[each].cones))
                        .collect(),
                    whole: 1,
                };
                (LimitKind::Cones, of_female)
            }));
        }
        rooms
    }

    /// Every limit on numbers of crosses, with its kind.
    pub(super) fn counts(&self) -> Vec<(LimitKind, CountLimit)> {
        let limits = self.goals.goals.limits;
        let mut counts = Vec::new();
        if let Some(most) = limits.crosses_per_male {
            let by_male = self.by(|pair| pair.pollen.male).into_values();
            counts.extend(by_male.map(|families| (LimitKind::Male, CountLimit { most, families })));
        }
        if let Some(a_week) = limits.crosses_per_week {
            let all = CountLimit {
                most: a_week.saturating_mul(POLLINATION_WEEKS),
                families: (0..self.offered.len()).collect(),
            };
            counts.push((LimitKind::Week, all));
        }
        counts
    }

    fn by(&self, parent: fn(&Candidate) -> Id<Genotype>) -> BTreeMap<Id<Genotype>, Vec<usize>> {
        let mut by: BTreeMap<_, Vec<usize>> = BTreeMap::new();
        for (family, pair) in self.offered.iter().enumerate() {
            by.entry(parent(pair)).or_default().push(family);
        }
        by
    }
}

/// The limit that leaves no family room for a portion.
pub(super) fn tightest(rooms: &[(LimitKind, RoomLimit)]) -> LimitKind {
    let none = |room: &RoomLimit| {
        let mut takes = room.takes.iter();
        takes.all(|&(_, take)| take > 0.0 && room.most(take) == 0)
    };
    let found = rooms.iter().find(|(_, room)| none(room));
    found.map_or(LimitKind::Seeds, |found| found.0)
}
