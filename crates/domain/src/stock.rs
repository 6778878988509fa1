//! Seed in stock: its number with error, its viability and how that falls, and which lots to sow first.

use crate::date::InWords as _;
use crate::explanation::Explanation;
use crate::germination::{Interval, LEVEL, percent, percents};
use crate::ledger::balance;
use crate::words::plural;
use crate::{GerminationTest, Id, Project, SeedAmount, SeedLot, SeedWeighing};
use chrono::NaiveDate;
use quant::proportion::{exact_interval, wilson_interval};
use quant::stock::{Decline, SeedWeight, Test};
use std::cmp::Ordering;
use std::collections::BTreeMap;

const YEAR: f64 = 365.25;

/// What is known of a lot in stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// The lot.
    pub lot: Id<SeedLot>,
    /// Seeds left by its ledger.
    pub left: i64,
    /// Its age in years since harvest; since cleaning, or its first test, where that isn't known.
    pub age: Option<f64>,
    /// Whether its harvest isn't known, so that it may be older than that.
    pub may_be_older: bool,
    /// Every test, the earliest first.
    pub tests: Vec<Tested>,
    /// The decline fitted to them; `None` without tests of two ages.
    pub decline: Option<Decline>,
    /// The share viable today with its interval: of the fitted decline, or else of the latest test.
    pub viable: Option<(f64, Interval)>,
    /// Viable seeds that a year of waiting loses.
    pub loss: Option<f64>,
}

/// A test of a lot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tested {
    /// The day.
    pub date: NaiveDate,
    /// Seeds tested.
    pub seeds: u32,
    /// Seeds that germinated.
    pub germinated: u32,
    /// Whether it was a test, not the germination of boxes that were sown.
    pub is_test: bool,
}

impl Tested {
    /// The share germinated.
    pub fn share(&self) -> f64 {
        f64::from(self.germinated) / f64::from(self.seeds)
    }
}

impl Stock {
    /// Of a lot on a day. Boxes of it that were germinated to the end count as tests: those of one day together.
    pub fn of(project: &Project, lot: &SeedLot, today: NaiveDate) -> Self {
        let tests = tests(project, lot.id);
        let begun = lot
            .harvested
            .or(lot.cleaned)
            .or_else(|| tests.first().map(|test| test.date));
        let years = |day: NaiveDate| begun.map(|begun| (day - begun).num_days() as f64 / YEAR);
        let aged: Vec<Test> = tests
            .iter()
            .filter_map(|test| {
                Some(Test {
                    age: years(test.date)?.max(0.0),
                    seeds: test.seeds,
                    germinated: test.germinated,
                })
            })
            .collect();
        let left = balance(project, lot.id);
        let age = years(today);
        let decline = Decline::fit(&aged, LEVEL);
        let viable = match (&decline, age, tests.last()) {
            (Some(decline), Some(age), _) => Some(decline.viability(age.max(0.0))),
            (None, _, Some(last)) => Some((
                last.share(),
                wilson_interval(last.germinated, last.seeds, LEVEL),
            )),
            _ => None,
        };
        let loss = decline.as_ref().zip(age).map(|(decline, age)| {
            let (now, later) = (
                decline.viability(age.max(0.0)).0,
                decline.viability(age.max(0.0) + 1.0).0,
            );
            left.max(0) as f64 * (now - later)
        });
        Self {
            lot: lot.id,
            left,
            age,
            may_be_older: lot.harvested.is_none(),
            tests,
            decline,
            viable,
            loss,
        }
    }

    /// The viable share with its interval: '82 (74 to 88)'; a dash where it isn't known.
    pub fn viable_words(&self) -> String {
        self.viable.map_or_else(
            || "\u{2013}".into(),
            |(share, interval)| format!("{} ({})", percent(share), percents(interval)),
        )
    }

