//! The figures of a group, each with where it comes from.

use super::{Agreement, Analysis, Interval, Waiting, p_words, percent, percents};
use crate::explanation::Explanation;
use quant::germination::tolerance::Source;

/// A figure to show.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Its name, with its unit.
    pub name: &'static str,
    /// Its value; a dash where it isn't known.
    pub value: String,
    /// Its interval, if it has one.
    pub interval: Option<String>,
    /// Where it comes from.
    pub explanation: Explanation,
}

const RANAL: &str = "Ranal & Santana (2006) Revista Brasileira de Botânica 29:1–11. Days are those of the counts: \
    seed counted every few days germinated somewhat earlier.";
const CURE: &str = "Maximum likelihood for counts between days of counting, the likeliest of log-logistic, \
    log-normal and Weibull with a share that never comes: Onofri, Mesgaran & Ray (2022) Weed Research 62:249–257; \
    intervals from the profile likelihood";

const FORECAST: &str = "Empirical Bayes over the lots of the program: Carlin & Louis (2000) Bayes and Empirical Bayes Methods for Data Analysis; importance sampling: Robert & Casella (2004) Monte Carlo Statistical Methods, ch. 14";

/// A number with so many decimals, or a dash.
fn shown(value: Option<f64>, decimals: usize) -> String {
    value
        .filter(|value| value.is_finite())
        .map_or_else(|| "\u{2013}".into(), |value| format!("{value:.decimals$}"))
}

fn days(interval: Interval) -> String {
    let high = if interval.high.is_finite() {
        format!("{:.1}", interval.high)
    } else {
        "no limit".into()
    };
    format!("{:.1} to {high}", interval.low)
}

impl Analysis {
    /// Every figure, in the order of reading; the same names for every group.
    pub fn figures(&self) -> Vec<Figure> {
        let mut figures = self.shares();
        figures.extend(self.times());
        figures.extend(self.fitted());
        figures.push(self.agreement_figure());
        figures
    }

    fn explain(&self, name: &str, value: &str, formula: &str, source: &'static str) -> Explanation {
        Explanation::new(
            format!("{name} of {}: {value}", self.title),
            formula,
            source,
        )
        .with("boxes", self.courses.len().to_string())
        .with("seeds that came to warmth", self.sown().to_string())
        .with("germinated in warmth", self.germinated().to_string())
    }

    fn shares(&self) -> Vec<Figure> {
        let (up, sown) = (self.germinated(), self.sown());
        let share = self.share();
        let value = share.map_or_else(|| "\u{2013}".into(), |share| percent(share.0));
        let value = if share.is_some() && self.is_open() {
            format!("{value} so far")
        } else {
            value
        };
        let mut explanation = self
            .explain(
                "Germinated, %",
                &value,
                "normal seedlings in warmth ÷ seeds that came to warmth. Seeds dead or abnormal in warmth count as not germinated; those mouldy or sprouted in the cold are left out. The interval shown is Wilson's; the exact one never covers less often than 95 %, mostly more.",
                "Wilson (1927) Journal of the American Statistical Association 22:209–212; Clopper & Pearson (1934) Biometrika 26:404–413",
            )
            .resting_on(sown as usize);
        if let Some((_, exact, wilson)) = share {
            explanation = explanation
                .with("Wilson, 95 %", percents(wilson))
                .with("exact, 95 %", percents(exact));
        }
        let first = Figure {
            name: "Germinated, %",
            value,
            interval: share.map(|share| percents(share.2)),
            explanation,
        };
        let (laid, mouldy, early) = (
            self.sum(|each| each.laid),
            self.sum(|each| each.mouldy),
            self.sum(|each| each.early),
        );
        let all = up + early;
        let value = if laid > 0 {
            percent(f64::from(all) / f64::from(laid))
        } else {
            "\u{2013}".into()
        };
        let explanation = self
            .explain(
                "Germinated of all laid, %",
                &value,
                "(normal seedlings in warmth + sprouts in the cold) ÷ seeds laid in the boxes: what a seed laid is worth, losses in the cold among them.",
                "Common practice",
            )
            .with("laid", laid.to_string())
            .with("mouldy in the cold", mouldy.to_string())
            .with("sprouted in the cold", early.to_string())
            .with("abnormal", self.sum(|each| each.abnormal).to_string())
            .with("dead in warmth", self.sum(|each| each.dead).to_string())
            .resting_on(laid as usize);
        let second = Figure {
            name: "Germinated of all laid, %",
            value,
            interval: (laid > 0).then(|| {
                percents(quant::proportion::wilson_interval(
                    all.min(laid),
                    laid,
                    super::LEVEL,
                ))
            }),
            explanation,
        };
        vec![first, second]
    }

