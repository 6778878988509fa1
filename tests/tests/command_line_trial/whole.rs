//! Answers that hold whatever the numbers' size, and that come whole or not at all.

use super::published::oats;
use super::script::{close, into, run, with, words};
use std::fmt::Write as _;
use std::fs;
use std::io;

const OATS: &str = "trial oats.csv --trait yield --entry gen --fixed rep --random rep:block";

/// Values moved or turned into another unit give the same answers, moved or turned.
#[test]
fn values_in_any_unit() {
    let table = include_str!("../../../crates/quant/tests/data/john.alpha.csv");
    let column = table
        .lines()
        .next()
        .unwrap()
        .split(',')
        .position(|name| name.trim_matches('"') == "yield")
        .unwrap();
    let changed = |change: fn(f64) -> f64| -> tempfile::TempDir {
        let lines = table.lines().enumerate().map(|(nth, line)| {
            let mut fields: Vec<String> = line.split(',').map(str::to_owned).collect();
            if nth > 0 {
                fields[column] = format!("{:e}", change(fields[column].parse().unwrap()));
            }
            fields.join(",") + "\n"
        });
        with("oats.csv", &lines.collect::<String>())
    };
    let plain = run(&oats(), OATS).components();
    let moved = run(&changed(|value| value + 1e7), OATS).components();
    let small = run(&changed(|value| value * 1e-25), OATS).components();
    let large = run(&changed(|value| value * 1e25), OATS).components();
    for name in ["rep:block", "residual", "mean_variance_of_difference"] {
        close(moved[name] / plain[name], 1.0, 1e-6);
        close(small[name] / plain[name] * 1e50, 1.0, 1e-6);
        close(large[name] / plain[name] * 1e-50, 1.0, 1e-6);
    }
    for name in ["heritability_cullis", "heritability_piepho_mohring"] {
        for found in [&moved, &small, &large] {
            close(found[name], plain[name], 1e-6);
        }
    }
    let ran = run(&changed(|value| value * 1e-200), OATS);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err
            .contains("too little to work with. Give them in a smaller unit"),
        "{}",
        ran.err
    );
}

/// A value that differs from all others by the last binary digits only is no difference between entries.
#[test]
fn rounding_is_not_analysed() {
    let folder = with(
        "field.csv",
        "clone,block,yield\nA,1,5\nB,1,5\nA,2,5\nB,2,5.0000000000001\nA,3,5\nB,3,5\n",
    );
    let ran = run(
        &folder,
        "trial field.csv --trait yield --entry clone --fixed block",
    );
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("yield does not vary"), "{}", ran.err);
}

