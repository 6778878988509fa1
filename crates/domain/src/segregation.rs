//! How families sort: female and male, resistant and susceptible, against the ratios expected of them.

use crate::explanation::Explanation;
use crate::germination::{Interval, LEVEL, p_words, percent, percents};
use crate::words::plural;
use crate::{Cross, Genotype, Id, Origin, Project, Sex, SexBasis, Trait};
use quant::proportion::{exact_interval, exact_test, trials_for_power, wilson_interval};
use quant::segregation::{self, Ratio, more_to_settle, posterior};
use std::collections::BTreeMap;

/// Seedlings of one origin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// Of every origin.
    All,
    /// Of one cross.
    Cross(Id<Cross>),
    /// Of one female left open.
    Open(Id<Genotype>),
}

impl Family {
    /// Its name.
    pub fn title(self, project: &Project) -> String {
        match self {
            Self::All => "All seedlings".into(),
            Self::Cross(cross) => project.code_of(cross).to_owned(),
            Self::Open(female) => format!("{} × open", project.code_of(female)),
        }
    }

    fn of(plant: &Genotype) -> Option<Self> {
        match plant.origin {
            Origin::Cross { cross } => Some(Self::Cross(cross)),
            Origin::OpenPollinated { female } => Some(Self::Open(female)),
            _ => None,
        }
    }
}

/// Every family with seedlings, all of them together first, each with its plants.
fn families(project: &Project) -> Vec<(Family, Vec<&Genotype>)> {
    let mut found: BTreeMap<Family, Vec<&Genotype>> = BTreeMap::new();
    for plant in project.genotypes().iter() {
        if let Some(family) = Family::of(plant) {
            found.entry(family).or_default().push(plant);
            found.entry(Family::All).or_default().push(plant);
        }
    }
    let mut families: Vec<_> = found.into_iter().collect();
    families.sort_by_cached_key(|(family, _)| (*family != Family::All, family.title(project)));
    families
}

/// The sexes of a family.
#[derive(Debug, Clone, PartialEq)]
pub struct Sexes {
    /// The family.
    pub family: Family,
    /// Its name.
    pub title: String,
    /// Female seedlings.
    pub females: u32,
    /// Male seedlings.
    pub males: u32,
    /// Monoecious seedlings: in neither count.
    pub monoecious: u32,
    /// Sex not known.
    pub unknown: u32,
    /// Known by a marker test alone, among the females and males.
    pub by_marker: u32,
}

/// The power with which a share is to be told from one half.
const POWER: f64 = 0.8;
/// The error that is risked in telling it.
const SIGNIFICANCE: f64 = 0.05;
/// The share that hop families were found to have where the marker was counted.
const PUBLISHED: f64 = 0.613;

const SEX_SOURCE: &str = "Clopper & Pearson (1934) Biometrika 26:404–413; Wilson (1927); exact binomial test. Female-biased families are published: 61.3 % female (Machado et al. 2020, Ciência e Natura 42 e45), about 70 % (Liberatore et al. 2018, Scientia Horticulturae 235:86–94)";

impl Sexes {
    /// Females and males together.
    pub const fn known(&self) -> u32 {
        self.females + self.males
    }

    /// The female share; `None` while no sex is known.
    pub fn share(&self) -> Option<f64> {
        (self.known() > 0).then(|| f64::from(self.females) / f64::from(self.known()))
    }

    /// The Wilson and the exact interval of the female share.
    pub fn intervals(&self) -> (Interval, Interval) {
        (
            wilson_interval(self.females, self.known(), LEVEL),
            exact_interval(self.females, self.known(), LEVEL),
        )
    }

    /// The exact p against one female to one male.
    pub fn p(&self) -> Option<f64> {
        (self.known() > 0).then(|| exact_test(self.females, self.known(), 0.5))
    }

