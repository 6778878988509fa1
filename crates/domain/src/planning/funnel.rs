//! From seeds to good females: what is left after each stage, and how many seeds it takes.

use super::rates::percent;
use super::{Candidate, Candidates, LearnedRate, Rates, SurvivalStage, Threshold};
use crate::explanation::{Explanation, number};
use crate::{Genotype, Id, Project};
use quant::chance::{Rate, StageSurvival};

/// More seeds than this from one cross are not asked for.
pub const MOST_SEEDS: u64 = 1_000_000;
/// The middle of what may be left: eight times in ten.
const MIDDLE: f64 = 0.8;

/// A stage on the way from seed to a good female.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FunnelStageKind {
    /// One whose rate is learned from records.
    Survival(SurvivalStage),
    /// A threshold of the goals, whose rate follows from the breeding values of the parents.
    Threshold(Threshold),
    /// That a record of a trait seen in an earlier year than the last reaches its threshold too: seedlings that don't show
    /// it are taken not to be kept until the last trait is seen.
    Look(Threshold),
}

/// A stage with its rate.
#[derive(Debug, Clone, PartialEq)]
pub struct FunnelStage {
    /// Which.
    pub kind: FunnelStageKind,
    /// The rate among those that came so far.
    pub rate: Rate,
    /// Where it was learned; `None` for thresholds.
    pub learned: Option<LearnedRate>,
}

/// How many are left after a stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// Expected.
    pub mean: f64,
    /// No fewer than this, nine times in ten.
    pub low: u64,
    /// No more than this, nine times in ten.
    pub high: u64,
}

/// The way of one pair's seed to good females.
#[derive(Debug, Clone, PartialEq)]
pub struct Funnel {
    /// The seed parent.
    pub female: Id<Genotype>,
    /// The giver of pollen.
    pub male: Id<Genotype>,
    /// The stages, in order.
    pub stages: Vec<FunnelStage>,
    /// Why thresholds play no part, if they don't, as a sentence.
    pub without_thresholds: Option<&'static str>,
    /// Through the first stage, the first two, and so on; through none first.
    survivals: Vec<StageSurvival>,
}

impl Funnel {
    /// The way of this pair's seed.
    pub fn of(candidates: &Candidates, pair: &Candidate, rates: &Rates) -> Self {
        let mut stages: Vec<FunnelStage> = SurvivalStage::ALL
            .iter()
            .map(|&stage| {
                let learned = rates.of_stage(stage, pair.female, pair.pollen.male);
                FunnelStage {
                    kind: FunnelStageKind::Survival(stage),
                    rate: learned.rate,
                    learned: Some(learned),
                }
            })
            .collect();
        let asked = candidates.goals.index.is_some()
            || candidates
                .goals
                .traits
                .iter()
                .any(|goal| goal.threshold.is_some());
        let reached = candidates.thresholds().and_then(|plain| {
            let staged = plain.with_looks(&candidates.goals, &candidates.knowledge);
            let bars = staged.as_ref().unwrap_or(plain);
            let rates = bars.rates(&pair.traits, pair.mendelian)?;
            let of_themselves = plain.each().len();
            let kind = |(nth, threshold): (usize, &Threshold)| {
                if nth < of_themselves {
                    FunnelStageKind::Threshold(*threshold)
                } else {
                    FunnelStageKind::Look(*threshold)
                }
            };
            let kinds: Vec<FunnelStageKind> = bars.each().iter().enumerate().map(kind).collect();
            Some(kinds.into_iter().zip(rates))
        });
        let without_thresholds = match (&reached, asked) {
            (Some(_), _) => None,
            (None, false) => Some("The goals set no threshold: every female counts as good."),
            (None, true) => Some(
                "Too little is known of a trait with a threshold: every female counts as good. Record the trait on some plants, or give its spread with the goals.",
            ),
        };
        stages.extend(
            reached
                .into_iter()
                .flatten()
                .map(|(kind, rate)| FunnelStage {
                    kind,
                    rate,
                    learned: None,
                }),
        );
        let all: Vec<Rate> = stages.iter().map(|stage| stage.rate).collect();
        Self {
            female: pair.female,
            male: pair.pollen.male,
            survivals: StageSurvival::step_by_step(&all),
            stages,
            without_thresholds,
        }
    }

