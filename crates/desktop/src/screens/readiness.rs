//! When the cold of a batch is enough: by the calendar, by its temperatures, and by the program's own germination.

use crate::screens::explanation::grounds;
use crate::view::View;
use chrono::NaiveDate;
use domain::ChillBatch;
use domain::chill_response::{LEAST, Response};
use domain::grounds::of_cold;
use domain::temperature::{BatchCold, advice, hours};
use egui::Ui;
use kit::theme::{Meaning, muted, space};
use kit::widgets::{NumberField, badge, detail, detail_with, explained, form_row, section_heading};

/// The share of seed that is wanted up, until another is typed.
#[derive(Debug, Clone, Copy)]
pub struct Wanted(f64);

impl Default for Wanted {
    fn default() -> Self {
        Self(50.0)
    }
}

fn day(date: NaiveDate) -> String {
    date.format("%-d %b %Y").to_string()
}

/// Draws the section. Nothing for a batch that is only planned, or has ended.
pub fn show(ui: &mut Ui, view: &View<'_>, batch: &ChillBatch, wanted: &mut Wanted) {
    if !batch.started || batch.ended.is_some() {
        return;
    }
    section_heading(ui, "When it is ready");
    detail(
        ui,
        "By the calendar",
        &format!(
            "{}: {} from {}",
            day(batch.ready_on()),
            batch.regimen.chill,
            day(batch.start)
        ),
    );
    let Some(derived) = view.derived.cold(view.project, view.today, ui.ctx()) else {
        ui.label(muted(ui, "Working it out…"));
        return;
    };
    match derived.batches.get(&batch.id) {
        Some(cold) => by_temperature(ui, cold),
        None => {
            ui.add(egui::Label::new(muted(ui, "No temperatures of this batch or its place are on record, so the cold it got isn't known. Read in the file of its logger on the Temperatures screen.")).wrap());
        }
    }
    by_germination(ui, &derived.response, batch, wanted);
    let cold = derived.batches.get(&batch.id);
    grounds(ui, &of_cold(batch, cold, &derived.response));
}

fn by_temperature(ui: &mut Ui, cold: &BatchCold) {
    let exposure = &cold.exposure;
    let received = format!(
        "{:.1} of {:.0} days in the target range ({:.0} %)",
        exposure.in_band / 24.0,
        cold.required / 24.0,
        cold.part() * 100.0
    );
    detail_with(ui, "Cold received", |ui| {
        explained(ui, "Cold received", &received, |ui| {
            ui.label("Hours with the temperature in the target range (limits included), divided by 24. Between \
                readings a straight line is assumed; across a gap, nothing.");
            ui.label(format!(
                "{} in the target range, {} below it, {} freezing, {} above it, {} not known.",
                hours(exposure.in_band),
                hours(exposure.below),
                hours(exposure.freezing),
                hours(exposure.above),
                hours(exposure.unknown)
            ));
            ui.label(muted(ui, "Only time in the target range counts: common practice; nothing published on what other temperatures are worth to hop seed was found."));
        });
    });
    let Some(reckoned) = cold.by_temperature else {
        ui.add(
            egui::Label::new(muted(
                ui,
                "Too little of its time was within the target range to estimate a day.",
            ))
            .wrap(),
        );
        return;
    };
    let latest = reckoned
        .latest
        .map_or("never, at the present rate".to_owned(), day);
    let value = if reckoned.latest == Some(reckoned.earliest) {
        day(reckoned.expected)
    } else {
        format!(
            "{} ({} to {latest})",
            day(reckoned.expected),
            day(reckoned.earliest)
        )
    };
    detail_with(ui, "By temperatures", |ui| {
        explained(ui, "Ready by its temperatures", &value, |ui| {
            ui.label(
                "Expected: hours not known were like the known ones, and those to come are too.",
            );
            ui.label("Earliest: all hours not known, and all to come, in the target range.");
            ui.label("Latest: none of the hours not known in the target range, and those to come as poor as the poorer of the whole and the last week.");
        });
    });
}

fn by_germination(ui: &mut Ui, response: &Response, batch: &ChillBatch, wanted: &mut Wanted) {
    let (Response::Rises(fitted) | Response::NoDifference(fitted)) = response else {
        let Response::NotEnough(sentence) = response else {
            return;
        };
        detail(ui, "Your own results", sentence);
        return;
    };
    if matches!(response, Response::NoDifference(_)) {
        let words = format!(
            "In {} boxes with {} seeds, {:.0} to {:.0} days of cold made no difference beyond chance.",
            fitted.boxes, fitted.seeds, fitted.days.0, fitted.days.1
        );
        detail(ui, "Your own results", &words);
        return;
    }
    form_row(ui, "Germination wanted", |ui| {
        NumberField::new("Share of seed wanted up", "%")
            .range(1.0..=99.0)
            .decimals(0)
            .show(ui, &mut wanted.0);
    });
    let value = match fitted.day_for(wanted.0 / 100.0, batch.start) {
        Some((expected, earliest, latest)) => {
            format!("{} ({} to {})", day(expected), day(earliest), day(latest))
        }
        None => format!(
            "not within the {:.0} to {:.0} days of cold that were tried",
            fitted.days.0, fitted.days.1
        ),
    };
    detail_with(ui, "Your own results", |ui| {
        explained(ui, "Ready by own germination", &value, |ui| {
            ui.label(format!("A logistic line through {} boxes with {} seeds by days of cold, fitted by maximum likelihood; a 95 % interval after Fieller, widened where boxes differ more than chance.", fitted.boxes, fitted.seeds));
            ui.label(format!(
                "Log odds = {:.3} + {:.4} × days; variance {:.1} times that of chance.",
                fitted.fit.intercept, fitted.fit.slope, fitted.fit.dispersion
            ));
            ui.label(muted(ui, format!("Boxes chilled again are left out. It takes {} boxes with {} seeds after {} lengths of cold. Finney 1971, Probit analysis, 3rd ed., section 4.6.", LEAST.1, LEAST.2, LEAST.0)));
        });
    });
}

/// What its temperatures mean for the seed, if they were not as they should be.
pub fn advice_ui(ui: &mut Ui, view: &View<'_>, cold: &BatchCold) {
    for advice in advice(cold) {
        ui.add_space(space::XS);
        let meaning = if advice.zone == domain::temperature::Zone::Freezing {
            Meaning::Danger
        } else {
            Meaning::Late
        };
        badge(ui, meaning, advice.zone.words());
        let what = advice.what_with(|celsius| view.preferences.temperature.show(celsius));
        ui.add(egui::Label::new(what).wrap());
        ui.add(egui::Label::new(advice.meaning).wrap());
        ui.add(egui::Label::new(advice.remedy).wrap());
        ui.add(egui::Label::new(muted(ui, advice.source).small()).wrap());
    }
}