    /// Why it should be sown sooner or later, as a sentence.
    pub fn reason(&self) -> String {
        if let (Some(loss), Some((share, _))) = (self.loss, self.viable) {
            return if loss < 0.5 {
                format!(
                    "{} % viable, and its tests show no decline to speak of: it can wait.",
                    percent(share)
                )
            } else {
                format!(
                    "{} % viable; about {loss:.0} viable {} a year are lost by waiting.",
                    percent(share),
                    plural(loss.round() as u32, "seed", "seeds")
                )
            };
        }
        match (self.tests.last(), self.age) {
            (Some(last), _) => format!(
                "{} % germinated on {}; a test in another year would show how fast it falls.",
                percent(last.share()),
                last.date.in_words()
            ),
            (None, Some(age)) if self.may_be_older => {
                format!("Never tested, its harvest unknown, {age:.1} years old at least: test it.")
            }
            (None, Some(age)) => format!("Never tested, {age:.1} years old: test it, or sow it."),
            (None, None) => "Never tested, its age unknown: test it.".into(),
        }
    }

    /// Where the viable share comes from.
    pub fn explain(&self, project: &Project) -> Explanation {
        let title = project.code_of(self.lot);
        let value = self
            .viable
            .map_or_else(|| "\u{2013}".into(), |viable| percent(viable.0));
        let what = format!("Viable, % of {title}: {value}");
        let mut explanation = match &self.decline {
            Some(decline) => {
                let (initial, loss) = (decline.initial(), decline.loss());
                Explanation::new(
                    what,
                    "v = Ki - p ÷ σ: probits of viability fall in a straight line over p years of storage, fitted to this lot's own tests by maximum likelihood. No constants of hop seed are published; none are assumed.",
                    "Ellis & Roberts (1980) Annals of Botany 45:13–30; intervals from the profile likelihood",
                )
                .with("Ki, probits", format!("{:.2}", initial.0))
                .with(
                    "lost a year (1 ÷ σ), probits",
                    format!("{:.2} ({:.2} to {:.2})", loss.0, loss.1.low, loss.1.high),
                )
            }
            None => Explanation::new(
                what,
                "The share germinated of the latest test, with Wilson's interval. Tests of two ages would show how it falls.",
                "Wilson (1927) Journal of the American Statistical Association 22:209–212",
            ),
        };
        if let Some((_, interval)) = self.viable {
            explanation = explanation.with("95 %", percents(interval));
        }
        for test in &self.tests {
            let exact = exact_interval(test.germinated, test.seeds, LEVEL);
            let what = if test.is_test { "test" } else { "boxes sown" };
            explanation = explanation.with(
                format!("{what}, {}", test.date.in_words()),
                format!(
                    "{} of {}, {} % (exact {})",
                    test.germinated,
                    test.seeds,
                    percent(test.share()),
                    percents(exact)
                ),
            );
        }
        explanation.resting_on(self.tests.iter().map(|test| test.seeds as usize).sum())
    }
}

/// Every lot that has seed left, those to sow first at the top: what loses most viable seed by waiting, then those
/// whose decline is not known, the oldest first, then those that lose little.
pub fn sow_first(project: &Project, today: NaiveDate) -> Vec<Stock> {
    let mut stocks: Vec<Stock> = project
        .seed_lots()
        .iter()
        .map(|lot| Stock::of(project, lot, today))
        .filter(|stock| stock.left > 0)
        .collect();
    let rank = |stock: &Stock| match stock.loss {
        Some(loss) if loss >= 0.5 => 0,
        None => 1,
        Some(_) => 2,
    };
    stocks.sort_by(|one, other| {
        let falling = |stock: &Stock| stock.loss.unwrap_or(0.0);
        let age = |stock: &Stock| stock.age.unwrap_or(f64::INFINITY);
        rank(one)
            .cmp(&rank(other))
            .then_with(|| match rank(one) {
                0 => falling(other).total_cmp(&falling(one)),
                _ => Ordering::Equal,
            })
            .then_with(|| age(other).total_cmp(&age(one)))
            .then_with(|| project.code_of(one.lot).cmp(project.code_of(other.lot)))
    });
    stocks
}

