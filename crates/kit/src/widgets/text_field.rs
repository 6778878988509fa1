//! A typed field for words, or for anything read from words: held as a draft until it is committed.

use super::draft::{DraftField, FieldResponse, problem_line};
use crate::drafts::Ticket;
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

    /// Draws the field; the new words once they are committed, without spaces at their ends, with the ticket to
    /// record them by.
    pub fn show(&self, ui: &mut Ui, value: &str) -> Option<(String, Ticket)> {
        self.show_parsed(ui, value, |text| Ok(text.trim().to_owned()))
            .filter(|(new, _)| new != value)
    }

    /// Draws a field whose words are read by `parse`, which says in a sentence what is wrong; the new value once it
    /// is committed.
    pub fn show_parsed<T>(
        &self,
        ui: &mut Ui,
        shown: &str,
        parse: impl FnOnce(&str) -> Result<T, String>,
    ) -> Option<(T, Ticket)> {
        ui.vertical(|ui| {
            let drafted = self.draft_field().show(ui, shown, parse);
            problem_line(ui, drafted.problem.as_ref());
            drafted.committed.zip(drafted.ticket)
        })
        .inner
    }

    /// Draws a field of a form, or of anything else that keeps its words itself.
    pub fn edit(&self, ui: &mut Ui, words: &mut String) -> FieldResponse {
        ui.vertical(|ui| {
            let shown = words.clone();
            let drafted = self
                .draft_field()
                .show(ui, &shown, |text| Ok(text.to_owned()));
            drafted.store(words)
        })
        .inner
    }

    /// Draws a field of a form whose words are read by `parse` into `value`.
    pub fn edit_parsed<T: PartialEq>(
        &self,
        ui: &mut Ui,
        shown: &str,
        value: &mut T,
        parse: impl FnOnce(&str) -> Result<T, String>,
    ) -> FieldResponse {
        ui.vertical(|ui| {
            let drafted = self.draft_field().show(ui, shown, parse);
            problem_line(ui, drafted.problem.as_ref());
            drafted.store(value)
        })
        .inner
    }

    const fn draft_field(&self) -> DraftField<'a> {
        DraftField {
            name: self.name,
            width: self.width,
            hint: self.hint,
            figures: false,
        }
    }
}
