//! Filtering and sorting the rows of a table.

use std::cmp::Ordering;

/// What a row is sorted by: numbers and words don't mix within a column.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Key {
    Number(i64),
    Words(String),
}

impl Key {
    /// A figure, to nine decimals.
    pub(super) fn figure(value: f64) -> Self {
        Self::Number((value * 1e9).round() as i64)
    }

    /// Words, letters large or small; nothing for none.
    pub(super) fn words(words: &str) -> Option<Self> {
        (!words.is_empty()).then(|| Self::Words(words.to_lowercase()))
    }
}

/// Sorts `rows` by a key made once for each. What has no key comes last either way; equals stay in their order.
pub(super) fn sort<T>(rows: Vec<T>, ascending: bool, key: impl Fn(&T) -> Option<Key>) -> Vec<T> {
    let mut keyed: Vec<_> = rows.into_iter().map(|row| (key(&row), row)).collect();
    keyed.sort_by(|(one, _), (other, _)| match (one, other) {
        (Some(one), Some(other)) if ascending => one.cmp(other),
        (Some(one), Some(other)) => other.cmp(one),
        (Some(_), None) => Ordering::Less,
        (None, Some(_)) => Ordering::Greater,
        (None, None) => Ordering::Equal,
    });
    keyed.into_iter().map(|(_, row)| row).collect()
}

/// A text cut into words and figures, so that hill 9 comes before hill 10.
pub(super) fn parts(text: &str) -> Vec<(u64, String)> {
    let mut all: Vec<(u64, String)> = Vec::new();
    let mut figures = String::new();
    let mut words = String::new();
    for sign in text.to_lowercase().chars().chain(['\0']) {
        if sign.is_ascii_digit() {
            if !words.is_empty() {
                all.push((0, std::mem::take(&mut words)));
            }
            figures.push(sign);
        } else {
            if !figures.is_empty() {
                let value = figures.parse().unwrap_or(u64::MAX);
                all.push((value, std::mem::take(&mut figures)));
            }
            words.push(sign);
        }
    }
    all.push((0, words));
    all
}

/// Whether `text` holds `wanted` (already in small letters), letters large or small.
pub(super) fn holds(text: &str, wanted: &str) -> bool {
    if text.is_ascii() && wanted.is_ascii() {
        let (text, wanted) = (text.as_bytes(), wanted.as_bytes());
        return wanted.is_empty()
            || text
                .windows(wanted.len())
                .any(|part| part.eq_ignore_ascii_case(wanted));
    }
    text.to_lowercase().contains(wanted)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_without_a_key_come_last_either_way() {
        let key = |row: &&str| Key::words(row);
        assert_eq!(sort(vec!["b", "", "A"], true, key), ["A", "b", ""]);
        assert_eq!(sort(vec!["b", "", "A"], false, key), ["b", "A", ""]);
    }

    #[test]
    fn letters_large_or_small_are_found_beyond_ascii_too() {
        assert!(
            holds("Märzen", "mär") && holds("MÄRZEN", "mär") && holds("26-A", "a") && holds("", "")
        );
        assert!(!holds("26-A", "b") && !holds("", "b"));
    }
}
