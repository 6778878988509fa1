//! A report laid on pages. Lengths are millimetres from the top left corner.

use chart::{Chart, Drawing, Place, Size};

use super::{Cells, Report};
use crate::charts;
use crate::label::pdf::UNITS;
use crate::typeface::{Face, Shaped, Zero, shape};

/// Width of A4 paper.
pub(super) const WIDTH: f32 = 210.0;
/// Height of A4 paper.
pub(super) const HEIGHT: f32 = 297.0;
const MARGIN: f32 = 15.0;
const GAP: f32 = 4.0;
const TITLE: f32 = 6.0;
const HEADING: f32 = 4.2;
const TEXT: f32 = 3.3;
/// Height of a row that a pencil fills in.
const WRITTEN: f32 = 9.5;
/// Width of a column that a pencil fills in.
const BLANK: f32 = 19.0;
/// Height of a line as a multiple of its size.
const LEADING: f32 = 1.35;

/// A line of text in its place.
pub(super) struct Run {
    pub(super) text: String,
    pub(super) shaped: Shaped,
    pub(super) face: Face,
    pub(super) size: f32,
    pub(super) x: f32,
    pub(super) baseline: f32,
}

/// A page: lines of text, and rules from x to x at y.
#[derive(Default)]
pub(super) struct Page {
    pub(super) runs: Vec<Run>,
    pub(super) rules: Vec<(f32, f32, f32)>,
    /// Charts, each with its upper left corner, in points of 1/72 inch.
    pub(super) charts: Vec<(Drawing, Place)>,
}

pub(super) fn lay(report: &Report) -> Vec<Page> {
    let mut pages = Pages {
        done: vec![Page::default()],
        y: MARGIN,
    };
    pages.paragraph(&report.title, Face::Bold, TITLE);
    for section in &report.sections {
        pages.y += 0.5 * GAP;
        // A heading stays with what follows it.
        pages.room(HEADING * LEADING + 6.0 * TEXT);
        pages.paragraph(&section.heading, Face::Bold, HEADING);
        for sentence in &section.sentences {
            pages.paragraph(sentence, Face::Regular, TEXT);
        }
        for chart in &section.charts {
            pages.chart(chart);
        }
        if let Some(table) = &section.table {
            pages.y += 0.25 * GAP;
            pages.table(table);
        }
    }
    let count = pages.done.len();
    for (number, page) in (1..).zip(&mut pages.done) {
        let words = format!("{} · page {number} of {count}", report.title);
        page.write(&words, Face::Regular, 2.6, MARGIN, HEIGHT - 9.0);
    }
    pages.done
}

struct Pages {
    done: Vec<Page>,
    y: f32,
}

impl Page {
    fn write(&mut self, text: &str, face: Face, size: f32, x: f32, baseline: f32) {
        self.runs.push(Run {
            shaped: shape(face, text, Zero::Plain),
            text: text.to_owned(),
            face,
            size,
            x,
            baseline,
        });
    }
}

impl Pages {
    /// Begins a page unless so much height is left.
    fn room(&mut self, height: f32) -> bool {
        let full = self.y + height > HEIGHT - MARGIN;
        if full {
            self.done.push(Page::default());
            self.y = MARGIN;
        }
        full
    }

    fn page(&mut self) -> &mut Page {
        if self.done.is_empty() {
            self.done.push(Page::default());
        }
        let last = self.done.len() - 1;
        &mut self.done[last]
    }

    fn paragraph(&mut self, text: &str, face: Face, size: f32) {
        for line in broken(text, face, (WIDTH - 2.0 * MARGIN) / size) {
            self.room(size * LEADING);
            let baseline = self.y + size;
            self.page().write(&line, face, size, MARGIN, baseline);
            self.y += size * LEADING;
        }
    }

    /// A chart over the whole width, three times as wide as high.
    fn chart(&mut self, chart: &Chart) {
        let (width, height) = (WIDTH - 2.0 * MARGIN, (WIDTH - 2.0 * MARGIN) / 3.0);
        self.y += 0.25 * GAP;
        self.room(height);
        let size = Size {
            width: width * UNITS,
            height: height * UNITS,
        };
        let at = Place {
            x: MARGIN * UNITS,
            y: self.y * UNITS,
        };
        self.page().charts.push((charts::lay(chart, size), at));
        self.y += height + 0.25 * GAP;
    }

