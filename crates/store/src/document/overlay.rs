//! What a newer program wrote into a file and this one doesn't know, laid over what it writes back.

use crate::json;
use domain::{Project, RecordKind};
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// Everything unknown in a project, by where it stood.
#[derive(Debug, Clone, Default)]
pub(crate) struct Overlay {
    settings: Option<Unknown>,
    tables: Map<String, Value>,
    records: BTreeMap<(RecordKind, String), Unknown>,
}

/// A value this program doesn't know, or the way to such values inside one it knows.
#[derive(Debug, Clone, PartialEq)]
enum Unknown {
    Whole(Value),
    Inside(Vec<(String, Self)>),
    Items(Vec<(usize, Self)>),
}

impl Overlay {
    pub(crate) fn is_empty(&self) -> bool {
        self.settings.is_none() && self.tables.is_empty() && self.records.is_empty()
    }

    /// What the project section of a file holds that the project read from it would not write.
    pub(super) fn between(
        seen: &Map<String, Value>,
        project: &Project,
    ) -> Result<Self, serde_json::Error> {
        let mut overlay = Self::default();
        let known = json::value(project)?;
        for (table, seen) in seen {
            let Some(known) = known.get(table) else {
                overlay.tables.insert(table.clone(), seen.clone());
                continue;
            };
            let Some(kind) = RecordKind::of_table(table) else {
                overlay.settings = unknown(seen, known);
                continue;
            };
            let known: BTreeMap<&str, &Value> = records(known).collect();
            for (id, record) in records(seen) {
                if let Some(known) = known.get(id)
                    && let Some(unknown) = unknown(record, known)
                {
                    overlay.records.insert((kind, id.to_owned()), unknown);
                }
            }
        }
        Ok(overlay)
    }

    /// Puts it all back where it stood, as far as that is still there. What the program writes itself wins.
    pub(super) fn lay_on(&self, project: &mut Value) {
        let Some(project) = project.as_object_mut() else {
            return;
        };
        if let (Some(unknown), Some(settings)) = (&self.settings, project.get_mut("settings")) {
            unknown.lay_on(settings);
        }
        for kind in RecordKind::ALL {
            let Some(Value::Array(records)) = project.get_mut(kind.table()) else {
                continue;
            };
            for record in records {
                let id = record.get("id").and_then(Value::as_str).map(str::to_owned);
                if let Some(unknown) = id.and_then(|id| self.records.get(&(*kind, id))) {
                    unknown.lay_on(record);
                }
            }
        }
        for (table, value) in &self.tables {
            project
                .entry(table.as_str())
                .or_insert_with(|| value.clone());
        }
    }
}

fn records(table: &Value) -> impl Iterator<Item = (&str, &Value)> {
    let records = table.as_array().map_or(&[][..], Vec::as_slice);
    records
        .iter()
        .filter_map(|record| Some((record.get("id")?.as_str()?, record)))
}

fn unknown(seen: &Value, known: &Value) -> Option<Unknown> {
    match (seen, known) {
        (Value::Object(seen), Value::Object(known)) => {
            let found: Vec<_> = seen
                .iter()
                .filter_map(|(key, value)| {
                    let inside = match known.get(key) {
                        None => Some(Unknown::Whole(value.clone())),
                        Some(known) => unknown(value, known),
                    };
                    Some((key.clone(), inside?))
                })
                .collect();
            (!found.is_empty()).then_some(Unknown::Inside(found))
        }
        (Value::Array(seen), Value::Array(known)) if seen.len() == known.len() => {
            let pairs = seen.iter().zip(known).enumerate();
            let found: Vec<_> = pairs
                .filter_map(|(index, (seen, known))| Some((index, unknown(seen, known)?)))
                .collect();
            (!found.is_empty()).then_some(Unknown::Items(found))
        }
        _ => None,
    }
}

impl Unknown {
    fn lay_on(&self, target: &mut Value) {
        match (self, target) {
            (Self::Inside(found), Value::Object(target)) => {
                for (key, unknown) in found {
                    match (unknown, target.get_mut(key)) {
                        (Self::Whole(value), None) => {
                            target.insert(key.clone(), value.clone());
                        }
                        (unknown, Some(inner)) => unknown.lay_on(inner),
                        (_, None) => {}
                    }
                }
            }
            (Self::Items(found), Value::Array(target)) => {
                for (index, unknown) in found {
                    if let Some(item) = target.get_mut(*index) {
                        unknown.lay_on(item);
                    }
                }
            }
            _ => {}
        }
    }
}
