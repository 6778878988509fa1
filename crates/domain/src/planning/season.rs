//! The plan of the season's crosses: which to make, and how many seeds of each to sow.

use super::{Candidate, Candidates, Funnel, Rates, Space, SurvivalStage};
use crate::genetics::{Explanation, Progress, ProgressSink, number};
use crate::record::protocol::Regimen;
use crate::{Genotype, Id, Project};
use quant::mating::{
    self, CountLimit, Family, MatingError, Plan, Problem, Quantities, Request, RoomLimit,
};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// Weeks in which pollen can be given in a season: common practice.
pub const POLLINATION_WEEKS: u32 = 4;
/// Seeds in a portion where boxes are no limit.
const PORTION: u32 = 10;
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
    /// Whether it must be made.
    pub locked: bool,
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
    /// How much the mean kinship of the seedlings lies above that of the program now.
    pub kinship_rise: f64,
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
    /// There is no room for a single portion.
    NoRoom,
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
            Self::NoRoom => {
                "There is no room for seed of a single cross. Give more boxes, cells, pots or cones with the goals."
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
            MatingError::Nothing => Self::NoRoom,
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
    /// Mean kinship of the living plants.
    pub program_kinship: f64,
    /// How much the goals let it rise.
    pub accepted_rise: f64,
    /// How many plants the best of which count.
    pub wanted: u32,
    /// Seeds that there is room for, or that were asked for.
    pub seeds: u32,
    /// Seeds are given out in portions of so many.
    pub portion: u32,
    /// What a plan's gain is counted from: the index of an average seedling of all pairs.
    pub level: f64,
    pairs: Vec<PairKey>,
    per_seed: Vec<PerSeed>,
    box_fill: u32,
    locked: Vec<usize>,
    problem: Problem,
}

/// What comes of a seed of a family, and what it takes.
#[derive(Debug, Clone, Copy)]
struct PerSeed {
    sprouts: f64,
    females: f64,
    cones: f64,
    settled: f64,
    mean: f64,
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
            .map(|pair| PerSeed::of(pair, rates))
            .collect();
        let box_fill = box_fill(project);
        let (portion, least) = match goals.space.boxes {
            Some(_) => (box_fill, 1),
            None => (PORTION, least_seeds(project).div_ceil(PORTION).max(1)),
        };
        let asked = match wish.seeds {
            Some(seeds) => seeds,
            None if goals.space != Space::default() => u32::MAX,
            None => enough(candidates, offered[0], rates).clamp(10 * portion, MOST_UNASKED),
        };
        let limits = Limits {
            goals: candidates,
            offered: &offered,
            per_seed: &per_seed,
            portion,
            asked,
        };
        let level = per_seed.iter().map(|each| each.mean).sum::<f64>() / per_seed.len() as f64;
        let quantities = Quantities {
            portion,
            least,
            wanted: goals.good_females.min(50),
            floor: level,
        };
        let problem = limits.problem(quantities)?;
        let room = (0..offered.len())
            .map(|family| problem.most(family))
            .max()
            .unwrap_or(0);
        if room == 0 {
            return Err(NoPlan::NoRoom);
        }
        let pairs: Vec<PairKey> = offered
            .iter()
            .map(|pair| (pair.female, pair.pollen.male))
            .collect();
        let locked = wish
            .locked
            .iter()
            .map(|wanted| {
                pairs
                    .iter()
                    .position(|pair| pair == wanted)
                    .ok_or(NoPlan::Locked)
            })
            .collect::<Result<Vec<_>, _>>()?;
        Ok(Self {
            revision: candidates.revision,
            program_kinship: candidates.program_kinship,
            accepted_rise: goals.kinship_rise,
            wanted: quantities.wanted,
            seeds: limits.seeds(),
            portion,
            level,
            pairs,
            per_seed,
            box_fill,
            locked,
            problem,
        })
    }

    /// Plans from the most diverse to the most gain. `known` plans of the same planner or of one with the same pairs
    /// are never done worse than.
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
            sink(progress("Weighing gain against diversity", part))
        })?;
        Ok(plans.iter().map(|plan| self.told(plan)).collect())
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
            coancestry: self.program_kinship + at_most.kinship_rise + 1e-9,
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
        Ok((self.told(&plan), locks))
    }

    /// Which of the plans the goals would take: the most gain of those whose kinship rises no more than accepted, or
    /// the most diverse if none does.
    pub fn accepted(&self, plans: &[SeasonPlan]) -> usize {
        let within = |plan: &SeasonPlan| plan.kinship_rise <= self.accepted_rise + 1e-9;
        plans.iter().rposition(within).unwrap_or(0)
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
                portions[family] = cross.seeds / self.portion;
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
                    locked: self.locked.contains(&family),
                }
            })
            .collect();
        crosses.sort_by_key(|cross| (std::cmp::Reverse(cross.seeds), cross.female, cross.male));
        SeasonPlan {
            crosses,
            gain: plan.gain,
            bound: plan.bound,
            kinship_rise: plan.coancestry.unwrap_or(self.program_kinship) - self.program_kinship,
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

    /// How much better a plan could at most be, as a share of the bound.
    pub fn distance(&self) -> f64 {
        if self.bound > 0.0 {
            ((self.bound - self.gain) / self.bound).max(0.0)
        } else {
            0.0
        }
    }

    /// How far the plan is from the best there can be, in plain words.
    pub fn distance_words(&self) -> String {
        let share = 100.0 * self.distance();
        if share < 0.05 {
            "No plan within these limits is better.".into()
        } else {
            format!("No plan within these limits is better by more than {share:.1} %.")
        }
    }

    /// How the figures of the plan come about.
    pub fn explain(&self, planner: &Planner) -> Explanation {
        Explanation::new(
            format!("Gain {}", number(self.gain)),
            "Expected index of the best plants of all crosses together, as many as good females are hoped for, less the index of an average seedling of all pairs. A plant counts if it comes up, is female and reaches the thresholds; a place that none fills counts nothing. Index and thresholds are taken as independent within a family.",
            "Concave bound by second-order cone programming; contributions after Meuwissen (1997), J. Anim. Sci. 75:934-940",
        )
        .with("best plants", planner.wanted.to_string())
        .with("index of an average seedling", number(planner.level))
        .with("no plan gains more than", number(self.bound))
        .with("kinship of the program now", number(planner.program_kinship))
        .with("kinship of the seedlings", number(planner.program_kinship + self.kinship_rise))
        .with("seeds to a portion", planner.portion.to_string())
    }
}

