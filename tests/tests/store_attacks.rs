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
use store::journal::Sum;
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
    // What was kept is never written over.
    for newer in ["newer", "by hand", "newest"] {
        let newer = newer.as_bytes();
        store.write_file(&path, newer, &[], Earlier::Keep).unwrap();
    }
    let kept = |name: &str| fs::read(folder.path().join(name)).unwrap();
    assert_eq!(fs::read(&before).unwrap(), b"by hand");
    assert_eq!(kept("report.pdf.before-2"), b"new");
    assert_eq!(kept("report.pdf.before-3"), b"newer");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 4);
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
    fn what_never_ends_is_not_read_for_ever() {
        let (folder, path) = season();
        let (pedigree, records) = tables(folder.path());
        let zero = "/dev/zero";
        for words in [
            &["check", zero][..],
            &["agenda", zero],
            &["plan", zero],
            &["kinship", zero],
            &["kinship", text(&pedigree), "--pairs", zero],
            &["evaluate", zero, text(&records), "--trait", "vigour"],
            &["evaluate", text(&pedigree), zero, "--trait", "vigour"],
            &["germination", zero],
            &["import", text(&path), zero],
            &["read-sheet", text(&path), zero],
        ] {
            let outcome = binewright(words);
            assert_eq!(outcome.code, 2, "{words:?}: {}{}", outcome.out, outcome.err);
            assert!(!outcome.err.is_empty(), "{words:?}");
        }
        // In the place of what lies beside a project, too: a device is named, and not read.
        let journal = folder.path().join("season.binewright-journal");
        symlink(zero, &journal).unwrap();
        let opened = Store::new("Ida").open(&path);
        assert!(opened.is_err(), "{opened:?}");
        let checked = binewright(&["check", text(&path)]);
        assert_eq!(checked.code, 2, "{}{}", checked.out, checked.err);
    }

    #[test]
    fn a_lock_can_be_read_by_no_more_people_than_the_file() {
        for allowed in [0o600, 0o640, 0o644] {
            let (folder, path) = season();
            fs::set_permissions(&path, fs::Permissions::from_mode(allowed)).unwrap();
            let opened = Store::new("Ida").open(&path).unwrap();
            let lock = folder.path().join("season.binewright-lock");
            assert_eq!(mode(&lock), allowed);
            // Also one that is there already, with a mode of its own.
            drop(opened);
            fs::write(&lock, "").unwrap();
            fs::set_permissions(&lock, fs::Permissions::from_mode(0o666)).unwrap();
            let _opened = Store::new("Ida").open(&path).unwrap();
            assert_eq!(mode(&lock), allowed);
        }
    }
}

/// A reader that goes away after so many lines, or before it has read any.
struct Head {
    lines: usize,
    wanted: usize,
}

