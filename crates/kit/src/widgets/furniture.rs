//! What a page is set with: rules, its head, numbered sections, keys, tags.

use egui::{
    Align, Layout, Painter, Pos2, Rangef, Rect, Response, Role, Sense, Shape, Stroke, StrokeKind,
    Ui, Vec2, WidgetInfo, pos2, vec2,
};

use crate::theme::{self, Tokens, radius, space, tokens, type_size};

/// Height of a printer's rule.
pub const PRINTERS_RULE: f32 = 5.0;

/// A thick and a thin rule of ink, once under the top bar and once under the head of a page.
pub fn paint_printers_rule(painter: &Painter, x: Rangef, top: f32, tokens: &Tokens) {
    let rect =
        |top: f32, height: f32| Rect::from_min_max(pos2(x.min, top), pos2(x.max, top + height));
    painter.rect_filled(rect(top, 2.0), 0.0, tokens.ink);
    painter.rect_filled(rect(top + 4.0, 1.0), 0.0, tokens.ink);
}

/// A printer's rule over the width of the page.
pub fn printers_rule(ui: &mut Ui) {
    let size = vec2(ui.available_width(), PRINTERS_RULE);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    paint_printers_rule(ui.painter(), rect.x_range(), rect.top(), tokens(ui));
}

/// A hairline over the width of what is drawn.
pub fn hairline(ui: &Ui, x: Rangef, y: f32) {
    ui.painter().hline(x, y, Stroke::new(1.0, tokens(ui).rule));
}

/// The head of a page: its title in the slab, what belongs beside it at the right, the printer's rule beneath.
pub fn page_head<R>(ui: &mut Ui, title: &str, beside: impl FnOnce(&mut Ui) -> R) -> R {
    let inner = ui
        .horizontal(|ui| {
            ui.set_min_height(space::BENCH_BUTTON);
            let width = ui.available_width();
            let label = egui::Label::new(
                egui::RichText::new(title)
                    .font(theme::slab(type_size::TITLE))
                    .color(tokens(ui).ink),
            )
            .truncate();
            ui.scope(|ui| {
                ui.set_max_width(width * 0.7);
                let response = ui.add(label);
                response.widget_info(|| WidgetInfo::labeled(Role::Heading, true, title));
            });
            ui.with_layout(Layout::right_to_left(Align::Center), beside)
                .inner
        })
        .inner;
    ui.add_space(space::XS);
    printers_rule(ui);
    ui.add_space(space::S);
    inner
}

/// The head of a section in the order of need: its number and title in the slab, a remark at the right, a rule beneath.
/// A section without a number has none in its margin.
pub fn numbered_section(ui: &mut Ui, number: Option<usize>, title: &str, remark: &str) -> Response {
    let colours = tokens(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 44.0), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Heading, true, title));
    let painter = ui.painter();
    let base = rect.bottom() - 4.0;
    let text = |left: f32, words: String, font| {
        let galley = painter.layout_no_wrap(words, font, colours.ink);
        let at = pos2(left, base - galley.size().y);
        let right = left + galley.size().x;
        painter.galley(at, galley, colours.ink);
        right
    };
    let indent = if number.is_some() { space::XXXL } else { 0.0 };
    if let Some(number) = number {
        text(
            rect.left(),
            number.to_string(),
            theme::slab(type_size::TITLE),
        );
    }
    let end = text(
        rect.left() + indent,
        title.to_owned(),
        theme::slab(type_size::HEADING),
    );
    let room = Rect::from_min_max(pos2(end + space::M, rect.top()), rect.max);
    super::text::one_line_right(
        ui,
        room,
        base - 9.0,
        remark,
        egui::FontId::proportional(type_size::BODY),
        colours.muted,
    );
    ui.painter().hline(
        Rangef::new(rect.left() + indent, rect.right()),
        rect.bottom() - 1.0,
        Stroke::new(1.5, colours.ink),
    );
    response
}

