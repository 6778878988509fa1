//! JSON Schema of the files, generated from the very types that read and write them.
//!
//! With them a program in another language can read a project decades on.

use crate::document::{FORMAT_MAJOR, FORMAT_MINOR, Sheet};
use crate::journal::{Header, JOURNAL_MAJOR, LineOut, Sum};
use domain::ProjectParts;
use schemars::generate::SchemaSettings;
use schemars::{JsonSchema as _, Schema, SchemaGenerator, json_schema};
use serde_json::{Value, json};

/// The schema (draft 2020-12) of a project file.
pub fn project() -> Value {
    let mut generator = generator();
    let sheet = Sheet::<ProjectParts>::json_schema(&mut generator);
    finish(
        &mut generator,
        &format!("Binewright project, format {FORMAT_MAJOR}.{FORMAT_MINOR}"),
        sheet,
    )
}

/// The schema of one line of a journal: the first, or a change.
pub fn journal_line() -> Value {
    let mut generator = generator();
    let first = Header::<ProjectParts>::json_schema(&mut generator);
    let change = LineOut::json_schema(&mut generator);
    let [first, change] = [first, change].map(|line| sealed(&mut generator, line));
    finish(
        &mut generator,
        &format!("A line of a Binewright journal, format {JOURNAL_MAJOR}"),
        json_schema!({ "anyOf": [first, change] }),
    )
}

fn generator() -> SchemaGenerator {
    SchemaSettings::draft2020_12().into_generator()
}

/// The schema of a line with the sum that closes it.
fn sealed(generator: &mut SchemaGenerator, mut line: Schema) -> Schema {
    let sum = generator.subschema_for::<Sum>();
    if let Some(properties) = line.get_mut("properties").and_then(Value::as_object_mut) {
        properties.insert("sum".into(), sum.to_value());
    }
    if let Some(required) = line.get_mut("required").and_then(Value::as_array_mut) {
        required.push("sum".into());
    }
    line
}

fn finish(generator: &mut SchemaGenerator, title: &str, mut schema: Schema) -> Value {
    let definitions = generator.take_definitions(true);
    schema.insert(
        "$schema".into(),
        json!("https://json-schema.org/draft/2020-12/schema"),
    );
    schema.insert("title".into(), title.into());
    schema.insert("$defs".into(), definitions.into());
    schema.to_value()
}
