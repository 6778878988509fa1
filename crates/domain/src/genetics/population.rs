//! How much of the founders' variety is left, season by season.

use super::{Kinship, Progress, ProgressSink};
use crate::explanation::{Explanation, number};
use crate::{Genotype, Id};
use quant::kinship::effective_number;
use std::collections::BTreeMap;

/// Ancestors looked for for `f_a`: its two bounds tell how much the rest could matter.
const ANCESTORS: usize = 100;
/// Generations back for which completeness is given.
const DEPTH: usize = 5;

/// Figures of a group of plants.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupFigures {
    /// How many plants.
    pub size: usize,
    /// Their mean inbreeding.
    pub inbreeding: f64,
    /// Mean coancestry over all pairs, each plant with itself included.
    pub kinship: f64,
    /// Effective number of founders `f_e`: founders in equal shares that would give the same variety of origin.
    pub founders: Option<f64>,
    /// Bounds of the effective number of ancestors `f_a`, which counts bottlenecks; both the same when all of the gene pool is explained.
    pub ancestors: Option<(f64, f64)>,
    /// Founder genome equivalents `f_ge`, 1 / (2 × mean coancestry).
    pub genomes: Option<f64>,
    /// Mean number of equivalent complete generations that are known.
    pub generations: f64,
    /// Share of ancestors known, one generation back, two, and so on.
    pub completeness: Vec<f64>,
}

/// Figures of the plants of one season.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonFigures {
    /// The year: of the cross, else of potting or coming in.
    pub season: i32,
    /// Its plants.
    pub plants: Vec<Id<Genotype>>,
    /// Their figures.
    pub figures: GroupFigures,
    /// Rate of inbreeding since the season before, (F - F') / (1 - F'); `None` for the first.
    pub rate: Option<f64>,
}

/// Figures of a project's plants over its seasons.
#[derive(Debug, Clone, PartialEq)]
pub struct Population {
    /// The revision of the project that this holds for.
    pub revision: u64,
    /// The seasons that have plants, ascending.
    pub seasons: Vec<SeasonFigures>,
    /// How many plants have no season on record and are in none of these.
    pub without_season: usize,
    /// Rate of inbreeding per season, over all.
    pub rate_per_season: Option<f64>,
    /// Mean age of parents, in seasons.
    pub generation_interval: Option<f64>,
    /// Rate of inbreeding per generation.
    pub rate_per_generation: Option<f64>,
    /// Effective size, 1 / (2 × rate per generation); `None` while inbreeding does not rise.
    pub effective_size: Option<f64>,
    /// Rate of coancestry per generation, from the mean kinship of different plants of a season: it rises where
    /// inbreeding doesn't yet, and a doubled or selfed plant doesn't bend it.
    pub coancestry_rate: Option<f64>,
    /// The effective size that it means; `None` while kinship does not rise.
    pub coancestry_size: Option<f64>,
}

impl Kinship {
    /// Figures of a group; plants that aren't known, and repeats, are left out. `None` if nobody is left.
    pub fn group_figures(&self, plants: &[Id<Genotype>]) -> Option<GroupFigures> {
        let mut places: Vec<usize> = plants
            .iter()
            .filter_map(|&plant| self.index(plant))
            .collect();
        places.sort_unstable();
        places.dedup();
        let generations = self.numbers().pedigree().equivalent_generations();
        self.figures(&places, &generations)
    }

    fn figures(&self, places: &[usize], generations: &[f64]) -> Option<GroupFigures> {
        let numbers = self.numbers();
        let pedigree = numbers.pedigree();
        let kinship = numbers.group_coancestry(places)?;
        let mean = |value: &dyn Fn(usize) -> f64| {
            places.iter().map(|&plant| value(plant)).sum::<f64>() / places.len() as f64
        };
        let founders = pedigree.founder_contributions(places);
        Some(GroupFigures {
            size: places.len(),
            inbreeding: mean(&|plant| numbers.inbreeding(plant)),
            kinship,
            founders: effective_number(founders.iter().map(|(_, share)| *share)),
            ancestors: pedigree
                .ancestor_contributions(places, ANCESTORS)
                .effective_number(),
            genomes: numbers.founder_genome_equivalents(places),
            generations: mean(&|plant| generations[plant]),
            completeness: pedigree.completeness(places, DEPTH),
        })
    }

