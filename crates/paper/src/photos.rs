//! Where a photo belongs: the record whose label is seen on it.

use domain::{AnyId, Edit, Id, IdSource, Photo, Project};
use exchange::photo::PhotoFacts;
use scoring_sheet::Tag;
use scoring_sheet::tag::NotATag;
use std::collections::BTreeSet;

/// Where a photo belongs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Placement {
    /// To the record whose label is seen.
    To(AnyId),
    /// It hangs on this record already.
    There(AnyId),
    /// A person has to say; why, as a sentence.
    Waiting(String),
}

/// Where a photo of these facts belongs, whose copy beside the project has this path.
pub fn place(project: &Project, facts: &PhotoFacts, path: &str) -> Placement {
    let records: BTreeSet<AnyId> = facts
        .codes
        .iter()
        .flat_map(|code| project.find_code(code.trim()))
        .collect();
    let records: Vec<AnyId> = records.into_iter().collect();
    if let [record] = records[..] {
        return if project.photos_of(record).any(|photo| photo.path == path) {
            Placement::There(record)
        } else {
            Placement::To(record)
        };
    }
    // Placed by hand before, or with a sheet that was read.
    if let Some(photo) = project.photos().iter().find(|photo| photo.path == path) {
        return Placement::There(photo.about);
    }
    Placement::Waiting(match (&records[..], facts.codes.first()) {
        ([], None) => "No label is seen on it.".into(),
        ([], Some(code)) if !matches!(Tag::read(code), Err(NotATag::Other)) => {
            "It is a page of a scoring sheet. Read it under Scoring sheets.".into()
        }
        ([], Some(code)) => format!("The code on it says {code}, which isn't in the project."),
        (several, _) => {
            let codes: Vec<&str> = several
                .iter()
                .map(|record| project.code_of(*record))
                .collect();
            format!("The labels of {} are seen on it.", codes.join(" and "))
        }
    })
}

/// The edit that hangs photos on their records: each with its path beside the project and what is known of it. Photos
/// are dated by the day of the picture.
pub fn hang(photos: &[(AnyId, String, PhotoFacts)], ids: &mut IdSource) -> Edit {
    let edits: Vec<Edit> = photos
        .iter()
        .map(|(about, path, facts)| {
            let id: Id<Photo> = ids.next();
            Edit::add(Photo {
                id,
                about: *about,
                path: path.clone(),
                date: facts.taken.map(|at| at.date()),
                caption: String::new(),
            })
        })
        .collect();
    let label = match photos.len() {
        1 => "add a photo".to_owned(),
        many => format!("add {many} photos"),
    };
    Edit::all(label, edits)
}
