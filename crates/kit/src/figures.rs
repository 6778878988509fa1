//! How figures are written on screen: a true minus, and one sign for what isn't there.

/// Stands where a figure isn't known, in every table.
pub const MISSING: &str = "\u{2013}";

/// The minus sign, as wide as the plus.
pub const MINUS: char = '\u{2212}';

/// A figure with a true minus in the place of a hyphen, wherever one stands before a digit and after nothing, a space
/// or a bracket: `-1.7 (-2.0 to 0.3)`. A hyphen within a code such as `26-04` stays.
pub fn with_minus(text: &str) -> String {
    let mut written = String::with_capacity(text.len() + 4);
    let mut before = None;
    let mut signs = text.chars().peekable();
    while let Some(sign) = signs.next() {
        let begins = before.is_none_or(|each: char| each == ' ' || each == '(' || each == '\n');
        let is_minus = sign == '-' && begins && signs.peek().is_some_and(char::is_ascii_digit);
        written.push(if is_minus { MINUS } else { sign });
        before = Some(sign);
    }
    written
}

/// A figure with so many decimals; what rounds to nothing has no sign.
pub fn decimals(value: f64, count: usize) -> String {
    let text = format!("{value:.count$}");
    let is_nothing = text.chars().all(|sign| matches!(sign, '-' | '0' | '.'));
    if is_nothing {
        text.trim_start_matches('-').to_owned()
    } else {
        with_minus(&text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_minus_is_no_hyphen_and_a_hyphen_no_minus() {
        assert_eq!(with_minus("-1.7 (-2.0 to 0.3)"), "−1.7 (−2.0 to 0.3)");
        assert_eq!(with_minus("26-04-S01"), "26-04-S01");
        assert_eq!(with_minus("box C-12"), "box C-12");
        assert_eq!(with_minus("a - b"), "a - b");
        assert_eq!(with_minus("-"), "-");
    }

    #[test]
    fn nothing_has_no_sign() {
        assert_eq!(decimals(-0.001, 2), "0.00");
        assert_eq!(decimals(-0.006, 2), "−0.01");
        assert_eq!(decimals(0.0, 0), "0");
        assert_eq!(decimals(f64::from(12), 1), "12.0");
    }
}
