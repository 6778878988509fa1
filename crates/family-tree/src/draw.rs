//! What the drawing looks like, on anything that can draw lines and words: the window and the printed page alike.

mod key;

pub(super) use key::key;

use egui::{Pos2, Rect, pos2, vec2};

use super::{
    graph::{FamilyGraph, Line, Plant, PlantIndex},
    layout::{ChildLine, FamilyPlace, Layout, ParentLine, Port},
    marks,
    scope::{Content, End, Extract, Link, fold_count, fold_sexes, fold_title},
};

/// From one line of small text to the next.
pub(super) const LEADING: f32 = 15.0;
/// The size of a plant's code.
pub(super) const CODE: f32 = 14.0;
/// The size of everything else that is written.
pub(super) const SMALL: f32 = 12.0;
const CORNER: f32 = 3.0;
/// The weight of the lines from a junction to its family.
const TWIG: f32 = 1.3;
/// Length of a stub.
const STUB: f32 = 15.0;

/// What a stroke or a word weighs; the canvas knows the colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ink {
    /// Text and outlines.
    Strong,
    /// Text of less weight.
    Muted,
    /// What should barely be seen.
    Faint,
    /// The ground.
    Paper,
    /// What lies on the ground.
    Raised,
    /// The plant in focus.
    Accent,
}

/// How a stroke is broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Dash {
    Solid,
    Dashed,
    Dotted,
    Double,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pen {
    pub(super) ink: Ink,
    pub(super) width: f32,
    pub(super) dash: Dash,
}

impl Pen {
    pub(super) const fn new(ink: Ink, width: f32) -> Self {
        Self {
            ink,
            width,
            dash: Dash::Solid,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Anchor {
    Left,
    Middle,
    Right,
}

/// A line of words: `at` is in the middle of its height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Words<'a> {
    pub(super) text: &'a str,
    pub(super) at: Pos2,
    pub(super) anchor: Anchor,
    pub(super) size: f32,
    pub(super) strong: bool,
    pub(super) ink: Ink,
    /// Longer words end in an ellipsis.
    pub(super) width: f32,
    /// Whether lines behind the words are blanked.
    pub(super) halo: bool,
}

/// Something that can be drawn on, in the layout's points.
pub(super) trait Canvas {
    /// A line through the points.
    fn path(&mut self, points: &[Pos2], pen: Pen);
    /// A straight piece, a bend, a straight piece.
    fn bend(&mut self, points: [Pos2; 4], pen: Pen);
    /// A rectangle with slightly rounded corners.
    fn rect(&mut self, rect: Rect, corner: f32, fill: Option<Ink>, pen: Option<Pen>);
    /// A circle.
    fn circle(&mut self, centre: Pos2, radius: f32, fill: Option<Ink>, pen: Option<Pen>);
    /// A line of words.
    fn words(&mut self, words: Words<'_>);
}

/// How much of a plant is shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Detail {
    /// Everything.
    Full,
    /// Only the code, in this size.
    Code(f32),
}

/// How a thing stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Tone {
    Plain,
    /// Not related to the plant in focus.
    Faded,
    /// The plant in focus.
    Focus,
}

impl Tone {
    const fn text(self) -> Ink {
        match self {
            Self::Plain | Self::Focus => Ink::Strong,
            Self::Faded => Ink::Muted,
        }
    }

    const fn line(self) -> Ink {
        match self {
            Self::Plain | Self::Focus => Ink::Strong,
            Self::Faded => Ink::Faint,
        }
    }
}

/// The ground of the bands and their names.
pub(super) fn bands(canvas: &mut dyn Canvas, layout: &Layout) {
    for band in &layout.bands {
        let y = band.rect.top() - 4.0;
        canvas.path(
            &[
                pos2(band.rect.left() - MARGIN, y),
                pos2(band.rect.right() + 8.0, y),
            ],
            Pen {
                ink: Ink::Faint,
                width: 1.0,
                dash: Dash::Dotted,
            },
        );
        canvas.words(Words {
            text: &generation(band.generation),
            at: pos2(band.rect.left() - MARGIN, y + 12.0),
            anchor: Anchor::Left,
            size: SMALL,
            strong: false,
            ink: Ink::Muted,
            width: MARGIN,
            halo: false,
        });
    }
    if let Some(loose) = layout.loose {
        canvas.words(Words {
            text: loose_title(layout),
            at: pos2(loose.left(), loose.top() - 14.0),
            anchor: Anchor::Left,
            size: SMALL,
            strong: false,
            ink: Ink::Muted,
            width: f32::INFINITY,
            halo: false,
        });
    }
}

/// Room at the left for the names of the bands.
pub(super) const MARGIN: f32 = 96.0;

/// What is said over the plants that have no relatives in the drawing.
pub(super) fn loose_title(layout: &Layout) -> &'static str {
    if layout.bands.is_empty() {
        "None of these plants is recorded as a relative of another"
    } else {
        "Not related to any other plant shown"
    }
}

