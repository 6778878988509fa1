//! Female and male seedlings by family and in all, against one to one.

use super::{earlier_ui, waiting_ui};
use crate::screens::explanation::figure;
use crate::view::{Outbox, Request, Screen, View};
use domain::segregation::Sexes;
use egui::{Label, ScrollArea, Ui};
use kit::theme::{muted, space};
use kit::widgets::{Column, ShortTable, empty_state};

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
    let columns = [
        Column::text("Family", 116.0),
        Column::number("Female", 68.0),
        Column::number("Male", 68.0),
        Column::number("Not known", 84.0),
        Column::number("Female, % (95 %)", 124.0),
        Column::text("Conclusion", 260.0).stretch(),
    ];
    ScrollArea::vertical()
        .id_salt("sexes")
        .auto_shrink(false)
        .show(ui, |ui| {
            ShortTable::new("Sexes by family", &columns).show(
                ui,
                found.len(),
                |ui, row, column| {
                    cell(ui, &found[row], column);
                },
            );
        });
}

fn cell(ui: &mut Ui, sexes: &Sexes, column: usize) {
    let count = |ui: &mut Ui, count: u32| {
        ui.label(count.to_string());
    };
    match column {
        0 => {
            ui.label(&sexes.title);
        }
        1 => count(ui, sexes.females),
        2 => count(ui, sexes.males),
        3 => count(ui, sexes.unknown),
        4 => {
            let name = format!("Female share of {}", sexes.title);
            figure(ui, &name, &sexes.share_words(), || Some(sexes.explain()));
        }
        _ => {
            ui.add(Label::new(sexes.words()).wrap());
        }
    }
}
