//! Dates as people type and read them. Pure functions; today is handed in.

use chrono::{Datelike as _, Days, NaiveDate, Weekday};
use egui::{Context, Id};

/// The order in which people of a place write day and month in figures.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DayOrder {
    /// 5/9/2026 is the fifth of September.
    #[default]
    DayFirst,
    /// 5/9/2026 is the ninth of May.
    MonthFirst,
}

impl DayOrder {
    /// The order of a locale, such as 'en_US.UTF-8' or 'en-US'. Month first is written in the United States and in
    /// places that follow them (Unicode CLDR, short dates of en-US, en-PH, es-PA, es-PR, en-AS, en-GU, en-VI).
    pub fn of_locale(locale: &str) -> Self {
        let place = locale
            .split(['.', '@'])
            .next()
            .unwrap_or_default()
            .split(['_', '-'])
            .nth(1)
            .unwrap_or_default();
        match place.to_ascii_uppercase().as_str() {
            "US" | "PH" | "PA" | "PR" | "AS" | "GU" | "VI" => Self::MonthFirst,
            _ => Self::DayFirst,
        }
    }

    /// The order that fields of this window read dates by.
    pub fn of(ctx: &Context) -> Self {
        ctx.data(|data| data.get_temp(Id::NULL.with("order of day and month")))
            .unwrap_or_default()
    }

    /// Fields of this window read dates by this order.
    pub fn install(self, ctx: &Context) {
        ctx.data_mut(|data| data.insert_temp(Id::NULL.with("order of day and month"), self));
    }
}

/// A day as it is shown everywhere: '5 Sep 2026'.
pub fn day(date: NaiveDate) -> String {
    date.format("%-d %b %Y").to_string()
}

/// A day with its weekday, as it is said back to whoever typed it: 'Sat 5 Sep 2026'.
pub fn weekday_and_day(date: NaiveDate) -> String {
    date.format("%a %-d %b %Y").to_string()
}

/// A day on a button: 'today', or '5 Sep', with its year if that is another one.
pub fn on_button(date: NaiveDate, today: NaiveDate) -> String {
    if date == today {
        "today".into()
    } else if date.year() == today.year() {
        date.format("%-d %b").to_string()
    } else {
        day(date)
    }
}

/// Reads a date as people type it: `5 sep`, `sep 5 2026`, `5.9.`, `2026-09-05`, `20260905`, `11/20/2026`, `today`,
/// `yesterday`, `tomorrow`, `sat` (the last one), `-3` and `+3` (days from today).
///
/// Without a year it is the one nearest to today. Figures are read by `order` where both orders are possible. The
/// error is a sentence that says what is wrong and what to type.
pub fn read(text: &str, today: NaiveDate, order: DayOrder) -> Result<NaiveDate, String> {
    let how = format!("Type a date such as {} or 'yesterday'.", day(today));
    let text = text.trim();
    if text.is_empty() {
        return Err(how);
    }
    let not_a_date = || format!("'{text}' is not a date. {how}");
    let lower = text.to_lowercase();
    if let Some(date) = word(&lower, today) {
        return Ok(date);
    }
    if let Some(days) = signed_days(&lower) {
        return shift(today, days).ok_or_else(not_a_date);
    }
    if lower.len() == 8 && lower.bytes().all(|byte| byte.is_ascii_digit()) {
        let number = |range: std::ops::Range<usize>| lower[range].parse::<u32>().ok();
        let parts = (number(0..4), number(4..6), number(6..8));
        let (Some(year), Some(month), Some(day)) = parts else {
            return Err(not_a_date());
        };
        return dated(year as i32, month, day);
    }
    let mut parts: Vec<Part> = Vec::new();
    for piece in pieces(&lower) {
        if piece == "of" || piece == "the" || weekday(&piece).is_some() {
            continue;
        }
        parts.push(Part::of(&piece).ok_or_else(not_a_date)?);
    }
    use Part::{Month, Number};
    match parts.as_slice() {
        [Number(d, _), Month(m)] | [Month(m), Number(d, _)] => nearest(*m, *d, today),
        [Number(y, 4), Month(m) | Number(m, _), Number(d, _)] => dated(*y as i32, *m, *d),
        [Number(d, _), Month(m), Number(y, digits)]
        | [Month(m), Number(d, _), Number(y, digits)] => {
            dated(year_of(*y, *digits, today).ok_or_else(not_a_date)?, *m, *d)
        }
        [Number(a, _), Number(b, _)] => {
            let (d, m) = day_and_month(*a, *b, order);
            nearest(m, d, today)
        }
        [Number(a, 1..=2), Number(b, 1..=2), Number(y, digits)] => {
            let (d, m) = day_and_month(*a, *b, order);
            dated(year_of(*y, *digits, today).ok_or_else(not_a_date)?, m, d)
        }
        _ => Err(not_a_date()),
    }
}

