//! The figures of a protocol, or of one batch, edited in place.

use super::fields::choice;
use crate::view::View;
use domain::{Celsius, Regimen, Span};
use egui::Ui;
use kit::drafts::Ticket;
use kit::widgets::{NumberField, TemperatureField, form_row, segmented};

/// Draws the figures. Returns them all when one was changed.
pub fn show(ui: &mut Ui, view: &View<'_>, regimen: &Regimen) -> Option<(Regimen, Ticket)> {
    let mut edited = regimen.clone();
    let mut changed: Option<Ticket> = None;
    // In a pane beside a table the figures have room for one word each.
    let narrow = ui.max_rect().width() < 440.0;
    let unit = view.preferences.temperature;
    let mut temperature = |ui: &mut Ui, name: &str, value: &mut Celsius| {
        let ticket = form_row(ui, name, |ui| {
            TemperatureField::new(name, unit)
                .show(ui, &mut value.0)
                .ticket
        });
        changed = changed.take().or(ticket);
    };
    temperature(ui, "Cold from", &mut edited.cold_from);
    temperature(ui, "Cold to", &mut edited.cold_to);
    temperature(ui, "Freezing at", &mut edited.freezing);
    temperature(ui, "Warmth", &mut edited.warm);
    let ticket = form_row(ui, "Chill", |ui| {
        ui.horizontal(|ui| chill_ui(ui, narrow, &mut edited.chill))
            .inner
    });
    changed = changed.or(ticket);
    let mut whole = |ui: &mut Ui, name: &str, unit: &str, value: &mut u32| {
        let mut number = f64::from(*value);
        let unit = if narrow { first_word(unit) } else { unit };
        let ticket = form_row(ui, name, |ui| {
            NumberField::new(name, unit)
                .range(0.0..=1000.0)
                .decimals(0)
                .show(ui, &mut number)
                .ticket
        });
        changed = changed.take().or(ticket);
        *value = number as u32;
    };
    whole(
        ui,
        "Daily checks",
        "days from the start",
        &mut edited.daily_checks,
    );
    whole(ui, "Later checks every", "days", &mut edited.check_every);
    whole(
        ui,
        "After trouble",
        "days to the next check after mould or a dry towel",
        &mut edited.recheck_after,
    );
    whole(ui, "Seeds per box, from", "seeds", &mut edited.box_from);
    whole(
        ui,
        "Seeds per box, to",
        "seeds, none touching",
        &mut edited.box_to,
    );
    whole(
        ui,
        "Sprouts from",
        "days after the move to warmth",
        &mut edited.sprouts_from,
    );
    whole(
        ui,
        "Sprouts to",
        "days after the move to warmth",
        &mut edited.sprouts_to,
    );
    whole(ui, "Count every", "days", &mut edited.count_every);
    whole(
        ui,
        "Give up after",
        "days in warmth",
        &mut edited.give_up_after,
    );
    let ticket = form_row(ui, "Light", |ui| {
        NumberField::new("Light", "hours a day")
            .range(0.0..=24.0)
            .decimals(1)
            .show(ui, &mut edited.light_hours)
            .ticket
    });
    changed.or(ticket).map(|ticket| (edited, ticket))
}

fn first_word(words: &str) -> &str {
    let end = words.find([' ', ',']).unwrap_or(words.len());
    &words[..end]
}

/// A length of time: a number and how it is counted.
fn chill_ui(ui: &mut Ui, narrow: bool, span: &mut Span) -> Option<Ticket> {
    #[derive(Clone, Copy, PartialEq)]
    enum Counted {
        Days,
        Weeks,
        Months,
    }
    let (number, mut counted) = match *span {
        Span::Days(number) => (number, Counted::Days),
        Span::Weeks(number) => (number, Counted::Weeks),
        Span::Months(number) => (number, Counted::Months),
    };
    let mut number = f64::from(number);
    let mut changed = NumberField::new("Chill length", "")
        .range(1.0..=1000.0)
        .decimals(0)
        .width(48.0)
        .show(ui, &mut number)
        .ticket;
    let choices = [
        (Counted::Days, "days"),
        (Counted::Weeks, "weeks"),
        (Counted::Months, "calendar months"),
    ];
    let chosen = if narrow {
        let choices = choices.map(|(counted, words)| (counted, words.to_owned()));
        choice(ui, "Chill counted in", &mut counted, &choices)
    } else {
        segmented(ui, "Chill counted in", &mut counted, &choices)
    };
    if chosen {
        changed = changed.or_else(|| Some(Ticket::of_act(ui, "chill counted in", "regimen")));
    }
    let number = number as u32;
    *span = match counted {
        Counted::Days => Span::Days(number),
        Counted::Weeks => Span::Weeks(number),
        Counted::Months => Span::Months(number),
    };
    changed
}
