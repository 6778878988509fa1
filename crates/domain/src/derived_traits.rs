//! Traits that are calculated from others: what stands in the project gives their values, and none is stored.
//!
//! Two values go together that speak of one plant at one site, in one replicate; of one sample, or else of one day, or
//! else, for what is calculated on an area, of one season: cones are picked one day and analysed another. Contents of two
//! methods are never divided by each other.

use crate::id::Id;
use crate::project::Project;
use crate::record::observation::{Observation, Trait};
use crate::record::scale::{Basis, Rule, Scale, Value};
use chrono::{Datelike as _, NaiveDate};
use std::borrow::Cow;
use std::collections::HashMap;

/// Every value of a trait: the observations of one that is recorded, and of a derived one what follows from others, each
/// with the identity and the surroundings of its first operand.
pub fn values_of_trait(project: &Project, of_trait: Id<Trait>) -> Vec<Cow<'_, Observation>> {
    values(project, of_trait, &mut Vec::new())
}

/// The same of one plant, by date.
pub fn values_of_plant(
    project: &Project,
    plant: Id<crate::Genotype>,
    of_trait: Id<Trait>,
) -> Vec<Cow<'_, Observation>> {
    let derived = project
        .traits()
        .get(of_trait)
        .is_some_and(|each| matches!(each.scale, Scale::Derived { .. }));
    if derived {
        let mut all = values_of_trait(project, of_trait);
        all.retain(|each| each.genotype == plant);
        all.sort_by_key(|each| each.date);
        return all;
    }
    project
        .observations_of(plant)
        .filter(|each| each.of_trait == of_trait)
        .map(Cow::Borrowed)
        .collect()
}

fn values<'a>(
    project: &'a Project,
    of_trait: Id<Trait>,
    above: &mut Vec<Id<Trait>>,
) -> Vec<Cow<'a, Observation>> {
    let Some(Scale::Derived { rule }) = project.traits().get(of_trait).map(|each| &each.scale)
    else {
        return project
            .observations_of_trait(of_trait)
            .map(Cow::Borrowed)
            .collect();
    };
    // A file from elsewhere may hold a ring; the findings tell of it.
    if above.contains(&of_trait) {
        return Vec::new();
    }
    above.push(of_trait);
    let [first, second] = rule.operands();
    let (firsts, seconds) = (
        values(project, first, above),
        values(project, second, above),
    );
    above.pop();
    let mut by_plant: HashMap<_, Vec<&Observation>> = HashMap::new();
    for each in &seconds {
        by_plant
            .entry(each.genotype)
            .or_default()
            .push(each.as_ref());
    }
    let units = [first, second].map(|operand| per_cent(project, operand));
    firsts
        .iter()
        .filter_map(|one| {
            let partners = by_plant.get(&one.genotype)?;
            let other = partner(project, rule, one, partners)?;
            let value = calculate(project, rule, one, other, units)?;
            Some(Cow::Owned(Observation {
                of_trait,
                value: Value::Number(value),
                basis: match rule {
                    Rule::AtMoisture { moisture, .. } => Basis::AsIs {
                        moisture: *moisture,
                    },
                    _ => Basis::Unstated,
                },
                ..one.as_ref().clone()
            }))
        })
        .collect()
}

/// 100 where a trait is in per cent, 1 where it is a share.
fn per_cent(project: &Project, of_trait: Id<Trait>) -> f64 {
    match project.traits().get(of_trait).map(|each| each.scale.unit()) {
        Some(unit) if unit.contains('%') => 100.0,
        _ => 1.0,
    }
}

