//! Published answers, and slips of the command line and of tables.

use super::script::{close, run, with};
use std::fmt::Write as _;
use std::fs;

pub(super) fn oats() -> tempfile::TempDir {
    with(
        "oats.csv",
        include_str!("../../../crates/quant/tests/data/john.alpha.csv"),
    )
}

/// The alpha design of John & Williams (1995), p. 146, as in the tests of the model: published variances, both
/// heritabilities (Piepho & Möhring 2007, Example 1), and adjusted means.
#[test]
fn oats_in_incomplete_blocks() {
    let folder = oats();
    let line = "trial oats.csv --trait yield --entry gen --fixed rep --random rep:block";
    let ran = run(&folder, &format!("{line} --out means.csv"));
    assert_eq!(
        ran.order(),
        [
            "rep:block",
            "residual",
            "minus_2_reml_log_likelihood",
            "mean_variance_of_difference",
            "heritability_cullis",
            "heritability_piepho_mohring"
        ]
    );
    let found = ran.components();
    close(found["rep:block"], 0.0619439, 1e-5);
    close(found["residual"], 0.0852251, 1e-5);
    close(found["minus_2_reml_log_likelihood"], 64.8985, 1e-3);
    close(found["mean_variance_of_difference"], 0.07010875, 1e-6);
    close(found["heritability_cullis"], 0.809134, 1e-5);
    close(found["heritability_piepho_mohring"], 0.803017, 1e-5);
    let means = fs::read_to_string(folder.path().join("means.csv")).unwrap();
    let mut lines = means.lines();
    assert_eq!(lines.next(), Some("entry,estimate,standard_error,rank"));
    let of = |name: &str| -> Vec<f64> {
        let line = means.lines().find(|line| line.starts_with(name)).unwrap();
        line.split(',')
            .skip(1)
            .map(|field| field.parse().unwrap())
            .collect()
    };
    close(of("G01")[0], 5.10770, 1e-4);
    close(of("G01")[1], 0.19554, 1e-4);
    close(of("G03")[0], 3.49920, 1e-4);
    assert_eq!(of("G03")[2], 24.0);

    // Nothing is written over what is there, and a file of that name is kept.
    let ran = run(&folder, &format!("{line} --entries random --check G01"));
    let found = ran.components();
    assert_eq!(ran.order()[..3], ["rep:block", "entry", "residual"]);
    close(found["entry"], 0.142902, 1e-5);
    close(found["mean_variance_of_difference"], 0.05455038, 1e-6);
    assert!(ran.err.contains("Against G01 at 5 %"), "{}", ran.err);
}

/// Wheat2, AR1 × AR1, as in the tests of the model.
#[test]
fn neighbours_in_the_nursery() {
    let table = include_str!("../../../crates/quant/tests/data/wheat2.csv");
    let mut text = "variety,yield,row,col\n".to_owned();
    for line in table.lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let whole = |text: &str, step: f64| (text.parse::<f64>().unwrap() / step).round();
        let (row, col) = (whole(fields[4], 4.3), whole(fields[5], 1.2));
        writeln!(text, "{},{},{row},{col}", fields[2], fields[3]).unwrap();
    }
    let folder = with("wheat.csv", &text);
    let line = "trial wheat.csv --trait yield --entry variety --row row --column col --space ar1";
    let ran = run(&folder, line);
    let found = ran.components();
    assert_eq!(
        ran.order()[..3],
        ["residual", "row correlation", "column correlation"]
    );
    close(found["residual"], 48.7128, 5e-3);
    close(found["row correlation"], 0.437465, 1e-4);
    close(found["column correlation"], 0.655524, 1e-4);
    close(found["minus_2_reml_log_likelihood"], 1107.4109, 1e-3);
    close(found["mean_variance_of_difference"], 8.55441, 1e-3);
}

