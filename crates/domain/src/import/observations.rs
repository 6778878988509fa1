//! What was seen or measured, a column for each trait or a row for each value.

use super::columns::Meaning;
use super::names::folded;
use super::units::convert;
use super::{Fate, Fault, Planned, Reader, changed, coded};
use crate::record::Record as _;
use crate::record::scale::{Basis, Scale, Value};
use crate::{DiseaseTest, Genotype, Id, Observation, Sample, Trait};
use chrono::NaiveDate;
use std::collections::HashMap;

/// A plant, a trait and a day.
type Place = (Id<Genotype>, Id<Trait>, NaiveDate);

/// What stands in the project already, by what tells observations apart.
pub(super) struct Known {
    observations: HashMap<Place, Vec<Id<Observation>>>,
    traits: HashMap<String, Id<Trait>>,
    tests: HashMap<String, Id<DiseaseTest>>,
}

impl Known {
    pub(super) fn of(reader: &Reader<'_>) -> Self {
        let project = reader.project;
        let mut observations: HashMap<_, Vec<_>> = HashMap::new();
        for each in project.observations().iter() {
            observations
                .entry((each.genotype, each.of_trait, each.date))
                .or_default()
                .push(each.id);
        }
        Self {
            observations,
            traits: project
                .traits()
                .iter()
                .map(|each| (folded(&each.name), each.id))
                .collect(),
            tests: project
                .disease_tests()
                .iter()
                .map(|each| (folded(&each.name), each.id))
                .collect(),
        }
    }
}

pub(super) fn row(reader: &mut Reader<'_>, known: &Known, row: usize) -> Result<Planned, Fault> {
    let model = surroundings(reader, known, row)?;
    let mut planned = Planned::of(Fate::Same);
    let mut changes = Vec::new();
    let mut values = 0;
    for (of_trait, column) in columns(reader, known, row)? {
        let Some(value) = value(reader, of_trait, row, column)? else {
            continue;
        };
        values += 1;
        let one = Observation {
            id: reader.ids.next(),
            of_trait,
            value,
            ..model.clone()
        };
        // The value is asked about now, so that the sentence names its column; all else when the whole is asked.
        if let Err(refusal) = one.check(reader.project) {
            return Err(Fault::Refused(format!(
                "{} {}",
                refusal.what, refusal.remedy
            )));
        }
        let made = match existing(reader, known, &one) {
            Some(there) => changed(
                reader.project,
                there,
                &Observation {
                    id: there.id,
                    remark: if one.remark.is_empty() {
                        there.remark.clone()
                    } else {
                        one.remark.clone()
                    },
                    by: if one.by.is_empty() {
                        there.by.clone()
                    } else {
                        one.by.clone()
                    },
                    test: one.test.or(there.test),
                    ..one
                },
            ),
            None => super::added(one),
        };
        match made.fate {
            Fate::New => planned.fate = Fate::New,
            Fate::Changes(words) => changes.extend(words),
            _ => {}
        }
        planned.edits.extend(made.edits);
    }
    if values == 0 {
        return Ok(Planned::refused("No column of this row has a value."));
    }
    if planned.fate != Fate::New && !changes.is_empty() {
        planned.fate = Fate::Changes(changes);
    }
    Ok(planned)
}

/// The observation that is there already: told apart by all that may be recorded twice on a day.
fn existing<'a>(reader: &Reader<'a>, known: &Known, one: &Observation) -> Option<&'a Observation> {
    let same = |other: &&Observation| {
        other.site.trim() == one.site.trim()
            && other.isolate.trim() == one.isolate.trim()
            && other.method.trim() == one.method.trim()
            && other.basis == one.basis
            && other.replicate == one.replicate
            && other.sample == one.sample
    };
    known
        .observations
        .get(&(one.genotype, one.of_trait, one.date))?
        .iter()
        .filter_map(|id| reader.project.observations().get(*id))
        .find(same)
}

/// The traits of a row, each with the column of its value.
fn columns(
    reader: &Reader<'_>,
    known: &Known,
    row: usize,
) -> Result<Vec<(Id<Trait>, usize)>, Fault> {
    let wide = reader.mapping.columns.iter().enumerate();
    let mut all: Vec<(Id<Trait>, usize)> = wide
        .filter_map(|(column, meaning)| match meaning {
            Meaning::Trait(id) => Some((*id, column)),
            _ => None,
        })
        .collect();
    if let (Some(name), Some(value)) = (
        reader.mapping.column(&Meaning::TraitName),
        reader.mapping.column(&Meaning::Value),
    ) {
        let name = reader.source.text(row, name);
        match known.traits.get(&folded(&name)) {
            Some(of_trait) => all.push((*of_trait, value)),
            None if name.is_empty() => return Err(Fault::Refused("No trait is named.".into())),
            None => {
                return Err(Fault::Refused(format!(
                    "There is no trait called {name}. Add it in Setup, or correct the table."
                )));
            }
        }
    }
    Ok(all)
}

