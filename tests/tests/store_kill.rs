//! A program killed at any moment loses nothing it acknowledged.
//!
//! Twenty-five kills by default; more with `BINEWRIGHT_KILLS=5000 cargo test -p binewright-tests --test store_kill`.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::dice::Dice;
use domain::Project;
use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;
use store::journal::Sum;
use store::{Existing, Store};

/// Lets the breeder work on the project, kills it, and returns what it had acknowledged: numbers and sums.
fn work_and_be_killed(path: &Path, after: Duration) -> Vec<(u64, String)> {
    let mut child = Command::new(env!("CARGO_BIN_EXE_killed_breeder"))
        .arg(path)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(after);
    child.kill().unwrap();
    child.wait().unwrap();
    let lines = BufReader::new(child.stdout.take().unwrap()).lines();
    lines
        .map_while(Result::ok)
        // The last line may be cut by the kill.
        .filter_map(|line| {
            let (number, sum) = line.split_once(' ')?;
            (sum.len() == 8).then(|| Some((number.parse().ok()?, sum.to_owned())))?
        })
        .collect()
}

fn sum(project: &Project) -> String {
    Sum::of(&serde_json::to_vec(project).unwrap()).to_string()
}

#[test]
fn a_killed_program_loses_nothing_acknowledged() {
    let kills: u32 = std::env::var("BINEWRIGHT_KILLS").map_or(25, |text| text.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let store = Store::new("Nils");
    let mut dice = Dice::new(u64::from(std::process::id()));
    let (mut acknowledged, mut recoveries) = (0, 0);
    let mut path = folder.path().join("season-0.binewright");
    for kill in 0..kills {
        // A new project now and then keeps each small.
        if kill % 25 == 0 {
            path = folder.path().join(format!("season-{kill}.binewright"));
            store
                .create(&path, &Project::default(), Existing::Keep)
                .unwrap();
        }
        let after = Duration::from_micros(2000 + dice.below(120_000) as u64);
        let told = work_and_be_killed(&path, after);
        let opened = store.open(&path).unwrap();
        let report = opened.report.sentences();
        assert!(
            opened.report.read_only.is_none() && opened.report.set_aside.is_empty(),
            "{report:?}"
        );
        if let Some((number, _)) = told.last() {
            assert!(
                opened.file.last() >= *number,
                "kill {kill}: {number} lost: {report:?}"
            );
        }
        // Every tenth of what was told, and the last, is there as it was.
        for (number, expected) in told.iter().rev().step_by(10) {
            let project = store.project_at(&path, *number).unwrap().unwrap();
            assert_eq!(
                &sum(&project),
                expected,
                "kill {kill}: change {number} differs"
            );
        }
        let replayed = store.project_at(&path, opened.file.last()).unwrap();
        assert!(opened.file.last() == 0 || replayed.as_ref() == Some(&opened.project));
        acknowledged += told.len();
        recoveries += usize::from(opened.report.recovered.is_some());
    }
    println!("{kills} kills, {acknowledged} changes acknowledged, {recoveries} recoveries");
    assert!(acknowledged > 0 && recoveries > 0);
}
