//! Days on paper: the weeks of a month, names of days, steps by key. Pure functions.

use chrono::{Datelike as _, Days, Months, NaiveDate, Weekday};
use egui::Key;

/// The weeks that a wall calendar shows for a month, each seven days, filled up from the months beside it.
///
/// Empty when there is no such month.
pub fn month_grid(year: i32, month: u32, first_weekday: Weekday) -> Vec<[NaiveDate; 7]> {
    let Some(first) = NaiveDate::from_ymd_opt(year, month, 1) else {
        return Vec::new();
    };
    let lead = u64::from(first.weekday().days_since(first_weekday));
    let Some(mut day) = first.checked_sub_days(Days::new(lead)) else {
        return Vec::new();
    };
    let mut weeks = Vec::with_capacity(6);
    while day < first || (day.year(), day.month()) == (year, month) {
        weeks.push(std::array::from_fn(|offset| later(day, offset as u64)));
        let next = later(day, 7);
        if next == day {
            break;
        }
        day = next;
    }
    weeks
}

/// A day as it is read aloud: 'Wednesday 25 November 2026'.
pub fn full_date(date: NaiveDate) -> String {
    date.format("%A %-d %B %Y").to_string()
}

/// A month as it heads a calendar: 'November 2026'.
pub fn month_name(date: NaiveDate) -> String {
    date.format("%B %Y").to_string()
}

/// The seven weekdays in the order of the columns, each as its short and its full name.
pub(super) fn weekdays(first: Weekday) -> [(&'static str, &'static str); 7] {
    const NAMES: [(&str, &str); 7] = [
        ("Mon", "Monday"),
        ("Tue", "Tuesday"),
        ("Wed", "Wednesday"),
        ("Thu", "Thursday"),
        ("Fri", "Friday"),
        ("Sat", "Saturday"),
        ("Sun", "Sunday"),
    ];
    std::array::from_fn(|offset| NAMES[(first.num_days_from_monday() as usize + offset) % 7])
}

/// The same day `by` months on; the last day of the month where that month is shorter.
pub fn add_months(date: NaiveDate, by: i32) -> NaiveDate {
    let months = Months::new(by.unsigned_abs());
    let moved = if by < 0 {
        date.checked_sub_months(months)
    } else {
        date.checked_add_months(months)
    };
    moved.unwrap_or(date)
}

/// The day that a key leads to in a grid of days: arrows, Home and End of the week, Page Up and Page Down by month.
pub(super) fn step(date: NaiveDate, key: Key, first_weekday: Weekday) -> Option<NaiveDate> {
    let into_week = u64::from(date.weekday().days_since(first_weekday));
    Some(match key {
        Key::ArrowLeft => earlier(date, 1),
        Key::ArrowRight => later(date, 1),
        Key::ArrowUp => earlier(date, 7),
        Key::ArrowDown => later(date, 7),
        Key::Home => earlier(date, into_week),
        Key::End => later(date, 6 - into_week),
        Key::PageUp => add_months(date, -1),
        Key::PageDown => add_months(date, 1),
        _ => return None,
    })
}

pub(super) const STEP_KEYS: [Key; 8] = [
    Key::ArrowLeft,
    Key::ArrowRight,
    Key::ArrowUp,
    Key::ArrowDown,
    Key::Home,
    Key::End,
    Key::PageUp,
    Key::PageDown,
];

pub(super) fn later(date: NaiveDate, days: u64) -> NaiveDate {
    date.checked_add_days(Days::new(days)).unwrap_or(date)
}

pub(super) fn earlier(date: NaiveDate, days: u64) -> NaiveDate {
    date.checked_sub_days(Days::new(days)).unwrap_or(date)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn weeks_cover_the_month_and_start_on_the_weekday_asked_for() {
        // ISO 8601 calendar: 1 November 2026 is a Sunday, 30 November a Monday.
        let monday = month_grid(2026, 11, Weekday::Mon);
        assert_eq!(monday.len(), 6);
        assert_eq!(
            monday[0],
            std::array::from_fn(|i| later(date("2026-10-26"), i as u64))
        );
        assert_eq!(monday[5][6], date("2026-12-06"));
        let sunday = month_grid(2026, 11, Weekday::Sun);
        assert_eq!(sunday.len(), 5);
        assert_eq!(sunday[0][0], date("2026-11-01"));
        assert_eq!(sunday[4][6], date("2026-12-05"));
    }

    #[test]
    fn a_short_february_fits_four_weeks() {
        // February 2027 begins on a Monday and has 28 days.
        let weeks = month_grid(2027, 2, Weekday::Mon);
        assert_eq!(weeks.len(), 4);
        assert_eq!(
            (weeks[0][0], weeks[3][6]),
            (date("2027-02-01"), date("2027-02-28"))
        );
    }

    #[test]
    fn every_month_grid_holds_every_day_once_in_order() {
        for year in [1999, 2000, 2024, 2100] {
            for month in 1..=12 {
                for first in [Weekday::Mon, Weekday::Sat, Weekday::Sun] {
                    let days: Vec<NaiveDate> = month_grid(year, month, first).concat();
                    assert_eq!(days[0].weekday(), first);
                    assert!(days.windows(2).all(|pair| later(pair[0], 1) == pair[1]));
                    assert!(
                        days[..7]
                            .iter()
                            .any(|day| day.day() == 1 && day.month() == month)
                    );
                    assert!(
                        days[days.len() - 7..]
                            .iter()
                            .any(|day| day.month() == month)
                    );
                }
            }
        }
    }

    #[test]
    fn no_such_month_has_no_weeks() {
        assert!(month_grid(2026, 13, Weekday::Mon).is_empty());
        assert!(month_grid(2026, 0, Weekday::Mon).is_empty());
    }

    #[test]
    fn months_step_to_the_last_day_of_shorter_months() {
        assert_eq!(add_months(date("2026-01-31"), 1), date("2026-02-28"));
        assert_eq!(add_months(date("2026-03-31"), -1), date("2026-02-28"));
    }

    #[test]
    fn week_ends_follow_the_first_weekday() {
        let wednesday = date("2026-11-25");
        assert_eq!(
            step(wednesday, Key::Home, Weekday::Mon),
            Some(date("2026-11-23"))
        );
        assert_eq!(
            step(wednesday, Key::End, Weekday::Sun),
            Some(date("2026-11-28"))
        );
        assert_eq!(step(wednesday, Key::A, Weekday::Sun), None);
    }
}
