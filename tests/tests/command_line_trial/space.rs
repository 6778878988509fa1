//! Space on the command line: fields of all shapes, plots that share a place, errors that belong at 0.

use super::script::{close, run, with};
use std::fmt::Write as _;

fn cullis() -> tempfile::TempDir {
    with(
        "early.csv",
        include_str!("../../../crates/quant/tests/data/cullis.earlygen.csv"),
    )
}

/// Cullis, Lill, Fisher, Read & Gleeson (1989), as in the tests of the model. With fixed entries the variance of the
/// nugget is 0, which must not change the model with random ones: both heritabilities are the same whichever is asked
/// for first.
#[test]
fn a_nugget_at_zero_stays_with_its_own_fit() {
    let folder = cullis();
    let line = "trial early.csv --trait yield --entry gen --covariate weed,col --row row --column col --space ar1 --nugget";
    let random = run(&folder, &format!("{line} --entries random"));
    let fixed = run(&folder, line);
    assert!(
        fixed
            .err
            .contains("The variance of the nugget is 0: fitted without it."),
        "{}",
        fixed.err
    );
    let (random, fixed) = (random.components(), fixed.components());
    close(random["entry"] / 73_780.0, 1.0, 1e-3);
    close(random["nugget"] / 30_440.0, 1.0, 1e-3);
    close(random["residual"] / 54_730.0, 1.0, 1e-3);
    close(fixed["nugget"], 0.0, 0.0);
    for name in ["heritability_cullis", "heritability_piepho_mohring"] {
        assert!(random[name] > 0.3, "{name}: {}", random[name]);
        close(random[name], fixed[name], 1e-6);
    }
}

/// A smooth field: what it makes of a place, and what each of two entries adds.
fn smooth(row: i32, column: i32) -> f64 {
    f64::from(row) * 0.8 + (f64::from(column) * 0.7).sin() * 2.0
}

/// Plots of twelve entries on these rows and columns.
fn field(rows: i32, columns: i32) -> String {
    let mut table = "clone,row,col,yield\n".to_owned();
    for row in 1..=rows {
        for column in 1..=columns {
            let entry = (row * 5 + column * 7) % 12;
            let noise = f64::from((row * 37 + column * 101) % 17) * 0.03;
            let value = 10.0 + f64::from(entry) * 0.4 + smooth(row, column) + noise;
            writeln!(table, "C{entry},{row},{column},{value}").unwrap();
        }
    }
    table
}

const LINE: &str = "trial field.csv --trait yield --entry clone --row row --column col";

/// Two records at one place are a slip, or one plot recorded twice: then, with --nugget, they count as such, also where
/// the variance of the nugget is 0.
#[test]
fn plots_recorded_twice() {
    let table = field(6, 8) + "C3,2,2,13.4\n";
    let folder = with("field.csv", &table);
    let ran = run(&folder, &format!("{LINE} --space ar1"));
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(
        ran.err
            .contains("if a plot was recorded several times, add --nugget"),
        "{}",
        ran.err
    );
    for entries in ["fixed", "random"] {
        let ran = run(
            &folder,
            &format!("{LINE} --space ar1 --nugget --entries {entries}"),
        );
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(
            ran.err.contains("both count as records of one plot"),
            "{}",
            ran.err
        );
        let found = ran.components();
        assert!(found["nugget"] >= 0.0 && found["residual"] > 0.0);
    }
}

/// One row or one column: the correlation that is there, the one that isn't left empty; a curve in place of a surface.
#[test]
fn fields_of_a_single_row_or_column() {
    for (rows, columns, has, lacks) in [
        (1, 48, "column correlation", "row correlation"),
        (48, 1, "row correlation", "column correlation"),
    ] {
        let folder = with("field.csv", &field(rows, columns));
        let ran = run(&folder, &format!("{LINE} --space ar1"));
        let found = ran.components();
        assert!(found[has] > 0.0);
        assert!(ran.out.contains(&format!("{lacks},,\n")), "{}", ran.out);
        let ran = run(&folder, &format!("{LINE} --space spline"));
        assert!(ran.components().contains_key("surface"));
    }
    let folder = with(
        "field.csv",
        "clone,row,col,yield\nA,1,1,5\nB,1,1,6\nA,1,1,7\nB,1,1,8.5\n",
    );
    let ran = run(&folder, &format!("{LINE} --space spline"));
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("too few to tell space by"), "{}", ran.err);
}

/// Rows and columns with ar1 are numbers of neighbours; a surface is laid over any measure.
#[test]
fn places_that_are_no_numbers_of_neighbours() {
    for (from, to, told) in [
        (
            ",6,8,",
            ",1000000000000,8,",
            "1000000000000 is too high: rows and columns are numbered up to 1000000",
        ),
        (
            ",6,8,",
            ",-3000000,8,",
            "-3000000 is too low: rows and columns are numbered from -1000000",
        ),
        (
            ",6,8,",
            ",6.5,8,",
            "6.5 is no whole number. With --space ar1",
        ),
    ] {
        let folder = with("field.csv", &field(6, 8).replace(from, to));
        let ran = run(&folder, &format!("{LINE} --space ar1"));
        assert_eq!((ran.code, ran.out.as_str()), (2, ""));
        assert!(ran.err.contains(told), "{}", ran.err);
    }
    let folder = with("field.csv", &field(6, 8).replace(",6,8,", ",6.5,8,"));
    let ran = run(&folder, &format!("{LINE} --space spline"));
    assert_eq!(ran.code, 0, "{}", ran.err);
    let folder = with("field.csv", &field(6, 8).replace(",6,8,", ",1e15,8,"));
    let ran = run(&folder, &format!("{LINE} --space spline"));
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(
        ran.err.contains("is too high: with --space spline"),
        "{}",
        ran.err
    );
}

/// Whether the space is worth it: in the Nebraska nursery, where blocks fail (Stroup, Baenziger & Mulitze 1994, see the
/// tests of the model), its -2 REML log-likelihood is 1107.41; in a field of noise nothing is gained.
#[test]
fn what_the_space_adds_is_told() {
    let folder = with("field.csv", &field(6, 8));
    for space in ["ar1", "ar1 --nugget", "spline"] {
        let ran = run(&folder, &format!("{LINE} --space {space}"));
        assert_eq!(ran.code, 0, "{space}: {}", ran.err);
        let told = "Against the same model without space, -2 log-likelihood falls by ";
        let rest = ran.err.split(told).nth(1).unwrap();
        let (gain, rest) = rest.split_once(", p = ").unwrap();
        assert!(gain.parse::<f64>().unwrap() > 20.0, "{space}: {gain}");
        assert!(!rest.contains("fits about as well"), "{space}");
        assert!(
            ran.err.contains(
                "The errors of comparisons are those of the variances as they are estimated"
            ),
            "{space}: {}",
            ran.err
        );
    }
    let mut table = "clone,row,col,yield\n".to_owned();
    for row in 1..=6_u32 {
        for column in 1..=8 {
            let noise = f64::from((row * 7919 + column * 104_729) % 1009) / 100.0;
            writeln!(table, "C{},{row},{column},{noise}", (row + column) % 4).unwrap();
        }
    }
    let ran = run(&with("field.csv", &table), &format!("{LINE} --space ar1"));
    assert!(
        ran.err
            .contains("the model without space fits about as well"),
        "{}",
        ran.err
    );
}
