//! The grid: a row a plant, a column a trait; only what is in view is looked up and drawn.

use super::keys::{self, InHand, Press};
use super::{Column, Cursor, Sheet, Shown, Spot, State, cells, columns, pasted};
use crate::view::{Outbox, View};
use domain::{Genotype, Id, Observation};
use egui::text::{CCursor, CCursorRange};
use egui::{
    Align, Align2, Event, EventFilter, Layout, Pos2, Rect, Role, ScrollArea, Sense, Stroke,
    TextEdit, Ui, UiBuilder, Vec2, WidgetInfo, pos2, vec2,
};
use kit::fonts::mark;
use kit::page_keys;
use kit::theme::{self, space, tokens, type_size};
use kit::widgets::{focus_outline, in_hand, one_line, one_line_right};

/// What the grid remembers between frames.
#[derive(Default)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is asked for once and carried out in the next frame"
)]
pub(super) struct Memory {
    /// What was pressed faster than it could be carried out.
    later: Vec<Event>,
    /// A digit, a whole entry, has just led to the next cell.
    went_on: bool,
    offset: Vec2,
    height: f32,
    was_focused: bool,
    /// What the cell in hand holds is to be selected, so that what is typed replaces it.
    select: bool,
    /// The keyboard is to come to the cell in hand.
    focus: bool,
    /// The hand is to go on as after Enter.
    on: bool,
}

impl Memory {
    pub(super) const fn goes_on(&mut self) {
        self.on = true;
    }

    pub(super) const fn gets_keys(&mut self) {
        self.focus = true;
        self.select = true;
    }
}

const ROW: f32 = 32.0;
const HEAD: f32 = 44.0;
const CODE: f32 = 132.0;
const REMARK: f32 = 220.0;

/// The left edges of the columns from the first trait on, and the right edge of all.
fn edges(shown: &Shown<'_>) -> Vec<f32> {
    let mut edges = vec![CODE];
    let mut x = CODE;
    for each in shown.traits {
        x += columns::width(each);
        edges.push(x);
    }
    edges.push(x + REMARK);
    edges
}

/// The one text box of the grid: it goes from cell to cell, so that the keyboard never leaves it.
fn editor() -> egui::Id {
    egui::Id::unique("the cell in hand")
}

/// Whether the keyboard is in a cell.
pub(super) fn has_keys(ctx: &egui::Context) -> bool {
    ctx.memory(|memory| memory.has_focus(editor()))
}

/// Puts the hand on a cell, with the keyboard.
pub(super) fn go_to(state: &mut State, cursor: Cursor) {
    state.cursor = Some(cursor);
    state.grid.select = true;
    state.grid.focus = true;
}

/// Draws the grid; the cell in hand.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    shown: &Shown<'_>,
    out: &mut Outbox<'_>,
) -> Spot {
    let here = state
        .cursor
        .filter(|cursor| shown.rows.contains(&cursor.plant))
        .unwrap_or(Cursor {
            plant: shown.rows[0],
            column: 0,
        });
    let mut cursor = Cursor {
        column: here.column.min(shown.columns() - 1),
        ..here
    };
    if shown.arrived {
        state.grid.later.clear();
        state.grid.select = true;
        let taken = ui.memory(egui::Memory::focused).is_some();
        state.grid.focus |= !taken && view.read_only.is_none();
    }
    if std::mem::take(&mut state.grid.on) {
        cursor = moved(shown, cursor, &Press::Next { back: false });
        state.grid.gets_keys();
    }
    let focused = ui.memory(|memory| memory.has_focus(editor()));
    let may = view.read_only.is_none();
    if may && focused {
        cursor = by_keys(ui, view, state, (shown, cursor), out);
    }
    // The keyboard went elsewhere, or everything is to be recorded now.
    if may && ((state.grid.was_focused && !focused) || kit::drafts::settling(ui.ctx())) {
        cells::commit(ui, view, state, shown.sheet, shown.spot(cursor), out);
    }
    state.grid.was_focused = focused;
    if state.grid.focus {
        // A click on anything else takes the keyboard from a text box in the same frame.
        if ui.input(|input| input.pointer.any_click()) {
            ui.ctx().request_repaint();
        } else {
            state.grid.focus = false;
            if may {
                ui.memory_mut(|memory| memory.request_focus(editor()));
            }
        }
    }
    state.cursor = Some(cursor);
    if let Some(clicked) = draw(ui, view, state, (shown, cursor)) {
        if may {
            cells::commit(ui, view, state, shown.sheet, shown.spot(cursor), out);
        }
        go_to(state, clicked);
        cursor = clicked;
        ui.ctx().request_repaint();
    }
    page_keys::declare(
        ui,
        [
            (
                "Enter",
                if shown.sheet.across {
                    "next trait"
                } else {
                    "next plant"
                },
            ),
            ("Tab", "next trait"),
            ("↑ ↓ ← →", "go"),
            ("Delete", "empty: remove"),
            ("Esc", "leave"),
        ],
    );
    shown.spot(cursor)
}

