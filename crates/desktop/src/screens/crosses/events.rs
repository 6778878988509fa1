//! What happened to a cross: a dated list, and a large button for each thing that can.

use crate::screens::fields::{text, text_with_hint, whole_number};
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::record::cross::CrossEventField;
use domain::{Cross, CrossEvent, CrossEventKind, Edit, Id, actions};
use egui::{Button, Role, TextEdit, Ui, WidgetInfo, vec2};
use kit::theme::{muted, space};
use kit::widgets::{DateField, NumberField, bench_button, form_row};

/// What is typed about the next event, and which event is being corrected.
#[derive(Default)]
pub(super) struct State {
    /// The day of the next event; today until another is chosen.
    date: Option<NaiveDate>,
    bags: Option<f64>,
    place: String,
    cones: Option<f64>,
    why: String,
    correcting: Option<Id<CrossEvent>>,
}

/// Draws the events of a cross and the buttons that add to them.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    cross: &Cross,
    out: &mut Outbox<'_>,
) {
    for (nth, event) in (1..).zip(view.project.events_of(cross.id)) {
        ui.push_id(event.id, |ui| {
            event_ui(ui, view, nth, event, &mut state.correcting, out);
        });
    }
    ui.add_space(space::S);
    let mut date = state.date.unwrap_or(view.today);
    form_row(ui, "It happened on", |ui| {
        if DateField::new("It happened on", view.today)
            .show(ui, &mut date)
            .changed
        {
            state.date = Some(date);
        }
    });
    let happened = buttons(ui, state);
    if let Some(what) = happened {
        let edit = actions::cross_event(cross.id, date, what, out.ids);
        out.edit(edit);
        *state = State {
            date: state.date,
            ..State::default()
        };
    }
}

fn buttons(ui: &mut Ui, state: &mut State) -> Option<CrossEventKind> {
    let mut happened = None;
    let mut told = |clicked: bool, what: CrossEventKind| {
        if clicked {
            happened = Some(what);
        }
    };
    ui.horizontal_top(|ui| {
        let clicked = bench_button(ui, "Bagged", "female in bags").clicked();
        NumberField::new("Bags", "bags")
            .decimals(0)
            .range(1.0..=10_000.0)
            .show_optional(ui, &mut state.bags);
        told(
            clicked,
            CrossEventKind::FemaleBagged {
                bags: state.bags.map(|bags| bags as u32),
            },
        );
    });
    ui.horizontal_wrapped(|ui| {
        told(
            bench_button(ui, "Receptive", "flowers ready").clicked(),
            CrossEventKind::Receptive,
        );
        told(
            bench_button(ui, "Pollen collected", "from the male").clicked(),
            CrossEventKind::PollenCollected,
        );
    });
    ui.horizontal_top(|ui| {
        let clicked = bench_button(ui, "Pollen stored", "put by for later").clicked();
        ui.add(
            TextEdit::singleline(&mut state.place)
                .hint_text("jar, shelf, °C")
                .desired_width(120.0),
        )
        .accessible_name("Where pollen is stored");
        told(
            clicked,
            CrossEventKind::PollenStored {
                place: state.place.trim().to_owned(),
            },
        );
    });
    ui.horizontal_wrapped(|ui| {
        told(
            bench_button(ui, "Pollinated", "pollen given").clicked(),
            CrossEventKind::Pollinated,
        );
        told(
            bench_button(ui, "Bags off", "labels stay on").clicked(),
            CrossEventKind::BagOff,
        );
    });
    ui.horizontal_top(|ui| {
        let clicked = bench_button(ui, "Cones harvested", "dry them first").clicked();
        NumberField::new("Cones", "cones")
            .decimals(0)
            .range(0.0..=1_000_000.0)
            .show_optional(ui, &mut state.cones);
        told(
            clicked,
            CrossEventKind::ConesHarvested {
                cones: state.cones.map(|cones| cones as u32),
            },
        );
    });
    ui.horizontal_top(|ui| {
        let clicked = bench_button(ui, "Failed", "nothing will come").clicked();
        ui.add(
            TextEdit::singleline(&mut state.why)
                .hint_text("why")
                .desired_width(120.0),
        )
        .accessible_name("Why it failed");
        told(
            clicked,
            CrossEventKind::Failed {
                why: state.why.trim().to_owned(),
            },
        );
    });
    happened
}

