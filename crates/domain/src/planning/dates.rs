//! By when: from the expected flowering forward, and from the day of planting out back, through the protocol.

use super::season::regimen;
use super::{POLLINATION_WEEKS, SeasonPlan};
use crate::date::shift;
use crate::record::protocol::Regimen;
use crate::record::settings::CrossTiming;
use crate::{CrossEventKind, Hemisphere, Project, actions};
use chrono::{Datelike as _, NaiveDate};

/// Days between steps of raising seedlings. Common practice; light and cultivar move them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Raising {
    /// From the first sprouts to potting.
    pub potting_after: u32,
    /// From potting to hardening off.
    pub in_pots: u32,
    /// Of hardening off, outdoors by day.
    pub hardening: u32,
    /// Seed goes into the cold so many days before it must, where there is time.
    pub reserve: u32,
}

/// Common practice.
pub const RAISING: Raising = Raising {
    potting_after: 14,
    in_pots: 28,
    hardening: 10,
    reserve: 14,
};

/// A step of the season.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SeasonStep {
    /// The females are bagged.
    Bag,
    /// Pollen is gathered and given.
    Pollinate,
    /// The bags come off.
    BagsOff,
    /// The cones are picked.
    Harvest,
    /// Seed is cleaned and counted.
    Clean,
    /// Seed goes into the cold.
    Chill,
    /// Boxes go to warmth.
    Warmth,
    /// Sprouts are potted.
    Pot,
    /// Seedlings are hardened off.
    HardenOff,
    /// Seedlings are planted out.
    PlantOut,
}

impl SeasonStep {
    /// What is done.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Bag => "Bag the females",
            Self::Pollinate => "Gather and give pollen",
            Self::BagsOff => "Take the bags off",
            Self::Harvest => "Harvest the cones",
            Self::Clean => "Clean and count the seed",
            Self::Chill => "Seed into the cold",
            Self::Warmth => "Boxes to warmth",
            Self::Pot => "Pot up the sprouts",
            Self::HardenOff => "Harden off",
            Self::PlantOut => "Plant out",
        }
    }
}

/// A step with its days.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeasonDate {
    /// The step.
    pub step: SeasonStep,
    /// The first day.
    pub from: NaiveDate,
    /// The last day.
    pub to: NaiveDate,
    /// The day it must begin by at the latest for planting out in time, where one is set.
    pub latest: Option<NaiveDate>,
    /// How the days come about.
    pub why: String,
}

impl SeasonDate {
    /// Whether the step ends after its latest day.
    pub fn is_late(&self) -> bool {
        self.latest.is_some_and(|latest| self.from > latest)
    }
}

/// The days of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeasonDates {
    /// The year of harvest.
    pub season: i32,
    /// The day pollen is to be given, for each cross of the plan in its order.
    pub pollination: Vec<NaiveDate>,
    /// The steps, in order.
    pub dates: Vec<SeasonDate>,
    /// Days to spare between clean seed and the latest start of chilling; below 0 there are too few. `None` without a
    /// day of planting out.
    pub spare: Option<i64>,
}

/// When the season's crosses would be in flower, from earlier pollinations on record or else from the half of the
/// globe, and the year they are harvested. Never in the past.
pub fn expected_flowering(project: &Project, today: NaiveDate) -> (i32, NaiveDate) {
    let begun = |season: i32| {
        // Days from the new year of the season, so that seasons over the turn of the year stay whole.
        let offsets: Vec<i64> = project
            .cross_events()
            .iter()
            .filter(|event| event.what == CrossEventKind::Pollinated)
            .filter_map(|event| {
                let of = project.crosses().get(event.cross)?.season;
                Some((event.date - new_year(of)).num_days())
            })
            .collect();
        let usual = match project.settings().hemisphere {
            // 1 July, and south of the equator 1 January: common practice.
            Hemisphere::Northern => 181,
            Hemisphere::Southern => 0,
        };
        let offset = if offsets.is_empty() {
            usual
        } else {
            let mut sorted = offsets;
            sorted.sort_unstable();
            sorted[sorted.len() / 2]
        };
        shift(new_year(season), offset)
    };
    let mut season = actions::season_planned(project, today);
    while begun(season) <= shift(today, project.settings().cross_timing.bag_before.into())
        && season < 2200
    {
        season += 1;
    }
    (season, begun(season))
}

