//! The header of a table: names, sort marks, widths drawn by hand.

use egui::{
    CursorIcon, FontId, Id, Rect, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};

use super::{Column, Sort, TableState};
use crate::{
    fonts::mark,
    theme::{space, tokens, type_size},
};

const MIN_WIDTH: f32 = 36.0;
const GRIP: f32 = 4.0;
/// The width of the mark for columns left out: that of the scroll bar under it, and a little.
const MORE: f32 = 24.0;

pub(super) struct HeaderRow<'a> {
    pub(super) columns: &'a [Column],
    pub(super) lefts: &'a [f32],
    pub(super) rect: Rect,
    /// How far the body is scrolled to the right.
    pub(super) offset: f32,
    pub(super) id: Id,
    /// The columns there is no room for.
    pub(super) left_out: &'a [&'a str],
}

impl HeaderRow<'_> {
    /// Draws the header; returns the sort asked for by a click.
    pub(super) fn show<Key: Copy + Ord>(
        &self,
        ui: &mut Ui,
        state: &mut TableState<Key>,
    ) -> Option<Sort> {
        let outer_clip = ui.clip_rect();
        ui.shrink_clip_rect(self.rect);
        paint_ground(ui, self.rect);
        let mut asked = None;
        if !self.left_out.is_empty() {
            // The mark of what is left out covers no header.
            ui.shrink_clip_rect(self.rect.with_max_x(self.rect.right() - MORE));
        }
        for (index, column) in self.columns.iter().enumerate() {
            let rect =
                Rect::from_x_y_ranges(self.x(index)..=self.x(index + 1), self.rect.y_range());
            if rect.width() <= 0.0 {
                continue;
            }
            if self.cell(ui, rect, index, column, state) {
                asked = Some(state.toggle_sort(index));
            }
        }
        for index in 0..self.columns.len() {
            if self.lefts[index] < self.lefts[index + 1] {
                self.grip(ui, index, state);
            }
        }
        ui.set_clip_rect(outer_clip.intersect(self.rect));
        self.tell_left_out(ui);
        paint_rule(ui, self.rect);
        ui.set_clip_rect(outer_clip);
        asked
    }

    /// A mark at the right edge that names the columns left out.
    fn tell_left_out(&self, ui: &Ui) {
        if self.left_out.is_empty() {
            return;
        }
        let colours = tokens(ui);
        let rect = self.rect.with_min_x(self.rect.right() - MORE);
        let words = format!(
            "No room for: {}. A wider window shows more.",
            self.left_out.join(", ")
        );
        let response = ui.interact(rect, self.id.with("left out"), Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &words));
        ui.painter().rect_filled(rect, 0, colours.sunken);
        ui.painter().text(
            rect.center(),
            egui::Align2::CENTER_CENTER,
            format!("+{}", self.left_out.len()),
            FontId::proportional(type_size::SMALL),
            colours.muted,
        );
        response.on_hover_text(words);
    }

    fn x(&self, edge: usize) -> f32 {
        self.rect.left() - self.offset + self.lefts[edge]
    }

    /// Draws one header; true when it was clicked.
    fn cell<Key>(
        &self,
        ui: &Ui,
        rect: Rect,
        index: usize,
        column: &Column,
        state: &TableState<Key>,
    ) -> bool {
        let colours = tokens(ui);
        let sort = state.sort.filter(|sort| sort.column == index);
        let sense = if column.sortable {
            Sense::click()
        } else {
            Sense::hover()
        };
        let response = ui.interact(rect, self.id.with(("header", index)), sense);
        response.widget_info(|| {
            let order = match sort {
                Some(Sort {
                    ascending: true, ..
                }) => ", sorted ascending",
                Some(Sort {
                    ascending: false, ..
                }) => ", sorted descending",
                None => "",
            };
            WidgetInfo::labeled(
                Role::ColumnHeader,
                true,
                format!("{}{order}", column.header),
            )
        });
        if column.sortable && response.hovered() {
            ui.painter().rect_filled(rect, 0, colours.hover);
        }
        let truncated = paint_name(ui, rect, column, sort);
        if response.has_focus() {
            let stroke = Stroke::new(2.0, colours.accent);
            ui.painter()
                .rect_stroke(rect, 0, stroke, StrokeKind::Inside);
        }
        let clicked = response.clicked();
        match &column.hint {
            Some(hint) => {
                response.on_hover_text(hint);
            }
            None if truncated => {
                response.on_hover_text(&column.header);
            }
            None => {}
        }
        clicked
    }

    /// The edge between two columns, to drag.
    fn grip<Key>(&self, ui: &Ui, index: usize, state: &mut TableState<Key>) {
        let x = self.x(index + 1);
        let rect = Rect::from_x_y_ranges(x - GRIP..=x + GRIP, self.rect.y_range());
        let response = ui.interact(rect, self.id.with(("grip", index)), Sense::DRAG);
        response.widget_info(|| {
            WidgetInfo::labeled(
                Role::Splitter,
                true,
                format!("Width of {}", self.columns[index].header),
            )
        });
        let colours = tokens(ui);
        let held = response.hovered() || response.dragged();
        let ink = if held { colours.accent } else { colours.rule };
        ui.painter().vline(
            x - 0.5,
            self.rect.shrink(space::XS).y_range(),
            Stroke::new(1.0, ink),
        );
        if response.dragged() {
            let width = self.lefts[index + 1] - self.lefts[index] + response.drag_delta().x;
            state.widths.insert(index, width.max(MIN_WIDTH));
        }
        response.on_hover_and_drag_cursor(CursorIcon::ResizeHorizontal);
    }
}

