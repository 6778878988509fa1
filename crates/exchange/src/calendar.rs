//! iCalendar (RFC 5545) of whole days: plain entries in, the text of an `.ics` file out.
//!
//! Nothing here reads the clock: the moment of writing is handed in, so the same entries give
//! the same bytes.

use chrono::{Days, NaiveDate, NaiveDateTime};

/// Octets that a line may have before its line break (RFC 5545, 3.1).
const LONGEST_LINE: usize = 75;

/// An entry of the calendar, over whole days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CalendarEntry {
    /// Identifies the entry for ever: a calendar that reads the file again replaces the entry of
    /// the same identifier instead of adding another.
    pub uid: String,
    /// One line.
    pub summary: String,
    /// More, with line breaks as '\n'; may be empty.
    pub description: String,
    /// The first day.
    pub first: NaiveDate,
    /// The last day, itself included. Not before the first: an earlier day counts as the first.
    pub last: NaiveDate,
    /// What kind of entry.
    pub kind: EntryKind,
    /// Whether to remind of it at seven in the morning of its first day (`VALARM`).
    pub alarm: bool,
}

/// What kind of entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EntryKind {
    /// Something that lasts from the first day to the last: a `VEVENT`.
    Event,
    /// Something to do, from the first day on and due on the last: a `VTODO`.
    Todo {
        /// Whether it is done.
        done: bool,
    },
}

/// What a calendar of this program says of its maker.
const MAKER: &str = "-//Binewright//Calendar//EN";

/// Whether these bytes are a calendar that [`write()`] made.
pub fn is_own(bytes: &[u8]) -> bool {
    let line = format!("PRODID:{MAKER}\r\n");
    let mut parts = bytes.windows(line.len());
    bytes.starts_with(b"BEGIN:VCALENDAR\r\n") && parts.any(|part| part == line.as_bytes())
}

/// Writes a calendar of this name; `written` is the moment of writing in UTC (`DTSTAMP`).
pub fn write(name: &str, entries: &[CalendarEntry], written: NaiveDateTime) -> String {
    let mut out = Lines::default();
    out.line("BEGIN", "VCALENDAR");
    out.line("VERSION", "2.0");
    out.line("PRODID", MAKER);
    out.line("CALSCALE", "GREGORIAN");
    out.text("X-WR-CALNAME", name);
    let stamp = written.format("%Y%m%dT%H%M%SZ").to_string();
    for entry in entries {
        let last = entry.last.max(entry.first);
        let component = match entry.kind {
            EntryKind::Event => "VEVENT",
            EntryKind::Todo { .. } => "VTODO",
        };
        out.line("BEGIN", component);
        out.text("UID", &entry.uid);
        out.line("DTSTAMP", &stamp);
        match entry.kind {
            EntryKind::Event => {
                out.line("DTSTART;VALUE=DATE", &date(entry.first));
                // The end is the first day after (3.6.1); after the last day there is, none.
                if let Some(end) = last.checked_add_days(Days::new(1)) {
                    out.line("DTEND;VALUE=DATE", &date(end));
                }
                // Whoever is to look into a box that day is not away for it.
                out.line("TRANSP", "TRANSPARENT");
            }
            EntryKind::Todo { done } => {
                // DUE names the day itself and must not come before DTSTART; some readers want it
                // strictly later, so what starts and is due on one day says only when it is due.
                if entry.first < last {
                    out.line("DTSTART;VALUE=DATE", &date(entry.first));
                }
                out.line("DUE;VALUE=DATE", &date(last));
                out.line("STATUS", if done { "COMPLETED" } else { "NEEDS-ACTION" });
            }
        }
        out.text("SUMMARY", &entry.summary);
        if !entry.description.is_empty() {
            out.text("DESCRIPTION", &entry.description);
        }
        if entry.alarm {
            out.line("BEGIN", "VALARM");
            out.line("ACTION", "DISPLAY");
            out.text("DESCRIPTION", &entry.summary);
            // From the beginning of the day on, in the time of the place; what has no beginning is due.
            let from_due = matches!(entry.kind, EntryKind::Todo { .. }) && entry.first >= last;
            out.line(
                if from_due {
                    "TRIGGER;RELATED=END"
                } else {
                    "TRIGGER"
                },
                "PT7H",
            );
            out.line("END", "VALARM");
        }
        out.line("END", component);
    }
    out.line("END", "VCALENDAR");
    out.text
}

