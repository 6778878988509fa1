//! A reader that notes whether anything was passed over, at no other cost: names of fields aren't copied on the way.

use serde::de::{
    DeserializeSeed, Deserializer, EnumAccess, MapAccess, SeqAccess, VariantAccess, Visitor,
};
use std::cell::Cell;
use std::fmt;

/// A reader, visitor, or part of one, that says so when a value is passed over.
pub(super) struct Noting<'n, T> {
    inner: T,
    unknown: &'n Cell<bool>,
}

impl<'n, T> Noting<'n, T> {
    pub(super) const fn new(inner: T, unknown: &'n Cell<bool>) -> Self {
        Self { inner, unknown }
    }
}

macro_rules! forward {
    ($($method:ident($($argument:ident: $type:ty),*);)*) => {
        $(fn $method<V: Visitor<'de>>(self, $($argument: $type,)* visitor: V) -> Result<V::Value, D::Error> {
            self.inner.$method($($argument,)* Noting::new(visitor, self.unknown))
        })*
    };
}

impl<'de, D: Deserializer<'de>> Deserializer<'de> for Noting<'_, D> {
    type Error = D::Error;

    forward! {
        deserialize_any();
        deserialize_bool();
        deserialize_i8();
        deserialize_i16();
        deserialize_i32();
        deserialize_i64();
        deserialize_i128();
        deserialize_u8();
        deserialize_u16();
        deserialize_u32();
        deserialize_u64();
        deserialize_u128();
        deserialize_f32();
        deserialize_f64();
        deserialize_char();
        deserialize_str();
        deserialize_string();
        deserialize_bytes();
        deserialize_byte_buf();
        deserialize_option();
        deserialize_unit();
        deserialize_unit_struct(name: &'static str);
        deserialize_newtype_struct(name: &'static str);
        deserialize_seq();
        deserialize_tuple(length: usize);
        deserialize_tuple_struct(name: &'static str, length: usize);
        deserialize_map();
        deserialize_struct(name: &'static str, fields: &'static [&'static str]);
        deserialize_enum(name: &'static str, variants: &'static [&'static str]);
        deserialize_identifier();
    }

    fn deserialize_ignored_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, D::Error> {
        self.unknown.set(true);
        self.inner.deserialize_ignored_any(visitor)
    }

    fn is_human_readable(&self) -> bool {
        self.inner.is_human_readable()
    }
}

macro_rules! visit {
    ($($method:ident($type:ty);)*) => {
        $(fn $method<E: serde::de::Error>(self, value: $type) -> Result<V::Value, E> {
            self.inner.$method(value)
        })*
    };
}

impl<'de, V: Visitor<'de>> Visitor<'de> for Noting<'_, V> {
    type Value = V::Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.inner.expecting(f)
    }

    visit! {
        visit_bool(bool);
        visit_i8(i8);
        visit_i16(i16);
        visit_i32(i32);
        visit_i64(i64);
        visit_i128(i128);
        visit_u8(u8);
        visit_u16(u16);
        visit_u32(u32);
        visit_u64(u64);
        visit_u128(u128);
        visit_f32(f32);
        visit_f64(f64);
        visit_char(char);
        visit_str(&str);
        visit_borrowed_str(&'de str);
        visit_string(String);
        visit_bytes(&[u8]);
        visit_borrowed_bytes(&'de [u8]);
        visit_byte_buf(Vec<u8>);
    }

    fn visit_none<E: serde::de::Error>(self) -> Result<V::Value, E> {
        self.inner.visit_none()
    }

    fn visit_unit<E: serde::de::Error>(self) -> Result<V::Value, E> {
        self.inner.visit_unit()
    }

    fn visit_some<D: Deserializer<'de>>(self, inner: D) -> Result<V::Value, D::Error> {
        self.inner.visit_some(Noting::new(inner, self.unknown))
    }

    fn visit_newtype_struct<D: Deserializer<'de>>(self, inner: D) -> Result<V::Value, D::Error> {
        self.inner
            .visit_newtype_struct(Noting::new(inner, self.unknown))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, items: A) -> Result<V::Value, A::Error> {
        self.inner.visit_seq(Noting::new(items, self.unknown))
    }

    fn visit_map<A: MapAccess<'de>>(self, fields: A) -> Result<V::Value, A::Error> {
        self.inner.visit_map(Noting::new(fields, self.unknown))
    }

    fn visit_enum<A: EnumAccess<'de>>(self, variant: A) -> Result<V::Value, A::Error> {
        self.inner.visit_enum(Noting::new(variant, self.unknown))
    }
}

impl<'de, S: DeserializeSeed<'de>> DeserializeSeed<'de> for Noting<'_, S> {
    type Value = S::Value;

    fn deserialize<D: Deserializer<'de>>(self, inner: D) -> Result<S::Value, D::Error> {
        self.inner.deserialize(Noting::new(inner, self.unknown))
    }
}

impl<'de, A: SeqAccess<'de>> SeqAccess<'de> for Noting<'_, A> {
    type Error = A::Error;

    fn next_element_seed<S: DeserializeSeed<'de>>(
        &mut self,
        seed: S,
    ) -> Result<Option<S::Value>, A::Error> {
        let seed = Noting::new(seed, self.unknown);
        self.inner.next_element_seed(seed)
    }

    fn size_hint(&self) -> Option<usize> {
        self.inner.size_hint()
    }
}

impl<'de, A: MapAccess<'de>> MapAccess<'de> for Noting<'_, A> {
    type Error = A::Error;

    fn next_key_seed<S: DeserializeSeed<'de>>(
        &mut self,
        seed: S,
    ) -> Result<Option<S::Value>, A::Error> {
        // Names hold nothing that could be passed over.
        self.inner.next_key_seed(seed)
    }

    fn next_value_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<S::Value, A::Error> {
        let seed = Noting::new(seed, self.unknown);
        self.inner.next_value_seed(seed)
    }

    fn size_hint(&self) -> Option<usize> {
        self.inner.size_hint()
    }
}

impl<'de, 'n, A: EnumAccess<'de>> EnumAccess<'de> for Noting<'n, A> {
    type Error = A::Error;
    type Variant = Noting<'n, A::Variant>;

