//! Kinship at any ploidy.
//!
//! Coancestry, inbreeding and additive relationship for any mix of diploids, triploids, tetraploids and beyond,
//! with clones, doubled plants, unreduced gametes, double reduction, unknown parents, pollen mixes and related
//! founders. Genotypes are indices into the records given to [`Pedigree::new`]; [`Kinship`] answers for them.
//!
//! # Quantities and scale
//!
//! A genotype of ploidy T carries T genes at a locus.
//!
//! - *Coancestry* f(x, y): the probability that a gene drawn from x and one drawn from y are identical by descent.
//!   With itself, x is drawn from with replacement: f(x, x) = (1 + (T - 1) F) / T.
//! - *Inbreeding* F(x): the probability that two different genes of x are identical by descent. A haploid has one
//!   gene; its F is given as 0.
//! - *Additive relationship* a(x, y) = √(T(x) T(y)) f(x, y), the scale of Kerr et al. (2012). For diploids it is 2f,
//!   for any genotype a(x, x) = 1 + (T - 1) F. A value on this scale has variance 1 in any founder that is not
//!   inbred; the sum of a genotype's gene effects, in units of a diploid's, is √(T/2) times it.
//!
//! # Derivation
//!
//! Everything follows from how gametes are drawn. A child of T genes gets τ of them by each gamete (τ♀ + τ♂ = T),
//! and each gene of a gamete is a copy of each of the donor's genes with equal probability. So for any y that does
//! not descend from x,
//!
//! > f(x, y) = Σ c(p) f(p, y),
//!
//! summed over donors p with c(p) = τ/T, times the donor's share if the gamete came from a pollen mix. An unknown
//! donor contributes nothing. Two genes of one gamete are identical by descent with probability
//! φ = λ + (1 - λ) F(p): they are copies of one parental gene (λ), or of two different ones. Two genes of different
//! gametes are so with probability f(♀, ♂). Among the T (T - 1) ordered pairs of different genes,
//!
//! > T (T - 1) F(x) = Σ τ (τ - 1) φ + 2 τ♀ τ♂ f(♀, ♂),
//!
//! summed over both gametes (Kerr et al. 2012; Hamilton & Kerr 2018). What remains is the variance within the
//! family,
//!
//! > Δ(x) = f(x, x) - Σ Σ c(p) c(q) f(p, q) = Σ [τ + τ (τ - 1) φ] / T² - Σ Σ c(p) c(q) f(p, q),
//!
//! the last double sum over donors of the same gamete; between gametes the terms cancel. For the child of two
//! diploids the variance of the additive value, T Δ, is Henderson's ½ - ¼ (F♀ + F♂). As matrices, with C holding
//! the c and T = (I - C)⁻¹ the flow of genes,
//!
//! > K = T Δ T', K⁻¹ = (I - C)' Δ⁻¹ (I - C), log|K| = Σ log Δ.
//!
//! A *clonal variant* has c = 1 and the genes of its source; a *doubled plant* has each twice, and two draws from
//! it hit copies of one gene of the source as often as two draws from the source do: f(x, x) = f(p, p) and Δ = 0 for
//! both. *Selfing* is a cross with the same plant on both sides, f(♀, ♂) = f(p, p). An *unreduced gamete* has τ up to
//! the donor's whole set. *Related founders* are each regressed on those named before, which gives them c and Δ as
//! if the others were their parents.
//!
//! # Cost
//!
//! Full sibs share c, F and Δ, so these are kept once by family, and childless genotypes can be ancestors of
//! nothing. Inbreeding is solved among parents, by columns of K restricted to the ancestors concerned; products
//! with K and its inverse are linear in genotypes and families; no dense matrix is formed but the blocks asked for.
//!
//! # Sources
//!
//! - Colleau (2002), "An indirect approach to the extensive calculation of relationship coefficients", Genet. Sel.
//!   Evol. 34:409-421: products with A by two passes over the pedigree.
//! - Hamilton & Kerr (2018), "Computation of the inverse additive relationship matrix for autopolyploid and
//!   multiple-ploidy populations", Theor. Appl. Genet. 131:851-860: ploidies of any mix.
//! - Henderson (1976), "A simple method for computing the inverse of a numerator relationship matrix used in
//!   prediction of breeding values", Biometrics 32:69-83: the sparse inverse.
//! - Kerr et al. (2012), "Use of the numerator relationship matrix in genetic analysis of autopolyploid species",
//!   Theor. Appl. Genet. 124:1271-1282: gametes of several genes and double reduction.
//! - Meuwissen & Luo (1992), "Computing inbreeding coefficients in large populations", Genet. Sel. Evol. 24:305-313:
//!   inbreeding by rows of T.
//! - Quaas (1976), "Computing the diagonal elements and inverse of a large numerator relationship matrix",
//!   Biometrics 32:949-953: inbreeding by columns of T.

mod ancestors;
mod cohorts;
mod completeness;
mod contributions;
mod doses;
mod error;
mod flow;
mod founders;
mod gene_drop;
mod genotype;
mod inbreeding;
mod inverse;
mod mating;
mod order;
mod pedigree;
mod records;
mod relationship;
mod resolve;
mod sweep;

pub use ancestors::AncestorContributions;
pub use cohorts::{Cohort, InbreedingTrend, effective_size};
pub use contributions::{Founder, effective_number};
pub use error::{DoseFault, PedigreeError};
pub use founders::FounderKinship;
pub use gene_drop::GeneDrop;
pub use genotype::{Gamete, Genotype, Origin, Ploidy, PollenMix, Source};
pub use inverse::RelationshipInverse;
pub use mating::{Mate, Offspring};
pub use pedigree::{Assumptions, Pedigree};
pub use relationship::{Kinship, inbreeding};
