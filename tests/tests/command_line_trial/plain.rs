//! What can't be given is said and left out, what can be meant in two ways is asked about, and names come back as they went
//! in.

use super::script::{into, run, with, words};
use super::whole::exact_first_replicate;
use std::fmt::Write as _;
use std::fs;

/// Kempton & Fox (1997) p. 62, as in the tests of the model.
const WHEAT: &str = include_str!("../../../crates/quant/tests/data/kempton.rowcol.csv");

fn out(folder: &tempfile::TempDir) -> Vec<Vec<String>> {
    let text = fs::read_to_string(folder.path().join("out.csv")).unwrap();
    let fields = |line: &str| line.split(',').map(str::to_owned).collect();
    text.lines().map(fields).collect()
}

/// Rows and columns: every end of every interval is there, that of the residual too.
#[test]
fn every_interval_has_its_ends() {
    let folder = with("field.csv", WHEAT);
    let ran = run(
        &folder,
        "trial field.csv --trait yield --entry gen --fixed rep --random rep:row,rep:col --intervals",
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    for name in ["rep:row", "rep:col", "residual"] {
        let line = ran.out.lines().find(|line| line.starts_with(name)).unwrap();
        let ends: Vec<f64> = line
            .split(',')
            .skip(3)
            .map(|end| end.parse().unwrap())
            .collect();
        assert!(ends[0] < ends[1], "{line}");
    }
    assert!(!ran.err.contains("interval"), "{}", ran.err);
}

/// A group whose residual variance is 0 leaves no error of anything: none is printed.
#[test]
fn exact_groups_leave_no_errors() {
    let folder = with("field.csv", &exact_first_replicate());
    let ran = run(
        &folder,
        "trial field.csv --trait yield --entry clone --fixed rep --residual-by rep --check A --exceed 0 --out out.csv",
    );
    let found = ran.components();
    for name in [
        "mean_variance_of_difference",
        "heritability_cullis",
        "heritability_piepho_mohring",
    ] {
        assert!(found[name].is_nan(), "{name}");
    }
    assert!(ran.err.contains("no errors can be given"), "{}", ran.err);
    for word in ["inf", "significant difference", "Against"] {
        assert!(!ran.err.contains(word), "{word}: {}", ran.err);
    }
    for row in &out(&folder)[1..] {
        assert!(!row[1].is_empty() && !row[3].is_empty(), "{row:?}");
        assert!(row[2].is_empty() && row[4].is_empty(), "{row:?}");
    }
}

/// Two groups of entries that never stand in one block: each has its means and its ranks, and its number.
#[test]
fn groups_are_ranked_by_themselves() {
    let mut table = "clone,block,yield\n".to_owned();
    for (clone, blocks, values) in [
        ("a", [1, 2], [6.0, 7.5]),
        ("b", [1, 2], [10.4, 11.0]),
        ("c", [3, 4], [63.0, 64.9]),
        ("d", [3, 4], [68.2, 69.0]),
        ("e", [3, 4], [64.8, 65.1]),
    ] {
        for (block, value) in blocks.into_iter().zip(values) {
            writeln!(table, "{clone},{block},{value}").unwrap();
        }
    }
    for entries in ["fixed", "random"] {
        let folder = with("field.csv", &table);
        let ran = run(
            &folder,
            &format!(
                "trial field.csv --trait yield --entry clone --entries {entries} --fixed block --out out.csv"
            ),
        );
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(
            ran.err
                .contains("2 groups that the records don't connect: a, b; c, d, e"),
            "{}",
            ran.err
        );
        let rows = out(&folder);
        assert_eq!(rows[0].last().unwrap(), "group");
        let ranks: Vec<(&str, &str)> = rows[1..]
            .iter()
            .map(|row| (row[3].as_str(), row[4].as_str()))
            .collect();
        let expected = [("2", "1"), ("1", "1"), ("3", "2"), ("1", "2"), ("2", "2")];
        assert_eq!(ranks, expected, "{entries}");
        assert!(rows[1..].iter().all(|row| !row[1].is_empty()), "{rows:?}");
        if entries == "fixed" {
            // Over blocks 1 and 2 alone, by hand.
            let mean: f64 = rows[1][1].parse().unwrap();
            assert!((mean - 6.75).abs() < 1e-9, "{mean}");
        }
    }
    // Taken as random, blocks compare the groups, but loosely.
    let folder = with("field.csv", &table);
    let line = "trial field.csv --trait yield --entry clone --random block --entries random";
    let ran = run(&folder, line);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.err
            .contains("By block the entries stand in 2 groups that share no block"),
        "{}",
        ran.err
    );
}

