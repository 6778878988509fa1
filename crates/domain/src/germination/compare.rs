//! Groups of runs held against each other.

use super::analysis::{emergence, seen};
use super::group::groups;
use super::{Analysis, Forecasts, Group, LEVEL, RunCounts, p_words, percent};
use crate::Project;
use crate::explanation::Explanation;
use quant::contingency::{ChiSquare, OddsRatio, TwoByTwo, holm, homogeneity};
use quant::counted::total;
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
    /// When their shares are compared; `None` where no day is known of all.
    pub when: Option<When>,
    /// Whether their shares differ at all: chi-square; `None` where seeds are too few for it.
    pub shares: Option<ChiSquare>,
    /// Whether their courses over time differ at all.
    pub courses: Option<LogRank>,
    /// Each two of them.
    pub pairs: Vec<Pair>,
}

/// When shares are compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum When {
    /// In the end: all boxes are closed.
    Closed,
    /// On this day in warmth: one of them is still waited for, so that its share is not yet what it will be.
    Day(f64),
}

impl When {
    fn words(self) -> String {
        match self {
            Self::Closed => "Final germination".into(),
            Self::Day(day) => format!("Germination by day {day:.0}"),
        }
    }
}

/// Two groups compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// The places of the two in [`Report::analyses`].
    pub places: (usize, usize),
    /// Their names.
    pub titles: (String, String),
    /// Their shares; `None` where one is open and there is no day on which all their boxes were counted.
    pub shares: Option<Shares>,
    /// The comparison of their courses over time, both as far as both are known.
    pub course: Option<LogRank>,
}

/// The shares of two groups compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Shares {
    /// When.
    pub when: When,
    /// Germinated and sown of each.
    pub counts: ((u32, u32), (u32, u32)),
    /// The p of Fisher's exact test.
    pub fisher: f64,
    /// The same raised for the number of pairs (Holm).
    pub raised: f64,
    /// The odds of germination of the first over the second.
    pub odds: Option<OddsRatio>,
}

/// Groups of runs as they stood at one time: the end where all their boxes are closed, else the latest day on which
/// every box was counted. Share and time would otherwise be taken for one another. Gives when, with germinated and
/// sown of each group.
pub fn at_one_time(groups: &[&[RunCounts]]) -> Option<(When, Vec<(u32, u32)>)> {
    let (when, known) = match cut_off(groups) {
        None => (When::Closed, f64::INFINITY),
        Some(until) => {
            let day = seen_by_all(groups, until)?;
            (When::Day(day), day)
        }
    };
    let counts = groups.iter().map(|group| {
        seen(group).fold((0, 0), |(up, sown), run| {
            let run = run.as_of(known);
            (total([up, run.germinated]), total([sown, run.sown]))
        })
    });
    Some((when, counts.collect()))
}

/// The last day to which every box is known, where one is open.
fn cut_off(groups: &[&[RunCounts]]) -> Option<f64> {
    let runs = || groups.iter().flat_map(|group| seen(group));
    runs().any(|run| run.open).then(|| {
        runs()
            .filter(|run| run.left > 0)
            .filter_map(|run| run.last_look)
            .fold(f64::INFINITY, f64::min)
    })
}

/// The latest day on which every box was counted, to day `until`. One that is all up is known from then on.
fn seen_by_all(groups: &[&[RunCounts]], until: f64) -> Option<f64> {
    let runs = || groups.iter().flat_map(|group| seen(group));
    let is_known = |run: &RunCounts, day: f64| {
        run.counts.iter().any(|look| look.0 == day)
            || run.last_look == Some(day)
            || (run.left == 0 && run.last_look.is_some_and(|last| last <= day))
    };
    runs()
        .flat_map(|run| run.counts.iter().map(|look| look.0).chain(run.last_look))
        .filter(|day| *day <= until && runs().all(|run| is_known(run, *day)))
        .max_by(f64::total_cmp)
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
        let Some(when) = self.when else {
            return format!(
                "Some are still open, and there is no day on which all were counted: their shares can\u{2019}t be compared.{}",
                self.course_words(verdict)
            );
        };
        let why = if when == When::Closed {
            ""
        } else {
            " Some are still open: all are taken as they stood on that day."
        };
        let when = when.words();
        let shares = self.shares.map_or_else(
            || format!("{when}: too few seeds, or too much alike, for a test of all at once; the pairs below are exact."),
            |test| {
                format!(
                    "{when} {}: chi-square {:.2}, {} d.f., p {}.",
                    verdict(test.p),
                    test.statistic,
                    test.degrees,
                    p_words(test.p)
                )
            },
        );
        format!("{shares}{why}{}", self.course_words(verdict))
    }

    fn course_words(&self, verdict: impl Fn(f64) -> &'static str) -> String {
        self.courses.as_ref().map_or_else(String::new, |found| {
            format!(
                " Speeds of germination {}: log-rank {:.2}, {} d.f., p {}.",
                verdict(found.test.p),
                found.test.statistic,
                found.test.degrees,
                p_words(found.test.p)
            )
        })
    }
}

