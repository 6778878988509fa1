//! How much of the seed gets through each stage, learned from the program's own records.

use super::prior::{COMMON_PRACTICE, Prior, prior};
use crate::date::shift;
use crate::explanation::{Explanation, number};
use crate::ledger::BoxTally;
use crate::progress::{CrossProgress, seeds_got};
use crate::{
    BoxFate, ChillBox, Cross, CrossEventKind, EndKind, Genotype, Id, LotSource, Origin,
    PartialDate, Pollen, Project, RestFate, SeedLot, Sex,
};
use chrono::NaiveDate;
use quant::chance::{Pooled, Rate, Tally};
use std::collections::{BTreeMap, BTreeSet};

/// A potted seedling that lived so many days has survived potting: common practice.
const SETTLED: i64 = 60;

/// A stage between cleaned seed and a female of known sex, in the order seed goes through them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SurvivalStage {
    /// A cleaned seed is alive: it isn't found dead in warmth.
    Viable,
    /// It comes through the cold without mould.
    Chilled,
    /// It germinates normally.
    Germinated,
    /// Its seedling lives two months in a pot.
    Potted,
    /// The plant is female.
    Female,
}

impl SurvivalStage {
    /// All of them, in order.
    pub const ALL: [Self; 5] = [
        Self::Viable,
        Self::Chilled,
        Self::Germinated,
        Self::Potted,
        Self::Female,
    ];

    /// What has come so far, for a line of the funnel.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Viable => "alive when cleaned",
            Self::Chilled => "through the cold",
            Self::Germinated => "germinated",
            Self::Potted => "settled in pots",
            Self::Female => "female",
        }
    }
}

/// What seed is of: plants of one family share their rates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum SeedFamily {
    /// Of a female and one male, whatever the season.
    Pair(Id<Genotype>, Id<Genotype>),
    /// Of a cross with mixed, open or unknown pollen.
    Cross(Id<Cross>),
    /// Of a female left open.
    Open(Id<Genotype>),
    /// Bought, or of unknown origin.
    Lot(Id<SeedLot>),
}

/// A rate and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnedRate {
    /// The rate.
    pub rate: Rate,
    /// Seen in the family itself.
    pub own: Tally,
    /// Seen in the other families of the program.
    pub others: Tally,
    /// How many other families these were.
    pub families: usize,
    /// How much rates differ between families: 0 not at all, 1 wholly.
    pub correlation: f64,
    /// What was thought before anything was seen.
    pub prior: Prior,
}

/// What the records tell of each stage, at one revision of a project.
#[derive(Debug, Clone, PartialEq)]
pub struct Rates {
    stages: [BTreeMap<SeedFamily, Tally>; SurvivalStage::ALL.len()],
    took: BTreeMap<Id<Genotype>, Tally>,
    /// Seeds and the cones they came from, by female.
    seed_set: BTreeMap<Id<Genotype>, (f64, f64)>,
    /// Cones and the bags they came from, by female.
    bagged: BTreeMap<Id<Genotype>, (f64, f64)>,
}

impl Rates {
    /// Reads the records as they stand on `today`.
    pub fn of(project: &Project, today: NaiveDate) -> Self {
        let mut rates = Self {
            stages: Default::default(),
            took: BTreeMap::new(),
            seed_set: BTreeMap::new(),
            bagged: BTreeMap::new(),
        };
        for chill_box in project.chill_boxes().iter() {
            if chill_box.rechilled_from.is_none() {
                rates.read_seed(project, chill_box);
            }
            rates.read_pots(project, chill_box, today);
        }
        for plant in project.genotypes().iter() {
            rates.read_sex(project, plant);
        }
        for cross in project.crosses().iter() {
            rates.read_cross(project, cross);
        }
        rates
    }

    /// The rate of a stage for seed of a female and a male: their own records, shrunk to those of the program's other
    /// families, and these to what is published or common practice.
    pub fn of_stage(
        &self,
        stage: SurvivalStage,
        female: Id<Genotype>,
        male: Id<Genotype>,
    ) -> LearnedRate {
        learn(
            &self.stages[stage as usize],
            SeedFamily::Pair(female, male),
            prior(stage),
        )
    }

    /// The chance that a pollinated cross of this female gives any seed.
    pub fn takes(&self, female: Id<Genotype>) -> LearnedRate {
        let prior = Prior {
            mean: 0.8,
            trials: 10.0,
            usual_correlation: 0.05,
            source: COMMON_PRACTICE,
        };
        learn(&self.took, female, prior)
    }

    /// Seeds to a hand-pollinated cone of this female, and how many cones were counted, hers first, the others then.
    ///
    /// 4 to slightly over 5 are published (Haunold & Stanwood 1985); that stands for 50 cones of the program, and the
    /// program for 50 of hers (common practice).
    pub fn seeds_per_cone(&self, female: Id<Genotype>) -> Mean {
        mean_of(&self.seed_set, female, 4.5, 50.0)
    }

