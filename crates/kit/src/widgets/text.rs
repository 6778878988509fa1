//! Text painted where a widget draws itself.

use egui::{
    Color32, FontId, Rect, Ui, pos2,
    text::{LayoutJob, TextWrapping},
};

/// Paints one line with its middle at `y`, from the left of `room`, cut short with '…' where it doesn't fit.
pub fn one_line(ui: &Ui, room: Rect, y: f32, text: &str, font: FontId, ink: Color32) {
    if text.is_empty() {
        return;
    }
    let mut job = LayoutJob::simple_singleline(text.to_owned(), font, ink);
    job.wrap = TextWrapping::truncate_at_width(room.width().max(0.0));
    let galley = ui.painter().layout_job(job);
    let at = pos2(room.left(), y - galley.size().y / 2.0);
    ui.painter().galley(at, galley, ink);
}

/// Paints one line with its middle at `y`, up to the right of `room`, cut short with '…' where it doesn't fit.
pub fn one_line_right(ui: &Ui, room: Rect, y: f32, text: &str, font: FontId, ink: Color32) {
    if text.is_empty() {
        return;
    }
    let mut job = LayoutJob::simple_singleline(text.to_owned(), font, ink);
    job.wrap = TextWrapping::truncate_at_width(room.width().max(0.0));
    let galley = ui.painter().layout_job(job);
    let at = pos2(room.right() - galley.size().x, y - galley.size().y / 2.0);
    ui.painter().galley(at, galley, ink);
}

/// Paints one line in the middle of `room`, cut short with '…' where it doesn't fit.
pub fn one_line_middle(ui: &Ui, room: Rect, text: &str, font: FontId, ink: Color32) {
    if text.is_empty() {
        return;
    }
    let mut job = LayoutJob::simple_singleline(text.to_owned(), font, ink);
    job.wrap = TextWrapping::truncate_at_width(room.width().max(0.0));
    let galley = ui.painter().layout_job(job);
    let at = room.center() - galley.size() / 2.0;
    ui.painter().galley(at, galley, ink);
}
