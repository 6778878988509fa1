//! The looks into a box over time: a mark for each, mould and early sprouts standing out.

use super::looks::look_words;
use crate::view::View;
use chrono::NaiveDate;
use domain::date::shift;
use domain::{Check, ChillBox, Moisture};
use egui::{Align2, FontId, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};
use kit::theme::{muted, space, tokens};
use quant::counted::total;

const HEIGHT: f32 = 52.0;
const DOT: f32 = 3.5;

/// What stands out in a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sign {
    Mould,
    Sprout,
    Dry,
    Nothing,
}

impl Sign {
    const fn of(check: &Check) -> Self {
        if check.mouldy_removed > 0 {
            Self::Mould
        } else if check.sprouted_early > 0 {
            Self::Sprout
        } else if matches!(check.moisture, Some(Moisture::Dry | Moisture::Wet)) {
            Self::Dry
        } else {
            Self::Nothing
        }
    }
}

/// Draws the picture, from the start of the cold to its end or to today.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, chill_box: &ChillBox) {
    let project = view.project;
    let checks: Vec<&Check> = project.checks_of(chill_box.id).collect();
    let batch = project.chill_batches().get(chill_box.batch);
    let Some(batch) = batch.filter(|_| !checks.is_empty()) else {
        return;
    };
    let last = checks.last().map_or(batch.start, |check| check.date);
    let from = batch
        .start
        .min(checks.first().map_or(batch.start, |check| check.date));
    let to = batch.ready_on().max(last).max(shift(from, 1));
    let width = ui.available_width();
    let (rect, response) = ui.allocate_exact_size(vec2(width, HEIGHT), Sense::hover());
    let mould = total(checks.iter().map(|check| check.mouldy_removed));
    response.widget_info(|| {
        let words = format!(
            "Checks over time: {} checks, {mould} mouldy seeds removed",
            checks.len()
        );
        WidgetInfo::labeled(Role::Image, true, words)
    });
    let line = Rect::from_x_y_ranges(
        rect.left() + space::S..=rect.right() - space::S,
        rect.top()..=rect.bottom(),
    );
    let x = |day: NaiveDate| {
        let part = (day - from).num_days() as f32 / (to - from).num_days() as f32;
        line.left() + part.clamp(0.0, 1.0) * line.width()
    };
    axis(ui, line, view.today, (from, to), &x);
    let y = line.top() + 14.0;
    for check in &checks {
        dot(ui, pos2(x(check.date), y), Sign::of(check));
    }
    if let Some(pointer) = response.hover_pos() {
        let distance = |check: &&&Check| (x(check.date) - pointer.x).abs();
        let nearest = checks
            .iter()
            .min_by(|a, b| distance(a).total_cmp(&distance(b)));
        if let Some(check) = nearest {
            let words = format!(
                "{}: {}",
                check.date.format("%-d %b %Y"),
                look_words(view, check)
            );
            response.on_hover_text(words);
        }
    }
    ui.label(
        muted(
            ui,
            "Dot: checked. Triangle: mould. Diamond: early sprouts. Ring: towel dry or wet.",
        )
        .small(),
    );
}

fn axis(
    ui: &Ui,
    line: Rect,
    today: NaiveDate,
    (from, to): (NaiveDate, NaiveDate),
    x: &impl Fn(NaiveDate) -> f32,
) {
    let colours = tokens(ui);
    let painter = ui.painter();
    let y = line.top() + 14.0;
    painter.hline(line.x_range(), y, Stroke::new(1.0, colours.outline));
    let font = FontId::proportional(kit::theme::type_size::SMALL);
    let day = |date: NaiveDate| date.format("%-d %b").to_string();
    let words = line.bottom() - 8.0;
    painter.text(
        pos2(line.left(), words),
        Align2::LEFT_CENTER,
        day(from),
        font.clone(),
        colours.muted,
    );
    painter.text(
        pos2(line.right(), words),
        Align2::RIGHT_CENTER,
        day(to),
        font.clone(),
        colours.muted,
    );
    if from < today && today < to {
        let at = x(today);
        painter.vline(
            at,
            line.top() + 2.0..=line.top() + 26.0,
            Stroke::new(1.0, colours.accent),
        );
        let room = 44.0;
        if at - line.left() > room && line.right() - at > room {
            painter.text(
                pos2(at, words),
                Align2::CENTER_CENTER,
                "today",
                font,
                colours.accent,
            );
        }
    }
}

fn dot(ui: &Ui, at: egui::Pos2, sign: Sign) {
    let colours = tokens(ui);
    let painter = ui.painter();
    match sign {
        Sign::Nothing => {
            painter.circle_filled(at, DOT, colours.ink);
        }
        Sign::Dry => {
            painter.circle(
                at,
                DOT + 1.0,
                colours.surface,
                Stroke::new(2.0, colours.soon.text),
            );
        }
        Sign::Mould => {
            let size = DOT + 3.0;
            let corners = vec![
                at + vec2(0.0, -size),
                at + vec2(size, size * 0.8),
                at + vec2(-size, size * 0.8),
            ];
            painter.add(Shape::convex_polygon(corners, colours.alarm, Stroke::NONE));
        }
        Sign::Sprout => {
            let size = DOT + 2.0;
            let corners = vec![
                at + vec2(0.0, -size),
                at + vec2(size, 0.0),
                at + vec2(0.0, size),
                at + vec2(-size, 0.0),
            ];
            painter.add(Shape::convex_polygon(
                corners,
                colours.good.text,
                Stroke::NONE,
            ));
        }
    }
}
