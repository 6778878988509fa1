//! Several pairs side by side.

use super::pair::named_figures;
use super::pairs::{Figure, explain_figure, value};
use crate::screens::explanation::figure;
use domain::Project;
use domain::planning::{BestOf, Candidate, Candidates};
use egui::Ui;
use kit::theme::muted;
use kit::widgets::{Column, ShortTable};

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
    let mut columns = vec![Column::text("Figure", 168.0)];
    for pair in shown {
        columns.push(Column::number(candidates.title(project, pair), 170.0));
    }
    let named = named_figures(project, candidates, of);
    let rows = named.len() + 2;
    ShortTable::new("Pairs compared", &columns).show(ui, rows, |ui, row, column| {
        let Some(which) = column.checked_sub(1) else {
            let words = match (named.get(row), row - named.len().min(row)) {
                (Some((name, _)), _) => name.as_str(),
                (None, 0) => "Resistances",
                (None, _) => "Ruled out by",
            };
            ui.label(muted(ui, words));
            return;
        };
        let pair = shown[which];
        if let Some((name, figure)) = named.get(row) {
            let title = format!("{name} of {}", candidates.title(project, pair));
            cell_ui(ui, project, candidates, pair, of, *figure, &title);
        } else if row == named.len() {
            let sources = value(project, pair, of, Figure::Sources);
            ui.label(if sources.is_empty() {
                "none".into()
            } else {
                sources
            });
        } else {
            let reason = value(project, pair, of, Figure::Reason);
            ui.label(if reason.is_empty() {
                "nothing".into()
            } else {
                reason
            });
        }
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
        return;
    }
    figure(ui, title, &text, || {
        explain_figure(project, candidates, pair, of, which)
    });
}
