//! Words on the page: headings, badges, details, form rows, empty screens, cautions, notices.

use egui::{
    Align, Frame, Layout, Margin, Response, RichText, Role, Sense, Stroke, Ui, UiBuilder,
    WidgetInfo, vec2,
};

use super::controls::main_button;
use crate::{
    figures::with_minus,
    fonts::mark,
    theme::{self, Meaning, muted, radius, space, strong, tokens, type_size},
};

/// Width of the names beside details and fields.
const NAME_WIDTH: f32 = 116.0;

/// A number as it is read, its digits in threes: 12,345.
pub fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut words = String::with_capacity(digits.len() + digits.len() / 3);
    for (nth, digit) in digits.chars().enumerate() {
        if nth > 0 && (digits.len() - nth).is_multiple_of(3) {
            words.push(',');
        }
        words.push(digit);
    }
    words
}

/// The words with a capital at the front.
pub fn capital(words: &str) -> String {
    let mut signs = words.chars();
    signs.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(signs).collect()
    })
}

/// The heading of a screen.
pub fn heading(ui: &mut Ui, text: &str) -> Response {
    let response = ui.label(
        RichText::new(text)
            .font(theme::slab(type_size::TITLE))
            .color(tokens(ui).ink),
    );
    response.widget_info(|| WidgetInfo::labeled(Role::Heading, true, text));
    response
}

/// The heading of a section, with a rule of ink beneath.
pub fn section_heading(ui: &mut Ui, text: &str) -> Response {
    ui.add_space(space::S);
    let response = ui.heading(text);
    response.widget_info(|| WidgetInfo::labeled(Role::Heading, true, text));
    let rect = ui.max_rect();
    let y = response.rect.bottom() + 2.0;
    ui.painter()
        .hline(rect.x_range(), y, Stroke::new(1.5, tokens(ui).ink));
    ui.add_space(space::XS);
    response
}

/// A meaning as a mark and a word on its own ground.
pub fn badge(ui: &mut Ui, meaning: Meaning, word: &str) -> Response {
    marked_badge(ui, meaning, meaning.mark(), word)
}

/// A badge with a mark of the caller's choosing, one of [`crate::fonts::mark`].
pub fn marked_badge(ui: &mut Ui, meaning: Meaning, sign: &str, word: &str) -> Response {
    let pair = tokens(ui).meaning(meaning);
    let font = egui::TextStyle::Small.resolve(ui.style());
    let galley = ui
        .painter()
        .layout_no_wrap(format!("{sign} {word}"), font, pair.text);
    let size = galley.size() + vec2(2.0 * space::S, space::XS);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, word));
    ui.painter()
        .rect_filled(rect, f32::from(radius::SMALL), pair.fill);
    ui.painter().galley(
        rect.min + vec2(space::S, space::XS / 2.0),
        galley,
        pair.text,
    );
    response
}

/// One named detail: the name muted at the left, the value at the right of it.
pub fn detail(ui: &mut Ui, name: &str, value: &str) -> Response {
    let response = named_row(ui, name, 20.0, |ui| ui.add(egui::Label::new(value).wrap()));
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, format!("{name}: {value}")));
    response
}

/// One named detail whose value is drawn by the caller, and can be clicked: a figure that explains itself, a link. Its
/// name stands on the value's line.
pub fn detail_with<R>(ui: &mut Ui, name: &str, add: impl FnOnce(&mut Ui) -> R) -> R {
    named_row(ui, name, space::TARGET, add)
}

/// One named field of a form: its name at the left, the field at the right of it.
pub fn form_row<R>(ui: &mut Ui, name: &str, add: impl FnOnce(&mut Ui) -> R) -> R {
    named_row(ui, name, space::TARGET, add)
}

fn named_row<R>(ui: &mut Ui, name: &str, height: f32, add: impl FnOnce(&mut Ui) -> R) -> R {
    ui.horizontal_top(|ui| {
        let layout = Layout::left_to_right(Align::Center);
        ui.allocate_ui_with_layout(vec2(NAME_WIDTH, height), layout, |ui| {
            ui.set_min_size(vec2(NAME_WIDTH, height));
            ui.add(egui::Label::new(muted(ui, name)).wrap());
        });
        let right = Layout::top_down(Align::Min);
        ui.scope_builder(UiBuilder::new().layout(right), |ui| add(ui))
            .inner
    })
    .inner
}

/// A computed figure that can be asked where it comes from: a click, or Enter, opens what `explain` draws (formula,
/// inputs, source). `name` says what the figure is.
pub fn explained(ui: &mut Ui, name: &str, value: &str, explain: impl FnOnce(&mut Ui)) -> Response {
    let font = theme::numbers().resolve(ui.style());
    explained_in(ui, name, value, font, explain)
}

/// The same as the answer of a page, in the slab that is read across the bench.
pub fn answer(ui: &mut Ui, name: &str, value: &str, explain: impl FnOnce(&mut Ui)) -> Response {
    explained_in(ui, name, value, theme::slab(type_size::TITLE), explain)
}

