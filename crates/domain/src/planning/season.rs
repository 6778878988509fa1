//! The plan of the season's crosses: which to make, and how many seeds of each to sow.

mod good;
mod limits;
mod per_seed;
mod words;

use super::diversity::Diversity;
use super::{BadCase, Candidate, Candidates, Funnel, Rates, Space};
use crate::genetics::{Progress, ProgressSink};
use crate::record::protocol::Regimen;
use crate::{Genotype, Id, Project};
use chrono::NaiveDate;
use good::GoodInStages;
use limits::Limits;
pub use limits::{Binding, LimitKind};
use per_seed::PerSeed;
use quant::mating::{self, MatingError, Plan, Problem, Quantities, Request, SureRequest};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// Weeks in which pollen can be given in a season: common practice.
pub const POLLINATION_WEEKS: u32 = 4;
/// Seeds are given out in portions of so many at the most, and of one where there are few.
const PORTION: u32 = 10;
/// As many portions as this tell crosses apart finely enough.
const PORTIONS: u32 = 200;
/// What is given up of the gain for diversity where the goals set no limit: a tenth. Our own rule.
const GIVEN_UP: f64 = 0.1;
/// A parent known less well than this is a gamble: half of what it will pass on, or more, isn't known. Our own rule.
const GAMBLE: f64 = 0.3;
/// The best pairs that a plan is chosen from, and besides the best of every parent.
const PAIRS: usize = 1500;
const OF_EACH_PARENT: usize = 3;
/// Most seeds of a season where neither room nor a number is given.
const MOST_UNASKED: u32 = 2000;

/// A female and the male meant for her.
pub type PairKey = (Id<Genotype>, Id<Genotype>);

/// What is asked of the plan beside the goals.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PlanWish {
    /// How many seeds to sow in all, whatever the room; calculated from the goals if `None`.
    pub seeds: Option<u32>,
    /// Crosses that must be made.
    pub locked: Vec<PairKey>,
}

/// One cross of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedCross {
    /// The seed parent.
    pub female: Id<Genotype>,
    /// The pollen parent.
    pub male: Id<Genotype>,
    /// Seeds to sow.
    pub seeds: u32,
    /// Cones to pollinate for them, on average.
    pub cones: u32,
    /// Boxes in the cold.
    pub boxes: u32,
    /// Sprouts expected: cells, then pots.
    pub sprouts: f64,
    /// Good females expected to choose from.
    pub females: f64,
    /// Expected index of a seedling.
    pub mean: f64,
    /// How well the index of the parent known less well is known: its accuracy, 0 to 1.
    pub accuracy: f64,
    /// Whether it must be made.
    pub locked: bool,
}

impl PlannedCross {
    /// Whether next to nothing is known of one of its parents.
    pub fn is_gamble(&self) -> bool {
        self.accuracy < GAMBLE
    }
}

/// A set of crosses and what it is expected to bring.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonPlan {
    /// The crosses, most seeds first.
    pub crosses: Vec<PlannedCross>,
    /// Expected index of the best plants, as many as good females are hoped for, above the average pair.
    pub gain: f64,
    /// No plan within the limits gains more than this.
    pub bound: f64,
    /// The chance of as many good females as the goals want, from all crosses together, their parents' errors and the
    /// rates of seed being drawn as they are known.
    pub chance: f64,
    /// The chance if every seedling were kept until the last trait is seen; `None` where all traits are seen in one year.
    pub chance_keeping_all: Option<f64>,
    /// Rate of coancestry per generation: see [`Diversity`].
    pub rate: f64,
}

/// What a lock costs.
#[derive(Debug, Clone, PartialEq)]
pub struct Lock {
    /// The cross.
    pub pair: PairKey,
    /// Gain without this lock less gain with it.
    pub cost: f64,
}

/// Why there is no plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoPlan {
    /// No trait has a weight, or none is known to vary.
    NoGoals,
    /// No pair is offered.
    NoPair,
    /// There is no room for a single seed: by this limit.
    NoRoom(LimitKind),
    /// What is locked in does not fit.
    Locked,
    /// The figures contradict one another.
    Figures,
    /// It was stopped.
    Stopped,
}

