//! The looks into a box, each with what was found.

use super::box_table::ago;
use crate::forms;
use crate::screens::forms::CheckForm;
use crate::view::{Outbox, View};
use domain::status::BoxStatus;
use domain::{Check, ChillBox, Edit};
use egui::{Role, Ui, WidgetInfo};
use kit::theme::{muted, space, strong};

/// Draws the looks, the latest first.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    chill_box: &ChillBox,
    status: BoxStatus,
    out: &mut Outbox<'_>,
) {
    let about = chill_box.id.uuid();
    if !forms::show::<CheckForm>(ui, view, about, out)
        && view.read_only.is_none()
        && status.in_cold()
        && ui.button("Add a check…").clicked()
    {
        let form = CheckForm::on(chill_box.id, view.today);
        forms::open(ui.ctx(), about, &chill_box.code, form);
    }
    let mut checks: Vec<&Check> = view.project.checks_of(chill_box.id).collect();
    checks.reverse();
    if checks.is_empty() {
        ui.label(muted(ui, "Not checked yet."));
    }
    for check in checks {
        ui.push_id(check.id, |ui| {
            if !forms::show::<CheckForm>(ui, view, check.id.uuid(), out) {
                look_ui(ui, view, check, out);
            }
        });
    }
}

fn look_ui(ui: &mut Ui, view: &View<'_>, check: &Check, out: &mut Outbox<'_>) {
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
                let name = format!("{words} the check of {date}");
                response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &name));
                response.clicked()
            };
            if button(ui, "Remove") {
                out.act(ui, "remove", check.id, Edit::remove(check.id));
            }
            if button(ui, "Edit") {
                let form = CheckForm::correcting(check);
                forms::open(ui.ctx(), check.id.uuid(), &date, form);
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
