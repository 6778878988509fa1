//! Why an evaluation could not be made.

use std::fmt;

use super::Role;

/// An evaluation that could not be made: what is wrong, where, and what to do.
///
/// Records, levels and traits are named by their index, effects by their [`Role`] and index.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum EvaluationError {
    /// An input does not have one value per record.
    Length {
        /// Which input.
        input: &'static str,
        /// Its index among inputs of that kind.
        index: usize,
        /// How many values it has.
        found: usize,
        /// How many are needed.
        expected: usize,
    },
    /// A record names a level that its effect does not have.
    Level {
        /// Which input.
        input: &'static str,
        /// Its index among inputs of that kind.
        index: usize,
        /// The record.
        record: usize,
        /// The level it names.
        level: usize,
        /// How many levels there are.
        levels: usize,
    },
    /// An observation or covariate is not a finite number.
    NotFinite {
        /// Which input.
        input: &'static str,
        /// The record.
        record: usize,
    },
    /// The inverse of a relationship matrix is malformed.
    Relationship {
        /// What is wrong with it.
        reason: &'static str,
    },
    /// The structure of the residuals does not fit the records.
    Residual {
        /// What is wrong with it.
        reason: &'static str,
    },
    /// The variances given do not fit the model.
    Variances {
        /// Which effect, or `None` for the residual.
        effect: Option<usize>,
        /// What is wrong.
        reason: &'static str,
    },
    /// A trait has no observation.
    NoRecords {
        /// The trait.
        of_trait: usize,
    },
    /// A trait has too few records left once the fixed effects are fitted.
    TooFewRecords {
        /// The trait.
        of_trait: usize,
        /// Records with a value.
        records: usize,
        /// Estimable fixed effects.
        fixed: usize,
        /// Variances to estimate.
        variances: usize,
    },
    /// The fixed effects after the first have more columns than are fitted.
    TooManyFixed {
        /// How many.
        columns: usize,
        /// How many are fitted at most.
        most: usize,
    },
    /// Nothing varies once the fixed effects are fitted.
    NoVariation {
        /// The trait.
        of_trait: usize,
    },
    /// Every level of an effect without relationships has a single record.
    NotReplicated {
        /// What the effect stands for.
        role: Role,
        /// Its index in the model.
        effect: usize,
    },
    /// Two or more variances can't be told apart with these records.
    NotSeparable {
        /// The effects concerned; the last is the one to leave out.
        effects: Vec<(Role, usize)>,
        /// Whether the residual is among them.
        residual: bool,
    },
    /// The residual variance fell to zero: the effects explain every record.
    ResidualAtZero {
        /// The trait.
        of_trait: usize,
    },
    /// The iterations ended before the estimate settled.
    NotConverged {
        /// How many iterations were made.
        iterations: usize,
    },
    /// The equations could not be solved at the variances given.
    Singular,
    /// The equations fill in beyond what is worked through: mates taken at random over generations tie all plants
    /// together.
    TooLarge {
        /// How many unknowns they have.
        unknowns: usize,
        /// How many places of their factor would be filled, of 8 bytes each.
        places: usize,
    },
    /// The equations need more memory than there is.
    Memory,
    /// The caller asked to stop.
    Cancelled,
}

impl fmt::Display for EvaluationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Length { input, index, found, expected } => {
                write!(f, "{input} {index} has {found} values for {expected} records: give one value per record")
            }
            Self::Level { input, index, record, level, levels } => {
                write!(f, "record {record} names level {level} of {input} {index}, which has {levels} levels (0 is the first)")
            }
            Self::NotFinite { input, record } => {
                write!(f, "the {input} of record {record} is not a finite number: leave it missing or correct it")
            }
            Self::Residual { reason } => write!(f, "the residual {reason}"),
            Self::Relationship { reason } => write!(f, "the inverse relationship matrix {reason}"),
            Self::Variances { effect: Some(effect), reason } => write!(f, "the variance of random effect {effect} {reason}"),
            Self::Variances { effect: None, reason } => write!(f, "the residual variance {reason}"),
            Self::NoRecords { of_trait } => write!(f, "trait {of_trait} has no records: leave it out or record it"),
            Self::TooFewRecords { of_trait, records, fixed, variances } => write!(
                f,
                "trait {of_trait} has {records} records for {fixed} fixed effects and {variances} variances: \
                 use fewer fixed effects, fewer random effects, or give the variances"
            ),
            Self::TooManyFixed { columns, most } => write!(
                f,
                "the fixed effects after the first have {columns} levels, and at most {most} are fitted: \
                 make the effect with the most levels random, or put it first"
            ),
            Self::NoVariation { of_trait } => {
                write!(f, "trait {of_trait} does not vary once the fixed effects are fitted: there is nothing to estimate")
            }
            Self::NotReplicated { role, effect } => write!(
                f,
                "the {role} (random effect {effect}) can't be separated from the residual, because none of its \
                levels has two records: fit the model without it, or record replicates"
            ),
            Self::NotSeparable { effects, residual } => {
                f.write_str("the records can't separate ")?;
                for (i, (role, effect)) in effects.iter().enumerate() {
                    let join = if i == 0 { "" } else { " and " };
                    write!(f, "{join}the {role} (random effect {effect})")?;
                }
                if *residual {
                    f.write_str(" from the residual")?;
                }
                match effects.last() {
                    Some((role, effect)) => write!(f, ": fit the model without the {role} (random effect {effect}), or give its variance"),
                    None => Ok(()),
                }
            }
            Self::ResidualAtZero { of_trait } => write!(
                f,
                "the residual variance of trait {of_trait} fell to zero: the effects explain every record; use fewer effects or record replicates"
            ),
            Self::NotConverged { iterations } => write!(
                f,
                "the variances did not settle in {iterations} iterations: fit a simpler model (fewer random effects or one trait), or give the variances"
            ),
            Self::Singular => {
                f.write_str("the equations can't be solved at these variances: check that relationship matrices and variances are positive definite")
            }
            Self::TooLarge { unknowns, places } => write!(
                f,
                "the equations are too large: with {unknowns} unknowns they fill in to {} million places, {} GB, and would \
                take hours, because mating over many generations ties all plants together: evaluate fewer \
                generations, or only the plants with records and their ancestors",
                places / 1_000_000,
                // Factor and inverse.
                (2 * 8 * places).div_ceil(1_000_000_000)
            ),
            Self::Memory => f.write_str(
                "the equations need more memory than this machine has: evaluate fewer plants, traits or effects together",
            ),
            Self::Cancelled => f.write_str("the evaluation was stopped"),
        }
    }
}

impl std::error::Error for EvaluationError {}
