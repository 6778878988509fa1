//! The keys of a page: declared once where it is drawn, acted on there, and shown at its foot.

use egui::{Context, Id, Key, Modifiers, Ui};

/// One key of a page and what it does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PageKey {
    /// The key as it is written: 'F', 'Enter', '1 to 9'.
    pub key: &'static str,
    /// What it does, in a word or two: 'female'.
    pub does: String,
}

/// The keys of the page that is drawn in this frame.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Declared {
    pass: u64,
    keys: Vec<PageKey>,
}

fn place() -> Id {
    Id::NULL.with("keys of the page")
}

/// Shows these at the foot of the page, after those declared before in this frame.
pub fn declare<'a>(ui: &Ui, keys: impl IntoIterator<Item = (&'static str, &'a str)>) {
    let pass = ui.ctx().cumulative_pass_nr();
    let keys: Vec<PageKey> = keys
        .into_iter()
        .map(|(key, does)| PageKey {
            key,
            does: does.to_owned(),
        })
        .collect();
    ui.data_mut(|data| {
        let declared = data.get_temp_mut_or_default::<Declared>(place());
        if declared.pass != pass {
            *declared = Declared {
                pass,
                keys: Vec::new(),
            };
        }
        declared.keys.extend(keys);
    });
}

/// The keys of the page drawn last: in this frame or the one before.
pub fn shown(ctx: &Context) -> Vec<PageKey> {
    let pass = ctx.cumulative_pass_nr();
    let declared: Option<Declared> = ctx.data(|data| data.get_temp(place()));
    declared
        .filter(|declared| declared.pass + 2 >= pass)
        .map(|declared| declared.keys)
        .unwrap_or_default()
}

/// A key that does what a button of the page does: shown at the foot, and true when it was pressed.
pub fn acts(ui: &Ui, key: Key, does: &str) -> bool {
    if ui.is_enabled() {
        declare(ui, [(key.name(), does)]);
    }
    pressed(ui, key)
}

/// Goes between the pages of a screen by Ctrl with Page Up and Page Down, as between tabs elsewhere. True when it did.
pub fn turns<T: Copy + PartialEq>(ui: &Ui, page: &mut T, pages: &[(T, &str)]) -> bool {
    declare(ui, [("Ctrl+PgUp PgDn", "page")]);
    let covered = ui.memory(|memory| memory.top_modal_layer().is_some());
    let turned = |key| !covered && ui.input_mut(|input| input.consume_key(Modifiers::COMMAND, key));
    let by = match (turned(Key::PageDown), turned(Key::PageUp)) {
        (true, false) => 1,
        (false, true) => pages.len() - 1,
        _ => return false,
    };
    let at = pages.iter().position(|(each, _)| each == page).unwrap_or(0);
    *page = pages[(at + by) % pages.len()].0;
    true
}

/// Whether this key was pressed for the page: letters rest while a field is typed in or something lies over the page.
pub fn pressed(ui: &Ui, key: Key) -> bool {
    let resting = ui.ctx().text_edit_focused()
        || egui::Popup::is_any_open(ui.ctx())
        || ui.memory(|memory| memory.top_modal_layer().is_some());
    !resting && ui.is_enabled() && ui.input_mut(|input| input.consume_key(Modifiers::NONE, key))
}