    fn table(&mut self, table: &Cells) {
        let widths = widths(table);
        self.header(table, &widths);
        for row in &table.rows {
            let cells: Vec<Vec<String>> = row
                .iter()
                .zip(&widths)
                .map(|(cell, width)| broken(cell, Face::Regular, width / TEXT))
                .collect();
            let lines = cells.iter().map(Vec::len).max().unwrap_or(1).max(1);
            let height = lines as f32 * TEXT * LEADING + 1.0;
            let height = if table.to_write_in {
                height.max(WRITTEN)
            } else {
                height
            };
            if self.room(height) {
                self.header(table, &widths);
            }
            let top = self.y;
            self.row(table, &widths, &cells, Face::Regular);
            self.y = top + height;
            if table.to_write_in {
                let y = self.y - 1.2;
                self.page().rules.push((MARGIN, WIDTH - MARGIN, y));
            }
        }
    }

    fn header(&mut self, table: &Cells, widths: &[f32]) {
        let cells: Vec<Vec<String>> = table
            .columns
            .iter()
            .zip(widths)
            .map(|((name, _), width)| broken(name, Face::Bold, width / TEXT))
            .collect();
        self.row(table, widths, &cells, Face::Bold);
        let y = self.y + 0.6;
        self.page().rules.push((MARGIN, WIDTH - MARGIN, y));
        self.y += 1.8;
    }

    fn row(&mut self, table: &Cells, widths: &[f32], cells: &[Vec<String>], face: Face) {
        let top = self.y;
        let mut x = MARGIN;
        let mut lines = 1;
        for ((cell, width), (_, figures)) in cells.iter().zip(widths).zip(&table.columns) {
            for (line, text) in cell.iter().enumerate() {
                let shift = if *figures {
                    width - TEXT * shape(face, text, Zero::Plain).width
                } else {
                    0.0
                };
                let baseline = top + TEXT + line as f32 * TEXT * LEADING;
                self.page()
                    .write(text, face, TEXT, x + shift.max(0.0), baseline);
            }
            lines = lines.max(cell.len());
            x += width + GAP;
        }
        self.y = top + lines as f32 * TEXT * LEADING;
    }
}

/// Widths of columns: as wide as their widest cell, and where that is too much, words are broken into lines in the
/// columns that are wider than their share.
fn widths(table: &Cells) -> Vec<f32> {
    let count = table.columns.len();
    let mut widths: Vec<f32> = (0..count)
        .map(|column| {
            let header = shape(Face::Bold, table.columns[column].0, Zero::Plain).width;
            let cells = table.rows.iter().filter_map(|row| row.get(column));
            let widest = cells.map(|cell| shape(Face::Regular, cell, Zero::Plain).width);
            let width = TEXT * widest.fold(header, f32::max) + 0.1;
            let mut cells = table.rows.iter().filter_map(|row| row.get(column));
            if table.to_write_in && cells.all(String::is_empty) {
                width.max(BLANK)
            } else {
                width
            }
        })
        .collect();
    let mut room = WIDTH - 2.0 * MARGIN - GAP * count.saturating_sub(1) as f32;
    let mut open: Vec<usize> = (0..count).collect();
    if widths.iter().sum::<f32>() <= room {
        return widths;
    }
    loop {
        let share = room / open.len().max(1) as f32;
        let (narrow, wide): (Vec<usize>, Vec<usize>) =
            open.iter().partition(|&&column| widths[column] <= share);
        if narrow.is_empty() || wide.is_empty() {
            for column in open {
                widths[column] = share;
            }
            return widths;
        }
        room -= narrow.iter().map(|&column| widths[column]).sum::<f32>();
        open = wide;
    }
}

/// Text broken between words so that no line is wider than `width` em, unless a word is.
fn broken(text: &str, face: Face, width: f32) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        let longer = if lines[last].is_empty() {
            word.to_owned()
        } else {
            format!("{} {word}", lines[last])
        };
        if lines[last].is_empty() || shape(face, &longer, Zero::Plain).width <= width {
            lines[last] = longer;
        } else {
            lines.push(word.to_owned());
        }
    }
    lines
}
