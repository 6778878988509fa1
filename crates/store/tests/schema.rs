//! The published description of the files is what the types say, and what is written is valid by it.
//!
//! The schemas lie in `crates/store/schema`. That they are what the types say is asked with the feature `schema` only, which
//! builds the model anew; that what is written is valid by them, always.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use chrono::NaiveDate;
use serde_json::{Map, Value, json};
use std::fs;
use std::path::{Path, PathBuf};
use store::{Existing, Store};

fn root(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .join(path)
}

fn checked_in(name: &str) -> PathBuf {
    root("crates/store/schema").join(name)
}

/// What is checked in is what the types say. After a change of the types: raise `FORMAT_MINOR`, put a file of the
/// number before beside the others in `tests/data`, and run this with `UPDATE_SCHEMA=true`.
#[cfg(feature = "schema")]
#[test]
fn the_published_schemas_are_those_of_the_types() {
    let generated = [
        ("project.schema.json", store::schema::project()),
        ("journal-line.schema.json", store::schema::journal_line()),
    ];
    for (name, schema) in generated {
        let text = serde_json::to_string_pretty(&schema).unwrap() + "\n";
        if std::env::var_os("UPDATE_SCHEMA").is_some() {
            fs::create_dir_all(root("crates/store/schema")).unwrap();
            fs::write(checked_in(name), &text).unwrap();
        }
        let published = fs::read_to_string(checked_in(name)).unwrap();
        assert!(
            published == text,
            "{name} isn't what the types say: see the words above this test"
        );
    }
}

fn read(path: &Path) -> Value {
    serde_json::from_slice(&fs::read(path).unwrap()).unwrap()
}

#[test]
fn the_sample_and_every_old_file_of_this_format_are_valid() {
    let schema = read(&checked_in("project.schema.json"));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("season.binewright");
    let today = NaiveDate::from_ymd_opt(2026, 5, 20).unwrap();
    let sample = sample::sample_project(today).unwrap();
    drop(
        Store::new("Ida")
            .create(&path, &sample, Existing::Keep)
            .unwrap(),
    );
    let mut files = vec![path];
    let data = fs::read_dir(root("tests/data")).unwrap();
    let data = data.map(|entry| entry.unwrap().path());
    files.extend(data.filter(|path| {
        path.extension()
            .is_some_and(|ending| ending == "binewright")
    }));
    assert!(files.len() > 1);
    for path in &files {
        assert_eq!(
            faults(&schema, &read(path)),
            Vec::<String>::new(),
            "{}",
            path.display()
        );
    }
    // And not everything is.
    let mut wrong = read(&files[0]);
    wrong["project"]["genotypes"][0]["ploidy"] = json!("many");
    assert_eq!(faults(&schema, &wrong).len(), 1);
    let plant = wrong["project"]["genotypes"][1].as_object_mut().unwrap();
    plant.remove("code");
    assert_eq!(faults(&schema, &wrong).len(), 2);
}

#[test]
fn each_line_of_a_journal_is_valid() {
    let schema = read(&checked_in("journal-line.schema.json"));
    let data = fs::read_dir(root("tests/data")).unwrap();
    let data = data.map(|entry| entry.unwrap().path());
    let mut lines = 0;
    for path in data.filter(|path| {
        let ending = path.extension();
        ending.is_some_and(|ending| ending == "binewright-journal")
    }) {
        for line in fs::read_to_string(path).unwrap().lines() {
            let line: Value = serde_json::from_str(line).unwrap();
            assert_eq!(faults(&schema, &line), Vec::<String>::new(), "{line}");
            lines += 1;
        }
    }
    assert!(lines > 200);
    assert!(!faults(&schema, &json!({"n": 1, "edit": {}})).is_empty());
}

/// What of a value breaks a schema, as sentences. It knows the keywords our schemas are made of and stops at any
/// other.
fn faults(schema: &Value, value: &Value) -> Vec<String> {
    let mut found = Vec::new();
    Check {
        root: schema,
        found: &mut found,
    }
    .value(schema, value, "$");
    found
}

struct Check<'a> {
    root: &'a Value,
    found: &'a mut Vec<String>,
}

