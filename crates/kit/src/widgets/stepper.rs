//! A number set with wet hands: two large buttons, the figure between them, which can be typed as well.

use egui::{Button, FontId, Role, Ui, WidgetInfo, vec2};
use std::ops::RangeInclusive;

use super::{FieldResponse, NumberField};
use crate::figures::MINUS;
use crate::theme::{self, numbers, space, type_size};

/// A number with a large button on each side that takes it down or up by one. The field is called `name`, its buttons
/// 'Less: …' and 'More: …'.
pub fn stepper(
    ui: &mut Ui,
    name: &str,
    unit: &str,
    value: &mut f64,
    range: RangeInclusive<f64>,
    decimals: usize,
) -> FieldResponse {
    ui.horizontal(|ui| {
        let (low, high) = (*range.start(), *range.end());
        if large(
            ui,
            &MINUS.to_string(),
            &format!("Less: {name}"),
            *value > low,
        ) {
            *value = (*value - 1.0).max(low);
        }
        let field = ui.scope(|ui| {
            let font = theme::bold(type_size::HEADING);
            ui.style_mut().text_styles.insert(numbers(), font);
            ui.spacing_mut().interact_size.y = space::BENCH_ROW;
            NumberField::new(name, unit)
                .range(range.clone())
                .decimals(decimals)
                .width(64.0)
                .show(ui, value)
        });
        if large(ui, "+", &format!("More: {name}"), *value < high) {
            *value = (*value + 1.0).min(high);
        }
        field.inner
    })
    .inner
}

fn large(ui: &mut Ui, sign: &str, name: &str, enabled: bool) -> bool {
    let words = egui::RichText::new(sign).font(FontId::proportional(type_size::TITLE));
    let button = Button::new(words).min_size(vec2(space::BENCH_TARGET, space::BENCH_ROW));
    let response = ui.add_enabled(enabled, button);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, enabled, name));
    response.clicked()
}
