//! Sound JSON with unsound values: whatever a field holds, the project opens or is refused in words, and everything
//! that is worked out from it, and every screen that shows it, ends within bounds of time and memory.
//!
//! The work is done by a child process under a limit of memory, so that an endless loop or an endless list is caught
//! as well as a panic. `BINEWRIGHT_VALUES=100000 cargo test -p binewright-tests --test values -- --nocapture` does it
//! for hours; `BINEWRIGHT_VALUES_FROM` is the first seed. A file that fails is written to the machine's folder for
//! temporary files and named.

#![expect(
    clippy::unwrap_used,
    clippy::print_stderr,
    reason = "a test may stop at what it did not foresee, and tells where its time went"
)]

mod screens;

use binewright_tests::derive::{derive_everything, derive_the_day};
use binewright_tests::dice::Dice;
use binewright_tests::hostile::look_everywhere;
use binewright_tests::model_disk::ModelDisk;
use binewright_tests::values::spoil;
use chrono::NaiveDate;
use domain::agenda::agenda;
use domain::date::shift;
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::{Arc, OnceLock};
use std::time::{Duration, Instant};
use store::{Existing, Store, StoreError};

const FILE: &str = "/season.binewright";
/// Who runs whom: the child is this same program, told where its seeds begin and end.
const CHILD: &str = "BINEWRIGHT_VALUES_CHILD";
/// One file, in an unoptimised build on a machine that leaves it next to no time; what loops for ever is told apart from what
/// is slow.
const LONGEST: Duration = Duration::from_mins(5);
/// Address space of the child in KiB: more than any honest file of this size takes.
const MEMORY: u32 = 3_000_000;
/// One file in so many is taken through breeding values and plans too, which cost as much as a hundred files.
const BREEDING: u64 = 4000;
/// Of one file in so many the figures of its seed are worked out too: curves are fitted, which costs as much as twenty-five files.
const FITTED: u64 = 100;
/// One file in so many is saved and opened again.
const SAVED: u64 = 4;
/// One file in so many is drawn in a window, which costs as much as twenty files: one screen of it, each in turn.
const DRAWN: u64 = 400;
/// Of the first so many files more are drawn, so that a short run draws every screen; and more are taken through breeding values.
const FIRST: u64 = 160;
/// One file in so many is the whole sample season.
const SEASON: usize = 500;
/// So many files are lived with before the next child begins, so that none carries much along.
const AT_A_TIME: u64 = 5000;

fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 5, 1).unwrap()
}

/// A file with a record of every kind.
fn every_kind() -> &'static Value {
    static FILE: OnceLock<Value> = OnceLock::new();
    FILE.get_or_init(|| {
        let text = include_str!("../../data/project-1.7.binewright");
        serde_json::from_str(text).unwrap()
    })
}

/// The sample season.
fn season() -> &'static Value {
    static SEASON: OnceLock<Value> = OnceLock::new();
    SEASON.get_or_init(|| {
        let disk = ModelDisk::default();
        Store::with_files("Ida", Arc::new(disk.clone()))
            .create(
                Path::new(FILE),
                &sample::sample_project(today()).unwrap(),
                Existing::Keep,
            )
            .unwrap();
        let sample = disk.peek(Path::new(FILE)).unwrap();
        serde_json::from_slice(&sample).unwrap()
    })
}

/// The file of a seed, and what was changed in it.
fn spoilt(seed: u64) -> (Value, Vec<String>) {
    let mut dice = Dice::new(seed);
    let mut file = if dice.one_in(SEASON) {
        season().clone()
    } else {
        every_kind().clone()
    };
    let said = spoil(&mut file, &mut dice);
    (file, said)
}

