//! Text files: their encoding, what separates their fields, and their rows.

use super::cells::{Cell, Sheet};
use super::{LONGEST_ROW, MOST_CELLS, MOST_COLUMNS, MOST_ROWS, Workbook};
use chardetng::{EncodingDetector, Iso2022JpDetection, Utf8Detection};
use csv::{Reader, ReaderBuilder, StringRecord};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};
use std::borrow::Cow;
use std::collections::HashMap;

pub(super) fn read(bytes: &[u8]) -> Result<Workbook, String> {
    let mut notes = Vec::new();
    not_one_line(bytes)?;
    let text = decode(bytes, &mut notes)?;
    let (delimiter, text) = delimiter(&text);
    let mut sheet = Sheet::default();
    sheet.delimiter = Some(delimiter);
    let mut reader = reader(text, delimiter);
    let mut record = StringRecord::new();
    let mut lines = 0_u64;
    let mut counted = 0;
    loop {
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(error) => return Err(format!("The table can't be read: {error}.")),
        }
        let begin = record
            .position()
            .map_or(counted, |position| position.byte() as usize);
        let begin = begin.min(text.len());
        lines +=
            memchr::memchr_iter(b'\n', &text.as_bytes()[counted.min(begin)..begin]).count() as u64;
        counted = begin;
        // The position is that before blank lines, which hold nothing.
        let blank = text.as_bytes()[begin..]
            .iter()
            .take_while(|byte| matches!(byte, b'\r' | b'\n'));
        let blank = blank.filter(|byte| **byte == b'\n').count() as u64;
        if record.as_slice().len() > LONGEST_ROW {
            return Err(format!(
                "The row that begins in line {} is {} million characters long. A quotation mark there has no partner, or this is no table.",
                lines + blank + 1,
                record.as_slice().len() / 1_000_000
            ));
        }
        if record.len() > MOST_COLUMNS {
            return Err(format!(
                "Line {} has {} columns, and at most {MOST_COLUMNS} are read. Is this a table?",
                lines + blank + 1,
                record.len()
            ));
        }
        sheet.begin_row(lines + blank + 1);
        for field in &record {
            if !sheet.push(cell(field)) {
                return Err(too_large());
            }
        }
        sheet.end_row();
        if sheet.rows() > MOST_ROWS || sheet.len() > MOST_CELLS {
            return Err(too_large());
        }
    }
    Ok(Workbook {
        sheets: vec![sheet],
        notes,
    })
}

/// Refuses what begins with a line longer than any row, before anybody looks into it sign by sign.
fn not_one_line(bytes: &[u8]) -> Result<(), String> {
    let head = &bytes[..bytes.len().min(LONGEST_ROW + 1)];
    if head.len() > LONGEST_ROW && memchr::memchr2(b'\n', b'\r', head).is_none() {
        return Err(
            "This is no table: its first line has no end for millions of characters. Save it from the spreadsheet as XLSX, ODS or CSV."
                .into(),
        );
    }
    Ok(())
}

pub(super) fn too_large() -> String {
    format!("The table has more than the {MOST_ROWS} rows that are read. Cut it in parts.")
}

/// What a field of a text file holds: what a spreadsheet wrote where it couldn't calculate is none of the person's words.
fn cell(field: &str) -> Cell<'_> {
    let field = field.trim();
    const FAULTS: [&str; 9] = [
        "#N/A", "#DIV/0!", "#REF!", "#VALUE!", "#NAME?", "#NUM!", "#NULL!", "#NV", "#WERT!",
    ];
    if FAULTS.iter().any(|fault| field.eq_ignore_ascii_case(fault)) {
        return Cell::Fault(field);
    }
    // The guard of our own tables, and of others, against formulas.
    match field.strip_prefix('\'') {
        Some(rest) if crate::table::would_run(rest) => Cell::Text(rest),
        _ => Cell::Text(field),
    }
}

