//! Where everything of a chart stands in a rectangle.

use crate::{Chart, Series};

/// The size of words at ticks and lines.
const SMALL: f32 = 12.0;
/// The size of the title.
const TITLE: f32 = 14.0;
/// Between words and what they stand beside.
const GAP: f32 = 6.0;
/// From an end of the area to the first and last point across, so that marks stand clear of the sides.
const INSET: f32 = 6.0;

/// A width and a height in points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// Across.
    pub width: f32,
    /// Down.
    pub height: f32,
}

/// A place in points from the upper left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// To the right.
    pub x: f32,
    /// Down.
    pub y: f32,
}

/// The role of a colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    /// Of words that are read.
    Ink,
    /// Of figures at ticks.
    Muted,
    /// Of rules.
    Rule,
    /// Of the nth series.
    Series(usize),
    /// The nth of [`Colour::SHADES`] from light to dark, for figures shown as shades.
    Shade(u8),
    /// Of the ground, to blank what lies beneath.
    Ground,
}

impl Colour {
    /// How many shades there are, from 0 on.
    pub const SHADES: u8 = 7;
}

/// Where words stand from their place: the place is to their left, amid them or to their right; their height is always
/// amid it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// They begin at the place.
    Start,
    /// They are amid it.
    Middle,
    /// They end at it.
    End,
}

/// One line of words.
#[derive(Clone, Debug, PartialEq)]
pub struct Words {
    /// What is written.
    pub text: String,
    /// The middle of their height, and where `anchor` says across.
    pub at: Place,
    /// See [`Anchor`].
    pub anchor: Anchor,
    /// Height of an em.
    pub size: f32,
    /// Whether they are bold.
    pub bold: bool,
    /// Their colour.
    pub colour: Colour,
}

/// Something drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A line through points, drawn through or with dashes of a length and a gap.
    Line {
        /// From first to last.
        points: Vec<Place>,
        /// Its width.
        width: f32,
        /// Length and gap of its dashes.
        dashes: Option<(f32, f32)>,
        /// Its colour.
        colour: Colour,
    },
    /// A pale area between two edges with as many points each.
    Band {
        /// Its upper edge, from the left.
        upper: Vec<Place>,
        /// Its lower edge, from the left.
        lower: Vec<Place>,
        /// Its colour, drawn at [`Shape::PALE`].
        colour: Colour,
    },
    /// A filled disc.
    Disc {
        /// Its centre.
        centre: Place,
        /// Its radius.
        radius: f32,
        /// Its colour.
        colour: Colour,
    },
    /// A filled shape that turns outwards everywhere.
    Filled {
        /// Its corners in order.
        corners: Vec<Place>,
        /// Its colour.
        colour: Colour,
    },
    /// Words.
    Words(Words),
}

impl Shape {
    /// How much of the ground a band covers.
    pub const PALE: f32 = 0.14;
}

/// From values to places and back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// The area's upper left corner.
    pub from: Place,
    /// The area's lower right corner.
    pub to: Place,
    across: (f64, f64),
    up: (f64, f64),
}

impl Frame {
    /// A frame of all that is drawn, for a drawing that shows no values.
    pub const fn whole(size: Size) -> Self {
        Self {
            from: Place { x: 0.0, y: 0.0 },
            to: Place {
                x: size.width,
                y: size.height,
            },
            across: (0.0, 1.0),
            up: (0.0, 1.0),
        }
    }

    /// Where a pair of values stands.
    pub fn place(&self, (across, up): (f64, f64)) -> Place {
        let (left, right) = (f64::from(self.from.x + INSET), f64::from(self.to.x - INSET));
        let part = (across - self.across.0) / (self.across.1 - self.across.0);
        let height = (up - self.up.0) / (self.up.1 - self.up.0);
        Place {
            x: (left + (right - left) * part) as f32,
            y: (f64::from(self.to.y) - f64::from(self.to.y - self.from.y) * height) as f32,
        }
    }

    /// The value across at so many points from the left.
    pub fn across(&self, x: f32) -> f64 {
        let (left, right) = (f64::from(self.from.x + INSET), f64::from(self.to.x - INSET));
        self.across.0 + (self.across.1 - self.across.0) * (f64::from(x) - left) / (right - left)
    }

    /// Whether a place is in the area.
    pub fn holds(&self, at: Place) -> bool {
        (self.from.x..=self.to.x).contains(&at.x) && (self.from.y..=self.to.y).contains(&at.y)
    }
}

/// A chart laid out.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// The size it was laid out for.
    pub size: Size,
    /// Its area.
    pub frame: Frame,
    /// In the order they are drawn.
    pub shapes: Vec<Shape>,
}

