//! Entries of a trial compared, from a table of plots.

mod terms;

use super::plants::Plants;
use super::tables::{CommandResult, Sheet, faulty, may_write, read};
use crate::terminal::tell;
use clap::ValueEnum;
use exchange::plots::{PlotColumns, Plots};
use exchange::rows::Fault;
use quant::evaluation::{EvaluationError, Finding};
use quant::trial::{Analysis, Entries, Factor, Heritability, Related, Space, Trial};
use std::collections::HashMap;
use std::io::Write;
use std::path::{Path, PathBuf};

/// The most places a field may have, with or without a plot.
const MOST_PLACES: usize = 250_000;

/// How entries are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub(crate) enum Taken {
    /// As they are: adjusted means.
    #[default]
    Fixed,
    /// As drawn from a population: predictions.
    Random,
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
    /// Fixed terms, separated by commas: columns, or columns joined by ':' such as rep:block.
    #[arg(long, value_name = "TERM,TERM", value_delimiter = ',')]
    fixed: Vec<String>,
    /// Random terms, separated by commas.
    #[arg(long, value_name = "TERM,TERM", value_delimiter = ',')]
    random: Vec<String>,
    /// Columns of numbers to correct for.
    #[arg(long, value_name = "COL,COL", value_delimiter = ',')]
    covariate: Vec<String>,
    /// The column of the plots' rows, whole numbers.
    #[arg(long, value_name = "COL", requires = "column")]
    row: Option<String>,
    /// The column of the plots' columns, whole numbers.
    #[arg(long, value_name = "COL", requires = "row")]
    column: Option<String>,
    /// What is made of the place of a plot.
    #[arg(long, value_enum, default_value_t)]
    space: SpaceChoice,
    /// With ar1: each plot also has an error that its neighbours don't share.
    #[arg(long)]
    nugget: bool,
    /// A column, or columns joined by ':', whose levels have a residual variance each, such as site.
    #[arg(long, value_name = "TERM")]
    residual_by: Option<String>,
    /// Entries that the others are compared with, separated by commas.
    #[arg(long, value_name = "NAME,NAME", value_delimiter = ',')]
    check: Vec<String>,
    /// CSV as for kinship, or a project: random entries are related through it.
    #[arg(long, value_name = "PEDIGREE.csv")]
    pedigree: Option<PathBuf>,
    /// The file to write the entries to.
    #[arg(long, value_name = "OUT.csv")]
    out: Option<PathBuf>,
}

pub(super) fn run(wanted: &Wanted, out: &mut dyn Write, err: &mut dyn Write) -> CommandResult<u8> {
    let inputs: Vec<&Path> = std::iter::once(wanted.records.as_path())
        .chain(wanted.pedigree.as_deref())
        .collect();
    may_write(wanted.out.as_deref(), &inputs)?;
    wanted.check_terms()?;
    let plots = wanted.plots(err)?;
    let names = &plots.terms[0].levels;
    let checks = wanted.checks(names)?;
    let mut trial = wanted.trial(&plots, err)?;
    let analysed = |trial: &Trial, entries| trial.analyse(entries);
    let taken = match wanted.entries {
        Taken::Fixed => Entries::Fixed,
        Taken::Random => Entries::Random,
    };
    let mut main = analysed(&trial, taken);
    if let Err(EvaluationError::ResidualAtZero { .. }) = main
        && let Space::Neighbours { nugget, .. } = &mut trial.space
        && *nugget
    {
        tell(err, "The variance of the nugget is 0: fitted without it.");
        *nugget = false;
        main = analysed(&trial, taken);
    }
    let main = main.map_err(|error| {
        let why = wanted.told(&error, taken == Entries::Random);
        format!("{why} Nothing was written.")
    })?;
    let (other_taken, word) = match taken {
        Entries::Fixed => (Entries::Random, "random"),
        Entries::Random => (Entries::Fixed, "fixed"),
    };
    let other = if names.len() < 2 {
        let told = "Only one entry has records: there is nothing to compare it with.";
        tell(err, told);
        None
    } else {
        let other = analysed(&trial, other_taken).map_err(|error| {
            let why = wanted.told(&error, other_taken == Entries::Random);
            let told = format!("With entries {word}, for the heritability: {why}");
            tell(err, &told);
        });
        other.ok()
    };
    let (fixed, random) = match taken {
        Entries::Fixed => (Some(&main), other.as_ref()),
        Entries::Random => (other.as_ref(), Some(&main)),
    };
    let heritability = Heritability::of(&trial, random, fixed);
    wanted.tell_findings(&main, err);
    let nothing_to_shrink =
        taken == Entries::Random && main.fit.components().get(0).get(0, 0) == 0.0;
    if nothing_to_shrink {
        let how = "The variance of the entries is 0: nothing can be predicted of them. They are ranked by their adjusted means.";
        tell(err, how);
    }
    let ranked_by = if nothing_to_shrink {
        fixed.unwrap_or(&main)
    } else {
        &main
    };
    for &check in &checks {
        tell_against(names, check, ranked_by, err);
    }
    if let Some(to) = &wanted.out {
        let sheet = entry_sheet(names, &main, ranked_by)?;
        sheet.deliver(Some(to), &inputs, out)?;
    }
    wanted.report(&main, &plots, heritability, out)?;
    Ok(0)
}

