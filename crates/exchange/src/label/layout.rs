//! From sheet and contents to pages of placed labels.

use super::arrange::{
    Arrangement, Blank, Frame, LARGEST_MODULES, Largest, Measured, SMALLEST_CODE, SMALLEST_MODULE,
    fit_lines, frame,
};
use super::content::LabelContent;
use super::flow::{FittedText, MeasuredLine, flow, leading};
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
    let blank = Blank::new(sheet.label, sheet.unprintable());
    let drafts = draft_best(blank, contents, &labels)?;

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
    fit: Option<FittedText>,
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
    blank: Blank,
    contents: &[LabelContent],
    labels: &[Measured],
) -> Result<Vec<Draft>, Refusal> {
    let mut best: Option<(f32, Vec<Draft>)> = None;
    let mut nearest: Option<TooSmall> = None;
    for arrangement in Arrangement::ALL {
        for module in LARGEST_MODULES {
            match draft(arrangement, blank, module, labels) {
                Ok(drafts) => {
                    let score: f32 = drafts.iter().map(Draft::legibility).sum();
                    if best.as_ref().is_none_or(|(highest, _)| score > *highest) {
                        best = Some((score, drafts));
                    }
                }
                Err(failed) => {
                    if nearest.is_none_or(|nearest| failed.module > nearest.module) {
                        nearest = Some(failed);
                    }
                }
            }
        }
    }
    best.map(|(_, drafts)| drafts).ok_or_else(|| {
        let TooSmall { index, module } = nearest.unwrap_or_default();
        Refusal::QrTooSmall {
            label: index + 1,
            code: contents[index].code.clone(),
            module,
            smallest: SMALLEST_MODULE,
        }
    })
}

/// The label whose QR code came out too small to read, and its module's side.
#[derive(Clone, Copy, Debug, Default)]
struct TooSmall {
    index: usize,
    module: f32,
}

