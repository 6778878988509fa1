//! Tables and score entry, driven by name and by keyboard alone.

use std::collections::BTreeSet;

use egui::{Event, Key, Modifiers, Role};
use egui_kittest::{Harness, kittest::Queryable as _};
use kit::{
    theme::Theme,
    widgets::{Column, Entry, Rows, Sort, Table, TableState},
};

struct Screen {
    order: Vec<u32>,
    columns: Vec<Column>,
    table: TableState<u32>,
    sorts: Vec<Sort>,
    opened: Option<u32>,
    entries: Vec<Entry<u32>>,
    drawn: BTreeSet<usize>,
}

fn code(key: u32) -> String {
    format!("B26-{key:03}")
}

fn harness(count: u32, columns: Vec<Column>) -> Harness<'static, Screen> {
    let screen = Screen {
        order: (0..count).collect(),
        columns,
        table: TableState::default(),
        sorts: Vec::new(),
        opened: None,
        entries: Vec::new(),
        drawn: BTreeSet::new(),
    };
    let mut harness = Harness::builder()
        .with_size([640.0, 400.0])
        .with_context_setup(|ctx| Theme::Light.apply(ctx))
        .build_ui_state(
            |ui, screen: &mut Screen| {
                let Screen {
                    order,
                    columns,
                    table,
                    sorts,
                    opened,
                    entries,
                    drawn,
                } = screen;
                drawn.clear();
                let rows = Rows {
                    count: order.len(),
                    key: |row: usize| order[row],
                    name: |row: usize| code(order[row]),
                    cell: |ui: &mut egui::Ui, row: usize, column: usize| {
                        drawn.insert(row);
                        ui.label(if column == 0 {
                            code(order[row])
                        } else {
                            order[row].to_string()
                        });
                    },
                };
                let response = Table::new("Seedlings", columns).show(ui, table, rows);
                sorts.extend(response.sort);
                *opened = response.opened.or(*opened);
                entries.extend(response.entries);
            },
            screen,
        );
    harness.run();
    harness
}

fn plain() -> Vec<Column> {
    vec![
        Column::text("Code", 120.0),
        Column::number("Height, cm", 100.0),
        Column::text("Note", 80.0).unsortable(),
    ]
}

fn scores() -> Vec<Column> {
    vec![
        Column::text("Code", 120.0),
        Column::score("Vigour", 80.0),
        Column::score("Mildew", 80.0),
    ]
}

fn selected(harness: &Harness<'_, Screen>) -> Vec<u32> {
    harness.state().table.selected.iter().copied().collect()
}

fn focus_table(harness: &mut Harness<'_, Screen>) {
    harness
        .get_by_role_and_label(Role::Table, "Seedlings")
        .focus();
    harness.run();
}

fn press(harness: &mut Harness<'_, Screen>, key: Key) {
    harness.key_press(key);
    harness.run();
}

#[test]
fn a_click_selects_one_row_and_its_name_says_so() {
    let mut harness = harness(100, plain());
    harness.get_by_role_and_label(Role::Row, "B26-003").click();
    harness.run();
    assert_eq!(selected(&harness), [3]);
    harness.get_by_role_and_label(Role::Row, "B26-003, selected");
}

#[test]
fn shift_and_ctrl_select_many() {
    let mut harness = harness(100, plain());
    harness.get_by_role_and_label(Role::Row, "B26-002").click();
    harness.run();
    harness
        .get_by_role_and_label(Role::Row, "B26-005")
        .click_modifiers(Modifiers::SHIFT);
    harness.run();
    assert_eq!(selected(&harness), [2, 3, 4, 5]);
    harness
        .get_by_role_and_label(Role::Row, "B26-003, selected")
        .click_modifiers(Modifiers::COMMAND);
    harness.run();
    assert_eq!(selected(&harness), [2, 4, 5]);
    harness
        .get_by_role_and_label(Role::Row, "B26-008")
        .click_modifiers(Modifiers::COMMAND);
    harness.run();
    assert_eq!(selected(&harness), [2, 4, 5, 8]);
}

