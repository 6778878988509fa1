//! Today: the day on one page, the month, the season as lanes.

use super::on_paper;
use crate::view::{Outbox, View};
use domain::agenda::Item;
use domain::date::shift;
use domain::{AnyId, Project};
use egui::{CentralPanel, Frame, Margin, Panel, ScrollArea, Ui};
use kit::theme::space;
use kit::widgets::{LanesState, MonthState, TakenTable, offer_table, segmented};

mod counts;
mod day;
mod first_steps;
mod month;
mod round;
mod season;
mod to_do;

pub(super) use to_do::drawing_of;

/// What the page remembers between frames.
#[derive(Default)]
pub struct State {
    picture: Picture,
    day: day::Kept,
    month: Option<MonthState>,
    month_entries: month::Entries,
    lanes: Option<LanesState>,
    season: season::Kept,
    round: round::State,
    counts: counts::State,
    to_do: to_do::State,
    /// The entries that catch up on missed days are shown.
    catching_up: bool,
    /// The number the sections of the second column begin with.
    sections_left: usize,
}

/// Which picture of time is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Picture {
    #[default]
    Day,
    Month,
    Season,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let pictures = [
        (Picture::Day, "Day"),
        (Picture::Month, "Month"),
        (Picture::Season, "Season"),
    ];
    segmented(ui, "Show", &mut state.picture, &pictures);
    if state.picture != Picture::Day {
        kit::page_keys::turns(ui, &mut state.picture, &pictures);
    }
    if state.picture != Picture::Season {
        offer_agenda(ui, view);
    }
    match state.picture {
        Picture::Day => day::show(ui, view, state, out),
        Picture::Month => {
            kit::widgets::with_room(ui, "month", egui::vec2(700.0, 400.0), |ui| {
                month_ui(ui, view, state, out);
            });
        }
        Picture::Season => {
            on_paper::season_reports(ui, view, out);
            let around = || LanesState::new(shift(view.today, -240), shift(view.today, 120));
            let lanes = state.lanes.get_or_insert_with(around);
            if let Some(about) = state.season.show(ui, view, lanes, out) {
                out.show(about);
            }
        }
    }
}

/// The agenda as a table, for whoever copies or saves the table of the page.
fn offer_agenda(ui: &Ui, view: &View<'_>) {
    offer_table(ui.ctx(), || {
        let agenda = view.derived.agenda(view.project, view.today, ui.ctx());
        let row = |item: &Item| {
            let latest = item.latest.map(|day| day.to_string());
            vec![
                item.date.to_string(),
                latest.unwrap_or_default(),
                item.state.word().to_owned(),
                item.title.clone(),
                item.detail.clone(),
            ]
        };
        TakenTable {
            name: "Agenda".into(),
            header: ["Day", "At the latest", "Standing", "What", "More"]
                .map(str::to_owned)
                .to_vec(),
            rows: agenda.iter().map(row).collect(),
        }
    });
}

/// The month, and beside it the rows of the day that is chosen.
fn month_ui(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let width = ui.available_width();
    let month = *state
        .month
        .get_or_insert_with(|| MonthState::on(view.today));
    Panel::right("rows of a day")
        .exact_size((width * 0.4).clamp(320.0, 520.0))
        .resizable(false)
        .show_separator_line(false)
        .frame(Frame::new().inner_margin(Margin {
            left: space::XL as i8,
            ..Margin::ZERO
        }))
        .show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                let day = month.selected.unwrap_or(view.today);
                to_do::of_day(ui, view, &mut state.to_do, day, out);
            });
        });
    CentralPanel::default().frame(Frame::new()).show(ui, |ui| {
        if let Some(month) = &mut state.month {
            state.month_entries.show(ui, view, month);
        }
    });
}

/// Brings a record into view: the calendar shows no single record.
pub fn reveal(_state: &mut State, _project: &Project, _id: AnyId) {}
