//! Breeding values of a project's plants for one trait.

use super::design::{Design, Plan};
use super::families::FamilyEvidence;
use super::model::{self, Fitted, Records, Unfit, plain};
use super::{Kinship, ProgressSink};
use crate::explanation::{Explanation, number};
use crate::{Direction, Genotype, Id, Project, Trait};
use quant::evaluation::{EvaluationError, Finding, Prediction, Ratio, Role, Sense};
use std::fmt;

/// A predicted value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Value {
    /// As a departure from the mean of the base population, in the trait's unit.
    pub value: f64,
    /// The correlation of predicted and true value, 0 to 1: √(1 - PEV / prior variance).
    pub accuracy: f64,
    /// Its standard error: √PEV.
    pub standard_error: f64,
}

impl From<Prediction> for Value {
    fn from(prediction: Prediction) -> Self {
        Self {
            value: prediction.value,
            accuracy: prediction.accuracy(),
            standard_error: prediction.standard_error(),
        }
    }
}

/// What is predicted of one plant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlantValue {
    /// The plant.
    pub plant: Id<Genotype>,
    /// Its breeding value: twice what a diploid's progeny is expected to depart from the mean.
    pub breeding: Value,
    /// Its value as a clone, if clonal effects were modelled.
    pub clone: Option<Value>,
    /// How many records it has itself; the rest comes from its relatives.
    pub records: usize,
}

/// A variance of the model.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Its name, such as 'additive'.
    pub name: &'static str,
    /// The variance, in the trait's unit squared.
    pub variance: f64,
    /// Its standard error, if it was estimated and lies inside its bounds.
    pub standard_error: Option<f64>,
}

/// A heritability in words and numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Heritability {
    /// Its name, such as 'heritability of a single record'.
    pub name: &'static str,
    /// The share of genetic variance, 0 to 1.
    pub value: f64,
    /// Its interval, if variances were estimated inside their bounds.
    pub ratio: Option<Ratio>,
    /// Why it can't be told from these records, if so.
    pub not_told: Option<String>,
}

/// Breeding values for one trait, at one revision of a project.
#[derive(Debug, Clone, PartialEq)]
pub struct Evaluation {
    /// The revision of the project that this holds for.
    pub revision: u64,
    /// How it was made.
    pub plan: Plan,
    /// The model in words.
    pub model: String,
    /// Every plant, in the order of [`Kinship::plants`].
    pub values: Vec<PlantValue>,
    /// The variances, that of single records last.
    pub components: Vec<Component>,
    /// Heritabilities.
    pub heritabilities: Vec<Heritability>,
    /// How many records went in.
    pub records: usize,
    /// How many plants these are of.
    pub plants_with_records: usize,
    /// What was left out and why, each a sentence.
    pub dropped: Vec<String>,
    /// What to know before relying on it, each a sentence.
    pub notes: Vec<String>,
    /// A simpler plan, where the records hardly support this one.
    pub simpler: Option<Plan>,
}

/// Why there is no evaluation.
#[derive(Debug, Clone, PartialEq)]
pub struct NotEvaluated {
    /// Why, as a sentence.
    pub what: String,
    /// What to do, as a sentence; empty when it was stopped.
    pub remedy: String,
    /// A simpler plan that the records may support.
    pub simpler: Option<Plan>,
    /// Whether it was stopped on purpose.
    pub stopped: bool,
}

impl fmt::Display for NotEvaluated {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.what, self.remedy)
    }
}

impl std::error::Error for NotEvaluated {}

