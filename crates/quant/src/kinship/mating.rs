//! What two plants would give, before they are crossed.

use super::genotype::Ploidy;
use super::inbreeding::self_coancestry;

/// One of two plants to be crossed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mate {
    /// Its chromosome sets.
    pub ploidy: Ploidy,
    /// Its inbreeding F.
    pub inbreeding: f64,
}

/// What the offspring of two plants would be, by reduced gametes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Offspring {
    /// Its chromosome sets.
    pub ploidy: Ploidy,
    /// Its inbreeding F.
    pub inbreeding: f64,
    /// Variance of additive values within the family, on the scale of [`Kinship::relationship`](super::Kinship):
    /// 1/2 - (F♀ + F♂)/4 for diploids.
    pub mendelian: f64,
    /// What a unit of each parent's additive value adds to the offspring's, both on that scale, female first: 1/2
    /// each for diploids, τ / √(T T♀) in general.
    pub transmitted: [f64; 2],
    /// The share of its genes from each parent, female first.
    pub shares: [f64; 2],
}

impl Offspring {
    /// The offspring of two plants with this coancestry. `double_reduction` is that of gametes of plants with four or
    /// more sets. `None` where a plant has an odd number of sets: its gametes carry unequal numbers of genes.
    pub fn of(female: Mate, male: Mate, coancestry: f64, double_reduction: f64) -> Option<Self> {
        let parents = [female, male];
        if parents.iter().any(|parent| parent.ploidy.sets() % 2 == 1) {
            return None;
        }
        let doses = parents.map(|parent| parent.ploidy.genes() / 2.0);
        let genes = doses[0] + doses[1];
        let mut identical = 2.0 * doses[0] * doses[1] * coancestry;
        let mut mendelian = 0.0;
        for (parent, dose) in parents.iter().zip(doses) {
            let alike = double_reduction + (1.0 - double_reduction) * parent.inbreeding;
            let within = if dose > 1.0 {
                dose * (dose - 1.0) * alike
            } else {
                0.0
            };
            identical += within;
            mendelian += (dose + within) / genes
                - dose * dose / genes * self_coancestry(parent.ploidy.genes(), parent.inbreeding);
        }
        Some(Self {
            ploidy: Ploidy::new(female.ploidy.sets() / 2 + male.ploidy.sets() / 2)?,
            inbreeding: identical / (genes * (genes - 1.0)),
            mendelian: mendelian.max(0.0),
            transmitted: [0, 1]
                .map(|side| doses[side] / (genes * parents[side].ploidy.genes()).sqrt()),
            shares: doses.map(|dose| dose / genes),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kinship::{Assumptions, Gamete, Genotype, Kinship, Pedigree};

    /// Henderson (1976): 1/2 - (F♀ + F♂)/4 for diploids.
    #[test]
    fn inbred_parents_leave_less_to_chance() {
        let mate = |inbreeding| Mate {
            ploidy: Ploidy::DIPLOID,
            inbreeding,
        };
        let offspring = Offspring::of(mate(0.25), mate(0.5), 0.3, 0.0).unwrap();
        assert!((offspring.mendelian - (0.5 - 0.75 / 4.0)).abs() < 1e-15);
        assert!((offspring.inbreeding - 0.3).abs() < 1e-15);
        assert_eq!(offspring.transmitted, [0.5, 0.5]);
        let odd = Mate {
            ploidy: Ploidy::TRIPLOID,
            inbreeding: 0.0,
        };
        assert_eq!(Offspring::of(odd, mate(0.0), 0.0, 0.0), None);
    }

    /// The same cross entered in a pedigree (itself held against Kerr et al. 2012 and Hamilton & Kerr 2018 elsewhere).
    #[test]
    fn agrees_with_the_pedigree_at_every_ploidy() {
        let assumptions = Assumptions {
            double_reduction: 0.1,
            ..Assumptions::default()
        };
        let sets = |sets| Ploidy::new(sets).unwrap();
        let cross = |sets_of, female, male| {
            Genotype::cross(sets(sets_of), Gamete::of(female), Gamete::of(male))
        };
        // Founders of two, four and six sets; then crosses and backcrosses among them, some inbred.
        let mut records = vec![
            Genotype::founder(sets(2)),
            Genotype::founder(sets(2)),
            Genotype::founder(sets(4)),
            Genotype::founder(sets(4)),
            Genotype::founder(sets(6)),
            cross(2, 0, 1),
            cross(4, 2, 3),
            cross(2, 5, 0),
            cross(4, 6, 2),
        ];
        let parents = records.len();
        let pairs: Vec<(usize, usize)> = (0..parents)
            .flat_map(|female| (0..parents).map(move |male| (female, male)))
            .collect();
        for &(female, male) in &pairs {
            let sets_of = records[female].ploidy.sets() / 2 + records[male].ploidy.sets() / 2;
            records.push(cross(sets_of, female, male));
        }
        let kinship = Kinship::new(Pedigree::new(records, &assumptions).unwrap());
        for (nth, &(female, male)) in pairs.iter().enumerate() {
            let child = parents + nth;
            let mate = |plant| Mate {
                ploidy: kinship.pedigree().ploidy(plant),
                inbreeding: kinship.inbreeding(plant),
            };
            let found = Offspring::of(
                mate(female),
                mate(male),
                kinship.coancestry(female, male),
                0.1,
            )
            .unwrap();
            let inbreeding = kinship.inbreeding(child);
            assert!(
                (found.inbreeding - inbreeding).abs() < 1e-12,
                "{female} × {male}"
            );
            let mendelian = kinship.mendelian_sampling(child);
            assert!(
                (found.mendelian - mendelian).abs() < 1e-12,
                "{female} × {male}"
            );
            // What is transmitted: the child's relationship to any plant is that of its parents, so weighted.
            for other in 0..parents {
                let [from_female, from_male] = found.transmitted;
                let expected = from_female * kinship.relationship(female, other)
                    + from_male * kinship.relationship(male, other);
                assert!((kinship.relationship(child, other) - expected).abs() < 1e-12);
            }
        }
    }
}