#[test]
fn the_keyboard_walks_a_long_table_from_end_to_end() {
    let mut harness = harness(100_000, plain());
    focus_table(&mut harness);
    assert_eq!(
        selected(&harness),
        [0],
        "the first row is under the cursor when the table is reached"
    );
    press(&mut harness, Key::ArrowDown);
    press(&mut harness, Key::ArrowDown);
    press(&mut harness, Key::ArrowUp);
    assert_eq!(selected(&harness), [1]);
    press(&mut harness, Key::End);
    assert_eq!(selected(&harness), [99_999]);
    assert!(
        harness.state().drawn.contains(&99_999),
        "the last row is scrolled into view"
    );
    harness.get_by_role_and_label(Role::Row, "B26-99999, selected");
    press(&mut harness, Key::PageUp);
    let page_up = selected(&harness)[0];
    assert!((99_950..99_995).contains(&page_up), "{page_up}");
    press(&mut harness, Key::Home);
    assert_eq!(selected(&harness), [0]);
    assert!(harness.state().drawn.contains(&0));
    harness.key_press_modifiers(Modifiers::SHIFT, Key::ArrowDown);
    harness.run();
    assert_eq!(selected(&harness), [0, 1]);
    press(&mut harness, Key::Enter);
    assert_eq!(harness.state().opened, Some(1));
}

#[test]
fn only_rows_in_view_are_drawn() {
    let harness = harness(100_000, plain());
    let drawn = harness.state().drawn.len();
    assert!(
        (10..=20).contains(&drawn),
        "{drawn} rows in a table 400 points high"
    );
}

#[test]
fn a_header_reports_the_sort_and_turns_it_round() {
    let mut harness = harness(20, plain());
    harness
        .get_by_role_and_label(Role::ColumnHeader, "Height, cm")
        .click();
    harness.run();
    harness
        .get_by_role_and_label(Role::ColumnHeader, "Height, cm, sorted ascending")
        .click();
    harness.run();
    harness.get_by_role_and_label(Role::ColumnHeader, "Height, cm, sorted descending");
    harness
        .get_by_role_and_label(Role::ColumnHeader, "Note")
        .click();
    harness.run();
    let expected = [
        Sort {
            column: 1,
            ascending: true,
        },
        Sort {
            column: 1,
            ascending: false,
        },
    ];
    assert_eq!(
        harness.state().sorts,
        expected,
        "a column that can't be sorted reports nothing"
    );
}

#[test]
fn a_header_can_be_pressed_by_keyboard() {
    let mut harness = harness(20, plain());
    harness
        .get_by_role_and_label(Role::ColumnHeader, "Code")
        .focus();
    harness.run();
    press(&mut harness, Key::Enter);
    assert_eq!(
        harness.state().sorts,
        [Sort {
            column: 0,
            ascending: true
        }]
    );
}

#[test]
fn selection_stays_with_its_record_when_the_order_turns() {
    let mut harness = harness(1000, plain());
    harness.get_by_role_and_label(Role::Row, "B26-004").click();
    harness.run();
    harness.state_mut().order.reverse();
    harness.state_mut().table.select_only(4);
    harness.run();
    assert_eq!(selected(&harness), [4]);
    assert!(
        harness.state().drawn.contains(&995),
        "the row is brought into view at its new place"
    );
    press(&mut harness, Key::ArrowUp);
    assert_eq!(selected(&harness), [5]);
}

#[test]
fn a_row_filtered_away_leaves_the_keyboard_at_the_top() {
    let mut harness = harness(50, plain());
    harness.get_by_role_and_label(Role::Row, "B26-004").click();
    harness.run();
    harness.state_mut().order = vec![7, 8, 9];
    harness.run();
    press(&mut harness, Key::ArrowDown);
    assert_eq!(selected(&harness), [7]);
}

