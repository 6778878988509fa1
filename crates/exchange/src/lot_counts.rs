//! Counts of lots in warmth as CSV: `lot,seeds,day,new,closed`, a row for each look, and where it is known `age`, the years
//! from harvest to warmth.

use crate::rows::{Fault, Rows, TableRow};
use std::collections::HashMap;

/// One lot of the file.
#[derive(Debug, Clone, PartialEq)]
pub struct CountedLot {
    /// Its name.
    pub lot: String,
    /// Seeds that came to warmth.
    pub seeds: u32,
    /// The looks in the order of their days: days since warmth began, and what was newly up.
    pub looks: Vec<(f64, u32)>,
    /// Whether nobody waits for the rest.
    pub closed: bool,
    /// Years from harvest to warmth, where a row tells it.
    pub age: Option<f64>,
}

/// Reads the lots of a file, in the order in which they first come.
///
/// # Errors
/// Every fault of the file: a column that isn't there, a number that is none, seeds that differ from row to row, more up
/// than there were seeds.
pub fn read(bytes: &[u8]) -> Result<Vec<CountedLot>, Vec<Fault>> {
    let mut rows = Rows::new(bytes).map_err(|fault| vec![fault])?;
    let mut faults = Vec::new();
    let mut place = |name: &str| {
        rows.required(name)
            .map_err(|fault| faults.push(fault))
            .unwrap_or_default()
    };
    let [lot, seeds, day, new, closed] = ["lot", "seeds", "day", "new", "closed"].map(&mut place);
    if !faults.is_empty() {
        return Err(faults);
    }
    let age = rows.column("age");
    let mut lots: Vec<(CountedLot, u64)> = Vec::new();
    let mut known: HashMap<String, usize> = HashMap::new();
    while let Some(row) = rows.next() {
        let row = match row {
            Ok(row) => row,
            Err(fault) => {
                faults.push(fault);
                continue;
            }
        };
        let line = row.line();
        let whole = |column: usize, name: &str| {
            row.field(column).parse::<u32>().map_err(|_not_whole| {
                let found = row.field(column);
                Fault::at(
                    line,
                    name,
                    format!("'{found}' is no whole number. Correct it."),
                )
            })
        };
        let days = row
            .number(day)
            .filter(|day| (0.0..=100_000.0).contains(day))
            .ok_or_else(|| {
                let found = row.field(day);
                let what =
                    format!("'{found}' is no number of days since warmth began. Correct it.");
                Fault::at(line, "day", what)
            });
        let done = match row.field(closed).to_lowercase().as_str() {
            "yes" => Ok(true),
            "no" | "" => Ok(false),
            other => Err(Fault::at(
                line,
                "closed",
                format!("'{other}' is neither yes nor no. Write one of them."),
            )),
        };
        let years = years(&row, age);
        let name = row.field(lot).to_owned();
        if name.is_empty() {
            faults.push(Fault::at(line, "lot", "Every row needs its lot. Write it."));
            continue;
        }
        match (whole(seeds, "seeds"), days, whole(new, "new"), done, years) {
            (Ok(seeds), Ok(day), Ok(new), Ok(done), Ok(years)) => {
                let nth = *known.entry(name.clone()).or_insert_with(|| {
                    let looks = Vec::new();
                    lots.push((
                        CountedLot {
                            lot: name,
                            seeds,
                            looks,
                            closed: false,
                            age: None,
                        },
                        line,
                    ));
                    lots.len() - 1
                });
                let each = &mut lots[nth].0;
                faults.extend(contradictions(each, seeds, years, line));
                each.age = each.age.or(years);
                each.closed |= done;
                each.looks.push((day, new));
            }
            (seeds, day, new, done, years) => {
                faults.extend(
                    [seeds.err(), day.err(), new.err(), done.err(), years.err()]
                        .into_iter()
                        .flatten(),
                );
            }
        }
    }
    faults.extend(lots.iter_mut().filter_map(too_many_up));
    if faults.is_empty() {
        Ok(lots.into_iter().map(|each| each.0).collect())
    } else {
        Err(faults)
    }
}