impl PerSeed {
    fn of(pair: &Candidate, rates: &Rates) -> Self {
        let mean = |step| {
            rates
                .of_stage(step, pair.female, pair.pollen.male)
                .rate
                .mean()
        };
        let sprouts = mean(SurvivalStage::Viable)
            * mean(SurvivalStage::Chilled)
            * mean(SurvivalStage::Germinated);
        let settled = sprouts * mean(SurvivalStage::Potted);
        Self {
            sprouts,
            settled,
            females: settled * mean(SurvivalStage::Female) * pair.reaches_all.unwrap_or(1.0),
            cones: 1.0 / rates.seeds_per_cone(pair.female).value.max(0.01),
            mean: pair.index.mean,
        }
    }
}

/// The limits of a season as the optimiser takes them.
struct Limits<'a> {
    goals: &'a Candidates,
    offered: &'a [&'a Candidate],
    per_seed: &'a [PerSeed],
    portion: u32,
    asked: u32,
}

impl Limits<'_> {
    fn problem(&self, quantities: Quantities) -> Result<Problem, NoPlan> {
        let both = self
            .offered
            .iter()
            .flat_map(|pair| [pair.female, pair.pollen.male]);
        let parents: Vec<Id<Genotype>> = both.collect::<BTreeSet<_>>().into_iter().collect();
        let place = |plant: Id<Genotype>| parents.binary_search(&plant).unwrap_or(0);
        let of_all = &self.goals.kinship;
        let indices: Vec<usize> = parents
            .iter()
            .filter_map(|&plant| of_all.index(plant))
            .collect();
        if indices.len() != parents.len() {
            return Err(NoPlan::Figures);
        }
        let kinship = of_all.numbers().coancestry_block(&indices, &indices);
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
        let (rooms, counts) = (self.rooms(), self.counts());
        Ok(Problem::new(
            families.collect(),
            kinship,
            quantities,
            rooms,
            counts,
        )?)
    }

    /// The seeds that there is room for.
    fn seeds(&self) -> u32 {
        let boxes = self
            .goals
            .goals
            .space
            .boxes
            .map(|boxes| boxes.saturating_mul(self.portion));
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

    fn rooms(&self) -> Vec<RoomLimit> {
        let all = |room: f64, take: &dyn Fn(&PerSeed) -> f64| RoomLimit {
            room,
            takes: self.per_seed.iter().map(take).enumerate().collect(),
        };
        let seeds = f64::from(self.portion);
        let space = self.goals.goals.space;
        let sprouts = |each: &PerSeed| seeds * each.sprouts;
        let mut rooms = Vec::new();
        if self.asked < u32::MAX {
            rooms.push(all(self.asked.into(), &|_| seeds));
        }
        rooms.extend(space.boxes.map(|boxes| all(boxes.into(), &|_| 1.0)));
        rooms.extend(space.cells.map(|cells| all(cells.into(), &sprouts)));
        rooms.extend(space.pots.map(|pots| all(pots.into(), &sprouts)));
        rooms.extend(
            space
                .hills
                .map(|hills| all(hills.into(), &|each| seeds * each.settled)),
        );
        if let Some(cones) = self.goals.goals.limits.cones_per_female {
            rooms.extend(self.by(|pair| pair.female).into_values().map(|families| {
                RoomLimit {
                    room: cones.into(),
                    takes: families
                        .iter()
                        .map(|&each| (each, seeds * self.per_seed[each].cones))
                        .collect(),
                }
            }));
        }
        rooms
    }

    fn counts(&self) -> Vec<CountLimit> {
        let limits = self.goals.goals.limits;
        let mut counts = Vec::new();
        if let Some(most) = limits.crosses_per_male {
            let by_male = self.by(|pair| pair.pollen.male).into_values();
            counts.extend(by_male.map(|families| CountLimit { most, families }));
        }
        if let Some(a_week) = limits.crosses_per_week {
            counts.push(CountLimit {
                most: a_week.saturating_mul(POLLINATION_WEEKS),
                families: (0..self.offered.len()).collect(),
            });
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
