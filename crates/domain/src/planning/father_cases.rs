//! Pairs of which a parent's own father isn't known for sure: what each possible father would mean.
//!
//! Kinship through a pollen mix is an expectation over the males in it. The mean hides what may happen: of two possible
//! fathers, one may be the very male that the daughter is to be crossed with. Here each case stands with its chance.

use super::fathers::{Father, NEGLIGIBLE, mother_of};
use super::{BadCase, BestOf, Candidate, Candidates};
use crate::{Genotype, Id, Project};
use quant::chance::{MixedValue, value_of_knowing};
use quant::kinship::Offspring;

/// One way in which the fathers may have been.
#[derive(Debug, Clone, PartialEq)]
pub struct FatherCase {
    /// A parent of the pair and the father it has in this case; `None` for a male that isn't known.
    pub fathers: Vec<(Id<Genotype>, Option<Id<Genotype>>)>,
    /// The chance of the case.
    pub chance: f64,
    /// Inbreeding F of the seedlings in this case.
    pub inbreeding: f64,
    /// Expected index of a seedling in this case.
    pub index: f64,
}

/// What may come of a pair, its parents' fathers not being known for sure.
#[derive(Debug, Clone, PartialEq)]
pub struct UncertainFathers {
    /// Every case, the most inbred first.
    pub cases: Vec<FatherCase>,
}

impl UncertainFathers {
    /// The cases in which seedlings would be more inbred than `accepted`, if there are any.
    pub fn bad(&self, accepted: f64) -> Option<BadCase> {
        let beyond = |case: &&FatherCase| case.inbreeding > accepted + 1e-9;
        let chance: f64 = self
            .cases
            .iter()
            .filter(beyond)
            .map(|each| each.chance)
            .sum();
        let worst = self.cases.first()?;
        (chance > NEGLIGIBLE).then_some(BadCase {
            chance,
            inbreeding: worst.inbreeding,
        })
    }

    /// The expected index over the cases, and the standard deviation between them.
    pub fn index(&self) -> MixedValue {
        let cases: Vec<_> = self
            .cases
            .iter()
            .map(|each| (each.chance, each.index))
            .collect();
        MixedValue::of(&cases)
    }
}

/// What a paternity test of the parents would be worth before the pair is crossed.
#[derive(Debug, Clone, PartialEq)]
pub struct PaternityTest {
    /// The plants to test.
    pub plants: Vec<Id<Genotype>>,
    /// The chance that the answer would rule the pair out.
    pub rules_out: f64,
    /// The female and male that would be crossed instead.
    pub instead: Option<(Id<Genotype>, Id<Genotype>)>,
    /// What the answer is worth in index points of the best of fifty seedlings: with it, less without it.
    pub worth: f64,
}

/// A parent of a pair with one of its possible fathers.
struct Supposed {
    plant: Id<Genotype>,
    index: usize,
    /// Its mother and its father in this case, by index, with 1/2 each; itself where its father isn't in doubt.
    sources: Vec<(Option<usize>, f64)>,
    /// `Some` where its father is in doubt.
    father: Option<Father>,
    chance: f64,
}

impl Candidates {
    /// What may come of a pair, where the father of either parent isn't known for sure; `None` where both are known, or
    /// one parent descends from the other, so that the doubt is about both at once.
    ///
    /// Doubt about fathers further back is left in the mean, as kinship has it.
    pub fn uncertain_fathers(
        &self,
        project: &Project,
        pair: &Candidate,
    ) -> Option<UncertainFathers> {
        let (female, male) = (pair.female, pair.pollen.male);
        let doubtful = |plant| self.fathers.of.contains_key(&plant);
        if !doubtful(female) && !doubtful(male) {
            return None;
        }
        let mothers = self.supposed(project, female)?;
        let fathers = self.supposed(project, male)?;
        if mothers.len() * fathers.len() < 2 || female == male {
            return None;
        }
        if self.descends(female, male) {
            return self.with_an_ancestor(pair, &mothers, male, true);
        }
        if self.descends(male, female) {
            return self.with_an_ancestor(pair, &fathers, female, false);
        }
        let mut cases = Vec::new();
        for mother in &mothers {
            for father in &fathers {
                let kinship = self.kinship_of(mother, father);
                cases.push(self.case(pair, mother, father, kinship)?);
            }
        }
        Some(sorted(cases))
    }

