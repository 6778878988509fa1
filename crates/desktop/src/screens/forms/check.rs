//! A look into a box, with what was found.

use super::whole_number;
use crate::theme::space;
use crate::view::{Outbox, View};
use crate::widgets::{TemperatureField, caution, form_row, main_button, segmented};
use chrono::NaiveDate;
use domain::{Celsius, Check, ChillBox, Edit, Id, Moisture, cautions};
use egui::{TextEdit, Ui};

/// What was found in a box, until it is recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckForm {
    chill_box: Id<ChillBox>,
    moisture: Option<Moisture>,
    water_added: bool,
    air_let_in: bool,
    mouldy: u32,
    sprouted: u32,
    celsius: Option<f64>,
    remark: String,
}

impl CheckForm {
    /// A form for a look into this box.
    pub const fn new(chill_box: Id<ChillBox>) -> Self {
        Self {
            chill_box,
            moisture: None,
            water_added: false,
            air_let_in: false,
            mouldy: 0,
            sprouted: 0,
            celsius: None,
            remark: String::new(),
        }
    }

    /// The box it is about.
    pub const fn chill_box(&self) -> Id<ChillBox> {
        self.chill_box
    }

    /// Draws the form. True when it is done with: recorded, or put away.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        view: &View<'_>,
        day: NaiveDate,
        out: &mut Outbox<'_>,
    ) -> bool {
        let seeds = view
            .project
            .chill_boxes()
            .get(self.chill_box)
            .map_or(0, |chill_box| chill_box.seeds);
        form_row(ui, "Towel", |ui| {
            let choices = [
                (None, "not noted"),
                (Some(Moisture::Dry), "dry"),
                (Some(Moisture::Moist), "moist"),
                (Some(Moisture::Wet), "wet"),
            ];
            if segmented(ui, "Towel", &mut self.moisture, &choices)
                && self.moisture == Some(Moisture::Dry)
            {
                self.water_added = true;
            }
        });
        form_row(ui, "Done", |ui| {
            ui.horizontal(|ui| {
                ui.checkbox(&mut self.water_added, "Water added");
                ui.checkbox(&mut self.air_let_in, "Air let in");
            });
        });
        form_row(ui, "Mouldy", |ui| {
            whole_number(
                ui,
                "Mouldy seeds removed",
                "seeds removed",
                &mut self.mouldy,
                seeds,
            )
        });
        form_row(ui, "Sprouted", |ui| {
            whole_number(
                ui,
                "Seeds sprouted early",
                "seeds sprouted early",
                &mut self.sprouted,
                seeds,
            )
        });
        form_row(ui, "Temperature", |ui| {
            TemperatureField::new("Temperature read", view.preferences.temperature)
                .show_optional(ui, &mut self.celsius);
        });
        form_row(ui, "Remark", |ui| {
            ui.add(TextEdit::singleline(&mut self.remark).desired_width(220.0))
                .accessible_name("Remark on the box");
        });
        if self.mouldy > 0 {
            caution(
                ui,
                cautions::MOULD.title,
                cautions::MOULD.text,
                "local rules and the advice of a doctor",
            );
        }
        ui.add_space(space::XS);
        ui.horizontal(|ui| {
            let recorded = main_button(ui, "Record the look").clicked();
            if recorded {
                let id = out.ids.next();
                out.edit(self.edit(view, day, id));
            }
            recorded | ui.button("Put away").clicked()
        })
        .inner
    }

    fn edit(&self, view: &View<'_>, day: NaiveDate, id: Id<Check>) -> Edit {
        Edit::add(Check {
            moisture: self.moisture,
            water_added: self.water_added,
            mouldy_removed: self.mouldy,
            sprouted_early: self.sprouted,
            temperature: self.celsius.map(Celsius),
            air_let_in: self.air_let_in,
            by: view.preferences.who.clone(),
            remark: self.remark.trim().to_owned(),
            ..Check::looked(id, self.chill_box, day)
        })
    }
}
