//! What a reader has to be told: what can't be told apart, what doesn't hang together, what was written in two ways.

use super::script::{run, with, words};
use std::fmt::Write as _;
use std::fs;

/// John & Williams (1995), as in the tests of the model.
const OATS: &str = include_str!("../../../crates/quant/tests/data/john.alpha.csv");

/// A table, what is asked, and all that has to be told; nothing is written.
fn refused(table: &str, line: &str, told: &[&str]) {
    let folder = with("field.csv", table);
    let ran = run(&folder, &format!("trial field.csv {line} --out out.csv"));
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{line}: {}", ran.err);
    for told in told {
        assert!(ran.err.contains(told), "{line}: {told}: {}", ran.err);
    }
    assert!(!folder.path().join("out.csv").exists(), "{line}");
}

fn heard(table: &str, line: &str, told: &[&str]) -> super::script::Ran {
    let folder = with("field.csv", table);
    let ran = run(&folder, &format!("trial field.csv {line}"));
    assert_eq!(ran.code, 0, "{line}: {}", ran.err);
    for told in told {
        assert!(ran.err.contains(told), "{line}: {told}: {}", ran.err);
    }
    ran
}

/// Three hop clones at two ages, plots of several hills: kilograms as in a baby year and the next.
const HOPS: &str = "g,age,plot,kg\nB,1,b1,11.5\nB,1,b2,9.9\nB,2,b1,27.6\nB,2,b2,23.1\nD,1,d1,18.1\nD,1,d2,16.5\n\
    D,2,d2,28.4\nC,1,c1,3.0\nC,1,c4,4.6\nC,2,c1,17.4\nC,2,c2,18.1\nC,2,c3,18.6\nC,2,c4,23.1\nC,2,c5,19.3\nC,2,c6,22.1\n";

/// A random term that the fixed ones determine is no variance of 0: it is refused, with what determines it.
#[test]
fn what_fixed_terms_determine_is_refused_and_named() {
    let line = "--trait kg --entry g --entries random --fixed age,g:age --random plot";
    refused(
        HOPS,
        line,
        &["entry and g:age can't be told apart", "Nothing was written"],
    );
    // With fixed entries the model stands, and the heritabilities are empty for the true reason.
    let ran = heard(
        HOPS,
        "--trait kg --entry g --fixed age,g:age --random plot",
        &[
            "entry and g:age can't be told apart",
            "the model with random entries can't be fitted",
        ],
    );
    assert!(ran.components()["plot"] > 0.0);
    for random in ["block", "rep"] {
        for entries in ["fixed", "random"] {
            let line = format!(
                "--trait yield --entry gen --entries {entries} --fixed rep:block --random {random}"
            );
            let told = format!("{random} and rep:block can't be told apart");
            refused(
                OATS,
                &line,
                &[if random == "rep" { &told } else { "block" }],
            );
        }
    }
    let line = "--trait yield --entry gen --fixed rep --random rep:block,one";
    let mut one = String::new();
    for (nth, row) in OATS.lines().enumerate() {
        writeln!(one, "{row},{}", if nth == 0 { "one" } else { "x" }).unwrap();
    }
    refused(&one, line, &["one has a single level"]);
    heard(
        &one,
        "--trait yield --entry gen --fixed rep,one --random rep:block",
        &["one is the same in every record"],
    );
}

/// Rows and columns that are one column, or of which one tells the other.
#[test]
fn rows_and_columns_that_are_one_are_refused() {
    for space in ["ar1", "spline"] {
        for column in ["row", "plot"] {
            let line = format!(
                "--trait yield --entry gen --fixed rep --space {space} --row row --column {column}"
            );
            let told = format!("--row row and --column {column} can't be told apart");
            refused(OATS, &line, &[&told]);
        }
    }
}

/// Terms by the names of other lines of the results.
#[test]
fn terms_that_are_called_like_a_result_are_refused() {
    for name in [
        "residual",
        "nugget",
        "entry",
        "minus_2_reml_log_likelihood",
        "Surface",
    ] {
        let mut table = format!("gen,{name},yield\n");
        for (nth, value) in [5.0, 5.5, 6.0, 6.1, 7.0, 7.7, 4.0, 4.4]
            .into_iter()
            .enumerate()
        {
            writeln!(table, "{},{},{value}", nth / 2, nth % 4).unwrap();
        }
        let line = format!("--trait yield --entry gen --random {name}");
        refused(
            &table,
            &line,
            &["is the name of a line of the results", "Rename the column"],
        );
    }
}

