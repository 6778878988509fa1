//! What is printed from the records: each as a PDF, from the place where one looks for it and from the page of tables.

use crate::dialogs::Question;
use crate::view::{Outbox, Request, View};
use domain::{Cross, Id};
use egui::Ui;
use exchange::label::PdfError;
use exchange::{cards, report};
use paper::{bench_sheet, crossing_cards, season_report};

/// Asks where to write a PDF, and writes it there.
pub(super) fn write(out: &mut Outbox<'_>, name: String, made: Result<Vec<u8>, PdfError>) {
    match made {
        Ok(bytes) => out.ask(Request::Export(Question::SavePdf(name), bytes)),
        Err(error) => out.say(error.to_string()),
    }
}

/// The bench sheet of the day that is worked for.
pub(super) fn bench_sheet(view: &View<'_>, out: &mut Outbox<'_>) {
    let today = view.today;
    match bench_sheet::report(view.project, today) {
        Some(sheet) => write(
            out,
            format!("bench sheet {today}.pdf"),
            report::pdf(&sheet, Some(view.clock)),
        ),
        None => out.say("Nothing is due, so there is nothing to print."),
    }
}

/// The cards of these crosses.
pub(super) fn crossing_cards(view: &View<'_>, crosses: &[Id<Cross>], out: &mut Outbox<'_>) {
    if crosses.is_empty() {
        out.say("No cross waits for anything in the yard, so there are no cards to print.");
        return;
    }
    let cards = crossing_cards::cards(view.project, crosses);
    let made = cards::pdf("Crossing cards", &cards, Some(view.clock));
    write(out, format!("crossing cards {}.pdf", view.today), made);
}

/// The report of a season.
fn season_report(view: &View<'_>, season: i32, out: &mut Outbox<'_>) {
    if let Some(told) = season_report::report(view.project, season, view.today) {
        let made = report::pdf(&told, Some(view.clock));
        write(out, format!("season {season}.pdf"), made);
    }
}

/// A menu of seasons; the report of the one chosen is written.
pub(super) fn season_reports(ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) {
    let chosen = ui.menu_button("Season's report…", |ui| {
        // Gathered only while the menu is open.
        let seasons = season_report::seasons(view.project);
        if seasons.is_empty() {
            ui.label("There are no crosses yet.");
        }
        let chosen = seasons
            .into_iter()
            .find(|season| ui.button(format!("Report of {season}…")).clicked());
        if chosen.is_some() {
            ui.close();
        }
        chosen
    });
    if let Some(season) = chosen.inner.flatten() {
        season_report(view, season, out);
    }
}
