//! A new batch.

use crate::screens::fields::choice;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::{ChillBatch, Edit, Id, Protocol, SeedLot, actions};
use egui::Ui;
use kit::theme::{muted, space};
use kit::widgets::{form_row, main_button};

/// A batch, until it is planned.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Form {
    protocol: Option<Id<Protocol>>,
    start: NaiveDate,
    /// The lot to go on with once the batch is there.
    lot: Option<Id<SeedLot>>,
}

/// How a form ended.
pub(super) enum Ended {
    /// This batch was asked for, to be filled from this lot.
    Planned(Id<ChillBatch>, Option<Id<SeedLot>>),
    /// It was put away.
    PutAway,
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

    /// Draws the form; how it ended, once it has.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        view: &View<'_>,
        out: &mut Outbox<'_>,
    ) -> Option<Ended> {
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
        ui.add_space(space::XS);
        ui.horizontal(|ui| {
            let plan = ui
                .add_enabled_ui(protocol.is_some(), |ui| main_button(ui, "Plan this batch"))
                .inner;
            if plan.clicked()
                && let Some(protocol) = protocol
                && let Some(batch) = actions::plan_batch(project, protocol.id, self.start, out.ids)
            {
                let id = batch.id;
                out.edit(Edit::add(batch));
                return Some(Ended::Planned(id, self.lot));
            }
            ui.button("Put away").clicked().then_some(Ended::PutAway)
        })
        .inner
    }
}
