//! How the groups compare: all at once, and each two of them.

use crate::screens::explanation::figure;
use domain::germination::{Comparison, Pair};
use egui::{Label, Ui};
use kit::widgets::{Column, ShortTable, section_heading};

pub(super) fn show(ui: &mut Ui, comparison: &Comparison) {
    section_heading(ui, "How they compare");
    ui.add(Label::new(comparison.words()).wrap());
    let columns = [
        Column::text("Pair", 220.0),
        Column::number("Final germination, p", 140.0),
        Column::number("Odds ratio (95 %)", 150.0),
        Column::number("Speed, p", 110.0),
    ];
    ShortTable::new("Pairs of courses", &columns).show(
        ui,
        comparison.pairs.len(),
        |ui, row, column| {
            cell(ui, &comparison.pairs[row], column);
        },
    );
}

fn cell(ui: &mut Ui, pair: &Pair, column: usize) {
    let name = format!("{} and {}", pair.titles.0, pair.titles.1);
    match column {
        0 => ui.label(name).on_hover_text(pair.words()),
        1 => figure(ui, &format!("Shares of {name}"), &pair.p_words(), || {
            Some(pair.explain())
        }),
        2 => ui.label(pair.odds_words()),
        _ => figure(
            ui,
            &format!("Courses of {name}"),
            &pair.course_words(),
            || pair.explain_course(),
        ),
    };
}
