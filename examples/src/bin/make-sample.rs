//! `make-sample PATH [--today DATE]`: writes the sample project to a file.

use chrono::{DateTime, NaiveDate};
use clap::Parser;
use std::error::Error;
use std::io::{self, Write as _};
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::{SystemTime, UNIX_EPOCH};

/// Writes the sample project to a file.
#[derive(Debug, Parser)]
#[command(version)]
struct Arguments {
    /// Where to write it.
    path: PathBuf,
    /// The day its calendar is alive on (today, in Greenwich, if left out).
    #[arg(long)]
    today: Option<NaiveDate>,
}

fn main() -> ExitCode {
    match make(&Arguments::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            // Where even this can't be told, the exit code does.
            let _untold = writeln!(io::stderr(), "{error}");
            ExitCode::from(2)
        }
    }
}

fn make(arguments: &Arguments) -> Result<(), Box<dyn Error>> {
    let today = match arguments.today {
        Some(day) => day,
        None => today()?,
    };
    let project = sample::sample_project(today)?;
    store::Store::new("make-sample").create(&arguments.path, &project, store::Existing::Keep)?;
    Ok(())
}

fn today() -> Result<NaiveDate, Box<dyn Error>> {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH)?.as_secs();
    let moment =
        DateTime::from_timestamp(i64::try_from(seconds)?, 0).ok_or("this clock can't be right")?;
    Ok(moment.date_naive())
}
