//! A year of this work as a picture: a bine round its string, the work of each month beside it.

use chrono::{Datelike as _, NaiveDate};
use egui::{Align2, FontId, Pos2, Rect, Role, Sense, Stroke, Ui, Vec2, WidgetInfo, pos2, vec2};
use kit::bine::{self, Course, Habit, Leaves};
use kit::drawing::{self, Drawing};
use kit::theme::{self, tokens, type_size};
use std::f32::consts::{PI, TAU};

/// The work of a year in the northern hemisphere: its drawing, its words, its time, and the day of the year it is drawn
/// at. Common practice, as the calendar of a new project has it.
const WORK: [(Drawing, &str, &str, f32); 9] = [
    (Drawing::Cold, "Check them", "60 days near 3 °C", 20.0),
    (Drawing::Sprout, "First sprouts", "mid February", 46.0),
    (Drawing::Pot, "Pot up", "March", 76.0),
    (Drawing::Hill, "Plant out", "late May", 144.0),
    (Drawing::Bag, "Bag the females", "late June", 176.0),
    (Drawing::Pollen, "Pollinate", "mid July", 198.0),
    (Drawing::Cone, "Harvest the cones", "early September", 250.0),
    (Drawing::Seed, "Clean the seed", "autumn", 300.0),
    (Drawing::Box, "Into the cold", "December", 345.0),
];

/// The angle of a day of the year in radians, clockwise, 0 to the right; 1 January is at the top.
fn angle(day: f32) -> f32 {
    day / 365.0 * TAU - PI / 2.0
}

/// Draws the year in `room`, with today on it.
#[expect(
    clippy::too_many_lines,
    reason = "one picture, drawn from back to front"
)]
pub(super) fn picture(ui: &Ui, room: Rect, today: NaiveDate) {
    let colours = tokens(ui);
    let inks = bine::Inks::of(colours);
    let painter = ui.painter();
    let centre = room.center();
    let radius = (room.width().min(room.height()) / 2.0 - 96.0).clamp(80.0, 200.0);
    let course = Course::Circle {
        centre,
        radius,
        begin: -PI / 2.0,
    };
    let waves = (course.length() / Habit::YEAR.wave).round().max(4.0);
    let habit = Habit {
        wave: course.length() / waves,
        ..Habit::YEAR
    };
    bine::draw(
        painter,
        course,
        course.length(),
        Leaves::Regular,
        habit,
        inks,
    );
    let inner = radius - 38.0;
    painter.circle_stroke(centre, inner, Stroke::new(1.0, colours.rule));
    for month in 0..12_u32 {
        let at = angle(month as f32 * 365.0 / 12.0);
        let (from, to) = (on(centre, at, inner - 5.0), on(centre, at, inner + 5.0));
        painter.line_segment([from, to], Stroke::new(1.0, colours.outline));
        let name = NaiveDate::from_ymd_opt(2026, month + 1, 1)
            .map(|first| first.format("%b").to_string())
            .unwrap_or_default();
        let this = today.month0() == month;
        let font = if this {
            theme::bold(type_size::BODY)
        } else {
            FontId::proportional(type_size::BODY)
        };
        let ink = if this { colours.ink } else { colours.muted };
        let middle = on(
            centre,
            angle((month as f32 + 0.5) * 365.0 / 12.0),
            inner - 22.0,
        );
        painter.text(middle, Align2::CENTER_CENTER, name, font, ink);
    }
    for (drawing, words, when, day) in WORK {
        let at = angle(day);
        let node = on(centre, at, radius);
        painter.circle(node, 5.0, colours.surface, Stroke::new(2.0, colours.ink));
        // Farther out at the sides, where the words are wider than high.
        let reach = radius + 56.0 + 34.0 * at.cos().abs();
        let place = on(centre, at, reach);
        let print = drawing::Inks::of(colours);
        drawing::paint(painter, drawing, place - vec2(0.0, 16.0), 40.0, print);
        painter.text(
            place + vec2(0.0, 14.0),
            Align2::CENTER_CENTER,
            words,
            theme::bold(type_size::BODY),
            colours.ink,
        );
        painter.text(
            place + vec2(0.0, 31.0),
            Align2::CENTER_CENTER,
            when,
            FontId::proportional(type_size::SMALL),
            colours.muted,
        );
    }
    let node = on(centre, angle(today.ordinal0() as f32), radius);
    painter.circle(node, 12.0, colours.lupulin, Stroke::new(2.0, colours.ink));
    let print = drawing::Inks::of(colours);
    drawing::paint(
        painter,
        Drawing::Cone,
        centre - vec2(0.0, 26.0),
        64.0,
        print,
    );
    painter.text(
        pos2(centre.x, centre.y + 26.0),
        Align2::CENTER_CENTER,
        "One year",
        theme::slab(type_size::HEADING),
        colours.ink,
    );
    painter.text(
        pos2(centre.x, centre.y + 48.0),
        Align2::CENTER_CENTER,
        format!("today: {}", today.format("%-d %b")),
        FontId::proportional(type_size::BODY),
        colours.muted,
    );
    let spoken = ui.interact(room, ui.scope_id().with("year"), Sense::hover());
    spoken.widget_info(|| {
        let work: Vec<_> = WORK
            .iter()
            .map(|(_, words, when, _)| format!("{words}, {when}"))
            .collect();
        let words = format!("A year of this work: {}", work.join("; "));
        WidgetInfo::labeled(Role::Image, true, words)
    });
}

fn on(centre: Pos2, angle: f32, radius: f32) -> Pos2 {
    centre + Vec2::angled(angle) * radius
}
