//! How a file is read, to be corrected by a person.

use egui::{Checkbox, ComboBox, Role, Ui, WidgetInfo};
use exchange::logger::{Encoding, Guess, Mapping, Separator, TimeForm, Unit};
use kit::theme::{Meaning, muted};
use kit::widgets::{NumberField, badge, form_row, section_heading, segmented};

/// Draws the fields. What is changed shows in `mapping`.
pub(super) fn show(ui: &mut Ui, guess: &Guess, mapping: &mut Mapping, header_found: u64) {
    section_heading(ui, "How it is read");
    for doubt in &guess.doubts {
        ui.horizontal_wrapped(|ui| {
            badge(ui, Meaning::Soon, "See here");
            ui.label(doubt);
        });
    }
    let columns = &guess.columns;
    choice(
        ui,
        "Separated by",
        &mut mapping.separator,
        &Separator::ALL.map(|each| (each, each.word().to_owned())),
    );
    let named: Vec<(usize, String)> = columns
        .iter()
        .enumerate()
        .map(|(nth, name)| (nth, format!("{}. {name}", nth + 1)))
        .collect();
    choice(ui, "Date column", &mut mapping.date, &named);
    let mut times = vec![(None, "with the date".to_owned())];
    times.extend(named.iter().map(|(nth, name)| (Some(*nth), name.clone())));
    choice(ui, "Time column", &mut mapping.time, &times);
    choice(
        ui,
        "Dates are",
        &mut mapping.form,
        &TimeForm::ALL.map(|each| (each, each.words().to_owned())),
    );
    choice(ui, "Temperature in", &mut mapping.temperature, &named);
    if mapping.separator == Separator::Comma {
        ui.add(Checkbox::new(
            &mut mapping.decimal_comma,
            "Commas are decimal signs too",
        ));
    }
    form_row(ui, "Unit", |ui| {
        let choices = [(Unit::Celsius, "°C"), (Unit::Fahrenheit, "°F")];
        segmented(ui, "Unit of the file", &mut mapping.unit, &choices);
    });
    form_row(ui, "Header", |ui| {
        let mut lines = mapping.header_lines.unwrap_or(header_found) as f64;
        let field = NumberField::new("Lines of header", "lines")
            .range(0.0..=1_000_000.0)
            .decimals(0);
        if field.show(ui, &mut lines).changed {
            mapping.header_lines = Some(lines as u64);
        }
    });
    if mapping.header_lines.is_some() && ui.button("Find the header again").clicked() {
        mapping.header_lines = None;
    }
    choice(
        ui,
        "Text encoding",
        &mut mapping.encoding,
        &Encoding::ALL.map(|each| (each, each.word().to_owned())),
    );
    ui.add(Checkbox::new(
        &mut mapping.summer_time,
        "The clock keeps summer time",
    ));
    ui.add(egui::Label::new(muted(ui, "Readings are then put on one clock, so that no hour is lost or counted \
        twice. Decimal points and commas, signs, and 12- or 24-hour times are recognised automatically.").small()).wrap());
}

fn choice<T: Clone + PartialEq>(ui: &mut Ui, name: &str, value: &mut T, choices: &[(T, String)]) {
    form_row(ui, name, |ui| {
        let shown = choices
            .iter()
            .find(|(each, _)| each == value)
            .map_or("not in this file", |(_, words)| words.as_str());
        ComboBox::from_id_salt(name)
            .selected_text(shown)
            .width(190.0)
            .show_ui(ui, |ui| {
                for (each, words) in choices {
                    if ui.selectable_label(each == value, words).clicked() {
                        *value = each.clone();
                    }
                }
            })
            .response
            .widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, name));
    });
}
