//! Samples taken from plants.

use super::columns::Meaning;
use super::names::folded;
use super::{Fault, Planned, Reader, added, changed, coded};
use crate::{PlantPart, Sample};

pub(super) fn row(reader: &mut Reader<'_>, row: usize) -> Result<Planned, Fault> {
    let code = reader.text(row, &Meaning::Code).into_owned();
    let plant = reader.text(row, &Meaning::Plant).into_owned();
    if code.is_empty() || plant.is_empty() {
        return Err(Fault::Refused("A sample needs a code and a plant.".into()));
    }
    let there =
        coded::<Sample>(reader.project, &code).and_then(|id| reader.project.samples().get(id));
    let Some(genotype) = reader.names.find(&plant)? else {
        return Err(Fault::Unknown(plant));
    };
    let part = match folded(&reader.text(row, &Meaning::Part)).as_str() {
        "" => there.map_or(PlantPart::Cones, |each| each.part),
        word => {
            let fits = |part: &PlantPart| {
                folded(part.word()).trim_end_matches('s') == word.trim_end_matches('s')
            };
            PlantPart::ALL.into_iter().find(fits).ok_or_else(|| {
                format!("'{word}' is no part of a plant that is known. Write cones, leaves, shoots, roots or whole plant.")
            })?
        }
    };
    let taken = reader
        .date(row, &Meaning::Date)?
        .or(there.map(|each| each.taken))
        .or(reader.round.date)
        .ok_or_else(|| {
            "There is no date. Give one for the whole table, or in a column.".to_owned()
        })?;
    let kept = |meaning, field: fn(&Sample) -> &String, whole: &str| {
        let own = reader.text(row, meaning);
        match (own.as_ref(), there) {
            ("", Some(there)) => field(there).clone(),
            ("", None) => whole.to_owned(),
            (own, _) => own.to_owned(),
        }
    };
    let site = kept(&Meaning::Site, |each| &each.site, &reader.round.site);
    let by = kept(&Meaning::By, |each| &each.by, &reader.round.by);
    let laboratory = kept(&Meaning::Laboratory, |each| &each.laboratory, "");
    let remark = kept(&Meaning::Remark, |each| &each.remark, "");
    let replicate = reader.count(row, &Meaning::Replicate)?;
    let sent = reader.date(row, &Meaning::Sent)?;
    let sample = Sample {
        id: there.map_or_else(|| reader.ids.next(), |each| each.id),
        code: there.map_or(code, |each| each.code.clone()),
        genotype,
        part,
        taken,
        site,
        replicate: replicate.or(there.and_then(|each| each.replicate)),
        by,
        laboratory,
        sent: sent.or(there.and_then(|each| each.sent)),
        remark,
    };
    Ok(match there {
        Some(there) => changed(reader.project, there, &sample),
        None => added(sample),
    })
}