#[test]
fn terms_that_are_the_same_are_named() {
    let folder = with(
        "field.csv",
        "clone,block,row,yield\nA,1,1,5\nB,1,1,6\nC,1,1,7.5\nA,2,2,6\nB,2,2,6.2\nC,2,2,9\nA,3,3,4\nB,3,3,5.5\nC,3,3,7\n",
    );
    let ran = run(
        &folder,
        "trial field.csv --trait yield --entry clone --random block,row",
    );
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(
        ran.err.contains("block and row are the same here"),
        "{}",
        ran.err
    );
}

#[test]
fn bad_rows_are_named_and_nothing_is_written() {
    let folder = with(
        "field.csv",
        "clone,block,row,col,yield\nA,1,1,1,5\nB,,1,2,6\nC,1,1.5,3,much\nA,2,1,1,7\n,2,2,2,\n",
    );
    let ran = run(
        &folder,
        "trial field.csv --trait yield --entry clone --fixed block --row row --column col --space ar1 --out out.csv",
    );
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    for told in [
        "line 3, column block: This is empty",
        "line 4, column yield: 'much' is no number",
    ] {
        assert!(ran.err.contains(told), "{}", ran.err);
    }
    assert!(!folder.path().join("out.csv").exists());
    let ran = run(&folder, "trial field.csv --trait yield --entry sort");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("sort"), "{}", ran.err);
}

/// Two families of a cross and their parents: relatives are predicted through the pedigree, those that it doesn't hold
/// are named with their line.
#[test]
fn relatives_are_predicted_through_the_pedigree() {
    let pedigree = "id,female,male\nF,,\nM,,\nA,F,M\nB,F,M\nC,F,M\nD,F,\nE,F,\n";
    let mut table = "clone,block,yield\n".to_owned();
    let means = [
        ("A", 9.0),
        ("B", 8.2),
        ("C", 8.8),
        ("D", 5.0),
        ("E", 4.1),
        ("M", 7.0),
    ];
    for (nth, (clone, mean)) in (1..).zip(means) {
        for block in 1..=3 {
            let value = mean + f64::from(block) * 0.3 + f64::from((block * nth * nth) % 7) * 0.1;
            writeln!(table, "{clone},{block},{value}").unwrap();
        }
    }
    let folder = with("field.csv", &table);
    fs::write(folder.path().join("pedigree.csv"), pedigree).unwrap();
    let line = "trial field.csv --trait yield --entry clone --entries random --fixed block --pedigree pedigree.csv";
    let found = run(&folder, line).components();
    assert!(found["entry"] > 0.0 && found["heritability_cullis"] > 0.5);

    fs::write(folder.path().join("field.csv"), format!("{table}X,1,5\n")).unwrap();
    let ran = run(&folder, line);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(
        ran.err
            .contains("line 20, column clone: X is not in the pedigree"),
        "{}",
        ran.err
    );
}

/// Evaluation says which random terms it fits, and leaves one out when asked.
#[test]
fn random_terms_of_an_evaluation_are_told_and_left_out() {
    let mut pedigree = "id,female,male\nF,,\nM,,\nN,,\n".to_owned();
    let mut table = "id,year,yield\n".to_owned();
    for plant in 0..24 {
        let male = if plant % 2 == 0 { "M" } else { "N" };
        writeln!(pedigree, "P{plant},F,{male}").unwrap();
        for year in 0..3 {
            let value = f64::from((plant * 37 + year * 11) % 17) + f64::from(plant % 5) * 4.0;
            writeln!(table, "P{plant},{year},{value}").unwrap();
        }
    }
    let folder = with("records.csv", &table);
    fs::write(folder.path().join("pedigree.csv"), pedigree).unwrap();
    let line = "evaluate pedigree.csv records.csv --trait yield --fixed year --out out.csv";
    let ran = run(&folder, line);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.err
            .contains("Random terms: additive, permanent, residual."),
        "{}",
        ran.err
    );
    let ran = run(&folder, &format!("{line} --without permanent"));
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.err.contains("Random terms: additive, residual."),
        "{}",
        ran.err
    );
    assert!(!ran.out.contains("permanent"));
}

