//! Female and male seedlings by family and in all, against one to one.

use super::{earlier_ui, waiting_ui};
use crate::screens::explanation::figure;
use crate::view::{Outbox, Request, Screen, View};
use domain::segregation::Sexes;
use egui::{Label, RichText, ScrollArea, Ui};
use kit::theme::{muted, numbers, space};
use kit::widgets::{SmallTable, empty_state};

pub(super) fn show(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
    let Some(found) = view.derived.bench().sexes(view.project, ui.ctx()) else {
        waiting_ui(ui);
        return;
    };
    if found.is_empty() {
        let sentence = "Seedlings of a cross are female or male, and not always as many of each. Once they are potted and their sex is recorded, families are counted here.";
        if empty_state(ui, sentence, "Go to the plants") {
            out.ask(Request::Go(Screen::Plants));
        }
        return;
    }
    earlier_ui(ui, found.current);
    let words = "Every seedling whose sex was recorded counts, living or not. Sex shows at flowering, mostly in the second year: what was culled before is in 'not known'.";
    ui.add(Label::new(muted(ui, words)).wrap());
    ui.add_space(space::S);
    ScrollArea::both()
        .id_salt("sexes")
        .auto_shrink(false)
        .show(ui, |ui| {
            // What the columns of figures leave.
            let room = (ui.available_width() - 500.0).max(260.0);
            let heads = [
                "Family",
                "Female",
                "Male",
                "Not known",
                "Female, % (95 %)",
                "Conclusion",
            ];
            SmallTable::new("Sexes by family", heads).show(ui, found.len(), |ui, row, column| {
                cell_ui(ui, &found[row], column, room);
            });
        });
}

fn cell_ui(ui: &mut Ui, sexes: &Sexes, column: usize, room: f32) {
    let number = |ui: &mut Ui, count: u32| {
        ui.label(RichText::new(count.to_string()).text_style(numbers()));
    };
    match column {
        0 => {
            ui.label(&sexes.title);
        }
        1 => number(ui, sexes.females),
        2 => number(ui, sexes.males),
        3 => number(ui, sexes.unknown),
        4 => {
            let name = format!("Female share of {}", sexes.title);
            figure(ui, &name, &sexes.share_words(), || Some(sexes.explain()));
        }
        _ => {
            ui.vertical(|ui| {
                ui.set_width(room);
                ui.add(Label::new(sexes.words()).wrap());
            });
        }
    }
}
