//! The lines of a label as rows of text, at the largest size that fits a box.

use super::content::LabelLine;
use crate::typeface::{CAP_HEIGHT, Face, Zero, shape};

/// Smallest size of the lines in millimetres of em: 6 points. Common practice for the smallest
/// print that is read without effort.
pub(crate) const SMALLEST_LINE: f32 = 6.0 * 25.4 / 72.0;
/// Largest size of the lines: 16 points; beyond that space serves better as white.
pub(crate) const LARGEST_LINE: f32 = 16.0 * 25.4 / 72.0;
/// From baseline to baseline, in em.
const LEADING: f32 = 1.22;
/// The loosest leading, in em, when rows are spread to end level with the QR code.
const LOOSEST_LEADING: f32 = 1.6;
/// Between a caption and its value, and between two fields of one row, in em.
const CAPTION_GAP: f32 = 0.4;
const FIELD_GAP: f32 = 1.0;
/// Rows of one field each are easier to scan: fields share rows only for this much more size.
const SHARING_MUST_GAIN: f32 = 1.15;

/// A label's line, measured at 1 em.
#[derive(Clone, Debug)]
pub(crate) struct MeasuredLine {
    /// Its place among the label's lines.
    pub(crate) index: usize,
    caption: Option<Word>,
    /// Groups of words; a row breaks between groups rather than within one.
    groups: Vec<Vec<Word>>,
    face: Face,
}

#[derive(Clone, Debug)]
struct Word {
    text: String,
    width: f32,
}

impl MeasuredLine {
    pub(crate) fn new(index: usize, line: &LabelLine) -> Self {
        let face = if matches!(line, LabelLine::Cross { .. }) {
            Face::Bold
        } else {
            Face::Regular
        };
        let word = |text: &str, face| {
            let width = shape(face, text, Zero::Plain).width;
            Word {
                text: text.to_owned(),
                width,
            }
        };
        let words = |text: &str| {
            text.split_whitespace()
                .map(|text| word(text, face))
                .collect()
        };
        let groups = match line {
            LabelLine::Cross { female, male } => vec![words(&format!("{female} ×")), words(male)],
            other => other.value().split_whitespace().map(words).collect(),
        };
        Self {
            index,
            caption: line.caption().map(|text| word(text, Face::Regular)),
            groups,
            face,
        }
    }
}

/// The width of words in a row, in em.
fn width_of(words: &[Word], space: f32) -> f32 {
    words.iter().map(|word| word.width + space).sum::<f32>() - space
}

/// A stretch of text within a row; `x` in em from the row's start.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct TextPiece {
    pub(crate) line: usize,
    pub(crate) face: Face,
    pub(crate) text: String,
    pub(crate) x: f32,
}

/// How rows are made of lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Rows {
    /// Each line starts a row; values stand in a column right of their captions.
    OneEach,
    /// Lines follow one another while they fit.
    Shared,
}

/// Lines set at a size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct FittedText {
    /// Millimetres of em.
    pub(crate) size: f32,
    pub(crate) rows: Rows,
}

/// The largest size up to `largest` at which the lines fit a box of millimetres, or `None` when
/// they don't even at the smallest.
pub(crate) fn fit(
    lines: &[MeasuredLine],
    width: f32,
    height: f32,
    largest: f32,
) -> Option<FittedText> {
    let each = fit_rows(lines, width, height, largest, Rows::OneEach);
    let shared = fit_rows(lines, width, height, largest, Rows::Shared);
    match (each, shared) {
        (Some(each), Some(shared)) if shared >= each * SHARING_MUST_GAIN => Some(FittedText {
            size: shared,
            rows: Rows::Shared,
        }),
        (Some(each), _) => Some(FittedText {
            size: each,
            rows: Rows::OneEach,
        }),
        (None, shared) => shared.map(|size| FittedText {
            size,
            rows: Rows::Shared,
        }),
    }
}