impl fmt::Display for NoPlan {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NoGoals => {
                "There is nothing to plan for yet. Under Goals, give at least one trait a weight (and a spread, if \
                it is measured)."
            }
            Self::NoPair => {
                "No pair can be crossed. See 'Ruled out' on the Pairs page for the reasons."
            }
            Self::NoRoom(limit) => {
                return write!(
                    f,
                    "There is no room for a single seed: what the goals give as {} takes none. Give more of it, or leave it empty if it is no limit.",
                    limit.words()
                );
            }
            Self::Locked => {
                "The crosses that must be made don't fit within the limits. Let one of them go, or give more room with the goals."
            }
            Self::Figures => {
                "The kinships contradict one another. See under Findings which parents are in doubt."
            }
            Self::Stopped => "Stopped. There is no new plan.",
        })
    }
}

impl From<MatingError> for NoPlan {
    fn from(error: MatingError) -> Self {
        match error {
            MatingError::Nothing => Self::NoRoom(LimitKind::Seeds),
            MatingError::Locked => Self::Locked,
            MatingError::Stopped => Self::Stopped,
            MatingError::Figure | MatingError::Missing | MatingError::Kinship => Self::Figures,
        }
    }
}

/// Plans the season's crosses, at one revision of a project.
#[derive(Debug, Clone)]
pub struct Planner {
    /// The revision of the project that this holds for.
    pub revision: u64,
    /// What the rate of coancestry is counted from.
    pub diversity: Diversity,
    /// The greatest rate of coancestry that the goals accept, if they set one.
    pub accepted_rate: Option<f64>,
    /// How many good females are hoped for; of so many, fifty at most, the best count as gain.
    pub wanted: u32,
    /// How sure they are to be.
    pub sure: f64,
    /// Seeds that there is room for, or that were asked for.
    pub seeds: u32,
    /// Seeds are given out in portions of so many.
    pub portion: u32,
    /// What a plan's gain is counted from: the index of an average seedling of all pairs.
    pub level: f64,
    conditions: BTreeMap<Id<Genotype>, Vec<String>>,
    bad_cases: BTreeMap<PairKey, BadCase>,
    accuracies: BTreeMap<Id<Genotype>, f64>,
    pairs: Vec<PairKey>,
    per_seed: Vec<PerSeed>,
    box_fill: u32,
    locked: Vec<usize>,
    problem: Problem,
    good: GoodInStages,
    room_kinds: Vec<LimitKind>,
    count_kinds: Vec<LimitKind>,
}

/// The parents whose crossing is bound to conditions, with a sentence for each.
fn conditions_of(candidates: &Candidates) -> BTreeMap<Id<Genotype>, Vec<String>> {
    let parents = candidates.females.iter().chain(&candidates.males);
    parents
        .filter(|parent| !parent.conditions.is_empty())
        .map(|parent| (parent.plant, parent.conditions.clone()))
        .collect()
}

/// Where each of these pairs stands among those offered.
fn places(offered: &[PairKey], wanted: &[PairKey]) -> Result<Vec<usize>, NoPlan> {
    let place = |pair| offered.iter().position(|each| each == pair);
    wanted
        .iter()
        .map(|pair| place(pair).ok_or(NoPlan::Locked))
        .collect()
}

