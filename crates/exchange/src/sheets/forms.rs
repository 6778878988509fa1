//! Numbers and dates as people write them.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// What separates the whole from its parts in a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Decimal {
    /// 1,234.5
    Point,
    /// 1.234,5
    Comma,
}

/// In which order day, month and year stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum DateOrder {
    /// 31/12/2026
    DayFirst,
    /// 12/31/2026
    MonthFirst,
}

/// What a text says as a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum ReadNumber {
    /// It is one, however it is read; with the decimal mark that it shows.
    Certain(f64, Option<Decimal>),
    /// `1,234` or `1.234`: read with a point as decimal mark, and with a comma.
    Either(f64, f64),
    /// It is none.
    None,
}

/// Reads a number: thousands parted by spaces, apostrophes, commas or points.
pub(super) fn number(text: &str) -> ReadNumber {
    let text = text.trim();
    let (sign, digits) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    let (mantissa, exponent) = match digits.find(['e', 'E']) {
        Some(at) => match digits[at + 1..].parse::<i32>() {
            Ok(exponent) if at > 0 && exponent.abs() < 300 => (&digits[..at], exponent),
            _ => return ReadNumber::None,
        },
        None => (digits, 0),
    };
    let mut groups: Vec<(Option<char>, String)> = vec![(None, String::new())];
    for c in mantissa.chars() {
        match c {
            '0'..='9' => {
                if let Some((_, group)) = groups.last_mut() {
                    group.push(c);
                }
            }
            ',' | '.' => groups.push((Some(c), String::new())),
            ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' | '\'' | '\u{2019}' => {
                groups.push((Some(' '), String::new()));
            }
            _ => return ReadNumber::None,
        }
    }
    let marks: Vec<char> = groups.iter().filter_map(|(mark, _)| *mark).collect();
    let count = |mark: char| marks.iter().filter(|each| **each == mark).count();
    let whole = |places: &[(Option<char>, String)]| {
        let first = places.first().map_or("", |(_, group)| group);
        let grouped = places.len() < 2 || (1..=3).contains(&first.len());
        (grouped && places[1..].iter().all(|(_, group)| group.len() == 3)).then(|| {
            places
                .iter()
                .map(|(_, group)| group.as_str())
                .collect::<String>()
        })
    };
    let value = |whole: &str, part: &str| {
        let text = format!(
            "{}.{}e{exponent}",
            if whole.is_empty() { "0" } else { whole },
            if part.is_empty() { "0" } else { part }
        );
        text.parse::<f64>().ok().map(|number| sign * number)
    };
    if groups.iter().all(|(_, group)| group.is_empty()) {
        return ReadNumber::None;
    }
    let decimal = |mark: char| {
        let (last, before) = groups.split_last()?;
        if last.0 != Some(mark) || count(mark) != 1 {
            return None;
        }
        let decimal = if mark == ',' {
            Decimal::Comma
        } else {
            Decimal::Point
        };
        let whole = if before.len() == 1 {
            before[0].1.clone()
        } else {
            whole(before)?
        };
        Some((value(&whole, &last.1)?, decimal))
    };
    let (commas, points) = (count(','), count('.'));
    if commas == 0 && points == 0 {
        return match whole(&groups).and_then(|whole| value(&whole, "")) {
            Some(number) => ReadNumber::Certain(number, None),
            None => ReadNumber::None,
        };
    }
    let as_decimal = decimal('.').or_else(|| decimal(','));
    // One kind of mark only, and three digits after each: thousands are possible.
    let as_whole = if (commas == 0 || points == 0) && count(' ') == 0 {
        whole(&groups)
            .filter(|whole| !whole.starts_with('0'))
            .and_then(|whole| value(&whole, ""))
    } else {
        None
    };
    match (as_decimal, as_whole) {
        (Some((part, Decimal::Point)), Some(thousands)) => ReadNumber::Either(part, thousands),
        (Some((part, Decimal::Comma)), Some(thousands)) => ReadNumber::Either(thousands, part),
        (Some((number, decimal)), None) => ReadNumber::Certain(number, Some(decimal)),
        (None, Some(number)) => ReadNumber::Certain(
            number,
            Some(if commas > 0 {
                Decimal::Point
            } else {
                Decimal::Comma
            }),
        ),
        (None, None) => ReadNumber::None,
    }
}

