//! A month as a ruler of 28 days: above the days what is to be done, below what was done.

use std::collections::BTreeMap;

use chrono::{Datelike as _, Days, NaiveDate, Weekday};
use egui::{
    FontId, Rangef, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};

use super::{
    days::{full_date, month_name},
    text::{one_line, one_line_middle},
};
use crate::{
    state_mark::StateMark,
    theme::{self, tokens, type_size},
};

/// Weeks on the ruler where there is room for them.
const WEEKS: u64 = 4;

/// The least width of a day: it is pressed.
const LEAST_DAY: f32 = 24.0;

/// The width of the names at the left.
const NAMES: f32 = 76.0;

/// The height of a ruler.
pub const RULER_HEIGHT: f32 = 58.0;

/// What stands at one day.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct RulerDay {
    /// Past their day, still to be done.
    pub late: usize,
    /// Due on the day in hand.
    pub due: usize,
    /// To come.
    pub coming: usize,
    /// Done.
    pub done: usize,
}

/// A ruler of days about the day in hand.
#[derive(Clone, Copy, Debug)]
pub struct Ruler<'a> {
    /// What it is called aloud.
    pub name: &'a str,
    /// The day that is recorded for: it stands on lupulin.
    pub day: NaiveDate,
    /// The first day of a week: a line parts the weeks.
    pub first_weekday: Weekday,
    /// Days in a row that have no entry although work was due, and the words for it.
    pub missed: Option<(NaiveDate, NaiveDate, &'a str)>,
}

