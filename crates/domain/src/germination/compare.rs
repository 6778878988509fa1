//! Groups of runs held against each other.

use super::group::groups;
use super::{Analysis, Group, LEVEL, p_words, percent};
use crate::Project;
use crate::genetics::Explanation;
use quant::contingency::{ChiSquare, OddsRatio, TwoByTwo, holm, homogeneity};
use quant::germination::{Emergence, LogRank, log_rank};

/// Groups analysed, and compared where there are several.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// The groups, as asked for.
    pub analyses: Vec<Analysis>,
    /// How they compare; `None` for fewer than two with counts.
    pub comparison: Option<Comparison>,
}

/// How groups compare.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Whether their final shares differ at all: chi-square; `None` where seeds are too few for it.
    pub shares: Option<ChiSquare>,
    /// Whether their courses over time differ at all.
    pub courses: Option<LogRank>,
    /// Each two of them.
    pub pairs: Vec<Pair>,
}

/// Two groups compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// The places of the two in [`Report::analyses`].
    pub places: (usize, usize),
    /// Their names.
    pub titles: (String, String),
    /// Germinated and sown of each.
    pub counts: ((u32, u32), (u32, u32)),
    /// The p of Fisher's exact test.
    pub fisher: f64,
    /// The same raised for the number of pairs (Holm).
    pub raised: f64,
    /// The odds of germination of the first over the second.
    pub odds: Option<OddsRatio>,
    /// The comparison of their courses over time.
    pub course: Option<LogRank>,
}

impl Comparison {
    /// What all of them together say, as a sentence or two.
    pub fn words(&self) -> String {
        let verdict = |p: f64| {
            if p < 0.05 {
                "differ more than chance explains"
            } else {
                "differ no more than chance can explain"
            }
        };
        let shares = self.shares.map_or_else(
            || "Final shares: too few seeds, or too much alike, for a test of all at once; the pairs below are exact.".to_owned(),
            |test| {
                format!(
                    "Final germination {}: chi-square {:.2}, {} d.f., p {}.",
                    verdict(test.p),
                    test.statistic,
                    test.degrees,
                    p_words(test.p)
                )
            },
        );
        let courses = self.courses.as_ref().map_or_else(String::new, |found| {
            format!(
                " Speed of germination {}: log-rank {:.2}, {} d.f., p {}.",
                verdict(found.test.p),
                found.test.statistic,
                found.test.degrees,
                p_words(found.test.p)
            )
        });
        format!("{shares}{courses}")
    }
}

impl Pair {
    /// The p of the two shares, raised for the number of pairs.
    pub fn p_words(&self) -> String {
        p_words(self.raised)
    }

    /// The p of the two courses; a dash where nothing came up.
    pub fn course_words(&self) -> String {
        self.course
            .as_ref()
            .map_or_else(|| "\u{2013}".into(), |found| p_words(found.test.p))
    }

    /// Where the comparison of the shares comes from.
    pub fn explain(&self) -> Explanation {
        let ((up, sown), (other_up, other_sown)) = self.counts;
        Explanation::new(
            self.words(),
            "Fisher's exact test, two-sided: given both sums, the probability of all tables no likelier than this one, raised for the number of pairs. Odds ratio: the conditional estimate and its exact interval.",
            "Fisher (1935) Journal of the Royal Statistical Society 98:39–82; Holm (1979) Scandinavian Journal of Statistics 6:65–70; Cornfield (1956)",
        )
        .with(self.titles.0.clone(), format!("{up} of {sown}"))
        .with(self.titles.1.clone(), format!("{other_up} of {other_sown}"))
        .with("p of this pair alone", p_words(self.fisher))
        .with("odds ratio, 95 %", self.odds_words())
        .resting_on((sown + other_sown) as usize)
    }