pub(super) const FIELD: &str = "clone,block,site,yield\nA,1,x,5\nB,1,x,6\nC,1,x,7.2\nA,2,x,5.5\nB,2,x,7\nC,2,x,7.7\nA,1,y,15\nB,1,y,12\nC,1,y,19\nA,2,y,11\nB,2,y,18\nC,2,y,16\n";

/// Each residual variance is that of its site alone, and both count in the means.
#[test]
fn residuals_have_a_variance_for_each_site() {
    let folder = with("field.csv", FIELD);
    let line = "trial field.csv --trait yield --entry clone --fixed site:block,clone:site";
    let found = run(&folder, &format!("{line} --residual-by site")).components();
    for site in ["x", "y"] {
        let own: String = FIELD
            .lines()
            .filter(|line| line.contains(&format!(",{site},")) || line.starts_with("clone"))
            .flat_map(|line| [line, "\n"])
            .collect();
        let alone = with("field.csv", &own);
        let line = "trial field.csv --trait yield --entry clone --fixed block";
        let expected = run(&alone, line).components()["residual"];
        close(
            found[&format!("residual {site}")],
            expected,
            1e-6 * expected,
        );
    }
    let line = "trial field.csv --trait yield --entry clone --row block --column site --space ar1 --residual-by site";
    let ran = run(&folder, line);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("--residual-by goes without --space ar1"));
}

/// Every slip of the command line gets a sentence that says what is wrong, and nothing is written.
#[test]
fn slips_are_told_and_nothing_is_written() {
    let folder = with("field.csv", FIELD);
    for (line, told) in [
        (
            "--entry clone --fixed blok",
            "column blok: There is no such column. Perhaps block is meant.",
        ),
        (
            "--entry colne",
            "Perhaps clone is meant. There are: clone, block, site, yield.",
        ),
        (
            "--entry clone --fixed block:",
            "--fixed 'block:' has an empty part",
        ),
        (
            "--entry clone --random block::site",
            "--random 'block::site' has an empty part",
        ),
        (
            "--entry clone --fixed block,,site",
            "--fixed '' has an empty part",
        ),
        (
            "--entry clone --residual-by :",
            "--residual-by ':' has an empty part",
        ),
        ("--entry clone --fixed yield", "names the trait itself"),
        ("--entry clone --covariate Yield", "names the trait itself"),
        ("--entry yield", "--entry yield names the trait itself"),
        (
            "--entry clone --fixed Clone",
            "--fixed Clone names the entries",
        ),
        (
            "--entry clone --fixed block:site,site:block",
            "site:block is twice among --fixed",
        ),
        (
            "--entry clone --fixed block --random block",
            "block is among --fixed and among --random",
        ),
        (
            "--entry clone --covariate block,block",
            "block is twice among --covariate",
        ),
        (
            "--entry clone --check a",
            "--check a: no record has this entry. Perhaps A is meant.",
        ),
        (
            "--entry clone --space ar1",
            "--space needs --row and --column",
        ),
    ] {
        let line = format!("trial field.csv --trait yield {line} --out out.csv");
        let ran = run(&folder, &line);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{line}");
        assert!(ran.err.contains(told), "{line}: {}", ran.err);
        assert!(!folder.path().join("out.csv").exists(), "{line}");
    }
}

