//! A program killed at any moment, while it edits records of every kind, saves, backs up, copies, keeps photos and what is
//! half typed, brings in a copy, restores a backup and writes a table, loses nothing it acknowledged.
//!
//! Twenty-five kills by default; more with `BINEWRIGHT_KILLS=5000 cargo test -p binewright-tests --test store_kill`.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::dice::Dice;
use binewright_tests::hasty_clock::HastyClock;
use binewright_tests::random_edits::walk;
use domain::{Project, RecordKind};
use std::collections::BTreeSet;
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, SystemTime};
use store::journal::Sum;
use store::{Existing, Store};

/// What a killed breeder had acknowledged.
#[derive(Default)]
struct Told {
    /// Numbers of changes, and the project's sum after each.
    edits: Vec<(u64, String)>,
    /// Paths and sums.
    photos: Vec<(String, String)>,
    /// The number of the last change in the last copy.
    copy: Option<u64>,
    /// How often a copy was brought in.
    merges: usize,
    /// How often a backup was gone back to.
    restores: usize,
    /// How often what was typed was kept.
    drafts: usize,
    /// How often a table was written.
    exports: usize,
}

/// A breeder at work on a project, in a process of its own.
fn begin_work(path: &Path, since: u64) -> Child {
    Command::new(env!("CARGO_BIN_EXE_killed_breeder"))
        .arg(path)
        .arg(since.to_string())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap()
}

/// Kills the breeder, and reads what it had told.
fn be_killed(child: Child) -> Told {
    be_killed_after(child, 0, Duration::ZERO)
}

/// Kills the breeder so long after it has told so many things, and reads what it had told. A machine that has much else to do
/// kills it no earlier in its work.
fn be_killed_after(mut child: Child, things: usize, after: Duration) -> Told {
    let mut told = Told::default();
    let mut out = BufReader::new(child.stdout.take().unwrap());
    let mut line = String::new();
    for nth in 0.. {
        if nth == things {
            std::thread::sleep(after);
            child.kill().unwrap();
        }
        if out.read_line(&mut line).unwrap() == 0 {
            assert!(nth >= things, "the breeder gave up by itself");
            break;
        }
        // The last line may be cut by the kill.
        if line.ends_with('\n') {
            match line.split_whitespace().collect::<Vec<_>>()[..] {
                ["edit", number, sum] => told.edits.push((number.parse().unwrap(), sum.into())),
                ["photo", path, sum] => told.photos.push((path.into(), sum.into())),
                ["merge", _] => told.merges += 1,
                ["restore", _] => told.restores += 1,
                ["draft", _] => told.drafts += 1,
                ["export", _] => told.exports += 1,
                ["copy", number] => told.copy = Some(number.parse().unwrap()),
                _ => panic!("{line}"),
            }
        }
        line.clear();
    }
    child.wait().unwrap();
    told
}

fn sum(project: &Project) -> String {
    Sum::of(&serde_json::to_vec(project).unwrap()).to_string()
}

/// Opens without a word but of what was brought back, who left, and the end of a journal that was cut.
fn is_whole(store: &Store, path: &Path) -> Project {
    let opened = store.open(path).unwrap();
    let report = opened.report.sentences();
    assert!(
        opened.report.read_only.is_none() && opened.report.quarantined.is_empty(),
        "{}: {report:?}",
        path.display()
    );
    opened.project
}

/// Every photo told is there as it was, and every one that a record names.
fn has_photos(store: &Store, path: &Path, photos: &[(String, String)], project: &Project) {
    for (photo, expected) in photos {
        let bytes = store.read_photo(path, photo).unwrap();
        assert_eq!(&Sum::of(&bytes).to_string(), expected, "{photo}");
    }
    let named = project.photos().iter();
    for photo in named.filter(|photo| photo.path.len() > 60) {
        let bytes = store.read_photo(path, &photo.path).unwrap();
        assert!(
            !store::photos::is_altered(&photo.path, &bytes),
            "{}",
            photo.path
        );
    }
}

#[derive(Default)]
struct Counts {
    edits: usize,
    photos: usize,
    copies: usize,
    merges: usize,
    restores: usize,
    drafts: usize,
    exports: usize,
    backups: usize,
    recoveries: usize,
    /// What kinds of record were changed, by edits that were acknowledged.
    kinds: BTreeSet<RecordKind>,
}