/// A decimal point and a decimal comma in one column; one number written in two ways as a name.
#[test]
fn numbers_written_in_two_ways_are_refused() {
    refused(
        "clone;yield\nA;1.250\nA;1300\nB;998,5\nB;1100\n",
        "--trait yield --entry clone",
        &[
            "line 4, column yield: '998,5' has a decimal comma, '1.250' on line 2 a decimal point. Write all alike.",
        ],
    );
    for (one, other) in [("5", "05"), ("4", "4.0"), ("007", "7")] {
        let table = format!("clone,yield\n{one},5\n{one},6\n{other},7\n{other},8\nx,5\nx,4\n");
        let told = format!("'{other}' and '{one}' on line 2 are one number. Write both alike.");
        refused(&table, "--trait yield --entry clone", &[&told]);
    }
    // Plots 1.1 and 1.10 are two.
    heard(
        "clone,yield\n1.1,5\n1.1,6\n1.10,7\n1.10,8\n",
        "--trait yield --entry clone",
        &[],
    );
}

/// A table that was pasted twice.
#[test]
fn repeated_rows_are_told() {
    let (_, rows) = OATS.split_once('\n').unwrap();
    let line = "--trait yield --entry gen --fixed rep --random rep:block";
    let told = "Lines 74 to 145 repeat lines 2 to 73 word for word";
    heard(&format!("{OATS}{rows}"), line, &[told]);
    assert!(!heard(OATS, line, &[]).err.contains("word for word"));
}

/// Entries that never meet: each group by itself, named.
#[test]
fn entries_that_never_meet_are_told_in_groups() {
    let table = |values: [f64; 4]| {
        let mut table = "clone,r,yield\n".to_owned();
        for ((clone, r), value) in [("a", 1), ("b", 1), ("c", 2), ("d", 2)]
            .into_iter()
            .zip(values)
        {
            for copy in 0..4 {
                writeln!(table, "{clone},{r},{}", value + 0.1 * f64::from(copy)).unwrap();
            }
        }
        table
    };
    let folder = with("field.csv", &table([5.0, 9.0, 6.0, 6.5]));
    let ran = run(
        &folder,
        "trial field.csv --trait yield --entry clone --fixed r --check a --exceed 0 --out out.csv",
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.err
            .contains("2 groups that the records don't connect: a, b; c, d"),
        "{}",
        ran.err
    );
    assert!(
        ran.err
            .contains("Against a at 5 % over all comparisons with this check"),
        "{}",
        ran.err
    );
    assert!(ran.err.contains("above it b; below it none"), "{}", ran.err);
    let written = fs::read_to_string(folder.path().join("out.csv")).unwrap();
    let of_b: Vec<&str> = written.lines().nth(2).unwrap().split(',').collect();
    assert!(of_b[4].parse::<f64>().unwrap() > 0.99, "{written}");
    // Entries of one kind within each group share its first rank.
    heard(
        &table([5.0, 5.0, 6.0, 6.0]),
        "--trait yield --entry clone --entries random --fixed r",
        &[
            "compared and ranked within each alone",
            "ranked by their adjusted means",
        ],
    );
}

/// A column of names where numbers are wanted is told once, and what is no number says so plainly.
#[test]
fn columns_of_names_are_told_once() {
    let mut table = "clone,side,yield\n".to_owned();
    for nth in 0..12 {
        writeln!(table, "{},{},{}", nth % 3, ["north", "south"][nth % 2], nth).unwrap();
    }
    let folder = with("field.csv", &table);
    let ran = run(
        &folder,
        "trial field.csv --trait yield --entry clone --covariate side",
    );
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains(
            "column side: None of its 12 fields is a number, the first of them 'north' on line 2"
        ),
        "{}",
        ran.err
    );
    assert!(ran.err.contains("1 fault in"), "{}", ran.err);
    for text in ["NaN", "inf", "1e400"] {
        let table = format!("clone,yield\nA,5\nA,{text}\nB,4\nB,3\n");
        let told =
            format!("line 3, column yield: '{text}' is no number. Correct it, or leave it empty.");
        refused(&table, "--trait yield --entry clone", &[&told]);
    }
}

/// What is left out or empty is said, in the table's own words.
#[test]
fn empty_figures_have_their_reason() {
    let mut table = "clone,row,column,same,y\n".to_owned();
    for nth in 0..24 {
        let value = [3.0, 4.0, 7.5][nth % 3] + 0.3 * ((nth * 7) % 5) as f64;
        writeln!(table, "{},{},1,4,{value}", nth % 3, nth + 1).unwrap();
    }
    heard(
        &table,
        "--trait y --entry clone --space ar1 --row row --column column",
        &["The plots stand in one column: there is no column correlation"],
    );
    heard(
        &table,
        "--trait y --entry clone --covariate same",
        &["same is the same in every record"],
    );
    let flat = "clone,y\nA,5\nA,5\nB,5\nB,5\n";
    refused(flat, "--trait y --entry clone", &["Trait y does not vary"]);
}

