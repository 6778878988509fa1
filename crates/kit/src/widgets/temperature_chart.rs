//! Temperatures over time against a band: the line with its extremes, what lay outside, silences, readings by hand.

use super::min_max_series::MinMaxSeries;
use super::number_field::TemperatureUnit;
use crate::figures::decimals;
use crate::theme::{space, tokens, type_size};
use chrono::{DateTime, Datelike as _, NaiveDateTime};
use egui::{
    Align2, FontId, Key, Pos2, Rect, Response, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2,
    vec2,
};

/// A stretch of time outside the band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Excursion {
    /// Its beginning, in seconds on the local clock.
    pub from: i64,
    /// Its end.
    pub to: i64,
    /// Whether it was at or under freezing.
    pub freezing: bool,
}

/// What the chart shows.
pub struct TemperatureChart<'a> {
    /// What it is of; with `summary` the accessible name.
    pub title: &'a str,
    /// All that it shows, in words.
    pub summary: &'a str,
    /// Lines, the first in front.
    pub lines: &'a [MinMaxSeries],
    /// The band, in °C.
    pub band: (f64, f64),
    /// Freezing, in °C.
    pub freezing: f64,
    /// Times outside the band worth a mark.
    pub excursions: &'a [Excursion],
    /// Readings by hand: their moment in seconds, °C.
    pub by_hand: &'a [(i64, f64)],
    /// The unit of the scale.
    pub unit: TemperatureUnit,
}

/// The time that is in view.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Period {
    /// Its beginning, in seconds on the local clock.
    pub from: f64,
    /// Its end.
    pub to: f64,
}

/// The shortest time shown, in seconds.
const SHORTEST: f64 = 3.0 * 3600.0;

impl Period {
    /// Nearer (below 1) or from further away (above 1), about its middle.
    pub fn scale(&mut self, by: f64, whole: Self) {
        let middle = f64::midpoint(self.from, self.to);
        let half = ((self.to - self.from) / 2.0 * by).max(SHORTEST / 2.0);
        *self = Self {
            from: middle - half,
            to: middle + half,
        };
        self.keep_inside(whole);
    }

    /// Earlier (below 0) or later by a part of its length.
    pub fn shift(&mut self, part: f64, whole: Self) {
        let by = (self.to - self.from) * part;
        self.from += by;
        self.to += by;
        self.keep_inside(whole);
    }

    fn keep_inside(&mut self, whole: Self) {
        let length = (self.to - self.from).min(whole.to - whole.from);
        self.from = self
            .from
            .clamp(whole.from, (whole.to - length).max(whole.from));
        self.to = self.from + length;
    }
}

