//! The grid for other programs: copied as a block, or written as CSV or XLSX.

use super::{Shown, Spot, cells};
use crate::dialogs::Question;
use crate::view::{Outbox, Request, View};
use domain::Value;
use egui::{Role, Ui, WidgetInfo};
use exchange::sheets::{Written, WrittenSheet, xlsx};
use kit::theme::{muted, space};

/// The values of the round as they stand on the grid, with the code of each plant.
fn written(view: &View<'_>, shown: &Shown<'_>) -> WrittenSheet {
    let unit = |each: &domain::Trait| match each.scale.measured_in() {
        Some(unit) => format!("{} ({unit})", each.name),
        None => each.name.clone(),
    };
    let mut header = vec!["plant".to_owned(), "date".to_owned()];
    header.extend(shown.traits.iter().map(|each| unit(each)));
    header.push("remark".to_owned());
    let rows = shown.rows.iter().map(|plant| {
        let mut row = vec![
            Written::text(view.project.code_of(*plant)),
            Written::Date(view.today),
        ];
        row.extend(cells::all_columns(shown.traits).map(|column| {
            let spot = Spot {
                plant: *plant,
                column,
            };
            match cells::seen(view, shown.sheet, spot).map(|seen| &seen.value) {
                Some(Value::Number(number)) => Written::Number(*number),
                Some(Value::YesNo(yes)) => Written::YesNo(*yes),
                Some(Value::Date { date }) => Written::Date(*date),
                _ => Written::text(cells::recorded(view, shown.sheet, spot)),
            }
        }));
        row
    });
    WrittenSheet {
        name: "round".into(),
        header,
        rows: rows.collect(),
    }
}

/// Draws the buttons.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, shown: &Shown<'_>, out: &mut Outbox<'_>) {
    ui.add_space(space::S);
    ui.label(muted(ui, "This grid for other programs"));
    ui.horizontal_wrapped(|ui| {
        let mut pressed = |words: &str, name: &str| {
            let button = ui.button(words);
            button.widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
            button.clicked()
        };
        let file = |ending: &str| format!("round {}.{ending}", view.today);
        let copy = pressed("Copy", "Copy the grid as a block");
        if pressed("CSV…", "Write the grid as CSV") {
            let bytes = written(view, shown).csv().into_bytes();
            out.ask(Request::Export(Question::SaveCsv(file("csv")), bytes));
        }
        if pressed("XLSX…", "Write the grid as XLSX") {
            match xlsx(&[written(view, shown)]) {
                Ok(bytes) => out.ask(Request::Export(Question::SaveXlsx(file("xlsx")), bytes)),
                Err(sentence) => out.say(sentence),
            }
        }
        if copy {
            ui.ctx().copy_text(written(view, shown).block());
            out.say("The grid is copied, to be pasted into a spreadsheet.");
        }
    });
}