    /// The female share with its Wilson interval: '61 (44 to 76)'; a dash where it isn't known.
    pub fn share_words(&self) -> String {
        self.share().map_or_else(
            || "\u{2013}".into(),
            |share| format!("{} ({})", percent(share), percents(self.intervals().0)),
        )
    }

    /// How many more seedlings of known sex would show, four times in five, that the share is not one half: `Ok` with
    /// the number, where the share is as it stands; `Err` with the number for a share as published, where it stands so
    /// near one half that no number would. `None` where it is shown already.
    pub fn more(&self) -> Option<Result<u32, u32>> {
        if self.p().is_some_and(|p| p < SIGNIFICANCE) {
            return None;
        }
        let more = |share| {
            trials_for_power(0.5, share, SIGNIFICANCE, POWER)
                .map(|trials| trials.saturating_sub(self.known()))
        };
        let standing = self
            .share()
            .filter(|share| (share - 0.5).abs() > 0.02 && *share > 0.0 && *share < 1.0)
            .and_then(more);
        match standing {
            Some(number) => Some(Ok(number)),
            None => more(PUBLISHED).map(Err),
        }
    }

    /// What the counts say, as a sentence.
    pub fn words(&self) -> String {
        let Some((share, p)) = self.share().zip(self.p()) else {
            return "No sex is known yet.".into();
        };
        let counts = format!(
            "{} of {} are female, {} %",
            self.females,
            self.known(),
            percent(share)
        );
        match self.more() {
            None => format!("{counts}: not 1 : 1 (p {}).", p_words(p)),
            Some(Ok(more)) => format!(
                "{counts}: 1 : 1 cannot be ruled out (p {}). If this share is real, sexing {more} more {} would \
                probably show it.",
                p_words(p),
                plural(more, "seedling", "seedlings")
            ),
            Some(Err(more)) => format!(
                "{counts}: consistent with 1 : 1 (p {}). Sexing {more} more {} would probably reveal a bias as large as the published {} %.",
                p_words(p),
                plural(more, "seedling", "seedlings"),
                percent(PUBLISHED)
            ),
        }
    }

    /// Where the figures come from.
    pub fn explain(&self) -> Explanation {
        let (wilson, exact) = self.intervals();
        let value = self.share().map_or_else(|| "\u{2013}".into(), percent);
        let mut explanation = Explanation::new(
            format!("Female, % of {}: {value}", self.title),
            "females ÷ (females + males), of all seedlings whose sex is known, living or not. p: probability of all counts no likelier than these, were both sexes as likely. How many more: the fewest with which the exact test at 5 % finds the difference four times in five.",
            SEX_SOURCE,
        )
        .with("females", self.females.to_string())
        .with("males", self.males.to_string())
        .with("Wilson, 95 %", percents(wilson))
        .with("exact, 95 %", percents(exact))
        .with("sex not known", self.unknown.to_string());
        if self.monoecious > 0 {
            explanation = explanation.with("monoecious, left out", self.monoecious.to_string());
        }
        if self.by_marker > 0 {
            explanation = explanation.with("by marker test alone", self.by_marker.to_string());
        }
        explanation.resting_on(self.known() as usize)
    }
}

/// The sexes of every family with seedlings, all of them together first.
pub fn sexes(project: &Project) -> Vec<Sexes> {
    families(project)
        .into_iter()
        .map(|(family, plants)| {
            let mut sexes = Sexes {
                family,
                title: family.title(project),
                females: 0,
                males: 0,
                monoecious: 0,
                unknown: 0,
                by_marker: 0,
            };
            for plant in plants {
                match plant.known_sex() {
                    Some(Sex::Female) => sexes.females += 1,
                    Some(Sex::Male) => sexes.males += 1,
                    Some(Sex::Monoecious) => sexes.monoecious += 1,
                    None => sexes.unknown += 1,
                }
                let marker = |basis: &SexBasis| matches!(basis, SexBasis::MarkerTest { .. });
                let counted = matches!(plant.known_sex(), Some(Sex::Female | Sex::Male));
                if counted && plant.sex.as_ref().is_some_and(|sex| marker(&sex.basis)) {
                    sexes.by_marker += 1;
                }
            }
            sexes
        })
        .collect()
}

