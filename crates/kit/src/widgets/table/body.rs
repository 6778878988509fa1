//! The rows of a table that are in view: grounds, cells, rules, the cursor, clicks.

use egui::{
    Align, Id, Layout, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, UiBuilder, WidgetInfo,
    pos2, vec2,
};

use super::{CellKind, Column, Rows, Table, TableResponse, TableState};
use crate::{
    state_mark::StateMark,
    theme::{self, space, tokens},
    unkept,
};

/// The rows in view.
pub(super) struct Body<'a, 'b, 'm> {
    pub(super) table: &'a Table<'b>,
    pub(super) id: Id,
    pub(super) lefts: &'a [f32],
    pub(super) viewport: Rect,
    pub(super) focus: &'a Response,
    pub(super) menu: Option<&'m mut dyn FnMut(&mut Ui)>,
}

impl Body<'_, '_, '_> {
    #[expect(
        clippy::too_many_lines,
        reason = "one row after another, each from its ground to its cursor"
    )]
    pub(super) fn show<Key, KeyOf, NameOf, DrawCell>(
        &mut self,
        ui: &mut Ui,
        state: &mut TableState<Key>,
        rows: &mut Rows<KeyOf, NameOf, DrawCell>,
        response: &mut TableResponse<Key>,
    ) where
        Key: Copy + Ord + std::hash::Hash + std::fmt::Debug,
        KeyOf: Fn(usize) -> Key,
        NameOf: Fn(usize) -> String,
        DrawCell: FnMut(&mut Ui, usize, usize),
    {
        let &mut Self {
            table,
            id,
            lefts,
            viewport,
            focus,
            ..
        } = self;
        let height = table.row_height;
        // Row edges are calculated from the top of the view: far down a long table, distances from the first row no
        // longer fit an f32 to the pixel.
        let view_top = ui
            .clip_rect()
            .top()
            .max(ui.max_rect().top() + viewport.top());
        let left = ui.max_rect().left();
        let row_rect = |row: usize| {
            let top =
                (row as f64 * f64::from(height) - f64::from(viewport.top())) as f32 + view_top;
            Rect::from_min_size(
                pos2(left, top),
                vec2(lefts[lefts.len() - 1].max(viewport.width()), height),
            )
        };
        if state.reveal {
            state.reveal = false;
            if let Some(row) = state.find_cursor(rows.count, &rows.key) {
                let edge = |index: usize| lefts.get(index).copied().unwrap_or_default();
                let rect = row_rect(row);
                let (from, to) = if table.columns.iter().any(Column::is_entry) {
                    (edge(state.cursor_column), edge(state.cursor_column + 1))
                } else {
                    (viewport.left(), viewport.left() + 1.0)
                };
                ui.scroll_to_rect(
                    Rect::from_x_y_ranges(left + from..=left + to, rect.y_range()),
                    None,
                );
            }
        }
        let cursor = if focus.has_focus() {
            state.find_cursor(rows.count, &rows.key)
        } else {
            None
        };
        // In a table for entry the row in hand is seen whether or not the keyboard is in it.
        let in_hand = if table.columns.iter().any(Column::is_entry) {
            state.find_cursor(rows.count, &rows.key)
        } else {
            None
        };
        let first = (viewport.top() / height).floor().max(0.0) as usize;
        let last = ((viewport.bottom() / height).ceil() as usize).min(rows.count);
        let unkept = unkept::told(ui.ctx());
        for row in first..last {
            let key = (rows.key)(row);
            let unkept = unkept.as_ref().is_some_and(|unkept| unkept.has_key(key));
            let row_id = id.with(key);
            let rect = row_rect(row);
            let at_cursor = cursor == Some(row);
            let selected = state.selected.contains(&key);
            let clicked = ui.interact(rect, row_id, Sense::CLICK);
            clicked.widget_info(|| {
                let mut label = (rows.name)(row);
                if unkept {
                    label = format!("{label}, {}", unkept::WORDS);
                }
                if selected {
                    label += ", selected";
                }
                WidgetInfo::selected(Role::Row, true, selected, label)
            });
            let colours = tokens(ui);
            let fill = match (selected, clicked.hovered()) {
                (true, _) => Some(colours.selection),
                (false, true) => Some(colours.hover),
                (false, false) => None,
            };
            if let Some(fill) = fill {
                ui.painter().rect_filled(rect, 0, fill);
            }
            if in_hand == Some(row) {
                crate::widgets::in_hand(ui, rect);
            }
            if table.list && selected {
                let bar = rect.with_max_x(rect.left() + 3.0);
                ui.painter().rect_filled(bar, 0, colours.ink);
            }
            if unkept {
                // Over the whole height at the edge, so that it is seen in every column's place.
                let edge = Rect::from_min_size(rect.min, vec2(4.0, rect.height()));
                let ink = StateMark::Danger.ink(colours);
                ui.painter().rect_filled(edge, 0, ink);
            }
            for column in 0..table.columns.len() {
                self.cell(ui, row_id, rect, (row, column), &mut rows.cell);
            }
            ui.painter().hline(
                rect.x_range(),
                rect.bottom() - 0.5,
                Stroke::new(1.0, colours.rule),
            );
            if at_cursor {
                self.draw_cursor(ui, state, rect, &(rows.name)(row));
            }
            self.click(ui, &clicked, row, state, rows, response);
        }
    }

    fn cell(
        &self,
        ui: &mut Ui,
        row_id: Id,
        rect: Rect,
        (row, column): (usize, usize),
        draw: &mut impl FnMut(&mut Ui, usize, usize),
    ) {
        let cell = Rect::from_x_y_ranges(
            rect.left() + self.lefts[column]..=rect.left() + self.lefts[column + 1],
            rect.y_range(),
        );
        if cell.width() <= 0.0 || !ui.is_rect_visible(cell) {
            return;
        }
        if self.table.columns[column].is_entry() {
            ui.painter().vline(
                cell.left() - 0.5,
                cell.y_range(),
                Stroke::new(1.0, tokens(ui).rule),
            );
        }
        let inner = cell.shrink2(vec2(space::S, 0.0));
        let number = self.table.columns[column].is_number();
        let layout = if number {
            Layout::right_to_left(Align::Center)
        } else {
            Layout::left_to_right(Align::Center)
        };
        let builder = UiBuilder::new()
            .id_salt((row_id, column))
            .max_rect(inner)
            .layout(layout);
        let mut cell_ui = ui.new_child(builder.accessibility_parent(row_id));
        cell_ui.shrink_clip_rect(cell);
        cell_ui.spacing_mut().item_spacing.x = space::XS;
        cell_ui.style_mut().wrap_mode = Some(egui::TextWrapMode::Truncate);
        if number {
            cell_ui.style_mut().override_text_style = Some(theme::numbers());
        }
        draw(&mut cell_ui, row, column);
        if self.table.columns[column].kind == CellKind::Number {
            tell_missing(&cell_ui, inner);
        }
    }

    /// Outlines the row under the cursor, and in a table for entry the one cell.
    fn draw_cursor<Key>(&self, ui: &Ui, state: &TableState<Key>, rect: Rect, name: &str) {
        let stroke = Stroke::new(2.0, tokens(ui).accent);
        let column = &self.table.columns[state.cursor_column];
        if !column.is_entry() {
            ui.painter()
                .rect_stroke(rect, 0, stroke, StrokeKind::Inside);
            return;
        }
        let cell = Rect::from_x_y_ranges(
            rect.left() + self.lefts[state.cursor_column]
                ..=rect.left() + self.lefts[state.cursor_column + 1],
            rect.y_range(),
        );
        ui.painter()
            .rect_stroke(cell.shrink(2.0), 3, stroke, StrokeKind::Inside);
        let node = ui.interact(cell, self.id.with("cell"), Sense::hover());
        node.widget_info(|| {
            WidgetInfo::labeled(Role::Cell, true, format!("{name}, {}", column.header))
        });
    }

    fn click<Key, KeyOf, NameOf, DrawCell>(
        &mut self,
        ui: &Ui,
        clicked: &Response,
        row: usize,
        state: &mut TableState<Key>,
        rows: &Rows<KeyOf, NameOf, DrawCell>,
        response: &mut TableResponse<Key>,
    ) where
        Key: Copy + Ord,
        KeyOf: Fn(usize) -> Key,
    {
        let key = (rows.key)(row);
        if clicked.clicked() {
            self.focus.request_focus();
            let modifiers = ui.input(|input| input.modifiers);
            if modifiers.command {
                state.toggle(row, &rows.key);
            } else {
                state.go_to(row, modifiers.shift, &rows.key, rows.count);
            }
            if let Some(pointer) = clicked.interact_pointer_pos() {
                let x = pointer.x - clicked.rect.left();
                let column = self
                    .lefts
                    .partition_point(|&left| left <= x)
                    .saturating_sub(1);
                if self.table.columns.get(column).is_some_and(Column::is_entry) {
                    state.cursor_column = column;
                }
            }
            response.changed = true;
        }
        if clicked.double_clicked() {
            response.opened = Some(key);
        }
        if let Some(menu) = &mut self.menu {
            if clicked.secondary_clicked() && !state.selected.contains(&key) {
                state.go_to(row, false, &rows.key, rows.count);
                response.changed = true;
            }
            clicked.context_menu(|ui| menu(ui));
        }
    }
}

/// The one sign for a figure that isn't there, where a cell of figures was left empty.
pub(super) fn tell_missing(cell: &Ui, room: Rect) {
    if cell.min_rect().width() <= 1.0 {
        cell.painter().text(
            room.right_center(),
            egui::Align2::RIGHT_CENTER,
            crate::figures::MISSING,
            theme::numbers().resolve(cell.style()),
            tokens(cell).muted,
        );
    }
}
