//! By when: the steps of the season, and what stands in the rooms week by week.

use super::plan::{self, State};
use crate::screens::chart_file::save_chart;
use crate::screens::explanation::grounds;
use crate::view::{Outbox, View};
use domain::planning::{Season, SeasonDate};
use domain::planning::{SeasonDates, WeekLoad, capacity};
use egui::{Label, ScrollArea, Ui, vec2};
use kit::figures::MISSING;
use kit::theme::{Meaning, muted};
use kit::widgets::{
    Column, Load, LoadBars, ShortTable, badge, load_bars_height, offer_table, section_heading,
};
use kit::worker::Latest;

pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    season: &Latest<Season>,
    out: &mut Outbox<'_>,
) {
    let Some(chosen) = plan::chosen(ui, view, state, season) else {
        return;
    };
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        plan::flowering_ui(ui, view, state);
        let words = chosen.dates.words();
        if chosen.dates.spare.is_some_and(|days| days < 0) {
            badge(ui, Meaning::Late, "too late");
        }
        ui.add(Label::new(words).wrap());
        grounds(ui, &chosen.dates.grounds(view.project));
        dates_ui(ui, &chosen.dates);
        let loads = capacity(view.project, &chosen.plan, &chosen.dates);
        room_ui(ui, view, &loads, out);
    });
}

fn dates_ui(ui: &mut Ui, dates: &SeasonDates) {
    section_heading(ui, &format!("Steps of season {}", dates.season));
    let columns = [
        Column::text("Step", 168.0),
        Column::text("From", 104.0),
        Column::text("To", 104.0),
        Column::text("At the latest", 170.0),
        Column::text("Why", 240.0).stretch(),
    ];
    let steps = &dates.dates;
    ShortTable::new("Steps of the season", &columns).show(ui, steps.len(), |ui, row, column| {
        let date = &steps[row];
        match column {
            0 => ui.label(date.step.words()),
            1 => ui.label(kit::dates::day(date.from)),
            2 => ui.label(kit::dates::day(date.to)),
            3 => latest_ui(ui, date),
            _ => ui.add(Label::new(muted(ui, date.why.clone())).wrap()),
        };
    });
}

fn latest_ui(ui: &mut Ui, date: &SeasonDate) -> egui::Response {
    let row = ui.horizontal(|ui| {
        ui.label(date.latest.map_or(MISSING.to_owned(), kit::dates::day));
        if date.is_late() {
            badge(ui, Meaning::Late, "too late");
        }
    });
    row.response
}

fn room_ui(ui: &mut Ui, view: &View<'_>, loads: &[WeekLoad], out: &mut Outbox<'_>) {
    let project = view.project;
    section_heading(ui, "Room, week by week");
    let space_there = project.settings().goals.space;
    let weeks: Vec<_> = loads.iter().map(|load| load.week).collect();
    let taken = |pick: fn(&WeekLoad) -> u32| loads.iter().map(pick).collect::<Vec<_>>();
    let kinds = [
        Load {
            name: "boxes",
            room: space_there.boxes,
            taken: taken(|load| load.boxes),
        },
        Load {
            name: "cells",
            room: space_there.cells,
            taken: taken(|load| load.cells),
        },
        Load {
            name: "pots",
            room: space_there.pots,
            taken: taken(|load| load.pots),
        },
    ];
    let size = vec2(ui.available_width(), load_bars_height(kinds.len()));
    let bars = LoadBars::new("Room, week by week", &weeks, &kinds);
    bars.show(ui, size);
    save_chart(ui, view.today, out, bars.title(), || bars.chart());
    offer_table(ui.ctx(), || bars.table());
    let overfull: Vec<String> = loads
        .iter()
        .filter_map(|load| {
            let what = load.overfull(project);
            (!what.is_empty())
                .then(|| format!("{} ({})", kit::dates::day(load.week), what.join(", ")))
        })
        .collect();
    if overfull.is_empty() {
        ui.label(muted(ui, "No week is overfull. Boxes in the cold now are counted in; a dashed line marks the room given with the goals."));
    } else {
        ui.horizontal_wrapped(|ui| {
            badge(ui, Meaning::Danger, "overfull");
            ui.add(Label::new(format!("Weeks of {}.", overfull.join(", "))).wrap());
        });
    }
}