impl Write for Head {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.lines += bytes.split(|byte| *byte == b'\n').count() - 1;
        if self.lines > self.wanted {
            return Err(io::ErrorKind::BrokenPipe.into());
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Standard output on a disk that is full.
struct Full;

impl Write for Full {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(io::ErrorKind::StorageFull.into())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// A pedigree and records of it.
fn tables(folder: &Path) -> (PathBuf, PathBuf) {
    let (pedigree, records) = (folder.join("pedigree.csv"), folder.join("records.csv"));
    fs::write(&pedigree, "id,female,male\nA,,\nB,,\nC,A,B\nD,A,B\n").unwrap();
    fs::write(&records, "id,vigour\nA,5\nB,6\nC,7\nD,4\n").unwrap();
    (pedigree, records)
}

#[test]
fn a_reader_that_had_enough_is_no_error() {
    let (folder, path) = season();
    let (pedigree, records) = tables(folder.path());
    let given = ["--additive", "2", "--residual", "3"];
    let evaluate = [
        "evaluate",
        text(&pedigree),
        text(&records),
        "--trait",
        "vigour",
    ];
    for words in [
        &["check", text(&path)][..],
        &["agenda", text(&path)],
        &["agenda", text(&path), "--json"],
        &["kinship", text(&path)],
        &["plan", text(&path)],
        &["germination", text(&path)],
        &["design", "--entries", "20", "--replicates", "2"],
        &[&evaluate[..], &given[..]].concat(),
    ] {
        let mut err = Vec::new();
        let mut head = Head {
            lines: 0,
            wanted: 1,
        };
        let code = run(script(words), today(), &mut head, &mut err);
        let err = String::from_utf8(err).unwrap();
        assert_eq!(code, 0, "{words:?}: {err}");
        assert!(!err.contains("can't be written"), "{words:?}: {err}");
    }
    // What can't be written for another reason is an error.
    for words in [["check", text(&path)], ["kinship", text(&path)]] {
        let mut err = Vec::new();
        let code = run(script(&words), today(), &mut Full, &mut err);
        let err = String::from_utf8(err).unwrap();
        assert_eq!(code, 2, "{words:?}: {err}");
        assert!(err.contains("can't be written"), "{words:?}: {err}");
    }
}

#[test]
fn no_cell_of_any_table_runs_in_a_spreadsheet() {
    let folder = tempfile::tempdir().unwrap();
    let (pedigree, records) = (folder.path().join("p.csv"), folder.path().join("r.csv"));
    for sign in ["=", "+", "-", "@"] {
        let evil = format!("{sign}cmd|' /C calc'!A0");
        // As another program writes it, without a guard.
        fs::write(&pedigree, format!("id,female,male\n{evil},,\nB,{evil},\n")).unwrap();
        fs::write(&records, format!("id,vigour\n{evil},5\nB,6\n")).unwrap();
        let runs = |words: &[&str]| {
            let outcome = binewright(words);
            assert_eq!(outcome.code, 0, "{words:?}: {}", outcome.err);
            let out = outcome.out;
            assert!(out.contains(&format!("'{evil}")), "{words:?}: {out}");
            let mut cells = out.lines().flat_map(|line| line.split(','));
            let starts = |cell: &str| {
                let cell = cell.trim_start_matches('"');
                cell.starts_with(sign) && cell.parse::<f64>().is_err()
            };
            assert!(!cells.any(starts), "{words:?}: {out}");
        };
        runs(&["kinship", text(&pedigree)]);
        runs(&[
            "evaluate",
            text(&pedigree),
            text(&records),
            "--trait",
            "vigour",
            "--additive",
            "2",
            "--residual",
            "3",
        ]);
        // Of a project, by every way it becomes a table.
        let path = folder.path().join("season.binewright");
        let mut ids = IdSource::new(1, 2);
        let mut project = Project::default();
        let plant = Genotype::new(ids.next(), &*evil, Origin::Unknown);
        project.apply(Edit::add(plant)).unwrap();
        let made = Store::new("Ida").create(&path, &project, Existing::Replace);
        drop(made.unwrap());
        runs(&["kinship", text(&path)]);
        let out = folder.path().join("plants.csv");
        let words = [
            "export",
            text(&path),
            "--as",
            "csv",
            "--table",
            "plants",
            "--out",
            text(&out),
        ];
        assert_eq!(binewright(&words).code, 0);
        let table = fs::read_to_string(&out).unwrap();
        assert!(table.contains(&format!("'{evil}")), "{table}");
    }
}

/// What a command says of a season cut to half, and whether it says it with its code.
#[test]
fn every_command_says_that_records_are_missing_and_exits_2() {
    let (folder, path) = season();
    let (_, records) = tables(folder.path());
    // Saved once more, it has a backup.
    let opened = Store::new("Ida").open(&path).unwrap();
    opened.file.save(&opened.project).unwrap();
    drop(opened);
    let bytes = fs::read(&path).unwrap();
    fs::write(&path, &bytes[..bytes.len() * 55 / 100]).unwrap();
    let out = folder.path().join("out.csv");
    let cut = text(&path);
    for words in [
        &["check", cut][..],
        &["agenda", cut],
        &["agenda", cut, "--json"],
        &["plan", cut],
        &["plan", cut, "--json"],
        &["evaluate", cut, text(&records), "--trait", "vigour"],
        &["kinship", cut],
        &["kinship", cut, "--out", text(&out)],
        &["germination", cut],
        &["export", cut, "--as", "csv", "--out", text(&out)],
        &["import", cut, text(&records)],
    ] {
        let Ok(Task::Script(asked)) = parse(["binewright"].iter().chain(words).map(Into::into))
        else {
            panic!("{words:?}: these words mean something else");
        };
        let (mut said, mut err) = (Vec::new(), Vec::new());
        let code = run(asked, today(), &mut said, &mut err);
        let all = [said, err].concat();
        let all = String::from_utf8(all).unwrap();
        assert_eq!(code, 2, "{words:?}: {all}");
        assert!(all.contains("missing"), "{words:?}: {all}");
        assert!(!out.exists(), "{words:?}");
    }
    assert_eq!(fs::read(&path).unwrap().len(), bytes.len() * 55 / 100);
}

/// The text with its own sum, as a program would have written it.
fn resealed(text: &str) -> String {
    let at = text.rfind("\"sum\": \"").unwrap();
    let sum = Sum::of(&text.as_bytes()[..at]);
    format!("{}\"sum\": \"{sum}{}", &text[..at], &text[at + 16..])
}

#[test]
fn check_says_that_a_newer_program_wrote_the_file() {
    let (_folder, path) = season();
    let before = fs::read_to_string(&path).unwrap();
    let at = before.find("\"minor\": ").unwrap();
    let minor = before[at..].split(['\n', ',']).next().unwrap();
    for (from, to, told) in [
        ("\"major\": 1", "\"major\": 2", "newer Binewright"),
        (minor, "\"minor\": 99", "newer Binewright"),
    ] {
        let newer = resealed(&before.replacen(from, to, 1));
        assert_ne!(newer, before);
        fs::write(&path, newer).unwrap();
        let outcome = binewright(&["check", text(&path)]);
        let all = outcome.out + &outcome.err;
        assert!(all.contains(told), "{to}: {all}");
        assert!(!all.contains("outside"), "{to}: {all}");
        assert_ne!(outcome.code, 0);
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
