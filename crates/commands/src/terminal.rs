//! What goes to a terminal: one thing a line, whatever stands in a project, and no fuss about a closed pipe.

use std::fmt::Write as _;
use std::io::{self, Write};

/// The text as one line: signs that move the cursor, colour it or end the line are written as `\\n`, `\\u{1b}`.
pub(crate) fn plain(text: &str) -> String {
    let mut line = String::with_capacity(text.len());
    for sign in text.chars() {
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
    line
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
}
