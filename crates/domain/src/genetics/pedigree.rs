//! The pedigree that a project's records tell.

use crate::finding::{Finding, Weight};
use crate::{Genotype, Id, Origin, Pollen, PollenShare, Project, Refusal};
use chrono::Datelike as _;
use quant::kinship::{self, Assumptions, Gamete, Pedigree, PedigreeError, PollenMix};
use std::collections::BTreeMap;

/// Every plant of a project in a checked pedigree.
///
/// Plants stand in the order of the project's table, so that an index is easily turned into an identity and back.
/// What the records say of a plant's parents but no pedigree can hold (a loop, chromosome sets that no gametes give)
/// is left out and reported by [`Self::findings`]: the plant then counts as one of unknown parents.
#[derive(Debug, Clone)]
pub struct PlantPedigree {
    plants: Vec<Id<Genotype>>,
    pedigree: Pedigree,
    findings: Vec<Finding>,
}

impl PlantPedigree {
    /// Reads the pedigree of a project. `double_reduction` is the probability that two genes of a tetraploid's
    /// gamete are copies of one gene, 0 to about 1/6.
    ///
    /// One male, a pollen mix with its shares (shares not measured part what is left over equally), open or unknown
    /// pollen (an unknown male), doubled plants and variants are taken as they are recorded.
    ///
    /// # Errors
    /// A double reduction that is no probability.
    pub fn of(project: &Project, double_reduction: f64) -> Result<Self, Refusal> {
        let plants: Vec<_> = project.genotypes().iter().map(|plant| plant.id).collect();
        let mut reading = PedigreeReader {
            project,
            plants: &plants,
            mix_of_cross: BTreeMap::new(),
            assumptions: Assumptions {
                double_reduction,
                ..Assumptions::default()
            },
            findings: Vec::new(),
        };
        let mut records: Vec<kinship::Genotype> = project
            .genotypes()
            .iter()
            .map(|plant| reading.record(plant))
            .collect();
        let pedigree = reading.check(&mut records)?;
        let findings = reading.findings;
        Ok(Self {
            plants,
            pedigree,
            findings,
        })
    }

    /// The pedigree, by index.
    pub fn pedigree(&self) -> &Pedigree {
        &self.pedigree
    }

    /// The plants, by index.
    pub fn plants(&self) -> &[Id<Genotype>] {
        &self.plants
    }

    /// What of the records could not be used.
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// Taken apart: the plants by index, the pedigree, and what could not be used.
    pub(super) fn into_parts(self) -> (Vec<Id<Genotype>>, Pedigree, Vec<Finding>) {
        (self.plants, self.pedigree, self.findings)
    }
}

/// The season a plant belongs to: that of the cross it comes from, else the year it was potted or came in.
pub fn birth_season(project: &Project, plant: &Genotype) -> Option<i32> {
    let crossed = match plant.origin {
        Origin::Cross { cross } => project.crosses().get(cross).map(|cross| cross.season),
        _ => None,
    };
    crossed.or_else(|| plant.born.map(|born| born.earliest().year()))
}

struct PedigreeReader<'a> {
    project: &'a Project,
    plants: &'a [Id<Genotype>],
    mix_of_cross: BTreeMap<Id<crate::Cross>, usize>,
    assumptions: Assumptions,
    findings: Vec<Finding>,
}

