//! A data table: virtual rows, sortable headers, selection and score entry by keyboard alone.

mod body;
mod header;
mod keys;
mod short;
mod state;
mod taken;

use egui::{
    Rect, Role, ScrollArea, Sense, Ui, UiBuilder, WidgetInfo,
    containers::scroll_area::ScrollBarVisibility, vec2,
};

pub use self::short::ShortTable;
pub use self::state::{Sort, TableState};
pub use self::taken::{TakenTable, ask_for_tables, offer_table, tables_taken};
use self::{body::Body, header::HeaderRow, keys::Key as Press};
use crate::theme::space;

/// One column of a table.
#[derive(Clone, Debug)]
pub struct Column {
    header: String,
    hint: Option<String>,
    width: f32,
    kind: CellKind,
    stretch: bool,
    sortable: bool,
    gives_way: u8,
}

/// What the cells of a column hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum CellKind {
    Text,
    Number,
    /// Figures typed in place, one digit each.
    Score,
}

impl Column {
    /// Words, left-aligned; `width` in points.
    pub fn text(header: impl Into<String>, width: f32) -> Self {
        Self {
            header: header.into(),
            hint: None,
            width,
            kind: CellKind::Text,
            stretch: false,
            sortable: true,
            gives_way: 0,
        }
    }

    /// Figures, right-aligned and tabular; the unit belongs in the header.
    pub fn number(header: impl Into<String>, width: f32) -> Self {
        Self {
            kind: CellKind::Number,
            ..Self::text(header, width)
        }
    }

    /// Scores typed as one digit each: the cursor goes down the column as they are entered.
    pub fn score(header: impl Into<String>, width: f32) -> Self {
        Self {
            kind: CellKind::Score,
            ..Self::text(header, width)
        }
    }

    fn is_number(&self) -> bool {
        self.kind != CellKind::Text
    }

    fn is_entry(&self) -> bool {
        self.kind == CellKind::Score
    }

    /// Takes what width the other columns leave, at least its own.
    #[must_use]
    pub fn stretch(mut self) -> Self {
        self.stretch = true;
        self
    }

    /// Left out where the table is too narrow for all columns: the highest `rank` goes first, 0 stays. What it holds
    /// must be told elsewhere too, such as on the page of the record.
    #[must_use]
    pub fn gives_way(mut self, rank: u8) -> Self {
        self.gives_way = rank;
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
    list: bool,
    takes_keys: bool,
}

impl<'a> Table<'a> {
    /// A table called `name` for those who hear it rather than see it; the name is also its id within `ui`.
    pub fn new(name: &'a str, columns: &'a [Column]) -> Self {
        Self {
            name,
            columns,
            row_height: space::ROW,
            max_height: f32::INFINITY,
            list: false,
            takes_keys: false,
        }
    }

    /// As a list beside a page: no header, rows of two lines, the row of the page like a piece of paper cut out.
    #[must_use]
    pub fn as_list(mut self) -> Self {
        self.list = true;
        self.row_height = space::LIST_ROW;
        self
    }

    /// The keyboard comes to the table by itself when it is first drawn on a page, to its first row: what is typed then
    /// is not lost.
    #[must_use]
    pub fn takes_keys_on_arrival(mut self) -> Self {
        self.takes_keys = true;
        self
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
        rows: Rows<KeyOf, NameOf, DrawCell>,
    ) -> TableResponse<Key>
    where
        Key: Copy + Ord + std::hash::Hash + std::fmt::Debug,
        KeyOf: Fn(usize) -> Key,
        NameOf: Fn(usize) -> String,
        DrawCell: FnMut(&mut Ui, usize, usize),
    {
        self.draw(ui, state, rows, None)
    }

    /// As [`Table::show`], with a menu for the second mouse button. It acts on [`TableState::selected`], to which the
    /// row clicked belongs; whatever it offers must also be reachable elsewhere by keyboard.
    pub fn show_with_menu<Key, KeyOf, NameOf, DrawCell>(
        self,
        ui: &mut Ui,
        state: &mut TableState<Key>,
        rows: Rows<KeyOf, NameOf, DrawCell>,
        mut menu: impl FnMut(&mut Ui),
    ) -> TableResponse<Key>
    where
        Key: Copy + Ord + std::hash::Hash + std::fmt::Debug,
        KeyOf: Fn(usize) -> Key,
        NameOf: Fn(usize) -> String,
        DrawCell: FnMut(&mut Ui, usize, usize),
    {
        self.draw(ui, state, rows, Some(&mut menu))
    }

