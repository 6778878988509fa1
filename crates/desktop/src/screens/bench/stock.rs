//! Lots in stock, those to sow first at the top, each with its viability and why.

use super::{earlier_ui, waiting_ui};
use crate::screens::explanation::figure;
use crate::screens::fields::record_link;
use crate::view::{Outbox, Request, Screen, View};
use domain::stock::Stock;
use egui::{Label, RichText, ScrollArea, Ui};
use kit::theme::{muted, numbers, space};
use kit::widgets::{SmallTable, empty_state};

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
    ScrollArea::both()
        .id_salt("stock")
        .auto_shrink(false)
        .show(ui, |ui| {
            // What the columns of figures leave.
            let room = (ui.available_width() - 380.0).max(260.0);
            let heads = ["Lot", "Seed left", "Age, years", "Viable, % (95 %)", "Why"];
            SmallTable::new("Lots in stock", heads).show(ui, found.len(), |ui, row, column| {
                let stock = &found[row];
                if column == 0 {
                    record_link(ui, view.project, stock.lot, out);
                } else {
                    cell_ui(ui, view, stock, column, room);
                }
            });
        });
}

fn cell_ui(ui: &mut Ui, view: &View<'_>, stock: &Stock, column: usize, room: f32) {
    let number = |ui: &mut Ui, text: String| {
        ui.label(RichText::new(text).text_style(numbers()));
    };
    match column {
        1 => number(ui, stock.left.to_string()),
        2 => {
            let age = stock.age.map(|age| format!("{age:.1}"));
            number(ui, age.unwrap_or_else(|| "\u{2013}".into()));
        }
        3 => {
            let name = format!("Viable of {}", view.project.code_of(stock.lot));
            figure(ui, &name, &stock.viable_words(), || {
                Some(stock.explain(view.project))
            });
        }
        _ => {
            ui.vertical(|ui| {
                ui.set_width(room);
                ui.add(Label::new(stock.reason()).wrap());
            });
        }
    }
}