/// Covariates that say what the entries or a fixed term say.
#[test]
fn covariates_that_tell_nothing_of_their_own_are_named() {
    let mut table = "clone,rep,age,depth,sum,yield\n".to_owned();
    for nth in 0..12 {
        let (clone, rep) = (nth % 4, nth / 4);
        writeln!(
            table,
            "{},{rep},{},{},{},{}",
            ["A", "B", "C", "D"][clone],
            [3, 5, 4, 9][clone],
            [10, 20, 15][rep],
            [3, 5, 4, 9][clone] + [10, 20, 15][rep],
            [5.0, 7.0, 6.5, 9.0][clone] + [0.3, 0.1, 0.7, 0.2, 0.5][(nth * 7) % 5]
        )
        .unwrap();
    }
    let folder = with("field.csv", &table);
    let line = "trial field.csv --trait yield --entry clone";
    let ran = run(&folder, &format!("{line} --covariate age --out out.csv"));
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(
        ran.err.contains(
            "clone and age can't be told apart: age is the same in all records of each clone. Leave age out of the covariates, or take the entries as random."
        ),
        "{}",
        ran.err
    );
    let ran = run(&folder, &format!("{line} --entries random --covariate age"));
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.err.contains("predicted as departures from it"),
        "{}",
        ran.err
    );
    assert!(!ran.err.contains("groups"), "{}", ran.err);
    let ran = run(&folder, &format!("{line} --fixed rep --covariate depth"));
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.err
            .contains("depth is the same in all records of each rep, a fixed term"),
        "{}",
        ran.err
    );
    let ran = run(&folder, &format!("{line} --fixed rep --covariate sum"));
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.err.contains("What sum does can't be told"),
        "{}",
        ran.err
    );
}

/// Entries without any value are named.
#[test]
fn entries_without_a_value_are_named() {
    let folder = with(
        "field.csv",
        "clone,rep,yield\nA,1,5\nB,1,6\nC,1,\nA,2,7\nB,2,9\nC,2,\nB,3,\n",
    );
    let ran = run(
        &folder,
        "trial field.csv --trait yield --entry clone --out out.csv",
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.err.contains("No record of C has a value: left out."),
        "{}",
        ran.err
    );
    assert_eq!(out(&folder).len(), 3);
}

/// Names that a spreadsheet would run are guarded; those that differ by the guard alone stay apart.
#[test]
fn names_come_back_as_they_went_in() {
    let mut table = "clone,yield\n".to_owned();
    for nth in 0..9 {
        let clone = ["=1+1", "'=1+1", "-x"][nth % 3];
        writeln!(table, "{clone},{}", nth + nth % 4).unwrap();
    }
    let folder = with("field.csv", &table);
    let ran = words(
        &folder,
        &[
            "trial",
            "field.csv",
            "--trait",
            "yield",
            "--entry",
            "clone",
            "--check",
            "-x",
            "--out",
            "out.csv",
        ],
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.err.contains("Against -x"), "{}", ran.err);
    let names: Vec<String> = out(&folder)[1..].iter().map(|row| row[0].clone()).collect();
    assert_eq!(names, ["'=1+1", "''=1+1", "'-x"]);
    // A table that was guarded already gives the names it has, and is asked for either.
    let folder = with("field.csv", &table.replace("\n=1", "\nplain"));
    let ran = words(
        &folder,
        &[
            "trial",
            "field.csv",
            "--trait",
            "yield",
            "--entry",
            "clone",
            "--check",
            "=1+1",
            "--out",
            "out.csv",
        ],
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(out(&folder)[2][0], "'=1+1");
}

/// A column whose name is that of two columns joined.
#[test]
fn a_term_of_two_meanings_is_asked_about() {
    let folder = with(
        "field.csv",
        "id,e,b,k,b:k,y\nA,A,1,1,0,5\nB,B,1,2,1,6\nA,A,2,1,0,7\nB,B,2,2,1,9\n",
    );
    for option in ["--fixed", "--random", "--residual-by"] {
        let ran = run(
            &folder,
            &format!("trial field.csv --trait y --entry e {option} b:k"),
        );
        assert_eq!((ran.code, ran.out.as_str()), (2, ""));
        assert!(
            ran.err
                .contains("b:k may be the column b:k, or b and k joined. Rename the column."),
            "{}",
            ran.err
        );
    }
    fs::write(folder.path().join("ped.csv"), "id,female,male\nA,,\nB,,\n").unwrap();
    let ran = run(&folder, "evaluate ped.csv field.csv --trait y --fixed b:k");
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("Rename the column."), "{}", ran.err);
}

