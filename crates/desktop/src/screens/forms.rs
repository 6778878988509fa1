//! Small forms that more than one screen opens: a look into a box, a count, potting up, deciding on the rest.

mod check;
mod count;
mod pot_up;
mod rest;

pub use check::CheckForm;
pub use count::CountForm;
pub use pot_up::PotUpForm;
pub use rest::RestForm;

/// A number field for whole things: seeds, sprouts.
fn whole_number(ui: &mut egui::Ui, name: &str, unit: &str, value: &mut u32, most: u32) {
    let mut number = f64::from(*value);
    kit::widgets::NumberField::new(name, unit)
        .range(0.0..=f64::from(most))
        .decimals(0)
        .show(ui, &mut number);
    *value = number as u32;
}