/// A ratio that a way of inheriting leads to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inheritance {
    /// The parts: of the class first named, and of the other.
    pub parts: (u32, u32),
    /// What leads to it, the class first named being the dominant one.
    pub ways: &'static str,
}

impl Inheritance {
    /// The ratio in words.
    pub fn words(&self) -> String {
        format!("{} : {}", self.parts.0, self.parts.1)
    }

    /// The share expected of the class first named.
    pub fn share(&self) -> f64 {
        f64::from(self.parts.0) / f64::from(self.parts.0 + self.parts.1)
    }

    fn ratio(&self) -> Option<Ratio> {
        Ratio::new(&[f64::from(self.parts.0), f64::from(self.parts.1)])
    }
}

/// The ratios a family of two classes is held against: textbook Mendelian ratios of one and two genes (Bateson 1909,
/// Mendel's Principles of Heredity), and of one gene in a tetraploid whose chromosomes pair at random (Muller 1914,
/// American Naturalist 48:508–512; both from memory).
pub const INHERITANCES: [Inheritance; 7] = [
    Inheritance {
        parts: (1, 1),
        ways: "One dominant gene, one parent heterozygous.",
    },
    Inheritance {
        parts: (3, 1),
        ways: "One gene, carried once by both parents; or either of two genes, each carried once by one parent.",
    },
    Inheritance {
        parts: (1, 3),
        ways: "Both of two genes are needed, each carried once by one parent; or one recessive gene, carried by both.",
    },
    Inheritance {
        parts: (5, 1),
        ways: "One gene in a tetraploid parent that carries it twice, chromosomes pairing at random.",
    },
    Inheritance {
        parts: (9, 7),
        ways: "Both of two genes are needed, each carried once by both parents.",
    },
    Inheritance {
        parts: (13, 3),
        ways: "One gene, or the lack of another that hides it, both carried once by both parents.",
    },
    Inheritance {
        parts: (15, 1),
        ways: "Either of two genes, each carried once by both parents.",
    },
];

/// One ratio held against the counts.
#[derive(Debug, Clone, PartialEq)]
pub struct RatioTest {
    /// The ratio.
    pub inheritance: Inheritance,
    /// Expected of the class first named.
    pub expected: f64,
    /// Chi-square.
    pub chi_square: f64,
    /// Its p.
    pub p: f64,
    /// The exact p.
    pub exact: f64,
    /// How likely the ratio is after these counts, all seven and 'some other ratio' equally likely before.
    pub posterior: f64,
}

/// A family in two classes, held against every ratio.
#[derive(Debug, Clone, PartialEq)]
pub struct Classes {
    /// The family.
    pub family: Family,
    /// Its name.
    pub title: String,
    /// Seedlings in the class first named, and in the other.
    pub counts: (u32, u32),
    /// Seedlings not scored.
    pub unscored: u32,
    /// The ratios, the likeliest first; empty without counts.
    pub held: Vec<RatioTest>,
    /// How likely 'some other ratio' is.
    pub other: f64,
    /// How many more seedlings would settle between the two likeliest ratios; `None` where they can't be told apart
    /// with 5,000.
    pub more: Option<u32>,
}

/// The odds at which two ratios count as settled: a probability of 95 % where both were as likely before.
const ODDS: f64 = 19.0;

