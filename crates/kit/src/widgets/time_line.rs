//! The line of time of one record: its steps at equal distance like stations on a string.

use egui::{FontId, Rect, Response, Role, Sense, Ui, WidgetInfo, pos2, vec2};

use crate::{
    bine::{self, Course, Habit, Leaves},
    drawing::{self, Drawing},
    state_mark::StateMark,
    theme::{self, tokens, type_size},
};

/// The height of a line of time.
pub const TIME_LINE_HEIGHT: f32 = 104.0;

/// One step of a record.
#[derive(Clone, Debug, PartialEq)]
pub struct Station {
    /// Its drawing.
    pub drawing: Drawing,
    /// What happens there: 'harvested'.
    pub word: String,
    /// Its day, 'about' before one that is expected.
    pub day: String,
    /// Done, now, expected, unknown or failed.
    pub mark: StateMark,
    /// The days since the step before, where both are known.
    pub days_before: Option<i64>,
}

/// Draws the steps over the whole width: drawing above, word and day below, the days between over the string. The bine
/// has grown to the last step that is done or now.
pub fn time_line(ui: &mut Ui, name: &str, stations: &[Station]) -> Response {
    let colours = tokens(ui);
    let size = vec2(ui.available_width(), TIME_LINE_HEIGHT);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::List, true, name));
    let count = stations.len().max(1);
    let step = rect.width() / count as f32;
    let middle = rect.top() + 54.0;
    let x = |nth: usize| rect.left() + (nth as f32 + 0.5) * step;
    let course = Course::Line {
        from: pos2(x(0), middle),
        to: pos2(x(count - 1), middle),
    };
    let last = stations.iter().rposition(|station| {
        matches!(
            station.mark,
            StateMark::Done | StateMark::Now | StateMark::Failed
        )
    });
    let grown = last.map_or(0.0, |last| last as f32 * step);
    let inks = bine::Inks::of(colours);
    let painter = ui.painter();
    let habit = Habit {
        // Whole waves between stations, so that the bine meets each node on the string.
        wave: step / (step / Habit::PAGE.wave).round().max(1.0),
        ..Habit::PAGE
    };
    bine::draw(painter, course, grown, Leaves::None, habit, inks);
    for (nth, station) in stations.iter().enumerate() {
        let centre = pos2(x(nth), middle);
        let is_now = station.mark == StateMark::Now;
        if is_now && nth > 0 {
            painter.extend(bine::tip(course, grown - 21.0, Habit::PAGE, inks));
        }
        let size = if is_now { 20.0 } else { 14.0 };
        painter.circle_filled(centre, size / 2.0 + 2.0, colours.surface);
        station
            .mark
            .paint(painter, centre, size, colours, colours.surface);
        let to_come = matches!(station.mark, StateMark::Expected | StateMark::Unknown);
        let print = if to_come {
            drawing::Inks::plain(colours.muted)
        } else {
            drawing::Inks::of(colours)
        };
        let over = pos2(centre.x, rect.top() + 14.0);
        drawing::paint(painter, station.drawing, over, 24.0, print);
        let ink = if to_come { colours.muted } else { colours.ink };
        let font = if is_now {
            theme::bold(type_size::SMALL)
        } else {
            FontId::proportional(type_size::SMALL)
        };
        let room = |top: f32| {
            Rect::from_min_size(
                pos2(centre.x - step / 2.0 + 2.0, top),
                vec2(step - 4.0, 16.0),
            )
        };
        let word = room(middle + 14.0);
        super::text::one_line_middle(ui, word, &station.word, font.clone(), ink);
        let day = room(middle + 30.0);
        let ink = if is_now { colours.ink } else { colours.muted };
        super::text::one_line_middle(ui, day, &station.day, font, ink);
        if let Some(days) = station.days_before.filter(|_| nth > 0) {
            let words = if nth == 1 {
                format!("{days} days")
            } else {
                days.to_string()
            };
            let between = Rect::from_center_size(
                pos2(centre.x - step / 2.0, middle - 16.0),
                vec2(step - 24.0, 16.0),
            );
            let font = FontId::proportional(type_size::SMALL);
            super::text::one_line_middle(ui, between, &words, font, colours.muted);
        }
        let place =
            Rect::from_center_size(pos2(centre.x, rect.center().y), vec2(step, rect.height()));
        let id = response.id.with(nth);
        let spoken = ui.interact(place, id, Sense::hover());
        spoken.widget_info(|| {
            let standing = match station.mark {
                StateMark::Done => "done",
                StateMark::Now => "now",
                StateMark::Failed => "failed",
                StateMark::Unknown => "not known",
                _ => "expected",
            };
            WidgetInfo::labeled(
                Role::ListItem,
                true,
                format!("{}, {}, {standing}", station.word, station.day),
            )
        });
    }
    response
}