impl Planner {
    /// Reads the goals, the pairs offered and the rates.
    ///
    /// # Errors
    /// No pair, no room, or a lock on a pair that is not offered.
    pub fn of(
        project: &Project,
        candidates: &Candidates,
        rates: &Rates,
        wish: &PlanWish,
        today: NaiveDate,
    ) -> Result<Self, NoPlan> {
        let goals = &candidates.goals;
        let offered = chosen_pairs(candidates, wish);
        if offered.is_empty() {
            return Err(NoPlan::NoPair);
        }
        let varies =
            |pair: &&Candidate| pair.index.spread > 0.0 || pair.index.mean != offered[0].index.mean;
        if !offered.iter().any(varies) {
            return Err(NoPlan::NoGoals);
        }
        let per_seed: Vec<PerSeed> = offered
            .iter()
            .map(|pair| PerSeed::of(candidates, pair, rates))
            .collect();
        let diversity = Diversity::of(project, candidates, &offered, today);
        let box_fill = box_fill(project);
        let asked = match wish.seeds {
            Some(seeds) => seeds,
            None if goals.space != Space::default() => u32::MAX,
            None => enough(candidates, offered[0], rates).clamp(10 * PORTION, MOST_UNASKED),
        };
        let mut limits = Limits {
            goals: candidates,
            offered: &offered,
            per_seed: &per_seed,
            diversity: &diversity,
            box_fill,
            portion: 1,
            asked,
        };
        let seeds = limits.seeds();
        limits.portion = portion(seeds, box_fill);
        let parents = parents(&offered);
        let level = mean_of(&per_seed);
        let mut quantities = Quantities {
            portion: limits.portion,
            least: 1,
            wanted: goals.good_females.min(50),
            floor: level,
        };
        let mut problem = limits.problem(&parents, quantities)?;
        let room = (0..offered.len()).map(|family| problem.most(family)).max();
        let room = room.unwrap_or(0);
        let rooms = limits.rooms();
        if room == 0 {
            return Err(NoPlan::NoRoom(limits::tightest(&rooms)));
        }
        // Fewer than a box is meant to hold are sown only where limits, such as on cones, leave a quarter of the pairs room
        // for no more.
        let mut alone: Vec<u32> = (0..offered.len())
            .map(|family| problem.most(family))
            .filter(|most| *most > 0)
            .collect();
        alone.sort_unstable();
        let usual = alone[(alone.len() - 1) / 4];
        let least = least_seeds(project)
            .div_ceil(limits.portion)
            .clamp(1, usual);
        if least > 1 {
            quantities.least = least;
            problem = limits.problem(&parents, quantities)?;
        }
        let good = GoodInStages::of(candidates, &offered, &parents, rates);
        let pairs: Vec<PairKey> = offered
            .iter()
            .map(|pair| (pair.female, pair.pollen.male))
            .collect();
        let locked = places(&pairs, &wish.locked)?;
        let count_kinds = limits.counts().into_iter().map(|each| each.0).collect();
        Ok(Self {
            revision: candidates.revision,
            accepted_rate: goals.coancestry_rate,
            wanted: goals.good_females,
            sure: goals.sure,
            seeds,
            portion: limits.portion,
            room_kinds: rooms.into_iter().map(|each| each.0).collect(),
            count_kinds,
            good,
            diversity: diversity.clone(),
            level,
            conditions: conditions_of(candidates),
            accuracies: parents
                .iter()
                .map(|plant| (*plant, candidates.accuracy(*plant)))
                .collect(),
            bad_cases: offered
                .iter()
                .filter_map(|pair| Some(((pair.female, pair.pollen.male), pair.bad_case?)))
                .collect(),
            pairs,
            per_seed,
            box_fill,
            locked,
            problem,
        })
    }

    /// How well the index of a parent is known: its accuracy, 0 to 1.
    pub fn accuracy(&self, parent: Id<Genotype>) -> f64 {
        self.accuracies.get(&parent).copied().unwrap_or(0.0)
    }

    /// The crosses of a plan that may come out more inbred than the goals accept: a sentence each.
    pub fn bad_case_words(&self, project: &Project, plan: &SeasonPlan) -> Vec<String> {
        plan.crosses
            .iter()
            .filter_map(|cross| {
                let bad = self.bad_cases.get(&(cross.female, cross.male))?;
                Some(format!(
                    "{} × {}: {} Test the parent's paternity first, or take another pair.",
                    project.code_of(cross.female),
                    project.code_of(cross.male),
                    bad.words()
                ))
            })
            .collect()
    }

    /// On what conditions the parents of a plan may be crossed, and what is still open about plants that they descend
    /// from: a sentence each, none twice.
    pub fn conditions(&self, plan: &SeasonPlan) -> Vec<String> {
        let parents = plan
            .crosses
            .iter()
            .flat_map(|each| [each.female, each.male]);
        let mut seen = BTreeSet::new();
        parents
            .filter(|parent| seen.insert(*parent))
            .filter_map(|parent| self.conditions.get(&parent))
            .flatten()
            .cloned()
            .collect()
    }

