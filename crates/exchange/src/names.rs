//! Names as people see them: what looks alike, and what can't be seen.

use unicode_normalization::UnicodeNormalization as _;

/// The first sign of a name that can't be seen: a control character, a space without width, a mark of direction.
pub fn hidden_sign(name: &str) -> Option<char> {
    name.chars().find(|&sign| is_hidden(sign))
}

fn is_hidden(sign: char) -> bool {
    sign.is_control()
        || matches!(
            sign,
            '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2064}' | '\u{2066}'..='\u{2069}' | '\u{feff}'
        )
}

/// A name by its looks: letters large or small, accents however they are encoded, spaces of any kind and number, and
/// signs that can't be seen make no difference (compatibility composition, Unicode Standard Annex 15).
pub fn looks_like(name: &str) -> String {
    let seen = name
        .chars()
        .filter(|&sign| !is_hidden(sign) || sign.is_whitespace());
    let composed: String = seen.nfkc().flat_map(char::to_lowercase).nfkc().collect();
    composed.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// In what two names differ that look alike.
pub fn likeness(one: &str, other: &str) -> &'static str {
    let visible =
        |name: &str| -> String { name.chars().filter(|&sign| !is_hidden(sign)).collect() };
    let spaced = |name: &str| name.split_whitespace().collect::<Vec<_>>().join(" ");
    if one.to_lowercase() == other.to_lowercase() {
        "letter size"
    } else if visible(one) == visible(other) {
        "signs that can't be seen"
    } else if spaced(one) == spaced(other) {
        "spaces"
    } else if spaced(&one.to_lowercase()) == spaced(&other.to_lowercase()) {
        "letter size and spaces"
    } else {
        "how its letters are encoded"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_look_alike() {
        // ü as one character and as u with a diaeresis: composed and decomposed form of Unicode Standard Annex 15.
        for (one, other, how) in [
            ("Gr\u{fc}n", "gr\u{fc}n", "letter size"),
            ("Gr\u{fc}n", "Gru\u{308}n", "how its letters are encoded"),
            ("Late Hop", "Late  Hop", "spaces"),
            ("Late Hop", "Late\u{a0}Hop", "spaces"),
            ("Late\u{200b}Hop", "LateHop", "signs that can't be seen"),
            ("A\0", "A", "signs that can't be seen"),
        ] {
            assert_eq!(looks_like(one), looks_like(other), "{one} {other}");
            assert_eq!(likeness(one, other), how);
        }
        assert_ne!(looks_like("Grun"), looks_like("Gr\u{fc}n"));
        assert_eq!(hidden_sign("A\0"), Some('\0'));
        assert_eq!(hidden_sign("Gr\u{fc}n 2"), None);
    }
}
