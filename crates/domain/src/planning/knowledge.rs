//! What is known of the traits among the goals: how they are inherited, and every plant's breeding value.

use super::TraitGoal;
use super::parent::{females, males};
use crate::derived_traits::values_of_trait;
use crate::explanation::{Explanation, number};
use crate::genetics::cases::{Asked, Found, Stays, Together};
use crate::genetics::model::Effects;
use crate::genetics::{
    Design, Evaluation, FamilyEvidence, Kinship, PUBLISHED_HERITABILITIES, Plan, Progress,
    ProgressSink, USUAL_HERITABILITY, Value, evaluate, usual_heritability,
};
use crate::{Genotype, Id, Project, Scale, Trait};
use quant::evaluation::{Covariance, EvaluationError};
use std::collections::{BTreeMap, BTreeSet};

/// Spread of single records where nothing tells it, as a share of a scale of scores: common practice.
const SHARE_OF_SCALE: f64 = 0.2;
/// Fewer plants with records than this tell no variance.
const FEW: usize = 10;
/// A phenotypic correlation counts in full when so many plants tell it beyond those that tell half.
const HALF: f64 = 20.0;

/// How the variances of a trait are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Estimated from the records.
    Estimated,
    /// Stated: a heritability and a spread, from the goals, from what is published, from the scale.
    Stated,
}

/// What is known of one trait.
#[derive(Debug, Clone, PartialEq)]
pub struct TraitKnowledge {
    /// The trait.
    pub of_trait: Id<Trait>,
    /// How the variances are known.
    pub basis: Basis,
    /// Value of an unselected plant, in the trait's unit; `None` where nothing tells it.
    pub base: Option<f64>,
    /// Variance of breeding values; `None` where nothing tells it: a measurement nobody took or described.
    pub additive: Option<f64>,
    /// What the heritability of single records is thought to be: mean and standard deviation, the latter 0 where it is
    /// stated or no record speaks of it.
    pub heritability: [f64; 2],
    /// Variance of a single record about the breeding value.
    pub residual: f64,
    /// Breeding values, from the base, of every plant in the order of [`Kinship::plants`].
    pub values: Vec<Value>,
    /// What isn't known of plants together.
    pub together: Together,
    /// How many records went in.
    pub records: usize,
    /// What the figures rest on, each a name and a value.
    pub inputs: Vec<(String, String)>,
}

/// What is known of the traits among the goals, at one revision of a project.
#[derive(Debug, Clone)]
pub struct Knowledge {
    snapshot: Project,
    /// The traits, in the order of the goals.
    pub traits: Vec<TraitKnowledge>,
    /// Correlations of breeding values between the traits, 1 on the diagonal.
    pub correlations: Covariance,
    /// How many plants tell each correlation, as pairs of places.
    pub plants_with_both: BTreeMap<(usize, usize), usize>,
}

impl Knowledge {
    /// Works it out: breeding values by restricted maximum likelihood where the records support it, else at stated
    /// variances. `None` if `sink` stops it.
    pub fn of(project: &Project, kinship: &Kinship, sink: &mut ProgressSink<'_>) -> Option<Self> {
        let goals = &project.settings().goals.traits;
        let mut traits = Vec::with_capacity(goals.len());
        for (done, goal) in goals.iter().enumerate() {
            let mut tell = |progress: Progress| {
                sink(Progress {
                    part: Some(done as f32 / goals.len() as f32),
                    ..progress
                })
            };
            traits.push(TraitKnowledge::of(project, kinship, goal, &mut tell)?);
        }
        let (correlations, plants_with_both) = correlations(project, goals);
        Some(Self {
            snapshot: project.clone(),
            traits,
            correlations,
            plants_with_both,
        })
    }