/// Slips in words of our own: a comma in an amount, an empty number, a column of words, a single record.
#[test]
fn slips_are_told_in_plain_words() {
    let line = [
        "binewright",
        "trial",
        "f.csv",
        "--trait",
        "y",
        "--entry",
        "e",
        "--exceed",
        "0,2",
    ];
    let error = commands::parse(line.iter().map(std::ffi::OsString::from)).unwrap_err();
    assert!(
        error
            .to_string()
            .contains("'0,2' is no number here. Write 0.2"),
        "{error}"
    );
    for (table, line, told) in [
        (
            "e,x,y\nA,,5\nB,2,6\nA,3,7\nB,4,9\n",
            "--covariate x",
            "line 2, column x: This is empty. Fill it in, or leave the row's value empty.",
        ),
        (
            "e,x,y\nA,1,low\nB,2,high\nA,3,low\nB,4,high\n",
            "",
            "column y: None of its 4 fields is a number, the first of them 'low' on line 2. Name a column of numbers.",
        ),
        ("e,x,y\nA,1,5\n", "", "y has 1 record, of which"),
    ] {
        let folder = with("field.csv", table);
        let ran = run(
            &folder,
            &format!("trial field.csv --trait y --entry e {line}"),
        );
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{table}");
        assert!(ran.err.contains(told), "{table}: {}", ran.err);
        assert!(ran.err.lines().count() <= 2, "{}", ran.err);
    }
}

/// Where OUT can't be written nothing is printed, and a file that is replaced is kept beside the others.
#[test]
fn all_is_given_or_nothing() {
    let folder = with("field.csv", WHEAT);
    let line = "trial field.csv --trait yield --entry gen --fixed rep";
    #[cfg(target_os = "linux")]
    {
        // Named so that it isn't taken for a file of the folder.
        let line = format!("{line} --out /sys/table");
        let mut out = Vec::new();
        let (code, err) = into(&folder, &line.split(' ').collect::<Vec<_>>(), &mut out);
        assert_eq!((code, out.len()), (2, 0), "{err}");
        assert!(err.contains("/sys/table"), "{err}");
    }
    for terms in ["", " --random rep:row", " --random rep:col", ""] {
        let ran = run(&folder, &format!("{line}{terms} --out out.csv"));
        assert_eq!(ran.code, 0, "{}", ran.err);
    }
    let mut names: Vec<String> = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(
        names,
        [
            "field.csv",
            "out.csv",
            "out.csv.before",
            "out.csv.before-2",
            "out.csv.before-3"
        ]
    );
}

/// Each random term of an evaluation may be left out, breeding values too.
#[test]
fn every_term_of_an_evaluation_may_be_left_out() {
    let mut pedigree = "id,female,male\n".to_owned();
    let mut records = "id,year,y\n".to_owned();
    for nth in 0..24_u32 {
        let parents = if nth < 6 {
            ",".to_owned()
        } else {
            format!("P{},P{}", nth % 3, 3 + nth % 2)
        };
        writeln!(pedigree, "P{nth},{parents}").unwrap();
        for year in 0..3 {
            let value = 10 + (nth * 7 + year * nth) % 11 + nth % 3 * 2;
            writeln!(records, "P{nth},{year},{value}").unwrap();
        }
    }
    let folder = with("ped.csv", &pedigree);
    fs::write(folder.path().join("rec.csv"), records).unwrap();
    for (without, terms) in [
        ("", "Random terms: additive, permanent, residual."),
        ("--without permanent", "Random terms: additive, residual."),
        ("--without additive", "Random terms: permanent, residual."),
        ("--without additive,permanent", "Random terms: residual."),
    ] {
        let ran = run(
            &folder,
            &format!("evaluate ped.csv rec.csv --trait y --fixed year {without} --out out.csv"),
        );
        assert_eq!(ran.code, 0, "{without}: {}", ran.err);
        assert!(ran.err.contains(terms), "{without}: {}", ran.err);
        let is_empty = out(&folder)[1][1].is_empty();
        assert_eq!(is_empty, without.contains("additive"), "{without}");
        assert_eq!(ran.out.contains("\nadditive,"), !is_empty, "{without}");
    }
}
