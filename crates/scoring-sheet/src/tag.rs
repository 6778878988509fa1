//! What the QR code of a page says: which sheet, which page, on what paper, in which layout.
//!
//! Letters and figures only, so that a small code holds it: `BWS`, the version of the layout, then in figures to the
//! base of 32 the sheet (26), the page (2), the paper (1), and a check over all that (4).

use crate::layout::Paper;
use std::fmt;

/// The layout that this program prints and reads.
pub const VERSION: u8 = 1;
/// How each code begins.
const BEGINNING: &str = "BWS";
/// RFC 4648, table 3.
const FIGURES: &[u8; 32] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";

/// What the QR code of a page says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tag {
    /// The sheet, by an id that no other has.
    pub sheet: u128,
    /// The page, from 0.
    pub page: u16,
    /// The paper.
    pub paper: Paper,
    /// Whether it lies across.
    pub landscape: bool,
}

/// Why a code is none of a sheet that can be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotATag {
    /// It is something else.
    Other,
    /// It is a sheet of a layout that this program doesn't know.
    Version(u8),
}

impl Tag {
    /// Reads what a code says.
    ///
    /// # Errors
    /// [`NotATag`] for anything else.
    pub fn read(text: &str) -> Result<Self, NotATag> {
        let rest = text.strip_prefix(BEGINNING).ok_or(NotATag::Other)?;
        let version = rest.as_bytes().first().ok_or(NotATag::Other)?;
        if !version.is_ascii_digit() || rest.len() != 34 || !rest.is_ascii() {
            return Err(NotATag::Other);
        }
        let (said, check) = rest.split_at(30);
        if figures(check).ok_or(NotATag::Other)? != u128::from(check_of(said)) {
            return Err(NotATag::Other);
        }
        if version - b'0' != VERSION {
            return Err(NotATag::Version(version - b'0'));
        }
        let part = |from: usize, to: usize| figures(&said[from..to]).ok_or(NotATag::Other);
        let (paper, landscape) = match part(29, 30)? {
            0 => (Paper::A4, false),
            1 => (Paper::A4, true),
            2 => (Paper::Letter, false),
            3 => (Paper::Letter, true),
            _ => return Err(NotATag::Other),
        };
        Ok(Self {
            sheet: part(1, 27)?,
            page: part(27, 29)? as u16,
            paper,
            landscape,
        })
    }
}

impl fmt::Display for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut said = String::with_capacity(34);
        said.push(char::from(b'0' + VERSION));
        put(&mut said, self.sheet, 26);
        put(&mut said, u128::from(self.page), 2);
        let paper = match self.paper {
            Paper::A4 => 0,
            Paper::Letter => 2,
        };
        put(&mut said, paper + u128::from(self.landscape), 1);
        let check = check_of(&said);
        put(&mut said, u128::from(check), 4);
        write!(f, "{BEGINNING}{said}")
    }
}

/// The lowest 20 bits of the CRC-32 of what is said.
fn check_of(said: &str) -> u32 {
    crc32fast::hash(said.as_bytes()) & 0xF_FFFF
}

fn put(text: &mut String, number: u128, figures: u32) {
    for place in (0..figures).rev() {
        let figure = (number >> (5 * place)) & 31;
        text.push(char::from(FIGURES[figure as usize]));
    }
}

fn figures(text: &str) -> Option<u128> {
    text.bytes().try_fold(0_u128, |number, byte| {
        let figure = FIGURES.iter().position(|&figure| figure == byte)?;
        Some((number << 5) | figure as u128)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::MODULES;
    use proptest::prelude::*;

    fn tag() -> impl Strategy<Value = Tag> {
        (any::<u128>(), 0..1024_u16, any::<bool>(), any::<bool>()).prop_map(
            |(sheet, page, a4, landscape)| Tag {
                sheet,
                page,
                paper: if a4 { Paper::A4 } else { Paper::Letter },
                landscape,
            },
        )
    }

    proptest! {
        #[test]
        fn what_is_written_is_read(tag in tag()) {
            let text = tag.to_string();
            prop_assert_eq!(text.len(), 37);
            prop_assert_eq!(Tag::read(&text), Ok(tag));
            let code = qrcode::QrCode::with_error_correction_level(&text, qrcode::EcLevel::Q).unwrap();
            prop_assert_eq!(code.width() as u32, MODULES);
        }

        #[test]
        fn one_letter_wrong_is_noticed(tag in tag(), at in 4..37_usize, by in 1..32_usize) {
            let mut text = tag.to_string().into_bytes();
            let figure = FIGURES.iter().position(|figure| *figure == text[at]).unwrap();
            text[at] = FIGURES[(figure + by) % 32];
            prop_assert_eq!(Tag::read(std::str::from_utf8(&text).unwrap()), Err(NotATag::Other));
        }

        #[test]
        fn anything_else_is_none(text in ".{0,60}") {
            prop_assert!(Tag::read(&text).is_err());
        }
    }

    #[test]
    fn a_later_layout_is_told_from_something_else() {
        let tag = Tag {
            sheet: 7,
            page: 0,
            paper: Paper::A4,
            landscape: false,
        };
        let said = tag.to_string()[4..33].to_owned();
        let later = format!("4{said}");
        let mut text = format!("BWS{later}");
        put(&mut text, u128::from(check_of(&later)), 4);
        assert_eq!(Tag::read(&text), Err(NotATag::Version(4)));
        assert_eq!(Tag::read("HB26-0001"), Err(NotATag::Other));
    }
}