    fn times(&self) -> Vec<Figure> {
        let found = self.indices;
        let figure = |name: &'static str, value: Option<f64>, decimals, formula, source| {
            let value = shown(value, decimals);
            let explanation = self
                .explain(name, &value, formula, source)
                .resting_on(self.germinated() as usize);
            Figure {
                name,
                value,
                interval: None,
                explanation,
            }
        };
        let of =
            |get: fn(&quant::germination::Indices) -> Option<f64>| found.as_ref().and_then(get);
        let mut mean = figure(
            "Mean time, days",
            of(|all| Some(all.mean_time)),
            1,
            "t = Σ n t ÷ Σ n, n new seedlings at the count on day t after the move to warmth. Its interval is two \
            standard errors, s ÷ √N, either way.",
            RANAL,
        );
        mean.interval = found
            .and_then(|all| Some((all.mean_time, 1.96 * all.standard_error?)))
            .map(|(mean, half)| {
                days(Interval {
                    low: mean - half,
                    high: mean + half,
                })
            });
        vec![
            mean,
            figure(
                "T50 to (N + 1) ÷ 2, days",
                of(|all| Some(all.t50_coolbear)),
                1,
                "The day by which (N + 1) ÷ 2 of the N germinated were up, in a straight line between counts.",
                "Coolbear, Francis & Grierson (1984) Journal of Experimental Botany 35:1609–1617",
            ),
            figure(
                "T50 to N ÷ 2, days",
                of(|all| Some(all.t50_farooq)),
                1,
                "The day by which N ÷ 2 of the N germinated were up, in a straight line between counts.",
                "Farooq, Basra, Ahmad & Hafeez (2005) Journal of Integrative Plant Biology 47:187–193",
            ),
            figure(
                "Variation of time, %",
                of(|all| all.variation),
                1,
                "Coefficient of variation: 100 s ÷ t, s the standard deviation of the time.",
                RANAL,
            ),
            figure(
                "Coefficient of velocity, %",
                of(|all| Some(all.velocity)),
                1,
                "100 ÷ mean time (Kotowski).",
                RANAL,
            ),
            figure(
                "Mean rate, a day",
                of(|all| Some(all.mean_rate)),
                3,
                "1 ÷ mean time.",
                RANAL,
            ),
            figure(
                "Uncertainty, bits",
                of(|all| Some(all.uncertainty)),
                2,
                "U = - Σ f log2 f, f the share of the germinated that each count found. 0 when all came at one count.",
                RANAL,
            ),
            figure(
                "Synchrony",
                of(|all| all.synchrony),
                2,
                "Z = Σ C(n, 2) ÷ C(N, 2): of all pairs of seedlings, the share found at the same count. 1 when all \
                came at one.",
                RANAL,
            ),
            figure(
                "Speed, seedlings a day",
                of(|all| Some(all.speed)),
                2,
                "Σ n ÷ t.",
                "Maguire (1962) Crop Science 2:176–177",
            ),
            figure(
                "Timson's sum, %",
                self.timson,
                0,
                "Sum over the days to the last count of the percent germinated by each.",
                "Timson (1965) Nature 207:216–217",
            ),
        ]
    }

    fn fitted(&self) -> Vec<Figure> {
        let fit = self.fit.as_ref().ok();
        let why = self.no_fit_words();
        let figure = |name: &'static str, value: Option<String>, interval, formula: &str| {
            let value = value.unwrap_or_else(|| "\u{2013}".into());
            let mut explanation = self
                .explain(name, &value, formula, CURE)
                .resting_on(self.sown() as usize);
            if let Some(fit) = fit {
                let course = match fit.distribution {
                    quant::germination::TimeDistribution::LogLogistic => "log-logistic",
                    quant::germination::TimeDistribution::LogNormal => "log-normal",
                    quant::germination::TimeDistribution::Weibull => "Weibull",
                };
                explanation = explanation
                    .with("course", course)
                    .with("log-likelihood", format!("{:.3}", fit.log_likelihood))
                    .with("steepness", format!("{:.2}", fit.steepness().0));
            }
            if let Some(why) = &why {
                explanation = explanation.with("why not known", why.clone());
            }
            Figure {
                name,
                value,
                interval,
                explanation,
            }
        };
        let share = fit.map(super::Cure::share);
        let median = fit.map(super::Cure::median);
        let [to_come, until] = self.waiting_figures();
        vec![
            figure(
                "Will have come in the end, %",
                share.map(|share| percent(share.0)),
                share.map(|share| percents(share.1)),
                "p of the fitted curve p F(t): the share of all seed that germinates if it is waited for without end.",
            ),
            figure(
                "Median of those that come, days",
                median.map(|median| format!("{:.1}", median.0)),
                median.map(|median| days(median.1)),
                "The day by which half of the seeds that come in the end are up, by the fitted curve.",
            ),
            to_come,
            until,
        ]
    }

    fn waiting_figures(&self) -> [Figure; 2] {
        let known = self.waiting.known();
        let figure = |name: &'static str, value: Option<String>, interval, formula: &str| {
            let value = value.unwrap_or_else(|| "\u{2013}".into());
            let explanation = self.explain(name, &value, formula, FORECAST);
            Figure {
                name,
                value,
                interval,
                explanation: match (known, &self.waiting) {
                    (Some(known), _) => explanation
                        .with("seeds that wait", known.seeds.to_string())
                        .with("learnt from", known.basis())
                        .resting_on(known.closed),
                    (None, Waiting::TooFewClosed { closed, .. }) => explanation
                        .with("closed boxes in which seed came up", closed.to_string())
                        .with("needed", quant::germination::LEAST_CLOSED.to_string()),
                    (None, _) => explanation.with("seeds that wait", "none: all boxes are closed"),
                },
            }
        };
        let mut until = figure(
            "Stop waiting, day",
            known.map(|known| {
                known
                    .stop
                    .map_or_else(|| "not yet told".into(), |day| format!("{day:.0}"))
            }),
            None,
            "The first day in warmth after which, with 9 in 10 odds, no more than the chosen number of seedlings would be lost.",
        );
        if let Some(known) = known {
            until.explanation = until
                .explanation
                .with("chosen number", known.few.to_string())
                .with("last look, day", format!("{:.0}", known.now));
        }
        [
            figure(
                "Still to come",
                known.map(|known| format!("{:.1}", known.expected)),
                known.map(|known| format!("{} to {}, 9 in 10", known.interval.0, known.interval.1)),
                "Each lot has a share that comes, a median day and a steepness of its own, around those of the program, which its runs teach. The chance of each number still to come is summed over all that this lot may be, its own counts given.",
            ),
            until,
        ]
    }

    fn agreement_figure(&self) -> Figure {
        let name = "Boxes apart, %";
        let (value, interval, formula, source) = match &self.agreement {
            Agreement::NotKnown => (
                "\u{2013}".to_owned(),
                None,
                "Needs two boxes that are done with, and more seeds than these: each box should be expected to have five up and five not.".to_owned(),
                "Cochran (1954) Biometrics 10:417–451",
            ),
            Agreement::Table(found) => (
                found.range.to_string(),
                Some(format!(
                    "at most {}{}",
                    found.most,
                    if found.holds() { "" } else { ": too far apart" }
                )),
                format!(
                    "Highest less lowest percent of boxes of 100 seeds, against the table of tolerances at their mean of {} %{}.",
                    found.mean,
                    if found.source == Source::Memory { "; this line of the table is from memory" } else { "" }
                ),
                "7 CFR 201.55 (United States); the ISTA Rules give the same figures",
            ),
            Agreement::Chance { from, to, test } => (
                format!("{} to {}", percent(*from), percent(*to)),
                Some(format!("p {}", p_words(test.p))),
                "The published table is for replicates of 100 seeds and doesn't apply. Chi-square of the boxes' own counts: how often chance alone would set them as far apart.".to_owned(),
                "Cochran (1954) Biometrics 10:417–451",
            ),
        };
        Figure {
            name,
            explanation: self.explain(name, &value, &formula, source),
            value,
            interval,
        }
    }
}
