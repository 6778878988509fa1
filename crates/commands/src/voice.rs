//! Standard error, and the one way in which commands open a project: whatever is wrong with it is said there, and makes the
//! command exit with 2.

use crate::tables::CommandResult;
use crate::terminal::tell;
use std::io::{self, Write};
use std::path::Path;
use store::{Damage, Opened, ReadOnly, Report, Store, StoreError};

/// Standard error, and whether a project that was read is damaged.
pub(crate) struct Voice<'a> {
    inner: &'a mut dyn Write,
    pub(crate) is_damaged: bool,
}

impl<'a> Voice<'a> {
    pub(crate) fn new(inner: &'a mut dyn Write) -> Self {
        Self {
            inner,
            is_damaged: false,
        }
    }

    /// Opens a project from which no record is missing: what a command calculates must not pass for the whole. What else
    /// is wrong with it is said.
    pub(crate) fn read(&mut self, file: &Path) -> CommandResult<Opened> {
        let opened = self.look(file)?;
        if let Some(damage) = &opened.report.damage {
            return Err(refusal(damage, "Nothing was worked out.", file));
        }
        self.say(file, &opened.report);
        Ok(opened)
    }

    /// Opens a project as far as it can be read, for commands that say themselves what is wrong.
    pub(crate) fn look(&mut self, file: &Path) -> CommandResult<Opened> {
        let opened = Store::new("").open_read_only(file);
        self.knows_format(file, opened)
    }

    /// Opens a project to change it: no record is missing, and nobody else has it open. `nothing` says that nothing was
    /// done, where it can't be.
    pub(crate) fn change(
        &mut self,
        file: &Path,
        who: &str,
        nothing: &str,
    ) -> CommandResult<Opened> {
        let opened = self.knows_format(file, Store::new(who).open(file))?;
        if let Some(damage) = &opened.report.damage {
            return Err(refusal(damage, nothing, file));
        }
        if let Some(why) = opened.file.read_only() {
            return Err(format!("{}: {why} {nothing}", file.display()));
        }
        self.say(file, &opened.report);
        Ok(opened)
    }

    /// Refuses what a newer program wrote in a way that says something else than it seems to.
    fn knows_format(
        &mut self,
        file: &Path,
        opened: Result<Opened, StoreError>,
    ) -> CommandResult<Opened> {
        let opened = opened.map_err(|error| error.to_string())?;
        if let Some(why @ ReadOnly::NewerFormat(_)) = &opened.report.read_only {
            return Err(format!("{}: {why}", file.display()));
        }
        self.is_damaged |= opened.report.is_damaged();
        Ok(opened)
    }

    /// Says what was found on opening.
    pub(crate) fn say(&mut self, file: &Path, report: &Report) {
        for sentence in told(report) {
            tell(self, &format!("{}: {sentence}", file.display()));
        }
    }
}

impl Write for Voice<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.inner.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}

/// What opening a project for a command found that its person should know. That changes since the last save were
/// brought back is no fault, and neither are copies of before that lie beside it.
pub(crate) fn told(report: &Report) -> Vec<String> {
    let report = Report {
        recovered: None,
        copies: Vec::new(),
        read_only: report
            .read_only
            .clone()
            .filter(|why| matches!(why, ReadOnly::NewerChanges(_))),
        ..report.clone()
    };
    report.sentences()
}

fn refusal(damage: &Damage, nothing: &str, file: &Path) -> String {
    format!(
        "{} {nothing} The window brings back what can be had: open {}",
        damage.words(|at| at.format("%Y-%m-%d %H:%M UTC").to_string()),
        file.display()
    )
}
