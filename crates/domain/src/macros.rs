//! The two macros that say each thing once: the list of record kinds, and a record with its settable fields.

/// Hands the list of record kinds to another macro, as `RecordKind table "noun"` triples.
///
/// The order is the order of the file and of loading: a kind refers mostly to those above it.
macro_rules! with_kinds {
    ($then:ident) => {
        $then! {
            Stage stages "stage",
            Trait traits "trait",
            Protocol protocols "protocol",
            Genotype genotypes "plant",
            Cross crosses "cross",
            CrossEvent cross_events "cross event",
            SeedLot seed_lots "seed lot",
            Movement movements "seed movement",
            SeedWeighing seed_weighings "seed weighing",
            GerminationTest germination_tests "germination test",
            ChillBatch chill_batches "chill batch",
            ChillBox chill_boxes "box",
            Check checks "check",
            TemperatureLog temperature_logs "temperature log",
            Germination germinations "germination run",
            Count counts "count",
            Sample samples "sample",
            DiseaseTest disease_tests "disease test",
            Observation observations "observation",
            ScoringSheet scoring_sheets "scoring sheet",
            Task tasks "task",
            Note notes "note",
            Photo photos "photo",
        }
    };
}

/// Declares a record: its struct, the enum of its settable fields, and the exchange of one field's value.
///
/// Required fields must stand in a file; optional ones are left out of it while they hold their default. Where a
/// field's identifier isn't what a breeder calls it, its words follow it.
macro_rules! record {
    (
        $(#[$meta:meta])*
        $Name:ident, $Field:ident {
            required { $( $(#[$rdoc:meta])* $RVariant:ident $rfield:ident $($rwords:literal)? : $RType:ty, )* }
            optional { $( $(#[$odoc:meta])* $OVariant:ident $ofield:ident $($owords:literal)? : $OType:ty, )* }
        }
    ) => {
        $(#[$meta])*
        #[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        pub struct $Name {
            /// Identity, for ever the same.
            pub id: crate::id::Id<$Name>,
            $( $(#[$rdoc])* pub $rfield: $RType, )*
            $( $(#[$odoc])* #[serde(default, skip_serializing_if = "crate::record::is_default")] pub $ofield: $OType, )*
        }

        #[doc = concat!("One field of a [`", stringify!($Name), "`] with a value for it.")]
        #[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[serde(rename_all = "snake_case")]
        pub enum $Field {
            $( $(#[$rdoc])* $RVariant($RType), )*
            $( $(#[$odoc])* $OVariant($OType), )*
        }

        impl $Field {
            /// The field's name in plain words.
            pub fn name(&self) -> String {
                match self {
                    $( Self::$RVariant(_) => crate::macros::field_words!($rfield $($rwords)?), )*
                    $( Self::$OVariant(_) => crate::macros::field_words!($ofield $($owords)?), )*
                }
                .replace('_', " ")
            }
        }

        impl crate::record::Fields for $Name {
            type Field = $Field;

            fn replace(&mut self, field: $Field) -> $Field {
                match field {
                    $( $Field::$RVariant(value) => $Field::$RVariant(std::mem::replace(&mut self.$rfield, value)), )*
                    $( $Field::$OVariant(value) => $Field::$OVariant(std::mem::replace(&mut self.$ofield, value)), )*
                }
            }

            fn field_name(field: &$Field) -> String {
                field.name()
            }

            fn read(&self, like: &$Field) -> $Field {
                match like {
                    $( $Field::$RVariant(_) => $Field::$RVariant(self.$rfield.clone()), )*
                    $( $Field::$OVariant(_) => $Field::$OVariant(self.$ofield.clone()), )*
                }
            }

            fn changed_fields(&self, other: &Self) -> Vec<$Field> {
                let mut fields = Vec::new();
                $( if self.$rfield != other.$rfield { fields.push($Field::$RVariant(other.$rfield.clone())); } )*
                $( if self.$ofield != other.$ofield { fields.push($Field::$OVariant(other.$ofield.clone())); } )*
                fields
            }

            fn value_words(field: &$Field, project: &crate::project::Project) -> String {
                match field {
                    $( $Field::$RVariant(value) => crate::display::DisplayValue::display(value, project), )*
                    $( $Field::$OVariant(value) => crate::display::DisplayValue::display(value, project), )*
                }
            }
        }
    };
}

/// What a breeder calls a field: its own words, or else its identifier.
macro_rules! field_words {
    ($field:ident) => {
        stringify!($field)
    };
    ($field:ident $words:literal) => {
        $words
    };
}

pub(crate) use field_words;
pub(crate) use record;
pub(crate) use with_kinds;