    /// The chance of at least so many good females from so many cleaned seeds.
    pub fn chance(&self, seeds: u64, wanted: u32) -> f64 {
        self.whole().at_least(wanted.into(), seeds)
    }

    /// The fewest cleaned seeds to sow for at least so many good females with this chance; `None` if a million are
    /// too few.
    pub fn fewest_seeds(&self, wanted: u32, sure: f64) -> Option<u64> {
        self.whole().fewest(wanted.into(), sure, MOST_SEEDS)
    }

    /// The expected share of seeds that become good females.
    pub fn mean(&self) -> f64 {
        self.whole().mean()
    }

    /// What is left of so many seeds after each stage.
    pub fn left(&self, seeds: u64) -> Vec<Left> {
        let tail = f64::midpoint(1.0, MIDDLE);
        self.survivals[1..]
            .iter()
            .map(|survival| Left {
                mean: survival.mean() * seeds as f64,
                low: survival.count_below(1.0 - tail, seeds),
                high: survival.count_below(tail, seeds),
            })
            .collect()
    }

    /// The count after a stage that is not exceeded with this chance: the room to be kept ready.
    pub fn room_after(&self, stage: SurvivalStage, seeds: u64, chance: f64) -> u64 {
        self.survivals[stage as usize + 1].count_below(chance, seeds)
    }

    fn whole(&self) -> &StageSurvival {
        &self.survivals[self.stages.len()]
    }

    /// Where the rate of a stage comes from.
    pub fn explain(&self, project: &Project, stage: usize) -> Option<Explanation> {
        let stage = self.stages.get(stage)?;
        let words = stage.kind.words(project);
        if let Some(learned) = &stage.learned {
            return Some(learned.explain(&words, "family", "families"));
        }
        let [low, high] = stage.rate.interval(MIDDLE);
        Some(
            Explanation::new(
                format!(
                    "{words}: {} ({} to {}, eight times in ten)",
                    percent(stage.rate.mean()),
                    percent(low),
                    percent(high)
                ),
                if matches!(stage.kind, FunnelStageKind::Look(_)) {
                    "Chance that a record of the trait, taken in an earlier year than the last trait of the goals is seen in, reaches the threshold too, in seedlings that truly reach all thresholds: what a record shows is off by what single records vary by. A seedling that doesn't show it isn't kept that long."
                } else {
                    "Chance that a seedling reaches this threshold, given that it reached those before it: values of seedlings are normal about the mean of the family, traits together. Its variance is that of two sibs both reaching it: what isn't known of the parents, sibs share."
                },
                "Genz (1992), J. Comput. Graph. Stat. 1:141-149",
            )
            .with("as a Beta distribution, seen as often as", number(stage.rate.trials())),
        )
    }

    /// How the number of seeds comes about.
    pub fn explain_seeds(
        &self,
        project: &Project,
        seeds: Option<u64>,
        wanted: u32,
        sure: f64,
    ) -> Explanation {
        let what = match seeds {
            Some(seeds) => format!(
                "{seeds} seeds for {wanted} good females, {} sure",
                percent(sure)
            ),
            None => format!(
                "A million seeds are too few for {wanted} good females, {} sure",
                percent(sure)
            ),
        };
        let by_average = f64::from(wanted) / self.mean();
        let explained = Explanation::new(
            what,
            "The fewest seeds with P(at least so many good females) as great as asked: ∫ P(Binomial(seeds, p) ≥ wanted) dF(p), p the product of the stages' rates, each a Beta distribution. A product of averages would promise more than there is.",
            "Sedcole (1977), Crop Sci. 17:667-668, for known rates; the rates' distribution integrated by convolution",
        );
        let explained = self.stages.iter().fold(explained, |explained, stage| {
            explained.with(stage.kind.words(project), percent(stage.rate.mean()))
        });
        explained
            .with("all stages, on average", percent(self.mean()))
            .with("seeds by the averages alone", format!("{by_average:.0}"))
    }
}

impl FunnelStageKind {
    /// What has come so far, in words.
    pub fn words(&self, project: &Project) -> String {
        match self {
            Self::Survival(stage) => stage.words().into(),
            Self::Threshold(threshold) => threshold.words(project),
            Self::Look(threshold) => {
                format!("kept, as a record shows {}", threshold.words(project))
            }
        }
    }
}
