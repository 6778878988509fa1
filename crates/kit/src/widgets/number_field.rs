//! Number and temperature fields: typed text, read when it is committed, refused with a sentence.

use std::ops::RangeInclusive;

use egui::Ui;

use super::draft::{DraftField, FieldResponse, problem_line};
use crate::figures::decimals;
use crate::theme::muted;

/// A typed number with its unit beside it.
#[derive(Clone, Debug)]
pub struct NumberField<'a> {
    name: &'a str,
    unit: &'a str,
    range: RangeInclusive<f64>,
    decimals: usize,
    width: f32,
}

impl<'a> NumberField<'a> {
    /// A field called `name`, in `unit` (may be empty).
    pub fn new(name: &'a str, unit: &'a str) -> Self {
        Self {
            name,
            unit,
            range: f64::NEG_INFINITY..=f64::INFINITY,
            decimals: 2,
            width: 72.0,
        }
    }

    /// What is accepted.
    #[must_use]
    pub fn range(mut self, range: RangeInclusive<f64>) -> Self {
        self.range = range;
        self
    }

    /// The most decimals shown; 0 asks for whole numbers.
    #[must_use]
    pub fn decimals(mut self, decimals: usize) -> Self {
        self.decimals = decimals;
        self
    }

    /// Width of the box in points.
    #[must_use]
    pub fn width(mut self, width: f32) -> Self {
        self.width = width;
        self
    }

    /// Draws a field that must hold a number.
    pub fn show(&self, ui: &mut Ui, value: &mut f64) -> FieldResponse {
        let shown = show_number(*value, self.decimals);
        self.draw(ui, &shown, value, |text| self.parse(text))
    }

    /// Draws a field that may stay empty: not known.
    pub fn show_optional(&self, ui: &mut Ui, value: &mut Option<f64>) -> FieldResponse {
        let shown = value
            .map(|value| show_number(value, self.decimals))
            .unwrap_or_default();
        self.draw(ui, &shown, value, |text| {
            if text.trim().is_empty() {
                Ok(None)
            } else {
                self.parse(text).map(Some)
            }
        })
    }

    fn draw<T: PartialEq>(
        &self,
        ui: &mut Ui,
        shown: &str,
        value: &mut T,
        parse: impl FnOnce(&str) -> Result<T, String>,
    ) -> FieldResponse {
        let field = DraftField {
            name: self.name,
            width: self.width,
            hint: "",
            figures: true,
        };
        ui.vertical(|ui| {
            let drafted = ui
                .horizontal(|ui| {
                    let drafted = field.show(ui, shown, parse);
                    if !self.unit.is_empty() {
                        ui.label(muted(ui, self.unit));
                    }
                    drafted
                })
                .inner;
            problem_line(ui, drafted.problem.as_ref());
            drafted.store(value)
        })
        .inner
    }

    /// Reads what was typed: a decimal comma is a decimal point, and the unit may be typed too.
    fn parse(&self, text: &str) -> Result<f64, String> {
        let bare = text.trim();
        let bare = if self.unit.is_empty() {
            bare
        } else {
            bare.strip_suffix(self.unit).unwrap_or(bare)
        };
        let number: f64 = bare
            .trim()
            .replace(',', ".")
            .replace('\u{2212}', "-")
            .parse()
            .ok()
            .filter(|number: &f64| number.is_finite())
            .ok_or_else(|| {
                format!(
                    "'{}' is not a number. Type digits, such as {}.",
                    text.trim(),
                    self.example()
                )
            })?;
        if self.decimals == 0 && number.fract() != 0.0 {
            return Err(format!("{} must be a whole number.", self.name));
        }
        if self.range.contains(&number) {
            return Ok(number);
        }
        let unit = if self.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", self.unit)
        };
        let (low, high) = (*self.range.start(), *self.range.end());
        let show = |value| show_number(value, self.decimals);
        Err(if high.is_infinite() {
            format!("{} can't be below {}{unit}.", self.name, show(low))
        } else if low.is_infinite() {
            format!("{} can't be above {}{unit}.", self.name, show(high))
        } else {
            format!(
                "{} must be between {} and {}{unit}.",
                self.name,
                show(low),
                show(high)
            )
        })
    }

    fn example(&self) -> String {
        let (low, high) = (*self.range.start(), *self.range.end());
        let middle = if low.is_finite() && high.is_finite() {
            f64::midpoint(low, high)
        } else {
            low.max(12.0).min(high)
        };
        show_number(middle, self.decimals.min(1))
    }
}

/// How a person reads and writes temperatures; inside, they are always Celsius.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TemperatureUnit {
    /// Degrees Celsius.
    #[default]
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