    /// Cones in one bag of this female: 30 to begin with (common practice), which stands for two bags.
    pub fn cones_per_bag(&self, female: Id<Genotype>) -> Mean {
        mean_of(&self.bagged, female, 30.0, 2.0)
    }

    fn add(&mut self, stage: SurvivalStage, family: SeedFamily, passed: u32, trials: u32) {
        if trials > 0 {
            let tally = self.stages[stage as usize].entry(family).or_default();
            tally.passed += f64::from(passed.min(trials));
            tally.trials += f64::from(trials);
        }
    }

    /// Seed of one box and of those its rest was chilled again in, once all that became of it is known.
    fn read_seed(&mut self, project: &Project, root: &ChillBox) {
        let Some(family) = family_of_lot(project, root.lot) else {
            return;
        };
        let (mut mouldy, mut dead, mut sprouts) = (0_u32, 0_u32, 0_u32);
        let (mut open, mut seen) = (vec![root.id], BTreeSet::new());
        while let Some(id) = open.pop() {
            let Some(chill_box) = project.chill_boxes().get(id) else {
                return;
            };
            // A file may hold a ring of boxes, each chilled again from the other.
            if !seen.insert(id) {
                continue;
            }
            let tally = BoxTally::of(project, chill_box);
            let run_end = project.run_of(id).map(|run| run.end.as_ref());
            let again: Vec<_> = project
                .referring::<ChillBox>(id)
                .filter(|other| other.rechilled_from == Some(id))
                .map(|other| other.id)
                .collect();
            match (&chill_box.end, run_end) {
                (Some(end), _) if end.fate == BoxFate::Discarded => {
                    mouldy = mouldy.saturating_add(tally.left());
                }
                (None, Some(Some(end))) => match end.rest {
                    RestFate::Discarded | RestFate::NoneLeft => {}
                    RestFate::ChilledAgain if again.is_empty() => return,
                    RestFate::ChilledAgain => open.extend(again),
                },
                // Lost, gone back to the lot, or not yet at its end: nothing can be told.
                _ => return,
            }
            mouldy = mouldy.saturating_add(tally.mouldy);
            dead = dead.saturating_add(tally.dead);
            sprouts = sprouts.saturating_add(tally.sprouts());
        }
        let alive = root.seeds.saturating_sub(dead);
        let through = alive.saturating_sub(mouldy);
        self.add(SurvivalStage::Viable, family, alive, root.seeds);
        self.add(SurvivalStage::Chilled, family, through, alive);
        self.add(SurvivalStage::Germinated, family, sprouts, through);
    }

    fn read_pots(&mut self, project: &Project, chill_box: &ChillBox, today: NaiveDate) {
        let Some(family) = family_of_lot(project, chill_box.lot) else {
            return;
        };
        let moved = project.run_of(chill_box.id).map(|run| run.moved);
        let settled_by = shift(today, -SETTLED);
        let (mut lived, mut failed) = (0, 0);
        for plant in project.potted_out_of(chill_box.id) {
            let Some(potted) = plant.born.map(PartialDate::latest).or(moved) else {
                continue;
            };
            match &plant.end {
                Some(end) if end.date.earliest() <= shift(potted, SETTLED) => {
                    // Culled so early, it was alive; whether it would have lived nobody knows.
                    failed += u32::from(end.kind != EndKind::Culled);
                }
                Some(_) => lived += 1,
                None => lived += u32::from(potted <= settled_by),
            }
        }
        self.add(SurvivalStage::Potted, family, lived, lived + failed);
    }

    fn read_sex(&mut self, project: &Project, plant: &Genotype) {
        let family = match plant.origin {
            Origin::Cross { cross } => family_of_cross(project, cross),
            Origin::OpenPollinated { female } => Some(SeedFamily::Open(female)),
            _ => None,
        };
        if let (Some(family), Some(sex @ (Sex::Female | Sex::Male))) = (family, plant.known_sex()) {
            self.add(
                SurvivalStage::Female,
                family,
                u32::from(sex == Sex::Female),
                1,
            );
        }
    }

