//! A pedigree as CSV.
//!
//! Columns `id`, `female`, `male` (empty is unknown), and if wanted `ploidy` (2 if empty) and `origin`: `cross` if
//! empty, `doubled` or `variant` (their source in the column female), `founder` for a plant without parents. Rows may
//! come in any order; a parent without a row of its own is added as a diploid founder.

mod names;

use crate::rows::{Fault, Rows, TableRow};
use names::{Names, Texts};
use std::num::NonZeroU8;

/// The most sets of chromosomes that are believed; more is a slip, such as the number of chromosomes.
const MOST_SETS: u8 = 16;

/// How a plant came to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Origin {
    /// From seed; of a founder nothing is known.
    #[default]
    Cross,
    /// Its source with chromosomes doubled.
    Doubled,
    /// A clonal variant of its source.
    Variant,
}

/// One plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Plant {
    /// The seed parent, or the source of a doubled plant or variant, by its place among the plants.
    pub female: Option<u32>,
    /// The pollen parent.
    pub male: Option<u32>,
    /// Sets of chromosomes.
    pub ploidy: NonZeroU8,
    /// How it came to be.
    pub origin: Origin,
}

/// A pedigree that was read.
#[derive(Debug, Clone)]
pub struct Pedigree {
    /// The plants in the order of their rows, then parents without a row.
    pub plants: Vec<Plant>,
    /// How many of the plants have a row.
    pub rows: usize,
    /// Columns that mean nothing here.
    pub unused: Vec<String>,
    /// The name of each plant.
    names: Names,
    /// The line of each row.
    lines: Vec<u32>,
}

impl Pedigree {
    /// Reads a pedigree.
    ///
    /// # Errors
    /// Every fault of the file. Loops and ploidies that don't fit are not looked for.
    pub fn read(bytes: &[u8]) -> Result<Self, Vec<Fault>> {
        let mut rows = Rows::new(bytes).map_err(|fault| vec![fault])?;
        let required = ["id", "female", "male"].map(|name| rows.required(name));
        let [Ok(id), Ok(female), Ok(male)] = required else {
            return Err(required.into_iter().filter_map(Result::err).collect());
        };
        let columns = Columns {
            id,
            female,
            male,
            ploidy: rows.column("ploidy"),
            origin: rows.column("origin"),
        };
        let mut reading = PedigreeReader::default();
        let unused = rows.header().iter().enumerate();
        let unused = unused
            .filter(|(place, _)| !columns.contains(*place))
            .map(|(_, name)| name.clone())
            .collect();
        while let Some(row) = rows.next() {
            match row {
                Ok(row) => reading.add(row, &columns),
                Err(fault) => reading.faults.push(fault),
            }
        }
        reading.finish(unused)
    }

    /// The name of a plant, by its place.
    pub fn name(&self, plant: usize) -> &str {
        let place = u32::try_from(plant).ok();
        place
            .and_then(|place| self.names.get(place))
            .unwrap_or_default()
    }

    /// The place of a plant, by its name.
    pub fn find(&self, name: &str) -> Option<usize> {
        self.names.find(name).map(|place| place as usize)
    }

    /// The line of a plant's row; `None` for a parent without one.
    pub fn line(&self, plant: usize) -> Option<u64> {
        self.lines.get(plant).map(|&line| line.into())
    }

    /// The names of parents that have no row of their own.
    pub fn without_row(&self) -> impl Iterator<Item = &str> {
        (self.rows..self.plants.len()).map(|plant| self.name(plant))
    }
}

struct Columns {
    id: usize,
    female: usize,
    male: usize,
    ploidy: Option<usize>,
    origin: Option<usize>,
}

impl Columns {
    fn contains(&self, place: usize) -> bool {
        [
            Some(self.id),
            Some(self.female),
            Some(self.male),
            self.ploidy,
            self.origin,
        ]
        .contains(&Some(place))
    }
}

/// A row as it is read: parents by their place among the names of parents, as they may come later.
struct Draft {
    parents: [Option<u32>; 2],
    ploidy: NonZeroU8,
    origin: Origin,
}

#[derive(Default)]
struct PedigreeReader {
    ids: Texts,
    drafts: Vec<Draft>,
    lines: Vec<u32>,
    /// The names of parents, again where another came between.
    parents: Texts,
    /// Parents of the row before: brothers and sisters mostly stand together.
    last: [Option<u32>; 2],
    faults: Vec<Fault>,
}