/// A key as it is printed in the strip at the foot, at the left of `at`'s height. Returns its width.
pub fn paint_key(painter: &Painter, left: f32, middle: f32, key: &str, tokens: &Tokens) -> f32 {
    let galley = painter.layout_no_wrap(key.to_owned(), theme::bold(type_size::SMALL), tokens.ink);
    let width = (galley.size().x + 10.0).max(20.0);
    let rect = Rect::from_min_size(pos2(left, middle - 9.0), vec2(width, 18.0));
    painter.rect(
        rect,
        f32::from(radius::SMALL),
        tokens.raised,
        Stroke::new(1.0, tokens.outline),
        StrokeKind::Inside,
    );
    let at = rect.center() - galley.size() / 2.0;
    painter.galley(at, galley, tokens.ink);
    width
}

/// A key on a coloured ground: an outline in the ink of that ground. Its right edge is at `right`.
pub fn paint_key_on(painter: &Painter, right: f32, middle: f32, key: &str, ink: egui::Color32) {
    let galley = painter.layout_no_wrap(key.to_owned(), theme::bold(type_size::SMALL), ink);
    let width = (galley.size().x + 10.0).max(20.0);
    let rect = Rect::from_min_size(pos2(right - width, middle - 9.0), vec2(width, 18.0));
    let edge = Stroke::new(1.0, ink);
    painter.rect_stroke(rect, f32::from(radius::SMALL), edge, StrokeKind::Inside);
    let at = rect.center() - galley.size() / 2.0;
    painter.galley(at, galley, ink);
}

/// How wide the hint of a key is ([`key_hint`]).
pub fn key_hint_width(ui: &Ui, keys: &[&str], does: &str) -> f32 {
    let font = egui::FontId::proportional(type_size::SMALL);
    let width_of = |text: &str, font| {
        let galley = ui
            .painter()
            .layout_no_wrap(text.to_owned(), font, egui::Color32::PLACEHOLDER);
        galley.size().x
    };
    let key_width = |key: &&str| (width_of(key, theme::bold(type_size::SMALL)) + 10.0).max(20.0);
    let keys = keys.iter().map(|key| key_width(key) + space::XS);
    keys.sum::<f32>() + 2.0 + width_of(does, font)
}

/// Keys and what they do, in a row. The whole is one note for those who hear the page.
pub fn key_hint(ui: &mut Ui, keys: &[&str], does: &str) -> Response {
    let colours = tokens(ui);
    let font = egui::FontId::proportional(type_size::SMALL);
    let words = ui
        .painter()
        .layout_no_wrap(does.to_owned(), font, colours.ink);
    let width = key_hint_width(ui, keys, does);
    let (rect, response) = ui.allocate_exact_size(vec2(width, 24.0), Sense::hover());
    response.widget_info(|| {
        WidgetInfo::labeled(Role::Label, true, format!("{}: {does}", keys.join(" ")))
    });
    let mut left = rect.left();
    for key in keys {
        left += paint_key(ui.painter(), left, rect.center().y, key, colours) + space::XS;
    }
    let at = pos2(left + 2.0, rect.center().y - words.size().y / 2.0);
    ui.painter().galley(at, words, colours.ink);
    response
}

/// The outline of a label: a rectangle with its left corners cut and a hole to hang it by.
fn tag_outline(rect: Rect) -> (Vec<Pos2>, Pos2) {
    let cut = rect.height() * 0.28;
    let outline = vec![
        pos2(rect.left() + cut, rect.top()),
        rect.right_top(),
        rect.right_bottom(),
        pos2(rect.left() + cut, rect.bottom()),
        pos2(rect.left(), rect.bottom() - cut),
        pos2(rect.left(), rect.top() + cut),
    ];
    (outline, pos2(rect.left() + cut * 1.15, rect.center().y))
}

