//! What is asked of a table of plots, held against its columns and entries before anything is fitted.

use super::Wanted;
use crate::tables::{CommandResult, faulty};
use crate::terminal::tell;
use crate::voice::Voice;
use exchange::names::{hidden_sign, likeness, looks_like};
use exchange::plots::Plots;
use exchange::records::FixedColumn;
use exchange::rows::{Fault, Rows};
use std::collections::HashMap;

/// The most entries that are compared, each with each.
const MOST_ENTRIES: usize = 5000;
/// Larger numbers than this are slips, and their squares can't be added.
const LARGEST: f64 = 1e60;
/// The most columns listed where one isn't found.
const LISTED: usize = 30;

/// Numbers that differ by less than this can't be worked with.
const LEAST_SPREAD: f64 = 1e-60;
/// Numbers that differ by less than this share of their size differ by rounding alone.
const ROUNDING: f64 = 1e-13;
/// Names of lines of the results.
const RESULTS: [&str; 11] = [
    "entry",
    "residual",
    "nugget",
    "surface",
    "row correlation",
    "column correlation",
    "minus_2_reml_log_likelihood",
    "mean_variance_of_difference",
    "heritability_cullis",
    "heritability_piepho_mohring",
    "component",
];
/// So many rows that repeat others in their order are a table pasted twice, or a part of it.
const PASTED: u64 = 6;
/// Names that stand in a table's last rows, under its plots.
const SUMMARIES: [&str; 16] = [
    "mean",
    "means",
    "average",
    "avg",
    "total",
    "totals",
    "sum",
    "grand mean",
    "grand total",
    "overall mean",
    "lsd",
    "sed",
    "cv",
    "cv%",
    "cv %",
    "std dev",
];

/// The names of a list: separated by commas, those that hold one in double quotes, as in CSV.
pub(super) fn listed(option: &str, given: &[String]) -> CommandResult<Vec<String>> {
    let mut names = Vec::new();
    for text in given {
        if text.is_empty() {
            names.push(String::new());
        }
        if text.matches('"').count() % 2 == 1 {
            return Err(format!(
                "{option} {text}: a double quote is missing. Put each name that holds a comma in a pair of them."
            ));
        }
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .from_reader(text.as_bytes());
        for record in reader.records() {
            let record = record.map_err(|error| format!("{option} {text}: {error}."))?;
            names.extend(record.iter().map(|name| name.trim().to_owned()));
        }
    }
    Ok(names)
}

/// The columns of a term, without the spaces about them. A column whose whole name it is goes first.
pub(super) fn parts(term: &str, header: &[String]) -> Vec<String> {
    if header.iter().any(|name| folded(name) == folded(term)) {
        return vec![term.trim().to_owned()];
    }
    term.split(':').map(|part| part.trim().to_owned()).collect()
}

/// Whether a term is the name of a column that holds the sign of joining, and its parts are columns too.
fn two_meanings(term: &str, header: &[String]) -> bool {
    let is_column = |part: &str| header.iter().any(|name| folded(name) == folded(part));
    term.contains(':') && is_column(term) && term.split(':').all(is_column)
}

/// Whether all numbers are one.
pub(super) fn is_constant(numbers: &[f64]) -> bool {
    numbers
        .iter()
        .all(|number| number.to_bits() == numbers[0].to_bits())
}

/// A name as it is compared: letters large or small are alike.
fn folded(name: &str) -> String {
    name.trim().to_lowercase()
}

/// The name most like another, if any is.
pub(super) fn nearest<'a>(name: &str, known: &'a [String]) -> Option<&'a str> {
    let wanted = folded(name);
    known
        .iter()
        .map(|known| {
            (
                strsim::normalized_damerau_levenshtein(&wanted, &folded(known)),
                known,
            )
        })
        .filter(|(alike, _)| *alike >= 0.6)
        .max_by(|one, other| one.0.total_cmp(&other.0))
        .map(|(_, known)| known.as_str())
}

