//! The season as lanes: bars and marks along the days, one lane a thing.

mod axis;
mod draw;
mod on_paper;

use chrono::NaiveDate;
use egui::{
    Align2, FontId, Id, Key, Modifiers, Rect, Response, Role, ScrollArea, Sense, Stroke, Ui,
    WidgetInfo, pos2, vec2,
};

pub use self::axis::TimeView;
use self::{
    axis::ticks,
    draw::{BAR, Place, draw_bar, draw_lane},
};
use crate::theme::{Meaning, space, tokens, type_size};

const AXIS: f32 = 28.0;
const LANE: f32 = 60.0;

/// How certain a bar is; told apart by its drawing, not by its colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BarKind {
    /// Meant to be: an outline.
    Planned,
    /// Has been: filled.
    Actual,
    /// Calculated from what has been: dashed and hatched.
    Projected,
}

impl BarKind {
    const fn word(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::Actual => "so far",
            Self::Projected => "expected",
        }
    }
}

/// A stretch of days in a lane.
#[derive(Clone, Debug)]
pub struct LaneBar {
    /// The first day.
    pub from: NaiveDate,
    /// The last day, included.
    pub to: NaiveDate,
    /// How certain.
    pub kind: BarKind,
    /// Which series colour.
    pub series: usize,
    /// What it is: 'Chill'.
    pub text: String,
}

/// One day in a lane.
#[derive(Clone, Debug)]
pub struct LanePoint {
    /// The day.
    pub on: NaiveDate,
    /// Its mark, one of [`crate::fonts::mark`].
    pub mark: &'static str,
    /// How it stands.
    pub meaning: Meaning,
    /// What it is: 'Pollinated'.
    pub text: String,
}

/// One line of the season.
#[derive(Clone, Debug, Default)]
pub struct Lane {
    /// What it is about: 'Cross 26-03'.
    pub name: String,
    /// A few words under the name.
    pub detail: String,
    /// Stretches of days, in order.
    pub bars: Vec<LaneBar>,
    /// Single days.
    pub points: Vec<LanePoint>,
}

impl Lane {
    /// The lane as it is read aloud.
    fn spoken(&self) -> String {
        let bars = self.bars.iter().map(bar_text);
        let points = self.points.iter().map(point_text);
        let all: Vec<String> = std::iter::once(self.name.clone())
            .chain(bars)
            .chain(points)
            .collect();
        all.join("; ")
    }
}

fn bar_text(bar: &LaneBar) -> String {
    format!(
        "{}, {}, {} to {}",
        bar.text,
        bar.kind.word(),
        short(bar.from),
        short(bar.to)
    )
}

fn point_text(point: &LanePoint) -> String {
    format!("{}, {}", point.text, short(point.on))
}

fn short(day: NaiveDate) -> String {
    day.format("%-d %b %Y").to_string()
}

/// What the lanes remember: the time in view and the lane under the cursor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LanesState {
    /// The time in view.
    pub view: TimeView,
    /// The lane under the keyboard cursor.
    pub cursor: usize,
}

impl LanesState {
    /// Shows `from` to `to`.
    pub fn new(from: NaiveDate, to: NaiveDate) -> Self {
        Self {
            view: TimeView::new(from, to),
            cursor: 0,
        }
    }
}

/// Lanes along time. Drag or Left and Right move in time; Ctrl and the wheel, or `+` and `-`, zoom; Up and Down change
/// the lane; Enter or a click picks it.
#[derive(Clone, Copy, Debug)]
pub struct SeasonLanes<'a> {
    name: &'a str,
    today: NaiveDate,
    names_width: f32,
}

impl<'a> SeasonLanes<'a> {
    /// Lanes called `name`, with a line at `today`.
    pub fn new(name: &'a str, today: NaiveDate) -> Self {
        Self {
            name,
            today,
            names_width: 152.0,
        }
    }

    /// Width of the column of names, in points.
    #[must_use]
    pub fn names_width(mut self, width: f32) -> Self {
        self.names_width = width;
        self
    }

    /// Draws what the three kinds of bar look like, with their words.
    pub fn legend(ui: &mut Ui) {
        for kind in [BarKind::Actual, BarKind::Projected, BarKind::Planned] {
            let (rect, _) = ui.allocate_exact_size(vec2(36.0, BAR), Sense::hover());
            draw_bar(ui.painter(), rect, kind, tokens(ui).muted);
            ui.label(crate::theme::muted(ui, kind.word()));
        }
    }

    /// Says what the marks mean: each a mark and its words. The number in a mark is how many stand so close that they
    /// are drawn as one.
    pub fn marks_legend(ui: &mut Ui, marks: &[(&str, &str)]) {
        for (mark, words) in marks {
            ui.label(crate::theme::muted(ui, format!("{mark} {words}")));
        }
        let number = "2, 3… so many close together: point at them";
        ui.label(crate::theme::muted(ui, number));
    }

