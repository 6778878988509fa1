//! Entries of a trial compared, from a table of plots.

mod report;
mod sentences;
mod terms;

use super::plants::Plants;
use super::tables::{CommandResult, faulty, may_write, other_guard, read};
use crate::terminal::tell;
use crate::voice::Voice;
use clap::ValueEnum;
use exchange::plots::{PlotColumns, Plots};
use exchange::rows::Fault;
use quant::trial::{Analysis, Entries, Factor, Heritability, Related, Space, Trial};
use std::collections::HashMap;
use std::io::Write;
use std::path::{Path, PathBuf};

/// The most places a field may have, with or without a plot.
const MOST_PLACES: usize = 250_000;
/// The highest number of a row or column.
const FARTHEST: f64 = 1e6;
/// The largest measure of a place, in either direction: well beyond any map's metres.
const FARTHEST_MEASURE: f64 = 1e9;

/// How entries are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub(crate) enum Taken {
    /// As they are: adjusted means.
    #[default]
    Fixed,
    /// As drawn from a population: predictions.
    Random,
}

impl Taken {
    fn entries(self) -> Entries {
        match self {
            Self::Fixed => Entries::Fixed,
            Self::Random => Entries::Random,
        }
    }
}

/// What is made of the place of a plot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub(crate) enum SpaceChoice {
    /// Nothing.
    #[default]
    None,
    /// Neighbours are alike: autoregression over rows and columns.
    Ar1,
    /// A smooth surface of penalized splines.
    Spline,
}

/// What is to be analysed.
#[derive(Debug, Clone, PartialEq, clap::Args)]
pub struct Wanted {
    /// CSV with columns by name, one row a plot or harvest.
    records: PathBuf,
    /// The column to analyse.
    #[arg(long = "trait", value_name = "NAME")]
    of_trait: String,
    /// The column of the entries.
    #[arg(long, value_name = "COL")]
    entry: String,
    /// Whether the entries are fixed, for adjusted means, or random, for predictions.
    #[arg(long, value_enum, default_value_t)]
    entries: Taken,
    /// Fixed terms, separated by commas: columns, or columns joined by ':' such as rep:block. A name that holds a comma
    /// goes in double quotes.
    #[arg(long, value_name = "TERM,TERM")]
    fixed: Vec<String>,
    /// Random terms, separated by commas.
    #[arg(long, value_name = "TERM,TERM")]
    random: Vec<String>,
    /// Columns of numbers to correct for.
    #[arg(long, value_name = "COL,COL")]
    covariate: Vec<String>,
    /// The column of the plots' rows: whole numbers with ar1, with spline any measure, such as metres.
    #[arg(long, value_name = "COL", requires = "column")]
    row: Option<String>,
    /// The column of the plots' columns, likewise.
    #[arg(long, value_name = "COL", requires = "row")]
    column: Option<String>,
    /// What is made of the place of a plot. Whether it is worth it goes to standard error.
    #[arg(long, value_enum, default_value_t)]
    space: SpaceChoice,
    /// With ar1: each plot also has an error that its neighbours don't share.
    #[arg(long)]
    nugget: bool,
    /// A column, or columns joined by ':', whose levels have a residual variance each, such as site.
    #[arg(long, value_name = "TERM")]
    residual_by: Option<String>,
    /// Entries that the others are compared with, separated by commas; the option may be repeated. A name that holds a
    /// comma goes in double quotes.
    #[arg(long, value_name = "NAME,NAME", allow_hyphen_values = true)]
    check: Vec<String>,
    /// With --check: add to OUT the probability that an entry exceeds each check by more than this.
    #[arg(value_parser = crate::amount, long, value_name = "AMOUNT", allow_negative_numbers = true)]
    exceed: Option<f64>,
    /// Add to each variance and correlation the ends of its 95 % interval, by the profile of the likelihood.
    #[arg(long)]
    intervals: bool,
    /// CSV as for kinship, or a project: random entries are related through it.
    #[arg(long, value_name = "PEDIGREE.csv")]
    pedigree: Option<PathBuf>,
    /// The file to write the entries to. Where the records fall apart into groups of entries that they don't connect, each
    /// group is ranked by itself, its means are those over the levels of the fixed terms that it has, and a last column
    /// numbers the groups. A mean that the records can't give is left empty, and its entry named.
    #[arg(long, value_name = "OUT.csv")]
    out: Option<PathBuf>,
}

