//! A new batch.

use crate::forms::{FormKind, RecordForm, Submission};
use crate::screens::fields::choice;
use crate::view::{Request, View};
use chrono::NaiveDate;
use domain::{Edit, Id, IdSource, Protocol, SeedLot, actions};
use egui::Ui;
use kit::form::Action;
use kit::theme::muted;
use kit::widgets::form_row;

/// A batch, until it is planned.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Form {
    protocol: Option<Id<Protocol>>,
    start: NaiveDate,
    /// The lot to go on with once the batch is there.
    lot: Option<Id<SeedLot>>,
}

impl Form {
    /// A batch under the project's own protocol, from today.
    pub(super) fn new(view: &View<'_>, lot: Option<Id<SeedLot>>) -> Self {
        let project = view.project;
        let first = || project.protocols().iter().next().map(|each| each.id);
        Self {
            protocol: project.settings().protocol.or_else(first),
            start: view.today,
            lot,
        }
    }
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::PlanBatch;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let project = view.project;
        let protocols: Vec<_> = project
            .protocols()
            .iter()
            .map(|each| (Some(each.id), each.name.clone()))
            .collect();
        form_row(ui, "Protocol", |ui| {
            choice(ui, "Protocol of the batch", &mut self.protocol, &protocols)
        });
        form_row(ui, "Start", |ui| {
            view.date_field("Start of the batch")
                .show(ui, &mut self.start);
        });
        let protocol = self.protocol.and_then(|id| project.protocols().get(id));
        let words = protocol.map_or_else(
            || "There is no protocol: add one in Setup.".to_owned(),
            |protocol| {
                let regimen = &protocol.regimen;
                let unit = view.preferences.temperature;
                format!(
                    "{} at {} to {}, over on {}. Boxes of {} to {} seeds. The figures are copied: they can be changed for this batch alone.",
                    regimen.chill,
                    unit.show(regimen.cold_from.0),
                    unit.show(regimen.cold_to.0),
                    regimen.chill.after(self.start).format("%-d %b %Y"),
                    regimen.box_from,
                    regimen.box_to,
                )
            },
        );
        ui.add(egui::Label::new(muted(ui, words)).wrap());
        if let Some(protocol) = protocol.filter(|protocol| !protocol.source.is_empty()) {
            let source = format!("Source: {}", protocol.source);
            ui.add(egui::Label::new(muted(ui, source).small()).wrap());
        }
        let day = kit::dates::on_button(self.start, view.clock);
        Action::new(format!("Plan a batch to start {day}"))
            .needs(protocol.is_some(), "Choose the protocol.")
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let batch = self
            .protocol
            .and_then(|protocol| actions::plan_batch(view.project, protocol, self.start, ids));
        let Some(batch) = batch else {
            return Err("There is no such protocol: choose another.".into());
        };
        let next = Request::AddBoxes(Some(batch.id), self.lot);
        Ok(Submission::from(Edit::add(batch)).then(next))
    }
}
