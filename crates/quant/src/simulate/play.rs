//! One strategy, played.

use std::cmp::Reverse;
use std::fmt;
use std::ops::ControlFlow;

use fastrand::Rng;

use super::genome::{Genes, Genome, normal};
use super::summary::{Outcome, Season};
use crate::kinship::Pedigree;

/// One of today's plants that may be a parent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StockPlant {
    /// Its index in the pedigree.
    pub plant: usize,
    /// The value it is predicted to have.
    pub value: f64,
    /// The standard deviation of its true value about that.
    pub error: f64,
    /// Whether it bears cones; otherwise it gives pollen.
    pub female: bool,
}

/// What a strategy begins with.
#[derive(Clone, Debug)]
pub struct Stock<'p> {
    /// The pedigree of the plants.
    pub pedigree: &'p Pedigree,
    /// Today's plants.
    pub plants: Vec<StockPlant>,
    /// Genetic standard deviation among unselected, unrelated plants.
    pub deviation: f64,
    /// A plant kept that is truly this good is a keeper.
    pub keeper: f64,
}

/// Who meets whom.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pairing {
    /// Chosen females and males meet by chance, all about equally often.
    Chance,
    /// Each female meets the least related of the males that were used least.
    LeastRelated,
}

/// What is done each season.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strategy {
    /// For how many seasons.
    pub seasons: u32,
    /// Crosses a season.
    pub crosses: u32,
    /// Seedlings raised of each cross.
    pub plants: u32,
    /// The share of seedlings that are female.
    pub female_share: f64,
    /// The share of seedlings culled at the first screen.
    pub culled: f64,
    /// Heritability of what they are screened on.
    pub screen_heritability: f64,
    /// Heritability of the record by which parents are chosen among the rest.
    pub heritability: f64,
    /// Females kept and crossed.
    pub females: u32,
    /// Males kept and crossed.
    pub males: u32,
    /// For how many seasons after its first a plant may be a parent again, if it is still among the best.
    pub again: u32,
    /// Who meets whom.
    pub pairing: Pairing,
}

/// Why a strategy can't be played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StrategyFault {
    /// A share or heritability is not between 0 and 1, or a standard deviation below 0.
    Figure,
    /// Seasons, crosses, plants or parents are none.
    Nothing,
    /// There is no female or no male today.
    OneSex,
    /// A plant is not in the pedigree, or not diploid.
    NotDiploid,
    /// Too many plants of today to be followed.
    TooMany,
}

impl fmt::Display for StrategyFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Figure => "a share or a heritability is not between 0 and 1",
            Self::Nothing => "a strategy needs seasons, crosses, seedlings and parents",
            Self::OneSex => "there must be a female and a male to begin with",
            Self::NotDiploid => "only diploid plants can be played out",
            Self::TooMany => "there are too many plants to follow: take the best 30,000",
        })
    }
}

impl std::error::Error for StrategyFault {}

/// A plant in play.
struct Player {
    genome: Genome,
    value: f64,
    /// What it is thought to be worth.
    seen: f64,
    /// Its record: decides between plants thought equal.
    record: f64,
    female: bool,
    born: u32,
}

/// Plays a strategy `replicates` times from the same stock. The same seed gives the same result; stopped by
/// `progress`, which is told the part done, it answers `None`.
///
/// # Errors
/// See [`StrategyFault`].
pub fn play(
    stock: &Stock<'_>,
    strategy: &Strategy,
    replicates: u32,
    seed: u64,
    progress: &mut dyn FnMut(f64) -> ControlFlow<()>,
) -> Result<Option<Outcome>, StrategyFault> {
    check(stock, strategy)?;
    let mut seasons: Vec<Vec<Season>> = Vec::with_capacity(replicates as usize);
    for replicate in 0..replicates {
        if progress(f64::from(replicate) / f64::from(replicates)).is_break() {
            return Ok(None);
        }
        seasons.push(once(stock, strategy, mixed(seed, replicate, 0)));
    }
    Ok(Some(Outcome::of(&seasons)))
}

