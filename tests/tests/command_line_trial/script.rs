//! Running a command, and its tables.

use chrono::NaiveDate;
use commands::Task;
use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs;
use std::io::Write;

pub(super) struct Ran {
    pub(super) code: u8,
    pub(super) out: String,
    pub(super) err: String,
}

impl Ran {
    pub(super) fn components(&self) -> BTreeMap<String, f64> {
        assert_eq!(self.code, 0, "{}", self.err);
        let mut lines = self.out.lines();
        assert_eq!(lines.next(), Some("component,variance,standard_error"));
        lines
            .map(|line| {
                let fields: Vec<&str> = line.split(',').collect();
                (fields[0].to_owned(), fields[1].parse().unwrap_or(f64::NAN))
            })
            .collect()
    }

    pub(super) fn order(&self) -> Vec<&str> {
        let names = self.out.lines().skip(1);
        names.map(|line| line.split(',').next().unwrap()).collect()
    }
}

/// Runs a line whose words are separated by spaces; words that end in `.csv` are files of the folder.
pub(super) fn run(folder: &tempfile::TempDir, line: &str) -> Ran {
    words(folder, &line.split_whitespace().collect::<Vec<_>>())
}

pub(super) fn words(folder: &tempfile::TempDir, words: &[&str]) -> Ran {
    let mut out = Vec::new();
    let (code, err) = into(folder, words, &mut out);
    Ran {
        code,
        out: String::from_utf8(out).unwrap(),
        err,
    }
}

/// The same with standard output handed in; the code, and what went to standard error.
pub(super) fn into(
    folder: &tempfile::TempDir,
    words: &[&str],
    out: &mut dyn Write,
) -> (u8, String) {
    let at = folder.path().to_str().unwrap();
    let words = words.iter().map(|word| {
        let is_file = std::path::Path::new(word)
            .extension()
            .is_some_and(|e| e == "csv");
        OsString::from(if is_file {
            format!("{at}/{word}")
        } else {
            (*word).to_owned()
        })
    });
    let words = std::iter::once(OsString::from("binewright")).chain(words);
    let Task::Script(script) = commands::parse(words).unwrap() else {
        panic!("this is no command for a script");
    };
    let mut err = Vec::new();
    let day = NaiveDate::from_ymd_opt(2026, 3, 1).unwrap();
    let code = commands::run(script, day, out, &mut err);
    (code, String::from_utf8(err).unwrap())
}

pub(super) fn with(file: &str, text: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(file), text).unwrap();
    folder
}

pub(super) fn close(found: f64, expected: f64, within: f64) {
    assert!(
        (found - expected).abs() <= within,
        "{found}, not {expected}"
    );
}
