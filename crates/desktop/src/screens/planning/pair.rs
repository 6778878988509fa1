//! One pair in full: each figure with where it comes from, what stands in its way, what would meet.

use super::Pair;
use super::pairs::{Figure, explain_figure, value};
use crate::screens::crosses::warnings;
use crate::screens::explanation::{figure, grounds};
use crate::screens::fields::record_link;
use crate::view::{Outbox, View};
use domain::planning::{BestOf, Candidate, Candidates, ResistanceSource};
use domain::{Pollen, Project};
use egui::{Label, RichText, Ui};
use kit::fonts::mark;
use kit::theme::{muted, space, tokens};
use kit::widgets::{detail, detail_with, main_button, section_heading};

/// Draws a pair; the pair itself when its seeds are to be calculated.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    candidates: &Candidates,
    pair: &Candidate,
    of: BestOf,
    out: &mut Outbox<'_>,
) -> Option<Pair> {
    let project = view.project;
    ui.horizontal_wrapped(|ui| {
        record_link(ui, project, pair.female, out);
        ui.label(mark::TIMES);
        record_link(ui, project, pair.pollen.male, out);
        if let Some(ploidy) = pair.ploidy {
            ui.label(muted(ui, format!("seedlings {ploidy}")));
        }
    });
    if let Some(stored) = pair.pollen.stored {
        detail(ui, "Pollen", &format!("stored on {stored}"));
    }
    let reckon = pair.ploidy.is_some() && main_button(ui, "How many seeds").clicked();
    exclusions_ui(ui, project, pair);
    fathers_ui(ui, project, candidates, pair);
    if pair.is_offered() {
        section_heading(ui, "Why this pair");
        grounds(ui, &candidates.grounds(project, pair, of));
    }
    section_heading(ui, "Seedlings");
    for (name, which) in named_figures(project, candidates, of) {
        detail_with(ui, &name, |ui| {
            let text = wide_value(project, pair, of, which);
            if text.is_empty() {
                ui.label(muted(ui, "nothing to report"));
                return;
            }
            figure(ui, &name, &text, || {
                explain_figure(project, candidates, pair, of, which)
            });
        });
    }
    sources_ui(ui, project, candidates, pair);
    ui.add_space(space::S);
    warnings(ui, view, pair.female, &Pollen::Male(pair.pollen.male), true);
    reckon.then_some((pair.female, pair.pollen.male))
}

/// A figure with what isn't known of the family, and how seedlings differ within it.
fn wide_value(project: &Project, pair: &Candidate, of: BestOf, which: Figure) -> String {
    let text = value(project, pair, of, which);
    let outlook = match which {
        Figure::Index => Some(pair.index),
        Figure::Trait(place) => pair.traits.get(place).copied().flatten(),
        _ => None,
    };
    match outlook {
        Some(outlook) if !text.is_empty() => format!(
            "{text} ± {:.2}, spread {:.2}",
            outlook.standard_error, outlook.spread
        ),
        _ => text,
    }
}

/// The figures of a pair, each with its name.
pub(super) fn named_figures(
    project: &Project,
    candidates: &Candidates,
    of: BestOf,
) -> Vec<(String, Figure)> {
    let mut figures = vec![
        (format!("Best of {}", of.count()), Figure::Best),
        ("Index".into(), Figure::Index),
        ("Reaches all, %".into(), Figure::ReachesAll),
    ];
    for (place, goal) in candidates.goals.traits.iter().enumerate() {
        if let Some(each) = project.traits().get(goal.of_trait) {
            figures.push((each.name.clone(), Figure::Trait(place)));
        }
    }
    figures.push(("Inbreeding F".into(), Figure::Inbreeding));
    figures.push(("Kinship added".into(), Figure::Added));
    figures
}

fn exclusions_ui(ui: &mut Ui, project: &Project, pair: &Candidate) {
    if pair.is_offered() {
        return;
    }
    section_heading(ui, "Ruled out");
    let (female, male) = (
        project.code_of(pair.female),
        project.code_of(pair.pollen.male),
    );
    let ink = tokens(ui).late.text;
    for reason in &pair.exclusions {
        let words = format!("{} {}", mark::WARNING, reason.sentence(female, male));
        ui.add(Label::new(RichText::new(words).color(ink)).wrap());
    }
}

/// What the pair may come to where the father of a parent isn't known for sure.
fn fathers_ui(ui: &mut Ui, project: &Project, candidates: &Candidates, pair: &Candidate) {
    let words = candidates.father_words(project, pair);
    if words.is_empty() {
        return;
    }
    section_heading(ui, "If the father is another");
    let ink = tokens(ui).late.text;
    for (nth, sentence) in words.into_iter().enumerate() {
        if nth == 0 && pair.bad_case.is_some() {
            let words = format!("{} {sentence}", mark::WARNING);
            ui.add(Label::new(RichText::new(words).color(ink)).wrap());
        } else {
            ui.add(Label::new(sentence).wrap());
        }
    }
}

fn sources_ui(ui: &mut Ui, project: &Project, candidates: &Candidates, pair: &Candidate) {
    let of_female = candidates
        .female(pair.female)
        .map(|parent| &parent.sources[..]);
    let of_male = candidates
        .male(pair.pollen.male)
        .map(|parent| &parent.sources[..]);
    section_heading(ui, "Resistances that would meet");
    let sides = [(pair.female, of_female), (pair.pollen.male, of_male)];
    if sides
        .iter()
        .all(|(_, sources)| sources.is_none_or(<[_]>::is_empty))
    {
        ui.add(Label::new(muted(ui, "None on record. Score a disease with the isolate or race it was seen against, and with the trait among the goals.")).wrap());
        return;
    }
    for (plant, sources) in sides {
        let words: Vec<String> = sources
            .unwrap_or_default()
            .iter()
            .map(|source| source_words(project, source))
            .collect();
        let words = if words.is_empty() {
            "none on record".into()
        } else {
            words.join("; ")
        };
        detail(ui, project.code_of(plant), &words);
    }
}

fn source_words(project: &Project, source: &ResistanceSource) -> String {
    let name = project
        .traits()
        .get(source.of_trait)
        .map_or("a trait", |each| each.name.as_str());
    format!("{name} against {}", source.isolate)
}
