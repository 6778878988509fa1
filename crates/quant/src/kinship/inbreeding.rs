//! Inbreeding and Mendelian sampling variance of every family.

use super::pedigree::{Descent, Donor, Family, Meiosis, Pedigree};
use super::sweep::Column;

/// What full sibs share, by family.
#[derive(Clone, Debug)]
pub(super) struct SolvedInbreeding {
    /// F.
    pub(super) inbreeding: Vec<f64>,
    /// Δ, the variance on the scale of coancestry that the family's donors leave unexplained.
    pub(super) mendelian: Vec<f64>,
}

/// Solves the families of a pedigree.
///
/// The inbreeding of a family follows from the coancestries of its donors. These are gathered by one donor of each
/// pair, so that a male used on twenty females takes one column of the matrix, not twenty pairs. Parents are
/// visited ancestors first: the column of a parent needs the inbreeding of its ancestors only, and a family's
/// coancestries stand in the column of one of its parents, which was visited before the family's members.
pub(super) fn solve(pedigree: &Pedigree) -> SolvedInbreeding {
    let families = pedigree.families().len();
    let mut solver = Solver {
        pedigree,
        pairs: Pairs::of(pedigree),
        solved: SolvedInbreeding {
            inbreeding: vec![f64::NAN; families],
            mendelian: vec![f64::NAN; families],
        },
    };
    let mut column = Column::new(pedigree.parent_count());
    for position in 0..pedigree.parent_count() {
        solver.settle(pedigree.family_at(position));
        let mates = solver.pairs.starts[position]..solver.pairs.starts[position + 1];
        if mates.is_empty() {
            continue;
        }
        let seed = [Donor {
            parent: position as u32,
            share: 1.0,
        }];
        column.load(pedigree, &solver.solved.mendelian, &seed);
        column.evaluate(pedigree, solver.pairs.mates[mates.clone()].iter().copied());
        for pair in mates {
            solver.pairs.coancestry[pair] = column.value(solver.pairs.mates[pair]);
        }
    }
    for family in 0..families {
        solver.settle(family);
    }
    solver.solved
}

/// Coancestry with itself of a genotype of `genes` genes: two draws hit the same gene once in `genes` times.
pub(super) fn self_coancestry(genes: f64, inbreeding: f64) -> f64 {
    (1.0 + (genes - 1.0) * inbreeding) / genes
}

struct Solver<'p> {
    pedigree: &'p Pedigree,
    pairs: Pairs,
    /// Not a number until settled.
    solved: SolvedInbreeding,
}

impl Solver<'_> {
    /// Works out a family, once its donors are settled and their coancestries known.
    fn settle(&mut self, family: usize) {
        if !self.solved.inbreeding[family].is_nan() {
            return;
        }
        let Family { ploidy, descent } = self.pedigree.families()[family];
        let genes = ploidy.genes();
        let (inbreeding, mendelian) = match descent {
            Descent::Gametes(gametes) => {
                self.of_gametes(genes, gametes, self.pedigree.family_donors(family))
            }
            Descent::Copy => {
                let own = self.own_coancestry(self.pedigree.family_donors(family)[0].parent);
                (inbreeding_from(genes, own), 0.0)
            }
            Descent::Regressed {
                residual,
                self_coancestry,
            } => (inbreeding_from(genes, self_coancestry), residual),
        };
        self.solved.inbreeding[family] = inbreeding;
        self.solved.mendelian[family] = mendelian;
    }

    /// Inbreeding and Mendelian sampling variance of the plants made by two gametes.
    fn of_gametes(&self, genes: f64, gametes: [Meiosis; 2], donors: &[Donor]) -> (f64, f64) {
        let (female, male) = donors.split_at(gametes[0].donors);
        // Ordered pairs of genes that are identical by descent: from different gametes, …
        let mut identical = 2.0 * genes * genes * self.between(female, male);
        let mut mendelian = 0.0;
        for (gamete, donors) in gametes.iter().zip([female, male]) {
            // … and from the same one.
            let dose = f64::from(gamete.dose);
            let within = dose * (dose - 1.0) * self.within(genes, gamete, donors);
            identical += within;
            mendelian += (dose + within) / (genes * genes) - self.between(donors, donors);
        }
        let pairs = genes * (genes - 1.0);
        let inbreeding = if pairs > 0.0 { identical / pairs } else { 0.0 };
        (inbreeding, mendelian.max(0.0))
    }

    /// Probability that two genes of a gamete are identical by descent: φ = λ + (1 - λ) F of the donor.
    fn within(&self, genes: f64, gamete: &Meiosis, donors: &[Donor]) -> f64 {
        let dose = f64::from(gamete.dose);
        if dose < 2.0 {
            return 0.0;
        }
        let lambda = gamete.double_reduction;
        let mut unknown = 1.0;
        let mut identical = 0.0;
        for donor in donors {
            let part = donor.share * genes / dose;
            let inbreeding = self.solved.inbreeding[self.pedigree.family_at(donor.parent as usize)];
            identical += part * (lambda + (1.0 - lambda) * inbreeding);
            unknown -= part;
        }
        // Shares of a mix may miss 1 by rounding.
        identical
            + if unknown > 1e-12 {
                unknown * unknown_within(dose, lambda)
            } else {
                0.0
            }
    }

    /// Sum of coancestries over the pairs of two lists of donors, weighted by both shares.
    fn between(&self, left: &[Donor], right: &[Donor]) -> f64 {
        let weighted =
            |a: &Donor, b: &Donor| a.share * b.share * self.coancestry(a.parent, b.parent);
        left.iter()
            .flat_map(|a| right.iter().map(move |b| weighted(a, b)))
            .sum()
    }

    fn coancestry(&self, left: u32, right: u32) -> f64 {
        if left == right {
            self.own_coancestry(left)
        } else {
            self.pairs.coancestry(left, right)
        }
    }

    fn own_coancestry(&self, parent: u32) -> f64 {
        let family = self.pedigree.family_at(parent as usize);
        self_coancestry(
            self.pedigree.families()[family].ploidy.genes(),
            self.solved.inbreeding[family],
        )
    }
}

