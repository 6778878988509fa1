//! Reading a file that is as this program wrote it: straight into the types, on two threads where it is large.

use super::{Sheet, contents};
use crate::json;
use domain::{Observation, ProjectParts};
use serde::Deserialize;
use std::fmt;
use std::ops::Range;

/// From so many bytes on a second thread reads the observations.
const LARGE: usize = 4 << 20;

/// A file that this program can read and that holds nothing this program doesn't know; and whether the text is the one its
/// sum was made of, where it has one.
pub(super) fn read(bytes: &[u8]) -> (Option<Sheet<Whole>>, Option<bool>) {
    read_large(bytes, LARGE)
}

/// The same, where a file of so many bytes is a large one.
fn read_large(bytes: &[u8], large: usize) -> (Option<Sheet<Whole>>, Option<bool>) {
    // For little, a thread costs more than it saves.
    if bytes.len() < large {
        return (read_whole(bytes), contents::agrees(bytes));
    }
    let Some(table) = observations(bytes) else {
        let (agrees, known) = beside(|| contents::agrees(bytes), || read_whole(bytes));
        return (known, agrees);
    };
    let (observed, (agrees, rest)) = beside(
        || read_known::<Vec<Observation>>(&bytes[table.clone()]),
        || {
            let agrees = contents::agrees(bytes);
            let rest = || [&bytes[..table.start], b"[]", &bytes[table.end..]].concat();
            // Only of a text that is ours it is known where its tables begin and end.
            (agrees, (agrees == Some(true)).then(|| read_whole(&rest())))
        },
    );
    let known = match rest {
        Some(rest) => rest.zip(observed).map(|(mut sheet, observed)| {
            sheet.project.0.observations = observed;
            sheet
        }),
        None => read_whole(bytes),
    };
    (known, agrees)
}

fn read_whole(bytes: &[u8]) -> Option<Sheet<Whole>> {
    read_known(bytes)
}

fn read_known<'text, T: Deserialize<'text>>(bytes: &'text [u8]) -> Option<T> {
    let (read, unknown) = json::read(bytes).ok()?;
    (!unknown).then_some(read)
}

/// Does the first on a thread of its own, if there is one to be had, and the second meanwhile.
fn beside<A: Send, B>(first: impl Fn() -> A + Sync, second: impl FnOnce() -> B) -> (A, B) {
    std::thread::scope(|scope| {
        let thread = std::thread::Builder::new().spawn_scoped(scope, &first);
        let second = second();
        let done = thread.ok().and_then(|thread| thread.join().ok());
        (done.unwrap_or_else(&first), second)
    })
}

/// Where the list of observations stands in a text that this program wrote. No text within a value has an end of a line in it,
/// so that the indent tells how deep a line is.
fn observations(bytes: &[u8]) -> Option<Range<usize>> {
    const BEGINS: &[u8] = b"\n    \"observations\": [\n";
    const ENDS: &[u8] = b"\n    ]";
    let start = memchr::memmem::find(bytes, BEGINS)? + BEGINS.len() - b"[\n".len();
    let end = memchr::memmem::find(&bytes[start..], ENDS)?;
    Some(start..start + end + ENDS.len())
}

/// A project that stands as an object of tables: a list is no shorter way to write one.
pub(super) struct Whole(pub(super) ProjectParts);

impl<'de> Deserialize<'de> for Whole {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Tables;
        impl<'de> serde::de::Visitor<'de> for Tables {
            type Value = Whole;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a project")
            }

            fn visit_map<A: serde::de::MapAccess<'de>>(self, map: A) -> Result<Whole, A::Error> {
                let tables = serde::de::value::MapAccessDeserializer::new(map);
                ProjectParts::deserialize(tables).map(Whole)
            }
        }
        deserializer.deserialize_map(Tables)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use domain::{Genotype, IdSource, Origin, Project, ProjectParts, Scale, Trait};

    /// A project with so many observations, and with what looks like a table in its texts.
    fn season(observations: usize) -> Project {
        let mut ids = IdSource::new(1_770_000_000_000, 1);
        let mut parts = ProjectParts::default();
        let evil = "\n    \"observations\": [\n    ]\n";
        let plant = Genotype {
            location: evil.into(),
            ..Genotype::new(ids.next(), "F-01", Origin::Unknown)
        };
        let vigour = Trait {
            id: ids.next(),
            name: "Vigour".into(),
            scale: Scale::one_to_nine("low", "high"),
            direction: domain::Direction::Higher,
            method: evil.into(),
        };
        let day = chrono::NaiveDate::default();
        parts.observations = (0..observations)
            .map(|nth| Observation::new(ids.next(), plant.id, vigour.id, day, (nth % 9) as f64))
            .collect();
        parts.genotypes.push(plant);
        parts.traits.push(vigour);
        Project::from_parts(parts)
    }

    fn written(project: &Project) -> Vec<u8> {
        let mark = crate::journal::Mark {
            id: uuid::Uuid::nil(),
            sequence: 0,
            sum: crate::journal::Sum::default(),
        };
        crate::document::write(project, &mark, &crate::document::Preserved::default()).unwrap()
    }

    #[test]
    fn the_table_of_observations_is_found_where_it_stands() {
        for count in [1, 3] {
            let text = written(&season(count));
            let table = observations(&text).unwrap();
            let read: Vec<Observation> = serde_json::from_slice(&text[table]).unwrap();
            assert_eq!(read.len(), count);
        }
        assert_eq!(observations(&written(&season(0))), None);
    }

    #[test]
    fn a_large_file_is_read_in_two_parts_and_is_the_same() {
        let project = season(30);
        let text = written(&project);
        let (sheet, agrees) = read_large(&text, 0);
        assert_eq!(agrees, Some(true));
        assert!(Project::from_parts(sheet.unwrap().project.0) == project);
        // Whatever is changed in it, it doesn't pass for what was saved.
        let at = text.len() / 2;
        for (from, to) in [
            (b"date", b"dat3"),
            (b"\n   ", b"\n\n  "),
            (b"    ", b"   ]"),
        ] {
            let place = at + memchr::memmem::find(&text[at..], from).unwrap();
            let mut changed = text.clone();
            changed[place..place + from.len()].copy_from_slice(to);
            assert_eq!(read_large(&changed, 0).1, Some(false));
        }
    }
}
