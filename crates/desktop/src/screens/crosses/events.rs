//! What happened to a cross: a dated list, and a large button for each thing that can.

use crate::screens::fields::{caution_lines, text, text_with_hint, whole_number};
use crate::view::{Outbox, View};
use domain::record::cross::CrossEventField;
use domain::{Cross, CrossEvent, CrossEventKind, Edit, Id, actions, cautions};
use egui::{Button, Role, TextEdit, Ui, WidgetInfo, vec2};
use kit::theme::{muted, space, strong};
use kit::widgets::{DateField, NumberField, bench_button, form_row};

/// What is typed about the next event, and which event is being corrected.
#[derive(Default)]
pub(super) struct State {
    bags: Option<f64>,
    place: String,
    cones: Option<f64>,
    why: String,
    correcting: Option<Id<CrossEvent>>,
    /// An event that is recorded for this day already, and whether it is another is to be said.
    again: Option<(&'static str, CrossEventKind)>,
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
        kit::drafts::about(
            ui,
            event.id.uuid(),
            &format!("event {nth} of {}", cross.code),
            |ui| {
                event_ui(ui, view, nth, event, &mut state.correcting, out);
            },
        );
    }
    ui.add_space(space::S);
    ask_ui(ui, view, state, cross, out);
    if let Some((word, what)) = buttons(ui, state) {
        let again = view
            .project
            .events_of(cross.id)
            .any(|event| event.date == view.today && is_same_kind(&event.what, &what));
        if again && !just_recorded(ui, cross) {
            state.again = Some((word, what));
        } else {
            record(ui, view, cross, (word, what), out);
            *state = State {
                correcting: state.correcting,
                ..State::default()
            };
        }
    }
}

/// Records what happened, on the day that is worked for.
fn record(
    ui: &Ui,
    view: &View<'_>,
    cross: &Cross,
    (word, what): (&'static str, CrossEventKind),
    out: &mut Outbox<'_>,
) {
    let edit = actions::cross_event(cross.id, view.today, what, out.ids);
    out.act(ui, word, cross.id, edit);
}

/// A second event of the same kind on the same day is asked about.
fn ask_ui(ui: &mut Ui, view: &View<'_>, state: &mut State, cross: &Cross, out: &mut Outbox<'_>) {
    let Some((word, what)) = state.again.take() else {
        return;
    };
    let day = view.on_button();
    ui.label(strong(format!("'{word}' is recorded for {day} already.")));
    ui.horizontal(|ui| {
        if ui
            .button(format!("Record '{word}' a second time, {day}"))
            .clicked()
        {
            record(ui, view, cross, (word, what), out);
        } else if !ui.button("Cancel").clicked() {
            state.again = Some((word, what));
        }
    });
}

fn is_same_kind(one: &CrossEventKind, other: &CrossEventKind) -> bool {
    std::mem::discriminant(one) == std::mem::discriminant(other)
}

/// Whether something was recorded of this cross a moment ago: then this is the same tap.
fn just_recorded(ui: &Ui, cross: &Cross) -> bool {
    kit::drafts::just_acted(ui.ctx(), &cross.id.uuid().to_string())
}

fn buttons(ui: &mut Ui, state: &mut State) -> Option<(&'static str, CrossEventKind)> {
    caution_lines(ui, &[cautions::LADDERS, cautions::BINES]);
    let mut happened = None;
    let mut told = |clicked: bool, word: &'static str, what: CrossEventKind| {
        if clicked {
            happened = Some((word, what));
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
            "Bagged",
            CrossEventKind::FemaleBagged {
                bags: state.bags.map(|bags| bags as u32),
            },
        );
    });
    ui.horizontal_wrapped(|ui| {
        told(
            bench_button(ui, "Receptive", "flowers ready").clicked(),
            "Receptive",
            CrossEventKind::Receptive,
        );
        told(
            bench_button(ui, "Pollen collected", "from the male").clicked(),
            "Pollen collected",
            CrossEventKind::PollenCollected,
        );
    });
    ui.horizontal_top(|ui| {
        let clicked = bench_button(ui, "Pollen stored", "kept for later").clicked();
        ui.add(
            TextEdit::singleline(&mut state.place)
                .hint_text("jar, shelf, °C")
                .desired_width(120.0),
        )
        .accessible_name("Where pollen is stored");
        told(
            clicked,
            "Pollen stored",
            CrossEventKind::PollenStored {
                place: state.place.trim().to_owned(),
            },
        );
    });
    ui.horizontal_wrapped(|ui| {
        told(
            bench_button(ui, "Pollinated", "pollen applied").clicked(),
            "Pollinated",
            CrossEventKind::Pollinated,
        );
        told(
            bench_button(ui, "Bags off", "labels stay on").clicked(),
            "Bags off",
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
            "Cones harvested",
            CrossEventKind::ConesHarvested {
                cones: state.cones.map(|cones| cones as u32),
            },
        );
    });
    ui.horizontal_top(|ui| {
        let clicked = bench_button(ui, "Failed", "no seed expected").clicked();
        ui.add(
            TextEdit::singleline(&mut state.why)
                .hint_text("why")
                .desired_width(120.0),
        )
        .accessible_name("Why it failed");
        told(
            clicked,
            "Failed",
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
            out.act(ui, "remove", event.id, Edit::remove(event.id));
        }
        ui.add_space(space::S);
    }
}

fn correct_ui(ui: &mut Ui, view: &View<'_>, nth: usize, event: &CrossEvent, out: &mut Outbox<'_>) {
    let mut set = |ticket, field| out.submit(ticket, Edit::set(event.id, field));
    let date_name = format!("Day of event {nth}");
    let mut date = event.date;
    if let Some(ticket) = form_row(ui, &date_name, |ui| {
        DateField::new(&date_name, view.today)
            .show(ui, &mut date)
            .ticket
    }) {
        set(ticket, CrossEventField::Date(date));
    }
    let what = match &event.what {
        CrossEventKind::FemaleBagged { bags } => {
            whole_number(ui, &format!("Bags of event {nth}"), "bags", *bags)
                .map(|(bags, ticket)| (CrossEventKind::FemaleBagged { bags }, ticket))
        }
        CrossEventKind::PollenStored { place } => text(ui, &format!("Place of event {nth}"), place)
            .map(|(place, ticket)| (CrossEventKind::PollenStored { place }, ticket)),
        CrossEventKind::ConesHarvested { cones } => {
            whole_number(ui, &format!("Cones of event {nth}"), "cones", *cones)
                .map(|(cones, ticket)| (CrossEventKind::ConesHarvested { cones }, ticket))
        }
        CrossEventKind::Failed { why } => text(ui, &format!("Why, event {nth}"), why)
            .map(|(why, ticket)| (CrossEventKind::Failed { why }, ticket)),
        CrossEventKind::Planned
        | CrossEventKind::Receptive
        | CrossEventKind::PollenCollected
        | CrossEventKind::Pollinated
        | CrossEventKind::BagOff => None,
    };
    if let Some((what, ticket)) = what {
        set(ticket, CrossEventField::What(what));
    }
    if let Some((by, ticket)) =
        text_with_hint(ui, &format!("By, event {nth}"), &event.by, "who did it")
    {
        set(ticket, CrossEventField::By(by));
    }
    if let Some((remark, ticket)) = text_with_hint(
        ui,
        &format!("Remark on event {nth}"),
        &event.remark,
        "weather, wind, anything",
    ) {
        set(ticket, CrossEventField::Remark(remark));
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