    /// Plans from the most diverse to the most gain, and beside those that aren't as sure as wished the ones that are,
    /// if any can be. `known` plans of the same planner or of one with the same pairs are never done worse than.
    ///
    /// # Errors
    /// No plan within the limits, or stopped.
    pub fn curve(
        &self,
        points: usize,
        known: &[SeasonPlan],
        sink: &mut ProgressSink<'_>,
    ) -> Result<Vec<SeasonPlan>, NoPlan> {
        let known = self.known(known);
        let plans = mating::curve(&self.problem, &self.locked, points, &known, &mut |part| {
            sink(progress("Weighing gain against diversity", 0.7 * part))
        })?;
        let mut told: Vec<SeasonPlan> = plans.iter().map(|plan| self.told(plan)).collect();
        if points > 1 {
            self.make_surer(&plans, &mut told, sink)?;
        }
        told.sort_by(|one, other| {
            (one.rate, one.gain)
                .partial_cmp(&(other.rate, other.gain))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        Ok(told)
    }

    /// Adds the plans that bring enough good females as surely as wished, at the diversity of each plan that doesn't
    /// and at that of the goals.
    fn make_surer(
        &self,
        plans: &[Plan],
        told: &mut Vec<SeasonPlan>,
        sink: &mut ProgressSink<'_>,
    ) -> Result<(), NoPlan> {
        let mut limits: Vec<(f64, Vec<Vec<u32>>)> = plans
            .iter()
            .zip(&*told)
            .filter(|(_, told)| told.chance < self.sure)
            .map(|(plan, _)| {
                (
                    plan.coancestry.unwrap_or(f64::INFINITY),
                    vec![plan.portions.clone()],
                )
            })
            .collect();
        if told.iter().any(|plan| plan.chance < self.sure) {
            let all: Vec<Vec<u32>> = plans.iter().map(|plan| plan.portions.clone()).collect();
            if let Some(rate) = self.accepted_rate {
                limits.push((self.diversity.coancestry(rate), all.clone()));
            }
            limits.push((f64::INFINITY, all));
        }
        let bound = plans
            .iter()
            .map(|plan| plan.bound)
            .fold(f64::NEG_INFINITY, f64::max);
        let count = limits.len().max(1) as f64;
        for (nth, (coancestry, known)) in limits.into_iter().enumerate() {
            let request = SureRequest {
                coancestry: coancestry + 1e-9,
                locked: self.locked.clone(),
                sure: self.sure,
            };
            let found = mating::surest(
                &self.problem,
                &self.good.found,
                &request,
                &known,
                bound,
                &mut |part| {
                    let part = 0.7 + 0.3 * (nth as f64 + part) / count;
                    sink(progress("Making the goal surer", part))
                },
            );
            match found {
                Ok(found) => {
                    let surer = self.told(&found);
                    let is_new = !told.iter().any(|plan| {
                        plan.rate <= surer.rate + 1e-9
                            && plan.chance.min(self.sure) >= surer.chance.min(self.sure) - 1e-3
                            && plan.gain >= surer.gain - 1e-9
                    });
                    if is_new {
                        told.push(surer);
                    }
                }
                Err(MatingError::Stopped) => return Err(NoPlan::Stopped),
                // Nothing lies within this limit: the plans there are stand.
                Err(_) => {}
            }
        }
        Ok(())
    }

    /// The chance of enough good females from so many portions of each family.
    fn chance(&self, portions: &[u32]) -> f64 {
        self.good.found.chance(&self.made(portions))
    }

    /// The same if every seedling were kept until the last trait is seen; `None` where all traits are seen in one year.
    fn chance_keeping_all(&self, portions: &[u32]) -> Option<f64> {
        let all = self.good.all.as_ref()?;
        Some(all.chance(&self.made(portions)))
    }

    /// Seeds of each family of a plan.
    fn made(&self, portions: &[u32]) -> Vec<(usize, u32)> {
        let families = portions.iter().enumerate();
        families
            .filter(|each| *each.1 > 0)
            .map(|(family, portions)| (family, portions * self.portion))
            .collect()
    }

    /// The best plan whose kinship rises no more than that of `at_most`, looked for with more patience, and what each
    /// lock costs at that point.
    ///
    /// # Errors
    /// No plan within the limits, or stopped.
    pub fn refine(
        &self,
        at_most: &SeasonPlan,
        branches: usize,
        sink: &mut ProgressSink<'_>,
    ) -> Result<(SeasonPlan, Vec<Lock>), NoPlan> {
        let request = Request {
            coancestry: self.diversity.coancestry(at_most.rate) + 1e-9,
            locked: self.locked.clone(),
            branches,
        };
        let known = self.known(std::slice::from_ref(at_most));
        let (plan, costs) = mating::lock_costs(&self.problem, &request, &known, &mut |part| {
            sink(progress("What each lock costs", part))
        })?;
        let locks = costs
            .iter()
            .map(|each| Lock {
                pair: self.pairs[each.family],
                cost: each.cost,
            })
            .collect();
        let refined = self.told(&plan);
        // More gain is no better where it makes the goal less sure than it was or need be.
        let is_as_sure = refined.chance >= at_most.chance.min(self.sure) - 1e-3;
        Ok((if is_as_sure { refined } else { at_most.clone() }, locks))
    }

    /// Which of the plans the goals would take. Of those within the rate of coancestry accepted, or of all if none is or
    /// no rate is set: the ones that reach the goal as surely as wished, or the surest; of these the one with the most
    /// gain or, where no rate is set or none can be kept, the most diverse that gives up no more than a tenth of it.
    pub fn accepted(&self, plans: &[SeasonPlan]) -> usize {
        let within = |plan: &&(usize, &SeasonPlan)| {
            self.accepted_rate
                .is_some_and(|rate| plan.1.rate <= rate + 1e-9)
        };
        let all: Vec<(usize, &SeasonPlan)> = plans.iter().enumerate().collect();
        let kept: Vec<(usize, &SeasonPlan)> = all.iter().filter(within).copied().collect();
        let limited = !kept.is_empty();
        let among = if limited { kept } else { all };
        let surest = among.iter().map(|each| each.1.chance).fold(0.0, f64::max);
        let enough = surest.min(self.sure) - 1e-3;
        let sure = || among.iter().filter(|each| each.1.chance >= enough);
        let most = sure()
            .map(|each| each.1.gain)
            .fold(f64::NEG_INFINITY, f64::max);
        let least = if limited {
            most
        } else {
            most - GIVEN_UP * most.abs()
        };
        sure()
            .filter(|each| each.1.gain >= least - 1e-12)
            .min_by(|one, other| one.1.rate.total_cmp(&other.1.rate))
            .map_or(0, |each| each.0)
    }

    /// Portions of plans known, in the order of the families here.
    fn known(&self, plans: &[SeasonPlan]) -> Vec<Vec<u32>> {
        let portions = |plan: &SeasonPlan| -> Option<Vec<u32>> {
            let mut portions = vec![0; self.pairs.len()];
            for cross in &plan.crosses {
                let family = self
                    .pairs
                    .iter()
                    .position(|pair| *pair == (cross.female, cross.male))?;
                portions[family] = cross.seeds.div_ceil(self.portion);
            }
            Some(portions)
        };
        plans.iter().filter_map(portions).collect()
    }

    fn told(&self, plan: &Plan) -> SeasonPlan {
        let made = plan.portions.iter().enumerate().filter(|each| *each.1 > 0);
        let mut crosses: Vec<PlannedCross> = made
            .map(|(family, portions)| {
                let seeds = portions * self.portion;
                let each = self.per_seed[family];
                let (female, male) = self.pairs[family];
                PlannedCross {
                    female,
                    male,
                    seeds,
                    cones: (f64::from(seeds) * each.cones).ceil() as u32,
                    boxes: seeds.div_ceil(self.box_fill),
                    sprouts: f64::from(seeds) * each.sprouts,
                    females: f64::from(seeds) * each.females,
                    mean: each.mean,
                    accuracy: each.accuracy,
                    locked: self.locked.contains(&family),
                }
            })
            .collect();
        crosses.sort_by_key(|cross| (std::cmp::Reverse(cross.seeds), cross.female, cross.male));
        SeasonPlan {
            crosses,
            gain: plan.gain,
            bound: plan.bound,
            chance: self.chance(&plan.portions),
            chance_keeping_all: self.chance_keeping_all(&plan.portions),
            rate: plan
                .coancestry
                .map_or(0.0, |coancestry| self.diversity.rate(coancestry)),
        }
    }
}

impl SeasonPlan {
    /// Seeds of all crosses.
    pub fn seeds(&self) -> u32 {
        self.crosses.iter().map(|cross| cross.seeds).sum()
    }

    /// Boxes of all crosses.
    pub fn boxes(&self) -> u32 {
        self.crosses.iter().map(|cross| cross.boxes).sum()
    }

    /// Sprouts expected of all crosses.
    pub fn sprouts(&self) -> f64 {
        self.crosses.iter().map(|cross| cross.sprouts).sum()
    }
}

fn mean_of(per_seed: &[PerSeed]) -> f64 {
    per_seed.iter().map(|each| each.mean).sum::<f64>() / per_seed.len() as f64
}

/// Seeds in a portion: so few that none are stranded, and so many that a box is filled with whole ones.
fn portion(seeds: u32, box_fill: u32) -> u32 {
    let most = (seeds / PORTIONS).clamp(1, PORTION);
    (1..=most)
        .rev()
        .find(|portion| box_fill.is_multiple_of(*portion))
        .unwrap_or(1)
}

fn parents(offered: &[&Candidate]) -> Vec<Id<Genotype>> {
    let both = offered
        .iter()
        .flat_map(|pair| [pair.female, pair.pollen.male]);
    both.collect::<BTreeSet<_>>().into_iter().collect()
}

/// Seeds of a pair that give what the goals want, as surely as they want it.
fn enough(candidates: &Candidates, pair: &Candidate, rates: &Rates) -> u32 {
    let goals = &candidates.goals;
    let seeds = Funnel::of(candidates, pair, rates).fewest_seeds(goals.good_females, goals.sure);
    seeds
        .and_then(|seeds| u32::try_from(seeds).ok())
        .unwrap_or(MOST_UNASKED)
}

/// The pairs a plan is chosen from: the best, the best of every parent, and what is locked in.
fn chosen_pairs<'a>(candidates: &'a Candidates, wish: &PlanWish) -> Vec<&'a Candidate> {
    let locked: BTreeSet<PairKey> = wish.locked.iter().copied().collect();
    let mut seen: BTreeMap<Id<Genotype>, usize> = BTreeMap::new();
    let mut chosen = Vec::new();
    for (rank, pair) in candidates
        .pairs
        .iter()
        .filter(|pair| pair.is_offered())
        .enumerate()
    {
        let parents = [pair.female, pair.pollen.male];
        let rare = parents
            .iter()
            .any(|parent| seen.get(parent).is_none_or(|&count| count < OF_EACH_PARENT));
        if rank < PAIRS || rare || locked.contains(&(pair.female, pair.pollen.male)) {
            for parent in parents {
                *seen.entry(parent).or_default() += 1;
            }
            chosen.push(pair);
        }
    }
    chosen
}

/// The regimen that the season's seed will be chilled under.
pub(super) fn regimen(project: &Project) -> Regimen {
    let protocol = project
        .settings()
        .protocol
        .and_then(|protocol| project.protocols().get(protocol));
    protocol.map_or_else(Regimen::default, |protocol| protocol.regimen.clone())
}

fn box_fill(project: &Project) -> u32 {
    regimen(project).box_to.max(1)
}

fn least_seeds(project: &Project) -> u32 {
    regimen(project).box_from.max(1)
}

pub(super) fn progress(step: &'static str, part: f64) -> Progress {
    Progress {
        step,
        part: Some(part as f32),
        iteration: None,
    }
}