pub(super) fn generation(band: usize) -> String {
    format!("Generation {}", band + 1)
}

/// A piece of a parent's line.
pub(super) fn strand(canvas: &mut dyn Canvas, strand: &ParentLine, tone: Tone) {
    canvas.bend(strand.points, line_pen(strand.line, tone));
}

fn line_pen(line: Line, tone: Tone) -> Pen {
    let (dash, width) = match line {
        Line::Female => (Dash::Solid, 1.3),
        Line::Male => (Dash::Dashed, 1.3),
        Line::Doubled => (Dash::Double, 1.1),
        Line::Variant => (Dash::Dotted, 1.5),
    };
    Pen {
        ink: tone.line(),
        width,
        dash,
    }
}

/// Junction lines to the members: those that are faded first, so that the others lie on top. No stretch is drawn twice
/// in one tone, for then it would look heavier than the rest.
pub(super) fn child_lines(
    canvas: &mut dyn Canvas,
    place: &FamilyPlace,
    tone: impl Fn(usize) -> Tone,
) {
    let split = place.stem[1];
    for wanted in [Tone::Faded, Tone::Plain] {
        let child_lines: Vec<&ChildLine> = place
            .child_lines
            .iter()
            .filter(|twig| (tone(twig.member) == Tone::Faded) == (wanted == Tone::Faded))
            .collect();
        if child_lines.is_empty() {
            continue;
        }
        let pen = Pen::new(wanted.line(), TWIG);
        let xs = || child_lines.iter().map(|twig| twig.from.x).chain([split.x]);
        let (left, right) = (xs().fold(split.x, f32::min), xs().fold(split.x, f32::max));
        if left < right {
            canvas.path(&[pos2(left, split.y), pos2(right, split.y)], pen);
        }
        for stack in child_lines.chunk_by(|a, b| a.from.x == b.from.x) {
            let lowest = stack.iter().map(|twig| twig.to.y).fold(split.y, f32::max);
            canvas.path(&[stack[0].from, pos2(stack[0].from.x, lowest)], pen);
            for twig in stack.iter().filter(|twig| twig.from.x != twig.to.x) {
                canvas.path(&[pos2(twig.from.x, twig.to.y), twig.to], pen);
            }
        }
    }
    let plain = place
        .child_lines
        .iter()
        .any(|twig| tone(twig.member) != Tone::Faded);
    let pen = Pen::new(if plain { Tone::Plain } else { Tone::Faded }.line(), TWIG);
    canvas.path(&place.stem, pen);
    if let [left, right] = place.ports.as_slice() {
        canvas.path(&[left.at, right.at], pen);
    }
}

/// The marks of a junction, its stubs and its code.
pub(super) fn junction(
    canvas: &mut dyn Canvas,
    graph: &FamilyGraph,
    extract: &Extract,
    layout: &Layout,
    family: usize,
    tone: Tone,
) {
    let place = &layout.families[family];
    let kin = &extract.families[family];
    for port in &place.ports {
        let of_side = || kin.links.iter().filter(|link| link.line == port.line);
        let absent: Vec<&Link> = of_side()
            .filter(|link| !matches!(link.end, End::Box(_)))
            .collect();
        if !absent.is_empty() {
            stub(canvas, graph, port, &absent, tone);
        }
        canvas.circle(port.at, layout.sizes.mark, Some(Ink::Paper), None);
        sign(canvas, port.at, port.line, layout.sizes.mark, tone);
        if of_side().count() > 1 {
            note(
                canvas,
                "mix",
                port.at + vec2(port.lean * 11.0, 0.0),
                side(port.lean),
                tone,
                true,
            );
        }
    }
    let family = &graph.families()[kin.family];
    let kind = match kin.links.first().map(|link| link.line) {
        Some(Line::Doubled) => Some("doubled"),
        Some(Line::Variant) => Some("variant"),
        _ => None,
    };
    if let Some(text) = family.code.as_deref().or(kind) {
        let at = place.stem[0] + vec2(6.0, 19.0);
        note(canvas, text, at, Anchor::Left, tone, true);
    }
}

