//! A short table: answers in figures and sentences, every row as high as its words need.

use egui::{
    Align, Layout, Rect, Role, Sense, Stroke, TextStyle, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};

use super::{Column, body, header, taken};
use crate::theme::{self, space, tokens};
use crate::widgets::sideways;

/// A table of few rows, all of them drawn: for answers, where nothing is chosen or sorted and a sentence may take
/// several lines. Its columns, header and rules are those of [`super::Table`].
///
/// A column made to [`stretch`](Column::stretch) wraps its words in the width the others leave; all others hold one
/// line. Where the columns don't fit, the table scrolls sideways.
pub struct ShortTable<'a> {
    name: &'a str,
    columns: &'a [Column],
}

impl<'a> ShortTable<'a> {
    /// A table called `name` for those who hear it; the name is also its id within `ui`.
    pub fn new(name: &'a str, columns: &'a [Column]) -> Self {
        Self { name, columns }
    }

    /// Draws the table as wide as its columns ask and no wider than there is room; `draw` draws a cell:
    /// `(ui, row, column)`.
    pub fn show(self, ui: &mut Ui, rows: usize, mut draw: impl FnMut(&mut Ui, usize, usize)) {
        let natural: f32 = self.columns.iter().map(|column| column.width).sum();
        if natural > ui.available_width() + 0.5 {
            sideways(ui, self.name, |ui| self.rows(ui, rows, &mut draw));
        } else {
            ui.vertical(|ui| self.rows(ui, rows, &mut draw));
        }
        if taken::is_asked(ui.ctx()) {
            taken::take(ui, self.name, self.columns, rows, &mut draw);
        }
    }

    fn rows(&self, ui: &mut Ui, rows: usize, draw: &mut impl FnMut(&mut Ui, usize, usize)) {
        let natural: f32 = self.columns.iter().map(|column| column.width).sum();
        let stretching = self.columns.iter().filter(|each| each.stretch).count();
        let spare = (ui.available_width() - natural).max(0.0) / stretching.max(1) as f32;
        let mut edges = vec![0.0];
        let mut right = 0.0;
        for column in self.columns {
            right += column.width + if column.stretch { spare } else { 0.0 };
            edges.push(right);
        }
        ui.spacing_mut().item_spacing.y = 0.0;
        let line = ui.text_style_height(&TextStyle::Body);
        let least = space::ROW.max(line + space::S);
        let (head, response) =
            ui.allocate_exact_size(vec2(right, least), Sense::focusable_noninteractive());
        response.widget_info(|| WidgetInfo::labeled(Role::Table, true, self.name));
        self.head(ui, head, &edges);
        for row in 0..rows {
            let top = ui.cursor().min;
            let mut height = least;
            for (column, of) in self.columns.iter().enumerate() {
                let room = Rect::from_min_max(
                    top + vec2(edges[column] + space::S, 0.0),
                    pos2(top.x + edges[column + 1] - space::S, top.y + least),
                );
                let taken = cell(ui, (row, column), of, room, line, draw);
                height = height.max(taken);
            }
            let (rect, _) = ui.allocate_exact_size(vec2(right, height), Sense::hover());
            let rule = Stroke::new(1.0, tokens(ui).rule);
            ui.painter()
                .hline(rect.x_range(), rect.bottom() - 0.5, rule);
        }
        ui.add_space(space::S);
    }

    fn head(&self, ui: &Ui, rect: Rect, edges: &[f32]) {
        header::paint_ground(ui, rect);
        for (index, column) in self.columns.iter().enumerate() {
            let x = rect.left() + edges[index]..=rect.left() + edges[index + 1];
            let cell = Rect::from_x_y_ranges(x, rect.y_range());
            let response = ui.interact(
                cell,
                ui.scope_id().with((self.name, "head", index)),
                Sense::hover(),
            );
            response.widget_info(|| WidgetInfo::labeled(Role::ColumnHeader, true, &column.header));
            let truncated = header::paint_name(ui, cell, column, None);
            match &column.hint {
                Some(hint) => {
                    response.on_hover_text(hint);
                }
                None if truncated => {
                    response.on_hover_text(&column.header);
                }
                None => {}
            }
        }
        header::paint_rule(ui, rect);
    }
}

/// Draws one cell; returns the height it needs. The first line of every cell of a row stands on one baseline.
fn cell(
    ui: &mut Ui,
    (row, index): (usize, usize),
    column: &Column,
    room: Rect,
    line: f32,
    draw: &mut impl FnMut(&mut Ui, usize, usize),
) -> f32 {
    let (layout, rect) = if column.stretch && !column.is_number() {
        // Its first line stands where those of the other cells do, in the middle of the least height.
        let top = room.top() + (room.height() - line) / 2.0;
        let rect = room.with_min_y(top).with_max_y(f32::INFINITY);
        (Layout::top_down(Align::Min), rect)
    } else if column.is_number() {
        (Layout::right_to_left(Align::Center), room)
    } else {
        (Layout::left_to_right(Align::Center), room)
    };
    let builder = UiBuilder::new()
        .id_salt(("cell", row, index))
        .max_rect(rect)
        .layout(layout);
    let mut cell = ui.new_child(builder);
    cell.spacing_mut().item_spacing.x = space::XS;
    cell.style_mut().wrap_mode = Some(if column.stretch {
        egui::TextWrapMode::Wrap
    } else {
        egui::TextWrapMode::Extend
    });
    if column.is_number() {
        cell.style_mut().override_text_style = Some(theme::numbers());
    }
    draw(&mut cell, row, index);
    if column.is_number() {
        body::tell_missing(&cell, room);
    }
    let below = (room.height() - line) / 2.0;
    let drawn = cell.min_rect();
    if column.stretch && !column.is_number() {
        drawn.bottom() + below - room.top()
    } else {
        drawn.height()
    }
}
