//! Records of plots as CSV: a trait, and the columns that a trial is analysed by.

use crate::records::FixedColumn;
use crate::rows::{DecimalSigns, Fault, Rows, TableRow};
use std::collections::HashMap;

/// The columns to read.
#[derive(Debug, Clone, Copy, Default)]
pub struct PlotColumns<'a> {
    /// The trait.
    pub of_trait: &'a str,
    /// Terms: each the columns whose entries together tell records apart.
    pub terms: &'a [Vec<String>],
    /// Columns of numbers.
    pub numbers: &'a [String],
}

/// Records that have a value, all lists one entry a record.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plots {
    /// The value.
    pub value: Vec<f64>,
    /// By term: its levels, named by the entries of its columns joined with `:`.
    pub terms: Vec<FixedColumn>,
    /// By column of numbers: the number of each record.
    pub numbers: Vec<Vec<f64>>,
    /// The line of each record.
    pub line: Vec<u64>,
    /// How many rows have no value and were passed over.
    pub without_value: usize,
    /// Levels of the first term that stand in such rows alone.
    pub never_seen: Vec<String>,
}

/// The name of a level being made, and what it is told apart by.
#[derive(Default)]
struct Names {
    name: String,
    key: String,
}

impl Names {
    /// The level that fields of a row together are; one not seen before is added.
    fn level(
        &mut self,
        row: TableRow<'_>,
        columns: &[usize],
        seen: &mut HashMap<String, usize>,
        levels: &mut Vec<String>,
    ) -> usize {
        self.name.clear();
        // Fields may hold the sign that joins them: they are told apart by one that they don't hold.
        self.key.clear();
        for (nth, &column) in columns.iter().enumerate() {
            if nth > 0 {
                self.name.push(':');
                self.key.push('\0');
            }
            self.name.push_str(row.field(column));
            self.key.push_str(row.field(column));
        }
        if let Some(&level) = seen.get(&self.key) {
            return level;
        }
        seen.insert(self.key.clone(), levels.len());
        levels.push(self.name.clone());
        levels.len() - 1
    }
}

impl Plots {
    /// Reads the records of a trait. Rows without a value are passed over; in the others no column may be empty.
    ///
    /// # Errors
    /// Every fault of the file, with line and column.
    pub fn read(bytes: &[u8], wanted: PlotColumns<'_>) -> Result<Self, Vec<Fault>> {
        let mut rows = Rows::new(bytes).map_err(|fault| vec![fault])?;
        let Places {
            value,
            terms,
            numbers,
        } = Places::find(&rows, wanted)?;
        let mut faults = Vec::new();
        let header = rows.header().to_vec();
        let mut read = Self {
            terms: FixedColumn::named(wanted.terms.iter().map(|columns| columns.join(":"))),
            numbers: vec![Vec::new(); numbers.len()],
            ..Self::default()
        };
        let mut seen: Vec<HashMap<String, usize>> = vec![HashMap::new(); terms.len()];
        let mut names = Names::default();
        let mut signs: HashMap<usize, DecimalSigns> = HashMap::new();
        // Levels of the first term in rows without a value.
        let mut passed_over = HashMap::new();
        let mut not_read = Vec::new();
        let mut no_values = NoNumbers::default();
        let mut with_value = 0;
        // By column of numbers, how many rows have none in it.
        let mut no_numbers = vec![NoNumbers::default(); numbers.len()];
        while let Some(row) = rows.next() {
            let row = match row {
                Ok(row) => row,
                Err(fault) => {
                    faults.push(fault);
                    continue;
                }
            };
            if row.field(value).is_empty() {
                read.without_value += 1;
                if let Some(columns) = terms.first() {
                    names.level(row, columns, &mut passed_over, &mut not_read);
                }
                continue;
            }
            with_value += 1;
            let before = faults.len();
            let mut number = |column: usize, empty: &str| {
                let found = row.number(column);
                let what = match found {
                    Some(_) => signs.entry(column).or_default().see(row, column),
                    None => Some(row.no_number(column, empty)),
                };
                if let Some(what) = what {
                    faults.push(Fault::at(row.line(), &header[column], what));
                }
                found
            };
            let of_trait = number(value, ", or leave it empty");
            if of_trait.is_none() {
                no_values.see(row, value);
            }
            let of_trait = of_trait.unwrap_or_default();
            for (nth, &column) in numbers.iter().enumerate() {
                let found = number(column, ", or leave the row's value empty");
                if found.is_none() {
                    no_numbers[nth].see(row, column);
                }
                read.numbers[nth].push(found.unwrap_or_default());
            }
            for &column in terms.iter().flatten() {
                if row.field(column).is_empty() {
                    let what = "This is empty. Fill it in, or leave the row's value empty.";
                    let fault = Fault::at(row.line(), &header[column], what);
                    if !faults[before..].contains(&fault) {
                        faults.push(fault);
                    }
                }
            }
            if faults.len() > before {
                // Numbers of a faulty row don't matter: nothing is returned.
                continue;
            }
            for ((term, seen), columns) in read.terms.iter_mut().zip(&mut seen).zip(&terms) {
                let level = names.level(row, columns, seen, &mut term.levels);
                term.level.push(level);
            }
            read.value.push(of_trait);
            read.line.push(row.line());
        }
        for ((&column, without), read) in numbers.iter().zip(&no_numbers).zip(&read.numbers) {
            tell_once(&mut faults, &header[column], without, read.len());
        }
        tell_once(&mut faults, &header[value], &no_values, with_value);
        read.never_seen = never_seen(passed_over, not_read, seen.first());
        let nothing = "No row has a value in this column.";
        if faults.is_empty() && read.value.is_empty() {
            faults.push(Fault::of_column(wanted.of_trait, nothing));
        }
        if faults.is_empty() {
            Ok(read)
        } else {
            Err(faults)
        }
    }
}