impl Classes {
    fn of(family: Family, title: String, counts: (u32, u32), unscored: u32) -> Self {
        let both = [counts.0, counts.1];
        let ratios: Vec<Ratio> = INHERITANCES.iter().filter_map(Inheritance::ratio).collect();
        let total = counts.0 + counts.1;
        let likely = posterior(&both, &ratios).filter(|_| total > 0);
        let mut held: Vec<RatioTest> = likely
            .iter()
            .flat_map(|likely| INHERITANCES.iter().zip(&ratios).zip(likely))
            .filter_map(|((inheritance, ratio), &posterior)| {
                let chi_square = segregation::chi_square(&both, ratio)?;
                Some(RatioTest {
                    inheritance: *inheritance,
                    expected: f64::from(total) * inheritance.share(),
                    chi_square: chi_square.statistic,
                    p: chi_square.p,
                    exact: segregation::exact_test(&both, ratio)?,
                    posterior,
                })
            })
            .collect();
        held.sort_by(|one, other| other.posterior.total_cmp(&one.posterior));
        let more = held.get(..2).and_then(|two| {
            let (one, other) = (two[0].inheritance.share(), two[1].inheritance.share());
            more_to_settle((counts.0, total), one, other, ODDS, POWER)
        });
        Self {
            family,
            title,
            counts,
            unscored,
            other: likely.and_then(|all| all.last().copied()).unwrap_or(0.0),
            held,
            more,
        }
    }

    /// What the counts say, as a sentence or two.
    pub fn words(&self) -> String {
        let [first, second, ..] = &self.held[..] else {
            return "Nothing is scored yet.".into();
        };
        let (one, two) = (first.inheritance.words(), second.inheritance.words());
        let likeliest = if self.other > first.posterior {
            format!(
                "None of these ratios fits well: some other one is likelier ({} %).",
                percent(self.other)
            )
        } else {
            format!("{one} is the likeliest ({} %).", percent(first.posterior))
        };
        let settled = match self.more {
            _ if self.other > first.posterior => return likeliest,
            Some(0) => format!("Between {one} and {two} it is settled."),
            Some(more) => format!(
                "About {more} more {} would settle between {one} and {two}.",
                plural(more, "seedling", "seedlings")
            ),
            None => format!("No number within reach would settle between {one} and {two}."),
        };
        format!("{likeliest} {settled}")
    }

    /// Where the figures of one ratio come from.
    pub fn explain(&self, held: &RatioTest) -> Explanation {
        Explanation::new(
            format!("{} in {}", held.inheritance.words(), self.title),
            "χ² = Σ (observed - expected)² ÷ expected, without a correction. Exact p: probability of all counts no likelier than these. Likelihood: of all ratios in the list and 'some other ratio' (every one of which is as likely), each as likely before. How many more: with so many, whichever of the two likeliest ratios is true, the counts favour it 19 to 1, four times in five.",
            "Pearson (1900) Philosophical Magazine 50:157–175; exact multinomial test; Bayes' theorem. The ratios: Bateson (1909); Muller (1914) American Naturalist 48:508–512, from memory",
        )
        .with("counts", format!("{} and {}", self.counts.0, self.counts.1))
        .with("expected of the first", format!("{:.1}", held.expected))
        .with("χ²", format!("{:.3}", held.chi_square))
        .with("p of χ²", p_words(held.p))
        .with("exact p", p_words(held.exact))
        .with("likelihood", format!("{} %", percent(held.posterior)))
        .with("leads to it", held.inheritance.ways)
        .resting_on((self.counts.0 + self.counts.1) as usize)
    }
}

/// Every family in two classes by its latest record of a trait: at most `limit`, and above it. Families without a
/// score are left out, all seedlings together stand first.
pub fn classes(project: &Project, of_trait: Id<Trait>, limit: f64) -> Vec<Classes> {
    families(project)
        .into_iter()
        .filter_map(|(family, plants)| {
            let (mut counts, mut unscored) = ((0, 0), 0);
            for plant in plants {
                let seen = project.latest_observation(plant.id, of_trait);
                match seen.and_then(|seen| seen.number(project)) {
                    Some(seen) if seen <= limit => counts.0 += 1,
                    Some(_) => counts.1 += 1,
                    None => unscored += 1,
                }
            }
            (counts != (0, 0)).then(|| Classes::of(family, family.title(project), counts, unscored))
        })
        .collect()
}