/// Entries whose means are equal share a rank, though sums of decimals differ in the last binary digit.
#[test]
fn ties_share_a_rank() {
    let folder = with(
        "field.csv",
        "clone,block,yield\nA,1,0.1\nB,1,0.3\nC,1,0.2\nA,2,0.2\nB,2,0.2\nC,2,0.1\nA,3,0.3\nB,3,0.1\nC,3,0.1\n",
    );
    let ran = run(
        &folder,
        "trial field.csv --trait yield --entry clone --fixed block --out out.csv",
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    let out = fs::read_to_string(folder.path().join("out.csv")).unwrap();
    let ranks: Vec<&str> = out
        .lines()
        .skip(1)
        .map(|line| line.rsplit(',').next().unwrap())
        .collect();
    assert_eq!(ranks, ["1", "1", "3"]);
}

/// Three entries in four replicates, the first exactly a unit above the means of the others.
pub(super) fn exact_first_replicate() -> String {
    let others = [[5.0, 6.4, 9.0], [5.6, 7.0, 8.0], [4.4, 7.6, 8.5]];
    let mut table = "clone,rep,yield\n".to_owned();
    for (entry, name) in ["A", "B", "C"].iter().enumerate() {
        let mean = others.iter().map(|rep| rep[entry]).sum::<f64>() / 3.0;
        writeln!(table, "{name},1,{}", mean + 1.0).unwrap();
        for (rep, values) in others.iter().enumerate() {
            writeln!(table, "{name},{},{}", rep + 2, values[entry]).unwrap();
        }
    }
    table
}

/// Complete blocks of three entries, the first block exactly at the means of the others: its residual variance belongs
/// at 0, is told to be, and the means are its values.
#[test]
fn a_residual_variance_at_zero_is_told() {
    let folder = with("field.csv", &exact_first_replicate());
    let ran = run(
        &folder,
        "trial field.csv --trait yield --entry clone --fixed rep --residual-by rep --out out.csv",
    );
    let found = ran.components();
    close(found["residual 1"], 0.0, 0.0);
    assert!(found["residual 2"] > 0.0);
    assert!(
        ran.err.contains("The residual variance of 1 is 0"),
        "{}",
        ran.err
    );
    let out = fs::read_to_string(folder.path().join("out.csv")).unwrap();
    let mean = |name: &str| -> f64 {
        let line = out.lines().find(|line| line.starts_with(name)).unwrap();
        line.split(',').nth(1).unwrap().parse().unwrap()
    };
    // Differences are those within the exact block.
    close(mean("B,") - mean("A,"), 2.0, 1e-5);
    close(mean("C,") - mean("A,"), 3.5, 1e-5);
}

/// A standard output that takes nothing, as a full disk's.
struct Full;

impl io::Write for Full {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(io::ErrorKind::StorageFull.into())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// A reader that went away.
struct Gone;

impl io::Write for Gone {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(io::ErrorKind::BrokenPipe.into())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Where the figures can't be printed, OUT isn't written; where nobody reads them any more, it is.
#[test]
fn printed_first_and_written_then() {
    let folder = oats();
    let line = format!("{OATS} --out out.csv");
    let line: Vec<&str> = line.split(' ').collect();
    let (code, err) = into(&folder, &line, &mut Full);
    assert_eq!(code, 2);
    assert!(err.contains("the output can't be written"), "{err}");
    assert!(!folder.path().join("out.csv").exists());
    let (code, err) = into(&folder, &line, &mut Gone);
    assert_eq!(code, 0, "{err}");
    assert!(folder.path().join("out.csv").exists());
}

/// Why a heritability is empty is said.
#[test]
fn empty_heritabilities_have_a_reason() {
    // Means that differ less than the error has them differ: the variance of the entries is 0.
    let folder = with(
        "field.csv",
        "clone,yield\nA,5\nA,9\nB,8.9\nB,5.2\nC,5.1\nC,9.1\n",
    );
    let ran = run(&folder, "trial field.csv --trait yield --entry clone");
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("heritability_cullis,,"), "{}", ran.out);
    assert!(
        ran.err.contains(
            "The heritabilities are left empty: the variance of the entries is estimated as 0."
        ),
        "{}",
        ran.err
    );
}

/// Intervals by the profile, and the probability that an entry exceeds the check.
#[test]
fn intervals_and_probabilities() {
    let folder = oats();
    let ran = run(&folder, &format!("{OATS} --entries random --intervals"));
    assert_eq!(ran.code, 0, "{}", ran.err);
    let mut lines = ran.out.lines();
    assert_eq!(
        lines.next(),
        Some("component,variance,standard_error,low,high")
    );
    for name in ["rep:block,", "entry,", "residual,"] {
        let line = ran.out.lines().find(|line| line.starts_with(name)).unwrap();
        let numbers: Vec<f64> = line
            .split(',')
            .skip(1)
            .map(|n| n.parse().unwrap())
            .collect();
        assert!(numbers[2] < numbers[0] && numbers[0] < numbers[3], "{line}");
    }
    let asked = format!("{OATS} --check G01 --exceed 0 --out out.csv");
    let ran = run(&folder, &asked);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.err.contains("Least significant difference at 5 %: 0.5"),
        "{}",
        ran.err
    );
    let out = fs::read_to_string(folder.path().join("out.csv")).unwrap();
    let mut lines = out.lines();
    assert_eq!(
        lines.next(),
        Some("entry,estimate,standard_error,rank,exceeds G01")
    );
    let mut count = 0;
    let best: f64 = 5.1077;
    for line in lines {
        let fields: Vec<&str> = line.split(',').collect();
        if fields[0] == "G01" {
            assert_eq!(fields[4], "");
            continue;
        }
        let (mean, chance): (f64, f64) = (fields[1].parse().unwrap(), fields[4].parse().unwrap());
        assert_eq!(chance > 0.5, mean > best, "{line}");
        count += 1;
    }
    assert_eq!(count, 23);
}

/// Several fixed and random terms, a covariate, space and a pedigree at once.
#[test]
fn several_terms_space_and_pedigree_together() {
    let mut pedigree = "id,female,male\nF,,\nM,,\nN,,\n".to_owned();
    for entry in 0..12 {
        let male = if entry % 2 == 0 { "M" } else { "N" };
        writeln!(pedigree, "C{entry},F,{male}").unwrap();
    }
    let mut table = "clone,site,rep,block,row,col,hills,yield\n".to_owned();
    let mut state = 7_u32;
    let mut noise = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(state >> 16) / 65_536.0 - 0.5
    };
    for row in 0..12_u32 {
        for column in 0..8_u32 {
            let entry = (row * 5 + column * 7) % 12;
            let (site, rep, block) = (row / 6, (row % 6) / 3, column / 4);
            let hills = 7 - (row + column) % 3;
            let value = 10.0
                + f64::from(entry % 2) * 2.0
                + f64::from(entry) * 0.2
                + f64::from(site) * 3.0
                + f64::from(hills) * 0.4
                + (f64::from(row) * 0.6).sin()
                + noise() * 2.0;
            writeln!(
                table,
                "C{entry},{site},{rep},{block},{row},{column},{hills},{value}"
            )
            .unwrap();
        }
    }
    let folder = with("field.csv", &table);
    fs::write(folder.path().join("pedigree.csv"), pedigree).unwrap();
    let line = "trial field.csv --trait yield --entry clone --entries random --fixed site,site:rep --random site:rep:block,clone:site --covariate hills --pedigree pedigree.csv";
    for space in [
        "",
        "--row row --column col --space ar1 --nugget",
        "--row row --column col --space spline",
        "--row row --column col --space spline --residual-by site",
        "--residual-by site",
    ] {
        let ran = run(&folder, &format!("{line} {space} --out out.csv"));
        assert_eq!(ran.code, 0, "{space}: {}", ran.err);
        let found = ran.components();
        assert!(found.contains_key("entry") && found.contains_key("clone:site"));
        assert!(found["minus_2_reml_log_likelihood"].is_finite());
        let out = fs::read_to_string(folder.path().join("out.csv")).unwrap();
        assert_eq!(out.lines().count(), 13);
    }
}

