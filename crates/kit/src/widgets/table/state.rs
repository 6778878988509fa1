//! What a table remembers between frames: sort, cursor, selection, column widths.

use std::collections::{BTreeMap, BTreeSet};

/// A column and the direction it is sorted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sort {
    /// Index of the column.
    pub column: usize,
    /// Smallest first.
    pub ascending: bool,
}

/// What a table remembers between frames. `Key` names a row for good, whatever the order of the rows.
#[derive(Clone, Debug)]
pub struct TableState<Key> {
    /// The sort last asked for by a click on a header; the caller sorts its rows by it.
    pub sort: Option<Sort>,
    /// The rows selected.
    pub selected: BTreeSet<Key>,
    /// The row under the keyboard cursor.
    pub(super) cursor: Option<Key>,
    /// Where `cursor` was last seen.
    pub(super) cursor_row: usize,
    /// The column under the cursor, in tables with columns for entry.
    pub(super) cursor_column: usize,
    /// Where a selection with shift began.
    pub(super) anchor: Option<Key>,
    /// Bring the cursor into view in the next frame.
    pub(super) reveal: bool,
    /// The rows, the revision and the number selected that the selection was last held against.
    pub(super) kept_for: Option<(usize, usize, u64, usize)>,
    /// Widths changed by hand, by column.
    pub(super) widths: BTreeMap<usize, f32>,
}

impl<Key> Default for TableState<Key> {
    fn default() -> Self {
        Self {
            sort: None,
            selected: BTreeSet::new(),
            cursor: None,
            cursor_row: 0,
            cursor_column: 0,
            anchor: None,
            reveal: false,
            kept_for: None,
            widths: BTreeMap::new(),
        }
    }
}

impl<Key: Copy + Ord> TableState<Key> {
    /// A table sorted by `column` to begin with.
    pub fn sorted_by(column: usize, ascending: bool) -> Self {
        Self {
            sort: Some(Sort { column, ascending }),
            ..Self::default()
        }
    }

    /// Selects one row alone, puts the cursor on it and brings it into view.
    pub fn select_only(&mut self, key: Key) {
        self.selected = BTreeSet::from([key]);
        self.cursor = Some(key);
        self.anchor = Some(key);
        self.reveal = true;
    }

    /// Takes out of the selection what is not among the rows shown: what can't be seen can't be acted on. True if
    /// anything was taken out. `rows` and the revision they are of tell whether there is anything to look for.
    pub fn keep_shown(&mut self, rows: &[Key], revision: u64) -> bool {
        let looked_for = (
            rows.as_ptr() as usize,
            rows.len(),
            revision,
            self.selected.len(),
        );
        if self.kept_for == Some(looked_for) {
            return false;
        }
        let changed = crate::selection::keep_shown(&mut self.selected, rows);
        self.kept_for = Some((
            rows.as_ptr() as usize,
            rows.len(),
            revision,
            self.selected.len(),
        ));
        changed
    }

    /// Selects nothing.
    pub fn clear_selection(&mut self) {
        self.selected.clear();
        self.anchor = None;
    }

    /// The column under the cursor, in a table with columns for entry.
    pub fn cursor_column(&self) -> usize {
        self.cursor_column
    }

    /// Puts the cursor in this column.
    pub fn set_cursor_column(&mut self, column: usize) {
        self.cursor_column = column;
        self.reveal = true;
    }

    /// Moves the cursor to the next of these rows, as a score typed does.
    pub fn step_down(&mut self, rows: &[Key]) {
        let key = |row: usize| rows[row];
        if let Some(row) = self.find_cursor(rows.len(), &key) {
            self.go_to((row + 1).min(rows.len() - 1), false, &key, rows.len());
        }
    }

    /// The row under the keyboard cursor.
    pub fn cursor(&self) -> Option<Key> {
        self.cursor
    }

    /// The one row selected, when it is just one.
    pub fn only_selected(&self) -> Option<Key> {
        match self.selected.len() {
            1 => self.selected.first().copied(),
            _ => None,
        }
    }

    pub(super) fn toggle_sort(&mut self, column: usize) -> Sort {
        let ascending = !self
            .sort
            .is_some_and(|sort| sort.column == column && sort.ascending);
        let sort = Sort { column, ascending };
        self.sort = Some(sort);
        self.reveal = self.cursor.is_some();
        sort
    }

    /// The present row of the cursor: where it was, or searched for when the rows have moved.
    pub(super) fn find_cursor(
        &mut self,
        count: usize,
        key: &impl Fn(usize) -> Key,
    ) -> Option<usize> {
        let cursor = self.cursor?;
        if self.cursor_row >= count || key(self.cursor_row) != cursor {
            self.cursor_row = (0..count).find(|&row| key(row) == cursor)?;
        }
        Some(self.cursor_row)
    }

    /// Moves the cursor to `row`; `extend` selects from the anchor to there, otherwise the row alone.
    pub(super) fn go_to(
        &mut self,
        row: usize,
        extend: bool,
        key: &impl Fn(usize) -> Key,
        count: usize,
    ) {
        let target = key(row);
        let anchor_row = self
            .anchor
            .filter(|_| extend)
            .and_then(|anchor| (0..count).find(|&row| key(row) == anchor));
        if let Some(from) = anchor_row {
            self.selected = (from.min(row)..=from.max(row)).map(key).collect();
        } else {
            self.selected = BTreeSet::from([target]);
            self.anchor = Some(target);
        }
        self.cursor = Some(target);
        self.cursor_row = row;
        self.reveal = true;
    }

    /// Adds `row` to the selection or takes it out.
    pub(super) fn toggle(&mut self, row: usize, key: &impl Fn(usize) -> Key) {
        let target = key(row);
        if !self.selected.remove(&target) {
            self.selected.insert(target);
        }
        self.cursor = Some(target);
        self.cursor_row = row;
        self.anchor = Some(target);
        self.reveal = true;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cursor_is_found_again_when_rows_move() {
        let mut state = TableState::<u32>::default();
        let key = |row: usize| row as u32;
        state.go_to(7, false, &key, 10);
        let reversed = |row: usize| 9 - row as u32;
        assert_eq!(state.find_cursor(10, &reversed), Some(2));
        assert_eq!(
            state.find_cursor(2, &reversed),
            None,
            "the row is filtered away"
        );
    }

    #[test]
    fn shift_selects_from_the_anchor_both_ways() {
        let mut state = TableState::<u32>::default();
        let key = |row: usize| row as u32;
        state.go_to(5, false, &key, 10);
        state.go_to(7, true, &key, 10);
        assert_eq!(state.selected, BTreeSet::from([5, 6, 7]));
        state.go_to(3, true, &key, 10);
        assert_eq!(state.selected, BTreeSet::from([3, 4, 5]));
    }

    #[test]
    fn sort_turns_round_on_the_second_click() {
        let mut state = TableState::<u32>::default();
        assert_eq!(
            state.toggle_sort(1),
            Sort {
                column: 1,
                ascending: true
            }
        );
        assert_eq!(
            state.toggle_sort(1),
            Sort {
                column: 1,
                ascending: false
            }
        );
        assert_eq!(
            state.toggle_sort(0),
            Sort {
                column: 0,
                ascending: true
            }
        );
    }
}
