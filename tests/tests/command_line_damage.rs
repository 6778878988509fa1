//! What commands say of a project that is damaged, newer than they are, or no file at all: all of them the same, with 2 as
//! their code.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::dice::Dice;
use binewright_tests::random_edits::walk;
use chrono::NaiveDate;
use commands::{Task, parse, run};
use domain::Edit;
use domain::record::settings::SettingsField;
use std::fs;
use std::path::{Path, PathBuf};
use store::journal::Sum;
use store::{Existing, Store};
use tempfile::TempDir;

struct Outcome {
    code: u8,
    out: String,
    err: String,
}

impl Outcome {
    fn all(&self) -> String {
        format!("{}{}", self.out, self.err)
    }
}

fn today() -> NaiveDate {
    "2027-06-01".parse().unwrap()
}

fn binewright(words: &[&str]) -> Outcome {
    let Ok(Task::Script(script)) = parse(["binewright"].iter().chain(words).map(Into::into)) else {
        panic!("{words:?}: these words mean something else");
    };
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = run(script, today(), &mut out, &mut err);
    Outcome {
        code,
        out: String::from_utf8(out).unwrap(),
        err: String::from_utf8(err).unwrap(),
    }
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// A folder with a small season in it, five changes of it only in its journal.
fn season() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("season.binewright");
    let mut dice = Dice::new(3);
    let mut project = walk(&(0..400).map(|_| dice.roll()).collect::<Vec<_>>()).project;
    let file = Store::new("Ida")
        .create(&path, &project, Existing::Keep)
        .unwrap();
    for n in 0..5 {
        let edit = Edit::Settings(SettingsField::Place(format!("Hill {n}")));
        project.apply(edit.clone()).unwrap();
        file.append(&edit).unwrap();
    }
    file.flush().unwrap();
    drop(file);
    (folder, path)
}

fn journal(project: &Path) -> PathBuf {
    project.with_file_name("season.binewright-journal")
}

/// Every command that reads a project, as it is asked for here.
fn every_command(folder: &Path, project: &Path) -> Vec<Vec<String>> {
    let (records, plants) = (folder.join("records.csv"), folder.join("plants.csv"));
    fs::write(&records, "id,vigour\nno such plant,5\n").unwrap();
    fs::write(&plants, "code\nNEW-1\n").unwrap();
    let out = folder.join("out");
    let (file, records, plants, out) = (text(project), text(&records), text(&plants), text(&out));
    [
        &["check", file][..],
        &["agenda", file],
        &["agenda", file, "--json"],
        &["plan", file],
        &["plan", file, "--json"],
        &["own-score", file],
        &["germination", file],
        &["kinship", file],
        &["evaluate", file, records, "--trait", "vigour"],
        &["export", file, "--as", "csv", "--out", out],
        &["export", file, "--as", "ics", "--out", out],
        &["import", file, plants, "--as", "plants", "--dry-run"],
        &["import", file, plants, "--as", "plants"],
    ]
    .iter()
    .map(|words| words.iter().map(ToString::to_string).collect())
    .collect()
}

fn said_by_all(folder: &Path, project: &Path, what: &[&str]) {
    for words in every_command(folder, project) {
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let outcome = binewright(&words);
        let all = outcome.all();
        assert_eq!(outcome.code, 2, "{words:?}: {all}");
        for what in what {
            assert!(all.contains(what), "{words:?}: no '{what}' in: {all}");
        }
    }
}

/// The text with its own sum, as a program would have written it.
fn resealed(text: &str) -> String {
    let at = text.rfind("\"sum\": \"").unwrap();
    let sum = Sum::of(&text.as_bytes()[..at]);
    format!("{}\"sum\": \"{sum}{}", &text[..at], &text[at + 16..])
}

#[test]
fn a_sound_project_is_read_without_a_word() {
    let (folder, path) = season();
    for words in every_command(folder.path(), &path) {
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        // A few random plants have neither goals nor what can be evaluated.
        if matches!(words[0], "evaluate" | "plan") {
            continue;
        }
        let outcome = binewright(&words);
        assert!(outcome.code < 2, "{words:?}: {}", outcome.all());
    }
}