/// Evaluates a trait.
///
/// # Errors
/// Records that can't support the plan; the error offers a simpler one where there is one. No number comes from a
/// failed fit.
#[expect(
    clippy::result_large_err,
    reason = "told once, to a person who waits for the answer"
)]
pub fn evaluate(
    project: &Project,
    kinship: &Kinship,
    plan: &Plan,
    sink: &mut ProgressSink<'_>,
) -> Result<Evaluation, NotEvaluated> {
    let name = trait_name(project, plan.of_trait);
    let Design {
        records,
        dropped,
        mut notes,
    } = Design::of(project, kinship, &[plan.of_trait], &plan.fixed);
    if records.is_empty() {
        return Err(no_records(name));
    }
    let names = [name];
    let fitted = model::fit(
        kinship.numbers(),
        &records,
        plan.effects,
        plan.variances.as_ref(),
        sink,
    )
    .map_err(|unfit| not_evaluated(&unfit, &names, Some(plan)))?;

    let (found, simpler) = findings_of(&fitted, &names);
    notes.extend(found);
    let simpler = simpler.and_then(|role| {
        let effects = plan.effects.without(role)?;
        Some(Plan {
            effects,
            ..plan.clone()
        })
    });
    let count = records.per_plant(kinship.plants().len());
    let values = kinship
        .plants()
        .iter()
        .enumerate()
        .map(|(index, &plant)| PlantValue {
            plant,
            breeding: fitted.breeding(index, 0).into(),
            clone: fitted.clone_value(index, 0).map(Value::from),
            records: count[index],
        })
        .collect();
    let evidence = FamilyEvidence::of(project, plan.of_trait);
    let not_told = (plan.variances.is_none() && !evidence.tells()).then(|| evidence.words());
    Ok(Evaluation {
        revision: kinship.revision(),
        plan: plan.clone(),
        model: in_words(&records, &fitted.roles, plan.variances.is_some()),
        values,
        components: components(&fitted, 0),
        heritabilities: heritabilities(&fitted, 0, not_told.as_deref()),
        records: records.len(),
        plants_with_records: count.iter().filter(|&&count| count > 0).count(),
        dropped,
        notes,
        simpler,
    })
}

impl Evaluation {
    /// What is predicted of a plant.
    pub fn value(&self, plant: Id<Genotype>) -> Option<&PlantValue> {
        let place = self
            .values
            .binary_search_by_key(&plant, |value| value.plant)
            .ok()?;
        Some(&self.values[place])
    }

    /// Every plant by breeding value, the best first as the trait says what is better; more first if it doesn't.
    pub fn ranked(&self, project: &Project) -> Vec<&PlantValue> {
        let lower = project
            .traits()
            .get(self.plan.of_trait)
            .is_some_and(|of_trait| of_trait.direction == Direction::Lower);
        let mut ranked: Vec<_> = self.values.iter().collect();
        ranked.sort_by(|one, other| {
            let order = other.breeding.value.total_cmp(&one.breeding.value);
            if lower { order.reverse() } else { order }
        });
        ranked
    }

    /// Where the values of a plant come from.
    pub fn explain(&self, project: &Project, plant: Id<Genotype>) -> Option<Explanation> {
        let value = self.value(plant)?;
        let unit = project
            .traits()
            .get(self.plan.of_trait)
            .map(|each| each.scale.unit());
        let mut explained = Explanation::new(
            format!(
                "Breeding value of {} for {}: {} (accuracy {:.2})",
                project.code_of(plant),
                trait_name(project, self.plan.of_trait),
                number(value.breeding.value),
                value.breeding.accuracy
            ),
            format!(
                "{} Accuracy = √(1 - PEV / (a × additive variance)), PEV the error variance of the prediction, a = 1 + (T - 1) F with T sets of chromosomes.",
                self.model
            ),
            "Henderson (1975), Biometrics 31:423-447; Gilmour, Thompson & Cullis (1995), Biometrics 51:1440-1450",
        )
        .with("unit", unit.unwrap_or_default())
        .with("standard error", number(value.breeding.standard_error));
        if let Some(clone) = value.clone {
            explained = explained.with(
                "value as a clone",
                format!("{} (accuracy {:.2})", number(clone.value), clone.accuracy),
            );
        }
        for component in &self.components {
            explained = explained.with(format!("variance, {}", component.name), component.words());
        }
        for heritability in &self.heritabilities {
            explained = explained.with(heritability.name, heritability.words());
        }
        explained = explained
            .with("records of this plant", value.records.to_string())
            .with("plants with records", self.plants_with_records.to_string());
        for note in self.dropped.iter().chain(&self.notes) {
            explained = explained.with("note", note);
        }
        Some(explained.resting_on(self.records))
    }
}

impl Component {
    /// The variance with its standard error.
    pub fn words(&self) -> String {
        match self.standard_error {
            Some(error) => format!("{} (SE {})", number(self.variance), number(error)),
            None => number(self.variance),
        }
    }
}

impl Heritability {
    /// The value with its 95 % interval.
    pub fn words(&self) -> String {
        if let Some(why) = &self.not_told {
            return format!("{why}.");
        }
        match self.ratio {
            Some(Ratio { lower, upper, .. }) => {
                format!("{:.2} (95 % interval {lower:.2} to {upper:.2})", self.value)
            }
            None => format!("{:.2}", self.value),
        }
    }
}

/// The name of a variance.
pub(super) const fn component_name(role: Role) -> &'static str {
    match role {
        Role::Additive => "additive",
        Role::Clonal => "clonal",
        Role::Permanent => "permanent environment",
        Role::Other => "other",
    }
}