fn check(stock: &Stock<'_>, strategy: &Strategy) -> Result<(), StrategyFault> {
    let share = |value: f64| (0.0..=1.0).contains(&value);
    let sound = share(strategy.female_share)
        && share(strategy.culled)
        && share(strategy.screen_heritability)
        && share(strategy.heritability)
        && stock.deviation.is_finite()
        && stock.deviation >= 0.0
        && !stock.keeper.is_nan()
        && stock
            .plants
            .iter()
            .all(|each| each.value.is_finite() && each.error >= 0.0);
    if !sound {
        return Err(StrategyFault::Figure);
    }
    let counts = [
        strategy.seasons,
        strategy.crosses,
        strategy.plants,
        strategy.females,
        strategy.males,
    ];
    if counts.contains(&0) {
        return Err(StrategyFault::Nothing);
    }
    if !stock.plants.iter().any(|each| each.female) || stock.plants.iter().all(|each| each.female) {
        return Err(StrategyFault::OneSex);
    }
    if stock.plants.len() > 30_000 {
        return Err(StrategyFault::TooMany);
    }
    let diploid = |each: &StockPlant| {
        each.plant < stock.pedigree.len() && stock.pedigree.ploidy(each.plant).sets() == 2
    };
    if !stock.plants.iter().all(diploid) {
        return Err(StrategyFault::NotDiploid);
    }
    Ok(())
}

