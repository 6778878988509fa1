//! What the keyboard means inside a table.

use egui::{Event, EventFilter, Id, Key as EguiKey, Modifiers, Ui};

/// One thing asked of a table by the keyboard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Key {
    Step { by: isize, extend: bool },
    Page { by: isize, extend: bool },
    First { extend: bool },
    Last { extend: bool },
    Column { by: isize },
    All,
    Toggle,
    Open,
    Digit(u8),
    Clear,
    Skip,
}

/// Takes from the input what is meant for the table that has the focus, in the order it was typed.
pub(super) fn read(ui: &Ui, table: Id, has_entry: bool) -> Vec<Key> {
    ui.memory_mut(|memory| {
        let filter = EventFilter {
            horizontal_arrows: true,
            vertical_arrows: true,
            ..EventFilter::default()
        };
        memory.set_focus_lock_filter(table, filter);
    });
    let mut keys = Vec::new();
    ui.input_mut(|input| {
        input.events.retain(|event| {
            let key = match event {
                Event::Key {
                    key,
                    pressed: true,
                    modifiers,
                    ..
                } => from_key(*key, *modifiers, has_entry),
                Event::Text(text) if has_entry => from_text(text),
                _ => None,
            };
            keys.extend(key);
            key.is_none()
        });
    });
    keys
}

fn from_key(key: EguiKey, modifiers: Modifiers, has_entry: bool) -> Option<Key> {
    let extend = modifiers.shift;
    Some(match key {
        EguiKey::A if modifiers.command => Key::All,
        _ if modifiers.command || modifiers.alt => return None,
        EguiKey::ArrowUp => Key::Step { by: -1, extend },
        EguiKey::ArrowDown => Key::Step { by: 1, extend },
        EguiKey::PageUp => Key::Page { by: -1, extend },
        EguiKey::PageDown => Key::Page { by: 1, extend },
        EguiKey::Home => Key::First { extend },
        EguiKey::End => Key::Last { extend },
        EguiKey::Enter => Key::Open,
        EguiKey::Space => Key::Toggle,
        EguiKey::ArrowLeft if has_entry => Key::Column { by: -1 },
        EguiKey::ArrowRight if has_entry => Key::Column { by: 1 },
        EguiKey::Backspace | EguiKey::Delete if has_entry => Key::Clear,
        _ => return None,
    })
}

/// Digits come as text, not as keys, so that number pads and every keyboard layout agree.
fn from_text(text: &str) -> Option<Key> {
    match text {
        "." | "," => Some(Key::Skip),
        _ => text
            .parse::<u8>()
            .ok()
            .filter(|digit| (1..=9).contains(digit))
            .map(Key::Digit),
    }
}