/// A column whose own name holds the sign that joins columns.
#[test]
fn columns_named_with_a_colon_are_found() {
    let mut table = String::new();
    for (nth, row) in OATS.lines().enumerate() {
        writeln!(
            table,
            "{row},{}",
            if nth == 0 {
                "a:b".to_owned()
            } else {
                (nth % 5).to_string()
            }
        )
        .unwrap();
    }
    let ran = heard(&table, "--trait yield --entry gen --random a:b", &[]);
    assert!(ran.order().contains(&"a:b"));
}

/// Counts in plain words, and an output that can't be written found before any work.
#[test]
fn slips_of_the_finger_in_options() {
    for (count, told) in [
        ("-3", "'-3' is no count. Give a whole number, such as 24"),
        (
            "99999999999999999999",
            "is larger than any trial. Give a smaller number",
        ),
        ("many", "'many' is no count"),
    ] {
        let line = [
            "binewright",
            "design",
            "--entries",
            count,
            "--replicates",
            "2",
        ];
        let error = commands::parse(line.iter().map(std::ffi::OsString::from)).unwrap_err();
        assert!(error.to_string().contains(told), "{error}");
    }
    let folder = with("field.csv", "clone,yield\nA,x\n");
    let line = [
        "trial",
        "field.csv",
        "--trait",
        "yield",
        "--entry",
        "clone",
        "--out",
        "nowhere/out.csv",
    ];
    let ran = words(&folder, &line);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("nowhere") && !ran.err.contains("line 2"),
        "{}",
        ran.err
    );
}

/// What comparisons rest on is said: oats in incomplete blocks, whose variances are estimates.
#[test]
fn comparisons_say_what_they_rest_on() {
    let line = "--trait yield --entry gen --fixed rep --random rep:block";
    heard(
        OATS,
        line,
        &[
            "Least significant difference at 5 %",
            "degrees of freedom after Kenward and Roger",
            "Honestly significant difference at 5 % over all pairs (Tukey)",
        ],
    );
    heard(
        OATS,
        "--trait yield --entry gen --space ar1 --row row --column col",
        &["degrees of freedom after Satterthwaite"],
    );
}

/// Surfaces over replicates that lie beside each other settle: Kempton & Fox (1997), p. 62, as in the tests of the model.
#[test]
fn surfaces_settle_where_little_bends() {
    let wheat = include_str!("../../../crates/quant/tests/data/kempton.rowcol.csv");
    let mut beside = String::new();
    for (nth, row) in wheat.lines().enumerate() {
        let fields: Vec<&str> = row.split(',').collect();
        let column = if nth == 0 {
            "across".to_owned()
        } else {
            let at: usize = fields[3].parse().unwrap();
            (at + if fields[1] == "R2" { 7 } else { 0 }).to_string()
        };
        writeln!(beside, "{row},{column}").unwrap();
    }
    for place in ["--row row --column col", "--row row --column across"] {
        for rep in ["--fixed rep", "--random rep", ""] {
            let line = format!("--trait yield --entry gen {rep} --space spline {place}");
            let ran = heard(&beside, &line, &[]);
            assert!(ran.components()["residual"] > 0.0, "{line}");
        }
    }
}

/// Breeding values corrected for columns joined; where a simpler model can't be fitted either, it isn't told as fitted.
#[test]
fn evaluations_take_joined_columns_and_tell_what_was_fitted() {
    let folder = with(
        "pedigree.csv",
        "id,female,male\na,,\nb,,\nc,a,b\nd,a,b\ne,a,b\nf,a,b\n",
    );
    let mut records = "id,year,plot,y\n".to_owned();
    for nth in 0..48_usize {
        let id = ["a", "b", "c", "d", "e", "f"][nth % 6];
        let value = (nth * 37 % 19) as f64 / 3.0 + (nth % 6) as f64;
        writeln!(records, "{id},{},{},{value}", nth / 24, nth % 4).unwrap();
    }
    fs::write(folder.path().join("records.csv"), &records).unwrap();
    let line = "evaluate pedigree.csv records.csv --trait y --fixed year:plot --additive 2 --residual 1 --out out.csv";
    let ran = run(&folder, line);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let each = "id,plot,y\na,1,5\nb,2,6\nc,3,7\nd,4,4\na,5,5\nb,6,7\n";
    fs::write(folder.path().join("each.csv"), each).unwrap();
    let ran = run(
        &folder,
        "evaluate pedigree.csv each.csv --trait y --fixed plot --out each-out.csv",
    );
    assert_eq!(ran.code, 2, "{}", ran.out);
    assert!(ran.err.contains("Nothing was written"), "{}", ran.err);
    assert!(!ran.err.contains("Fitted without it"), "{}", ran.err);
}