    /// Whether it still holds: nothing that it was read from has changed since, such as the weights alone.
    pub fn holds_for(&self, project: &Project) -> bool {
        let of = |project: &Project| -> Vec<_> {
            let goals = project.settings().goals.traits.iter();
            goals
                .map(|goal| (goal.of_trait, goal.heritability, goal.spread))
                .collect()
        };
        let before = &self.snapshot;
        of(before) == of(project)
            && before.genotypes() == project.genotypes()
            && before.crosses() == project.crosses()
            && before.traits() == project.traits()
            && before.observations() == project.observations()
    }
}

impl TraitKnowledge {
    fn of(
        project: &Project,
        kinship: &Kinship,
        goal: &TraitGoal,
        sink: &mut ProgressSink<'_>,
    ) -> Option<Self> {
        let recorded: BTreeSet<Id<Genotype>> = values_of_trait(project, goal.of_trait)
            .iter()
            .map(|each| each.genotype)
            .collect();
        let evidence = FamilyEvidence::of(project, goal.of_trait);
        if recorded.len() >= FEW {
            let mut plan = Some(Plan::suggested(project, goal.of_trait));
            while let Some(tried) = plan {
                match evaluate(project, kinship, &tried, sink) {
                    Ok(evaluation) => {
                        let asked = (goal, evidence);
                        match Self::estimated(project, kinship, &evaluation, asked, sink)? {
                            Some(told) => return Some(told),
                            None => break,
                        }
                    }
                    Err(stopped) if stopped.stopped => return None,
                    Err(refused) => plan = refused.simpler,
                }
            }
        }
        Self::stated(project, kinship, goal, recorded.len(), evidence, sink)
    }

    /// From what the families tell of the heritability and what is published of it, over all that it may be: the more
    /// families, the less the latter. The outer `None` is a stop, the inner one records that tell nothing.
    #[expect(clippy::option_option, reason = "a stop isn't an answer")]
    fn estimated(
        project: &Project,
        kinship: &Kinship,
        evaluation: &Evaluation,
        (goal, evidence): (&TraitGoal, FamilyEvidence),
        sink: &mut ProgressSink<'_>,
    ) -> Option<Option<Self>> {
        let Some(found) = evaluation.heritabilities.first() else {
            return Some(None);
        };
        if evaluation.plan.effects.without_additive {
            return Some(None);
        }
        let suggested = Plan::suggested(project, goal.of_trait).effects;
        let given = goal.heritability;
        // Where the records can't tell what stays with a plant from what it inherits, repeated records of the same plants
        // would pass for heritability.
        if !evidence.tells() && (given.is_some() || suggested != evaluation.plan.effects) {
            return Some(None);
        }
        let mut inputs: Vec<(String, String)> = evaluation
            .components
            .iter()
            .map(|each| (format!("variance, {}", each.name), each.words()))
            .collect();
        inputs.push((found.name.to_owned(), found.words()));
        let asked = RecordsOfTrait {
            plan: &evaluation.plan,
            stays: stays(evaluation),
            tells: true,
            given: None,
            variance: None,
        };
        let basis = if evidence.tells() {
            Basis::Estimated
        } else {
            inputs.push((
                "heritability from the records alone".to_owned(),
                evidence.words(),
            ));
            Basis::Stated
        };
        let told = asked.find(project, kinship, sink);
        if let Ok(told) = &told {
            let [mean, spread] = told.found.heritability;
            inputs.push((
                "heritability gone by".into(),
                format!(
                    "{mean:.2} ± {spread:.2}: {} families of {:.0}, and before them anything from {} to {} alike likely, as published",
                    evidence.families,
                    evidence.size,
                    PUBLISHED_HERITABILITIES[0],
                    PUBLISHED_HERITABILITIES[1]
                ),
            ));
        }
        match told {
            Ok(told) => Some(Some(told.read(evaluation.plan.of_trait, basis, inputs))),
            Err(EvaluationError::Cancelled) => None,
            Err(_) => Some(None),
        }
    }

