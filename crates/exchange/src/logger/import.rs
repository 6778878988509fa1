//! A file read through its mapping, line by line.

use super::clock::{ClockChange, moment, order};
use super::lines::{FileLine, Lines};
use super::mapping::{Mapping, TimeForm};
use super::{degrees, fields, when};
use chrono::NaiveDateTime;
use std::fmt;
use std::io::{self, Read};
use std::ops::Range;

/// A temperature at a moment of the local clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reading {
    /// Seconds on the local clock since 1970-01-01 00:00:00.
    pub at: i64,
    /// Hundredths of a degree Celsius.
    pub hundredths: i16,
}

impl Reading {
    /// Its moment.
    pub fn moment(self) -> NaiveDateTime {
        moment(self.at)
    }
}

/// A line that could not be read: kept out, and named.
#[derive(Debug, Clone, PartialEq)]
pub struct BadRow {
    /// The line, from 1.
    pub line: u64,
    pub(super) fault: Fault,
}

/// Why a line could not be read.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Fault {
    TooLong,
    TooFewFields { found: usize, wanted: usize },
    NoTime(Box<str>),
    NoTemperature(Box<str>),
    Empty,
    OutOfBounds(Box<str>),
    LostTime(NaiveDateTime),
}

impl fmt::Display for BadRow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.why())
    }
}

impl BadRow {
    /// Why it could not be read, as a sentence.
    pub fn why(&self) -> String {
        match &self.fault {
            Fault::TooLong => "it is longer than any line of a logger.".into(),
            Fault::TooFewFields { found, wanted } => {
                format!("it has {found} fields, and {wanted} are wanted.")
            }
            Fault::NoTime(text) => format!("'{text}' is no time of this form."),
            Fault::NoTemperature(text) => format!("'{text}' is no temperature."),
            Fault::Empty => "it has no temperature.".into(),
            Fault::OutOfBounds(text) => {
                format!("'{text}' is out of all bounds: a broken or loose sensor, or another unit.")
            }
            Fault::LostTime(shown) => format!(
                "it says {shown}: the clock had lost its time, and when it was taken isn't known."
            ),
        }
    }
}

/// A line whose time stands on an earlier line of the file: left out, and reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Duplicate {
    /// The line, from 1.
    pub line: u64,
    /// The line that stays.
    pub of_line: u64,
    /// Whether both tell the same temperature.
    pub same_temperature: bool,
}

impl fmt::Display for Duplicate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let temperature = if self.same_temperature {
            "the same"
        } else {
            "another"
        };
        write!(
            f,
            "line {}: the moment of line {}, {temperature} temperature.",
            self.line, self.of_line
        )
    }
}

/// What a file held.
///
/// `lines` is the sum of `header_lines`, `blank_lines` and the numbers of readings, bad rows and duplicates.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Import {
    /// The readings, in the order of time, one at a moment.
    pub readings: Vec<Reading>,
    /// Lines that could not be read.
    pub bad: Vec<BadRow>,
    /// Lines whose time stands on an earlier line.
    pub duplicates: Vec<Duplicate>,
    /// Where the clock was changed.
    pub clock_changes: Vec<ClockChange>,
    /// Lines before the first row.
    pub header_lines: u64,
    /// Empty lines, those of the header left out.
    pub blank_lines: u64,
    /// All lines.
    pub lines: u64,
    /// Whether the file tells the latest reading first.
    pub latest_first: bool,
}

/// A row that could be read.
#[derive(Clone, Copy)]
pub(super) struct LoggerRow {
    pub(super) line: u64,
    pub(super) at: i64,
    pub(super) hundredths: i16,
}

/// `heard` is told how many lines are behind every so many lines; once it answers false the reading ends.
const TOLD_EVERY: u64 = 20_000;
/// Of so many bad rows, what they said is kept too.
const WORDS_KEPT: usize = 10_000;
/// No refrigerator and no thermometer for one goes beyond, in °C.
const BOUNDS: f64 = 80.0;