    /// The same where the male may be the father of the female, or the female is the mother of the male. A case is
    /// expanded from the younger plant alone.
    fn with_an_ancestor(
        &self,
        pair: &Candidate,
        younger: &[Supposed],
        older: Id<Genotype>,
        male_is_older: bool,
    ) -> Option<UncertainFathers> {
        if younger.len() < 2 {
            return None;
        }
        let elder = Supposed::sure(older, self.kinship.index(older)?);
        let mut cases = Vec::new();
        for each in younger {
            let kinship = self.kinship_of(each, &elder);
            let (mother, father) = if male_is_older {
                (each, &elder)
            } else {
                (&elder, each)
            };
            cases.push(self.case(pair, mother, father, kinship)?);
        }
        Some(sorted(cases))
    }

    /// Whether a plant whose father isn't known for sure may descend from another.
    fn descends(&self, younger: Id<Genotype>, older: Id<Genotype>) -> bool {
        self.fathers
            .ancestors
            .get(&younger)
            .is_some_and(|all| all.contains(&older))
    }

    fn supposed(&self, project: &Project, plant: Id<Genotype>) -> Option<Vec<Supposed>> {
        let index = self.kinship.index(plant)?;
        let Some(fathers) = self.fathers.of.get(&plant) else {
            return Some(vec![Supposed::sure(plant, index)]);
        };
        if project.genotypes().get(plant)?.ploidy != crate::Ploidy::DIPLOID {
            return Some(vec![Supposed::sure(plant, index)]);
        }
        let mother = mother_of(project, plant)?;
        let mother = self.kinship.index(mother);
        Some(
            fathers
                .iter()
                .map(|&(father, chance)| Supposed {
                    plant,
                    index,
                    sources: vec![
                        (mother, 0.5),
                        (father.and_then(|father| self.kinship.index(father)), 0.5),
                    ],
                    father: Some(father),
                    chance,
                })
                .collect(),
        )
    }

    /// The kinship of two plants, each supposed to have the father it has in the case. An unknown male is kin to none.
    fn kinship_of(&self, one: &Supposed, other: &Supposed) -> f64 {
        let mut sum = 0.0;
        for (a, of_one) in &one.sources {
            for (b, of_other) in &other.sources {
                if let (Some(a), Some(b)) = (a, b) {
                    sum += of_one * of_other * self.two(*a, *b);
                }
            }
        }
        sum
    }

    fn two(&self, one: usize, other: usize) -> f64 {
        let found = self.fathers.kinship.get(&(one, other));
        found.map_or_else(|| self.kinship.numbers().coancestry(one, other), |kin| *kin)
    }

    fn case(
        &self,
        pair: &Candidate,
        mother: &Supposed,
        father: &Supposed,
        kinship: f64,
    ) -> Option<FatherCase> {
        let numbers = self.kinship.numbers();
        let mate = |plant: &Supposed| quant::kinship::Mate {
            ploidy: quant::kinship::Ploidy::DIPLOID,
            inbreeding: numbers.inbreeding(plant.index),
        };
        let inbreeding = if pair.ploidy == Some(crate::Ploidy::DIPLOID) {
            Offspring::of(mate(mother), mate(father), kinship, 0.0)?.inbreeding
        } else {
            kinship
        };
        let [hers, his] = pair.transmitted;
        let shift = hers * self.shift(mother) + his * self.shift(father);
        Some(FatherCase {
            fathers: [mother, father]
                .into_iter()
                .filter_map(|each| each.father.map(|father| (each.plant, father)))
                .collect(),
            chance: mother.chance * father.chance,
            inbreeding,
            index: pair.index.mean + shift,
        })
    }

    /// By how much the index of a plant's breeding value departs in this case from what is expected over all cases.
    ///
    /// Half of what its father's value departs from the mean of the possible ones, as far as the plant's value rests on
    /// its parents and not on records of its own: the share of its error that its parents' average would leave.
    fn shift(&self, plant: &Supposed) -> f64 {
        let Some(father) = plant.father else {
            return 0.0;
        };
        let mut sum = 0.0;
        for (place, (known, weight)) in self
            .knowledge
            .traits
            .iter()
            .zip(&self.fathers.weights)
            .enumerate()
        {
            let Some(additive) = known.additive else {
                continue;
            };
            let value = |index: usize| known.values[index];
            let all = self.fathers_mean(plant, place);
            let his = father
                .and_then(|father| self.kinship.index(father))
                .map_or(0.0, |index| value(index).value);
            let alone = 0.5 * additive
                + plant
                    .sources
                    .iter()
                    .filter_map(|(index, _)| *index)
                    .map(|index| 0.25 * value(index).standard_error.powi(2))
                    .sum::<f64>();
            let rests = (value(plant.index).standard_error.powi(2) / alone).clamp(0.0, 1.0);
            sum += weight * rests * 0.5 * (his - all);
        }
        sum
    }

