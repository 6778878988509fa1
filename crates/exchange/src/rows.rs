//! Rows of a CSV file read by the names of their columns, every fault with its line and column.

use csv::{ErrorKind, Reader, ReaderBuilder, StringRecord};
use memchr::memchr_iter;
use std::collections::HashSet;
use std::fmt;

/// Something wrong in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The line it stands on, from 1; `None` if it is about the whole file.
    pub line: Option<u64>,
    /// The name of the column, where it is about one.
    pub column: Option<String>,
    /// What is wrong and what to do, as a sentence.
    pub what: String,
}

impl Fault {
    /// About the whole file.
    pub fn of_file(what: impl Into<String>) -> Self {
        Self {
            line: None,
            column: None,
            what: what.into(),
        }
    }

    /// About a column, all rows of it.
    pub fn of_column(column: &str, what: impl Into<String>) -> Self {
        Self {
            line: Some(1),
            column: Some(column.into()),
            what: what.into(),
        }
    }

    /// About one place.
    pub fn at(line: u64, column: &str, what: impl Into<String>) -> Self {
        Self {
            line: Some(line),
            column: Some(column.into()),
            what: what.into(),
        }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.line, &self.column) {
            (Some(line), Some(column)) => write!(f, "line {line}, column {column}: {}", self.what),
            (Some(line), None) => write!(f, "line {line}: {}", self.what),
            (None, _) => write!(f, "{}", self.what),
        }
    }
}

/// A CSV file in memory, its header read.
///
/// Fields are separated by commas, or by semicolons or tabs if the header is. A byte order mark, line ends of any
/// kind, quoted fields, blank lines and spaces about a field are all understood; text must be UTF-8.
pub struct Rows<'b> {
    reader: Reader<&'b [u8]>,
    header: Vec<String>,
    decimal_comma: bool,
    record: StringRecord,
    lines: Lines<'b>,
}

impl<'b> Rows<'b> {
    /// Reads the header.
    ///
    /// # Errors
    /// A file without header, in another encoding, or with two columns of one name.
    pub fn new(bytes: &'b [u8]) -> Result<Self, Fault> {
        if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
            return Err(Fault::of_file(
                "The file is in UTF-16. Save it as CSV in UTF-8.",
            ));
        }
        let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
        let (named, bytes, line) = named_separator(bytes);
        let first = bytes
            .split(|&byte| byte == b'\n' || byte == b'\r')
            .find(|line| !line.is_empty())
            .ok_or_else(|| {
                Fault::of_file("The file is empty. Its first line must name the columns.")
            })?;
        let delimiter = named.unwrap_or_else(|| separator(first));
        if let Some((at, what)) = odd_quote(bytes, delimiter) {
            return Err(Fault {
                line: Some(Lines::of(bytes, line).at(at as u64)),
                column: None,
                what: what.into(),
            });
        }
        let mut reader = ReaderBuilder::new()
            .delimiter(delimiter)
            .flexible(true)
            .from_reader(bytes);
        let header: Vec<String> = reader
            .headers()
            .map_err(|error| read_fault(&mut Lines::of(bytes, line), &error))?
            .iter()
            .map(|name| name.trim().to_owned())
            .collect();
        let mut names = HashSet::new();
        for name in header.iter().filter(|name| !name.is_empty()) {
            if !names.insert(name.to_lowercase()) {
                return Err(Fault::of_column(
                    name,
                    "Two columns have this name. Rename one of them.",
                ));
            }
        }
        Ok(Self {
            lines: Lines::of(bytes, line),
            reader,
            header,
            decimal_comma: delimiter != b',',
            record: StringRecord::new(),
        })
    }

    /// The names of the columns.
    pub fn header(&self) -> &[String] {
        &self.header
    }

    /// The place of a column by its name, letters large or small.
    pub fn column(&self, name: &str) -> Option<usize> {
        let wanted = name.trim().to_lowercase();
        self.header
            .iter()
            .position(|name| name.to_lowercase() == wanted)
    }

    /// The place of a column that must be there.
    ///
    /// # Errors
    /// A file without it, naming the columns it has.
    pub fn required(&self, name: &str) -> Result<usize, Fault> {
        self.column(name).ok_or_else(|| {
            Fault::of_column(
                name,
                format!(
                    "There is no such column; there are: {}.",
                    self.header.join(", ")
                ),
            )
        })
    }

    /// The next row that has any content; `None` after the last.
    ///
    /// # Errors
    /// A row with another number of fields than the header, or that is not UTF-8. Reading can go on behind it.
    #[expect(clippy::should_implement_trait, reason = "each row borrows the reader")]
    pub fn next(&mut self) -> Option<Result<TableRow<'_>, Fault>> {
        loop {
            match self.reader.read_record(&mut self.record) {
                Ok(false) => return None,
                Err(error) => return Some(Err(read_fault(&mut self.lines, &error))),
                Ok(true) => {}
            }
            if self.record.iter().any(|field| !field.trim().is_empty()) {
                break;
            }
        }
        let line = self
            .record
            .position()
            .map_or(0, |at| self.lines.at(at.byte()));
        let row = TableRow {
            line,
            record: &self.record,
            decimal_comma: self.decimal_comma,
        };
        let (found, expected) = (self.record.len(), self.header.len());
        if found != expected {
            let quote = if self.record.iter().any(|field| field.contains('\n')) {
                " It goes over several lines: perhaps a double quote on this one isn't closed."
            } else {
                ""
            };
            return Some(Err(Fault {
                line: Some(line),
                column: None,
                what: format!(
                    "The row has {found} fields, the header {expected}. Add what is missing, or quote fields that hold the separator.{quote}"
                ),
            }));
        }
        Some(Ok(row))
    }
}