    fn variant_seed<S: DeserializeSeed<'de>>(
        self,
        seed: S,
    ) -> Result<(S::Value, Self::Variant), A::Error> {
        let (value, variant) = self.inner.variant_seed(seed)?;
        Ok((value, Noting::new(variant, self.unknown)))
    }
}

impl<'de, A: VariantAccess<'de>> VariantAccess<'de> for Noting<'_, A> {
    type Error = A::Error;

    fn unit_variant(self) -> Result<(), A::Error> {
        self.inner.unit_variant()
    }

    fn newtype_variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<S::Value, A::Error> {
        let seed = Noting::new(seed, self.unknown);
        self.inner.newtype_variant_seed(seed)
    }

    fn tuple_variant<V: Visitor<'de>>(
        self,
        length: usize,
        visitor: V,
    ) -> Result<V::Value, A::Error> {
        let visitor = Noting::new(visitor, self.unknown);
        self.inner.tuple_variant(length, visitor)
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, A::Error> {
        let visitor = Noting::new(visitor, self.unknown);
        self.inner.struct_variant(fields, visitor)
    }
}

#[cfg(test)]
mod tests {
    use super::super::read;
    use serde::Deserialize;
    use std::collections::BTreeMap;

    #[derive(Debug, Deserialize, PartialEq)]
    enum Shape {
        Point,
        Round { radius: f64 },
        Several(Vec<Part>),
    }

    #[derive(Debug, Deserialize, PartialEq)]
    struct Part {
        name: Option<String>,
        #[serde(default)]
        shapes: BTreeMap<String, Shape>,
    }

    #[test]
    fn a_field_that_is_passed_over_is_noted_at_any_depth_and_nothing_else_is() {
        let known = r#"{"name":"a","shapes":{"b":{"Several":[{"name":null,"shapes":{"c":{"Round":{"radius":2}}}}]},"d":"Point"}}"#;
        let (_, unknown) = read::<Part>(known.as_bytes()).unwrap();
        assert!(!unknown);
        for (from, to) in [
            (r#"{"name":"a""#, r#"{"x":1,"name":"a""#),
            (r#"{"name":null"#, r#"{"x":{},"name":null"#),
            (r#"{"radius":2}"#, r#"{"radius":2,"x":null}"#),
        ] {
            let text = known.replacen(from, to, 1);
            assert_ne!(text, known);
            assert!(read::<Part>(text.as_bytes()).unwrap().1, "{text}");
        }
        assert!(read::<Part>(b"{} {}").is_err());
    }
}
