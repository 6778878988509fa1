//! Records turned into families: doses settled, parents found, founders regressed on one another.

use super::doses::{Side, doses};
use super::pedigree::{Assumptions, Descent, Donor, Family, Meiosis};
use super::records::Distinct;
use super::{DoseFault, Gamete, Genotype, Origin, PedigreeError, Ploidy, PollenMix, Source};

/// Families with their donors. Until the order of descent is known, donors hold genotype indices.
pub(super) struct Resolved {
    pub(super) families: Vec<Family>,
    /// Where each family's donors start, and one more.
    pub(super) starts: Vec<usize>,
    pub(super) donors: Vec<Donor>,
}

impl Resolved {
    /// Closes the family whose donors were pushed last and returns its number.
    fn close(&mut self, family: Family) -> u32 {
        self.families.push(family);
        self.starts.push(self.donors.len());
        (self.families.len() - 1) as u32
    }
}

pub(super) struct Resolver<'a> {
    records: &'a Distinct,
    assumptions: &'a Assumptions,
    resolved: Resolved,
}

impl<'a> Resolver<'a> {
    pub(super) fn new(records: &'a Distinct, assumptions: &'a Assumptions) -> Self {
        let count = records.records.len();
        let resolved = Resolved {
            families: Vec::with_capacity(count),
            starts: vec![0],
            donors: Vec::with_capacity(2 * count),
        };
        Self {
            records,
            assumptions,
            resolved,
        }
    }

    pub(super) fn finish(self) -> Resolved {
        self.resolved
    }

    /// A family for each distinct record, in the same order.
    pub(super) fn add_records(&mut self) -> Result<(), PedigreeError> {
        let Distinct { records, first, .. } = self.records;
        for (record, &genotype) in records.iter().zip(first) {
            let descent = self.descent(genotype, record)?;
            let ploidy = record.ploidy;
            self.resolved.close(Family { ploidy, descent });
        }
        Ok(())
    }

    /// What is wrong with records by themselves: their numbers, each with its fault.
    pub(super) fn faults(&mut self) -> Vec<(u32, PedigreeError)> {
        let Distinct { records, first, .. } = self.records;
        let mut found = Vec::new();
        for (number, (record, &genotype)) in records.iter().zip(first).enumerate() {
            let fault = self.descent(genotype, record).err();
            found.extend(fault.map(|fault| (number as u32, fault)));
            self.resolved.donors.clear();
        }
        found
    }

    /// How the plants of a record come from its parents, whose shares are pushed.
    fn descent(
        &mut self,
        genotype: usize,
        &Genotype { ploidy, origin }: &Genotype,
    ) -> Result<Descent, PedigreeError> {
        Ok(match origin {
            Origin::Founder => {
                let larger = ploidy.sets().div_ceil(2);
                let gamete = |dose| Meiosis {
                    dose,
                    double_reduction: 0.0,
                    donors: 0,
                };
                Descent::Gametes([gamete(larger), gamete(ploidy.sets() - larger)])
            }
            Origin::Cross { female, male } => self.cross(genotype, ploidy, [female, male])?,
            Origin::Doubled { source } => self.copy(genotype, ploidy, source, 2)?,
            Origin::Variant { source } => self.copy(genotype, ploidy, source, 1)?,
        })
    }

    /// A family of its own for each founder whose coancestry was supplied. Returns the founders with it.
    pub(super) fn add_related_founders(&mut self) -> Result<Vec<(usize, u32)>, PedigreeError> {
        let regressions = self
            .assumptions
            .founders
            .regressions(|genotype| self.records.record(genotype).copied())?;
        let mut related = Vec::with_capacity(regressions.len());
        for founder in regressions {
            let donors = founder.on.iter().map(|&(other, share)| Donor {
                parent: other as u32,
                share,
            });
            self.resolved.donors.extend(donors);
            let (residual, self_coancestry) = (founder.residual, founder.self_coancestry);
            let descent = Descent::Regressed {
                residual,
                self_coancestry,
            };
            let family = self.resolved.close(Family {
                ploidy: founder.ploidy,
                descent,
            });
            related.push((founder.genotype, family));
        }
        Ok(related)
    }

