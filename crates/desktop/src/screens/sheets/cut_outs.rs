//! Cut-outs of a page as they are shown beside doubtful cells.

use egui::{ColorImage, Context, TextureHandle, TextureOptions};
use paper::scoring_sheet::ReadPage;
use std::collections::BTreeMap;

/// The cut-outs of the page in hand, made when they are first shown.
#[derive(Default)]
pub(super) struct CutOuts(BTreeMap<usize, TextureHandle>);

impl CutOuts {
    /// The row of an answer, from its code to the end of the cell.
    pub(super) fn of(&mut self, ctx: &Context, page: &ReadPage, answer: usize) -> &TextureHandle {
        self.0.entry(answer).or_insert_with(|| {
            let part = page.reading.row_of(&page.answers[answer].cell);
            let cut = page.reading.cut_out(part);
            let picture = ColorImage::from_gray([cut.width, cut.height], &cut.pixels);
            ctx.load_texture("part of a scoring sheet", picture, TextureOptions::LINEAR)
        })
    }

    /// The head, with the day and the person.
    pub(super) fn head(&mut self, ctx: &Context, page: &ReadPage) -> &TextureHandle {
        self.0.entry(usize::MAX).or_insert_with(|| {
            let [(day, _), (person, _)] = page.reading.head;
            let mut part = day.grown(1.0);
            part.width = person.right() + 1.0 - part.x;
            let cut = page.reading.cut_out(part);
            let picture = ColorImage::from_gray([cut.width, cut.height], &cut.pixels);
            ctx.load_texture("head of a scoring sheet", picture, TextureOptions::LINEAR)
        })
    }
}
