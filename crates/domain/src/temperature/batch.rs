//! The temperatures of one batch: those of its own logs first, those of the place it stands in where it has none.

use super::exposure::{Band, Exposure, Segment};
use crate::date::shift;
use crate::project::Project;
use crate::record::chill::{Check, ChillBatch};
use crate::record::readings::Readings;
use crate::record::temperature_log::{LogPlace, TemperatureLog};
use chrono::{NaiveDate, NaiveTime};

/// How long the cold of a batch was meant to be, what it got, and when it will be enough.
#[derive(Debug, Clone, PartialEq)]
pub struct BatchCold {
    /// What its temperatures add up to, from its start to the last of them, or to its end.
    pub exposure: Exposure,
    /// The band it was meant to be in.
    pub band: Band,
    /// Hours of cold its regimen asks for: the days from its start to the day it is ready, times 24.
    pub required: f64,
    /// The day its cold is over by the calendar.
    pub by_calendar: NaiveDate,
    /// When its cold will be enough, calculated from its temperatures; nothing without any.
    pub by_temperature: Option<ReadyEstimate>,
}

/// A day with the days it may as well be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReadyEstimate {
    /// If the hours not known were like the known ones, and those to come are too.
    pub expected: NaiveDate,
    /// If all hours not known, and all to come, are in the band.
    pub earliest: NaiveDate,
    /// If none of the hours not known was in the band, and those to come are as poor as the poorer of the whole and
    /// the last week; nothing if that would never be enough.
    pub latest: Option<NaiveDate>,
}

/// The logs that hold for a batch: its own, then those of its place. A log of `Seed refrigerator` holds for a batch in
/// `Seed refrigerator, shelf 1`.
pub fn readings_of<'a>(
    project: &'a Project,
    batch: &ChillBatch,
) -> impl Iterator<Item = &'a TemperatureLog> {
    let own = project.referring::<TemperatureLog>(batch.id);
    let stands = batch.place.clone();
    let shared = project
        .temperature_logs()
        .iter()
        .filter(move |log| matches!(&log.at, LogPlace::Place(place) if stands_in(&stands, place)));
    own.chain(shared)
}

/// Whether something that stands at `stands` stands in `place`: 'Refrigerator, shelf 1' is in 'refrigerator'.
pub fn stands_in(stands: &str, place: &str) -> bool {
    let (stands, place) = (stands.trim().to_lowercase(), place.trim().to_lowercase());
    !place.is_empty()
        && stands
            .strip_prefix(&place)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with(','))
}

/// The temperatures read off by hand when the boxes of a batch were looked into: the day, and the look.
pub fn manual_readings<'a>(project: &'a Project, batch: &ChillBatch) -> Vec<&'a Check> {
    let mut checks: Vec<&Check> = project
        .boxes_of(batch.id)
        .flat_map(|chill_box| {
            let warm = project.run_of(chill_box.id).map(|run| run.moved);
            project
                .checks_of(chill_box.id)
                .filter(move |check| warm.is_none_or(|warm| check.date < warm))
        })
        .filter(|check| check.temperature.is_some())
        .collect();
    checks.sort_by_key(|check| (check.date, check.id));
    checks
}

impl BatchCold {
    /// The cold of a batch as it stands on `today`; nothing for a batch that hasn't started.
    pub fn of(project: &Project, batch: &ChillBatch, today: NaiveDate) -> Option<Self> {
        if !batch.started {
            return None;
        }
        let band = Band::from(&batch.regimen);
        let begin = midnight(batch.start);
        let end = left_cold(project, batch).map_or_else(|| midnight(shift(today, 1)), midnight);
        let end = end.max(begin);
        let logs: Vec<&Readings> = readings_of(project, batch)
            .map(|log| &log.readings)
            .collect();
        let pieces = pieces_of(&logs, begin, end);
        // What comes after the last reading of a batch still in the cold isn't a gap: it hasn't been read out yet.
        let in_cold = left_cold(project, batch).is_none();
        let read_to = pieces.last().map_or(begin, |piece| piece.to.min(end));
        let to = if in_cold {
            read_to.max(midnight(today).clamp(begin, end))
        } else {
            end
        };
        let mut exposure = Exposure::of(pieces.iter().copied(), band, begin, to);
        exposure.readings = logs
            .iter()
            .map(|readings| within(readings, begin, end).len())
            .sum();
        let by_calendar = batch.ready_on();
        let required = (by_calendar - batch.start).num_days() as f64 * 24.0;
        let week = Exposure::of(pieces, band, (to - 7.0 * 86_400.0).max(begin), to);
        let by_temperature = ready_estimate(&exposure, &week, required, to);
        Some(Self {
            exposure,
            band,
            required,
            by_calendar,
            by_temperature,
        })
    }

    /// The part of the cold asked for that was received for certain, 0 to 1.
    pub fn part(&self) -> f64 {
        if self.required > 0.0 {
            (self.exposure.in_band / self.required).min(1.0)
        } else {
            1.0
        }
    }
}