impl Wanted {
    /// Refuses terms that can't be meant.
    pub(super) fn check_terms(&self, header: &[String]) -> CommandResult<()> {
        let of_trait = folded(&self.of_trait);
        let entry = folded(&self.entry);
        let mut terms: Vec<(&str, &String)> = Vec::new();
        terms.extend(self.fixed.iter().map(|term| ("--fixed", term)));
        terms.extend(self.random.iter().map(|term| ("--random", term)));
        terms.extend(self.residual_by.iter().map(|term| ("--residual-by", term)));
        let mut seen: HashMap<Vec<String>, &str> = HashMap::new();
        for (option, term) in terms {
            let mut columns: Vec<String> = parts(term, header)
                .iter()
                .map(|part| folded(part))
                .collect();
            if two_meanings(term, header) {
                return Err(format!(
                    "{option} {term} may be the column {term}, or {} joined. Rename the column. Nothing was written.",
                    term.split(':')
                        .map(str::trim)
                        .collect::<Vec<_>>()
                        .join(" and ")
                ));
            }
            if columns.iter().any(String::is_empty) {
                return Err(format!(
                    "{option} '{term}' has an empty part. A TERM is a column, or columns joined by ':' such as rep:block."
                ));
            }
            if columns.contains(&of_trait) {
                return Err(format!(
                    "{option} {term} names the trait itself. Leave it out."
                ));
            }
            let mut once: Vec<&String> = Vec::new();
            for column in &columns {
                if once.contains(&column) {
                    return Err(format!(
                        "{option} {term} names {column} twice. Name it once."
                    ));
                }
                once.push(column);
            }
            if option == "--residual-by" {
                continue;
            }
            let name = folded(term);
            let of_levels = self.residual_by.is_some() && name.starts_with("residual ");
            if option == "--random" && (RESULTS.contains(&name.as_str()) || of_levels) {
                return Err(format!(
                    "--random {term} is the name of a line of the results, and the two could not be told apart. Rename the column. Nothing was written."
                ));
            }
            if columns == [entry.clone()] {
                return Err(format!(
                    "{option} {term} names the entries, which are a term already: --entries says whether they are fixed or random. Leave it out."
                ));
            }
            columns.sort();
            if let Some(first) = seen.insert(columns, option) {
                let among = if first == option {
                    format!("twice among {option}")
                } else {
                    format!("among {first} and among {option}")
                };
                return Err(format!("{term} is {among}. Name it once."));
            }
        }
        let mut seen = Vec::new();
        for column in &self.covariate {
            let name = folded(column);
            if name.is_empty() {
                return Err("--covariate has an empty name. Name columns of numbers.".into());
            }
            if name == of_trait {
                return Err(format!(
                    "--covariate {column} names the trait itself. Leave it out."
                ));
            }
            if seen.contains(&name) {
                return Err(format!(
                    "{column} is twice among --covariate. Name it once."
                ));
            }
            seen.push(name);
        }
        if entry == of_trait {
            return Err(format!(
                "--entry {} names the trait itself. Name the column of the entries.",
                self.entry
            ));
        }
        Ok(())
    }

    /// The names of the columns.
    pub(super) fn header(&self, bytes: &[u8], err: &mut Voice<'_>) -> CommandResult<Vec<String>> {
        let rows = Rows::new(bytes).map_err(|fault| faulty(&self.records, &[fault], err))?;
        Ok(rows.header().to_vec())
    }

    /// Tells rows that repeat others in their order, field by field.
    pub(super) fn tell_repeated(&self, bytes: &[u8], err: &mut Voice<'_>) {
        let Ok(mut rows) = Rows::new(bytes) else {
            return;
        };
        let width = rows.header().len();
        let mut first: HashMap<String, usize> = HashMap::new();
        let mut lines = Vec::new();
        // The row that each row repeats.
        let mut repeated: Vec<Option<usize>> = Vec::new();
        while let Some(Ok(row)) = rows.next() {
            let fields: Vec<&str> = (0..width).map(|column| row.field(column)).collect();
            let nth = lines.len();
            lines.push(row.line());
            let earlier = *first.entry(fields.join("\0")).or_insert(nth);
            repeated.push((earlier < nth).then_some(earlier));
        }
        let mut nth = 0;
        while nth < lines.len() {
            let Some(begin) = repeated[nth] else {
                nth += 1;
                continue;
            };
            let run = (0..lines.len() - nth)
                .take_while(|step| repeated.get(nth + step) == Some(&Some(begin + step)))
                .count();
            if run as u64 >= PASTED {
                let told = format!(
                    "{}: Lines {} to {} repeat lines {} to {} word for word, as if pasted twice. All count: take out what is there twice.",
                    self.records.display(),
                    lines[nth],
                    lines[nth + run - 1],
                    lines[begin],
                    lines[begin + run - 1]
                );
                tell(err, &told);
            }
            nth += run;
        }
    }