    fn draw<Key, KeyOf, NameOf, DrawCell>(
        self,
        ui: &mut Ui,
        state: &mut TableState<Key>,
        mut rows: Rows<KeyOf, NameOf, DrawCell>,
        menu: Option<&mut dyn FnMut(&mut Ui)>,
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
        let header_height = if self.list { 0.0 } else { self.row_height };
        let header_rect = Rect::from_min_size(outer.min, vec2(outer.width(), header_height));
        let body_rect = Rect::from_min_max(header_rect.left_bottom(), outer.max);

        let focus = ui.interact(body_rect, id, Sense::focusable_noninteractive());
        focus.widget_info(|| WidgetInfo::labeled(Role::Table, true, self.name));

        if self.takes_keys {
            let pass = ui.ctx().cumulative_pass_nr();
            let before: Option<u64> = ui.data_mut(|data| {
                let before = data.get_temp(id);
                data.insert_temp(id, pass);
                before
            });
            let arrived = before.is_none_or(|before| pass > before + 3);
            if arrived && rows.count > 0 {
                focus.request_focus();
                if state.find_cursor(rows.count, &rows.key).is_none() {
                    state.go_to(0, false, &rows.key, rows.count);
                }
            }
        }
        let mut response = TableResponse {
            sort: None,
            changed: false,
            opened: None,
            entries: Vec::new(),
        };
        self.fix_cursor_column(state);
        if focus.has_focus() {
            let page = ((body_rect.height() / self.row_height) as usize)
                .saturating_sub(1)
                .max(1);
            let has_entry = self.columns.iter().any(Column::is_entry);
            for press in keys::read(ui, id, has_entry) {
                self.act(press, page, state, &rows, &mut response);
            }
        }

        let total = lefts.last().copied().unwrap_or_default();
        let mut body_ui = ui.new_child(UiBuilder::new().max_rect(body_rect).id_salt(id));
        body_ui.spacing_mut().item_spacing = egui::Vec2::ZERO;
        let scroll = ScrollArea::both()
            .id_salt(id)
            .auto_shrink(false)
            .scroll_bar_visibility(ScrollBarVisibility::VisibleWhenNeeded)
            .show_viewport(&mut body_ui, |ui, viewport| {
                ui.set_width(total);
                ui.set_height(self.row_height * rows.count as f32);
                let mut view = Body {
                    table: &self,
                    id,
                    lefts: &lefts,
                    viewport,
                    focus: &focus,
                    menu,
                };
                view.show(ui, state, &mut rows, &mut response);
            });
        let left_out: Vec<&str> = (self.columns.iter())
            .zip(lefts.windows(2))
            .filter(|(_, edges)| edges[0] == edges[1])
            .map(|(column, _)| column.header.as_str())
            .collect();
        let header = HeaderRow {
            columns: self.columns,
            lefts: &lefts,
            rect: header_rect,
            offset: scroll.state.clamped_offset().x,
            id,
            left_out: &left_out,
        };
        if !self.list {
            response.sort = header.show(ui, state);
            if taken::is_asked(ui.ctx()) {
                taken::take(ui, self.name, self.columns, rows.count, &mut rows.cell);
            }
        }
        ui.advance_cursor_after_rect(outer);
        if focus.gained_focus() && state.cursor.is_none() && rows.count > 0 {
            state.go_to(0, false, &rows.key, rows.count);
            response.changed = true;
            ui.ctx().request_repaint();
        }
        response
    }

    /// The left edges of the columns and, last, the right edge of all; a column left out has no width.
    fn column_edges<Key>(&self, available: f32, state: &TableState<Key>) -> Vec<f32> {
        let width = |index: usize| {
            state
                .widths
                .get(&index)
                .copied()
                .unwrap_or(self.columns[index].width)
        };
        let mut shown = vec![true; self.columns.len()];
        let mut natural: f32 = (0..self.columns.len()).map(width).sum();
        while natural > available {
            let gives_way = |index: &usize| shown[*index] && self.columns[*index].gives_way > 0;
            let next = (0..self.columns.len())
                .filter(gives_way)
                .max_by_key(|&index| self.columns[index].gives_way);
            let Some(index) = next else { break };
            shown[index] = false;
            natural -= width(index);
        }
        let stretching = self
            .columns
            .iter()
            .zip(&shown)
            .filter(|(column, shown)| column.stretch && **shown)
            .count()
            .max(1) as f32;
        let spare = ((available - natural) / stretching).max(0.0);
        let mut edges = vec![0.0];
        let mut x = 0.0;
        for (index, column) in self.columns.iter().enumerate() {
            if shown[index] {
                x += width(index) + if column.stretch { spare } else { 0.0 };
            }
            edges.push(x);
        }
        edges
    }

    fn fix_cursor_column<Key>(&self, state: &mut TableState<Key>) {
        if self
            .columns
            .get(state.cursor_column)
            .is_none_or(|column| !column.is_entry())
        {
            state.cursor_column = self.columns.iter().position(Column::is_entry).unwrap_or(0);
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
                state.go_to(step(by * page as isize), extend, &rows.key, count);
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
                    .filter(|&index| self.columns[index].is_entry())
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
