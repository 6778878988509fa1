//! Project files whose JSON is sound and whose values are not: fields changed, left out, swapped, repeated and
//! exaggerated, in every kind of record.
//!
//! A file like this comes from a person's editor, a script, or a program that writes almost our format. It must open,
//! or be refused in words, and everything that is worked out from it must end within bounds.

use crate::dice::Dice;
use serde_json::{Map, Value, json};

/// Where a value stands in a document: keys of objects and positions of lists, from the root.
type Path = Vec<Step>;

#[derive(Debug, Clone)]
enum Step {
    Key(String),
    Position(usize),
}

/// Changes a few values of `file`, a project file, and says which, in the order they were changed.
pub fn spoil(file: &mut Value, dice: &mut Dice) -> Vec<String> {
    let times = 1 + dice.below(4);
    (0..times).filter_map(|_| spoil_one(file, dice)).collect()
}

fn spoil_one(file: &mut Value, dice: &mut Dice) -> Option<String> {
    let ids = all_ids(file);
    let project = file.get_mut("project")?;
    if dice.one_in(24) {
        return spoil_table(project, dice);
    }
    let record = random_record(project, dice)?;
    let paths = paths_within(at(project, &record)?);
    let inner = dice.pick(&paths)?.clone();
    let whole: Path = record.iter().cloned().chain(inner).collect();
    let said = words(&whole);
    match dice.below(8) {
        0 => remove(project, &whole).then(|| format!("{said} left out")),
        1 => swap(project, &whole, dice).map(|with| format!("{said} swapped with {with}")),
        2 => at_mut(project, &whole).map(|value| {
            *value = other_type(dice);
            format!("{said} = {}", short(value))
        }),
        3 => at_mut(project, &whole)
            .and_then(|value| repeat(value, dice).then(|| format!("{said} repeated"))),
        _ => {
            let own = at(project, &record)?.get("id").cloned();
            at_mut(project, &whole).map(|value| {
                exaggerate(value, own.as_ref(), &ids, dice);
                format!("{said} = {}", short(value))
            })
        }
    }
}

/// A whole table changed: a record twice, all in reverse, none, or no list at all.
fn spoil_table(project: &mut Value, dice: &mut Dice) -> Option<String> {
    let tables = project.as_object_mut()?;
    let names: Vec<String> = tables.keys().cloned().collect();
    let name = dice.pick(&names)?.clone();
    let table = tables.get_mut(&name)?;
    let what = match (table.as_array_mut(), dice.below(4)) {
        (Some(records), 0) if !records.is_empty() => {
            let again = records[dice.below(records.len())].clone();
            records.push(again);
            "a record twice"
        }
        (Some(records), 1) => {
            records.reverse();
            "reversed"
        }
        (_, 2) => {
            *table = other_type(dice);
            "of another type"
        }
        _ => {
            tables.remove(&name);
            "gone"
        }
    };
    Some(format!("{name}: {what}"))
}

/// A record of any table, each table as likely, or the settings.
fn random_record(project: &Value, dice: &mut Dice) -> Option<Path> {
    let tables = project.as_object()?;
    let names: Vec<&String> = tables.keys().collect();
    let name = *dice.pick(&names)?;
    let mut path = vec![Step::Key(name.clone())];
    if let Some(records) = tables[name].as_array() {
        if records.is_empty() {
            return None;
        }
        path.push(Step::Position(dice.below(records.len())));
    }
    Some(path)
}

/// Every value within a value, deep and shallow.
fn paths_within(value: &Value) -> Vec<Path> {
    let mut found = Vec::new();
    let mut waiting: Vec<(Path, &Value)> = vec![(Vec::new(), value)];
    while let Some((path, value)) = waiting.pop() {
        let inner = |step| path.iter().cloned().chain([step]).collect::<Path>();
        match value {
            Value::Object(fields) => waiting.extend(
                fields
                    .iter()
                    .map(|(key, value)| (inner(Step::Key(key.clone())), value)),
            ),
            Value::Array(items) => waiting.extend(
                items
                    .iter()
                    .take(50)
                    .enumerate()
                    .map(|(nth, value)| (inner(Step::Position(nth)), value)),
            ),
            _ => {}
        }
        if !path.is_empty() {
            found.push(path);
        }
    }
    found
}

fn at<'v>(value: &'v Value, path: &[Step]) -> Option<&'v Value> {
    path.iter().try_fold(value, |value, step| match step {
        Step::Key(key) => value.get(key),
        Step::Position(nth) => value.get(nth),
    })
}

fn at_mut<'v>(value: &'v mut Value, path: &[Step]) -> Option<&'v mut Value> {
    path.iter().try_fold(value, |value, step| match step {
        Step::Key(key) => value.get_mut(key),
        Step::Position(nth) => value.get_mut(nth),
    })
}

fn remove(value: &mut Value, path: &[Step]) -> bool {
    let Some((last, parent)) = path.split_last() else {
        return false;
    };
    match (at_mut(value, parent), last) {
        (Some(Value::Object(fields)), Step::Key(key)) => fields.remove(key).is_some(),
        (Some(Value::Array(items)), Step::Position(nth)) if *nth < items.len() => {
            items.remove(*nth);
            true
        }
        _ => false,
    }
}

