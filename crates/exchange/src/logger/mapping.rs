//! How the text of a file becomes times and temperatures.

use serde::{Deserialize, Serialize};

/// How the lines of a file are to be read. Columns count from 0.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mapping {
    /// How its bytes are letters.
    pub encoding: Encoding,
    /// What separates its fields.
    pub separator: Separator,
    /// Lines before the first row; `None` takes all lines before the first that can be read, at most
    /// [`Self::LONGEST_HEADER`].
    pub header_lines: Option<u64>,
    /// The column of the date, or of date and time.
    pub date: usize,
    /// The column of the time, where it has one of its own.
    pub time: Option<usize>,
    /// How times are written.
    pub form: TimeForm,
    /// The column of the temperature.
    pub temperature: usize,
    /// Whether commas are decimal signs as well as separators: the field after the temperature is then its decimals.
    #[serde(default)]
    pub decimal_comma: bool,
    /// Its unit, where the field itself doesn't say.
    pub unit: Unit,
    /// Whether the clock went over to summer time and back by itself: its readings are then put on standard time,
    /// the one most of the file was written by.
    pub summer_time: bool,
}

impl Mapping {
    /// The longest header taken without a word.
    pub const LONGEST_HEADER: u64 = 200;
}

/// How bytes are letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Encoding {
    /// UTF-8, and with it plain ASCII.
    Utf8,
    /// UTF-16, low byte first.
    Utf16Le,
    /// UTF-16, high byte first.
    Utf16Be,
    /// Windows-1252, and with it Latin-1.
    Western,
}

impl Encoding {
    /// Every encoding.
    pub const ALL: [Self; 4] = [Self::Utf8, Self::Utf16Le, Self::Utf16Be, Self::Western];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Utf8 => "UTF-8",
            Self::Utf16Le => "UTF-16, low byte first",
            Self::Utf16Be => "UTF-16, high byte first",
            Self::Western => "Latin-1 or Windows-1252",
        }
    }
}

/// What separates fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "each says what it is")]
pub enum Separator {
    Comma,
    Semicolon,
    Tab,
    Bar,
    /// One space or several, and tabs.
    Spaces,
}

impl Separator {
    /// Every separator.
    pub const ALL: [Self; 5] = [
        Self::Comma,
        Self::Semicolon,
        Self::Tab,
        Self::Bar,
        Self::Spaces,
    ];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Comma => "comma",
            Self::Semicolon => "semicolon",
            Self::Tab => "tab",
            Self::Bar => "bar",
            Self::Spaces => "spaces",
        }
    }

    /// The one byte that separates; `None` where several may.
    pub(super) const fn byte(self) -> Option<u8> {
        match self {
            Self::Comma => Some(b','),
            Self::Semicolon => Some(b';'),
            Self::Tab => Some(b'\t'),
            Self::Bar => Some(b'|'),
            Self::Spaces => None,
        }
    }
}

/// How times are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TimeForm {
    /// Year, month, day, as in ISO 8601; a time of 12 or 24 hours.
    YearMonthDay,
    /// Day, month, year.
    DayMonthYear,
    /// Month, day, year.
    MonthDayYear,
    /// Seconds since 1970-01-01 00:00.
    UnixSeconds,
    /// Days since 1899-12-30, as spreadsheets count them.
    SpreadsheetDays,
}

impl TimeForm {
    /// Every form.
    pub const ALL: [Self; 5] = [
        Self::YearMonthDay,
        Self::DayMonthYear,
        Self::MonthDayYear,
        Self::UnixSeconds,
        Self::SpreadsheetDays,
    ];

    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::YearMonthDay => "year, month, day",
            Self::DayMonthYear => "day, month, year",
            Self::MonthDayYear => "month, day, year",
            Self::UnixSeconds => "seconds since 1970",
            Self::SpreadsheetDays => "spreadsheet days",
        }
    }
}

/// The unit of temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "each says what it is")]
pub enum Unit {
    Celsius,
    Fahrenheit,
}

impl Unit {
    /// Its sign.
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
        }
    }

    /// A temperature of this unit in °C.
    pub(super) fn to_celsius(self, degrees: f64) -> f64 {
        match self {
            Self::Celsius => degrees,
            Self::Fahrenheit => (degrees - 32.0) * 5.0 / 9.0,
        }
    }
}
