//! Families in two classes of a trait, held against Mendel's ratios.

use super::{earlier_ui, waiting_ui};
use crate::screens::explanation::figure;
use crate::screens::fields::choice;
use crate::view::{Outbox, Request, Screen, View};
use domain::germination::p_words;
use domain::segregation::{Classes, Family};
use domain::{Id, Project, Scale, Trait};
use egui::{Label, RichText, ScrollArea, Ui};
use kit::theme::{muted, numbers, space};
use kit::widgets::{NumberField, SmallTable, empty_state, section_heading};

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
    let Some(first) = traits.first() else {
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
        .unwrap_or(first.id);
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
    let words = "The latest record of each seedling counts. The first class is taken as the one a single dominant \
        gene would give: resistant, where low scores mean healthy.";
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
    let number = |ui: &mut Ui, text: String| {
        ui.label(RichText::new(text).text_style(numbers()));
    };
    ScrollArea::both()
        .id_salt("ratios")
        .auto_shrink(false)
        .show(ui, |ui| {
            // What the columns of figures leave.
            let room = (ui.available_width() - 580.0).max(260.0);
            let heads = [
                "Ratio",
                "Expected",
                "Chi-square",
                "p",
                "Exact p",
                "Likely, %",
                "Possible explanation",
            ];
            let rows = classes.held.len() + 1;
            SmallTable::new("Ratios", heads).show(ui, rows, |ui, row, column| {
                match (classes.held.get(row), column) {
                    (None, 0) => {
                        ui.label("Some other ratio");
                    }
                    (None, 5) => number(ui, format!("{:.1}", 100.0 * classes.other)),
                    (None, _) => {}
                    (Some(held), 0) => {
                        let name = format!("Ratio in {}", classes.title);
                        figure(ui, &name, &held.inheritance.words(), || {
                            Some(classes.explain(held))
                        });
                    }
                    (Some(held), 1) => number(ui, format!("{:.1}", held.expected)),
                    (Some(held), 2) => number(ui, format!("{:.2}", held.chi_square)),
                    (Some(held), 3) => number(ui, p_words(held.p)),
                    (Some(held), 4) => number(ui, p_words(held.exact)),
                    (Some(held), 5) => number(ui, format!("{:.1}", 100.0 * held.posterior)),
                    (Some(held), _) => {
                        ui.vertical(|ui| {
                            ui.set_width(room);
                            ui.add(Label::new(held.inheritance.ways).wrap());
                        });
                    }
                }
            });
        });
}

/// Where a trait is cut in two until a person says otherwise: the lower third of a scale of scores, or 0.
fn middle(project: &Project, of_trait: Id<Trait>) -> f64 {
    match project.traits().get(of_trait).map(|each| &each.scale) {
        Some(Scale::Score { from, to, .. }) => f64::from(from + (to - from) / 3),
        _ => 0.0,
    }
}
