//! Identities: stable, never read by people, never reused.

use crate::macros::with_kinds;
use crate::record::Record;
use serde::{Deserialize, Serialize};
use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::marker::PhantomData;
use uuid::Uuid;

/// The identity of one record of type `R` (a UUID, version 7, RFC 9562): sorted, it is the order of making.
pub struct Id<R> {
    uuid: Uuid,
    of: PhantomData<fn() -> R>,
}

impl<R> Id<R> {
    /// Wraps a UUID read from elsewhere.
    pub const fn from_uuid(uuid: Uuid) -> Self {
        Self {
            uuid,
            of: PhantomData,
        }
    }

    /// The bare UUID.
    pub const fn uuid(self) -> Uuid {
        self.uuid
    }
}

// Written by hand: a derive would require the same trait of `R`, though an identity holds no `R`.
impl<R> Clone for Id<R> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<R> Copy for Id<R> {}
impl<R> PartialEq for Id<R> {
    fn eq(&self, other: &Self) -> bool {
        self.uuid == other.uuid
    }
}
impl<R> Eq for Id<R> {}
impl<R> PartialOrd for Id<R> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl<R> Ord for Id<R> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.uuid.cmp(&other.uuid)
    }
}
impl<R> Hash for Id<R> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.uuid.hash(state);
    }
}
impl<R> fmt::Debug for Id<R> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.uuid)
    }
}
impl<R> Serialize for Id<R> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.uuid.serialize(serializer)
    }
}
impl<'de, R> Deserialize<'de> for Id<R> {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Uuid::deserialize(deserializer).map(Self::from_uuid)
    }
}

#[cfg(feature = "schema")]
impl<R> schemars::JsonSchema for Id<R> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Id".into()
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        Uuid::json_schema(generator)
    }
}

macro_rules! define_kind {
    ($($Kind:ident $table:ident $noun:literal,)*) => {
        /// What a record is.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema), schemars(rename = "Kind"))]
        #[serde(rename_all = "snake_case")]
        #[expect(missing_docs, reason = "each variant is the record type of that name")]
        pub enum RecordKind { $($Kind,)* }

        impl RecordKind {
            /// Every kind, in the order of the file.
            pub const ALL: &'static [Self] = &[$(Self::$Kind,)*];

            /// The kind in the trade's words, singular, lower case.
            pub const fn noun(self) -> &'static str {
                match self { $(Self::$Kind => $noun,)* }
            }

            /// So many of the kind in words, such as '1 box' or '3 boxes'.
            pub fn counted(self, count: usize) -> String {
                let noun = self.noun();
                let ending = match (count, noun) {
                    (1, _) => "",
                    _ if noun.ends_with(['x', 's']) || noun.ends_with("ch") => "es",
                    _ => "s",
                };
                format!("{count} {noun}{ending}")
            }

            /// The name of its table in a file.
            pub const fn table(self) -> &'static str {
                match self { $(Self::$Kind => stringify!($table),)* }
            }

            /// The kind whose table has this name.
            pub fn of_table(name: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|kind| kind.table() == name)
            }
        }
    };
}
with_kinds!(define_kind);

/// The identity of a record of any kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AnyId {
    /// What the record is.
    pub kind: RecordKind,
    /// Its identity.
    #[serde(rename = "id")]
    pub uuid: Uuid,
}

impl AnyId {
    /// The typed identity, if this is of kind `R`.
    pub fn typed<R: Record>(self) -> Option<Id<R>> {
        (self.kind == R::KIND).then_some(Id::from_uuid(self.uuid))
    }
}

impl<R: Record> From<Id<R>> for AnyId {
    fn from(id: Id<R>) -> Self {
        Self {
            kind: R::KIND,
            uuid: id.uuid,
        }
    }
}

impl<R: Record> PartialEq<Id<R>> for AnyId {
    fn eq(&self, other: &Id<R>) -> bool {
        *self == Self::from(*other)
    }
}

/// Makes new identities.
///
/// The domain has neither clock nor dice: whoever edits brings a moment and a seed. The same moment and
/// seed give the same identities, which is how the sample project can be made again to the byte.
#[derive(Debug, Clone)]
pub struct IdSource {
    millis: u64,
    state: u64,
}

impl IdSource {
    /// A source starting at `unix_millis`, its random bits drawn from `seed`.
    pub const fn new(unix_millis: u64, seed: u64) -> Self {
        Self {
            millis: unix_millis,
            state: seed,
        }
    }

    /// Moves the clock of the source forward; identities made later sort later.
    pub fn advance_to(&mut self, unix_millis: u64) {
        self.millis = self.millis.max(unix_millis);
    }

    /// A new identity. Each is greater than the one before, within one source.
    #[expect(
        clippy::should_implement_trait,
        reason = "each call names its own type of record, as no iterator can"
    )]
    pub fn next<R>(&mut self) -> Id<R> {
        let (high, low) = (self.random(), self.random());
        let mut bytes = [0; 10];
        bytes[..8].copy_from_slice(&high.to_be_bytes());
        bytes[8..].copy_from_slice(&low.to_be_bytes()[..2]);
        let uuid = uuid::Builder::from_unix_timestamp_millis(self.millis, &bytes).into_uuid();
        // One identity a millisecond keeps the order of making inside a bulk edit.
        self.millis += 1;
        Id::from_uuid(uuid)
    }

    /// `SplitMix64` (Steele, Lea & Flood 2014, "Fast splittable pseudorandom number generators", Fig. 17).
    fn random(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Genotype;

    #[test]
    fn identities_are_version_7_and_sort_in_the_order_of_making() {
        let mut ids = IdSource::new(1_770_000_000_000, 7);
        let made: Vec<Id<Genotype>> = (0..1000).map(|_| ids.next()).collect();
        assert!(made.is_sorted() && made.windows(2).all(|pair| pair[0] != pair[1]));
        assert_eq!(made[0].uuid().get_version_num(), 7);
    }

    #[test]
    fn the_same_seed_gives_the_same_identities() {
        let (mut a, mut b) = (IdSource::new(5, 9), IdSource::new(5, 9));
        assert_eq!(a.next::<Genotype>(), b.next::<Genotype>());
    }
}
