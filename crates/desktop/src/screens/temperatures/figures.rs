//! What the temperatures add up to, and what they mean.

use super::Subject;
use crate::screens::readiness::{self, Wanted};
use crate::view::View;
use domain::temperature::{BatchCold, Zone, hours};
use egui::Ui;
use kit::theme::muted;
use kit::widgets::{detail, halves, section_heading};

/// What is remembered between frames.
#[derive(Default)]
pub(super) struct State {
    wanted: Wanted,
}

/// Draws the figures of a batch; a place has none of its own.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, subject: &Subject) {
    let Subject::Batch(id) = subject else { return };
    let Some(batch) = view.project.chill_batches().get(*id) else {
        return;
    };
    let derived = view.derived.cold(view.project, view.today, ui.ctx());
    let cold = derived.as_ref().and_then(|derived| derived.batches.get(id));
    halves(
        ui,
        state,
        |ui, _| {
            if let Some(cold) = cold {
                ui.push_id("hours", |ui| hours_ui(ui, view, cold));
            }
        },
        |ui, state| {
            ui.push_id("readiness", |ui| {
                readiness::show(ui, view, batch, &mut state.wanted);
                if let Some(cold) = cold {
                    readiness::advice_ui(ui, view, cold);
                }
            });
        },
    );
}

fn hours_ui(ui: &mut Ui, view: &View<'_>, cold: &BatchCold) {
    let unit = view.preferences.temperature;
    let exposure = &cold.exposure;
    section_heading(ui, "Hours");
    let band = format!(
        "{} ({} to {})",
        hours(exposure.in_band),
        unit.show(cold.band.from),
        unit.show(cold.band.to)
    );
    detail(ui, "In target range", &band);
    for (name, sum) in [
        ("Below it", exposure.below),
        ("Freezing", exposure.freezing),
        ("Above it", exposure.above),
        ("Not known", exposure.unknown),
    ] {
        detail(
            ui,
            name,
            &if sum > 0.0 { hours(sum) } else { "none".into() },
        );
    }
    if let Some(mean) = exposure.mean {
        detail(ui, "Mean, by time", &unit.show(mean));
    }
    if let Some((low, high)) = exposure.extremes {
        detail(
            ui,
            "Lowest, highest",
            &format!("{}, {}", unit.show(low), unit.show(high)),
        );
    }
    let moment = |at: chrono::NaiveDateTime| at.format("%-d %b %H:%M").to_string();
    if let Some(warm) = exposure.longest_warm() {
        let words = format!(
            "{} from {}, up to {}",
            hours(warm.hours()),
            moment(warm.began()),
            unit.show(warm.extreme)
        );
        detail(ui, "Longest warm", &words);
    }
    let mut spells: Vec<_> = exposure
        .spells
        .iter()
        .filter(|spell| spell.zone == Zone::Freezing || spell.hours() >= 1.0)
        .collect();
    let count = spells.len();
    if count > 0 {
        section_heading(ui, "Outside the target range");
        // Freezes first, then the longest.
        spells.sort_by(|one, other| {
            let freezing = |zone| u8::from(zone != Zone::Freezing);
            freezing(one.zone)
                .cmp(&freezing(other.zone))
                .then(other.hours().total_cmp(&one.hours()))
        });
        for spell in spells.iter().take(SHOWN) {
            let words = format!(
                "{} {}, {}",
                hours(spell.hours()),
                spell.zone.words(),
                unit.show(spell.extreme)
            );
            detail(ui, &moment(spell.began()), &words);
        }
        if count > SHOWN {
            ui.label(muted(ui, format!("and {} shorter ones", count - SHOWN)));
        }
    }
    let mut gaps: Vec<_> = exposure
        .gaps
        .iter()
        .filter(|(from, to)| to - from >= 3600.0)
        .collect();
    if !gaps.is_empty() {
        section_heading(ui, "Without readings");
        gaps.sort_by(|one, other| (other.1 - other.0).total_cmp(&(one.1 - one.0)));
        for (from, to) in gaps.iter().take(SHOWN) {
            let begin = chrono::DateTime::from_timestamp(*from as i64, 0)
                .unwrap_or_default()
                .naive_utc();
            detail(
                ui,
                &moment(begin),
                &format!(
                    "{}: nothing is assumed of them",
                    hours((to - from) / 3600.0)
                ),
            );
        }
        if gaps.len() > SHOWN {
            ui.label(muted(
                ui,
                format!("and {} shorter ones", gaps.len() - SHOWN),
            ));
        }
    }
}

/// The most spells or gaps listed.
const SHOWN: usize = 8;