/// From so many kills on, every kind of record and every kind of work has been met.
const MANY: u32 = 500;

/// A text that ends with its own check sum is there as a whole, if it was once told.
fn is_sealed(path: &Path, was_told: bool) {
    let Ok(text) = std::fs::read_to_string(path) else {
        assert!(!was_told, "{} is gone", path.display());
        return;
    };
    let (text, sum) = text.split_at(text.len() - 8);
    assert_eq!(
        Sum::of(text.as_bytes()).to_string(),
        sum,
        "{}",
        path.display()
    );
}

#[test]
#[expect(clippy::too_many_lines, reason = "one story, told in order")]
fn a_killed_program_loses_nothing_acknowledged() {
    let kills: u32 = std::env::var("BINEWRIGHT_KILLS").map_or(25, |text| text.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let mut dice = Dice::new(u64::from(std::process::id()));
    let mut counts = Counts::default();
    let mut path = PathBuf::new();
    let mut since = 0;
    let mut photos: Vec<(String, String)> = Vec::new();
    for kill in 0..kills {
        // A new project now and then keeps each small, and the folder too.
        if kill % 25 == 0 {
            let _ = path.parent().map(std::fs::remove_dir_all);
            let home = folder.path().join(format!("{kill}"));
            std::fs::create_dir(&home).unwrap();
            path = home.join("season.binewright");
            let now = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
            since = now.unwrap().as_millis() as u64;
            photos.clear();
            let store = Store::with_files("Nils", Arc::new(HastyClock::since(since)));
            // With records of most kinds, so that all kinds of work can follow.
            let begun = walk(&(0..80).map(|_| dice.roll()).collect::<Vec<_>>());
            drop(store.create(&path, &begun.project, Existing::Keep).unwrap());
        }
        let store = Store::with_files("Nils", Arc::new(HastyClock::since(since)));
        // Now and then before it has begun, else in the midst of its work.
        let things = [0, 1, dice.below(40)][dice.below(3)];
        let after = Duration::from_micros(dice.below(60_000) as u64);
        let told = be_killed_after(begin_work(&path, since), things, after);
        let opened = store.open(&path).unwrap();
        let report = opened.report.sentences();
        assert!(
            opened.report.read_only.is_none() && opened.report.quarantined.is_empty(),
            "{report:?}"
        );
        if let Some((number, _)) = told.edits.last() {
            assert!(
                opened.file.last() >= *number,
                "kill {kill}: {number} lost: {report:?}"
            );
            let history = opened.file.history().unwrap();
            let told = history.iter().filter(|entry| entry.sequence <= *number);
            let touched = told.flat_map(|entry| entry.edit.touches());
            counts.kinds.extend(touched.map(|id| id.kind));
        }
        // Every tenth of what was told, and the last, is there as it was.
        for (number, expected) in told.edits.iter().rev().step_by(10) {
            let project = store.project_at(&path, *number).unwrap().unwrap();
            assert_eq!(
                &sum(&project),
                expected,
                "kill {kill}: change {number} differs"
            );
        }
        let replayed = store.project_at(&path, opened.file.last()).unwrap();
        assert!(opened.file.last() == 0 || replayed.as_ref() == Some(&opened.project));
        // Every photo that a record names is there, and every one told.
        counts.photos += told.photos.len();
        photos.extend(told.photos);
        has_photos(&store, &path, &photos, &opened.project);
        // A copy is a whole one, whichever.
        let copy = path.with_extension("copy.binewright");
        if copy.exists() {
            let there = is_whole(&store, &copy);
            assert!(there.broken_rules().is_empty());
        }
        assert!(
            told.copy.is_none() || copy.exists(),
            "kill {kill}: the copy is gone"
        );
        // What was typed and what was written out is old or new, never half.
        if told.drafts > 0 {
            let kept = opened.file.drafts().unwrap();
            let (text, sum) = kept.split_at(kept.len() - 8);
            assert_eq!(Sum::of(text.as_bytes()).to_string(), sum, "kill {kill}");
        }
        let table = path.with_extension("csv");
        is_sealed(&table, told.exports > 0);
        is_sealed(&table.with_extension("csv.before"), false);
        counts.drafts += told.drafts;
        counts.exports += told.exports;
        counts.restores += told.restores;
        counts.merges += told.merges;
        counts.copies += usize::from(told.copy.is_some());
        // So is each backup.
        for backup in store.backups(&path).unwrap() {
            let opened = store.open_read_only(&backup.path).unwrap();
            let found = (opened.report.quarantined.len(), opened.report.notes.len());
            assert_eq!(found, (0, 0), "{:?}", opened.report.sentences());
            counts.backups += 1;
        }
        counts.edits += told.edits.len();
        counts.recoveries += usize::from(opened.report.recovered.is_some());
    }
    let Counts {
        edits,
        photos,
        copies,
        merges,
        restores,
        drafts,
        exports,
        backups,
        recoveries,
        kinds,
    } = counts;
    println!(
        "{kills} kills: {edits} changes, {photos} photos and {copies} copies acknowledged, {merges} merges, {restores} restores, \
         {drafts} times typed, {exports} tables, {backups} backups read, \
         {recoveries} recoveries; {} of {} kinds of record",
        kinds.len(),
        RecordKind::ALL.len()
    );
    assert!(edits > 0 && photos > 0 && backups > 0 && recoveries > 0);
    if kills >= MANY {
        let missed = RecordKind::ALL.iter().filter(|kind| !kinds.contains(kind));
        let missed: Vec<_> = missed.map(|kind| kind.noun()).collect();
        assert!(missed.is_empty(), "never changed: {missed:?}");
        assert!(copies > 0 && merges > 0 && restores > 0 && drafts > 0 && exports > 0);
    }
}

/// A window opened second only reads, also while the first one hangs; once the first is gone it takes over, and finds
/// everything that was acknowledged.
#[test]
fn a_second_window_writes_only_after_the_first_is_gone() {
    let kills: u32 = std::env::var("BINEWRIGHT_KILLS").map_or(25, |text| text.parse().unwrap());
    let mut dice = Dice::new(u64::from(std::process::id()) + 1);
    let (mut edits, mut seen_at_work) = (0, 0);
    for kill in 0..kills.div_ceil(5) {
        let home = tempfile::tempdir().unwrap();
        let path = home.path().join("season.binewright");
        let since = 1_700_000_000_000;
        let store = Store::with_files("Mira", Arc::new(HastyClock::since(since)));
        drop(
            store
                .create(&path, &Project::default(), Existing::Keep)
                .unwrap(),
        );
        let breeder = begin_work(&path, since);
        std::thread::sleep(Duration::from_micros(20_000 + dice.below(120_000) as u64));
        let second = store.open(&path).unwrap();
        if second.report.read_only.is_none() {
            // This one was the first: the breeder had not come so far.
            drop(be_killed(breeder));
            continue;
        }
        seen_at_work += 1;
        if cfg!(unix) {
            // A window that hangs still holds the project.
            let stop = Command::new("kill")
                .args(["-STOP", &breeder.id().to_string()])
                .status();
            assert!(stop.unwrap().success());
        }
        assert!(!second.file.is_let_go());
        let again = store.open(&path).unwrap();
        assert!(again.report.read_only.is_some(), "kill {kill}");
        let edit = domain::Edit::Settings(domain::record::settings::SettingsField::Name(
            "taken".into(),
        ));
        assert!(again.file.append(&edit).is_err(), "it only reads");
        let told = be_killed(breeder);
        assert!(second.file.is_let_go(), "kill {kill}");
        let mut taken = store.open(&path).unwrap();
        assert!(taken.report.read_only.is_none() && taken.report.quarantined.is_empty());
        if let Some((number, expected)) = told.edits.last() {
            assert!(taken.file.last() >= *number, "kill {kill}");
            let then = store.project_at(&path, *number).unwrap().unwrap();
            assert_eq!(&sum(&then), expected, "kill {kill}");
        }
        taken.project.apply(edit.clone()).unwrap();
        taken.file.append(&edit).unwrap();
        taken.file.flush().unwrap();
        drop(taken);
        assert_eq!(is_whole(&store, &path).settings().name, "taken");
        edits += told.edits.len();
    }
    println!("{seen_at_work} takeovers, {edits} changes acknowledged before them");
    assert!(seen_at_work > 0);
}
