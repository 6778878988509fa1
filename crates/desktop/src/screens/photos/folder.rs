//! A folder looked through: each photo in it with what it tells.

use exchange::photo::{PhotoFacts, look};
use kit::worker::JobProgress;
use std::fs;
use std::path::{Path, PathBuf};
use store::photos::{MOST_PHOTO_BYTES, path_of};
use store::read_input;

/// Endings of pictures, also of those that can't be read here: they are told, not passed over.
const PICTURES: [&str; 9] = [
    "jpg", "jpeg", "png", "heic", "heif", "webp", "tif", "tiff", "dng",
];

/// A photo of the folder.
pub(super) struct Seen {
    pub(super) path: PathBuf,
    pub(super) name: String,
    /// What it tells, and the path its copy has beside the project; or why it can't be read.
    pub(super) found: Result<(PhotoFacts, String), String>,
}

/// A folder, looked through.
pub(super) struct Looked {
    pub(super) photos: Vec<Seen>,
    /// What was passed over, each a sentence.
    pub(super) notes: Vec<String>,
}

/// Looks through a folder, photo by photo in the order of their names. Nothing if it was stopped.
pub(super) fn look_through(
    folder: &Path,
    watch: &mut JobProgress,
) -> Option<Result<Looked, String>> {
    let fault =
        |error: std::io::Error| format!("{} can't be looked through: {error}.", folder.display());
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) => return Some(Err(fault(error))),
    };
    let (mut paths, mut folders, mut others) = (Vec::new(), 0, 0);
    for entry in entries {
        let path = match entry {
            Ok(entry) => entry.path(),
            Err(error) => return Some(Err(fault(error))),
        };
        let ending = path.extension().map(|ending| ending.to_string_lossy());
        let is_picture = ending.is_some_and(|ending| {
            PICTURES
                .iter()
                .any(|each| ending.eq_ignore_ascii_case(each))
        });
        match (path.is_dir(), is_picture) {
            (true, _) => folders += 1,
            (false, true) => paths.push(path),
            (false, false) => others += 1,
        }
    }
    paths.sort();
    let all = paths.len();
    let mut photos = Vec::with_capacity(all);
    for (nth, path) in paths.into_iter().enumerate() {
        let words = format!("Looking at photo {} of {all}", nth + 1);
        if watch
            .tell(&words, Some(nth as f32 / all.max(1) as f32))
            .is_break()
        {
            return None;
        }
        let found = bytes_of(&path).and_then(|bytes| {
            let facts = look(&bytes)?;
            let kept = path_of(&bytes);
            Ok((facts, kept.ok_or("It is neither JPEG nor PNG.")?))
        });
        let name = path.file_name().unwrap_or(path.as_os_str());
        photos.push(Seen {
            name: name.to_string_lossy().into_owned(),
            path,
            found,
        });
    }
    let mut notes = Vec::new();
    if all == 0 {
        notes.push("There are no photos in it.".into());
    }
    match folders {
        0 => {}
        1 => notes.push("A folder in it is passed over; choose it by itself.".into()),
        many => notes.push(format!(
            "{many} folders in it are passed over; choose each by itself."
        )),
    }
    match others {
        0 => {}
        1 => notes.push("One other file is passed over.".into()),
        many => notes.push(format!("{many} other files are passed over.")),
    }
    Some(Ok(Looked { photos, notes }))
}

/// What a photo tells.
pub(super) fn facts_of(path: &Path) -> Result<PhotoFacts, String> {
    look(&bytes_of(path)?)
}

pub(super) fn bytes_of(path: &Path) -> Result<Vec<u8>, String> {
    read_input(path, MOST_PHOTO_BYTES)
}