/// Drafts all labels in one arrangement, with shared sizes of code and lines.
fn draft(
    arrangement: Arrangement,
    blank: Blank,
    module: f32,
    labels: &[Measured],
) -> Result<Vec<Draft>, TooSmall> {
    let frames = |code: f32| {
        let largest = Largest { code, module };
        let frame = |(index, measured)| {
            frame(arrangement, blank, measured, largest)
                .map_err(|module| TooSmall { index, module })
        };
        labels
            .iter()
            .enumerate()
            .map(frame)
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
    let Some(FittedText { size, rows }) = draft.fit else {
        return runs;
    };
    let rows = flow(&draft.lines, frame.lines.width / size, rows).unwrap_or_default();
    let leading = size * leading(rows.len(), size, frame.lines.height);
    let first = outline.y + frame.lines.y + size * CAP_HEIGHT;
    // The stem of a capital, not the blank before it, stands under the stem of the code.
    let left = outline.x + frame.lines.x - size * shape(Face::Regular, "H", Zero::Plain).ink.left;
    for (row, pieces) in rows.into_iter().enumerate() {
        for piece in pieces {
            let shaped = shape(piece.face, &piece.text, Zero::Plain);
            runs.push(TextRun {
                field: Field::Line(piece.line),
                text: piece.text,
                face: piece.face,
                size,
                x: left + size * piece.x,
                baseline: first + row as f32 * leading,
                width: size * shaped.width,
                glyphs: shaped.glyphs,
            });
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::super::content::LabelLine;
    use super::super::qr::QUIET_ZONE;
    use super::*;

    fn day(year: i32, month: u32, day: u32) -> chrono::NaiveDate {
        chrono::NaiveDate::from_ymd_opt(year, month, day).unwrap()
    }

    fn lot(code: &str, female: &str) -> LabelContent {
        LabelContent {
            code: code.to_owned(),
            lines: vec![
                LabelLine::Cross {
                    female: female.to_owned(),
                    male: "M-17".to_owned(),
                },
                LabelLine::Harvested(day(2026, 9, 14)),
                LabelLine::ChillStarted(day(2026, 11, 2)),
                LabelLine::Count {
                    number: 80,
                    noun: "seeds".to_owned(),
                    approximate: false,
                },
            ],
        }
    }

    fn lots(count: usize) -> Vec<LabelContent> {
        (1..=count)
            .map(|number| lot(&format!("HB26-{number:04}"), "Morning Vale"))
            .collect()
    }

    #[test]
    fn labels_run_on_from_the_start_over_as_many_pages_as_they_need() {
        let sheet = &Sheet::presets()[0];
        let layout = layout(sheet, Slot { row: 8, column: 2 }, &lots(30)).unwrap();
        let counts: Vec<usize> = layout.pages.iter().map(|page| page.labels.len()).collect();
        assert_eq!(counts, [2, 24, 4]);
        let all: Vec<usize> = layout
            .pages
            .iter()
            .flat_map(|page| &page.labels)
            .map(|label| label.index)
            .collect();
        assert_eq!(all, (0..30).collect::<Vec<_>>());
        assert_eq!(layout.pages[0].labels[0].slot, Slot { row: 8, column: 2 });
        assert_eq!(layout.pages[1].labels[0].slot, Slot::FIRST);
    }

    /// On every preset: nothing leaves its label, no text touches the QR code's quiet zone, and no
    /// text is smaller than what is readable.
    #[test]
    fn nothing_is_clipped_on_any_preset() {
        for sheet in Sheet::presets() {
            let mut contents = lots(5);
            contents.push(lot("HB26-0123-045", "A Female of a Rather Long Name"));
            let layout = layout(&sheet, Slot::FIRST, &contents).unwrap();
            assert_eq!(layout.findings, [], "{}", sheet.name());
            for label in layout.pages.iter().flat_map(|page| &page.labels) {
                let context = format!("{} {label:?}", sheet.name());
                let (edge, qr) = (label.outline, &label.qr);
                let quiet = QUIET_ZONE as f32 * qr.module - 0.01;
                assert!(qr.module >= SMALLEST_MODULE);
                assert!(
                    qr.square.x - edge.x >= quiet && edge.right() - qr.square.right() >= quiet,
                    "{context}"
                );
                assert!(
                    qr.square.y - edge.y >= quiet && edge.bottom() - qr.square.bottom() >= quiet,
                    "{context}"
                );
                for run in &label.runs {
                    let ink = shape(run.face, &run.text, Zero::Plain).ink;
                    let (left, right) = (run.x + run.size * ink.left, run.x + run.size * ink.right);
                    let (top, bottom) = (
                        run.baseline - run.size * ink.top,
                        run.baseline - run.size * ink.bottom,
                    );
                    assert!(
                        left > edge.x + 1.0 && right < edge.right() - 1.0,
                        "{context}"
                    );
                    assert!(
                        top > edge.y + 1.0 && bottom < edge.bottom() - 0.4,
                        "{context}"
                    );
                    let clear = right <= qr.square.x - quiet
                        || left >= qr.square.right() + quiet
                        || bottom <= qr.square.y - quiet
                        || top >= qr.square.bottom() + quiet;
                    assert!(clear, "{} over the quiet zone: {context}", run.text);
                    let smallest = if run.field == Field::Code {
                        SMALLEST_CODE
                    } else {
                        super::super::flow::SMALLEST_LINE
                    };
                    assert!(run.size >= smallest, "{context}");
                }
            }
        }
    }

    #[test]
    fn the_code_leads_and_every_line_is_there_once() {
        let sheet = &Sheet::presets()[0];
        let layout = layout(sheet, Slot::FIRST, &lots(1)).unwrap();
        let label = &layout.pages[0].labels[0];
        let code = label
            .runs
            .iter()
            .find(|run| run.field == Field::Code)
            .unwrap();
        assert_eq!(code.text, "HB26-0001");
        // 70 × 37 mm: the code's capitals are at least 5 mm high, as tall as 20-point type's.
        assert!(code.size * CAP_HEIGHT >= 5.0, "{}", code.size);
        assert!(
            label
                .runs
                .iter()
                .all(|run| run.field == Field::Code || run.size <= 0.6 * code.size + 0.01)
        );
        let text_of = |index| {
            let runs = label
                .runs
                .iter()
                .filter(|run| run.field == Field::Line(index));
            runs.map(|run| run.text.as_str())
                .collect::<Vec<_>>()
                .join(" ")
        };
        assert_eq!(text_of(0), "Morning Vale × M-17");
        assert_eq!(text_of(1), "harvest 14 Sep 2026");
        assert_eq!(text_of(2), "chill from 2 Nov 2026");
        assert_eq!(text_of(3), "seeds 80");
    }

    #[test]
    fn labels_of_one_job_share_their_sizes() {
        let layout = layout(&Sheet::presets()[0], Slot::FIRST, &lots(12)).unwrap();
        let sizes = |field: fn(&TextRun) -> bool| {
            let mut sizes: Vec<f32> = layout.pages[0]
                .labels
                .iter()
                .flat_map(|label| {
                    label
                        .runs
                        .iter()
                        .filter(|run| field(run))
                        .map(|run| run.size)
                })
                .collect();
            sizes.dedup();
            sizes.len()
        };
        assert_eq!(sizes(|run| run.field == Field::Code), 1);
        assert_eq!(sizes(|run| run.field != Field::Code), 1);
    }

    #[test]
    fn what_does_not_fit_is_left_off_whole_and_named() {
        let mut content = lot("HB26-0001", "Morning Vale");
        content.lines.push(LabelLine::Note("x".repeat(200)));
        let layout = layout(
            &Sheet::presets()[0],
            Slot::FIRST,
            &[lot("HB26-0000", "Morning Vale"), content],
        )
        .unwrap();
        let said: Vec<String> = layout.findings.iter().map(ToString::to_string).collect();
        assert_eq!(
            said,
            [
                "Label 2 (HB26-0001): the note does not fit at a readable size and is left off. \
              Choose a larger label or shorten it."
            ]
        );
        let label = &layout.pages[0].labels[1];
        assert!(label.runs.iter().any(|run| run.field == Field::Line(3)));
        assert!(label.runs.iter().all(|run| run.field != Field::Line(4)));
    }

    #[test]
    fn a_code_too_long_to_be_read_is_named_and_still_held_by_the_qr_code() {
        let code = "LONG-".repeat(12);
        let layout = layout(
            &Sheet::single(Size::new(40.0, 40.0)),
            Slot::FIRST,
            &[lot(&code, "A")],
        )
        .unwrap();
        assert_eq!(layout.findings[0].field, "code");
        assert_eq!(layout.findings[0].problem, Problem::DoesNotFit);
        assert!(
            layout.pages[0].labels[0]
                .runs
                .iter()
                .all(|run| run.field != Field::Code)
        );
    }

    #[test]
    fn a_character_without_a_shape_is_named() {
        let layout = layout(&Sheet::presets()[0], Slot::FIRST, &[lot("HB26-0001", "字")]).unwrap();
        assert_eq!(
            layout.findings[0].to_string(),
            "Label 1 (HB26-0001): the typeface has no '字', so the cross prints an empty box for it. \
             Write it another way."
        );
    }

    #[test]
    fn codes_that_cannot_be_printed_are_refused() {
        let refused = |code: &str, sheet: &Sheet| {
            layout(sheet, Slot::FIRST, &[lot(code, "Morning Vale")])
                .unwrap_err()
                .to_string()
        };
        let sheet = &Sheet::presets()[0];
        assert_eq!(
            refused("", sheet),
            "Label 1 has no code; give its record a code first."
        );
        assert_eq!(
            refused("  ", sheet),
            "Label 1 has no code; give its record a code first."
        );
        assert_eq!(
            refused("HB26\n1", sheet),
            "The code of label 1 (\"HB26\\n1\") has a line break, a tab or blanks at its ends; \
             rename the record without them."
        );
        assert!(refused(&"A".repeat(4000), sheet).contains("4000 bytes long"));
        // 21 modules (version 1) between margins of 1.5 mm: (8 - 3) / 21 = 0.238.
        assert_eq!(
            refused("HB26-0123-045", &Sheet::single(Size::new(30.0, 8.0))),
            "The QR code of label 1 (HB26-0123-045) would have squares of 0.24 mm; below 0.33 mm it does not \
             read reliably. Choose a larger label or a shorter code."
        );
        assert_eq!(layout(sheet, Slot::FIRST, &[]), Err(Refusal::NoLabels));
    }

    #[test]
    fn a_label_may_carry_its_code_alone() {
        let content = LabelContent {
            code: "BX26-014".to_owned(),
            lines: Vec::new(),
        };
        for sheet in Sheet::presets() {
            let layout = layout(&sheet, Slot::FIRST, std::slice::from_ref(&content)).unwrap();
            assert_eq!(layout.findings, []);
            assert_eq!(layout.pages[0].labels[0].runs.len(), 1);
        }
    }
}