#[test]
fn an_empty_table_takes_keys_without_harm() {
    let mut harness = harness(0, plain());
    focus_table(&mut harness);
    for key in [
        Key::ArrowDown,
        Key::End,
        Key::Enter,
        Key::Space,
        Key::PageUp,
    ] {
        press(&mut harness, key);
    }
    assert!(selected(&harness).is_empty());
}

fn type_text(harness: &mut Harness<'_, Screen>, text: &str) {
    harness.event(Event::Text(text.to_owned()));
    harness.run();
}

fn entered(harness: &Harness<'_, Screen>) -> Vec<(usize, usize, Option<u8>)> {
    harness
        .state()
        .entries
        .iter()
        .map(|entry| (entry.row, entry.column, entry.digit))
        .collect()
}

#[test]
fn scores_go_down_a_column_by_digits_alone() {
    let mut harness = harness(30, scores());
    focus_table(&mut harness);
    harness.get_by_role_and_label(Role::Cell, "B26-000, Vigour");
    type_text(&mut harness, "7");
    type_text(&mut harness, ".");
    type_text(&mut harness, "5");
    press(&mut harness, Key::ArrowRight);
    harness.get_by_role_and_label(Role::Cell, "B26-003, Mildew");
    type_text(&mut harness, "9");
    press(&mut harness, Key::ArrowLeft);
    press(&mut harness, Key::ArrowUp);
    press(&mut harness, Key::Backspace);
    assert_eq!(
        entered(&harness),
        [
            (0, 1, Some(7)),
            (2, 1, Some(5)),
            (3, 2, Some(9)),
            (3, 1, None)
        ]
    );
}

#[test]
fn digits_typed_faster_than_frames_keep_their_rows() {
    let mut harness = harness(30, scores());
    focus_table(&mut harness);
    for text in ["1", "2", "3"] {
        harness.event(Event::Text(text.to_owned()));
    }
    harness.run();
    assert_eq!(
        entered(&harness),
        [(0, 1, Some(1)), (1, 1, Some(2)), (2, 1, Some(3))]
    );
}

#[test]
fn scores_stop_at_the_last_row_and_refuse_other_signs() {
    let mut harness = harness(3, scores());
    focus_table(&mut harness);
    press(&mut harness, Key::End);
    for text in ["0", "x", "12"] {
        type_text(&mut harness, text);
    }
    assert!(entered(&harness).is_empty());
    type_text(&mut harness, "4");
    harness.get_by_role_and_label(Role::Cell, "B26-002, Vigour");
    assert_eq!(entered(&harness), [(2, 1, Some(4))]);
}

#[test]
fn a_click_in_a_score_column_moves_the_cursor_there() {
    let mut harness = harness(30, scores());
    let row = harness.get_by_role_and_label(Role::Row, "B26-006").rect();
    let at = egui::pos2(row.left() + 240.0, row.center().y);
    harness.hover_at(at);
    harness.drag_at(at);
    harness.drop_at(at);
    harness.run();
    type_text(&mut harness, "3");
    assert_eq!(entered(&harness), [(6, 2, Some(3))]);
}

#[test]
fn columns_give_way_in_a_narrow_window_and_the_header_names_them() {
    let mut harness = harness(
        5,
        vec![
            Column::text("Code", 240.0),
            Column::text("Born", 200.0).gives_way(2),
            Column::text("Place", 100.0).gives_way(1),
            Column::number("Height, cm", 200.0),
        ],
    );
    harness.get_by_label("Place");
    assert!(harness.query_by_label("Born").is_none());
    harness.get_by_label("No room for: Born. A wider window shows more.");
    harness.set_size(egui::vec2(900.0, 400.0));
    harness.run();
    harness.get_by_label("Born");
    assert!(harness.query_by_label_contains("No room for").is_none());
}
