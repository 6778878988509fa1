//! The answer of an evaluation in words: what was found, with what certainty, and what to know about it.

use domain::genetics::{Evaluation, NotEvaluated, Plan};
use egui::{Label, Ui};
use kit::theme::{Meaning, muted, space};
use kit::widgets::{badge, section_heading};

/// Draws the answer; a simpler plan, when the person wants to try it.
pub(super) fn show(ui: &mut Ui, evaluation: &Evaluation) -> Option<Plan> {
    section_heading(ui, "Result");
    ui.label(format!(
        "{} records of {} plants.",
        evaluation.records, evaluation.plants_with_records
    ));
    ui.add(Label::new(muted(ui, &evaluation.model)).wrap());
    ui.scope(|ui| {
        ui.spacing_mut().item_spacing.y = space::XS;
        for heritability in &evaluation.heritabilities {
            let words = capital(heritability.name);
            ui.add(Label::new(format!("{words}: {}", heritability.words())).wrap());
        }
    });
    section_heading(ui, "Variances");
    ui.scope(|ui| {
        ui.spacing_mut().item_spacing.y = space::XS;
        for component in &evaluation.components {
            let words = capital(component.name);
            ui.add(Label::new(format!("{words}: {}", component.words())).wrap());
        }
    });
    let known = evaluation.dropped.iter().chain(&evaluation.notes);
    if known.clone().next().is_some() {
        section_heading(ui, "Notes");
        for sentence in known {
            ui.add(Label::new(sentence).wrap());
        }
    }
    let simpler = evaluation.simpler.as_ref()?;
    ui.add(Label::new("A simpler model may serve these records better.").wrap());
    try_simpler(ui, &evaluation.plan, simpler)
}

/// Draws why there is no answer; a simpler plan, when the person wants to try it.
pub(super) fn refused(ui: &mut Ui, why: &NotEvaluated, plan: &Plan) -> Option<Plan> {
    section_heading(ui, "Result");
    badge(ui, Meaning::Late, "not enough to go by");
    ui.add(Label::new(&why.what).wrap());
    ui.add(Label::new(&why.remedy).wrap());
    try_simpler(ui, plan, why.simpler.as_ref()?)
}

fn try_simpler(ui: &mut Ui, plan: &Plan, simpler: &Plan) -> Option<Plan> {
    let left_out = [
        (
            plan.effects.clonal && !simpler.effects.clonal,
            "the clonal effect",
        ),
        (
            plan.effects.permanent && !simpler.effects.permanent,
            "the permanent environment",
        ),
    ];
    let left_out: Vec<_> = left_out
        .into_iter()
        .filter_map(|(left, words)| left.then_some(words))
        .collect();
    let words = if left_out.is_empty() {
        "Try the simpler model".to_owned()
    } else {
        format!("Try without {}", left_out.join(" and "))
    };
    ui.button(words).clicked().then(|| simpler.clone())
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