/// The trial as it was read, and as it was fitted.
struct Analysed<'a> {
    plots: &'a Plots,
    trial: &'a Trial,
    main: Analysis,
    /// With the entries taken the other way, if that can be fitted.
    other: Option<Analysis>,
    checks: Vec<usize>,
    /// Whether a covariate follows the entries: random entries are compared beside it all the same.
    is_followed: bool,
}

impl Analysed<'_> {
    /// The group of each entry, where the records fall apart into several; seen where the entries are fixed.
    fn groups(&self) -> Option<&[usize]> {
        let fixed = self.taken(Entries::Fixed).unwrap_or(&self.main);
        let several = !fixed.all_comparable() && !self.is_followed;
        several.then_some(fixed.group.as_slice())
    }

    fn names(&self) -> &[String] {
        &self.plots.terms[0].levels
    }

    fn taken(&self, entries: Entries) -> Option<&Analysis> {
        if self.main.entries == entries {
            Some(&self.main)
        } else {
            self.other.as_ref()
        }
    }

    fn heritability(&self) -> Heritability {
        let taken = |entries| self.taken(entries);
        Heritability::of(self.trial, taken(Entries::Random), taken(Entries::Fixed))
    }

    /// The analysis that entries are ranked by: where random entries don't vary, that of their adjusted means.
    fn ranking(&self) -> &Analysis {
        let nothing_to_shrink =
            self.main.entries == Entries::Random && self.main.entries_are_alike();
        self.taken(Entries::Fixed)
            .filter(|_| nothing_to_shrink)
            .unwrap_or(&self.main)
    }
}

pub(super) fn run(wanted: &Wanted, out: &mut dyn Write, err: &mut Voice<'_>) -> CommandResult<u8> {
    let wanted = &wanted.listed()?;
    let inputs: Vec<&Path> = std::iter::once(wanted.records.as_path())
        .chain(wanted.pedigree.as_deref())
        .collect();
    may_write(wanted.out.as_deref(), &inputs)?;
    wanted.check_options()?;
    let bytes = read(&wanted.records)?;
    let header = wanted.header(&bytes, err)?;
    wanted.check_terms(&header)?;
    let plots = wanted.plots(&bytes, &header, err)?;
    let checks = wanted.checks(&plots.terms[0].levels)?;
    let trial = wanted.trial(&plots, err)?;
    let main = trial.analyse(wanted.entries.entries()).map_err(|error| {
        let why = wanted.told(&error, wanted.entries == Taken::Random, &plots);
        format!("{why} Nothing was written.")
    })?;
    let other = wanted.other(&trial, &plots, err);
    let analysed = Analysed {
        plots: &plots,
        trial: &trial,
        main,
        other,
        checks,
        is_followed: !wanted.following_entries(&plots).is_empty(),
    };
    let report = wanted.report(&analysed, err)?;
    // On the disk first, printed then, and put in its place last: whatever fails, nothing was given.
    let waiting = match &wanted.out {
        Some(to) => Some(wanted.entry_sheet(&analysed)?.stage(Some(to), &inputs)?),
        None => None,
    };
    wanted.tell_findings(&analysed, err);
    report.deliver(None, &[], out)?;
    if let Some(waiting) = waiting {
        waiting.deliver(out)?;
    }
    Ok(0)
}

impl Wanted {
    /// The same with the lists of its options taken apart.
    fn listed(&self) -> CommandResult<Self> {
        Ok(Self {
            fixed: terms::listed("--fixed", &self.fixed)?,
            random: terms::listed("--random", &self.random)?,
            covariate: terms::listed("--covariate", &self.covariate)?,
            ..self.clone()
        })
    }

    /// The trial with the entries taken the other way, for the heritability.
    fn other(&self, trial: &Trial, plots: &Plots, err: &mut Voice<'_>) -> Option<Analysis> {
        if trial.entry.levels < 2 {
            let told = "Only one entry has records: there is nothing to compare it with.";
            tell(err, told);
            return None;
        }
        let (entries, word) = match self.entries {
            Taken::Fixed => (Entries::Random, "random"),
            Taken::Random => (Entries::Fixed, "fixed"),
        };
        let other = trial.analyse(entries).map_err(|error| {
            let why = self.told(&error, entries == Entries::Random, plots);
            let told = format!("With entries {word}, for the heritability: {why}");
            tell(err, &told);
        });
        other.ok()
    }

