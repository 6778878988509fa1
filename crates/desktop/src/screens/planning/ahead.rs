//! Looking ahead: two strategies played out side by side.

use crate::screens::chart_file::save_chart;
use crate::screens::explanation::grounds;
use crate::view::{Outbox, View};
use domain::planning::Season;
use domain::planning::{LookAhead, Played};
use egui::{Grid, Label, Panel, ScrollArea, Ui, vec2};
use kit::figures::with_minus;
use kit::theme::{Meaning, muted, space, strong};
use kit::widgets::{
    Column, LinePlot, NumberField, Rows, Series, Table, TableState, badge, growth, main_button,
    segmented,
};
use kit::worker::Latest;
use quant::simulate::{Band, Pairing, Strategy};

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    strategies: Option<[Strategy; 2]>,
    seed: u64,
    season: Option<i32>,
    table: TableState<i32>,
}

const NAMES: [&str; 2] = ["first", "second"];

pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    season: &Latest<Season>,
    out: &mut Outbox<'_>,
) {
    let ahead = match LookAhead::of(view.project, &season.candidates) {
        Ok(ahead) => ahead,
        Err(why) => {
            ui.add_space(space::L);
            ui.add(Label::new(why.to_string()).wrap());
            return;
        }
    };
    let strategies = state.strategies.get_or_insert_with(|| {
        let usual = ahead.usual();
        // The other keeps twice as many parents: less gain at first, less inbreeding later.
        let wider = Strategy {
            females: 2 * usual.females,
            males: 2 * usual.males,
            ..usual
        };
        [usual, wider]
    });
    let width = (ui.available_width() * 0.38).clamp(424.0, 480.0);
    Panel::left("strategies")
        .exact_size(width)
        .resizable(false)
        .show_separator_line(false)
        .frame(egui::Frame::new().inner_margin(egui::Margin {
            right: space::L as i8,
            ..egui::Margin::ZERO
        }))
        .show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                ui.set_max_width(width - space::XL - space::S);
                strategies_ui(ui, strategies);
            });
        });
    let strategies = *strategies;
    let plans = view.derived.season_plans();
    let (played, progress) = plans.played(ahead.revision, strategies, state.seed);
    let words = format!(
        "From {} females and {} males of today. A keeper is a female kept whose true index is at least {:.2}: {}.",
        ahead.parents[0], ahead.parents[1], ahead.keeper, ahead.keeper_words
    );
    ui.add(Label::new(muted(ui, words)).wrap());
    ui.add(Label::new(muted(ui, ahead.interval_words())).wrap());
    if let Some(progress) = progress {
        let words = if progress.words.is_empty() {
            "Reading the pedigree"
        } else {
            &progress.words
        };
        ui.label(words);
        growth(
            ui,
            &format!("Progress: {words}"),
            progress.part.unwrap_or(0.0),
        );
        if ui.button("Stop").clicked() {
            plans.stop_playing();
        }
    } else {
        ui.horizontal_wrapped(|ui| {
            if main_button(ui, "Simulate both").clicked() {
                plans.play(ui.ctx(), ahead.clone(), strategies, state.seed);
            }
            ui.label("Random seed");
            let mut seed = state.seed as f64;
            let field = NumberField::new("Random seed", "")
                .range(0.0..=1e9)
                .decimals(0);
            if field.show(ui, &mut seed).changed {
                state.seed = seed as u64;
            }
            ui.label(muted(ui, "The same number repeats the same random draws."));
        });
    }
    let Some(played) = played else { return };
    if !played.current {
        badge(ui, Meaning::Soon, "of other strategies or an earlier state");
    }
    match &*played.value {
        Ok(played) => outcome_ui(ui, view, state, (&ahead, played), out),
        Err(why) => {
            ui.add(Label::new(why.to_string()).wrap());
        }
    }
}

/// The two strategies beside each other, line by line.
fn strategies_ui(ui: &mut Ui, strategies: &mut [Strategy; 2]) {
    Grid::new("strategies")
        .num_columns(3)
        .spacing([space::L, space::S])
        .show(ui, |ui| {
            ui.label("");
            for which in NAMES {
                ui.label(strong(format!("The {which}")));
            }
            ui.end_row();
            for (name, most, pick) in COUNTS {
                line_ui(ui, name, strategies, |ui, full, strategy| {
                    let value = pick(strategy);
                    let mut number = f64::from(*value);
                    let field = NumberField::new(full, "").range(0.0..=most).decimals(0);
                    if field.show(ui, &mut number).changed {
                        *value = number as u32;
                    }
                });
            }
            for (name, pick) in SHARES {
                line_ui(ui, name, strategies, |ui, full, strategy| {
                    let value = pick(strategy);
                    let mut percent = 100.0 * *value;
                    let field = NumberField::new(full, "%").range(0.0..=100.0).decimals(1);
                    if field.show(ui, &mut percent).changed {
                        *value = percent / 100.0;
                    }
                });
            }
        });
    ui.add_space(space::S);
    let choices = [
        (Pairing::LeastRelated, "Least related"),
        (Pairing::Chance, "By chance"),
    ];
    for (strategy, which) in strategies.iter_mut().zip(NAMES) {
        ui.push_id(which, |ui| {
            ui.horizontal_wrapped(|ui| {
                ui.label(muted(ui, format!("Pairing, {which}")));
                let name = format!("Pairing, {which}");
                segmented(ui, &name, &mut strategy.pairing, &choices);
            });
        });
    }
}

type Count = fn(&mut Strategy) -> &mut u32;
type Share = fn(&mut Strategy) -> &mut f64;

