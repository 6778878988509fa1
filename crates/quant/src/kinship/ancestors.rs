//! Marginal contributions of ancestors.

use super::Pedigree;
use super::contributions::effective_number;
use super::flow::{group_weights, pass_to, weighted};
use super::pedigree::Donor;

/// The ancestors that explain most of a group's genes, each counted for what no earlier one explains.
#[derive(Clone, Debug, PartialEq)]
pub struct AncestorContributions {
    /// Ancestors, founders or not, with their marginal contributions, largest first.
    pub ancestors: Vec<(usize, f64)>,
    /// Share of the group's genes that the ancestors listed do not explain.
    pub unexplained: f64,
}

impl AncestorContributions {
    /// Bounds of the effective number of ancestors `f_a` = 1 / Σ q²; they meet when nothing is left unexplained.
    ///
    /// What is left lies at most in shares as large as the last one found, and at least in ever smaller ones.
    /// `None` if no ancestor is listed.
    pub fn effective_number(&self) -> Option<(f64, f64)> {
        let &(_, last) = self.ancestors.last()?;
        let upper = effective_number(self.ancestors.iter().map(|&(_, share)| share))?;
        Some(((upper.recip() + last * self.unexplained).recip(), upper))
    }
}

/// Shares smaller than this are rounding.
const NEGLIGIBLE: f64 = 1e-12;

impl Pedigree {
    /// Marginal contributions of at most `limit` ancestors to a group (Boichard, Maignel & Verrier 1997, "The
    /// value of using probabilities of gene origin to measure genetic variability in a population", Genet. Sel.
    /// Evol. 29:5-23).
    ///
    /// Repeatedly, the genotype with the largest contribution not yet explained is taken, and cut from its
    /// parents, so that these count only for what reaches the group otherwise. Members of the group may be their
    /// own ancestors; genes of unknown parents count for the genotype they enter by. Each step costs a pass over
    /// the group's ancestors.
    pub fn ancestor_contributions(&self, group: &[usize], limit: usize) -> AncestorContributions {
        let mut lineage = Lineage::of(self, group);
        let mut ancestors: Vec<(usize, f64)> = Vec::new();
        let mut unexplained = if group.is_empty() { 0.0 } else { 1.0 };
        while ancestors.len() < limit && unexplained > NEGLIGIBLE {
            let Some((index, share)) = lineage.largest() else {
                break;
            };
            let taken = lineage.take(index);
            unexplained -= share * taken.len() as f64;
            ancestors.extend(taken.into_iter().map(|genotype| (genotype, share)));
        }
        if let Some(beyond) = ancestors.get(limit..) {
            unexplained += beyond.iter().map(|&(_, share)| share).sum::<f64>();
            ancestors.truncate(limit);
        }
        AncestorContributions {
            ancestors,
            unexplained: unexplained.max(0.0),
        }
    }
}

/// A group and its ancestors. Candidates are the parents among them and the group's childless full sibs; those
/// have the same contribution each, which taking one of them does not change, so they are taken together.
struct Lineage<'p> {
    candidates: Vec<Candidate<'p>>,
    /// Scratch, by place among the parents: contribution to the group, and share explained.
    contribution: Vec<f64>,
    explained: Vec<f64>,
}

struct Candidate<'p> {
    /// Place among the parents; `None` for childless full sibs.
    place: Option<usize>,
    genotypes: Vec<usize>,
    /// Weight of each of the genotypes in the group.
    weight: f64,
    donors: &'p [Donor],
    taken: bool,
}

impl<'p> Lineage<'p> {
    fn of(pedigree: &'p Pedigree, group: &[usize]) -> Self {
        let weights = group_weights(pedigree, group);
        let mut is_ancestor = vec![false; pedigree.parent_count()];
        let mut childless = vec![Vec::new(); pedigree.family_count()];
        for (genotype, _) in weights
            .iter()
            .enumerate()
            .filter(|&(_, &weight)| weight > 0.0)
        {
            match pedigree.position(genotype) {
                Some(place) => is_ancestor[place] = true,
                None => childless[pedigree.family(genotype)].push(genotype),
            }
        }
        let sibs = |(family, genotypes): (usize, Vec<usize>)| {
            let &first = genotypes.first()?;
            let donors = pedigree.known_donors(family);
            Some(Candidate {
                place: None,
                weight: weights[first],
                genotypes,
                donors,
                taken: false,
            })
        };
        let sibs: Vec<Candidate<'p>> = childless.into_iter().enumerate().filter_map(sibs).collect();
        for donor in sibs.iter().flat_map(|candidate| candidate.donors) {
            is_ancestor[donor.parent as usize] = true;
        }
        for place in (0..pedigree.parent_count()).rev() {
            if is_ancestor[place] {
                for donor in pedigree.known_donors(pedigree.family_at(place)) {
                    is_ancestor[donor.parent as usize] = true;
                }
            }
        }
        let parents = (0..pedigree.parent_count())
            .filter(|&place| is_ancestor[place])
            .map(|place| {
                let genotype = pedigree.parent(place);
                let donors = pedigree.known_donors(pedigree.family(genotype));
                Candidate {
                    place: Some(place),
                    genotypes: vec![genotype],
                    weight: weights[genotype],
                    donors,
                    taken: false,
                }
            });
        Self {
            candidates: parents.chain(sibs).collect(),
            contribution: vec![0.0; pedigree.parent_count()],
            explained: vec![0.0; pedigree.parent_count()],
        }
    }

    /// The candidate with the largest contribution not yet explained, the eldest among equals.
    fn largest(&mut self) -> Option<(usize, f64)> {
        for candidate in &self.candidates {
            if let Some(place) = candidate.place {
                self.contribution[place] = candidate.weight;
                self.explained[place] = if candidate.taken {
                    1.0
                } else {
                    weighted(&self.explained, candidate.donors)
                };
            }
        }
        // Sibs come last among the candidates, parents before them in order of descent.
        for candidate in self
            .candidates
            .iter()
            .rev()
            .filter(|candidate| !candidate.taken)
        {
            let weight = match candidate.place {
                Some(place) => self.contribution[place],
                None => candidate.weight * candidate.genotypes.len() as f64,
            };
            pass_to(&mut self.contribution, candidate.donors, weight);
        }
        let mut largest: Option<(usize, f64)> = None;
        for (index, candidate) in self
            .candidates
            .iter()
            .enumerate()
            .filter(|(_, candidate)| !candidate.taken)
        {
            let share = match candidate.place {
                Some(place) => self.contribution[place] * (1.0 - self.explained[place]),
                None => candidate.weight * (1.0 - weighted(&self.explained, candidate.donors)),
            };
            if share > NEGLIGIBLE && largest.is_none_or(|(_, most)| share > most + NEGLIGIBLE) {
                largest = Some((index, share));
            }
        }
        largest
    }

    fn take(&mut self, index: usize) -> Vec<usize> {
        let candidate = &mut self.candidates[index];
        candidate.taken = true;
        candidate.genotypes.clone()
    }
}
