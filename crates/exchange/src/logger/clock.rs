//! Clocks that were changed, set back or fell back, and rows that repeat a time.

use super::import::{BadRow, Duplicate, Fault, LoggerRow, Reading};
use chrono::{DateTime, Datelike as _, NaiveDateTime, Timelike as _, Weekday};
use std::ops::RangeInclusive;

/// A place in a file where its clock was changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClockChange {
    /// The line after the change.
    pub line: u64,
    /// The moment that line tells.
    pub shown: NaiveDateTime,
    /// What happened.
    pub kind: ClockChangeKind,
}

/// What happened to a clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockChangeKind {
    /// It went an hour forward in a night from Saturday to Sunday in spring.
    SummerTimeBegan,
    /// It went an hour back in a night from Saturday to Sunday in autumn.
    SummerTimeEnded,
    /// It was set back by so many seconds.
    SetBack(i64),
}

impl std::fmt::Display for ClockChange {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { line, shown, kind } = self;
        let shown = shown.format("%-d %b %Y %H:%M");
        match kind {
            ClockChangeKind::SummerTimeBegan => {
                write!(f, "line {line}: summer time began before {shown}.")
            }
            ClockChangeKind::SummerTimeEnded => {
                write!(f, "line {line}: summer time ended before {shown}.")
            }
            ClockChangeKind::SetBack(seconds) => {
                let minutes = (seconds + 30) / 60;
                let (days, hours) = (minutes / 1440, minutes / 60 % 24);
                write!(f, "line {line}: the clock went back to {shown}, by")?;
                if days > 0 {
                    write!(f, " {days} d")?;
                }
                if hours > 0 {
                    write!(f, " {hours} h")?;
                }
                if days == 0 {
                    write!(f, " {} min", minutes % 60)?;
                }
                write!(f, ".")
            }
        }
    }
}

/// What became of the rows.
pub(super) struct Ordered {
    pub(super) readings: Vec<Reading>,
    pub(super) duplicates: Vec<Duplicate>,
    pub(super) lost: Vec<BadRow>,
    pub(super) changes: Vec<ClockChange>,
    pub(super) latest_first: bool,
}

/// A silence longer than this parts a file whose clock had fallen back to the day it was made from the rest of it.
const YEARS: i64 = 3 * 366 * 86_400;
/// A clock set back by more than this, to before the first row, had lost its time.
const DAY: i64 = 86_400;

/// Brings rows into the order of time.
pub(super) fn order(mut rows: Vec<LoggerRow>, summer_time: bool) -> Ordered {
    let falls = rows
        .windows(2)
        .filter(|pair| pair[1].at < pair[0].at)
        .count();
    let rises = rows
        .windows(2)
        .filter(|pair| pair[1].at > pair[0].at)
        .count();
    let latest_first = falls > rises;
    if latest_first {
        rows.reverse();
    }
    let step = usual_step(&rows);
    let mut lost = take_lost_time(&mut rows);
    let changes = follow(&mut rows, step, summer_time);
    rows.sort_by_key(|row| row.at);
    let mut readings: Vec<Reading> = Vec::with_capacity(rows.len());
    let mut duplicates = Vec::new();
    let mut kept: Option<LoggerRow> = None;
    for row in rows {
        match kept {
            Some(first) if first.at == row.at => duplicates.push(Duplicate {
                line: row.line,
                of_line: first.line,
                same_temperature: first.hundredths == row.hundredths,
            }),
            _ => {
                kept = Some(row);
                readings.push(Reading {
                    at: row.at,
                    hundredths: row.hundredths,
                });
            }
        }
    }
    duplicates.sort_by_key(|duplicate| duplicate.line);
    lost.sort_by_key(|row| row.line);
    Ordered {
        readings,
        duplicates,
        lost,
        changes,
        latest_first,
    }
}

fn usual_step(rows: &[LoggerRow]) -> i64 {
    let every = (rows.len() / 4096).max(1);
    let mut steps: Vec<i64> = rows
        .windows(2)
        .step_by(every)
        .map(|pair| pair[1].at - pair[0].at)
        .filter(|step| *step > 0)
        .collect();
    let middle = steps.len() / 2;
    if steps.is_empty() {
        0
    } else {
        *steps.select_nth_unstable(middle).1
    }
}

