//! What is read and touched across the bench: the next step, solid buttons with their key, rows with a box to tick.

use egui::{
    Color32, FontId, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};

use super::{
    furniture::{focus_outline, paint_key_on},
    text::{one_line, one_line_right},
};
use crate::{
    drawing::{self, Drawing},
    state_mark::StateMark,
    theme::{self, Tokens, radius, space, tokens, type_size},
};

/// The next step of a record.
#[derive(Clone, Copy, Debug)]
pub struct NextStep<'a> {
    /// Its drawing.
    pub drawing: Drawing,
    /// What to do: 'Clean the seed'.
    pub title: &'a str,
    /// How, in a sentence.
    pub detail: &'a str,
    /// How it stands, and the word for it: 'due today'.
    pub state: (StateMark, &'a str),
    /// Its day.
    pub day: &'a str,
    /// The key that does it.
    pub key: &'a str,
    /// Whether its day has come: only then it is loud.
    pub loud: bool,
    /// Whether it can be done.
    pub enabled: bool,
}

/// The one loud button of a page: the next step in lupulin over the whole width, with its date.
pub fn next_step(ui: &mut Ui, step: NextStep<'_>) -> Response {
    let colours = tokens(ui);
    let width = ui.available_width();
    let key_room = if step.key.is_empty() { 0.0 } else { 64.0 };
    // What is left between the drawing and the day.
    let room = width - 84.0 - space::L - key_room - 120.0;
    let in_lines = |text: &str, font: FontId| {
        let mut job = egui::text::LayoutJob::simple(
            text.to_owned(),
            font,
            egui::Color32::PLACEHOLDER,
            room.max(40.0),
        );
        job.wrap.max_rows = 2;
        ui.painter().layout_job(job)
    };
    let title = in_lines(step.title, theme::slab(type_size::HEADING));
    let detail = in_lines(step.detail, FontId::proportional(type_size::BODY));
    let tall = title.size().y + detail.size().y;
    let size = vec2(width, (tall + 2.0 * space::S).max(68.0));
    let sense = if step.enabled {
        Sense::click()
    } else {
        Sense::hover()
    };
    let (rect, response) = ui.allocate_exact_size(size, sense);
    response.widget_info(|| {
        WidgetInfo::labeled(
            Role::Button,
            step.enabled,
            format!("{}, {}, {}", step.title, step.state.1, step.day),
        )
    });
    let (fill, ink, muted) = match (step.enabled, step.loud) {
        (true, true) => (colours.lupulin, colours.on_lupulin, colours.on_lupulin),
        (true, false) => (colours.raised, colours.ink, colours.muted),
        (false, _) => (colours.surface, colours.muted, colours.muted),
    };
    let edge = match (step.enabled, step.loud) {
        _ if response.hovered() => Stroke::new(3.0, colours.ink),
        (true, true) => Stroke::new(2.0, colours.in_hand_edge),
        _ => Stroke::new(1.0, colours.outline),
    };
    let painter = ui.painter();
    painter.rect(
        rect,
        f32::from(radius::SMALL),
        fill,
        edge,
        StrokeKind::Inside,
    );
    let print = drawing::Inks::plain(ink);
    let at = pos2(rect.left() + 40.0, rect.center().y);
    drawing::paint(painter, step.drawing, at, 40.0, print);
    let right = rect.right() - space::L - key_room;
    let words_right = right - 120.0;
    let left = rect.left() + 84.0;
    let top = rect.center().y - tall / 2.0;
    let under = top + title.size().y;
    ui.painter().galley(pos2(left, top), title, ink);
    ui.painter().galley(pos2(left, under), detail, muted);
    let (mark, word) = step.state;
    let when = Rect::from_min_max(pos2(words_right, rect.top()), pos2(right, rect.bottom()));
    let font = theme::bold(type_size::BODY);
    let galley = ui
        .painter()
        .layout_no_wrap(word.to_owned(), font.clone(), ink);
    let mark_at = pos2(right - galley.size().x - 12.0, rect.center().y - 10.0);
    ui.painter().extend(mark.shapes(mark_at, 12.0, ink, fill));
    one_line_right(ui, when, rect.center().y - 10.0, word, font, ink);
    one_line_right(
        ui,
        when,
        rect.center().y + 12.0,
        step.day,
        FontId::proportional(type_size::BODY),
        ink,
    );
    if !step.key.is_empty() {
        let key_right = rect.right() - space::L;
        paint_key_on(ui.painter(), key_right, rect.center().y, step.key, ink);
    }
    focus_outline(ui, &response, rect);
    response
}

/// How a button is filled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// The one solid button of a section: it says what, how many and which day.
    Solid,
    /// Any other.
    Outline,
}

