//! A chart kept as a file: one button beside every plot.

use chart::{Chart, Size};
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

/// A button with the ways in which the chart of this title can be kept.
pub(super) fn save_chart(
    ui: &mut Ui,
    today: NaiveDate,
    out: &mut Outbox<'_>,
    title: &str,
    chart: impl FnOnce() -> Chart,
) {
    let ways = [
        ("SVG, to be worked on further…", FileKind::Svg),
        ("PNG, for a letter or a page…", FileKind::Png),
        ("PDF, to be printed…", FileKind::Pdf),
    ];
    let menu = ui.menu_button("Save chart", |ui| {
        let chosen = ways
            .into_iter()
            .find(|(words, _)| ui.button(*words).clicked());
        if let Some((_, kind)) = chosen {
            ui.close();
            match file(&chart(), kind, today) {
                Ok(export) => out.ask(export),
                Err(sentence) => out.say(sentence),
            }
        }
    });
    // A page may show several.
    let name = format!("Save chart: {title}");
    menu.response
        .widget_info(|| WidgetInfo::labeled(Role::Button, true, &name));
}

#[derive(Clone, Copy)]
enum FileKind {
    Svg,
    Png,
    Pdf,
}

fn file(chart: &Chart, kind: FileKind, today: NaiveDate) -> Result<Request, String> {
    // A name that every system takes.
    let named: String = chart
        .title
        .chars()
        .filter(|c| c.is_alphanumeric() || *c == ' ')
        .collect();
    let name = format!("{} {today}", named.trim());
    Ok(match kind {
        FileKind::Svg => Request::Export(
            Question::SaveSvg(format!("{name}.svg")),
            charts::svg(chart, SIZE).into_bytes(),
        ),
        FileKind::Png => Request::Export(
            Question::SavePng(format!("{name}.png")),
            charts::png(chart, SIZE, SCALE).map_err(|error| error.to_string())?,
        ),
        FileKind::Pdf => Request::Export(
            Question::SavePdf(format!("{name}.pdf")),
            charts::pdf(chart, SIZE, Some(today)).map_err(|error| error.to_string())?,
        ),
    })
}
