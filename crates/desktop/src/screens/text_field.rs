//! A line of text edited in place, as wide as most words need.

use egui::Ui;
use kit::drafts::Ticket;
use kit::widgets::TextField;

/// Draws the field showing `shown`. Returns the new text when it was committed and differs; Escape takes the draft back.
pub fn text_field(ui: &mut Ui, name: &str, shown: &str) -> Option<(String, Ticket)> {
    text_field_sized(ui, name, shown, 260.0)
}

/// The same, so many points wide.
pub fn text_field_sized(
    ui: &mut Ui,
    name: &str,
    shown: &str,
    width: f32,
) -> Option<(String, Ticket)> {
    TextField::new(name)
        .width(width.min(ui.available_size_before_wrap().x - 8.0).max(96.0))
        .show(ui, shown)
}