/// A button over the whole width there is, its words at the left and its key at the right. Disabled, it is an outline
/// only: the caller sets the reason beside it.
pub fn wide_button(ui: &mut Ui, weight: Weight, words: &str, key: &str, enabled: bool) -> Response {
    let size = vec2(ui.available_width(), 44.0);
    let sense = if enabled {
        Sense::click()
    } else {
        Sense::hover()
    };
    let (rect, response) = ui.allocate_exact_size(size, sense);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, enabled, words));
    let colours = tokens(ui);
    let (fill, ink) = match (weight, enabled) {
        (Weight::Solid, true) => (colours.accent, colours.on_accent),
        (Weight::Outline, true) => (colours.raised, colours.ink),
        (_, false) => (Color32::TRANSPARENT, colours.muted),
    };
    paint_button_ground(ui, rect, fill, &response, enabled);
    let font = if weight == Weight::Solid {
        theme::bold(type_size::BODY)
    } else {
        FontId::proportional(type_size::BODY)
    };
    let room = Rect::from_min_max(
        pos2(rect.left() + 14.0, rect.top()),
        pos2(rect.right() - 64.0, rect.bottom()),
    );
    one_line(ui, room, rect.center().y, words, font, ink);
    if !key.is_empty() && enabled {
        let galley =
            ui.painter()
                .layout_no_wrap(key.to_owned(), theme::bold(type_size::SMALL), ink);
        let width = (galley.size().x + 10.0).max(20.0);
        let cap = Rect::from_min_size(
            pos2(rect.right() - space::M - width, rect.center().y - 9.0),
            vec2(width, 18.0),
        );
        ui.painter().rect_stroke(
            cap,
            f32::from(radius::SMALL),
            Stroke::new(1.0, ink),
            StrokeKind::Inside,
        );
        let at = cap.center() - galley.size() / 2.0;
        ui.painter().galley(at, galley, ink);
    }
    focus_outline(ui, &response, rect);
    response
}

/// A button drawn 36 high in a row whose whole height is its target. `name` is how it is called aloud.
pub fn row_button(ui: &mut Ui, target: Rect, weight: Weight, words: &str, name: &str) -> Response {
    let id = ui.make_persistent_id(("row button", name));
    let response = ui.interact(target, id, Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
    let colours = tokens(ui);
    let rect = Rect::from_center_size(
        target.center(),
        vec2(target.width(), space::BENCH_BUTTON.min(target.height())),
    );
    let (fill, ink, font) = match weight {
        Weight::Solid => (
            colours.accent,
            colours.on_accent,
            theme::bold(type_size::BODY),
        ),
        Weight::Outline => (
            colours.raised,
            colours.ink,
            FontId::proportional(type_size::BODY),
        ),
    };
    paint_button_ground(ui, rect, fill, &response, true);
    super::text::one_line_middle(ui, rect.shrink2(vec2(6.0, 0.0)), words, font, ink);
    focus_outline(ui, &response, rect);
    response
}

fn paint_button_ground(ui: &Ui, rect: Rect, fill: Color32, response: &Response, enabled: bool) {
    let colours = tokens(ui);
    let pressed = response.is_pointer_button_down_on();
    let edge = match (enabled, response.hovered() || pressed) {
        (true, true) => Stroke::new(2.0, colours.ink),
        (true, false) => Stroke::new(1.0, colours.outline),
        (false, _) => Stroke::new(1.0, colours.rule),
    };
    ui.painter().rect(
        rect,
        f32::from(radius::SMALL),
        fill,
        edge,
        StrokeKind::Inside,
    );
}

/// The ground of the row in hand. Draw it before what stands on the row.
pub fn in_hand(ui: &Ui, rect: Rect) {
    let colours = tokens(ui);
    ui.painter().rect(
        rect,
        0.0,
        colours.in_hand,
        Stroke::new(2.0, colours.in_hand_edge),
        StrokeKind::Inside,
    );
}

/// A box to tick, drawn 28 in a target 56 wide and as high as the row.
pub fn tick_box(ui: &Ui, target: Rect, name: &str, ticked: bool, enabled: bool) -> Response {
    let id = ui.make_persistent_id(("tick", name));
    let sense = if enabled {
        Sense::click()
    } else {
        Sense::hover()
    };
    let response = ui.interact(target, id, sense);
    response.widget_info(|| WidgetInfo::selected(Role::CheckBox, enabled, ticked, name));
    let colours = tokens(ui);
    let rect = Rect::from_center_size(target.center(), vec2(28.0, 28.0));
    let painter = ui.painter();
    let (fill, edge) = if ticked {
        (colours.accent, colours.accent)
    } else {
        (colours.raised, colours.ink)
    };
    let width = if response.hovered() && enabled {
        2.5
    } else {
        2.0
    };
    painter.rect(
        rect,
        f32::from(radius::SMALL),
        fill,
        Stroke::new(width, edge),
        StrokeKind::Inside,
    );
    if ticked {
        painter.extend(StateMark::Good.shapes(
            rect.center(),
            20.0,
            colours.on_accent,
            colours.accent,
        ));
    }
    focus_outline(ui, &response, rect);
    response
}

/// The ink and the muted ink of what stands on a row: on the row in hand by day all of it is ink.
pub const fn row_inks(tokens: &Tokens, is_in_hand: bool, is_done: bool) -> (Color32, Color32) {
    match (is_in_hand, is_done) {
        (true, _) => (tokens.ink, tokens.ink),
        (false, true) => (tokens.muted, tokens.muted),
        (false, false) => (tokens.ink, tokens.muted),
    }
}