fn fit_rows(
    lines: &[MeasuredLine],
    width: f32,
    height: f32,
    largest: f32,
    rows: Rows,
) -> Option<f32> {
    const STEPS: u32 = 12;
    let fits = |size: f32| {
        flow(lines, width / size, rows)
            .is_some_and(|set| size * height_of(set.len(), LEADING) <= height)
    };
    if !fits(SMALLEST_LINE) {
        return None;
    }
    if fits(largest) {
        return Some(largest);
    }
    let (mut good, mut bad) = (SMALLEST_LINE, largest);
    for _ in 0..STEPS {
        let middle = f32::midpoint(good, bad);
        if fits(middle) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    Some(good)
}

/// From the top of the capitals of the first row to the baseline of the last, in em.
fn height_of(rows: usize, leading: f32) -> f32 {
    if rows == 0 {
        0.0
    } else {
        CAP_HEIGHT + (rows as f32 - 1.0) * leading
    }
}

/// The leading in em that spreads rows over a height, kept between tight and loose.
pub(crate) fn leading(rows: usize, size: f32, height: f32) -> f32 {
    if rows < 2 {
        return LEADING;
    }
    let spread = (height / size - CAP_HEIGHT) / (rows as f32 - 1.0);
    if spread <= LOOSEST_LEADING {
        spread.max(LEADING)
    } else {
        f32::midpoint(LEADING, LOOSEST_LEADING)
    }
}

/// Sets lines into rows of a width given in em; `None` when a word is wider than that.
pub(crate) fn flow(lines: &[MeasuredLine], width: f32, rows: Rows) -> Option<Vec<Vec<TextPiece>>> {
    let space = shape(Face::Regular, " ", Zero::Plain).width;
    let column = match rows {
        Rows::OneEach => lines
            .iter()
            .filter_map(|line| line.caption.as_ref())
            .map(|caption| caption.width + CAPTION_GAP)
            .fold(0.0, f32::max),
        Rows::Shared => 0.0,
    };
    let mut setter = Setter {
        rows: Vec::new(),
        end: f32::INFINITY,
        width,
    };
    for line in lines {
        let captioned = line
            .caption
            .as_ref()
            .map_or(0.0, |caption| caption.width + CAPTION_GAP);
        let value: f32 = line
            .groups
            .iter()
            .map(|words| width_of(words, space) + space)
            .sum();
        let mut start = setter.end + FIELD_GAP;
        if rows == Rows::OneEach || start + captioned + value - space > width {
            setter.rows.push(Vec::new());
            start = 0.0;
        }
        setter.end = start;
        let mut indent = 0.0;
        if let Some(caption) = &line.caption {
            setter.put(line, Face::Regular, caption, start)?;
            indent = if rows == Rows::OneEach {
                column
            } else {
                start + captioned
            };
            setter.end = indent;
        }
        let mut first = true;
        for group in &line.groups {
            let together = width_of(group, space);
            let stays = first || setter.end + space + together <= width;
            // A group that fits no row whole breaks between its words.
            let breaks = !stays && indent + together <= width;
            for (place, word) in group.iter().enumerate() {
                let joined = setter.end + space + word.width <= width && !(breaks && place == 0);
                if first {
                    setter.put(line, line.face, word, setter.end)?;
                } else if joined {
                    setter.join(word, space)?;
                } else {
                    setter.rows.push(Vec::new());
                    setter.put(line, line.face, word, indent)?;
                }
                first = false;
            }
        }
    }
    Some(setter.rows)
}

struct Setter {
    rows: Vec<Vec<TextPiece>>,
    end: f32,
    width: f32,
}

impl Setter {
    /// Puts a new piece into the last row; `None` when it overruns.
    fn put(&mut self, line: &MeasuredLine, face: Face, word: &Word, x: f32) -> Option<()> {
        self.end = x + word.width;
        if self.end > self.width {
            return None;
        }
        let piece = TextPiece {
            line: line.index,
            face,
            text: word.text.clone(),
            x,
        };
        self.rows.last_mut()?.push(piece);
        Some(())
    }

    /// Puts a word after the one before it, in the same piece.
    fn join(&mut self, word: &Word, space: f32) -> Option<()> {
        let piece = self.rows.last_mut()?.last_mut()?;
        piece.text.push(' ');
        piece.text.push_str(&word.text);
        self.end += space + word.width;
        Some(())
    }
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;

    fn measured(lines: &[LabelLine]) -> Vec<MeasuredLine> {
        lines
            .iter()
            .enumerate()
            .map(|(index, line)| MeasuredLine::new(index, line))
            .collect()
    }

    fn season() -> Vec<MeasuredLine> {
        measured(&[
            LabelLine::Cross {
                female: "Morning Vale".to_owned(),
                male: "M-17".to_owned(),
            },
            LabelLine::Harvested(NaiveDate::from_ymd_opt(2026, 9, 14).unwrap()),
            LabelLine::ChillStarted(NaiveDate::from_ymd_opt(2026, 11, 2).unwrap()),
            LabelLine::Count {
                number: 100,
                noun: "seeds".to_owned(),
                approximate: true,
            },
        ])
    }

    fn texts(rows: &[Vec<TextPiece>]) -> Vec<String> {
        rows.iter()
            .map(|row| {
                row.iter()
                    .map(|piece| piece.text.as_str())
                    .collect::<Vec<_>>()
                    .join("|")
            })
            .collect()
    }

    #[test]
    fn one_line_a_row_stands_in_two_columns() {
        let rows = flow(&season(), 30.0, Rows::OneEach).unwrap();
        assert_eq!(
            texts(&rows),
            [
                "Morning Vale × M-17",
                "harvest|14 Sep 2026",
                "chill from|2 Nov 2026",
                "seeds|≈ 100"
            ]
        );
        let column = rows[1][1].x;
        assert!(rows[2..].iter().all(|row| row[1].x == column));
    }

    #[test]
    fn lines_share_rows_where_the_label_is_long_and_low() {
        let rows = flow(&season(), 24.0, Rows::Shared).unwrap();
        assert_eq!(
            texts(&rows),
            [
                "Morning Vale × M-17|harvest|14 Sep 2026",
                "chill from|2 Nov 2026|seeds|≈ 100"
            ]
        );
    }

    #[test]
    fn a_cross_breaks_after_its_sign() {
        let lines = season();
        let rows = flow(&lines[..1], 8.0, Rows::OneEach).unwrap();
        assert_eq!(texts(&rows), ["Morning Vale ×", "M-17"]);
        let rows = flow(&lines[..1], 4.5, Rows::OneEach).unwrap();
        assert_eq!(texts(&rows), ["Morning", "Vale ×", "M-17"]);
    }

    #[test]
    fn a_long_value_wraps_between_words_and_a_word_is_never_cut() {
        let note = measured(&[LabelLine::Note("keep away from the east wall".to_owned())]);
        let rows = flow(&note, 6.0, Rows::OneEach).unwrap();
        assert!(rows.len() > 1);
        assert_eq!(texts(&rows).join(" "), "keep away from the east wall");
        assert_eq!(flow(&note, 1.0, Rows::OneEach), None);
    }

    #[test]
    fn the_size_is_the_largest_that_fits() {
        let lines = season();
        let fit = fit(&lines, 40.0, 16.0, LARGEST_LINE).unwrap();
        let rows = |size: f32| flow(&lines, 40.0 / size, fit.rows).map(|rows| rows.len());
        let height = |size: f32| rows(size).map(|rows| size * height_of(rows, LEADING));
        assert!(height(fit.size).unwrap() <= 16.0);
        assert!(height(fit.size * 1.01).is_none_or(|height| height > 16.0));
        assert!(fit_rows(&lines, 40.0, 1.0, LARGEST_LINE, Rows::Shared).is_none());
    }
}
