//! Which records have changes that aren't on the disk though they should be: their rows and their pages say so, wherever
//! they are drawn.

use crate::state_mark::{StateMark, state};
use crate::theme::tokens;
use egui::{Context, Id, Rect, Role, Sense, Ui, WidgetInfo, vec2};
use std::collections::{BTreeSet, HashSet};
use std::hash::{DefaultHasher, Hash, Hasher as _};
use std::sync::Arc;

/// What a row or a page says of such a record.
pub const WORDS: &str = "not on the disk";

/// The records, as the keys of rows and as the names of pages.
#[derive(Debug, Clone, Default)]
pub struct Unkept {
    keys: HashSet<u64>,
    names: BTreeSet<String>,
}

impl Unkept {
    /// Adds a record by what rows are keyed with.
    pub fn add_key(&mut self, key: impl Hash) {
        self.keys.insert(sum(&key));
    }

    /// Adds a record by what its page is drawn [about](crate::drafts::about).
    pub fn add_name(&mut self, name: &impl ToString) {
        self.names.insert(name.to_string());
    }

    /// Whether the row of this key is of such a record.
    pub fn has_key(&self, key: impl Hash) -> bool {
        self.keys.contains(&sum(&key))
    }
}

fn sum(key: &impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    key.hash(&mut hasher);
    hasher.finish()
}

fn place() -> Id {
    Id::unique("records not on the disk")
}

/// Says which records these are, from this frame on.
pub fn tell(ctx: &Context, unkept: Unkept) {
    ctx.data_mut(|data| {
        if unkept.names.is_empty() {
            data.remove::<Arc<Unkept>>(place());
        } else {
            data.insert_temp(place(), Arc::new(unkept));
        }
    });
}

/// The records, if there are any.
pub fn told(ctx: &Context) -> Option<Arc<Unkept>> {
    ctx.data(|data| data.get_temp(place()))
}

/// Marks a row that isn't a table's, if its record is one of them: at its left edge, as tables do. `name` is what the row
/// is called.
pub fn row_ui(ui: &mut Ui, row: Rect, key: impl Hash, name: &str) {
    if !told(ui.ctx()).is_some_and(|unkept| unkept.has_key(&key)) {
        return;
    }
    let edge = Rect::from_min_size(row.min, vec2(4.0, row.height()));
    let ink = StateMark::Danger.ink(tokens(ui));
    ui.painter().rect_filled(edge, 0, ink);
    let id = ui.make_persistent_id(("not on the disk", sum(&key)));
    let mark = ui.interact(edge, id, Sense::hover());
    mark.widget_info(|| WidgetInfo::labeled(Role::Status, true, format!("{name}, {WORDS}")));
    mark.on_hover_text("It is tried again every second. Until then a loss of power would take it.");
}

/// Says it on the page about this record.
pub(crate) fn page_ui(ui: &mut Ui, name: &str) {
    if told(ui.ctx()).is_some_and(|unkept| unkept.names.contains(name)) {
        state(
            ui,
            StateMark::Danger,
            "The last change here is not on the disk",
        )
        .on_hover_text("It is tried again every second. Until then a loss of power would take it.");
    }
}