/// The tag of the record a page is about: its code in the slab. `in_hand` sets it on lupulin.
pub fn tag(ui: &mut Ui, code: &str, in_hand: bool) -> Response {
    let colours = tokens(ui);
    let (fill, ink) = if in_hand {
        (colours.lupulin, colours.on_lupulin)
    } else {
        (colours.raised, colours.ink)
    };
    let room = (ui.available_width() - 60.0).max(40.0);
    let set = |size: f32| {
        let font = theme::slab(size);
        let mut job = egui::text::LayoutJob::simple_singleline(code.to_owned(), font, ink);
        job.wrap = egui::text::TextWrapping::truncate_at_width(room);
        ui.painter().layout_job(job)
    };
    // A code is read whole: a long one is set smaller before it is cut.
    let galley = [type_size::TITLE, type_size::HEADING, type_size::BENCH]
        .into_iter()
        .map(set)
        .find(|galley| !galley.elided)
        .unwrap_or_else(|| set(type_size::SMALL));
    let height = type_size::TITLE * 1.6;
    let lead = height * 0.28 * 2.1;
    let size = vec2(lead + galley.size().x + space::L, height);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Heading, true, code));
    let rect = rect.shrink(0.75);
    let (outline, hole) = tag_outline(rect);
    let painter = ui.painter();
    painter.add(Shape::convex_polygon(outline, fill, Stroke::new(1.5, ink)));
    painter.circle(hole, 3.5, colours.surface, Stroke::new(1.5, ink));
    let at = pos2(rect.left() + lead, rect.center().y - galley.size().y / 2.0);
    painter.galley(at, galley, ink);
    response
}

/// A parent beneath whose name a line says which: solid for the female parent, dashed for the male. True when clicked.
pub fn parent(ui: &mut Ui, code: &str, is_female: bool) -> Response {
    let colours = tokens(ui);
    let word = if is_female {
        "female parent"
    } else {
        "male parent"
    };
    let name = ui.painter().layout_no_wrap(
        code.to_owned(),
        theme::slab(type_size::HEADING),
        colours.ink,
    );
    let caption = ui.painter().layout_no_wrap(
        word.to_owned(),
        egui::FontId::proportional(type_size::SMALL),
        colours.muted,
    );
    let size = vec2(
        name.size().x.max(caption.size().x),
        name.size().y + 4.0 + caption.size().y,
    );
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Link, true, format!("{word} {code}")));
    let line = rect.top() + name.size().y + 1.0;
    let ends = [
        pos2(rect.left(), line),
        pos2(rect.left() + name.size().x, line),
    ];
    let stroke = Stroke::new(2.0, colours.ink);
    let painter = ui.painter();
    if is_female {
        painter.line_segment(ends, stroke);
    } else {
        painter.extend(Shape::dashed_line(&ends, stroke, 5.0, 3.0));
    }
    painter.galley(rect.min, name, colours.ink);
    painter.galley(pos2(rect.left(), line + 3.0), caption, colours.muted);
    focus_outline(ui, &response, rect);
    response
}

/// A figure of a record: the number in the slab, what it counts beneath, both to the right.
pub fn figure(ui: &mut Ui, number: &str, counts: &str) -> Response {
    let colours = tokens(ui);
    let number_text = ui.painter().layout_no_wrap(
        number.to_owned(),
        theme::slab(type_size::TITLE),
        colours.ink,
    );
    let caption = ui.painter().layout_no_wrap(
        counts.to_owned(),
        egui::FontId::proportional(type_size::SMALL),
        colours.muted,
    );
    let size = vec2(
        number_text.size().x.max(caption.size().x),
        number_text.size().y + caption.size().y,
    );
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, format!("{number} {counts}")));
    let painter = ui.painter();
    let split = rect.top() + number_text.size().y;
    painter.galley(
        pos2(rect.right() - number_text.size().x, rect.top()),
        number_text,
        colours.ink,
    );
    painter.galley(
        pos2(rect.right() - caption.size().x, split),
        caption,
        colours.muted,
    );
    response
}

/// The outline of what the keyboard acts on, where a widget draws itself.
pub fn focus_outline(ui: &Ui, response: &Response, rect: Rect) {
    if response.has_focus() {
        ui.painter().rect_stroke(
            rect.expand(2.0),
            f32::from(radius::SMALL),
            Stroke::new(2.0, tokens(ui).focus),
            StrokeKind::Outside,
        );
    }
}

/// Room for a fixed number of points in both directions, for what a caller paints itself.
pub fn room(ui: &mut Ui, size: Vec2) -> Rect {
    ui.allocate_exact_size(size, Sense::hover()).0
}