impl Chart {
    /// Lays the chart out. `measure` tells how wide words are at a size, bold or not.
    pub fn lay(&self, size: Size, measure: &dyn Fn(&str, f32, bool) -> f32) -> Drawing {
        let named = |series: &&Series| !series.name.is_empty();
        let widest = |words: &mut dyn Iterator<Item = f32>| words.fold(0.0, f32::max);
        let names = self
            .series
            .iter()
            .filter(named)
            .map(|series| measure(&series.name, SMALL, false));
        let names = widest(&mut names.map(|width| width + 3.0 * GAP)).min(size.width / 3.0);

        let head = if self.title.is_empty() {
            GAP
        } else {
            2.0 * TITLE
        };
        let top = head
            + if self.up.name.is_empty() {
                GAP
            } else {
                1.5 * SMALL
            };
        let foot = 1.6 * SMALL
            + if self.across.name.is_empty() {
                0.0
            } else {
                1.4 * SMALL
            };
        let height = (size.height - top - foot).max(1.0);
        let up = self.up.ticks(((height / (2.6 * SMALL)) as usize).min(5));
        let up: Vec<_> = up.iter().map(|at| (*at, self.up.words(&up, *at))).collect();
        let left =
            widest(&mut up.iter().map(|(_, words)| measure(words, SMALL, false))) + 2.0 * GAP;
        let right = (size.width - names.max(2.0 * GAP)).max(left + 1.0);
        let frame = Frame {
            from: Place { x: left, y: top },
            to: Place {
                x: right,
                y: top + height,
            },
            across: (self.across.from, self.across.to),
            up: (self.up.from, self.up.to),
        };
        let longest = [self.across.from, self.across.to].map(|end| {
            let whole = if self.across.to - self.across.from >= 5.0 {
                end.round()
            } else {
                end
            };
            measure(
                &self.across.words(&[whole, whole + 1.0], whole),
                SMALL,
                false,
            )
        });
        let room = (right - left) / (longest[0].max(longest[1]).max(SMALL) + 2.5 * GAP);
        let across = self.across.ticks(room as usize);
        let across: Vec<_> = across
            .iter()
            .map(|at| (*at, self.across.words(&across, *at)))
            .collect();

        let mut shapes = Vec::new();
        self.title_and_axes(&frame, &up, &across, &mut shapes);
        for (nth, series) in self.series.iter().enumerate() {
            band(&frame, nth, series, &mut shapes);
        }
        for (nth, series) in self.series.iter().enumerate() {
            line(&frame, nth, series, &mut shapes);
        }
        self.names(&frame, size, measure, &mut shapes);
        Drawing {
            size,
            frame,
            shapes,
        }
    }

    fn title_and_axes(
        &self,
        frame: &Frame,
        up: &[(f64, String)],
        across: &[(f64, String)],
        shapes: &mut Vec<Shape>,
    ) {
        let mut words = |text: &str, x, y, anchor, colour| {
            if text.is_empty() {
                return;
            }
            let bold = colour == Colour::Ink && y < TITLE;
            let size = if bold { TITLE } else { SMALL };
            shapes.push(Shape::Words(Words {
                text: text.to_owned(),
                at: Place { x, y },
                anchor,
                size,
                bold,
                colour,
            }));
        };
        words(&self.title, 0.0, 0.7 * TITLE, Anchor::Start, Colour::Ink);
        words(
            &self.up.name,
            0.0,
            frame.from.y - 1.1 * SMALL,
            Anchor::Start,
            Colour::Ink,
        );
        let below = frame.to.y + GAP + 0.5 * SMALL;
        let middle = f32::midpoint(frame.from.x, frame.to.x);
        words(
            &self.across.name,
            middle,
            below + 1.3 * SMALL,
            Anchor::Middle,
            Colour::Ink,
        );
        for (at, text) in up {
            let y = frame.place((self.across.from, *at)).y;
            words(text, frame.from.x - GAP, y, Anchor::End, Colour::Muted);
        }
        for (at, text) in across {
            let x = frame.place((*at, self.up.from)).x;
            words(text, x, below, Anchor::Middle, Colour::Muted);
        }
        let mut rule = |from, to| {
            shapes.push(Shape::Line {
                points: vec![from, to],
                width: 1.0,
                dashes: None,
                colour: Colour::Rule,
            });
        };
        let (from, to) = (frame.from, frame.to);
        for (at, _) in up.iter().filter(|_| self.up.ruled) {
            let y = frame.place((self.across.from, *at)).y;
            rule(Place { x: from.x, y }, Place { x: to.x, y });
        }
        for (at, _) in across.iter().filter(|_| self.across.ruled) {
            let x = frame.place((*at, self.up.from)).x;
            rule(Place { x, y: from.y }, Place { x, y: to.y });
        }
    }

