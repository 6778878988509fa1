//! Days along a line: the stretch of time in view and its ticks. Pure functions.

use chrono::{Datelike as _, NaiveDate};

use crate::widgets::days::{add_months, later};

const FEWEST_DAYS: f64 = 7.0;
const MOST_DAYS: f64 = 3660.0;

/// The stretch of time in view, in days; fractions pan smoothly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimeView {
    start: f64,
    days: f64,
}

impl TimeView {
    /// Shows `from` to `to`, both days whole.
    pub fn new(from: NaiveDate, to: NaiveDate) -> Self {
        let days = ordinal(to) - ordinal(from) + 1.0;
        Self {
            start: ordinal(from),
            days: days.clamp(FEWEST_DAYS, MOST_DAYS),
        }
    }

    /// The first day in view.
    pub fn from(&self) -> NaiveDate {
        NaiveDate::from_num_days_from_ce_opt(self.start.floor() as i32).unwrap_or_default()
    }

    /// How many days are in view.
    pub fn days(&self) -> f64 {
        self.days
    }

    /// Where the morning of a day lies, as a fraction of the width.
    pub(super) fn fraction(&self, day: NaiveDate) -> f32 {
        ((ordinal(day) - self.start) / self.days) as f32
    }

    /// Moves later by a fraction of the width.
    pub(super) fn pan(&mut self, fraction: f32) {
        self.start += f64::from(fraction) * self.days;
    }

    /// Shows `factor` times closer while the day at `fraction` stays where it is.
    pub(super) fn zoom(&mut self, factor: f32, fraction: f32) {
        let days = (self.days / f64::from(factor)).clamp(FEWEST_DAYS, MOST_DAYS);
        self.start += f64::from(fraction) * (self.days - days);
        self.days = days;
    }
}

fn ordinal(day: NaiveDate) -> f64 {
    f64::from(day.num_days_from_ce())
}

/// A tick of the time axis.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Tick {
    pub(super) day: NaiveDate,
    pub(super) label: String,
    /// The start of a year, or the start of a month where ticks are days.
    pub(super) strong: bool,
}

/// Ticks at days, weeks, months, quarters or years: as close as `width` points leave room to read them.
pub(super) fn ticks(view: &TimeView, width: f32) -> Vec<Tick> {
    const ROOM: f64 = 52.0;
    let points_per_day = f64::from(width.max(1.0)) / view.days;
    let first = view.from();
    let end = view.start + view.days;
    let month_start = |day: NaiveDate| day.with_day(1).unwrap_or(day);
    let mut ticks = Vec::new();
    let mut push =
        |day: NaiveDate, label: String, strong: bool| ticks.push(Tick { day, label, strong });
    if points_per_day * 7.0 >= ROOM {
        let stride = if points_per_day >= ROOM { 1 } else { 7 };
        // Weeks begin on Monday along the axis (ISO 8601).
        let lead = if stride == 7 {
            u64::from((7 - first.weekday().num_days_from_monday()) % 7)
        } else {
            0
        };
        let mut day = later(first, lead);
        while ordinal(day) < end {
            push(
                day,
                day.format("%-d %b").to_string(),
                day.day() <= stride as u32,
            );
            day = later(day, stride);
        }
        return ticks;
    }
    let months = [1, 3, 12]
        .into_iter()
        .find(|&months| f64::from(months) * 30.4 * points_per_day >= ROOM)
        .unwrap_or(60);
    let mut day = month_start(first);
    while ordinal(day) < end {
        let index = day.year() * 12 + day.month0() as i32;
        if ordinal(day) >= view.start && index % months == 0 {
            let january = day.month() == 1;
            push(
                day,
                day.format(if january { "%Y" } else { "%b" }).to_string(),
                january,
            );
        }
        let next = add_months(day, 1);
        if next == day {
            break;
        }
        day = next;
    }
    ticks
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn labels(from: &str, to: &str, width: f32) -> Vec<String> {
        let view = TimeView::new(date(from), date(to));
        ticks(&view, width)
            .into_iter()
            .map(|tick| tick.label)
            .collect()
    }

    #[test]
    fn a_season_has_a_tick_a_month_and_names_the_year_in_january() {
        assert_eq!(
            labels("2026-11-01", "2027-03-31", 600.0),
            ["Nov", "Dec", "2027", "Feb", "Mar"]
        );
    }

    #[test]
    fn ticks_thin_out_as_time_is_drawn_smaller() {
        assert_eq!(
            labels("2026-11-02", "2026-11-29", 280.0),
            ["2 Nov", "9 Nov", "16 Nov", "23 Nov"]
        );
        assert_eq!(
            labels("2026-01-01", "2027-12-31", 500.0)[..4],
            ["2026", "Apr", "Jul", "Oct"]
        );
        assert_eq!(
            labels("2020-01-01", "2024-12-31", 400.0),
            ["2020", "2021", "2022", "2023", "2024"]
        );
    }

    #[test]
    fn zoom_keeps_the_day_under_the_pointer() {
        let mut view = TimeView::new(date("2026-01-01"), date("2026-12-31"));
        let day = date("2026-06-01");
        let before = view.fraction(day);
        view.zoom(4.0, before);
        assert!((view.fraction(day) - before).abs() < 1e-4);
        assert!((view.days() - 365.0 / 4.0).abs() < 1e-9);
        view.zoom(1e9, 0.5);
        assert_eq!(view.days(), FEWEST_DAYS);
    }

    #[test]
    fn pan_moves_by_a_part_of_the_width() {
        let mut view = TimeView::new(date("2026-01-01"), date("2026-01-10"));
        view.pan(0.5);
        assert_eq!(view.from(), date("2026-01-06"));
    }
}
