//! What the program's own records say of the length of cold: germination of boxes by the cold they got.

use crate::date::shift;
use crate::ledger::BoxTally;
use crate::project::Project;
use crate::temperature::cold_until;
use crate::words::plural;
use crate::{ChillBatch, ChillBox, Germination, Id};
use chrono::NaiveDate;
use quant::counted::total;
use quant::dose_response::{Dose, DoseResponse, Group, NoFit, fit};
use std::collections::BTreeMap;

/// The germination of one box and the cold before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trial {
    /// The box.
    pub chill_box: Id<ChillBox>,
    /// Days of cold: hours in the band by its temperatures over 24, or days of the calendar where too few of its hours
    /// are known.
    pub days: f64,
    /// Whether the days were told by temperatures.
    pub by_temperature: bool,
    /// Seeds that went to warmth.
    pub seeds: u32,
    /// Of these, those that came up.
    pub germinated: u32,
}

/// What the records say.
#[derive(Debug, Clone, PartialEq)]
pub enum Response {
    /// There are not enough of them; the sentence says what is lacking.
    NotEnough(String),
    /// Longer cold made no difference that could be told from chance.
    NoDifference(Fitted),
    /// Longer cold brought more seed up.
    Rises(Fitted),
}

/// A line fitted to the records.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// The line: log odds of coming up by days of cold.
    pub fit: DoseResponse,
    /// The shortest and the longest cold on record, in days: the line isn't to be trusted beyond.
    pub days: (f64, f64),
    /// How many boxes.
    pub boxes: usize,
    /// How many seeds.
    pub seeds: u32,
}

/// The level of every interval here.
pub const LEVEL: f64 = 0.95;

/// The fewest records a line is drawn through: lengths of cold a week apart, boxes, and seeds. Our own rule: with
/// fewer the interval would span the season.
pub const LEAST: (usize, usize, u32) = (3, 6, 150);

impl Fitted {
    /// The days of cold after which a wanted share comes up; nothing beyond the lengths of cold on record.
    pub fn days_for(&self, share: f64) -> Option<Dose> {
        self.fit
            .dose_for(share, LEVEL)
            .filter(|dose| (self.days.0..=self.days.1).contains(&dose.dose))
    }

    /// The day on which seed that went into the cold on `start` will have had the days for a wanted share, and the
    /// first and last day it may as well be. An open end is cut at the lengths on record.
    pub fn day_for(
        &self,
        share: f64,
        start: NaiveDate,
    ) -> Option<(NaiveDate, NaiveDate, NaiveDate)> {
        let dose = self.days_for(share)?;
        let day = |days: f64| shift(start, days.clamp(0.0, 10_000.0).round() as i64);
        let (low, high) = dose.interval;
        Some((
            day(dose.dose),
            day(low.unwrap_or(self.days.0).max(0.0)),
            day(high.unwrap_or(self.days.1)),
        ))
    }
}

/// The finished germination of every box that was in the cold once. Boxes chilled again are left out: their seed is
/// what did not come up the first time.
pub fn trials(project: &Project, today: NaiveDate) -> Vec<Trial> {
    let mut cold = BTreeMap::<(Id<ChillBatch>, NaiveDate), (f64, bool)>::new();
    let mut trials = Vec::new();
    for run in project.germinations().iter() {
        let Some(chill_box) = project.chill_boxes().get(run.chill_box) else {
            continue;
        };
        let Some(batch) = project.chill_batches().get(chill_box.batch) else {
            continue;
        };
        if chill_box.rechilled_from.is_some() || !is_over(run, batch, today) {
            continue;
        }
        let (days, by_temperature) = *cold
            .entry((batch.id, run.moved))
            .or_insert_with(|| days_of_cold(project, batch, run.moved));
        let tally = BoxTally::of(project, chill_box);
        let seeds = tally
            .laid
            .saturating_sub(tally.mouldy + tally.sprouted_early);
        if seeds == 0 {
            continue;
        }
        trials.push(Trial {
            chill_box: chill_box.id,
            days,
            by_temperature,
            seeds,
            germinated: tally.germinated.min(seeds),
        });
    }
    trials
}

/// Whether all that will come up has: the run is closed, or past the days after which the rest is given up.
fn is_over(run: &Germination, batch: &ChillBatch, today: NaiveDate) -> bool {
    run.end.is_some() || shift(run.moved, batch.regimen.give_up_after.into()) <= today
}