fn reader(text: &str, delimiter: u8) -> Reader<&[u8]> {
    ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes())
}

/// The text of the bytes: by their mark, or as UTF-8 if they are sound, or by what letters are likely.
fn decode<'b>(bytes: &'b [u8], notes: &mut Vec<String>) -> Result<Cow<'b, str>, String> {
    let (encoding, from) = match Encoding::for_bom(bytes) {
        Some((encoding, mark)) => (encoding, &bytes[mark..]),
        None => match utf_16(bytes) {
            Some(encoding) => (encoding, bytes),
            None if std::str::from_utf8(bytes).is_ok() => (UTF_8, bytes),
            None => {
                let mut detector = EncodingDetector::new(Iso2022JpDetection::Deny);
                detector.feed(bytes, true);
                (detector.guess(None, Utf8Detection::Deny), bytes)
            }
        },
    };
    let (text, faulty) = encoding.decode_without_bom_handling(from);
    let controls = |text: &str| {
        let wrong = |c: &char| c.is_control() && !matches!(c, '\t' | '\r' | '\n' | '\u{c}');
        text.chars().take(20_000).filter(wrong).count()
    };
    if controls(&text) > text.chars().take(20_000).count() / 20 {
        return Err(
            "This is no table that can be read. Save it from the spreadsheet as XLSX, ODS or CSV."
                .into(),
        );
    }
    if faulty {
        notes.push(format!(
            "Some letters can't be read as {} and are shown as \u{fffd}. Save the table as CSV in UTF-8.",
            encoding.name()
        ));
    } else if encoding != UTF_8 {
        notes.push(format!("Letters are read as {}.", encoding.name()));
    }
    Ok(text)
}

/// UTF-16 without its mark: half of the bytes of Western text are zero.
fn utf_16(bytes: &[u8]) -> Option<&'static Encoding> {
    let head = &bytes[..bytes.len().min(4096)];
    let zeros = |from: usize| {
        let at = head.iter().skip(from).step_by(2);
        at.filter(|byte| **byte == 0).count()
    };
    let (even, odd, half) = (zeros(0), zeros(1), head.len() / 2);
    if half < 2 {
        None
    } else if odd > half * 3 / 4 && even < half / 8 {
        Some(UTF_16LE)
    } else if even > half * 3 / 4 && odd < half / 8 {
        Some(UTF_16BE)
    } else {
        None
    }
}

/// What separates fields: what a first line `sep=;` says, or what cuts the most rows into the same number of fields.
fn delimiter(text: &str) -> (u8, &str) {
    let first = text.lines().next().unwrap_or_default();
    if let [b's' | b'S', b'e' | b'E', b'p' | b'P', b'=', said] = first.trim_end().as_bytes() {
        return (*said, text[first.len()..].trim_start_matches(['\r', '\n']));
    }
    let end = text.len().min(64 * 1024);
    let end = (0..=end).rev().find(|end| text.is_char_boundary(*end));
    let head = &text[..end.unwrap_or(0)];
    let worth = |delimiter: u8| {
        let mut widths: HashMap<usize, usize> = HashMap::new();
        let mut rows = 0_usize;
        for record in reader(head, delimiter).into_records().flatten().take(200) {
            // Blank rows say nothing.
            if record.iter().any(|field| !field.trim().is_empty()) {
                rows += 1;
                *widths.entry(record.len()).or_default() += 1;
            }
        }
        let (width, alike) = widths
            .into_iter()
            .filter(|(width, _)| *width > 1)
            .max_by_key(|(width, count)| (*count, *width))
            .unwrap_or((1, 0));
        // Many rows alike count first, then many fields; one comma in all numbers is no separator beside semicolons.
        (alike * 20 / rows.max(1), width)
    };
    let best = [b',', b';', b'\t', b'|']
        .into_iter()
        .rev()
        .max_by_key(|&delimiter| worth(delimiter));
    (best.unwrap_or(b','), text)
}