/// The years since harvest of a row, if the table tells them.
fn years(row: &TableRow<'_>, age: Option<usize>) -> Result<Option<f64>, Fault> {
    let Some(age) = age.filter(|age| !row.field(*age).is_empty()) else {
        return Ok(None);
    };
    let years = row
        .number(age)
        .filter(|years| (0.0..=1000.0).contains(years));
    years.map(Some).ok_or_else(|| {
        let found = row.field(age);
        let what = format!(
            "'{found}' is no number of years since harvest. Correct it, or leave it empty."
        );
        Fault::at(row.line(), "age", what)
    })
}

/// What a row says otherwise than earlier rows of its lot.
fn contradictions(each: &CountedLot, seeds: u32, years: Option<f64>, line: u64) -> Vec<Fault> {
    let mut faults = Vec::new();
    if each.seeds != seeds {
        let what = format!(
            "Lot {} had {} seeds in an earlier row, {seeds} here. Correct one of them.",
            each.lot, each.seeds
        );
        faults.push(Fault::at(line, "seeds", what));
    }
    if let (Some(before), Some(years)) = (each.age, years)
        && before != years
    {
        let what = format!(
            "Lot {} was {before} years old in an earlier row, {years} here. Correct one of them.",
            each.lot
        );
        faults.push(Fault::at(line, "age", what));
    }
    faults
}

/// Puts the looks of a lot in order; the fault if more came up than there were seeds.
fn too_many_up((each, line): &mut (CountedLot, u64)) -> Option<Fault> {
    each.looks.sort_by(|one, other| one.0.total_cmp(&other.0));
    let up: u64 = each.looks.iter().map(|look| u64::from(look.1)).sum();
    (up > u64::from(each.seeds)).then(|| {
        let what = format!(
            "Of lot {}, {up} of {} seeds germinated. Correct the counts or the seeds.",
            each.lot, each.seeds
        );
        Fault::at(*line, "new", what)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lots_are_put_together_from_their_rows_in_any_order() {
        let text =
            b"lot,seeds,day,new,closed\nA,50,7,10,no\nB,20,5,1,no\nA,50,5,3,no\nA,50,21,0,yes\n";
        let lots = read(text).unwrap();
        assert_eq!(lots[0].looks, [(5.0, 3), (7.0, 10), (21.0, 0)]);
        assert!(lots[0].closed && !lots[1].closed);
    }

    #[test]
    fn the_age_of_seed_is_read_where_it_is_told() {
        let lots =
            read(b"lot,seeds,day,new,closed,age\nA,50,7,10,no,1.5\nA,50,9,1,no,\nB,20,5,1,no,\n")
                .unwrap();
        assert_eq!((lots[0].age, lots[1].age), (Some(1.5), None));
        let faults =
            read(b"lot,seeds,day,new,closed,age\nA,50,7,10,no,old\nB,9,1,1,no,2\nB,9,2,1,no,3\n");
        let told: Vec<String> = faults
            .unwrap_err()
            .iter()
            .map(ToString::to_string)
            .collect();
        assert_eq!(
            told,
            [
                "line 2, column age: 'old' is no number of years since harvest. Correct it, or leave it empty.",
                "line 4, column age: Lot B was 2 years old in an earlier row, 3 here. Correct one of them.",
            ]
        );
    }

    #[test]
    fn every_fault_is_named_with_its_line_and_column() {
        let text = b"lot,seeds,day,new,closed\nA,50,-1,x,maybe\nB,20,5,21,no\nC,10,1,1,no\nC,11,2,1,no\n,1,1,1,no\n";
        let told: Vec<String> = read(text)
            .unwrap_err()
            .iter()
            .map(ToString::to_string)
            .collect();
        assert_eq!(
            told,
            [
                "line 2, column day: '-1' is no number of days since warmth began. Correct it.",
                "line 2, column new: 'x' is no whole number. Correct it.",
                "line 2, column closed: 'maybe' is neither yes nor no. Write one of them.",
                "line 5, column seeds: Lot C had 10 seeds in an earlier row, 11 here. Correct one of them.",
                "line 6, column lot: Every row needs its lot. Write it.",
                "line 3, column new: Of lot B, 21 of 20 seeds germinated. Correct the counts or the seeds.",
            ]
        );
        assert_eq!(read(b"lot,day\n").unwrap_err().len(), 3);
    }
}