const DIPLOID: NonZeroU8 = NonZeroU8::new(2).unwrap();

impl PedigreeReader {
    fn add(&mut self, row: TableRow<'_>, columns: &Columns) {
        let before = self.faults.len();
        let id = row.field(columns.id);
        let ploidy = self.ploidy(row, columns);
        let origin = self.origin(row, columns);
        if id.is_empty() {
            self.faults
                .push(Fault::at(row.line(), "id", "Every row needs an id."));
        }
        if self.faults.len() > before {
            return;
        }
        self.ids.push(id);
        self.lines.push(row.line() as u32);
        let parents = [(0, columns.female), (1, columns.male)]
            .map(|(side, column)| self.parent(side, row.field(column)));
        self.drafts.push(Draft {
            parents,
            ploidy,
            origin,
        });
    }

    fn parent(&mut self, side: usize, name: &str) -> Option<u32> {
        if name.is_empty() {
            return None;
        }
        let last = &mut self.last[side];
        let same = last.filter(|&last| self.parents.get(last) == Some(name));
        *last = same.or_else(|| Some(self.parents.push(name)));
        *last
    }

    fn ploidy(&mut self, row: TableRow<'_>, columns: &Columns) -> NonZeroU8 {
        let field = columns.ploidy.map_or("", |column| row.field(column));
        if field.is_empty() {
            return DIPLOID;
        }
        let ploidy = field
            .parse::<NonZeroU8>()
            .ok()
            .filter(|sets| sets.get() <= MOST_SETS);
        ploidy.unwrap_or_else(|| {
            let what = format!("'{field}' is no ploidy. Write the number of chromosome sets, 1 to {MOST_SETS}, such as 2 for a diploid.");
            self.faults.push(Fault::at(row.line(), "ploidy", what));
            DIPLOID
        })
    }

    fn origin(&mut self, row: TableRow<'_>, columns: &Columns) -> Origin {
        let field = columns.origin.map_or("", |column| row.field(column));
        let (female, male) = (row.field(columns.female), row.field(columns.male));
        let is = |word: &str| field.eq_ignore_ascii_case(word);
        if field.is_empty() || is("cross") {
            return Origin::Cross;
        }
        let mut tell =
            |column: &str, what: String| self.faults.push(Fault::at(row.line(), column, what));
        if is("founder") {
            if !female.is_empty() || !male.is_empty() {
                tell(
                    "origin",
                    "A founder has no parents here. Write cross, or leave female and male empty."
                        .into(),
                );
            }
            return Origin::Cross;
        }
        let origin = if is("doubled") {
            Origin::Doubled
        } else if is("variant") {
            Origin::Variant
        } else {
            tell(
                "origin",
                format!("'{field}' is no origin. Write cross, doubled or variant."),
            );
            return Origin::Cross;
        };
        if female.is_empty() {
            tell(
                "female",
                format!("A plant of origin {field} needs its source in this column."),
            );
        }
        if !male.is_empty() {
            tell(
                "male",
                format!(
                    "A plant of origin {field} has one source, in the column female. Leave this one empty."
                ),
            );
        }
        origin
    }

