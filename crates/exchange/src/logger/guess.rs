//! What a file seems to be, from its beginning.

use super::lines::{Lines, guess_encoding};
use super::mapping::{Encoding, Mapping, Separator, TimeForm, Unit};
use super::{degrees, fields, import, when};

/// How much of the beginning of a file is enough to guess by, in bytes.
pub const HEAD: usize = 256 * 1024;
/// The most lines looked at.
const LINES: usize = 4000;

/// A guess, and what a person needs to judge it.
#[derive(Debug, Clone, PartialEq)]
pub struct Guess {
    /// How the file seems to be written.
    pub mapping: Mapping,
    /// The names of its columns, or 'Column 1' and so on where it names none.
    pub columns: Vec<String>,
    /// The first rows, field by field.
    pub rows: Vec<Vec<String>>,
    /// The serial number of the logger, if the file tells one.
    pub serial: Option<String>,
    /// What other files of this logger will share: its serial number, or else the words of its header.
    pub fingerprint: String,
    /// What the file leaves open, as sentences: a person should check it.
    pub doubts: Vec<String>,
}

/// Guesses from the beginning of a file ([`HEAD`] bytes of it, or all if it is shorter).
pub fn guess(head: &[u8]) -> Guess {
    let encoding = guess_encoding(head);
    let lines = lines_of(head, encoding);
    let found = Separator::ALL
        .into_iter()
        .filter_map(|separator| Layout::of(&lines, separator))
        .fold(None, |best: Option<Layout>, next| match best {
            Some(best) if best.score >= next.score => Some(best),
            _ => Some(next),
        });
    let Some(layout) = found else {
        return nothing_found(encoding, &lines);
    };
    let mut doubts = Vec::new();
    let (form, sure) = layout.form(&lines);
    if !sure {
        doubts.push(format!(
            "Day and month can't be distinguished in the first lines; taken as {}.",
            form.words()
        ));
    }
    let (unit, sure) = layout.unit(&lines);
    if !sure {
        doubts.push(format!(
            "No unit is named; by their size the temperatures are in {}.",
            unit.sign()
        ));
    }
    let decimal_comma = layout.whole_beside_whole() && layout.is_wider_than_named();
    if decimal_comma {
        doubts.push(
            "The rows have more fields than there are names: commas are taken as decimal signs too. See whether the column of the temperature is the right one.".into(),
        );
    } else if layout.whole_beside_whole() {
        doubts.push(
            "Whole degrees only, and whole numbers beside them: if these are their decimals, say that commas are decimal signs too.".into(),
        );
    }
    if layout.temperature_columns > 1 && !decimal_comma {
        doubts.push(format!(
            "{} columns could be temperatures.",
            layout.temperature_columns
        ));
    }
    let mapping = Mapping {
        encoding,
        separator: layout.separator,
        header_lines: None,
        date: layout.date,
        time: layout.time,
        form,
        temperature: layout.temperature,
        decimal_comma,
        unit,
        summer_time: true,
    };
    described(mapping, &lines, doubts)
}

/// The same for a logger whose mapping a person has set before: only what is shown of the file is new.
pub fn guess_with(head: &[u8], remembered: Mapping) -> Guess {
    let lines = lines_of(head, remembered.encoding);
    described(remembered, &lines, Vec::new())
}

fn lines_of(head: &[u8], encoding: Encoding) -> Vec<String> {
    let mut lines = Lines::of(head, encoding);
    let mut all = Vec::new();
    // Bytes in memory can't fail to be read.
    while let Ok(Some(line)) = lines.next() {
        all.push(line.text.into_owned());
        if all.len() == LINES {
            return all;
        }
    }
    if head.len() >= HEAD && all.len() > 1 {
        all.pop();
    }
    all
}

fn nothing_found(encoding: Encoding, lines: &[String]) -> Guess {
    let mapping = Mapping {
        encoding,
        separator: Separator::Comma,
        header_lines: None,
        date: 0,
        time: None,
        form: TimeForm::YearMonthDay,
        temperature: 1,
        decimal_comma: false,
        unit: Unit::Celsius,
        summer_time: true,
    };
    let doubt = "No column of times with a column of temperatures was found. Choose them, if this is the file of a logger.";
    described(mapping, lines, vec![doubt.into()])
}

