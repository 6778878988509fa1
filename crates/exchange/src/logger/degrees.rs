//! A temperature as loggers and spreadsheets write it.

use super::mapping::Unit;

/// Reads a temperature: a decimal point or comma, a sign of any kind before or after it (or brackets), and a unit.
pub(super) fn read(text: &str) -> Option<(f64, Option<Unit>)> {
    if let Some(plain) = plain(text.as_bytes()) {
        return Some((plain, None));
    }
    let (text, unit) = without_unit(text.trim());
    let (text, negative) = without_sign(text);
    let size = size(text)?;
    Some((if negative { -size } else { size }, unit))
}

/// The usual case, quickly: digits with one decimal mark, a hyphen before them.
fn plain(bytes: &[u8]) -> Option<f64> {
    let (negative, digits) = match bytes {
        [b'-', digits @ ..] => (true, digits),
        digits => (false, digits),
    };
    if digits.is_empty() || digits.len() > 15 {
        return None;
    }
    let (mut number, mut scale, mut marked, mut any) = (0_u64, 1_u64, false, false);
    for byte in digits {
        match byte {
            b'0'..=b'9' => {
                number = number * 10 + u64::from(byte - b'0');
                if marked {
                    scale *= 10;
                }
                any = true;
            }
            b'.' | b',' if !marked => marked = true,
            _ => return None,
        }
    }
    let size = number as f64 / scale as f64;
    any.then_some(if negative { -size } else { size })
}

fn without_unit(text: &str) -> (&str, Option<Unit>) {
    let lower = text.to_lowercase();
    let ends = [
        ("degrees celsius", Unit::Celsius),
        ("degrees fahrenheit", Unit::Fahrenheit),
        ("celsius", Unit::Celsius),
        ("fahrenheit", Unit::Fahrenheit),
        ("deg c", Unit::Celsius),
        ("deg f", Unit::Fahrenheit),
        ("degc", Unit::Celsius),
        ("degf", Unit::Fahrenheit),
        ("°c", Unit::Celsius),
        ("°f", Unit::Fahrenheit),
        ("ºc", Unit::Celsius),
        ("ºf", Unit::Fahrenheit),
        ("° c", Unit::Celsius),
        ("° f", Unit::Fahrenheit),
        ("℃", Unit::Celsius),
        ("℉", Unit::Fahrenheit),
        ("c", Unit::Celsius),
        ("f", Unit::Fahrenheit),
    ];
    for (end, unit) in ends {
        // Letters that change their length when made small would shift the cut: such a text has no unit of ours.
        if lower.len() == text.len()
            && lower.ends_with(end)
            && let Some(bare) = text.get(..text.len() - end.len())
        {
            return (bare.trim_end(), Some(unit));
        }
    }
    (
        text.strip_suffix(['°', 'º']).unwrap_or(text).trim_end(),
        None,
    )
}

/// Every sign that has been seen for a minus: hyphen, minus, dashes, their small and wide forms.
const MINUS: [char; 9] = [
    '-', '\u{2212}', '\u{2013}', '\u{2014}', '\u{2010}', '\u{2011}', '\u{2012}', '\u{FE63}',
    '\u{FF0D}',
];

fn without_sign(text: &str) -> (&str, bool) {
    if let Some(bare) = text
        .strip_prefix('(')
        .and_then(|text| text.strip_suffix(')'))
    {
        return (bare.trim(), true);
    }
    if let Some(bare) = text.strip_prefix(MINUS) {
        return (bare.trim_start(), true);
    }
    if let Some(bare) = text.strip_suffix(MINUS) {
        return (bare.trim_end(), true);
    }
    (text.strip_prefix('+').unwrap_or(text).trim_start(), false)
}

fn size(text: &str) -> Option<f64> {
    if !text.starts_with(|sign: char| sign.is_ascii_digit() || matches!(sign, '.' | ',')) {
        return None;
    }
    let number = match (text.rfind(','), text.rfind('.')) {
        // Of both, the last is decimal and the other parts thousands.
        (Some(comma), Some(point)) if comma > point => text.replace('.', "").replace(',', "."),
        (Some(_), Some(_)) => text.replace(',', ""),
        (Some(_), None) => text.replacen(',', ".", 1),
        (None, _) => text.to_owned(),
    };
    number
        .parse()
        .ok()
        .filter(|number: &f64| number.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_temperature_in_every_dress() {
        for (text, celsius, unit) in [
            ("3.5", 3.5, None),
            ("3,5", 3.5, None),
            ("+3.5", 3.5, None),
            (".5", 0.5, None),
            ("-0.5", -0.5, None),
            ("-0,5 °C", -0.5, Some(Unit::Celsius)),
            ("\u{2212}0.5", -0.5, None),
            ("\u{2013} 0.5", -0.5, None),
            ("\u{FF0D}0.5", -0.5, None),
            ("0.5-", -0.5, None),
            ("(0.5)", -0.5, None),
            ("38.3F", 38.3, Some(Unit::Fahrenheit)),
            ("38.3 °F", 38.3, Some(Unit::Fahrenheit)),
            ("3.5℃", 3.5, Some(Unit::Celsius)),
            ("3.5 deg C", 3.5, Some(Unit::Celsius)),
            ("3.5°", 3.5, None),
            ("1.234,5", 1234.5, None),
            ("1,234.5", 1234.5, None),
            ("3.5e0", 3.5, None),
        ] {
            assert_eq!(read(text), Some((celsius, unit)), "{text}");
        }
        for wrong in [
            "", "-", "--", "---", "nan", "NaN", "inf", "-inf", "OL", "3.5.1", "C", "°C", "3 5",
            "()", "İC", ",", ".", "0x1f",
        ] {
            assert_eq!(read(wrong), None, "{wrong}");
        }
    }
}
