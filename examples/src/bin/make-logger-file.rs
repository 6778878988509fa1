//! `make-logger-file PATH`: writes the sample file of a logger, a whole winter long.

use std::io::{self, Write as _};
use std::path::PathBuf;
use std::process::ExitCode;

fn main() -> ExitCode {
    let Some(path) = std::env::args_os().nth(1).map(PathBuf::from) else {
        let _untold = writeln!(io::stderr(), "usage: make-logger-file PATH");
        return ExitCode::from(2);
    };
    match std::fs::write(&path, sample::logger_file()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            // Where even this can't be told, the exit code does.
            let _untold = writeln!(io::stderr(), "{}: {error}", path.display());
            ExitCode::from(2)
        }
    }
}
