//! Kinship held against published figures, an independent slow implementation, and chance itself.

mod against_dense;
mod dense;
mod gene_drop;
mod population;
mod published;
mod random;
mod refused;
