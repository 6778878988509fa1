//! Photos of the records: files in a folder beside the project, each named by its content.
//!
//! `photos/3b1c….jpg` is named by the SHA-256 of its bytes (FIPS 180-4), so that the same photo is kept once, a
//! copied file can be told from an altered one by any program that knows that sum, and no two ever fight for a
//! name. A photo is copied in before a record names it, and never written to or taken away by this program: what
//! is undone can be made again, and a backup finds its photos where they always were.

use crate::error::StoreError;
use crate::files::{beside, folder_of, replace};
use crate::journal::Sum;
use crate::open::Store;
use domain::Project;
use domain::findings::PhotoFiles;
use domain::record::journal::lies_inside;
use sha2::{Digest as _, Sha256};
use std::fmt::Write as _;
use std::io;
use std::path::{Path, PathBuf};

/// The folder of photos, beside the project.
pub const FOLDER: &str = "photos";

/// The most bytes a photo may have.
pub const MOST_PHOTO_BYTES: u64 = 200 << 20;

/// What came of copying the photos of a project to another place.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Copied {
    /// How many were copied.
    pub copied: usize,
    /// How many were there already.
    pub there: usize,
    /// Those that could not be copied, by their paths, each with what went wrong.
    pub failed: Vec<(String, StoreError)>,
}

/// How a photo's file stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhotoFile {
    /// It is there; whether it was altered was not asked, or its name doesn't tell.
    There,
    /// There is no such file.
    Missing,
    /// Its content isn't the one it is named by.
    Altered,
    /// It is there, and can't be read.
    Unreadable,
}

impl Store {
    /// Copies a photo into the folder of photos beside a project, and returns the path to name it by in a record.
    /// The original stays as it is. When this returns, no loss of power can take the copy away.
    ///
    /// [`StoreError::NotAPhoto`] if it is neither JPEG nor PNG.
    pub fn keep_photo(&self, project: &Path, original: &Path) -> Result<String, StoreError> {
        // A pipe would hold the reader for ever, and a device never ends.
        if std::fs::metadata(original).is_ok_and(|there| !there.is_file()) {
            return Err(StoreError::NotAFile(original.into()));
        }
        let bytes = self.read_bounded(original)?;
        let path = path_of(&bytes).ok_or_else(|| StoreError::NotAPhoto(original.into()))?;
        self.put_photo(project, &path, &bytes)?;
        Ok(path)
    }

    /// Writes a photo under its path beside a project. Returns whether it was not there yet.
    fn put_photo(&self, project: &Path, photo: &str, bytes: &[u8]) -> Result<bool, StoreError> {
        let project = self
            .files
            .resolve(project)
            .unwrap_or_else(|_| project.into());
        let at = folder_of(&project).join(photo);
        let tell = |error| StoreError::from_io(&error, "copying the photo", &at);
        let files = &*self.files;
        if files.facts(&at).map_err(tell)?.is_some() {
            let there = self.read_bounded(&at)?;
            if there == bytes {
                return Ok(false);
            }
            // Altered or torn. It isn't ours to throw away.
            let displaced = beside(&at, &format!(".other-{}", Sum::of(&there)));
            files.rename(&at, &displaced).map_err(tell)?;
            // Or the new photo's name could reach the disk before this one's.
            files.sync_folder(folder_of(&at)).map_err(tell)?;
        }
        self.make_folders(&project, photo).map_err(tell)?;
        replace(files, &at, bytes, None).map_err(tell)?;
        Ok(true)
    }

    /// Makes the folders that lead to a photo from the folder of its project.
    fn make_folders(&self, project: &Path, photo: &str) -> io::Result<()> {
        let mut folder = folder_of(project).to_path_buf();
        for step in Path::new(photo).parent().into_iter().flat_map(Path::iter) {
            let above = folder.clone();
            folder.push(step);
            self.files.make_folder(&folder)?;
            self.files.sync_folder(&above)?;
        }
        Ok(())
    }

    /// The bytes of a photo of a project.
    pub fn read_photo(&self, project: &Path, photo: &str) -> Result<Vec<u8>, StoreError> {
        match self.find_photo(project, photo)? {
            Some(at) => self.read_bounded(&at),
            None => Err(StoreError::Missing(folder_of(project).join(photo))),
        }
    }

    /// Where a photo of a project is, if it is there: beside the project or, for a backup, beside the project it
    /// is a backup of. A path that leads elsewhere is nowhere.
    fn find_photo(&self, project: &Path, photo: &str) -> Result<Option<PathBuf>, StoreError> {
        if !lies_inside(photo) || photo.split('/').any(is_elsewhere_on_windows) {
            return Ok(None);
        }
        let project = self
            .files
            .resolve(project)
            .unwrap_or_else(|_| project.into());
        let folder = folder_of(&project);
        let is_backup = |name: &std::ffi::OsStr| name.to_string_lossy().ends_with("-backups");
        let above = folder.file_name().filter(|name| is_backup(name));
        for folder in [Some(folder), above.and(folder.parent())]
            .into_iter()
            .flatten()
        {
            let at = folder.join(photo);
            let facts = self.files.facts(&at);
            let tell = |error| StoreError::from_io(&error, "looking for the photo", &at);
            if facts.map_err(tell)?.is_some() {
                return Ok(Some(at));
            }
        }
        Ok(None)
    }