    /// Names at the ends of lines, moved apart where lines end close together.
    fn names(
        &self,
        frame: &Frame,
        size: Size,
        measure: &dyn Fn(&str, f32, bool) -> f32,
        shapes: &mut Vec<Shape>,
    ) {
        let end = |series: &Series| {
            series
                .end
                .or_else(|| series.marks.last().map(|mark| mark.1))
                .unwrap_or(self.up.from)
        };
        let mut ends: Vec<(f32, usize)> = (self.series.iter().enumerate())
            .filter(|(_, series)| !series.name.is_empty())
            .map(|(nth, series)| (frame.place((self.across.to, end(series))).y, nth))
            .collect();
        ends.sort_by(|one, other| one.0.total_cmp(&other.0));
        let apart = SMALL + 3.0;
        // Those that would run out below move up together.
        let mut least = frame.from.y;
        let mut places: Vec<f32> = Vec::with_capacity(ends.len());
        for (y, _) in &ends {
            places.push(y.max(least));
            least = y.max(least) + apart;
        }
        let mut most = frame
            .to
            .y
            .max(frame.from.y + apart * ends.len().saturating_sub(1) as f32);
        for place in places.iter_mut().rev() {
            *place = place.min(most);
            most = *place - apart;
        }
        for (y, (_, nth)) in places.into_iter().zip(ends) {
            let at = Place {
                x: frame.to.x + GAP,
                y,
            };
            mark(nth, at, shapes);
            let text = cut(
                &self.series[nth].name,
                size.width - at.x - 1.5 * GAP,
                measure,
            );
            let at = Place {
                x: at.x + 1.5 * GAP,
                y,
            };
            let anchor = Anchor::Start;
            shapes.push(Shape::Words(Words {
                text,
                at,
                anchor,
                size: SMALL,
                bold: false,
                colour: Colour::Ink,
            }));
        }
    }
}

/// As much of a name as fits.
fn cut(name: &str, room: f32, measure: &dyn Fn(&str, f32, bool) -> f32) -> String {
    if measure(name, SMALL, false) <= room {
        return name.to_owned();
    }
    let mut cut: String = name.to_owned();
    while cut.pop().is_some() {
        let with_dots = format!("{}…", cut.trim_end());
        if measure(&with_dots, SMALL, false) <= room {
            return with_dots;
        }
    }
    "…".to_owned()
}

fn band(frame: &Frame, nth: usize, series: &Series, shapes: &mut Vec<Shape>) {
    if series.band.len() > 1 {
        let edge = |pick: fn(&crate::Band) -> f64| {
            series
                .band
                .iter()
                .map(|at| frame.place((at.at, pick(at))))
                .collect()
        };
        let (upper, lower) = (edge(|at| at.high), edge(|at| at.low));
        shapes.push(Shape::Band {
            upper,
            lower,
            colour: Colour::Series(nth),
        });
    }
}

fn line(frame: &Frame, nth: usize, series: &Series, shapes: &mut Vec<Shape>) {
    let dashes = [None, Some((7.0, 4.0)), Some((2.0, 4.0))][nth % 3];
    for line in series.lines.iter().filter(|line| line.points.len() > 1) {
        shapes.push(Shape::Line {
            points: line
                .points
                .iter()
                .map(|point| frame.place(*point))
                .collect(),
            width: line.width,
            dashes: dashes.filter(|_| line.dashed),
            colour: Colour::Series(nth),
        });
    }
    for at in &series.marks {
        mark(nth, frame.place(*at), shapes);
    }
}

/// The mark of a series: disc, square, diamond, by turns.
fn mark(nth: usize, centre: Place, shapes: &mut Vec<Shape>) {
    let colour = Colour::Series(nth);
    let corners = match nth % 3 {
        0 => {
            return shapes.push(Shape::Disc {
                centre,
                radius: 3.5,
                colour,
            });
        }
        1 => [(-3.25, -3.25), (3.25, -3.25), (3.25, 3.25), (-3.25, 3.25)],
        _ => [(0.0, -4.5), (4.5, 0.0), (0.0, 4.5), (-4.5, 0.0)],
    };
    let corners = corners
        .map(|(x, y)| Place {
            x: centre.x + x,
            y: centre.y + y,
        })
        .to_vec();
    shapes.push(Shape::Filled { corners, colour });
}
