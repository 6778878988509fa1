//! The sheet as it will print, drawn from the same layout as the PDF.

use egui::{
    Align2, Color32, FontFamily, FontId, Rect, Role, Sense, Stroke, StrokeKind, Ui, Vec2,
    WidgetInfo, pos2, vec2,
};
use exchange::label::{Layout, Page, PlacedLabel, Sheet, Slot, TextRun};
use exchange::typeface::Face;
use kit::fonts;
use kit::theme::{self, Tokens, tokens};

/// Draws a page as large as the space allows. Returns the place on the grid that was clicked.
pub(super) fn show(ui: &mut Ui, layout: &Layout, page: &Page, sheet: &Sheet) -> Option<Slot> {
    let room = ui.available_size() - Vec2::splat(4.0);
    let scale = (room.x / layout.page.width)
        .min(room.y / layout.page.height)
        .min(12.0);
    let size = vec2(layout.page.width, layout.page.height) * scale;
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, spoken(page, sheet)));
    let paper = Paper {
        rect,
        scale,
        ink: theme::PRINT_INK,
        tokens: tokens(ui),
    };
    let painter = ui.painter_at(rect.expand(2.0));
    painter.rect(
        rect,
        0.0,
        theme::PAPER,
        Stroke::new(1.0, paper.tokens.outline),
        StrokeKind::Outside,
    );
    let clicked = response
        .interact_pointer_pos()
        .filter(|_| response.clicked());
    let mut picked = None;
    for row in 1..=sheet.rows {
        for column in 1..=sheet.columns {
            let slot = Slot { row, column };
            let outline = paper.place(sheet.outline(slot));
            if clicked.is_some_and(|at| outline.contains(at)) {
                picked = Some(slot);
            }
            painter.rect_stroke(
                outline,
                1.0,
                Stroke::new(0.5, paper.tokens.muted),
                StrokeKind::Inside,
            );
        }
    }
    for label in &page.labels {
        paper.label(ui, &painter, label);
    }
    picked
}

struct Paper<'a> {
    rect: Rect,
    scale: f32,
    ink: Color32,
    tokens: &'a Tokens,
}

impl Paper<'_> {
    fn place(&self, area: exchange::label::Rect) -> Rect {
        let corner = self.rect.min + vec2(area.x, area.y) * self.scale;
        Rect::from_min_size(corner, vec2(area.width, area.height) * self.scale)
    }

    fn label(&self, ui: &Ui, painter: &egui::Painter, label: &PlacedLabel) {
        for run in &label.runs {
            self.text(ui, painter, run);
        }
        let area = self.place(label.qr.square);
        let module = area.width() / label.qr.modules.side() as f32;
        for (column, row, length) in label.qr.modules.bars() {
            let corner = area.min + vec2(column as f32, row as f32) * module;
            painter.rect_filled(
                Rect::from_min_size(corner, vec2(length as f32, 1.0) * module),
                0.0,
                self.ink,
            );
        }
    }

    fn text(&self, ui: &Ui, painter: &egui::Painter, run: &TextRun) {
        let family = match run.face {
            Face::Regular => FontFamily::Proportional,
            Face::Bold => FontFamily::Name(fonts::STRONG.into()),
        };
        let font = FontId::new(run.size * self.scale, family);
        let ascent = ui.fonts_mut(|fonts| fonts.row_height(&font)) * 0.76;
        let at = self.rect.min + vec2(run.x, run.baseline) * self.scale;
        painter.text(
            pos2(at.x, at.y - ascent),
            Align2::LEFT_TOP,
            &run.text,
            font,
            self.ink,
        );
    }
}

fn spoken(page: &Page, sheet: &Sheet) -> String {
    let first = page.labels.first().map_or_else(String::new, |label| {
        let words: Vec<&str> = label.runs.iter().map(|run| run.text.as_str()).collect();
        format!("; the first reads {}", words.join(", "))
    });
    format!(
        "Sheet {}, {} labels{first}",
        sheet.name(),
        page.labels.len()
    )
}
