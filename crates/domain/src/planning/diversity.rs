//! How fast a plan makes the program's parents related: the rate of coancestry per generation, and the effective size
//! that it means.
//!
//! The next generation's parents come out of the seedlings of as many seasons as a generation lasts: those of the seasons
//! gone by, whose crosses are on record, and those of the plan. With contributions z of today's plants to them, their
//! mean coancestry is z'Kz (Meuwissen 1997, J. Anim. Sci. 75:934-940). The rate is what that lies above the mean
//! coancestry f of today's parents, each with another, as a share of what is left: (z'Kz - f) / (1 - f); the effective
//! size is one over twice the rate (Caballero & Toro 2000, Genet. Res. 75:331-343). N parents unrelated and used alike
//! give 1 / 2N.

use super::{Candidate, Candidates};
use crate::explanation::{Explanation, number};
use crate::genetics::Kinship;
use crate::{Genotype, Id, Pollen, Project, actions};
use chrono::NaiveDate;
use quant::mating::{Coancestries, with_given};
use std::collections::BTreeMap;

/// Seasons to a generation where no season of a parent and its child is on record: common practice, a cross of plants
/// that were chosen in their third summer.
pub const USUAL_INTERVAL: f64 = 3.0;

/// What a plan's rate of coancestry is counted from.
#[derive(Debug, Clone, PartialEq)]
pub struct Diversity {
    /// Mean coancestry of two different parents of today, the females together counting as much as the males.
    pub now: f64,
    /// Seasons to a generation.
    pub interval: f64,
    /// Whether that is the program's own, by its records.
    pub own_interval: bool,
    /// How many crosses of earlier seasons give parents to the same generation.
    pub earlier: usize,
    /// The share of the generation that comes of the plan.
    pub share: f64,
    /// What earlier crosses give, by plant, by place in the kinship: sums to 1, or is empty.
    given: Vec<(usize, f64)>,
}

impl Diversity {
    pub(super) fn of(
        project: &Project,
        candidates: &Candidates,
        offered: &[&Candidate],
        today: NaiveDate,
    ) -> Self {
        let kinship = &candidates.kinship;
        let own = kinship.generation_interval().filter(|own| *own >= 1.0);
        let interval = own.unwrap_or(USUAL_INTERVAL);
        let season = actions::season_planned(project, today);
        let (earlier, given) = given(project, kinship, season, interval);
        let share = if given.is_empty() {
            1.0
        } else {
            1.0 / interval
        };
        Self {
            now: mean_of_different(kinship, offered),
            interval,
            own_interval: own.is_some(),
            earlier,
            share,
            given,
        }
    }

    /// The coancestries that contributions x of these plants are weighed with, so that x'K'x is z'Kz.
    pub(super) fn weighed(&self, kinship: &Kinship, parents: &[usize]) -> Coancestries {
        let numbers = kinship.numbers();
        let own = numbers.coancestry_block(parents, parents);
        let plants: Vec<usize> = self.given.iter().map(|each| each.0).collect();
        let with = numbers.coancestry_block(parents, &plants);
        let among = numbers.coancestry_block(&plants, &plants);
        let given: Vec<f64> = self.given.iter().map(|each| each.1).collect();
        with_given(&own, &with, &among, &given, self.share)
    }

    /// The rate of coancestry per generation, from the mean coancestry of the next one's parents.
    pub fn rate(&self, coancestry: f64) -> f64 {
        (coancestry - self.now) / (1.0 - self.now).max(1e-9)
    }

    /// The mean coancestry at a rate.
    pub fn coancestry(&self, rate: f64) -> f64 {
        self.now + rate * (1.0 - self.now)
    }