/// Reads a file through a mapping. `Ok(None)` if `heard` put an end to it.
///
/// # Errors
/// The file can't be read on. What it says is never an error: see [`Import::bad`].
pub fn import(
    reader: impl Read,
    mapping: &Mapping,
    heard: &mut dyn FnMut(u64) -> bool,
) -> io::Result<Option<Import>> {
    let mut lines = Lines::of(reader, mapping.encoding);
    let mut import = Import::default();
    let mut rows = Vec::new();
    let mut read = Reader::new(mapping);
    // While the header isn't known to have ended: what its lines would be as rows.
    let mut header: Option<Vec<Option<BadRow>>> = mapping.header_lines.is_none().then(Vec::new);
    while let Some(line) = lines.next()? {
        import.lines = line.number;
        if line.number % TOLD_EVERY == 0 && !heard(line.number) {
            return Ok(None);
        }
        if mapping
            .header_lines
            .is_some_and(|lines| line.number <= lines)
        {
            import.header_lines += 1;
            continue;
        }
        let outcome = read.row(&line, import.bad.len() < WORDS_KEPT);
        match (outcome, &mut header) {
            (Outcome::Row(row), _) => {
                import.header_lines += header.take().map_or(0, |before| before.len() as u64);
                rows.push(row);
            }
            (Outcome::Blank, Some(before)) => before.push(None),
            (Outcome::Blank, None) => import.blank_lines += 1,
            (Outcome::Bad(bad), Some(before)) => before.push(Some(bad)),
            (Outcome::Bad(bad), None) => import.bad.push(bad),
        }
        if header
            .as_ref()
            .is_some_and(|before| before.len() as u64 > Mapping::LONGEST_HEADER)
        {
            give_up_header(&mut import, header.take().unwrap_or_default());
        }
    }
    if let Some(before) = header {
        give_up_header(&mut import, before);
    }
    let ordered = order(rows, mapping.summer_time);
    import.readings = ordered.readings;
    import.duplicates = ordered.duplicates;
    import.clock_changes = ordered.changes;
    import.latest_first = ordered.latest_first;
    import.bad.extend(ordered.lost);
    import.bad.sort_by_key(|bad| bad.line);
    Ok(Some(import))
}

/// No header ends with a row: all its lines are bad rows.
fn give_up_header(import: &mut Import, before: Vec<Option<BadRow>>) {
    for line in before {
        match line {
            Some(bad) => import.bad.push(bad),
            None => import.blank_lines += 1,
        }
    }
}

enum Outcome {
    Row(LoggerRow),
    Blank,
    Bad(BadRow),
}

struct Reader<'m> {
    mapping: &'m Mapping,
    fields: Vec<Range<usize>>,
    joined: String,
    wanted: usize,
}

impl<'m> Reader<'m> {
    fn new(mapping: &'m Mapping) -> Self {
        let columns = [Some(mapping.date), mapping.time, Some(mapping.temperature)];
        Self {
            mapping,
            fields: Vec::new(),
            joined: String::new(),
            wanted: columns
                .into_iter()
                .flatten()
                .max()
                .unwrap_or(0)
                .saturating_add(1),
        }
    }