fn new_year(year: i32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, 1, 1).unwrap_or(NaiveDate::MIN)
}

impl SeasonDates {
    /// The days of a plan whose first pollen is given on `flowering`. So many crosses a week are made as the goals
    /// allow, the first of the plan first.
    pub fn of(project: &Project, crosses: usize, flowering: NaiveDate) -> Self {
        let settings = project.settings();
        let (timing, regimen) = (&settings.cross_timing, regimen(project));
        let weeks = POLLINATION_WEEKS as usize;
        let a_week = settings.goals.limits.crosses_per_week.map_or_else(
            || crosses.div_ceil(weeks).max(1),
            |most| (most as usize).max(1),
        );
        let pollination: Vec<NaiveDate> = (0..crosses)
            .map(|cross| shift(flowering, 7 * (cross / a_week) as i64))
            .collect();
        let last = pollination.last().copied().unwrap_or(flowering);
        let clean = shift(
            last,
            i64::from(timing.ripe_to) + i64::from(timing.clean_within),
        );
        let back = settings
            .goals
            .plant_out_by
            .map(|day| Back::from(first_after(day, last), &regimen));
        let chill = match &back {
            Some(back) => clean.max(shift(back.chill, -i64::from(RAISING.reserve))),
            None => clean,
        };
        let dates = steps(
            timing,
            &regimen,
            [flowering, last, clean, chill],
            back.as_ref(),
        );
        Self {
            season: actions::season_of(project, flowering),
            pollination,
            spare: back.map(|back| (back.chill - clean).num_days()),
            dates,
        }
    }

    /// The days of a step.
    pub fn step(&self, step: SeasonStep) -> Option<&SeasonDate> {
        self.dates.iter().find(|date| date.step == step)
    }

    /// How the time is, in plain words.
    pub fn words(&self) -> String {
        let plural = |days: i64| if days == 1 { "day" } else { "days" };
        match self.spare {
            None => {
                "No last day to plant out is set. With one, the latest start of chilling follows."
                    .into()
            }
            Some(days) if days >= 0 => {
                format!(
                    "{days} {} to spare between clean seed and the latest start of chilling.",
                    plural(days)
                )
            }
            Some(days) => format!(
                "The seed is clean {} {} too late to be chilled before planting out. Pollinate earlier, choose a shorter chill, or plant out later.",
                -days,
                plural(-days)
            ),
        }
    }
}

/// The latest days, calculated back from planting out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Back {
    /// Seed goes into the cold.
    pub chill: NaiveDate,
    /// Boxes go to warmth.
    pub warmth: NaiveDate,
    /// Sprouts are potted.
    pub pot: NaiveDate,
    /// Seedlings are hardened off.
    pub harden: NaiveDate,
    /// Seedlings are planted out.
    pub plant_out: NaiveDate,
}

impl Back {
    /// From the last day to plant out.
    pub fn from(plant_out: NaiveDate, regimen: &Regimen) -> Self {
        let harden = shift(plant_out, -i64::from(RAISING.hardening));
        let pot = shift(harden, -i64::from(RAISING.in_pots));
        let warmth = shift(
            pot,
            -i64::from(RAISING.potting_after) - i64::from(regimen.sprouts_to),
        );
        Self {
            chill: regimen.chill.before(warmth),
            warmth,
            pot,
            harden,
            plant_out,
        }
    }
}

