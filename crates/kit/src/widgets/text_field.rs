//! A typed field for words, or for anything read from words: held as a draft until it is committed.

use super::draft::{DraftField, problem_line};
use egui::Ui;

/// A field for words.
///
/// Enter or leaving the field commits; Escape brings back what stood there. A draft that can't be read stays as
/// typed, with a sentence beneath, until it is mended.
#[derive(Clone, Copy, Debug)]
pub struct TextField<'a> {
    name: &'a str,
    hint: &'a str,
    width: f32,
}

impl<'a> TextField<'a> {
    /// A field called `name`, as wide as there is room.
    pub const fn new(name: &'a str) -> Self {
        Self {
            name,
            hint: "",
            width: f32::INFINITY,
        }
    }

    /// What to write, shown while the field is empty.
    #[must_use]
    pub const fn hint(mut self, hint: &'a str) -> Self {
        self.hint = hint;
        self
    }

    /// Width of the box in points.
    #[must_use]
    pub const fn width(mut self, width: f32) -> Self {
        self.width = width;
        self
    }

    /// Draws the field; the new words once they are committed, without spaces at their ends.
    pub fn show(&self, ui: &mut Ui, value: &str) -> Option<String> {
        self.show_parsed(ui, value, |text| Ok(text.trim().to_owned()))
            .filter(|new| new != value)
    }

    /// Draws a field whose words are read by `parse`, which says in a sentence what is wrong; the new value once it
    /// is committed.
    pub fn show_parsed<T>(
        &self,
        ui: &mut Ui,
        shown: &str,
        parse: impl FnOnce(&str) -> Result<T, String>,
    ) -> Option<T> {
        let field = DraftField {
            id: DraftField::id(ui, self.name),
            name: self.name,
            width: self.width,
            hint: self.hint,
            figures: false,
        };
        ui.vertical(|ui| {
            let drafted = field.show(ui, shown, parse);
            problem_line(ui, drafted.problem.as_ref());
            drafted.committed
        })
        .inner
    }
}
