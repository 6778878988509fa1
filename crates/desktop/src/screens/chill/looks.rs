//! The looks into a box, each with what was found.

use super::box_table::ago;
use crate::screens::forms::CheckForm;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::status::BoxStatus;
use domain::{Check, ChillBox, Edit};
use egui::{Frame, Margin, Role, Ui, WidgetInfo};
use kit::theme::{muted, space, strong, tokens};
use kit::widgets::form_row;

/// A look being written, and its day.
#[derive(Default)]
pub(super) struct State {
    form: Option<(CheckForm, NaiveDate)>,
}

/// Draws the looks, the latest first.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    chill_box: &ChillBox,
    status: BoxStatus,
    out: &mut Outbox<'_>,
) {
    let open = state
        .form
        .as_mut()
        .filter(|(form, _)| form.chill_box() == chill_box.id);
    let corrected = open.as_ref().and_then(|(form, _)| form.corrects());
    match open {
        Some(open) if corrected.is_none() => {
            if form_ui(ui, view, open, out) {
                state.form = None;
            }
        }
        _ => {
            if view.read_only.is_none() && status.in_cold() && ui.button("Add a look…").clicked()
            {
                state.form = Some((CheckForm::new(chill_box.id), view.today));
            }
        }
    }
    let mut checks: Vec<&Check> = view.project.checks_of(chill_box.id).collect();
    checks.reverse();
    if checks.is_empty() {
        ui.label(muted(ui, "Not looked into yet."));
    }
    for check in checks {
        ui.push_id(check.id, |ui| {
            if corrected == Some(check.id) {
                let done = state
                    .form
                    .as_mut()
                    .is_some_and(|open| form_ui(ui, view, open, out));
                if done {
                    state.form = None;
                }
            } else {
                look_ui(ui, view, state, check, out);
            }
        });
    }
}

fn form_ui(
    ui: &mut Ui,
    view: &View<'_>,
    (form, day): &mut (CheckForm, NaiveDate),
    out: &mut Outbox<'_>,
) -> bool {
    Frame::new()
        .fill(tokens(ui).sunken)
        .inner_margin(Margin::same(space::M as i8))
        .show(ui, |ui| {
            form_row(ui, "Looked on", |ui| {
                view.date_field("Day of the look").show(ui, day);
            });
            form.show(ui, view, *day, out)
        })
        .inner
}

fn look_ui(ui: &mut Ui, view: &View<'_>, state: &mut State, check: &Check, out: &mut Outbox<'_>) {
    let date = check.date.format("%-d %b %Y").to_string();
    ui.horizontal(|ui| {
        ui.label(strong(&date));
        ui.label(muted(ui, ago((view.today - check.date).num_days())));
        if view.read_only.is_some() {
            return;
        }
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            let button = |ui: &mut Ui, words: &str| {
                let response = ui.button(words);
                let name = format!("{words} the look of {date}");
                response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &name));
                response.clicked()
            };
            if button(ui, "Remove") {
                out.edit(Edit::remove(check.id));
            }
            if button(ui, "Edit") {
                state.form = Some((CheckForm::correcting(check), check.date));
            }
        });
    });
    let by = if check.by.is_empty() {
        String::new()
    } else {
        format!(" ({})", check.by)
    };
    ui.add(egui::Label::new(format!("{}{by}", look_words(view, check))).wrap());
    ui.add_space(space::XS);
}

/// What was found and done, the temperature in the unit preferred.
pub(super) fn look_words(view: &View<'_>, check: &Check) -> String {
    check.words_with(|celsius| view.preferences.temperature.show(celsius.0))
}
