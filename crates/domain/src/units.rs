//! Units in types: Celsius and grams inside; Fahrenheit and ounces only where a person reads or types.

use serde::{Deserialize, Serialize};
use std::fmt;

/// A temperature in degrees Celsius.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(transparent)]
pub struct Celsius(pub f64);

impl Celsius {
    /// From degrees Fahrenheit, exactly: 32 °F is 0 °C and 212 °F is 100 °C.
    pub fn from_fahrenheit(degrees: f64) -> Self {
        Self((degrees - 32.0) * 5.0 / 9.0)
    }

    /// In degrees Fahrenheit.
    pub fn to_fahrenheit(self) -> f64 {
        self.0 * 9.0 / 5.0 + 32.0
    }
}

impl fmt::Display for Celsius {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Read by people, never by a program: with a true minus.
        let minus = if self.0 <= -0.05 { "\u{2212}" } else { "" };
        write!(f, "{minus}{:.1} °C", self.0.abs())
    }
}

/// A mass in grams.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(transparent)]
pub struct Grams(pub f64);

impl fmt::Display for Grams {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} g", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fahrenheit_is_exact_at_its_fixed_points_and_in_the_cold_band() {
        assert_eq!(Celsius::from_fahrenheit(32.0), Celsius(0.0));
        assert_eq!(Celsius::from_fahrenheit(212.0), Celsius(100.0));
        // 34 to 40 °F is the usual cold band: 1.1 to 4.4 °C (common practice, rounded).
        assert!((Celsius::from_fahrenheit(34.0).0 - 1.1).abs() < 0.05);
        assert!((Celsius::from_fahrenheit(40.0).0 - 4.4).abs() < 0.05);
        assert!((Celsius(24.0).to_fahrenheit() - 75.0).abs() < 0.3);
    }
}
