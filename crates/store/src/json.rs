//! The one way from JSON text to the types of the model, and from the model to a JSON value.
//!
//! Code for every record of the model is generated anew for each kind of reader and writer, and takes half a minute to
//! build each time. All that reads the model's types goes through [`read`], so that there is one copy of it.

use serde::{Deserialize, Serialize};
use serde_ignored::Path;
use serde_json::{Deserializer, Error, Value};

/// Reads a text whole. `unknown` is called with the path of each field that `T` doesn't have.
pub(crate) fn read<'text, T: Deserialize<'text>>(
    text: &'text [u8],
    mut unknown: &mut dyn FnMut(Path<'_>),
) -> Result<T, Error> {
    let mut reader = Deserializer::from_slice(text);
    let value = serde_ignored::deserialize(&mut reader, &mut unknown)?;
    reader.end()?;
    Ok(value)
}

/// Reads a text whole, whatever fields it has that `T` doesn't.
pub(crate) fn read_leniently<'text, T: Deserialize<'text>>(text: &'text [u8]) -> Result<T, Error> {
    read(text, &mut |_| ())
}

/// The value that `object`'s JSON text has.
pub(crate) fn value(object: &impl Serialize) -> Result<Value, Error> {
    serde_json::from_slice(&serde_json::to_vec(object)?)
}
