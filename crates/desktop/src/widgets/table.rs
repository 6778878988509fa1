//! A data table: virtual rows, sortable headers, selection and score entry by keyboard alone.

mod header;
mod keys;
mod state;

use egui::{
    Align, Id, Layout, Rect, Response, Role, ScrollArea, Sense, Stroke, StrokeKind, Ui, UiBuilder,
    WidgetInfo, containers::scroll_area::ScrollBarVisibility, pos2, vec2,
};

pub use self::state::{Sort, TableState};
use self::{header::HeaderRow, keys::Key as Press};
use crate::theme::{self, space, tokens};

/// One column of a table.
#[derive(Clone, Debug)]
pub struct Column {
    header: String,
    hint: Option<String>,
    width: f32,
    number: bool,
    stretch: bool,
    sortable: bool,
    entry: bool,
}

impl Column {
    /// Words, left-aligned; `width` in points.
    pub fn text(header: impl Into<String>, width: f32) -> Self {
        Self {
            header: header.into(),
            hint: None,
            width,
            number: false,
            stretch: false,
            sortable: true,
            entry: false,
        }
    }

    /// Figures, right-aligned and tabular; the unit belongs in the header.
    pub fn number(header: impl Into<String>, width: f32) -> Self {
        Self {
            number: true,
            ..Self::text(header, width)
        }
    }

    /// Scores typed as one digit each: the cursor goes down the column as they are entered.
    pub fn score(header: impl Into<String>, width: f32) -> Self {
        Self {
            entry: true,
            ..Self::number(header, width)
        }
    }

    /// Takes what width the other columns leave, at least its own.
    #[must_use]
    pub fn stretch(mut self) -> Self {
        self.stretch = true;
        self
    }

    /// A click on the header does nothing.
    #[must_use]
    pub fn unsortable(mut self) -> Self {
        self.sortable = false;
        self
    }

    /// What the column means, shown on hover of its header.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

/// The rows a table shows, asked for one by one as they come into view.
pub struct Rows<KeyOf, NameOf, DrawCell> {
    /// How many there are.
    pub count: usize,
    /// The lasting key of a row, such as the id of its record.
    pub key: KeyOf,
    /// The accessible name of a row, such as 'B26-014'.
    pub name: NameOf,
    /// Draws one cell: `(ui, row, column)`. The cell is already aligned and clipped.
    pub cell: DrawCell,
}

/// A digit typed, or a score cleared, in a column made by [`Column::score`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entry<Key> {
    /// The row's key.
    pub key: Key,
    /// The row's index.
    pub row: usize,
    /// The column's index.
    pub column: usize,
    /// 1 to 9, or `None` where Backspace or Delete cleared it.
    pub digit: Option<u8>,
}

/// What happened in a table this frame.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableResponse<Key> {
    /// A header was clicked: sort the rows so.
    pub sort: Option<Sort>,
    /// The selection or the cursor changed.
    pub changed: bool,
    /// A row was double-clicked, or Enter pressed on it.
    pub opened: Option<Key>,
    /// A row was clicked with the second button.
    pub secondary_clicked: Option<Key>,
    /// Scores typed, in the order they were typed.
    pub entries: Vec<Entry<Key>>,
}

/// A data table. It fills the space it is given and draws only the rows in view.
///
/// Tab reaches the table as one stop. Up and Down move the cursor, with Shift they extend the selection; Page Up,
/// Page Down, Home, End; Space adds or takes away; Ctrl+A selects all; Enter opens. In score columns, Left and Right
/// change the column, 1 to 9 enter and move down, `.` skips, Backspace clears.
pub struct Table<'a> {
    name: &'a str,
    columns: &'a [Column],
    row_height: f32,
    max_height: f32,
}

impl<'a> Table<'a> {
    /// A table called `name` for those who hear it rather than see it; the name is also its id within `ui`.
    pub fn new(name: &'a str, columns: &'a [Column]) -> Self {
        Self {
            name,
            columns,
            row_height: space::ROW,
            max_height: f32::INFINITY,
        }
    }

    /// Higher rows, for wet hands.
    #[must_use]
    pub fn row_height(mut self, height: f32) -> Self {
        self.row_height = height;
        self
    }

    /// No higher than this, header and all.
    #[must_use]
    pub fn max_height(mut self, height: f32) -> Self {
        self.max_height = height;
        self
    }

