//! Random pedigrees of mixed ploidy.

use proptest::prelude::*;
use quant::kinship::{
    Assumptions, FounderKinship, Gamete, Genotype, Origin, Ploidy, PollenMix, Source,
};

/// Records that come after their parents, with every dose stated.
#[derive(Clone, Debug)]
pub(crate) struct Random {
    pub(crate) records: Vec<Genotype>,
    pub(crate) assumptions: Assumptions,
}

/// Choices for one record; each number is cut down to what is possible where it is used.
type Choice = (u8, [u16; 4], [u8; 2], [f64; 2]);

/// Pedigrees of up to `size` genotypes of any origin.
pub(crate) fn pedigrees(size: usize) -> impl Strategy<Value = Random> {
    let choice = (
        0..20u8,
        any::<[u16; 4]>(),
        any::<[u8; 2]>(),
        prop::array::uniform2(0.0..0.3),
    );
    (
        prop::collection::vec(choice, 3..size),
        0.0..0.2,
        any::<bool>(),
    )
        .prop_map(|(choices, relatedness, related)| {
            let mut random = Random {
                records: Vec::new(),
                assumptions: Assumptions::default(),
            };
            for choice in &choices {
                random.push(choice);
            }
            if related {
                random.relate_founders(relatedness);
            }
            random
        })
}

impl Random {
    fn push(&mut self, &(kind, picks, doses, lambdas): &Choice) {
        let record = match kind {
            _ if self.records.len() < 2 => founder(picks[0]),
            0..=2 => founder(picks[0]),
            3 => self.copy(picks[0], 1),
            4 => self.copy(picks[0], 2),
            _ => {
                let female =
                    self.gamete(kind == 5, false, [picks[0], picks[1]], doses[0], lambdas[0]);
                let male = self.gamete(
                    kind == 6,
                    kind > 16,
                    [picks[2], picks[3]],
                    doses[1],
                    lambdas[1],
                );
                let sets = female.dose.unwrap_or(0) + male.dose.unwrap_or(0);
                Genotype::cross(Ploidy::new(sets).unwrap(), female, male)
            }
        };
        self.records.push(record);
    }

    fn sets(&self, genotype: usize) -> u8 {
        self.records[genotype].ploidy.sets()
    }

    fn copy(&self, pick: u16, times: u8) -> Genotype {
        let source = usize::from(pick) % self.records.len();
        let sets = self.sets(source);
        let ploidy = |sets| Ploidy::new(sets).unwrap();
        if times == 2 && sets <= 3 {
            Genotype::doubled(ploidy(2 * sets), source)
        } else {
            Genotype::variant(ploidy(sets), source)
        }
    }

    fn gamete(
        &mut self,
        unknown: bool,
        mixed: bool,
        picks: [u16; 2],
        dose: u8,
        lambda: f64,
    ) -> Gamete {
        let [plant, other] = picks.map(|pick| usize::from(pick) % self.records.len());
        let (source, most) = if unknown {
            (Source::Unknown, 2)
        } else if mixed && plant != other {
            // A fifth of the pollen is from elsewhere.
            self.assumptions.mixes.push(PollenMix {
                members: vec![(plant, 0.5), (other, 0.3)],
            });
            (
                Source::Mix(self.assumptions.mixes.len() - 1),
                self.sets(plant).min(self.sets(other)),
            )
        } else {
            (Source::Plant(plant), self.sets(plant))
        };
        Gamete {
            source,
            dose: Some(1 + dose % most.min(3)),
            double_reduction: Some(lambda),
        }
    }

    /// Gives the founders coancestries K = ρ 11' + a diagonal, which is always possible, and lets them come first.
    fn relate_founders(&mut self, relatedness: f64) {
        let mut founders_first: Vec<usize> = (0..self.records.len()).collect();
        founders_first.sort_by_key(|&index| self.records[index].origin != Origin::Founder);
        let mut to = vec![0; founders_first.len()];
        for (place, index) in founders_first.into_iter().enumerate() {
            to[index] = place;
        }
        *self = self.permuted(&to);

        let is_founder = |&index: &usize| self.records[index].origin == Origin::Founder;
        let founders: Vec<usize> = (0..self.records.len()).filter(is_founder).collect();
        let size = founders.len();
        let mut coancestry = vec![relatedness; size * size];
        for (place, &founder) in founders.iter().enumerate() {
            let sets = f64::from(self.sets(founder));
            let inbreeding = relatedness + 0.05 * (place % 4) as f64;
            coancestry[place * size + place] = (1.0 + (sets - 1.0) * inbreeding) / sets;
        }
        self.assumptions.founders = FounderKinship {
            founders,
            coancestry,
        };
    }

    /// The same pedigree with record `i` moved to `to[i]`.
    pub(crate) fn permuted(&self, to: &[usize]) -> Self {
        let gamete = |gamete: Gamete| match gamete.source {
            Source::Plant(plant) => Gamete {
                source: Source::Plant(to[plant]),
                ..gamete
            },
            Source::Unknown | Source::Mix(_) => gamete,
        };
        let mut records = self.records.clone();
        for (index, record) in self.records.iter().enumerate() {
            let origin = match record.origin {
                Origin::Founder => Origin::Founder,
                Origin::Cross { female, male } => Origin::Cross {
                    female: gamete(female),
                    male: gamete(male),
                },
                Origin::Doubled { source } => Origin::Doubled { source: to[source] },
                Origin::Variant { source } => Origin::Variant { source: to[source] },
            };
            records[to[index]] = Genotype { origin, ..*record };
        }
        let mut assumptions = self.assumptions.clone();
        for (member, _) in assumptions
            .mixes
            .iter_mut()
            .flat_map(|mix| &mut mix.members)
        {
            *member = to[*member];
        }
        for founder in &mut assumptions.founders.founders {
            *founder = to[*founder];
        }
        Self {
            records,
            assumptions,
        }
    }
}

fn founder(pick: u16) -> Genotype {
    Genotype::founder(
        [
            Ploidy::DIPLOID,
            Ploidy::DIPLOID,
            Ploidy::TRIPLOID,
            Ploidy::TETRAPLOID,
        ][usize::from(pick) % 4],
    )
}

/// A pedigree with a random order in which to give its records.
pub(crate) fn shuffled(size: usize) -> impl Strategy<Value = (Random, Vec<usize>)> {
    pedigrees(size).prop_flat_map(|random| {
        let order: Vec<usize> = (0..random.records.len()).collect();
        (Just(random), Just(order).prop_shuffle())
    })
}
