//! Tables in and out: whole or not at all.

use crate::terminal::tell;
use exchange::rows::Fault;
use exchange::table::would_run;
use std::io::Write;
use std::path::Path;
use store::{Earlier, MOST_BYTES, Store, read_input};

/// What came of it, or a sentence saying why nothing did.
pub(super) type CommandResult<T> = Result<T, String>;

/// All bytes of a file or a shell's pipe, within the bound that projects have.
pub(super) fn read(path: &Path) -> CommandResult<Vec<u8>> {
    read_input(path, MOST_BYTES)
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
