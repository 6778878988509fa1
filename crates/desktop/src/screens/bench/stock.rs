//! Lots in stock, those to sow first at the top, each with its viability and why.

use super::{earlier_ui, waiting_ui};
use crate::screens::explanation::figure;
use crate::screens::fields::record_link;
use crate::view::{Outbox, Request, Screen, View};
use domain::stock::Stock;
use egui::{Label, ScrollArea, Ui};
use kit::figures::decimals;
use kit::theme::{muted, space};
use kit::widgets::{Column, ShortTable, empty_state};

pub(super) fn show(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
    if view.project.seed_lots().is_empty() {
        let sentence = "Seed grows old. Once there are lots with seed left, those to sow first are listed here, by \
            their own germination tests and their age.";
        if empty_state(ui, sentence, "Go to Seed lots") {
            out.ask(Request::Go(Screen::SeedLots));
        }
        return;
    }
    let Some(found) = view
        .derived
        .bench()
        .stock(view.project, view.today, ui.ctx())
    else {
        waiting_ui(ui);
        return;
    };
    earlier_ui(ui, found.current);
    let words = "Lots that would lose most viable seed in another year come first; then lots whose decline is \
        unknown, oldest first. Record tests on the lot's page; closed boxes count as tests.";
    ui.add(Label::new(muted(ui, words)).wrap());
    ui.add_space(space::S);
    if found.is_empty() {
        ui.label("No lot has seed left.");
        return;
    }
    let columns = [
        Column::text("Lot", 116.0),
        Column::number("Seed left", 84.0),
        Column::number("Age, years", 88.0),
        Column::number("Viable, % (95 %)", 124.0),
        Column::text("Why", 260.0).stretch(),
    ];
    ScrollArea::vertical()
        .id_salt("stock")
        .auto_shrink(false)
        .show(ui, |ui| {
            ShortTable::new("Lots in stock", &columns).show(ui, found.len(), |ui, row, column| {
                cell(ui, view, &found[row], column, out);
            });
        });
}

fn cell(ui: &mut Ui, view: &View<'_>, stock: &Stock, column: usize, out: &mut Outbox<'_>) {
    match column {
        0 => record_link(ui, view.project, stock.lot, out),
        1 => {
            ui.label(stock.left.to_string());
        }
        2 => {
            if let Some(age) = stock.age {
                ui.label(decimals(age, 1));
            }
        }
        3 => {
            let name = format!("Viable of {}", view.project.code_of(stock.lot));
            figure(ui, &name, &stock.viable_words(), || {
                Some(stock.explain(view.project))
            });
        }
        _ => {
            ui.add(Label::new(stock.reason()).wrap());
        }
    }
}
