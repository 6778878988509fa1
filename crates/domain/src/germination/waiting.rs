//! Whether to wait on, by all runs of the program.

use super::RunCounts;
use crate::date::InWords as _;
use crate::date::shift;
use crate::words::plural;
use crate::{Germination, Id, Project};
use chrono::NaiveDate;
use quant::counted::total;
use quant::germination::{Forecaster, LEAST_CLOSED, LEVEL, LotCounts, TooFewClosed};
use std::collections::BTreeMap;

impl RunCounts {
    /// The run as [`Forecaster`] takes it. One never looked into is known to have its seeds, no more.
    pub fn as_lot(&self) -> LotCounts {
        LotCounts {
            seeds: self.emergence(),
            waiting: self.left,
            looked: self.last_look.unwrap_or(0.0),
            closed: !self.open,
            age: self.age,
        }
    }

    /// The run as it stood after so many days in warmth: later looks and its close taken away. Seed found dead or
    /// abnormal is left with what it was found with in the end.
    #[must_use]
    pub fn as_of(&self, day: f64) -> Self {
        let mut cut = self.clone();
        if self.last_look.is_none_or(|last| last <= day) {
            return cut;
        }
        cut.counts.retain(|look| look.0 <= day);
        cut.germinated = total(cut.counts.iter().map(|look| look.1));
        cut.left = cut
            .sown
            .saturating_sub(cut.germinated + cut.abnormal + cut.dead);
        cut.last_look = cut.counts.last().map(|look| look.0);
        cut.open = cut.left > 0;
        cut
    }
}

/// Every run of the program.
pub fn runs(project: &Project) -> Vec<RunCounts> {
    project
        .germinations()
        .iter()
        .filter_map(|run| RunCounts::of(project, run))
        .collect()
}

/// What some runs teach of others that had the same treatment.
#[derive(Debug, Clone, PartialEq)]
pub struct Learnt {
    /// What was learnt.
    pub forecaster: Forecaster,
    /// Whether only runs of the same treatment taught it; otherwise there were too few of them, and all did.
    pub same_treatment: bool,
}

impl Learnt {
    /// From runs, for one of this treatment. Long work: weighs each run.
    ///
    /// # Errors
    /// Too few closed runs, of whatever treatment.
    pub fn of(runs: &[&RunCounts], treatment: &str) -> Result<Self, TooFewClosed> {
        let alike: Vec<LotCounts> = runs
            .iter()
            .filter(|run| run.treatment == treatment)
            .map(|run| run.as_lot())
            .collect();
        if let Ok(forecaster) = Forecaster::of(&alike) {
            return Ok(Self {
                forecaster,
                same_treatment: true,
            });
        }
        let all: Vec<LotCounts> = runs.iter().map(|run| run.as_lot()).collect();
        Forecaster::of(&all).map(|forecaster| Self {
            forecaster,
            same_treatment: false,
        })
    }
}

/// What the runs of a project teach, for each treatment it knows.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecasts {
    by_treatment: BTreeMap<String, Result<Learnt, TooFewClosed>>,
}

impl Forecasts {
    /// Of a project as it stands. Long work: weighs each run; keep it for the project's revision.
    pub fn of(project: &Project) -> Self {
        let runs = runs(project);
        let known: Vec<&RunCounts> = runs.iter().collect();
        let mut by_treatment = BTreeMap::new();
        for run in runs.iter().filter(|run| run.open) {
            by_treatment
                .entry(run.treatment.clone())
                .or_insert_with(|| Learnt::of(&known, &run.treatment));
        }
        Self { by_treatment }
    }
}

/// What is to be said of the seed of some runs that still waits.
#[derive(Debug, Clone, PartialEq)]
pub enum Waiting {
    /// All their boxes are closed.
    NoSeed,
    /// The program has closed too few runs to say anything.
    TooFewClosed {
        /// How many it has closed in which something came up.
        closed: usize,
        /// The days of its protocol: first seedlings from and to, and when it gives up.
        window: Option<(u32, u32, u32)>,
    },
    /// What is still to come.
    Known(StillToCome),
}

