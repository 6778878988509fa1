//! The calendar: what is late, due and coming, with the button that does it; the month; the season as lanes.

use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::date::shift;
use domain::{AnyId, Project};
use egui::{CentralPanel, Frame, Margin, Panel, ScrollArea, Ui};
use kit::theme::{muted, space};
use kit::widgets::{DateField, LanesState, MonthState, full_date, heading, segmented};

mod month;
mod round;
mod season;
mod to_do;

/// What the calendar remembers between frames.
pub struct State {
    picture: Picture,
    month: Option<MonthState>,
    month_entries: month::Entries,
    lanes: Option<LanesState>,
    season: season::Kept,
    /// The day things are recorded for; today unless changed.
    recorded_for: Option<NaiveDate>,
    round: round::State,
    to_do: to_do::State,
}

impl Default for State {
    fn default() -> Self {
        Self {
            picture: Picture::Month,
            month: None,
            month_entries: month::Entries::default(),
            lanes: None,
            season: season::Kept::default(),
            recorded_for: None,
            round: round::State::default(),
            to_do: to_do::State::default(),
        }
    }
}

/// Which picture of time is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Picture {
    Month,
    Season,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let width = ui.available_width();
    Panel::right("to do")
        .default_size((width * 0.42).clamp(400.0, 620.0))
        .size_range(360.0..=(width * 0.6).max(360.0))
        .frame(Frame::new().inner_margin(Margin {
            left: space::M as i8,
            ..Margin::ZERO
        }))
        .show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                ui.add_space(space::XS);
                let day = recording_day(ui, view, state);
                round::show(ui, view, &mut state.round, day, out);
                to_do::show(
                    ui,
                    view,
                    &mut state.to_do,
                    day,
                    state.month.and_then(|month| month.selected),
                    out,
                );
            });
        });
    CentralPanel::default().frame(Frame::new()).show(ui, |ui| {
        ui.horizontal(|ui| {
            heading(ui, "Calendar");
            ui.add_space(space::M);
            segmented(
                ui,
                "Show",
                &mut state.picture,
                &[(Picture::Month, "Month"), (Picture::Season, "Season")],
            );
        });
        match state.picture {
            Picture::Month => {
                let month = state
                    .month
                    .get_or_insert_with(|| MonthState::on(view.today));
                state.month_entries.show(ui, view, month);
            }
            Picture::Season => {
                let around = || LanesState::new(shift(view.today, -240), shift(view.today, 120));
                let lanes = state.lanes.get_or_insert_with(around);
                if let Some(about) = state.season.show(ui, view, lanes) {
                    out.show(about);
                }
            }
        }
    });
}

/// The day things are recorded for: today, unless yesterday's round is being written up.
fn recording_day(ui: &mut Ui, view: &View<'_>, state: &mut State) -> NaiveDate {
    let mut day = state.recorded_for.unwrap_or(view.today);
    ui.horizontal(|ui| {
        ui.label(muted(ui, "Record for"));
        DateField::new("Record for", view.today)
            .first_weekday(view.preferences.first_weekday())
            .show(ui, &mut day);
        if day == view.today {
            ui.label(muted(ui, full_date(day)));
        } else if ui.button("Back to today").clicked() {
            day = view.today;
        }
    });
    state.recorded_for = (day != view.today).then_some(day);
    day
}

/// Brings a record into view: the calendar shows no single record.
pub fn reveal(_state: &mut State, _project: &Project, _id: AnyId) {}
