//! Groups of runs held against each other.

use super::group::groups;
use super::{Analysis, Group, LEVEL, p_words, percent};
use crate::Project;
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

impl Pair {
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