fn date(day: NaiveDate) -> String {
    day.format("%Y%m%d").to_string()
}

/// Content lines, ended by CRLF and folded.
#[derive(Default)]
struct Lines {
    text: String,
}

impl Lines {
    /// A property whose value holds nothing to escape.
    fn line(&mut self, name: &str, value: &str) {
        let mut room = LONGEST_LINE;
        for character in name.chars().chain([':']).chain(value.chars()) {
            if character.len_utf8() > room {
                self.text.push_str("\r\n ");
                room = LONGEST_LINE - 1;
            }
            self.text.push(character);
            room -= character.len_utf8();
        }
        self.text.push_str("\r\n");
    }

    /// A property of type TEXT (3.3.11): backslash, semicolon, comma and line break are escaped,
    /// other control characters, which the grammar has no place for, become blanks.
    fn text(&mut self, name: &str, value: &str) {
        let mut escaped = String::with_capacity(value.len());
        for character in value.replace("\r\n", "\n").chars() {
            match character {
                '\\' | ';' | ',' => escaped.extend(['\\', character]),
                '\n' => escaped.push_str("\\n"),
                control if control.is_control() => escaped.push(' '),
                other => escaped.push(other),
            }
        }
        self.line(name, &escaped);
    }
}

#[cfg(test)]
mod tests {
    use icalendar::parser::{read_calendar, unfold};

    use super::*;

