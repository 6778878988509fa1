//! What a look at the files of the photos showed.

use super::{Finding, Weight, sentence};
use crate::Photo;
use crate::id::Id;
use crate::project::Project;
use std::collections::BTreeSet;

/// How the files of a project's photos stand, as whoever can look at files found them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PhotoFiles {
    /// Photos whose file isn't there.
    pub missing: BTreeSet<Id<Photo>>,
    /// Photos whose file isn't the one that was added.
    pub altered: BTreeSet<Id<Photo>>,
    /// Photos whose file is there and can't be read.
    pub unreadable: BTreeSet<Id<Photo>>,
}

/// The findings about the files of photos, the weightiest first, in the order of the photos.
pub fn of_photos(project: &Project, files: &PhotoFiles) -> Vec<Finding> {
    let finding = |id: &Id<Photo>, wrong: &str, remedy: &str| {
        let photo = project.photos().get(*id)?;
        Some(Finding {
            weight: Weight::Doubt,
            about: Some(photo.about),
            what: format!(
                "{} {wrong} ({}).",
                sentence(&project.describe(photo.id.into())),
                photo.path
            ),
            remedy: remedy.into(),
        })
    };
    let altered = files.altered.iter().filter_map(|id| {
        finding(
            id,
            "was altered after it was added",
            "Bring the original back from a copy; what was altered can be added as another photo.",
        )
    });
    let missing = files.missing.iter().filter_map(|id| {
        finding(
            id,
            "isn't beside the project",
            "Copy it back from where the project was before, or take the photo away.",
        )
    });
    let unreadable = files.unreadable.iter().filter_map(|id| {
        finding(
            id,
            "is beside the project and can't be read",
            "Look at its permissions and at the disk, or copy it back from where the project was before.",
        )
    });
    altered.chain(missing).chain(unreadable).collect()
}
