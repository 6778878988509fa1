//! Breeding values from a pedigree and a table of records.

use super::plants::Plants;
use super::tables::{CommandResult, Sheet, faulty, may_write, read};
use crate::terminal::tell;
use crate::voice::Voice;
use domain::genetics::Progress;
use domain::genetics::model::{self, Effects, FactorColumn, Fitted, Records, Variances};
use exchange::records::TraitRecords;
use quant::evaluation::{Finding, Fit, Role, Sense};
use std::collections::HashMap;
use std::io::Write;
use std::ops::ControlFlow;
use std::path::Path;

/// A random term that may be left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Term {
    /// Breeding values: the other variances are estimated, and no plant has a value.
    Additive,
    /// What cuttings keep and seed does not pass on.
    Clonal,
    /// What stays with a plant without being inherited.
    Permanent,
}

/// What is to be evaluated.
pub(super) struct Wanted<'a> {
    pub(super) pedigree: &'a Path,
    pub(super) records: &'a Path,
    pub(super) of_trait: &'a str,
    pub(super) fixed: &'a [String],
    /// Random terms to leave out.
    pub(super) without: &'a [Term],
    /// Variances that are known; estimated if `None`.
    pub(super) variances: Option<Variances>,
    /// The file to write to; standard output if `None`.
    pub(super) to: Option<&'a Path>,
}

pub(super) fn run(
    wanted: &Wanted<'_>,
    out: &mut dyn Write,
    err: &mut Voice<'_>,
) -> CommandResult<u8> {
    let inputs = [wanted.pedigree, wanted.records];
    may_write(wanted.to, &inputs)?;
    wanted.check()?;
    let plants = Plants::read(wanted.pedigree, 0.0, err)?;
    let find = |id: &str| plants.find(id);
    let table = TraitRecords::read(&read(wanted.records)?, wanted.of_trait, wanted.fixed, find)
        .map_err(|faults| faulty(wanted.records, &faults, err))?;
    if table.without_value > 0 {
        let rows = table.without_value;
        tell(
            err,
            &format!(
                "{}: {rows} rows without a value were passed over.",
                wanted.records.display()
            ),
        );
    }
    let records = as_records(table);
    let fitted = fit(&plants, &records, wanted, err)?;

    let mut sheet = Sheet::new(&["id", "breeding_value", "accuracy"])?;
    for plant in 0..plants.kinship().pedigree().len() {
        sheet.text(plants.name(plant))?;
        if fitted.roles.contains(&Role::Additive) {
            let value = fitted.breeding(plant, 0);
            sheet.number(value.value)?;
            sheet.number(value.accuracy())?;
        } else {
            sheet.text("")?;
            sheet.text("")?;
        }
        sheet.end_row()?;
    }
    let report = |report: &mut dyn Write| match fitted.fit {
        Some(_) => report_variances(&fitted, report)
            .map_err(|error| format!("the output can't be written: {error}.")),
        None => Ok(()),
    };
    if wanted.to.is_some() {
        // On the disk first, printed then, and put in its place last: whatever fails, nothing was given.
        let waiting = sheet.stage(wanted.to, &inputs)?;
        report(out)?;
        waiting.deliver(out)?;
    } else {
        // The table itself goes to standard output: this must not get into it.
        sheet.deliver(None, &inputs, out)?;
        report(err)?;
    }
    Ok(0)
}

impl Wanted<'_> {
    /// Refuses options that can't be meant.
    fn check(&self) -> CommandResult<()> {
        if let Some(variances) = &self.variances {
            for (option, value) in [
                ("--additive", Some(variances.additive)),
                ("--residual", Some(variances.residual)),
                ("--permanent", variances.permanent),
                ("--clonal", variances.clonal),
            ] {
                if let Some(value) = value.filter(|value| !(value.is_finite() && *value > 0.0)) {
                    return Err(format!(
                        "{option} {value} is no variance. Give a number above 0, or leave the option out. Nothing was written."
                    ));
                }
            }
        }
        let folded = |name: &str| name.trim().to_lowercase();
        let mut seen = Vec::new();
        for column in self.fixed {
            let name = folded(column);
            let fault = if name.is_empty() {
                "has an empty name. Name columns, such as year"
            } else if name == folded(self.of_trait) {
                "names the trait itself. Leave it out"
            } else if name == "id" {
                "names the plants, which are evaluated. Leave it out"
            } else if seen.contains(&name) {
                "is named twice. Name it once"
            } else {
                seen.push(name);
                continue;
            };
            return Err(format!("--fixed {column} {fault}. Nothing was written."));
        }
        if folded(self.of_trait) == "id" {
            return Err(
                "--trait id names the plants. Name the column of the values. Nothing was written."
                    .into(),
            );
        }
        Ok(())
    }
}

