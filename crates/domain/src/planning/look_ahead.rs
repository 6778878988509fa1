//! Looking ahead: several seasons of a strategy played out by chance from the plants of today.

use super::candidates::Scales;
use super::{Candidates, TraitKnowledge, USUAL_INTERVAL};
use crate::genetics::{Progress, ProgressSink};
use crate::{Genotype, Id, Project};
use quant::simulate::{
    self, Difference, Outcome, Pairing, Stock, StockPlant, Strategy, StrategyFault,
};
use std::collections::BTreeSet;
use std::fmt;

/// Why nothing can be played out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoOutlook {
    /// No goals that vary: nothing could be gained.
    NoGoals,
    /// No pair of diploid plants.
    NoPair,
    /// The strategy can't be played.
    Strategy(StrategyFault),
}

impl fmt::Display for NoOutlook {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoGoals => f.write_str(
                "There is nothing to play out yet. Under Goals, give a trait a weight and a spread.",
            ),
            Self::NoPair => f.write_str(
                "No diploid female and male can be crossed. See 'Ruled out' on the Pairs page for the reasons.",
            ),
            Self::Strategy(fault) => write!(f, "This strategy can't be played: {fault}."),
        }
    }
}

/// Plants of today, ready to be played on.
#[derive(Debug, Clone)]
pub struct LookAhead {
    /// The revision of the project that this holds for.
    pub revision: u64,
    /// How many females and males there are to begin with.
    pub parents: [usize; 2],
    /// Standard deviation of the index among unselected plants.
    pub deviation: f64,
    /// Heritability of the index from one record of each trait.
    pub heritability: f64,
    /// A plant this good in the index is a keeper.
    pub keeper: f64,
    /// Where that comes from.
    pub keeper_words: &'static str,
    /// Index of the average parent today.
    pub today: f64,
    /// Seasons that a generation takes: the mean age of the program's own parents.
    pub interval: f64,
    /// Whether that is told by the records; otherwise it is common practice.
    pub own_interval: bool,
    kinship: std::sync::Arc<crate::genetics::Kinship>,
    plants: Vec<StockPlant>,
}

impl LookAhead {
    /// The parents of all pairs offered, with what is known of them.
    ///
    /// # Errors
    /// Goals without anything to gain, or no pair.
    pub fn of(project: &Project, candidates: &Candidates) -> Result<Self, NoOutlook> {
        let scales = Scales::of(project, &candidates.goals, &candidates.knowledge);
        if scales.genetic <= 0.0 {
            return Err(NoOutlook::NoGoals);
        }
        let offered = || candidates.pairs.iter().filter(|pair| pair.is_offered());
        let females: BTreeSet<Id<Genotype>> = offered().map(|pair| pair.female).collect();
        let males: BTreeSet<Id<Genotype>> = offered().map(|pair| pair.pollen.male).collect();
        let plant = |id: Id<Genotype>, female: bool| {
            let diploid = project
                .genotypes()
                .get(id)
                .is_some_and(|each| each.ploidy.0 == 2);
            let index = candidates.kinship.index(id).filter(|_| diploid)?;
            let known: Vec<&TraitKnowledge> = candidates.knowledge.traits.iter().collect();
            let sum = |pick: &dyn Fn(&TraitKnowledge, f64) -> f64| -> f64 {
                known
                    .iter()
                    .zip(&scales.weights)
                    .map(|(known, &weight)| pick(known, weight))
                    .sum()
            };
            let value = sum(&|known, weight| weight * known.values[index].value);
            let error = sum(&|known, weight| (weight * known.values[index].standard_error).powi(2));
            Some(StockPlant {
                plant: index,
                value,
                error: error.sqrt(),
                female,
            })
        };
        let of_females = females.iter().filter_map(|&id| plant(id, true));
        // A plant that bears both kinds of flower begins as a female.
        let of_males = males
            .difference(&females)
            .filter_map(|&id| plant(id, false));
        let plants: Vec<StockPlant> = of_females.chain(of_males).collect();
        let count = |female: bool| plants.iter().filter(|each| each.female == female).count();
        let parents = [count(true), count(false)];
        if parents.contains(&0) {
            return Err(NoOutlook::NoPair);
        }
        let best = plants
            .iter()
            .filter(|each| each.female)
            .map(|each| each.value)
            .fold(f64::NEG_INFINITY, f64::max);
        let (keeper, keeper_words) = match candidates.goals.index {
            Some(index) => (index, "the threshold of the index among the goals"),
            None => (
                best + scales.genetic.sqrt(),
                "one standard deviation above the best female of today",
            ),
        };
        let own_interval = candidates
            .kinship
            .generation_interval()
            .filter(|own| *own >= 1.0);
        Ok(Self {
            revision: candidates.revision,
            parents,
            deviation: scales.genetic.sqrt(),
            heritability: scales.genetic / (scales.genetic + scales.residual),
            keeper,
            keeper_words,
            interval: own_interval.unwrap_or(USUAL_INTERVAL),
            own_interval: own_interval.is_some(),
            today: plants.iter().map(|each| each.value).sum::<f64>() / plants.len() as f64,
            kinship: std::sync::Arc::clone(&candidates.kinship),
            plants,
        })
    }