/// All of an observation but its trait and value.
fn surroundings(reader: &Reader<'_>, known: &Known, row: usize) -> Result<Observation, Fault> {
    let project = reader.project;
    let code = reader.text(row, &Meaning::Sample);
    let sample = match code.as_ref() {
        "" => None,
        code => match coded::<Sample>(project, code) {
            Some(sample) => project.samples().get(sample),
            None => return Err(Fault::Unknown(code.to_owned())),
        },
    };
    let name = reader.text(row, &Meaning::Plant);
    let plant = match (name.as_ref(), sample) {
        ("", Some(sample)) => sample.genotype,
        ("", None) => {
            return Err(Fault::Refused("No plant and no sample is named.".into()));
        }
        (name, _) => match reader.names.find(name)? {
            Some(plant) => plant,
            None => return Err(Fault::Unknown(name.to_owned())),
        },
    };
    let date = match reader.date(row, &Meaning::Date)? {
        Some(date) => date,
        None => reader.round.date.ok_or_else(|| {
            Fault::Refused("There is no date. Give one for the whole table, or in a column.".into())
        })?,
    };
    let test = match reader.text(row, &Meaning::Test).as_ref() {
        "" => None,
        name => Some(known.tests.get(&folded(name)).copied().ok_or_else(|| {
            Fault::Refused(format!(
                "There is no disease test called {name}. Add it first."
            ))
        })?),
    };
    let own_site = reader.text(row, &Meaning::Site);
    let of_sample = |own: &str, whole: &str, of: Option<&str>| match (own, whole, of) {
        ("", "", Some(of)) => of.to_owned(),
        ("", whole, _) => whole.to_owned(),
        (own, _, _) => own.to_owned(),
    };
    let replicate = reader.count(row, &Meaning::Replicate)?;
    Ok(Observation {
        site: of_sample(
            &own_site,
            &reader.round.site,
            sample.map(|each| each.site.as_str()),
        ),
        by: reader.text_or(row, &Meaning::By, &reader.round.by),
        isolate: reader.text_or(row, &Meaning::Isolate, &reader.round.isolate),
        method: reader.text_or(row, &Meaning::Method, &reader.round.method),
        basis: basis(reader, row)?,
        replicate: replicate.or_else(|| sample.and_then(|each| each.replicate)),
        sample: sample.map(|each| each.id),
        test,
        remark: reader.text(row, &Meaning::Remark).into_owned(),
        ..Observation::new(
            Id::from_uuid(uuid::Uuid::nil()),
            plant,
            Id::from_uuid(uuid::Uuid::nil()),
            date,
            0.0,
        )
    })
}

/// 'dry', or 'as is' with a moisture, or the moisture alone.
fn basis(reader: &Reader<'_>, row: usize) -> Result<Basis, Fault> {
    let text = reader.text(row, &Meaning::Basis);
    let bare = folded(&text);
    if bare.is_empty() {
        return Ok(reader.round.basis);
    }
    if ["dry", "drymatter", "dm", "db", "drybasis", "tm", "ts"].contains(&bare.as_str()) {
        return Ok(Basis::Dry);
    }
    let digits: String = bare
        .chars()
        .filter(|c| c.is_ascii_digit() || matches!(c, '.' | ','))
        .collect();
    match digits
        .trim_matches([',', '.'])
        .replace(',', ".")
        .parse::<f64>()
    {
        Ok(moisture) if (0.0..100.0).contains(&moisture) => Ok(Basis::AsIs { moisture }),
        _ => Err(Fault::Refused(format!(
            "'{text}' is no basis. Write 'dry', or 'as is' with the moisture in per cent."
        ))),
    }
}

/// What a cell says as a value of a trait; nothing if it is empty.
fn value(
    reader: &Reader<'_>,
    of_trait: Id<Trait>,
    row: usize,
    column: usize,
) -> Result<Option<Value>, Fault> {
    let source = reader.source;
    let Some(of_trait) = reader.project.traits().get(of_trait) else {
        return Err(Fault::Refused(
            "The trait isn't in the project any more.".into(),
        ));
    };
    let named = |fault: String| Fault::Refused(format!("{}: {fault}", of_trait.name));
    let text = source.text(row, column);
    if text.is_empty() {
        return Ok(None);
    }
    Ok(match &of_trait.scale {
        Scale::Score { .. } | Scale::Number | Scale::Derived { .. } => source
            .number(row, column)
            .map_err(named)?
            .map(Value::Number),
        Scale::Measure { unit, .. } => {
            let number = source.number(row, column).map_err(named)?;
            let own = match source.unit(column) {
                "" => reader.text(row, &Meaning::Unit),
                unit => unit.into(),
            };
            match number {
                Some(number) => Some(Value::Number(convert(number, &own, unit).map_err(named)?)),
                None => None,
            }
        }
        Scale::Classes { classes } => {
            let class = classes.iter().find(|class| folded(class) == folded(&text));
            let class = class.map_or_else(|| text.trim().to_owned(), Clone::clone);
            Some(Value::Class { class })
        }
        Scale::Date => source
            .date(row, column)
            .map_err(named)?
            .map(|date| Value::Date { date }),
        Scale::YesNo => match folded(&text).as_str() {
            "yes" | "y" | "true" | "1" | "x" | "ja" | "j" | "oui" | "ano" | "\u{2713}" => {
                Some(Value::YesNo(true))
            }
            "no" | "n" | "false" | "0" | "nein" | "non" | "ne" => Some(Value::YesNo(false)),
            "-" | "na" | "n/a" => None,
            _ => return Err(named(format!("'{text}' is neither yes nor no."))),
        },
        Scale::Text => Some(Value::Text {
            text: text.trim().to_owned(),
        }),
    })
}