fn described(mapping: Mapping, lines: &[String], doubts: Vec<String>) -> Guess {
    let split = |line: &str| fields_of(line, mapping.separator);
    let readable = |line: &&String| {
        let held = import(line.as_bytes(), &plain(&mapping), &mut |_| true);
        held.is_ok_and(|held| held.is_some_and(|held| !held.readings.is_empty()))
    };
    let first = lines.iter().position(|line| readable(&line)).unwrap_or(0);
    let rows: Vec<Vec<String>> = lines[first.min(lines.len())..]
        .iter()
        .filter(|line| !line.trim().is_empty())
        .take(8)
        .map(|line| split(line))
        .collect();
    let wide = rows.iter().map(Vec::len).max().unwrap_or(0);
    let names = lines[..first]
        .iter()
        .rev()
        .find(|line| !line.trim().is_empty())
        .map(|line| split(line))
        .filter(|names| names.len() >= 2 && names.len() + 1 >= wide)
        .unwrap_or_default();
    let columns = (0..wide.max(names.len()))
        .map(|nth| match names.get(nth) {
            Some(name) if !name.is_empty() => name.clone(),
            _ => format!("Column {}", nth + 1),
        })
        .collect();
    let serial = lines[..first].iter().find_map(|line| serial_in(line));
    let fingerprint = match &serial {
        Some(serial) => format!("serial {}", serial.to_lowercase()),
        None => format!("header {}", names.join("|").to_lowercase()),
    };
    Guess {
        mapping,
        columns,
        rows,
        serial,
        fingerprint,
        doubts,
    }
}

/// The mapping for single lines already decoded.
fn plain(mapping: &Mapping) -> Mapping {
    Mapping {
        encoding: Encoding::Utf8,
        header_lines: Some(0),
        ..mapping.clone()
    }
}

fn fields_of(line: &str, separator: Separator) -> Vec<String> {
    let mut places = Vec::new();
    fields::split(line, separator, usize::MAX, &mut places);
    places
        .into_iter()
        .map(|place| line[place].to_owned())
        .collect()
}

/// The serial number in a line such as `Serial No.: 20417`, `"Logger S/N";"20417"` or `Logger 20417`.
fn serial_in(line: &str) -> Option<String> {
    let lower = line.to_lowercase();
    if lower.len() != line.len() {
        return None;
    }
    let words = [
        "serial number",
        "serial no",
        "serial",
        "s/n",
        "device id",
        "logger id",
        "logger",
    ];
    let after = words
        .iter()
        .find_map(|word| lower.find(word).map(|at| at + word.len()))?;
    let candidates = line
        .get(after..)?
        .split(|sign: char| !(sign.is_alphanumeric() || matches!(sign, '-' | '_')));
    candidates
        .filter(|word| word.len() >= 3 && word.chars().any(|sign| sign.is_ascii_digit()))
        .map(str::to_owned)
        .next()
}

/// A way to cut the lines into columns, with what the columns seem to hold.
struct Layout {
    separator: Separator,
    score: f64,
    date: usize,
    time: Option<usize>,
    temperature: usize,
    temperature_columns: usize,
    numbers: Option<TimeForm>,
    rows: Vec<Vec<String>>,
    names: Vec<String>,
}

