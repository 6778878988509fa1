//! Tables and options that hands get wrong: told with their line, and nothing written.

use super::published::{FIELD, oats};
use super::script::{run, with, words};
use std::fmt::Write as _;
use std::fs;

/// A table, what is asked, and what is told.
fn refused(table: &str, line: &str, told: &str) {
    let folder = with("field.csv", table);
    let line = format!("trial field.csv --trait yield --entry clone {line} --out out.csv");
    let ran = run(&folder, &line);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{table}{line}");
    assert!(ran.err.contains(told), "{line}: {}", ran.err);
    assert!(!folder.path().join("out.csv").exists(), "{line}");
}

/// Names that look alike are asked about: accents encoded in two ways, spaces, signs that can't be seen.
#[test]
fn names_that_look_alike_are_asked_about() {
    for (one, other, told) in [
        (
            "Gr\u{fc}n",
            "Gru\u{308}n",
            "differs only in how its letters are encoded from 'Gr\u{fc}n' on line 2",
        ),
        ("Late Hop", "Late  Hop", "differs only in spaces"),
        ("Late Hop", "Late\u{a0}Hop", "differs only in spaces"),
        ("A", "A\0", "holds a sign that can't be seen, U+0000"),
        ("A", "A\u{200b}", "holds a sign that can't be seen, U+200B"),
    ] {
        let table =
            format!("clone,block,yield\n{one},1,5\n{other},1,6\n{one},2,7\n{other},2,8.5\n");
        refused(&table, "--fixed block", told);
        let table =
            format!("block,clone,yield\n{one},X,5\n{other},X,6\n{one},Y,7\n{other},Y,8.5\n");
        refused(&table, "--fixed block", told);
    }
    // Spaces about a name say nothing.
    let folder = with("field.csv", "clone,yield\nA,5\nA ,6\n B,7\nB,8.5\n");
    let ran = run(&folder, "trial field.csv --trait yield --entry clone");
    assert_eq!(ran.code, 0, "{}", ran.err);
}

/// Fields that hold the sign by which terms are joined stay apart.
#[test]
fn levels_that_hold_a_colon_stay_apart() {
    let mut table = "clone,rep,block,yield\n".to_owned();
    for (rep, block, shift) in [("1:2", "3", 0.0), ("1", "2:3", 9.0)] {
        for (clone, value) in [("A", 5.0), ("B", 6.5), ("C", 7.0)] {
            for copy in [0.1, -0.1] {
                writeln!(table, "{clone},{rep},{block},{}", value + shift + copy).unwrap();
            }
        }
    }
    let folder = with("field.csv", &table);
    let line = "trial field.csv --trait yield --entry clone --fixed rep:block";
    assert!(run(&folder, line).components()["residual"] < 0.1);
}

#[test]
fn files_of_spreadsheets_are_taken_or_told() {
    let line = "trial field.csv --trait yield --entry clone --fixed site:block";
    let plain = run(&with("field.csv", FIELD), line);
    let named = format!("sep=;\r\n{}", FIELD.replace(',', ";"));
    let ran = run(&with("field.csv", &named), line);
    assert_eq!((ran.code, ran.out), (0, plain.out), "{}", ran.err);
    refused(
        "clone,yield\nA,\"3,5\"\nB,4\n",
        "",
        "line 2, column yield: '3,5' is no number where commas separate the fields. Write 3.5, or separate",
    );
    refused(
        "clone,yield\nA,3\n\"B,4\nA,4\n",
        "",
        "line 3: A double quote opens here and is never closed",
    );
}

/// Rows of means under a table are plots for all that can be known: told, and taken.
#[test]
fn a_row_of_means_is_told() {
    let folder = with(
        "field.csv",
        "clone,block,yield\nA,1,5\nB,1,6\nMean,1,5.5\nA,2,7\nB,2,8.5\nMean,2,7.7\n",
    );
    let ran = run(
        &folder,
        "trial field.csv --trait yield --entry clone --fixed block",
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.err
            .contains("line 4, column clone: 'Mean' looks like a line of means or totals"),
        "{}",
        ran.err
    );
}

#[test]
fn terms_and_checks_that_can_not_be_meant() {
    for (line, told) in [
        (
            "--fixed block:Block",
            "--fixed block:Block names block twice",
        ),
        ("--random site:block:site", "names site twice"),
        ("--exceed 1", "--exceed goes with --check"),
        ("--check A --exceed nan", "--exceed NaN is no amount"),
    ] {
        refused(FIELD, line, told);
    }
    let folder = with("field.csv", FIELD);
    let base = ["trial", "field.csv", "--trait", "yield", "--entry", "clone"];
    for (check, told) in [
        ("", "--check has an empty name"),
        ("A,", "--check has an empty name"),
        ("\"A", "a double quote is missing"),
    ] {
        let ran = words(&folder, &[&base[..], &["--check", check]].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{check}");
        assert!(ran.err.contains(told), "{check}: {}", ran.err);
    }
    let ran = words(&folder, &[&base[..], &["--out", "-"]].concat());
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("is no file to write to"), "{}", ran.err);
}

/// A name may hold a comma; the option may be repeated.
#[test]
fn checks_with_commas_in_their_names() {
    let table = FIELD.replace("A,", "\"Hop, early\",");
    let folder = with("field.csv", &table);
    let base = [
        "trial",
        "field.csv",
        "--trait",
        "yield",
        "--entry",
        "clone",
        "--fixed",
        "site:block",
    ];
    for check in [
        &["--check", "Hop, early", "--check", "B"][..],
        &["--check", "\"Hop, early\",B"],
        &["--check", "B", "--check", "\"Hop, early\""],
    ] {
        let ran = words(&folder, &[&base[..], check].concat());
        assert_eq!(ran.code, 0, "{}", ran.err);
        for told in ["Against Hop, early at 5 %", "Against B at 5 %"] {
            assert!(ran.err.contains(told), "{}", ran.err);
        }
    }
}

/// Where nothing can be written to: a pipe, a device, a link to either; at once, not when somebody reads the pipe.
#[cfg(unix)]
#[test]
fn pipes_and_devices_are_no_files() {
    let folder = oats();
    let pipe = folder.path().join("pipe");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    assert!(made.unwrap().success());
    let base = [
        "trial", "oats.csv", "--trait", "yield", "--entry", "gen", "--fixed", "rep", "--out",
    ];
    for to in [pipe.to_str().unwrap(), "/dev/null", "/dev/stdout"] {
        let ran = words(&folder, &[&base[..], &[to]].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{to}");
        // Where standard output goes into a file, /dev/stdout is a link to that.
        let told = ["Choose", "a link to another place"];
        assert!(
            told.iter().any(|words| ran.err.contains(words)),
            "{to}: {}",
            ran.err
        );
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
}