    /// Draws the table. The caller sorts its rows by [`TableState::sort`].
    pub fn show<Key, KeyOf, NameOf, DrawCell>(
        self,
        ui: &mut Ui,
        state: &mut TableState<Key>,
        mut rows: Rows<KeyOf, NameOf, DrawCell>,
    ) -> TableResponse<Key>
    where
        Key: Copy + Ord + std::hash::Hash + std::fmt::Debug,
        KeyOf: Fn(usize) -> Key,
        NameOf: Fn(usize) -> String,
        DrawCell: FnMut(&mut Ui, usize, usize),
    {
        let id = ui.make_persistent_id(("table", self.name));
        let outer = Rect::from_min_size(
            ui.available_rect_before_wrap().min,
            vec2(
                ui.available_width(),
                ui.available_height().min(self.max_height),
            ),
        );
        let bar = ui.spacing().scroll.allocated_width();
        let lefts = self.column_edges(outer.width() - bar, state);
        let header_rect = Rect::from_min_size(outer.min, vec2(outer.width(), self.row_height));
        let body_rect = Rect::from_min_max(header_rect.left_bottom(), outer.max);

        let focus = ui.interact(body_rect, id, Sense::focusable_noninteractive());
        focus.widget_info(|| WidgetInfo::labeled(Role::Table, true, self.name));

        let mut response = TableResponse {
            sort: None,
            changed: false,
            opened: None,
            secondary_clicked: None,
            entries: Vec::new(),
        };
        self.fix_cursor_column(state);
        if focus.has_focus() {
            let page = ((body_rect.height() / self.row_height) as usize)
                .saturating_sub(1)
                .max(1);
            let has_entry = self.columns.iter().any(|column| column.entry);
            for press in keys::read(ui, id, has_entry) {
                self.act(press, page, state, &rows, &mut response);
            }
        }

        let total = lefts.last().copied().unwrap_or_default();
        let mut body_ui = ui.new_child(UiBuilder::new().max_rect(body_rect).id_salt(id));
        body_ui.spacing_mut().item_spacing = egui::Vec2::ZERO;
        let bars = if total > outer.width() - bar + 0.5 {
            ScrollBarVisibility::AlwaysVisible
        } else {
            ScrollBarVisibility::VisibleWhenNeeded
        };
        let scroll = ScrollArea::both()
            .id_salt(id)
            .auto_shrink(false)
            .scroll_bar_visibility(bars)
            .show_viewport(&mut body_ui, |ui, viewport| {
                ui.set_width(total);
                ui.set_height(self.row_height * rows.count as f32);
                let view = Body {
                    table: &self,
                    id,
                    lefts: &lefts,
                    viewport,
                    focus: &focus,
                };
                view.show(ui, state, &mut rows, &mut response);
            });
        let header = HeaderRow {
            columns: self.columns,
            lefts: &lefts,
            rect: header_rect,
            offset: scroll.state.clamped_offset().x,
            id,
        };
        response.sort = header.show(ui, state);
        ui.advance_cursor_after_rect(outer);
        if focus.gained_focus() && state.cursor.is_none() && rows.count > 0 {
            state.go_to(0, false, &rows.key, rows.count);
            response.changed = true;
            ui.ctx().request_repaint();
        }
        response
    }

    /// The left edges of the columns and, last, the right edge of all.
    fn column_edges<Key>(&self, available: f32, state: &TableState<Key>) -> Vec<f32> {
        let width = |index: usize| {
            state
                .widths
                .get(&index)
                .copied()
                .unwrap_or(self.columns[index].width)
        };
        let natural: f32 = (0..self.columns.len()).map(width).sum();
        let stretching = self
            .columns
            .iter()
            .filter(|column| column.stretch)
            .count()
            .max(1) as f32;
        let spare = ((available - natural) / stretching).max(0.0);
        let mut edges = vec![0.0];
        let mut x = 0.0;
        for (index, column) in self.columns.iter().enumerate() {
            x += width(index) + if column.stretch { spare } else { 0.0 };
            edges.push(x);
        }
        edges
    }

    fn fix_cursor_column<Key>(&self, state: &mut TableState<Key>) {
        if self
            .columns
            .get(state.cursor_column)
            .is_none_or(|column| !column.entry)
        {
            state.cursor_column = self
                .columns
                .iter()
                .position(|column| column.entry)
                .unwrap_or(0);
        }
    }

