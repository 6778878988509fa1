//! Tables in and out: whole or not at all.

use exchange::rows::Fault;
use std::fs;
use std::io::Write;
use std::path::Path;

/// What came of it, or a sentence saying why nothing did.
pub(super) type Told<T> = Result<T, String>;

/// All bytes of a file.
pub(super) fn read(path: &Path) -> Told<Vec<u8>> {
    fs::read(path).map_err(|error| format!("{} can't be read: {error}.", path.display()))
}

/// Tells every fault of a file; returns the sentence that sums them up.
pub(super) fn faulty(path: &Path, faults: &[Fault], err: &mut dyn Write) -> String {
    let path = path.display();
    for fault in faults {
        let comma = if fault.line.is_some() { "," } else { ":" };
        // Nobody is left to tell if this fails too.
        let _ = writeln!(err, "{path}{comma} {fault}");
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
    number: Vec<u8>,
}

impl Sheet {
    pub(super) fn new(header: &[&str]) -> Told<Self> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer
            .write_record(header)
            .map_err(|error| error.to_string())?;
        Ok(Self {
            writer,
            number: Vec::new(),
        })
    }

    pub(super) fn text(&mut self, text: &str) -> Told<()> {
        self.writer
            .write_field(text)
            .map_err(|error| error.to_string())
    }

    /// A number in full, so that reading it gives the same number.
    pub(super) fn number(&mut self, value: f64) -> Told<()> {
        self.number.clear();
        // Adding zero makes of a negative zero a plain one.
        write!(self.number, "{}", value + 0.0).map_err(|error| error.to_string())?;
        self.writer
            .write_field(&self.number)
            .map_err(|error| error.to_string())
    }

    pub(super) fn end_row(&mut self) -> Told<()> {
        self.writer
            .write_record(None::<&[u8]>)
            .map_err(|error| error.to_string())
    }

    /// Puts the table in a file, or on standard output.
    pub(super) fn deliver(self, path: Option<&Path>, out: &mut dyn Write) -> Told<()> {
        let bytes = self
            .writer
            .into_inner()
            .map_err(|error| error.to_string())?;
        match path {
            None => out
                .write_all(&bytes)
                .and_then(|()| out.flush())
                .map_err(|error| format!("the output can't be written: {error}.")),
            Some(path) => replace(path, &bytes)
                .map_err(|error| format!("{} can't be written: {error}.", path.display())),
        }
    }
}

/// Writes a file so that whoever looks finds the old or the new one, never half of it: beside it, then renamed.
fn replace(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let path = match fs::canonicalize(path) {
        Ok(there) => there,
        Err(_new) => path.to_path_buf(),
    };
    // A device or a pipe has to be written itself.
    if fs::metadata(&path).is_ok_and(|there| !there.is_file()) {
        return fs::write(&path, bytes);
    }
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(format!("-new-{}", std::process::id()));
    let new = path.with_file_name(name);
    let written = fs::write(&new, bytes).and_then(|()| fs::rename(&new, &path));
    if written.is_err() {
        // Best effort: the failure itself is told.
        let _ = fs::remove_file(&new);
    }
    written
}
