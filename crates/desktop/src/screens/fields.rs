//! Fields edited in place, named at their left: each hands back the new value once it is committed.

use crate::view::Outbox;
use chrono::{Datelike as _, NaiveDate};
use domain::cautions::Caution;
use domain::date::InWords as _;
use domain::{AnyId, Cross, Genotype, Id, PartialDate, Ploidy, Pollen, Project, Sex};
use egui::{Button, ComboBox, TextWrapMode, Ui, vec2};
use kit::dates::DayOrder;
use kit::drafts::Ticket;
use kit::fonts::mark;
use kit::theme::space;
use kit::widgets::{DateField, NumberField, TextField, form_row};

/// Words.
pub fn text(ui: &mut Ui, name: &str, value: &str) -> Option<(String, Ticket)> {
    text_with_hint(ui, name, value, "")
}

/// Words, with a hint of what to write while there are none.
pub fn text_with_hint(
    ui: &mut Ui,
    name: &str,
    value: &str,
    hint: &str,
) -> Option<(String, Ticket)> {
    form_row(ui, name, |ui| {
        TextField::new(name).hint(hint).show(ui, value)
    })
}

/// A whole number that may be unknown.
pub fn whole_number(
    ui: &mut Ui,
    name: &str,
    unit: &str,
    value: Option<u32>,
) -> Option<(Option<u32>, Ticket)> {
    form_row(ui, name, |ui| {
        let mut number = value.map(f64::from);
        let field = NumberField::new(name, unit)
            .decimals(0)
            .range(0.0..=100_000_000.0);
        field
            .show_optional(ui, &mut number)
            .ticket
            .map(|ticket| (number.map(|number| number as u32), ticket))
    })
}

/// A day that may be unknown.
pub fn optional_day(
    ui: &mut Ui,
    name: &str,
    today: NaiveDate,
    value: Option<NaiveDate>,
) -> Option<(Option<NaiveDate>, Ticket)> {
    form_row(ui, name, |ui| {
        let mut day = value;
        DateField::new(name, today)
            .show_optional(ui, &mut day)
            .ticket
            .map(|ticket| (day, ticket))
    })
}

/// Reads such a date as people type it: a year, a month with its year, or a day in any way that days are read.
fn read_date(text: &str, today: NaiveDate, order: DayOrder) -> Result<PartialDate, String> {
    let text = text.trim();
    if let Ok(date) = text.parse() {
        return Ok(date);
    }
    let first = format!("1 {text}");
    for pattern in ["%d %b %Y", "%d %B %Y", "%d %m/%Y"] {
        if let Ok(day) = NaiveDate::parse_from_str(&first, pattern) {
            return Ok(PartialDate::Month(day.year(), day.month()));
        }
    }
    kit::dates::read(text, today, order)
        .map(PartialDate::Day)
        .map_err(|why| format!("{why} A month (May 2026) or a year alone will do."))
}

/// A date known to the day, the month or the year, that must be there.
pub fn partial_date(
    ui: &mut Ui,
    name: &str,
    today: NaiveDate,
    value: PartialDate,
) -> Option<(PartialDate, Ticket)> {
    let order = DayOrder::of(ui.ctx());
    form_row(ui, name, |ui| {
        partial_field(name)
            .show_parsed(ui, &value.in_words(), |text| read_date(text, today, order))
            .filter(|(new, _)| *new != value)
    })
}

/// The same in a form, which records it with the rest.
pub fn partial_date_edit(ui: &mut Ui, name: &str, today: NaiveDate, value: &mut PartialDate) {
    let order = DayOrder::of(ui.ctx());
    partial_field(name).edit_parsed(ui, &value.in_words(), value, |text| {
        read_date(text, today, order)
    });
}

/// A date known to the day, the month or the year, or not at all.
pub fn optional_partial_date(
    ui: &mut Ui,
    name: &str,
    today: NaiveDate,
    value: Option<PartialDate>,
) -> Option<(Option<PartialDate>, Ticket)> {
    let order = DayOrder::of(ui.ctx());
    form_row(ui, name, |ui| {
        let shown = value.map(|date| date.in_words()).unwrap_or_default();
        let parse = |text: &str| match text.trim() {
            "" => Ok(None),
            text => read_date(text, today, order).map(Some),
        };
        partial_field(name)
            .show_parsed(ui, &shown, parse)
            .filter(|(new, _)| *new != value)
    })
}

fn partial_field(name: &str) -> TextField<'_> {
    TextField::new(name)
        .hint("14 May 2026, May 2026, 2026")
        .width(160.0)
}

