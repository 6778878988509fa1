//! Words that go with a number or before a noun.

/// The word that goes with a number.
pub const fn plural<'a>(count: u32, one: &'a str, many: &'a str) -> &'a str {
    if count == 1 { one } else { many }
}

/// So many things in words, such as '1 change' or '3 changes'.
pub fn counted(count: usize, one: &str, many: &str) -> String {
    let word = if count == 1 { one } else { many };
    format!("{count} {word}")
}

/// A noun with its article, such as 'an observation' or 'a box'.
pub fn with_article(noun: &str) -> String {
    let vowel = noun.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {noun}", if vowel { "an" } else { "a" })
}

/// The words with a capital at the front.
pub(crate) fn sentence(words: &str) -> String {
    let mut signs = words.chars();
    signs.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(signs).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::RecordKind;

    #[test]
    fn one_is_one_and_a_vowel_takes_an() {
        assert_eq!(counted(1, "line", "lines"), "1 line");
        assert_eq!(counted(0, "line", "lines"), "0 lines");
        assert_eq!(
            with_article(RecordKind::Observation.noun()),
            "an observation"
        );
        assert_eq!(with_article(RecordKind::ChillBox.noun()), "a box");
        for kind in RecordKind::ALL {
            // By the letter is by the sound for all of them.
            assert!(!kind.noun().starts_with("uni") && !kind.noun().starts_with("hour"));
        }
    }
}
