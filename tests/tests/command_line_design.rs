//! `binewright design`, run as a script runs it.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use chrono::NaiveDate;
use commands::Task;
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsString;
use std::fs;

struct Ran {
    code: u8,
    out: String,
    err: String,
}

fn run(line: &str) -> Ran {
    let words = ["binewright", "design"].into_iter().chain(line.split(' '));
    let Ok(Task::Script(script)) = commands::parse(words.map(OsString::from)) else {
        panic!("{line} is not understood");
    };
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let day = NaiveDate::from_ymd_opt(2026, 3, 1).unwrap();
    let code = commands::run(script, day, &mut out, &mut err);
    Ran {
        code,
        out: String::from_utf8(out).unwrap(),
        err: String::from_utf8(err).unwrap(),
    }
}

/// Replicate, block, row, column, plot, entry.
fn plots(ran: &Ran) -> Vec<[usize; 6]> {
    assert_eq!(ran.code, 0, "{}", ran.err);
    let mut lines = ran.out.lines();
    assert_eq!(lines.next(), Some("replicate,block,row,column,plot,entry"));
    lines
        .map(|line| {
            let numbers: Vec<usize> = line.split(',').map(|part| part.parse().unwrap()).collect();
            numbers.try_into().unwrap()
        })
        .collect()
}

/// The figure on the line that begins with this word.
fn figure(ran: &Ran, word: &str) -> f64 {
    ran.err
        .lines()
        .find_map(|line| line.strip_prefix(word))
        .unwrap()
        .trim()
        .parse()
        .unwrap()
}

/// The alpha array of Patterson, Williams & Hunter (1978) for 24 entries in fours, three replicates: 0.726488, with the
/// bound 0.754098 of John & Williams (1995).
#[test]
fn incomplete_blocks_at_or_above_the_published_array() {
    let ran = run("--entries 24 --replicates 3 --block-size 4 --seed 7");
    let made = plots(&ran);
    assert_eq!(made.len(), 72);
    let in_replicates: BTreeSet<(usize, usize)> =
        made.iter().map(|plot| (plot[0], plot[5])).collect();
    assert_eq!(in_replicates.len(), 72);
    let mut sizes: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    for plot in &made {
        *sizes.entry((plot[0], plot[1])).or_default() += 1;
    }
    assert!(sizes.len() == 18 && sizes.values().all(|&size| size == 4));
    assert!(figure(&ran, "efficiency") >= 0.726488);
    assert_eq!(figure(&ran, "bound"), 0.754098);
    let again = run("--entries 24 --replicates 3 --block-size 4 --seed 7");
    assert_eq!(again.out, ran.out);
    let other = run("--entries 24 --replicates 3 --block-size 4 --seed 8");
    assert_ne!(other.out, ran.out);
}

#[test]
fn rows_and_columns_checks_and_gaps() {
    let made = plots(&run("--entries 10 --replicates 3 --rows 5 --columns 6"));
    assert_eq!(made.len(), 30);
    let at: BTreeMap<(usize, usize), usize> = made
        .iter()
        .map(|plot| ((plot[2], plot[3]), plot[5]))
        .collect();
    assert_eq!(at.len(), 30);
    for (&(row, column), entry) in &at {
        for next in [(row + 1, column), (row, column + 1)] {
            assert_ne!(at.get(&next), Some(entry));
        }
    }
    // Augmented: 8 new entries and 4 checks in blocks of 7, as Federer (1956); every check in every block.
    let ran = run("--entries 8 --replicates 1 --block-size 7 --checks 4");
    let made = plots(&ran);
    assert_eq!(made.len(), 20);
    for check in 9..=12 {
        assert_eq!(made.iter().filter(|plot| plot[5] == check).count(), 3);
    }
    assert!(
        ran.err.contains("Entries 9 to 12 are the checks."),
        "{}",
        ran.err
    );
    // Partly replicated: a quarter twice.
    let made = plots(&run("--entries 24 --replicates 1.25 --rows 5 --columns 6"));
    assert_eq!(made.iter().filter(|plot| plot[5] <= 6).count(), 12);
    assert_eq!(made.len(), 30);
    let made = plots(&run(
        "--entries 7 --replicates 4 --rows 5 --columns 6 --missing 1:1,5:6",
    ));
    assert!(
        made.iter()
            .all(|plot| plot[2..4] != [1, 1] && plot[2..4] != [5, 6])
    );
}

