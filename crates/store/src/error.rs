//! What can go wrong between a project and its disk.

use crate::lock::Holder;
use std::error::Error;
use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// What went wrong with a file: a sentence of what, a sentence of what to do, and the path last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StoreError {
    /// There is no such file.
    Missing(PathBuf),
    /// There is a file already where a new one should go.
    Exists(PathBuf),
    /// There is a folder, a pipe or a device of this name, and no file.
    NotAFile(PathBuf),
    /// The file is no photo that can be shown.
    NotAPhoto(PathBuf),
    /// The file has lost records: a merge would take them for removed.
    Damaged {
        /// The file.
        path: PathBuf,
        /// What it has lost, as a sentence without its full stop.
        what: String,
        /// Whether it is the file of the open project, which that can be saved over.
        own: bool,
    },
    /// The file isn't a Binewright project, or nothing of it can be read.
    NotAProject {
        /// The file.
        path: PathBuf,
        /// What was found instead.
        why: String,
    },
    /// The file is larger than any project can be.
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Its size in bytes.
        size: u64,
        /// The most that is read, in bytes.
        most: u64,
    },
    /// Another window has the project open for writing.
    Held {
        /// The project.
        path: PathBuf,
        /// Who has it, if known.
        holder: Option<Holder>,
    },
    /// The project was opened for reading only.
    ReadOnly {
        /// The project.
        path: PathBuf,
        /// Why.
        why: ReadOnly,
    },
    /// Another program wrote to the file since it was opened or saved here.
    ChangedElsewhere(PathBuf),
    /// What is to be written is made from this very file.
    IsInput(PathBuf),
    /// A project stands here, or what lies beside one, and something else was to be written.
    IsProject(PathBuf),
    /// A link stands where a file is to be written.
    IsLink(PathBuf),
    /// A link, a pipe or a folder has the name of the lock file.
    OddLock(PathBuf),
    /// The disk is full.
    Full(PathBuf),
    /// The place may not be written or read.
    Denied(PathBuf),
    /// The network folder it is in doesn't answer.
    Unreachable(PathBuf),
    /// The disk failed.
    Disk {
        /// The file.
        path: PathBuf,
        /// What was being done.
        doing: &'static str,
        /// What the system says.
        why: String,
    },
}

/// Why a project can only be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReadOnly {
    /// It was asked for.
    Asked,
    /// Another window has it open.
    Held(Option<Holder>),
    /// A newer program wrote it in a format of this major number.
    NewerFormat(u32),
    /// A newer program made changes that this one can't read, from this sequence number on.
    NewerChanges(u64),
    /// The file, or the folder it is in, can't be written.
    NotWritable,
    /// Another machine has it open, or left it without closing it: which, can't be seen from here.
    Elsewhere(Holder),
    /// Records are missing from the file: they are to be brought back, or gone on without, first.
    Damaged,
}

impl fmt::Display for ReadOnly {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Asked => write!(f, "It was opened for reading."),
            Self::Held(Some(holder)) => write!(
                f,
                "{holder} has it open. When that window is closed, open it again to change it."
            ),
            Self::Held(None) => write!(
                f,
                "Another window has it open. When that is closed, open it again to change it."
            ),
            Self::NewerFormat(major) => write!(
                f,
                "It was written by a newer Binewright (format {major}). Get that version to change it."
            ),
            Self::NewerChanges(sequence) => write!(
                f,
                "A newer Binewright made changes to it (from number {sequence} on) that this one can't read. Get that version to change it."
            ),
            Self::Elsewhere(holder) => write!(
                f,
                "{holder} has it open, or left it without closing it: from here it can't be seen which. If nobody works on it there, take it over to change it."
            ),
            Self::Damaged => write!(
                f,
                "Records are missing from the file. Bring back what is missing, or go on without it, to change the project."
            ),
            Self::NotWritable => write!(
                f,
                "The file or its folder can't be written. Save it elsewhere to change it."
            ),
        }
    }
}

