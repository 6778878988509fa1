//! Founder contributions and mean kinship of a group.

use super::flow::{group_weights, pass_up};
use super::{Kinship, Pedigree};

/// Where genes entered the pedigree.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Founder {
    /// A genotype of which no parent is known.
    Plant(usize),
    /// The unknown parent of a genotype whose other parent is known, or the unknown part of its pollen mix.
    /// Unknown parents of different genotypes count as different, even of full sibs.
    UnknownParentOf(usize),
}

/// 1 / Σ p²: how many equal shares would be as uneven as these.
///
/// With founder contributions it is the effective number of founders `f_e` (Lacy 1989, "Analysis of founder
/// representation in pedigrees", Zoo Biol. 8:111-123), with marginal contributions of ancestors the effective
/// number of ancestors `f_a` (Boichard, Maignel & Verrier 1997). `None` without shares.
pub fn effective_number(shares: impl IntoIterator<Item = f64>) -> Option<f64> {
    let squares: f64 = shares.into_iter().map(|share| share * share).sum();
    (squares > 0.0).then(|| squares.recip())
}

impl Pedigree {
    /// The expected share of a group's genes that comes from each founder, unknown parents included. The shares
    /// add up to 1, unless the group is empty. Members count equally, whatever their ploidy; founders related to
    /// one another count as separate.
    pub fn founder_contributions(&self, group: &[usize]) -> Vec<(Founder, f64)> {
        let weights = group_weights(self, group);
        let gathered = pass_up(self, &weights, Self::known_donors);
        let mut contributions = Vec::new();
        for (genotype, &own) in weights.iter().enumerate() {
            let weight = self.position(genotype).map_or(own, |place| gathered[place]);
            if weight == 0.0 {
                continue;
            }
            let (founder, share) = self.entry(genotype);
            if share > 0.0 {
                contributions.push((founder, share * weight));
            }
        }
        contributions
    }

    /// The founder by whom genes enter at a genotype, with the share of the genotype's genes that do.
    fn entry(&self, genotype: usize) -> (Founder, f64) {
        let donors = self.known_donors(self.family(genotype));
        if donors.is_empty() {
            return (Founder::Plant(genotype), 1.0);
        }
        let unknown = 1.0 - donors.iter().map(|donor| donor.share).sum::<f64>();
        // Shares of thirds, and of mixes, may miss 1 by rounding.
        (
            Founder::UnknownParentOf(genotype),
            if unknown > 1e-12 { unknown } else { 0.0 },
        )
    }
}

impl Kinship {
    /// Mean coancestry of every genotype with the members of a group, in the order of the records. A member's
    /// coancestry with itself is part of its mean. All zero for an empty group.
    pub fn mean_kinship(&self, group: &[usize]) -> Vec<f64> {
        self.coancestry_times(&group_weights(self.pedigree(), group))
    }

    /// Mean coancestry over all pairs of a group's members, each with itself included; `None` for an empty group.
    pub fn group_coancestry(&self, group: &[usize]) -> Option<f64> {
        let weights = group_weights(self.pedigree(), group);
        let means = self.coancestry_times(&weights);
        (!group.is_empty()).then(|| {
            weights
                .iter()
                .zip(means)
                .map(|(weight, mean)| weight * mean)
                .sum()
        })
    }

    /// Founder genome equivalents by coancestry, `f_ge` = 1/(2 × mean coancestry): the number of unrelated diploid
    /// founders that would have this mean coancestry (Caballero & Toro 2000, "Interrelations between effective
    /// population size and other pedigree tools", Genet. Res. 75:331-343). Lacy's `f_g` by gene dropping, which
    /// measures something else, is [`GeneDrop::founder_genomes`](super::GeneDrop::founder_genomes).
    /// `None` for an empty group.
    pub fn founder_genome_equivalents(&self, group: &[usize]) -> Option<f64> {
        self.group_coancestry(group).map(|mean| 0.5 / mean)
    }
}