/// Carries out what was pressed; where the hand is after it.
fn by_keys(
    ui: &Ui,
    view: &View<'_>,
    state: &mut State,
    (shown, mut cursor): (&Shown<'_>, Cursor),
    out: &mut Outbox<'_>,
) -> Cursor {
    let of_trait = shown.traits.get(cursor.column);
    let in_hand = InHand {
        typing: cells::slot(ui, view, shown.spot(cursor))
            .held(ui.ctx())
            .is_some(),
        takes_digits: of_trait.is_some_and(|each| columns::takes_digits(each)),
        page: ((state.grid.height / ROW) as isize - 1).max(1),
    };
    let mut later = std::mem::take(&mut state.grid.later);
    let presses = keys::read(ui, &mut later, in_hand);
    state.grid.later = later;
    for press in presses {
        let spot = shown.spot(cursor);
        // The hand that ends each score with Enter is on the next plant already.
        let went_on = std::mem::take(&mut state.grid.went_on);
        if went_on && press == (Press::Next { back: false }) && !in_hand.typing {
            continue;
        }
        match press {
            Press::GiveUp => {
                cells::slot(ui, view, spot).forget(ui.ctx());
                state.unread.retain(|each| *each != spot);
                state.grid.select = true;
                continue;
            }
            Press::Block(text) => {
                cells::slot(ui, view, spot).forget(ui.ctx());
                pasted::paste(ui, view, state, (shown, cursor), &text, out);
                state.grid.select = true;
                continue;
            }
            Press::Digit(digit) => {
                let score = f64::from(digit).into();
                choose(ui, view, state, (shown.sheet, spot), &score, out);
                state.grid.went_on = true;
            }
            _ => cells::commit(ui, view, state, shown.sheet, spot, out),
        }
        cursor = moved(shown, cursor, &press);
        state.grid.select = true;
    }
    cursor
}

/// Records a value that was chosen, not typed.
pub(super) fn choose(
    ui: &Ui,
    view: &View<'_>,
    state: &mut State,
    (sheet, spot): (&Sheet, Spot),
    value: &domain::Value,
    out: &mut Outbox<'_>,
) {
    let slot = cells::slot(ui, view, spot);
    slot.keep(ui.ctx(), &domain::recording::told(value), None);
    cells::commit(ui, view, state, sheet, spot, out);
}

/// Where a press leads to.
pub(super) fn moved(shown: &Shown<'_>, cursor: Cursor, press: &Press) -> Cursor {
    let (last_row, last_column) = (shown.rows.len() - 1, shown.columns() - 1);
    let row = shown.rows.iter().position(|id| *id == cursor.plant);
    let row = row.unwrap_or_default();
    let down = |by: isize| row.saturating_add_signed(by).min(last_row);
    let right = |by: isize| cursor.column.saturating_add_signed(by).min(last_column);
    // To the next cell of the row, and on to the row beneath; the remark is left out, as most plants have none.
    let across = |back: bool, columns: usize| match (back, cursor.column) {
        (true, 0) if row > 0 => (row - 1, columns - 1),
        (true, column) => (row, column.saturating_sub(1)),
        (false, column) if column + 1 >= columns && row < last_row => (row + 1, 0),
        (false, column) => (row, (column + 1).min(last_column)),
    };
    let (row, column) = match press {
        Press::Step { rows, columns } => (down(*rows), right(*columns)),
        Press::Next { back } if shown.sheet.across => across(*back, shown.traits.len()),
        Press::Next { back } => (down(if *back { -1 } else { 1 }), cursor.column),
        Press::Digit(_) if shown.sheet.across => across(false, shown.traits.len()),
        Press::Digit(_) => (down(1), cursor.column),
        Press::Across { back } => across(*back, shown.columns()),
        Press::End { last } => (if *last { last_row } else { 0 }, cursor.column),
        Press::GiveUp | Press::Block(_) => (row, cursor.column),
    };
    Cursor {
        plant: shown.rows[row],
        column,
    }
}

/// Draws the header and the rows in view; the cell that was clicked.
fn draw(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    (shown, cursor): (&Shown<'_>, Cursor),
) -> Option<Cursor> {
    let outer = ui.available_rect_before_wrap();
    let table = ui.interact(outer, ui.scope_id().with("measure grid"), Sense::hover());
    table.widget_info(|| WidgetInfo::labeled(Role::Table, true, "Values of the round"));
    let edges = edges(shown);
    let total = edges.last().copied().unwrap_or_default();
    let body = outer.with_min_y(outer.top() + HEAD);
    let bar = ui.spacing().scroll.allocated_width();
    let (wide, high) = (body.width() - bar, body.height() - bar);
    state.grid.height = high;
    let at = shown.rows.iter().position(|id| *id == cursor.plant);
    let mut offset = state.grid.offset;
    if state.grid.select {
        let top = at.unwrap_or_default() as f32 * ROW;
        offset.y = offset.y.clamp((top + ROW - high).max(0.0), top.max(0.0));
        let (left, right) = (edges[cursor.column], edges[cursor.column + 1]);
        let first = if cursor.column == 0 { 0.0 } else { left };
        offset.x = offset
            .x
            .clamp((right - wide).max(0.0), first.max(right - wide).max(0.0));
    }
    let mut clicked = None;
    let mut child = ui.new_child(UiBuilder::new().max_rect(body).id_salt("measure rows"));
    child.spacing_mut().item_spacing = Vec2::ZERO;
    let mut area = ScrollArea::both()
        .id_salt("measure rows")
        .auto_shrink(false);
    if state.grid.select {
        area = area.scroll_offset(offset);
    }
    let scroll = area.show_viewport(&mut child, |ui, viewport| {
        ui.set_width(total);
        ui.set_height(ROW * shown.rows.len() as f32);
        let origin = ui.min_rect().min;
        let first = (viewport.top() / ROW).floor().max(0.0) as usize;
        let last = ((viewport.bottom() / ROW).ceil().max(0.0) as usize).min(shown.rows.len());
        for row in first..last {
            let top = origin.y + row as f32 * ROW;
            let rect = Rect::from_min_size(pos2(origin.x, top), vec2(total, ROW));
            let plant = shown.rows[row];
            row_ui(ui, view, (plant, rect), cursor);
            for nth in 0..shown.columns() {
                let cell = Rect::from_min_max(
                    pos2(origin.x + edges[nth], top),
                    pos2(origin.x + edges[nth + 1], top + ROW),
                );
                let each = Cursor { plant, column: nth };
                if each == cursor {
                    editor_ui(ui, view, state, (shown, cursor), cell);
                } else if cell_ui(ui, view, state, (shown, each), cell) {
                    clicked = Some(each);
                }
            }
        }
    });
    state.grid.offset = scroll.state.clamped_offset();
    head_ui(ui, shown, outer, &edges, scroll.state.clamped_offset().x);
    ui.advance_cursor_after_rect(outer);
    clicked
}

fn head_ui(ui: &Ui, shown: &Shown<'_>, outer: Rect, edges: &[f32], offset: f32) {
    let colours = tokens(ui);
    let head = outer.with_max_y(outer.top() + HEAD);
    let painter = ui.painter_at(head);
    painter.rect_filled(head, 0.0, colours.sunken);
    painter.hline(head.x_range(), head.bottom(), Stroke::new(1.0, colours.ink));
    let clip = ui.painter_at(head);
    let text = |x: f32, y: f32, words: &str, font, ink| {
        clip.text(pos2(x, y), Align2::LEFT_TOP, words, font, ink);
    };
    let start = head.left() - offset;
    let (bold, small) = (
        theme::bold(type_size::BODY),
        egui::FontId::proportional(type_size::SMALL),
    );
    text(
        start + space::S,
        head.top() + 4.0,
        "Plant",
        bold.clone(),
        colours.ink,
    );
    for (nth, each) in shown.traits.iter().enumerate() {
        let room = Rect::from_min_max(
            pos2(start + edges[nth] + space::S, head.top()),
            pos2(start + edges[nth + 1] - space::XS, head.bottom()),
        );
        if room.right() < head.left() || room.left() > head.right() {
            continue;
        }
        let y = head.top() + 14.0;
        one_line(ui, room, y, &each.name, bold.clone(), colours.ink);
        let under = columns::under(each);
        one_line(
            ui,
            room,
            head.top() + 32.0,
            &under,
            small.clone(),
            colours.muted,
        );
    }
    let x = start + edges[shown.traits.len()] + space::S;
    text(x, head.top() + 4.0, "Remark", bold, colours.ink);
}

/// The ground of a row and the code of its plant.
fn row_ui(ui: &Ui, view: &View<'_>, (plant, rect): (Id<Genotype>, Rect), cursor: Cursor) {
    let colours = tokens(ui);
    if plant == cursor.plant {
        in_hand(ui, rect);
    }
    ui.painter().hline(
        rect.x_range(),
        rect.bottom(),
        Stroke::new(1.0, colours.rule),
    );
    let Some(plant) = view.project.genotypes().get(plant) else {
        return;
    };
    let ink = if plant.is_alive() || plant.id == cursor.plant {
        colours.ink
    } else {
        colours.muted
    };
    let room = rect
        .with_max_x(rect.left() + CODE - space::XS)
        .with_min_x(rect.left() + space::S);
    let font = theme::slab(type_size::BENCH);
    one_line(ui, room, rect.center().y, &plant.code, font, ink);
}

/// The text box on the cell in hand.
fn editor_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    (shown, cursor): (&Shown<'_>, Cursor),
    cell: Rect,
) {
    let spot = shown.spot(cursor);
    let slot = cells::slot(ui, view, spot);
    let recorded = cells::recorded(view, shown.sheet, spot);
    let held = slot.held(ui.ctx());
    let refused = held.as_ref().is_some_and(|(_, problem)| problem.is_some());
    let typing = held.is_some();
    let mut text = held.map_or_else(|| recorded.clone(), |(text, _)| text);
    let colours = tokens(ui);
    let figures = shown.traits.get(cursor.column).is_some_and(|each| {
        matches!(
            each.scale,
            domain::Scale::Measure { .. } | domain::Scale::Number | domain::Scale::Score { .. }
        )
    });
    let mut inner = ui.new_child(
        UiBuilder::new()
            .id_salt("editor")
            .max_rect(cell.shrink(1.0))
            .layout(Layout::left_to_right(Align::Center)),
    );
    let ui = &mut inner;
    let (ink, width) = if refused {
        (colours.alarm, 2.0)
    } else {
        (colours.ink, 1.5)
    };
    let widgets = &mut ui.visuals_mut().widgets;
    for look in [&mut widgets.inactive, &mut widgets.hovered] {
        look.bg_stroke = Stroke::new(width, ink);
    }
    let mut edit = TextEdit::singleline(&mut text)
        .id(editor())
        .interactive(view.read_only.is_none())
        .desired_width(cell.width() - 4.0)
        .margin(vec2(space::S, space::XS))
        .min_size(vec2(0.0, space::TARGET))
        .align(if figures {
            Align2::RIGHT_CENTER
        } else {
            Align2::LEFT_CENTER
        })
        .event_filter(EventFilter {
            horizontal_arrows: true,
            vertical_arrows: true,
            tab: true,
            escape: typing,
        });
    if figures {
        edit = edit.font(theme::numbers());
    }
    let response = ui.add(edit).accessible_name(cells::name(view, spot));
    focus_outline(ui, &response, cell);
    if response.changed() {
        if text.trim() == recorded {
            slot.forget(ui.ctx());
        } else {
            slot.keep(ui.ctx(), &text, None);
        }
    }
    if std::mem::take(&mut state.grid.select) {
        let mut kept = TextEdit::load_state(ui.ctx(), editor()).unwrap_or_default();
        let end = CCursor::new(text.chars().count());
        let all = CCursorRange::two(CCursor::new(0), end);
        kept.cursor.set_char_range(Some(all));
        kept.clear_undoer();
        kept.store(ui.ctx(), editor());
    }
}

/// A cell that isn't in hand; true when it was clicked.
fn cell_ui(
    ui: &Ui,
    view: &View<'_>,
    state: &mut State,
    (shown, at): (&Shown<'_>, Cursor),
    cell: Rect,
) -> bool {
    let spot = shown.spot(at);
    let response = ui.interact(
        cell,
        ui.scope_id().with(("cell", at.plant, at.column)),
        Sense::CLICK,
    );
    let held = cells::slot(ui, view, spot).held(ui.ctx());
    let seen = cells::seen(view, shown.sheet, spot);
    let question = seen.and_then(|seen| question(view, state, seen));
    let words = match &held {
        Some((text, _)) => text.clone(),
        None => cells::recorded(view, shown.sheet, spot),
    };
    response.widget_info(|| {
        let state = match (&held, &question) {
            (Some(_), _) => ", not recorded",
            (None, Some(_)) => ", to be asked about",
            _ => "",
        };
        let name = cells::name(view, spot);
        WidgetInfo::labeled(Role::Cell, true, format!("{name}: {words}{state}"))
    });
    let colours = tokens(ui);
    if response.hovered() {
        ui.painter().rect_filled(cell, 0.0, colours.hover);
    }
    let room = cell.shrink2(vec2(space::S, 0.0));
    let y = cell.center().y;
    let right = matches!(spot.column, Column::Trait(_));
    let draw = |room: Rect, words: &str, font: egui::FontId, ink| {
        if right {
            one_line_right(ui, room, y, words, font, ink);
        } else {
            one_line(ui, room, y, words, font, ink);
        }
    };
    if let Some((_, problem)) = &held {
        let ink = if problem.is_some() {
            colours.alarm
        } else {
            colours.ink
        };
        dashed(ui, cell.shrink(3.0), ink);
        draw(
            room,
            &words,
            egui::FontId::proportional(type_size::BODY),
            ink,
        );
    } else if !words.is_empty() {
        let mut room = room;
        if question.is_some() {
            let at: Pos2 = pos2(room.left(), y);
            let font = theme::bold(type_size::BODY);
            ui.painter().text(
                at,
                Align2::LEFT_CENTER,
                format!("{} ?", mark::WARNING),
                font,
                colours.alarm,
            );
            room.min.x += 30.0;
        }
        draw(room, &words, theme::bold(type_size::BENCH), colours.ink);
    } else if let Column::Trait(of_trait) = spot.column
        && let Some(before) = view.project.latest_observation(spot.plant, of_trait)
    {
        let words = domain::recording::told(&before.value);
        draw(
            room,
            &words,
            egui::FontId::proportional(type_size::BODY),
            colours.muted,
        );
    }
    if let Some(question) = question {
        response.clone().on_hover_text(question);
    }
    response.clicked()
}

/// What is to be asked about a value that is recorded.
pub(super) fn question(view: &View<'_>, state: &mut State, seen: &Observation) -> Option<String> {
    let of_trait = view.project.traits().get(seen.of_trait)?;
    let usual = state.usual.like(view.project, seen);
    usual.question(of_trait, &seen.value, seen.date)
}

fn dashed(ui: &Ui, rect: Rect, ink: egui::Color32) {
    let corners = [
        rect.left_top(),
        rect.right_top(),
        rect.right_bottom(),
        rect.left_bottom(),
        rect.left_top(),
    ];
    let stroke = Stroke::new(1.5, ink);
    ui.painter()
        .extend(egui::Shape::dashed_line(&corners, stroke, 5.0, 3.0));
}
