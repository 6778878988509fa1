//! All records of one kind, by identity.

use crate::id::Id;
use crate::record::Record;
use imbl::OrdMap;
use imbl::ordmap::DiffItem;
use std::sync::Arc;

/// All records of one kind in the order of their identities, which is the order of their making.
///
/// A clone shares its structure with the original and costs the same at ten records or a hundred
/// thousand, so a worker can read a snapshot while the original goes on changing.
#[derive(Debug, PartialEq)]
pub struct Table<R: Record> {
    records: OrdMap<Id<R>, Arc<R>>,
}

impl<R: Record> Table<R> {
    /// The record with this identity.
    pub fn get(&self, id: Id<R>) -> Option<&R> {
        self.records.get(&id).map(|record| &**record)
    }

    /// Whether there is a record with this identity.
    pub fn contains(&self, id: Id<R>) -> bool {
        self.records.contains_key(&id)
    }

    /// Every record, in the order of making.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = &R> {
        self.records.values().map(|record| &**record)
    }

    /// How many records there are.
    pub fn len(&self) -> usize {
        self.records.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.records.is_empty()
    }

    /// The records that differ, in the order of making: as they are here, as they are there. What the two share is
    /// passed over unseen.
    pub(crate) fn differences<'a>(
        &'a self,
        other: &'a Self,
    ) -> impl Iterator<Item = (Option<&'a R>, Option<&'a R>)> {
        self.records.diff(&other.records).map(|item| match item {
            DiffItem::Add(_, new) => (None, Some(&**new)),
            DiffItem::Update { old, new } => (Some(&**old.1), Some(&**new.1)),
            DiffItem::Remove(_, old) => (Some(&**old), None),
        })
    }

    pub(crate) fn insert(&mut self, record: Arc<R>) {
        self.records.insert(record.id(), record);
    }

    pub(crate) fn remove(&mut self, id: Id<R>) -> Option<R> {
        self.records.remove(&id).map(Arc::unwrap_or_clone)
    }
}

impl<R: Record> Clone for Table<R> {
    fn clone(&self) -> Self {
        Self {
            records: self.records.clone(),
        }
    }
}

impl<R: Record> Default for Table<R> {
    fn default() -> Self {
        Self {
            records: OrdMap::new(),
        }
    }
}

impl<R: Record> FromIterator<R> for Table<R> {
    fn from_iter<I: IntoIterator<Item = R>>(records: I) -> Self {
        Self {
            records: records
                .into_iter()
                .map(|record| (record.id(), Arc::new(record)))
                .collect(),
        }
    }
}

impl<R: Record + serde::Serialize> serde::Serialize for Table<R> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.iter())
    }
}