    /// Where the comparison of the courses comes from.
    pub fn explain_course(&self) -> Option<Explanation> {
        let found = self.course.as_ref()?;
        let formula = if found.same_days {
            "Log-rank test: at each count, seedlings found in each group less those expected were both alike; seed \
            dead or abnormal stays as seed that never comes."
        } else {
            "The two were counted on different days: scores of the log-rank test for seed that germinated between \
            two counts, with the variance of dealing the groups anew."
        };
        Some(
            Explanation::new(
                format!(
                    "Courses of {} and {}: p {}",
                    self.titles.0,
                    self.titles.1,
                    p_words(found.test.p)
                ),
                formula,
                "Mantel (1966) Cancer Chemotherapy Reports 50:163–170; Sun (1996) Statistics in Medicine 15:1387–1395; Fay & Shaw (2010) Journal of Statistical Software 36(2)",
            )
            .with("chi-square", format!("{:.3}", found.test.statistic))
            .with(
                format!("more and earlier in {}", self.titles.0),
                format!("{:+.2} seedlings", found.excess[0]).replace('-', "\u{2212}"),
            ),
        )
    }

    /// What was found, as a sentence.
    pub fn words(&self) -> String {
        let (one, other) = &self.titles;
        let share = |(up, sown): (u32, u32)| {
            format!(
                "{up} of {sown}, {} %",
                percent(f64::from(up) / f64::from(sown))
            )
        };
        let verdict = if self.raised < 0.05 {
            "more than chance explains"
        } else {
            "no more than chance can explain"
        };
        format!(
            "{one} ({}) and {other} ({}) differ {verdict}: p {}.",
            share(self.counts.0),
            share(self.counts.1),
            p_words(self.raised)
        )
    }

    /// The odds ratio in words.
    pub fn odds_words(&self) -> String {
        let number = |value: f64| {
            if value.is_infinite() {
                "no limit".to_owned()
            } else if value >= 100.0 {
                format!("{value:.0}")
            } else {
                format!("{value:.2}")
            }
        };
        self.odds.map_or_else(
            || "none: all germinated, or none did".to_owned(),
            |odds| {
                format!(
                    "{} ({} to {})",
                    number(odds.estimate),
                    number(odds.interval.low),
                    number(odds.interval.high)
                )
            },
        )
    }
}

/// Analyses groups and compares them. Long work: call it off the window's thread. `few` is how many seedlings are
/// still to be expected for waiting to be given up.
pub fn report(
    project: &Project,
    wanted: &[Group],
    few: f64,
    go_on: &mut dyn FnMut(f32) -> bool,
) -> Option<Report> {
    let mut analyses = Vec::new();
    for (nth, group) in wanted.iter().enumerate() {
        if !go_on(nth as f32 / wanted.len() as f32) {
            return None;
        }
        let runs = groups(project, group.by())
            .into_iter()
            .find(|each| each.0 == *group)
            .map_or_else(Vec::new, |each| each.1);
        analyses.push(Analysis::of(project, group.clone(), &runs, few));
    }
    Some(Report {
        comparison: compare(&analyses),
        analyses,
    })
}

fn compare(analyses: &[Analysis]) -> Option<Comparison> {
    let counted: Vec<usize> = (0..analyses.len())
        .filter(|at| analyses[*at].sown() > 0)
        .collect();
    if counted.len() < 2 {
        return None;
    }
    let seeds: Vec<Vec<Emergence>> = analyses.iter().map(Analysis::emergence).collect();
    let share = |at: usize| (analyses[at].germinated(), analyses[at].sown());
    let mut pairs = Vec::new();
    for (nth, &one) in counted.iter().enumerate() {
        for &other in &counted[nth + 1..] {
            let table = TwoByTwo::of(share(one), share(other));
            pairs.push(Pair {
                places: (one, other),
                titles: (analyses[one].title.clone(), analyses[other].title.clone()),
                counts: (share(one), share(other)),
                fisher: table.fisher(),
                raised: 1.0,
                odds: table.odds_ratio(LEVEL),
                course: log_rank(&[seeds[one].clone(), seeds[other].clone()]),
            });
        }
    }
    let raised = holm(&pairs.iter().map(|pair| pair.fisher).collect::<Vec<_>>());
    for (pair, raised) in pairs.iter_mut().zip(raised) {
        pair.raised = raised;
    }
    let shares: Vec<_> = counted.iter().map(|at| share(*at)).collect();
    Some(Comparison {
        shares: homogeneity(&shares),
        courses: log_rank(&seeds),
        pairs,
    })
}