/// The mark of a side of a cross.
fn sign(canvas: &mut dyn Canvas, at: Pos2, line: Line, radius: f32, tone: Tone) {
    match line {
        Line::Female => marks::female(canvas, at, radius * 1.9, tone.text()),
        Line::Male => marks::male(canvas, at, radius * 1.9, tone.text()),
        Line::Doubled | Line::Variant => {
            canvas.circle(
                at,
                radius - 0.5,
                Some(Ink::Paper),
                Some(Pen::new(tone.text(), 1.1)),
            );
            let letter = if line == Line::Doubled { "2" } else { "v" };
            note(canvas, letter, at, Anchor::Middle, tone, false);
        }
    }
}

/// A short line that ends in the open, with a word where there is one to say.
fn stub(canvas: &mut dyn Canvas, graph: &FamilyGraph, port: &Port, absent: &[&Link], tone: Tone) {
    let end = port.at + vec2(port.lean * 7.0, -STUB - 4.0);
    canvas.path(&[port.at, end], line_pen(port.line, tone));
    let code = |plant: usize| graph.plants()[plant].code.clone();
    let (text, known) = match absent {
        [one] => match one.end {
            End::Hidden(plant) => (code(plant), true),
            End::Loop(plant) => (format!("{}, a circle", code(plant)), false),
            End::Open => ("open".to_owned(), false),
            End::Missing => ("no record".to_owned(), false),
            End::Unknown | End::Box(_) => (String::new(), false),
        },
        several => (format!("{} more", several.len()), true),
    };
    let top = if known {
        marks::further(canvas, end - vec2(0.0, 3.0), tone.text());
        12.0
    } else {
        canvas.circle(
            end - vec2(0.0, 3.5),
            3.5,
            Some(Ink::Paper),
            Some(Pen::new(tone.text(), 1.2)),
        );
        7.0
    };
    if !text.is_empty() {
        let at = end + vec2(-port.lean * 6.0, -top - 8.0);
        note(canvas, &text, at, side(port.lean), tone, true);
    }
}

const fn side(lean: f32) -> Anchor {
    if lean < 0.0 {
        Anchor::Right
    } else if lean > 0.0 {
        Anchor::Left
    } else {
        Anchor::Middle
    }
}

fn note(canvas: &mut dyn Canvas, text: &str, at: Pos2, anchor: Anchor, tone: Tone, halo: bool) {
    let ink = if tone == Tone::Faded {
        Ink::Muted
    } else {
        Ink::Strong
    };
    canvas.words(Words {
        text,
        at,
        anchor,
        size: SMALL,
        strong: false,
        ink,
        width: 76.0,
        halo,
    });
}

/// A box.
pub(super) fn content(
    canvas: &mut dyn Canvas,
    graph: &FamilyGraph,
    content: &Content,
    rect: Rect,
    tone: Tone,
    detail: Detail,
) {
    match content {
        Content::Plant(index) => plant(canvas, graph, *index, rect, tone, detail),
        Content::Fold {
            family,
            plants,
            whole,
        } => {
            // The edges of the boxes underneath.
            let pen = Pen::new(tone.line(), 1.0);
            for step in [2.0_f32, 1.0] {
                let under = rect.translate(vec2(step * 2.5, step * 2.5));
                canvas.rect(under, CORNER, Some(Ink::Raised), Some(pen));
            }
            canvas.rect(rect, CORNER, Some(Ink::Raised), Some(pen));
            let title = fold_title(graph, *family, plants);
            let lines = [fold_count(graph, plants, *whole), fold_sexes(graph, plants)];
            text(canvas, rect, &title, &lines, tone.text(), 26.0, detail);
            let more = vec2(-14.0, 13.0);
            match detail {
                Detail::Full => marks::more(canvas, rect.right_top() + more, 6.5, tone.text()),
                Detail::Code(size) if two_lines(rect, size) => canvas.words(Words {
                    text: &plants.len().to_string(),
                    at: rect.center() + vec2(0.0, size * 0.72),
                    anchor: Anchor::Middle,
                    size,
                    strong: false,
                    ink: tone.text(),
                    width: rect.width() - 6.0,
                    halo: false,
                }),
                Detail::Code(_) => {}
            }
        }
    }
}