#[test]
fn every_command_says_that_changes_are_lost_and_goes_on_saying_it() {
    let (folder, path) = season();
    let mut bytes = fs::read(journal(&path)).unwrap();
    let at = bytes.windows(6).position(|part| part == b"Hill 2").unwrap();
    bytes[at] ^= 1;
    fs::write(journal(&path), bytes).unwrap();
    // The last of them are imports, which save: it stays told all the same.
    for _ in 0..2 {
        said_by_all(folder.path(), &path, &["3 changes"]);
    }
}

#[test]
fn every_command_says_that_a_record_cannot_be_read() {
    let (folder, path) = season();
    let sound = fs::read_to_string(&path).unwrap();
    let at = sound.find("\"genotypes\": [").unwrap();
    let broken = sound[at..].replacen("\"origin\": ", "\"origin\": 7, \"was\": ", 1);
    fs::write(&path, resealed(&format!("{}{broken}", &sound[..at]))).unwrap();
    for _ in 0..2 {
        said_by_all(folder.path(), &path, &["can't be read"]);
    }
}

/// What is worked out from the rest of the plants would be another plan.
#[test]
fn no_plan_is_made_without_plants_that_cannot_be_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("season.binewright");
    let sample = sample::sample_project(today()).unwrap();
    drop(
        Store::new("Ida")
            .create(&path, &sample, Existing::Keep)
            .unwrap(),
    );
    let sound = fs::read_to_string(&path).unwrap();
    let at = sound.find("\"genotypes\": [").unwrap();
    let broken = sound[at..].replacen("\"origin\": ", "\"origin\": 7, \"was\": ", 1);
    fs::write(&path, resealed(&format!("{}{broken}", &sound[..at]))).unwrap();
    for words in [&["plan", text(&path)][..], &["plan", text(&path), "--json"]] {
        let outcome = binewright(words);
        assert_eq!((outcome.code, outcome.out.as_str()), (2, ""), "{words:?}");
        assert!(
            outcome.err.contains("No plan was made: 1 record"),
            "{words:?}: {}",
            outcome.err
        );
    }
    // The help says so.
    let Err(help) = parse(["binewright", "--help"].map(Into::into)) else {
        panic!("no help");
    };
    let help = help.to_string().replace('\n', " ");
    assert!(
        help.contains("plan doesn't where records can't be read"),
        "{help}"
    );
}

/// No record is missing, and still the file isn't what was written: all commands say so alike, until it is saved.
#[test]
fn every_command_says_that_a_file_is_damaged_of_which_each_piece_can_be_read() {
    let (folder, path) = season();
    let sound = fs::read_to_string(&path).unwrap();
    let hurt = sound.replacen("\n  \"project\": {", "\n  \"project\" {", 1);
    let mut commands = every_command(folder.path(), &path);
    // The last one saves.
    let saves = commands.pop().unwrap();
    fs::write(&path, &hurt).unwrap();
    for words in commands.iter().chain([&saves]) {
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let outcome = binewright(&words);
        let all = outcome.all();
        assert_eq!(outcome.code, 2, "{words:?}: {all}");
        assert!(all.contains("The file is damaged"), "{words:?}: {all}");
    }
    let outcome = binewright(&["check", text(&path)]);
    assert!(outcome.code < 2, "{}", outcome.all());
    // What was there before lies beside it, and is told of with the way back.
    assert!(
        outcome.out.contains("note: A copy of the project file")
            && outcome.out.contains(".damaged-")
            && outcome.out.contains("under Findings"),
        "{}",
        outcome.out
    );
}

/// Another machine's journal, which parted from this one's some changes ago, lies beside a file that is further on.
#[test]
fn every_command_counts_a_journal_that_branched_off_alike_before_and_after_it_is_set_aside() {
    let (folder, path) = season();
    let further = |places: &[&str]| {
        let mut opened = Store::new("Ida").open(&path).unwrap();
        for place in places {
            let edit = Edit::Settings(SettingsField::Place((*place).into()));
            opened.project.apply(edit.clone()).unwrap();
            opened.file.append(&edit).unwrap();
        }
        opened.file.flush().unwrap();
        opened
    };
    let shared = (fs::read(&path).unwrap(), fs::read(journal(&path)).unwrap());
    drop(further(&["Dale 1", "Dale 2"]));
    let theirs = fs::read(journal(&path)).unwrap();
    fs::write(&path, shared.0).unwrap();
    fs::write(journal(&path), shared.1).unwrap();
    let opened = further(&["Fell 1", "Fell 2", "Fell 3", "Fell 4"]);
    opened.file.save(&opened.project).unwrap();
    drop(opened);
    fs::remove_dir_all(path.with_file_name("season.binewright-backups")).unwrap();
    fs::write(journal(&path), theirs).unwrap();
    // The last of them are imports: the first sets it aside.
    for _ in 0..2 {
        said_by_all(folder.path(), &path, &["7 changes not known to be in"]);
    }
}

