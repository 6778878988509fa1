//! The keyboard of the grid: what is pressed is carried out in the order in which it was pressed, between what is typed.

use egui::{Event, Key, Modifiers, Ui};

/// What a key, or a paste, does to the grid.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Press {
    /// Go so many rows down and so many columns to the right.
    Step { rows: isize, columns: isize },
    /// Enter: on, in the direction of entry; back with Shift.
    Next { back: bool },
    /// Tab: across and on to the next row; back with Shift.
    Across { back: bool },
    /// To the first or the last row.
    End { last: bool },
    /// A digit that is a whole score.
    Digit(u8),
    /// Give up what is typed in the cell.
    GiveUp,
    /// A block of cells.
    Block(String),
}

/// What the cell in hand is like.
#[derive(Debug, Clone, Copy)]
pub(super) struct InHand {
    /// Something is typed in it that isn't recorded.
    pub(super) typing: bool,
    /// A digit is a whole entry.
    pub(super) takes_digits: bool,
    /// How many rows a page has.
    pub(super) page: isize,
}

/// Takes the presses that come before anything is typed in this frame; what comes after the first typed sign and its
/// next press waits in `later` for the next frame.
pub(super) fn read(ui: &Ui, later: &mut Vec<Event>, in_hand: InHand) -> Vec<Press> {
    let mut presses = Vec::new();
    ui.input_mut(|input| {
        let mut events = std::mem::take(later);
        events.append(&mut input.events);
        let mut typed = in_hand.typing;
        let mut written = false;
        let mut waiting = false;
        for event in events {
            if waiting {
                later.push(event);
                continue;
            }
            let as_it_is = InHand {
                typing: typed,
                ..in_hand
            };
            match press(&event, as_it_is) {
                Some(_) if written => {
                    waiting = true;
                    later.push(event);
                }
                Some(press) => {
                    presses.push(press);
                    typed = false;
                }
                None => {
                    let types = types(&event);
                    typed |= types;
                    written |= types;
                    input.events.push(event);
                }
            }
        }
    });
    if !later.is_empty() {
        ui.ctx().request_repaint();
    }
    presses
}

/// Whether the text box of the cell makes something of it.
fn types(event: &Event) -> bool {
    match event {
        Event::Text(_) | Event::Paste(_) | Event::Cut | Event::Ime(_) => true,
        Event::Key { key, pressed, .. } => *pressed && matches!(key, Key::Backspace | Key::Delete),
        _ => false,
    }
}

fn press(event: &Event, in_hand: InHand) -> Option<Press> {
    match event {
        Event::Text(text) if in_hand.takes_digits && !in_hand.typing => match text.as_bytes() {
            [digit @ b'0'..=b'9'] => Some(Press::Digit(digit - b'0')),
            _ => None,
        },
        Event::Paste(text) if text.trim_end_matches(['\r', '\n']).contains(['\t', '\n']) => {
            Some(Press::Block(text.clone()))
        }
        Event::Key {
            key,
            pressed: true,
            modifiers,
            ..
        } => key_press(*key, *modifiers, in_hand),
        _ => None,
    }
}

fn key_press(key: Key, modifiers: Modifiers, in_hand: InHand) -> Option<Press> {
    let back = modifiers.shift;
    let step = |rows, columns| Some(Press::Step { rows, columns });
    if modifiers.command || modifiers.alt {
        return match key {
            Key::Home if modifiers.command => Some(Press::End { last: false }),
            Key::End if modifiers.command => Some(Press::End { last: true }),
            _ => None,
        };
    }
    match key {
        Key::Enter => Some(Press::Next { back }),
        Key::Tab => Some(Press::Across { back }),
        Key::ArrowDown if !back => step(1, 0),
        Key::ArrowUp if !back => step(-1, 0),
        Key::ArrowLeft if !back && !in_hand.typing => step(0, -1),
        Key::ArrowRight if !back && !in_hand.typing => step(0, 1),
        Key::PageDown => step(in_hand.page, 0),
        Key::PageUp => step(-in_hand.page, 0),
        Key::Escape if in_hand.typing => Some(Press::GiveUp),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(key: Key) -> Event {
        Event::Key {
            key,
            physical_key: None,
            pressed: true,
            repeat: false,
            modifiers: Modifiers::NONE,
        }
    }

    /// What a frame with these events does, and how many of them wait.
    fn frame(events: Vec<Event>, takes_digits: bool) -> (Vec<Press>, usize) {
        let ctx = egui::Context::default();
        let mut later = Vec::new();
        let mut presses = Vec::new();
        let input = egui::RawInput {
            events,
            ..egui::RawInput::default()
        };
        let in_hand = InHand {
            typing: false,
            takes_digits,
            page: 10,
        };
        let mut output = ctx.run_ui(input, |ui| {
            presses.extend(read(ui, &mut later, in_hand));
        });
        // Nothing is drawn here.
        output.textures_delta.clear();
        (presses, later.len())
    }

    #[test]
    fn what_is_typed_fast_keeps_its_order() {
        let events = vec![
            Event::Text("8".into()),
            key(Key::Enter),
            Event::Text("9".into()),
        ];
        assert_eq!(frame(events, false), (Vec::new(), 2));
    }

    #[test]
    fn scores_typed_fast_are_each_an_entry() {
        let events = vec![
            Event::Text("8".into()),
            Event::Text("9".into()),
            key(Key::ArrowRight),
        ];
        let presses = vec![
            Press::Digit(8),
            Press::Digit(9),
            Press::Step {
                rows: 0,
                columns: 1,
            },
        ];
        assert_eq!(frame(events, true), (presses, 0));
    }

    #[test]
    fn one_cell_pasted_is_text_and_several_are_a_block() {
        let (presses, _) = frame(vec![Event::Paste("8.2\n".into())], false);
        assert_eq!(presses, Vec::new());
        let (presses, _) = frame(vec![Event::Paste("8.2\n8.4".into())], false);
        assert_eq!(presses, vec![Press::Block("8.2\n8.4".into())]);
    }
}
