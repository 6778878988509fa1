//! Pedigrees shaped like those of a hop breeding program.

use fastrand::Rng;
use quant::kinship::Genotype;

/// Parents of each plant, ancestors first.
pub(crate) struct Program {
    pub(crate) parents: Vec<Option<(u32, u32)>>,
}

const FOUNDERS: usize = 40;
const SEASONS: usize = 60;

impl Program {
    /// Full-sib families of 20 to 400 seedlings. In each of sixty seasons few males serve many females; parents are
    /// picked from the seedlings of the last ten seasons, so generations overlap.
    pub(crate) fn families(size: usize) -> Self {
        Self::bred(size, |random| random.usize(20..400))
    }

    /// The same, but every plant from a cross of its own: the hardest case, in which no sibs share their inbreeding.
    pub(crate) fn single_plants(size: usize) -> Self {
        Self::bred(size, |_| 1)
    }

    fn bred(size: usize, family_size: impl Fn(&mut Rng) -> usize) -> Self {
        let mut random = Rng::with_seed(1969);
        let mut parents = vec![None; FOUNDERS];
        // First plant of each season.
        let mut seasons = vec![0];
        for season in 0..SEASONS {
            let end = FOUNDERS + (size - FOUNDERS) * (season + 1) / SEASONS;
            let eligible = seasons[seasons.len().saturating_sub(10)]..parents.len();
            seasons.push(parents.len());
            let crosses = 1 + (end - parents.len()) / 210;
            let males: Vec<usize> = (0..crosses.div_ceil(8).max(2))
                .map(|_| random.usize(eligible.clone()))
                .collect();
            while parents.len() < end {
                let cross = (
                    random.usize(eligible.clone()) as u32,
                    males[random.usize(..males.len())] as u32,
                );
                let seedlings = family_size(&mut random).min(end - parents.len());
                parents.extend(std::iter::repeat_n(Some(cross), seedlings));
            }
        }
        Self { parents }
    }

    pub(crate) fn genotypes(&self) -> impl Iterator<Item = Genotype> + '_ {
        self.parents.iter().map(|&parents| {
            let (female, male) = parents.unzip();
            Genotype::diploid(
                female.map(|plant| plant as usize),
                male.map(|plant| plant as usize),
            )
        })
    }

    /// The pedigree as a file, with codes of ten characters.
    pub(crate) fn csv(&self) -> Vec<u8> {
        let code = |plant: u32| format!("P{plant:09}");
        let mut lines = vec![String::from("id,female,male,ploidy,origin\n")];
        for (plant, parents) in (0..).zip(&self.parents) {
            let (female, male) = parents
                .map(|(female, male)| (code(female), code(male)))
                .unzip();
            let [female, male] = [female, male].map(Option::unwrap_or_default);
            lines.push(format!("{},{female},{male},2,cross\n", code(plant)));
        }
        lines.concat().into_bytes()
    }
}
