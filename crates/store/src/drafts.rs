//! What is typed and not yet recorded, kept beside the project: text of the window's own, of no meaning to the store.

use crate::error::StoreError;
use crate::files::{beside, replace};
use crate::project_file::ProjectFile;
use std::path::PathBuf;

/// Drafts are what one hand typed: more than this isn't read.
const MOST: u64 = 8 * 1024 * 1024;

impl ProjectFile {
    fn drafts_path(&self) -> PathBuf {
        beside(self.path(), "-drafts")
    }

    /// Keeps these drafts beside the project, in place of those there; none takes the file away. Writes to the disk:
    /// not for the drawing thread.
    pub fn keep_drafts(&self, text: &str) -> Result<(), StoreError> {
        if self.read_only().is_some() {
            return Ok(());
        }
        let path = self.drafts_path();
        let files = &*self.store().files;
        let kept = if text.is_empty() {
            match files.remove(&path) {
                Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(()),
                removed => removed,
            }
        } else {
            replace(files, &path, text.as_bytes(), Some(self.path()))
        };
        kept.map_err(|error| StoreError::from_io(&error, "keeping what is typed", &path))
    }

    /// The drafts that were kept beside the project; empty if there are none.
    pub fn drafts(&self) -> Result<String, StoreError> {
        let path = self.drafts_path();
        let files = &*self.store().files;
        match files.read(&path, MOST) {
            Ok(bytes) => Ok(String::from_utf8_lossy(&bytes).into_owned()),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(String::new()),
            Err(error) => Err(StoreError::from_io(&error, "reading what was typed", &path)),
        }
    }
}