    fn ploidy_of(&self, genotype: usize, parent: usize) -> Result<Ploidy, PedigreeError> {
        let record = self.records.record(parent);
        record
            .map(|record| record.ploidy)
            .ok_or(PedigreeError::MissingParent { genotype, parent })
    }

    fn copy(
        &mut self,
        genotype: usize,
        ploidy: Ploidy,
        source: usize,
        times: u16,
    ) -> Result<Descent, PedigreeError> {
        let expected = times * u16::from(self.ploidy_of(genotype, source)?.sets());
        if u16::from(ploidy.sets()) != expected {
            return Err(PedigreeError::CopyPloidy {
                genotype,
                ploidy,
                expected,
            });
        }
        self.resolved.donors.push(Donor {
            parent: source as u32,
            share: 1.0,
        });
        Ok(Descent::Copy)
    }

    fn cross(
        &mut self,
        genotype: usize,
        ploidy: Ploidy,
        gametes: [Gamete; 2],
    ) -> Result<Descent, PedigreeError> {
        let mut parents = [None; 2];
        for (parent, gamete) in parents.iter_mut().zip(&gametes) {
            *parent = self.parent_ploidy(genotype, ploidy, gamete)?;
        }
        let [female, male] = [0, 1].map(|side| Side {
            parent: parents[side],
            stated: gametes[side].dose,
        });
        let doses = doses(ploidy.sets(), female, male).map_err(|fault| PedigreeError::Dose {
            genotype,
            ploidy,
            fault,
        })?;
        let mut settled = [Meiosis {
            dose: 0,
            double_reduction: 0.0,
            donors: 0,
        }; 2];
        for side in 0..2 {
            let (gamete, dose) = (&gametes[side], doses[side]);
            let reduced = parents[side].is_some_and(|sets| sets >= 4 && dose < sets);
            let default = if reduced {
                self.assumptions.double_reduction
            } else {
                0.0
            };
            let double_reduction = gamete.double_reduction.unwrap_or(default);
            if !(0.0..=1.0).contains(&double_reduction) {
                return Err(PedigreeError::DoubleReduction {
                    genotype: Some(genotype),
                    probability: double_reduction,
                });
            }
            let donors = if dose == 0 {
                0
            } else {
                self.push_donors(gamete.source, f64::from(dose) / ploidy.genes())
            };
            settled[side] = Meiosis {
                dose,
                double_reduction,
                donors,
            };
        }
        Ok(Descent::Gametes(settled))
    }

    /// Sets of the plants a gamete may come from; those of a mix must agree unless the dose is stated.
    fn parent_ploidy(
        &self,
        genotype: usize,
        ploidy: Ploidy,
        gamete: &Gamete,
    ) -> Result<Option<u8>, PedigreeError> {
        match gamete.source {
            Source::Unknown => Ok(None),
            Source::Plant(plant) => Ok(Some(self.ploidy_of(genotype, plant)?.sets())),
            Source::Mix(mix) => {
                let PollenMix { members } = self
                    .assumptions
                    .mixes
                    .get(mix)
                    .ok_or(PedigreeError::MissingMix { genotype, mix })?;
                let sets = members
                    .iter()
                    .map(|&(plant, _)| Ok(self.ploidy_of(genotype, plant)?.sets()))
                    .collect::<Result<Vec<u8>, PedigreeError>>()?;
                let (least, most) = (sets.iter().min().copied(), sets.iter().max());
                if least.as_ref() != most && gamete.dose.is_none() {
                    let fault = DoseFault::Ambiguous;
                    return Err(PedigreeError::Dose {
                        genotype,
                        ploidy,
                        fault,
                    });
                }
                Ok(least)
            }
        }
    }

    /// Adds the plants a gamete may come from, which together give `share` of the child's genes.
    fn push_donors(&mut self, source: Source, share: f64) -> usize {
        let donor = |plant: usize, share| Donor {
            parent: plant as u32,
            share,
        };
        let donors = &mut self.resolved.donors;
        let before = donors.len();
        match source {
            Source::Unknown => {}
            Source::Plant(plant) => donors.push(donor(plant, share)),
            Source::Mix(mix) => {
                let members = &self.assumptions.mixes[mix].members;
                donors.extend(
                    members
                        .iter()
                        .map(|&(plant, part)| donor(plant, share * part)),
                );
            }
        }
        donors.len() - before
    }
}
