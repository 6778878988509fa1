//! A project on disk: open, save, journal, lock, recover.
//!
//! Beside `season.binewright`, the project ([`mod@document`]), lie
//!
//! - `season.binewright-journal`: every change as it happens ([`journal`]);
//! - `season.binewright-lock`, while a window has it open for writing;
//! - `season.binewright-drafts`: what is typed and not yet recorded, as the window wrote it;
//! - `photos/`: the photos of its records, named by their content ([`photos`]);
//! - `season.binewright-backups/`: earlier states, thinned with age ([`backup`]);
//! - `season.binewright-journal.cut-…`, `.other-…`, `season.binewright.damaged-…`: what could not be used, byte for byte.
//!
//! ```no_run
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! use domain::{Edit, Session};
//! use domain::record::settings::SettingsField;
//!
//! let store = store::Store::new("Ida");
//! let opened = store.open("season.binewright".as_ref())?;
//! let (file, mut session) = (opened.file, Session::new(opened.project));
//! let edit = Edit::Settings(SettingsField::Name("Hillside".into()));
//! session.apply(edit.clone())?;
//! file.append(&edit)?; // returns at once; file.acknowledged() tells when it is on the disk
//! file.save(session.project())?;
//! # Ok(()) }
//! ```
//!
//! This crate knows no window and no rule of the trade: what a change does, [`domain::Project::apply`] decides.

pub mod backup;
pub mod document;
pub mod files;
pub mod journal;
pub mod photos;
#[cfg(feature = "schema")]
pub mod schema;

mod damage;
mod drafts;
mod error;
mod export;
mod history;
mod input;
mod json;
mod lock;
mod open;
mod other_copy;
mod project_file;
mod quarantine;
mod report;

pub use backup::{Backup, Kept};
pub use damage::{Damage, Loss, Source};
pub use document::{QuarantineReason, QuarantinedRecord};
pub use error::{ReadOnly, StoreError};
pub use export::{Earlier, Staged};
pub use files::{Disk, FileSystem};
pub use history::{History, HistoryLine, RecordKinds};
pub use input::{open_input, read_input};
pub use journal::{JournalEntry, Mark};
pub use lock::{Holder, machine_name};
pub use open::{Existing, MOST_BYTES, Opened, Store};
pub use other_copy::{Base, OtherCopy};
pub use project_file::{ProjectFile, Snapshot};
pub use quarantine::{QuarantinedFile, QuarantinedPart};
pub use report::{ChangedOutside, LostChanges, Recovered, Report, WhyLost};

/// The extension of project files.
pub const EXTENSION: &str = "binewright";