    fn act<Key, KeyOf, NameOf, DrawCell>(
        &self,
        press: Press,
        page: usize,
        state: &mut TableState<Key>,
        rows: &Rows<KeyOf, NameOf, DrawCell>,
        response: &mut TableResponse<Key>,
    ) where
        Key: Copy + Ord,
        KeyOf: Fn(usize) -> Key,
    {
        let count = rows.count;
        if count == 0 {
            return;
        }
        let here = state.find_cursor(count, &rows.key);
        let step = |by: isize| here.map_or(0, |row| row.saturating_add_signed(by).min(count - 1));
        let column = state.cursor_column;
        let entry = |row: usize, digit| Entry {
            key: (rows.key)(row),
            row,
            column,
            digit,
        };
        match press {
            Press::Step { by, extend } => state.go_to(step(by), extend, &rows.key, count),
            Press::Page { by, extend } => {
                state.go_to(step(by * page as isize), extend, &rows.key, count)
            }
            Press::First { extend } => state.go_to(0, extend, &rows.key, count),
            Press::Last { extend } => state.go_to(count - 1, extend, &rows.key, count),
            Press::All => state.selected = (0..count).map(&rows.key).collect(),
            Press::Toggle => {
                if let Some(row) = here {
                    state.toggle(row, &rows.key);
                }
            }
            Press::Open => response.opened = here.map(&rows.key),
            Press::Column { by } => {
                let entries: Vec<usize> = (0..self.columns.len())
                    .filter(|&index| self.columns[index].entry)
                    .collect();
                if let Some(at) = entries.iter().position(|&index| index == column) {
                    state.cursor_column =
                        entries[at.saturating_add_signed(by).min(entries.len() - 1)];
                    state.reveal = true;
                }
            }
            Press::Digit(digit) => {
                if let Some(row) = here {
                    response.entries.push(entry(row, Some(digit)));
                    state.go_to(step(1), false, &rows.key, count);
                }
            }
            Press::Clear => response.entries.extend(here.map(|row| entry(row, None))),
            Press::Skip => state.go_to(step(1), false, &rows.key, count),
        }
        response.changed |= !matches!(press, Press::Open | Press::Clear);
    }
}

/// The rows in view.
struct Body<'a, 'b> {
    table: &'a Table<'b>,
    id: Id,
    lefts: &'a [f32],
    viewport: Rect,
    focus: &'a Response,
}

impl Body<'_, '_> {
    fn show<Key, KeyOf, NameOf, DrawCell>(
        &self,
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
        let Self {
            table,
            id,
            lefts,
            viewport,
            focus,
        } = self;
        let height = table.row_height;
        // Row edges are reckoned from the top of the view: far down a long table, distances from the first row no
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
                let (from, to) = if table.columns.iter().any(|column| column.entry) {
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
        let first = (viewport.top() / height).floor().max(0.0) as usize;
        let last = ((viewport.bottom() / height).ceil() as usize).min(rows.count);
        for row in first..last {
            let key = (rows.key)(row);
            let row_id = id.with(key);
            let rect = row_rect(row);
            let at_cursor = cursor == Some(row);
            let selected = state.selected.contains(&key);
            let clicked = ui.interact(rect, row_id, Sense::CLICK);
            clicked.widget_info(|| {
                let name = (rows.name)(row);
                let label = if selected {
                    format!("{name}, selected")
                } else {
                    name
                };
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
        if !ui.is_rect_visible(cell) {
            return;
        }
        if self.table.columns[column].entry {
            ui.painter().vline(
                cell.left() - 0.5,
                cell.y_range(),
                Stroke::new(1.0, tokens(ui).rule),
            );
        }
        let inner = cell.shrink2(vec2(space::S, 0.0));
        let number = self.table.columns[column].number;
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
    }

    /// Outlines the row under the cursor, and in a table for entry the one cell.
    fn draw_cursor<Key>(&self, ui: &Ui, state: &TableState<Key>, rect: Rect, name: &str) {
        let stroke = Stroke::new(2.0, tokens(ui).accent);
        let column = &self.table.columns[state.cursor_column];
        if !column.entry {
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
            .rect_stroke(cell, 0, stroke, StrokeKind::Inside);
        let node = ui.interact(cell, self.id.with("cell"), Sense::hover());
        node.widget_info(|| {
            WidgetInfo::labeled(Role::Cell, true, format!("{name}, {}", column.header))
        });
    }

    fn click<Key, KeyOf, NameOf, DrawCell>(
        &self,
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
                if self
                    .table
                    .columns
                    .get(column)
                    .is_some_and(|column| column.entry)
                {
                    state.cursor_column = column;
                }
            }
            response.changed = true;
        }
        if clicked.double_clicked() {
            response.opened = Some(key);
        }
        if clicked.secondary_clicked() {
            if !state.selected.contains(&key) {
                state.go_to(row, false, &rows.key, rows.count);
                response.changed = true;
            }
            response.secondary_clicked = Some(key);
        }
    }
}