/// What is still to come of the seed of some runs, and when to stop waiting for it.
#[derive(Debug, Clone, PartialEq)]
pub struct StillToCome {
    /// How many seeds wait.
    pub seeds: u32,
    /// In how many boxes.
    pub boxes: usize,
    /// The latest day in warmth on which one of them was looked at.
    pub now: f64,
    /// How many more are expected.
    pub expected: f64,
    /// 9 in 10 times so many more come.
    pub interval: (u32, u32),
    /// How many may be lost by stopping.
    pub few: u32,
    /// The day in warmth after which, 9 in 10 times, no more than those come; `None` where none can be named.
    pub stop: Option<f64>,
    /// The date of that day, where all boxes that wait were moved on one day.
    pub date: Option<NaiveDate>,
    /// What waiting to several days costs and saves; the first is to stop now.
    pub choices: Vec<Choice>,
    /// How many closed runs it rests on.
    pub closed: usize,
    /// The last day that any of those was waited for.
    pub until: f64,
    /// Whether they had the same treatment.
    pub same_treatment: bool,
    /// By what factor a year of age changes the odds of a seed to come, and the day by which half of those that come are
    /// up; 1 where the ages of seed don't differ.
    pub by_year_of_age: [f64; 2],
}

/// A day on which waiting could end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choice {
    /// The day in warmth.
    pub day: f64,
    /// Days under light from now on, of all boxes that wait.
    pub light_days: f64,
    /// Seedlings expected to be lost.
    pub lost: f64,
    /// 9 in 10 times so many are lost.
    pub interval: (u32, u32),
}

impl Waiting {
    /// Of some runs, `few` seedlings being allowed to be lost.
    pub fn of(project: &Project, courses: &[RunCounts], forecasts: &Forecasts, few: u32) -> Self {
        let open: Vec<&RunCounts> = courses.iter().filter(|run| run.open).collect();
        let Some(first) = open.first() else {
            return Self::NoSeed;
        };
        let treatments: Vec<_> = open
            .iter()
            .map(|run| forecasts.by_treatment.get(&run.treatment))
            .collect();
        let learnt = match treatments.as_slice() {
            [Some(Ok(learnt)), ..] => learnt,
            [Some(Err(few)), ..] => {
                return Self::TooFewClosed {
                    closed: few.closed,
                    window: window(project, first.run),
                };
            }
            _ => {
                return Self::TooFewClosed {
                    closed: 0,
                    window: window(project, first.run),
                };
            }
        };
        let lots: Vec<LotCounts> = open.iter().map(|run| run.as_lot()).collect();
        let outlook = learnt.forecaster.outlook(&lots);
        let to_come = outlook.still_to_come();
        let stop = outlook.stop(few);
        let now = lots.iter().map(|lot| lot.looked).fold(0.0, f64::max);
        let until = learnt.forecaster.until();
        let mut days = vec![now];
        let last = stop.unwrap_or(until).max(now);
        days.extend(
            (1..=3)
                .map(|week| now + 7.0 * f64::from(week))
                .filter(|day| *day < last),
        );
        if last > now {
            days.push(last);
        }
        let choices = days.into_iter().map(|day| {
            let lost = outlook.lost_after(day);
            Choice {
                day,
                light_days: lots.iter().map(|lot| (day - lot.looked).max(0.0)).sum(),
                lost: lost.mean(),
                interval: lost.interval(LEVEL),
            }
        });
        let one_day = open.iter().all(|run| run.moved == first.moved);
        Self::Known(StillToCome {
            seeds: total(lots.iter().map(|lot| lot.waiting)),
            boxes: lots.len(),
            now,
            expected: to_come.mean(),
            interval: to_come.interval(LEVEL),
            few,
            stop,
            date: stop
                .filter(|_| one_day)
                .map(|day| shift(first.moved, day.ceil() as i64)),
            choices: choices.collect(),
            closed: learnt.forecaster.closed(),
            until,
            same_treatment: learnt.same_treatment,
            by_year_of_age: learnt.forecaster.by_year_of_age(),
        })
    }