fn days_of_cold(project: &Project, batch: &ChillBatch, moved: NaiveDate) -> (f64, bool) {
    let calendar = (moved - batch.start).num_days().max(0) as f64;
    match cold_until(project, batch, moved) {
        // Four in five hours known: the rest is taken to be like them.
        Some(cold) if cold.known() >= 0.8 * calendar * 24.0 => {
            (calendar * cold.share_in_band().unwrap_or(0.0), true)
        }
        _ => (calendar, false),
    }
}

/// What these trials say.
pub fn response(trials: &[Trial]) -> Response {
    let mut days: Vec<f64> = trials.iter().map(|trial| trial.days).collect();
    days.sort_by(f64::total_cmp);
    let mut lengths = 0;
    let mut last = f64::NEG_INFINITY;
    for length in &days {
        if length - last >= 7.0 {
            lengths += 1;
            last = *length;
        }
    }
    let seeds = total(trials.iter().map(|trial| trial.seeds));
    let (least_lengths, least_boxes, least_seeds) = LEAST;
    if lengths < least_lengths || trials.len() < least_boxes || seeds < least_seeds {
        return Response::NotEnough(format!(
            "Not enough records: {} boxes with {seeds} seeds after {lengths} {} of cold. At least {least_boxes} \
            boxes with {least_seeds} seeds are needed, from {least_lengths} lengths of chill at least a week apart.",
            trials.len(),
            plural(lengths as u32, "length", "lengths")
        ));
    }
    let groups: Vec<Group> = trials
        .iter()
        .map(|trial| Group {
            dose: trial.days,
            trials: trial.seeds,
            successes: trial.germinated,
        })
        .collect();
    match fit(&groups) {
        Ok(fit) => {
            let rises = fit.slope_interval(LEVEL).0 > 0.0;
            let fitted = Fitted {
                fit,
                days: (days[0], days[days.len() - 1]),
                boxes: trials.len(),
                seeds,
            };
            if rises {
                Response::Rises(fitted)
            } else {
                Response::NoDifference(fitted)
            }
        }
        Err(NoFit::Parted) => Response::NotEnough(
            "Not enough records: all or none came up above some length of cold, so no line can be drawn.".into(),
        ),
        Err(other) => Response::NotEnough(format!("Not enough records: {other}.")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::IdSource;

    fn trial(ids: &mut IdSource, days: f64, seeds: u32, germinated: u32) -> Trial {
        Trial {
            chill_box: ids.next(),
            days,
            by_temperature: false,
            seeds,
            germinated,
        }
    }

    #[test]
    fn few_records_are_said_to_be_few() {
        let mut ids = IdSource::new(0, 0);
        let one_length: Vec<_> = (0..20).map(|_| trial(&mut ids, 60.0, 80, 40)).collect();
        let Response::NotEnough(words) = response(&one_length) else {
            panic!("one length of cold says nothing about others")
        };
        assert!(
            words.contains("20 boxes with 1600 seeds after 1 length of cold"),
            "{words}"
        );
        assert!(matches!(response(&[]), Response::NotEnough(_)));
    }

    #[test]
    fn germination_after_longer_cold_gives_a_day_with_an_interval() {
        // The shape of Machado et al. 2020 (0 to 12 weeks, longest best), the numbers invented.
        let mut ids = IdSource::new(0, 0);
        let counts = [
            (21.0, 8),
            (28.0, 11),
            (42.0, 24),
            (49.0, 30),
            (63.0, 42),
            (84.0, 51),
        ];
        let trials: Vec<_> = counts
            .map(|(days, up)| trial(&mut ids, days, 60, up))
            .to_vec();
        let Response::Rises(fitted) = response(&trials) else {
            panic!("it rises")
        };
        let start = "2026-01-01".parse().unwrap();
        let (expected, earliest, latest) = fitted.day_for(0.5, start).unwrap();
        assert!(earliest < expected && expected < latest);
        // Half of 60 came up after 49 days.
        assert!(
            (expected - shift(start, 49)).num_days().abs() <= 3,
            "{expected}"
        );
        assert_eq!(fitted.day_for(0.99, start), None, "beyond what was tried");
    }

    #[test]
    fn what_does_not_rise_is_not_said_to() {
        let mut ids = IdSource::new(0, 0);
        let counts = [
            (21.0, 30),
            (28.0, 24),
            (42.0, 33),
            (49.0, 25),
            (63.0, 31),
            (84.0, 28),
        ];
        let trials: Vec<_> = counts
            .map(|(days, up)| trial(&mut ids, days, 60, up))
            .to_vec();
        assert!(matches!(response(&trials), Response::NoDifference(_)));
    }
}
