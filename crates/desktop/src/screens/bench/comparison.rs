//! How the groups compare: all at once, and each two of them.

use crate::screens::explanation::figure;
use domain::germination::{Comparison, Pair};
use egui::{Label, RichText, Ui};
use kit::theme::numbers;
use kit::widgets::{SmallTable, section_heading};

pub(super) fn show(ui: &mut Ui, comparison: &Comparison) {
    section_heading(ui, "How they compare");
    ui.add(Label::new(comparison.words()).wrap());
    let heads = [
        "Pair",
        "Final germination, p",
        "Odds ratio (95 %)",
        "Speed, p",
    ];
    let pairs = &comparison.pairs;
    SmallTable::new("Pairs of courses", heads).show(ui, pairs.len(), |ui, row, column| {
        cell_ui(ui, &pairs[row], column);
    });
}

fn cell_ui(ui: &mut Ui, pair: &Pair, column: usize) {
    let name = format!("{} and {}", pair.titles.0, pair.titles.1);
    match column {
        0 => ui.label(name).on_hover_text(pair.words()),
        1 => figure(ui, &format!("Shares of {name}"), &pair.p_words(), || {
            Some(pair.explain())
        }),
        2 => ui.label(RichText::new(pair.odds_words()).text_style(numbers())),
        _ => figure(
            ui,
            &format!("Courses of {name}"),
            &pair.course_words(),
            || pair.explain_course(),
        ),
    };
}