impl StoreError {
    /// Tells the system's error in our words.
    pub(crate) fn from_io(error: &io::Error, doing: &'static str, path: &Path) -> Self {
        let path = path.to_path_buf();
        match error.kind() {
            io::ErrorKind::NotFound => Self::Missing(path),
            io::ErrorKind::AlreadyExists => Self::Exists(path),
            io::ErrorKind::IsADirectory | io::ErrorKind::NotADirectory => Self::NotAFile(path),
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::Full(path),
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                Self::Denied(path)
            }
            io::ErrorKind::ConnectionAborted
            | io::ErrorKind::ConnectionReset
            | io::ErrorKind::HostUnreachable
            | io::ErrorKind::NetworkDown
            | io::ErrorKind::NetworkUnreachable
            | io::ErrorKind::NotConnected
            | io::ErrorKind::StaleNetworkFileHandle
            | io::ErrorKind::TimedOut => Self::Unreachable(path),
            _ => Self::Disk {
                path,
                doing,
                why: error.to_string(),
            },
        }
    }

    /// A project that can't be written as text.
    pub(crate) fn unwritable(path: &Path, why: String) -> Self {
        Self::Disk {
            path: path.into(),
            doing: "making the text of the project",
            why,
        }
    }

    /// The file it is about.
    pub fn path(&self) -> &Path {
        match self {
            Self::Missing(path)
            | Self::Exists(path)
            | Self::ChangedElsewhere(path)
            | Self::IsInput(path)
            | Self::IsProject(path)
            | Self::IsLink(path)
            | Self::OddLock(path)
            | Self::Full(path)
            | Self::Denied(path)
            | Self::Unreachable(path)
            | Self::NotAFile(path)
            | Self::NotAPhoto(path)
            | Self::Damaged { path, .. }
            | Self::NotAProject { path, .. }
            | Self::TooLarge { path, .. }
            | Self::Held { path, .. }
            | Self::ReadOnly { path, .. }
            | Self::Disk { path, .. } => path,
        }
    }
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing(_) => {
                f.write_str("File or folder not found. Choose another place")
            }
            Self::Exists(_) => {
                f.write_str("There is a file of this name already. Choose another name")
            }
            Self::Damaged {
                what, own: true, ..
            } => write!(
                f,
                "{what}. A merge would take that for removed. Everything is here: save over the file, which is kept beside it"
            ),
            Self::Damaged {
                what, own: false, ..
            } => write!(
                f,
                "{what}. A merge would take that for removed. Open that copy by itself and bring back what is missing, then merge"
            ),
            Self::NotAProject { why, .. } => write!(
                f,
                "This isn't a Binewright project: {why}. Open another file, or a backup of this one"
            ),
            Self::TooLarge { size, most, .. } => write!(
                f,
                "The file has {size} bytes, more than the {most} that are read. Choose another file"
            ),
            Self::Held {
                holder: Some(holder),
                ..
            } => write!(
                f,
                "{holder} has the project open. Close it there first"
            ),
            Self::Held { holder: None, .. } => f.write_str(
                "Another window has the project open. Close it there first",
            ),
            Self::ReadOnly { why, .. } => write!(f, "The project can only be read. {why}"),
            Self::ChangedElsewhere(_) => f.write_str(
                "Another program changed the file since it was opened here. Save under another name, or write over it",
            ),
            Self::IsInput(_) => f.write_str(
                "Nothing was written: this is the file it is made from. Write to another name",
            ),
            Self::IsProject(_) => f.write_str(
                "Nothing was written: a project has this name, or a file that belongs to one. Write to another name",
            ),
            Self::IsLink(_) => f.write_str(
                "Nothing was written: this is a link to another place. Write to the place it leads to, or to another name",
            ),
            Self::OddLock(_) => f.write_str(
                "A link, a pipe or a folder has the name of the lock file, so that the project can't be locked. Take it away, then open the project again",
            ),
            Self::Full(_) => f.write_str("The disk is full. Make room, or save elsewhere"),
            Self::Denied(_) => f.write_str(
                "The file or its folder may not be written or read. Change its permissions, or save elsewhere",
            ),
            Self::Unreachable(_) => f.write_str(
                "The network folder doesn't answer. Bring the connection back, or save on this computer",
            ),
            Self::NotAFile(_) => {
                f.write_str("This is a folder, a pipe or a device, not a file. Choose a file")
            }
            Self::NotAPhoto(_) => {
                f.write_str("This is neither a JPEG nor a PNG photo. Choose another, or save it as one of these")
            }
            Self::Disk { doing, why, .. } => write!(
                f,
                "The disk failed while {doing} ({why}). Check it, then try again or save elsewhere"
            ),
        }?;
        write!(f, ": {}", self.path().display())
    }
}

impl Error for StoreError {}
