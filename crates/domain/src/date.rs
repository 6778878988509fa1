//! Dates as a breeder knows them: a day, or only a month or a year; and lengths of time.

use chrono::{Days, Months, NaiveDate};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// A date known to the day, the month, or only the year, written `2026-05-14`, `2026-05` or `2026` (ISO 8601).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PartialDate {
    /// Only the year is known.
    Year(i32),
    /// The year and month are known.
    Month(i32, u32),
    /// The day is known.
    Day(NaiveDate),
}

impl PartialDate {
    /// The first day it could have been.
    pub fn earliest(self) -> NaiveDate {
        match self {
            Self::Year(year) => NaiveDate::from_ymd_opt(year, 1, 1).unwrap_or(NaiveDate::MIN),
            Self::Month(year, month) => {
                NaiveDate::from_ymd_opt(year, month, 1).unwrap_or(NaiveDate::MIN)
            }
            Self::Day(day) => day,
        }
    }

    /// The last day it could have been.
    pub fn latest(self) -> NaiveDate {
        let after = match self {
            Self::Year(_) => self.earliest().checked_add_months(Months::new(12)),
            Self::Month(..) => self.earliest().checked_add_months(Months::new(1)),
            Self::Day(day) => return day,
        };
        after
            .and_then(|day| day.pred_opt())
            .unwrap_or(NaiveDate::MAX)
    }
}

/// Dates as people read them, in the one style that is shown everywhere: '5 Sep 2026', 'Sep 2026', '2026'.
pub trait InWords {
    /// The date in words.
    fn in_words(&self) -> String;
}

impl InWords for NaiveDate {
    fn in_words(&self) -> String {
        self.format("%-d %b %Y").to_string()
    }
}

impl InWords for PartialDate {
    fn in_words(&self) -> String {
        match self {
            Self::Year(year) => year.to_string(),
            Self::Month(..) => self.earliest().format("%b %Y").to_string(),
            Self::Day(day) => day.in_words(),
        }
    }
}

impl From<NaiveDate> for PartialDate {
    fn from(day: NaiveDate) -> Self {
        Self::Day(day)
    }
}

impl fmt::Display for PartialDate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Year(year) => write!(f, "{year:04}"),
            Self::Month(year, month) => write!(f, "{year:04}-{month:02}"),
            Self::Day(day) => write!(f, "{day}"),
        }
    }
}

impl FromStr for PartialDate {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let refuse = || format!("'{text}' is not a date. Write 2026-05-14, 2026-05 or 2026.");
        let parts: Vec<&str> = text.trim().split('-').collect();
        let year: i32 = parts[0]
            .parse()
            .ok()
            .filter(|_| parts[0].len() == 4)
            .ok_or_else(refuse)?;
        let date = match parts[1..] {
            [] => Some(Self::Year(year)),
            [month] => month
                .parse()
                .ok()
                .filter(|month| NaiveDate::from_ymd_opt(year, *month, 1).is_some())
                .map(|month| Self::Month(year, month)),
            [month, day] => {
                let (Ok(month), Ok(day)) = (month.parse(), day.parse()) else {
                    return Err(refuse());
                };
                NaiveDate::from_ymd_opt(year, month, day).map(Self::Day)
            }
            _ => None,
        };
        date.filter(|date| is_plausible(date.earliest()))
            .ok_or_else(refuse)
    }
}

impl Serialize for PartialDate {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for PartialDate {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(serde::de::Error::custom)
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for PartialDate {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "PartialDate".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({
            "description": "A date known to the day, the month, or only the year (ISO 8601).",
            "type": "string",
            "pattern": "^[0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?$"
        })
    }
}

/// Whether a date can belong to a breeding program: a typing slip such as year 202 or 20260 can't.
pub fn is_plausible(day: NaiveDate) -> bool {
    use chrono::Datelike as _;
    (1800..=2200).contains(&day.year())
}

/// A length of time as people count it. Calendar months are not 30 days: two months from 1 January end on 1 March.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Span {
    /// So many days.
    Days(u32),
    /// So many times seven days.
    Weeks(u32),
    /// So many calendar months: to the same day of a later month, or its last day where it is shorter.
    Months(u32),
}

