//! Every command of the window: its words, its shortcut. Menus and keys are made from this one list.

use crate::view::Screen;
use egui::{Key, KeyboardShortcut, Modifiers};

/// A command of the window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the title says what each does")]
pub enum Command {
    New,
    Open,
    Sample,
    Save,
    SaveAs,
    Close,
    Undo,
    Redo,
    Find,
    CopyTable,
    TableAsCsv,
    TableAsXlsx,
    Go(Screen),
    DayBefore,
    DayAfter,
    Today,
    Drafts,
    ZoomIn,
    ZoomOut,
    ZoomReset,
    Preferences,
    Keys,
    About,
}

impl Command {
    /// Every command, in the order of the menus.
    pub fn all() -> impl Iterator<Item = Self> {
        [
            Self::New,
            Self::Open,
            Self::Sample,
            Self::Save,
            Self::SaveAs,
            Self::Close,
            Self::Undo,
            Self::Redo,
            Self::Find,
            Self::CopyTable,
            Self::TableAsCsv,
            Self::TableAsXlsx,
        ]
        .into_iter()
        .chain(Screen::ALL.into_iter().map(Self::Go))
        .chain([
            Self::DayBefore,
            Self::DayAfter,
            Self::Today,
            Self::Drafts,
            Self::ZoomIn,
            Self::ZoomOut,
            Self::ZoomReset,
            Self::Preferences,
            Self::Keys,
            Self::About,
        ])
    }

    /// Its words in a menu.
    pub const fn title(self) -> &'static str {
        match self {
            Self::New => "New project…",
            Self::Open => "Open…",
            Self::Sample => "Try the sample season",
            Self::Save => "Save",
            Self::SaveAs => "Save as…",
            Self::Close => "Close project",
            Self::Undo => "Undo",
            Self::Redo => "Redo",
            Self::Find => "Find a code…",
            Self::CopyTable => "Copy the table",
            Self::TableAsCsv => "Save the table as CSV…",
            Self::TableAsXlsx => "Save the tables as XLSX…",
            Self::Go(screen) => screen.title(),
            Self::DayBefore => "Record for the day before",
            Self::DayAfter => "Record for the day after",
            Self::Today => "Back to today",
            Self::Drafts => "Not recorded yet…",
            Self::ZoomIn => "Larger",
            Self::ZoomOut => "Smaller",
            Self::ZoomReset => "Usual size",
            Self::Preferences => "Preferences…",
            Self::Keys => "Keys…",
            Self::About => "About Binewright…",
        }
    }

    /// The keys that give it.
    pub const fn shortcut(self) -> Option<KeyboardShortcut> {
        const fn command(key: Key) -> KeyboardShortcut {
            KeyboardShortcut::new(Modifiers::COMMAND, key)
        }
        const fn command_shift(key: Key) -> KeyboardShortcut {
            KeyboardShortcut::new(Modifiers::COMMAND.plus(Modifiers::SHIFT), key)
        }
        const fn plain(key: Key) -> KeyboardShortcut {
            KeyboardShortcut::new(Modifiers::NONE, key)
        }
        Some(match self {
            Self::New => command(Key::N),
            Self::Open => command(Key::O),
            Self::Save => command(Key::S),
            Self::SaveAs => command_shift(Key::S),
            Self::Close => command(Key::W),
            Self::Undo => command(Key::Z),
            Self::Redo => command_shift(Key::Z),
            Self::Find => command(Key::F),
            Self::CopyTable => command_shift(Key::T),
            Self::Go(Screen::Calendar) => command(Key::Num1),
            Self::Go(Screen::Plants) => command(Key::Num2),
            Self::Go(Screen::Crosses) => command(Key::Num3),
            Self::Go(Screen::SeedLots) => command(Key::Num4),
            Self::Go(Screen::Chill) => command(Key::Num5),
            Self::Go(Screen::Seedlings) => command(Key::Num6),
            Self::Go(Screen::FamilyTree) => command(Key::Num7),
            Self::Go(Screen::Labels) => command(Key::Num8),
            Self::Go(Screen::Findings) => command(Key::Num9),
            Self::Go(Screen::Setup) => command(Key::Num0),
            Self::DayBefore => plain(Key::OpenBracket),
            Self::DayAfter => plain(Key::CloseBracket),
            Self::Today => plain(Key::Period),
            Self::ZoomIn => command(Key::Plus),
            Self::ZoomOut => command(Key::Minus),
            Self::Preferences => command(Key::Comma),
            Self::Keys => plain(Key::F1),
            Self::Go(
                Screen::Measure
                | Screen::Bench
                | Screen::Kinship
                | Screen::Planning
                | Screen::Sterilising
                | Screen::Temperatures
                | Screen::Sheets
                | Screen::Tables
                | Screen::Photos
                | Screen::History,
            )
            | Self::Sample
            | Self::TableAsCsv
            | Self::TableAsXlsx
            | Self::Drafts
            | Self::ZoomReset
            | Self::About => {
                return None;
            }
        })
    }

    /// Whether its key is a sign that can be typed into a field.
    const fn is_a_sign(self) -> bool {
        matches!(self, Self::DayBefore | Self::DayAfter | Self::Today)
    }

    /// Whether it needs an open project.
    pub const fn needs_project(self) -> bool {
        !matches!(
            self,
            Self::New
                | Self::Open
                | Self::Sample
                | Self::ZoomIn
                | Self::ZoomOut
                | Self::ZoomReset
                | Self::Preferences
                | Self::Keys
                | Self::About
        )
    }

    /// Whether what is typed is to be recorded before it is carried out: the page is left, or the project saved.
    pub const fn settles_fields(self) -> bool {
        matches!(
            self,
            Self::New
                | Self::Open
                | Self::Sample
                | Self::Save
                | Self::SaveAs
                | Self::Close
                | Self::Go(_)
                | Self::DayBefore
                | Self::DayAfter
                | Self::Today
        )
    }

    /// Whether it changes the project.
    pub const fn changes_project(self) -> bool {
        matches!(self, Self::Undo | Self::Redo)
    }

    /// The command whose keys were pressed, if any; the press is used up. Longer shortcuts are tried first, so that
    /// Ctrl+Shift+S isn't taken for Ctrl+S.
    pub fn pressed(ctx: &egui::Context) -> Option<Self> {
        let mut with_keys: Vec<_> = Self::all()
            .filter_map(|command| Some((command, command.shortcut()?)))
            .collect();
        with_keys.sort_by_key(|(_, keys)| !keys.modifiers.shift);
        // A sign typed into a field is no command.
        let typing = ctx.text_edit_focused();
        ctx.input_mut(|input| {
            with_keys
                .into_iter()
                .filter(|(command, _)| !(typing && command.is_a_sign()))
                .find(|(_, keys)| input.consume_shortcut(keys))
                .map(|(command, _)| command)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_commands_share_their_keys_or_their_words() {
        let all: Vec<_> = Command::all().collect();
        for (nth, one) in all.iter().enumerate() {
            for other in &all[nth + 1..] {
                assert!(
                    one.shortcut().is_none() || one.shortcut() != other.shortcut(),
                    "{one:?} and {other:?}"
                );
                assert_ne!(one.title(), other.title());
            }
        }
    }
}
