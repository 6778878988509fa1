//! Seed lots.

use super::columns::Meaning;
use super::{Fault, Planned, Reader, added, changed, coded};
use crate::{Cross, Grams, LotSource, SeedAmount, SeedLot};

pub(super) fn row(reader: &mut Reader<'_>, row: usize) -> Result<Planned, Fault> {
    let project = reader.project;
    let code = reader.text(row, &Meaning::Code).into_owned();
    if code.is_empty() {
        return Err(Fault::Refused("A seed lot needs a code.".into()));
    }
    let there = coded::<SeedLot>(project, &code).and_then(|id| project.seed_lots().get(id));
    let (cross, female, from) = (
        reader.text(row, &Meaning::Cross),
        reader.text(row, &Meaning::Female),
        reader.text(row, &Meaning::From),
    );
    let source = match (cross.as_ref(), female.as_ref(), from.as_ref(), there) {
        ("", "", "", Some(there)) => there.source.clone(),
        ("", "", "", None) => LotSource::Unknown,
        ("", "", from, _) => match there.map(|each| &each.source) {
            Some(LotSource::Bought { from: before, .. }) if before == from => {
                there.map_or(LotSource::Unknown, |each| each.source.clone())
            }
            _ => LotSource::Bought {
                from: from.to_owned(),
                described_as: String::new(),
            },
        },
        ("", female, _, _) => match reader.names.find(female)? {
            Some(female) => LotSource::OpenPollinated(female),
            None => return Err(Fault::Unknown(female.to_owned())),
        },
        (cross, _, _, _) => match coded::<Cross>(project, cross) {
            Some(cross) => LotSource::Cross(cross),
            None => return Err(Fault::Unknown(cross.to_owned())),
        },
    };
    let weight = reader.number(row, &Meaning::Weight)?;
    let thousand = reader.number(row, &Meaning::ThousandSeedWeight)?;
    let amount = match (reader.count(row, &Meaning::Seeds)?, weight, thousand) {
        (Some(seeds), _, _) => Some(SeedAmount::Counted(seeds)),
        (None, Some(weight), Some(thousand)) => Some(SeedAmount::Weighed {
            weight: Grams(weight),
            thousand_seed_weight: Grams(thousand),
        }),
        (None, Some(_), None) => {
            return Err(Fault::Refused(
                "A weight tells the number of seeds only with the weight of a thousand. Give that too, or count them.".into(),
            ));
        }
        (None, None, _) => there.and_then(|each| each.amount),
    };
    let harvested = reader.date(row, &Meaning::Harvested)?;
    let cleaned = reader.date(row, &Meaning::Cleaned)?;
    let place = reader.text_or(row, &Meaning::Place, there.map_or("", |each| &each.place));
    let lot = SeedLot {
        id: there.map_or_else(|| reader.ids.next(), |each| each.id),
        code: there.map_or(code, |each| each.code.clone()),
        source,
        harvested: harvested.or(there.and_then(|each| each.harvested)),
        cleaned: cleaned.or(there.and_then(|each| each.cleaned)),
        amount,
        place,
        conditions: there.map_or_else(String::new, |each| each.conditions.clone()),
    };
    Ok(match there {
        Some(there) => changed(project, there, &lot),
        None => added(lot),
    })
}
