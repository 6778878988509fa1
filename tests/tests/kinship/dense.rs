//! Coancestry by a slow method of its own: probabilities of identity between single genes, all of them in one dense
//! matrix, by the tabular method at the level of genes. Nothing here follows from coancestries of plants, as the
//! program's own method does.

use quant::kinship::{Assumptions, Gamete, Genotype, Origin, Source};

pub(crate) struct Dense {
    /// First gene of each genotype, and one more.
    starts: Vec<usize>,
    /// Probability that two genes are identical by descent.
    identical: Vec<Vec<f64>>,
}

/// Where a new gene comes from: donor genes it may copy, with probabilities. Empty for a new gene.
type Ancestry = Vec<(usize, f64)>;

impl Dense {
    /// For records whose doses are all stated and that come after their parents, related founders first.
    pub(crate) fn new(records: &[Genotype], assumptions: &Assumptions) -> Self {
        let mut dense = Self {
            starts: vec![0],
            identical: Vec::new(),
        };
        for (index, record) in records.iter().enumerate() {
            match record.origin {
                Origin::Founder => {
                    dense.founder(index, usize::from(record.ploidy.sets()), assumptions);
                }
                Origin::Variant { source } => dense.copies(source, 1),
                Origin::Doubled { source } => dense.copies(source, 2),
                Origin::Cross { female, male } => {
                    dense.gamete(&female, assumptions);
                    dense.gamete(&male, assumptions);
                }
            }
            dense.starts.push(dense.genes());
        }
        dense
    }

    fn genes(&self) -> usize {
        self.identical.len()
    }

    fn of(&self, genotype: usize) -> std::ops::Range<usize> {
        self.starts[genotype]..self.starts[genotype + 1]
    }

    /// Adds a gene, given its identity with every gene before it.
    fn push(&mut self, row: Vec<f64>) {
        for (existing, &value) in self.identical.iter_mut().zip(&row) {
            existing.push(value);
        }
        self.identical.push(row);
        self.identical.last_mut().unwrap().push(1.0);
    }

    /// Identity of a gene drawn by `ancestry` with each of the genes before `limit`.
    fn inherited(&self, ancestry: &Ancestry, limit: usize) -> Vec<f64> {
        (0..limit)
            .map(|gene| {
                ancestry
                    .iter()
                    .map(|&(from, p)| p * self.identical[from][gene])
                    .sum()
            })
            .collect()
    }

    fn founder(&mut self, index: usize, genes: usize, assumptions: &Assumptions) {
        let supplied = &assumptions.founders;
        let size = supplied.founders.len();
        let place = supplied
            .founders
            .iter()
            .position(|&founder| founder == index);
        let first = self.genes();
        for _ in 0..genes {
            let mut row = vec![0.0; self.genes()];
            if let Some(place) = place {
                for (other_place, &other) in supplied.founders.iter().enumerate() {
                    if other < index {
                        for gene in self.of(other) {
                            row[gene] = supplied.coancestry[place * size + other_place];
                        }
                    }
                }
                // F from the coancestry with itself, (1 + (T - 1) F) / T.
                let own = supplied.coancestry[place * size + place];
                let inbreeding = (own * genes as f64 - 1.0) / (genes as f64 - 1.0);
                row[first..].fill(inbreeding);
            }
            self.push(row);
        }
    }

    fn copies(&mut self, source: usize, times: usize) {
        for _ in 0..times {
            for gene in self.of(source) {
                let row = self.identical[gene].clone();
                self.push(row);
            }
        }
    }

    /// Adds the genes of a gamete.
    fn gamete(&mut self, gamete: &Gamete, assumptions: &Assumptions) {
        let donors: Vec<(usize, f64)> = match gamete.source {
            Source::Unknown => Vec::new(),
            Source::Plant(plant) => vec![(plant, 1.0)],
            Source::Mix(mix) => assumptions.mixes[mix].members.clone(),
        };
        let lambda = gamete.double_reduction.unwrap_or(0.0);
        let dose = usize::from(gamete.dose.expect("stated doses"));
        let ancestry: Ancestry = donors
            .iter()
            .flat_map(|&(plant, share)| {
                let genes = self.of(plant);
                let each = share / genes.len() as f64;
                genes.map(move |gene| (gene, each))
            })
            .collect();
        let known: f64 = donors.iter().map(|&(_, share)| share).sum();
        let within = self.within(&donors, lambda) + (1.0 - known) * base(dose, lambda);
        let start = self.genes();
        let inherited = self.inherited(&ancestry, start);
        for _ in 0..dose {
            let mut row = inherited.clone();
            // Genes of the plant's other gamete are among those before `start`: they were drawn apart.
            row.resize(self.genes(), within);
            self.push(row);
        }
    }

    /// Probability that two genes drawn into one gamete are identical.
    fn within(&self, donors: &[(usize, f64)], lambda: f64) -> f64 {
        let from = |&(plant, share): &(usize, f64)| {
            let genes = self.of(plant);
            let pairs: Vec<f64> = genes
                .clone()
                .flat_map(|a| genes.clone().filter(move |&b| b != a).map(move |b| (a, b)))
                .map(|(a, b)| self.identical[a][b])
                .collect();
            let distinct = if pairs.is_empty() {
                0.0
            } else {
                pairs.iter().sum::<f64>() / pairs.len() as f64
            };
            share * (lambda + (1.0 - lambda) * distinct)
        };
        donors.iter().map(from).sum()
    }

    pub(crate) fn coancestry(&self, one: usize, other: usize) -> f64 {
        let (one, other) = (self.of(one), self.of(other));
        let sum: f64 = one
            .clone()
            .flat_map(|a| other.clone().map(move |b| (a, b)))
            .map(|(a, b)| self.identical[a][b])
            .sum();
        sum / (one.len() * other.len()) as f64
    }

    pub(crate) fn inbreeding(&self, genotype: usize) -> f64 {
        let genes = self.of(genotype);
        let (mut sum, mut pairs) = (0.0, 0);
        for a in genes.clone() {
            for b in genes.clone().filter(|&b| b != a) {
                sum += self.identical[a][b];
                pairs += 1;
            }
        }
        if pairs == 0 {
            0.0
        } else {
            sum / f64::from(pairs)
        }
    }
}

/// Identity of two genes in a gamete of an unknown plant with double reduction λ stated (Hamilton & Kerr 2018: the
/// plant's own gametes were made likewise), by iteration.
fn base(dose: usize, lambda: f64) -> f64 {
    let dose = dose as f64;
    let mut within = 0.0;
    for _ in 0..200 {
        // Of the ordered pairs of its 2τ genes, 2τ(τ - 1) lie in one of its two gametes.
        let inbreeding = within * (dose - 1.0) / (2.0 * dose - 1.0);
        within = lambda + (1.0 - lambda) * inbreeding;
    }
    within
}
