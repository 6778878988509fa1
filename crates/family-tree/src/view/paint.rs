//! Paints a drawing in the window: only what is in view, and only as much as can be read at this zoom.

use egui::{
    Align2, Color32, FontFamily, FontId, Galley, Painter, Pos2, Rect, Shape, Stroke, StrokeKind,
    Ui,
    epaint::CubicBezierShape,
    pos2,
    text::{LayoutJob, TextFormat},
    vec2,
};
use std::sync::Arc;

use super::{Drawing, LaidOut, TreeState, camera::Camera, cursor_box, related::Related};
use crate::{
    draw::{self, Anchor, Canvas, Dash, Detail, Ink, Pen, Tone, Words},
    graph::FamilyGraph,
    layout::Layout,
    scope::{BoxIndex, Content},
};
use kit::{
    fonts,
    theme::{Tokens, tokens, type_size},
};

/// The height of the row with the key.
pub(super) const KEY: f32 = 30.0;
/// From this zoom on boxes show everything.
const FULL: f32 = 0.76;
/// From this zoom on boxes show their code; under it they are marks.
pub(super) const CODES: f32 = 0.34;
/// From this zoom on the codes of families and hidden parents are shown.
const NOTES: f32 = 0.5;
/// No word is drawn smaller than this.
const READABLE: f32 = 9.0;
/// The size of a code on the screen when it is all that a box shows, for each unit of zoom; from `READABLE` up.
const CODE_ALONE: f32 = 19.0;
const LARGEST_CODE_ALONE: f32 = 12.5;
/// A mark lower than this is filled.
const LEAST_OUTLINED: f32 = 7.0;
/// Strokes shorter than this belong to signs.
const SIGN: f32 = 10.0;
/// Beyond this many lines in view dashes are left out: they cannot be told apart any more.
const MOST_DASHED: usize = 2_500;

/// Paints the drawing into `area`.
pub(super) fn drawing(
    ui: &Ui,
    area: Rect,
    graph: &FamilyGraph,
    drawing: &Drawing,
    state: &TreeState,
) {
    let tokens = tokens(ui);
    let painter = ui.painter_at(area);
    let camera = &state.camera;
    painter.rect_filled(area, 0.0, tokens.surface);
    let LaidOut {
        extract, layout, ..
    } = &**drawing;
    let related = drawing.related.as_ref();
    let seen = |rect: Rect| camera.rect(area, rect).expand(8.0).intersects(area);
    bands(&painter, area, camera, layout, tokens);

    let tone = |index: BoxIndex| related.map_or(Tone::Plain, |related| related.content(index));
    let boxes: Vec<BoxIndex> = (0..layout.boxes.len())
        .filter(|&index| seen(layout.boxes[index]))
        .collect();
    let parent_lines: Vec<usize> = (0..layout.parent_lines.len())
        .filter(|&index| seen(layout.parent_lines[index].rect()))
        .collect();
    let mut screen = Screen {
        painter: &painter,
        area,
        camera,
        tokens,
        dashed: parent_lines.len() < MOST_DASHED,
    };

    // What is faded lies under what is not.
    for wanted in [Tone::Faded, Tone::Plain] {
        for &index in &parent_lines {
            let strand = &layout.parent_lines[index];
            let tone = related.map_or(Tone::Plain, |related| related.strand(strand));
            if tone == wanted {
                draw::strand(&mut screen, strand, tone);
            }
        }
    }
    for (family, place) in layout
        .families
        .iter()
        .enumerate()
        .filter(|(_, place)| seen(place.rect))
    {
        let twig = |member| {
            related.map_or(Tone::Plain, |related: &Related| {
                related.twig(family, member)
            })
        };
        draw::child_lines(&mut screen, place, twig);
        if camera.zoom() >= CODES {
            let tone = related.map_or(Tone::Plain, |related| related.family(family));
            draw::junction(&mut screen, graph, extract, layout, family, tone);
        }
    }
    if camera.zoom() < CODES {
        for &index in &boxes {
            mark(
                &mut screen,
                graph,
                &extract.boxes[index],
                layout.boxes[index],
                tone(index),
            );
        }
    } else {
        let detail = if camera.zoom() >= FULL {
            Detail::Full
        } else {
            code_alone(camera.zoom())
        };
        for &index in &boxes {
            draw::content(
                &mut screen,
                graph,
                &extract.boxes[index],
                layout.boxes[index],
                tone(index),
                detail,
            );
        }
    }
    if let Some(index) = cursor_box(graph, extract, state.cursor) {
        let rect = camera.rect(area, layout.boxes[index]).expand(3.0);
        painter.rect_stroke(
            rect,
            4.0,
            Stroke::new(2.0, tokens.accent),
            StrokeKind::Outside,
        );
    }
    painter.rect_stroke(area, 0.0, Stroke::new(1.0, tokens.rule), StrokeKind::Inside);
}

fn code_alone(zoom: f32) -> Detail {
    Detail::Code((CODE_ALONE * zoom).clamp(READABLE, LARGEST_CODE_ALONE) / zoom)
}