/// The levels that were passed over and not read anywhere, in their order.
fn never_seen(
    passed_over: HashMap<String, usize>,
    mut names: Vec<String>,
    read: Option<&HashMap<String, usize>>,
) -> Vec<String> {
    let is_new = |(key, level): (String, usize)| {
        let unread = read.is_some_and(|keys| !keys.contains_key(&key));
        let named = key.bytes().any(|sign| sign != 0);
        (unread && named).then_some(level)
    };
    let mut unread: Vec<usize> = passed_over.into_iter().filter_map(is_new).collect();
    unread.sort_unstable();
    let name = |level| std::mem::take(&mut names[level]);
    unread.into_iter().map(name).collect()
}

/// The places of the columns of a table of plots.
struct Places {
    value: usize,
    terms: Vec<Vec<usize>>,
    numbers: Vec<usize>,
}

impl Places {
    fn find(rows: &Rows<'_>, wanted: PlotColumns<'_>) -> Result<Self, Vec<Fault>> {
        let mut faults = Vec::new();
        let mut place = |name: &String| {
            rows.required(name)
                .map_err(|fault| faults.push(fault))
                .unwrap_or_default()
        };
        let places = Self {
            value: place(&wanted.of_trait.to_owned()),
            terms: wanted
                .terms
                .iter()
                .map(|columns| columns.iter().map(&mut place).collect())
                .collect(),
            numbers: wanted.numbers.iter().map(&mut place).collect(),
        };
        if faults.is_empty() {
            return Ok(places);
        }
        faults.dedup();
        Err(faults)
    }
}

/// How many rows of a column of numbers hold none, and the first of them.
#[derive(Clone, Default)]
struct NoNumbers {
    count: usize,
    line: u64,
    field: String,
}

impl NoNumbers {
    fn see(&mut self, row: TableRow<'_>, column: usize) {
        if self.count == 0 {
            self.line = row.line();
            row.field(column).clone_into(&mut self.field);
        }
        self.count += 1;
    }
}

/// A column that holds no number at all isn't meant: one fault stands for those of its rows.
fn tell_once(faults: &mut Vec<Fault>, column: &str, without: &NoNumbers, rows: usize) {
    let NoNumbers { count, line, field } = without;
    if *count < 3 || *count < rows {
        return;
    }
    let what = format!(
        "None of its {rows} fields is a number, the first of them '{field}' on line {line}. Name a column of numbers."
    );
    let mut once = Some(Fault::of_column(column, what));
    *faults = std::mem::take(faults)
        .into_iter()
        .filter_map(|fault| match fault.column.as_deref() {
            Some(own) if own == column => once.take(),
            _ => Some(fault),
        })
        .collect();
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wanted<'a>(terms: &'a [Vec<String>], numbers: &'a [String]) -> PlotColumns<'a> {
        PlotColumns {
            of_trait: "yield",
            terms,
            numbers,
        }
    }

    #[test]
    fn terms_are_joined_and_gaps_passed_over() {
        let text = b"rep,block,row,yield\n1,a,1,5.5\n1,b,2,\n2,a,3,6\n1,a,4,7\n";
        let terms = [vec!["rep".to_owned(), "block".to_owned()]];
        let read = Plots::read(text, wanted(&terms, &["row".to_owned()])).unwrap();
        assert_eq!(read.terms[0].levels, ["1:a", "2:a"]);
        assert_eq!(read.terms[0].level, [0, 1, 0]);
        assert_eq!(read.numbers, [[1.0, 3.0, 4.0]]);
        assert_eq!((read.line, read.without_value), (vec![2, 4, 5], 1));
        assert_eq!(read.never_seen, ["1:b"]);
    }

    #[test]
    fn faults_name_line_and_column() {
        let text = b"rep,row,yield\n,1,5\n1,x,6\n1,1,much\n";
        let terms = [vec!["rep".to_owned()]];
        let faults = Plots::read(text, wanted(&terms, &["row".to_owned()])).unwrap_err();
        let told: Vec<String> = faults.iter().map(ToString::to_string).collect();
        assert_eq!(
            told,
            [
                "line 2, column rep: This is empty. Fill it in, or leave the row's value empty.",
                "line 3, column row: 'x' is no number. Correct it, or leave the row's value empty.",
                "line 4, column yield: 'much' is no number. Correct it, or leave it empty.",
            ]
        );
    }
}