/// One row.
#[derive(Clone, Copy)]
pub struct TableRow<'r> {
    line: u64,
    record: &'r StringRecord,
    decimal_comma: bool,
}

impl<'r> TableRow<'r> {
    /// A field by its place, without spaces about it.
    pub fn field(&self, column: usize) -> &'r str {
        self.record.get(column).unwrap_or_default().trim()
    }

    /// The line it begins on, from 1.
    pub fn line(&self) -> u64 {
        self.line
    }

    /// A field as a number; in a file separated by semicolons or tabs the comma may be decimal.
    pub fn number(&self, column: usize) -> Option<f64> {
        let field = self.field(column);
        let value = field.parse::<f64>().ok().or_else(|| {
            let may = self.decimal_comma && !field.contains('.');
            may.then(|| field.replacen(',', ".", 1).parse().ok())?
        });
        value.filter(|value| value.is_finite())
    }

    /// Why a field is no number, and what to do; `or` is a further way out, such as ", or leave it empty".
    pub fn no_number(&self, column: usize, or: &str) -> String {
        let field = self.field(column);
        if field.is_empty() {
            return format!("This is empty. Fill it in{or}.");
        }
        let point = field.replacen(',', ".", 1);
        let comma = field.contains(',') && !field.contains('.');
        if !self.decimal_comma && comma && point.parse::<f64>().is_ok() {
            format!(
                "'{field}' is no number where commas separate the fields. Write {point}, or separate the fields of the file by semicolons."
            )
        } else {
            format!("'{field}' is no number. Correct it{or}.")
        }
    }
}

/// The decimal signs of a column so far: a column holds points or commas, not both, or thousands were set off by one.
#[derive(Default)]
pub struct DecimalSigns {
    first: [Option<(u64, String)>; 2],
    told: bool,
}

impl DecimalSigns {
    /// Looks at a field that is a number; told once if its sign isn't that of the fields before it.
    pub fn see(&mut self, row: TableRow<'_>, column: usize) -> Option<String> {
        let field = row.field(column);
        let sign = ['.', ','].iter().position(|&sign| field.contains(sign))?;
        if self.first[sign].is_none() {
            self.first[sign] = Some((row.line(), field.to_owned()));
        }
        let (line, other) = self.first[1 - sign].as_ref().filter(|_| !self.told)?;
        self.told = true;
        let (own, its) = if sign == 1 {
            ("comma", "point")
        } else {
            ("point", "comma")
        };
        Some(format!(
            "'{field}' has a decimal {own}, '{other}' on line {line} a decimal {its}. Write all alike."
        ))
    }
}

