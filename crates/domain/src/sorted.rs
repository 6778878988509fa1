//! A sorted set that is made of many items at once, and changed one by one from then on.

use imbl::OrdSet;
use std::cmp::Ordering;
use std::iter::Peekable;
use std::ops::Bound;
use std::sync::Arc;

/// A sorted set. What it is made of lies in one list, which clones share; what came and went since lies beside it.
///
/// Making it costs a sort, where a tree costs a walk for each item: a file of a hundred thousand plants has half a
/// million references.
#[derive(Debug, Clone)]
pub(crate) struct Sorted<T: Ord + Clone> {
    made_of: Arc<Vec<T>>,
    /// What came, none of it in the list.
    added: OrdSet<T>,
    /// What went, all of it in the list.
    removed: OrdSet<T>,
}

impl<T: Ord + Clone> Default for Sorted<T> {
    fn default() -> Self {
        Self::of(Vec::new())
    }
}

impl<T: Ord + Clone> Sorted<T> {
    /// A set of these items.
    pub(crate) fn of(mut items: Vec<T>) -> Self {
        // They come in runs that are in order already, which this sort makes use of.
        items.sort();
        items.dedup();
        Self {
            made_of: Arc::new(items),
            added: OrdSet::new(),
            removed: OrdSet::new(),
        }
    }

    pub(crate) fn insert(&mut self, item: T) {
        if self.removed.remove(&item).is_none() && self.made_of.binary_search(&item).is_err() {
            self.added.insert(item);
        }
    }

    pub(crate) fn remove(&mut self, item: &T) {
        if self.added.remove(item).is_none()
            && let Ok(at) = self.made_of.binary_search(item)
        {
            self.removed.insert(self.made_of[at].clone());
        }
    }

    /// Every item, in order.
    pub(crate) fn iter(&self) -> impl Iterator<Item = &T> {
        self.merged(0, Bound::Unbounded)
    }

    /// Every item that isn't before `first`, in order.
    pub(crate) fn from<'a>(&'a self, first: &T) -> impl Iterator<Item = &'a T> + use<'a, T> {
        let at = self.made_of.partition_point(|item| item < first);
        self.merged(at, Bound::Included(first))
    }

    fn merged<'a>(
        &'a self,
        at: usize,
        first: Bound<&T>,
    ) -> impl Iterator<Item = &'a T> + use<'a, T> {
        let stays = |item: &&T| self.removed.is_empty() || !self.removed.contains(*item);
        let made_of = self.made_of[at..].iter().filter(stays);
        let added = self.added.range::<_, T>((first, Bound::Unbounded));
        Merged {
            one: made_of.peekable(),
            other: added.peekable(),
        }
    }
}

/// Two iterators in order, as one in order.
struct Merged<A: Iterator, B: Iterator> {
    one: Peekable<A>,
    other: Peekable<B>,
}

impl<'a, T, A, B> Iterator for Merged<A, B>
where
    T: Ord + 'a,
    A: Iterator<Item = &'a T>,
    B: Iterator<Item = &'a T>,
{
    type Item = &'a T;

    fn next(&mut self) -> Option<&'a T> {
        match (self.one.peek(), self.other.peek()) {
            (Some(one), Some(other)) if one.cmp(other) == Ordering::Greater => self.other.next(),
            (Some(_), _) => self.one.next(),
            (None, _) => self.other.next(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    proptest! {
        /// Held against the standard library's set, whatever comes and goes, also where a clone goes its own way.
        #[test]
        fn it_holds_what_a_tree_holds(
            made_of in prop::collection::vec(0u8..40, 0..40),
            acts in prop::collection::vec((any::<bool>(), 0u8..40), 0..80),
            first in 0u8..45,
        ) {
            let mut tree: BTreeSet<u8> = made_of.iter().copied().collect();
            let mut sorted = Sorted::of(made_of.clone());
            let before = sorted.clone();
            for (comes, item) in acts {
                if comes {
                    tree.insert(item);
                    sorted.insert(item);
                } else {
                    tree.remove(&item);
                    sorted.remove(&item);
                }
                prop_assert!(sorted.iter().eq(tree.iter()));
                prop_assert!(sorted.from(&first).eq(tree.range(first..)));
            }
            let made_of: BTreeSet<u8> = made_of.into_iter().collect();
            prop_assert!(before.iter().eq(made_of.iter()));
        }
    }
}
