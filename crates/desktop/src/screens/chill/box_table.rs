//! The boxes of a batch as a table.

use crate::derived::Listing;
use crate::screens::record_page;
use crate::view::View;
use chrono::NaiveDate;
use domain::agenda::check_is_late;
use domain::ledger::BoxTally;
use domain::status::BoxStatus;
use domain::{BoxFate, Check, ChillBatch, ChillBox, Id, Project};
use egui::Ui;
use kit::state_mark::StateMark;
use kit::theme::{Meaning, space};
use kit::widgets::{Column, Rows, Sort, Table, TableState, badge, find_box};

/// What the table remembers between frames, besides its selection.
#[derive(Default)]
pub(super) struct State {
    find: String,
    listing: Listing<ChillBox, Key>,
}

impl State {
    /// Lets every box be seen.
    pub(super) fn show_all(&mut self) {
        self.find.clear();
    }
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct Key {
    batch: Id<ChillBatch>,
    find: String,
    sort: Option<Sort>,
    today: NaiveDate,
}

const CODE: usize = 0;
const LOT: usize = 1;
const STATE: usize = 2;
const LOOKED: usize = 3;
const LEFT: usize = 4;
const MOULDY: usize = 5;
const TOWEL: usize = 6;
const SPROUTED: usize = 7;
const SEEDS: usize = 8;
const CROSS: usize = 9;
const PLACE: usize = 10;

/// What is looked for first stands first: beside an open box the table shows about six columns.
fn columns() -> [Column; 11] {
    [
        Column::text("Box", 60.0),
        Column::text("Lot", 92.0),
        Column::text("State", 124.0),
        Column::text("Last check", 108.0),
        Column::number("Left", 56.0).hint("Seeds not yet accounted for."),
        Column::number("Mouldy", 70.0).hint("Mouldy seeds removed, in total."),
        Column::text("Towel", 64.0)
            .hint("How damp it was at the last check.")
            .gives_way(1),
        Column::number("Sprouted", 58.0)
            .hint("Seeds sprouted in the cold, in total.")
            .gives_way(2),
        Column::number("Seeds", 64.0)
            .hint("Seeds laid in it.")
            .gives_way(5),
        Column::text("Origin", 92.0).stretch().gives_way(3),
        Column::text("Place", 72.0).gives_way(4),
    ]
}

/// Draws the find box.
pub(super) fn find_ui(ui: &mut Ui, state: &mut State) {
    find_box(ui, "Find a box", &mut state.find);
}

/// The boxes of a batch that fit, in order, the selection held to them.
fn shown(
    ui: &Ui,
    view: &View<'_>,
    state: &mut State,
    table: &mut TableState<Id<ChillBox>>,
    batch: &ChillBatch,
) -> std::rc::Rc<[Id<ChillBox>]> {
    let key = Key {
        batch: batch.id,
        find: state.find.trim().to_lowercase(),
        sort: table.sort,
        today: view.today,
    };
    let rows = state.listing.rows(view.project, key, make_rows);
    if table.keep_shown(&rows, view.project.revision()) {
        ui.ctx().request_repaint();
    }
    rows
}

/// Draws the table; true when the selection changed.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    table: &mut TableState<Id<ChillBox>>,
    batch: &ChillBatch,
) -> bool {
    let project = view.project;
    let rows = shown(ui, view, state, table, batch);
    let height = space::ROW * (rows.len().min(10) + 1) as f32 + 14.0;
    let rows = Rows {
        count: rows.len(),
        key: |row: usize| rows[row],
        name: |row: usize| format!("Box {}", project.code_of(rows[row])),
        cell: |ui: &mut Ui, row: usize, column: usize| {
            if let Some(chill_box) = project.chill_boxes().get(rows[row]) {
                cell_ui(ui, view, batch, chill_box, column);
            }
        },
    };
    let boxes = columns();
    let boxes = Table::new("Boxes", &boxes).max_height(height);
    ui.allocate_ui(egui::vec2(ui.available_width(), height), |ui| {
        boxes.show(ui, table, rows).changed
    })
    .inner
}

/// Draws the boxes as a list beside the page of one; true when the selection changed.
pub(super) fn list(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    table: &mut TableState<Id<ChillBox>>,
    batch: &ChillBatch,
) -> bool {
    let project = view.project;
    let rows = shown(ui, view, state, table, batch);
    let rows = Rows {
        count: rows.len(),
        key: |row: usize| rows[row],
        name: |row: usize| format!("Box {}", project.code_of(rows[row])),
        cell: |ui: &mut Ui, row: usize, _: usize| {
            if let Some(chill_box) = project.chill_boxes().get(rows[row]) {
                let status = BoxStatus::of(project, chill_box, view.today);
                let lot = project.code_of(chill_box.lot);
                let left = BoxTally::of(project, chill_box).left();
                let last = last_look(project, chill_box).map_or_else(
                    || "not checked yet".to_owned(),
                    |look| format!("checked {}", ago((view.today - look.date).num_days())),
                );
                let second = format!("{lot}, {left} left, {last}");
                let (code, words) = (&chill_box.code, status.words());
                match status {
                    BoxStatus::Gone(_) => {
                        record_page::list_row(ui, code, (StateMark::Failed, words), &second, true);
                    }
                    BoxStatus::Ready => {
                        record_page::list_row(ui, code, (StateMark::Soon, words), &second, false);
                    }
                    _ => record_page::plain_row(ui, code, words, &second),
                }
            }
        },
    };
    let columns = [Column::text("Box", 100.0).stretch()];
    kit::page_keys::declare(ui, [("↑ ↓", "box")]);
    let boxes = Table::new("Boxes", &columns).as_list();
    boxes.show(ui, table, rows).changed
}

