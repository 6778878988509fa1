//! Inbreeding and kinship of every plant.

use super::cluster::by_likeness;
use super::pedigree::{PlantPedigree, birth_season};
use crate::explanation::{Explanation, number};
use crate::finding::Finding;
use crate::{Genotype, Id, Origin, Pollen, Project, Refusal};
use quant::kinship;

const SOURCES: &str = "Kerr et al. (2012), Theor. Appl. Genet. 124:1271-1282; Hamilton & Kerr (2018), Theor. Appl. \
                       Genet. 131:851-860";

/// Inbreeding and kinship of every plant of a project, at one revision.
///
/// Inbreeding F is known for all; coancestries are worked out when asked for. Coancestry f(x, y) is the chance that
/// one gene drawn from each is identical by descent: the inbreeding of their child, if both are diploid.
#[derive(Debug, Clone)]
pub struct Kinship {
    revision: u64,
    plants: Vec<Id<Genotype>>,
    pub(super) season: Vec<Option<i32>>,
    numbers: kinship::Kinship,
    findings: Vec<Finding>,
}

/// Coancestries within a chosen set of plants.
#[derive(Debug, Clone, PartialEq)]
pub struct KinshipMatrix {
    /// The plants, as they were given but for unknown ones.
    pub plants: Vec<Id<Genotype>>,
    /// Their coancestries, row after row; of each with itself on the diagonal.
    pub values: Vec<f64>,
    /// The plants' places in the order that shows best who is alike.
    pub clustered: Vec<usize>,
}

impl KinshipMatrix {
    /// The coancestry of two plants by their places in [`Self::plants`].
    pub fn get(&self, row: usize, column: usize) -> f64 {
        self.values[row * self.plants.len() + column]
    }

    /// Mean over all pairs, each plant with itself included; `None` without plants.
    pub fn mean(&self) -> Option<f64> {
        (!self.values.is_empty())
            .then(|| self.values.iter().sum::<f64>() / self.values.len() as f64)
    }
}

impl Kinship {
    /// Works out the inbreeding of every plant. `double_reduction` as in [`PlantPedigree::of`]; 0 unless something
    /// better is known. Well under a second for 100,000 plants.
    ///
    /// # Errors
    /// A double reduction that is no probability.
    pub fn of(project: &Project, double_reduction: f64) -> Result<Self, Refusal> {
        let (plants, pedigree, findings) =
            PlantPedigree::of(project, double_reduction)?.into_parts();
        let season = project
            .genotypes()
            .iter()
            .map(|plant| birth_season(project, plant))
            .collect();
        Ok(Self {
            revision: project.revision(),
            plants,
            season,
            numbers: kinship::Kinship::new(pedigree),
            findings,
        })
    }

    /// The revision of the project that this holds for.
    pub const fn revision(&self) -> u64 {
        self.revision
    }

    /// Every plant, in the order of all lists given here.
    pub fn plants(&self) -> &[Id<Genotype>] {
        &self.plants
    }

    /// What of the records could not be used, each with its remedy.
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// The place of a plant in [`Self::plants`].
    pub fn index(&self, plant: Id<Genotype>) -> Option<usize> {
        self.plants.binary_search(&plant).ok()
    }

    /// The numbers by index.
    pub fn numbers(&self) -> &kinship::Kinship {
        &self.numbers
    }

    /// The inbreeding F of a plant: the chance that two of its genes at one place are identical by descent.
    pub fn inbreeding(&self, plant: Id<Genotype>) -> Option<f64> {
        Some(self.numbers.inbreeding(self.index(plant)?))
    }

    /// The coancestry of two plants, or of one with itself.
    pub fn coancestry(&self, one: Id<Genotype>, other: Id<Genotype>) -> Option<f64> {
        Some(
            self.numbers
                .coancestry(self.index(one)?, self.index(other)?),
        )
    }

    /// Coancestry of a plant with every plant, in the order of [`Self::plants`]. Linear in the plants.
    pub fn with_all(&self, plant: Id<Genotype>) -> Option<Vec<f64>> {
        Some(self.numbers.coancestries_with(self.index(plant)?))
    }