/// The tests of a lot, and its boxes germinated to the end by the day they were moved, the earliest first.
fn tests(project: &Project, lot: Id<SeedLot>) -> Vec<Tested> {
    let mut tests: Vec<Tested> = project
        .referring::<GerminationTest>(lot)
        .filter(|test| test.seeds > 0)
        .map(|test| Tested {
            date: test.date,
            seeds: test.seeds,
            germinated: test.germinated.min(test.seeds),
            is_test: true,
        })
        .collect();
    let mut sown: BTreeMap<NaiveDate, (u32, u32)> = BTreeMap::new();
    // Seed chilled again is what the first chill left over: its germination isn't the lot's.
    for chill_box in project
        .boxes_from(lot)
        .filter(|each| each.rechilled_from.is_none())
    {
        let Some(run) = project.run_of(chill_box.id).filter(|run| run.end.is_some()) else {
            continue;
        };
        if let Some(course) = crate::germination::RunCounts::of(project, run) {
            let sum = sown.entry(run.moved).or_default();
            sum.0 += course.sown + course.early;
            sum.1 += course.germinated + course.early;
        }
    }
    tests.extend(sown.into_iter().filter(|each| each.1.0 > 0).map(
        |(date, (seeds, germinated))| Tested {
            date,
            seeds,
            germinated,
            is_test: false,
        },
    ));
    tests.sort_by_key(|test| test.date);
    tests
}

/// The number of seeds of a lot by its weight.
#[derive(Debug, Clone, PartialEq)]
pub struct ByWeight {
    /// The replicates.
    pub weight: SeedWeight,
    /// How many seeds the lot's weight is, with its interval; `None` where the lot itself wasn't weighed.
    pub seeds: Option<(f64, Interval)>,
    /// How many seeds a replicate had.
    pub seeds_each: u32,
}

/// The coefficient of variation in percent above which replicates are to be weighed again.
const MOST_VARIATION: f64 = 4.0;

impl ByWeight {
    /// By the latest weighing of a lot; `None` without one of two replicates.
    pub fn of(project: &Project, lot: &SeedLot) -> Option<Self> {
        let weighing = project
            .referring::<SeedWeighing>(lot.id)
            .filter(|each| each.weights.len() > 1)
            .max_by_key(|each| (each.date, each.id))?;
        let weights: Vec<f64> = weighing.weights.iter().map(|weight| weight.0).collect();
        let weight = SeedWeight::of(&weights, weighing.seeds_each)?;
        let seeds = match lot.amount {
            Some(SeedAmount::Weighed { weight: of_lot, .. }) => Some(weight.seeds(of_lot.0, LEVEL)),
            _ => None,
        };
        Some(Self {
            weight,
            seeds,
            seeds_each: weighing.seeds_each,
        })
    }

    /// The figures in a few words: '3.044 g a thousand, 4140 seeds (4080 to 4201)'.
    pub fn words(&self) -> String {
        let thousand = format!("{:.3} g a thousand", self.weight.thousand);
        match self.seeds {
            Some((seeds, interval)) => format!(
                "{thousand}, {seeds:.0} seeds ({:.0} to {:.0})",
                interval.low, interval.high
            ),
            None => thousand,
        }
    }

    /// Whether the replicates differ so much that more should be weighed.
    pub fn varies(&self) -> bool {
        self.weight.variation > MOST_VARIATION
    }

    /// Where the figures come from.
    pub fn explain(&self, title: &str) -> Explanation {
        let weight = &self.weight;
        let explanation = Explanation::new(
            format!("A thousand seeds of {title}: {:.3} g", weight.thousand),
            "mean weight of a replicate × 1000 ÷ its seeds. Number of seeds = weight of the lot ÷ weight of a thousand × 1000, its interval from the replicates (Student's t); the balance is taken as exact.",
            "ISTA Rules, chapter 10: more replicates are weighed where the coefficient of variation is above 4 % (from memory)",
        )
        .with("replicates", format!("{} of {} seeds", weight.replicates, self.seeds_each))
        .with("standard deviation of a replicate", format!("{:.4} g", weight.standard_deviation))
        .with("coefficient of variation", format!("{:.1} %", weight.variation))
        .with("standard error of a thousand", format!("{:.4} g", weight.standard_error));
        match self.seeds {
            Some((seeds, interval)) => explanation.with(
                "seeds, 95 %",
                format!("{seeds:.0} ({:.0} to {:.0})", interval.low, interval.high),
            ),
            None => explanation.with("seeds", "the lot itself was not weighed"),
        }
    }
}
