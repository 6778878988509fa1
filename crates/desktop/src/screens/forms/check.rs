//! A look into a box, with what was found.

use super::whole_number;
use crate::forms::{FormKind, RecordForm, Submission};
use crate::view::View;
use chrono::NaiveDate;
use domain::record::chill::CheckField;
use domain::{Celsius, Check, ChillBox, Edit, Id, IdSource, Moisture, cautions, ledger};
use egui::{TextEdit, Ui};
use kit::form::Action;
use kit::widgets::{TemperatureField, form_row, segmented};

/// What was found in a box, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct CheckForm {
    chill_box: Id<ChillBox>,
    moisture: Option<Moisture>,
    water_added: bool,
    air_let_in: bool,
    mouldy: u32,
    sprouted: u32,
    sprouts_lost: u32,
    celsius: Option<f64>,
    remark: String,
    /// The day, where it isn't the day that is worked for.
    day: Option<NaiveDate>,
    /// The look on record that this one corrects.
    corrects: Option<Id<Check>>,
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
            sprouts_lost: 0,
            celsius: None,
            remark: String::new(),
            day: None,
            corrects: None,
        }
    }

    /// The same, with a day that can be chosen.
    pub const fn on(chill_box: Id<ChillBox>, day: NaiveDate) -> Self {
        let mut form = Self::new(chill_box);
        form.day = Some(day);
        form
    }

    /// A form that corrects a look on record.
    pub fn correcting(check: &Check) -> Self {
        Self {
            chill_box: check.chill_box,
            moisture: check.moisture,
            water_added: check.water_added,
            air_let_in: check.air_let_in,
            mouldy: check.mouldy_removed,
            sprouted: check.sprouted_early,
            sprouts_lost: check.sprouts_lost,
            celsius: check.temperature.map(|celsius| celsius.0),
            remark: check.remark.clone(),
            day: Some(check.date),
            corrects: Some(check.id),
        }
    }
}

impl RecordForm for CheckForm {
    const KIND: FormKind = FormKind::Check;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        if let Some(day) = &mut self.day {
            form_row(ui, "Checked on", |ui| {
                view.date_field("Day of the check").show(ui, day);
            });
        }
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
                ui.checkbox(&mut self.air_let_in, "Aired");
            });
        });
        form_row(ui, "Mouldy", |ui| {
            whole_number(
                ui,
                "Mouldy seeds removed",
                "seeds removed",
                &mut self.mouldy,
                seeds,
            );
        });
        form_row(ui, "Sprouted", |ui| {
            whole_number(
                ui,
                "Seeds sprouted early",
                "seeds sprouted early",
                &mut self.sprouted,
                seeds,
            );
        });
        let waiting = view
            .project
            .chill_boxes()
            .get(self.chill_box)
            .map_or(0, |chill_box| ledger::unpotted(view.project, chill_box));
        if waiting + self.sprouted + self.sprouts_lost > 0 {
            form_row(ui, "Sprouts lost", |ui| {
                whole_number(
                    ui,
                    "Early sprouts lost",
                    "sprouts lost before potting",
                    &mut self.sprouts_lost,
                    seeds,
                );
            });
        }
        form_row(ui, "Temperature", |ui| {
            TemperatureField::new("Temperature read", view.preferences.temperature)
                .show_optional(ui, &mut self.celsius);
        });
        form_row(ui, "Remark", |ui| {
            ui.add(TextEdit::singleline(&mut self.remark).desired_width(220.0))
                .accessible_name("Remark on the box");
        });
        if self.mouldy > 0 || cautions::box_had_mould(view.project, self.chill_box) {
            crate::screens::fields::cautions(ui, &[cautions::MOULD]);
        }
        let code = view.project.code_of(self.chill_box);
        let day = self.day.unwrap_or(view.today);
        let day = kit::dates::on_button(day, view.clock);
        let verb = if self.corrects.is_some() {
            "Correct"
        } else {
            "Record"
        };
        Action::new(format!("{verb} the check of {code}, {day}"))
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let edit = match self.corrects {
            None => Edit::add(self.check(view, self.day.unwrap_or(view.today), ids.next())),
            Some(id) => match view.project.checks().get(id) {
                Some(was) => self.correction(view, was, self.day.unwrap_or(was.date)),
                None => return Err("The check that is corrected was removed.".into()),
            },
        };
        Ok(edit.into())
    }
}

impl CheckForm {
    fn check(&self, view: &View<'_>, day: NaiveDate, id: Id<Check>) -> Check {
        Check {
            moisture: self.moisture,
            water_added: self.water_added,
            mouldy_removed: self.mouldy,
            sprouted_early: self.sprouted,
            sprouts_lost: self.sprouts_lost,
            temperature: self.celsius.map(Celsius),
            air_let_in: self.air_let_in,
            by: view.preferences.who.clone(),
            remark: self.remark.trim().to_owned(),
            ..Check::nothing_found(id, self.chill_box, day)
        }
    }

    /// The fields that differ from the look on record, as one edit; who looked stays.
    fn correction(&self, view: &View<'_>, was: &Check, day: NaiveDate) -> Edit {
        let new = self.check(view, day, was.id);
        let fields = [
            (new.date != was.date).then_some(CheckField::Date(new.date)),
            (new.moisture != was.moisture).then_some(CheckField::Moisture(new.moisture)),
            (new.water_added != was.water_added).then_some(CheckField::WaterAdded(new.water_added)),
            (new.mouldy_removed != was.mouldy_removed)
                .then_some(CheckField::MouldyRemoved(new.mouldy_removed)),
            (new.sprouted_early != was.sprouted_early)
                .then_some(CheckField::SproutedEarly(new.sprouted_early)),
            (new.sprouts_lost != was.sprouts_lost)
                .then_some(CheckField::SproutsLost(new.sprouts_lost)),
            (new.temperature != was.temperature)
                .then_some(CheckField::Temperature(new.temperature)),
            (new.air_let_in != was.air_let_in).then_some(CheckField::AirLetIn(new.air_let_in)),
            (new.remark != was.remark).then_some(CheckField::Remark(new.remark)),
        ];
        let label = format!("correct {}", view.project.describe(was.id.into()));
        let edits = fields.into_iter().flatten();
        Edit::all(label, edits.map(|field| Edit::set(was.id, field)).collect())
    }
}