#[test]
fn writes_nothing_where_there_is_no_layout() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("layout.csv");
    for (line, says) in [
        (
            "--entries 60 --replicates 3 --rows 10 --columns 17",
            "170 plots, but 180 are needed",
        ),
        (
            "--entries 60 --replicates 3 --rows 10 --columns 19",
            "only 180 are needed",
        ),
        ("--entries 1 --replicates 3", "two entries"),
        ("--entries 8 --replicates 0", "--replicates 0"),
        ("--entries 8 --replicates NaN", "--replicates NaN"),
        (
            "--entries 20 --replicates 1 --block-size 5",
            "add checks or replicates",
        ),
        ("--entries 20 --replicates 2 --block-size 0", "too small"),
        (
            "--entries 20 --replicates 2 --rows 0 --columns 0",
            "0 plots",
        ),
        (
            "--entries 4 --replicates 2 --rows 3 --columns 3 --missing 4:1",
            "outside the field",
        ),
        (
            "--entries 4 --replicates 2 --rows 3 --columns 3 --missing 0:1",
            "--missing 0:1",
        ),
        (
            "--entries 18446744073709551615 --replicates 2",
            "more than 5000 plots",
        ),
    ] {
        let ran = run(&format!("{line} --out {}", path.display()));
        assert_eq!(ran.code, 2, "{line}");
        assert!(ran.err.contains(says), "{line}: {}", ran.err);
        assert!(!path.exists() && ran.out.is_empty());
    }
    let ran = run(&format!(
        "--entries 5 --replicates 2 --out {}",
        path.display()
    ));
    assert_eq!((ran.code, ran.out.as_str()), (0, ""));
    assert_eq!(fs::read_to_string(&path).unwrap().lines().count(), 11);
}

/// Numbers that make no trial are told, at once.
#[test]
fn impossible_numbers_are_told() {
    for (line, told) in [
        ("--entries 0 --replicates 3", "a trial needs two entries"),
        ("--entries 10 --replicates -1", "no number of replicates"),
        ("--entries 10 --replicates nan", "no number of replicates"),
        (
            "--entries 10 --replicates 3 --block-size 1",
            "the blocks are too small",
        ),
        (
            "--entries 10 --replicates 3 --rows 4 --columns 7",
            "28 plots, but 30 are needed",
        ),
        (
            "--entries 10 --replicates 3 --rows 5 --columns 7 --missing 9:9",
            "outside the field",
        ),
        ("--entries 1000000 --replicates 3", "more than 5000 plots"),
        (
            "--entries 18446744073709551615 --replicates 3",
            "more than 5000 plots",
        ),
        (
            "--entries 4000 --replicates 1 --block-size 50 --checks 2",
            "4002 entries and checks are more than the 1500",
        ),
    ] {
        let ran = run(line);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{line}");
        assert!(ran.err.contains(told), "{line}: {}", ran.err);
    }
}

/// What is rounded is told, a position named twice is asked about, and a poor layout is said to be one.
#[test]
fn what_is_rounded_or_poor_is_told() {
    let ran = run("--entries 10 --replicates 1.333 --rows 2 --columns 7 --checks 1");
    assert_eq!(plots(&ran).len(), 14);
    assert!(
        ran.err
            .contains("--replicates 1.333 of 10 entries is no whole number of plots: rounded, so that 3 entries"),
        "{}",
        ran.err
    );
    let ran = run("--entries 10 --replicates 3 --block-size 4");
    assert!(ran.err.contains("Blocks hold 3 or 4 plots."), "{}", ran.err);
    let ran = run("--entries 4 --replicates 2 --rows 3 --columns 3 --missing 1:1,1:1");
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(
        ran.err.contains("--missing 1:1 is named twice"),
        "{}",
        ran.err
    );
    // Three plots of each of two checks hold twenty entries together in blocks of nine.
    let ran = run("--entries 20 --replicates 1 --block-size 9 --checks 2");
    let reached = figure(&ran, "efficiency") / figure(&ran, "bound");
    assert_eq!(ran.err.contains("% of its bound"), reached < 0.85);
}

