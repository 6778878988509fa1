//! What lies over the window for a moment: find a code, preferences, keys, about.

use super::App;
use crate::command::Command;
use crate::preferences::ThemeChoice;
use chrono::NaiveDate;
use domain::cautions;
use egui::{Align2, Grid, Modal, ScrollArea, Ui, vec2};
use kit::theme::{Theme, muted, space, strong};
use kit::widgets::{TemperatureUnit, TextField, form_row, heading, segmented};

/// What lies over the window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Overlay {
    Find,
    Preferences,
    Keys,
    Drafts,
    Difference,
    WhichTable,
    About,
}

impl App {
    pub(super) fn overlay_ui(&mut self, ui: &mut Ui, _today: NaiveDate) {
        let Some(overlay) = self.overlay else { return };
        let ctx = ui.ctx().clone();
        let id = egui::Id::unique("overlay");
        // Hung from above: what grows in it doesn't move what stands over it.
        let area = Modal::default_area(id).anchor(Align2::CENTER_TOP, vec2(0.0, 60.0));
        let response = Modal::new(id).area(area).show(&ctx, |ui| {
            ui.set_width(440.0_f32.min(ui.ctx().content_rect().width() - 80.0));
            ui.spacing_mut().item_spacing.y = space::S;
            match overlay {
                Overlay::Find => self.find_ui(ui),
                Overlay::Preferences => self.preferences_ui(ui),
                Overlay::Keys => keys_ui(ui),
                Overlay::Drafts => self.drafts_ui(ui),
                Overlay::Difference => self.difference_ui(ui),
                Overlay::WhichTable => self.which_table_ui(ui),
                Overlay::About => about_ui(ui),
            }
        });
        if response.should_close() || response.inner {
            self.overlay = None;
            self.find.clear();
            self.listed.clear();
            self.tables_offered = None;
        }
    }

    fn preferences_ui(&mut self, ui: &mut Ui) -> bool {
        heading(ui, "Preferences");
        ui.label(muted(
            ui,
            "These settings apply to every project on this computer.",
        ));
        let mut changed = false;
        let preferences = &mut self.preferences;
        form_row(ui, "Temperatures", |ui| {
            let choices = [
                (TemperatureUnit::Celsius, "°C"),
                (TemperatureUnit::Fahrenheit, "°F"),
            ];
            changed |= segmented(ui, "Temperatures", &mut preferences.temperature, &choices);
        });
        form_row(ui, "Theme", |ui| {
            let choices = [
                (ThemeChoice::System, "Follow the system"),
                (ThemeChoice::Light, "Light"),
                (ThemeChoice::Dark, "Dark"),
            ];
            if segmented(ui, "Theme", &mut preferences.theme, &choices) {
                Theme::from(preferences.theme).choose(ui.ctx());
                changed = true;
            }
        });
        form_row(ui, "Weeks begin on", |ui| {
            changed |= segmented(
                ui,
                "Weeks begin on",
                &mut preferences.week_begins_sunday,
                &[(false, "Monday"), (true, "Sunday")],
            );
        });
        let who = preferences.who.clone();
        let name = form_row(ui, "Your name", |ui| {
            let field = TextField::new("Your name").hint("shown beside what you record");
            field.width(200.0).show(ui, &who)
        });
        if let Some((name, ticket)) = name {
            ticket.made();
            self.take_name(name);
            changed = true;
        }
        if changed {
            self.keep_preferences();
        }
        let done = ui.button("Done").clicked();
        if done {
            self.keep_preferences();
        }
        done
    }
}

fn keys_ui(ui: &mut Ui) -> bool {
    heading(ui, "Keys");
    ScrollArea::vertical().max_height(420.0).show(ui, |ui| {
        Grid::new("keys")
            .num_columns(2)
            .spacing([space::XL, space::XS])
            .show(ui, |ui| {
                for command in Command::all() {
                    let Some(keys) = command.shortcut() else {
                        continue;
                    };
                    ui.label(command.title().trim_end_matches('…'));
                    ui.label(strong(ui.ctx().format_shortcut(&keys)));
                    ui.end_row();
                }
                for (what, keys) in [
                    ("Move in a table, or in a month", "arrow keys"),
                    ("Open the row", "Enter"),
                    ("Score and go down", "1 to 9"),
                    ("Skip a plant", "."),
                    ("Clear a score", "Backspace"),
                    ("Next control, one before", "Tab, Shift+Tab"),
                ] {
                    ui.label(what);
                    ui.label(strong(keys));
                    ui.end_row();
                }
            });
    });
    ui.button("Done").clicked()
}

fn about_ui(ui: &mut Ui) -> bool {
    heading(ui, "Binewright");
    ui.label(format!(
        "Version {}. Runs entirely on this computer: no account, no network.",
        env!("CARGO_PKG_VERSION")
    ));
    ui.label(muted(ui, "Safety and legal cautions:"));
    ScrollArea::vertical().max_height(320.0).show(ui, |ui| {
        for caution in cautions::ALL {
            ui.label(strong(caution.title));
            ui.label(caution.text);
            ui.label(muted(ui, kit::widgets::whose_rules(caution.rules)));
        }
    });
    ui.button("Done").clicked()
}
