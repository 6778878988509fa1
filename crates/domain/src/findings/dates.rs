//! Dates still to come.

use super::{Found, sentence};
use crate::id::{AnyId, Id};

pub(super) fn find(found: &mut Found<'_>) {
    let (project, today) = (found.project, found.today);
    let dated = project
        .cross_events()
        .iter()
        .map(|each| (AnyId::from(each.id), each.date))
        .chain(project.checks().iter().map(|each| of(each.id, each.date)))
        .chain(
            project
                .germinations()
                .iter()
                .map(|each| of(each.id, each.moved)),
        )
        .chain(
            project
                .movements()
                .iter()
                .map(|each| of(each.id, each.date)),
        )
        .chain(project.counts().iter().map(|each| of(each.id, each.date)))
        .chain(
            project
                .observations()
                .iter()
                .map(|each| of(each.id, each.date)),
        )
        .chain(project.notes().iter().map(|each| of(each.id, each.date)));
    for (id, date) in dated.filter(|(_, date)| *date > today) {
        let what = format!(
            "{} is dated {date}, which is still to come.",
            sentence(&project.describe(id))
        );
        found.doubt(id, what, "Correct the date, or this computer's clock.");
    }
}

fn of<R: crate::record::Record>(id: Id<R>, date: chrono::NaiveDate) -> (AnyId, chrono::NaiveDate) {
    (id.into(), date)
}
