//! Kinship held against published figures, an independent slow implementation, and chance itself.

#![expect(
    clippy::unwrap_used,
    reason = "in a test, a value that is missing is a failure"
)]

mod against_dense;
mod dense;
mod gene_drop;
mod population;
mod published;
mod random;
mod refused;