/// A seed of its own for each replicate and season (`SplitMix64`; Steele, Lea & Flood 2014, OOPSLA).
fn mixed(seed: u64, replicate: u32, season: u32) -> u64 {
    let mut z = seed
        .wrapping_add(u64::from(replicate).wrapping_mul(0x9e37_79b9_7f4a_7c15))
        .wrapping_add(u64::from(season).wrapping_mul(0xd1b5_4a32_d192_ed03));
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

fn once(stock: &Stock<'_>, strategy: &Strategy, seed: u64) -> Vec<Season> {
    let mut random = Rng::with_seed(seed);
    let values: Vec<f64> = stock
        .plants
        .iter()
        .map(|each| each.value + each.error * normal(&mut random))
        .collect();
    let indices: Vec<usize> = stock.plants.iter().map(|each| each.plant).collect();
    let genes = Genes::drop(
        stock.pedigree,
        &indices,
        &values,
        stock.deviation,
        &mut random,
    );
    let mut players: Vec<Player> = stock
        .plants
        .iter()
        .enumerate()
        .map(|(plant, each)| Player {
            genome: Genes::of_today(plant),
            value: values[plant],
            seen: each.value,
            record: random.f64(),
            female: each.female,
            born: 0,
        })
        .collect();
    let mut seasons = Vec::with_capacity(strategy.seasons as usize);
    let mut parents = [
        best(&players, true, strategy.females),
        best(&players, false, strategy.males),
    ];
    let mut kept = false;
    for season in 1..=strategy.seasons {
        let mut luck = Rng::with_seed(mixed(seed, 0, season));
        let pairs = pairs(strategy, &players, &parents, &genes, &mut luck);
        let mut seedlings: Vec<Player> = Vec::with_capacity(pairs.len() * strategy.plants as usize);
        for &(female, male) in &pairs {
            for _ in 0..strategy.plants {
                let genome =
                    Genome::seedling(&players[female].genome, &players[male].genome, &mut luck);
                seedlings.push(Player {
                    value: genes.value(&genome),
                    genome,
                    seen: 0.0,
                    record: 0.0,
                    female: luck.f64() < strategy.female_share,
                    born: season,
                });
            }
        }
        let raised = seedlings.len() as f64;
        let mean = seedlings.iter().map(|each| each.value).sum::<f64>() / raised;
        let inbreeding = seedlings
            .iter()
            .map(|each| genes.inbreeding(&each.genome))
            .sum::<f64>()
            / raised;
        let left = screened(seedlings, strategy, stock.deviation, &mut luck);
        players.retain(|each| each.born + strategy.again + 1 > season);
        players.extend(left);
        if players.iter().filter(|each| each.female).count() == 0
            || players.iter().all(|each| each.female)
        {
            // One sex died out: nothing can be crossed any more.
            seasons.push(Season {
                mean,
                chosen: mean,
                best: mean,
                inbreeding,
                kept,
            });
            break;
        }
        parents = [
            best(&players, true, strategy.females),
            best(&players, false, strategy.males),
        ];
        let chosen: Vec<f64> = parents[0]
            .iter()
            .map(|&plant| players[plant].value)
            .collect();
        let top = chosen.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let new = parents[0]
            .iter()
            .any(|&plant| players[plant].born > 0 && players[plant].value >= stock.keeper);
        kept |= new;
        seasons.push(Season {
            mean,
            chosen: chosen.iter().sum::<f64>() / chosen.len() as f64,
            best: top,
            inbreeding,
            kept,
        });
    }
    seasons
}

/// The seedlings left after the first screen, with what they are thought to be worth.
fn screened(
    mut seedlings: Vec<Player>,
    strategy: &Strategy,
    deviation: f64,
    luck: &mut Rng,
) -> Vec<Player> {
    record(
        &mut seedlings,
        strategy.screen_heritability,
        deviation,
        luck,
    );
    let left = ((1.0 - strategy.culled) * seedlings.len() as f64)
        .round()
        .max(1.0) as usize;
    seedlings.sort_by(|one, other| other.record.total_cmp(&one.record));
    seedlings.truncate(left);
    record(&mut seedlings, strategy.heritability, deviation, luck);
    seedlings
}

/// Gives each plant a record of this heritability, and the prediction that follows: regressed to their mean.
fn record(plants: &mut [Player], heritability: f64, deviation: f64, luck: &mut Rng) {
    let noise = if heritability > 0.0 {
        deviation * ((1.0 - heritability) / heritability).sqrt()
    } else {
        0.0
    };
    let mut sum = 0.0;
    for plant in plants.iter_mut() {
        let chance = normal(luck);
        plant.record = if heritability > 0.0 {
            plant.value + noise * chance
        } else {
            chance
        };
        sum += plant.value;
    }
    let mean = sum / plants.len().max(1) as f64;
    for plant in plants {
        plant.seen = if heritability > 0.0 {
            mean + heritability * (plant.record - mean)
        } else {
            mean
        };
    }
}

/// The best of a sex by what they are thought to be worth.
fn best(players: &[Player], female: bool, many: u32) -> Vec<usize> {
    let mut of_sex: Vec<usize> = (0..players.len())
        .filter(|&plant| players[plant].female == female)
        .collect();
    of_sex.sort_by(|&one, &other| {
        let (one, other) = (&players[one], &players[other]);
        other
            .seen
            .total_cmp(&one.seen)
            .then(other.record.total_cmp(&one.record))
    });
    of_sex.truncate(many as usize);
    of_sex
}

/// Who meets whom: every parent about equally often.
fn pairs(
    strategy: &Strategy,
    players: &[Player],
    parents: &[Vec<usize>; 2],
    genes: &Genes,
    luck: &mut Rng,
) -> Vec<(usize, usize)> {
    let [females, males] = parents;
    let mut order = [females.clone(), males.clone()];
    let mut used = vec![0_u32; males.len()];
    (0..strategy.crosses as usize)
        .map(|cross| {
            for side in &mut order {
                if cross % side.len() == 0 {
                    luck.shuffle(side);
                }
            }
            let female = order[0][cross % females.len()];
            let male = match strategy.pairing {
                Pairing::Chance => order[1][cross % males.len()],
                Pairing::LeastRelated => {
                    let kinship = |male: usize| {
                        (1e6 * genes.kinship(&players[female].genome, &players[male].genome)) as u64
                    };
                    let least = used.iter().min().copied().unwrap_or_default();
                    let free = (0..males.len()).filter(|&male| used[male] == least);
                    let place = free
                        .min_by_key(|&male| (kinship(males[male]), Reverse(male)))
                        .unwrap_or(0);
                    used[place] += 1;
                    males[place]
                }
            };
            (female, male)
        })
        .collect()
}
