//! The drawing as a standalone SVG page, black on white, for the printer and the notebook.

use std::fmt::Write as _;

use egui::{Pos2, Rect, vec2};

use super::{
    draw::{self, Anchor, Canvas, Dash, Detail, Ink, Pen, Tone, Words},
    graph::FamilyGraph,
    layout::Layout,
    page,
    scope::{Content, Extract, describe_fold, describe_plant},
};

/// Writes the drawing as SVG (one user unit is one point). The same input gives the same text.
///
/// Every box is a group with a `title`, which a viewer shows under the pointer and a screen reader says.
pub fn to_svg(graph: &FamilyGraph, extract: &Extract, layout: &Layout) -> String {
    let page = page::around(layout);
    let mut canvas = Svg {
        text: String::new(),
    };
    let (x, y, width, height) = (page.min.x, page.min.y, page.width(), page.height());
    canvas.write(format_args!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}pt\" height=\"{height}pt\" viewBox=\"{x} {y} {width} {height}\" \
         font-family=\"'Source Sans 3', 'Source Sans Pro', 'Liberation Sans', Arial, sans-serif\">\n<title>Family tree</title>\n\
         <rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"white\"/>\n"
    ));
    draw::bands(&mut canvas, layout);
    for strand in &layout.parent_lines {
        draw::strand(&mut canvas, strand, Tone::Plain);
    }
    for (family, place) in layout.families.iter().enumerate() {
        draw::child_lines(&mut canvas, place, |_| Tone::Plain);
        draw::junction(&mut canvas, graph, extract, layout, family, Tone::Plain);
    }
    for (content, &rect) in extract.boxes.iter().zip(&layout.boxes) {
        let title = match content {
            Content::Plant(plant) => describe_plant(graph, *plant),
            Content::Fold {
                family,
                plants,
                whole,
            } => describe_fold(graph, *family, plants, *whole),
        };
        canvas.write(format_args!("<g><title>{}</title>\n", escape(&title)));
        draw::content(&mut canvas, graph, content, rect, Tone::Plain, Detail::Full);
        canvas.write(format_args!("</g>\n"));
    }
    draw::key(&mut canvas, page::key(page));
    canvas.text.push_str("</svg>\n");
    canvas.text
}

struct Svg {
    text: String,
}

impl Svg {
    fn write(&mut self, arguments: std::fmt::Arguments<'_>) {
        // Writing to a string cannot fail.
        let _ = self.text.write_fmt(arguments);
    }

    fn shape(&mut self, element: &str, fill: Option<Ink>, pen: Option<Pen>) {
        self.write(format_args!(
            "<{element} fill=\"{}\"",
            fill.map_or("none", color)
        ));
        if let Some(pen) = pen {
            self.write(format_args!(
                " stroke=\"{}\" stroke-width=\"{}\"",
                color(pen.ink),
                round(pen.width)
            ));
            match pen.dash {
                Dash::Solid | Dash::Double => {}
                Dash::Dashed => self.text.push_str(" stroke-dasharray=\"6 4\""),
                Dash::Dotted => self
                    .text
                    .push_str(" stroke-dasharray=\"0.1 4\" stroke-linecap=\"round\""),
            }
        }
        self.text.push_str("/>\n");
    }

    /// A double line is a broad one with a white one on it.
    fn stroke(&mut self, element: &str, pen: Pen) {
        if pen.dash == Dash::Double {
            self.shape(
                element,
                None,
                Some(Pen {
                    width: pen.width * 3.5,
                    ..pen
                }),
            );
            self.shape(
                element,
                None,
                Some(Pen {
                    ink: Ink::Paper,
                    width: pen.width * 1.6,
                    ..pen
                }),
            );
        } else {
            self.shape(element, None, Some(pen));
        }
    }
}

impl Canvas for Svg {
    fn path(&mut self, points: &[Pos2], pen: Pen) {
        let points: Vec<String> = points.iter().map(|point| pair(*point)).collect();
        self.stroke(&format!("polyline points=\"{}\"", points.join(" ")), pen);
    }

    fn bend(&mut self, [start, from, to, end]: [Pos2; 4], pen: Pen) {
        let half = vec2(0.0, (to.y - from.y) / 2.0);
        let element = format!(
            "path d=\"M{} L{} C{} {} {} L{}\"",
            pair(start),
            pair(from),
            pair(from + half),
            pair(to - half),
            pair(to),
            pair(end)
        );
        self.stroke(&element, pen);
    }

    fn rect(&mut self, rect: Rect, corner: f32, fill: Option<Ink>, pen: Option<Pen>) {
        let element = format!(
            "rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"{corner}\"",
            round(rect.left()),
            round(rect.top()),
            round(rect.width()),
            round(rect.height())
        );
        self.shape(&element, fill, pen);
    }

    fn circle(&mut self, centre: Pos2, radius: f32, fill: Option<Ink>, pen: Option<Pen>) {
        let element = format!(
            "circle cx=\"{}\" cy=\"{}\" r=\"{}\"",
            round(centre.x),
            round(centre.y),
            round(radius)
        );
        self.shape(&element, fill, pen);
    }

    fn words(&mut self, words: Words<'_>) {
        let anchor = match words.anchor {
            Anchor::Left => "start",
            Anchor::Middle => "middle",
            Anchor::Right => "end",
        };
        let weight = if words.strong {
            " font-weight=\"bold\""
        } else {
            ""
        };
        let halo = if words.halo {
            " stroke=\"white\" stroke-width=\"4\" stroke-linejoin=\"round\" paint-order=\"stroke\""
        } else {
            ""
        };
        // The middle of the height of small letters and figures is about a third of the size above the base line.
        self.write(format_args!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{anchor}\" fill=\"{}\"{weight}{halo}>{}</text>\n",
            round(words.at.x),
            round(words.at.y + words.size * 0.34),
            words.size,
            color(words.ink),
            escape(&shorten(words.text, words.width / (words.size * page::LETTER)))
        ));
    }
}

/// Greys that a black printer holds; text is never lighter than the second.
const fn color(ink: Ink) -> &'static str {
    match ink {
        Ink::Strong | Ink::Accent => "black",
        Ink::Muted => "#555",
        Ink::Faint => "#999",
        Ink::Paper | Ink::Raised => "white",
    }
}

fn shorten(text: &str, letters: f32) -> String {
    let room = letters.clamp(1.0, 1000.0) as usize;
    if text.chars().count() <= room {
        return text.to_owned();
    }
    let mut short: String = text.chars().take(room - 1).collect();
    short.push('…');
    short
}

/// Also drops what XML 1.0 does not allow at all.
fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\t' | '\n' | '\r' => escaped.push(' '),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => {}
            other => escaped.push(other),
        }
    }
    escaped
}

fn pair(point: Pos2) -> String {
    format!("{},{}", round(point.x), round(point.y))
}

/// Two decimals are finer than any printer.
fn round(value: f32) -> f32 {
    // Adding zero turns -0 into 0.
    (value * 100.0).round() / 100.0 + 0.0
}

#[cfg(test)]
mod tests;
