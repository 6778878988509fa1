//! Records with repeats folded together.

use super::{Gamete, Genotype, Origin, PedigreeError, Ploidy, Source};
use std::collections::HashMap;

/// The distinct records of a pedigree. Full sibs have the same one.
pub(super) struct Distinct {
    /// Which record is each genotype's.
    pub(super) family_of: Vec<u32>,
    pub(super) records: Vec<Genotype>,
    /// The first genotype with each record, to be named in errors.
    pub(super) first: Vec<usize>,
}

impl Distinct {
    pub(super) fn collect(
        genotypes: impl IntoIterator<Item = Genotype>,
    ) -> Result<Self, PedigreeError> {
        let genotypes = genotypes.into_iter();
        let mut family_of: Vec<u32> = Vec::with_capacity(genotypes.size_hint().0);
        let (mut records, mut first) = (Vec::new(), Vec::new());
        let mut known = HashMap::new();
        for record in genotypes {
            // Sibs mostly stand together; asking the neighbour first saves the look-up.
            let neighbour = family_of
                .last()
                .copied()
                .filter(|&family| records[family as usize] == record);
            let family = neighbour.unwrap_or_else(|| {
                *known.entry(Identity::of(&record)).or_insert_with(|| {
                    records.push(record);
                    first.push(family_of.len());
                    (records.len() - 1) as u32
                })
            });
            family_of.push(family);
        }
        // Three values of the index type are kept as markers.
        if family_of.len() >= (u32::MAX - 2) as usize {
            return Err(PedigreeError::TooLarge);
        }
        Ok(Self {
            family_of,
            records,
            first,
        })
    }

    /// The record of a genotype, if there is such a genotype.
    pub(super) fn record(&self, genotype: usize) -> Option<&Genotype> {
        self.family_of
            .get(genotype)
            .map(|&family| &self.records[family as usize])
    }
}

/// A record as integers, to be hashed.
#[derive(PartialEq, Eq, Hash)]
struct Identity {
    ploidy: Ploidy,
    /// Kind of source and its index, of each side.
    sources: [(u8, usize); 2],
    /// What is stated of dose and double reduction, of each side.
    meioses: [(Option<u8>, Option<u64>); 2],
}

impl Identity {
    fn of(record: &Genotype) -> Self {
        let source = |gamete: &Gamete| match gamete.source {
            Source::Unknown => (0, 0),
            Source::Plant(plant) => (1, plant),
            Source::Mix(mix) => (2, mix),
        };
        let meiosis = |gamete: &Gamete| (gamete.dose, gamete.double_reduction.map(f64::to_bits));
        let (sources, meioses) = match &record.origin {
            Origin::Founder => ([(3, 0); 2], [(None, None); 2]),
            Origin::Doubled { source } => ([(4, *source); 2], [(None, None); 2]),
            Origin::Variant { source } => ([(5, *source); 2], [(None, None); 2]),
            Origin::Cross { female, male } => (
                [source(female), source(male)],
                [meiosis(female), meiosis(male)],
            ),
        };
        Self {
            ploidy: record.ploidy,
            sources,
            meioses,
        }
    }
}