fn steps(
    timing: &CrossTiming,
    regimen: &Regimen,
    [first, last, clean, chill]: [NaiveDate; 4],
    back: Option<&Back>,
) -> Vec<SeasonDate> {
    let step = |step, from, to, latest, why: String| SeasonDate {
        step,
        from,
        to,
        latest,
        why,
    };
    let days = |count: u32| i64::from(count);
    let warmth = regimen.chill.after(chill);
    let pot = shift(warmth, days(regimen.sprouts_to + RAISING.potting_after));
    let harden = shift(pot, days(RAISING.in_pots));
    let out = shift(harden, days(RAISING.hardening));
    let latest = |pick: fn(&Back) -> NaiveDate| back.map(pick);
    vec![
        step(
            SeasonStep::Bag,
            shift(first, -days(timing.bag_before)),
            shift(last, -days(timing.bag_before)),
            None,
            format!("{} days before pollination.", timing.bag_before),
        ),
        step(
            SeasonStep::Pollinate,
            first,
            last,
            None,
            "From the expected flowering; weather moves it.".into(),
        ),
        step(
            SeasonStep::BagsOff,
            shift(first, days(timing.bag_off_after)),
            shift(last, days(timing.bag_off_after)),
            None,
            format!("{} days after pollination.", timing.bag_off_after),
        ),
        step(
            SeasonStep::Harvest,
            shift(first, days(timing.ripe_from)),
            shift(last, days(timing.ripe_to)),
            None,
            format!(
                "{} to {} days after pollination.",
                timing.ripe_from, timing.ripe_to
            ),
        ),
        step(
            SeasonStep::Clean,
            shift(first, days(timing.ripe_from)),
            clean,
            latest(|back| back.chill),
            format!("Within {} days of harvest.", timing.clean_within),
        ),
        step(
            SeasonStep::Chill,
            chill,
            chill,
            latest(|back| back.chill),
            format!("{} of cold before warmth.", regimen.chill),
        ),
        step(
            SeasonStep::Warmth,
            warmth,
            warmth,
            latest(|back| back.warmth),
            format!(
                "After {} of cold; sprouts within {} days.",
                regimen.chill, regimen.sprouts_to
            ),
        ),
        step(
            SeasonStep::Pot,
            shift(warmth, days(regimen.sprouts_from + RAISING.potting_after)),
            pot,
            latest(|back| back.pot),
            format!(
                "{} days after they germinate (common practice).",
                RAISING.potting_after
            ),
        ),
        step(
            SeasonStep::HardenOff,
            harden,
            shift(out, -1),
            latest(|back| back.harden),
            format!(
                "After {} days in pots, for {} days (common practice).",
                RAISING.in_pots, RAISING.hardening
            ),
        ),
        step(
            SeasonStep::PlantOut,
            out,
            back.map_or(out, |back| back.plant_out.max(out)),
            latest(|back| back.plant_out),
            "After hardening off; the last day is set with the goals.".into(),
        ),
    ]
}

/// What stands in the rooms in one week.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeekLoad {
    /// Its Monday.
    pub week: NaiveDate,
    /// Boxes in the cold: those there now and those of the plan.
    pub boxes: u32,
    /// Cells under lights.
    pub cells: u32,
    /// Pots.
    pub pots: u32,
}