/// The value that goes with `one`: of its sample, or else of its day, or else, on an area, the nearest of its season.
fn partner<'a>(
    project: &Project,
    rule: &Rule,
    one: &Observation,
    partners: &[&'a Observation],
) -> Option<&'a Observation> {
    let fits = |other: &&&Observation| {
        let together = match rule {
            Rule::Share { .. } | Rule::Ratio { .. } | Rule::StorageIndex { .. } => {
                other.method.trim() == one.method.trim() && other.basis == one.basis
            }
            Rule::AtMoisture { .. } | Rule::PerArea { .. } => true,
        };
        together
            && other.site.trim() == one.site.trim()
            && (other.replicate == one.replicate
                || other.replicate.is_none()
                || one.replicate.is_none())
    };
    let day = |each: &Observation| each.day_of_plant(project);
    let distance = |other: &Observation| (day(other) - day(one)).num_days().abs();
    let best = partners
        .iter()
        .filter(fits)
        .min_by_key(|other| {
            let other_sample = one.sample.is_none() || other.sample != one.sample;
            let other_replicate = other.replicate != one.replicate;
            (other_sample, other_replicate, distance(other), other.id)
        })
        .copied()?;
    let same_sample = one.sample.is_some() && best.sample == one.sample;
    let near = match rule {
        Rule::PerArea { .. } => day(one).year() == day(best).year(),
        _ => same_sample || distance(best) == 0,
    };
    near.then_some(best)
}

fn calculate(
    project: &Project,
    rule: &Rule,
    one: &Observation,
    other: &Observation,
    [first_per, second_per]: [f64; 2],
) -> Option<f64> {
    let (a, b) = (numeric(project, one)?, numeric(project, other)?);
    let value = match rule {
        Rule::Share { .. } => a / first_per / (b / second_per) * 100.0,
        Rule::Ratio { .. } => a / first_per / (b / second_per),
        Rule::StorageIndex { .. } => a / b,
        Rule::AtMoisture { moisture, .. } => a * (b / second_per) / (1.0 - moisture / 100.0),
        Rule::PerArea { .. } => {
            // As is, a per cent of the cones is more of their dry matter.
            let content = b / second_per / other.basis.dry_share()?;
            a * one.basis.dry_share()? * content
        }
    };
    value.is_finite().then_some(value)
}

/// A value that was calculated is a number whatever its trait's scale says.
fn numeric(project: &Project, each: &Observation) -> Option<f64> {
    match (&each.value, project.traits().get(each.of_trait)) {
        (Value::Number(number), _) => number.is_finite().then_some(*number),
        (value, Some(of_trait)) => of_trait.scale.number(value),
        _ => None,
    }
}

/// The days on which a plant was scored in a disease test, and the number of each, by date; of two scores of one day
/// their mean.
pub fn course_of_disease(
    project: &Project,
    test: Id<crate::DiseaseTest>,
    plant: Id<crate::Genotype>,
) -> Vec<(NaiveDate, f64)> {
    let mut by_day: Vec<(NaiveDate, f64, f64)> = Vec::new();
    let mut scores: Vec<&Observation> = project
        .referring::<Observation>(test)
        .filter(|each| each.genotype == plant && each.test == Some(test))
        .collect();
    scores.sort_by_key(|each| each.date);
    for score in scores {
        let Some(number) = score.number(project) else {
            continue;
        };
        match by_day.last_mut() {
            Some((day, sum, count)) if *day == score.date => {
                *sum += number;
                *count += 1.0;
            }
            _ => by_day.push((score.date, number, 1.0)),
        }
    }
    by_day
        .into_iter()
        .map(|(day, sum, count)| (day, sum / count))
        .collect()
}

/// The area under the disease progress curve of a plant in a test, in the trait's units × days: see
/// [`quant::disease_progress::area`]. Nothing until it was scored on two days.
pub fn area_of_disease(
    project: &Project,
    test: Id<crate::DiseaseTest>,
    plant: Id<crate::Genotype>,
) -> Option<f64> {
    let course = course_of_disease(project, test, plant);
    let begin = course.first()?.0;
    let days: Vec<f64> = course
        .iter()
        .map(|(day, _)| (*day - begin).num_days() as f64)
        .collect();
    let scores: Vec<f64> = course.iter().map(|(_, score)| *score).collect();
    quant::disease_progress::area(&days, &scores)
}
