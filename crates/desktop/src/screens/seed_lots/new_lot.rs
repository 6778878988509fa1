//! A new seed lot.

use super::{amount, source};
use crate::forms::{FormKind, RecordForm, Submission};
use crate::view::{Request, View};
use chrono::NaiveDate;
use domain::{Edit, IdSource, LotSource, SeedLot, actions};
use egui::{TextEdit, Ui};
use kit::form::Action;
use kit::theme::space;
use kit::widgets::form_row;

/// A new lot, until it is added.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
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

impl Form {
    /// An empty form, cleaned today.
    pub(super) fn new(today: NaiveDate) -> Self {
        Self {
            source: source::Draft::new(),
            code: None,
            harvested: None,
            cleaned: Some(today),
            amount: amount::Draft::counted(),
            place: String::new(),
            conditions: String::new(),
        }
    }
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::NewLot;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
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
        Action::new(format!("Add lot {}", code.trim()))
            .needs(
                self.source.source().is_some(),
                "Say where the seed comes from.",
            )
            .needs(self.amount.amount().is_ok(), "Give the amount of seed.")
            .needs(!code.trim().is_empty(), "Give it a code.")
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let source = self
            .source
            .source()
            .ok_or("Say where the seed comes from.")?;
        let amount = self
            .amount
            .amount()
            .map_err(|amount::Incomplete| "Give the amount of seed.")?;
        let offered = || actions::next_lot_code(view.project, &source, view.today);
        let lot = SeedLot {
            id: ids.next(),
            code: self.code.clone().unwrap_or_else(offered).trim().to_owned(),
            source,
            harvested: self.harvested,
            cleaned: self.cleaned,
            amount,
            place: self.place.trim().to_owned(),
            conditions: self.conditions.trim().to_owned(),
        };
        let show = Request::Show(lot.id.into());
        Ok(Submission::from(Edit::add(lot)).then(show))
    }
}

fn text(ui: &mut Ui, label: &str, name: &str, text: &mut String) -> bool {
    form_row(ui, label, |ui| {
        let edit = TextEdit::singleline(text)
            .desired_width(220.0_f32.min(ui.available_width() - space::S));
        ui.add(edit).accessible_name(name).changed()
    })
}