impl Layout {
    fn of(lines: &[String], separator: Separator) -> Option<Self> {
        let cut: Vec<Vec<String>> = lines
            .iter()
            .filter(|line| !line.trim().is_empty())
            .take(600)
            .map(|line| fields_of(line, separator))
            .collect();
        // Rows are of the commonest width of the latter half: a header stands before them.
        let mut widths = std::collections::BTreeMap::<usize, usize>::new();
        for row in &cut[cut.len() / 2..] {
            *widths.entry(row.len()).or_default() += 1;
        }
        let wide = *widths.iter().max_by_key(|(_, count)| **count)?.0;
        if wide < 2 {
            return None;
        }
        let rows: Vec<Vec<String>> = cut
            .iter()
            .filter(|row| row.len() == wide)
            .cloned()
            .collect();
        let share = |holds: &dyn Fn(&str) -> bool, column: usize| {
            let held = rows.iter().filter(|row| holds(&row[column])).count();
            held as f64 / rows.len() as f64
        };
        let (date, time, numbers, timed) = when_columns(wide, &rows, &share)?;
        let first = cut
            .iter()
            .position(|row| row.len() == wide && has_when(&row[date]));
        let names = match first {
            Some(first) if first > 0 => cut[first - 1].clone(),
            _ => Vec::new(),
        };
        let name = |column: usize| names.get(column).map_or("", String::as_str).to_lowercase();
        let mut best: Option<(f64, usize)> = None;
        let mut candidates = 0;
        for column in (0..wide).filter(|column| *column != date && Some(*column) != time) {
            let held = share(&|text| degrees::read(text).is_some(), column);
            if held < 0.4 {
                continue;
            }
            let worth = held + worth_of_name(&name(column))
                - 3.0 * f64::from(u8::from(counts_up(&rows, column)));
            candidates += usize::from(worth > 0.0 && worth_of_name(&name(column)) >= 0.0);
            if best.is_none_or(|(most, _)| worth > most) {
                best = Some((worth, column));
            }
        }
        let (_, temperature) = best?;
        let held = share(&|text| degrees::read(text).is_some(), temperature);
        Some(Self {
            separator,
            score: 2.0 * timed + held + rows.len() as f64 / cut.len() as f64,
            date,
            time,
            temperature,
            temperature_columns: candidates,
            numbers,
            rows,
            names,
        })
    }

    /// Whether the temperatures might be cut in two at a decimal comma: whole numbers, with figures in the next field.
    fn whole_beside_whole(&self) -> bool {
        let whole = |text: &str| {
            let figures = text.strip_prefix(['-', '+']).unwrap_or(text);
            !figures.is_empty() && figures.bytes().all(|byte| byte.is_ascii_digit())
        };
        let cut_in_two = |row: &&Vec<String>| {
            let decimals = row.get(self.temperature + 1);
            whole(&row[self.temperature])
                && decimals.is_some_and(|text| {
                    text.len() <= 3
                        && whole(text)
                        && text.starts_with(|sign: char| sign.is_ascii_digit())
                })
        };
        let rows = self.rows.iter().filter(|row| has_when(&row[self.date]));
        let (all, cut) = rows.fold((0, 0), |(all, cut), row| {
            (all + 1, cut + usize::from(cut_in_two(&row)))
        });
        self.separator == Separator::Comma && all > 0 && cut * 10 >= all * 9
    }

    /// Whether the rows have more fields than there are names for.
    fn is_wider_than_named(&self) -> bool {
        let wide = self.rows.first().map_or(0, Vec::len);
        let named = self.names.iter().filter(|name| !name.is_empty()).count();
        (2..wide).contains(&named)
    }

