//! Inbreeding over seasons.

use super::{Kinship, Pedigree};
use std::collections::BTreeMap;

/// The genotypes of one season.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cohort {
    /// The season, on the scale in which seasons were given.
    pub season: i32,
    /// How many genotypes.
    pub size: usize,
    /// Their mean inbreeding.
    pub inbreeding: f64,
    /// ΔF = (F - F') / (1 - F'), with F' the mean of the season before among those that have genotypes. `None`
    /// for the first season, and where F' is 1.
    pub rate: Option<f64>,
}

/// Inbreeding by season, and what it says of the population's size.
#[derive(Clone, Debug, PartialEq)]
pub struct InbreedingTrend {
    /// Seasons that have genotypes, ascending.
    pub cohorts: Vec<Cohort>,
    /// Rate of inbreeding per season: 1 - exp(b), with b the slope of ln(1 - F) of the genotypes on season.
    /// `None` if there are fewer than two seasons or a genotype is completely inbred.
    pub rate_per_season: Option<f64>,
    /// Mean age of the parents, in seasons, when their offspring are born. `None` if no season of a parent and
    /// its child is known.
    pub generation_interval: Option<f64>,
}

impl InbreedingTrend {
    /// Rate of inbreeding per generation: what the rate per season comes to over the generation interval.
    pub fn rate_per_generation(&self) -> Option<f64> {
        Some(1.0 - (1.0 - self.rate_per_season?).powf(self.generation_interval?))
    }

    /// Effective size, 1/(2 ΔF) per generation (Wright 1931, "Evolution in Mendelian populations", Genetics
    /// 16:97-159). `None` while inbreeding does not rise.
    pub fn effective_size(&self) -> Option<f64> {
        effective_size(self.rate_per_generation()?)
    }
}

/// 1/(2 ΔF); `None` unless ΔF is above 0.
pub fn effective_size(rate_per_generation: f64) -> Option<f64> {
    (rate_per_generation > 0.0).then(|| 0.5 / rate_per_generation)
}

impl Kinship {
    /// Inbreeding by season. `season` gives the season of each genotype, in the order of the records; genotypes
    /// without one are left out.
    ///
    /// # Panics
    /// If there is not one entry for each genotype.
    pub fn inbreeding_trend(&self, season: &[Option<i32>]) -> InbreedingTrend {
        assert_eq!(
            season.len(),
            self.pedigree().len(),
            "a season, or none, for each genotype"
        );
        let mut sums: BTreeMap<i32, (usize, f64)> = BTreeMap::new();
        for (genotype, season) in season.iter().enumerate() {
            if let Some(season) = *season {
                let (size, inbreeding) = sums.entry(season).or_default();
                *size += 1;
                *inbreeding += self.inbreeding(genotype);
            }
        }
        let mut cohorts: Vec<Cohort> = Vec::with_capacity(sums.len());
        for (season, (size, sum)) in sums {
            let inbreeding = sum / size as f64;
            let rate = cohorts
                .last()
                .filter(|before| before.inbreeding < 1.0)
                .map(|before| (inbreeding - before.inbreeding) / (1.0 - before.inbreeding));
            cohorts.push(Cohort {
                season,
                size,
                inbreeding,
                rate,
            });
        }
        InbreedingTrend {
            cohorts,
            rate_per_season: self.log_slope(season).map(|slope| 1.0 - slope.exp()),
            generation_interval: self.pedigree().generation_interval(season),
        }
    }

    /// Slope of ln(1 - F) on season.
    fn log_slope(&self, season: &[Option<i32>]) -> Option<f64> {
        let points: Vec<(f64, f64)> = season
            .iter()
            .enumerate()
            .filter_map(|(genotype, season)| {
                Some((
                    f64::from((*season)?),
                    (1.0 - self.inbreeding(genotype)).ln(),
                ))
            })
            .collect();
        let n = points.len() as f64;
        let (mean_x, mean_y) = (
            points.iter().map(|p| p.0).sum::<f64>() / n,
            points.iter().map(|p| p.1).sum::<f64>() / n,
        );
        let spread: f64 = points.iter().map(|p| (p.0 - mean_x).powi(2)).sum();
        let product: f64 = points.iter().map(|p| (p.0 - mean_x) * (p.1 - mean_y)).sum();
        (spread > 0.0 && product.is_finite()).then(|| product / spread)
    }

    /// Effective size from each genotype's own increase in inbreeding, ΔF = 1 - (1 - F)^(1/(t - 1)) with t its
    /// equivalent complete generations (Gutiérrez, Cervantes & Goyache 2009, "Improving the estimation of
    /// realized effective population sizes in farm animals", J. Anim. Breed. Genet. 126:327-332). It needs no
    /// seasons. Members with t of 1 or less say nothing and are left out; `None` if none is left, or while
    /// inbreeding does not rise.
    pub fn realized_effective_size(&self, group: &[usize]) -> Option<f64> {
        let generations = self.pedigree().equivalent_generations();
        let increases: Vec<f64> = group
            .iter()
            .filter(|&&genotype| generations[genotype] > 1.0)
            .map(|&genotype| {
                1.0 - (1.0 - self.inbreeding(genotype)).powf((generations[genotype] - 1.0).recip())
            })
            .collect();
        effective_size(increases.iter().sum::<f64>() / increases.len() as f64)
    }
}

impl Pedigree {
    /// Mean age of parents at the birth of their offspring, over all genotypes and parents whose seasons are
    /// known, each parent counting by its share of the child's genes. Clones and doubled plants are no offspring.
    fn generation_interval(&self, season: &[Option<i32>]) -> Option<f64> {
        let (mut ages, mut shares) = (0.0, 0.0);
        for (genotype, born) in season.iter().enumerate() {
            let Some(born) = *born else { continue };
            if self.is_copy(self.family(genotype)) {
                continue;
            }
            for (parent, share) in self.donors(genotype) {
                if let Some(parent_born) = season[parent] {
                    ages += share * (f64::from(born) - f64::from(parent_born));
                    shares += share;
                }
            }
        }
        (shares > 0.0).then(|| ages / shares)
    }
}