    /// How a rate comes about.
    pub fn explain(&self, rate: f64) -> Explanation {
        Explanation::new(
            format!("Rate of coancestry {:.1} % a generation, {}", 100.0 * rate, size_words(rate)),
            "(z'Kz - f) / (1 - f): z what today's plants give to the parents of the next generation, K their coancestries, f the mean coancestry of two different parents of today. Effective size = 1 / (2 × rate). Counted over plants that will be parents, by expected numbers of good plants.",
            "Caballero & Toro (2000), Genet. Res. 75:331-343; Meuwissen (1997), J. Anim. Sci. 75:934-940",
        )
        .with("f, parents of today", number(self.now))
        .with("z'Kz, parents to come", number(self.coancestry(rate)))
        .with(
            "seasons to a generation",
            if self.own_interval {
                format!("{:.1}, the mean age of the program's parents", self.interval)
            } else {
                format!("{:.1}, common practice: no age of a parent is on record", self.interval)
            },
        )
        .with("share of the generation from this plan", format!("{:.0} %", 100.0 * self.share))
        .with("crosses of earlier seasons in it", self.earlier.to_string())
    }
}

/// The effective size that a rate of coancestry means, in words.
pub fn size_words(rate: f64) -> String {
    match quant::kinship::effective_size(rate) {
        Some(size) if size < 1000.0 => format!("effective size {size:.0}"),
        _ => "no loss of diversity".into(),
    }
}

/// The crosses of the seasons before that give parents to the same generation as those of this one, and what each plant
/// gives: every cross as much as another.
fn given(
    project: &Project,
    kinship: &Kinship,
    season: i32,
    interval: f64,
) -> (usize, Vec<(usize, f64)>) {
    let first = season - (interval.round() as i32 - 1).max(0);
    let mut sums: BTreeMap<usize, f64> = BTreeMap::new();
    let mut count = 0;
    for cross in project.crosses().iter() {
        let raised = project
            .referring::<crate::SeedLot>(cross.id)
            .next()
            .is_some();
        if !(first..season).contains(&cross.season) || !raised {
            continue;
        }
        let males: Vec<(Id<Genotype>, f64)> = match &cross.pollen {
            Pollen::Male(male) => vec![(*male, 1.0)],
            Pollen::Mix(shares) => {
                let males = shares.len().max(1) as f64;
                shares.iter().map(|each| (each.male, 1.0 / males)).collect()
            }
            // What the wind brought is of unknown plants, taken as unrelated.
            Pollen::Open | Pollen::Unknown => continue,
        };
        count += 1;
        let both = males.into_iter().chain([(cross.female, 1.0)]);
        for (plant, share) in both {
            if let Some(index) = kinship.index(plant) {
                *sums.entry(index).or_default() += 0.5 * share;
            }
        }
    }
    let whole: f64 = sums.values().sum();
    let shares = sums
        .into_iter()
        .map(|(plant, share)| (plant, share / whole));
    (count, shares.collect())
}

fn mean_of_different(kinship: &Kinship, offered: &[&Candidate]) -> f64 {
    let indices = |pick: fn(&Candidate) -> Id<Genotype>| -> Vec<usize> {
        let mut found: Vec<usize> = offered
            .iter()
            .filter_map(|pair| kinship.index(pick(pair)))
            .collect();
        found.sort_unstable();
        found.dedup();
        found
    };
    let mut weights: BTreeMap<usize, f64> = BTreeMap::new();
    for side in [
        indices(|pair| pair.female),
        indices(|pair| pair.pollen.male),
    ] {
        for plant in &side {
            *weights.entry(*plant).or_default() += 0.5 / side.len() as f64;
        }
    }
    let plants: Vec<usize> = weights.keys().copied().collect();
    let block = kinship.numbers().coancestry_block(&plants, &plants);
    let (mut sum, mut all) = (0.0, 0.0);
    for (i, one) in plants.iter().enumerate() {
        for (j, other) in plants.iter().enumerate().filter(|each| each.0 != i) {
            let weight = weights[one] * weights[other];
            sum += weight * block[(i, j)];
            all += weight;
        }
    }
    if all > 0.0 { sum / all } else { 0.0 }
}