    /// Mean age of the program's parents when their seedlings come up, in seasons: how long a generation is here.
    /// `None` where the season of no parent and its child is known.
    pub fn generation_interval(&self) -> Option<f64> {
        self.numbers()
            .inbreeding_trend(&self.season)
            .generation_interval
    }

    /// Figures season by season. `None` if `sink` stops it.
    pub fn population(&self, sink: &mut ProgressSink<'_>) -> Option<Population> {
        let mut members: BTreeMap<i32, Vec<usize>> = BTreeMap::new();
        for (plant, season) in self.season.iter().enumerate() {
            if let Some(season) = season {
                members.entry(*season).or_default().push(plant);
            }
        }
        let trend = self.numbers().inbreeding_trend(&self.season);
        let generations = self.numbers().pedigree().equivalent_generations();
        let slope = self.coancestry_slope(&members);
        let coancestry_rate = slope
            .zip(trend.generation_interval)
            .map(|(slope, interval)| 1.0 - (slope * interval).exp());
        let count = members.len();
        let mut seasons = Vec::with_capacity(count);
        for (done, (season, places)) in members.into_iter().enumerate() {
            let progress = Progress {
                step: "Population figures",
                part: Some(done as f32 / count as f32),
                iteration: None,
            };
            if sink(progress).is_break() {
                return None;
            }
            let Some(figures) = self.figures(&places, &generations) else {
                continue;
            };
            let cohort = trend.cohorts.iter().find(|cohort| cohort.season == season);
            seasons.push(SeasonFigures {
                season,
                plants: places.iter().map(|&plant| self.plants()[plant]).collect(),
                figures,
                rate: cohort.and_then(|cohort| cohort.rate),
            });
        }
        Some(Population {
            revision: self.revision(),
            seasons,
            without_season: self.season.iter().filter(|season| season.is_none()).count(),
            rate_per_season: trend.rate_per_season,
            generation_interval: trend.generation_interval,
            rate_per_generation: trend.rate_per_generation(),
            effective_size: trend.effective_size(),
            coancestry_rate,
            coancestry_size: coancestry_rate.and_then(quant::kinship::effective_size),
        })
    }

    /// Slope of ln(1 - f) on the season, f the mean kinship of two different plants of it, seasons weighed by their
    /// plants. `None` with fewer than two seasons that have two plants.
    fn coancestry_slope(&self, members: &BTreeMap<i32, Vec<usize>>) -> Option<f64> {
        let numbers = self.numbers();
        let points: Vec<(f64, f64, f64)> = members
            .iter()
            .filter(|(_, places)| places.len() > 1)
            .filter_map(|(season, places)| {
                let count = places.len() as f64;
                let own: f64 = places
                    .iter()
                    .map(|&place| numbers.coancestry(place, place))
                    .sum();
                let all = numbers.group_coancestry(places)? * count * count;
                let apart = (all - own) / (count * (count - 1.0));
                (apart < 1.0).then(|| (f64::from(*season), (1.0 - apart).ln(), count))
            })
            .collect();
        let weight: f64 = points.iter().map(|point| point.2).sum();
        let mean = |pick: fn(&(f64, f64, f64)) -> f64| {
            points
                .iter()
                .map(|point| point.2 * pick(point))
                .sum::<f64>()
                / weight
        };
        let (x, y) = (mean(|point| point.0), mean(|point| point.1));
        let spread: f64 = points.iter().map(|p| p.2 * (p.0 - x).powi(2)).sum();
        let product: f64 = points.iter().map(|p| p.2 * (p.0 - x) * (p.1 - y)).sum();
        (points.len() > 1 && spread > 0.0).then(|| product / spread)
    }
}