/// One of several, from a list that drops down; true when it changed.
pub fn choice<T: Clone + PartialEq>(
    ui: &mut Ui,
    name: &str,
    value: &mut T,
    choices: &[(T, String)],
) -> bool {
    let before = value.clone();
    let shown = choices
        .iter()
        .find(|(each, _)| each == value)
        .map_or("", |(_, words)| words.as_str());
    let response = ComboBox::from_id_salt(("choice", name))
        .selected_text(shown)
        .width(ui.available_width().min(200.0))
        .truncate()
        .show_ui(ui, |ui| {
            for (each, words) in choices {
                ui.spacing_mut().interact_size.y = space::TARGET;
                ui.selectable_value(value, each.clone(), words);
            }
        })
        .response
        .accessible_name(name);
    kit::form::note_choice(ui, &response);
    *value != before
}

/// The same, named at its left.
pub fn choice_row<T: Clone + PartialEq>(
    ui: &mut Ui,
    name: &str,
    value: &mut T,
    choices: &[(T, String)],
) -> bool {
    form_row(ui, name, |ui| choice(ui, name, value, choices))
}

/// The code of a record, to click: shows it on its screen.
pub fn record_link(ui: &mut Ui, project: &Project, id: impl Into<AnyId>, out: &mut Outbox<'_>) {
    let id = id.into();
    let words = egui::RichText::new(project.code_of(id)).underline();
    // A code stays whole, and one that doesn't fit goes on to the next line: a scope of its own would hide its width.
    let button = Button::new(words)
        .frame_when_inactive(false)
        .wrap_mode(TextWrapMode::Extend)
        .min_size(vec2(space::TARGET, space::TARGET));
    let padding = std::mem::replace(&mut ui.spacing_mut().button_padding.x, space::XS);
    let clicked = ui.add(button).clicked();
    ui.spacing_mut().button_padding.x = padding;
    if clicked {
        out.show(id);
    }
}

/// The code of a plant, with its ploidy where it is no diploid: values across ploidies follow a convention.
pub fn marked_code(project: &Project, plant: Id<Genotype>) -> String {
    let code = project.code_of(plant);
    match project.genotypes().get(plant) {
        Some(found) if found.ploidy != Ploidy::DIPLOID => {
            format!("{code} ({})", found.ploidy)
        }
        _ => code.to_owned(),
    }
}

/// The parents of a cross, each with its ploidy where it is no diploid: 'F-01 × M-02 (4x)'.
pub fn marked_parents(project: &Project, cross: &Cross) -> String {
    let pollen = match &cross.pollen {
        Pollen::Male(male) => marked_code(project, *male),
        other => domain::display::pollen_words(project, other),
    };
    format!("{} × {pollen}", marked_code(project, cross.female))
}

/// A sex with its mark and its word.
pub const fn sex_words(sex: Option<Sex>) -> (&'static str, &'static str) {
    match sex {
        Some(Sex::Female) => (mark::FEMALE, "female"),
        Some(Sex::Male) => (mark::MALE, "male"),
        Some(Sex::Monoecious) => (mark::MONOECIOUS, "monoecious"),
        None => (mark::HOLLOW, "unknown"),
    }
}

/// The same in one.
pub fn sex_label(sex: Option<Sex>) -> String {
    let (mark, word) = sex_words(sex);
    format!("{mark} {word}")
}

/// Cautions of the trade, each deferring to those whose rules come first.
pub fn cautions(ui: &mut Ui, cautions: &[Caution]) {
    for caution in cautions {
        kit::widgets::caution(ui, caution.title, caution.text, caution.rules);
    }
}

/// The same without a frame, above rows of work.
pub fn caution_lines(ui: &mut Ui, cautions: &[Caution]) {
    for caution in cautions {
        kit::widgets::caution_line(ui, caution.title, caution.text, caution.rules);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_of_any_precision_are_read_as_they_are_shown_and_as_people_type_them() {
        let today = NaiveDate::from_ymd_opt(2026, 11, 28).unwrap();
        let day = NaiveDate::from_ymd_opt(2026, 9, 5).unwrap();
        for date in [
            PartialDate::Year(2021),
            PartialDate::Month(2021, 4),
            PartialDate::Day(day),
        ] {
            let read = read_date(&date.in_words(), today, DayOrder::default());
            assert_eq!(read, Ok(date));
        }
        for text in ["5 sep", "2026-09-05", "5 Sep 2026"] {
            let read = read_date(text, today, DayOrder::default());
            assert_eq!(read, Ok(PartialDate::Day(day)), "{text}");
        }
        let april = read_date("April 2021", today, DayOrder::default());
        assert_eq!(april, Ok(PartialDate::Month(2021, 4)));
        assert!(read_date("soon", today, DayOrder::default()).is_err());
    }
}
