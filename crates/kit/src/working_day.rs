//! The day that is being recorded for: today, or a day that is written up later.

use chrono::{Days, NaiveDate};

/// The working day. One for the whole window: every form records for it, and late and due are told as of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WorkingDay {
    today: NaiveDate,
    recorded_for: Option<NaiveDate>,
}

impl WorkingDay {
    /// Today.
    pub const fn new(today: NaiveDate) -> Self {
        Self {
            today,
            recorded_for: None,
        }
    }

    /// The day the machine tells.
    pub const fn today(self) -> NaiveDate {
        self.today
    }

    /// The day that is being recorded for.
    pub fn day(self) -> NaiveDate {
        self.recorded_for.unwrap_or(self.today)
    }

    /// Whether that is today.
    pub const fn is_today(self) -> bool {
        self.recorded_for.is_none()
    }

    /// The machine tells another day: a day that is written up stays the one chosen.
    pub fn follow(&mut self, today: NaiveDate) {
        let written_up = self.recorded_for;
        *self = Self::new(today);
        if let Some(day) = written_up {
            self.choose(day);
        }
    }

    /// Records for this day.
    pub fn choose(&mut self, day: NaiveDate) {
        self.recorded_for = (day != self.today).then_some(day);
    }

    /// Some days on, or back where `by` is negative. Stays where it is at the ends of the calendar.
    pub fn step(&mut self, by: i64) {
        let days = Days::new(by.unsigned_abs());
        let day = if by < 0 {
            self.day().checked_sub_days(days)
        } else {
            self.day().checked_add_days(days)
        };
        if let Some(day) = day {
            self.choose(day);
        }
    }

    /// Back to today.
    pub const fn back(&mut self) {
        self.recorded_for = None;
    }

    /// How far it is from today, in words: '84 days ago', 'tomorrow'.
    pub fn distance(self) -> String {
        match (self.day() - self.today).num_days() {
            0 => "today".to_owned(),
            -1 => "yesterday".to_owned(),
            1 => "tomorrow".to_owned(),
            days @ ..=-2 => format!("{} days ago", -days),
            days => format!("in {days} days"),
        }
    }

    /// The day as it is named on a button that records: 'today', or 'for Sat 5 Sep'.
    pub fn on_button(self) -> String {
        if self.is_today() {
            "today".to_owned()
        } else {
            format!("for {}", short_day(self.day()))
        }
    }
}

/// A day as it stands in running text: 'Sat 5 Sep'.
pub fn short_day(day: NaiveDate) -> String {
    day.format("%a %-d %b").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, month, day).unwrap()
    }

    #[test]
    fn a_day_is_written_up_and_left_again() {
        let mut working = WorkingDay::new(day(11, 28));
        assert_eq!((working.day(), working.is_today()), (day(11, 28), true));
        working.choose(day(9, 5));
        assert_eq!(working.distance(), "84 days ago");
        assert_eq!(working.on_button(), "for Sat 5 Sep");
        working.step(-1);
        assert_eq!(working.day(), day(9, 4));
        working.back();
        assert_eq!(working.on_button(), "today");
    }

    #[test]
    fn stepping_onto_today_is_being_back() {
        let mut working = WorkingDay::new(day(11, 28));
        working.step(-1);
        assert_eq!(working.distance(), "yesterday");
        working.step(1);
        assert!(working.is_today());
    }

    #[test]
    fn midnight_takes_an_idle_window_along_and_leaves_a_day_that_is_written_up() {
        let mut idle = WorkingDay::new(day(11, 28));
        idle.follow(day(11, 29));
        assert_eq!((idle.day(), idle.is_today()), (day(11, 29), true));
        let mut writing = WorkingDay::new(day(11, 28));
        writing.choose(day(9, 5));
        writing.follow(day(11, 29));
        assert_eq!((writing.day(), writing.is_today()), (day(9, 5), false));
    }
}