    /// What to do, in words, on a day.
    pub fn words(&self, today: NaiveDate) -> String {
        match self {
            Self::NoSeed => "no seed waits: its boxes are closed.".into(),
            Self::TooFewClosed { closed, window } => {
                let meant = window.map_or_else(String::new, |(from, to, give_up)| {
                    format!(
                        " The protocol expects the first seedlings from day {from} to {to} and gives up after day {give_up}."
                    )
                });
                let has = match closed {
                    0 => "none yet".to_owned(),
                    closed => format!("{closed} so far"),
                };
                format!(
                    "when to stop can\u{2019}t be told yet: it takes {LEAST_CLOSED} closed boxes in which seed came up, and there {} {has}.{meant}",
                    plural((*closed).max(1) as u32, "is", "are")
                )
            }
            Self::Known(known) => known.words(today),
        }
    }

    /// What is still to come, if it can be said.
    pub fn known(&self) -> Option<&StillToCome> {
        match self {
            Self::Known(known) => Some(known),
            Self::NoSeed | Self::TooFewClosed { .. } => None,
        }
    }
}

impl StillToCome {
    fn words(&self, today: NaiveDate) -> String {
        let few = format!(
            "more than {} {}",
            self.few,
            plural(self.few, "seedling", "seedlings")
        );
        let (low, high) = self.interval;
        let to_come = format!(
            "of {} {} that {}, {:.0} more are expected ({low} to {high}, 9 times in 10).",
            self.seeds,
            plural(self.seeds, "seed", "seeds"),
            plural(self.seeds, "waits", "wait"),
            self.expected,
        );
        let rule = match (self.stop, self.date) {
            (None, _) => format!(
                "No day can be named after which no {few} would be lost: count on, and ask again. The closed boxes were waited for until day {:.0} at most.",
                self.until
            ),
            (Some(day), _) if day <= self.now => {
                format!("Waiting can stop: with 9 in 10 odds no {few} would be lost.")
            }
            (Some(day), Some(date)) if date <= today => format!(
                "From {date} (day {day:.0}) on no {few} would be lost by stopping, with 9 in 10 odds: count now, and stop if the count bears it out."
            ),
            (Some(day), date) => {
                let when = date.map_or_else(
                    || format!("day {day:.0}"),
                    |date| format!("{} (day {day:.0})", date.in_words()),
                );
                let light = self.choices.last().map_or(0.0, |last| last.light_days);
                format!(
                    "Wait until {when}: from then on no {few} would be lost, with 9 in 10 odds. That is {light:.0} {} of light for {} {}; stopping now would lose all that is still to come.",
                    plural(light as u32, "day", "days"),
                    self.boxes,
                    plural(self.boxes as u32, "box", "boxes"),
                )
            }
        };
        format!("{to_come} {rule}")
    }

    /// What it rests on, in words.
    pub fn basis(&self) -> String {
        format!(
            "{} closed boxes{}, none waited for beyond day {:.0}",
            self.closed,
            if self.same_treatment {
                " of the same treatment"
            } else {
                " of whatever treatment: too few had the same one"
            },
            self.until
        )
    }
}

fn window(project: &Project, run: Id<Germination>) -> Option<(u32, u32, u32)> {
    let chill_box = project
        .chill_boxes()
        .get(project.germinations().get(run)?.chill_box)?;
    let regimen = &project.chill_batches().get(chill_box.batch)?.regimen;
    Some((
        regimen.sprouts_from,
        regimen.sprouts_to,
        regimen.give_up_after,
    ))
}