fn inbreeding_from(genes: f64, own_coancestry: f64) -> f64 {
    if genes > 1.0 {
        (genes * own_coancestry - 1.0) / (genes - 1.0)
    } else {
        0.0
    }
}

/// φ of a gamete from an unknown plant with double reduction λ stated: the plant, of twice the gamete's dose,
/// is itself made of two unrelated such gametes, φ = λ + (1 - λ) φ (τ - 1) / (2τ - 1).
fn unknown_within(dose: f64, lambda: f64) -> f64 {
    lambda / (1.0 - (1.0 - lambda) * (dose - 1.0) / (2.0 * dose - 1.0))
}

/// The pairs of parents whose coancestry some family needs, each filed under one of the two.
struct Pairs {
    /// Where each parent's mates start, and one more.
    starts: Vec<usize>,
    mates: Vec<u32>,
    /// Not a number until the parent that keeps the pair is visited.
    coancestry: Vec<f64>,
    /// How many different mates each parent has; the one with more keeps the pair.
    mate_count: Vec<u32>,
}

impl Pairs {
    fn of(pedigree: &Pedigree) -> Self {
        let mut pairs: Vec<(u32, u32)> = Vec::new();
        let mut push = |a: &Donor, b: &Donor| {
            if a.parent != b.parent {
                pairs.push((a.parent.min(b.parent), a.parent.max(b.parent)));
            }
        };
        for (index, family) in pedigree.families().iter().enumerate() {
            let Descent::Gametes([female_gamete, _]) = family.descent else {
                continue;
            };
            let (female, male) = pedigree.family_donors(index).split_at(female_gamete.donors);
            for a in female {
                for b in male {
                    push(a, b);
                }
            }
            for mix in [female, male] {
                for (i, a) in mix.iter().enumerate() {
                    for b in &mix[i + 1..] {
                        push(a, b);
                    }
                }
            }
        }
        pairs.sort_unstable();
        pairs.dedup();

        let mut mate_count = vec![0; pedigree.parent_count()];
        for &(a, b) in &pairs {
            mate_count[a as usize] += 1;
            mate_count[b as usize] += 1;
        }
        for pair in &mut pairs {
            *pair = filed(&mate_count, pair.0, pair.1);
        }
        pairs.sort_unstable();
        let mut starts = vec![0; pedigree.parent_count() + 1];
        for &(keeper, _) in &pairs {
            starts[keeper as usize + 1] += 1;
        }
        for parent in 0..pedigree.parent_count() {
            starts[parent + 1] += starts[parent];
        }
        let coancestry = vec![f64::NAN; pairs.len()];
        Self {
            starts,
            mates: pairs.into_iter().map(|(_, mate)| mate).collect(),
            coancestry,
            mate_count,
        }
    }

    fn coancestry(&self, a: u32, b: u32) -> f64 {
        let (keeper, mate) = filed(&self.mate_count, a, b);
        let start = self.starts[keeper as usize];
        let mates = &self.mates[start..self.starts[keeper as usize + 1]];
        mates
            .binary_search(&mate)
            .map_or(f64::NAN, |found| self.coancestry[start + found])
    }
}

/// A pair as keeper and mate: the keeper has more mates or, among equals, comes first in order of descent.
fn filed(mate_count: &[u32], a: u32, b: u32) -> (u32, u32) {
    let (first, second) = (a.min(b), a.max(b));
    if mate_count[second as usize] > mate_count[first as usize] {
        (second, first)
    } else {
        (first, second)
    }
}
