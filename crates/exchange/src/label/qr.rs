//! QR codes after ISO/IEC 18004:2015, as a matrix of modules.

use qrcode::bits::Bits;
use qrcode::{EcLevel, QrCode, Version};

/// Modules of white that must surround a code: ISO/IEC 18004:2015, 6.3.8.
pub const QUIET_ZONE: u32 = 4;

/// ECI designator of UTF-8 (AIM ECI 000026).
const UTF_8: u32 = 26;

/// A QR code's square of modules, without its quiet zone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Modules {
    side: u32,
    dark: Vec<bool>,
    level: Level,
}

/// Error correction: the share of codewords that may be lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    /// 15 %.
    M,
    /// 25 %: the choice for labels that get wet and dirty.
    Q,
}

impl Modules {
    /// Encodes the text at a level, in the smallest version that holds it; `None` when none does.
    pub fn encode(text: &str, level: Level) -> Option<Self> {
        let correction = match level {
            Level::M => EcLevel::M,
            Level::Q => EcLevel::Q,
        };
        let code = if text.is_ascii() {
            QrCode::with_error_correction_level(text, correction).ok()?
        } else {
            encode_utf8(text, correction)?
        };
        let dark = code
            .to_colors()
            .into_iter()
            .map(|color| color == qrcode::Color::Dark)
            .collect();
        Some(Self {
            side: code.width() as u32,
            dark,
            level,
        })
    }

    /// Modules along one side: 17 + 4 × version.
    pub fn side(&self) -> u32 {
        self.side
    }

    /// The level of error correction.
    pub fn level(&self) -> Level {
        self.level
    }

    /// Whether the module is dark; outside the square everything is light.
    pub fn is_dark(&self, column: u32, row: u32) -> bool {
        column < self.side && row < self.side && self.dark[(row * self.side + column) as usize]
    }

    /// The dark modules as horizontal bars: (column, row, length).
    pub fn bars(&self) -> impl Iterator<Item = (u32, u32, u32)> + '_ {
        (0..self.side).flat_map(move |row| {
            let mut column = 0;
            std::iter::from_fn(move || {
                while column < self.side && !self.is_dark(column, row) {
                    column += 1;
                }
                let start = column;
                while self.is_dark(column, row) {
                    column += 1;
                }
                (column > start).then_some((start, row, column - start))
            })
        })
    }
}

/// Text beyond ASCII goes in whole as bytes that say they are UTF-8: left to guess, an encoder
/// may take some of them for Kanji, and a reader may take them for Latin-1.
fn encode_utf8(text: &str, correction: EcLevel) -> Option<QrCode> {
    (1..=40).find_map(|version| {
        let mut bits = Bits::new(Version::Normal(version));
        bits.push_eci_designator(UTF_8).ok()?;
        bits.push_byte_data(text.as_bytes()).ok()?;
        bits.push_terminator(correction).ok()?;
        QrCode::with_bits(bits, correction).ok()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn side(text: &str, level: Level) -> u32 {
        Modules::encode(text, level).unwrap().side()
    }

    /// ISO/IEC 18004:2015, table 7 (capacities; values from memory, very high confidence):
    /// version 1 holds 34/20/14 numeric/alphanumeric/byte characters at M and 27/16/11 at Q;
    /// version 2 holds 63/38/26 at M, version 3 holds 101/61/42 at M; side = 17 + 4 × version.
    #[test]
    fn the_smallest_version_that_holds_the_code_is_taken() {
        let table = [
            (Level::M, 1, [34, 20, 14]),
            (Level::Q, 1, [27, 16, 11]),
            (Level::M, 2, [63, 38, 26]),
            (Level::M, 3, [101, 61, 42]),
        ];
        for (level, version, capacities) in table {
            for (character, capacity) in ["7", "A", "a"].into_iter().zip(capacities) {
                assert_eq!(side(&character.repeat(capacity), level), 17 + 4 * version);
                assert_eq!(
                    side(&character.repeat(capacity + 1), level),
                    21 + 4 * version
                );
            }
        }
    }

    /// A code of 13 alphanumeric characters fits version 1 at Q, which holds 16.
    #[test]
    fn a_usual_code_takes_the_smallest_symbol() {
        assert_eq!(side("HB26-0123-045", Level::Q), 21);
    }

    /// ISO/IEC 18004:2015, 6.3.3: a finder is 7 × 7 dark, 5 × 5 light, 3 × 3 dark.
    #[test]
    fn finders_stand_in_three_corners() {
        let modules = Modules::encode("HB26-0123-045", Level::Q).unwrap();
        let far = modules.side() - 7;
        for (left, top) in [(0, 0), (far, 0), (0, far)] {
            for y in 0..7 {
                for x in 0..7 {
                    let ring = x.min(y).min(6 - x).min(6 - y);
                    assert_eq!(modules.is_dark(left + x, top + y), ring != 1, "{x} {y}");
                }
            }
        }
        assert!(!modules.is_dark(modules.side(), 0));
    }

    #[test]
    fn bars_cover_the_dark_modules_and_nothing_else() {
        let modules = Modules::encode("Ägir-7", Level::Q).unwrap();
        let mut drawn = vec![false; (modules.side() * modules.side()) as usize];
        for (column, row, length) in modules.bars() {
            assert!(length > 0);
            for x in column..column + length {
                drawn[(row * modules.side() + x) as usize] = true;
            }
        }
        assert_eq!(drawn, modules.dark);
    }

    #[test]
    fn what_no_version_holds_is_none() {
        assert_eq!(Modules::encode(&"A".repeat(4000), Level::Q), None);
        assert_eq!(Modules::encode(&"é".repeat(2000), Level::M), None);
    }
}
