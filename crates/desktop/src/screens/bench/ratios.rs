//! Families in two classes of a trait, held against Mendel's ratios.

use super::{earlier_ui, waiting_ui};
use crate::screens::explanation::figure;
use crate::screens::fields::choice;
use crate::view::{Outbox, Request, Screen, View};
use domain::germination::p_words;
use domain::segregation::{Classes, Family};
use domain::{Direction, Id, Project, Scale, Trait};
use egui::{Label, ScrollArea, Ui};
use kit::figures::decimals;
use kit::theme::{muted, space};
use kit::widgets::{Column, NumberField, ShortTable, empty_state, section_heading};

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    of_trait: Option<Id<Trait>>,
    limit: Option<f64>,
    family: Option<Family>,
}

pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    let scored = |each: &&Trait| project.observations_of_trait(each.id).next().is_some();
    let traits: Vec<&Trait> = project.traits().iter().filter(scored).collect();
    let Some(first) = first_of(project, &traits) else {
        let sentence = "A family that sorts into two classes, resistant and susceptible, shows how many genes are \
            at work. Score a trait on its seedlings first.";
        if empty_state(ui, sentence, "Go to Seedlings") {
            out.ask(Request::Go(Screen::Seedlings));
        }
        return;
    };
    let mut of_trait = state
        .of_trait
        .filter(|id| traits.iter().any(|each| each.id == *id))
        .unwrap_or(first);
    let choices: Vec<_> = traits
        .iter()
        .map(|each| (each.id, each.name.clone()))
        .collect();
    let mut limit = state.limit.unwrap_or_else(|| middle(project, of_trait));
    ui.horizontal_wrapped(|ui| {
        ui.label(muted(ui, "Trait"));
        if choice(ui, "Trait to sort by", &mut of_trait, &choices) {
            limit = middle(project, of_trait);
            state.family = None;
        }
        ui.label(muted(ui, "First class: up to"));
        NumberField::new("Highest value of the first class", "")
            .decimals(2)
            .width(56.0)
            .show(ui, &mut limit);
    });
    (state.of_trait, state.limit) = (Some(of_trait), Some(limit));
    let bench = view.derived.bench();
    let Some(found) = bench.classes(project, of_trait, limit, ui.ctx()) else {
        waiting_ui(ui);
        return;
    };
    earlier_ui(ui, found.current);
    let words = "The latest record of each seedling counts. The first class is the one that a single dominant gene \
        would give: the resistant plants, where low scores mean healthy.";
    ui.add(Label::new(muted(ui, words)).wrap());
    let chosen = state
        .family
        .and_then(|family| found.iter().find(|each| each.family == family))
        // Families may differ: several are looked at one by one first, not put together.
        .or_else(|| {
            if found.len() > 2 {
                found.get(1)
            } else {
                found.first()
            }
        });
    let Some(chosen) = chosen else {
        ui.label("No seedling of a family is scored in this trait.");
        return;
    };
    let families: Vec<_> = found
        .iter()
        .map(|each| {
            let words = format!("{} ({} : {})", each.title, each.counts.0, each.counts.1);
            (each.family, words)
        })
        .collect();
    let mut family = chosen.family;
    ui.horizontal(|ui| {
        ui.label(muted(ui, "Family"));
        choice(ui, "Family that sorts", &mut family, &families);
    });
    state.family = Some(family);
    family_ui(ui, chosen);
}

fn family_ui(ui: &mut Ui, classes: &Classes) {
    section_heading(ui, &classes.title);
    let counts = format!(
        "{} in the first class, {} in the other, {} not scored.",
        classes.counts.0, classes.counts.1, classes.unscored
    );
    ui.label(counts);
    ui.add(Label::new(classes.words()).wrap());
    ui.add_space(space::S);
    let columns = [
        Column::text("Ratio", 72.0),
        Column::number("Expected", 80.0).hint("How many the ratio lets expect in the first class."),
        Column::number("Chi-square", 88.0),
        Column::number("p", 104.0),
        Column::number("Exact p", 104.0),
        Column::number("Likely, %", 80.0),
        Column::text("Possible explanation", 260.0).stretch(),
    ];
    ScrollArea::vertical()
        .id_salt("ratios")
        .auto_shrink(false)
        .show(ui, |ui| {
            let rows = classes.held.len() + 1;
            ShortTable::new("Ratios", &columns).show(ui, rows, |ui, row, column| {
                cell(ui, classes, row, column);
            });
        });
}

fn cell(ui: &mut Ui, classes: &Classes, row: usize, column: usize) {
    let Some(held) = classes.held.get(row) else {
        match column {
            0 => ui.label("another"),
            5 => ui.label(decimals(100.0 * classes.other, 1)),
            6 => ui.label("Some other ratio than these."),
            _ => return,
        };
        return;
    };
    match column {
        0 => {
            let name = format!("Ratio in {}", classes.title);
            let ratio = held.inheritance.words();
            figure(ui, &name, &ratio, || Some(classes.explain(held)))
        }
        1 => ui.label(decimals(held.expected, 1)),
        2 => ui.label(decimals(held.chi_square, 2)),
        3 => ui.label(p_words(held.p)),
        4 => ui.label(p_words(held.exact)),
        5 => ui.label(decimals(100.0 * held.posterior, 1)),
        _ => ui.add(Label::new(held.inheritance.ways).wrap()),
    };
}

/// The trait the page opens on. Ratios are asked of resistances, where one gene may do it, and of those the one that
/// weighs most in the goals; vigour and yield rest on many genes.
fn first_of(project: &Project, traits: &[&Trait]) -> Option<Id<Trait>> {
    let weight = |each: &Trait| {
        let goals = &project.settings().goals.traits;
        let goal = goals.iter().find(|goal| goal.of_trait == each.id);
        goal.map_or(0.0, |goal| goal.weight)
    };
    let is_resistance = |each: &Trait| each.direction == Direction::Lower;
    // Of two that are alike the first: `max_by` would take the last.
    let best = traits.iter().rev().max_by(|one, other| {
        is_resistance(one)
            .cmp(&is_resistance(other))
            .then(weight(one).total_cmp(&weight(other)))
    });
    best.map(|each| each.id)
}

/// Where a trait is cut in two until a person says otherwise: the lower third of a scale of scores, or 0.
fn middle(project: &Project, of_trait: Id<Trait>) -> f64 {
    match project.traits().get(of_trait).map(|each| &each.scale) {
        Some(Scale::Score { from, to, .. }) => f64::from(from + (to - from) / 3),
        _ => 0.0,
    }
}