/// A part of a typed date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    /// A number and how many digits it was typed with.
    Number(u32, usize),
    Month(u32),
}

impl Part {
    fn of(piece: &str) -> Option<Self> {
        let digits = piece.bytes().take_while(u8::is_ascii_digit).count();
        if digits > 0 {
            let number = piece[..digits].parse().ok()?;
            let rest = &piece[digits..];
            let plain = rest.is_empty() || ["st", "nd", "rd", "th"].contains(&rest);
            return (plain && digits <= 4).then_some(Self::Number(number, digits));
        }
        month(piece).map(Self::Month)
    }
}

/// The pieces of a date: '5sep' is two.
fn pieces(text: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for rough in text.split(|sign: char| sign.is_whitespace() || "-/.,".contains(sign)) {
        let mut piece = String::new();
        for sign in rough.chars() {
            let turns = piece
                .chars()
                .last()
                .is_some_and(|last| last.is_ascii_digit() != sign.is_ascii_digit());
            let ordinal = ["st", "nd", "rd", "th"]
                .iter()
                .any(|ending| rough.ends_with(ending) && !sign.is_ascii_digit())
                && rough.len() <= 4;
            if turns && !ordinal {
                all.push(std::mem::take(&mut piece));
            }
            piece.push(sign);
        }
        if !piece.is_empty() {
            all.push(piece);
        }
    }
    all
}

/// The month whose name begins with these letters, three at least.
fn month(letters: &str) -> Option<u32> {
    const NAMES: [&str; 12] = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ];
    if letters == "sept" {
        return Some(9);
    }
    let at = NAMES
        .iter()
        .position(|name| letters.len() >= 3 && name.starts_with(letters))?;
    u32::try_from(at + 1).ok()
}

fn weekday(letters: &str) -> Option<Weekday> {
    const NAMES: [(&str, Weekday); 7] = [
        ("monday", Weekday::Mon),
        ("tuesday", Weekday::Tue),
        ("wednesday", Weekday::Wed),
        ("thursday", Weekday::Thu),
        ("friday", Weekday::Fri),
        ("saturday", Weekday::Sat),
        ("sunday", Weekday::Sun),
    ];
    let found = |(name, _): &&(&str, Weekday)| letters.len() >= 3 && name.starts_with(letters);
    NAMES.iter().find(found).map(|(_, day)| *day)
}

/// Days that have a word.
fn word(text: &str, today: NaiveDate) -> Option<NaiveDate> {
    match text {
        "today" | "t" | "now" => Some(today),
        "yesterday" | "y" => shift(today, -1),
        "tomorrow" => shift(today, 1),
        _ => {
            let back = today.weekday().days_since(weekday(text)?);
            shift(today, -i64::from(back))
        }
    }
}

/// `-3`, `+3`, with a minus of any kind.
fn signed_days(text: &str) -> Option<i64> {
    let (sign, rest) = if let Some(rest) = text.strip_prefix(['-', '\u{2212}', '\u{2013}']) {
        (-1, rest)
    } else {
        (1, text.strip_prefix('+')?)
    };
    let rest = rest.trim();
    let digits =
        rest.len() <= 4 && !rest.is_empty() && rest.bytes().all(|byte| byte.is_ascii_digit());
    let days: i64 = digits.then(|| rest.parse().ok())??;
    Some(sign * days)
}

fn shift(date: NaiveDate, by: i64) -> Option<NaiveDate> {
    let days = Days::new(by.unsigned_abs());
    if by < 0 {
        date.checked_sub_days(days)
    } else {
        date.checked_add_days(days)
    }
}

/// Which of two numbers is the day: the one that can't be a month, else by the order.
const fn day_and_month(a: u32, b: u32, order: DayOrder) -> (u32, u32) {
    if a > 12 {
        (a, b)
    } else if b > 12 {
        (b, a)
    } else {
        match order {
            DayOrder::DayFirst => (a, b),
            DayOrder::MonthFirst => (b, a),
        }
    }
}

/// A year of four digits, or of two in this century.
fn year_of(number: u32, digits: usize, today: NaiveDate) -> Option<i32> {
    match digits {
        4 => Some(number as i32),
        2 => Some(today.year() / 100 * 100 + number as i32),
        _ => None,
    }
}

fn dated(year: i32, month: u32, of_month: u32) -> Result<NaiveDate, String> {
    if !(1000..=9999).contains(&year) {
        return Err(format!("{year} is no year of four digits."));
    }
    let Some(first) = NaiveDate::from_ymd_opt(year, month, 1) else {
        return Err(format!("There is no month {month}."));
    };
    NaiveDate::from_ymd_opt(year, month, of_month).ok_or_else(|| {
        let days = first.num_days_in_month();
        let name = first.format("%B %Y");
        format!("There is no day {of_month} in {name}: it has {days} days.")
    })
}