impl PedigreeReader<'_> {
    fn record(&mut self, plant: &Genotype) -> kinship::Genotype {
        let ploidy = kinship::Ploidy::new(plant.ploidy.0).unwrap_or_else(|| {
            self.tell(
                plant.id,
                format!(
                    "{} has no sets of chromosomes; kinship takes it for a diploid.",
                    plant.code
                ),
                "Correct its ploidy.",
            );
            kinship::Ploidy::DIPLOID
        });
        match plant.origin {
            Origin::Founder { .. } | Origin::Unknown => kinship::Genotype::founder(ploidy),
            Origin::OpenPollinated { female } => {
                let female = self.gamete(plant, female);
                kinship::Genotype::cross(ploidy, female, Gamete::UNKNOWN)
            }
            Origin::Doubled { from } => match self.index(plant, from) {
                Some(source) => kinship::Genotype::doubled(ploidy, source),
                None => kinship::Genotype::founder(ploidy),
            },
            Origin::Variant { of } => match self.index(plant, of) {
                Some(source) => kinship::Genotype::variant(ploidy, source),
                None => kinship::Genotype::founder(ploidy),
            },
            Origin::Cross { cross } => {
                let Some(cross) = self.project.crosses().get(cross) else {
                    self.tell(
                        plant.id,
                        format!("{} comes from a cross that is not in the project; its parents count as unknown.", plant.code),
                        "Enter the cross, or correct the origin of the plant.",
                    );
                    return kinship::Genotype::founder(ploidy);
                };
                let female = self.gamete(plant, cross.female);
                let male = match &cross.pollen {
                    Pollen::Male(male) => self.gamete(plant, *male),
                    Pollen::Open | Pollen::Unknown => Gamete::UNKNOWN,
                    Pollen::Mix(shares) => self.mix(plant, cross.id, shares),
                };
                kinship::Genotype::cross(ploidy, female, male)
            }
        }
    }

    fn gamete(&mut self, plant: &Genotype, parent: Id<Genotype>) -> Gamete {
        self.index(plant, parent)
            .map_or(Gamete::UNKNOWN, Gamete::of)
    }

    fn index(&mut self, plant: &Genotype, parent: Id<Genotype>) -> Option<usize> {
        let found = self.plants.binary_search(&parent).ok();
        if found.is_none() {
            self.tell(
                plant.id,
                format!(
                    "{} comes from a plant that is not in the project; it counts as unknown.",
                    plant.code
                ),
                "Enter that plant, or correct the origin of this one.",
            );
        }
        found
    }

    fn mix(&mut self, plant: &Genotype, cross: Id<crate::Cross>, shares: &[PollenShare]) -> Gamete {
        if let Some(&mix) = self.mix_of_cross.get(&cross) {
            return Gamete::of_mix(mix);
        }
        let mut members = Vec::new();
        for (male, share) in settled(shares) {
            if share > 0.0 {
                members.extend(self.index(plant, male).map(|male| (male, share)));
            } else {
                self.tell(
                    cross,
                    format!(
                        "{} has no share left in the pollen mix of {}; kinship leaves it out.",
                        self.project.code_of(male),
                        self.project.code_of(cross)
                    ),
                    "Correct the shares, or leave them out.",
                );
            }
        }
        if members.is_empty() {
            return Gamete::UNKNOWN;
        }
        let mix = self.assumptions.mixes.len();
        self.assumptions.mixes.push(PollenMix { members });
        self.mix_of_cross.insert(cross, mix);
        Gamete::of_mix(mix)
    }

    /// Leaves out parentage until what remains is a pedigree.
    fn check(&mut self, records: &mut [kinship::Genotype]) -> Result<Pedigree, Refusal> {
        loop {
            let error = match Pedigree::new(records.iter().copied(), &self.assumptions) {
                Ok(pedigree) => return Ok(pedigree),
                Err(error) => error,
            };
            let faults = match &error {
                // All at once: in a large file each may have one.
                PedigreeError::Cycle { .. }
                | PedigreeError::Dose { .. }
                | PedigreeError::CopyPloidy { .. } => {
                    Pedigree::faults(records.iter().copied(), &self.assumptions)
                }
                _ => Vec::new(),
            };
            let refusal = |error: &PedigreeError| Refusal {
                what: format!("No kinship can be worked out: {error}."),
                about: None,
                remedy: "Correct it.".into(),
            };
            if faults.is_empty() {
                let again = Pedigree::new(records.iter().copied(), &self.assumptions);
                return again.map_err(|error| refusal(&error));
            }
            for (error, cut) in faults {
                self.tell_fault(&error, &cut);
                for plant in cut {
                    records[plant] = kinship::Genotype::founder(records[plant].ploidy);
                }
            }
        }
    }

    /// Says why the parents of these plants count as unknown.
    fn tell_fault(&mut self, error: &PedigreeError, plants: &[usize]) {
        if let PedigreeError::Cycle { members } = error {
            let codes: Vec<&str> = members.iter().map(|&each| self.code(each)).collect();
            let first = members
                .first()
                .map_or(self.plants[0], |&each| self.plants[each]);
            self.tell(
                first,
                format!(
                    "{} would be their own ancestors; their parents count as unknown.",
                    codes.join(", ")
                ),
                "Correct the origin of one of them.",
            );
        }
        for &plant in plants {
            if let PedigreeError::Dose { ploidy, fault, .. } = error {
                let what = format!(
                    "{} is {ploidy}, but {fault}; its parents count as unknown.",
                    self.code(plant)
                );
                self.tell(
                    self.plants[plant],
                    what,
                    "Correct its ploidy, or that of a parent.",
                );
            }
            if let PedigreeError::CopyPloidy {
                ploidy, expected, ..
            } = error
            {
                let what = format!(
                    "{} is {ploidy}, but made from its source it should be {expected}x; its source counts as unknown.",
                    self.code(plant)
                );
                self.tell(
                    self.plants[plant],
                    what,
                    "Correct its ploidy or its origin.",
                );
            }
        }
    }

    fn code(&self, index: usize) -> &str {
        self.project.code_of(self.plants[index])
    }

    fn tell(&mut self, about: impl Into<crate::AnyId>, what: String, remedy: &str) {
        self.findings.push(Finding {
            weight: Weight::Fault,
            about: Some(about.into()),
            what,
            remedy: remedy.into(),
        });
    }
}

/// The shares of a mix: those measured as they are, the others equal parts of what is left; scaled to 1 where the
/// measured ones don't come to it.
pub fn settled(shares: &[PollenShare]) -> Vec<(Id<Genotype>, f64)> {
    let measured: f64 = shares.iter().filter_map(|each| each.share).sum();
    let unmeasured = shares.iter().filter(|each| each.share.is_none()).count();
    let rest = (1.0 - measured).max(0.0) / unmeasured.max(1) as f64;
    let whole = if unmeasured > 0 {
        measured.max(1.0)
    } else {
        measured
    };
    shares
        .iter()
        .map(|each| (each.male, each.share.unwrap_or(rest) / whole))
        .collect()
}