/// What the temperatures of a batch add up to from its start to the beginning of a day; nothing without any.
pub fn cold_until(project: &Project, batch: &ChillBatch, day: NaiveDate) -> Option<Exposure> {
    between(project, batch, midnight(batch.start), midnight(day))
}

/// What they add up to over the week that ends with `today`; nothing without any.
pub fn cold_week(project: &Project, batch: &ChillBatch, today: NaiveDate) -> Option<Exposure> {
    let to = midnight(shift(today, 1));
    let from = (to - 7.0 * 86_400.0).max(midnight(batch.start));
    between(project, batch, from, to)
}

fn between(project: &Project, batch: &ChillBatch, from: f64, to: f64) -> Option<Exposure> {
    let logs: Vec<&Readings> = readings_of(project, batch)
        .map(|log| &log.readings)
        .collect();
    let exposure = Exposure::of(
        pieces_of(&logs, from, to),
        Band::from(&batch.regimen),
        from,
        to.max(from),
    );
    (exposure.known() > 0.0).then_some(exposure)
}

/// The day the last box left the cold, or the batch was ended; nothing while a box is in it.
pub(super) fn left_cold(project: &Project, batch: &ChillBatch) -> Option<NaiveDate> {
    if batch.ended.is_some() {
        return batch.ended;
    }
    let mut last = None;
    for chill_box in project.boxes_of(batch.id) {
        let out = match (&chill_box.end, project.run_of(chill_box.id)) {
            (Some(end), _) => end.date,
            (None, Some(run)) => run.moved,
            (None, None) => return None,
        };
        last = last.max(Some(out));
    }
    last
}

fn ready_estimate(
    whole: &Exposure,
    week: &Exposure,
    required: f64,
    to: f64,
) -> Option<ReadyEstimate> {
    let share = whole.share_in_band()?;
    let (received, unknown) = (whole.in_band, whole.unknown);
    let day = |hours: f64| {
        let hours = hours.clamp(-1e6, 1e6);
        crate::record::readings::moment((to + hours * 3600.0).round() as i64).date()
    };
    let still = |missing: f64, share: f64| {
        (missing <= 0.0 || share > 0.02).then(|| missing / share.max(0.02))
    };
    let earliest = day(required - received - unknown);
    let expected = still(required - received - unknown * share, share).map(day)?;
    let poorer = share.min(week.share_in_band().unwrap_or(share));
    let latest = still(required - received, poorer).map(day);
    Some(ReadyEstimate {
        expected,
        earliest,
        latest,
    })
}

fn midnight(day: NaiveDate) -> f64 {
    day.and_time(NaiveTime::MIN).and_utc().timestamp() as f64
}

/// The readings of a period, and the one before and after it.
fn within(readings: &Readings, from: f64, to: f64) -> &[super::Reading] {
    let all = readings.as_slice();
    let first = all.partition_point(|reading| (reading.at as f64) < from);
    let last = all.partition_point(|reading| (reading.at as f64) <= to);
    &all[first..last.max(first)]
}

/// The pieces of time for which there is a temperature, in the order of time: of the first log where it has any, of
/// the next where it has none.
fn pieces_of(logs: &[&Readings], from: f64, to: f64) -> Vec<Segment> {
    let mut all: Vec<Segment> = Vec::new();
    for (nth, readings) in logs.iter().enumerate() {
        let slice = readings.as_slice();
        let first = slice
            .partition_point(|reading| (reading.at as f64) < from)
            .saturating_sub(1);
        let last =
            (slice.partition_point(|reading| (reading.at as f64) <= to) + 1).min(slice.len());
        let limit = readings.gap_limit();
        let pieces = slice[first.min(last)..last]
            .windows(2)
            .filter(|pair| pair[1].at - pair[0].at <= limit)
            .map(|pair| Segment::between(pair[0], pair[1]));
        if nth == 0 {
            all.extend(pieces);
            continue;
        }
        let covered = covered(&all);
        for piece in pieces {
            let mut begin = piece.from;
            let after = covered.partition_point(|(_, end)| *end <= piece.from);
            for (taken_from, taken_to) in covered[after..].iter().copied() {
                if taken_from >= piece.to {
                    break;
                }
                all.extend(piece.within(begin, taken_from));
                begin = begin.max(taken_to);
            }
            all.extend(piece.within(begin, piece.to));
        }
        all.sort_by(|one, other| one.from.total_cmp(&other.from));
    }
    all
}

fn covered(pieces: &[Segment]) -> Vec<(f64, f64)> {
    let mut covered: Vec<(f64, f64)> = Vec::new();
    for piece in pieces {
        match covered.last_mut() {
            Some(last) if last.1 >= piece.from => last.1 = last.1.max(piece.to),
            _ => covered.push((piece.from, piece.to)),
        }
    }
    covered
}
