//! One temperature written down by hand.

use crate::forms::{FormKind, RecordForm, Submission};
use crate::view::View;
use chrono::{NaiveDate, NaiveTime};
use domain::record::temperature_log::TemperatureLogField;
use domain::temperature::{Reading, Readings};
use domain::{Celsius, Edit, IdSource, LogPlace, TemperatureLog};
use egui::{TextEdit, Ui};
use kit::form::Action;
use kit::theme::muted;
use kit::widgets::{TemperatureField, form_row, section_heading};

/// The reading being written.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Form {
    day: NaiveDate,
    time: String,
    celsius: Option<f64>,
    place: String,
}

impl Form {
    /// A form for a place, on today.
    pub(super) const fn new(view: &View<'_>, place: String) -> Self {
        Self {
            day: view.today,
            time: String::new(),
            celsius: None,
            place,
        }
    }

    fn time(&self) -> Option<NaiveTime> {
        let time = self.time.trim().replace('.', ":");
        NaiveTime::parse_from_str(&time, "%H:%M").ok()
    }
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::Reading;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        section_heading(ui, "Enter a temperature reading");
        form_row(ui, "Place", |ui| {
            ui.add(TextEdit::singleline(&mut self.place).desired_width(220.0))
                .accessible_name("Place of the reading");
        });
        form_row(ui, "Read on", |ui| {
            view.date_field("Day of the reading")
                .show(ui, &mut self.day);
        });
        form_row(ui, "At", |ui| {
            ui.add(
                TextEdit::singleline(&mut self.time)
                    .desired_width(72.0)
                    .hint_text("07:30"),
            )
            .accessible_name("Time of the reading");
        });
        form_row(ui, "Temperature", |ui| {
            TemperatureField::new("Temperature read", view.preferences.temperature)
                .show_optional(ui, &mut self.celsius);
        });
        ui.label(muted(
            ui,
            "It is shown on the chart. Hours are counted only between readings at most six hours \
            apart.",
        ));
        let day = kit::dates::on_button(self.day, view.clock);
        Action::new(format!("Record the reading, {day}"))
            .needs(!self.place.trim().is_empty(), "Say where it was read.")
            .needs(self.time().is_some(), "Write the time as 07:30.")
            .needs(self.celsius.is_some(), "Type the temperature.")
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let time = self.time().ok_or("Write the time as 07:30.")?;
        let celsius = self.celsius.ok_or("Type the temperature.")?;
        let reading = Reading::new(self.day.and_time(time), Celsius(celsius));
        let at = LogPlace::Place(self.place.trim().to_owned());
        let own = view
            .project
            .temperature_logs()
            .iter()
            .find(|log| log.at == at && log.source.is_empty());
        let edit = if let Some(log) = own {
            let readings = log.readings.with(reading);
            Edit::set(log.id, TemperatureLogField::Readings(readings))
        } else {
            Edit::add(TemperatureLog {
                id: ids.next(),
                at,
                readings: Readings::new(vec![reading]),
                source: String::new(),
                remark: String::new(),
            })
        };
        Ok(edit.into())
    }
}
