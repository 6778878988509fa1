//! The season as lanes: one for each cross and batch.

use crate::fonts::mark;
use crate::theme::Meaning;
use crate::view::View;
use crate::widgets::{BarKind, Lane, LaneBar, LanePoint, LanesState, SeasonLanes};
use chrono::NaiveDate;
use domain::date::shift;
use domain::{AnyId, timeline};
use egui::Ui;

/// How far the lanes reach before and after today, in days.
const REACH: i64 = 400;

/// The lanes, kept until the project or the day changes.
#[derive(Default)]
pub(super) struct Kept {
    made_for: Option<(u64, NaiveDate)>,
    about: Vec<AnyId>,
    lanes: Vec<Lane>,
}

impl Kept {
    /// Draws the lanes; returns the record of the lane picked.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        view: &View<'_>,
        state: &mut LanesState,
    ) -> Option<AnyId> {
        let key = (view.project.revision(), view.today);
        if self.made_for != Some(key) {
            let (from, to) = (shift(view.today, -REACH), shift(view.today, REACH));
            let lanes = timeline::lanes(view.project, from, to, view.today);
            self.about = lanes.iter().map(|lane| lane.about).collect();
            self.lanes = lanes.into_iter().map(drawn).collect();
            self.made_for = Some(key);
        }
        if self.lanes.is_empty() {
            ui.label("Crosses and batches show here as lanes, once there are any.");
            return None;
        }
        let picked = SeasonLanes::new("Season", view.today).show(ui, state, &self.lanes)?;
        self.about.get(picked).copied()
    }
}

fn drawn(lane: timeline::Lane) -> Lane {
    let bars = lane.bars.into_iter().map(|bar| LaneBar {
        from: bar.from,
        to: bar.to,
        kind: match bar.kind {
            timeline::BarKind::Planned => BarKind::Planned,
            timeline::BarKind::Actual => BarKind::Actual,
            timeline::BarKind::Projected => BarKind::Projected,
        },
        series: match bar.label {
            "cold" => 0,
            "warmth" => 1,
            _ => 2,
        },
        text: bar.label.into(),
    });
    let points = lane.marks.into_iter().map(|(on, text)| {
        let trouble = text.starts_with("failed") || text == "mould";
        LanePoint {
            on,
            mark: if trouble {
                mark::WARNING
            } else {
                mark::DIAMOND
            },
            meaning: if trouble {
                Meaning::Late
            } else {
                Meaning::Plain
            },
            text,
        }
    });
    Lane {
        name: lane.label,
        detail: String::new(),
        bars: bars.collect(),
        points: points.collect(),
    }
}