impl Wanted {
    fn plots(&self, err: &mut dyn Write) -> CommandResult<Plots> {
        let named = self.fixed.iter().chain(&self.random);
        let terms: Vec<Vec<String>> = std::iter::once(vec![self.entry.clone()])
            .chain(
                named
                    .chain(&self.residual_by)
                    .map(|term| terms::parts(term)),
            )
            .collect();
        let mut numbers = self.covariate.clone();
        if self.space != SpaceChoice::None {
            let (Some(row), Some(column)) = (&self.row, &self.column) else {
                return Err(
                    "--space needs --row and --column: the columns with the place of each plot."
                        .into(),
                );
            };
            numbers.extend([row.clone(), column.clone()]);
        }
        if self.nugget && self.space != SpaceChoice::Ar1 {
            return Err("--nugget goes with --space ar1.".into());
        }
        if self.residual_by.is_some() && self.space == SpaceChoice::Ar1 {
            return Err(
                "--residual-by goes without --space ar1: analyse each environment by itself, or use --space spline."
                    .into(),
            );
        }
        if self.pedigree.is_some() && self.entries == Taken::Fixed {
            return Err(
                "--pedigree goes with --entries random: fixed entries are compared as they are."
                    .into(),
            );
        }
        let columns = PlotColumns {
            of_trait: &self.of_trait,
            terms: &terms,
            numbers: &numbers,
        };
        let bytes = read(&self.records)?;
        self.check_columns(&bytes, err)?;
        let plots =
            Plots::read(&bytes, columns).map_err(|faults| faulty(&self.records, &faults, err))?;
        self.check_records(&plots, err)?;
        if plots.without_value > 0 {
            let (path, rows) = (self.records.display(), plots.without_value);
            tell(
                err,
                &format!("{path}: {rows} rows without a value were passed over."),
            );
        }
        Ok(plots)
    }

    fn checks(&self, names: &[String]) -> CommandResult<Vec<usize>> {
        let mut checks = Vec::new();
        for check in &self.check {
            let place = names.iter().position(|name| name == check.trim());
            let place = place.ok_or_else(|| {
                let perhaps = terms::nearest(check, names)
                    .map_or_else(String::new, |near| format!(" Perhaps {near} is meant."));
                format!("--check {check}: no record has this entry.{perhaps} Nothing was written.")
            })?;
            if !checks.contains(&place) {
                checks.push(place);
            }
        }
        Ok(checks)
    }

