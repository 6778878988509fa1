//! What is stated about one genotype: its ploidy and where its genes came from.

use std::fmt;

/// Number of chromosome sets of a plant, at least 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Ploidy(u8);

impl Ploidy {
    /// One set.
    pub const HAPLOID: Self = Self(1);
    /// Two sets, as in most hop.
    pub const DIPLOID: Self = Self(2);
    /// Three sets.
    pub const TRIPLOID: Self = Self(3);
    /// Four sets.
    pub const TETRAPLOID: Self = Self(4);

    /// A ploidy of `sets` chromosome sets; `None` for zero.
    pub const fn new(sets: u8) -> Option<Self> {
        if sets == 0 { None } else { Some(Self(sets)) }
    }

    /// The number of chromosome sets, which is the number of genes at a locus.
    pub const fn sets(self) -> u8 {
        self.0
    }

    /// The number of genes at a locus, ready for arithmetic.
    pub(super) fn genes(self) -> f64 {
        f64::from(self.0)
    }
}

impl fmt::Display for Ploidy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}x", self.0)
    }
}

/// One record of a pedigree. Its index is its place in the sequence given to
/// [`Pedigree::new`](super::Pedigree::new); parents are named by theirs, and may come later.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Genotype {
    /// Chromosome sets of the plant itself.
    pub ploidy: Ploidy,
    /// Where its genes came from.
    pub origin: Origin,
}

/// Where a genotype's genes came from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Origin {
    /// Nothing is known of its parents. Founders are unrelated and not inbred, unless
    /// [`FounderKinship`](super::FounderKinship) says otherwise.
    Founder,
    /// Two gametes met. Selfing is a cross with the same plant on both sides.
    Cross {
        /// The egg cell.
        female: Gamete,
        /// The pollen.
        male: Gamete,
    },
    /// The chromosome number of a plant was doubled: twice its sets, every gene present twice as often.
    Doubled {
        /// The plant that was doubled.
        source: usize,
    },
    /// A sport, mutant or other clonal variant: all genes of its source, recorded apart.
    Variant {
        /// The plant it arose from.
        source: usize,
    },
}

/// One side of a cross.
///
/// `dose` is the number of genes the gamete carries at a locus. Left `None`, it is half the sets of the plant
/// it comes from; where that does not add up to the child's own ploidy, the one reading that does is taken
/// (a triploid gives 1 or 2 genes, a gamete may be unreduced, an unknown parent gives what is missing), and
/// if there are several readings or none the pedigree is refused.
///
/// `double_reduction` is the probability that two genes drawn from the gamete without replacement are copies of
/// one gene of the parent (λ of Kerr et al. 2012). Left `None`, it is the default of
/// [`Assumptions`](super::Assumptions) for reduced gametes of plants with four or more sets, and 0 otherwise.
/// It has no meaning for a gamete of one gene.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gamete {
    /// The plant or mix of plants it comes from.
    pub source: Source,
    /// Genes carried at a locus.
    pub dose: Option<u8>,
    /// Probability that two of its genes are copies of one parental gene.
    pub double_reduction: Option<f64>,
}

impl Gamete {
    /// A gamete of unknown origin. The unknown parent is unrelated to everything else.
    pub const UNKNOWN: Self = Self::from_source(Source::Unknown);

    /// An ordinary gamete of one plant, given by its index.
    pub const fn of(plant: usize) -> Self {
        Self::from_source(Source::Plant(plant))
    }

    /// An ordinary gamete from a pollen mix, given by its index in
    /// [`Assumptions::mixes`](super::Assumptions::mixes).
    pub const fn of_mix(mix: usize) -> Self {
        Self::from_source(Source::Mix(mix))
    }

    /// A gamete that carries `dose` genes at a locus.
    #[must_use]
    pub const fn with_dose(self, dose: u8) -> Self {
        Self {
            dose: Some(dose),
            ..self
        }
    }

    /// A gamete whose double reduction is stated for itself.
    #[must_use]
    pub const fn with_double_reduction(self, probability: f64) -> Self {
        Self {
            double_reduction: Some(probability),
            ..self
        }
    }

    const fn from_source(source: Source) -> Self {
        Self {
            source,
            dose: None,
            double_reduction: None,
        }
    }
}

/// Where a gamete came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// Nobody knows.
    Unknown,
    /// One plant, by its index.
    Plant(usize),
    /// One of several plants, by the index of the [`PollenMix`].
    Mix(usize),
}

/// Plants that may each have given the gamete, with the probability of each.
///
/// Relationships through a mix are expectations over its members (Henderson 1988, "Use of an average numerator
/// relationship matrix for multiple-sire joining", J. Anim. Sci. 66:1614-1621). Shares that sum to less than 1
/// leave the rest to unknown pollen.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct PollenMix {
    /// Index of each plant with its share, each share above 0, together at most 1.
    pub members: Vec<(usize, f64)>,
}

impl Genotype {
    /// A founder.
    pub const fn founder(ploidy: Ploidy) -> Self {
        Self {
            ploidy,
            origin: Origin::Founder,
        }
    }

    /// The child of two gametes.
    pub const fn cross(ploidy: Ploidy, female: Gamete, male: Gamete) -> Self {
        Self {
            ploidy,
            origin: Origin::Cross { female, male },
        }
    }

    /// A plant with the chromosome number of `source` doubled.
    pub const fn doubled(ploidy: Ploidy, source: usize) -> Self {
        Self {
            ploidy,
            origin: Origin::Doubled { source },
        }
    }

    /// A clonal variant of `source`.
    pub const fn variant(ploidy: Ploidy, source: usize) -> Self {
        Self {
            ploidy,
            origin: Origin::Variant { source },
        }
    }

    /// A diploid with the usual notation of pedigree lists: `None` for an unknown parent, and for both in a founder.
    pub fn diploid(female: Option<usize>, male: Option<usize>) -> Self {
        let side = |parent: Option<usize>| parent.map_or(Gamete::UNKNOWN, Gamete::of);
        match (female, male) {
            (None, None) => Self::founder(Ploidy::DIPLOID),
            _ => Self::cross(Ploidy::DIPLOID, side(female), side(male)),
        }
    }
}