impl Pair {
    /// The p of the two shares, raised for the number of pairs; a dash where they can't be compared.
    pub fn p_words(&self) -> String {
        let raised = self.shares.as_ref().map(|shares| shares.raised);
        raised.map_or_else(|| "\u{2013}".into(), p_words)
    }

    /// The p of the two courses; a dash where nothing came up.
    pub fn course_words(&self) -> String {
        self.course
            .as_ref()
            .map_or_else(|| "\u{2013}".into(), |found| p_words(found.test.p))
    }

    /// Where the comparison of the shares comes from.
    pub fn explain(&self) -> Explanation {
        let explanation = Explanation::new(
            self.words(),
            "Fisher's exact test, two-sided: given both sums, the probability of all tables no likelier than this one, raised for the number of pairs. Odds ratio: the conditional estimate and its exact interval. While a box of either is open, both are taken as they stood on the latest day on which all their boxes were counted.",
            "Fisher (1935) Journal of the Royal Statistical Society 98:39–82; Holm (1979) Scandinavian Journal of Statistics 6:65–70; Cornfield (1956)",
        );
        let Some(shares) = &self.shares else {
            return explanation;
        };
        let ((up, sown), (other_up, other_sown)) = shares.counts;
        explanation
            .with(self.titles.0.clone(), format!("{up} of {sown}"))
            .with(self.titles.1.clone(), format!("{other_up} of {other_sown}"))
            .with("p of this pair alone", p_words(shares.fisher))
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
        let Some(shares) = &self.shares else {
            return format!(
                "{one} and {other}: one is still open, and there is no day on which all their boxes were counted. Compare their courses."
            );
        };
        let by = match shares.when {
            When::Closed => String::new(),
            When::Day(day) => format!(" by day {day:.0}"),
        };
        let share = |(up, sown): (u32, u32)| {
            format!(
                "{up} of {sown}, {} %",
                percent(f64::from(up) / f64::from(sown))
            )
        };
        let verdict = if shares.raised < 0.05 {
            "more than chance explains"
        } else {
            "no more than chance can explain"
        };
        format!(
            "{one} ({}) and {other} ({}) differ{by} {verdict}: p {}.",
            share(shares.counts.0),
            share(shares.counts.1),
            p_words(shares.raised)
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
        let Some(shares) = &self.shares else {
            return "\u{2013}".into();
        };
        shares.odds.map_or_else(
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

/// Analyses groups and compares them. Long work: call it off the window's thread. `few` is how many seedlings may be
/// lost by no longer waiting.
pub fn report(
    project: &Project,
    wanted: &[Group],
    forecasts: &Forecasts,
    few: u32,
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
        analyses.push(Analysis::of(project, group.clone(), &runs, forecasts, few));
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
    let runs = |places: &[usize]| -> Vec<&[RunCounts]> {
        places
            .iter()
            .map(|at| analyses[*at].courses.as_slice())
            .collect()
    };
    let mut pairs = Vec::new();
    for (nth, &one) in counted.iter().enumerate() {
        for &other in &counted[nth + 1..] {
            let both = runs(&[one, other]);
            let shares = at_one_time(&both).map(|(when, counts)| {
                let table = TwoByTwo::of(counts[0], counts[1]);
                Shares {
                    when,
                    counts: (counts[0], counts[1]),
                    fisher: table.fisher(),
                    raised: 1.0,
                    odds: table.odds_ratio(LEVEL),
                }
            });
            pairs.push(Pair {
                places: (one, other),
                titles: (analyses[one].title.clone(), analyses[other].title.clone()),
                shares,
                course: log_rank(&courses(&both)),
            });
        }
    }
    let mut compared: Vec<&mut Shares> = pairs
        .iter_mut()
        .filter_map(|pair| pair.shares.as_mut())
        .collect();
    let raised = holm(&compared.iter().map(|each| each.fisher).collect::<Vec<_>>());
    for (shares, raised) in compared.iter_mut().zip(raised) {
        shares.raised = raised;
    }
    let all = runs(&counted);
    let at = at_one_time(&all);
    Some(Comparison {
        when: at.as_ref().map(|at| at.0),
        shares: at.and_then(|at| homogeneity(&at.1)),
        courses: log_rank(&courses(&all)),
        pairs,
    })
}

/// What is known of the seed of each group, all as far as all are known where one is open.
fn courses(groups: &[&[RunCounts]]) -> Vec<Vec<Emergence>> {
    let until = cut_off(groups).unwrap_or(f64::INFINITY);
    groups
        .iter()
        .map(|group| {
            let cut: Vec<RunCounts> = group.iter().map(|run| run.as_of(until)).collect();
            emergence(&cut)
        })
        .collect()
}
