//! Crosses.

use super::columns::Meaning;
use super::names::folded;
use super::{Fault, Planned, Reader, added, changed, coded};
use crate::{Cross, Pollen, PollenShare};
use chrono::Datelike as _;

/// Words for pollen that the wind brought.
pub(super) const OPEN: [&str; 7] = [
    "open",
    "op",
    "o.p.",
    "openpollinated",
    "wind",
    "frei",
    "?open",
];

pub(super) fn row(reader: &mut Reader<'_>, row: usize) -> Result<Planned, Fault> {
    let project = reader.project;
    let code = reader.text(row, &Meaning::Code).into_owned();
    if code.is_empty() {
        return Err(Fault::Refused("A cross needs a code.".into()));
    }
    let there = coded::<Cross>(project, &code).and_then(|id| project.crosses().get(id));
    let female = reader.text(row, &Meaning::Female);
    let female = match (female.as_ref(), there) {
        ("", Some(there)) => there.female,
        ("", None) => return Err(Fault::Refused("A cross needs a female parent.".into())),
        (name, _) => match reader.names.find(name)? {
            Some(female) => female,
            None => return Err(Fault::Unknown(name.to_owned())),
        },
    };
    let males = reader.text(row, &Meaning::Male).into_owned();
    let pollen = match (males.trim(), there) {
        ("", Some(there)) => there.pollen.clone(),
        ("", None) => Pollen::Unknown,
        (text, _) if OPEN.contains(&folded(text).as_str()) => Pollen::Open,
        (text, _) => match reader.names.find(text)? {
            Some(male) => Pollen::Male(male),
            None => mix(reader, text)?,
        },
    };
    let planned = reader.date(row, &Meaning::Date)?;
    let season = match (reader.number(row, &Meaning::Season)?, planned, there) {
        (Some(year), _, _) if year.fract() == 0.0 && year.abs() < 10_000.0 => year as i32,
        (Some(year), _, _) => return Err(Fault::Refused(format!("{year} is no year."))),
        (None, _, Some(there)) => there.season,
        (None, Some(day), None) => day.year(),
        (None, None, None) => reader
            .round
            .date
            .ok_or_else(|| "There is no season. Give the year in a column.".to_owned())?
            .year(),
    };
    let wanted = reader.count(row, &Meaning::SeedsWanted)?;
    let purpose = reader.text_or(
        row,
        &Meaning::Purpose,
        there.map_or("", |each| &each.purpose),
    );
    let cross = Cross {
        id: there.map_or_else(|| reader.ids.next(), |each| each.id),
        code: there.map_or(code, |each| each.code.clone()),
        female,
        pollen,
        season,
        planned_pollination: planned.or(there.and_then(|each| each.planned_pollination)),
        seeds_wanted: wanted.or(there.and_then(|each| each.seeds_wanted)),
        purpose,
        advised: there.and_then(|each| each.advised.clone()),
    };
    Ok(match there {
        Some(there) => changed(project, there, &cross),
        None => added(cross),
    })
}

/// Several males, parted by `+`, `;` or `&`, each with its share of the pollen in brackets if that was measured.
fn mix(reader: &Reader<'_>, text: &str) -> Result<Pollen, Fault> {
    let names: Vec<&str> = text.split(['+', ';', '&']).map(str::trim).collect();
    if names.len() < 2 {
        return Err(Fault::Unknown(text.to_owned()));
    }
    let mut shares = Vec::new();
    for name in names {
        let share = name
            .strip_suffix(')')
            .and_then(|rest| rest.rsplit_once('('))
            .and_then(|(name, share)| Some((name.trim(), share.trim().parse::<f64>().ok()?)));
        let (name, share) = match share {
            Some((name, share)) => (name, Some(share)),
            None => (name, None),
        };
        match reader.names.find(name)? {
            Some(male) => shares.push(PollenShare { male, share }),
            None => return Err(Fault::Unknown(name.to_owned())),
        }
    }
    Ok(Pollen::Mix(shares))
}