fn make_rows(project: &Project, key: &Key) -> Vec<Id<ChillBox>> {
    let mut boxes: Vec<&ChillBox> = project
        .boxes_of(key.batch)
        .filter(|each| fits(project, each, &key.find))
        .collect();
    if let Some(sort) = key.sort {
        let tally = |each: &&ChillBox| BoxTally::of(project, each);
        match sort.column {
            STATE => {
                boxes.sort_by_cached_key(|each| BoxStatus::of(project, each, key.today).words());
            }
            LOT => boxes.sort_by_cached_key(|each| project.code_of(each.lot).to_lowercase()),
            CROSS => boxes.sort_by_cached_key(|each| origin(project, each)),
            SEEDS => boxes.sort_by_key(|each| each.seeds),
            LEFT => boxes.sort_by_cached_key(|each| tally(each).left()),
            LOOKED => {
                boxes.sort_by_cached_key(|each| last_look(project, each).map(|look| look.date));
            }
            TOWEL => boxes.sort_by_cached_key(|each| towel(project, each)),
            MOULDY => boxes.sort_by_cached_key(|each| tally(each).mouldy),
            SPROUTED => boxes.sort_by_cached_key(|each| tally(each).sprouted_early),
            PLACE => boxes.sort_by_cached_key(|each| each.place.to_lowercase()),
            _ => boxes.sort_by_cached_key(|each| each.code.to_lowercase()),
        }
        if !sort.ascending {
            boxes.reverse();
        }
    }
    boxes.into_iter().map(|each| each.id).collect()
}

fn fits(project: &Project, chill_box: &ChillBox, find: &str) -> bool {
    let holds = |text: &str| text.to_lowercase().contains(find);
    find.is_empty()
        || holds(&chill_box.code)
        || holds(&chill_box.place)
        || holds(project.code_of(chill_box.lot))
        || holds(&origin(project, chill_box))
}

/// Where the seed of a box comes from.
pub(super) fn origin(project: &Project, chill_box: &ChillBox) -> String {
    project
        .seed_lots()
        .get(chill_box.lot)
        .map(|lot| lot.source.words(project))
        .unwrap_or_default()
}

fn last_look<'a>(project: &'a Project, chill_box: &ChillBox) -> Option<&'a Check> {
    project.checks_of(chill_box.id).last()
}

/// How damp the towel was when last noted.
fn towel(project: &Project, chill_box: &ChillBox) -> &'static str {
    project
        .checks_of(chill_box.id)
        .filter_map(|check| check.moisture)
        .last()
        .map_or("", domain::Moisture::word)
}

fn cell_ui(ui: &mut Ui, view: &View<'_>, batch: &ChillBatch, chill_box: &ChillBox, column: usize) {
    let project = view.project;
    let tally = || BoxTally::of(project, chill_box);
    let some = |count: u32| match count {
        0 => String::new(),
        count => count.to_string(),
    };
    match column {
        CODE => ui.label(&chill_box.code),
        STATE => {
            let status = BoxStatus::of(project, chill_box, view.today);
            badge(ui, meaning(status), status.words())
        }
        LOT => ui.label(project.code_of(chill_box.lot)),
        CROSS => ui.label(origin(project, chill_box)),
        SEEDS => ui.label(chill_box.seeds.to_string()),
        LEFT => ui.label(tally().left().to_string()),
        LOOKED => looked_ui(ui, view, batch, chill_box),
        TOWEL => ui.label(towel(project, chill_box)),
        MOULDY => ui.label(some(tally().mouldy)),
        SPROUTED => ui.label(some(tally().sprouted_early)),
        _ => ui.label(&chill_box.place),
    };
}

/// When a box was last checked; marked where the next check is late.
fn looked_ui(
    ui: &mut Ui,
    view: &View<'_>,
    batch: &ChillBatch,
    chill_box: &ChillBox,
) -> egui::Response {
    let last = last_look(view.project, chill_box);
    let words = last.map_or_else(
        || "never".to_owned(),
        |look| ago((view.today - look.date).num_days()),
    );
    let in_cold = BoxStatus::of(view.project, chill_box, view.today).in_cold();
    if in_cold && check_is_late(&batch.regimen, batch.start, last, view.today) {
        return badge(ui, Meaning::Late, &words).on_hover_text("The next check is overdue.");
    }
    let words = if last.is_none() && !in_cold {
        String::new()
    } else {
        words
    };
    ui.label(words)
}

/// So many days ago, in words.
pub(super) fn ago(days: i64) -> String {
    match days {
        0 => "today".into(),
        1 => "yesterday".into(),
        2.. => format!("{days} days ago"),
        _ => format!("in {} days", -days),
    }
}

/// The meaning of how a box stands.
pub(super) const fn meaning(status: BoxStatus) -> Meaning {
    match status {
        BoxStatus::InCold | BoxStatus::InWarmth => Meaning::Good,
        BoxStatus::Ready => Meaning::Soon,
        BoxStatus::Gone(BoxFate::Lost | BoxFate::Discarded) => Meaning::Late,
        BoxStatus::Planned
        | BoxStatus::LeftCold
        | BoxStatus::Closed
        | BoxStatus::Gone(BoxFate::Returned) => Meaning::Plain,
    }
}