impl TemperatureUnit {
    /// The unit's sign.
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
        }
    }

    /// From Celsius to this unit.
    pub fn from_celsius(self, celsius: f64) -> f64 {
        match self {
            Self::Celsius => celsius,
            Self::Fahrenheit => celsius * 9.0 / 5.0 + 32.0,
        }
    }

    /// From this unit to Celsius.
    pub fn to_celsius(self, degrees: f64) -> f64 {
        match self {
            Self::Celsius => degrees,
            Self::Fahrenheit => (degrees - 32.0) * 5.0 / 9.0,
        }
    }

    /// A temperature for reading: '4.0 °C'.
    pub fn show(self, celsius: f64) -> String {
        format!(
            "{} {}",
            decimals(self.from_celsius(celsius), 1),
            self.sign()
        )
    }
}

/// A temperature typed in the unit a person prefers and held in Celsius.
#[derive(Clone, Debug)]
pub struct TemperatureField<'a> {
    name: &'a str,
    unit: TemperatureUnit,
    range: RangeInclusive<f64>,
}

impl<'a> TemperatureField<'a> {
    /// A field called `name`, read and typed in `unit`.
    pub fn new(name: &'a str, unit: TemperatureUnit) -> Self {
        Self {
            name,
            unit,
            range: -60.0..=60.0,
        }
    }

    /// What is accepted, in degrees Celsius.
    #[must_use]
    pub fn range_celsius(mut self, range: RangeInclusive<f64>) -> Self {
        self.range = range;
        self
    }

    /// Draws a field that must hold a temperature; `celsius` is in degrees Celsius.
    pub fn show(&self, ui: &mut Ui, celsius: &mut f64) -> FieldResponse {
        let mut degrees = self.unit.from_celsius(*celsius);
        let response = self.number().show(ui, &mut degrees);
        if response.changed {
            *celsius = self.unit.to_celsius(degrees);
        }
        response
    }

    /// Draws a field that may stay empty: not measured.
    pub fn show_optional(&self, ui: &mut Ui, celsius: &mut Option<f64>) -> FieldResponse {
        let mut degrees = celsius.map(|celsius| self.unit.from_celsius(celsius));
        let response = self.number().show_optional(ui, &mut degrees);
        if response.changed {
            *celsius = degrees.map(|degrees| self.unit.to_celsius(degrees));
        }
        response
    }

    fn number(&self) -> NumberField<'a> {
        let range =
            self.unit.from_celsius(*self.range.start())..=self.unit.from_celsius(*self.range.end());
        NumberField::new(self.name, self.unit.sign())
            .range(range)
            .decimals(1)
    }
}

/// A number with as many decimals as it needs, up to `decimals`.
fn show_number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_people_type_them() {
        let field = NumberField::new("Thousand-seed weight", "g").range(0.1..=20.0);
        for (text, expected) in [("3.2", 3.2), ("3,2", 3.2), (" 3.2 g", 3.2), ("3", 3.0)] {
            assert_eq!(field.parse(text), Ok(expected), "{text}");
        }
        for text in ["", "many", "NaN", "inf", "3.2.1", "0", "21"] {
            let refusal = field.parse(text).unwrap_err();
            assert!(
                refusal.ends_with('.') && refusal.len() > 20,
                "{text}: {refusal}"
            );
        }
    }

    #[test]
    fn counts_are_whole_numbers() {
        let field = NumberField::new("Seeds", "")
            .range(0.0..=f64::INFINITY)
            .decimals(0);
        assert_eq!(field.parse("120"), Ok(120.0));
        assert_eq!(
            field.parse("1.5").unwrap_err(),
            "Seeds must be a whole number."
        );
        assert_eq!(field.parse("-1").unwrap_err(), "Seeds can't be below 0.");
    }

    #[test]
    fn fahrenheit_agrees_with_the_fixed_points() {
        // Fixed points of the scales: water freezes at 0 °C = 32 °F, and the scales meet at -40 (BIPM, SI Brochure
        // 9th ed., 2019, for Celsius; NIST SP 811, 2008, appendix B for t/°F = 9/5 t/°C + 32).
        let fahrenheit = TemperatureUnit::Fahrenheit;
        for (celsius, expected) in [(0.0, 32.0), (-40.0, -40.0), (100.0, 212.0), (5.0, 41.0)] {
            assert_eq!(fahrenheit.from_celsius(celsius), expected);
            assert_eq!(fahrenheit.to_celsius(expected), celsius);
        }
        assert_eq!(fahrenheit.show(5.0), "41.0 °F");
    }

    #[test]
    fn numbers_show_no_needless_decimals() {
        for (value, decimals, expected) in [
            (3.0, 2, "3"),
            (3.25, 1, "3.2"),
            (-0.001, 2, "0"),
            (100.0, 0, "100"),
        ] {
            assert_eq!(show_number(value, decimals), expected);
        }
    }
}