/// Takes out the rows whose clock had lost its time: those before a silence of years, or after it, whichever are fewer;
/// and those after the clock fell back to before the first row, until it is right again.
fn take_lost_time(rows: &mut Vec<LoggerRow>) -> Vec<BadRow> {
    let years = years_of_most(rows);
    let mut lost = Vec::new();
    let mut first = None;
    let mut last = i64::MIN;
    let mut fallen = false;
    rows.retain(|row| {
        let in_years = years.contains(&row.at);
        if in_years {
            let first = *first.get_or_insert(row.at);
            fallen = if fallen {
                row.at < last
            } else {
                row.at < first && last - row.at > DAY
            };
        }
        let good = in_years && !fallen;
        if good {
            last = last.max(row.at);
        } else {
            lost.push(BadRow {
                line: row.line,
                fault: Fault::LostTime(moment(row.at)),
            });
        }
        good
    });
    lost
}

/// The time, without a silence of years in it, that most of the rows tell of.
fn years_of_most(rows: &[LoggerRow]) -> RangeInclusive<i64> {
    let mut times: Vec<i64> = rows.iter().map(|row| row.at).collect();
    times.sort_unstable();
    let most = times
        .chunk_by(|before, after| after - before <= YEARS)
        // Of equals the earliest.
        .rev()
        .max_by_key(|times| times.len());
    match most {
        Some([first, .., last]) => *first..=*last,
        Some([only]) => *only..=*only,
        _ => 0..=0,
    }
}

/// Finds where the clock was changed, and tells all times on one steady clock if it kept summer time.
fn follow(rows: &mut [LoggerRow], step: i64, summer_time: bool) -> Vec<ClockChange> {
    let mut changes = Vec::new();
    let mut ahead = 0;
    let mut since = vec![(0, ahead)];
    for nth in 1..rows.len() {
        let (before, row) = (rows[nth - 1], rows[nth]);
        let Some(kind) = change(before.at, row.at, step) else {
            continue;
        };
        changes.push(ClockChange {
            line: row.line,
            shown: moment(row.at),
            kind,
        });
        match kind {
            ClockChangeKind::SummerTimeBegan => ahead += 3600,
            ClockChangeKind::SummerTimeEnded => ahead -= 3600,
            ClockChangeKind::SetBack(_) => continue,
        }
        since.push((nth, ahead));
    }
    if !summer_time || since.len() == 1 {
        return changes;
    }
    // The steady clock is the one that most of the file was written by.
    let ends = since[1..].iter().map(|(nth, _)| *nth).chain([rows.len()]);
    let spans: Vec<_> = since
        .iter()
        .zip(ends)
        .map(|((begin, ahead), end)| (*begin, end, *ahead))
        .collect();
    let mut total = std::collections::BTreeMap::<i64, usize>::new();
    for (begin, end, ahead) in &spans {
        *total.entry(*ahead).or_default() += end - begin;
    }
    let usual = total
        .iter()
        .max_by_key(|(_, count)| **count)
        .map_or(0, |(ahead, _)| *ahead);
    for (begin, end, ahead) in spans {
        for row in &mut rows[begin..end] {
            row.at += usual - ahead;
        }
    }
    changes
}

/// What happened to the clock between two rows, if that can be seen.
fn change(before: i64, after: i64, step: i64) -> Option<ClockChangeKind> {
    let passed = after - before;
    // Within an eighth of a step, it is the usual one but for an hour.
    let but_for =
        |hour: i64| step > 0 && step <= 4 * 3600 && (passed + hour - step).abs() <= step / 8;
    let (back, forward) = (passed <= 0 && but_for(3600), but_for(-3600));
    if back || forward {
        let shown = moment(after);
        let night = shown.weekday() == Weekday::Sun && shown.hour() <= 4;
        if back && night && matches!(shown.month(), 3 | 4 | 9..=11) {
            return Some(ClockChangeKind::SummerTimeEnded);
        }
        if forward && night && shown.hour() >= 1 && matches!(shown.month(), 3 | 4 | 9 | 10) {
            return Some(ClockChangeKind::SummerTimeBegan);
        }
    }
    (passed < 0).then_some(ClockChangeKind::SetBack(-passed))
}

pub(super) fn moment(seconds: i64) -> NaiveDateTime {
    DateTime::from_timestamp(seconds, 0)
        .unwrap_or_default()
        .naive_utc()
}
