//! The inverse of the additive relationship matrix, written directly.

use super::relationship::Kinship;
use crate::sparse::SymmetricLower;

/// The sparse inverse of the additive relationship matrix A over genotypes that are genetically distinct.
///
/// A clone, a doubled plant, or the cross of two plants that are each completely inbred adds nothing to what its
/// parents carry: its Mendelian sampling variance is zero and A is singular with it. Such genotypes have no
/// equation of their own. They are *expressed* through the others: the additive value of any genotype is the sum
/// of weight times value over [`Self::expression`], which for most is the genotype itself with weight 1, and for
/// a variant its source with weight 1.
#[derive(Clone, Debug, PartialEq)]
pub struct RelationshipInverse {
    /// Genotype of each equation, ascending.
    pub genotypes: Vec<usize>,
    /// A⁻¹ over the equations.
    pub matrix: SymmetricLower,
    /// Natural logarithm of the determinant of A over the equations.
    pub log_determinant: f64,
    /// Where each genotype's terms start, and one more.
    starts: Vec<usize>,
    terms: Vec<(usize, f64)>,
}

impl RelationshipInverse {
    /// A genotype's additive value as (equation, weight) terms.
    pub fn expression(&self, genotype: usize) -> &[(usize, f64)] {
        &self.terms[self.starts[genotype]..self.starts[genotype + 1]]
    }
}

/// A Mendelian sampling variance, as a fraction of a founder's, below which a genotype counts as determined by
/// its parents. Selfing comes near it after forty generations.
const DETERMINED: f64 = 1e-12;

impl Kinship {
    /// The inverse of the additive relationship matrix, on the scale of [`Kinship::relationship`].
    ///
    /// A⁻¹ is the sum over genotypes of (e - b)(e - b)' / D, where e marks the genotype, b holds the regression
    /// on its parents and D is its Mendelian sampling variance (Henderson 1976; for any ploidy, Hamilton & Kerr
    /// 2018). Full sibs without offspring are taken together.
    pub fn relationship_inverse(&self) -> RelationshipInverse {
        let pedigree = self.pedigree();
        let mut equation = vec![u32::MAX; pedigree.len()];
        let mut genotypes = Vec::with_capacity(pedigree.len());
        let mut log_determinant = 0.0;
        for (genotype, equation) in equation.iter_mut().enumerate() {
            let variance = self.mendelian_sampling(genotype);
            if variance > DETERMINED {
                *equation = genotypes.len() as u32;
                genotypes.push(genotype);
                log_determinant += variance.ln();
            }
        }

        // Parents in terms of equations, ancestors first, then families in terms of those.
        let mut parents: Vec<Terms> = Vec::with_capacity(pedigree.parent_count());
        for genotype in pedigree.parents() {
            let terms = match equation[genotype] {
                u32::MAX => self.regression(&parents, pedigree.family(genotype)),
                own => vec![(own, 1.0)],
            };
            parents.push(terms);
        }
        let families: Vec<Terms> = (0..pedigree.family_count())
            .map(|family| self.regression(&parents, family))
            .collect();

        let mut entries = Vec::with_capacity(3 * genotypes.len());
        let mut precision = vec![0.0; families.len()];
        for &genotype in &genotypes {
            let family = pedigree.family(genotype);
            let inverse = self.mendelian_sampling(genotype).recip();
            precision[family] += inverse;
            entries.push((equation[genotype], equation[genotype], inverse));
            for &(other, weight) in &families[family] {
                entries.push(lower(equation[genotype], other, -weight * inverse));
            }
        }
        for (terms, precision) in families.iter().zip(precision) {
            for (i, &(one, weight)) in terms.iter().enumerate() {
                for &(other, other_weight) in &terms[..=i] {
                    entries.push(lower(one, other, weight * other_weight * precision));
                }
            }
        }

        let mut starts = vec![0];
        let mut terms = Vec::with_capacity(pedigree.len());
        for genotype in 0..pedigree.len() {
            match equation[genotype] {
                u32::MAX => {
                    terms.extend(
                        families[pedigree.family(genotype)]
                            .iter()
                            .map(|&(own, weight)| (own as usize, weight)),
                    );
                }
                own => terms.push((own as usize, 1.0)),
            }
            starts.push(terms.len());
        }
        let matrix = SymmetricLower::from_entries(genotypes.len(), &entries);
        RelationshipInverse {
            genotypes,
            matrix,
            log_determinant,
            starts,
            terms,
        }
    }

    /// The regression of a family's members on equations, through parents expressed in equations.
    fn regression(&self, parents: &[Terms], family: usize) -> Terms {
        let pedigree = self.pedigree();
        let genes = pedigree.families()[family].ploidy.genes();
        let mut terms = Terms::new();
        for donor in pedigree.family_donors(family) {
            let place = donor.parent as usize;
            // Shares act on the mean of the genes; the value of T genes is √T times as variable as that.
            let weight =
                donor.share * (genes / pedigree.ploidy(pedigree.parent(place)).genes()).sqrt();
            terms.extend(
                parents[place]
                    .iter()
                    .map(|&(own, part)| (own, part * weight)),
            );
        }
        terms.sort_by_key(|&(own, _)| own);
        terms.dedup_by(|later, kept| {
            let same = later.0 == kept.0;
            if same {
                kept.1 += later.1;
            }
            same
        });
        terms
    }
}

/// Equations, ascending, each with a weight.
type Terms = Vec<(u32, f64)>;

fn lower(one: u32, other: u32, value: f64) -> (u32, u32, f64) {
    (one.max(other), one.min(other), value)
}