/// What a text says as a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ReadDate {
    /// It is one, however it is read; with the order that it shows.
    Certain(NaiveDate, Option<DateOrder>),
    /// Day and month could change places: read with the day first, and with the month first.
    Either(NaiveDate, NaiveDate),
    /// It is none.
    None,
}

const MONTHS: [&[&str]; 12] = [
    &[
        "january", "jan", "januar", "janvier", "janv", "ledna", "leden",
    ],
    &[
        "february", "feb", "februar", "février", "févr", "února", "únor",
    ],
    &["march", "mar", "märz", "mrz", "mars", "března", "březen"],
    &["april", "apr", "avril", "avr", "dubna", "duben"],
    &["may", "mai", "května", "květen"],
    &["june", "jun", "juni", "juin", "června", "červen"],
    &[
        "july",
        "jul",
        "juli",
        "juillet",
        "juil",
        "července",
        "červenec",
    ],
    &["august", "aug", "août", "srpna", "srpen"],
    &["september", "sep", "sept", "septembre", "září"],
    &[
        "october", "oct", "oktober", "okt", "octobre", "října", "říjen",
    ],
    &["november", "nov", "novembre", "listopadu", "listopad"],
    &[
        "december",
        "dec",
        "dezember",
        "dez",
        "décembre",
        "déc",
        "prosince",
        "prosinec",
    ],
];

