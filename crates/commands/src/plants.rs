//! Plants by name, from a pedigree as CSV or from a project.

use super::tables::{CommandResult, faulty, read};
use crate::terminal::tell;
use crate::voice::Voice;
use domain::genetics;
use domain::{AnyId, Genotype, Id, Project};
use exchange::pedigree::{Origin, Pedigree};
use exchange::rows::Fault;
use quant::kinship::{self, Assumptions, Gamete, Kinship, PedigreeError, Ploidy};
use std::path::Path;

/// Plants with names and kinship.
#[expect(clippy::large_enum_variant, reason = "there is one of them")]
pub(super) enum Plants {
    /// Of a CSV file.
    Table {
        table: Box<Pedigree>,
        kinship: Kinship,
    },
    /// Of a project: their codes are the names.
    Project {
        project: Project,
        kinship: Box<genetics::Kinship>,
    },
}

impl Plants {
    /// Reads plants; what to know about them goes to `err`.
    pub(super) fn read(
        path: &Path,
        double_reduction: f64,
        err: &mut Voice<'_>,
    ) -> CommandResult<Self> {
        let bytes = read(path)?;
        if is_project(&bytes) {
            drop(bytes);
            return Self::of_project(path, double_reduction, err);
        }
        let table = Pedigree::read(&bytes).map_err(|faults| faulty(path, &faults, err))?;
        for name in &table.unused {
            tell(
                err,
                &format!("{}, column {name}: not used.", path.display()),
            );
        }
        tell_added(path, &table, err);
        let assumptions = Assumptions {
            double_reduction,
            ..Assumptions::default()
        };
        let pedigree = kinship::Pedigree::new(genotypes(&table), &assumptions).map_err(
            |error| match error {
                PedigreeError::DoubleReduction { .. } => format!("--double-reduction: {error}."),
                _ => faulty(path, &[fault(&table, &error)], err),
            },
        )?;
        Ok(Self::Table {
            table: Box::new(table),
            kinship: Kinship::new(pedigree),
        })
    }

    fn of_project(path: &Path, double_reduction: f64, err: &mut Voice<'_>) -> CommandResult<Self> {
        let opened = err.read(path)?;
        let project = opened.project;
        let kinship = genetics::Kinship::of(&project, double_reduction)
            .map_err(|refusal| refusal.to_string())?;
        for finding in kinship.findings() {
            let (weight, what) = (finding.weight.word(), &finding.what);
            let path = path.display();
            tell(err, &format!("{path}: {weight}: {what} {}", finding.remedy));
        }
        Ok(Self::Project {
            project,
            kinship: Box::new(kinship),
        })
    }

    /// Their kinship, by index.
    pub(super) fn kinship(&self) -> &Kinship {
        match self {
            Self::Table { kinship, .. } => kinship,
            Self::Project { kinship, .. } => kinship.numbers(),
        }
    }

    /// The name of a plant.
    pub(super) fn name(&self, index: usize) -> &str {
        match self {
            Self::Table { table, .. } => table.name(index),
            Self::Project { project, kinship } => kinship
                .plants()
                .get(index)
                .map_or("", |&plant| project.code_of(plant)),
        }
    }

    /// The index of a plant by its name.
    pub(super) fn find(&self, name: &str) -> Option<usize> {
        match self {
            Self::Table { table, .. } => table.find(name),
            Self::Project { project, kinship } => {
                let plant: Id<Genotype> = project.find_code(name).find_map(AnyId::typed)?;
                kinship.index(plant)
            }
        }
    }
}

/// Says which parents had no row and count as founders.
fn tell_added(path: &Path, table: &Pedigree, err: &mut Voice<'_>) {
    let added: Vec<&str> = table.without_row().take(10).collect();
    if added.is_empty() {
        return;
    }
    let more = match table.plants.len() - table.rows - added.len() {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    tell(
        err,
        &format!(
            "{}: parents without a row of their own, added as diploid founders: {}{more}.",
            path.display(),
            added.join(", ")
        ),
    );
}

/// Whether a file is a project: those are JSON, which no table begins like.
pub(super) fn is_project(bytes: &[u8]) -> bool {
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    bytes.iter().find(|byte| !byte.is_ascii_whitespace()) == Some(&b'{')
}

fn genotypes(table: &Pedigree) -> impl Iterator<Item = kinship::Genotype> {
    let side =
        |parent: Option<u32>| parent.map_or(Gamete::UNKNOWN, |parent| Gamete::of(parent as usize));
    table.plants.iter().map(move |plant| {
        let ploidy = Ploidy::new(plant.ploidy.get()).unwrap_or(Ploidy::DIPLOID);
        let source = plant.female.map(|source| source as usize);
        match (plant.origin, source) {
            (Origin::Doubled, Some(source)) => kinship::Genotype::doubled(ploidy, source),
            (Origin::Variant, Some(source)) => kinship::Genotype::variant(ploidy, source),
            _ if plant.female.is_none() && plant.male.is_none() => {
                kinship::Genotype::founder(ploidy)
            }
            _ => kinship::Genotype::cross(ploidy, side(plant.female), side(plant.male)),
        }
    })
}

/// What is wrong with the descent, by the names of the plants.
fn fault(table: &Pedigree, error: &PedigreeError) -> Fault {
    let at = |plant: usize, column: &str, what: String| Fault {
        line: table.line(plant),
        column: Some(column.into()),
        what,
    };
    match error {
        PedigreeError::Cycle { members } => {
            let named: Vec<String> = members
                .iter()
                .map(|&plant| match table.line(plant) {
                    Some(line) => format!("{} (line {line})", table.name(plant)),
                    None => table.name(plant).into(),
                })
                .collect();
            let first = members.first().copied().unwrap_or_default();
            let loops = match members.len() {
                1 => format!("{} is its own parent.", table.name(first)),
                _ => format!(
                    "These plants would be their own ancestors, each a parent of the next and the last of the first: {}.",
                    named.join(", ")
                ),
            };
            let parent = members
                .last()
                .copied()
                .and_then(|last| u32::try_from(last).ok());
            let is_male = table
                .plants
                .get(first)
                .is_some_and(|plant| plant.female != parent);
            at(
                first,
                if is_male { "male" } else { "female" },
                format!("{loops} Correct a parent."),
            )
        }
        PedigreeError::Dose {
            genotype,
            ploidy,
            fault,
        } => at(
            *genotype,
            "ploidy",
            format!(
                "{} is {ploidy}, but {fault}. Correct it, or the ploidy of a parent.",
                table.name(*genotype)
            ),
        ),
        PedigreeError::CopyPloidy {
            genotype,
            ploidy,
            expected,
        } => at(
            *genotype,
            "ploidy",
            format!(
                "{} is {ploidy}, but made from its source it should be {expected}x. Correct it, or the ploidy of the source.",
                table.name(*genotype)
            ),
        ),
        other => Fault::of_file(format!("No kinship can be worked out: {other}.")),
    }
}
