//! One of several, from a list that drops down.

use crate::theme::space;
use egui::{ComboBox, Ui};

/// Draws the list; true when the choice changed.
pub fn choice<T: Clone + PartialEq>(
    ui: &mut Ui,
    name: &str,
    value: &mut T,
    choices: &[(T, String)],
) -> bool {
    let before = value.clone();
    let shown = choices
        .iter()
        .find(|(each, _)| each == value)
        .map_or("choose", |(_, words)| words.as_str());
    ComboBox::from_id_salt(("choice", name))
        .selected_text(shown)
        .width(ui.available_width().min(220.0))
        .truncate()
        .show_ui(ui, |ui| {
            ui.spacing_mut().interact_size.y = space::TARGET;
            for (each, words) in choices {
                ui.selectable_value(value, each.clone(), words);
            }
        })
        .response
        .accessible_name(name);
    *value != before
}