    /// The form of its times, and whether that is sure.
    fn form(&self, lines: &[String]) -> (TimeForm, bool) {
        if let Some(form) = self.numbers {
            return (form, true);
        }
        let text = lines.join("\n");
        let half_day = self.rows.iter().any(|row| {
            let column = &row[self.time.unwrap_or(self.date)];
            when::parse_time(column, TimeForm::DayMonthYear)
                .or_else(|| when::parse_time(column, TimeForm::MonthDayYear))
                .is_some_and(|parsed| parsed.half_day)
        });
        // How well a form fits: bad rows first, then steps unlike the usual one.
        let judge = |form: TimeForm| {
            let mapping = Mapping {
                encoding: Encoding::Utf8,
                separator: self.separator,
                header_lines: None,
                date: self.date,
                time: self.time,
                form,
                temperature: self.temperature,
                decimal_comma: false,
                unit: Unit::Celsius,
                summer_time: false,
            };
            let held = import(text.as_bytes(), &mapping, &mut |_| true)
                .ok()
                .flatten()
                .unwrap_or_default();
            let untimely = held
                .bad
                .iter()
                .filter(|bad| bad.why().ends_with("is no time of this form."))
                .count();
            let odd = held
                .readings
                .windows(3)
                .filter(|three| three[1].at - three[0].at != three[2].at - three[1].at)
                .count();
            (
                held.readings.is_empty(),
                untimely,
                held.clock_changes.len(),
                odd,
            )
        };
        let by_year = judge(TimeForm::YearMonthDay);
        let by_day = judge(TimeForm::DayMonthYear);
        let by_month = judge(TimeForm::MonthDayYear);
        // A four-figure year in front is read alike by all.
        if by_year <= by_day && by_year <= by_month {
            let years_first = self.rows.iter().any(|row| {
                let figures =
                    row[self.date].trim_start_matches(|sign: char| !sign.is_ascii_digit());
                figures.bytes().take_while(u8::is_ascii_digit).count() >= 4
            });
            if years_first || (by_year < by_day && by_year < by_month) {
                return (TimeForm::YearMonthDay, true);
            }
        }
        match by_day.cmp(&by_month) {
            std::cmp::Ordering::Less => (TimeForm::DayMonthYear, true),
            std::cmp::Ordering::Greater => (TimeForm::MonthDayYear, true),
            // Where noon parts the day or degrees are Fahrenheit, months come first.
            std::cmp::Ordering::Equal => {
                let named = self
                    .rows
                    .iter()
                    .take(20)
                    .filter(|row| parse_any_time(&row[self.date]).is_some())
                    .any(|row| row[self.date].chars().any(char::is_alphabetic) && !half_day);
                let form = if half_day || self.unit(lines).0 == Unit::Fahrenheit {
                    TimeForm::MonthDayYear
                } else {
                    TimeForm::DayMonthYear
                };
                (form, named)
            }
        }
    }

    /// The unit, and whether the file names it.
    fn unit(&self, lines: &[String]) -> (Unit, bool) {
        let name = self.names.get(self.temperature).map_or("", String::as_str);
        if let Some(unit) = unit_named(name) {
            return (unit, true);
        }
        let unit_in = |row: &Vec<String>| {
            let own = degrees::read(&row[self.temperature]).and_then(|(_, unit)| unit);
            let beside = row.iter().find_map(|field| match field.trim() {
                "C" | "°C" => Some(Unit::Celsius),
                "F" | "°F" => Some(Unit::Fahrenheit),
                _ => None,
            });
            own.or(beside)
        };
        if let Some(unit) = self.rows.iter().take(50).find_map(unit_in) {
            return (unit, true);
        }
        if let Some(unit) = lines.iter().take(40).find_map(|line| unit_named(line)) {
            return (unit, true);
        }
        let mut sizes: Vec<f64> = self
            .rows
            .iter()
            .filter_map(|row| Some(degrees::read(&row[self.temperature])?.0))
            .collect();
        sizes.sort_by(f64::total_cmp);
        let middle = sizes.get(sizes.len() / 2).copied().unwrap_or(0.0);
        // A refrigerator is at 0 to 8 °C, 32 to 46 °F; a room at 15 to 25 °C, 59 to 77 °F.
        let unit = if middle > 28.0 {
            Unit::Fahrenheit
        } else {
            Unit::Celsius
        };
        (unit, false)
    }
}