    fn check_options(&self) -> CommandResult<()> {
        let told = |what: &str| Err(what.to_owned());
        if self.space != SpaceChoice::None && (self.row.is_none() || self.column.is_none()) {
            return told(
                "--space needs --row and --column: the columns with the place of each plot.",
            );
        }
        if self.nugget && self.space != SpaceChoice::Ar1 {
            return told("--nugget goes with --space ar1.");
        }
        if self.residual_by.is_some() && self.space == SpaceChoice::Ar1 {
            return told(
                "--residual-by goes without --space ar1: analyse each environment by itself, or use --space spline.",
            );
        }
        if self.pedigree.is_some() && self.entries == Taken::Fixed {
            return told(
                "--pedigree goes with --entries random: fixed entries are compared as they are.",
            );
        }
        if let Some(amount) = self.exceed {
            if !amount.is_finite() {
                return Err(format!(
                    "--exceed {amount} is no amount. Give a number, such as 0 or 1.5."
                ));
            }
            if self.check.is_empty() || self.out.is_none() {
                return told("--exceed goes with --check and --out.");
            }
        }
        Ok(())
    }

    fn plots(&self, bytes: &[u8], header: &[String], err: &mut Voice<'_>) -> CommandResult<Plots> {
        let named = self.fixed.iter().chain(&self.random);
        let terms: Vec<Vec<String>> = std::iter::once(vec![self.entry.clone()])
            .chain(
                named
                    .chain(&self.residual_by)
                    .map(|term| terms::parts(term, header)),
            )
            .collect();
        let mut numbers = self.covariate.clone();
        if self.space == SpaceChoice::None {
            if self.row.is_some() {
                let told = "--row and --column are used with --space ar1 or --space spline only.";
                tell(err, told);
            }
        } else {
            numbers.extend(self.row.iter().chain(&self.column).cloned());
        }
        let columns = PlotColumns {
            of_trait: &self.of_trait,
            terms: &terms,
            numbers: &numbers,
        };
        self.check_columns(header, err)?;
        let plots =
            Plots::read(bytes, columns).map_err(|faults| faulty(&self.records, &faults, err))?;
        self.check_records(&plots, header, err)?;
        self.tell_repeated(bytes, err);
        if plots.without_value > 0 {
            let (path, rows) = (self.records.display(), plots.without_value);
            let rows = match rows {
                1 => "1 row without a value was".to_owned(),
                rows => format!("{rows} rows without a value were"),
            };
            tell(err, &format!("{path}: {rows} passed over."));
        }
        if !plots.never_seen.is_empty() {
            let told = format!(
                "No record of {} has a value: left out.",
                sentences::some_of(&plots.never_seen)
            );
            tell(err, &told);
        }
        Ok(plots)
    }

    /// The entries that the others are compared with. A name stands for itself, and else for a list of names.
    fn checks(&self, names: &[String]) -> CommandResult<Vec<usize>> {
        let mut checks = Vec::new();
        for given in &self.check {
            let list = if names.iter().any(|name| name == given.trim()) {
                vec![given.clone()]
            } else {
                terms::listed("--check", std::slice::from_ref(given))?
            };
            for check in list {
                let check = check.trim();
                if check.is_empty() {
                    return Err(
                        "--check has an empty name. Name an entry. Nothing was written.".into(),
                    );
                }
                let find = |wanted: &str| names.iter().position(|name| name == wanted);
                let place = find(check).or_else(|| find(&other_guard(check)?));
                let place = place.ok_or_else(|| {
                    let perhaps = terms::nearest(check, names)
                        .map_or_else(String::new, |near| format!(" Perhaps {near} is meant."));
                    format!(
                        "--check {check}: no record has this entry.{perhaps} Nothing was written."
                    )
                })?;
                if !checks.contains(&place) {
                    checks.push(place);
                }
            }
        }
        Ok(checks)
    }