const COUNTS: [(&str, f64, Count); 6] = [
    ("Generations", 30.0, |of| &mut of.seasons),
    ("Crosses a generation", 200.0, |of| &mut of.crosses),
    ("Seedlings a cross", 1000.0, |of| &mut of.plants),
    ("Females kept", 500.0, |of| &mut of.females),
    ("Males kept", 500.0, |of| &mut of.males),
    ("Generations a parent serves again", 30.0, |of| {
        &mut of.again
    }),
];

const SHARES: [(&str, Share); 4] = [
    ("Females among seedlings", |of| &mut of.female_share),
    ("Culled at the first screen", |of| &mut of.culled),
    ("Heritability of the screen", |of| {
        &mut of.screen_heritability
    }),
    ("Heritability of later records", |of| &mut of.heritability),
];

fn line_ui(
    ui: &mut Ui,
    name: &str,
    strategies: &mut [Strategy; 2],
    mut field: impl FnMut(&mut Ui, &str, &mut Strategy),
) {
    ui.label(muted(ui, name));
    for (strategy, which) in strategies.iter_mut().zip(NAMES) {
        field(ui, &format!("{name}, {which}"), strategy);
    }
    ui.end_row();
}

fn outcome_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    (ahead, played): (&LookAhead, &Played),
    out: &mut Outbox<'_>,
) {
    let [first, second] = &played.outcomes[..] else {
        return;
    };
    let seasons = first.seasons.len().max(second.seasons.len());
    let years: Vec<i32> = (1..=seasons).map(|nth| ahead.season_of(nth)).collect();
    let series = |name,
                  pick: &dyn Fn(&quant::simulate::SeasonOutcome) -> f64,
                  of: &quant::simulate::Outcome| Series {
        name,
        values: (0..seasons)
            .map(|season| of.seasons.get(season).map(pick))
            .collect(),
    };
    let gain = |season: &quant::simulate::SeasonOutcome| season.chosen.mean - ahead.today;
    let gains = [
        series("first", &gain, first),
        series("second", &gain, second),
    ];
    let inbreeding = |season: &quant::simulate::SeasonOutcome| season.inbreeding.mean;
    let losses = [
        series("first", &inbreeding, first),
        series("second", &inbreeding, second),
    ];
    let width = (ui.available_width() - space::S) / 2.0;
    let size = vec2(width, (ui.available_height() * 0.45).clamp(120.0, 300.0));
    let plots = [
        LinePlot::new("Females kept, above today's parents", &years, &gains, 2),
        LinePlot::new("Inbreeding F of seedlings", &years, &losses, 3),
    ];
    ui.horizontal_top(|ui| {
        for plot in &plots {
            ui.vertical(|ui| {
                plot.show(ui, size, &mut state.season);
                save_chart(ui, view.today, out, plot.title(), || plot.chart());
            });
        }
    });
    if let (Some(one), Some(other)) = (first.seasons.last(), second.seasons.last()) {
        let keeper = |season: &quant::simulate::SeasonOutcome| {
            format!(
                "{:.0} % ({:.0} to {:.0} %)",
                100.0 * season.keeper,
                100.0 * season.keeper_low,
                100.0 * season.keeper_high
            )
        };
        let words = format!(
            "At least one keeper by the last generation: {} with the first, {} with the second. {} plays each; ranges in the table hold eight plays of ten, that of the difference 95 % of its mean.",
            keeper(one),
            keeper(other),
            first.replicates
        );
        ui.add(Label::new(words).wrap());
    }
    if let Some(found) = ahead.grounds(played) {
        grounds(ui, &found);
    }
    table_ui(ui, state, ahead, played, seasons);
}

fn table_ui(ui: &mut Ui, state: &mut State, ahead: &LookAhead, played: &Played, seasons: usize) {
    let columns = [
        Column::number("Season", 60.0).hint("From now on, at the end of a generation"),
        Column::text("Gain, first", 124.0),
        Column::text("Gain, second", 124.0),
        Column::text("First less second", 136.0)
            .hint("Mean difference with the same luck, and its 95 % interval"),
        Column::text("F, first", 64.0),
        Column::text("F, second", 72.0),
        Column::text("Keeper", 100.0)
            .hint("Share of plays with at least one keeper so far")
            .stretch(),
    ]
    .map(Column::unsortable);
    let [first, second] = &played.outcomes[..] else {
        return;
    };
    let band = |band: &Band| {
        format!(
            "{:.2} ({:.2} to {:.2})",
            band.mean - ahead.today,
            band.low - ahead.today,
            band.high - ahead.today
        )
    };
    let rows = Rows {
        count: seasons,
        key: |row: usize| ahead.season_of(row + 1),
        name: |row: usize| format!("Season {}", ahead.season_of(row + 1)),
        cell: |ui: &mut Ui, row: usize, column: usize| {
            let (one, other) = (first.seasons.get(row), second.seasons.get(row));
            let text = match column {
                0 => Some(ahead.season_of(row + 1).to_string()),
                1 => one.map(|season| band(&season.chosen)),
                2 => other.map(|season| band(&season.chosen)),
                3 => played.differences.get(row).map(|each| {
                    let half = 1.96 * each.chosen.error;
                    with_minus(&format!("{:+.2} (± {half:.2})", each.chosen.mean))
                }),
                4 => one.map(|season| format!("{:.3}", season.inbreeding.mean)),
                5 => other.map(|season| format!("{:.3}", season.inbreeding.mean)),
                _ => one.zip(other).map(|(one, other)| {
                    format!("{:.0} %, {:.0} %", 100.0 * one.keeper, 100.0 * other.keeper)
                }),
            };
            ui.label(text.unwrap_or_default());
        },
    };
    Table::new("Seasons ahead", &columns).show(ui, &mut state.table, rows);
}
