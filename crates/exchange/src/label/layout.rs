//! From sheet and contents to pages of placed labels.

use super::arrange::{
    Arrangement, Frame, Measured, SMALLEST_CODE, SMALLEST_MODULE, fit_lines, frame,
};
use super::content::LabelContent;
use super::flow::{Fit, MeasuredLine, flow, leading};
use super::geometry::{Rect, Size};
use super::qr::Modules;
use super::refusal::{Finding, Problem, Refusal};
use super::sheet::{Sheet, Slot};
use crate::typeface::{CAP_HEIGHT, Face, Glyph, Zero, shape};

/// Labels of one job share a size where that costs none of them more than a fifth.
const SHARED_SIZE: f32 = 0.8;

/// Pages of placed labels, ready to be drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// The size of every page.
    pub page: Size,
    /// Whether hairlines are printed around the labels.
    pub cut_lines: bool,
    /// The pages, in order; at least one.
    pub pages: Vec<Page>,
    /// What did not come out whole; empty when all is well.
    pub findings: Vec<Finding>,
}

/// One page.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// Its labels, in reading order.
    pub labels: Vec<PlacedLabel>,
}

/// One label on its page.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedLabel {
    /// Which of the contents, counted from 0.
    pub index: usize,
    /// Its place on the grid.
    pub slot: Slot,
    /// The label's edge.
    pub outline: Rect,
    /// Its text.
    pub runs: Vec<TextRun>,
    /// Its QR code.
    pub qr: PlacedQr,
}

/// What a text run belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Field {
    /// The code.
    Code,
    /// The line of this index.
    Line(usize),
}

/// A stretch of text on one baseline, in black.
#[derive(Clone, Debug, PartialEq)]
pub struct TextRun {
    /// What it belongs to.
    pub field: Field,
    /// The text.
    pub text: String,
    /// The weight.
    pub face: Face,
    /// The size of an em.
    pub size: f32,
    /// Where the text starts.
    pub x: f32,
    /// Where its baseline lies.
    pub baseline: f32,
    /// How far it runs from `x`.
    pub width: f32,
    /// The glyphs that are printed; a code's zeros are slashed there.
    pub(crate) glyphs: Vec<Glyph>,
}

/// A QR code on its page.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedQr {
    /// The square of modules. Around it [`super::QUIET_ZONE`] modules are white, within the label.
    pub square: Rect,
    /// The side of one module.
    pub module: f32,
    /// Which modules are dark.
    pub modules: Modules,
}

/// Lays labels out on as many pages as they need, from `start` on in reading order.
///
/// Text is as large as its label allows and never cut: a line that does not fit at 6 points, or
/// a code that does not at 8, is left off whole and named among the findings.
///
/// # Errors
/// A [`Refusal`] when the sheet or the start is impossible, when there are no labels, or when a
/// code is empty, has control characters, or makes a QR code too small to read on this label.
pub fn layout(sheet: &Sheet, start: Slot, contents: &[LabelContent]) -> Result<Layout, Refusal> {
    sheet.check()?;
    let first = sheet.index(start)?;
    if contents.is_empty() {
        return Err(Refusal::NoLabels);
    }
    let labels = contents
        .iter()
        .enumerate()
        .map(|(index, content)| measure(index, content))
        .collect::<Result<Vec<_>, _>>()?;
    let drafts = draft_best(sheet.label, contents, &labels)?;

    let mut findings = Vec::new();
    let mut pages: Vec<Page> = Vec::new();
    for (index, (content, draft)) in contents.iter().zip(&drafts).enumerate() {
        findings.extend(findings_of(index, content, draft));
        let (page, slot) = sheet.slot(first + index);
        while pages.len() <= page {
            pages.push(Page { labels: Vec::new() });
        }
        let outline = sheet.outline(slot);
        pages[page].labels.push(PlacedLabel {
            index,
            slot,
            outline,
            runs: runs(outline, content, &labels[index], draft),
            qr: PlacedQr {
                square: Rect {
                    x: outline.x + draft.frame.qr.x,
                    y: outline.y + draft.frame.qr.y,
                    ..draft.frame.qr
                },
                module: draft.frame.module,
                modules: labels[index].symbols[draft.frame.symbol].clone(),
            },
        });
    }
    Ok(Layout {
        page: sheet.page,
        cut_lines: sheet.cut_lines,
        pages,
        findings,
    })
}

fn measure(index: usize, content: &LabelContent) -> Result<Measured, Refusal> {
    let (label, code) = (index + 1, &content.code);
    if code.trim().is_empty() {
        return Err(Refusal::CodeEmpty { label });
    }
    if code.trim() != code || code.chars().any(char::is_control) {
        return Err(Refusal::CodeUnprintable {
            label,
            code: code.clone(),
        });
    }
    let lines = content
        .lines
        .iter()
        .enumerate()
        .filter(|(_, line)| !line.value().trim().is_empty())
        .map(|(index, line)| MeasuredLine::new(index, line))
        .collect();
    Measured::new(code, lines).ok_or(Refusal::CodeTooLong {
        label,
        bytes: code.len(),
    })
}

/// One label arranged: its frame, and the lines that fit.
struct Draft {
    frame: Frame,
    lines: Vec<MeasuredLine>,
    fit: Option<Fit>,
    left_off: Vec<usize>,
}

impl Draft {
    fn has_code(&self) -> bool {
        self.frame.code_size >= SMALLEST_CODE
    }