    /// Coancestries within a set of plants, and an order of likeness. Plants that aren't known are left out. Meant
    /// for some hundreds: cost grows with the square.
    pub fn matrix(&self, plants: &[Id<Genotype>]) -> KinshipMatrix {
        let (plants, places): (Vec<_>, Vec<_>) = plants
            .iter()
            .filter_map(|&plant| Some((plant, self.index(plant)?)))
            .unzip();
        let block = self.numbers.coancestry_block(&places, &places);
        let size = plants.len();
        let values: Vec<f64> = (0..size)
            .flat_map(|i| (0..size).map(move |j| (i, j)))
            .map(|place| block[place])
            .collect();
        // Coancestry as a share of what two copies of one plant would have.
        let clustered = by_likeness(size, |i, j| {
            1.0 - block[(i, j)] / (block[(i, i)] * block[(j, j)]).sqrt()
        });
        KinshipMatrix {
            plants,
            values,
            clustered,
        }
    }

    /// Where the inbreeding of a plant comes from.
    pub fn explain_inbreeding(
        &self,
        project: &Project,
        plant: Id<Genotype>,
    ) -> Option<Explanation> {
        let record = project.genotypes().get(plant)?;
        let value = self.inbreeding(plant)?;
        let what = format!("Inbreeding F of {}: {}", record.code, number(value));
        let title = |id| project.code_of(id);
        let of_parent =
            |explanation: Explanation, parent: Id<Genotype>| match self.inbreeding(parent) {
                Some(value) => explanation.with(format!("F of {}", title(parent)), number(value)),
                None => explanation,
            };
        let founder = |why: &str| Explanation::new(what.clone(), why, SOURCES);
        let explained = match record.origin {
            Origin::Founder { .. } | Origin::Unknown => {
                founder("No parent is known: taken as 0, unrelated to the other founders.")
            }
            Origin::OpenPollinated { female } => of_parent(
                founder(
                    "One parent is unknown and taken as unrelated to the other; only genes of one gamete can be alike.",
                ),
                female,
            ),
            Origin::Variant { of } => of_parent(
                founder("The same genes as the plant it arose from: the same F."),
                of,
            ),
            Origin::Doubled { from } => of_parent(
                founder(
                    "Every gene of its source twice: F = (1 + (T - 1) F of the source) / T doubled, T sets in the source, so that its kinship with itself stays that of the source.",
                ),
                from,
            ),
            Origin::Cross { cross } => {
                let cross = project.crosses().get(cross)?;
                let mut explained = founder(
                    "T (T - 1) F = sum of t (t - 1) p over both gametes + 2 t t' f(female, male), where T are the sets of the plant, t and t' the genes of its gametes, p the chance that two genes of one gamete are alike. With two diploid parents: F = f(female, male).",
                );
                explained = of_parent(explained, cross.female);
                for male in cross.pollen.males() {
                    explained = of_parent(explained, male);
                    if let Some(shared) = self.coancestry(cross.female, male) {
                        explained = explained.with(
                            format!("f({}, {})", title(cross.female), title(male)),
                            number(shared),
                        );
                    }
                }
                if matches!(cross.pollen, Pollen::Open | Pollen::Unknown) {
                    explained = explained.with("pollen", "unknown: taken as unrelated");
                }
                explained
            }
        };
        let generations = self.numbers.pedigree().equivalent_generations();
        let known = generations[self.index(plant)?];
        Some(
            explained
                .with("sets of chromosomes", record.ploidy.to_string())
                .with("equivalent complete generations known", number(known)),
        )
    }

    /// Where the coancestry of two plants comes from.
    pub fn explain_coancestry(
        &self,
        project: &Project,
        one: Id<Genotype>,
        other: Id<Genotype>,
    ) -> Option<Explanation> {
        let value = self.coancestry(one, other)?;
        let [first, second] = [one, other].map(|plant| project.code_of(plant));
        let common = {
            let of_one = crate::ancestry::ancestors(project, &[one]);
            crate::ancestry::ancestors(project, &[other])
                .intersection(&of_one)
                .count()
        };
        let both_diploid = [one, other].iter().all(|plant| {
            project
                .genotypes()
                .get(*plant)
                .is_some_and(|record| record.ploidy == crate::Ploidy::DIPLOID)
        });
        let explained = Explanation::new(
            format!("Kinship f of {first} and {second}: {}", number(value)),
            "The chance that one gene drawn from each is identical by descent: f(x, y) = sum over the parents p of the younger, x, of its share of genes from p times f(p, y).",
            SOURCES,
        )
        .with(format!("F of {first}"), number(self.inbreeding(one)?))
        .with(format!("F of {second}"), number(self.inbreeding(other)?));
        let explained = if both_diploid {
            explained.with("inbreeding of a child of both", number(value))
        } else {
            explained
        };
        Some(explained.with("ancestors in common, the two counted", common.to_string()))
    }
}
