//! A line of text edited in place: held as a draft until Enter or the field is left, then one edit.

use egui::{Id, Key, TextEdit, Ui};

/// Draws the field showing `shown`. Returns the new text when it was committed and differs; Escape takes the draft back.
pub fn text_field(ui: &mut Ui, name: &str, shown: &str) -> Option<String> {
    text_field_sized(ui, name, shown, 260.0)
}

/// The same, so many points wide.
pub fn text_field_sized(ui: &mut Ui, name: &str, shown: &str, width: f32) -> Option<String> {
    let id = ui.make_persistent_id(("text field", name));
    let draft_id: Id = id.with("draft");
    let mut text = ui
        .data(|data| data.get_temp::<String>(draft_id))
        .unwrap_or_else(|| shown.to_owned());
    let response = ui
        .add(
            TextEdit::singleline(&mut text)
                .id(id)
                .desired_width(width.min(ui.available_width() - 8.0)),
        )
        .accessible_name(name);
    if response.changed() {
        ui.data_mut(|data| data.insert_temp(draft_id, text.clone()));
    }
    if response.lost_focus() {
        ui.data_mut(|data| data.remove::<String>(draft_id));
        let taken_back = ui.input(|input| input.key_pressed(Key::Escape));
        return (!taken_back && text != shown).then_some(text);
    }
    None
}
