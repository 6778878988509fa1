//! Coancestry, inbreeding and additive relationship of any genotypes.

use super::flow::{pass_up, weighted};
use super::inbreeding::{SolvedInbreeding, self_coancestry, solve};
use super::pedigree::Pedigree;
use super::sweep::Column;
use faer::Mat;

/// A pedigree with the inbreeding of all its genotypes, ready to be asked for relationships.
///
/// Nothing of the relationship matrix is kept: single entries, columns and blocks are formed when asked for, from
/// the ancestors concerned, and products with the whole matrix in one pass over the pedigree.
///
/// ```
/// use quant::kinship::{Assumptions, Genotype, Kinship, Pedigree};
///
/// // Two founders, two of their children, and a child of those: full sibs mated.
/// let records = [
///     Genotype::diploid(None, None),
///     Genotype::diploid(None, None),
///     Genotype::diploid(Some(0), Some(1)),
///     Genotype::diploid(Some(0), Some(1)),
///     Genotype::diploid(Some(2), Some(3)),
/// ];
/// let kinship = Kinship::new(Pedigree::new(records, &Assumptions::default())?);
/// assert_eq!(kinship.coancestry(2, 3), 0.25);
/// assert_eq!(kinship.inbreeding(4), 0.25);
/// assert_eq!(kinship.relationship(4, 4), 1.25);
/// # Ok::<(), quant::kinship::PedigreeError>(())
/// ```
#[derive(Clone, Debug)]
pub struct Kinship {
    pedigree: Pedigree,
    solved: SolvedInbreeding,
}

/// Inbreeding coefficients of all genotypes, in the order of the records.
pub fn inbreeding(pedigree: &Pedigree) -> Vec<f64> {
    let solved = solve(pedigree);
    (0..pedigree.len())
        .map(|genotype| solved.inbreeding[pedigree.family(genotype)])
        .collect()
}

impl Kinship {
    /// Works out the inbreeding of every family.
    pub fn new(pedigree: Pedigree) -> Self {
        let solved = solve(&pedigree);
        Self { pedigree, solved }
    }

    /// The pedigree it was made from.
    pub fn pedigree(&self) -> &Pedigree {
        &self.pedigree
    }

    /// Probability that two different genes of the genotype at one locus are identical by descent.
    pub fn inbreeding(&self, genotype: usize) -> f64 {
        self.solved.inbreeding[self.pedigree.family(genotype)]
    }

    /// Variance of a genotype's additive value that its known parents leave unexplained, on the scale of
    /// [`Self::relationship`]: 1 for a founder, 1/2 for the diploid child of two known parents not inbred, 0 for
    /// a clone.
    pub fn mendelian_sampling(&self, genotype: usize) -> f64 {
        self.pedigree.ploidy(genotype).genes()
            * self.solved.mendelian[self.pedigree.family(genotype)]
    }

    /// Probability that a gene drawn from each of two genotypes at one locus is identical by descent. Two draws
    /// from the same genotype are made with replacement.
    pub fn coancestry(&self, one: usize, other: usize) -> f64 {
        if one == other {
            return self.own_coancestry(one);
        }
        let mut column = Column::new(self.pedigree.parent_count());
        let targets = self.pedigree.expressed(other);
        column.load(
            &self.pedigree,
            &self.solved.mendelian,
            &self.pedigree.expressed(one),
        );
        column.evaluate(&self.pedigree, targets.iter().map(|donor| donor.parent));
        column.weighted(&targets)
    }

    /// Additive relationship on the scale of this module: √(T₁T₂) times coancestry, twice coancestry in diploids.
    pub fn relationship(&self, one: usize, other: usize) -> f64 {
        let genes = |genotype| self.pedigree.ploidy(genotype).genes();
        (genes(one) * genes(other)).sqrt() * self.coancestry(one, other)
    }

    /// Coancestries of one genotype with every genotype, in the order of the records.
    pub fn coancestries_with(&self, genotype: usize) -> Vec<f64> {
        let mut indicator = vec![0.0; self.pedigree.len()];
        indicator[genotype] = 1.0;
        self.coancestry_times(&indicator)
    }

    /// Coancestries of some genotypes (rows) with some (columns).
    pub fn coancestry_block(&self, rows: &[usize], columns: &[usize]) -> Mat<f64> {
        let mut column = Column::new(self.pedigree.parent_count());
        let targets: Vec<_> = rows
            .iter()
            .map(|&row| self.pedigree.expressed(row))
            .collect();
        let mut block = Mat::zeros(rows.len(), columns.len());
        for (j, &genotype) in columns.iter().enumerate() {
            column.load(
                &self.pedigree,
                &self.solved.mendelian,
                &self.pedigree.expressed(genotype),
            );
            column.evaluate(
                &self.pedigree,
                targets
                    .iter()
                    .flat_map(|donors| donors.iter().map(|donor| donor.parent)),
            );
            for (i, donors) in targets.iter().enumerate() {
                block[(i, j)] = if rows[i] == genotype {
                    self.own_coancestry(genotype)
                } else {
                    column.weighted(donors)
                };
            }
        }
        block
    }

    /// The product of the whole coancestry matrix with a vector, in one pass up the pedigree and one down
    /// (Colleau 2002).
    ///
    /// # Panics
    /// If there is not one weight for each genotype.
    pub fn coancestry_times(&self, weights: &[f64]) -> Vec<f64> {
        let pedigree = &self.pedigree;
        assert_eq!(
            weights.len(),
            pedigree.len(),
            "one weight for each genotype"
        );
        let mut innovation = pass_up(pedigree, weights, Pedigree::family_donors);
        for (place, value) in innovation.iter_mut().enumerate() {
            *value *= self.solved.mendelian[pedigree.family_at(place)];
        }
        let mut entry = innovation;
        for place in 0..pedigree.parent_count() {
            entry[place] += weighted(&entry, pedigree.donors_at(place));
        }
        let inherited: Vec<f64> = (0..pedigree.family_count())
            .map(|family| weighted(&entry, pedigree.family_donors(family)))
            .collect();
        let value = |(genotype, weight): (usize, &f64)| {
            let family = pedigree.family(genotype);
            let own = || inherited[family] + weight * self.solved.mendelian[family];
            pedigree
                .position(genotype)
                .map_or_else(own, |place| entry[place])
        };
        weights.iter().enumerate().map(value).collect()
    }

    /// The product of the whole additive relationship matrix with a vector.
    ///
    /// # Panics
    /// If there is not one weight for each genotype.
    pub fn relationship_times(&self, weights: &[f64]) -> Vec<f64> {
        let scaled: Vec<f64> = weights
            .iter()
            .enumerate()
            .map(|(genotype, weight)| weight * self.scale(genotype))
            .collect();
        let mut product = self.coancestry_times(&scaled);
        for (genotype, value) in product.iter_mut().enumerate() {
            *value *= self.scale(genotype);
        }
        product
    }

    fn own_coancestry(&self, genotype: usize) -> f64 {
        self_coancestry(
            self.pedigree.ploidy(genotype).genes(),
            self.inbreeding(genotype),
        )
    }

    /// √T: what turns coancestry into additive relationship.
    fn scale(&self, genotype: usize) -> f64 {
        self.pedigree.ploidy(genotype).genes().sqrt()
    }
}