fn event_ui(
    ui: &mut Ui,
    view: &View<'_>,
    nth: usize,
    event: &CrossEvent,
    correcting: &mut Option<Id<CrossEvent>>,
    out: &mut Outbox<'_>,
) {
    let open = *correcting == Some(event.id);
    ui.horizontal_top(|ui| {
        ui.label(muted(ui, event.date.to_string()));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Min), |ui| {
            let word = if open { "Done" } else { "Correct" };
            if named_button(ui, word, &format!("{word} event {nth}")) {
                *correcting = if open { None } else { Some(event.id) };
            }
            ui.with_layout(egui::Layout::top_down(egui::Align::Min), |ui| {
                let by = if event.by.is_empty() {
                    String::new()
                } else {
                    format!(", {}", event.by)
                };
                ui.add(egui::Label::new(format!("{}{by}", event.what.words())).wrap());
                if !event.remark.is_empty() {
                    ui.add(egui::Label::new(muted(ui, &event.remark).small()).wrap());
                }
            });
        });
    });
    if open {
        correct_ui(ui, view, nth, event, out);
        if named_button(ui, "Remove", &format!("Remove event {nth}")) {
            out.edit(Edit::remove(event.id));
        }
        ui.add_space(space::S);
    }
}

fn correct_ui(ui: &mut Ui, view: &View<'_>, nth: usize, event: &CrossEvent, out: &mut Outbox<'_>) {
    let mut set = |field| out.edit(Edit::set(event.id, field));
    let date_name = format!("Day of event {nth}");
    let mut date = event.date;
    if form_row(ui, &date_name, |ui| {
        DateField::new(&date_name, view.today)
            .show(ui, &mut date)
            .changed
    }) {
        set(CrossEventField::Date(date));
    }
    let what = match &event.what {
        CrossEventKind::FemaleBagged { bags } => {
            whole_number(ui, &format!("Bags of event {nth}"), "bags", *bags)
                .map(|bags| CrossEventKind::FemaleBagged { bags })
        }
        CrossEventKind::PollenStored { place } => text(ui, &format!("Place of event {nth}"), place)
            .map(|place| CrossEventKind::PollenStored { place }),
        CrossEventKind::ConesHarvested { cones } => {
            whole_number(ui, &format!("Cones of event {nth}"), "cones", *cones)
                .map(|cones| CrossEventKind::ConesHarvested { cones })
        }
        CrossEventKind::Failed { why } => {
            text(ui, &format!("Why, event {nth}"), why).map(|why| CrossEventKind::Failed { why })
        }
        CrossEventKind::Planned
        | CrossEventKind::Receptive
        | CrossEventKind::PollenCollected
        | CrossEventKind::Pollinated
        | CrossEventKind::BagOff => None,
    };
    if let Some(what) = what {
        set(CrossEventField::What(what));
    }
    if let Some(by) = text_with_hint(ui, &format!("By, event {nth}"), &event.by, "who did it") {
        set(CrossEventField::By(by));
    }
    if let Some(remark) = text_with_hint(
        ui,
        &format!("Remark on event {nth}"),
        &event.remark,
        "weather, wind, anything",
    ) {
        set(CrossEventField::Remark(remark));
    }
}

fn named_button(ui: &mut Ui, text: &str, name: &str) -> bool {
    let button = ui.add(
        Button::new(text)
            .small()
            .min_size(vec2(space::TARGET, space::XL)),
    );
    button.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), name));
    button.clicked()
}
