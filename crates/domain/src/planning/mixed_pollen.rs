//! A cross with mixed pollen: what its seedlings may be, father by father.
//!
//! The mean over the males hides what each seedling may be: one father may be the female's own brother, or worth half as
//! much as another. Here each male stands with its chance, as its share of the pollen has it.

use super::father_cases::{FatherCase, UncertainFathers};
use super::{Candidate, Candidates};
use crate::genetics::settled;
use crate::{Genotype, Id, PollenShare, Project};
use quant::chance::MixedValue;

/// What may come of a cross with mixed pollen.
#[derive(Debug, Clone, PartialEq)]
pub struct MixedCross {
    /// The seed parent.
    pub female: Id<Genotype>,
    /// A case for each male, the most inbred first; the father of a seedling is the only one in each.
    pub by_father: UncertainFathers,
    /// Males of which nothing can be said, such as one that isn't among the givers of pollen, with their shares.
    pub unknown: Vec<(Id<Genotype>, f64)>,
    /// Males that this female is not to be crossed with, with what stands in the way of each.
    pub ruled_out: Vec<(Id<Genotype>, String)>,
}

impl Candidates {
    /// What may come of a female and mixed pollen; `None` of fewer than two males, or where nothing is known of any.
    pub fn mixed(
        &self,
        project: &Project,
        female: Id<Genotype>,
        shares: &[PollenShare],
    ) -> Option<MixedCross> {
        let males = settled(shares);
        if males.len() < 2 {
            return None;
        }
        let (mut cases, mut unknown, mut ruled_out) = (Vec::new(), Vec::new(), Vec::new());
        for (male, chance) in males {
            match self.pair(female, male) {
                Some(pair) => {
                    cases.push(FatherCase {
                        fathers: vec![(female, Some(male))],
                        chance,
                        inbreeding: pair.relatedness.inbreeding,
                        index: pair.index.mean,
                    });
                    ruled_out.extend(why(project, pair).map(|why| (male, why)));
                }
                None => unknown.push((male, chance)),
            }
        }
        if cases.is_empty() {
            return None;
        }
        cases.sort_by(|one, other| other.inbreeding.total_cmp(&one.inbreeding));
        Some(MixedCross {
            female,
            by_father: UncertainFathers { cases },
            unknown,
            ruled_out,
        })
    }
}

fn why(project: &Project, pair: &Candidate) -> Option<String> {
    let reason = pair.exclusions.first()?;
    let (female, male) = (
        project.code_of(pair.female),
        project.code_of(pair.pollen.male),
    );
    Some(reason.sentence(female, male))
}

impl MixedCross {
    /// The expected index over the fathers, and the standard deviation between them.
    pub fn index(&self) -> MixedValue {
        self.by_father.index()
    }

    /// What may come of it, in sentences: the bad case first, if there is one, then the whole, then each father.
    pub fn words(&self, project: &Project, accepted: f64) -> Vec<String> {
        let mut words = Vec::new();
        if let Some(bad) = self.by_father.bad(accepted) {
            words.push(format!(
                "{:.0} % of the seedlings would be more inbred than the goals accept, up to F {:.3}.",
                100.0 * bad.chance,
                bad.inbreeding
            ));
        }
        let index = self.index();
        words.push(format!(
            "Index of a seedling {:.2} over all fathers; families of the fathers differ by {:.2} (SD). A paternity test of the seedlings you choose tells which they are of.",
            index.mean, index.deviation
        ));
        for case in &self.by_father.cases {
            let Some((_, Some(male))) = case.fathers.first() else {
                continue;
            };
            let barred = self.ruled_out.iter().find(|each| each.0 == *male);
            words.push(format!(
                "{:.0} %: {} is the father. F {:.3}, index {:.2}.{}",
                100.0 * case.chance,
                project.code_of(*male),
                case.inbreeding,
                case.index,
                barred.map_or_else(String::new, |(_, why)| format!(" {why}"))
            ));
        }
        for (male, share) in &self.unknown {
            words.push(format!(
                "{:.0} %: {} is the father. It is not among the givers of pollen, so nothing is said of its seedlings.",
                100.0 * share,
                project.code_of(*male)
            ));
        }
        words
    }
}