/// The key under the drawing.
pub(super) fn key(ui: &Ui, area: Rect) {
    let camera = Camera::still(area.center());
    let painter = ui.painter_at(area);
    let mut screen = Screen {
        painter: &painter,
        area,
        camera: &camera,
        tokens: tokens(ui),
        dashed: true,
    };
    draw::key(&mut screen, area.left_center() + vec2(4.0, 1.0));
}

/// The bands: a dotted rule each, with the name held at the left edge of the window.
fn bands(painter: &Painter, area: Rect, camera: &Camera, layout: &Layout, tokens: &Tokens) {
    let mut free = area.top();
    for band in &layout.bands {
        let rect = camera.rect(area, band.rect);
        let y = rect.top() - 4.0;
        if rect.bottom() < area.top() || y > area.bottom() {
            continue;
        }
        let line = [pos2(area.left(), y), pos2(area.right(), y)];
        painter.extend(Shape::dashed_line(
            &line,
            Stroke::new(1.0, tokens.rule),
            2.0,
            4.0,
        ));
        let at = pos2(area.left() + 8.0, y.max(area.top()) + 4.0);
        if at.y >= free {
            let text = draw::generation(band.generation);
            let font = FontId::proportional(type_size::SMALL);
            let galley = painter.layout_no_wrap(text, font, tokens.muted);
            free = at.y + galley.size().y;
            painter.rect_filled(
                Rect::from_min_size(at, galley.size()).expand(2.0),
                0.0,
                tokens.surface,
            );
            painter.galley(at, galley, tokens.muted);
        }
    }
    let line = type_size::SMALL * 1.5;
    if let Some(loose) = layout.loose
        && (layout.bands.is_empty() || layout.sizes.shelf_gap * camera.zoom() > line)
    {
        let at = camera.to_screen(area, loose.left_top()) - vec2(0.0, 4.0);
        let font = FontId::proportional(type_size::SMALL);
        painter.text(
            at,
            Align2::LEFT_BOTTOM,
            draw::loose_title(layout),
            font,
            tokens.muted,
        );
    }
}

/// A box too small for words: full when selected, an outline otherwise, a mere trace when dead or faded.
fn mark(screen: &mut Screen<'_>, graph: &FamilyGraph, content: &Content, rect: Rect, tone: Tone) {
    let Tokens {
        ink,
        muted,
        outline,
        rule,
        raised,
        accent,
        ..
    } = *screen.tokens;
    let seen = screen.camera.rect(screen.area, rect);
    let seen = Rect::from_center_size(seen.center(), seen.size().max(vec2(3.0, 2.0)));
    let line = if tone == Tone::Faded { rule } else { ink };
    let (fill, stroke) = match content {
        Content::Plant(plant) => {
            let plant = &graph.plants()[*plant];
            match (plant.selected, plant.dead) {
                (true, _) if tone == Tone::Faded => (muted, muted),
                (true, _) => (ink, ink),
                (false, true) => (raised, rule),
                (false, false) => (raised, line),
            }
        }
        Content::Fold { .. } => {
            let under = seen.translate(vec2(2.0, 2.0));
            screen.painter.rect(
                under,
                0.0,
                raised,
                Stroke::new(1.0, line),
                StrokeKind::Inside,
            );
            (raised, line)
        }
    };
    if seen.height() < LEAST_OUTLINED {
        // A stroke would be all there is of it.
        let fill = if stroke == ink && fill == raised {
            outline
        } else {
            stroke
        };
        screen.painter.rect_filled(seen, 0.0, fill);
    } else {
        screen.painter.rect(
            seen,
            0.0,
            fill,
            Stroke::new(1.0, stroke),
            StrokeKind::Inside,
        );
    }
    if tone == Tone::Focus {
        screen
            .painter
            .rect_stroke(seen, 0.0, Stroke::new(3.0, accent), StrokeKind::Outside);
    }
}

/// The window as something to draw on.
struct Screen<'a> {
    painter: &'a Painter,
    area: Rect,
    camera: &'a Camera,
    tokens: &'a Tokens,
    dashed: bool,
}