    /// Draws the lanes in the space there is; returns the lane picked.
    pub fn show(&self, ui: &mut Ui, state: &mut LanesState, lanes: &[Lane]) -> Option<usize> {
        let id = ui.make_persistent_id(("lanes", self.name));
        let outer = ui.available_rect_before_wrap();
        let bar = ui.spacing().scroll.allocated_width();
        let time = Rect::from_min_max(
            pos2(outer.left() + self.names_width, outer.top()),
            outer.max - vec2(bar, 0.0),
        );
        let body = Rect::from_min_max(pos2(outer.left(), outer.top() + AXIS), outer.max);
        let focus = ui.interact(outer, id, Sense::focusable_noninteractive());
        focus.widget_info(|| WidgetInfo::labeled(Role::Table, true, self.name));
        let ground = ui.interact(time, id.with("time"), Sense::DRAG);
        pan_and_zoom(ui, &ground, time, state);
        let mut picked = None;
        let mut moved = false;
        if focus.has_focus() {
            (picked, moved) = keys(ui, id, state, lanes.len());
        }
        let place = Place {
            time,
            view: state.view,
        };
        self.axis(ui, &place);
        // Under the lanes, so that it runs through no words.
        let stroke = Stroke::new(2.0, tokens(ui).accent);
        place.line(ui, self.today, body.y_range(), stroke);
        let mut body_ui = ui.new_child(egui::UiBuilder::new().max_rect(body).id_salt(id));
        ScrollArea::vertical()
            .id_salt(id)
            .auto_shrink(false)
            .show_viewport(&mut body_ui, |ui, viewport| {
                ui.set_height(LANE * lanes.len() as f32);
                let top = ui.max_rect().top();
                let rect = |index: usize| {
                    let top = top + index as f32 * LANE;
                    Rect::from_x_y_ranges(outer.left()..=outer.right() - bar, top..=top + LANE)
                };
                if moved {
                    ui.scroll_to_rect(rect(state.cursor), None);
                }
                let first = (viewport.top() / LANE).floor().max(0.0) as usize;
                let last = ((viewport.bottom() / LANE).ceil() as usize).min(lanes.len());
                for (index, lane) in lanes.iter().enumerate().take(last).skip(first) {
                    let at_cursor = focus.has_focus() && index == state.cursor;
                    if draw_lane(ui, id.with(index), rect(index), &place, lane, at_cursor) {
                        picked = Some(index);
                        state.cursor = index;
                        focus.request_focus();
                    }
                }
            });
        ui.advance_cursor_after_rect(outer);
        picked
    }

    fn axis(&self, ui: &Ui, place: &Place) {
        let colours = tokens(ui);
        let clip = Rect::from_min_max(pos2(0.0, place.time.top()), place.time.max);
        let painter = ui.painter().with_clip_rect(clip.intersect(ui.clip_rect()));
        let strip = Rect::from_min_size(
            place.time.min - vec2(self.names_width, 0.0),
            vec2(place.time.width() + self.names_width, AXIS),
        );
        painter.rect_filled(strip, 0, colours.sunken);
        let inside = painter.with_clip_rect(place.time.intersect(ui.clip_rect()));
        for tick in ticks(&place.view, place.time.width()) {
            let x = place.x(tick.day);
            let ink = if tick.strong {
                colours.outline
            } else {
                colours.rule
            };
            inside.vline(
                x,
                place.time.top()..=place.time.bottom(),
                Stroke::new(1.0, ink),
            );
            let font = FontId::proportional(type_size::SMALL);
            let text = if tick.strong {
                colours.ink
            } else {
                colours.muted
            };
            inside.text(
                pos2(x + space::XS, strip.center().y),
                Align2::LEFT_CENTER,
                tick.label,
                font,
                text,
            );
        }
        painter.hline(
            strip.x_range(),
            strip.bottom() - 0.5,
            Stroke::new(1.0, colours.outline),
        );
    }
}

fn pan_and_zoom(ui: &Ui, ground: &Response, time: Rect, state: &mut LanesState) {
    if ground.dragged() {
        state.view.pan(-ground.drag_delta().x / time.width());
    }
    let Some(at) = ui
        .input(|input| input.pointer.hover_pos())
        .filter(|at| time.contains(*at))
    else {
        return;
    };
    let (zoom, scroll) = ui.input(|input| (input.zoom_delta(), input.smooth_scroll_delta().x));
    if zoom != 1.0 {
        state.view.zoom(zoom, (at.x - time.left()) / time.width());
    }
    if scroll != 0.0 {
        state.view.pan(-scroll / time.width());
    }
}

/// The lane picked by Enter, and whether the cursor moved.
fn keys(ui: &Ui, id: Id, state: &mut LanesState, count: usize) -> (Option<usize>, bool) {
    let filter = egui::EventFilter {
        horizontal_arrows: true,
        vertical_arrows: true,
        ..Default::default()
    };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(id, filter));
    let pressed = |key| ui.input_mut(|input| input.consume_key(Modifiers::NONE, key));
    let last = count.saturating_sub(1);
    let before = state.cursor;
    state.cursor = match () {
        () if pressed(Key::ArrowUp) => state.cursor.saturating_sub(1),
        () if pressed(Key::ArrowDown) => (state.cursor + 1).min(last),
        () if pressed(Key::Home) => 0,
        () if pressed(Key::End) => last,
        () => state.cursor.min(last),
    };
    if pressed(Key::ArrowLeft) {
        state.view.pan(-0.1);
    }
    if pressed(Key::ArrowRight) {
        state.view.pan(0.1);
    }
    if pressed(Key::Plus) || pressed(Key::Equals) {
        state.view.zoom(1.25, 0.5);
    }
    if pressed(Key::Minus) {
        state.view.zoom(0.8, 0.5);
    }
    let picked = (count > 0 && pressed(Key::Enter)).then_some(state.cursor);
    (picked, state.cursor != before)
}
