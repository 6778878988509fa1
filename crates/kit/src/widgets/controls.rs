//! Small controls: the main action, bench buttons, one choice of several, the find box.

use egui::{
    Button, EventFilter, Id, Key, Modifiers, Response, RichText, Role, TextEdit, Ui, WidgetInfo,
    vec2,
};

use crate::{
    fonts::mark,
    theme::{self, space, tokens},
};

/// The one button that does what the screen is for.
pub fn main_button(ui: &mut Ui, text: &str) -> Response {
    let colours = tokens(ui);
    ui.scope(|ui| {
        let widgets = &mut ui.visuals_mut().widgets;
        for look in [&mut widgets.hovered, &mut widgets.active] {
            look.bg_stroke = egui::Stroke::new(2.0, colours.ink);
        }
        ui.add(Button::new(RichText::new(text).color(colours.on_accent)).fill(colours.accent))
    })
    .inner
}

/// A large button for wet or gloved hands: a line of words and, under it, what it will do.
pub fn bench_button(ui: &mut Ui, text: &str, detail: &str) -> Response {
    let colours = tokens(ui);
    let mut job = egui::text::LayoutJob::default();
    let format = |size: f32, family: egui::FontFamily, color| egui::TextFormat {
        font_id: egui::FontId::new(size, family),
        color,
        ..Default::default()
    };
    let strong = egui::FontFamily::Name(crate::fonts::STRONG.into());
    job.append(
        text,
        0.0,
        format(theme::type_size::HEADING, strong, colours.ink),
    );
    if !detail.is_empty() {
        let small = format(
            theme::type_size::BODY,
            egui::FontFamily::Proportional,
            colours.muted,
        );
        job.append(&format!("\n{detail}"), 0.0, small);
    }
    let response = ui.add(Button::new(job).min_size(vec2(160.0, space::BENCH_TARGET)));
    response.widget_info(|| {
        let name = if detail.is_empty() {
            text.to_owned()
        } else {
            format!("{text}, {detail}")
        };
        WidgetInfo::labeled(Role::Button, true, name)
    });
    response
}

/// One choice of several side by side; true when it changed. `name` says what is chosen.
pub fn segmented<T: Copy + PartialEq>(
    ui: &mut Ui,
    name: &str,
    value: &mut T,
    choices: &[(T, &str)],
) -> bool {
    let mut changed = false;
    // All beside each other if there is room in this line, else in the next, else in several.
    let padding = 2.0 * ui.spacing().button_padding.x;
    let wide: f32 = choices
        .iter()
        .map(|(_, text)| {
            let words = egui::WidgetText::from(theme::strong(*text));
            let galley = words.into_galley(
                ui,
                Some(egui::TextWrapMode::Extend),
                f32::INFINITY,
                egui::TextStyle::Button,
            );
            (galley.size().x + padding).max(48.0)
        })
        .sum();
    if wide > ui.available_size_before_wrap().x && ui.layout().main_wrap() {
        ui.end_row();
    }
    let in_several = wide > ui.available_width();
    let group = egui::UiBuilder::new()
        .accessibility_role(Role::RadioGroup)
        .accessibility_label(name);
    ui.scope_builder(group, |ui| {
        let row = |ui: &mut Ui| {
            ui.spacing_mut().item_spacing.x = 0.0;
            for &(choice, text) in choices {
                let selected = *value == choice;
                let colours = tokens(ui);
                let words = if selected {
                    theme::strong(text).color(colours.on_accent)
                } else {
                    RichText::new(text)
                };
                let mut button = Button::new(words)
                    .corner_radius(0)
                    .min_size(vec2(48.0, space::TARGET));
                if selected {
                    button = button
                        .fill(colours.accent)
                        .stroke(egui::Stroke::new(1.0, colours.accent));
                }
                let response = ui.add(button);
                crate::form::note_choice(ui, &response);
                response
                    .widget_info(|| WidgetInfo::selected(Role::RadioButton, true, selected, text));
                if response.clicked() && !selected {
                    *value = choice;
                    changed = true;
                }
            }
        };
        if in_several {
            ui.horizontal_wrapped(row);
        } else {
            ui.horizontal(row);
        }
    });
    changed
}

/// A find box with a button to clear it; true when its text changed. Escape clears it too.
pub fn find_box(ui: &mut Ui, name: &str, text: &mut String) -> bool {
    // The same wherever on the page it stands: what is found may change the layout while a word is typed, and the keyboard
    // stays in the box.
    let id = egui::Id::unique(("find", name));
    let mut changed = false;
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 2.0;
        let focused = ui.memory(|memory| memory.has_focus(id));
        if focused
            && !text.is_empty()
            && ui.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Escape))
        {
            text.clear();
            changed = true;
        }
        let text_is_empty = text.is_empty();
        let edit = TextEdit::singleline(text)
            .id(id)
            .hint_text(name.to_owned())
            .desired_width(150.0)
            .margin(vec2(space::S, space::XS))
            .min_size(vec2(0.0, space::TARGET))
            .align(egui::Align2::LEFT_CENTER)
            .event_filter(EventFilter {
                horizontal_arrows: true,
                vertical_arrows: true,
                // The first Escape clears, the next leaves.
                escape: !text_is_empty,
                tab: false,
            });
        changed |= ui.add(edit).accessible_name(name).changed();
        if !text.is_empty() {
            let clear =
                ui.add(Button::new(mark::TIMES).min_size(vec2(space::TARGET, space::TARGET)));
            clear.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("Clear: {name}")));
            if clear.clicked() {
                text.clear();
                changed = true;
                ui.memory_mut(|memory| memory.request_focus(id));
            }
        }
    });
    changed
}

/// Puts the keyboard in the find box called `name` that `ui` draws, for a shortcut such as Ctrl+F.
pub fn focus_find_box(ui: &Ui, name: &str) {
    let id: Id = ui.make_persistent_id(("find", name));
    ui.memory_mut(|memory| memory.request_focus(id));
}