fn plant(
    canvas: &mut dyn Canvas,
    graph: &FamilyGraph,
    index: PlantIndex,
    rect: Rect,
    tone: Tone,
    detail: Detail,
) {
    let plant = &graph.plants()[index];
    let ink = if plant.dead { Ink::Muted } else { tone.text() };
    if tone == Tone::Focus {
        canvas.rect(
            rect.expand(5.0),
            CORNER + 3.0,
            None,
            Some(Pen::new(Ink::Accent, 2.5)),
        );
    }
    let outline = match (plant.selected, plant.dead, tone) {
        (true, _, Tone::Faded) => Pen::new(Ink::Muted, 2.6),
        (true, _, _) => Pen::new(Ink::Strong, 2.6),
        (false, true, _) | (false, _, Tone::Faded) => Pen::new(Ink::Faint, 1.0),
        (false, false, _) => Pen::new(Ink::Strong, 1.0),
    };
    canvas.rect(rect, CORNER, Some(Ink::Raised), Some(outline));
    if let Some(shading) = graph.shading(index) {
        let bar = Rect::from_min_size(rect.min + vec2(3.0, 3.0), vec2(5.0, rect.height() - 6.0));
        canvas.rect(bar, 0.0, Some(Ink::Paper), Some(Pen::new(ink, 0.8)));
        let mut filled = bar;
        filled.set_top(bar.bottom() - bar.height() * shading.clamp(0.0, 1.0));
        canvas.rect(filled, 0.0, Some(ink), None);
    }
    let mut lines = Vec::new();
    lines.extend(plant.name.clone());
    lines.push(status(plant));
    lines.extend(plant.captions.iter().cloned());
    text(canvas, rect, &plant.code, &lines, ink, 26.0, detail);
    match detail {
        Detail::Full => marks::sex(
            canvas,
            rect.right_top() + vec2(-14.0, 14.0),
            15.0,
            plant.sex,
            ink,
        ),
        Detail::Code(size) if two_lines(rect, size) => {
            marks::sex(
                canvas,
                rect.center() + vec2(0.0, size * 0.72),
                size * 1.1,
                plant.sex,
                ink,
            );
        }
        Detail::Code(_) => {}
    }
    if plant.selected {
        marks::selected(canvas, rect.left_top() + vec2(1.0, 1.0), 7.0);
    }
    if plant.dead {
        marks::dead(canvas, rect.right_bottom() - vec2(1.0, 1.0), 7.0);
    }
}

/// Whether a box that shows its code in this size has room for a sign under it.
fn two_lines(rect: Rect, size: f32) -> bool {
    rect.height() >= size * 2.9
}

/// The second line of a box: sex, sets of chromosomes and stage.
fn status(plant: &Plant) -> String {
    let mut words = vec![plant.sex.word().to_owned()];
    words.extend(plant.ploidy.map(|ploidy| format!("{ploidy}x")));
    if !plant.stage.is_empty() {
        words.push(plant.stage.clone());
    } else if plant.dead {
        words.push("dead".to_owned());
    }
    words.join(", ")
}

/// Code and lines of a box; `right` is kept free beside the code.
fn text(
    canvas: &mut dyn Canvas,
    rect: Rect,
    code: &str,
    lines: &[String],
    ink: Ink,
    right: f32,
    detail: Detail,
) {
    let left = rect.left() + 13.0;
    match detail {
        Detail::Code(size) => canvas.words(Words {
            text: code,
            at: rect.center()
                - vec2(
                    0.0,
                    if two_lines(rect, size) {
                        size * 0.62
                    } else {
                        0.0
                    },
                ),
            anchor: Anchor::Middle,
            size,
            strong: true,
            ink,
            width: rect.width() - 6.0,
            halo: false,
        }),
        Detail::Full => {
            let mut y = rect.top() + 13.5;
            canvas.words(Words {
                text: code,
                at: pos2(left, y),
                anchor: Anchor::Left,
                size: CODE,
                strong: true,
                ink,
                width: rect.right() - right - left,
                halo: false,
            });
            y += 1.0;
            for line in lines.iter().filter(|line| !line.is_empty()) {
                y += LEADING;
                if y + LEADING / 2.0 > rect.bottom() + 1.0 {
                    break;
                }
                canvas.words(Words {
                    text: line,
                    at: pos2(left, y),
                    anchor: Anchor::Left,
                    size: SMALL,
                    strong: false,
                    ink: Ink::Muted,
                    width: rect.right() - 8.0 - left,
                    halo: false,
                });
            }
        }
    }
}