    /// The season from now, 1 and on, in which a generation's plants are chosen.
    pub fn season_of(&self, generation: usize) -> i32 {
        (generation as f64 * self.interval).round() as i32
    }

    /// How long a generation is, in words.
    pub fn interval_words(&self) -> String {
        let why = if self.own_interval {
            "the mean age of this program's parents"
        } else {
            "common practice: no age of a parent is on record"
        };
        format!(
            "A generation takes {:.1} seasons, {why}: five take {}.",
            self.interval,
            self.season_of(5)
        )
    }

    /// A strategy to begin with: five generations, ten crosses of thirty seedlings, half of them culled at the first
    /// screen, five females and three males kept.
    pub fn usual(&self) -> Strategy {
        Strategy {
            seasons: 5,
            crosses: 10,
            plants: 30,
            female_share: 0.5,
            culled: 0.5,
            screen_heritability: self.heritability.min(0.1),
            heritability: self.heritability,
            females: 5,
            males: 3,
            again: 1,
            pairing: Pairing::LeastRelated,
        }
    }

    /// Plays strategies from the same plants with the same luck, so many times each. `None` if `sink` stops it.
    ///
    /// # Errors
    /// A strategy that can't be played.
    pub fn play(
        &self,
        strategies: &[Strategy],
        replicates: u32,
        seed: u64,
        sink: &mut ProgressSink<'_>,
    ) -> Result<Option<Played>, NoOutlook> {
        let stock = Stock {
            pedigree: self.kinship.numbers().pedigree(),
            plants: self.plants.clone(),
            deviation: self.deviation,
            keeper: self.keeper,
        };
        let count = strategies.len().max(1) as f64;
        let mut outcomes = Vec::with_capacity(strategies.len());
        for (done, strategy) in strategies.iter().enumerate() {
            let played = simulate::play(&stock, strategy, replicates, seed, &mut |part| {
                sink(Progress {
                    step: "Playing out the seasons",
                    part: Some(((done as f64 + part) / count) as f32),
                    iteration: None,
                })
            })
            .map_err(NoOutlook::Strategy)?;
            match played {
                Some(outcome) => outcomes.push(outcome),
                None => return Ok(None),
            }
        }
        let differences = match &outcomes[..] {
            [one, other] => simulate::compare(one, other),
            _ => Vec::new(),
        };
        Ok(Some(Played {
            outcomes,
            differences,
        }))
    }
}

/// Strategies played out.
#[derive(Debug, Clone, PartialEq)]
pub struct Played {
    /// Of each strategy.
    pub outcomes: Vec<Outcome>,
    /// What the first has more than the second, season by season, where there are two.
    pub differences: Vec<Difference>,
}