/// What the plan and the boxes already in the cold take, week by week, from the first of them to planting out.
///
/// Cells and pots are those of the plan alone: what grows there now is out before the plan's sprouts come.
pub fn capacity(project: &Project, plan: &SeasonPlan, dates: &SeasonDates) -> Vec<WeekLoad> {
    let on = |step| dates.step(step).map(|date| (date.from, date.to));
    let (Some(chill), Some(warmth), Some(pot), Some(out)) = (
        on(SeasonStep::Chill),
        on(SeasonStep::Warmth),
        on(SeasonStep::Pot),
        on(SeasonStep::PlantOut),
    ) else {
        return Vec::new();
    };
    let sprouts_from = shift(warmth.0, regimen(project).sprouts_from.into());
    let standing: Vec<(NaiveDate, NaiveDate)> = project
        .chill_boxes()
        .iter()
        .filter(|each| each.end.is_none() && project.run_of(each.id).is_none())
        .filter_map(|each| {
            let batch = project.chill_batches().get(each.batch)?;
            batch
                .ended
                .is_none()
                .then(|| (batch.start, batch.ready_on()))
        })
        .collect();
    let first = monday(shift(chill.0, -14));
    let weeks = (out.0 - first).num_days() / 7 + 1;
    let sprouts = plan.sprouts().ceil() as u32;
    (0..weeks)
        .map(|week| {
            let from = shift(first, 7 * week);
            let to = shift(from, 6);
            let during = |begin: NaiveDate, end: NaiveDate| begin <= to && end > from;
            let there = standing
                .iter()
                .filter(|each| during(each.0, each.1))
                .count() as u32;
            let of_plan = if during(chill.0, warmth.0) {
                plan.boxes()
            } else {
                0
            };
            WeekLoad {
                week: from,
                boxes: there + of_plan,
                cells: if during(sprouts_from, pot.1) {
                    sprouts
                } else {
                    0
                },
                pots: if during(pot.0, out.0) { sprouts } else { 0 },
            }
        })
        .collect()
}

impl WeekLoad {
    /// What is overfull, in words; empty if all fits.
    pub fn overfull(&self, project: &Project) -> Vec<&'static str> {
        let space = project.settings().goals.space;
        let over =
            |load: u32, room: Option<u32>, what| room.filter(|&room| load > room).map(|_| what);
        [
            over(self.boxes, space.boxes, "boxes"),
            over(self.cells, space.cells, "cells"),
            over(self.pots, space.pots, "pots"),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

fn monday(day: NaiveDate) -> NaiveDate {
    shift(day, -i64::from(day.weekday().num_days_from_monday()))
}

/// This day of the year, in the first year in which it comes after `earlier`: seedlings of crosses still to be made go
/// out in the year after them, whichever year the goals name.
fn first_after(day: NaiveDate, earlier: NaiveDate) -> NaiveDate {
    let mut on = day;
    // No more years than between the two.
    for _ in day.year()..=earlier.year() {
        if on > earlier {
            break;
        }
        let Some(later) = on.checked_add_months(chrono::Months::new(12)) else {
            break;
        };
        on = later;
    }
    on
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Span;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    /// By hand on the calendar: 15 May less 10 days of hardening is 5 May, less 28 in pots 7 April, less 14 and 10 to
    /// the first sprouts 14 March; 60 days before that in a common year is 13 January, in a leap year 14 January; two
    /// calendar months before is 14 January. South of the equator the same from 15 November.
    #[test]
    fn latest_days_from_planting_out() {
        let regimen = Regimen::default();
        let back = Back::from(day("2027-05-15"), &regimen);
        assert_eq!(back.harden, day("2027-05-05"));
        assert_eq!(back.pot, day("2027-04-07"));
        assert_eq!(back.warmth, day("2027-03-14"));
        assert_eq!(back.chill, day("2027-01-13"));
        assert_eq!(
            Back::from(day("2028-05-15"), &regimen).chill,
            day("2028-01-14")
        );
        let months = Regimen {
            chill: Span::Months(2),
            ..regimen.clone()
        };
        assert_eq!(
            Back::from(day("2027-05-15"), &months).chill,
            day("2027-01-14")
        );
        let south = Back::from(day("2027-11-15"), &regimen);
        assert_eq!(
            (south.warmth, south.chill),
            (day("2027-09-14"), day("2027-07-16"))
        );
    }

    /// The seedlings of crosses made in July 2026 can't go out in June of that year.
    #[test]
    fn a_day_to_plant_out_that_is_past_by_then_is_meant_a_year_later() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let flowering = day("2026-07-10");
        assert_eq!(first_after(day("2026-06-15"), flowering), day("2027-06-15"));
        assert_eq!(first_after(day("2024-02-29"), flowering), day("2027-02-28"));
        assert_eq!(first_after(day("2027-05-01"), flowering), day("2027-05-01"));
        let never = NaiveDate::MAX;
        assert_eq!(first_after(never, never), never);
    }
}
