//! The season as lanes: one for each cross and batch.

use crate::screens::chart_file::save_drawing;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::date::shift;
use domain::status::BatchStatus;
use domain::temperature::{BatchCold, Zone};
use domain::{AnyId, RecordKind, timeline};
use egui::Ui;
use kit::fonts::mark;
use kit::theme::Meaning;
use kit::widgets::{BarKind, Lane, LaneBar, LanePoint, LanesState, SeasonLanes, offer_table};

/// How far the lanes reach before and after today, in days.
const REACH: i64 = 400;

/// The lanes, kept until the project or the day changes.
#[derive(Default)]
pub(super) struct Kept {
    /// The revision and day, and whether the cold of its batches was known.
    made_for: Option<(u64, NaiveDate, bool)>,
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
        out: &mut Outbox<'_>,
    ) -> Option<AnyId> {
        let cold = view.derived.cold(view.project, view.today, ui.ctx());
        let cold = cold.filter(|cold| cold.current);
        let key = (view.project.revision(), view.today, cold.is_some());
        if self.made_for != Some(key) {
            let (from, to) = (shift(view.today, -REACH), shift(view.today, REACH));
            let lanes = timeline::lanes(view.project, from, to, view.today);
            self.about = lanes.iter().map(|lane| lane.about).collect();
            self.lanes = lanes.into_iter().map(drawn).collect();
            for (about, lane) in self.about.iter().zip(&mut self.lanes) {
                lane.detail = match about.kind {
                    RecordKind::Cross => "cross".into(),
                    _ => "batch".into(),
                };
            }
            if let Some(cold) = &cold {
                for (about, lane) in self.about.iter().zip(&mut self.lanes) {
                    let batch = about
                        .typed()
                        .and_then(|id| view.project.chill_batches().get(id));
                    let Some(batch) = batch else { continue };
                    if let Some(cold) = cold.batches.get(&batch.id) {
                        let status = BatchStatus::of(view.project, batch);
                        lane.points.extend(cold_points(cold, status));
                        lane.points.sort_by_key(|point| point.on);
                    }
                }
            }
            self.made_for = Some(key);
        }
        if self.lanes.is_empty() {
            ui.label("Crosses and batches show here as lanes, once there are any.");
            return None;
        }
        let season = SeasonLanes::new("Season", view.today);
        save_drawing(ui, view.today, out, "Season", || {
            season.drawing(&state.view, &self.lanes)
        });
        offer_table(ui.ctx(), || season.table(&self.lanes));
        ui.horizontal_wrapped(|ui| {
            SeasonLanes::legend(ui);
            let marks = [
                (mark::DIAMOND, "done or seen"),
                (mark::WARNING, "trouble"),
                (mark::HOLLOW_DIAMOND, "cold enough by its temperatures"),
            ];
            SeasonLanes::marks_legend(ui, &marks);
        });
        let picked = season.show(ui, state, &self.lanes)?;
        self.about.get(picked).copied()
    }
}

/// What the temperatures of a batch put on its lane: freezes, days of warmth, and the day its cold will be enough.
fn cold_points(cold: &BatchCold, status: BatchStatus) -> Vec<LanePoint> {
    let trouble = |on: NaiveDate, text: &str| LanePoint {
        on,
        mark: mark::WARNING,
        meaning: Meaning::Late,
        text: text.into(),
    };
    let mut points: Vec<LanePoint> = cold
        .exposure
        .spells
        .iter()
        .filter_map(|spell| match spell.zone {
            Zone::Freezing => Some(trouble(spell.began().date(), "freezing")),
            Zone::Above if spell.hours() >= 6.0 => Some(trouble(spell.began().date(), "warm")),
            _ => None,
        })
        .collect();
    points.dedup_by(|one, other| (one.on, &one.text) == (other.on, &other.text));
    let to_come = cold
        .by_temperature
        .filter(|_| status == BatchStatus::InCold);
    points.extend(to_come.map(|reckoned| LanePoint {
        on: reckoned.expected,
        mark: mark::HOLLOW_DIAMOND,
        meaning: Meaning::Plain,
        text: "cold enough by its temperatures".into(),
    }));
    points
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
