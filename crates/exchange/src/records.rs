//! Records of plants as CSV: a column `id`, and columns by the names of traits and of what they are corrected for.

use crate::rows::{DecimalSigns, Fault, Rows};
use std::collections::HashMap;

/// Records of one trait, all lists one entry a record.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TraitRecords {
    /// The plant of each record, as the caller knows it.
    pub plant: Vec<usize>,
    /// The value of each record.
    pub value: Vec<f64>,
    /// The fixed columns, in the order asked for.
    pub fixed: Vec<FixedColumn>,
    /// How many rows have no value and were passed over.
    pub without_value: usize,
}

/// A column that tells records apart.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FixedColumn {
    /// Its name, as the file has it.
    pub name: String,
    /// Its different entries, in the order in which they first came.
    pub levels: Vec<String>,
    /// The entry of each record.
    pub level: Vec<usize>,
}

impl FixedColumn {
    /// Columns of these names, without a record yet.
    pub(crate) fn named(names: impl Iterator<Item = String>) -> Vec<Self> {
        names
            .map(|name| Self {
                name,
                ..Self::default()
            })
            .collect()
    }
}

/// What is wrong with a term that may be meant in two ways.
const TWO_MEANINGS: &str =
    "This may be the column of this name, or the columns joined by ':'. Rename the column.";

/// Terms that are the name of a column, and columns joined.
fn ambiguous(rows: &Rows<'_>, fixed: &[String]) -> Vec<Fault> {
    let is_column = |name: &str| rows.column(name).is_some();
    let both =
        |term: &&String| term.contains(':') && is_column(term) && term.split(':').all(is_column);
    let fault = |term: &String| Fault::of_column(term, TWO_MEANINGS);
    fixed.iter().filter(both).map(fault).collect()
}