    fn trial(&self, plots: &Plots, err: &mut Voice<'_>) -> CommandResult<Trial> {
        let factor = |term: &exchange::records::FixedColumn| Factor {
            level: term.level.clone(),
            levels: term.levels.len(),
        };
        let (fixed, others) = plots.terms[1..].split_at(self.fixed.len());
        let (random, residual_by) = others.split_at(self.random.len());
        let related = match &self.pedigree {
            Some(path) => Some(self.related(plots, path, err)?),
            None => None,
        };
        Ok(Trial {
            values: plots.value.clone(),
            entry: factor(&plots.terms[0]),
            fixed: fixed.iter().map(factor).collect(),
            random: random.iter().map(factor).collect(),
            covariates: plots.numbers[..self.covariate.len()].to_vec(),
            space: self.space(plots, err)?,
            residual_by: residual_by.first().map(factor),
            related,
        })
    }

    fn related(&self, plots: &Plots, path: &Path, err: &mut Voice<'_>) -> CommandResult<Related> {
        let plants = Plants::read(path, 0.0, err)?;
        let mut faults = Vec::new();
        let mut plant = Vec::new();
        for (entry, name) in plots.terms[0].levels.iter().enumerate() {
            let guarded = || plants.find(&other_guard(name)?);
            if let Some(found) = plants.find(name).or_else(guarded) {
                plant.push(found);
                continue;
            }
            let levels = &plots.terms[0].level;
            let first = levels.iter().position(|&level| level == entry);
            let line = first.map_or(1, |record| plots.line[record]);
            let what =
                format!("{name} is not in the pedigree. Add it there, or correct the entry.");
            faults.push(Fault::at(line, &self.entry, what));
        }
        if !faults.is_empty() {
            return Err(faulty(&self.records, &faults, err));
        }
        let kinship = plants.kinship();
        let count = plant.len() as f64;
        let own: f64 = plant.iter().map(|&p| kinship.relationship(p, p)).sum();
        let all: f64 = plant
            .iter()
            .flat_map(|&one| {
                plant
                    .iter()
                    .map(move |&other| kinship.relationship(one, other))
            })
            .sum();
        Ok(Related {
            relationship: quant::evaluation::Relationship::additive(kinship),
            mean_difference: 2.0 * (own * count - all) / (count * (count - 1.0)).max(1.0),
            plant,
        })
    }

    fn space(&self, plots: &Plots, err: &mut Voice<'_>) -> CommandResult<Space> {
        let ([.., row, column], true) = (plots.numbers.as_slice(), self.space != SpaceChoice::None)
        else {
            return Ok(Space::None);
        };
        let place: Vec<[f64; 2]> = row.iter().zip(column).map(|(&r, &c)| [r, c]).collect();
        let mut places = place.clone();
        places.sort_by(|one, other| {
            one[0]
                .total_cmp(&other[0])
                .then(one[1].total_cmp(&other[1]))
        });
        places.dedup();
        self.check_sides(&place)?;
        if self.space == SpaceChoice::Ar1 {
            self.check_places(&place, plots, err)?;
        } else {
            self.check_measures(&place, plots, err)?;
        }
        if places.len() < 4 {
            return Err(format!(
                "The plots stand on {} different places, which are too few to tell space by. Leave --space out. Nothing was written.",
                places.len()
            ));
        }
        if self.space == SpaceChoice::Spline {
            return Ok(Space::Surface { place });
        }
        let least = |nth: usize| place.iter().map(|at| at[nth] as i64).min().unwrap_or(0);
        let first = [least(0), least(1)];
        let place: Vec<[usize; 2]> = place
            .iter()
            .map(|at| [0, 1].map(|nth| (at[nth] as i64 - first[nth]) as usize))
            .collect();
        let size = [0, 1].map(|nth| place.iter().map(|at| at[nth]).max().unwrap_or(0) + 1);
        if size[0] * size[1] > MOST_PLACES {
            return Err(format!(
                "{} rows by {} columns are more than {MOST_PLACES} places. Number rows and columns without gaps. Nothing was written.",
                size[0], size[1]
            ));
        }
        Ok(Space::Neighbours {
            place,
            size,
            nugget: self.nugget,
        })
    }