    /// From a stated spread and what the heritability may be: with few records the pull towards the mean is strong, and
    /// the errors stay wide.
    fn stated(
        project: &Project,
        kinship: &Kinship,
        goal: &TraitGoal,
        plants: usize,
        evidence: FamilyEvidence,
        sink: &mut ProgressSink<'_>,
    ) -> Option<Self> {
        let heritability = goal.heritability.unwrap_or(USUAL_HERITABILITY);
        let scale = project.traits().get(goal.of_trait).map(|each| &each.scale);
        let mut inputs = vec![(
            "heritability, stated".to_owned(),
            match goal.heritability {
                Some(stated) => number(stated),
                None => format!(
                    "none; anything from {} to {} is alike likely, as published for hops: 0.04 to 0.29 (McAdam et al. 2014), 0.57 to 0.89 (Henning & Townsend 2005)",
                    PUBLISHED_HERITABILITIES[0], PUBLISHED_HERITABILITIES[1]
                ),
            },
        )];
        if !evidence.tells() {
            inputs.push(("heritability from the records".to_owned(), evidence.words()));
        }
        let spread = spread_of_records(project, goal, plants, scale, &mut inputs);
        let Some(spread) = spread else {
            return Some(Self {
                of_trait: goal.of_trait,
                basis: Basis::Stated,
                base: None,
                additive: None,
                heritability: [heritability, 0.0],
                residual: 0.0,
                values: vec![unknown(0.0); kinship.plants().len()],
                together: Together::default(),
                records: 0,
                inputs,
            });
        };
        let mut plan = Plan::suggested(project, goal.of_trait);
        plan.effects = Effects::default();
        if plants < 2 * FEW {
            // Corrections for year or observer would use up what few records tell.
            plan.fixed.clear();
        }
        let asked = RecordsOfTrait {
            plan: &plan,
            stays: Stays::default(),
            tells: false,
            given: goal.heritability,
            variance: Some(spread * spread),
        };
        match asked.find(project, kinship, sink) {
            Ok(told) => Some(told.read(goal.of_trait, Basis::Stated, inputs)),
            Err(EvaluationError::Cancelled) => None,
            Err(_nothing_recorded) => {
                let additive = heritability * spread * spread;
                let numbers = kinship.numbers();
                let value = |plant| unknown((additive * numbers.relationship(plant, plant)).sqrt());
                inputs.push((
                    "records".into(),
                    "none: every plant counts as average".into(),
                ));
                Some(Self {
                    of_trait: goal.of_trait,
                    basis: Basis::Stated,
                    base: match scale {
                        Some(Scale::Score { from, to, .. }) => {
                            Some(f64::midpoint(f64::from(*from), f64::from(*to)))
                        }
                        _ => None,
                    },
                    additive: Some(additive),
                    heritability: [heritability, 0.0],
                    residual: (1.0 - heritability) * spread * spread,
                    values: (0..kinship.plants().len()).map(value).collect(),
                    together: Together::default(),
                    records: 0,
                    inputs,
                })
            }
        }
    }

    /// The covariance of the errors of what two plants, by place in the kinship, are expected to pass on, the level it is
    /// counted from included.
    pub fn error_covariance(&self, one: usize, other: usize) -> f64 {
        let apart = || {
            let own = self.values[one].standard_error.powi(2);
            if one == other { own } else { 0.0 }
        };
        self.together.covariance(one, other).unwrap_or_else(apart)
    }

    /// Standard deviation of breeding values.
    pub fn deviation(&self) -> Option<f64> {
        self.additive
            .map(f64::sqrt)
            .filter(|deviation| *deviation > 0.0)
    }

    /// Adds what the figures rest on.
    pub(super) fn explain(&self, name: &str, explained: Explanation) -> Explanation {
        let basis = match (self.basis, self.additive) {
            (_, None) => {
                "nothing to estimate it from: give its spread with the goals, or measure some plants"
            }
            (Basis::Estimated, _) => "estimated from the records",
            (Basis::Stated, _) => "stated: the records are too few to estimate them",
        };
        let explained = explained.with(format!("{name}, variances"), basis);
        self.inputs
            .iter()
            .fold(explained, |explained, (what, value)| {
                explained.with(format!("{name}, {what}"), value)
            })
    }
}

