//! The table of lots.

use crate::screens::record_page;
use crate::view::View;
use domain::ledger::balance;
use domain::{Id, Project, SeedLot};
use egui::Ui;
use kit::widgets::{Column, Rows, Sort, Table, TableState};

/// What the rows depend on besides the project.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Key {
    pub(super) find: String,
    pub(super) with_seed: bool,
    pub(super) sort: Option<Sort>,
}

const CODE: usize = 0;
const ORIGIN: usize = 1;
const HARVESTED: usize = 2;
const SEEDS: usize = 3;
const LEFT: usize = 4;
const BOXES: usize = 5;
const PLACE: usize = 6;
const CONDITIONS: usize = 7;

fn columns() -> [Column; 8] {
    [
        Column::text("Code", 104.0),
        Column::text("Origin", 150.0).stretch(),
        Column::text("Harvested", 104.0),
        Column::number("Seeds", 80.0).hint("Clean seeds; ≈ where estimated from weights."),
        Column::number("Left", 72.0).hint("What the ledger leaves."),
        Column::number("Boxes", 68.0).hint("Boxes laid from it, in every year."),
        Column::text("Place", 120.0).gives_way(1),
        Column::text("Conditions", 120.0).gives_way(2),
    ]
}

/// The lots that fit, in order.
pub(super) fn rows(project: &Project, key: &Key) -> Vec<Id<SeedLot>> {
    let mut lots: Vec<&SeedLot> = project
        .seed_lots()
        .iter()
        .filter(|lot| fits(project, lot, &key.find))
        .filter(|lot| !key.with_seed || balance(project, lot.id) > 0)
        .collect();
    let Some(sort) = key.sort else {
        // The latest first: what was cleaned this season is what is worked with.
        return lots.iter().rev().map(|lot| lot.id).collect();
    };
    match sort.column {
        ORIGIN => lots.sort_by_cached_key(|lot| lot.source.words(project)),
        HARVESTED => lots.sort_by_key(|lot| lot.harvested),
        SEEDS => lots.sort_by_key(|lot| lot.amount.map(domain::SeedAmount::seeds)),
        LEFT => lots.sort_by_cached_key(|lot| balance(project, lot.id)),
        BOXES => lots.sort_by_cached_key(|lot| project.boxes_from(lot.id).count()),
        PLACE => lots.sort_by_cached_key(|lot| lot.place.to_lowercase()),
        CONDITIONS => lots.sort_by_cached_key(|lot| lot.conditions.to_lowercase()),
        _ => lots.sort_by_cached_key(|lot| lot.code.to_lowercase()),
    }
    if !sort.ascending {
        lots.reverse();
    }
    lots.into_iter().map(|lot| lot.id).collect()
}

fn fits(project: &Project, lot: &SeedLot, find: &str) -> bool {
    let holds = |text: &str| text.to_lowercase().contains(find);
    find.is_empty()
        || holds(&lot.code)
        || holds(&lot.place)
        || holds(&lot.conditions)
        || holds(&lot.source.words(project))
}

/// Draws the table; true when another row was chosen.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut TableState<Id<SeedLot>>,
    rows: &[Id<SeedLot>],
    beside: bool,
) -> bool {
    let project = view.project;
    if beside {
        let rows = Rows {
            count: rows.len(),
            key: |row: usize| rows[row],
            name: |row: usize| project.code_of(rows[row]).to_owned(),
            cell: |ui: &mut Ui, row: usize, _: usize| {
                if let Some(lot) = project.seed_lots().get(rows[row]) {
                    let left = match lot.amount {
                        Some(_) => format!("{} left", balance(project, lot.id)),
                        None => "not counted".to_owned(),
                    };
                    let origin = lot.source.words(project);
                    record_page::plain_row(ui, &lot.code, &left, &origin);
                }
            },
        };
        let columns = [Column::text("Lot", 100.0).stretch()];
        let table = Table::new("Lots", &columns).as_list();
        return table.show(ui, state, rows).changed;
    }
    let rows = Rows {
        count: rows.len(),
        key: |row: usize| rows[row],
        name: |row: usize| project.code_of(rows[row]).to_owned(),
        cell: |ui: &mut Ui, row: usize, column: usize| {
            if let Some(lot) = project.seed_lots().get(rows[row]) {
                ui.label(cell(project, lot, column));
            }
        },
    };
    Table::new("Lots", &columns()).show(ui, state, rows).changed
}

fn cell(project: &Project, lot: &SeedLot, column: usize) -> String {
    match column {
        CODE => lot.code.clone(),
        ORIGIN => lot.source.words(project),
        HARVESTED => lot.harvested.map(kit::dates::day).unwrap_or_default(),
        SEEDS => lot.amount.map(super::amount::words).unwrap_or_default(),
        LEFT if lot.amount.is_some() => balance(project, lot.id).to_string(),
        BOXES => project.boxes_from(lot.id).count().to_string(),
        PLACE => lot.place.clone(),
        CONDITIONS => lot.conditions.clone(),
        _ => String::new(),
    }
}
