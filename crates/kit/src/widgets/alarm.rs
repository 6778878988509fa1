//! Trouble that ruins seed: the loudest thing of a page, and the quiet line it becomes once it was dealt with.

use egui::{Button, Frame, Label, Margin, Response, RichText, Role, Sense, Ui, WidgetInfo, vec2};

use crate::{
    fonts::mark,
    state_mark::StateMark,
    theme::{self, space, tokens, type_size},
};

/// Draws trouble on the danger ground: what it is in the words read across the bench, what happened and what to do in
/// lines beneath, and what can be done about it as buttons; returns the button pressed.
pub fn alarm(ui: &mut Ui, title: &str, lines: &[&str], acts: &[&str]) -> Option<usize> {
    let pair = tokens(ui).danger;
    let mut pressed = None;
    let inner = Frame::new()
        .fill(pair.fill)
        .inner_margin(Margin::symmetric(space::L as i8, space::M as i8))
        .show(ui, |ui| {
            ui.set_min_width(ui.available_width());
            ui.spacing_mut().item_spacing.y = space::XS;
            ui.horizontal_top(|ui| {
                let (rect, _) = ui.allocate_exact_size(vec2(20.0, 32.0), Sense::hover());
                let mark = StateMark::Danger.shapes(rect.center(), 20.0, pair.text, pair.fill);
                ui.painter().extend(mark);
                let head = RichText::new(title)
                    .font(theme::slab(type_size::HEADING))
                    .color(pair.text);
                ui.add(Label::new(head).wrap());
            });
            for line in lines {
                ui.add(Label::new(RichText::new(*line).color(pair.text)).wrap());
            }
            if acts.is_empty() {
                return;
            }
            ui.add_space(space::XS);
            ui.horizontal_wrapped(|ui| {
                for (nth, act) in acts.iter().enumerate() {
                    let words = RichText::new(*act).color(pair.text);
                    let button = Button::new(words)
                        .fill(pair.fill)
                        .stroke(egui::Stroke::new(1.5, pair.text))
                        .min_size(vec2(0.0, space::BENCH_BUTTON));
                    if ui.add(button).clicked() {
                        pressed = Some(nth);
                    }
                }
            });
        });
    inner
        .response
        .widget_info(|| WidgetInfo::labeled(Role::Alert, true, format!("Alarm: {title}")));
    ui.add_space(space::S);
    pressed
}

/// The same once it was dealt with: one line, its mark still there.
pub fn past_alarm(ui: &mut Ui, words: &str) -> Response {
    let ink = tokens(ui).alarm;
    let text = RichText::new(format!("{} {words}", mark::WARNING)).color(ink);
    let response = ui.add(Label::new(text).wrap());
    ui.add_space(space::XS);
    response
}