    /// The text of the temperature, with its decimals where a comma parts them from it.
    fn temperature<'t>(&self, text: &'t str) -> Option<&'t str> {
        let whole = self.fields.get(self.mapping.temperature)?;
        let parted = self
            .fields
            .get(self.mapping.temperature + 1)
            .filter(|next| {
                self.mapping.decimal_comma
                    && text.get(whole.end..next.start) == Some(",")
                    && text[(*next).clone()].starts_with(|sign: char| sign.is_ascii_digit())
            });
        text.get(whole.start..parted.unwrap_or(whole).end)
    }

    fn row(&mut self, line: &FileLine<'_>, keep_words: bool) -> Outcome {
        let bad = |fault| {
            Outcome::Bad(BadRow {
                line: line.number,
                fault,
            })
        };
        let words = |text: &str| -> Box<str> {
            let kept = if keep_words { 40 } else { 0 };
            text.chars().take(kept).collect::<String>().into()
        };
        let text: &str = &line.text;
        if text.trim().is_empty() && !line.too_long {
            return Outcome::Blank;
        }
        if line.too_long {
            return bad(Fault::TooLong);
        }
        // Behind the last field wanted, one more may hold the decimals of a temperature.
        let most = self.wanted.saturating_add(1);
        fields::split(text, self.mapping.separator, most, &mut self.fields);
        let found = self.fields.len();
        let field = |column: usize| self.fields.get(column).map(|place| &text[place.clone()]);
        let (Some(date), Some(temperature)) = (field(self.mapping.date), self.temperature(text))
        else {
            return bad(Fault::TooFewFields {
                found,
                wanted: self.wanted,
            });
        };
        let joins = !matches!(
            self.mapping.form,
            TimeForm::UnixSeconds | TimeForm::SpreadsheetDays
        );
        let at = match self.mapping.time.filter(|_| joins) {
            None => when::read(date, self.mapping.form),
            Some(column) => {
                let Some(time) = field(column) else {
                    return bad(Fault::TooFewFields {
                        found,
                        wanted: self.wanted,
                    });
                };
                self.joined.clear();
                self.joined.push_str(date);
                self.joined.push(' ');
                self.joined.push_str(time);
                when::read(&self.joined, self.mapping.form)
            }
        };
        let Some(at) = at else {
            let told = if self.joined.is_empty() {
                date
            } else {
                &self.joined
            };
            return bad(Fault::NoTime(words(told)));
        };
        if temperature.is_empty() {
            return bad(Fault::Empty);
        }
        let Some((degrees, unit)) = degrees::read(temperature) else {
            return bad(Fault::NoTemperature(words(temperature)));
        };
        let celsius = unit.unwrap_or(self.mapping.unit).to_celsius(degrees);
        if !(-BOUNDS..=BOUNDS).contains(&celsius) {
            return bad(Fault::OutOfBounds(words(temperature)));
        }
        Outcome::Row(LoggerRow {
            line: line.number,
            at,
            hundredths: (celsius * 100.0).round() as i16,
        })
    }
}

/// What must hold for any bytes: they are guessed at and read through the guess and through `mapping` without a panic,
/// and every line is accounted for. The body of the fuzz target and of the property tests.
///
/// # Panics
/// Where it doesn't hold.
pub fn holds_for(bytes: &[u8], mapping: &Mapping) {
    let head = &bytes[..bytes.len().min(super::HEAD)];
    let guess = super::guess(head);
    let again = super::guess_with(head, guess.mapping.clone());
    assert_eq!(
        again.fingerprint, guess.fingerprint,
        "a guess is remembered as what it was"
    );
    for mapping in [&guess.mapping, mapping] {
        let Ok(Some(import)) = import(bytes, mapping, &mut |_| true) else {
            unreachable!("bytes in memory can be read, and nobody stops it");
        };
        let rows = import.readings.len() + import.bad.len() + import.duplicates.len();
        assert_eq!(
            import.header_lines + import.blank_lines + rows as u64,
            import.lines,
            "every line is accounted for"
        );
        let mut named: Vec<u64> = import.bad.iter().map(|bad| bad.line).collect();
        named.extend(import.duplicates.iter().map(|duplicate| duplicate.line));
        named.sort_unstable();
        assert!(
            named.windows(2).all(|pair| pair[0] < pair[1]),
            "no line is named twice"
        );
        assert!(
            named.last().is_none_or(|last| *last <= import.lines),
            "named lines are of the file"
        );
        assert!(
            import
                .readings
                .windows(2)
                .all(|pair| pair[0].at < pair[1].at),
            "readings are in the order of time"
        );
    }
}