impl TemperatureChart<'_> {
    /// Draws the chart of a period of the whole. A drag moves it, as the arrow keys do while the chart has the
    /// keyboard; plus and minus change its length.
    pub fn show(&self, ui: &mut Ui, height: f32, period: &mut Period, whole: Period) -> Response {
        let size = vec2(ui.available_width(), height);
        let (rect, mut response) = ui.allocate_exact_size(size, Sense::click_and_drag());
        response.widget_info(|| {
            WidgetInfo::labeled(
                Role::Figure,
                true,
                format!("{}. {}", self.title, self.summary),
            )
        });
        if response.clicked() {
            response.request_focus();
        }
        let area = Rect::from_min_max(
            rect.min + vec2(space::XXL + space::S, space::S),
            rect.max - vec2(space::S, space::XL),
        );
        if response.dragged() {
            let part = -f64::from(response.drag_delta().x / area.width().max(1.0));
            period.shift(part, whole);
        }
        if response.has_focus() {
            keys(ui, &response, period, whole);
        }
        if !ui.is_rect_visible(rect) {
            return response;
        }
        let frame = Frame {
            area,
            period: *period,
            degrees: self.degrees(*period, area.width()),
        };
        let colours = tokens(ui);
        ui.painter().rect_filled(area, 0, colours.raised);
        self.ground(ui, &frame);
        self.scale(ui, &frame);
        times(ui, &frame);
        for (nth, line) in self.lines.iter().enumerate().rev() {
            line_ui(ui, &frame, line, colours.series(nth));
        }
        self.marks(ui, &frame);
        let edge = if response.has_focus() {
            Stroke::new(2.0, colours.accent)
        } else {
            Stroke::new(1.0, colours.outline)
        };
        ui.painter()
            .rect_stroke(area, 0, edge, egui::StrokeKind::Outside);
        if let Some(at) = response.hover_pos().filter(|at| area.contains(*at)) {
            response = self.pointed(ui, &frame, at, response);
        }
        response
    }

    /// The lowest and the highest of the scale: the band, freezing, and all that is in view.
    fn degrees(&self, period: Period, width: f32) -> (f64, f64) {
        let (mut low, mut high) = (self.freezing - 1.0, self.band.1 + 1.0);
        for line in self.lines {
            for bucket in line.within(period.from as i64, period.to as i64, width as usize * 2) {
                low = low.min(f64::from(bucket.low) - 0.5);
                high = high.max(f64::from(bucket.high) + 0.5);
            }
        }
        let seen = |at: i64| (period.from..=period.to).contains(&(at as f64));
        for (_, celsius) in self.by_hand.iter().filter(|(at, _)| seen(*at)) {
            low = low.min(celsius - 0.5);
            high = high.max(celsius + 0.5);
        }
        (low, high)
    }

    fn ground(&self, ui: &Ui, frame: &Frame) {
        let colours = tokens(ui);
        let painter = ui.painter().with_clip_rect(frame.area);
        let band = Rect::from_x_y_ranges(
            frame.area.x_range(),
            frame.y(self.band.1)..=frame.y(self.band.0),
        );
        painter.rect_filled(band, 0, colours.good.fill);
        for line in self.lines.iter().take(1) {
            let buckets = line.within(
                frame.period.from as i64,
                frame.period.to as i64,
                frame.area.width() as usize * 2,
            );
            for pair in buckets
                .windows(2)
                .filter(|pair| line.is_gap(&pair[0], &pair[1]))
            {
                let silence = Rect::from_x_y_ranges(
                    frame.x(pair[0].to as f64)..=frame.x(pair[1].from as f64),
                    frame.area.y_range(),
                );
                painter.rect_filled(silence, 0, colours.sunken);
                if silence.width() > 72.0 {
                    painter.text(
                        silence.intersect(frame.area).center(),
                        Align2::CENTER_CENTER,
                        "no readings",
                        small(),
                        colours.muted,
                    );
                }
            }
        }
        for (celsius, stroke) in [
            (self.band.0, Stroke::new(1.0, colours.good.text)),
            (self.band.1, Stroke::new(1.0, colours.good.text)),
            (self.freezing, Stroke::new(1.0, colours.alarm)),
        ] {
            let y = frame.y(celsius);
            let ends = [pos2(frame.area.left(), y), pos2(frame.area.right(), y)];
            painter.extend(Shape::dashed_line(&ends, stroke, 6.0, 4.0));
        }
        let words = |celsius: f64, align, text: &str, colour| {
            let at = pos2(frame.area.right() - space::XS, frame.y(celsius));
            painter.text(at, align, text, small(), colour);
        };
        words(
            self.band.1,
            Align2::RIGHT_TOP,
            "target range",
            colours.good.text,
        );
        words(self.freezing, Align2::RIGHT_TOP, "freezing", colours.alarm);
    }

    fn scale(&self, ui: &Ui, frame: &Frame) {
        let colours = tokens(ui);
        let (low, high) = (
            self.unit.from_celsius(frame.degrees.0),
            self.unit.from_celsius(frame.degrees.1),
        );
        let room = (frame.area.height() / 24.0).max(2.0);
        let rough = (high - low) / f64::from(room);
        let step = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0]
            .into_iter()
            .find(|step| *step >= rough)
            .unwrap_or(100.0);
        // Added to nothing, so that no zero keeps a sign.
        let mut degrees = (low / step).ceil() * step + 0.0;
        while degrees <= high {
            let y = frame.y(self.unit.to_celsius(degrees));
            let at = pos2(frame.area.left() - space::XS, y);
            let words = if step < 1.0 {
                decimals(degrees, 1)
            } else {
                decimals(degrees, 0)
            };
            ui.painter()
                .text(at, Align2::RIGHT_CENTER, words, small(), colours.muted);
            degrees += step;
        }
        ui.painter().text(
            pos2(
                frame.area.left() - space::XS,
                frame.area.bottom() + space::S,
            ),
            Align2::RIGHT_TOP,
            self.unit.sign(),
            small(),
            colours.muted,
        );
    }

    /// Excursions along the foot, readings by hand over all.
    fn marks(&self, ui: &Ui, frame: &Frame) {
        let colours = tokens(ui);
        let painter = ui.painter().with_clip_rect(frame.area);
        let foot = frame.area.bottom();
        for excursion in self.excursions {
            if (excursion.to as f64) < frame.period.from
                || (excursion.from as f64) > frame.period.to
            {
                continue;
            }
            let (from, to) = (frame.x(excursion.from as f64), frame.x(excursion.to as f64));
            let to = to.max(from + 3.0);
            // A freeze is a full bar with a point upward, the rest a low bar.
            if excursion.freezing {
                painter.rect_filled(
                    Rect::from_min_max(pos2(from, foot - 7.0), pos2(to, foot)),
                    0,
                    colours.alarm,
                );
                let middle = f32::midpoint(from, to);
                let corners = vec![
                    pos2(middle, foot - 18.0),
                    pos2(middle + 6.0, foot - 7.0),
                    pos2(middle - 6.0, foot - 7.0),
                ];
                painter.add(Shape::convex_polygon(corners, colours.alarm, Stroke::NONE));
            } else {
                painter.rect_filled(
                    Rect::from_min_max(pos2(from, foot - 4.0), pos2(to, foot)),
                    0,
                    colours.late.text,
                );
            }
        }
        for (at, celsius) in self.by_hand {
            let centre = pos2(frame.x(*at as f64), frame.y(*celsius));
            if frame.area.contains(centre) {
                let stroke = Stroke::new(1.5, colours.ink);
                let corners = [
                    vec2(0.0, -4.5),
                    vec2(4.5, 0.0),
                    vec2(0.0, 4.5),
                    vec2(-4.5, 0.0),
                ];
                let corners = corners.map(|corner| centre + corner).to_vec();
                painter.add(Shape::convex_polygon(corners, colours.surface, stroke));
            }
        }
    }

    fn pointed(&self, ui: &Ui, frame: &Frame, at: Pos2, response: Response) -> Response {
        let seconds = frame.second(at.x);
        let near = 6.0 / f64::from(frame.area.width()) * (frame.period.to - frame.period.from);
        let by_hand = self
            .by_hand
            .iter()
            .filter(|(at, _)| ((*at as f64) - seconds).abs() <= near)
            .min_by(|one, other| {
                ((one.0 as f64) - seconds)
                    .abs()
                    .total_cmp(&((other.0 as f64) - seconds).abs())
            });
        let read = self
            .lines
            .iter()
            .find_map(|line| line.nearest(seconds as i64));
        let words = match (by_hand, read) {
            (Some((at, celsius)), _) => {
                format!(
                    "{}: {} read by hand",
                    moment(*at as f64).format("%-d %b %Y"),
                    self.unit.show(*celsius)
                )
            }
            (None, Some((at, celsius))) if ((at as f64) - seconds).abs() <= near.max(1800.0) => {
                format!(
                    "{}: {}",
                    moment(at as f64).format("%-d %b %Y %H:%M"),
                    self.unit.show(f64::from(celsius))
                )
            }
            _ => return response,
        };
        let stroke = Stroke::new(1.0, tokens(ui).accent);
        ui.painter().vline(at.x, frame.area.y_range(), stroke);
        response.on_hover_text_at_pointer(words)
    }
}

