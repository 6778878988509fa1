//! A drawing as an SVG file (W3C, Scalable Vector Graphics 1.1, 2011): shapes and selectable words.

use std::fmt::Write as _;

use crate::{Anchor, Colour, Drawing, Place, Shape};

/// The colours of a drawing, each red, green and blue.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Palette {
    /// Of words that are read.
    pub ink: [u8; 3],
    /// Of figures at ticks.
    pub muted: [u8; 3],
    /// Of rules.
    pub rule: [u8; 3],
    /// Of what it is drawn on.
    pub ground: [u8; 3],
    /// Of series, by turns.
    pub series: [[u8; 3]; 6],
}

impl Palette {
    /// From the ground to the colour of the first series, in even steps.
    const fn shade(&self, nth: u8) -> [u8; 3] {
        let whole = Colour::SHADES as u16 - 1;
        let part = if (nth as u16) < whole {
            nth as u16
        } else {
            whole
        };
        let mut mixed = self.ground;
        let mut at = 0;
        while at < mixed.len() {
            let (light, dark) = (self.ground[at] as u16, self.series[0][at] as u16);
            mixed[at] = ((light * (whole - part) + dark * part) / whole) as u8;
            at += 1;
        }
        mixed
    }

    /// The colour of a role.
    pub const fn of(&self, colour: Colour) -> [u8; 3] {
        match colour {
            Colour::Ink => self.ink,
            Colour::Muted => self.muted,
            Colour::Rule => self.rule,
            Colour::Ground => self.ground,
            Colour::Series(nth) => self.series[nth % self.series.len()],
            Colour::Shade(nth) => self.shade(nth),
        }
    }
}

/// Colours for white paper; in grey, series are told apart by dashes and marks.
pub const ON_PAPER: Palette = Palette {
    ink: [0x16, 0x21, 0x1B],
    muted: [0x4A, 0x52, 0x56],
    rule: [0xC4, 0xCC, 0xC6],
    ground: [0xFF, 0xFF, 0xFF],
    series: [
        [0x1F, 0x5E, 0x86],
        [0x96, 0x50, 0x0E],
        [0x0B, 0x5B, 0x50],
        [0x8E, 0x3E, 0x70],
        [0x6E, 0x52, 0x00],
        [0x4A, 0x52, 0x56],
    ],
};

impl Drawing {
    /// The drawing as an SVG file, its words in this family of type.
    pub fn svg(&self, palette: &Palette, family: &str) -> String {
        let (width, height) = (self.size.width, self.size.height);
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" \
             viewBox=\"0 0 {width} {height}\" font-family=\"{}\">\n<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n",
            escaped(family)
        );
        for shape in &self.shapes {
            element(&mut out, palette, shape);
        }
        out.push_str("</svg>\n");
        out
    }
}

fn element(out: &mut String, palette: &Palette, shape: &Shape) {
    let hex = |colour: Colour| {
        let [red, green, blue] = palette.of(colour);
        format!("#{red:02x}{green:02x}{blue:02x}")
    };
    let written = match shape {
        Shape::Line {
            points,
            width,
            dashes,
            colour,
        } => {
            let dashes = dashes.map_or_else(String::new, |(length, gap)| {
                format!(" stroke-dasharray=\"{length} {gap}\"")
            });
            writeln!(
                out,
                "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{width}\"{dashes}/>",
                joined(points.iter()),
                hex(*colour)
            )
        }
        Shape::Band {
            upper,
            lower,
            colour,
        } => {
            let points = joined(upper.iter().chain(lower.iter().rev()));
            let (fill, pale) = (hex(*colour), Shape::PALE);
            writeln!(
                out,
                "<polygon points=\"{points}\" fill=\"{fill}\" fill-opacity=\"{pale}\"/>"
            )
        }
        Shape::Disc {
            centre,
            radius,
            colour,
        } => {
            let (Place { x, y }, fill) = (centre, hex(*colour));
            writeln!(
                out,
                "<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"{radius}\" fill=\"{fill}\"/>"
            )
        }
        Shape::Filled { corners, colour } => {
            writeln!(
                out,
                "<polygon points=\"{}\" fill=\"{}\"/>",
                joined(corners.iter()),
                hex(*colour)
            )
        }
        Shape::Words(words) => {
            let anchor = match words.anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            };
            // Figures and capitals are about two thirds of an em high.
            let baseline = words.at.y + 0.33 * words.size;
            let weight = if words.bold {
                " font-weight=\"bold\""
            } else {
                ""
            };
            writeln!(
                out,
                "<text x=\"{:.2}\" y=\"{baseline:.2}\" font-size=\"{}\" text-anchor=\"{anchor}\" fill=\"{}\"{weight}>{}</text>",
                words.at.x,
                words.size,
                hex(words.colour),
                escaped(&words.text)
            )
        }
    };
    // Writing to a string cannot fail.
    debug_assert!(written.is_ok());
}

fn joined<'a>(points: impl Iterator<Item = &'a Place>) -> String {
    let points: Vec<_> = points
        .map(|point| format!("{:.2},{:.2}", point.x, point.y))
        .collect();
    points.join(" ")
}

/// Text as XML takes it; characters that no XML file may hold (XML 1.0, 5th ed., 2.2) are left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\u{FFFE}' | '\u{FFFF}' => {}
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}
