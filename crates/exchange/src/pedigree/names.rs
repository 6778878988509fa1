//! Names in order, and the place of each.

use hashbrown::hash_table::Entry;
use hashbrown::{DefaultHashBuilder, HashTable};
use std::hash::BuildHasher as _;

/// Texts in order, kept as one, so that a million of them take two allocations.
#[derive(Debug, Clone, Default)]
pub(super) struct Texts {
    all: String,
    ends: Vec<usize>,
}

impl Texts {
    /// Adds a text; returns its place.
    pub(super) fn push(&mut self, text: &str) -> u32 {
        self.all.push_str(text);
        self.ends.push(self.all.len());
        self.len() - 1
    }

    pub(super) fn len(&self) -> u32 {
        self.ends.len() as u32
    }

    pub(super) fn get(&self, place: u32) -> Option<&str> {
        let place = place as usize;
        let begin = if place == 0 { 0 } else { self.ends[place - 1] };
        self.all.get(begin..*self.ends.get(place)?)
    }

    pub(super) fn iter(&self) -> impl Iterator<Item = &str> {
        (0..self.len()).filter_map(|place| self.get(place))
    }
}

/// Different names in order, each found by its text.
///
/// Most names of a large pedigree are met once, each in memory that isn't in the processor's cache. Adding them in one
/// go lets the processor wait for many of them at once, where one by one between other work it would wait for each.
#[derive(Debug, Clone, Default)]
pub(super) struct Names {
    texts: Texts,
    places: HashTable<Slot>,
    hashes: DefaultHashBuilder,
}

/// The place of a name, with a part of the hash that tells most others apart without a look at their texts.
#[derive(Debug, Clone, Copy)]
struct Slot {
    part: u32,
    place: u32,
}

/// The bits between those that `HashTable` itself looks at.
const fn part(hash: u64) -> u32 {
    (hash >> 24) as u32
}

impl Names {
    /// These texts as names, each at its place, and those that stood there before: the place of each with that of the
    /// first like it.
    pub(super) fn of(texts: Texts) -> (Self, Vec<(u32, u32)>) {
        let hashes = DefaultHashBuilder::default();
        let mut places: HashTable<Slot> = HashTable::with_capacity(texts.len() as usize);
        let mut repeated = Vec::new();
        for (place, text) in (0..).zip(texts.iter()) {
            let hash = hashes.hash_one(text);
            let part = part(hash);
            let same = |slot: &Slot| slot.part == part && texts.get(slot.place) == Some(text);
            let again = |slot: &Slot| rehash(&hashes, &texts, *slot);
            match places.entry(hash, same, again) {
                Entry::Occupied(first) => repeated.push((place, first.get().place)),
                Entry::Vacant(free) => {
                    free.insert(Slot { part, place });
                }
            }
        }
        let names = Self {
            texts,
            places,
            hashes,
        };
        (names, repeated)
    }

    pub(super) fn len(&self) -> u32 {
        self.texts.len()
    }

    pub(super) fn get(&self, place: u32) -> Option<&str> {
        self.texts.get(place)
    }

    pub(super) fn find(&self, name: &str) -> Option<u32> {
        let hash = self.hashes.hash_one(name);
        let same =
            |slot: &Slot| slot.part == part(hash) && self.texts.get(slot.place) == Some(name);
        self.places.find(hash, same).map(|slot| slot.place)
    }

    /// Adds a name that isn't there; returns its place.
    pub(super) fn add(&mut self, name: &str) -> u32 {
        let hash = self.hashes.hash_one(name);
        let place = self.texts.push(name);
        let slot = Slot {
            part: part(hash),
            place,
        };
        let again = |slot: &Slot| rehash(&self.hashes, &self.texts, *slot);
        self.places.insert_unique(hash, slot, again);
        place
    }
}

fn rehash(hashes: &DefaultHashBuilder, texts: &Texts, slot: Slot) -> u64 {
    hashes.hash_one(texts.get(slot.place).unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeMap;

    proptest! {
        /// Held against the standard library's ordered map.
        #[test]
        fn each_name_is_found_where_it_first_stood(
            first in proptest::collection::vec("[ab]{0,4}", 0..60),
            later in proptest::collection::vec("[abc]{0,4}", 0..60),
        ) {
            let (mut texts, mut plain) = (Texts::default(), BTreeMap::new());
            let mut expected = Vec::new();
            for (place, name) in (0..).zip(&first) {
                texts.push(name);
                match plain.get(name) {
                    Some(first) => expected.push((place, *first)),
                    None => {
                        plain.insert(name.clone(), place);
                    }
                }
            }
            let (mut names, repeated) = Names::of(texts);
            prop_assert_eq!(repeated, expected);
            for name in later {
                prop_assert_eq!(names.find(&name), plain.get(&name).copied());
                if !plain.contains_key(&name) {
                    plain.insert(name.clone(), names.add(&name));
                }
                prop_assert_eq!(names.find(&name), plain.get(&name).copied());
            }
            for (name, place) in plain {
                prop_assert_eq!(names.get(place), Some(name.as_str()));
            }
        }
    }
}