    fn read_cross(&mut self, project: &Project, cross: &Cross) {
        if cross.pollen == Pollen::Open {
            return;
        }
        let progress = CrossProgress::of(project, cross);
        let took = match progress {
            CrossProgress::SeedInLot | CrossProgress::Harvested => true,
            CrossProgress::Failed => false,
            _ => return,
        };
        let tally = self.took.entry(cross.female).or_default();
        tally.trials += 1.0;
        tally.passed += f64::from(u8::from(took));
        let (mut cones, mut bags) = (0_u32, 0_u32);
        for event in project.events_of(cross.id) {
            match event.what {
                CrossEventKind::ConesHarvested { cones: Some(more) } => {
                    cones = cones.saturating_add(more);
                }
                CrossEventKind::FemaleBagged { bags: Some(more) } => {
                    bags = bags.saturating_add(more);
                }
                _ => {}
            }
        }
        if cones > 0
            && let Some((seeds, _)) = seeds_got(project, cross)
        {
            let set = self.seed_set.entry(cross.female).or_default();
            *set = (set.0 + f64::from(seeds), set.1 + f64::from(cones));
        }
        if cones > 0 && bags > 0 {
            let bagged = self.bagged.entry(cross.female).or_default();
            *bagged = (bagged.0 + f64::from(cones), bagged.1 + f64::from(bags));
        }
    }
}

impl LearnedRate {
    /// Where the rate comes from; `one` and `many` say what shares a rate, such as 'family' and 'families'.
    pub fn explain(&self, what: &str, one: &str, many: &str) -> Explanation {
        let [low, high] = self.rate.interval(0.8);
        let of = |tally: Tally| {
            if tally.trials > 0.0 {
                format!("{} of {}", number(tally.passed), number(tally.trials))
            } else {
                "nothing on record".into()
            }
        };
        Explanation::new(
            format!(
                "{what}: {} ({} to {}, eight times in ten)",
                percent(self.rate.mean()),
                percent(low),
                percent(high)
            ),
            format!("A Beta distribution: what was thought before, then the program's other {many}, each counting for n / (1 + (n - 1) ρ) trials, then this {one} itself. ρ is how much {many} differ."),
            "Kleinman (1973), J. Am. Stat. Assoc. 68:46-54",
        )
        .with(format!("this {one}"), of(self.own))
        .with(format!("other {many}"), of(self.others))
        .with(format!("how many other {many}"), self.families.to_string())
        .with(format!("ρ between {many}"), number(self.correlation))
        .with(
            "thought before",
            format!("{}, as from {} seen", percent(self.prior.mean), number(self.prior.trials)),
        )
        .with("which is from", self.prior.source)
        .resting_on((self.own.trials + self.others.trials) as usize)
    }
}

/// A share in per cent, as people read it.
pub(super) fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent > 0.0 && percent < 9.95 {
        format!("{percent:.1} %")
    } else {
        format!("{percent:.0} %")
    }
}

/// A mean learned from records, and what it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mean {
    /// The mean.
    pub value: f64,
    /// How many were counted in the plant itself.
    pub own: f64,
    /// How many were counted in the others.
    pub others: f64,
    /// What was thought before.
    pub before: f64,
}

fn mean_of(
    counts: &BTreeMap<Id<Genotype>, (f64, f64)>,
    of: Id<Genotype>,
    before: f64,
    worth: f64,
) -> Mean {
    let own = counts.get(&of).copied().unwrap_or_default();
    let (gains, trials) = counts.values().fold((-own.0, -own.1), |sum, each| {
        (sum.0 + each.0, sum.1 + each.1)
    });
    let program = (before * worth + gains) / (worth + trials);
    Mean {
        value: (program * worth + own.0) / (worth + own.1),
        own: own.1,
        others: trials,
        before,
    }
}

fn learn<K: Ord + Copy>(groups: &BTreeMap<K, Tally>, of: K, prior: Prior) -> LearnedRate {
    let own = groups.get(&of).copied().unwrap_or_default();
    let others: Vec<Tally> = groups
        .iter()
        .filter(|(group, _)| **group != of)
        .map(|(_, tally)| *tally)
        .collect();
    let before = Rate::of_mean(prior.mean, prior.trials);
    let pooled = Pooled::learn(&others, before, prior.usual_correlation);
    LearnedRate {
        rate: pooled.new_group().updated(own.passed, own.trials),
        own,
        others: others.iter().fold(Tally::default(), |sum, each| Tally {
            passed: sum.passed + each.passed,
            trials: sum.trials + each.trials,
        }),
        families: others.len(),
        correlation: pooled.correlation,
        prior,
    }
}

fn family_of_lot(project: &Project, lot: Id<SeedLot>) -> Option<SeedFamily> {
    match project.seed_lots().get(lot)?.source {
        LotSource::Cross(cross) => family_of_cross(project, cross),
        LotSource::OpenPollinated(female) => Some(SeedFamily::Open(female)),
        LotSource::Bought { .. } | LotSource::Unknown => Some(SeedFamily::Lot(lot)),
    }
}

fn family_of_cross(project: &Project, cross: Id<Cross>) -> Option<SeedFamily> {
    let cross = project.crosses().get(cross)?;
    Some(match cross.pollen {
        Pollen::Male(male) => SeedFamily::Pair(cross.female, male),
        _ => SeedFamily::Cross(cross.id),
    })
}
