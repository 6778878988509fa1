//! The steps in their order, and their timers.

use crate::timers::TimedStep;
use crate::view::{Outbox, Request};
use domain::sterilising::{Fluid, Hypochlorite, SterilisingStep, check_steps, usual_steps};
use egui::{ComboBox, Grid, Role, Ui, WidgetInfo};
use kit::theme::{Meaning, muted, space};
use kit::widgets::{NumberField, badge, bench_button, section_heading};

/// Draws one step; whether it is to be removed.
fn step_ui(ui: &mut Ui, nth: usize, step: &mut SterilisingStep) -> bool {
    let number = nth + 1;
    ui.push_id(nth, |ui| {
        ui.label(format!("{number}."));
        fluid_ui(ui, number, step);
    });
    ui.push_id((nth, "minutes"), |ui| {
        NumberField::new(&format!("Minutes of step {number}"), "min")
            .range(0.1..=240.0)
            .decimals(1)
            .width(48.0)
            .show(ui, &mut step.minutes);
    });
    ui.push_id((nth, "vessel"), |ui| {
        let mut vessel = f64::from(step.vessel);
        ui.label(muted(ui, "vessel"));
        NumberField::new(&format!("Vessel of step {number}"), "")
            .range(1.0..=20.0)
            .decimals(0)
            .width(32.0)
            .show(ui, &mut vessel);
        step.vessel = vessel as u32;
    });
    let remove = ui.button("Remove");
    let name = format!("Remove step {number}");
    remove.widget_info(|| WidgetInfo::labeled(Role::Button, true, &name));
    remove.clicked()
}

/// The steps as they stand.
pub(super) struct State {
    pub(super) steps: Vec<SterilisingStep>,
}

impl Default for State {
    fn default() -> Self {
        Self {
            steps: usual_steps(),
        }
    }
}

/// Draws the steps.
pub(super) fn show(ui: &mut Ui, state: &mut State, out: &mut Outbox<'_>) {
    section_heading(ui, "Steps");
    ui.add(egui::Label::new(muted(ui, "One after the other, each in a vessel of its own. Alcohol in % by volume, bleach in % of hypochlorite in \
        the bath: 1 % is one part of a 5 % bleach to four of water. Typical figures for seed of many kinds (common \
        practice); no published figures for hops are known. Change them to your own.")).wrap());
    let mut removed = None;
    // In columns where there is room for them, else under each other.
    let wide = ui.ctx().content_rect().width() >= 900.0;
    if wide {
        let grid = Grid::new("steps").num_columns(5);
        grid.spacing([space::S, space::XS]).show(ui, |ui| {
            for (nth, step) in state.steps.iter_mut().enumerate() {
                if step_ui(ui, nth, step) {
                    removed = Some(nth);
                }
                ui.end_row();
            }
        });
    } else {
        for (nth, step) in state.steps.iter_mut().enumerate() {
            let gone = ui.vertical(|ui| step_ui(ui, nth, step)).inner;
            ui.add_space(space::S);
            if gone {
                removed = Some(nth);
            }
        }
    }
    if let Some(nth) = removed {
        state.steps.remove(nth);
    }
    ui.horizontal(|ui| {
        if ui.button("Add a rinse").clicked() {
            let vessel = state
                .steps
                .iter()
                .map(|step| step.vessel)
                .max()
                .unwrap_or(0)
                + 1;
            state.steps.push(SterilisingStep {
                fluid: Fluid::Water,
                minutes: 1.0,
                vessel,
            });
        }
        if ui.button("The usual steps").clicked() {
            state.steps = usual_steps();
        }
    });
    ui.add_space(space::XS);
    match check_steps(&state.steps) {
        Ok(()) if state.steps.is_empty() => {}
        Ok(()) => {
            let minutes: f64 = state.steps.iter().map(|step| step.minutes).sum();
            let detail = format!(
                "{} steps, {minutes} minutes. Timers stay at the bottom of every screen.",
                state.steps.len()
            );
            if bench_button(ui, "Start the timers", &detail).clicked()
                || kit::page_keys::acts(ui, egui::Key::T, "start the timers")
            {
                let timed = state.steps.iter().map(|step| TimedStep {
                    name: name(step),
                    seconds: step.minutes * 60.0,
                });
                out.ask(Request::StartTimers(timed.collect()));
            }
        }
        Err(sentence) => {
            badge(ui, Meaning::Danger, "Not in this order");
            ui.add(egui::Label::new(sentence).wrap());
        }
    }
}

fn name(step: &SterilisingStep) -> String {
    match step.fluid {
        Fluid::Water => "Rinse in clean water".into(),
        Fluid::Alcohol(_) | Fluid::Bleach(_) => {
            let words = step.fluid.words();
            let mut signs = words.chars();
            signs.next().map_or_else(String::new, |first| {
                first.to_uppercase().chain(signs).collect()
            })
        }
    }
}

fn fluid_ui(ui: &mut Ui, number: usize, step: &mut SterilisingStep) {
    ui.horizontal(|ui| {
        let word = match step.fluid {
            Fluid::Alcohol(_) => "alcohol",
            Fluid::Bleach(_) => "bleach",
            Fluid::Water => "clean water",
        };
        ComboBox::from_id_salt(("fluid", number))
            .selected_text(word)
            .width(96.0)
            .show_ui(ui, |ui| {
                for (fluid, word) in [
                    (Fluid::Alcohol(70.0), "alcohol"),
                    (Fluid::Water, "clean water"),
                    (Fluid::Bleach(Hypochlorite(1.0)), "bleach"),
                ] {
                    let chosen =
                        std::mem::discriminant(&fluid) == std::mem::discriminant(&step.fluid);
                    if ui.selectable_label(chosen, word).clicked() && !chosen {
                        step.fluid = fluid;
                    }
                }
            })
            .response
            .widget_info(|| {
                WidgetInfo::labeled(Role::ComboBox, true, format!("Fluid of step {number}"))
            });
        let name = format!("Strength of step {number}");
        let strength = NumberField::new(&name, "%").range(0.01..=100.0).width(48.0);
        match &mut step.fluid {
            Fluid::Alcohol(percent) | Fluid::Bleach(Hypochlorite(percent)) => {
                strength.show(ui, percent);
            }
            Fluid::Water => {}
        }
    });
}
