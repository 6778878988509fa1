//! Where the figures of a pair come from.

use super::candidates::Scales;
use super::rates::percent;
use super::{BestOf, Candidate, Candidates, Outlook, Threshold};
use crate::explanation::{Explanation, number};
use crate::{Project, Trait};
use std::collections::BTreeMap;

const MENDELIAN: &str = "Mean of the seedlings = base + τ♀/√(T T♀) × breeding value of the female + τ♂/√(T T♂) × that of the male, 1/2 each for diploids. Spread within the family = √(Mendelian share × additive variance), the share 1/2 - (F♀ + F♂)/4 for diploids. Dominance is left out; errors of the two parents are taken as independent.";
const MENDELIAN_SOURCE: &str = "Henderson (1976), Biometrics 32:69-83; Hamilton & Kerr (2018), Theor. Appl. Genet. 131:851-860";

impl Candidates {
    /// Where the expected value of a trait comes from, by its place among the goals.
    pub fn explain_trait(
        &self,
        project: &Project,
        pair: &Candidate,
        place: usize,
    ) -> Option<Explanation> {
        let known = self.knowledge.traits.get(place)?;
        let name = name(project.traits().get(known.of_trait));
        let title = self.title(project, pair);
        let Some(outlook) = pair.traits.get(place)? else {
            let what = format!("{name} of {title}: not known");
            return Some(known.explain(name, Explanation::new(what, MENDELIAN, MENDELIAN_SOURCE)));
        };
        let what = format!("{name} of {title}: {}", in_words(outlook));
        let mut explained = Explanation::new(what, MENDELIAN, MENDELIAN_SOURCE).with(
            "base, an unselected plant",
            known.base.map(number).unwrap_or_default(),
        );
        for plant in [pair.female, pair.pollen.male] {
            if let Some(index) = self.kinship.index(plant) {
                let value = known.values[index];
                explained = explained.with(
                    format!("breeding value of {}", project.code_of(plant)),
                    format!(
                        "{} ± {} (accuracy {:.2})",
                        number(value.value),
                        number(value.standard_error),
                        value.accuracy
                    ),
                );
            }
        }
        let explained = explained
            .with("Mendelian share", number(pair.mendelian))
            .with(
                "family's mean may be off by (SE)",
                number(outlook.standard_error),
            )
            .with("spread within the family (SD)", number(outlook.spread));
        Some(known.explain(name, explained).resting_on(known.records))
    }

    /// Where the index comes from.
    pub fn explain_index(&self, project: &Project, pair: &Candidate) -> Explanation {
        let what = format!(
            "Index of {}: {}",
            self.title(project, pair),
            in_words(&pair.index)
        );
        let explained = Explanation::new(
            what,
            "Sum over the traits of weight × how many standard deviations of breeding values the family's mean lies the better way from an unselected plant. 0 is unselected.",
            "Hazel (1943), Genetics 28:476-490: breeding values weighted by worth",
        );
        self.weights(project, explained)
    }

    /// Where the best of so many seedlings comes from.
    pub fn explain_best(&self, project: &Project, pair: &Candidate, of: BestOf) -> Explanation {
        let n = of.count();
        let value = pair.best(of);
        let truly = pair.index.picked(of.intensity(), 1.0);
        let mut explained = Explanation::new(
            format!("Best of {n} seedlings of {}: {}", self.title(project, pair), number(value)),
            "Usefulness = mean + i × accuracy × spread: the true index expected of the seedling that scores best on one record of each trait. i is the expected best of n normal values, exact.",
            "Schnell & Utz (1975), usefulness; Harter (1961), Biometrika 48:151-165, order statistics",
        )
        .with("mean of the index", number(pair.index.mean))
        .with(format!("i, best of {n}"), number(of.intensity()))
        .with("accuracy within the family", number(pair.accuracy))
        .with("spread within the family", number(pair.index.spread))
        .with("the truly best, if one knew it", number(truly))
        .with("family's mean may be off by (SE)", number(pair.index.standard_error));
        let years = self.seen_by_year(project);
        if years.len() > 1 {
            for (nth, (year, traits)) in years.iter().enumerate() {
                let what = if nth == 0 { "seen" } else { "seen besides" };
                explained = explained.with(format!("{what} in year {year}"), traits.join(", "));
            }
            explained = explained.with(
                "selection",
                "in stages: the same share is kept each year on what is seen by then (Cochran 1951); the accuracy is what all stages come to",
            );
        }
        explained
    }

    /// The traits that count, by the year in which a seedling first shows them.
    fn seen_by_year(&self, project: &Project) -> BTreeMap<u8, Vec<String>> {
        let mut years: BTreeMap<u8, Vec<String>> = BTreeMap::new();
        for goal in self.goals.traits.iter().filter(|goal| goal.weight != 0.0) {
            let name = name(project.traits().get(goal.of_trait)).to_owned();
            years.entry(goal.seen_in()).or_default().push(name);
        }
        years
    }

