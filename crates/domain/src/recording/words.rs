//! What is typed in a cell, read by the scale of its trait; and a value as it is shown in one.

use crate::import::units::convert;
use crate::record::scale::{Scale, Value};
use chrono::NaiveDate;

/// What a typed cell means for a trait called `name`; nothing if it is empty. `date` reads a day as people type it.
///
/// Numbers take a decimal point or comma, and a unit that can be brought to that of the trait; a class its word, the
/// beginning of it, or its place from 1; yes and no their first letter, 1 and 0, + and -.
///
/// # Errors
/// A sentence that says what is wrong and what can stand there.
pub fn read(
    scale: &Scale,
    name: &str,
    text: &str,
    date: impl FnOnce(&str) -> Result<NaiveDate, String>,
) -> Result<Option<Value>, String> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    if matches!(scale, Scale::Measure { .. } | Scale::Number) && ambiguous_number(text) {
        let (thousands, decimal) = (text.replace(',', ""), text.replace(',', "."));
        return Err(format!(
            "{name}: '{text}' can be read in two ways. Type {thousands} or {decimal}."
        ));
    }
    let value = match scale {
        Scale::Derived { .. } => {
            return Err(format!(
                "{name} is calculated from other traits and isn't recorded itself."
            ));
        }
        Scale::Score { .. } => match score_by_word(scale, text) {
            Some(score) => Value::Number(f64::from(score)),
            None => Value::Number(number(text, "").ok_or_else(|| no_number(scale, name, text))?),
        },
        Scale::Number => {
            Value::Number(number(text, "").ok_or_else(|| no_number(scale, name, text))?)
        }
        Scale::Measure { unit, .. } => Value::Number(measure(text, unit, name)?),
        Scale::Classes { classes } => Value::Class {
            class: class(classes, text)
                .ok_or_else(|| format!("{name} is one of {}, not '{text}'.", classes.join(", ")))?,
        },
        Scale::Date => Value::Date { date: date(text)? },
        Scale::YesNo => match text.to_lowercase().as_str() {
            "y" | "yes" | "true" | "1" | "+" | "x" | "\u{2713}" => Value::YesNo(true),
            "n" | "no" | "false" | "0" | "-" | "\u{2212}" => Value::YesNo(false),
            _ => return Err(format!("{name} is yes or no, not '{text}'. Type y or n.")),
        },
        Scale::Text => Value::Text { text: text.into() },
    };
    match scale.fault(name, &value) {
        Some(fault) => Err(fault),
        None => Ok(Some(value)),
    }
}

fn no_number(scale: &Scale, name: &str, text: &str) -> String {
    match scale {
        Scale::Score { from, to, .. } => {
            format!("{name} is scored in whole numbers from {from} to {to}, not '{text}'.")
        }
        Scale::Number => format!("{name} is a count: a whole number, not '{text}'."),
        _ => format!("{name} is a number, not '{text}'."),
    }
}

/// The score whose agreed word this is.
fn score_by_word(scale: &Scale, text: &str) -> Option<i32> {
    let Scale::Score { from, to, .. } = scale else {
        return None;
    };
    let wanted = text.to_lowercase();
    if to.saturating_sub(*from) > 1000 {
        return None;
    }
    (*from..=*to).find(|score| {
        let word = scale.word_for(*score);
        word.is_some_and(|word| word.to_lowercase() == wanted)
    })
}

/// A number as people type it, without its unit.
fn number(text: &str, unit: &str) -> Option<f64> {
    let bare = if unit.is_empty() {
        text
    } else {
        text.strip_suffix(unit).unwrap_or(text)
    };
    let plain: String = bare
        .trim()
        .chars()
        .filter(|sign| !matches!(sign, ' ' | '\u{a0}' | '\u{202f}' | '\''))
        .map(|sign| match sign {
            ',' => '.',
            '\u{2212}' => '-',
            other => other,
        })
        .collect();
    let begins = |sign: char| sign.is_ascii_digit() || matches!(sign, '.' | '-' | '+');
    if !plain.starts_with(begins) {
        return None;
    }
    plain.parse().ok().filter(|number: &f64| number.is_finite())
}

/// A measurement, brought to the unit of its trait where another was typed.
fn measure(text: &str, unit: &str, name: &str) -> Result<f64, String> {
    if let Some(number) = number(text, unit) {
        return Ok(number);
    }
    let wrong = || match unit {
        "" => format!("{name} is a number, not '{text}'."),
        unit => format!("{name} is a number in {unit}, not '{text}'."),
    };
    let of_number = |sign: char| sign.is_ascii_digit() || ".,-+\u{2212} ".contains(sign);
    let end = text.find(|sign| !of_number(sign)).ok_or_else(wrong)?;
    let (figures, own) = text.split_at(end);
    let figures = number(figures, "").ok_or_else(wrong)?;
    convert(figures, own, unit).map_err(|_other| {
        format!("{name} is measured in {unit}, and '{own}' can't be brought to it.")
    })
}

/// Whether a number could mean two things: '1,234' is a thousand or one and a bit.
fn ambiguous_number(text: &str) -> bool {
    let mut parts = text.trim().trim_start_matches(['-', '+']).split(',');
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|each| each.is_ascii_digit());
    match (parts.next(), parts.next(), parts.next()) {
        (Some(whole), Some(rest), None) => {
            digits(whole) && whole != "0" && whole.len() <= 3 && digits(rest) && rest.len() == 3
        }
        _ => false,
    }
}

/// The class of this word, or the only one that begins so, or the one at this place from 1.
fn class(classes: &[String], text: &str) -> Option<String> {
    let wanted = text.to_lowercase();
    let same = |class: &&String| class.trim().to_lowercase() == wanted;
    if let Some(class) = classes.iter().find(same) {
        return Some(class.clone());
    }
    let mut beginning = classes
        .iter()
        .filter(|class| class.trim().to_lowercase().starts_with(&wanted));
    if let (Some(class), None) = (beginning.next(), beginning.next()) {
        return Some(class.clone());
    }
    let place: usize = wanted.parse().ok()?;
    classes.get(place.checked_sub(1)?).cloned()
}

/// A value as it stands in a cell: [`read`] reads it back.
pub fn told(value: &Value) -> String {
    match value {
        Value::Date { date } => date.format("%Y-%m-%d").to_string(),
        other => other.to_string(),
    }
}
