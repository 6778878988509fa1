//! Several pairs side by side.

use super::pair::named_figures;
use super::pairs::{Figure, explain_figure, value};
use crate::screens::explanation::figure;
use domain::Project;
use domain::planning::{BestOf, Candidate, Candidates};
use egui::{ScrollArea, Ui};
use kit::theme::muted;
use kit::widgets::SmallTable;

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
        // Two lines, so that three pairs stand in the panel.
        let titles = shown.iter().map(|pair| {
            let title = candidates.title(project, pair);
            title.replace(" × ", " ×\n")
        });
        let heads = std::iter::once("Figure".to_owned()).chain(titles);
        let figures = named_figures(project, candidates, of);
        let rows = figures.len() + 2;
        SmallTable::new("Pairs compared", heads).show(ui, rows, |ui, row, column| {
            let Some(pair) = column.checked_sub(1).map(|nth| shown[nth]) else {
                let name = match figures.get(row) {
                    Some((name, _)) => name.as_str(),
                    None if row == figures.len() => "Resistances",
                    None => "Ruled out by",
                };
                ui.label(muted(ui, name));
                return;
            };
            if let Some((name, which)) = figures.get(row) {
                let title = format!("{name} of {}", candidates.title(project, pair));
                return cell_ui(ui, project, candidates, pair, of, *which, &title);
            }
            let (which, none) = if row == figures.len() {
                (Figure::Sources, "none")
            } else {
                (Figure::Reason, "nothing")
            };
            let words = value(project, pair, of, which);
            ui.label(if words.is_empty() { none.into() } else { words });
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