impl TraitRecords {
    /// Reads the records of a trait. `find` knows the plants by their id; a fixed term is a column, or columns joined by `:`.
    /// Rows without a value are passed over.
    ///
    /// # Errors
    /// Every fault of the file: a column that isn't there, a plant that isn't known, a value that is no number, a
    /// record with a fixed column left empty.
    pub fn read(
        bytes: &[u8],
        of_trait: &str,
        fixed: &[String],
        find: impl Fn(&str) -> Option<usize>,
    ) -> Result<Self, Vec<Fault>> {
        let mut rows = Rows::new(bytes).map_err(|fault| vec![fault])?;
        let mut faults = Vec::new();
        let mut place = |name: &str| {
            rows.required(name)
                .map_err(|fault| faults.push(fault))
                .unwrap_or_default()
        };
        let (id, value) = (place("id"), place(of_trait));
        let mut places = |term: &String| -> Vec<usize> {
            // A column whose whole name it is goes first.
            if rows.column(term).is_some() || !term.contains(':') {
                return vec![place(term)];
            }
            term.split(':').map(&mut place).collect()
        };
        let ambiguous = ambiguous(&rows, fixed);
        if !ambiguous.is_empty() {
            return Err(ambiguous);
        }
        let columns: Vec<Vec<usize>> = fixed.iter().map(&mut places).collect();
        if !faults.is_empty() {
            return Err(faults);
        }
        let trait_name = rows.header()[value].clone();
        let named = |columns: &Vec<usize>| {
            let names: Vec<&str> = columns
                .iter()
                .map(|&column| rows.header()[column].as_str())
                .collect();
            names.join(":")
        };
        let mut read = Self {
            fixed: FixedColumn::named(columns.iter().map(named)),
            ..Self::default()
        };
        let mut seen: Vec<HashMap<String, usize>> = vec![HashMap::new(); columns.len()];
        let mut signs = DecimalSigns::default();
        while let Some(row) = rows.next() {
            let row = match row {
                Ok(row) => row,
                Err(fault) => {
                    faults.push(fault);
                    continue;
                }
            };
            let plant = find(row.field(id));
            if plant.is_none() {
                let what = match row.field(id) {
                    "" => "Every row needs an id.".into(),
                    id => format!("{id} is not in the pedigree. Add it there, or correct the id."),
                };
                faults.push(Fault::at(row.line(), "id", what));
            }
            if row.field(value).is_empty() {
                read.without_value += 1;
                continue;
            }
            let number = row.number(value);
            let what = match number {
                Some(_) => signs.see(row, value),
                None => Some(row.no_number(value, ", or leave it empty")),
            };
            if let Some(what) = what {
                faults.push(Fault::at(row.line(), &trait_name, what));
            }
            for ((factor, seen), columns) in read.fixed.iter_mut().zip(&mut seen).zip(&columns) {
                let fields: Vec<&str> = columns.iter().map(|&column| row.field(column)).collect();
                if fields.iter().any(|field| field.is_empty()) {
                    let what =
                        "This is empty, and the record can't be corrected for it. Fill it in.";
                    faults.push(Fault::at(row.line(), &factor.name, what));
                    continue;
                }
                // Fields may hold the sign that joins them: they are told apart by one that they don't hold.
                let key = fields.join("\0");
                let level = if let Some(&level) = seen.get(&key) {
                    level
                } else {
                    seen.insert(key, factor.levels.len());
                    factor.levels.push(fields.join(":"));
                    factor.levels.len() - 1
                };
                factor.level.push(level);
            }
            if let (Some(plant), Some(number)) = (plant, number) {
                read.plant.push(plant);
                read.value.push(number);
            }
        }
        if faults.is_empty() && read.plant.is_empty() {
            faults.push(Fault::of_column(
                &trait_name,
                "No row has a value in this column.",
            ));
        }
        if faults.is_empty() {
            Ok(read)
        } else {
            Err(faults)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn find(id: &str) -> Option<usize> {
        ["A", "B"].iter().position(|name| *name == id)
    }

    #[test]
    fn records_with_gaps_and_levels() {
        let text = b"id;Year;Alpha acid\nB;2024;5,5\nA;2025;\nA;2025;6,1\nB;2024;4\n";
        let read = TraitRecords::read(text, "alpha acid", &["year".into()], find).unwrap();
        assert_eq!(read.plant, [1, 0, 1]);
        assert_eq!(read.value, [5.5, 6.1, 4.0]);
        assert_eq!(read.fixed[0].levels, ["2024", "2025"]);
        assert_eq!(read.fixed[0].level, [0, 1, 0]);
        assert_eq!(
            (read.fixed[0].name.as_str(), read.without_value),
            ("Year", 1)
        );
    }

    #[test]
    fn columns_joined_are_one_term() {
        let text = b"id,year,plot,a:b,y\nA,1,x,p,5\nB,1,y,p,6\nA,2,x,q,7\nB,1,x,q,4\n";
        let terms = ["year:plot".to_owned(), "a:b".to_owned()];
        let read = TraitRecords::read(text, "y", &terms, find).unwrap();
        assert_eq!(read.fixed[0].name, "year:plot");
        assert_eq!(read.fixed[0].levels, ["1:x", "1:y", "2:x"]);
        assert_eq!(read.fixed[0].level, [0, 1, 2, 0]);
        assert_eq!(read.fixed[1].levels, ["p", "q"]);
    }

    #[test]
    fn every_fault_has_its_line_and_column() {
        let text = b"id,year,alpha\nC,2024,1\nA,,2\nA,2024,high\n,2024,3\n";
        let faults = TraitRecords::read(text, "alpha", &["year".into()], find).unwrap_err();
        let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
        assert_eq!(
            faults,
            [
                "line 2, column id: C is not in the pedigree. Add it there, or correct the id.",
                "line 3, column year: This is empty, and the record can't be corrected for it. Fill it in.",
                "line 4, column alpha: 'high' is no number. Correct it, or leave it empty.",
                "line 5, column id: Every row needs an id.",
            ]
        );
        let faults = TraitRecords::read(b"id\n", "alpha", &["year".into()], find).unwrap_err();
        assert_eq!(faults.len(), 2);
    }
}
