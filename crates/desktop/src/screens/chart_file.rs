//! A chart kept as a file: one button beside every plot.

use chart::{Chart, Drawing, Size};
use chrono::NaiveDate;
use egui::{Role, Ui, WidgetInfo};
use exchange::charts;

use crate::dialogs::Question;
use crate::view::{Outbox, Request};

/// As wide as a column of print, in points.
const SIZE: Size = Size {
    width: 640.0,
    height: 320.0,
};
/// Pixels to a point in a picture: 200 to the inch.
const SCALE: f32 = 2.75;
/// The most pixels that a side of a picture gets.
const MOST_PIXELS: f32 = 8000.0;

/// A button with the ways in which the chart of this title can be kept.
pub(super) fn save_chart(
    ui: &mut Ui,
    today: NaiveDate,
    out: &mut Outbox<'_>,
    title: &str,
    chart: impl FnOnce() -> Chart,
) {
    if let Some(kind) = chosen(ui, title) {
        let chart = chart();
        let bytes = match kind {
            FileKind::Svg => Ok(charts::svg(&chart, SIZE).into_bytes()),
            FileKind::Png => charts::png(&chart, SIZE, SCALE).map_err(|error| error.to_string()),
            FileKind::Pdf => {
                charts::pdf(&chart, SIZE, Some(today)).map_err(|error| error.to_string())
            }
        };
        hand_in(out, kind, title, today, bytes);
    }
}

/// The same for a drawing that is no chart of two axes.
pub(super) fn save_drawing(
    ui: &mut Ui,
    today: NaiveDate,
    out: &mut Outbox<'_>,
    title: &str,
    drawing: impl FnOnce() -> Drawing,
) {
    if let Some(kind) = chosen(ui, title) {
        let drawing = drawing();
        let bytes = match kind {
            FileKind::Svg => Ok(charts::drawing_svg(&drawing).into_bytes()),
            FileKind::Png => png(&drawing),
            FileKind::Pdf => {
                charts::drawing_pdf(title, &drawing, Some(today)).map_err(|error| error.to_string())
            }
        };
        hand_in(out, kind, title, today, bytes);
    }
}

/// A drawing in pixels. What is large is drawn less finely rather than not at all.
pub(super) fn png(drawing: &Drawing) -> Result<Vec<u8>, String> {
    let longer = drawing.size.width.max(drawing.size.height);
    let scale = SCALE.min(MOST_PIXELS / longer.max(1.0));
    charts::drawing_png(drawing, scale).map_err(|error| error.to_string())
}

/// The menu of ways.
fn chosen(ui: &mut Ui, title: &str) -> Option<FileKind> {
    let ways = [
        ("SVG, to be worked on further…", FileKind::Svg),
        ("PNG, for a letter or a page…", FileKind::Png),
        ("PDF, to be printed…", FileKind::Pdf),
    ];
    let menu = ui.menu_button("Save chart", |ui| {
        let chosen = ways
            .into_iter()
            .find(|(words, _)| ui.button(*words).clicked());
        if chosen.is_some() {
            ui.close();
        }
        chosen.map(|(_, kind)| kind)
    });
    // A page may show several.
    let name = format!("Save chart: {title}");
    menu.response
        .widget_info(|| WidgetInfo::labeled(Role::Button, true, &name));
    menu.inner.flatten()
}

#[derive(Clone, Copy)]
enum FileKind {
    Svg,
    Png,
    Pdf,
}

fn hand_in(
    out: &mut Outbox<'_>,
    kind: FileKind,
    title: &str,
    today: NaiveDate,
    bytes: Result<Vec<u8>, String>,
) {
    // A name that every system takes.
    let named: String = title
        .chars()
        .filter(|c| c.is_alphanumeric() || *c == ' ')
        .collect();
    let name = format!("{} {today}", named.trim());
    let question = match kind {
        FileKind::Svg => Question::SaveSvg(format!("{name}.svg")),
        FileKind::Png => Question::SavePng(format!("{name}.png")),
        FileKind::Pdf => Question::SavePdf(format!("{name}.pdf")),
    };
    match bytes {
        Ok(bytes) => out.ask(Request::Export(question, bytes)),
        Err(sentence) => out.say(sentence),
    }
}