    /// Where the chance to reach all thresholds comes from.
    pub fn explain_reaches_all(&self, project: &Project, pair: &Candidate) -> Option<Explanation> {
        let thresholds = self.thresholds()?;
        let mut explained = Explanation::new(
            format!(
                "Chance that a seedling of {} reaches all thresholds: {}",
                self.title(project, pair),
                pair.reaches_all.map_or_else(|| "not known".into(), percent)
            ),
            "Normal values about the family's mean, traits together: spread within the family, and what isn't known of the parents. Within 0.2 % of the exact integral. Correlations are those of plants' records, drawn towards 0 where few plants have both traits; they stand in for those of breeding values.",
            "Genz (1992), J. Comput. Graph. Stat. 1:141-149; Cheverud (1988), Evolution 42:958-968",
        );
        for threshold in thresholds.each() {
            explained = explained.with("threshold", threshold.words(project));
        }
        for (&(one, other), plants) in &self.knowledge.plants_with_both {
            let of =
                |place: usize| name(project.traits().get(self.knowledge.traits[place].of_trait));
            explained = explained.with(
                format!("correlation of {} and {}", of(one), of(other)),
                format!(
                    "{}, from {plants} plants",
                    number(self.knowledge.correlations.get(one, other))
                ),
            );
        }
        Some(explained)
    }

    /// Where the inbreeding of the seedlings comes from.
    pub fn explain_inbreeding(&self, project: &Project, pair: &Candidate) -> Explanation {
        let kin = &pair.relatedness;
        let mut explained = Explanation::new(
            format!("Inbreeding F of a seedling of {}: {}", self.title(project, pair), number(kin.inbreeding)),
            "T (T - 1) F = sum of t (t - 1) p over both gametes + 2 t t' f(female, male), p the chance that two genes of one gamete are alike. With two diploid parents: F = f(female, male).",
            "Kerr et al. (2012), Theor. Appl. Genet. 124:1271-1282; Hamilton & Kerr (2018), Theor. Appl. Genet. 131:851-860",
        )
        .with("kinship f of the parents", number(kin.of_parents))
        .with("accepted by the goals", number(self.goals.inbreeding));
        for plant in [pair.female, pair.pollen.male] {
            if let Some(inbreeding) = self.kinship.inbreeding(plant) {
                explained = explained.with(
                    format!("F of {}", project.code_of(plant)),
                    number(inbreeding),
                );
            }
        }
        explained
    }

    /// Where the kinship that the pair adds comes from.
    pub fn explain_added(&self, project: &Project, pair: &Candidate) -> Explanation {
        let kin = &pair.relatedness;
        Explanation::new(
            format!("Kinship that seedlings of {} add: {}", self.title(project, pair), number(kin.added)),
            "Mean kinship of a seedling with the living plants, less the mean kinship among these, each with itself included. Above 0 the pair narrows the program, below 0 it widens it.",
            "Caballero & Toro (2000), Genet. Res. 75:331-343",
        )
        .with("a seedling with the living plants", number(kin.to_program))
        .with("among the living plants", number(self.program_kinship))
    }

    /// 'F-01 × M-02'.
    pub fn title(&self, project: &Project, pair: &Candidate) -> String {
        format!(
            "{} × {}",
            project.code_of(pair.female),
            project.code_of(pair.pollen.male)
        )
    }

    fn weights(&self, project: &Project, explained: Explanation) -> Explanation {
        let scales = Scales::of(project, &self.goals, &self.knowledge);
        self.goals
            .traits
            .iter()
            .zip(scales.weights)
            .fold(explained, |explained, (goal, unit)| {
                let words = if unit == 0.0 && goal.weight > 0.0 {
                    "left out: too little is known of it".into()
                } else {
                    format!("{}; one unit counts {}", number(goal.weight), number(unit))
                };
                explained.with(
                    format!("weight of {}", name(project.traits().get(goal.of_trait))),
                    words,
                )
            })
    }
}

impl Threshold {
    /// The threshold in words: 'Mildew resistance 5 or more'.
    pub fn words(&self, project: &Project) -> String {
        match self {
            Self::Trait(of_trait, threshold) => {
                let found = project.traits().get(*of_trait);
                let lower = found.is_some_and(|each| each.direction == crate::Direction::Lower);
                let way = if lower { "or less" } else { "or more" };
                format!("{} {} {way}", name(found), number(*threshold))
            }
            Self::Index(points) => format!("index {} or more", number(*points)),
        }
    }
}

fn name(of_trait: Option<&Trait>) -> &str {
    of_trait.map_or("the trait", |each| each.name.as_str())
}

fn in_words(outlook: &Outlook) -> String {
    format!(
        "{} ± {} (SE of the family's mean), spread {}",
        number(outlook.mean),
        number(outlook.standard_error),
        number(outlook.spread)
    )
}
