//! What is known of the traits among the goals: how they are inherited, and every plant's breeding value.

use super::TraitGoal;
use crate::derived_traits::values_of_trait;
use crate::explanation::{Explanation, number};
use crate::genetics::model::{Effects, Variances};
use crate::genetics::{
    Evaluation, FamilyEvidence, Kinship, Plan, Progress, ProgressSink, USUAL_HERITABILITY, Value,
    evaluate,
};
use crate::{Genotype, Id, Project, Scale, Trait};
use quant::evaluation::Covariance;
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
    /// Variance of a single record about the breeding value.
    pub residual: f64,
    /// Breeding values, from the base, of every plant in the order of [`Kinship::plants`].
    pub values: Vec<Value>,
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
        if recorded.len() >= FEW && evidence.tells() {
            let mut plan = Some(Plan::suggested(project, goal.of_trait));
            while let Some(tried) = plan {
                match evaluate(project, kinship, &tried, sink) {
                    Ok(evaluation) => {
                        return Self::estimated(project, kinship, &evaluation, evidence, sink)?
                            .or_else(|| {
                                Self::stated(project, kinship, goal, recorded.len(), evidence, sink)
                            });
                    }
                    Err(stopped) if stopped.stopped => return None,
                    Err(refused) => plan = refused.simpler,
                }
            }
        }
        Self::stated(project, kinship, goal, recorded.len(), evidence, sink)
    }

    /// From the variance that was estimated, shared between breeding values and the rest by a heritability in which
    /// what the families tell and what is published count as each is sure: the more families, the less the latter. The
    /// outer `None` is a stop, the inner one families that tell nothing.
    #[expect(clippy::option_option, reason = "a stop isn't an answer")]
    fn estimated(
        project: &Project,
        kinship: &Kinship,
        evaluation: &Evaluation,
        evidence: FamilyEvidence,
        sink: &mut ProgressSink<'_>,
    ) -> Option<Option<Self>> {
        let total: f64 = evaluation.components.iter().map(|each| each.variance).sum();
        let found = evaluation.heritabilities.first();
        let Some((found, heritability)) =
            found.and_then(|found| Some((found, evidence.weighed(found.value)?)))
        else {
            return Some(None);
        };
        let mut inputs: Vec<(String, String)> = evaluation
            .components
            .iter()
            .map(|each| (format!("variance, {}", each.name), each.words()))
            .collect();
        inputs.push((found.name.to_owned(), found.words()));
        inputs.push((
            "heritability gone by".into(),
            format!(
                "{heritability:.2}: {} families of {:.0} weighed with what is published ({USUAL_HERITABILITY} ± 0.2)",
                evidence.families, evidence.size
            ),
        ));
        let additive = heritability * total;
        let residual = (1.0 - heritability) * total;
        let mut plan = evaluation.plan.clone();
        plan.effects = Effects::default();
        plan.variances = Some(Variances {
            additive,
            clonal: None,
            permanent: None,
            residual: residual.max(1e-6 * additive),
        });
        match evaluate(project, kinship, &plan, sink) {
            Ok(weighed) => Some(Some(Self::read(
                project,
                &weighed,
                Basis::Estimated,
                additive,
                residual,
                inputs,
            ))),
            Err(stopped) if stopped.stopped => None,
            Err(_) => Some(None),
        }
    }

    /// From stated variances: with few records the pull towards the mean is strong, and the errors stay wide.
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
                    "{USUAL_HERITABILITY}; published for hops: 0.04 to 0.29 (McAdam et al. 2014), 0.57 to 0.89 (Henning & Townsend 2005)"
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
                residual: 0.0,
                values: vec![unknown(0.0); kinship.plants().len()],
                records: 0,
                inputs,
            });
        };
        let additive = heritability * spread * spread;
        let residual = (1.0 - heritability) * spread * spread;
        let mut plan = Plan::suggested(project, goal.of_trait);
        plan.effects = Effects::default();
        plan.variances = Some(Variances {
            additive,
            clonal: None,
            permanent: None,
            residual: residual.max(1e-6 * additive),
        });
        if plants < 2 * FEW {
            // Corrections for year or observer would use up what few records tell.
            plan.fixed.clear();
        }
        match evaluate(project, kinship, &plan, sink) {
            Ok(evaluation) => Some(Self::read(
                project,
                &evaluation,
                Basis::Stated,
                additive,
                residual,
                inputs,
            )),
            Err(stopped) if stopped.stopped => None,
            Err(_nothing_recorded) => {
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
                    residual,
                    values: (0..kinship.plants().len()).map(value).collect(),
                    records: 0,
                    inputs,
                })
            }
        }
    }

    fn read(
        project: &Project,
        evaluation: &Evaluation,
        basis: Basis,
        additive: f64,
        residual: f64,
        mut inputs: Vec<(String, String)>,
    ) -> Self {
        // What records are above the breeding values of their plants is the base, whatever was corrected for.
        let (sum, count) = values_of_trait(project, evaluation.plan.of_trait)
            .iter()
            .filter_map(|each| {
                Some(each.number(project)? - evaluation.value(each.genotype)?.breeding.value)
            })
            .fold((0.0, 0_usize), |(sum, count), each| (sum + each, count + 1));
        inputs.push(("records".into(), evaluation.records.to_string()));
        inputs.push((
            "plants with records".into(),
            evaluation.plants_with_records.to_string(),
        ));
        Self {
            of_trait: evaluation.plan.of_trait,
            basis,
            base: (count > 0).then(|| sum / count as f64),
            additive: Some(additive),
            residual,
            values: evaluation
                .values
                .iter()
                .map(|value| value.breeding)
                .collect(),
            records: evaluation.records,
            inputs,
        }
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