/// The ground of a header.
pub(super) fn paint_ground(ui: &Ui, rect: Rect) {
    ui.painter().rect_filled(rect, 0, tokens(ui).sunken);
}

/// The rule beneath a header.
pub(super) fn paint_rule(ui: &Ui, rect: Rect) {
    let stroke = Stroke::new(1.0, tokens(ui).outline);
    ui.painter()
        .hline(rect.x_range(), rect.bottom() - 0.5, stroke);
}

/// The name of a column, over its figures at the right or over its words at the left, with the mark of its order; true
/// where it had to be cut.
pub(super) fn paint_name(ui: &Ui, rect: Rect, column: &Column, sort: Option<Sort>) -> bool {
    let colours = tokens(ui);
    let font = FontId::proportional(type_size::SMALL);
    let ink = if sort.is_some() {
        colours.ink
    } else {
        colours.muted
    };
    let inner = rect.shrink2(vec2(space::S, 0.0));
    let arrow = sort.map(|sort| {
        let text = if sort.ascending {
            mark::ASCENDING
        } else {
            mark::DESCENDING
        };
        ui.painter()
            .layout_no_wrap(text.to_owned(), FontId::proportional(9.0), ink)
    });
    let arrow_width = arrow
        .as_ref()
        .map_or(0.0, |arrow| arrow.size().x + space::XS);
    let mut job = egui::text::LayoutJob::simple_singleline(column.header.clone(), font, ink);
    job.wrap = egui::text::TextWrapping::truncate_at_width((inner.width() - arrow_width).max(0.0));
    let text = ui.painter().layout_job(job);
    let truncated = text.elided;
    let text_left = if column.is_number() {
        inner.right() - text.size().x
    } else {
        inner.left()
    };
    let arrow_left = if column.is_number() {
        text_left - arrow_width
    } else {
        text_left + text.size().x + space::XS
    };
    let middle = |height: f32| rect.center().y - height / 2.0;
    ui.painter()
        .galley(pos2(text_left, middle(text.size().y)), text, ink);
    if let Some(arrow) = arrow {
        ui.painter()
            .galley(pos2(arrow_left, middle(arrow.size().y)), arrow, ink);
    }
    truncated
}
