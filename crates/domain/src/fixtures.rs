//! Small projects that several tests start from.

use crate::actions;
use crate::{
    ChillBatch, ChillBox, Edit, Id, IdSource, LotSource, Project, Protocol, Regimen, SeedAmount,
    SeedLot,
};
use chrono::NaiveDate;

/// A day as it is written in ISO 8601.
pub(crate) fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// A project with one lot and one batch of two boxes, planned for 1 January 2026 under the usual regimen.
pub(crate) fn planned() -> (Project, ChillBatch, Vec<Id<ChillBox>>, IdSource) {
    let mut ids = IdSource::new(0, 0);
    let mut project = Project::default();
    let protocol = Protocol {
        id: ids.next(),
        name: "usual".into(),
        regimen: Regimen::default(),
        source: String::new(),
    };
    let lot = SeedLot {
        id: ids.next(),
        code: "L".into(),
        source: LotSource::Unknown,
        harvested: None,
        cleaned: None,
        amount: Some(SeedAmount::Counted(500)),
        place: String::new(),
        conditions: String::new(),
    };
    let (protocol_id, lot_id) = (protocol.id, lot.id);
    project.apply(Edit::add(protocol)).unwrap();
    project.apply(Edit::add(lot)).unwrap();
    let batch = actions::plan_batch(&project, protocol_id, day("2026-01-01"), &mut ids).unwrap();
    project.apply(Edit::add(batch.clone())).unwrap();
    let lay = actions::lay_boxes(&project, &batch, lot_id, 150, 100, &mut ids);
    project.apply(lay).unwrap();
    let boxes = project.boxes_of(batch.id).map(|each| each.id).collect();
    (project, batch, boxes, ids)
}
