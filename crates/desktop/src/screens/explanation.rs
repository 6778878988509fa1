//! Where a figure comes from: formula, inputs, n, source.

use domain::explanation::Explanation;
use domain::grounds::Grounds;
use egui::{Label, Response, Ui};
use kit::figures::decimals;
use kit::theme::{muted, space, strong};
use kit::widgets::{answer, explained};

/// Draws an explanation in full.
pub fn show(ui: &mut Ui, explanation: &Explanation) {
    ui.add(Label::new(strong(&explanation.what)).wrap());
    ui.add(Label::new(&explanation.formula).wrap());
    ui.scope(|ui| {
        ui.spacing_mut().item_spacing.y = space::XS;
        for input in &explanation.inputs {
            ui.add(Label::new(format!("{}: {}", input.name, input.value)).wrap());
        }
        if let Some(n) = explanation.n {
            ui.label(format!("n = {n}"));
        }
    });
    let source = muted(ui, format!("Source: {}", explanation.source)).small();
    ui.add(Label::new(source).wrap());
}

/// Draws the grounds of a recommendation: a line each for why, how sure, and what would change it.
pub fn grounds(ui: &mut Ui, grounds: &Grounds) {
    ui.scope(|ui| {
        ui.spacing_mut().item_spacing.y = space::XS;
        for (what, sentence) in grounds.lines() {
            let mut job = egui::text::LayoutJob::default();
            let style = ui.style().clone();
            let head = muted(ui, format!("{what}: "));
            head.append_to(
                &mut job,
                &style,
                egui::FontSelection::Default,
                egui::Align::Min,
            );
            egui::RichText::new(sentence).append_to(
                &mut job,
                &style,
                egui::FontSelection::Default,
                egui::Align::Min,
            );
            ui.add(Label::new(job).wrap());
        }
    });
}

/// A figure that explains itself when it is clicked.
pub fn figure(
    ui: &mut Ui,
    name: &str,
    value: &str,
    explain: impl FnOnce() -> Option<Explanation>,
) -> Response {
    explained(ui, name, value, |ui| match explain() {
        Some(explanation) => show(ui, &explanation),
        None => {
            ui.label("Not known.");
        }
    })
}

/// The answer of a page, as large as answers are; it explains itself when it is clicked.
pub fn loud_figure(
    ui: &mut Ui,
    name: &str,
    value: &str,
    explain: impl FnOnce() -> Option<Explanation>,
) -> Response {
    answer(ui, name, value, |ui| match explain() {
        Some(explanation) => show(ui, &explanation),
        None => {
            ui.label("Not known.");
        }
    })
}

/// A share such as F or f in a sentence or by itself: no more decimals than it needs.
pub fn share(value: f64) -> String {
    let text = decimals(value, 4);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The same in a column of them: as many decimals as its neighbours.
pub fn share_in_column(value: f64) -> String {
    decimals(value, 4)
}
