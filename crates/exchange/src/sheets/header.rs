//! Where a table begins: titles above it, headers of one or two rows, units beneath them.

use super::cells::{Cell, Sheet};
use super::forms::{ReadDate, ReadNumber, date, number};

/// What was found.
pub(super) struct Header {
    /// The row, by its place, from which values stand.
    pub(super) body: usize,
    /// The name and unit of each column.
    pub(super) names: Vec<(String, String)>,
}

/// So many rows are looked at for the header.
const LOOKED_AT: usize = 40;

/// Finds the header, or takes the row that a person pointed at.
pub(super) fn find(sheet: &Sheet, wanted: Option<usize>) -> Option<Header> {
    let first = match wanted {
        Some(row) => row,
        None => likely(sheet)?,
    };
    let width = sheet.width();
    let mut names: Vec<String> = (0..width)
        .map(|column| words(sheet, first, column))
        .collect();
    let mut body = first + 1;
    if wanted.is_none() && is_upper(sheet, first) {
        let over = spread(sheet, first, &names);
        for (column, name) in names.iter_mut().enumerate() {
            let under = words(sheet, first + 1, column);
            *name = match (over[column].as_str(), under.as_str()) {
                ("", under) => under.into(),
                (over, "") => over.into(),
                (over, under) => format!("{over} {under}"),
            };
        }
        body += 1;
    }
    let mut units = vec![String::new(); width];
    if is_units(sheet, body) {
        units = (0..width)
            .map(|column| bare_unit(&words(sheet, body, column)))
            .collect();
        body += 1;
    }
    let names = names
        .into_iter()
        .zip(units)
        .map(|(name, unit)| {
            let (name, own) = with_unit(&name);
            (name, if unit.is_empty() { own } else { unit })
        })
        .collect();
    Some(Header { body, names })
}

fn words(sheet: &Sheet, row: usize, column: usize) -> String {
    match sheet.cell(row, column) {
        Cell::Text(text) => text.split_whitespace().collect::<Vec<_>>().join(" "),
        Cell::Number(number) => number.to_string(),
        Cell::Date(moment) => moment.date().to_string(),
        _ => String::new(),
    }
}

fn is_words(cell: Cell<'_>) -> bool {
    matches!(cell, Cell::Text(text) if !matches!(number(text), ReadNumber::Certain(..) | ReadNumber::Either(..)) && date(text) == ReadDate::None)
}

fn filled(sheet: &Sheet, row: usize) -> usize {
    (0..sheet.width())
        .filter(|&column| sheet.cell(row, column) != Cell::Empty)
        .count()
}

/// The first row of words that is as wide as what follows; a title above it fills a cell or two.
fn likely(sheet: &Sheet) -> Option<usize> {
    let looked_at = sheet.rows().min(LOOKED_AT);
    let widest = (0..looked_at).map(|row| filled(sheet, row)).max()?;
    let enough = match widest {
        0 => return None,
        1 | 2 => widest,
        _ => widest.div_ceil(2).max(2),
    };
    let is_header = |row: &usize| {
        let words = (0..sheet.width()).filter(|&column| is_words(sheet.cell(*row, column)));
        let words = words.count();
        let filled = filled(sheet, *row);
        // Who made the table, and when, stand above it, with a gap between.
        let apart = row + 1 < looked_at
            && sheet.line(row + 1) > sheet.line(*row) + 1
            && self::filled(sheet, row + 1) > filled
            && (0..sheet.width()).all(|column| {
                let cell = sheet.cell(row + 1, column);
                cell == Cell::Empty || is_words(cell)
            });
        words >= enough.min(filled) && filled >= enough && words * 2 > filled && !apart
    };
    let found = (0..looked_at).find(is_header)?;
    // A row of headings over a few columns each may stand over it: it is narrower, and its gaps are merged cells.
    let above = found.checked_sub(1).filter(|&above| {
        sheet.line(above) + 1 == sheet.line(found)
            && sheet
                .merged
                .iter()
                .any(|(row, ..)| *row as u64 == sheet.line(above))
            && filled(sheet, above) > 1
    });
    Some(above.unwrap_or(found))
}