    fn finish(mut self, unused: Vec<String>) -> Result<Pedigree, Vec<Fault>> {
        let rows = self.drafts.len();
        if rows == 0 && self.faults.is_empty() {
            self.faults
                .push(Fault::of_file("There is no plant in the file."));
        }
        let (mut names, repeated) = Names::of(self.ids);
        for (again, first) in repeated {
            let [line, first_line] = [again, first].map(|row| self.lines[row as usize]);
            let id = names.get(again).unwrap_or_default();
            let what = format!("{id} is on line {first_line} already. Give each plant one row.");
            self.faults.push(Fault::at(line.into(), "id", what));
        }
        // Where each parent stands among the plants; nowhere if its name only says that it isn't known.
        let places: Vec<Option<u32>> = self
            .parents
            .iter()
            .map(|name| match names.find(name) {
                None if is_no_name(name) => None,
                None => Some(names.add(name)),
                found => found,
            })
            .collect();
        let mut plants = Vec::with_capacity(names.len() as usize);
        for (draft, &line) in self.drafts.iter().zip(&self.lines) {
            let mut parents = [None; 2];
            for side in 0..2 {
                let Some(parent) = draft.parents[side] else {
                    continue;
                };
                parents[side] = places[parent as usize];
                if parents[side].is_none() {
                    let text = self.parents.get(parent).unwrap_or_default();
                    let what = format!(
                        "There is no plant '{text}'. Leave the field empty where a parent is unknown."
                    );
                    let column = ["female", "male"][side];
                    self.faults.push(Fault::at(line.into(), column, what));
                }
            }
            let [female, male] = parents;
            plants.push(Plant {
                female,
                male,
                ploidy: draft.ploidy,
                origin: draft.origin,
            });
        }
        if !self.faults.is_empty() {
            self.faults.sort_by_key(|fault| fault.line);
            return Err(self.faults);
        }
        let founder = Plant {
            female: None,
            male: None,
            ploidy: DIPLOID,
            origin: Origin::Cross,
        };
        plants.resize(names.len() as usize, founder);
        Ok(Pedigree {
            plants,
            rows,
            unused,
            names,
            lines: self.lines,
        })
    }
}

/// Whether a name is a way to say that there is none.
fn is_no_name(name: &str) -> bool {
    ["0", "-", ".", "?", "na", "n/a", "nan", "unknown"].contains(&name.to_lowercase().as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faults(text: &str) -> Vec<String> {
        Pedigree::read(text.as_bytes())
            .unwrap_err()
            .iter()
            .map(ToString::to_string)
            .collect()
    }

    #[test]
    fn rows_in_any_order_and_parents_without_a_row() {
        let read = Pedigree::read(
            b"id,female,male,ploidy,origin\nC,A,B,,\nA,,,4,\nD,A,,8,doubled\nE,C,B,2,cross\n",
        )
        .unwrap();
        assert_eq!(read.rows, 4);
        assert_eq!(read.without_row().collect::<Vec<_>>(), ["B"]);
        assert_eq!(read.plants[0].female, Some(1));
        assert_eq!(read.plants[0].male, Some(4));
        assert_eq!(read.plants[3].male, Some(4));
        assert_eq!(
            (read.plants[1].ploidy.get(), read.plants[4].ploidy.get()),
            (4, 2)
        );
        assert_eq!(read.plants[2].origin, Origin::Doubled);
        assert_eq!(
            (read.find("E"), read.name(3), read.line(3)),
            (Some(3), "E", Some(5))
        );
        assert_eq!(
            (read.find("B"), read.line(4), read.find("F")),
            (Some(4), None, None)
        );
    }

    #[test]
    fn every_fault_has_its_line_and_column() {
        let text = "id,female,male,ploidy,origin\nA,,,,\n,A,,,\nA,,,,\nB,A,,x,\nC,A,,20,\nD,A,,,budded\nE,,,,doubled\nF,A,A,2,variant\nG,0,A,,\nH,A\nI,A,,,founder\n";
        let expected = [
            "line 3, column id: Every row needs an id.",
            "line 4, column id: A is on line 2 already. Give each plant one row.",
            "line 5, column ploidy: 'x' is no ploidy. Write the number of chromosome sets, 1 to 16, such as 2 for a diploid.",
            "line 6, column ploidy: '20' is no ploidy. Write the number of chromosome sets, 1 to 16, such as 2 for a diploid.",
            "line 7, column origin: 'budded' is no origin. Write cross, doubled or variant.",
            "line 8, column female: A plant of origin doubled needs its source in this column.",
            "line 9, column male: A plant of origin variant has one source, in the column female. Leave this one empty.",
            "line 10, column female: There is no plant '0'. Leave the field empty where a parent is unknown.",
            "line 11: The row has 2 fields, the header 5. Add what is missing, or quote fields that hold the separator.",
            "line 12, column origin: A founder has no parents here. Write cross, or leave female and male empty.",
        ];
        assert_eq!(faults(text), expected);
        assert_eq!(
            faults("name,female\n"),
            [
                "line 1, column id: There is no such column; there are: name, female.",
                "line 1, column male: There is no such column; there are: name, female."
            ]
        );
        assert_eq!(
            faults("id,female,male\n"),
            ["There is no plant in the file."]
        );
    }
}