impl Check<'_> {
    fn value(&mut self, schema: &Value, value: &Value, at: &str) {
        let Some(schema) = schema.as_object() else {
            if *schema == json!(false) {
                self.found.push(format!("{at} may not be"));
            }
            return;
        };
        for (keyword, rule) in schema {
            match keyword.as_str() {
                "$schema" | "$defs" | "title" | "description" | "default" | "format" => {}
                "$ref" => {
                    let definition = self
                        .root
                        .pointer(rule.as_str().unwrap().trim_start_matches('#'));
                    self.value(&definition.unwrap().clone(), value, at);
                }
                "type" => self.rule(is_of_type(rule, value), at, rule),
                "const" => self.rule(rule == value, at, rule),
                "enum" => self.rule(rule.as_array().unwrap().contains(value), at, rule),
                "minimum" => self.rule(
                    value
                        .as_f64()
                        .is_none_or(|number| Some(number) >= rule.as_f64()),
                    at,
                    rule,
                ),
                "maximum" => self.rule(
                    value
                        .as_f64()
                        .is_none_or(|number| Some(number) <= rule.as_f64()),
                    at,
                    rule,
                ),
                "pattern" => self.rule(fits(rule.as_str().unwrap(), value), at, rule),
                "minItems" => self.rule(
                    items(value).is_none_or(|count| Some(count) >= rule.as_u64()),
                    at,
                    rule,
                ),
                "maxItems" => self.rule(
                    items(value).is_none_or(|count| Some(count) <= rule.as_u64()),
                    at,
                    rule,
                ),
                "properties" => self.properties(rule.as_object().unwrap(), value, at),
                "required" => {
                    for name in rule.as_array().unwrap() {
                        let there = value.get(name.as_str().unwrap()).is_some();
                        self.rule(there, at, name);
                    }
                }
                "additionalProperties" => {
                    let known = schema.get("properties").and_then(Value::as_object);
                    for (name, inner) in value.as_object().into_iter().flatten() {
                        if known.is_none_or(|known| !known.contains_key(name)) {
                            self.value(rule, inner, &format!("{at}.{name}"));
                        }
                    }
                }
                "prefixItems" => {
                    for (nth, rule) in rule.as_array().unwrap().iter().enumerate() {
                        if let Some(item) = value.get(nth) {
                            self.value(rule, item, &format!("{at}[{nth}]"));
                        }
                    }
                }
                "items" => {
                    for (nth, item) in value.as_array().into_iter().flatten().enumerate() {
                        self.value(rule, item, &format!("{at}[{nth}]"));
                    }
                }
                "oneOf" | "anyOf" => {
                    let ways = rule.as_array().unwrap();
                    let tried: Vec<_> = ways.iter().map(|way| self.alone(way, value, at)).collect();
                    let fitting = tried.iter().filter(|found| found.is_empty()).count();
                    if fitting == 0 || (keyword == "oneOf" && fitting > 1) {
                        let nearest = tried.into_iter().min_by_key(Vec::len).unwrap_or_default();
                        self.found
                            .push(format!("{at} fits {fitting} ways: {}", nearest.join("; ")));
                    }
                }
                other => panic!("the check doesn't know the keyword {other}"),
            }
        }
    }

    fn alone(&self, schema: &Value, value: &Value, at: &str) -> Vec<String> {
        let mut found = Vec::new();
        Check {
            root: self.root,
            found: &mut found,
        }
        .value(schema, value, at);
        found
    }

    fn rule(&mut self, holds: bool, at: &str, rule: &Value) {
        if !holds {
            self.found
                .push(format!("{at} isn't as it should be: {rule}"));
        }
    }

    fn properties(&mut self, rules: &Map<String, Value>, value: &Value, at: &str) {
        for (name, rule) in rules {
            if let Some(inner) = value.get(name) {
                self.value(rule, inner, &format!("{at}.{name}"));
            }
        }
    }
}

fn items(value: &Value) -> Option<u64> {
    value.as_array().map(|items| items.len() as u64)
}

fn is_of_type(rule: &Value, value: &Value) -> bool {
    if let Some(kinds) = rule.as_array() {
        return kinds.iter().any(|kind| is_of_type(kind, value));
    }
    match rule.as_str().unwrap() {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.as_f64().is_some_and(|number| number.fract() == 0.0),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        other => panic!("the check doesn't know the type {other}"),
    }
}

/// The two patterns there are.
fn fits(pattern: &str, value: &Value) -> bool {
    let text = value.as_str().unwrap_or_default();
    match pattern {
        "^[0-9a-fA-F]{8}$" => text.len() == 8 && text.bytes().all(|sign| sign.is_ascii_hexdigit()),
        "^[0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?$" => {
            text.split('-')
                .map(str::len)
                .eq([4, 2, 2].into_iter().take(text.split('-').count()))
                && text
                    .bytes()
                    .all(|sign| sign == b'-' || sign.is_ascii_digit())
        }
        other => panic!("the check doesn't know the pattern {other}"),
    }
}
