//! A table of a few rows that stands in a page among sentences.

use egui::{Grid, Role, Sense, Ui, WidgetInfo, vec2};

use super::{Column, taken};
use crate::theme::{muted, space};

/// A table of a few rows, each as high as its words need, that scrolls with the page it stands in. Nothing of it can be
/// selected or sorted; like every [`super::Table`] it is copied and saved by the commands for tables.
pub struct SmallTable<'a> {
    name: &'a str,
    heads: Vec<String>,
}

impl<'a> SmallTable<'a> {
    /// A table called `name` for those who hear it and in the files it is saved in; the name is also its id within `ui`.
    pub fn new<Head: Into<String>>(name: &'a str, heads: impl IntoIterator<Item = Head>) -> Self {
        let heads = heads.into_iter().map(Into::into).collect();
        Self { name, heads }
    }

    /// Draws it: `cell` draws `(ui, row, column)`. It is also called where nobody sees it, when the table is copied or
    /// saved, so it must come to the same each time.
    pub fn show(self, ui: &mut Ui, rows: usize, mut cell: impl FnMut(&mut Ui, usize, usize)) {
        let id = ui.make_persistent_id(("table", self.name));
        let drawn = Grid::new(id)
            .striped(true)
            .num_columns(self.heads.len())
            .spacing(vec2(space::XL, space::XS))
            .show(ui, |ui| {
                for head in &self.heads {
                    ui.label(muted(ui, head));
                }
                ui.end_row();
                for row in 0..rows {
                    for column in 0..self.heads.len() {
                        ui.push_id((row, column), |ui| cell(ui, row, column));
                    }
                    ui.end_row();
                }
            });
        ui.interact(drawn.response.rect, id, Sense::hover())
            .widget_info(|| WidgetInfo::labeled(Role::Table, true, self.name));
        if taken::is_asked(ui.ctx()) {
            let columns: Vec<Column> = self
                .heads
                .iter()
                .map(|head| Column::text(head, 0.0))
                .collect();
            taken::take(ui, self.name, &columns, rows, &mut cell);
        }
    }
}