/// The columns of date and time: both in one, or two, or a number that counts; and in what share of rows they are.
#[expect(clippy::type_complexity, reason = "taken apart where it is called")]
fn when_columns(
    wide: usize,
    rows: &[Vec<String>],
    share: &dyn Fn(&dyn Fn(&str) -> bool, usize) -> f64,
) -> Option<(usize, Option<usize>, Option<TimeForm>, f64)> {
    let parsed = |text: &str| parse_any_time(text);
    let both = |text: &str| {
        parsed(text).is_some_and(|parsed| parsed.day.is_some() && parsed.second.is_some())
    };
    let day = |text: &str| {
        parsed(text).is_some_and(|parsed| parsed.day.is_some() && parsed.second.is_none())
    };
    let clock = |text: &str| parsed(text).is_some_and(|parsed| parsed.day.is_none());
    let best = |holds: &dyn Fn(&str) -> bool| {
        (0..wide)
            .map(|column| (share(holds, column), column))
            .filter(|(held, _)| *held >= 0.4)
            .fold(None, |best: Option<(f64, usize)>, next| match best {
                Some(best) if best.0 >= next.0 => Some(best),
                _ => Some(next),
            })
    };
    if let Some((held, column)) = best(&both) {
        return Some((column, None, None, held));
    }
    if let (Some((held, date)), Some((_, time))) = (best(&day), best(&clock)) {
        return Some((date, Some(time), None, held));
    }
    let rises = |column: usize, form| {
        let moments: Vec<i64> = rows
            .iter()
            .filter_map(|row| when::read(&row[column], form))
            .collect();
        let rising = moments.windows(2).filter(|pair| pair[1] > pair[0]).count();
        let falling = moments.windows(2).filter(|pair| pair[1] < pair[0]).count();
        moments.len() >= 2 && rising.max(falling) * 10 >= (moments.len() - 1) * 9
    };
    // Seconds since 1970 as of 2001 and later; spreadsheet days with a part of a day.
    let unix = |text: &str| {
        text.bytes().filter(u8::is_ascii_digit).count() >= 10
            && when::read(text, TimeForm::UnixSeconds).is_some()
    };
    let days = |text: &str| {
        text.contains(['.', ',']) && when::read(text, TimeForm::SpreadsheetDays).is_some()
    };
    for (holds, form) in [
        (&unix as &dyn Fn(&str) -> bool, TimeForm::UnixSeconds),
        (&days, TimeForm::SpreadsheetDays),
    ] {
        if let Some((held, column)) = best(holds)
            && rises(column, form)
        {
            return Some((column, None, Some(form), held));
        }
    }
    let (held, date) = best(&day)?;
    Some((date, None, None, held / 2.0))
}

fn has_when(text: &str) -> bool {
    parse_any_time(text).is_some()
        || when::read(text, TimeForm::UnixSeconds).is_some_and(|at| at > 1_000_000_000)
        || when::read(text, TimeForm::SpreadsheetDays).is_some()
}

fn parse_any_time(text: &str) -> Option<when::ParsedTime> {
    [
        TimeForm::YearMonthDay,
        TimeForm::DayMonthYear,
        TimeForm::MonthDayYear,
    ]
    .into_iter()
    .find_map(|form| when::parse_time(text, form))
}

fn worth_of_name(name: &str) -> f64 {
    let has = |words: &[&str]| words.iter().any(|word| name.contains(word));
    if has(&[
        "dew", "hum", "rh", "%", "batt", "volt", "press", "lux", "serial", "index", "record",
        "event", "alarm", "status", "#",
    ]) || matches!(name.trim(), "no" | "no." | "nr" | "nr." | "n" | "id")
    {
        return -2.0;
    }
    if has(&["temp", "°c", "°f", "celsius", "fahrenheit", "deg", "℃", "℉"])
        || matches!(name.trim(), "t" | "c" | "f" | "value")
    {
        return 2.0;
    }
    0.0
}

/// Whether a column only counts the rows.
fn counts_up(rows: &[Vec<String>], column: usize) -> bool {
    let numbers: Vec<f64> = rows
        .iter()
        .filter_map(|row| row[column].parse().ok())
        .collect();
    let by_one = numbers
        .windows(2)
        .filter(|pair| (pair[1] - pair[0]).abs() == 1.0)
        .count();
    numbers.len() >= 3
        && by_one * 10 >= (numbers.len() - 1) * 9
        && numbers.iter().all(|number| number.fract() == 0.0)
}

fn unit_named(text: &str) -> Option<Unit> {
    let lower = text.to_lowercase();
    let has = |words: &[&str]| words.iter().any(|word| lower.contains(word));
    if has(&[
        "°c", "ºc", "℃", "celsius", "deg c", "degc", "(c)", "[c]", "temp c", "temp_c", "temp. c",
    ]) {
        return Some(Unit::Celsius);
    }
    has(&[
        "°f",
        "ºf",
        "℉",
        "fahrenheit",
        "deg f",
        "degf",
        "(f)",
        "[f]",
        "temp f",
        "temp_f",
        "temp. f",
    ])
    .then_some(Unit::Fahrenheit)
}