/// The work of a search has an end of its own: small trials end as soon as nothing better comes, large ones after so
/// many multiplications, and each gives the same layout again.
#[test]
fn searches_end_whatever_the_size() {
    for line in [
        "--entries 2 --replicates 2 --block-size 2",
        "--entries 4 --replicates 5 --rows 4 --columns 5",
        "--entries 6 --replicates 3 --rows 3 --columns 6",
    ] {
        let (one, other) = (run(line), run(line));
        assert_eq!(one.code, 0, "{}", one.err);
        assert_eq!((&one.out, &one.err), (&other.out, &other.err));
        assert!(figure(&one, "efficiency") <= figure(&one, "bound") + 1e-6);
    }
}

/// Layouts that leave nothing to tell the error by say so, and no efficiency.
#[test]
fn layouts_that_tell_no_error_say_so() {
    for line in [
        "--entries 20 --replicates 1 --checks 1",
        "--entries 2 --replicates 1",
        "--entries 2 --replicates 2 --rows 2 --columns 2",
    ] {
        let ran = run(line);
        assert_eq!(ran.code, 0, "{line}: {}", ran.err);
        assert!(
            ran.err.contains("nothing is left to tell the error by"),
            "{line}: {}",
            ran.err
        );
        assert!(!ran.err.contains("efficiency"), "{line}: {}", ran.err);
    }
    let ran = run("--entries 20 --replicates 2 --checks 1");
    assert!(!ran.err.contains("nothing is left"), "{}", ran.err);
    let ran = run("--entries 20 --replicates 1.05 --checks 1");
    assert!(ran.err.contains("Entry 1 appears once more"), "{}", ran.err);
}

/// What is taken out of the ground is said, and no seed changes it; partly replicated is not called complete.
#[test]
fn what_is_taken_out_is_said() {
    let told = |line: &str, words: &str| {
        let ran = run(line);
        assert_eq!(ran.code, 0, "{line}: {}", ran.err);
        assert!(ran.err.contains(words), "{line}: {}", ran.err);
    };
    for seed in 1..=4 {
        told(
            &format!("--entries 8 --replicates 3 --rows 4 --columns 2 --seed {seed}"),
            "the rows and columns of each replicate taken out",
        );
    }
    told(
        "--entries 8 --replicates 2.5",
        "partly replicated in one block, nothing taken out",
    );
    told(
        "--entries 8 --replicates 3",
        "complete blocks, replicates taken out",
    );
    told(
        "--entries 5 --replicates 5 --rows 5 --columns 5",
        "a Latin square, rows and columns taken out",
    );
    told(
        "--entries 24 --replicates 1.25 --rows 5 --columns 6",
        "rows and columns taken out, each with the variance of a plot",
    );
}

/// Numbers that are none are told in our words, with what to type.
#[test]
fn numbers_that_are_none_are_told() {
    for (option, text, told) in [
        (
            "--seed",
            "-3",
            "'-3' is no seed. Give a whole number from 0 up",
        ),
        ("--seed", "x", "'x' is no seed"),
        (
            "--seed",
            "99999999999999999999",
            "is too large. Give a smaller",
        ),
        ("--replicates", "2,5", "'2,5' is no number here. Write 2.5"),
        ("--replicates", "many", "'many' is no number. Give one"),
    ] {
        let mut line = vec!["binewright", "design", "--entries", "4", option, text];
        if option == "--seed" {
            line.extend(["--replicates", "2"]);
        }
        let error = commands::parse(line.iter().map(OsString::from)).unwrap_err();
        assert!(error.to_string().contains(told), "{error}");
    }
}

/// A folder in which nothing can be written: nothing is printed either.
#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_takes_no_file_is_told() {
    let ran = run("--entries 4 --replicates 3 --out /sys/layout.csv");
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("/sys/layout.csv"), "{}", ran.err);
    assert!(!ran.err.contains("efficiency"), "{}", ran.err);
}

/// Alpha designs have pairs that meet once or never only where blocks hold no more plots than a replicate has blocks
/// (Patterson, Williams & Hunter 1978, J. Agric. Sci. 90:395–400): 12 entries in blocks of 4 have pairs that meet twice.
#[test]
fn blocks_too_large_for_few_meetings_are_told() {
    let ran = run("--entries 12 --replicates 2 --block-size 4");
    assert!(
        ran.err.contains("share 2 blocks, others none"),
        "{}",
        ran.err
    );
    let ran = run("--entries 24 --replicates 3 --block-size 4");
    assert!(!ran.err.contains("others none"), "{}", ran.err);
}