    fn day(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).unwrap()
    }

    fn written() -> NaiveDateTime {
        day(2026, 1, 5).and_hms_opt(7, 30, 0).unwrap()
    }

    fn entry(first: NaiveDate, last: NaiveDate, kind: EntryKind) -> CalendarEntry {
        CalendarEntry {
            uid: "chill-1@binewright".to_owned(),
            summary: "Chill".to_owned(),
            description: String::new(),
            first,
            last,
            kind,
            alarm: false,
        }
    }

    /// RFC 5545 (Desruisseaux 2009), 3.4, 3.6, 3.6.1, 3.7 and 3.8.7.2: VERSION and PRODID, then
    /// UID, DTSTAMP in UTC and DTSTART per event, every line ended by CRLF.
    #[test]
    fn a_calendar_is_written_line_by_line() {
        let text = write(
            "Season",
            &[entry(day(2026, 3, 1), day(2026, 3, 1), EntryKind::Event)],
            written(),
        );
        let expected = [
            "BEGIN:VCALENDAR",
            "VERSION:2.0",
            "PRODID:-//Binewright//Calendar//EN",
            "CALSCALE:GREGORIAN",
            "X-WR-CALNAME:Season",
            "BEGIN:VEVENT",
            "UID:chill-1@binewright",
            "DTSTAMP:20260105T073000Z",
            "DTSTART;VALUE=DATE:20260301",
            "DTEND;VALUE=DATE:20260302",
            "TRANSP:TRANSPARENT",
            "SUMMARY:Chill",
            "END:VEVENT",
            "END:VCALENDAR",
            "",
        ];
        assert_eq!(text, expected.join("\r\n"));
    }

    /// 84 days of chill from 2026-01-05 run to the end of 2026-03-29; the exclusive end is
    /// 2026-03-30 = start + 84 days (RFC 5545, 3.6.1).
    #[test]
    fn the_end_is_the_day_after_the_last() {
        let first = day(2026, 1, 5);
        let text = write(
            "Season",
            &[entry(first, first + Days::new(83), EntryKind::Event)],
            written(),
        );
        assert!(text.contains("DTSTART;VALUE=DATE:20260105\r\nDTEND;VALUE=DATE:20260330\r\n"));
    }

    /// 2028 is a leap year: 2028-02-28 + 2 days = 2028-03-01.
    #[test]
    fn a_leap_day_counts() {
        let text = write(
            "Season",
            &[entry(day(2028, 2, 28), day(2028, 2, 29), EntryKind::Event)],
            written(),
        );
        assert!(text.contains("DTSTART;VALUE=DATE:20280228\r\nDTEND;VALUE=DATE:20280301\r\n"));
        let text = write(
            "Season",
            &[entry(
                day(2026, 12, 31),
                day(2026, 12, 31),
                EntryKind::Event,
            )],
            written(),
        );
        assert!(text.contains("DTEND;VALUE=DATE:20270101\r\n"));
    }

    /// RFC 5545, 3.6.2 and 3.8.2.3: DUE has the value type of DTSTART and does not precede it.
    #[test]
    fn a_to_do_is_due_on_its_last_day() {
        let one_day = entry(
            day(2026, 3, 1),
            day(2026, 3, 1),
            EntryKind::Todo { done: false },
        );
        let text = write("Season", &[one_day], written());
        assert!(text.contains("BEGIN:VTODO\r\n"));
        assert!(text.contains("\r\nDUE;VALUE=DATE:20260301\r\nSTATUS:NEEDS-ACTION\r\n"));
        assert!(!text.contains("DTSTART") && !text.contains("DTEND") && !text.contains("DURATION"));

        let week = entry(
            day(2026, 3, 1),
            day(2026, 3, 7),
            EntryKind::Todo { done: true },
        );
        let text = write("Season", &[week], written());
        assert!(text.contains(
            "DTSTART;VALUE=DATE:20260301\r\nDUE;VALUE=DATE:20260307\r\nSTATUS:COMPLETED\r\n"
        ));
    }

    /// RFC 5545, 3.1: at most 75 octets before a line break, folded by CRLF and a blank, never
    /// within a character; unfolding gives the line back.
    #[test]
    fn long_lines_fold_between_characters() {
        for shift in 0..4 {
            let summary = format!(
                "{}{}",
                "x".repeat(shift),
                "Łąka × Ägirsfeld ♀ 字 🌱 ".repeat(12)
            );
            let mut long = entry(day(2026, 3, 1), day(2026, 3, 1), EntryKind::Event);
            long.summary.clone_from(&summary);
            let text = write("Season", &[long], written());
            assert!(text.split("\r\n").all(|line| line.len() <= 75));
            assert!(text.split("\r\n").any(|line| line.starts_with(' ')));
            assert!(
                text.replace("\r\n ", "")
                    .contains(&format!("SUMMARY:{summary}\r\n"))
            );
        }
        let exact = "x".repeat(75 - "SUMMARY:".len());
        let mut entry = entry(day(2026, 3, 1), day(2026, 3, 1), EntryKind::Event);
        entry.summary.clone_from(&exact);
        assert!(write("S", &[entry], written()).contains(&format!("SUMMARY:{exact}\r\n")));
    }

    /// RFC 5545, 3.3.11: '\\', ';', ',' and line breaks are escaped, a colon is not.
    #[test]
    fn text_is_escaped() {
        let mut entry = entry(day(2026, 3, 1), day(2026, 3, 1), EntryKind::Event);
        entry.summary = "Box C-12: dry, mouldy; see \\notes".to_owned();
        entry.description = "first\nsecond\r\nthird\tfourth".to_owned();
        let text = write("Season", &[entry], written());
        assert!(text.contains("SUMMARY:Box C-12: dry\\, mouldy\\; see \\\\notes\r\n"));
        assert!(text.contains("DESCRIPTION:first\\nsecond\\nthird fourth\r\n"));
    }

    /// The file read by another's parser (the `icalendar` crate).
    #[test]
    fn another_parser_reads_what_is_written() {
        let mut event = entry(day(2026, 1, 5), day(2026, 3, 29), EntryKind::Event);
        event.summary =
            "Chill of lot HB26-0001, box C-12; Łąka × Ägirsfeld, and a good many more words"
                .to_owned();
        event.description = "Look at it.\nAdd water, if dry.".to_owned();
        let todo = entry(
            day(2026, 1, 6),
            day(2026, 1, 6),
            EntryKind::Todo { done: false },
        );
        let text = unfold(&write("Season", &[event.clone(), todo], written()));
        let calendar = read_calendar(&text).unwrap();
        let names: Vec<&str> = calendar
            .components
            .iter()
            .map(|part| part.name.as_str())
            .collect();
        assert_eq!(names, ["VEVENT", "VTODO"]);
        let value = |part: usize, name: &str| {
            let property = calendar.components[part].find_prop(name).unwrap();
            property.val.clone().unescape_text().as_str().to_owned()
        };
        assert_eq!(value(0, "SUMMARY"), event.summary);
        assert_eq!(value(0, "DESCRIPTION"), event.description);
        assert_eq!(value(0, "DTEND"), "20260330");
        assert_eq!(value(1, "DUE"), "20260106");
    }
}
