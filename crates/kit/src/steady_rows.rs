//! Rows that stay where they are: one that is done keeps its place until the page is left, so that nothing slides
//! under a finger.

use std::collections::BTreeSet;

/// The rows of a page in the order in which they first stood there.
#[derive(Clone, Debug)]
pub struct SteadyRows<Key> {
    order: Vec<Key>,
    open: BTreeSet<Key>,
}

impl<Key> Default for SteadyRows<Key> {
    fn default() -> Self {
        Self {
            order: Vec::new(),
            open: BTreeSet::new(),
        }
    }
}

impl<Key: Clone + Ord> SteadyRows<Key> {
    /// Brings the rows up to what is open now: new ones come at the end, those no longer open stay, done.
    pub fn follow(&mut self, open: impl IntoIterator<Item = Key>) {
        self.open.clear();
        let mut known: BTreeSet<Key> = self.order.iter().cloned().collect();
        for key in open {
            if known.insert(key.clone()) {
                self.order.push(key.clone());
            }
            self.open.insert(key);
        }
    }

    /// The rows in their order, each with whether it is done.
    pub fn rows(&self) -> impl ExactSizeIterator<Item = (&Key, bool)> {
        self.order.iter().map(|key| (key, !self.open.contains(key)))
    }

    /// Whether there are no rows.
    pub fn is_empty(&self) -> bool {
        self.order.is_empty()
    }

    /// The page is left: done rows go, and the order is made anew when it is come back to.
    pub fn leave(&mut self) {
        self.order.clear();
        self.open.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn done_rows_keep_their_place_until_the_page_is_left() {
        let mut rows = SteadyRows::default();
        rows.follow(["a", "b", "c"]);
        rows.follow(["c", "d", "a"]);
        let all: Vec<_> = rows.rows().map(|(key, done)| (*key, done)).collect();
        assert_eq!(all, [("a", false), ("b", true), ("c", false), ("d", false)]);
        rows.follow(["a", "b", "c"]);
        let b = rows.rows().nth(1).unwrap();
        assert_eq!(b, (&"b", false), "undone, it is open again where it was");
        rows.leave();
        rows.follow(["c"]);
        assert_eq!(rows.rows().len(), 1);
    }
}