/// The separator that a first line such as `sep=;` names, as spreadsheets write it, with what follows and its line.
fn named_separator(bytes: &[u8]) -> (Option<u8>, &[u8], u64) {
    let end = bytes.iter().position(|byte| matches!(byte, b'\n' | b'\r'));
    let (first, rest) = bytes.split_at(end.unwrap_or(bytes.len()));
    let bare = first
        .strip_prefix(b"\"")
        .and_then(|line| line.strip_suffix(b"\""))
        .unwrap_or(first);
    match bare {
        [b's' | b'S', b'e' | b'E', b'p' | b'P', b'=', sign]
            if matches!(sign, b',' | b';' | b'\t') =>
        {
            let rest = rest.strip_prefix(b"\r").unwrap_or(rest);
            (Some(*sign), rest.strip_prefix(b"\n").unwrap_or(rest), 2)
        }
        _ => (None, bytes, 1),
    }
}

/// Where a quoted field begins that doesn't end, or that goes on behind its closing quote (RFC 4180, 2.5 to 2.7), and
/// what to do about it.
fn odd_quote(bytes: &[u8], delimiter: u8) -> Option<(usize, &'static str)> {
    let mut open = None;
    let mut passed = None;
    for at in memchr_iter(b'"', bytes) {
        if passed == Some(at) {
            continue;
        }
        if let Some(begun) = open {
            // Two of them stand for one.
            if bytes.get(at + 1) == Some(&b'"') {
                passed = Some(at + 1);
            } else {
                let behind = bytes[at + 1..].iter().find(|sign| **sign != b' ');
                if behind.is_some_and(|sign| *sign != delimiter && !matches!(sign, b'\n' | b'\r')) {
                    return Some((begun, GOES_ON));
                }
                open = None;
            }
        } else {
            let before = at.checked_sub(1).map(|place| bytes[place]);
            let begins =
                before.is_none_or(|sign| sign == delimiter || matches!(sign, b'\n' | b'\r'));
            open = begins.then_some(at);
        }
    }
    open.map(|at| (at, NEVER_CLOSED))
}

const NEVER_CLOSED: &str =
    "A double quote opens here and is never closed. Close it, or take it out.";
const GOES_ON: &str = "The field that opens here with a double quote goes on behind the next one: perhaps a double quote \
    isn't closed. Close it, or write one that belongs to the text twice.";

/// The sign that separates the fields of a header: the commonest outside quotes.
fn separator(header: &[u8]) -> u8 {
    let count = |sign: u8| {
        let mut quoted = false;
        header
            .iter()
            .filter(|&&byte| {
                quoted ^= byte == b'"';
                byte == sign && !quoted
            })
            .count()
    };
    let mut best = b',';
    for sign in [b';', b'\t'] {
        if count(sign) > count(best) {
            best = sign;
        }
    }
    best
}

/// Counts lines, whatever ends them. The reader of CSV counts line feeds only, and before it skips blank lines.
struct Lines<'b> {
    bytes: &'b [u8],
    counted: usize,
    line: u64,
}

impl<'b> Lines<'b> {
    /// Bytes that begin on this line.
    fn of(bytes: &'b [u8], line: u64) -> Self {
        Self {
            bytes,
            counted: 0,
            line,
        }
    }

    /// The line of the first content at a byte or after it. Bytes must not go back.
    fn at(&mut self, byte: u64) -> u64 {
        let ends = |sign: &u8| matches!(sign, b'\n' | b'\r');
        let from = (byte as usize).min(self.bytes.len());
        let to = from
            + self.bytes[from..]
                .iter()
                .take_while(|sign| ends(sign))
                .count();
        let passed = self.bytes.get(self.counted..to).unwrap_or_default();
        // Of a pair, the line feed counts.
        let pair = |at: &usize| self.bytes.get(self.counted + at + 1) == Some(&b'\n');
        let returns = memchr_iter(b'\r', passed).filter(|at| !pair(at));
        self.line += (memchr_iter(b'\n', passed).count() + returns.count()) as u64;
        self.counted = self.counted.max(to);
        self.line
    }
}