fn explained_in(
    ui: &mut Ui,
    name: &str,
    value: &str,
    font: egui::FontId,
    explain: impl FnOnce(&mut Ui),
) -> Response {
    let colours = tokens(ui);
    let written = with_minus(value);
    let galley = ui.painter().layout(
        written.clone(),
        font,
        colours.ink,
        ui.available_width().max(space::TARGET),
    );
    let target = galley.size().max(egui::Vec2::splat(space::TARGET));
    let (rect, response) = ui.allocate_exact_size(target, Sense::click());
    response.widget_info(|| {
        WidgetInfo::labeled(
            Role::Button,
            true,
            format!("{name}: {written}. How it is worked out"),
        )
    });
    // A short figure in a wide target stands where its column's figures stand.
    let left = if ui.layout().prefer_right_to_left() {
        rect.right() - galley.size().x
    } else {
        rect.left()
    };
    let at = egui::pos2(left, rect.center().y - galley.size().y / 2.0);
    let y = (at.y + galley.size().y + 1.0).min(rect.bottom() - 1.0);
    let width = galley.size().x.max(space::S);
    let ends = [egui::pos2(left, y), egui::pos2(left + width, y)];
    let (ground, ink) = if response.hovered() {
        (colours.hover, colours.ink)
    } else {
        (egui::Color32::TRANSPARENT, colours.outline)
    };
    ui.painter().rect_filled(rect, 0, ground);
    ui.painter().galley(at, galley, colours.ink);
    ui.painter()
        .extend(egui::Shape::dotted_line(&ends, ink, 3.0, 0.75));
    if response.has_focus() {
        super::furniture::focus_outline(ui, &response, rect);
    }
    egui::Popup::from_toggle_button_response(&response)
        .accessible_name(format!("How {name} is worked out"))
        .close_behavior(egui::PopupCloseBehavior::CloseOnClickOutside)
        .show(|ui| {
            ui.set_max_width(420.0);
            explain(ui);
        });
    response
}

/// An empty screen: what belongs here, and the button that starts it. True when the button was clicked.
pub fn empty_state(ui: &mut Ui, sentence: &str, button: &str) -> bool {
    ui.add_space(space::XXL);
    ui.vertical_centered(|ui| {
        ui.set_max_width(440.0);
        ui.label(muted(ui, sentence));
        ui.add_space(space::S);
        main_button(ui, button).clicked()
    })
    .inner
}

/// A caution: what can harm, and that the label and local rules come first. `rules` names them, such as 'the
/// product label and local rules on chemicals'.
pub fn caution(ui: &mut Ui, title: &str, text: &str, rules: &str) -> Response {
    let pair = tokens(ui).late;
    let frame = panel_frame(pair.fill, pair.text);
    let inner = frame.show(ui, |ui| {
        ui.set_min_width(ui.available_width());
        ui.spacing_mut().item_spacing.y = space::XS;
        ui.label(strong(format!("{} {title}", mark::WARNING)).color(pair.text));
        ui.add(egui::Label::new(text).wrap());
        ui.add(egui::Label::new(RichText::new(whose_rules(rules)).small()).wrap());
    });
    inner
        .response
        .widget_info(|| WidgetInfo::labeled(Role::Note, true, format!("Caution: {title}")));
    inner.response
}

/// The sentence that ends every caution.
pub fn whose_rules(rules: &str) -> String {
    format!("Where this differs from {rules}, follow those.")
}

/// A caution in small type without a frame, for the top of a list of work that calls for it.
pub fn caution_line(ui: &mut Ui, title: &str, text: &str, rules: &str) -> Response {
    let pair = tokens(ui).late;
    let inner = ui.vertical(|ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.label(strong(format!("{} {title}", mark::WARNING)).color(pair.text));
        let words = RichText::new(format!("{text} {}", whose_rules(rules))).small();
        ui.add(egui::Label::new(words).wrap());
    });
    inner
        .response
        .widget_info(|| WidgetInfo::labeled(Role::Note, true, format!("Caution: {title}")));
    inner.response
}

/// What a person did with a notice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoticeAnswer {
    /// The button was clicked.
    Act,
    /// The notice was put away.
    Dismiss,
}

/// A line that says what just happened, with an optional button such as 'Undo', until it is put away.
pub fn notice(
    ui: &mut Ui,
    meaning: Meaning,
    text: &str,
    action: Option<&str>,
) -> Option<NoticeAnswer> {
    let pair = tokens(ui).meaning(meaning);
    let mut answer = None;
    let inner = panel_frame(pair.fill, pair.text).show(ui, |ui| {
        ui.horizontal(|ui| {
            ui.set_min_width(ui.available_width());
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                let away = ui.add(
                    egui::Button::new(mark::TIMES).min_size(vec2(space::TARGET, space::TARGET)),
                );
                away.widget_info(|| WidgetInfo::labeled(Role::Button, true, "Close notice"));
                if away.clicked() {
                    answer = Some(NoticeAnswer::Dismiss);
                }
                if action.is_some_and(|action| ui.button(action).clicked()) {
                    answer = Some(NoticeAnswer::Act);
                }
                ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                    let words =
                        RichText::new(format!("{} {text}", meaning.mark())).color(pair.text);
                    ui.add(egui::Label::new(words).truncate());
                });
            });
        });
    });
    inner
        .response
        .widget_info(|| WidgetInfo::labeled(Role::Status, true, text));
    answer
}

fn panel_frame(fill: egui::Color32, edge: egui::Color32) -> Frame {
    Frame::new()
        .fill(fill)
        .stroke(Stroke::new(1.0, edge))
        .corner_radius(radius::SMALL)
        .inner_margin(Margin::symmetric(space::M as i8, space::S as i8))
}