/// The variances of a trait.
pub(super) fn components(fitted: &Fitted, of_trait: usize) -> Vec<Component> {
    let names = fitted
        .roles
        .iter()
        .map(|&role| component_name(role))
        .chain(["residual"]);
    names
        .enumerate()
        .map(|(place, name)| {
            let (variance, standard_error) = fitted.variance(place, of_trait);
            Component {
                name,
                variance,
                standard_error,
            }
        })
        .collect()
}

fn heritabilities(fitted: &Fitted, of_trait: usize, not_told: Option<&str>) -> Vec<Heritability> {
    let mut wanted = vec![
        ("heritability of a single record", Sense::Narrow, false),
        ("heritability of a plant's mean", Sense::Narrow, true),
    ];
    if fitted.roles.contains(&Role::Clonal) {
        wanted.extend([
            (
                "repeatability of clones, single record",
                Sense::Broad,
                false,
            ),
            ("repeatability of clones, plant's mean", Sense::Broad, true),
        ]);
    }
    wanted
        .into_iter()
        .filter_map(|(name, sense, of_means)| {
            let found = fitted.heritability(of_trait, sense, of_means)?;
            Some(Heritability {
                name,
                value: found.value,
                ratio: found.ratio,
                not_told: (sense == Sense::Narrow)
                    .then(|| not_told.map(str::to_owned))
                    .flatten(),
            })
        })
        .collect()
}

/// The model as a sentence.
pub(super) fn in_words(records: &Records, roles: &[Role], given: bool) -> String {
    let fixed: Vec<&str> = records
        .factors
        .iter()
        .map(|factor| factor.name.as_str())
        .collect();
    let fixed = if fixed.is_empty() {
        "mean".into()
    } else {
        fixed.join(" + ")
    };
    let random: String = roles
        .iter()
        .map(|role| match role {
            Role::Additive => " + breeding value (related through the pedigree)",
            Role::Clonal => " + clonal effect",
            Role::Permanent => " + permanent environment",
            Role::Other => " + other",
        })
        .collect();
    let variances = if given {
        "variances given"
    } else {
        "variances estimated by restricted maximum likelihood"
    };
    format!(
        "Record = {fixed} + [{}] + residual; {variances}.",
        random.trim_start_matches(" + ")
    )
}

/// What the fit says about itself, and which effect would better be left out.
pub(super) fn findings_of(fitted: &Fitted, names: &[&str]) -> (Vec<String>, Option<Role>) {
    let findings = fitted.fit.as_ref().map_or(&[][..], |fit| fit.findings());
    let sentences = findings
        .iter()
        .map(|finding| sentence(&finding.to_string(), names))
        .collect();
    let dispensable = findings.iter().find_map(|finding| match finding {
        Finding::VarianceAtZero { role, .. } | Finding::PoorlyKnown { role, .. }
            if *role != Role::Additive =>
        {
            Some(*role)
        }
        Finding::HardlySeparable {
            roles: [_, role], ..
        } => Some(*role),
        _ => None,
    });
    (sentences, dispensable)
}

/// A message of the evaluation as a sentence, traits and effects by name.
pub(super) fn sentence(message: &str, names: &[&str]) -> String {
    let mut text = plain(message);
    for (index, name) in names.iter().enumerate().rev() {
        text = text.replace(&format!("trait {index}"), name);
    }
    let mut letters = text.chars();
    let first = letters
        .next()
        .map(|letter| letter.to_uppercase().to_string())
        .unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}

pub(super) fn trait_name(project: &Project, of_trait: Id<Trait>) -> &str {
    project
        .traits()
        .get(of_trait)
        .map_or("the trait", |each| each.name.as_str())
}

pub(super) fn no_records(name: &str) -> NotEvaluated {
    NotEvaluated {
        what: format!("Nothing is recorded of {name}."),
        remedy: "Record it on plants, and evaluate then.".into(),
        simpler: None,
        stopped: false,
    }
}

pub(super) fn not_evaluated(unfit: &Unfit, names: &[&str], plan: Option<&Plan>) -> NotEvaluated {
    let simpler = unfit.simpler.zip(plan).map(|(effects, plan)| Plan {
        effects,
        ..plan.clone()
    });
    let stopped = unfit.error == EvaluationError::Cancelled;
    let remedy = match (&simpler, stopped) {
        (_, true) => "",
        (Some(_), _) => "The simpler model is ready to be tried.",
        (None, _) => "Record more plants of known parents, or give the variances.",
    };
    NotEvaluated {
        what: sentence(&unfit.error.to_string(), names),
        remedy: remedy.into(),
        simpler,
        stopped,
    }
}
