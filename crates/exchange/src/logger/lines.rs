//! Bytes as lines of text, as they stream in.

use super::mapping::Encoding;
use encoding_rs_io::{DecodeReaderBytes, DecodeReaderBytesBuilder};
use memchr::memchr2;
use std::borrow::Cow;
use std::io::{self, BufRead as _, BufReader, ErrorKind, Read};

/// The longest line read whole. A longer one isn't of a logger, and must not fill the memory.
const LONGEST: usize = 16 * 1024;

/// The lines of a file: ended by a line feed, a carriage return or both.
pub(super) struct Lines<R: Read> {
    reader: BufReader<DecodeReaderBytes<R, Vec<u8>>>,
    line: Vec<u8>,
    number: u64,
    after_return: bool,
}

/// One line.
pub(super) struct FileLine<'l> {
    /// Its number, from 1.
    pub(super) number: u64,
    pub(super) text: Cow<'l, str>,
    /// Whether its end was cut off.
    pub(super) too_long: bool,
}

impl<R: Read> Lines<R> {
    pub(super) fn of(reader: R, encoding: Encoding) -> Self {
        let letters = match encoding {
            Encoding::Utf8 => encoding_rs::UTF_8,
            Encoding::Utf16Le => encoding_rs::UTF_16LE,
            Encoding::Utf16Be => encoding_rs::UTF_16BE,
            Encoding::Western => encoding_rs::WINDOWS_1252,
        };
        // A byte order mark is taken away, and beats what was asked for.
        let decoded = DecodeReaderBytesBuilder::new()
            .encoding(Some(letters))
            .bom_override(true)
            .build(reader);
        Self {
            reader: BufReader::with_capacity(64 * 1024, decoded),
            line: Vec::new(),
            number: 0,
            after_return: false,
        }
    }

    /// The next line; `None` after the last.
    pub(super) fn next(&mut self) -> io::Result<Option<FileLine<'_>>> {
        self.line.clear();
        let (mut begun, mut too_long) = (false, false);
        loop {
            let held = match self.reader.fill_buf() {
                Ok(held) => held,
                Err(error) if error.kind() == ErrorKind::Interrupted => continue,
                Err(error) => return Err(error),
            };
            if held.is_empty() {
                if !begun {
                    return Ok(None);
                }
                break;
            }
            if std::mem::take(&mut self.after_return) && held[0] == b'\n' {
                self.reader.consume(1);
                continue;
            }
            begun = true;
            let end = memchr2(b'\n', b'\r', held);
            let part = &held[..end.unwrap_or(held.len())];
            let room = LONGEST.saturating_sub(self.line.len());
            too_long |= part.len() > room;
            self.line.extend_from_slice(&part[..part.len().min(room)]);
            let used = part.len() + usize::from(end.is_some());
            self.after_return = end.is_some_and(|end| held[end] == b'\r');
            self.reader.consume(used);
            if end.is_some() {
                break;
            }
        }
        self.number += 1;
        Ok(Some(FileLine {
            number: self.number,
            text: match std::str::from_utf8(&self.line) {
                Ok(text) => text.into(),
                // Where the line was cut off, in the middle of a letter.
                Err(_) => String::from_utf8_lossy(&self.line),
            },
            too_long,
        }))
    }
}

/// How the bytes at the beginning of a file are letters.
pub(super) fn guess_encoding(head: &[u8]) -> Encoding {
    match head {
        [0xFF, 0xFE, ..] => return Encoding::Utf16Le,
        [0xFE, 0xFF, ..] => return Encoding::Utf16Be,
        _ => {}
    }
    // Plain letters in UTF-16 have a zero in every second byte.
    let zeros = |odd: usize| {
        let bytes = head.iter().skip(odd).step_by(2);
        bytes.filter(|byte| **byte == 0).count() * 8 > head.len()
    };
    match (zeros(0), zeros(1)) {
        (false, true) => return Encoding::Utf16Le,
        (true, false) => return Encoding::Utf16Be,
        _ => {}
    }
    match std::str::from_utf8(head) {
        Ok(_) => Encoding::Utf8,
        // The head may end in the middle of a letter.
        Err(error) if error.error_len().is_none() => Encoding::Utf8,
        Err(_) => Encoding::Western,
    }
}
