//! What a fit says about itself.

use std::fmt;

use super::{Role, ShapeKind};

/// Something to know about a fit before using it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Finding {
    /// A variance is estimated as zero; the fit is that of the model without the effect.
    VarianceAtZero {
        /// What the effect stands for.
        role: Role,
        /// Its index in the model.
        effect: usize,
    },
    /// The residual variance of a part is estimated as zero: its records are taken as exact, and the others adjusted to
    /// them. Its value is that of the floor of the search, a ten-millionth of the variance about the fixed effects.
    ResidualAtZero {
        /// The part, from 0.
        part: usize,
    },
    /// A covariance matrix lies on its boundary: a correlation of one, or a trait without
    /// variance in this effect.
    MatrixAtBoundary {
        /// What the effect stands for; `None` for the residual.
        role: Option<Role>,
        /// Its index in the model; the number of effects for the residual.
        component: usize,
    },
    /// A parameter of a structure is at the bound of what is tried.
    ShapeAtBound {
        /// What it means.
        kind: ShapeKind,
        /// Its random effect; the number of effects and the part for a residual.
        component: usize,
        /// The bound.
        bound: f64,
    },
    /// The standard error of a variance is larger than the variance.
    PoorlyKnown {
        /// What the effect stands for.
        role: Role,
        /// Its index in the model.
        effect: usize,
        /// The trait.
        of_trait: usize,
    },
    /// Estimates of two effects' variances are nearly interchangeable.
    HardlySeparable {
        /// What the effects stand for.
        roles: [Role; 2],
        /// Their indices in the model; the second is the one to leave out.
        effects: [usize; 2],
        /// The trait.
        of_trait: usize,
        /// The correlation of the two estimates.
        correlation: f64,
    },
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::VarianceAtZero { role, effect } => write!(
                f,
                "the variance of the {role} (random effect {effect}) is estimated as zero: the model without it fits as well"
            ),
            Self::ResidualAtZero { part } => write!(
                f,
                "the residual variance of part {part} is estimated as zero: its records are taken as exact"
            ),
            Self::MatrixAtBoundary { role, component } => {
                match role {
                    Some(role) => write!(
                        f,
                        "the covariance matrix of the {role} (random effect {component})"
                    )?,
                    None => f.write_str("the residual covariance matrix")?,
                }
                f.write_str(
                    " is on its boundary (a correlation of one, or a trait that does not vary): \
                     its standard errors don't hold; evaluate fewer traits together",
                )
            }
            Self::ShapeAtBound { kind, bound, .. } => {
                let name = match kind {
                    ShapeKind::Correlation => "correlation",
                    ShapeKind::RowCorrelation => "correlation from row to row",
                    ShapeKind::ColumnCorrelation => "correlation from column to column",
                    ShapeKind::Balance => "balance of the surface between rows and columns",
                };
                write!(
                    f,
                    "the {name} is at its bound of {bound}: it has no standard error, and a simpler model may do"
                )
            }
            Self::PoorlyKnown {
                role,
                effect,
                of_trait,
            } => write!(
                f,
                "the variance of the {role} (random effect {effect}) in trait {of_trait} is smaller than its standard error: \
                 more records are needed to rely on it; the model without it is simpler"
            ),
            Self::HardlySeparable {
                roles: [kept, left],
                effects: [first, second],
                of_trait,
                correlation,
            } => write!(
                f,
                "the {kept} (random effect {first}) and the {left} (random effect {second}) are hardly separable in trait {of_trait} \
                 (their estimates correlate by {correlation:.2}): the model without the {left} is simpler"
            ),
        }
    }
}
