//! One temperature written down by hand.

use crate::view::{Outbox, View};
use chrono::{NaiveDate, NaiveTime};
use domain::record::temperature_log::TemperatureLogField;
use domain::temperature::{Reading, Readings};
use domain::{Celsius, Edit, LogPlace, TemperatureLog};
use egui::{TextEdit, Ui};
use kit::theme::{Meaning, muted, space};
use kit::widgets::{TemperatureField, badge, form_row, main_button, section_heading};

/// The reading being written.
pub(super) struct Form {
    day: NaiveDate,
    time: String,
    celsius: Option<f64>,
    place: String,
    problem: Option<&'static str>,
}

impl Form {
    /// A form for a place, on today.
    pub(super) const fn new(view: &View<'_>, place: String) -> Self {
        Self {
            day: view.today,
            time: String::new(),
            celsius: None,
            place,
            problem: None,
        }
    }

    /// Draws the form. True when it is done with.
    pub(super) fn show(&mut self, ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) -> bool {
        section_heading(ui, "A temperature read by hand");
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
        if let Some(problem) = self.problem {
            badge(ui, Meaning::Late, problem);
        }
        ui.label(muted(ui, "It shows on the chart. Hours are reckoned only between readings at most six hours apart."));
        ui.add_space(space::XS);
        ui.horizontal(|ui| {
            let keep = main_button(ui, "Keep it").clicked();
            let kept = keep && self.keep(view, out);
            kept | ui.button("Put away").clicked()
        })
        .inner
    }

    fn keep(&mut self, view: &View<'_>, out: &mut Outbox<'_>) -> bool {
        let time = self.time.trim().replace('.', ":");
        let Ok(time) = NaiveTime::parse_from_str(&time, "%H:%M") else {
            self.problem = Some("Write the time as 07:30.");
            return false;
        };
        let Some(celsius) = self.celsius else {
            self.problem = Some("Type the temperature.");
            return false;
        };
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
                id: out.ids.next(),
                at,
                readings: Readings::new(vec![reading]),
                source: String::new(),
                remark: String::new(),
            })
        };
        out.edit(edit);
        true
    }
}