impl Screen<'_> {
    fn at(&self, point: Pos2) -> Pos2 {
        self.camera.to_screen(self.area, point)
    }

    fn color(&self, ink: Ink) -> Color32 {
        match ink {
            Ink::Strong => self.tokens.ink,
            Ink::Muted => self.tokens.muted,
            Ink::Faint => self.tokens.rule,
            Ink::Paper => self.tokens.surface,
            Ink::Raised => self.tokens.raised,
            Ink::Accent => self.tokens.accent,
        }
    }

    /// Lines thin out with the drawing, but stay lines.
    fn stroke(&self, pen: Pen) -> Stroke {
        let width = (pen.width * self.camera.zoom()).clamp(0.9_f32.min(pen.width), pen.width * 1.6);
        // Among marks the lines step back, or they would outweigh the plants.
        let ink = if pen.ink == Ink::Strong && self.camera.zoom() < CODES {
            Ink::Muted
        } else {
            pen.ink
        };
        Stroke::new(width, self.color(ink))
    }

    fn line(&self, points: Vec<Pos2>, pen: Pen) {
        let stroke = self.stroke(pen);
        let scale = self.camera.zoom().clamp(0.6, 1.6);
        match pen.dash {
            Dash::Dashed if self.dashed => {
                self.painter.extend(Shape::dashed_line(
                    &points,
                    stroke,
                    6.0 * scale,
                    4.0 * scale,
                ));
            }
            Dash::Dotted if self.dashed => {
                let radius = stroke.width * 0.75;
                self.painter.extend(Shape::dotted_line(
                    &points,
                    stroke.color,
                    4.5 * scale,
                    radius,
                ));
            }
            Dash::Double => {
                let broad = Stroke::new(stroke.width * 3.4, stroke.color);
                self.painter.add(Shape::line(points.clone(), broad));
                self.painter.add(Shape::line(
                    points,
                    Stroke::new(stroke.width * 1.4, self.tokens.surface),
                ));
            }
            Dash::Solid | Dash::Dashed | Dash::Dotted => {
                self.painter.add(Shape::line(points, stroke));
            }
        }
    }

    fn galley(&self, words: &Words<'_>) -> Arc<Galley> {
        let zoom = self.camera.zoom();
        let family = if words.strong {
            FontFamily::Name(fonts::STRONG.into())
        } else {
            FontFamily::Proportional
        };
        // Half points are fine enough, and keep the number of sizes that are rasterised small.
        let size = (words.size * zoom * 2.0).round() / 2.0;
        let format = TextFormat::simple(FontId::new(size, family), self.color(words.ink));
        let mut job = LayoutJob::single_section(words.text.to_owned(), format);
        job.wrap.max_width = words.width * zoom;
        job.wrap.max_rows = 1;
        job.wrap.break_anywhere = true;
        self.painter.layout_job(job)
    }
}

impl Canvas for Screen<'_> {
    fn path(&mut self, points: &[Pos2], pen: Pen) {
        let mut points: Vec<Pos2> = points.iter().map(|&point| self.at(point)).collect();
        // Upright and level lines are sharp only on whole pixels; the strokes of small signs are better left alone.
        if let [a, b] = points.as_slice()
            && (a.x == b.x || a.y == b.y)
            && a.distance(*b) > SIGN
        {
            for point in &mut points {
                point.x = self.painter.round_to_pixel_center(point.x);
                point.y = self.painter.round_to_pixel_center(point.y);
            }
        }
        self.line(points, pen);
    }

    fn bend(&mut self, points: [Pos2; 4], pen: Pen) {
        let [start, from, to, end] = points.map(|point| self.at(point));
        let half = vec2(0.0, (to.y - from.y) / 2.0);
        let mut way = vec![start];
        if (from.x - to.x).abs() < 0.5 {
            way.extend([from, to]);
        } else {
            let curve = CubicBezierShape::from_points_stroke(
                [from, from + half, to - half, to],
                false,
                Color32::TRANSPARENT,
                Stroke::NONE,
            );
            way.extend(curve.flatten(Some(0.3)));
        }
        way.push(end);
        way.dedup();
        self.line(way, pen);
    }

    fn rect(&mut self, rect: Rect, corner: f32, fill: Option<Ink>, pen: Option<Pen>) {
        let fill = fill.map_or(Color32::TRANSPARENT, |ink| self.color(ink));
        let stroke = pen.map_or(Stroke::NONE, |pen| self.stroke(pen));
        let corner = corner * self.camera.zoom();
        self.painter.rect(
            self.camera.rect(self.area, rect),
            corner,
            fill,
            stroke,
            StrokeKind::Middle,
        );
    }

    fn circle(&mut self, centre: Pos2, radius: f32, fill: Option<Ink>, pen: Option<Pen>) {
        let fill = fill.map_or(Color32::TRANSPARENT, |ink| self.color(ink));
        let stroke = pen.map_or(Stroke::NONE, |pen| self.stroke(pen));
        self.painter
            .circle(self.at(centre), radius * self.camera.zoom(), fill, stroke);
    }

    fn words(&mut self, mut words: Words<'_>) {
        let zoom = self.camera.zoom();
        // What stands free among the lines may keep its size for a while; what stands in a box may not.
        if words.halo && zoom >= NOTES {
            words.size = words.size.max(READABLE / zoom);
        }
        if words.size * zoom < READABLE * 0.999 {
            return;
        }
        let galley = self.galley(&words);
        let at = self.at(words.at);
        let align = match words.anchor {
            Anchor::Left => Align2::LEFT_CENTER,
            Anchor::Middle => Align2::CENTER_CENTER,
            Anchor::Right => Align2::RIGHT_CENTER,
        };
        let rect = align.anchor_size(at, galley.size());
        if words.halo {
            let ground = rect.shrink2(vec2(-1.0, rect.height() * 0.12));
            self.painter.rect_filled(ground, 0.0, self.tokens.surface);
        }
        let color = self.color(words.ink);
        self.painter.galley(rect.min, galley, color);
    }
}
