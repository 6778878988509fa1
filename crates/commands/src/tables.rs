//! Tables in and out: whole or not at all.

use crate::terminal::tell;
use exchange::rows::Fault;
use exchange::table::would_run;
use std::collections::HashSet;
use std::io::Write;
use std::path::Path;
use store::{Earlier, MOST_BYTES, Staged, Store, read_input};

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

    /// A name among others, guarded likewise. Names that differ by the guard alone stay apart.
    pub(super) fn name(&mut self, name: &str, among: &HashSet<&str>) -> CommandResult<()> {
        self.writer
            .write_field(guarded(name, among))
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

    /// The table on the disk beside its file, if it goes to one: what can fail has failed before anything is printed.
    pub(super) fn stage(self, path: Option<&Path>, inputs: &[&Path]) -> CommandResult<Waiting> {
        let bytes = self
            .writer
            .into_inner()
            .map_err(|error| error.to_string())?;
        let staged =
            path.map(|path| Store::new("").stage_file(path, &bytes, inputs, Earlier::Keep));
        Ok(
            match staged.transpose().map_err(|error| error.to_string())? {
                Some(staged) => Waiting::File(staged),
                None => Waiting::Text(bytes),
            },
        )
    }

    /// Puts the table in a file, or on standard output.
    pub(super) fn deliver(
        self,
        path: Option<&Path>,
        inputs: &[&Path],
        out: &mut dyn Write,
    ) -> CommandResult<()> {
        self.stage(path, inputs)?.deliver(out)
    }
}

/// A table that waits to be put in its file, or printed.
pub(super) enum Waiting {
    File(Staged),
    Text(Vec<u8>),
}

impl Waiting {
    pub(super) fn deliver(self, out: &mut dyn Write) -> CommandResult<()> {
        match self {
            Self::File(staged) => staged.put().map_err(|error| error.to_string()),
            Self::Text(bytes) => out
                .write_all(&bytes)
                .and_then(|()| out.flush())
                .map_err(|error| format!("the output can't be written: {error}.")),
        }
    }
}

/// A name as it is written among others: with an apostrophe where a spreadsheet would run it. One that has an apostrophe
/// already gets another where the name without it is there too.
fn guarded(name: &str, among: &HashSet<&str>) -> String {
    let bare = name.strip_prefix('\'');
    let is_guard = |bare: &str| would_run(bare.trim_start_matches('\''));
    let taken = bare.is_some_and(|bare| is_guard(bare) && among.contains(bare));
    if would_run(name) || taken {
        format!("'{name}")
    } else {
        name.to_owned()
    }
}

/// The names that a name of a table may stand for: itself, and what a spreadsheet's guard made of it.
pub(super) fn other_guard(name: &str) -> Option<String> {
    match name.strip_prefix('\'') {
        Some(bare) if would_run(bare.trim_start_matches('\'')) => Some(bare.to_owned()),
        _ => would_run(name).then(|| format!("'{name}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_stay_apart_when_they_are_guarded() {
        let names = HashSet::from(["=1+1", "'=1+1", "''=1+1", "A", "'A", "-3"]);
        let written: HashSet<String> = names.iter().map(|name| guarded(name, &names)).collect();
        assert_eq!(written.len(), names.len(), "{written:?}");
        assert!(written.iter().all(|name| !would_run(name)));
        // Alone, a name that has its guard comes back as it went in.
        assert_eq!(guarded("'=1+1", &HashSet::from(["'=1+1"])), "'=1+1");
        assert_eq!(guarded("'A", &names), "'A");
        assert_eq!(other_guard("'=1+1").as_deref(), Some("=1+1"));
        assert_eq!(other_guard("=1+1").as_deref(), Some("'=1+1"));
        assert_eq!(other_guard("'A"), None);
    }
}