/// Every fault of a table, too.
#[test]
fn tables_that_can_not_be_analysed_are_told() {
    for (table, line, told) in [
        ("", "", "The file is empty"),
        ("clone,yield\n", "", "No row has a value in this column"),
        (
            "clone,yield\nA,\nB,\n",
            "",
            "No row has a value in this column",
        ),
        (
            "clone,yield,yield\nA,1,2\n",
            "",
            "Two columns have this name",
        ),
        (
            "clone,yield\nA,NaN\nB,inf\n",
            "",
            "line 3, column yield: 'inf' is no number",
        ),
        (
            "clone,yield\nA,1e308\nA,-1e308\nB,3\nB,4\n",
            "",
            "line 2, column yield: 1e308 is too large a number",
        ),
        (
            "clone,yield\nA,1\nB,2\na,3\nB,4\n",
            "",
            "line 4, column clone: 'a' differs only in letter size from 'A' on line 2",
        ),
        (
            "clone,yield\nA,1\nB,2\nC,3\n",
            "",
            "yield has 3 records, of which the entries and fixed terms take 3",
        ),
        (
            "clone,yield\nA,1\nB,2\nC,3\n",
            "--entries random",
            "entry and residual are the same here, because no entry has two records",
        ),
        ("clone,yield\nA,5\nB,5\nA,5\nB,5\n", "", "does not vary"),
        (
            "clone,block,yield\nA,1,5\nB,2,6\nA,1,7\nB,2,8\nA,3,7\nB,4,9\n",
            "--fixed block",
            "clone and block can't be told apart: no level of block holds two entries",
        ),
        (
            "clone,row,col,yield\nA,1,1,5\nB,1,1,6\nA,1,2,7\nB,2,2,8\n",
            "--row row --column col --space ar1",
            "line 3, column row: Row 1 and column 1 are already on line 2",
        ),
        (
            "clone,row,col,yield\nA,1,1,5\nB,1,900000,6\nA,900000,2,7\nB,2,2,8\n",
            "--row row --column col --space ar1",
            "more than 250000 places",
        ),
    ] {
        let folder = with("field.csv", table);
        let line = format!("trial field.csv --trait yield --entry clone {line} --out out.csv");
        let ran = run(&folder, &line);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{table}");
        assert!(ran.err.contains(told), "{table}: {}", ran.err);
        assert!(!folder.path().join("out.csv").exists(), "{table}");
    }
}

/// A table as spreadsheets write it gives what the plain one gives.
#[test]
fn tables_of_spreadsheets_are_understood() {
    let line = "trial field.csv --trait yield --entry clone --fixed site:block";
    let plain = run(&with("field.csv", FIELD), line);
    let marked = format!("\u{feff}{}", FIELD.replace('\n', "\r\n"));
    let semicolons = FIELD.replace('.', "~").replace(',', ";").replace('~', ",");
    for table in [marked, semicolons] {
        let ran = run(&with("field.csv", &table), line);
        assert_eq!((ran.code, ran.out), (0, plain.out.clone()), "{}", ran.err);
    }
}

/// Thousands of entries: told where they are too many to be compared with each other, and never out of memory.
#[test]
fn thousands_of_entries_end_in_time() {
    let mut table = "clone,block,yield\n".to_owned();
    for record in 0..12_000 {
        let value = f64::from((record * 7919) % 1000) / 100.0;
        writeln!(table, "C{},{},{value}", record % 6000, record / 100).unwrap();
    }
    let folder = with("field.csv", &table);
    let ran = run(
        &folder,
        "trial field.csv --trait yield --entry clone --fixed block",
    );
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(
        ran.err.contains("6000 entries, and at most 5000"),
        "{}",
        ran.err
    );
}

/// One entry has a mean and nothing to be compared with.
#[test]
fn a_single_entry_has_a_mean() {
    let folder = with("field.csv", "clone,yield\nA,5\nA,6\nA,5.5\n");
    let ran = run(&folder, "trial field.csv --trait yield --entry clone");
    close(ran.components()["residual"], 0.25, 1e-9);
    assert!(
        ran.err.contains("Only one entry has records"),
        "{}",
        ran.err
    );
}

