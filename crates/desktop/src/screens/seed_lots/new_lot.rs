//! A new seed lot.

use super::{amount, source};
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::{Edit, Id, LotSource, SeedLot, actions};
use egui::{TextEdit, Ui};
use kit::theme::space;
use kit::widgets::{form_row, main_button};

/// A new lot, until it is added.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Form {
    source: source::Draft,
    /// The code as typed; until then the next free one is shown.
    code: Option<String>,
    harvested: Option<NaiveDate>,
    cleaned: Option<NaiveDate>,
    amount: amount::Draft,
    place: String,
    conditions: String,
}

/// How a form ended.
pub(super) enum Ended {
    /// This lot was asked for.
    Added(Id<SeedLot>),
    /// It was put away.
    PutAway,
}

impl Form {
    /// An empty form, cleaned today.
    pub(super) fn new(view: &View<'_>) -> Self {
        Self {
            source: source::Draft::new(),
            code: None,
            harvested: None,
            cleaned: Some(view.today),
            amount: amount::Draft::counted(),
            place: String::new(),
            conditions: String::new(),
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
        if self.source.show(ui, view)
            && let Some(LotSource::Cross(cross)) = self.source.source()
        {
            self.harvested = actions::harvested_on(project, cross).or(self.harvested);
        }
        let source = self.source.source();
        let offered = source.as_ref().map_or_else(String::new, |source| {
            actions::next_lot_code(project, source, view.today)
        });
        let mut code = self.code.clone().unwrap_or(offered);
        text(ui, "Code", "Code of the new lot", &mut code)
            .then(|| self.code = Some(code.clone()).filter(|code| !code.is_empty()));
        form_row(ui, "Harvested", |ui| {
            view.date_field("Harvested")
                .show_optional(ui, &mut self.harvested);
        });
        form_row(ui, "Cleaned", |ui| {
            view.date_field("Cleaned")
                .show_optional(ui, &mut self.cleaned);
        });
        self.amount.show(ui);
        text(ui, "Place", "Place of the new lot", &mut self.place);
        text(
            ui,
            "Conditions",
            "Conditions of the new lot",
            &mut self.conditions,
        );
        ui.add_space(space::S);
        ui.horizontal(|ui| {
            let complete = source.zip(self.amount.amount().ok());
            let add = ui
                .add_enabled_ui(complete.is_some(), |ui| main_button(ui, "Add the lot"))
                .inner;
            if add.clicked()
                && let Some((source, amount)) = complete
            {
                let id = out.ids.next();
                out.edit(Edit::add(SeedLot {
                    id,
                    code: code.trim().to_owned(),
                    source,
                    harvested: self.harvested,
                    cleaned: self.cleaned,
                    amount,
                    place: self.place.trim().to_owned(),
                    conditions: self.conditions.trim().to_owned(),
                }));
                return Some(Ended::Added(id));
            }
            ui.button("Put away").clicked().then_some(Ended::PutAway)
        })
        .inner
    }
}

fn text(ui: &mut Ui, label: &str, name: &str, text: &mut String) -> bool {
    form_row(ui, label, |ui| {
        let edit = TextEdit::singleline(text)
            .desired_width(220.0_f32.min(ui.available_width() - space::S));
        ui.add(edit).accessible_name(name).changed()
    })
}
