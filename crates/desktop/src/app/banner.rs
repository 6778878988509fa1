//! A line over all screens, with the one button that settles what it says.

use egui::{Align, Frame, Label, Layout, Margin, Panel, Role, Ui, WidgetInfo};
use kit::theme::{Meaning, space, strong, tokens};

/// Draws the line; true when its button was clicked.
pub(super) fn banner(
    ui: &mut Ui,
    id: &'static str,
    meaning: Meaning,
    words: &str,
    button: &str,
) -> bool {
    brief_banner(ui, id, meaning, (words, words), button)
}

/// The same, with brief words in the line and all of them for who points at it.
pub(super) fn brief_banner(
    ui: &mut Ui,
    id: &'static str,
    meaning: Meaning,
    (brief, words): (&str, &str),
    button: &str,
) -> bool {
    let pair = tokens(ui).meaning(meaning);
    let frame = Frame::new()
        .fill(pair.fill)
        .inner_margin(Margin::symmetric(space::L as i8, space::XS as i8));
    Panel::top(id)
        .frame(frame)
        .show(ui, |ui| {
            ui.horizontal(|ui| {
                let height = ui.spacing().interact_size.y;
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                    ui.set_min_height(height);
                    let clicked = ui.button(button).clicked();
                    ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                        let text = format!("{} {brief}", meaning.mark());
                        let label = Label::new(strong(text).color(pair.text)).truncate();
                        let label = ui.add(label).on_hover_text(words);
                        label.widget_info(|| WidgetInfo::labeled(Role::Status, true, words));
                    });
                    clicked
                })
                .inner
            })
            .inner
        })
        .inner
}
