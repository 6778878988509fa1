//! A date and a time as loggers and spreadsheets write them.

use super::mapping::TimeForm;
use chrono::NaiveDate;

/// What a text tells of a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct ParsedTime {
    /// The day.
    pub(super) day: Option<NaiveDate>,
    /// The second of the day; 86,400 for midnight at its end.
    pub(super) second: Option<u32>,
    /// Whether it says before or after noon.
    pub(super) half_day: bool,
}

/// Reads a moment: seconds on the local clock since 1970-01-01 00:00. A zone or an offset from Greenwich at the end is
/// read over: the clock counts as it showed.
pub(super) fn read(text: &str, form: TimeForm) -> Option<i64> {
    match form {
        TimeForm::UnixSeconds => {
            let seconds: f64 = text.trim().parse().ok()?;
            // Some loggers count in thousandths.
            let seconds = if seconds.abs() >= 1e11 {
                seconds / 1000.0
            } else {
                seconds
            };
            (0.0..8e9)
                .contains(&seconds)
                .then_some(seconds.round() as i64)
        }
        TimeForm::SpreadsheetDays => {
            let days: f64 = text.trim().replace(',', ".").parse().ok()?;
            // 25,569 days lie between 1899-12-30 and 1970-01-01.
            (25_569.0..110_000.0)
                .contains(&days)
                .then(|| ((days - 25_569.0) * 86_400.0).round() as i64)
        }
        TimeForm::YearMonthDay | TimeForm::DayMonthYear | TimeForm::MonthDayYear => {
            plain(text.as_bytes(), form).or_else(|| {
                let parsed = parse_time(text, form)?;
                Some(midnight(parsed.day?) + i64::from(parsed.second.unwrap_or(0)))
            })
        }
    }
}

fn midnight(day: NaiveDate) -> i64 {
    day.and_time(chrono::NaiveTime::MIN).and_utc().timestamp()
}

/// The usual case, quickly: a date and a time in figures with all their zeros, such as `05.01.2026 08:00` or
/// `2026-01-05T08:00:30`.
fn plain(text: &[u8], order: TimeForm) -> Option<i64> {
    let (date, time) = text.split_first_chunk::<10>()?;
    let parted = |at: usize| matches!(date[at], b'-' | b'/' | b'.');
    let (year, month, day) = if parted(4) && parted(7) {
        (&date[..4], &date[5..7], &date[8..])
    } else if parted(2) && parted(5) {
        match order {
            TimeForm::DayMonthYear => (&date[6..], &date[3..5], &date[..2]),
            TimeForm::MonthDayYear => (&date[6..], &date[..2], &date[3..5]),
            _ => return None,
        }
    } else {
        return None;
    };
    let (hour, minute, second) = match time {
        [b' ' | b'T', hour @ .., b':', _, _, b':', _, _] if hour.len() == 2 => {
            (hour, &time[4..6], &time[7..])
        }
        [b' ' | b'T', hour @ .., b':', _, _] if hour.len() == 2 => (hour, &time[4..], &b"00"[..]),
        _ => return None,
    };
    let [hour, minute, second] = [figures(hour)?, figures(minute)?, figures(second)?];
    if hour >= 24 || minute >= 60 || second >= 60 {
        return None;
    }
    let day = NaiveDate::from_ymd_opt(figures(year)? as i32, figures(month)?, figures(day)?)?;
    Some(midnight(day) + i64::from(hour * 3600 + minute * 60 + second))
}

/// A number of so few figures that it can't be too large.
fn figures(text: &[u8]) -> Option<u32> {
    text.iter().try_fold(0, |number, byte| {
        let figure = byte.is_ascii_digit().then(|| u32::from(byte - b'0'))?;
        Some(number * 10 + figure)
    })
}

/// Reads a date, a time of day, or both.
pub(super) fn parse_time(text: &str, order: TimeForm) -> Option<ParsedTime> {
    let mut scan = Scan { rest: text.trim() };
    let mut parsed = ParsedTime::default();
    scan.weekday();
    if scan.begins_time() {
        scan.time(&mut parsed)?;
        scan.zone()?;
        return Some(parsed);
    }
    parsed.day = Some(scan.date(order)?);
    scan.skip(&[' ', ',', ';', '\u{a0}', '\u{202f}', '_']);
    if scan.rest.is_empty() {
        return Some(parsed);
    }
    if let Some(after) = scan.rest.strip_prefix(['T', 't']) {
        scan.rest = after;
    } else {
        scan.skip(&['-']);
    }
    scan.time(&mut parsed)?;
    scan.zone()?;
    Some(parsed)
}

