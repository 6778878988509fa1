//! What an act will touch: what is chosen, among what is shown, by name.

use std::collections::BTreeSet;

/// Takes out of what is chosen everything that is not shown: what can't be seen can't be acted on. True if anything
/// was taken out.
pub fn keep_shown<Key: Ord + Copy>(chosen: &mut BTreeSet<Key>, shown: &[Key]) -> bool {
    if chosen.is_empty() {
        return false;
    }
    let before = chosen.len();
    if before == 1 {
        // The commonest case, without a set of all that is shown.
        chosen.retain(|key| shown.contains(key));
    } else {
        let shown: BTreeSet<&Key> = shown.iter().collect();
        chosen.retain(|key| shown.contains(key));
    }
    chosen.len() != before
}

/// The chosen in a few words, the first by name: '24-02-030', '24-02-030 and 2 more'. Nothing where none is.
pub fn named<'a>(mut codes: impl Iterator<Item = &'a str>) -> Option<String> {
    let first = codes.next()?;
    Some(match codes.count() {
        0 => first.to_owned(),
        more => format!("{first} and {more} more"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hidden_are_taken_out() {
        let mut chosen = BTreeSet::from([1, 4, 7]);
        assert!(keep_shown(&mut chosen, &[7, 1, 2]));
        assert_eq!(chosen, BTreeSet::from([1, 7]));
        assert!(!keep_shown(&mut chosen, &[7, 1, 2]));
        assert!(keep_shown(&mut chosen, &[7]));
        assert!(keep_shown(&mut chosen, &[]));
        assert!(chosen.is_empty());
    }

    #[test]
    fn the_chosen_are_named() {
        assert_eq!(named([].into_iter()), None);
        assert_eq!(
            named(["24-02-030"].into_iter()).as_deref(),
            Some("24-02-030")
        );
        let three = named(["24-02-030", "24-02-031", "24-02-040"].into_iter());
        assert_eq!(three.as_deref(), Some("24-02-030 and 2 more"));
    }
}
