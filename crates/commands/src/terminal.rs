//! What goes to a terminal: one thing a line, whatever stands in a project, and no fuss about a closed pipe.

use chrono::NaiveDate;
use std::borrow::Cow;
use std::fmt::Write as _;
use std::io::{self, Write};

/// A word longer than this is shortened, unless it is a path.
const LONGEST_WORD: usize = 120;
/// How much of it is left.
const LEFT_OF_WORD: usize = 60;
/// A line longer than this is cut.
const LONGEST_LINE: usize = 1000;

/// The text as one line of bearable length: signs that move the cursor, colour it or end the line are written as `\\n`,
/// `\\u{1b}`, and endless codes are shortened.
pub(crate) fn plain(text: &str) -> String {
    let mut line = String::with_capacity(text.len().min(LONGEST_LINE));
    let mut length = 0;
    for word in text.split_inclusive(' ') {
        let long = !word.contains('/') && word.chars().nth(LONGEST_WORD).is_some();
        let left = if long { LEFT_OF_WORD } else { usize::MAX };
        let mut signs = word.chars();
        for sign in signs.by_ref().take(left) {
            if length == LONGEST_LINE {
                line.push('…');
                return line;
            }
            length += 1;
            push_plain(&mut line, sign);
        }
        if signs.next().is_some() {
            line.push('…');
            line.extend(word.ends_with(' ').then_some(' '));
        }
    }
    line
}

/// A text as it is, unless it is too long to be borne: then it is cut, and that is said.
pub(crate) fn bearable(text: &str) -> (Cow<'_, str>, bool) {
    if text.chars().nth(LONGEST_LINE).is_none() {
        return (text.into(), false);
    }
    let left: String = text.chars().take(LEFT_OF_WORD).collect();
    (format!("{left}…").into(), true)
}

fn push_plain(line: &mut String, sign: char) {
    // Beside the control characters, those that turn the direction of what follows or end a line unseen.
    let unseen = sign.is_control()
        || matches!(sign, '\u{2028}' | '\u{2029}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    if unseen {
        // Writing into a text can't fail.
        let _ = write!(line, "{}", sign.escape_default());
    } else {
        line.push(sign);
    }
}

/// A day as it is written on the command line.
pub(crate) fn day(text: &str) -> Result<NaiveDate, String> {
    text.parse().map_err(|error| {
        format!(
            "that is no day ({error}); write the year, the month and the day, such as 2026-03-01"
        )
    })
}

/// A line on standard error. Nobody is left to tell if this fails.
pub(crate) fn tell(err: &mut dyn Write, line: &str) {
    let _ = writeln!(err, "{}", plain(line));
}

/// A line on standard output.
pub(crate) fn print(out: &mut dyn Write, line: &str) -> Result<(), String> {
    writeln!(out, "{}", plain(line))
        .map_err(|error| format!("the output can't be written: {error}."))
}

/// Standard output that knows whether its reader went away: `binewright check … | head -1` has done what was asked, and
/// goes on so that files it was to write are written.
pub(crate) struct Pipe<'a> {
    inner: &'a mut dyn Write,
    pub(crate) is_closed: bool,
}

impl<'a> Pipe<'a> {
    pub(crate) fn new(inner: &'a mut dyn Write) -> Self {
        Self {
            inner,
            is_closed: false,
        }
    }

    /// What was done, or `unread` where nobody reads any more.
    fn watched<T>(&mut self, done: io::Result<T>, unread: T) -> io::Result<T> {
        match done {
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => {
                self.is_closed = true;
                Ok(unread)
            }
            done => done,
        }
    }
}

impl Write for Pipe<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let done = self.inner.write(bytes);
        self.watched(done, bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        let done = self.inner.flush();
        self.watched(done, ())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_can_neither_forge_a_line_nor_move_the_cursor() {
        assert_eq!(plain("26-01\nfault: none"), "26-01\\nfault: none");
        assert_eq!(plain("\u{1b}[2J"), "\\u{1b}[2J");
        assert_eq!(plain("Grüne Höhe"), "Grüne Höhe");
    }

    #[test]
    fn what_is_endless_is_shortened_and_a_path_is_not() {
        let (code, path) = ("x".repeat(500), format!("/{}", "y".repeat(200)));
        let short = format!("{}… is {path}", "x".repeat(LEFT_OF_WORD));
        assert_eq!(plain(&format!("{code} is {path}")), short);
        let line = plain(&"a b ".repeat(10_000));
        assert_eq!(line.chars().count(), LONGEST_LINE + 1);
        assert!(line.ends_with('…'));
    }
}