fn read_fault(lines: &mut Lines<'_>, error: &csv::Error) -> Fault {
    match error.kind() {
        ErrorKind::Utf8 { pos, .. } => Fault {
            line: pos.as_ref().map(|pos| lines.at(pos.byte())),
            column: None,
            what: "The text is not UTF-8. Save the file as CSV in UTF-8.".into(),
        },
        _ => Fault::of_file(format!("The file can't be read as CSV: {error}.")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &[u8]) -> Vec<(u64, Vec<String>)> {
        let mut rows = Rows::new(text).unwrap();
        let columns = rows.header().len();
        let mut found = Vec::new();
        while let Some(row) = rows.next() {
            let row = row.unwrap();
            found.push((
                row.line(),
                (0..columns)
                    .map(|column| row.field(column).to_owned())
                    .collect(),
            ));
        }
        found
    }

    #[test]
    fn the_same_rows_in_every_dress() {
        let expected = vec![
            (2, vec!["A".to_owned(), "x y".to_owned()]),
            (3, vec!["B".to_owned(), String::new()]),
        ];
        for text in [
            "id,v\nA,x y\nB,\n",
            "\u{feff}id,v\r\nA,x y\r\nB,",
            "id;v\nA;x y\nB;\n",
            "id\tv\nA\t x y \nB\t\n",
            "\"id\",\"v\"\r\n\"A\",\"x y\"\r\n\"B\",\"\"\r\n",
            "id,v\rA,x y\rB,\r",
        ] {
            assert_eq!(read(text.as_bytes()), expected, "{text:?}");
        }
        let named = read(b"sep=;\r\nid;v\r\nA;x, y\r\nB;\"1\"\"\"\r\n");
        assert_eq!(named[0], (3, vec!["A".to_owned(), "x, y".to_owned()]));
        assert_eq!(named[1], (4, vec!["B".to_owned(), "1\"".to_owned()]));
    }

    #[test]
    fn lines_are_counted_through_blank_ones_and_quoted_breaks() {
        let found = read(b"id,v\n\n\nA,\"1\n2\"\n,\n\r\n\r\nB,3\n");
        let lines: Vec<u64> = found.iter().map(|(line, _)| *line).collect();
        assert_eq!(lines, [4, 9]);
    }

    #[test]
    fn what_cannot_be_read_is_told() {
        let fault = |text: &[u8]| match Rows::new(text) {
            Err(fault) => fault.to_string(),
            Ok(mut rows) => loop {
                match rows.next() {
                    Some(Err(fault)) => break fault.to_string(),
                    Some(Ok(_)) => {}
                    None => break String::new(),
                }
            },
        };
        assert!(fault(b"").contains("empty"));
        assert!(fault(b"\xFF\xFEi\0d\0").contains("UTF-16"));
        assert!(
            fault(b"id,v\n\"A\",1\nB,\"2\nC,3\n").starts_with("line 3: A double quote opens here")
        );
        assert!(fault(b"id,v\n\"A,1\n\"B\",2\n").contains("perhaps a double quote"));
        assert!(fault(b"id,ID\n").starts_with("line 1, column ID: Two columns"));
        assert!(fault(b"id,v\nA\n").starts_with("line 2: The row has 1 fields, the header 2."));
        assert!(fault(b"id,v\nA,1\n\nB,\xFC\n").starts_with("line 4: The text is not UTF-8."));
    }

    #[test]
    fn a_comma_is_decimal_only_where_it_does_not_separate() {
        let number = |text: &str| {
            let mut rows = Rows::new(text.as_bytes()).unwrap();
            rows.next().unwrap().unwrap().number(1)
        };
        assert_eq!(number("id;v\nA;3,5\n"), Some(3.5));
        assert_eq!(number("id;v\nA;1.234,5\n"), None);
        assert_eq!(number("id,v\nA,\"3,5\"\n"), None);
        assert_eq!(number("id,v\nA,-1e-3\n"), Some(-0.001));
        assert_eq!(number("id,v\nA,nan\n"), None);
        assert_eq!(number("id,v\nA,inf\n"), None);
    }
}