    fn fathers_mean(&self, plant: &Supposed, place: usize) -> f64 {
        let of = |index: usize| self.knowledge.traits[place].values[index].value;
        self.fathers
            .of
            .get(&plant.plant)
            .into_iter()
            .flatten()
            .map(|(father, share)| {
                share
                    * father
                        .and_then(|father| self.kinship.index(father))
                        .map_or(0.0, of)
            })
            .sum()
    }

    /// Flags the pairs offered that may come out more inbred than the goals accept.
    pub(super) fn flag_bad_cases(&mut self, project: &Project) {
        if self.fathers.of.is_empty() {
            return;
        }
        let flags: Vec<Option<BadCase>> = self
            .pairs
            .iter()
            .map(|pair| {
                pair.is_offered()
                    .then(|| self.uncertain_fathers(project, pair))??
                    .bad(self.goals.inbreeding)
            })
            .collect();
        for (pair, flag) in self.pairs.iter_mut().zip(flags) {
            pair.bad_case = flag;
        }
    }

    /// What a paternity test would be worth before this pair is crossed: the chance that it rules the pair out, what
    /// would be crossed instead, and the index gained on average by knowing (the expected value of perfect information).
    ///
    /// A family that turns out more inbred than the goals accept counts as no better than an unselected plant.
    pub fn paternity_test(&self, project: &Project, pair: &Candidate) -> Option<PaternityTest> {
        let uncertain = self.uncertain_fathers(project, pair)?;
        let of = BestOf::seedlings(super::candidates::FAMILY);
        let accepted = self.goals.inbreeding;
        let gain = pair.best(of) - pair.index.mean;
        let outcomes: Vec<(f64, f64)> = uncertain
            .cases
            .iter()
            .map(|case| {
                let usable = case.inbreeding <= accepted + 1e-9;
                (case.chance, if usable { case.index + gain } else { 0.0 })
            })
            .collect();
        // Pairs stand best first.
        let instead = self.pairs.iter().find(|other| {
            other.is_offered()
                && other.female == pair.female
                && other.pollen.male != pair.pollen.male
                && other.bad_case.is_none()
        });
        let otherwise = instead.map_or(0.0, |other| other.best(of));
        let mut plants: Vec<_> = uncertain
            .cases
            .iter()
            .flat_map(|case| case.fathers.iter().map(|each| each.0))
            .collect();
        plants.sort_unstable();
        plants.dedup();
        Some(PaternityTest {
            plants,
            rules_out: uncertain.bad(accepted).map_or(0.0, |bad| bad.chance),
            instead: instead.map(|other| (other.female, other.pollen.male)),
            worth: value_of_knowing(&outcomes, otherwise),
        })
    }

    /// What isn't known of the fathers of a pair, in sentences: the bad case first, then each case, then what a test
    /// would settle. Empty where the fathers are known.
    pub fn father_words(&self, project: &Project, pair: &Candidate) -> Vec<String> {
        let Some(uncertain) = self.uncertain_fathers(project, pair) else {
            return Vec::new();
        };
        let mut words = Vec::new();
        if let Some(bad) = uncertain.bad(self.goals.inbreeding) {
            words.push(format!(
                "{} What the list shows is the mean of all cases.",
                bad.words()
            ));
        }
        for case in &uncertain.cases {
            let fathers: Vec<String> = case
                .fathers
                .iter()
                .map(|(plant, father)| {
                    let father =
                        father.map_or("a male not known", |father| project.code_of(father));
                    format!("{} is the father of {}", father, project.code_of(*plant))
                })
                .collect();
            words.push(format!(
                "{:.0} %: {}. F {:.3}, index {:.2}.",
                100.0 * case.chance,
                fathers.join(", and "),
                case.inbreeding,
                case.index
            ));
        }
        if let Some(test) = self.paternity_test(project, pair) {
            let plants: Vec<&str> = test
                .plants
                .iter()
                .map(|plant| project.code_of(*plant))
                .collect();
            let instead = test.instead.map_or_else(
                || "no other pair is offered for this female".into(),
                |(female, male)| {
                    format!(
                        "{} × {} would be crossed instead",
                        project.code_of(female),
                        project.code_of(male)
                    )
                },
            );
            words.push(format!(
                "A paternity test of {} before the cross would rule this pair out with {:.0} %; {instead}. Knowing is worth {:.2} index points on average.",
                plants.join(" and "),
                100.0 * test.rules_out,
                test.worth
            ));
        }
        words
    }
}

impl Supposed {
    fn sure(plant: Id<Genotype>, index: usize) -> Self {
        Self {
            plant,
            index,
            sources: vec![(Some(index), 1.0)],
            father: None,
            chance: 1.0,
        }
    }
}

fn sorted(mut cases: Vec<FatherCase>) -> UncertainFathers {
    cases.sort_by(|one, other| other.inbreeding.total_cmp(&one.inbreeding));
    UncertainFathers { cases }
}
