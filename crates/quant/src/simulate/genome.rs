//! Genes of plants at independent loci.

use fastrand::Rng;

use crate::kinship::Pedigree;

/// Loci of a genome: two machine words of coin tosses for a gamete.
pub(super) const LOCI: usize = 128;
const WORD: usize = 64;

/// The genes of a diploid plant: at each locus two of the genes that today's plants carry, by their number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Genome {
    sides: [Box<[u16; LOCI]>; 2],
}

/// What the genes of today's plants are: where each comes from, and what it does.
pub(super) struct Genes {
    /// Founder genes, locus by locus, then by number of the gene.
    origin: Vec<u32>,
    effect: Vec<f32>,
    /// How many genes today's plants have at a locus.
    count: usize,
}

impl Genes {
    /// Genes for `plants` of a pedigree, dropped by chance from its founders, with effects such that plant by plant
    /// the value is that of `values`, and `deviation` is the genetic standard deviation of an unselected plant.
    pub(super) fn drop(
        pedigree: &Pedigree,
        plants: &[usize],
        values: &[f64],
        deviation: f64,
        random: &mut Rng,
    ) -> Self {
        let count = 2 * plants.len();
        let origin: Vec<u32> = pedigree
            .dropped_genes(plants, LOCI as u32, random.u64(..))
            .into_iter()
            .flatten()
            .collect();
        let each = deviation / (2.0 * LOCI as f64).sqrt();
        let mut effect = vec![0.0_f64; origin.len()];
        for locus in 0..LOCI {
            let own = locus * count..(locus + 1) * count;
            let founders = origin[own.clone()]
                .iter()
                .max()
                .map_or(0, |&last| last as usize + 1);
            let of_founder: Vec<f64> = (0..founders).map(|_| each * normal(random)).collect();
            for place in own {
                effect[place] = of_founder[origin[place] as usize];
            }
        }
        for (plant, value) in values.iter().enumerate() {
            let own = || {
                (0..LOCI).flat_map(move |locus| [0, 1].map(|side| locus * count + 2 * plant + side))
            };
            let sum: f64 = own().map(|place| effect[place]).sum();
            let shift = (value - sum) / (2 * LOCI) as f64;
            for place in own() {
                effect[place] += shift;
            }
        }
        Self {
            origin,
            effect: effect.into_iter().map(|each| each as f32).collect(),
            count,
        }
    }

    /// The genome of one of today's plants.
    pub(super) fn of_today(plant: usize) -> Genome {
        let side = |side: usize| Box::new([(2 * plant + side) as u16; LOCI]);
        Genome {
            sides: [side(0), side(1)],
        }
    }

    /// The additive value of a plant.
    pub(super) fn value(&self, genome: &Genome) -> f64 {
        let side = |genes: &[u16; LOCI]| -> f64 {
            let places = genes
                .iter()
                .enumerate()
                .map(|(locus, &gene)| locus * self.count + usize::from(gene));
            places.map(|place| f64::from(self.effect[place])).sum()
        };
        side(&genome.sides[0]) + side(&genome.sides[1])
    }

    /// The share of loci at which both genes of a plant come from one founder gene.
    pub(super) fn inbreeding(&self, genome: &Genome) -> f64 {
        let [one, other] = &genome.sides;
        self.alike(one, other)
    }

    /// The chance that a gene of each of two plants at one locus come from one founder gene.
    pub(super) fn kinship(&self, one: &Genome, other: &Genome) -> f64 {
        let pairs = one
            .sides
            .iter()
            .flat_map(|one| other.sides.iter().map(move |other| (one, other)));
        0.25 * pairs
            .map(|(one, other)| self.alike(one, other))
            .sum::<f64>()
    }

    fn alike(&self, one: &[u16; LOCI], other: &[u16; LOCI]) -> f64 {
        let same = (0..LOCI).filter(|&locus| {
            let origin = |gene: u16| self.origin[locus * self.count + usize::from(gene)];
            one[locus] == other[locus] || origin(one[locus]) == origin(other[locus])
        });
        same.count() as f64 / LOCI as f64
    }
}

impl Genome {
    /// A seedling of two plants.
    pub(super) fn seedling(female: &Self, male: &Self, random: &mut Rng) -> Self {
        Self {
            sides: [female.gamete(random), male.gamete(random)],
        }
    }

    fn gamete(&self, random: &mut Rng) -> Box<[u16; LOCI]> {
        let mut genes = self.sides[0].clone();
        for (word, chunk) in genes.chunks_exact_mut(WORD).enumerate() {
            let tosses = random.u64(..);
            let others = &self.sides[1][word * WORD..];
            for (bit, (gene, other)) in chunk.iter_mut().zip(others).enumerate() {
                if tosses >> bit & 1 == 1 {
                    *gene = *other;
                }
            }
        }
        genes
    }
}

/// A normal deviate, by the polar method (Marsaglia & Bray 1964, SIAM Review 6:260-264).
pub(super) fn normal(random: &mut Rng) -> f64 {
    loop {
        let (x, y) = (2.0 * random.f64() - 1.0, 2.0 * random.f64() - 1.0);
        let square = x * x + y * y;
        if square > 0.0 && square < 1.0 {
            return x * (-2.0 * square.ln() / square).sqrt();
        }
    }
}
