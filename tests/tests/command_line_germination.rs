//! `binewright germination`: what is still to come of lots, from a table of counts or a project.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use chrono::NaiveDate;
use commands::{Script, run};
use std::fmt::Write as _;
use std::path::Path;

fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 3, 20).unwrap()
}

/// Exit code, standard output, standard error.
fn germination(file: &Path, as_of: Option<f64>) -> (u8, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let script = Script::Germination {
        file: file.into(),
        as_of,
        today: None,
        out: None,
    };
    let code = run(script, today(), &mut out, &mut err);
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (code, text(out), text(err))
}

/// Lots that came up around day 11 within two weeks: `closed` of them done with on day 42, one looked at to day 8.
fn counts(closed: usize) -> String {
    let mut text = "lot,seeds,day,new,closed\n".to_owned();
    let new = [0, 0, 2, 6, 14, 16, 9, 5, 3, 1, 1];
    for lot in 0..closed {
        for (nth, up) in new.iter().enumerate() {
            let up = up + (nth + lot) % 2;
            writeln!(text, "L{lot},90,{},{up},no", 2 * (nth + 1)).unwrap();
        }
        writeln!(text, "L{lot},90,42,0,yes").unwrap();
    }
    for (day, up) in [(2, 0), (4, 0), (6, 2), (8, 7)] {
        writeln!(text, "Open,90,{day},{up},no").unwrap();
    }
    text
}

fn fields<'t>(table: &'t str, lot: &str) -> Vec<&'t str> {
    let row = table.lines().find(|line| line.starts_with(lot)).unwrap();
    row.split(',').collect()
}

#[test]
fn an_open_lot_is_waited_for_as_long_as_the_closed_ones_took() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("counts.csv");
    std::fs::write(&file, counts(6)).unwrap();
    let (code, table, said) = germination(&file, None);
    assert_eq!((code, said.as_str()), (0, ""));
    let header = "lot,seeds,germinated,still_to_come,low,high,stop_day";
    assert_eq!(table.lines().next(), Some(header));
    let open = fields(&table, "Open");
    assert_eq!(open[1..3], ["90", "9"]);
    let number = |field: &str| field.parse::<f64>().unwrap();
    // Each closed lot had 8 or 9 up by day 8 and 50 or so more after it.
    assert!((38.0..65.0).contains(&number(open[3])), "{open:?}");
    assert!(number(open[4]) < number(open[3]) && number(open[3]) < number(open[5]));
    // The last seedlings of the closed lots came on days 20 to 22; nine in ten leaves room for a late one.
    assert!((18.0..=30.0).contains(&number(open[6])), "{open:?}");
    assert_eq!(fields(&table, "L0")[3..], ["0", "0", "0", ""]);
}

#[test]
fn nothing_is_said_from_two_closed_lots() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("counts.csv");
    std::fs::write(&file, counts(2)).unwrap();
    let (code, table, said) = germination(&file, None);
    assert_eq!(code, 0);
    assert_eq!(fields(&table, "Open")[3..], ["", "", "", ""]);
    assert!(said.contains("2 closed lots are too few"), "{said}");
}

/// Cut at day 10 the closed lots of the sample were to be stopped at once by a curve fitted to each alone, and a third
/// of their seedlings came later.
#[test]
fn the_closed_lots_of_the_sample_would_not_have_been_given_up_early() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sample.binewright");
    let script = Script::Sample {
        path: file.clone(),
        today: None,
    };
    assert_eq!(run(script, today(), &mut Vec::new(), &mut Vec::new()), 0);
    let (_, whole, _) = germination(&file, None);
    let mut asked = 0;
    for day in [8.0, 10.0, 12.0, 16.0] {
        let (code, cut, _) = germination(&file, Some(day));
        assert_eq!(code, 0);
        let mut missed = 0;
        for row in cut.lines().skip(1) {
            let then: Vec<&str> = row.split(',').collect();
            let came = fields(&whole, then[0]);
            let closed = came[6].is_empty() && came[5] == "0";
            if !closed || then[6].is_empty() {
                continue;
            }
            let number = |field: &str| field.parse::<f64>().unwrap();
            let later = number(came[2]) - number(then[2]);
            asked += 1;
            let inside = (number(then[4])..=number(then[5])).contains(&later);
            missed += i32::from(!inside);
            // Where two or more were still to come, nobody is told to stop on that day.
            assert!(
                later < 2.0 || number(then[6]) > day,
                "day {day}: {row}, {later} came later"
            );
        }
        assert!(
            missed <= 2,
            "day {day}: {missed} outside of their interval\n{cut}"
        );
    }
    assert!(asked >= 12, "{asked}");
}

#[test]
fn a_faulty_table_is_named_by_line_and_nothing_is_printed() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("counts.csv");
    std::fs::write(&file, "lot,seeds,day,new,closed\nA,10,3,11,no\n").unwrap();
    let (code, table, said) = germination(&file, None);
    assert_eq!((code, table.as_str()), (2, ""));
    assert!(
        said.contains("line 2, column new: Of lot A, 11 of 10 seeds germinated."),
        "{said}"
    );
}