struct Frame {
    area: Rect,
    period: Period,
    degrees: (f64, f64),
}

impl Frame {
    fn x(&self, seconds: f64) -> f32 {
        let part = (seconds - self.period.from) / (self.period.to - self.period.from).max(1.0);
        self.area.left() + self.area.width() * part as f32
    }

    fn y(&self, celsius: f64) -> f32 {
        let part = (celsius - self.degrees.0) / (self.degrees.1 - self.degrees.0);
        self.area.bottom() - self.area.height() * part as f32
    }

    fn second(&self, x: f32) -> f64 {
        let part = f64::from((x - self.area.left()) / self.area.width());
        self.period.from + part * (self.period.to - self.period.from)
    }
}

fn small() -> FontId {
    FontId::proportional(type_size::SMALL)
}

fn line_ui(ui: &Ui, frame: &Frame, line: &MinMaxSeries, colour: egui::Color32) {
    let painter = ui.painter().with_clip_rect(frame.area);
    let stroke = Stroke::new(1.5, colour);
    let buckets = line.within(
        frame.period.from as i64,
        frame.period.to as i64,
        frame.area.width() as usize * 2,
    );
    let mut points: Vec<Pos2> = Vec::with_capacity(buckets.len() * 2);
    let flush = |points: &mut Vec<Pos2>| match points.len() {
        0 => {}
        1 => {
            painter.circle_filled(points[0], 2.0, colour);
            points.clear();
        }
        _ => {
            painter.add(Shape::line(std::mem::take(points), stroke));
        }
    };
    for (nth, bucket) in buckets.iter().enumerate() {
        if nth > 0 && line.is_gap(&buckets[nth - 1], bucket) {
            flush(&mut points);
        }
        let x = frame.x(f64::midpoint(bucket.from as f64, bucket.to as f64));
        points.push(pos2(x, frame.y(f64::from(bucket.low))));
        if bucket.high > bucket.low {
            points.push(pos2(x, frame.y(f64::from(bucket.high))));
        }
    }
    flush(&mut points);
}