#[test]
fn a_format_number_that_is_none_is_told_as_it_stands() {
    let (folder, path) = season();
    let sound = fs::read_to_string(&path).unwrap();
    let at = sound.find("\"minor\": ").unwrap() + 9;
    let rest = sound[at..].trim_start_matches(|sign: char| sign.is_ascii_digit());
    fs::write(&path, format!("{}-1{rest}", &sound[..at])).unwrap();
    said_by_all(folder.path(), &path, &["\"minor\":-1"]);
}

#[test]
fn a_day_that_is_none_is_refused_with_how_to_write_one() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("season.binewright");
    for day in ["9999", "2026-13-40", "tomorrow"] {
        let refused = parse(["binewright", "sample", text(&path), "--today", day].map(Into::into));
        let words = refused.map(|_| ()).unwrap_err().to_string();
        assert!(words.contains("such as 2026-03-01"), "{words}");
    }
    let far = binewright(&["sample", text(&path), "--today", "9999-12-31"]);
    assert_eq!(far.code, 2);
    assert!(
        far.err.contains("No sample can be dated to 9999-12-31"),
        "{}",
        far.err
    );
}

#[test]
fn every_command_refuses_a_newer_format_alike() {
    let (folder, path) = season();
    let newer = fs::read_to_string(&path).unwrap();
    let newer = newer.replacen("\"major\": 1", "\"major\": 2", 1);
    fs::write(&path, resealed(&newer)).unwrap();
    said_by_all(
        folder.path(),
        &path,
        &["newer Binewright", "Get that version"],
    );
    for words in every_command(folder.path(), &path) {
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        assert_eq!(binewright(&words).out, "", "{words:?}");
    }
}

#[test]
fn an_import_that_leaves_no_backup_says_so() {
    let (folder, project) = season();
    let backups = project.with_file_name("season.binewright-backups");
    if backups.is_dir() {
        fs::remove_dir_all(&backups).unwrap();
    }
    fs::write(&backups, "in the way").unwrap();
    let table = folder.path().join("plants.csv");
    fs::write(&table, "code\nZZ-1\n").unwrap();
    let outcome = binewright(&["import", text(&project), text(&table)]);
    assert_eq!(outcome.code, 0, "{}", outcome.all());
    assert!(
        outcome.err.contains("no backup could be made"),
        "{}",
        outcome.err
    );
}

#[test]
fn an_import_whose_file_cannot_be_written_says_that_its_rows_are_safe() {
    let (folder, path) = season();
    // Nothing can be written beside the file, as on a full disk; the journal still grows.
    fs::create_dir(folder.path().join("season.binewright-new")).unwrap();
    let words = every_command(folder.path(), &path).pop().unwrap();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let outcome = binewright(&words);
    assert_eq!(outcome.code, 0, "{}", outcome.all());
    assert!(
        outcome.err.contains("safe in its journal"),
        "{}",
        outcome.err
    );
    let opened = Store::new("Ida").open_read_only(&path).unwrap();
    assert!(opened.project.find_code("NEW-1").next().is_some());
}

#[cfg(unix)]
mod on_unix {
    use super::*;
    use std::os::unix::net::UnixListener;
    use std::process::Command;
    use std::sync::mpsc::channel;
    use std::time::Duration;

    /// Runs on a thread, so that a command that hangs fails the test.
    fn in_time(words: &[String]) -> Outcome {
        let (sender, receiver) = channel();
        std::thread::spawn({
            let words = words.to_vec();
            move || {
                let words: Vec<&str> = words.iter().map(String::as_str).collect();
                let _ = sender.send(binewright(&words));
            }
        });
        let outcome = receiver.recv_timeout(Duration::from_secs(20));
        outcome.unwrap_or_else(|_| panic!("{words:?} hangs"))
    }