impl GroupFigures {
    /// Where each figure comes from, in the order of the fields.
    pub fn explain(&self) -> Vec<Explanation> {
        let optional = |value: Option<f64>| value.map_or_else(|| "not known".into(), number);
        let figure = |name: &str, value: String, formula: &str, source| {
            Explanation::new(format!("{name}: {value}"), formula, source).resting_on(self.size)
        };
        let depth = self.completeness.iter().enumerate();
        let completeness = depth.fold(
            figure(
                "Equivalent complete generations",
                number(self.generations),
                "Sum over the known ancestors of the share of genes expected from each, averaged over the group.",
                "Maignel, Boichard & Verrier (1996), Interbull Bull. 14:49-54",
            ),
            |explained, (back, share)| {
                explained.with(format!("known {} back", back + 1), format!("{:.0} %", 100.0 * share))
            },
        );
        vec![
            figure(
                "Mean inbreeding",
                number(self.inbreeding),
                "Mean of F over the group.",
                "Wright (1922), Am. Nat. 56:330-338",
            ),
            figure(
                "Mean kinship",
                number(self.kinship),
                "Mean of f over all pairs, each plant with itself included.",
                "Caballero & Toro (2000), Genet. Res. 75:331-343",
            ),
            figure(
                "Effective founders f_e",
                optional(self.founders),
                "1 / sum of p², p the share of the group's genes expected from each founder; unknown parents count as founders.",
                "Lacy (1989), Zoo Biol. 8:111-123",
            ),
            figure(
                "Effective ancestors f_a",
                self.ancestors.map_or_else(
                    || "not known".into(),
                    |(low, high)| {
                        if (high - low).abs() < 0.005 {
                            number(low)
                        } else {
                            format!("{} to {}", number(low), number(high))
                        }
                    },
                ),
                "1 / sum of q², q the share of each ancestor that no other explains.",
                "Boichard, Maignel & Verrier (1997), Genet. Sel. Evol. 29:5-23",
            ),
            figure(
                "Founder genome equivalents f_ge",
                optional(self.genomes),
                "1 / (2 × mean kinship).",
                "Caballero & Toro (2000), Genet. Res. 75:331-343",
            ),
            completeness,
        ]
    }
}

impl Population {
    /// Where the rate of coancestry comes from.
    pub fn explain_coancestry(&self) -> Explanation {
        let optional = |value: Option<f64>| value.map_or_else(|| "not known".into(), number);
        Explanation::new(
            format!("Rate of coancestry per generation: {}", optional(self.coancestry_rate)),
            "1 - exp(slope × mean age of parents), the slope that of ln(1 - f) on the season, f the mean kinship of two different plants of a season, seasons weighed by their plants. Effective size = 1 / (2 × rate); not known while kinship does not rise.",
            "Caballero & Toro (2000), Genet. Res. 75:331-343",
        )
        .with("mean age of parents, seasons", optional(self.generation_interval))
        .with("effective size", optional(self.coancestry_size))
        .resting_on(self.seasons.iter().map(|season| season.figures.size).sum())
    }

    /// Where the effective size comes from.
    pub fn explain_effective_size(&self) -> Explanation {
        let optional = |value: Option<f64>| value.map_or_else(|| "not known".into(), number);
        Explanation::new(
            format!("Effective size: {}", optional(self.effective_size)),
            "1 / (2 dF) per generation; dF from the slope of ln(1 - F) on the season, times the mean age of parents. Not known while inbreeding does not rise.",
            "Wright (1931), Genetics 16:97-159",
        )
        .with("rate of inbreeding per season", optional(self.rate_per_season))
        .with("mean age of parents, seasons", optional(self.generation_interval))
        .with("rate of inbreeding per generation", optional(self.rate_per_generation))
        .resting_on(self.seasons.iter().map(|season| season.figures.size).sum())
    }
}