/// Reads a day, with or without a time of the day behind it.
pub(super) fn date(text: &str) -> ReadDate {
    let text = text.trim();
    // A time of the day stands behind a space or a T.
    let bare = match text.find(':') {
        Some(colon) => {
            let cut = text[..colon].rfind(['T', 't', ' ']);
            match cut {
                Some(cut) => text[..cut].trim_end(),
                None => return ReadDate::None,
            }
        }
        None => text,
    };
    let words: Vec<&str> = bare
        .split(['-', '/', '.', ' ', ',', '\u{a0}'])
        .filter(|word| !word.is_empty())
        .collect();
    let [one, two, three] = words[..] else {
        return ReadDate::None;
    };
    let month = |word: &str| {
        let word = word.to_lowercase();
        let place = MONTHS
            .iter()
            .position(|names| names.contains(&word.as_str()));
        place.map(|place| place as u32 + 1)
    };
    let digits = |word: &str| -> Option<u32> {
        let bare = word.trim_end_matches("th").trim_end_matches("st");
        let bare = bare.trim_end_matches("nd").trim_end_matches("rd");
        let plain = (1..=4).contains(&bare.len()) && bare.bytes().all(|b| b.is_ascii_digit());
        plain.then(|| bare.parse().ok()).flatten()
    };
    let year = |word: &str| {
        let year = digits(word)? as i32;
        match word.len() {
            4 => Some(year),
            // Years of two digits: those of a breeder's life.
            2 => Some(if year < 70 { 2000 + year } else { 1900 + year }),
            _ => None,
        }
    };
    let certain = |year: Option<i32>, month: Option<u32>, day: Option<u32>, order| {
        let made = || NaiveDate::from_ymd_opt(year?, month?, day?);
        made().map_or(ReadDate::None, |date| ReadDate::Certain(date, order))
    };
    if let Some(named) = month(two) {
        return match one.len() {
            4 => certain(year(one), Some(named), digits(three), None),
            _ => certain(year(three), Some(named), digits(one), None),
        };
    }
    if let Some(named) = month(one) {
        return certain(year(three), Some(named), digits(two), None);
    }
    if one.len() == 4 {
        return certain(year(one), digits(two), digits(three), None);
    }
    let day_first = digits(two).zip(digits(one));
    let made = |pair: Option<(u32, u32)>| {
        let (month, day) = pair?;
        NaiveDate::from_ymd_opt(year(three)?, month, day)
    };
    let (first, second) = (made(day_first), made(day_first.map(|(a, b)| (b, a))));
    // Points part the day from the month, and never the other way round.
    if bare.contains('.') {
        return first.map_or(ReadDate::None, |date| {
            ReadDate::Certain(date, Some(DateOrder::DayFirst))
        });
    }
    match (first, second) {
        (Some(date), Some(other)) if date == other => ReadDate::Certain(date, None),
        (Some(day_first), Some(month_first)) => ReadDate::Either(day_first, month_first),
        (Some(date), None) => ReadDate::Certain(date, Some(DateOrder::DayFirst)),
        (None, Some(date)) => ReadDate::Certain(date, Some(DateOrder::MonthFirst)),
        (None, None) => ReadDate::None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn numbers_as_they_are_written_about_the_world() {
        use Decimal::{Comma, Point};
        for (text, number_read, decimal) in [
            ("1234.5", 1234.5, Some(Point)),
            ("1,234.5", 1234.5, Some(Point)),
            ("1.234,5", 1234.5, Some(Comma)),
            ("1 234,5", 1234.5, Some(Comma)),
            ("1\u{202f}234,5", 1234.5, Some(Comma)),
            ("1'234.50", 1234.5, Some(Point)),
            ("12,34,", f64::NAN, None),
            ("1,234,567", 1_234_567.0, Some(Point)),
            ("1.234.567", 1_234_567.0, Some(Comma)),
            (",5", 0.5, Some(Comma)),
            ("0,125", 0.125, Some(Comma)),
            ("\u{2212}3,5", -3.5, Some(Comma)),
            ("1e-7", 1e-7, None),
            ("5.", 5.0, Some(Point)),
            ("42", 42.0, None),
            ("1234,567", 1234.567, Some(Comma)),
        ] {
            match number(text) {
                ReadNumber::Certain(found, shown) => {
                    assert_eq!((found, shown), (number_read, decimal), "{text}");
                }
                ReadNumber::None => assert!(number_read.is_nan(), "{text}"),
                ReadNumber::Either(..) => panic!("{text}"),
            }
        }
        assert_eq!(number("1,234"), ReadNumber::Either(1234.0, 1.234));
        assert_eq!(number("1.234"), ReadNumber::Either(1.234, 1234.0));
        for text in ["", "abc", "1,23,4.5", "1..2", "-", "1 2", ".", "12a", "e5"] {
            assert_eq!(number(text), ReadNumber::None, "{text}");
        }
    }

    #[test]
    fn dates_as_they_are_written_about_the_world() {
        use DateOrder::{DayFirst, MonthFirst};
        for (text, date_read, order) in [
            ("2026-09-04", "2026-09-04", None),
            ("2026-09-04T13:05:00", "2026-09-04", None),
            ("4.9.2026", "2026-09-04", Some(DayFirst)),
            ("31/12/26 08:15", "2026-12-31", Some(DayFirst)),
            ("12/31/2026", "2026-12-31", Some(MonthFirst)),
            ("4 September 2026", "2026-09-04", None),
            ("Sep 4, 2026", "2026-09-04", None),
            ("September 4th, 2026", "2026-09-04", None),
            ("4. Okt 26", "2026-10-04", None),
            ("4. září 2026", "2026-09-04", None),
            ("04-Sep-1998", "1998-09-04", None),
            ("04-Sep-98", "1998-09-04", None),
            ("5/5/26", "2026-05-05", None),
            ("2026/9/4", "2026-09-04", None),
        ] {
            assert_eq!(
                date(text),
                ReadDate::Certain(day(date_read), order),
                "{text}"
            );
        }
        assert_eq!(
            date("03/04/05"),
            ReadDate::Either(day("2005-04-03"), day("2005-03-04"))
        );
        for text in [
            "",
            "2026-13-01",
            "31.2.2026",
            "12",
            "yesterday",
            "1/2",
            "5:30",
            "1/2/3",
        ] {
            assert_eq!(date(text), ReadDate::None, "{text}");
        }
    }
}