/// Swaps a value with the one of the same name in another record, or with any other value of the record.
fn swap(project: &mut Value, path: &[Step], dice: &mut Dice) -> Option<String> {
    let mut other = path.to_vec();
    if let Some(Step::Position(nth)) = other.get_mut(1) {
        let records = project.get(match &path[0] {
            Step::Key(key) => key.as_str(),
            Step::Position(_) => return None,
        })?;
        *nth = dice.below(records.as_array()?.len());
    }
    let theirs = at(project, &other)?.clone();
    let ours = std::mem::replace(at_mut(project, path)?, theirs);
    *at_mut(project, &other)? = ours;
    Some(words(&other))
}

fn repeat(value: &mut Value, dice: &mut Dice) -> bool {
    let times = 2 + dice.below(200);
    match value {
        Value::Array(items) if !items.is_empty() => {
            let wanted = (items.len() * times).min(20_000);
            *items = items.iter().cycle().take(wanted).cloned().collect();
            true
        }
        Value::String(text) if !text.is_empty() => {
            *text = text.repeat(times);
            true
        }
        _ => false,
    }
}

/// A value of the same type that no program of the trade would hold.
fn exaggerate(value: &mut Value, own: Option<&Value>, ids: &[Value], dice: &mut Dice) {
    match value {
        Value::Number(_) => *value = absurd_number(dice),
        Value::Bool(yes) => *yes = !*yes,
        Value::String(text) if is_id(text) => {
            let other = match own {
                Some(own) if dice.one_in(3) => Some(own.clone()),
                _ => dice.pick(ids).cloned(),
            };
            if let Some(other) = other {
                *value = other;
            }
        }
        Value::String(text) if is_date(text) => *value = absurd_date(dice),
        Value::String(_) => *value = absurd_text(dice),
        Value::Array(items) => items.clear(),
        Value::Object(fields) => fields.clear(),
        Value::Null => *value = other_type(dice),
    }
}

fn absurd_number(dice: &mut Dice) -> Value {
    let numbers = [
        json!(0),
        json!(1),
        json!(-1),
        json!(2),
        json!(255),
        json!(256),
        json!(65_535),
        json!(65_536),
        json!(1_000_000),
        json!(u32::MAX),
        json!(i64::MIN),
        json!(i64::MAX),
        json!(u64::MAX),
        json!(0.5),
        json!(-0.0),
        json!(1e-308),
        json!(1e18),
        json!(1e308),
        json!(-1e308),
    ];
    dice.pick(&numbers).cloned().unwrap_or_default()
}

fn absurd_date(dice: &mut Dice) -> Value {
    let dates = [
        "0001-01-01",
        "1799-12-31",
        "1800-01-01",
        "1969-12-31",
        "2000-02-29",
        "2026-02-30",
        "2200-12-31",
        "9999-12-31",
        "+262142-12-31",
        "-262143-01-01",
        "2026",
        "2026-05",
        "yesterday",
    ];
    dice.pick(&dates).map_or(Value::Null, |date| json!(date))
}

fn absurd_text(dice: &mut Dice) -> Value {
    match dice.below(12) {
        // Rarely: it costs more than all the others.
        0 if dice.one_in(40) => json!("x".repeat(10_000_000)),
        0 => json!("x".repeat(20_000)),
        1 => json!(""),
        2 => json!(" "),
        3 => json!("\u{1b}[2J\u{1b}[31mred"),
        4 => json!("one\r\ntwo\u{0}three\tfour"),
        5 => json!("=1+1"),
        6 => json!("\u{202e}desrever \u{fe0f}\u{1f331}\u{0301}"),
        7 => json!("###"),
        8 => json!("../../../etc/passwd"),
        9 => json!("{family}{family}{family}-{}"),
        10 => json!("NaN"),
        _ => json!("ſeed"),
    }
}

fn other_type(dice: &mut Dice) -> Value {
    // Deeper than readers of JSON follow.
    if dice.one_in(12) {
        return (0..120 + dice.below(60)).fold(json!(1), |inner, _| json!([inner]));
    }
    let values = [
        json!(null),
        json!([]),
        json!({}),
        json!(0),
        json!("x"),
        json!(true),
        json!([[[]]]),
        json!({"x": {"y": null}}),
    ];
    dice.pick(&values).cloned().unwrap_or_default()
}

fn is_id(text: &str) -> bool {
    text.len() == 36 && text.bytes().filter(|&byte| byte == b'-').count() == 4
}

fn is_date(text: &str) -> bool {
    let bytes = text.as_bytes();
    bytes.len() >= 7 && bytes[..4].iter().all(u8::is_ascii_digit) && bytes[4] == b'-'
}

fn all_ids(file: &Value) -> Vec<Value> {
    let tables = file.get("project").and_then(Value::as_object);
    tables
        .into_iter()
        .flat_map(Map::values)
        .filter_map(Value::as_array)
        .flatten()
        .filter_map(|record| record.get("id").cloned())
        .collect()
}

fn words(path: &[Step]) -> String {
    path.iter()
        .map(|step| match step {
            Step::Key(key) => key.clone(),
            Step::Position(nth) => nth.to_string(),
        })
        .collect::<Vec<_>>()
        .join("/")
}

fn short(value: &Value) -> String {
    let text = value.to_string();
    match text.char_indices().nth(60) {
        Some((end, _)) => format!("{}… ({} bytes)", &text[..end], text.len()),
        None => text,
    }
}
