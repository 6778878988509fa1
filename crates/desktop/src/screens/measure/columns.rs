//! Which traits stand on the columns, how wide they are, and what their headers say.

use super::Sheet;
use crate::view::View;
use domain::{Scale, Trait};
use egui::Ui;
use kit::theme::muted;

pub(super) fn choose_ui(ui: &mut Ui, view: &View<'_>, sheet: &mut Sheet) {
    let mut any = false;
    for each in view.project.traits().iter() {
        if matches!(each.scale, Scale::Derived { .. }) {
            continue;
        }
        any = true;
        let mut chosen = sheet.traits.contains(&each.id);
        let name = format!("{} ({})", each.name, each.scale.unit());
        if ui.checkbox(&mut chosen, name).changed() {
            if chosen {
                sheet.traits.push(each.id);
            } else {
                sheet.traits.retain(|id| *id != each.id);
            }
        }
    }
    if !any {
        ui.label(muted(ui, "There are no traits yet. Add one under Setup."));
    }
}

/// The width of a column in points.
pub(super) const fn width(of_trait: &Trait) -> f32 {
    match of_trait.scale {
        Scale::Text => 200.0,
        Scale::Date | Scale::Classes { .. } => 124.0,
        _ => 104.0,
    }
}

/// What the header says under the name: the unit or the scale.
pub(super) fn under(of_trait: &Trait) -> String {
    match &of_trait.scale {
        Scale::Classes { classes } => format!("{} classes", classes.len()),
        scale => scale.unit(),
    }
}

/// Whether a single digit is a whole entry: then the hand goes on by itself.
pub(super) fn takes_digits(of_trait: &Trait) -> bool {
    matches!(of_trait.scale, Scale::Score { from, to, .. } if from >= 0 && to <= 9)
}