    /// Refuses rows and columns of which one tells the other: there is no field then, only a line of plots.
    fn check_sides(&self, place: &[[f64; 2]]) -> CommandResult<()> {
        let several = |side: usize| {
            place
                .iter()
                .any(|at| at[side].to_bits() != place[0][side].to_bits())
        };
        if !several(0) || !several(1) {
            return Ok(());
        }
        let tells = |side: usize| {
            let mut other: HashMap<u64, u64> = HashMap::new();
            place.iter().all(|at| {
                let [own, across] = [at[side], at[1 - side]].map(f64::to_bits);
                *other.entry(own).or_insert(across) == across
            })
        };
        let [row, column] = [&self.row, &self.column].map(|name| name.clone().unwrap_or_default());
        if tells(0) || tells(1) {
            return Err(format!(
                "--row {row} and --column {column} can't be told apart: plots of one {} never stand in two {}. Name the columns that hold the rows and the columns of the field. Nothing was written.",
                if tells(0) { "row" } else { "column" },
                if tells(0) { "columns" } else { "rows" },
            ));
        }
        Ok(())
    }

    /// Names measures that no field reaches.
    fn check_measures(
        &self,
        place: &[[f64; 2]],
        plots: &Plots,
        err: &mut Voice<'_>,
    ) -> CommandResult<()> {
        let names = [&self.row, &self.column].map(|name| name.clone().unwrap_or_default());
        let mut faults = Vec::new();
        for (at, &line) in place.iter().zip(&plots.line) {
            for (number, name) in at.iter().zip(&names) {
                if number.abs() > FARTHEST_MEASURE {
                    let which = if *number > 0.0 { "high" } else { "low" };
                    let what = format!(
                        "{number} is too {which}: with --space spline rows and columns lie between -{FARTHEST_MEASURE} and {FARTHEST_MEASURE}. Correct it."
                    );
                    faults.push(Fault::at(line, name, what));
                }
            }
        }
        if faults.is_empty() {
            Ok(())
        } else {
            Err(faulty(&self.records, &faults, err))
        }
    }

    /// Names places that are no row and column, or are taken twice.
    fn check_places(
        &self,
        place: &[[f64; 2]],
        plots: &Plots,
        err: &mut Voice<'_>,
    ) -> CommandResult<()> {
        let names = [&self.row, &self.column].map(|name| name.clone().unwrap_or_default());
        let mut faults = Vec::new();
        let mut notes = Vec::new();
        let mut seen: HashMap<[i64; 2], u64> = HashMap::new();
        for (at, &line) in place.iter().zip(&plots.line) {
            let mut whole = true;
            for (number, name) in at.iter().zip(&names) {
                let what = if *number > FARTHEST {
                    format!(
                        "{number} is too high: rows and columns are numbered up to {FARTHEST}. Correct it."
                    )
                } else if *number < -FARTHEST {
                    format!(
                        "{number} is too low: rows and columns are numbered from -{FARTHEST}. Correct it."
                    )
                } else if number.fract() != 0.0 {
                    format!(
                        "{number} is no whole number. With --space ar1 rows and columns are numbered, such as 12; --space spline takes any measure."
                    )
                } else {
                    continue;
                };
                whole = false;
                faults.push(Fault::at(line, name, what));
            }
            let numbers = at.map(|number| number as i64);
            if !whole {
                continue;
            }
            if let Some(&first) = seen.get(&numbers) {
                let [row, column] = numbers;
                let told = format!("Row {row} and column {column} are already on line {first}");
                if self.nugget {
                    let note = format!("{told}: both count as records of one plot.");
                    notes.push(Fault::at(line, &names[0], note));
                } else {
                    let what = format!(
                        "{told}. Correct one; or, if a plot was recorded several times, add --nugget."
                    );
                    faults.push(Fault::at(line, &names[0], what));
                }
            } else {
                seen.insert(numbers, line);
            }
        }
        if faults.is_empty() {
            for note in notes.iter().take(sentences::MOST_NOTES) {
                tell(err, &format!("{}, {note}", self.records.display()));
            }
            sentences::tell_rest(notes.len(), "places are taken twice", err);
            Ok(())
        } else {
            Err(faulty(&self.records, &faults, err))
        }
    }
}
