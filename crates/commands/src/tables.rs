//! Tables in and out: whole or not at all.

use crate::terminal::tell;
use exchange::rows::Fault;
use exchange::table::would_run;
use std::fs::File;
use std::io::{Read as _, Write};
use std::path::Path;
use store::{Earlier, MOST_BYTES, Store};

/// What came of it, or a sentence saying why nothing did.
pub(super) type CommandResult<T> = Result<T, String>;

/// All bytes of a file or a pipe, within the bound that projects have. A device, which may never end, is refused at once.
pub(super) fn read(path: &Path) -> CommandResult<Vec<u8>> {
    let mut bytes = Vec::new();
    if is_named_pipe(path) {
        return Err(format!(
            "{} is a pipe or a socket, and not a file. Choose a file.",
            path.display()
        ));
    }
    let file = File::open(path);
    if file.as_ref().is_ok_and(is_device) {
        return Err(format!(
            "{} is a device, and not a file. Choose a file.",
            path.display()
        ));
    }
    file.and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(|error| format!("{} can't be read: {error}.", path.display()))?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(format!(
            "{} has more than the {MOST_BYTES} bytes that are read. Choose another file.",
            path.display()
        ));
    }
    Ok(bytes)
}

/// Whether it is a pipe or a socket that stands in a folder, and would wait for its other end. A shell's own pipes, such as
/// of `<(…)`, have theirs.
#[cfg(unix)]
fn is_named_pipe(path: &Path) -> bool {
    use std::os::unix::fs::FileTypeExt as _;
    let of_the_shell = path.starts_with("/dev") || path.starts_with("/proc");
    let kind = std::fs::metadata(path).map(|metadata| metadata.file_type());
    !of_the_shell && kind.is_ok_and(|kind| kind.is_fifo() || kind.is_socket())
}

#[cfg(not(unix))]
fn is_named_pipe(_: &Path) -> bool {
    false
}

/// Whether it is a device at which nobody types.
#[cfg(unix)]
fn is_device(file: &File) -> bool {
    use std::io::IsTerminal as _;
    use std::os::unix::fs::FileTypeExt as _;
    let kind = file.metadata().map(|metadata| metadata.file_type());
    let device = kind.is_ok_and(|kind| kind.is_char_device() || kind.is_block_device());
    device && !file.is_terminal()
}

#[cfg(not(unix))]
fn is_device(_: &File) -> bool {
    false
}

/// Refuses an output that would stand in the place of what it is made from, or of a project.
pub(super) fn may_write(to: Option<&Path>, inputs: &[&Path]) -> CommandResult<()> {
    if let Some(path) = to.filter(|path| path.as_os_str().is_empty() || path.as_os_str() == "-") {
        return Err(format!(
            "'{}' is no file to write to. Name a file, or leave the option out.",
            path.display()
        ));
    }
    // Found before the work, not after it.
    let folder = to
        .and_then(Path::parent)
        .filter(|folder| !folder.as_os_str().is_empty());
    if let Some(folder) = folder.filter(|folder| !folder.is_dir()) {
        return Err(format!(
            "{} is no folder, so that nothing can be written there. Make it, or name another file.",
            folder.display()
        ));
    }
    let refused = |path: &Path| Store::new("").may_write(path, inputs);
    to.map_or(Ok(()), |path| {
        refused(path).map_err(|error| error.to_string())
    })
}

/// Writes a file made from `inputs`.
pub(super) fn write(path: &Path, bytes: &[u8], inputs: &[&Path]) -> CommandResult<()> {
    Store::new("")
        .write_file(path, bytes, inputs, Earlier::Keep)
        .map_err(|error| error.to_string())
}

/// Tells every fault of a file; returns the sentence that sums them up.
pub(super) fn faulty(path: &Path, faults: &[Fault], err: &mut dyn Write) -> String {
    let path = path.display();
    for fault in faults {
        let comma = if fault.line.is_some() { "," } else { ":" };
        tell(err, &format!("{path}{comma} {fault}"));
    }
    let count = match faults.len() {
        1 => "1 fault".into(),
        count => format!("{count} faults"),
    };
    format!("{count} in {path}; nothing was written.")
}

/// A table being made in memory.
pub(super) struct Sheet {
    writer: csv::Writer<Vec<u8>>,
    /// The number written last, and how: full sibs share their inbreeding, and mostly stand together.
    number: (f64, Vec<u8>),
}

impl Sheet {
    pub(super) fn new(header: &[&str]) -> CommandResult<Self> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer
            .write_record(header)
            .map_err(|error| error.to_string())?;
        Ok(Self {
            writer,
            number: (f64::NAN, Vec::new()),
        })
    }

    /// A text, guarded as everywhere where a spreadsheet would run it.
    pub(super) fn text(&mut self, text: &str) -> CommandResult<()> {
        let guarded = would_run(text).then(|| format!("'{text}"));
        self.writer
            .write_field(guarded.as_deref().unwrap_or(text))
            .map_err(|error| error.to_string())
    }

    /// A number in full, so that reading it gives the same number.
    pub(super) fn number(&mut self, value: f64) -> CommandResult<()> {
        let (last, text) = &mut self.number;
        if *last != value {
            text.clear();
            // Adding zero makes of a negative zero a plain one.
            write!(text, "{}", value + 0.0).map_err(|error| error.to_string())?;
            *last = value;
        }
        self.writer
            .write_field(text)
            .map_err(|error| error.to_string())
    }

    pub(super) fn end_row(&mut self) -> CommandResult<()> {
        self.writer
            .write_record(None::<&[u8]>)
            .map_err(|error| error.to_string())
    }

    /// Puts the table in a file, or on standard output.
    pub(super) fn deliver(
        self,
        path: Option<&Path>,
        inputs: &[&Path],
        out: &mut dyn Write,
    ) -> CommandResult<()> {
        let bytes = self
            .writer
            .into_inner()
            .map_err(|error| error.to_string())?;
        match path {
            None => out
                .write_all(&bytes)
                .and_then(|()| out.flush())
                .map_err(|error| format!("the output can't be written: {error}.")),
            Some(path) => write(path, &bytes, inputs),
        }
    }
}