    fn trial(&self, plots: &Plots, err: &mut dyn Write) -> CommandResult<Trial> {
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

    fn related(&self, plots: &Plots, path: &Path, err: &mut dyn Write) -> CommandResult<Related> {
        let plants = Plants::read(path, 0.0, err)?;
        let mut faults = Vec::new();
        let mut plant = Vec::new();
        for (entry, name) in plots.terms[0].levels.iter().enumerate() {
            if let Some(found) = plants.find(name) {
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

    fn space(&self, plots: &Plots, err: &mut dyn Write) -> CommandResult<Space> {
        let [.., row, column] = plots.numbers.as_slice() else {
            return Ok(Space::None);
        };
        let place: Vec<[f64; 2]> = row.iter().zip(column).map(|(&r, &c)| [r, c]).collect();
        match self.space {
            SpaceChoice::None => return Ok(Space::None),
            SpaceChoice::Spline => return Ok(Space::Surface { place }),
            SpaceChoice::Ar1 => {}
        }
        let names = [&self.row, &self.column].map(|name| name.clone().unwrap_or_default());
        let mut faults = Vec::new();
        let mut seen: HashMap<[i64; 2], u64> = HashMap::new();
        for (at, &line) in place.iter().zip(&plots.line) {
            for (number, name) in at.iter().zip(&names) {
                if number.fract() != 0.0 || number.abs() > 1e6 {
                    let what = "A row or column is a whole number, such as 12.";
                    faults.push(Fault::at(line, name, what));
                }
            }
            let whole = at.map(|number| number as i64);
            if let Some(first) = seen.insert(whole, line)
                && !self.nugget
            {
                let what = format!(
                    "Row {} and column {} are already on line {first}. Correct one, or allow several records of a plot with --nugget.",
                    whole[0], whole[1]
                );
                faults.push(Fault::at(line, &names[0], what));
            }
        }
        if !faults.is_empty() {
            return Err(faulty(&self.records, &faults, err));
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

    /// The name of a random effect of the model.
    fn effect_name(&self, effect: usize, entries_random: bool) -> String {
        let first = usize::from(entries_random);
        if effect < first {
            return "entry".into();
        }
        let space = match self.space {
            SpaceChoice::Spline => "surface",
            _ => "the correlated part of the plots",
        };
        self.random
            .get(effect - first)
            .map_or_else(|| space.into(), Clone::clone)
    }

    /// Why a model can't be fitted, in the words of the table.
    fn told(&self, error: &EvaluationError, entries_random: bool) -> String {
        let name = |effect: usize| self.effect_name(effect, entries_random);
        match error {
            EvaluationError::NotSeparable { effects, residual } => {
                let mut names: Vec<String> = effects.iter().map(|&(_, k)| name(k)).collect();
                let last = names.last().cloned().unwrap_or_default();
                if *residual {
                    names.push("residual".into());
                }
                match names.as_slice() {
                    [_] if effects.is_empty() => {
                        "A level of --residual-by has no more records than the fixed terms take: join it with another, \
                        or leave its records out."
                            .into()
                    }
                    [one] => format!(
                        "The fixed terms determine {one} completely: leave it out of the random or of the fixed \
                        terms."
                    ),
                    _ => format!(
                        "{} are the same here: leave out {last}.",
                        names.join(" and ")
                    ),
                }
            }
            EvaluationError::NotReplicated { effect, .. } => {
                let name = name(*effect);
                format!(
                    "{name} and residual are the same here, because no {name} has two records: leave out {name}."
                )
            }
            EvaluationError::TooFewRecords { records, fixed, .. } => format!(
                "{} has {records} records, of which the {} take {fixed}: too few are left to tell the error by. \
                Record replicates, or use fewer terms.",
                self.of_trait,
                if entries_random {
                    "fixed terms"
                } else {
                    "entries and fixed terms"
                }
            ),
            EvaluationError::TooManyFixed { columns, most } => format!(
                "The fixed terms have {columns} levels, and at most {most} are fitted: make the term with the most \
                levels random."
            ),
            EvaluationError::NotConverged { iterations } => format!(
                "The variances did not settle in {iterations} iterations: use fewer random terms, or no space."
            ),
            _ => {
                let told = error.to_string().replace("trait 0", &self.of_trait);
                let mut signs = told.chars();
                let first = signs.next().map(|sign| sign.to_uppercase().to_string());
                format!("{}{}.", first.unwrap_or_default(), signs.as_str())
            }
        }
    }

    fn tell_findings(&self, main: &Analysis, err: &mut dyn Write) {
        let random = main.entries == Entries::Random;
        for finding in main.fit.findings() {
            let told = match finding {
                Finding::VarianceAtZero { effect, .. } => {
                    format!(
                        "The variance of {} is 0: the model without it fits as well.",
                        self.effect_name(*effect, random)
                    )
                }
                Finding::PoorlyKnown { effect, .. } => format!(
                    "The variance of {} is smaller than its standard error: more records are needed to rely on it.",
                    self.effect_name(*effect, random)
                ),
                Finding::HardlySeparable { effects, .. } => format!(
                    "{} and {} can hardly be separated here.",
                    self.effect_name(effects[0], random),
                    self.effect_name(effects[1], random)
                ),
                other => {
                    let told = other.to_string();
                    let mut signs = told.chars();
                    let first = signs.next().map(|sign| sign.to_uppercase().to_string());
                    format!("{}{}.", first.unwrap_or_default(), signs.as_str())
                }
            };
            tell(err, &told);
        }
        let untold = main.estimable.iter().filter(|&&known| !known).count();
        if untold > 0 {
            tell(
                err,
                &format!(
                    "The records can't give the adjusted means of {untold} entries beside the fixed terms: they are \
                    left empty."
                ),
            );
        }
    }

    fn report(
        &self,
        main: &Analysis,
        plots: &Plots,
        heritability: Heritability,
        out: &mut dyn Write,
    ) -> CommandResult<()> {
        let by = self.residual_by.as_ref();
        let environments = by.and_then(|_| plots.terms.last());
        let (fit, components) = (&main.fit, main.fit.components());
        let mut sheet = Sheet::new(&["component", "variance", "standard_error"])?;
        let mut line = |name: &str, value: Option<f64>, error: Option<f64>| -> CommandResult<()> {
            sheet.text(name)?;
            for number in [value, error] {
                match number {
                    Some(number) => sheet.number(number)?,
                    None => sheet.text("")?,
                }
            }
            sheet.end_row()
        };
        let variance = |k: usize| Some(components.get(k).get(0, 0));
        for (nth, term) in self.random.iter().enumerate() {
            let k = main.first_term + nth;
            line(term, variance(k), fit.standard_error(k, 0, 0))?;
        }
        if main.entries == Entries::Random {
            line("entry", variance(0), fit.standard_error(0, 0, 0))?;
        }
        let error = components.effects.len();
        // With a nugget the residual is what neighbours share.
        let correlated = match self.space {
            SpaceChoice::Ar1 => Some(main.space.unwrap_or(error)),
            _ => None,
        };
        let residual = correlated.unwrap_or(error);
        if let Some(by) = environments {
            for (part, level) in by.levels.iter().enumerate() {
                let k = error + part;
                let name = format!("residual {level}");
                line(&name, variance(k), fit.standard_error(k, 0, 0))?;
            }
        } else {
            let of_residual = fit.standard_error(residual, 0, 0);
            line("residual", variance(residual), of_residual)?;
        }
        if let Some(k) = correlated {
            for (index, parameter) in main.model.shape_parameters(k).iter().enumerate() {
                use quant::evaluation::ShapeKind;
                let name = match parameter.kind {
                    ShapeKind::ColumnCorrelation => "column correlation",
                    ShapeKind::Correlation if main.one_row => "column correlation",
                    _ => "row correlation",
                };
                let known = components.get(k).get(0, 0) > 0.0;
                let value = known.then(|| components.shapes[k][index]);
                line(name, value, fit.shape_standard_error(k, index))?;
            }
        }
        match (self.space, main.space) {
            (SpaceChoice::Ar1, Some(_)) => {
                line("nugget", variance(error), fit.standard_error(error, 0, 0))?;
            }
            (SpaceChoice::Ar1, None) if self.nugget => line("nugget", Some(0.0), None)?,
            (SpaceChoice::Spline, Some(k)) => {
                line("surface", variance(k), fit.standard_error(k, 0, 0))?;
            }
            _ => {}
        }
        line(
            "minus_2_reml_log_likelihood",
            Some(fit.minus_two_log_likelihood()),
            None,
        )?;
        let mean = main.combined.mean_variance_of_difference();
        let known = main.estimable.iter().all(|&known| known);
        line("mean_variance_of_difference", mean.filter(|_| known), None)?;
        line("heritability_cullis", heritability.cullis, None)?;
        line(
            "heritability_piepho_mohring",
            heritability.piepho_mohring,
            None,
        )?;
        sheet.deliver(None, &[], out)
    }
}

/// The place of each entry from the highest value down; equal values share the first place.
fn ranks(analysis: &Analysis) -> Vec<Option<usize>> {
    let value =
        |entry: usize| analysis.estimable[entry].then(|| analysis.combined.estimate(entry).value);
    let mut all: Vec<f64> = (0..analysis.combined.len()).filter_map(value).collect();
    all.sort_by(|one, other| other.total_cmp(one));
    (0..analysis.combined.len())
        .map(|entry| {
            Some(1 + all.partition_point(|&other| other > value(entry).unwrap_or(f64::NAN)))
                .filter(|_| value(entry).is_some())
        })
        .collect()
}

/// Tells which entries differ from a check.
fn tell_against(names: &[String], check: usize, analysis: &Analysis, err: &mut dyn Write) {
    let Some(comparison) = analysis.against(check, 0.05) else {
        tell(
            err,
            &format!("{} can't be compared with the other entries.", names[check]),
        );
        return;
    };
    let list = |entries: &[usize]| match entries {
        [] => "none".to_owned(),
        entries => entries
            .iter()
            .map(|&entry| names[entry].as_str())
            .collect::<Vec<_>>()
            .join(", "),
    };
    tell(
        err,
        &format!(
            "Against {} at 5 % over all comparisons (Dunnett, {:.3} standard errors, {:.1} degrees of freedom): above it {}; below it {}.",
            names[check],
            comparison.critical,
            comparison.degrees_of_freedom,
            list(&comparison.above),
            list(&comparison.below)
        ),
    );
}

fn entry_sheet(names: &[String], main: &Analysis, ranked_by: &Analysis) -> CommandResult<Sheet> {
    let mut sheet = Sheet::new(&["entry", "estimate", "standard_error", "rank"])?;
    for ((entry, name), rank) in names.iter().enumerate().zip(ranks(ranked_by)) {
        sheet.text(name)?;
        if main.estimable[entry] {
            let estimate = main.combined.estimate(entry);
            sheet.number(estimate.value)?;
            sheet.number(estimate.standard_error)?;
        } else {
            sheet.text("")?;
            sheet.text("")?;
        }
        sheet.text(&rank.map(|rank| rank.to_string()).unwrap_or_default())?;
        sheet.end_row()?;
    }
    Ok(sheet)
}