struct Scan<'t> {
    rest: &'t str,
}

/// One part of a date.
#[derive(Clone, Copy)]
enum Part {
    Number(u32, usize),
    Month(u32),
}

impl<'t> Scan<'t> {
    fn skip(&mut self, signs: &[char]) {
        self.rest = self.rest.trim_start_matches(signs);
    }

    fn digits(&mut self) -> Option<(u32, usize)> {
        let bytes = self.rest.as_bytes();
        let count = bytes
            .iter()
            .take_while(|byte| byte.is_ascii_digit())
            .count();
        if count == 0 || count > 9 {
            return None;
        }
        let number = bytes[..count]
            .iter()
            .fold(0, |number, byte| number * 10 + u32::from(byte - b'0'));
        self.rest = &self.rest[count..];
        Some((number, count))
    }

    fn letters(&mut self) -> &'t str {
        let end = self
            .rest
            .find(|sign: char| !sign.is_alphabetic())
            .unwrap_or(self.rest.len());
        let (word, rest) = self.rest.split_at(end);
        self.rest = rest;
        word
    }

    /// A weekday at the beginning tells nothing that the date doesn't.
    fn weekday(&mut self) {
        if !self
            .rest
            .starts_with(|sign: char| sign.is_ascii_alphabetic())
        {
            return;
        }
        let before = self.rest;
        let word = self.letters().to_lowercase();
        let days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
        if word.len() >= 3 && days.iter().any(|day| word.starts_with(day)) {
            self.skip(&[' ', ',', '.']);
        } else {
            self.rest = before;
        }
    }

    fn begins_time(&self) -> bool {
        let mut ahead = Scan { rest: self.rest };
        ahead.digits().is_some_and(|(_, count)| count <= 2) && ahead.rest.starts_with(':')
    }

    fn date(&mut self, order: TimeForm) -> Option<NaiveDate> {
        let first = self.part()?;
        if let Part::Number(number, 8) = first {
            return NaiveDate::from_ymd_opt(
                (number / 10_000) as i32,
                number / 100 % 100,
                number % 100,
            );
        }
        self.between()?;
        let second = self.part()?;
        self.between()?;
        let third = self.part()?;
        let (year, month, day) = match (first, second, third) {
            (Part::Number(day, days), Part::Month(month), Part::Number(year, years)) => {
                // 5-Jan-2026, 2026-Jan-05, 05-Jan-26; 26-Jan-05 only where the year is known to come first.
                if days == 4 || (years != 4 && order == TimeForm::YearMonthDay) {
                    ((day, days), month, year)
                } else {
                    ((year, years), month, day)
                }
            }
            (Part::Month(month), Part::Number(day, _), Part::Number(year, years)) => {
                ((year, years), month, day)
            }
            (Part::Number(one, ones), Part::Number(two, _), Part::Number(three, threes)) => {
                match order {
                    _ if ones == 4 => ((one, ones), two, three),
                    TimeForm::DayMonthYear => ((three, threes), two, one),
                    TimeForm::MonthDayYear => ((three, threes), one, two),
                    _ if threes == 4 => return None,
                    _ => ((one, ones), two, three),
                }
            }
            _ => return None,
        };
        let year = match year {
            (year, 4) => year,
            (year, 2) if year < 70 => 2000 + year,
            (year, 2) => 1900 + year,
            _ => return None,
        };
        NaiveDate::from_ymd_opt(year as i32, month, day)
    }

    fn part(&mut self) -> Option<Part> {
        if let Some((number, count)) = self.digits() {
            return Some(Part::Number(number, count));
        }
        let word = self.letters();
        let name: String = word.chars().take(3).flat_map(char::to_lowercase).collect();
        let months = [
            "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
        ];
        let nth = months.iter().position(|month| *month == name)?;
        Some(Part::Month(nth as u32 + 1))
    }

    /// What stands between the parts of a date: one of `-/.` or a space or comma, and spaces about it.
    fn between(&mut self) -> Option<()> {
        let before = self.rest.len();
        self.rest = self.rest.trim_start_matches([' ', '\u{a0}', ',']);
        self.rest = self.rest.strip_prefix(['-', '/', '.']).unwrap_or(self.rest);
        self.rest = self.rest.trim_start_matches([' ', '\u{a0}']);
        // Between a number and the name of a month nothing need stand.
        let named = self.rest.starts_with(char::is_alphabetic);
        (self.rest.len() < before || named).then_some(())
    }

    fn time(&mut self, parsed: &mut ParsedTime) -> Option<()> {
        let (first, count) = self.digits()?;
        let (hour, minute, second) = match count {
            1 | 2 => {
                if !self.step(&[':', '.', 'h']) {
                    return None;
                }
                let (minute, 2) = self.digits()? else {
                    return None;
                };
                let mut second = 0;
                let before = self.rest;
                if self.step(&[':', '.']) {
                    match self.digits() {
                        Some((seconds, 2)) => second = seconds,
                        _ => self.rest = before,
                    }
                }
                (first, minute, second)
            }
            4 => (first / 100, first % 100, 0),
            6 => (first / 10_000, first / 100 % 100, first % 100),
            _ => return None,
        };
        // Parts of a second are read over.
        if self.step(&['.', ',']) {
            self.digits()?;
        }
        let half = self.half_day();
        parsed.half_day = half.is_some();
        let hour = match (half, hour) {
            (Some(false), 12) => 0,
            (Some(true), 1..=11) => hour + 12,
            (Some(false), 13..) => return None,
            _ => hour,
        };
        let second = hour * 3600 + minute * 60 + second;
        let fits = minute < 60 && second % 60 < 60 && second <= 86_400;
        parsed.second = Some(second).filter(|_| fits);
        fits.then_some(())
    }

    fn step(&mut self, signs: &[char]) -> bool {
        match self.rest.strip_prefix(signs) {
            Some(rest) => {
                self.rest = rest;
                true
            }
            None => false,
        }
    }

    /// Whether it says after noon (true) or before (false).
    fn half_day(&mut self) -> Option<bool> {
        let rest = self.rest.trim_start_matches([' ', '\u{a0}', '\u{202f}']);
        let after_noon = match rest.as_bytes().first()? {
            b'a' | b'A' => false,
            b'p' | b'P' => true,
            _ => return None,
        };
        let rest = rest[1..].strip_prefix('.').unwrap_or(&rest[1..]);
        let rest = rest.strip_prefix(['m', 'M'])?;
        self.rest = rest.strip_prefix('.').unwrap_or(rest);
        Some(after_noon)
    }

    /// A zone or an offset, read over; nothing else may follow.
    fn zone(&mut self) -> Option<()> {
        let rest = self.rest.trim();
        let zone = rest.len() <= 12
            && rest.chars().all(|sign| {
                sign.is_ascii_alphanumeric() || matches!(sign, '+' | '-' | '\u{2212}' | ':' | ' ')
            });
        let begins = rest.is_empty()
            || rest.starts_with(|sign: char| {
                sign.is_ascii_uppercase() || matches!(sign, '+' | '-' | '\u{2212}')
            });
        (zone && begins).then_some(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_plain_moment_is_read_as_any_other(
            text in "(20[0-9][0-9][-/.][0-3][0-9][-/.][0-3][0-9]|[0-3][0-9][-/.][0-3][0-9][-/.]20[0-9][0-9])[ T][0-2][0-9]:[0-6][0-9](:[0-6][0-9])?",
            slip in proptest::option::weighted(0.3, (0_usize..19, "[0-9 :T.é-]")),
        ) {
            let text = match slip {
                Some((at, sign)) => {
                    let kept: String = text.chars().take(at).collect();
                    let after: String = text.chars().skip(at + 1).collect();
                    format!("{kept}{sign}{after}")
                }
                None => text,
            };
            for form in [TimeForm::YearMonthDay, TimeForm::DayMonthYear, TimeForm::MonthDayYear] {
                if let Some(quickly) = plain(text.as_bytes(), form) {
                    let parsed = parse_time(&text, form).unwrap();
                    prop_assert_eq!(
                        quickly,
                        midnight(parsed.day.unwrap()) + i64::from(parsed.second.unwrap()),
                        "{} as {:?}", text, form
                    );
                }
            }
        }

        #[test]
        fn a_moment_with_all_its_zeros_is_plain(at in 0_i64..4_000_000_000) {
            let moment = chrono::DateTime::from_timestamp(at, 0).unwrap().naive_utc();
            for (format, form) in [
                ("%Y-%m-%d %H:%M:%S", TimeForm::YearMonthDay),
                ("%Y/%m/%dT%H:%M:%S", TimeForm::DayMonthYear),
                ("%d.%m.%Y %H:%M:%S", TimeForm::DayMonthYear),
                ("%m/%d/%Y %H:%M:%S", TimeForm::MonthDayYear),
            ] {
                let text = moment.format(format).to_string();
                prop_assert_eq!(plain(text.as_bytes(), form), Some(at), "{}", text);
            }
        }
    }

    fn iso(text: &str, form: TimeForm) -> Option<String> {
        let seconds = read(text, form)?;
        Some(
            chrono::DateTime::from_timestamp(seconds, 0)?
                .naive_utc()
                .to_string(),
        )
    }

    #[test]
    fn a_moment_in_every_dress() {
        use TimeForm::{DayMonthYear, MonthDayYear, SpreadsheetDays, UnixSeconds, YearMonthDay};
        for (text, form, expected) in [
            ("2026-01-05 08:00", YearMonthDay, "2026-01-05 08:00:00"),
            (
                "2026-01-05T08:00:30.250Z",
                YearMonthDay,
                "2026-01-05 08:00:30",
            ),
            (
                "2026-01-05T08:00:30+01:00",
                YearMonthDay,
                "2026-01-05 08:00:30",
            ),
            ("20260105T0800", YearMonthDay, "2026-01-05 08:00:00"),
            ("20260105 080015", YearMonthDay, "2026-01-05 08:00:15"),
            ("2026/1/5 8:00", DayMonthYear, "2026-01-05 08:00:00"),
            ("26-01-05 08:00", YearMonthDay, "2026-01-05 08:00:00"),
            ("05.01.2026 08:00", DayMonthYear, "2026-01-05 08:00:00"),
            ("05.01.26 08.00.10", DayMonthYear, "2026-01-05 08:00:10"),
            ("5/1/2026 8:00:00 p.m.", DayMonthYear, "2026-01-05 20:00:00"),
            ("1/5/2026 12:30 AM", MonthDayYear, "2026-01-05 00:30:00"),
            ("1/5/2026 12:30 PM", MonthDayYear, "2026-01-05 12:30:00"),
            ("01/05/26 01:02:03 PM", MonthDayYear, "2026-01-05 13:02:03"),
            ("5-Jan-2026 08:00", MonthDayYear, "2026-01-05 08:00:00"),
            ("Mon, Jan 5, 2026 8:00", DayMonthYear, "2026-01-05 08:00:00"),
            ("2026-Jan-05 08:00 CET", YearMonthDay, "2026-01-05 08:00:00"),
            ("31.12.2025 24:00", DayMonthYear, "2026-01-01 00:00:00"),
            // 1,767,600,000 s are 2026-01-05 08:00 UTC; spreadsheet day 46,027 is 2026-01-05. Recomputed by hand:
            // 20,458 days since 1970 times 86,400, and 25,569 + 20,458.
            ("1767600000", UnixSeconds, "2026-01-05 08:00:00"),
            ("1767600000000", UnixSeconds, "2026-01-05 08:00:00"),
            ("46027,3333333333", SpreadsheetDays, "2026-01-05 08:00:00"),
        ] {
            assert_eq!(iso(text, form).as_deref(), Some(expected), "{text}");
        }
    }

    #[test]
    fn what_is_no_moment_is_none() {
        use TimeForm::{DayMonthYear, MonthDayYear, UnixSeconds, YearMonthDay};
        for (text, form) in [
            ("", YearMonthDay),
            ("3.5", DayMonthYear),
            ("08:00", YearMonthDay),
            ("2026-02-30 08:00", YearMonthDay),
            ("2026-01-05 25:00", YearMonthDay),
            ("2026-01-05 08:60", YearMonthDay),
            ("2026-01-05 13:00 AM", YearMonthDay),
            ("13/01/2026 08:00", MonthDayYear),
            ("05.01.2026 08:00", YearMonthDay),
            ("2026-01-05 08:00 and more words", YearMonthDay),
            ("Total", YearMonthDay),
            ("-5", UnixSeconds),
            ("1e300", UnixSeconds),
            ("é5", DayMonthYear),
        ] {
            assert_eq!(read(text, form), None, "{text}");
        }
    }
}
