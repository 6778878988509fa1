//! Several pairs side by side.

use super::pair::named_figures;
use super::pairs::{Figure, explain_figure, value};
use crate::screens::explanation::figure;
use domain::Project;
use domain::planning::{BestOf, Candidate, Candidates};
use egui::{Grid, ScrollArea, Ui};
use kit::theme::{muted, space, strong};

/// Pairs side by side, at most.
const MOST: usize = 6;

/// Draws the figures of the pairs, a column each.
pub(super) fn show(
    ui: &mut Ui,
    project: &Project,
    candidates: &Candidates,
    pairs: &[&Candidate],
    of: BestOf,
) {
    let shown = &pairs[..pairs.len().min(MOST)];
    ScrollArea::horizontal().id_salt("compared").show(ui, |ui| {
        Grid::new("compared pairs")
            .striped(true)
            .spacing([space::L, space::S])
            .show(ui, |ui| {
                ui.label("");
                for pair in shown {
                    // Two lines, so that three pairs stand in the panel.
                    let title = candidates.title(project, pair).replace(" × ", " ×\n");
                    ui.label(strong(title));
                }
                ui.end_row();
                for (name, which) in named_figures(project, candidates, of) {
                    ui.label(muted(ui, &name));
                    for pair in shown {
                        let title = format!("{name} of {}", candidates.title(project, pair));
                        cell_ui(ui, project, candidates, pair, of, which, &title);
                    }
                    ui.end_row();
                }
                ui.label(muted(ui, "Resistances"));
                for pair in shown {
                    let sources = value(project, pair, of, Figure::Sources);
                    ui.label(if sources.is_empty() {
                        "none".into()
                    } else {
                        sources
                    });
                }
                ui.end_row();
                ui.label(muted(ui, "Ruled out by"));
                for pair in shown {
                    let reason = value(project, pair, of, Figure::Reason);
                    ui.label(if reason.is_empty() {
                        "nothing".into()
                    } else {
                        reason
                    });
                }
                ui.end_row();
            });
    });
    if pairs.len() > MOST {
        ui.label(muted(
            ui,
            format!("The first {MOST} of {} are shown.", pairs.len()),
        ));
    }
}

fn cell_ui(
    ui: &mut Ui,
    project: &Project,
    candidates: &Candidates,
    pair: &Candidate,
    of: BestOf,
    which: Figure,
    title: &str,
) {
    let text = value(project, pair, of, which);
    if text.is_empty() {
        ui.label(muted(ui, "nothing to report"));
        return;
    }
    ui.push_id((pair.female, pair.pollen.male), |ui| {
        figure(ui, title, &text, || {
            explain_figure(project, candidates, pair, of, which)
        });
    });
}
