//! How many seeds of a pair it takes, and what so many would bring.

use super::{Pair, funnel};
use crate::derived::Sized;
use crate::screens::chart_file::save_chart;
use crate::screens::explanation::{figure, grounds, loud_figure};
use crate::screens::fields::choice;
use crate::view::{Outbox, View};
use domain::planning::Season;
use egui::{Label, ScrollArea, Ui, vec2};
use kit::theme::{Meaning, muted, space, strong};
use kit::widgets::{LinePlot, NumberField, Series, badge, halves, section_heading};
use kit::worker::Latest;

/// Pairs offered in the list that drops down.
const LISTED: usize = 40;

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    pair: Option<Pair>,
    seeds: Option<f64>,
}

impl State {
    /// Calculates for this pair.
    pub(super) fn choose(&mut self, pair: Pair) {
        self.pair = Some(pair);
        self.seeds = None;
    }
}

/// Draws the page for the pair chosen here, else the one selected among the pairs, else the best.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    season: &Latest<Season>,
    selected: Option<Pair>,
    out: &mut Outbox<'_>,
) {
    let candidates = &season.candidates;
    let known = |pair: &Pair| {
        candidates
            .pair(pair.0, pair.1)
            .is_some_and(|pair| pair.ploidy.is_some())
    };
    let first = candidates
        .pairs
        .first()
        .map(|pair| (pair.female, pair.pollen.male));
    let Some(pair) = state
        .pair
        .filter(known)
        .or(selected.filter(known))
        .or(first.filter(known))
    else {
        ui.add_space(space::XL);
        ui.label(muted(
            ui,
            "There is no pair to work with yet. Record the sex of your plants: one female and one \
            male make the first.",
        ));
        return;
    };
    let mut chosen = pair;
    choose_ui(ui, view, state, season, &mut chosen);
    if chosen != pair {
        state.choose(chosen);
    }
    let given = state.seeds.map(|seeds| seeds as u64);
    let asked = (chosen.0, chosen.1, given);
    let planning = view.derived.planning();
    let Some(sized) = planning.sized(season, view.project, view.today, asked, ui.ctx()) else {
        ui.label(muted(ui, "Being worked out."));
        return;
    };
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        answer_ui(ui, view, season, &sized, given);
        section_heading(ui, "From seed to good female");
        funnel::show(ui, view.project, &sized);
        if let Some(why) = sized.funnel.without_thresholds {
            ui.add(Label::new(muted(ui, why)).wrap());
        }
        halves(
            ui,
            out,
            |ui, _| needs_ui(ui, &sized),
            |ui, out| curve_ui(ui, view, season, &sized, out),
        );
    });
}

fn choose_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    season: &Latest<Season>,
    chosen: &mut Pair,
) {
    let candidates = &season.candidates;
    let key = |pair: &domain::planning::Candidate| (pair.female, pair.pollen.male);
    let mut choices: Vec<(Pair, String)> = candidates
        .pairs
        .iter()
        .filter(|pair| pair.is_offered())
        .take(LISTED)
        .map(|pair| (key(pair), candidates.title(view.project, pair)))
        .collect();
    if choices.iter().all(|(pair, _)| pair != chosen)
        && let Some(pair) = candidates.pair(chosen.0, chosen.1)
    {
        choices.insert(0, (*chosen, candidates.title(view.project, pair)));
    }
    ui.horizontal_wrapped(|ui| {
        ui.label(muted(ui, "Pair"));
        choice(ui, "Pair", chosen, &choices);
        ui.label(muted(ui, "Seeds sown"));
        NumberField::new("Seeds sown", "leave empty for the fewest that are enough")
            .decimals(0)
            .range(1.0..=1_000_000.0)
            .show_optional(ui, &mut state.seeds);
    });
}

fn answer_ui(
    ui: &mut Ui,
    view: &View<'_>,
    season: &Latest<Season>,
    sized: &Sized,
    given: Option<u64>,
) {
    let goals = &season.candidates.goals;
    let explain = || {
        Some(
            sized
                .funnel
                .explain_seeds(view.project, sized.fewest, goals.good_females, goals.sure),
        )
    };
    // Where nothing is asked of a female, any will do: 'good' would promise more.
    let asked = goals.index.is_some() || goals.traits.iter().any(|each| each.threshold.is_some());
    let wish = match (goals.good_females, asked) {
        (1, true) => "one good female".to_owned(),
        (more, true) => format!("{more} good females"),
        (1, false) => "one female of any kind".to_owned(),
        (more, false) => format!("{more} females of any kind"),
    };
    let sure = format!("{:.0} %", 100.0 * goals.sure);
    ui.horizontal_wrapped(|ui| {
        if let Some(seeds) = sized.fewest {
            loud_figure(ui, "Seeds to sow", &format!("Sow {seeds} seeds"), explain);
            ui.label(strong(format!("to be {sure} sure of {wish}.")));
        } else {
            ui.label(strong(format!(
                "A million seeds are too few to be {sure} sure of {wish}."
            )));
            figure(ui, "Seeds to sow", "Why", explain);
        }
        if given.is_some() {
            let chance = format!("{:.1} %", 100.0 * sized.chance);
            ui.label(strong(format!(
                "From {} seeds the chance of {wish} is {chance}.",
                sized.seeds
            )));
        }
    });
    grounds(ui, &sized.grounds);
}

fn needs_ui(ui: &mut Ui, sized: &Sized) {
    section_heading(ui, "What that many seeds need");
    for need in &sized.needs {
        ui.horizontal(|ui| {
            let words = need.kind.words(need.amount);
            figure(ui, words, &need.amount.to_string(), || {
                Some(need.explanation.clone())
            });
            ui.label(words);
            if let Some(limit) = need.limit {
                if need.is_too_much() {
                    badge(
                        ui,
                        Meaning::Late,
                        &format!("more than the {limit} there are"),
                    );
                } else {
                    ui.label(muted(ui, format!("of {limit}")));
                }
            }
        });
    }
    takes_ui(ui, sized);
}

/// Seed is only got from crosses that take.
fn takes_ui(ui: &mut Ui, sized: &Sized) {
    ui.horizontal_wrapped(|ui| {
        let name = "chance that the cross gives seed";
        let chance = format!("{:.0} %", 100.0 * sized.sets_seed.rate.mean());
        figure(ui, name, &chance, || {
            let what = "Chance that a pollinated cross of this female gives seed";
            Some(sized.sets_seed.explain(what, "female", "females"))
        });
        ui.label("chance that the cross gives any seed; the figures above assume that it does");
    });
}

fn curve_ui(
    ui: &mut Ui,
    view: &View<'_>,
    season: &Latest<Season>,
    sized: &Sized,
    out: &mut Outbox<'_>,
) {
    let seeds: Vec<i32> = sized.curve.iter().map(|(seeds, _)| *seeds as i32).collect();
    let chances = [Series {
        name: "chance, %",
        values: sized
            .curve
            .iter()
            .map(|(_, chance)| Some(100.0 * chance))
            .collect(),
    }];
    let title = match season.candidates.goals.good_females {
        1 => "Chance of one good female, by seeds sown".to_owned(),
        more => format!("Chance of {more} good females, by seeds sown"),
    };
    let size = vec2(ui.available_width(), 200.0);
    let plot = LinePlot::new(&title, &seeds, &chances, 0);
    plot.show(ui, size, &mut None);
    save_chart(ui, view.today, out, plot.title(), || plot.chart());
}