    #[test]
    fn what_is_no_file_is_refused_at_once() {
        let folder = tempfile::tempdir().unwrap();
        let pipe = folder.path().join("pipe.binewright");
        let socket = folder.path().join("socket.binewright");
        assert!(
            Command::new("mkfifo")
                .arg(&pipe)
                .status()
                .unwrap()
                .success()
        );
        let _listener = UnixListener::bind(&socket).unwrap();
        for odd in [&pipe, &socket, Path::new("/dev/zero")] {
            for words in every_command(folder.path(), odd) {
                let outcome = in_time(&words);
                let all = outcome.all();
                assert_eq!(outcome.code, 2, "{words:?}: {all}");
                assert!(
                    all.contains("a pipe") || all.contains("a device"),
                    "{words:?}: {all}"
                );
            }
        }
    }

    #[test]
    fn what_is_no_file_beside_a_project_does_not_hang_it() {
        for suffix in ["-lock", "-journal", "-drafts", "-new", "-journal-new"] {
            let (folder, path) = season();
            let pipe = folder.path().join(format!("season.binewright{suffix}"));
            let _ = fs::remove_file(&pipe);
            assert!(
                Command::new("mkfifo")
                    .arg(&pipe)
                    .status()
                    .unwrap()
                    .success()
            );
            for words in every_command(folder.path(), &path) {
                in_time(&words);
            }
        }
    }

    #[test]
    fn a_link_in_the_place_of_the_lock_is_named() {
        let (folder, path) = season();
        let dear = folder.path().join("dear.txt");
        fs::write(&dear, "the only copy").unwrap();
        let lock = folder.path().join("season.binewright-lock");
        std::os::unix::fs::symlink(&dear, &lock).unwrap();
        let words = every_command(folder.path(), &path).pop().unwrap();
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let outcome = binewright(&words);
        let all = outcome.all();
        assert_eq!(outcome.code, 2, "{all}");
        assert!(!all.contains("disk failed"), "{all}");
        assert!(all.contains("A link") && all.contains("-lock"), "{all}");
    }
}

#[test]
fn a_long_code_is_shortened_on_the_terminal() {
    let (_folder, path) = season();
    let sound = fs::read_to_string(&path).unwrap();
    let at = sound.find("\"genotypes\": [").unwrap();
    let at = at + sound[at..].find("\"code\": \"").unwrap() + 9;
    let long = "x".repeat(100_000);
    fs::write(&path, format!("{}{long}{}", &sound[..at], &sound[at..])).unwrap();
    for words in [["check", text(&path)], ["agenda", text(&path)]] {
        let all = binewright(&words).all();
        assert!(all.lines().all(|line| line.len() < 1500), "{words:?}");
    }
    assert!(binewright(&["check", text(&path)]).all().contains("xxx…"));
}

/// Each item repeats its code: a hundred of them with a code of a million signs would fill the memory of who reads them.
#[test]
fn a_code_without_end_is_cut_in_json_and_said_to_be() {
    let (_folder, path) = season();
    let mut file: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
    let long = "x".repeat(200_000);
    for table in ["chill_boxes", "crosses"] {
        for record in file["project"][table].as_array_mut().unwrap() {
            let code = format!("{long}{}", record["code"].as_str().unwrap());
            record["code"] = code.into();
        }
    }
    fs::write(&path, serde_json::to_vec(&file).unwrap()).unwrap();
    let outcome = binewright(&[
        "agenda",
        text(&path),
        "--json",
        "--from",
        "2020-01-01",
        "--to",
        "2030-01-01",
    ]);
    let items: Vec<serde_json::Value> = serde_json::from_str(&outcome.out).unwrap();
    let cut = items.iter().filter(|item| item["code_is_cut"] == true);
    let cut: Vec<_> = cut.collect();
    assert!(!cut.is_empty(), "{}", items.len());
    for item in &cut {
        assert!(item["code"].as_str().unwrap().ends_with('…'));
    }
    let longest = items.iter().map(|item| item.to_string().len()).max();
    assert!(longest.unwrap() < 10_000, "{longest:?}");
}