/// Whether the row is the upper one of two rows of headings: it has gaps where the one beneath has words, and that one
/// holds words alone.
fn is_upper(sheet: &Sheet, row: usize) -> bool {
    if row + 2 >= sheet.rows() || sheet.line(row) + 1 != sheet.line(row + 1) {
        return false;
    }
    let all_words = (0..sheet.width()).all(|column| {
        let cell = sheet.cell(row + 1, column);
        cell == Cell::Empty || is_words(cell)
    });
    let gaps = (1..sheet.width()).any(|column| {
        sheet.cell(row, column) == Cell::Empty && sheet.cell(row + 1, column) != Cell::Empty
    });
    let merged = sheet
        .merged
        .iter()
        .any(|(at, ..)| *at as u64 == sheet.line(row));
    let values_beneath = (0..sheet.width()).any(|column| {
        let cell = sheet.cell(row + 2, column);
        cell != Cell::Empty && !is_words(cell)
    });
    all_words && gaps && (merged || values_beneath) && !is_units(sheet, row + 1)
}

/// The words of an upper heading over each column that it stands over.
fn spread(sheet: &Sheet, row: usize, names: &[String]) -> Vec<String> {
    let mut over = names.to_vec();
    let merged: Vec<_> = sheet
        .merged
        .iter()
        .filter(|(at, ..)| *at as u64 == sheet.line(row))
        .collect();
    if merged.is_empty() {
        // A text file keeps no merged cells: a heading reaches to the next one.
        for column in 1..over.len() {
            if over[column].is_empty() {
                let (before, own) = over.split_at_mut(column);
                own[0].clone_from(&before[column - 1]);
            }
        }
    } else {
        for (_, from, to) in merged {
            let word = over.get(*from).cloned().unwrap_or_default();
            for each in over.iter_mut().take(to + 1).skip(*from) {
                each.clone_from(&word);
            }
        }
    }
    over
}

/// Units that stand alone under a heading.
const UNITS: [&str; 26] = [
    "%", "g", "kg", "mg", "lb", "oz", "kg/ha", "lb/acre", "t/ha", "cm", "mm", "m", "ft", "in",
    "ml", "l", "°c", "°f", "c", "f", "days", "d", "ml/100g", "ml/100 g", "date", "code",
];

fn is_units(sheet: &Sheet, row: usize) -> bool {
    let cells: Vec<String> = (0..sheet.width())
        .map(|column| words(sheet, row, column))
        .filter(|words| !words.is_empty())
        .collect();
    let unit = |words: &String| UNITS.contains(&bare_unit(words).to_lowercase().as_str());
    !cells.is_empty() && cells.iter().all(unit)
}

fn bare_unit(words: &str) -> String {
    words
        .trim()
        .trim_start_matches(['(', '['])
        .trim_end_matches([')', ']'])
        .trim()
        .to_owned()
}

/// A heading such as 'Alpha acids (%)' or 'Dry yield [kg/ha]' as its name and its unit.
fn with_unit(heading: &str) -> (String, String) {
    for (open, close) in [('(', ')'), ('[', ']')] {
        if let Some(rest) = heading.strip_suffix(close)
            && let Some(at) = rest.rfind(open)
            && !rest[..at].trim().is_empty()
        {
            return (
                rest[..at].trim().to_owned(),
                rest[at + 1..].trim().to_owned(),
            );
        }
    }
    if let Some((name, unit)) = heading.rsplit_once([',', ' '])
        && UNITS.contains(&unit.trim().to_lowercase().as_str())
        && !name.trim_end_matches(',').trim().is_empty()
        // 'Days to flower, d' has a unit; 'Number of days' has none.
        && (unit.contains(['%', '/', '°']) || heading.contains(','))
    {
        return (
            name.trim_end_matches(',').trim().to_owned(),
            unit.trim().to_owned(),
        );
    }
    (heading.to_owned(), String::new())
}