/// What is asked of a trait's records, and how they are read.
struct RecordsOfTrait<'a> {
    plan: &'a Plan,
    stays: Stays,
    tells: bool,
    given: Option<f64>,
    variance: Option<f64>,
}

/// What the records told.
struct TraitFound {
    found: Found,
    records: usize,
    plants: usize,
}

impl RecordsOfTrait<'_> {
    fn find(
        &self,
        project: &Project,
        kinship: &Kinship,
        sink: &mut ProgressSink<'_>,
    ) -> Result<TraitFound, EvaluationError> {
        let plan = self.plan;
        let records = Design::of(project, kinship, &[plan.of_trait], &plan.fixed).records;
        if records.is_empty() {
            return Err(EvaluationError::TooFewRecords {
                of_trait: 0,
                records: 0,
                fixed: 1,
                variances: 0,
            });
        }
        let wanted: Vec<usize> = females(project)
            .into_iter()
            .chain(males(project))
            .filter_map(|plant| kinship.index(plant.id))
            .collect();
        let sign = project.settings().goals.of_trait(plan.of_trait);
        let found = Asked {
            kinship: kinship.numbers(),
            records: &records,
            stays: self.stays,
            variance: self.variance,
            tells: self.tells,
            given: self.given,
            prior: usual_heritability,
            wanted: &wanted,
            sign: sign.map_or(1.0, |goal| goal.sign(project)),
        }
        .find(sink)?;
        let with_records = records.per_plant(kinship.plants().len());
        Ok(TraitFound {
            found,
            records: records.len(),
            plants: with_records.iter().filter(|count| **count > 0).count(),
        })
    }
}

impl TraitFound {
    fn read(
        self,
        of_trait: Id<Trait>,
        basis: Basis,
        mut inputs: Vec<(String, String)>,
    ) -> TraitKnowledge {
        inputs.push(("records".into(), self.records.to_string()));
        inputs.push(("plants with records".into(), self.plants.to_string()));
        let Found {
            heritability,
            base,
            additive,
            residual,
            values,
            together,
        } = self.found;
        let value = |[value, error, reliability]: [f64; 3]| Value {
            value,
            accuracy: reliability.clamp(0.0, 1.0).sqrt(),
            standard_error: error.max(0.0).sqrt(),
        };
        TraitKnowledge {
            of_trait,
            basis,
            base: Some(base),
            additive: Some(additive),
            heritability,
            residual,
            values: values.into_iter().map(value).collect(),
            together,
            records: self.records,
            inputs,
        }
    }
}

/// What stays with plants over their records, as an evaluation estimated it.
fn stays(evaluation: &Evaluation) -> Stays {
    let of = |name: &str| -> f64 {
        let components = evaluation.components.iter();
        components
            .filter(|each| each.name == name)
            .map(|each| each.variance)
            .sum()
    };
    let total: f64 = evaluation.components.iter().map(|each| each.variance).sum();
    let (clonal, permanent) = (of("clonal"), of("permanent environment"));
    Stays {
        effects: evaluation.plan.effects,
        repeatability: (of("additive") + clonal + permanent) / total.max(f64::MIN_POSITIVE),
        clonal: if clonal + permanent > 0.0 {
            clonal / (clonal + permanent)
        } else {
            0.5
        },
    }
}

