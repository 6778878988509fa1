//! A table taken as it is shown: every row and column of it, for a spreadsheet. One place serves every table.
//!
//! Cells are drawn by whoever owns the table, so their words are had by drawing them: once, on a layer of their own that
//! is emptied again, and only when a person asks.

use egui::layers::ShapeIdx;
use egui::{Context, Id, LayerId, Layout, Order, Rect, Shape, Ui, UiBuilder, pos2, vec2};

use super::Column;

/// A table with all its rows, in the order in which they are shown.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TakenTable {
    /// What it is called.
    pub name: String,
    /// The head of each column.
    pub header: Vec<String>,
    /// The words of each cell.
    pub rows: Vec<Vec<String>>,
}

/// What is kept between the asking and the answer.
#[derive(Clone, Default)]
struct Taking {
    tables: Vec<TakenTable>,
}

fn key() -> Id {
    Id::unique("tables taken")
}

/// Asks every table that is drawn from here on for all its rows, until [`tables_taken`] is called.
pub fn ask_for_tables(ctx: &Context) {
    ctx.data_mut(|data| data.insert_temp(key(), Taking::default()));
}

/// The tables that were drawn since they were asked for; nothing if they weren't. Lists beside a page aren't among them.
pub fn tables_taken(ctx: &Context) -> Option<Vec<TakenTable>> {
    let taking: Taking = ctx.data_mut(|data| data.remove_temp(key()))?;
    Some(taking.tables)
}

/// Hands in a table that stands on the page in another shape, such as a list or a map, if tables are asked for.
pub fn offer_table(ctx: &Context, table: impl FnOnce() -> TakenTable) {
    if is_asked(ctx) {
        let table = table();
        ctx.data_mut(|data| {
            data.get_temp_mut_or_default::<Taking>(key())
                .tables
                .push(table);
        });
    }
}

pub(super) fn is_asked(ctx: &Context) -> bool {
    ctx.data(|data| data.get_temp::<Taking>(key()).is_some())
}

/// Draws every cell where nobody sees it, and keeps its words.
pub(super) fn take(
    ui: &mut Ui,
    name: &str,
    columns: &[Column],
    count: usize,
    draw: &mut impl FnMut(&mut Ui, usize, usize),
) {
    // Wide enough that nothing is cut.
    let rect = Rect::from_min_size(pos2(0.0, 0.0), vec2(20_000.0, 200.0));
    let layer = LayerId::new(Order::Background, key());
    let mut rows = Vec::with_capacity(count);
    for row in 0..count {
        let mut cells = Vec::with_capacity(columns.len());
        for column in 0..columns.len() {
            let from = ui.ctx().graphics_mut(|all| all.entry(layer).next_idx());
            let builder = UiBuilder::new()
                .layer_id(layer)
                .id_salt(("taken", name, row, column))
                .max_rect(rect)
                .layout(Layout::left_to_right(egui::Align::Center));
            let mut cell = ui.new_child(builder);
            cell.set_clip_rect(rect);
            draw(&mut cell, row, column);
            cells.push(emptied(ui.ctx(), layer, from));
        }
        rows.push(cells);
    }
    let taken = TakenTable {
        name: name.to_owned(),
        header: columns.iter().map(|column| column.header.clone()).collect(),
        rows,
    };
    ui.ctx().data_mut(|data| {
        data.get_temp_mut_or_default::<Taking>(key())
            .tables
            .push(taken);
    });
}

/// The words of what was drawn on a layer from a place on; it is taken away again.
fn emptied(ctx: &Context, layer: LayerId, from: ShapeIdx) -> String {
    ctx.graphics_mut(|all| {
        let list = all.entry(layer);
        let mut words = Vec::new();
        for at in from.0..list.next_idx().0 {
            list.mutate_shape(ShapeIdx(at), |shape| {
                read(&shape.shape, &mut words);
                shape.shape = Shape::Noop;
            });
        }
        words.join(" ")
    })
}

fn read(shape: &Shape, words: &mut Vec<String>) {
    match shape {
        Shape::Text(text) => {
            let said = text.galley.text().trim();
            if !said.is_empty() {
                words.push(said.to_owned());
            }
        }
        Shape::Vec(parts) => parts.iter().for_each(|part| read(part, words)),
        _ => {}
    }
}