/// Days, or hours of days, along the foot.
fn times(ui: &Ui, frame: &Frame) {
    let colours = tokens(ui);
    let hours = (frame.period.to - frame.period.from) / 3600.0;
    let room = f64::from((frame.area.width() / 84.0).max(2.0));
    let rough = hours / room;
    let steps = [
        1.0, 3.0, 6.0, 12.0, 24.0, 48.0, 96.0, 168.0, 336.0, 720.0, 2160.0, 8760.0,
    ];
    let step = steps
        .into_iter()
        .find(|step| *step >= rough)
        .unwrap_or(87_600.0)
        * 3600.0;
    let mut at = (frame.period.from / step).ceil() * step;
    while at <= frame.period.to {
        let x = frame.x(at);
        ui.painter()
            .vline(x, frame.area.y_range(), Stroke::new(1.0, colours.rule));
        let moment = moment(at);
        let words = if step < 86_400.0 {
            moment.format("%-d %b %H:%M").to_string()
        } else if moment.year() == self::moment(frame.period.from).year() {
            moment.format("%-d %b").to_string()
        } else {
            moment.format("%-d %b %Y").to_string()
        };
        if x + 24.0 < frame.area.right() && x - 12.0 > frame.area.left() {
            let below = pos2(x, frame.area.bottom() + space::XS);
            ui.painter()
                .text(below, Align2::CENTER_TOP, words, small(), colours.muted);
        }
        at += step;
    }
}

fn moment(seconds: f64) -> NaiveDateTime {
    DateTime::from_timestamp(seconds as i64, 0)
        .unwrap_or_default()
        .naive_utc()
}

fn keys(ui: &Ui, response: &Response, period: &mut Period, whole: Period) {
    let arrows = egui::EventFilter {
        horizontal_arrows: true,
        ..Default::default()
    };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, arrows));
    for (key, act) in [(Key::ArrowLeft, -0.25), (Key::ArrowRight, 0.25)] {
        if ui.input(|input| input.key_pressed(key)) {
            period.shift(act, whole);
        }
    }
    for (key, by) in [(Key::Plus, 0.5), (Key::Equals, 0.5), (Key::Minus, 2.0)] {
        if ui.input(|input| input.key_pressed(key)) {
            period.scale(by, whole);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_period_stays_in_the_whole() {
        let whole = Period {
            from: 0.0,
            to: 1_000_000.0,
        };
        let mut period = whole;
        period.scale(0.25, whole);
        assert_eq!(
            period,
            Period {
                from: 375_000.0,
                to: 625_000.0
            }
        );
        period.shift(9.0, whole);
        assert_eq!(
            period,
            Period {
                from: 750_000.0,
                to: 1_000_000.0
            }
        );
        period.shift(-9.0, whole);
        assert_eq!(period.from, 0.0);
        period.scale(1e-9, whole);
        assert_eq!(period.to - period.from, SHORTEST);
        period.scale(1e9, whole);
        assert_eq!(period, whole);
    }
}