/// Standard deviation of single records: stated, else of the records there are, else from the scale.
fn spread_of_records(
    project: &Project,
    goal: &TraitGoal,
    plants: usize,
    scale: Option<&Scale>,
    inputs: &mut Vec<(String, String)>,
) -> Option<f64> {
    let name = "standard deviation of single records".to_owned();
    if let Some(stated) = goal.spread {
        inputs.push((name, format!("{}, stated", number(stated))));
        return Some(stated);
    }
    let values: Vec<f64> = values_of_trait(project, goal.of_trait)
        .iter()
        .filter_map(|each| each.number(project))
        .collect();
    let few = match scale {
        Some(Scale::Score { .. }) => FEW,
        // Of measurements nothing else is known.
        _ => 3,
    };
    if plants >= few {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
        let spread = (squares / (values.len() as f64 - 1.0)).sqrt();
        if spread > 0.0 {
            inputs.push((
                name,
                format!("{}, of {} records", number(spread), values.len()),
            ));
            return Some(spread);
        }
    }
    if let Some(Scale::Score { from, to, .. }) = scale {
        let spread = SHARE_OF_SCALE * f64::from(to - from);
        inputs.push((
            name,
            format!("{}, a fifth of the scale: common practice", number(spread)),
        ));
        return Some(spread);
    }
    None
}

const fn unknown(standard_error: f64) -> Value {
    Value {
        value: 0.0,
        accuracy: 0.0,
        standard_error,
    }
}

/// Correlations of plants' mean records, drawn towards 0 where few plants have both traits: they stand in for those
/// of breeding values, as they mostly agree in sign and size (Cheverud 1988, Evolution 42:958-968).
fn correlations(
    project: &Project,
    goals: &[TraitGoal],
) -> (Covariance, BTreeMap<(usize, usize), usize>) {
    let means: Vec<BTreeMap<Id<Genotype>, (f64, f64)>> = goals
        .iter()
        .map(|goal| {
            let mut of_plant: BTreeMap<_, (f64, f64)> = BTreeMap::new();
            for each in values_of_trait(project, goal.of_trait) {
                if let Some(value) = each.number(project) {
                    let sum = of_plant.entry(each.genotype).or_default();
                    *sum = (sum.0 + value, sum.1 + 1.0);
                }
            }
            of_plant
        })
        .collect();
    let order = goals.len();
    let mut matrix = Covariance::diagonal(&vec![1.0; order]);
    let mut with_both = BTreeMap::new();
    for other in 0..order {
        for one in 0..other {
            let pairs: Vec<(f64, f64)> = means[one]
                .iter()
                .filter_map(|(plant, a)| {
                    let b = means[other].get(plant)?;
                    Some((a.0 / a.1, b.0 / b.1))
                })
                .collect();
            with_both.insert((one, other), pairs.len());
            if pairs.len() >= FEW
                && let Some(correlation) = correlation(&pairs)
            {
                let n = pairs.len() as f64;
                matrix.set(other, one, correlation * n / (n + HALF));
            }
        }
    }
    (positive(matrix), with_both)
}

fn correlation(pairs: &[(f64, f64)]) -> Option<f64> {
    let n = pairs.len() as f64;
    let (a, b) = pairs
        .iter()
        .fold((0.0, 0.0), |sum, each| (sum.0 + each.0, sum.1 + each.1));
    let (a, b) = (a / n, b / n);
    let (mut aa, mut ab, mut bb) = (0.0, 0.0, 0.0);
    for (x, y) in pairs {
        aa += (x - a).powi(2);
        bb += (y - b).powi(2);
        ab += (x - a) * (y - b);
    }
    let scale = (aa * bb).sqrt();
    (scale > 0.0).then(|| ab / scale)
}

/// Correlations from different plants may contradict each other: drawn towards 0 together until they don't.
fn positive(matrix: Covariance) -> Covariance {
    let order = matrix.order();
    let none = vec![f64::NEG_INFINITY; order];
    let all = vec![f64::INFINITY; order];
    let mut drawn = matrix;
    while quant::chance::multivariate_normal_probability(&none, &all, &drawn, 1.0).is_none()
        && order > 0
    {
        for a in 0..order {
            for b in 0..a {
                drawn.set(a, b, 0.9 * drawn.get(a, b));
            }
        }
    }
    drawn
}
