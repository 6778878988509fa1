//! Values brought from the unit of a column to that of a trait.

/// The value in the unit `to`.
///
/// Factors are exact by the international yard and pound of 1959 (NIST Special Publication 811, appendix B; from memory):
/// 1 lb = 0.45359237 kg, 1 in = 2.54 cm, 1 acre = 0.40468564224 ha.
///
/// # Errors
/// A sentence, if the one can't be made the other.
pub(crate) fn convert(value: f64, from: &str, to: &str) -> Result<f64, String> {
    let (bare_from, bare_to) = (bare(from), bare(to));
    if bare_from.is_empty() || bare_to.is_empty() || bare_from == bare_to {
        return Ok(value);
    }
    match (bare_from.as_str(), bare_to.as_str()) {
        ("°f" | "f", "°c" | "c") => return Ok((value - 32.0) / 1.8),
        ("°c" | "c", "°f" | "f") => return Ok(value * 1.8 + 32.0),
        ("°c", "c") | ("c", "°c") | ("°f", "f") | ("f", "°f") => return Ok(value),
        _ => {}
    }
    match (scale(&bare_from), scale(&bare_to)) {
        (Some((from_kind, factor)), Some((to_kind, divisor))) if from_kind == to_kind => {
            Ok(value * factor / divisor)
        }
        _ => Err(format!(
            "the column is in {from} and the trait in {to}. Change one of the two."
        )),
    }
}

fn bare(unit: &str) -> String {
    let unit: String = unit.chars().filter(|c| !c.is_whitespace()).collect();
    unit.to_lowercase()
}

/// What a unit measures, and how many of the first of its kind it is.
fn scale(unit: &str) -> Option<(&'static str, f64)> {
    const POUND: f64 = 0.45359237;
    const ACRE: f64 = 0.40468564224;
    Some(match unit {
        "kg" => ("weight", 1.0),
        "g" | "gram" | "grams" => ("weight", 1e-3),
        "mg" => ("weight", 1e-6),
        "t" => ("weight", 1e3),
        "lb" | "lbs" | "pounds" => ("weight", POUND),
        "oz" => ("weight", POUND / 16.0),
        "kg/ha" => ("yield", 1.0),
        "t/ha" => ("yield", 1e3),
        "dt/ha" => ("yield", 100.0),
        "lb/acre" | "lbs/acre" | "lb/ac" => ("yield", POUND / ACRE),
        "m" => ("length", 1.0),
        "cm" => ("length", 0.01),
        "mm" => ("length", 1e-3),
        "in" | "inch" | "inches" => ("length", 0.0254),
        "ft" | "feet" => ("length", 0.3048),
        "%" | "%w/w" => ("share", 0.01),
        "fraction" | "share" => ("share", 1.0),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::convert;

    /// 41 °F is 5 °C; 1 lb/acre is 1.120851 kg/ha (Oregon's hop page, section B2 of the reference).
    #[test]
    fn from_one_unit_to_another() {
        for (value, from, to, expected) in [
            (41.0, "°F", "°C", 5.0),
            (1.0, "lb/acre", "kg/ha", 1.120851),
            (1.0, "lb", "g", 453.59237),
            (1.0, "in", "mm", 25.4),
            (23.0, "%", "fraction", 0.23),
            (7.0, "points", "Points", 7.0),
            (7.0, "", "g", 7.0),
        ] {
            let found = convert(value, from, to).unwrap();
            assert!((found - expected).abs() < 1e-6, "{value} {from}: {found}");
        }
        assert!(convert(1.0, "kg", "%").is_err());
    }
}