/// The augmented layout of Federer (1956), as in the tests of the model: its new entries are ranked by adjusted means,
/// and the variance of all entries, 0, is told where they are taken as random.
#[test]
fn entries_that_do_not_vary_are_ranked_by_their_adjusted_means() {
    let mut table = "entry,block,yield\n".to_owned();
    for (block, plots) in [
        (1, "A83 B77 C78 D78 g70 k75 l74"),
        (2, "A79 B81 C81 D91 e79 i78"),
        (3, "A92 B79 C87 D81 f96 h89 j82"),
    ] {
        for plot in plots.split(' ') {
            let (name, value) = plot.split_at(1);
            // Letters of new entries would differ only in size from those of the checks.
            let name = if name < "a" {
                name.to_owned()
            } else {
                format!("new {name}")
            };
            writeln!(table, "{name},{block},{value}").unwrap();
        }
    }
    let folder = with("field.csv", &table);
    let line = "trial field.csv --trait yield --entry entry --fixed block";
    let found = run(&folder, &format!("{line} --out means.csv")).components();
    close(found["residual"], 26.9722, 1e-3);
    let means = fs::read_to_string(folder.path().join("means.csv")).unwrap();
    for (name, mean, rank) in [
        ("A", 84.6667, "3"),
        ("new f", 93.5, "1"),
        ("new g", 73.25, "12"),
    ] {
        let line = means
            .lines()
            .find(|line| line.starts_with(&format!("{name},")))
            .unwrap();
        let fields: Vec<&str> = line.split(',').collect();
        close(fields[1].parse().unwrap(), mean, 1e-4);
        assert_eq!(fields[3], rank);
    }
    let ran = run(&folder, &format!("{line} --entries random --out ranks.csv"));
    let found = ran.components();
    close(found["entry"], 0.0, 0.0);
    assert!(
        ran.err.contains("The variance of the entries is 0"),
        "{}",
        ran.err
    );
    let ranks = fs::read_to_string(folder.path().join("ranks.csv")).unwrap();
    let best = ranks
        .lines()
        .find(|line| line.starts_with("new f,"))
        .unwrap();
    assert!(best.ends_with(",1"), "{best}");
}

/// Barley over sites and years (`MASS::immer`, Immer 1934), as in the tests of the model: entries by years, whose
/// variance is 0, and entries by sites, beside fixed sites and years.
#[test]
fn entries_over_sites_and_years() {
    let table = include_str!("../../../crates/quant/tests/data/immer.csv");
    let header: Vec<&str> = table.lines().next().unwrap().split(',').collect();
    let place = |name: &str| {
        header
            .iter()
            .position(|h| h.trim_matches('"') == name)
            .unwrap()
    };
    let [site, variety, first, second] = ["Loc", "Var", "Y1", "Y2"].map(place);
    let mut long = "variety,site,year,yield\n".to_owned();
    for line in table.lines().skip(1) {
        let fields: Vec<&str> = line
            .split(',')
            .map(|field| field.trim_matches('"'))
            .collect();
        for (year, value) in [(1931, fields[first]), (1932, fields[second])] {
            writeln!(long, "{},{},{year},{value}", fields[variety], fields[site]).unwrap();
        }
    }
    let folder = with("barley.csv", &long);
    let ran = run(
        &folder,
        "trial barley.csv --trait yield --entry variety --entries random --fixed site:year --random variety:site,variety:year --out out.csv",
    );
    let found = ran.components();
    close(found["entry"], 92.154, 1e-2);
    close(found["variety:site"], 46.741, 1e-2);
    close(found["variety:year"], 0.0, 0.0);
    close(found["minus_2_reml_log_likelihood"], 408.798, 1e-3);
    assert!(
        ran.err
            .contains("The variance of variety:year is 0: the model without it fits as well."),
        "{}",
        ran.err
    );
    let out = fs::read_to_string(folder.path().join("out.csv")).unwrap();
    let best = out.lines().find(|line| line.starts_with("T,")).unwrap();
    close(
        best.split(',').nth(1).unwrap().parse().unwrap(),
        14.25315,
        1e-4,
    );
}
