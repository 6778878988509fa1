//! Tables as CSV after RFC 4180, safe to open in a spreadsheet.

/// Writes a header and rows: fields quoted where they must be, lines ended by CRLF, in UTF-8.
///
/// A text that a spreadsheet would run as a formula (it begins with `=`, `+`, `-`, `@`, a tab or a
/// carriage return) gets an apostrophe before it, unless it is a plain number such as `-3.5`.
///
/// ```
/// use exchange::table;
/// let rows = [vec!["HB26-0001".to_owned(), "female, 2x".to_owned()]];
/// assert_eq!(table::csv(&["code", "kind"], &rows), "code,kind\r\nHB26-0001,\"female, 2x\"\r\n");
/// ```
pub fn csv(header: &[&str], rows: &[Vec<String>]) -> String {
    let mut out = String::new();
    record(&mut out, header.iter().copied());
    for row in rows {
        record(&mut out, row.iter().map(String::as_str));
    }
    out
}

fn record<'a>(out: &mut String, fields: impl ExactSizeIterator<Item = &'a str>) {
    let alone = fields.len() == 1;
    for (index, field) in fields.enumerate() {
        if index > 0 {
            out.push(',');
        }
        let guard = if would_run(field) { "'" } else { "" };
        // A record of one empty field would read as no record at all.
        if field.contains(['"', ',', '\r', '\n']) || (alone && field.is_empty()) {
            out.push('"');
            out.push_str(guard);
            out.push_str(&field.replace('"', "\"\""));
            out.push('"');
        } else {
            out.push_str(guard);
            out.push_str(field);
        }
    }
    out.push_str("\r\n");
}

/// Whether a spreadsheet would take the field for a formula.
pub fn would_run(field: &str) -> bool {
    field.starts_with(['=', '+', '-', '@', '\t', '\r']) && !is_number(field)
}

fn is_number(field: &str) -> bool {
    let plain = |c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | 'e' | 'E');
    field.chars().all(plain) && field.parse::<f64>().is_ok_and(f64::is_finite)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(fields: &[&str]) -> String {
        csv(fields, &[])
    }

    /// RFC 4180 (Shafranovich 2005), section 2: CRLF after each record (1, 2); fields with line
    /// breaks, double quotes or commas in double quotes (6); a double quote doubled (7).
    #[test]
    fn fields_are_quoted_as_the_standard_says() {
        assert_eq!(line(&["aaa", "bbb", "ccc"]), "aaa,bbb,ccc\r\n");
        assert_eq!(line(&["aaa", "b\r\nbb", "ccc"]), "aaa,\"b\r\nbb\",ccc\r\n");
        assert_eq!(line(&["aaa", "b\"bb", "ccc"]), "aaa,\"b\"\"bb\",ccc\r\n");
        assert_eq!(line(&["a,b", "", " c "]), "\"a,b\",, c \r\n");
        assert_eq!(line(&[""]), "\"\"\r\n");
    }

    #[test]
    fn rows_follow_the_header() {
        let rows = [
            vec!["HB26-0001".to_owned(), "Łąka".to_owned()],
            vec!["HB26-0002".to_owned(), String::new()],
        ];
        assert_eq!(
            csv(&["code", "female"], &rows),
            "code,female\r\nHB26-0001,Łąka\r\nHB26-0002,\r\n"
        );
    }

    /// The characters that open a formula: OWASP, CSV Injection (from memory, high confidence).
    #[test]
    fn a_formula_is_defused_and_a_number_is_not() {
        assert_eq!(line(&["=1+2"]), "'=1+2\r\n");
        assert_eq!(
            line(&["=HYPERLINK(\"x\",\"y\")"]),
            "\"'=HYPERLINK(\"\"x\"\",\"\"y\"\")\"\r\n"
        );
        assert_eq!(
            line(&["+A1", "-A1", "@SUM(A1)", "\tx"]),
            "'+A1,'-A1,'@SUM(A1),'\tx\r\n"
        );
        assert_eq!(line(&["\r=1"]), "\"'\r=1\"\r\n");
        assert_eq!(line(&["-1+1", "-2-3"]), "'-1+1,'-2-3\r\n");
        assert_eq!(
            line(&["-3.5", "+4", "-1e-7", "-inf", "-"]),
            "-3.5,+4,-1e-7,'-inf,'-\r\n"
        );
        assert_eq!(line(&["HB26-0001", "A=B"]), "HB26-0001,A=B\r\n");
    }

    /// Read back by another's reader (the `csv` crate): the same fields, guards apart.
    #[test]
    fn another_reader_reads_what_is_written() {
        let rows = [
            vec!["a\"b".to_owned(), "c,d\r\ne\nf".to_owned(), "\"".to_owned()],
            vec![String::new(), "plain".to_owned(), "×♀".to_owned()],
        ];
        let text = csv(&["one", "two", "three"], &rows);
        let mut reader = ::csv::Reader::from_reader(text.as_bytes());
        let read: Vec<Vec<String>> = reader
            .records()
            .map(|record| record.unwrap().iter().map(str::to_owned).collect())
            .collect();
        assert_eq!(read, rows);
    }
}
