//! Counts of what came up, by the box.

use super::columns::Meaning;
use super::{Fault, Planned, Reader, added, changed, coded};
use crate::{ChillBox, Count};

pub(super) fn row(reader: &mut Reader<'_>, row: usize) -> Result<Planned, Fault> {
    let project = reader.project;
    let code = reader.text(row, &Meaning::Box).into_owned();
    if code.is_empty() {
        return Err(Fault::Refused("No box is named.".into()));
    }
    let Some(chill_box) = coded::<ChillBox>(project, &code) else {
        return Err(Fault::Unknown(code));
    };
    let Some(run) = project.run_of(chill_box) else {
        return Err(Fault::Refused(format!(
            "Box {code} hasn't come to warmth yet. Record that first."
        )));
    };
    let date = reader
        .date(row, &Meaning::Date)?
        .or(reader.round.date)
        .ok_or_else(|| {
            "There is no date. Give one for the whole table, or in a column.".to_owned()
        })?;
    let there = project.counts_of(run.id).find(|count| count.date == date);
    let number = |meaning: &Meaning, before: fn(&Count) -> u32| -> Result<u32, String> {
        let own = reader.count(row, meaning)?;
        Ok(own.unwrap_or_else(|| there.map_or(0, before)))
    };
    let germinated = number(&Meaning::Germinated, |each| each.germinated)?;
    let abnormal = number(&Meaning::Abnormal, |each| each.abnormal)?;
    let dead = number(&Meaning::Dead, |each| each.dead)?;
    let lost = number(&Meaning::Lost, |each| each.lost)?;
    let by = reader.text_or(
        row,
        &Meaning::By,
        there.map_or(&reader.round.by, |each| &each.by),
    );
    let remark = reader.text_or(row, &Meaning::Remark, there.map_or("", |each| &each.remark));
    let count = Count {
        id: there.map_or_else(|| reader.ids.next(), |each| each.id),
        run: run.id,
        date,
        germinated,
        abnormal,
        dead,
        lost,
        by,
        remark,
    };
    Ok(match there {
        Some(there) => changed(project, there, &count),
        None => added(count),
    })
}
