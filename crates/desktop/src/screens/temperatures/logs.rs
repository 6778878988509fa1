//! The logs that what is shown rests on.

use super::Subject;
use crate::view::{Outbox, View};
use domain::temperature::readings_of;
use domain::words::plural;
use domain::{Edit, LogPlace, TemperatureLog};
use egui::{Role, Ui, WidgetInfo};
use kit::theme::{muted, strong};
use kit::widgets::section_heading;

/// Draws the list.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, subject: &Subject, out: &mut Outbox<'_>) {
    let project = view.project;
    let logs: Vec<&TemperatureLog> = match subject {
        Subject::Batch(id) => project
            .chill_batches()
            .get(*id)
            .map(|batch| readings_of(project, batch).collect())
            .unwrap_or_default(),
        Subject::Place(place) => project
            .temperature_logs()
            .iter()
            .filter(|log| matches!(&log.at, LogPlace::Place(of) if of == place))
            .collect(),
    };
    if logs.is_empty() {
        return;
    }
    section_heading(ui, "Where they are from");
    for log in logs {
        ui.push_id(log.id, |ui| {
            let (Some(first), Some(last)) = (log.readings.first(), log.readings.last()) else {
                return;
            };
            let count = log.readings.len() as u32;
            let source = if log.source.is_empty() {
                "Read by hand"
            } else {
                &log.source
            };
            ui.horizontal_wrapped(|ui| {
                ui.label(strong(source));
                ui.label(muted(
                    ui,
                    format!(
                        "{count} {} of {}, {} to {}",
                        plural(count, "temperature", "temperatures"),
                        log.at.words(project),
                        first.moment().format("%-d %b %Y %H:%M"),
                        last.moment().format("%-d %b %Y %H:%M")
                    ),
                ));
                if view.read_only.is_none() {
                    let remove = ui.button("Remove");
                    remove.widget_info(|| {
                        WidgetInfo::labeled(
                            Role::Button,
                            true,
                            format!("Remove the temperatures of {source}"),
                        )
                    });
                    if remove.clicked() {
                        out.act(ui, "remove", log.id, Edit::remove(log.id));
                    }
                }
            });
            if !log.remark.is_empty() {
                ui.add(egui::Label::new(muted(ui, &log.remark).small()).wrap());
            }
        });
    }
}