    /// How a photo's file stands. With `whole`, the file is read to tell whether it was altered.
    pub fn look_at_photo(&self, project: &Path, photo: &str, whole: bool) -> PhotoFile {
        match self.find_photo(project, photo) {
            Ok(Some(at)) if whole => match self.read_bounded(&at) {
                Ok(bytes) if is_altered(photo, &bytes) => PhotoFile::Altered,
                Ok(_) => PhotoFile::There,
                Err(StoreError::TooLarge { .. }) => PhotoFile::Altered,
                Err(StoreError::Missing(_)) => PhotoFile::Missing,
                Err(_) => PhotoFile::Unreadable,
            },
            Ok(Some(_)) => PhotoFile::There,
            Ok(None) => PhotoFile::Missing,
            Err(_) => PhotoFile::Unreadable,
        }
    }

    /// Looks at the files of all photos of a project. With `whole`, each is read, which takes a while; `goes_on` is
    /// asked before each, with the part that is done, and ends it by saying no.
    pub fn look_at_photos(
        &self,
        path: &Path,
        project: &Project,
        whole: bool,
        mut goes_on: impl FnMut(f32) -> bool,
    ) -> Option<PhotoFiles> {
        let mut found = PhotoFiles::default();
        let all = project.photos().len() as f32;
        for (nth, photo) in project.photos().iter().enumerate() {
            if !goes_on(nth as f32 / all) {
                return None;
            }
            match self.look_at_photo(path, &photo.path, whole) {
                PhotoFile::There => {}
                PhotoFile::Missing => drop(found.missing.insert(photo.id)),
                PhotoFile::Altered => drop(found.altered.insert(photo.id)),
                PhotoFile::Unreadable => drop(found.unreadable.insert(photo.id)),
            }
        }
        Some(found)
    }

    /// Copies the photos of a project to beside another file: where the project goes, they go along.
    pub fn copy_photos(&self, from: &Path, to: &Path, project: &Project) -> Copied {
        let mut copied = Copied::default();
        let mut paths: Vec<&str> = project.photos().iter().map(|photo| &*photo.path).collect();
        paths.sort_unstable();
        paths.dedup();
        for path in paths {
            let put = self
                .read_photo(from, path)
                .and_then(|bytes| self.put_photo(to, path, &bytes));
            match put {
                Ok(true) => copied.copied += 1,
                Ok(false) => copied.there += 1,
                Err(error) => copied.failed.push((path.to_owned(), error)),
            }
        }
        copied
    }

    fn read_bounded(&self, path: &Path) -> Result<Vec<u8>, StoreError> {
        self.read_at_most(path, MOST_PHOTO_BYTES)
    }
}

/// Whether a step of a path means something else than a file of that name on Windows: a device, or the name
/// without the dots and spaces at its end.
fn is_elsewhere_on_windows(step: &str) -> bool {
    const DEVICES: [&str; 6] = ["con", "prn", "aux", "nul", "conin$", "conout$"];
    let stem = step.split('.').next().unwrap_or_default().trim_end();
    let stem = stem.to_lowercase();
    let numbered = ["com", "lpt"].iter().any(|name| {
        let rest = stem.strip_prefix(name).unwrap_or_default();
        rest.chars().count() == 1
    });
    numbered || DEVICES.contains(&&*stem) || step.ends_with(['.', ' '])
}

/// The path that a photo of these bytes has beside a project; nothing if it is neither JPEG nor PNG.
pub fn path_of(bytes: &[u8]) -> Option<String> {
    let ending = match bytes {
        [0xFF, 0xD8, 0xFF, ..] => "jpg",
        [0x89, b'P', b'N', b'G', ..] => "png",
        _ => return None,
    };
    Some(format!("{FOLDER}/{}.{ending}", name_of(bytes)))
}

/// The SHA-256 of these bytes, as 64 hexadecimal digits.
fn name_of(bytes: &[u8]) -> String {
    let mut name = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        // Writing into a text can't fail.
        let _ = write!(name, "{byte:02x}");
    }
    name
}

/// Whether a photo's bytes aren't those it is named by. A name that is no content can't tell.
pub fn is_altered(photo: &str, bytes: &[u8]) -> bool {
    let stem = Path::new(photo).file_stem().and_then(|stem| stem.to_str());
    stem.is_some_and(|stem| {
        let is_content = stem.len() == 64 && stem.bytes().all(|sign| sign.is_ascii_hexdigit());
        is_content && stem != name_of(bytes)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The one-block example: NIST, "SHA-256 Examples" (CSRC example values for FIPS 180-4), the message "abc".
    #[test]
    fn a_photo_is_named_by_its_sha_256() {
        let abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(name_of(b"abc"), abc);
        assert!(!is_altered(&format!("photos/{abc}.jpg"), b"abc"));
        assert!(is_altered(&format!("photos/{abc}.jpg"), b"abd"));
        assert!(!is_altered("photos/yard.jpg", b"abc"));
    }

    #[test]
    fn names_that_lead_elsewhere_on_windows_are_told() {
        for step in [
            "CON", "nul.jpg", "COM1", "lpt9.png", ".. ", "a.jpg.", "aux .png",
        ] {
            assert!(is_elsewhere_on_windows(step), "{step}");
        }
        for step in [
            "photos",
            "a.jpg",
            "console.jpg",
            "com10.png",
            "command",
            ".a",
        ] {
            assert!(!is_elsewhere_on_windows(step), "{step}");
        }
    }
}
