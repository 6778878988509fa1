//! The project's tables for other programs.

use crate::dialogs::Question;
use crate::screens::on_paper;
use crate::view::{Outbox, Request, Screen, View};
use domain::import::TableKind;
use egui::{Grid, Label, Role, Ui, WidgetInfo};
use exchange::sheets::xlsx;
use kit::theme::{muted, space};
use kit::widgets::section_heading;
use paper::tables::table;
use paper::{agenda, workbook};

/// Buttons that write tables of the project.
pub(super) fn exports(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
    let project = view.project;
    section_heading(ui, "Write tables");
    ui.label(muted(ui, "Each can be brought in again. Cells that a spreadsheet would run as a formula are guarded."));
    ui.add_space(space::S);
    Grid::new("tables to write").num_columns(4).show(ui, |ui| {
        for kind in TableKind::ALL {
            let words = kind.words();
            ui.label(words);
            if named_button(ui, "CSV…", &format!("Write {words} as CSV")) {
                let question = Question::SaveCsv(format!("{words}.csv"));
                out.ask(Request::Export(
                    question,
                    table(project, kind).csv().into_bytes(),
                ));
            }
            if named_button(ui, "XLSX…", &format!("Write {words} as XLSX")) {
                match xlsx(&[table(project, kind)]) {
                    Ok(bytes) => out.ask(Request::Export(
                        Question::SaveXlsx(format!("{words}.xlsx")),
                        bytes,
                    )),
                    Err(sentence) => out.say(sentence),
                }
            }
            if named_button(ui, "Copy", &format!("Copy {words} as a block")) {
                ui.ctx().copy_text(table(project, kind).block());
                out.say(format!(
                    "The {words} are copied, to be pasted into a spreadsheet."
                ));
            }
            ui.end_row();
        }
    });
    ui.horizontal(|ui| {
        if ui.button("Whole project as a workbook…").clicked() {
            match workbook::sheets(project).and_then(|sheets| xlsx(&sheets)) {
                Ok(bytes) => out.ask(Request::Export(
                    Question::SaveXlsx("project.xlsx".into()),
                    bytes,
                )),
                Err(sentence) => out.say(sentence),
            }
        }
        if ui.button("Agenda as a calendar…").clicked() {
            let days = (
                domain::date::shift(view.clock, -60),
                domain::date::shift(view.clock, 365),
            );
            let text = agenda::calendar(project, days, view.clock, view.clock.into());
            out.ask(Request::Export(
                Question::SaveCalendar("agenda.ics".into()),
                text.into_bytes(),
            ));
        }
    });
    kept_calendar(ui, view, out);
}

/// The calendar that is written anew after each save, if the person wants one.
fn kept_calendar(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
    ui.horizontal_wrapped(|ui| {
        let Some(path) = view.preferences.calendar_of(view.path) else {
            let button = ui.button("Keep a calendar up to date…").on_hover_text(
                "A file that is written anew after each save, for a calendar that follows it.",
            );
            if button.clicked() {
                out.ask(Request::KeepCalendar);
            }
            return;
        };
        let words = format!(
            "Calendar kept up to date after each save: {}",
            path.display()
        );
        ui.add(Label::new(words).wrap());
        if ui.button("Stop keeping it").clicked() {
            out.ask(Request::LeaveCalendar);
        }
    });
}

/// What is printed from the records.
pub(super) fn on_paper(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
    section_heading(ui, "On paper");
    ui.horizontal_wrapped(|ui| {
        if ui.button("Bench sheet of the day…").clicked() {
            on_paper::bench_sheet(view, out);
        }
        if ui.button("Crossing cards…").clicked() {
            let crosses = paper::crossing_cards::open_crosses(view.project);
            on_paper::crossing_cards(view, &crosses, out);
        }
        on_paper::season_reports(ui, view, out);
        for (words, screen) in [
            ("Family tree", Screen::FamilyTree),
            ("Labels", Screen::Labels),
            ("Scoring sheets", Screen::Sheets),
        ] {
            if named_button(ui, words, &format!("Go to {words}")) {
                out.ask(Request::Go(screen));
            }
        }
    });
}

fn named_button(ui: &mut Ui, text: &str, name: &str) -> bool {
    let button = ui.button(text);
    button.widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
    button.clicked()
}