/// Where the time of a child went, told when it ends.
#[derive(Default)]
struct Spent(Vec<(&'static str, Duration, u64)>);

impl Spent {
    fn on<T>(&mut self, what: &'static str, work: impl FnOnce() -> T) -> T {
        let begun = Instant::now();
        let done = work();
        let taken = begun.elapsed();
        match self.0.iter_mut().find(|(of, ..)| *of == what) {
            Some((_, sum, times)) => (*sum, *times) = (*sum + taken, *times + 1),
            None => self.0.push((what, taken, 1)),
        }
        done
    }

    fn tell(&self) {
        let parts = self.0.iter().map(|(what, sum, times)| {
            format!("{what} {times} times in {:.1} s", sum.as_secs_f64())
        });
        eprintln!("{}", parts.collect::<Vec<_>>().join(", "));
    }
}

/// Opens the file, works everything out, and saves and opens it again.
fn live_with(seed: u64, bytes: &[u8], spent: &mut Spent) {
    let disk = ModelDisk::default();
    disk.put(Path::new(FILE), bytes);
    let store = Store::with_files("Ida", Arc::new(disk.clone()));
    let is_saved = seed.is_multiple_of(SAVED);
    // Whoever only reads needs neither a lock nor a thread for the journal.
    let open = || {
        if is_saved {
            store.open(Path::new(FILE))
        } else {
            store.open_read_only(Path::new(FILE))
        }
    };
    let opened = match spent.on("opened", open) {
        Ok(opened) => opened,
        Err(StoreError::NotAProject { why, .. }) => return assert!(!why.is_empty()),
        Err(StoreError::TooLarge { .. }) => return,
        Err(other) => panic!("{other}"),
    };
    let _ = opened.report.sentences();
    if seed.is_multiple_of(if seed < FIRST { FIRST / 4 } else { BREEDING }) {
        spent.on("breeding", || {
            derive_everything(&opened.project, today(), Duration::from_millis(500));
        });
    } else if seed.is_multiple_of(FITTED) {
        spent.on("the day", || derive_the_day(&opened.project, today()));
    } else {
        spent.on("looked at", || look_everywhere(&opened.project));
    }
    if opened.file.read_only().is_none() && is_saved {
        spent.on("saved", || {
            let saved = opened.file.save(&opened.project);
            saved.unwrap_or_else(|error| panic!("{error}"));
            let project = opened.project.clone();
            drop(opened);
            let again = store.open(Path::new(FILE)).unwrap();
            assert!(again.project == project, "another project was saved");
        });
    }
}

fn run_child(from: u64, until: u64) -> Result<(), u64> {
    let program = std::env::current_exe().unwrap();
    let limited = format!("ulimit -v {MEMORY} 2>/dev/null; exec \"$0\" \"$@\"");
    let mut child = if cfg!(unix) {
        let mut shell = Command::new("sh");
        shell.args(["-c", &limited]).arg(program);
        shell
    } else {
        Command::new(program)
    };
    let progress = tempfile::NamedTempFile::new().unwrap();
    let mut child = child
        .args(["--exact", "the_child_lives_with_each_file", "--nocapture"])
        .env(
            CHILD,
            format!("{from} {until} {}", progress.path().display()),
        )
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let (mut last, mut since) = (String::new(), Instant::now());
    loop {
        if let Some(status) = child.try_wait().unwrap() {
            let at = fs::read_to_string(progress.path()).unwrap();
            return if status.success() {
                Ok(())
            } else {
                Err(at.parse().unwrap_or(from))
            };
        }
        let now = fs::read_to_string(progress.path()).unwrap();
        if now != last {
            (last, since) = (now, Instant::now());
        } else if since.elapsed() > LONGEST {
            child.kill().unwrap();
            child.wait().unwrap();
            return Err(last.parse().unwrap_or(from));
        }
        std::thread::sleep(Duration::from_millis(50));
    }
}

/// Sets a figure of every batch's own regimen, where the file has one.
fn with_regimen(file: &Value, figure: &str, value: &Value) -> Value {
    let mut file = file.clone();
    let batches = file["project"]["chill_batches"].as_array_mut().unwrap();
    for batch in batches {
        batch["regimen"][figure] = value.clone();
    }
    file
}

#[test]
fn a_batch_may_hold_any_days_between_its_checks_and_counts() {
    for figure in [
        "daily_checks",
        "check_every",
        "recheck_after",
        "sprouts_from",
        "sprouts_to",
        "count_every",
        "give_up_after",
    ] {
        for value in [0, 1, u32::MAX] {
            let file = with_regimen(season(), figure, &value.into());
            let disk = ModelDisk::default();
            disk.put(Path::new(FILE), &serde_json::to_vec(&file).unwrap());
            let store = Store::with_files("Ida", Arc::new(disk));
            let project = store.open_read_only(Path::new(FILE)).unwrap().project;
            assert!(!project.chill_batches().is_empty(), "{figure} {value}");
            let days = shift(today(), -400)..=shift(today(), 400);
            let items = agenda(&project, days, today());
            // Each record asks for a thing at most once a day.
            let most = 801 * project.record_count();
            assert!(items.len() < most, "{figure} {value}: {}", items.len());
        }
    }
}

/// Does nothing unless a parent asks for it.
#[test]
fn the_child_lives_with_each_file() {
    let Ok(asked) = std::env::var(CHILD) else {
        return;
    };
    let mut parts = asked.splitn(3, ' ');
    let from: u64 = parts.next().unwrap().parse().unwrap();
    let until: u64 = parts.next().unwrap().parse().unwrap();
    let progress = parts.next().unwrap();
    let mut spent = Spent::default();
    for seed in from..until {
        fs::write(progress, seed.to_string()).unwrap();
        let bytes = spent.on("spoilt", || serde_json::to_vec(&spoilt(seed).0).unwrap());
        live_with(seed, &bytes, &mut spent);
        let every = if seed < FIRST { FIRST / 20 } else { DRAWN };
        if seed.is_multiple_of(every) {
            spent.on("drawn", || screens::draw_one(seed / every, &bytes));
        }
    }
    spent.tell();
}

#[test]
fn whatever_a_field_holds_a_project_opens_and_everything_is_worked_out_within_bounds() {
    let number = |name: &str, otherwise: u64| {
        std::env::var(name).map_or(otherwise, |text| text.parse().unwrap())
    };
    let from = number("BINEWRIGHT_VALUES_FROM", 0);
    let until = from + number("BINEWRIGHT_VALUES", 150);
    let mut failed = Vec::new();
    let mut next = from;
    while next < until {
        let upto = until.min(next + AT_A_TIME);
        match run_child(next, upto) {
            Ok(()) => {
                next = upto;
                println!("{} files", next - from);
            }
            Err(seed) => {
                let (file, said) = spoilt(seed);
                let kept =
                    std::env::temp_dir().join(format!("binewright-values-{seed}.binewright"));
                fs::write(&kept, serde_json::to_vec_pretty(&file).unwrap()).unwrap();
                println!("seed {seed}: {} ({})", said.join("; "), kept.display());
                failed.push(seed);
                next = seed + 1;
            }
        }
    }
    let lived = until - from - failed.len() as u64;
    println!("{lived} files from seed {from} on: lived with");
    assert!(
        failed.is_empty(),
        "of {} files, seeds {failed:?} failed",
        until - from
    );
}