    /// How well the label reads: fields left off weigh most, then the sizes of code, lines and QR.
    fn legibility(&self) -> f32 {
        const LEFT_OFF: f32 = 100.0;
        let missing = self.left_off.len() as f32 + if self.has_code() { 0.0 } else { 10.0 };
        let lines = self.fit.map_or(0.0, |fit| fit.size.ln());
        self.frame.code_size.max(0.1).ln() + 0.6 * lines + 0.3 * self.frame.module.ln()
            - LEFT_OFF * missing
    }
}

/// Drafts all labels in the arrangement that reads best over the whole job.
fn draft_best(
    label: Size,
    contents: &[LabelContent],
    labels: &[Measured],
) -> Result<Vec<Draft>, Refusal> {
    let mut best: Option<(f32, Vec<Draft>)> = None;
    let mut widest_failure: Option<(usize, f32)> = None;
    for arrangement in Arrangement::ALL {
        match draft(arrangement, label, labels) {
            Ok(drafts) => {
                let score: f32 = drafts.iter().map(Draft::legibility).sum();
                if best.as_ref().is_none_or(|(highest, _)| score > *highest) {
                    best = Some((score, drafts));
                }
            }
            Err((index, module)) => {
                if widest_failure.is_none_or(|(_, widest)| module > widest) {
                    widest_failure = Some((index, module));
                }
            }
        }
    }
    best.map(|(_, drafts)| drafts).ok_or_else(|| {
        let (index, module) = widest_failure.unwrap_or_default();
        Refusal::QrTooSmall {
            label: index + 1,
            code: contents[index].code.clone(),
            module,
            smallest: SMALLEST_MODULE,
        }
    })
}

/// Drafts all labels in one arrangement, with shared sizes of code and lines; or the first label
/// whose QR code comes out too small, with its module's side.
fn draft(
    arrangement: Arrangement,
    label: Size,
    labels: &[Measured],
) -> Result<Vec<Draft>, (usize, f32)> {
    let frames = |largest: f32| {
        labels
            .iter()
            .enumerate()
            .map(|(index, measured)| {
                frame(arrangement, label, measured, largest).map_err(|module| (index, module))
            })
            .collect::<Result<Vec<_>, _>>()
    };
    let code_size = shared_size(frames(f32::MAX)?.iter().map(|frame| frame.code_size));
    let mut drafts: Vec<Draft> = frames(code_size)?
        .into_iter()
        .zip(labels)
        .map(|(frame, measured)| {
            let (lines, fit, left_off) = fit_lines(&frame, &measured.lines);
            Draft {
                frame,
                lines,
                fit,
                left_off,
            }
        })
        .collect();
    let line_size = shared_size(
        drafts
            .iter()
            .filter_map(|draft| draft.fit)
            .map(|fit| fit.size),
    );
    for fit in drafts.iter_mut().filter_map(|draft| draft.fit.as_mut()) {
        fit.size = fit.size.min(line_size);
    }
    Ok(drafts)
}

/// The smallest of the sizes that are within a fifth of the largest.
fn shared_size(sizes: impl Iterator<Item = f32> + Clone) -> f32 {
    let largest = sizes.clone().fold(0.0, f32::max);
    sizes
        .filter(|&size| size >= SHARED_SIZE * largest)
        .fold(largest, f32::min)
}

fn findings_of(index: usize, content: &LabelContent, draft: &Draft) -> Vec<Finding> {
    let finding = |field, problem| Finding {
        label: index,
        code: content.code.clone(),
        field,
        problem,
    };
    let mut findings = Vec::new();
    if !draft.has_code() {
        findings.push(finding("code", Problem::DoesNotFit));
    } else if let Some(character) = Face::Bold.missing(&content.code) {
        findings.push(finding("code", Problem::NoShape(character)));
    }
    for (line, text) in content.lines.iter().enumerate() {
        if draft.left_off.contains(&line) {
            findings.push(finding(text.name(), Problem::DoesNotFit));
        } else if let Some(character) = Face::Regular
            .missing(&text.value())
            .filter(|c| !c.is_whitespace())
        {
            findings.push(finding(text.name(), Problem::NoShape(character)));
        }
    }
    findings
}

fn runs(outline: Rect, content: &LabelContent, measured: &Measured, draft: &Draft) -> Vec<TextRun> {
    let frame = &draft.frame;
    let mut runs = Vec::new();
    if draft.has_code() {
        let (size, code) = (frame.code_size, &measured.code);
        runs.push(TextRun {
            field: Field::Code,
            text: content.code.clone(),
            face: Face::Bold,
            size,
            x: outline.x + frame.code.x - size * code.ink.left,
            baseline: outline.y + frame.code.y + size * code.ink.top,
            width: size * code.width,
            glyphs: code.glyphs.clone(),
        });
    }
    let Some(Fit { size, rows }) = draft.fit else {
        return runs;
    };
    let rows = flow(&draft.lines, frame.lines.width / size, rows).unwrap_or_default();
    let leading = size * leading(rows.len(), size, frame.lines.height);
    let first = outline.y + frame.lines.y + size * CAP_HEIGHT;
    for (row, pieces) in rows.into_iter().enumerate() {
        for piece in pieces {
            let shaped = shape(piece.face, &piece.text, Zero::Plain);
            runs.push(TextRun {
                field: Field::Line(piece.line),
                text: piece.text,
                face: piece.face,
                size,
                x: outline.x + frame.lines.x + size * piece.x,
                baseline: first + row as f32 * leading,
                width: size * shaped.width,
                glyphs: shaped.glyphs,
            });
        }
    }
    runs
}