/// The day of this month and day that is nearest to today.
fn nearest(month: u32, of_month: u32, today: NaiveDate) -> Result<NaiveDate, String> {
    let years = [0, -1, 1, -2, 2, -3, 3, -4, 4].map(|by| today.year() + by);
    let dates = years
        .iter()
        .filter_map(|year| NaiveDate::from_ymd_opt(*year, month, of_month));
    dates
        .min_by_key(|date| (*date - today).num_days().abs())
        .map_or_else(|| dated(today.year(), month, of_month), Ok)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    /// A Wednesday.
    fn today() -> NaiveDate {
        date("2026-11-25")
    }

    #[test]
    fn dates_are_read_as_people_type_them() {
        for (text, expected) in [
            ("5 sep", "2026-09-05"),
            ("5 Sept 2025", "2025-09-05"),
            ("5sep", "2026-09-05"),
            ("Sep 5", "2026-09-05"),
            ("september 5th, 2026", "2026-09-05"),
            ("5th of september", "2026-09-05"),
            ("20 nov", "2026-11-20"),
            ("2 jan", "2027-01-02"),
            ("yesterday", "2026-11-24"),
            ("Today", "2026-11-25"),
            ("t", "2026-11-25"),
            ("tomorrow", "2026-11-26"),
            ("-3", "2026-11-22"),
            ("\u{2212}3", "2026-11-22"),
            ("+10", "2026-12-05"),
            ("sat", "2026-11-21"),
            ("wednesday", "2026-11-25"),
            ("Sat 5 Sep 2026", "2026-09-05"),
            ("20260920", "2026-09-20"),
            ("2026-9-5", "2026-09-05"),
            ("2026/09/05", "2026-09-05"),
            ("2026 sep 5", "2026-09-05"),
            ("11/20/2026", "2026-11-20"),
            ("20/11/2026", "2026-11-20"),
            ("20.11.", "2026-11-20"),
            ("20.11.26", "2026-11-20"),
            ("29 feb", "2028-02-29"),
        ] {
            assert_eq!(
                read(text, today(), DayOrder::DayFirst),
                Ok(date(expected)),
                "{text}"
            );
        }
    }

    #[test]
    fn figures_are_read_by_the_order_of_the_place() {
        let read_as = |order| read("5/9/2026", today(), order).unwrap();
        assert_eq!(read_as(DayOrder::DayFirst), date("2026-09-05"));
        assert_eq!(read_as(DayOrder::MonthFirst), date("2026-05-09"));
        for (locale, expected) in [
            ("en_US.UTF-8", DayOrder::MonthFirst),
            ("en-US", DayOrder::MonthFirst),
            ("en_GB.UTF-8", DayOrder::DayFirst),
            ("de_DE@euro", DayOrder::DayFirst),
            ("C", DayOrder::DayFirst),
            ("", DayOrder::DayFirst),
        ] {
            assert_eq!(DayOrder::of_locale(locale), expected, "{locale}");
        }
    }

    #[test]
    fn what_is_no_date_is_refused_with_what_to_type() {
        for text in [
            "",
            "soon",
            "31 feb",
            "31/02/2026",
            "2026-13-01",
            "5 5 5 5",
            "99999999",
            "1/2/3",
            "5 xyz",
            "-",
            "20261320",
            "0 sep",
            "sep",
            "5 sep 5",
            "\u{65e5}\u{672c}",
            "12345",
        ] {
            let refusal = read(text, today(), DayOrder::DayFirst).unwrap_err();
            assert!(
                refusal.ends_with('.') && refusal.len() > 15,
                "{text}: {refusal}"
            );
        }
    }

    #[test]
    fn what_is_shown_is_read_back_as_the_same_day() {
        let mut each = date("2023-12-30");
        while each < date("2029-01-05") {
            for shown in [
                day(each),
                weekday_and_day(each),
                each.to_string(),
                each.format("%Y%m%d").to_string(),
                each.format("%d/%m/%Y").to_string(),
            ] {
                assert_eq!(
                    read(&shown, today(), DayOrder::DayFirst),
                    Ok(each),
                    "{shown}"
                );
            }
            let american = each.format("%m/%d/%Y").to_string();
            assert_eq!(read(&american, today(), DayOrder::MonthFirst), Ok(each));
            each = each.succ_opt().unwrap();
        }
    }

    #[test]
    fn a_button_says_the_day_in_few_words() {
        assert_eq!(on_button(today(), today()), "today");
        assert_eq!(on_button(date("2026-09-05"), today()), "5 Sep");
        assert_eq!(on_button(date("2025-09-05"), today()), "5 Sep 2025");
    }
}
