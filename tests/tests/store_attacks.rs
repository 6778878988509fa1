//! Attacks on what is written: commands that would write over their own input, links laid in the way, permissions, and
//! output that would fool a terminal or a spreadsheet.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use chrono::NaiveDate;
use commands::{Task, parse, run};
use domain::record::settings::SettingsField;
use domain::{Edit, Genotype, IdSource, Origin, Project};
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use store::{Earlier, Existing, Store, StoreError};
use tempfile::TempDir;

struct Outcome {
    code: u8,
    out: String,
    err: String,
}

fn script(words: &[&str]) -> commands::Script {
    let words = ["binewright"].iter().chain(words);
    match parse(words.map(Into::into)).unwrap() {
        Task::Script(script) => script,
        Task::Window(_) => panic!("these words open the window"),
    }
}

fn today() -> NaiveDate {
    "2027-06-01".parse().unwrap()
}

fn binewright(words: &[&str]) -> Outcome {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = run(script(words), today(), &mut out, &mut err);
    Outcome {
        code,
        out: String::from_utf8(out).unwrap(),
        err: String::from_utf8(err).unwrap(),
    }
}

/// A folder with the sample season in it.
fn season() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("season.binewright");
    let project = sample::sample_project(today()).unwrap();
    let store = Store::new("Ida");
    drop(store.create(&path, &project, Existing::Keep).unwrap());
    (folder, path)
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn no_command_writes_over_the_project_it_reads() {
    let (folder, path) = season();
    let before = fs::read(&path).unwrap();
    let twin = folder.path().join("twin.csv");
    fs::hard_link(&path, &twin).unwrap();
    let beside = folder.path().join("season.binewright-journal");
    for to in [&path, &twin, &beside] {
        for words in [
            ["kinship", text(&path), "--out", text(to)],
            ["plan", text(&path), "--pdf", text(to)],
        ] {
            let outcome = binewright(&words);
            assert_eq!(outcome.code, 2, "{words:?}: {}", outcome.err);
            assert!(
                outcome.err.contains("Nothing was written"),
                "{}",
                outcome.err
            );
        }
    }
    assert_eq!(fs::read(&path).unwrap(), before);
    assert!(!beside.exists());
}

#[test]
fn no_table_replaces_what_it_is_made_from_or_another_project() {
    let (folder, project) = season();
    let pedigree = folder.path().join("pedigree.csv");
    fs::write(&pedigree, "id,female,male\nA,,\nB,A,\n").unwrap();
    let renamed = folder.path().join("renamed.csv");
    fs::copy(&project, &renamed).unwrap();
    for to in [&pedigree, &project, &renamed] {
        let before = fs::read(to).unwrap();
        let outcome = binewright(&["kinship", text(&pedigree), "--out", text(to)]);
        assert_eq!(outcome.code, 2);
        assert!(
            outcome.err.contains("Nothing was written"),
            "{}",
            outcome.err
        );
        assert_eq!(&fs::read(to).unwrap(), &before);
    }
}

#[test]
fn a_file_that_is_replaced_stays_beside_the_new_one() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("report.pdf");
    let store = Store::new("Ida");
    fs::write(&path, "by hand").unwrap();
    store.write_file(&path, b"new", &[], Earlier::Keep).unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"new");
    let before = folder.path().join("report.pdf.before");
    assert_eq!(fs::read(&before).unwrap(), b"by hand");
    // The same once more is no change.
    store.write_file(&path, b"new", &[], Earlier::Keep).unwrap();
    assert_eq!(fs::read(&before).unwrap(), b"by hand");
}

#[cfg(unix)]
mod on_unix {
    use super::*;
    use std::os::unix::fs::{PermissionsExt as _, symlink};

    fn mode(path: &Path) -> u32 {
        fs::metadata(path).unwrap().permissions().mode() & 0o777
    }

    #[test]
    fn what_only_its_owner_may_read_stays_so() {
        let (folder, path) = season();
        let table = folder.path().join("table.csv");
        fs::write(&table, "old").unwrap();
        for path in [&path, &table] {
            fs::set_permissions(path, fs::Permissions::from_mode(0o600)).unwrap();
        }
        let outcome = binewright(&["kinship", text(&path), "--out", text(&table)]);
        assert_eq!(outcome.code, 0, "{}", outcome.err);
        assert_eq!(mode(&table), 0o600);
        assert_eq!(mode(&folder.path().join("table.csv.before")), 0o600);
        let mut opened = Store::new("Ida").open(&path).unwrap();
        let edit = Edit::Settings(SettingsField::Name("Hillside".into()));
        opened.project.apply(edit.clone()).unwrap();
        opened.file.append(&edit).unwrap();
        opened.file.flush().unwrap();
        for suffix in ["", "-journal", "-lock"] {
            let name = format!("season.binewright{suffix}");
            assert_eq!(mode(&folder.path().join(&name)), 0o600, "{name}");
        }
    }