    /// Names columns that the table doesn't have, with the one most like each.
    pub(super) fn check_columns(
        &self,
        header: &[String],
        err: &mut Voice<'_>,
    ) -> CommandResult<()> {
        let told = |faults: &[Fault], err: &mut Voice<'_>| faulty(&self.records, faults, err);
        let mut names = vec![self.of_trait.clone(), self.entry.clone()];
        let terms = self
            .fixed
            .iter()
            .chain(&self.random)
            .chain(&self.residual_by);
        names.extend(terms.flat_map(|term| parts(term, header)));
        names.extend(
            self.covariate
                .iter()
                .chain(&self.row)
                .chain(&self.column)
                .cloned(),
        );
        let mut faults: Vec<Fault> = Vec::new();
        let missing = |name: &&String| header.iter().all(|known| folded(known) != folded(name));
        for name in names.iter().filter(missing) {
            let perhaps = nearest(name, header)
                .map_or_else(String::new, |near| format!(" Perhaps {near} is meant."));
            let more = if header.len() > LISTED { ", …" } else { "" };
            let list = header[..header.len().min(LISTED)].join(", ");
            let what = format!("There is no such column.{perhaps} There are: {list}{more}.");
            let fault = Fault::of_column(name, what);
            if !faults.contains(&fault) {
                faults.push(fault);
            }
        }
        if faults.is_empty() {
            Ok(())
        } else {
            Err(told(&faults, err))
        }
    }

