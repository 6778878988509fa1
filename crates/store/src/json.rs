//! The one way from JSON text to the types of the model, and from the model to a JSON value.
//!
//! Code for every record of the model is generated anew for each kind of reader and writer, and takes half a minute to
//! build each time. All that reads the model's types goes through [`read`], so that there is one copy of it.

mod noting;

use noting::Noting;
use serde::{Deserialize, Serialize};
use serde_json::{Deserializer, Error, Value};
use std::cell::Cell;

/// Reads a text whole; and whether it has fields, at any depth, that `T` doesn't have.
pub(crate) fn read<'text, T: Deserialize<'text>>(text: &'text [u8]) -> Result<(T, bool), Error> {
    let mut reader = Deserializer::from_slice(text);
    let unknown = Cell::new(false);
    let value = T::deserialize(Noting::new(&mut reader, &unknown))?;
    reader.end()?;
    Ok((value, unknown.get()))
}

/// Reads a text whole, whatever fields it has that `T` doesn't.
pub(crate) fn read_leniently<'text, T: Deserialize<'text>>(text: &'text [u8]) -> Result<T, Error> {
    read(text).map(|(value, _)| value)
}

/// The value that `object`'s JSON text has.
pub(crate) fn value(object: &impl Serialize) -> Result<Value, Error> {
    serde_json::from_slice(&serde_json::to_vec(object)?)
}