/// Each plant is one hill: the table doesn't tell cuttings of one apart.
fn as_records(table: TraitRecords) -> Records {
    let mut hills = HashMap::new();
    let hill = table
        .plant
        .iter()
        .map(|&plant| {
            let next = hills.len();
            *hills.entry(plant).or_insert(next)
        })
        .collect();
    let factors = table.fixed.into_iter().map(|column| FactorColumn {
        name: column.name,
        levels: column.levels,
        level: column.level,
    });
    Records {
        traits: 1,
        values: table.value.into_iter().map(Some).collect(),
        plant: table.plant,
        hill,
        hills: hills.len(),
        factors: factors.collect(),
    }
}

/// Fits the model; where variances are to be estimated and the records can't support a permanent environment, the
/// model without it, which is told.
fn fit(
    plants: &Plants,
    records: &Records,
    wanted: &Wanted<'_>,
    err: &mut Voice<'_>,
) -> CommandResult<Fitted> {
    let mut effects = Effects {
        clonal: false,
        permanent: records.repeated() && !wanted.without.contains(&Term::Permanent),
        without_additive: wanted.without.contains(&Term::Additive),
    };
    // What is told once there is a fit: a model that was passed over, with why.
    let mut passed_over: Vec<String> = Vec::new();
    loop {
        let variances = wanted.variances.as_ref();
        let unfit = match model::fit(
            plants.kinship(),
            records,
            effects,
            variances,
            &mut |progress: Progress| {
                if progress.step == model::LARGE {
                    tell(err, &format!("{}.", progress.step));
                }
                ControlFlow::Continue(())
            },
        ) {
            Ok(fitted) => {
                for told in &passed_over {
                    tell(err, told);
                }
                if let Some(fit) = &fitted.fit {
                    let names: Vec<&str> =
                        fitted.roles.iter().map(|&role| term_name(role)).collect();
                    let names: Vec<&str> = names.into_iter().chain(["residual"]).collect();
                    tell(err, &format!("Random terms: {}.", names.join(", ")));
                    if effects.without_additive {
                        tell(err, "Without additive no breeding value is predicted.");
                    }
                    tell_findings(fit, err);
                }
                return Ok(fitted);
            }
            Err(unfit) => unfit,
        };
        let why = unfit
            .to_string()
            .replace("Trait 0", wanted.of_trait)
            .replace("trait 0", wanted.of_trait);
        let Some(simpler) = unfit.simpler else {
            return Err(format!("{why} Nothing was written."));
        };
        passed_over.push(format!("{why} Fitted without it."));
        effects = simpler;
    }
}

/// Variances that are 0 or hardly known.
fn tell_findings(fit: &Fit, err: &mut Voice<'_>) {
    for finding in fit.findings() {
        let told = match finding {
            Finding::VarianceAtZero {
                role: Role::Additive,
                ..
            } => "The additive variance is 0: every breeding value is predicted as 0.".to_owned(),
            Finding::VarianceAtZero { role, .. } => format!(
                "The {} variance is 0: the model without it fits as well.",
                term_name(*role)
            ),
            Finding::PoorlyKnown { role, .. } => format!(
                "The {} variance is smaller than its standard error: more records are needed to rely on it.",
                term_name(*role)
            ),
            Finding::HardlySeparable { roles, .. } => format!(
                "The {} and {} variances can hardly be separated here.",
                term_name(roles[0]),
                term_name(roles[1])
            ),
            _ => continue,
        };
        tell(err, &told);
    }
}

fn term_name(role: Role) -> &'static str {
    match role {
        Role::Additive => "additive",
        Role::Clonal => "clonal",
        Role::Permanent => "permanent",
        Role::Other => "other",
    }
}

fn report_variances(fitted: &Fitted, report: &mut dyn Write) -> std::io::Result<()> {
    writeln!(report, "component,variance,standard_error")?;
    let names = fitted.roles.iter().map(|&role| term_name(role));
    for (component, name) in names.chain(["residual"]).enumerate() {
        let (variance, error) = fitted.variance(component, 0);
        let error = error.map(|error| error.to_string()).unwrap_or_default();
        writeln!(report, "{name},{variance},{error}")?;
    }
    if let Some(heritability) = fitted.heritability(0, Sense::Narrow, false) {
        let error = heritability
            .ratio
            .map(|ratio| ratio.standard_error.to_string())
            .unwrap_or_default();
        writeln!(report, "heritability,{},{error}", heritability.value)?;
    }
    report.flush()
}