    /// Each file that the store writes, with a link to something dear laid where it goes.
    #[test]
    fn no_link_leads_the_program_to_write_elsewhere() {
        for suffix in ["-lock", "-new", "-journal", "-journal-new"] {
            let (folder, path) = season();
            let dear = folder.path().join("dear.txt");
            fs::write(&dear, "the only copy").unwrap();
            let link = folder.path().join(format!("season.binewright{suffix}"));
            symlink(&dear, &link).unwrap();
            if let Ok(mut opened) = Store::new("Ida").open(&path) {
                let edit = Edit::Settings(SettingsField::Name("Hillside".into()));
                opened.project.apply(edit.clone()).unwrap();
                if opened.file.append(&edit).is_ok() {
                    let _ = opened.file.flush();
                    let _ = opened.file.save(&opened.project);
                }
            }
            assert_eq!(
                fs::read_to_string(&dear).unwrap(),
                "the only copy",
                "{suffix}"
            );
        }
    }

    #[test]
    fn a_link_that_leads_nowhere_makes_no_file_there() {
        let (folder, path) = season();
        let nowhere = folder.path().join("nowhere.txt");
        symlink(&nowhere, folder.path().join("season.binewright-lock")).unwrap();
        drop(Store::new("Ida").open(&path));
        assert!(!nowhere.exists());
    }

    #[test]
    fn an_export_through_a_link_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let (dear, link) = (folder.path().join("dear"), folder.path().join("a.csv"));
        fs::write(&dear, "the only copy").unwrap();
        symlink(&dear, &link).unwrap();
        let refused = Store::new("Ida")
            .write_file(&link, b"table", &[], Earlier::Keep)
            .unwrap_err();
        assert_eq!(refused, StoreError::IsLink(link));
        assert_eq!(fs::read_to_string(&dear).unwrap(), "the only copy");
    }

    #[test]
    fn a_device_that_never_ends_is_no_pedigree_for_ever() {
        let outcome = binewright(&["check", "/dev/zero"]);
        assert_eq!(outcome.code, 2);
        assert!(outcome.err.contains("not a file"), "{}", outcome.err);
    }
}

/// A reader that goes away after the first line.
struct Head(usize);

impl Write for Head {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0 += usize::from(bytes.contains(&b'\n'));
        if self.0 > 1 {
            return Err(io::ErrorKind::BrokenPipe.into());
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_reader_that_had_enough_is_no_error() {
    let (_folder, path) = season();
    for words in [
        &["check", text(&path)][..],
        &["agenda", text(&path)],
        &["agenda", text(&path), "--json"],
        &["kinship", text(&path)],
    ] {
        let mut err = Vec::new();
        let code = run(script(words), today(), &mut Head(0), &mut err);
        let err = String::from_utf8(err).unwrap();
        assert_eq!(code, 0, "{words:?}: {err}");
        assert!(!err.contains("binewright:"), "{words:?}: {err}");
    }
}

#[test]
fn a_code_neither_forges_a_line_nor_moves_the_cursor_nor_runs_in_a_spreadsheet() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("season.binewright");
    let mut ids = IdSource::new(1, 2);
    let mut project = Project::default();
    let plant = Genotype::new(ids.next(), "=HYPERLINK(\"x\")", Origin::Unknown);
    project.apply(Edit::add(plant)).unwrap();
    drop(
        Store::new("Ida")
            .create(&path, &project, Existing::Keep)
            .unwrap(),
    );
    // As a person's editor or another program may have written it.
    let before = fs::read_to_string(&path).unwrap();
    let table = binewright(&["kinship", text(&path)]).out;
    assert!(table.contains("'=HYPERLINK"), "{table}");
    let forged = before.replace("=HYPERLINK(\\\"x\\\")", "A\\nfault: none\\u001b[2J");
    assert_ne!(forged, before);
    fs::write(&path, forged).unwrap();
    let checked = binewright(&["check", text(&path)]);
    for text in [checked.out, checked.err] {
        assert!(
            !text.contains('\u{1b}') && !text.contains("\nfault: none"),
            "{text}"
        );
    }
}