/// The evaluation of a project's records refuses variances and terms that can't be meant.
#[test]
fn options_of_an_evaluation_that_can_not_be_meant() {
    let folder = with(
        "records.csv",
        "id,year,yield\nA,1,5\nB,1,6\nA,2,5.5\nB,2,7\n",
    );
    fs::write(
        folder.path().join("pedigree.csv"),
        "id,female,male\nA,,\nB,,\n",
    )
    .unwrap();
    let base = [
        "evaluate",
        "pedigree.csv",
        "records.csv",
        "--trait",
        "yield",
    ];
    for (options, told) in [
        ("--additive -1 --residual 1", "--additive -1 is no variance"),
        (
            "--additive nan --residual 1",
            "--additive NaN is no variance",
        ),
        ("--additive 0 --residual 1", "--additive 0 is no variance"),
        ("--additive 1 --residual 0", "--residual 0 is no variance"),
        (
            "--additive 1 --residual 1 --permanent inf",
            "--permanent inf is no variance",
        ),
        ("--fixed yield", "--fixed yield names the trait itself"),
        ("--fixed year,Year", "--fixed Year is named twice"),
        ("--fixed id", "--fixed id names the plants"),
    ] {
        let options: Vec<&str> = options.split(' ').collect();
        let ran = words(
            &folder,
            &[&base[..], &options, &["--out", "out.csv"]].concat(),
        );
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{options:?}");
        assert!(ran.err.contains(told), "{options:?}: {}", ran.err);
        assert!(!folder.path().join("out.csv").exists());
    }
    let line = format!("{} --additive 1 --residual 1 --out out.csv", base.join(" "));
    assert_eq!(run(&folder, &line).code, 0);
}

/// A variance of breeding values at 0 is told: plants that differ without their families doing so.
#[test]
fn breeding_values_that_do_not_vary_are_told() {
    let mut pedigree = "id,female,male\nF,,\nM,,\nN,,\n".to_owned();
    let mut table = "id,year,yield\n".to_owned();
    for plant in 0..24_u32 {
        let male = if plant % 2 == 0 { "M" } else { "N" };
        writeln!(pedigree, "P{plant},F,{male}").unwrap();
        for year in 0..3_u32 {
            let own = f64::from((plant / 2) % 3);
            let noise = f64::from((plant * 37 + year * 11) % 7) * 0.1;
            writeln!(table, "P{plant},{year},{}", own + noise).unwrap();
        }
    }
    let folder = with("records.csv", &table);
    fs::write(folder.path().join("pedigree.csv"), pedigree).unwrap();
    let ran = run(
        &folder,
        "evaluate pedigree.csv records.csv --trait yield --fixed year --out out.csv",
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(
        ran.out.contains("additive,0,\n"),
        ran.err.contains("The additive variance is 0"),
        "{}{}",
        ran.out,
        ran.err
    );
    assert!(ran.out.contains("additive,0,\n"), "{}", ran.out);
}