    /// Names that differ only in how they look or are written, and signs that can't be seen.
    fn unlike_names(&self, plots: &Plots) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (nth, term) in plots.terms.iter().enumerate() {
            let column = if nth == 0 { &self.entry } else { &term.name };
            let mut seen: HashMap<String, usize> = HashMap::new();
            for (level, name) in term.levels.iter().enumerate() {
                let line = first_line(plots, term, level);
                if let Some(sign) = hidden_sign(name) {
                    let what = format!(
                        "'{name}' holds a sign that can't be seen, U+{:04X}. Remove it.",
                        u32::from(sign)
                    );
                    faults.push(Fault::at(line, column, what));
                }
                let number = whole_number(name);
                let Some(other) = seen.insert(number.unwrap_or_else(|| looks_like(name)), level)
                else {
                    continue;
                };
                let earlier = &term.levels[other];
                if looks_like(name) != looks_like(earlier) {
                    let what = format!(
                        "'{name}' and '{earlier}' on line {} are one number. Write both alike.",
                        first_line(plots, term, other)
                    );
                    faults.push(Fault::at(line, column, what));
                    continue;
                }
                let how = likeness(name, earlier);
                // Blocks may well be called a and A.
                if nth > 0 && name.to_lowercase() == earlier.to_lowercase() {
                    continue;
                }
                let what = format!(
                    "'{name}' differs only in {how} from '{earlier}' on line {}. Write both alike.",
                    first_line(plots, term, other)
                );
                faults.push(Fault::at(line, column, what));
            }
        }
        faults
    }

    /// Names numbers that are too large, entries written in two ways, and terms that can't be told from the entries.
    pub(super) fn check_records(
        &self,
        plots: &Plots,
        header: &[String],
        err: &mut Voice<'_>,
    ) -> CommandResult<()> {
        let mut faults = Vec::new();
        let mut too_large = |name: &str, numbers: &[f64]| {
            for (number, &line) in numbers.iter().zip(&plots.line) {
                if number.abs() > LARGEST {
                    let what = format!("{number:e} is too large a number. Correct it.");
                    faults.push(Fault::at(line, name, what));
                }
            }
        };
        too_large(&self.of_trait, &plots.value);
        let places = self.row.iter().chain(&self.column);
        for (name, numbers) in self.covariate.iter().chain(places).zip(&plots.numbers) {
            too_large(name, numbers);
        }
        let entry = &plots.terms[0];
        faults.extend(self.unlike_names(plots));
        if !faults.is_empty() {
            return Err(faulty(&self.records, &faults, err));
        }
        let (least, most) = plots
            .value
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &value| {
                (low.min(value), high.max(value))
            });
        if most > least && most - least < ROUNDING * most.abs().max(least.abs()) {
            return Err(format!(
                "{} does not vary: its values differ by {:e} at most, which is rounding. There is nothing to compare. Nothing was written.",
                self.of_trait,
                most - least
            ));
        }
        if most > least && most - least < LEAST_SPREAD {
            return Err(format!(
                "The values of {} differ by {:e} at most, which is too little to work with. Give them in a smaller unit. Nothing was written.",
                self.of_trait,
                most - least
            ));
        }
        for (level, name) in entry.levels.iter().enumerate() {
            if SUMMARIES.contains(&folded(name).as_str()) {
                let what = format!(
                    "'{name}' looks like a line of means or totals. It is taken as an entry: if it is none, take the row out."
                );
                let note = Fault::at(first_line(plots, entry, level), &self.entry, what);
                tell(err, &format!("{}, {note}", self.records.display()));
            }
        }
        let fixed = self.fixed.iter().zip(&plots.terms[1..]);
        let flat = fixed
            .filter(|(_, read)| read.levels.len() < 2)
            .map(|(term, _)| term);
        let covariates = self.covariate.iter().zip(&plots.numbers);
        let level = covariates
            .filter(|(_, numbers)| is_constant(numbers))
            .map(|(name, _)| name);
        for name in flat.chain(level) {
            tell(
                err,
                &format!("{name} is the same in every record: it makes no difference here."),
            );
        }
        let count = entry.levels.len();
        if count > MOST_ENTRIES {
            return Err(format!(
                "{} has {count} entries, and at most {MOST_ENTRIES} are compared with each other. Analyse a part of them, or use binewright evaluate. Nothing was written.",
                self.records.display()
            ));
        }
        let following = self.following_entries(plots);
        // As many as tell all entries apart leave nothing to them even where they are random.
        let all_of_them = following.len() + 1 >= count;
        if let Some(&first) = following
            .first()
            .filter(|_| self.entries == super::Taken::Fixed || all_of_them)
        {
            let or = if all_of_them {
                ""
            } else {
                ", or take the entries as random"
            };
            return Err(format!(
                "{} and {name} can't be told apart: {name} is the same in all records of each {}. Leave {name} out of the covariates{or}. Nothing was written.",
                self.entry,
                self.entry,
                name = self.covariate[first],
            ));
        }
        let own = folded(&self.entry);
        for (term, read) in self.fixed.iter().zip(&plots.terms[1..]) {
            let holds_entry = parts(term, header).iter().any(|part| folded(part) == own);
            if !holds_entry && read.levels.len() > 1 && count > 1 && lies_within(read, entry) {
                return Err(format!(
                    "{} and {term} can't be told apart: no level of {term} holds two entries. Leave {term} out of the fixed terms. Nothing was written.",
                    self.entry
                ));
            }
        }
        Ok(())
    }
}

/// The line on which a level first stands.
fn first_line(plots: &Plots, term: &FixedColumn, level: usize) -> u64 {
    let first = term.level.iter().position(|&other| other == level);
    first.map_or(1, |record| plots.line[record])
}

/// A name that is a whole number, as that number: 7, 07 and 7.0 are one. Of 1.1 and 1.10 that can't be said.
fn whole_number(name: &str) -> Option<String> {
    let (whole, rest) = name.split_once(['.', ',']).unwrap_or((name, ""));
    let digits = |text: &str| text.bytes().all(|sign| sign.is_ascii_digit());
    let is_number = !whole.is_empty() && digits(whole) && rest.bytes().all(|sign| sign == b'0');
    let number = whole.trim_start_matches('0');
    is_number.then(|| if number.is_empty() { "0" } else { number }.to_owned())
}

/// Whether each level of a term holds a single level of another.
pub(super) fn lies_within(fine: &FixedColumn, coarse: &FixedColumn) -> bool {
    let mut parent = vec![None; fine.levels.len()];
    fine.level
        .iter()
        .zip(&coarse.level)
        .all(|(&level, &above)| *parent[level].get_or_insert(above) == above)
}