impl Ruler<'_> {
    /// How many days there is room for in this width: whole weeks.
    fn days_in(width: f32) -> u64 {
        let fits = |weeks: &u64| (width - NAMES) / (*weeks * 7) as f32 >= LEAST_DAY;
        7 * (1..=WEEKS).rev().find(fits).unwrap_or(1)
    }

    /// The first and last of so many days: somewhat fewer than half of them lie before the day in hand.
    fn span(&self, days: u64) -> (NaiveDate, NaiveDate) {
        let before = Days::new(days * 3 / 7);
        let first = self.day.checked_sub_days(before).unwrap_or(self.day);
        let last = first
            .checked_add_days(Days::new(days - 1))
            .unwrap_or(self.day);
        (first, last)
    }

    /// Draws the ruler over the width there is; returns the day that was clicked.
    pub fn show(&self, ui: &mut Ui, entries: &BTreeMap<NaiveDate, RulerDay>) -> Option<NaiveDate> {
        let colours = tokens(ui);
        let size = vec2(ui.available_width(), RULER_HEIGHT);
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Grid, true, self.name));
        let names = NAMES;
        let days = Self::days_in(size.x);
        let (first, last) = self.span(days);
        let small = FontId::proportional(type_size::SMALL);
        let label = Rect::from_min_max(rect.min, pos2(rect.left() + names, rect.bottom()));
        let months = if first.month() == last.month() {
            month_name(first)
        } else {
            format!("{}, {}", first.format("%b"), last.format("%b"))
        };
        one_line(
            ui,
            label,
            rect.top() + 13.0,
            &months,
            theme::bold(type_size::BODY),
            colours.ink,
        );
        one_line(
            ui,
            label,
            rect.top() + 31.0,
            "to do",
            small.clone(),
            colours.ink,
        );
        one_line(ui, label, rect.top() + 47.0, "done", small, colours.muted);
        let track = Rect::from_min_max(pos2(rect.left() + names, rect.top()), rect.max);
        let painter = ui.painter();
        painter.rect_filled(track, 0.0, colours.raised);
        painter.hline(track.x_range(), track.top(), Stroke::new(1.0, colours.ink));
        painter.hline(
            track.x_range(),
            track.bottom(),
            Stroke::new(1.0, colours.rule),
        );
        let width = track.width() / days as f32;
        let cell_of = |day: NaiveDate| {
            let nth = (day - first).num_days() as f32;
            Rect::from_min_size(
                pos2(track.left() + nth * width, track.top()),
                vec2(width, track.height()),
            )
        };
        let mut picked = None;
        for day in first.iter_days().take(days as usize) {
            let cell = cell_of(day);
            let id = response.id.with(day);
            let press = ui.interact(cell, id, Sense::CLICK);
            let on = entries.get(&day).copied().unwrap_or_default();
            press.widget_info(|| {
                WidgetInfo::selected(Role::Button, true, day == self.day, on.spoken(day))
            });
            if press.clicked() {
                picked = Some(day);
            }
            self.paint_day(ui, cell, day, on, press.hovered());
            let press = press.on_hover_text(on.spoken(day));
            super::furniture::focus_outline(ui, &press, cell.shrink(2.0));
        }
        if let Some((from, to, words)) = self.missed {
            Self::bracket(ui, cell_of(from.max(first)), cell_of(to.min(last)), words);
        }
        picked
    }

    fn paint_day(&self, ui: &Ui, cell: Rect, day: NaiveDate, on: RulerDay, hovered: bool) {
        let colours = tokens(ui);
        let in_hand = day == self.day;
        let painter = ui.painter();
        if in_hand {
            painter.rect_filled(cell, 0.0, colours.lupulin);
        } else if hovered {
            painter.rect_filled(cell.shrink2(vec2(0.0, 1.0)), 0.0, colours.hover);
        }
        if day.weekday() == self.first_weekday {
            painter.vline(
                cell.left(),
                Rangef::new(cell.top(), cell.bottom()),
                Stroke::new(1.0, colours.rule),
            );
        }
        let ink = if in_hand {
            colours.on_lupulin
        } else {
            colours.ink
        };
        let muted = if in_hand {
            colours.on_lupulin
        } else {
            colours.muted
        };
        let row = |middle: f32| {
            Rect::from_center_size(
                pos2(cell.center().x, cell.top() + middle),
                vec2(cell.width(), 16.0),
            )
        };
        let number_font = if in_hand || day.day() == 1 {
            theme::bold(type_size::BODY)
        } else {
            FontId::proportional(type_size::BODY)
        };
        one_line_middle(
            ui,
            row(12.0),
            &day.day().to_string(),
            number_font,
            if in_hand || day.day() == 1 {
                ink
            } else {
                muted
            },
        );
        let counted = |middle: f32, mark: StateMark, count: usize, mark_ink, text_ink| {
            let font = theme::bold(type_size::SMALL);
            let galley = ui
                .painter()
                .layout_no_wrap(count.to_string(), font, text_ink);
            let width = 9.0 + 3.0 + galley.size().x;
            let left = cell.center().x - width / 2.0;
            let y = cell.top() + middle;
            let ground = if in_hand {
                colours.lupulin
            } else {
                colours.raised
            };
            ui.painter()
                .extend(mark.shapes(pos2(left + 4.5, y), 9.0, mark_ink, ground));
            ui.painter().galley(
                pos2(left + 12.0, y - galley.size().y / 2.0),
                galley,
                text_ink,
            );
        };
        // Trouble has a hue of its own, but not on lupulin.
        if on.late > 0 {
            let hue = if in_hand { ink } else { colours.late.text };
            counted(31.0, StateMark::Late, on.late + on.due, hue, hue);
        } else if on.due > 0 {
            counted(31.0, StateMark::Soon, on.due, ink, ink);
        } else if on.coming > 0 {
            counted(31.0, StateMark::Expected, on.coming, ink, ink);
        }
        if on.done > 0 {
            counted(47.0, StateMark::Good, on.done, muted, muted);
        }
    }

    /// Days without an entry, bracketed.
    fn bracket(ui: &Ui, from: Rect, to: Rect, words: &str) {
        let colours = tokens(ui);
        if to.right() <= from.left() {
            return;
        }
        let rect = Rect::from_min_max(
            pos2(from.left() + 1.0, from.top() + 22.0),
            pos2(to.right() - 1.0, to.bottom() - 3.0),
        );
        let corners = [
            rect.left_top(),
            rect.right_top(),
            rect.right_bottom(),
            rect.left_bottom(),
            rect.left_top(),
        ];
        ui.painter().extend(Shape::dashed_line(
            &corners,
            Stroke::new(1.5, colours.ink),
            4.0,
            3.0,
        ));
        let font = theme::bold(type_size::SMALL);
        let galley = ui
            .painter()
            .layout_no_wrap(words.to_owned(), font, colours.ink);
        // Where the words don't fit, the bracket says it alone, and so does the section that offers to catch up.
        if galley.size().x + 8.0 < rect.width() {
            let at = rect.center() - galley.size() / 2.0;
            let scrap = Rect::from_min_size(at, galley.size()).expand(2.0);
            ui.painter()
                .rect(scrap, 0.0, colours.raised, Stroke::NONE, StrokeKind::Inside);
            ui.painter().galley(at, galley, colours.ink);
        }
    }
}

impl RulerDay {
    /// A day as it is read aloud, with what stands at it.
    fn spoken(self, day: NaiveDate) -> String {
        let mut words = full_date(day);
        for (count, word) in [
            (self.late, "late"),
            (self.due, "due"),
            (self.coming, "to come"),
            (self.done, "done"),
        ] {
            if count > 0 {
                words.push_str(", ");
                words.push_str(&count.to_string());
                words.push(' ');
                words.push_str(word);
            }
        }
        words
    }
}