impl Span {
    /// The day this length after `start`; `NaiveDate::MAX` if that is past the calendar.
    pub fn after(self, start: NaiveDate) -> NaiveDate {
        match self {
            Self::Days(days) => start.checked_add_days(Days::new(days.into())),
            Self::Weeks(weeks) => start.checked_add_days(Days::new(u64::from(weeks) * 7)),
            Self::Months(months) => start.checked_add_months(Months::new(months)),
        }
        .unwrap_or(NaiveDate::MAX)
    }

    /// The day to begin on so that it is over by `end`.
    pub fn before(self, end: NaiveDate) -> NaiveDate {
        match self {
            Self::Days(days) => end.checked_sub_days(Days::new(days.into())),
            Self::Weeks(weeks) => end.checked_sub_days(Days::new(u64::from(weeks) * 7)),
            Self::Months(months) => end.checked_sub_months(Months::new(months)),
        }
        .unwrap_or(NaiveDate::MIN)
    }

    /// Whether it is no time at all.
    pub const fn is_zero(self) -> bool {
        matches!(self, Self::Days(0) | Self::Weeks(0) | Self::Months(0))
    }
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (number, unit) = match *self {
            Self::Days(number) => (number, "day"),
            Self::Weeks(number) => (number, "week"),
            Self::Months(number) => (number, "calendar month"),
        };
        write!(f, "{number} {unit}{}", if number == 1 { "" } else { "s" })
    }
}

/// `day` moved by a number of days, kept inside the calendar.
pub fn shift(day: NaiveDate, days: i64) -> NaiveDate {
    let end = if days < 0 {
        NaiveDate::MIN
    } else {
        NaiveDate::MAX
    };
    chrono::Duration::try_days(days)
        .and_then(|by| day.checked_add_signed(by))
        .unwrap_or(end)
}

/// The next day of something that is done every so many days: at least a day on, whatever a file holds, and never
/// past the end of the calendar.
pub fn next_of_every(day: NaiveDate, days: u32) -> NaiveDate {
    shift(day, days.max(1).into())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn two_calendar_months_from_new_year_end_on_the_first_of_march() {
        assert_eq!(Span::Months(2).after(day("2026-01-01")), day("2026-03-01"));
        assert_eq!(Span::Days(60).after(day("2026-01-01")), day("2026-03-02"));
        assert_eq!(Span::Days(60).after(day("2028-01-01")), day("2028-03-01"));
    }

    #[test]
    fn months_end_on_the_last_day_of_a_shorter_month() {
        assert_eq!(Span::Months(2).after(day("2025-12-31")), day("2026-02-28"));
        assert_eq!(Span::Months(2).after(day("2027-12-31")), day("2028-02-29"));
    }

    #[test]
    fn leap_day_and_chill_end_as_in_rfc_5545_examples() {
        // As RFC 5545 counts whole days: 84 from 2026-01-05; 2028-02-28 and two. Recomputed by hand.
        assert_eq!(Span::Days(84).after(day("2026-01-05")), day("2026-03-30"));
        assert_eq!(Span::Weeks(12).after(day("2026-01-05")), day("2026-03-30"));
        assert_eq!(Span::Days(2).after(day("2028-02-28")), day("2028-03-01"));
    }

    #[test]
    fn partial_dates_read_write_and_bound() {
        for text in ["2026", "2026-05", "2026-05-14"] {
            assert_eq!(text.parse::<PartialDate>().unwrap().to_string(), text);
        }
        let may: PartialDate = "2028-02".parse().unwrap();
        assert_eq!(
            (may.earliest(), may.latest()),
            (day("2028-02-01"), day("2028-02-29"))
        );
        for wrong in [
            "",
            "26",
            "2026-13",
            "2026-02-30",
            "2026-1-1-1",
            "20260",
            "0202",
        ] {
            assert!(wrong.parse::<PartialDate>().is_err(), "{wrong}");
        }
    }
}
