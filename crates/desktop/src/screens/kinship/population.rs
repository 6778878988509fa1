//! The population over its seasons: how fast inbreeding rises, how much of the founders is left.

use super::{earlier_ui, season, waiting_ui};
use crate::screens::chart_file::save_chart;
use crate::screens::explanation::{figure, share_in_column};
use crate::view::{Outbox, View};
use domain::genetics::{Population, SeasonFigures};
use egui::{Ui, vec2};
use kit::figures::decimals;
use kit::theme::{muted, space};
use kit::widgets::{Column, LinePlot, Rows, Series, Table, TableState, list_and_detail};

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    table: TableState<i32>,
    detail_open: bool,
}

pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let genetics = view.derived.genetics();
    let Some(population) = genetics.population(view.project, ui.ctx()) else {
        waiting_ui(ui);
        return;
    };
    if population.seasons.is_empty() {
        ui.add_space(space::XL);
        ui.label(muted(ui, "No plant has a season yet. Plants from a cross have that of the cross; give the others the year they were potted or came in."));
        return;
    }
    summary_ui(ui, &population, population.current);
    let chosen = state
        .table
        .only_selected()
        .and_then(|year| population.seasons.iter().find(|each| each.season == year));
    let title = chosen.map_or(String::new(), |each| format!("Season {}", each.season));
    let was_open = state.detail_open && chosen.is_some();
    let mut open = was_open;
    list_and_detail(
        ui,
        "population",
        &mut open,
        &title,
        state,
        |ui, state| seasons_ui(ui, view, &population, state, out),
        |ui, _| {
            if let Some(chosen) = chosen {
                season::show(ui, chosen);
            }
        },
    );
    if was_open && !open {
        state.detail_open = false;
    }
}

fn summary_ui(ui: &mut Ui, population: &Population, current: bool) {
    let optional = |value: Option<f64>, decimals: usize| {
        value.map_or_else(
            || "not known".to_owned(),
            |value| format!("{value:.decimals$}"),
        )
    };
    let explain = || Some(population.explain_effective_size());
    ui.horizontal_wrapped(|ui| {
        let figures = [
            (
                "Rate of inbreeding per season",
                population.rate_per_season,
                4,
            ),
            (
                "mean age of parents, seasons",
                population.generation_interval,
                1,
            ),
            ("rate per generation", population.rate_per_generation, 4),
            ("effective size", population.effective_size, 1),
        ];
        for (name, value, decimals) in figures {
            ui.label(muted(ui, name));
            figure(ui, name, &optional(value, decimals), explain);
            ui.add_space(space::S);
        }
        earlier_ui(ui, current);
    });
    let explain = || Some(population.explain_coancestry());
    ui.horizontal_wrapped(|ui| {
        let figures = [
            (
                "Rate of coancestry per generation",
                population.coancestry_rate,
                4,
            ),
            (
                "effective size by coancestry",
                population.coancestry_size,
                1,
            ),
        ];
        for (name, value, decimals) in figures {
            ui.label(muted(ui, name));
            figure(ui, name, &optional(value, decimals), explain);
            ui.add_space(space::S);
        }
    });
    if population.without_season > 0 {
        let words = format!(
            "{} plants have no season on record and are in none of these.",
            population.without_season
        );
        ui.label(muted(ui, words));
    }
}

fn seasons_ui(
    ui: &mut Ui,
    view: &View<'_>,
    population: &Population,
    state: &mut State,
    out: &mut Outbox<'_>,
) {
    let seasons = &population.seasons;
    let years: Vec<i32> = seasons.iter().map(|each| each.season).collect();
    let series = |name, value: &dyn Fn(&SeasonFigures) -> Option<f64>| Series {
        name,
        values: seasons.iter().map(value).collect(),
    };
    let shares = [
        series("inbreeding F", &|each| Some(each.figures.inbreeding)),
        series("kinship", &|each| Some(each.figures.kinship)),
    ];
    let numbers = [
        series("founders", &|each| each.figures.founders),
        series("ancestors", &|each| {
            each.figures
                .ancestors
                .map(|(low, high)| f64::midpoint(low, high))
        }),
        series("genomes", &|each| each.figures.genomes),
    ];
    let mut year = state.table.only_selected();
    let before = year;
    let space = ui.available_size();
    let beside = space.x >= 640.0;
    let (width, height) = if beside {
        ((space.x - space::S) / 2.0, space.y * 0.5)
    } else {
        (space.x, space.y * 0.3)
    };
    let size = vec2(width, height.clamp(130.0, 420.0));
    let plots = [
        LinePlot::new(
            "Mean inbreeding and kinship of a season's plants",
            &years,
            &shares,
            3,
        ),
        LinePlot::new(
            "Effective numbers of a season's plants",
            &years,
            &numbers,
            1,
        ),
    ];
    let mut draw = |ui: &mut Ui| {
        for plot in &plots {
            ui.vertical(|ui| {
                plot.show(ui, size, &mut year);
                save_chart(ui, view.today, out, plot.title(), || plot.chart());
            });
        }
    };
    if beside {
        ui.horizontal_top(|ui| draw(ui));
    } else {
        draw(ui);
    }
    if year != before {
        if let Some(year) = year {
            state.table.select_only(year);
        }
        state.detail_open = true;
    }
    ui.add_space(space::S);
    table_ui(ui, seasons, state);
}

fn table_ui(ui: &mut Ui, seasons: &[SeasonFigures], state: &mut State) {
    let columns = [
        Column::number("Season", 72.0),
        Column::number("Plants", 64.0),
        Column::number("Mean F", 80.0).hint("Mean inbreeding"),
        Column::number("Kinship", 80.0).hint("Mean kinship, each plant with itself included"),
        Column::number("Rate", 80.0).hint("Rate of inbreeding since the season before"),
        Column::number("Founders", 84.0).hint("Effective number of founders"),
        Column::number("Ancestors", 100.0).hint("Effective number of ancestors"),
        Column::number("Genomes", 84.0).hint("Founder genome equivalents"),
        Column::number("Generations", 92.0)
            .hint("Equivalent complete generations known")
            .stretch(),
    ]
    .map(Column::unsortable);
    let rows = Rows {
        count: seasons.len(),
        key: |row: usize| seasons[row].season,
        name: |row: usize| format!("Season {}", seasons[row].season),
        cell: |ui: &mut Ui, row: usize, column: usize| {
            ui.label(cell(&seasons[row], column));
        },
    };
    let response = Table::new("Figures by season", &columns).show(ui, &mut state.table, rows);
    if response.changed || response.opened.is_some() {
        state.detail_open = true;
    }
}

fn cell(of: &SeasonFigures, column: usize) -> String {
    let optional = |value: Option<f64>| value.map_or_else(String::new, |value| decimals(value, 1));
    let figures = &of.figures;
    match column {
        0 => of.season.to_string(),
        1 => figures.size.to_string(),
        2 => share_in_column(figures.inbreeding),
        3 => share_in_column(figures.kinship),
        4 => of.rate.map(share_in_column).unwrap_or_default(),
        5 => optional(figures.founders),
        6 => season::ancestors(figures.ancestors),
        7 => optional(figures.genomes),
        _ => format!("{:.1}", figures.generations),
    }
}
