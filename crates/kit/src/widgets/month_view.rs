//! A month on the wall: each day with its entries as short marked lines.

use chrono::{Datelike as _, NaiveDate, Weekday};
use egui::{
    Align2, FontId, Id, Key, Modifiers, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui,
    WidgetInfo, pos2, vec2,
};

use super::{
    date_field::{month_bar, step_by_keys},
    days::{full_date, month_grid, weekdays},
    text::one_line,
};
use crate::drawing::{self, Drawing};
use crate::fonts::mark;
use crate::theme::{self, Meaning, space, tokens, type_size};

const LINE: f32 = 17.0;
const HEAD: f32 = 22.0;

/// One line in a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DayEntry {
    /// What is on: 'Check box C-12'.
    pub text: String,
    /// How it stands.
    pub meaning: Meaning,
    /// Its mark; the meaning's own when there is none.
    pub mark: Option<&'static str>,
    /// The drawing of its kind of work and how many there are: shown in place of the words, which a narrow day would
    /// cut.
    pub figure: Option<(Drawing, u32)>,
}

impl DayEntry {
    /// A line with the mark of its meaning.
    pub fn new(text: impl Into<String>, meaning: Meaning) -> Self {
        Self {
            text: text.into(),
            meaning,
            mark: None,
            figure: None,
        }
    }

    /// Shown by the drawing of its kind of work and a number.
    #[must_use]
    pub fn with_figure(mut self, drawing: Drawing, count: u32) -> Self {
        self.figure = Some((drawing, count));
        self
    }

    fn mark(&self) -> &'static str {
        self.mark.unwrap_or(self.meaning.mark())
    }
}

/// What a month view remembers: the month is that of the cursor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MonthState {
    /// The day under the cursor; its month is the one shown.
    pub cursor: NaiveDate,
    /// The day selected.
    pub selected: Option<NaiveDate>,
}

impl MonthState {
    /// Opens on `day`, with nothing selected.
    pub fn on(day: NaiveDate) -> Self {
        Self {
            cursor: day,
            selected: None,
        }
    }
}

/// A month of days with entries. Tab reaches it as one stop; arrows, Home, End, Page Up and Page Down move the
/// cursor; Enter or Space or a click selects.
#[derive(Clone, Copy, Debug)]
pub struct MonthView<'a> {
    name: &'a str,
    today: NaiveDate,
    first_weekday: Weekday,
}

impl<'a> MonthView<'a> {
    /// A view called `name` with `today` marked.
    pub fn new(name: &'a str, today: NaiveDate) -> Self {
        Self {
            name,
            today,
            first_weekday: Weekday::Mon,
        }
    }

    /// The first column; Monday unless said otherwise.
    #[must_use]
    pub fn first_weekday(mut self, weekday: Weekday) -> Self {
        self.first_weekday = weekday;
        self
    }

    /// Draws the month in the space there is; `entries` gives the lines of a day. Returns the day just selected.
    pub fn show<'e>(
        &self,
        ui: &mut Ui,
        state: &mut MonthState,
        entries: impl Fn(NaiveDate) -> &'e [DayEntry],
    ) -> Option<NaiveDate> {
        let mut picked = None;
        ui.horizontal(|ui| {
            month_bar(ui, &mut state.cursor, "month");
            if ui.button("Today").clicked() {
                state.cursor = self.today;
                picked = Some(self.today);
            }
        });
        let weeks = month_grid(
            state.cursor.year(),
            state.cursor.month(),
            self.first_weekday,
        );
        let width = ui.available_width();
        let least = HEAD + 2.0 * LINE + 6.0;
        // The lowest line straddles the edge.
        let room = ui.available_height() - HEAD - 1.0;
        let height = room.max(least * weeks.len() as f32) + HEAD;
        let (rect, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
        let id = ui.make_persistent_id(("month", self.name));
        let focus = ui.interact(rect, id, Sense::focusable_noninteractive());
        focus.widget_info(|| WidgetInfo::labeled(Role::Grid, true, self.name));
        if focus.has_focus() {
            state.cursor = step_by_keys(ui, id, state.cursor, self.first_weekday);
            let take = |key| ui.input_mut(|input| input.consume_key(Modifiers::NONE, key));
            if take(Key::Enter) || take(Key::Space) {
                picked = Some(state.cursor);
            }
        }
        self.weekday_row(ui, rect);
        let cell = vec2(width / 7.0, (height - HEAD) / weeks.len().max(1) as f32);
        for (row, week) in weeks.iter().enumerate() {
            for (column, &day) in week.iter().enumerate() {
                let min = rect.min + vec2(column as f32 * cell.x, HEAD + row as f32 * cell.y);
                let day_cell = DayCell {
                    day,
                    rect: Rect::from_min_size(min, cell),
                    id,
                    entries: entries(day),
                };
                if self.day(ui, &day_cell, *state, &focus) {
                    picked = Some(day);
                    focus.request_focus();
                }
            }
        }
        if let Some(day) = picked {
            state.selected = picked;
            state.cursor = day;
        }
        picked
    }

    fn weekday_row(&self, ui: &Ui, rect: Rect) {
        let font = FontId::proportional(type_size::SMALL);
        for (column, (short, _)) in weekdays(self.first_weekday).into_iter().enumerate() {
            let left = rect.left() + column as f32 * rect.width() / 7.0 + space::S;
            let at = pos2(left, rect.top() + HEAD / 2.0);
            ui.painter().text(
                at,
                Align2::LEFT_CENTER,
                short,
                font.clone(),
                tokens(ui).muted,
            );
        }
    }

    /// Draws one day; true when it was clicked.
    fn day(&self, ui: &Ui, cell: &DayCell<'_>, state: MonthState, focus: &Response) -> bool {
        let &DayCell {
            day,
            rect,
            id,
            entries,
        } = cell;
        let colours = tokens(ui);
        let response = ui.interact(rect, id.with(day), Sense::CLICK);
        let selected = state.selected == Some(day);
        response.widget_info(|| {
            WidgetInfo::selected(Role::Button, true, selected, self.day_name(day, entries))
        });
        let in_month = day.month() == state.cursor.month();
        let fill = match (selected, response.hovered(), in_month) {
            (true, ..) => colours.selection,
            (false, true, _) => colours.hover,
            (false, false, true) => colours.raised,
            (false, false, false) => colours.surface,
        };
        ui.painter().rect(
            rect,
            0,
            fill,
            Stroke::new(1.0, colours.rule),
            StrokeKind::Middle,
        );
        self.day_number(ui, cell, in_month);
        let figures: Vec<_> = entries
            .iter()
            .filter_map(|entry| entry.figure.map(|figure| (entry, figure)))
            .collect();
        let entries = if figures.len() == entries.len() {
            figures_in(ui, rect, &figures);
            &[]
        } else {
            entries
        };
        let room = ((rect.height() - HEAD - space::XS) / LINE).floor().max(0.0) as usize;
        let shown = if entries.len() > room {
            room.saturating_sub(1)
        } else {
            entries.len()
        };
        let line = |index: usize| {
            let top = rect.top() + HEAD + index as f32 * LINE;
            Rect::from_min_max(
                pos2(rect.left() + space::XS, top),
                pos2(rect.right() - space::XS, top + LINE - 1.0),
            )
        };
        for (index, entry) in entries.iter().take(shown).enumerate() {
            let pair = colours.meaning(entry.meaning);
            let at = line(index);
            ui.painter().rect_filled(at, 2.0, pair.fill);
            let text = format!("{} {}", entry.mark(), entry.text);
            line_in(ui, at, &text, pair.text);
        }
        if shown < entries.len() {
            let more = format!("+{} more", entries.len() - shown);
            line_in(ui, line(shown), &more, colours.muted);
        }
        if focus.has_focus() && state.cursor == day {
            let stroke = Stroke::new(2.0, colours.accent);
            ui.painter()
                .rect_stroke(rect.shrink(1.0), 0, stroke, StrokeKind::Inside);
        }
        let clicked = response.clicked();
        if !cell.entries.is_empty() {
            response.on_hover_ui(|ui| {
                for entry in cell.entries {
                    ui.label(format!("{} {}", entry.mark(), entry.text));
                }
            });
        }
        clicked
    }

    fn day_number(&self, ui: &Ui, cell: &DayCell<'_>, in_month: bool) {
        let colours = tokens(ui);
        let number = cell.day.day().to_string();
        let centre = cell.rect.left_top() + vec2(space::S + 8.0, HEAD / 2.0 + 1.0);
        let ink = if cell.day == self.today {
            let disc = Rect::from_center_size(centre, vec2(24.0, 18.0));
            ui.painter().rect_filled(disc, 0, colours.lupulin);
            colours.on_lupulin
        } else if in_month {
            colours.ink
        } else {
            colours.muted
        };
        ui.painter().text(
            centre,
            Align2::CENTER_CENTER,
            number,
            FontId::proportional(type_size::BODY),
            ink,
        );
    }

    /// A day as it is read aloud, with what is on.
    fn day_name(&self, day: NaiveDate, entries: &[DayEntry]) -> String {
        let mut name = full_date(day);
        if day == self.today {
            name.push_str(", today");
        }
        for entry in entries {
            name.push_str(", ");
            name.push_str(&entry.text);
        }
        name
    }
}

struct DayCell<'a> {
    day: NaiveDate,
    rect: Rect,
    id: Id,
    entries: &'a [DayEntry],
}

/// Each kind of work of a day by its drawing and a number, as many as there is room for.
fn figures_in(ui: &Ui, rect: Rect, figures: &[(&DayEntry, (Drawing, u32))]) {
    const SIZE: egui::Vec2 = vec2(42.0, 20.0);
    let colours = tokens(ui);
    let across = ((rect.width() - 4.0) / SIZE.x).floor().max(1.0) as usize;
    let down = ((rect.height() - HEAD) / SIZE.y).floor().max(1.0) as usize;
    let shown = if figures.len() > across * down {
        across * down - 1
    } else {
        figures.len()
    };
    let place = |nth: usize| {
        let at = pos2(
            rect.left() + 3.0 + (nth % across) as f32 * SIZE.x,
            rect.top() + HEAD + (nth / across) as f32 * SIZE.y,
        );
        Rect::from_min_size(at, SIZE - vec2(2.0, 1.0))
    };
    for (nth, (entry, (kind, count))) in figures.iter().take(shown).enumerate() {
        let at = place(nth);
        let late = matches!(entry.meaning, Meaning::Late | Meaning::Danger);
        let done = entry.meaning == Meaning::Good;
        let ink = match (late, done) {
            (true, _) => {
                ui.painter().rect_filled(at, 0, colours.late.fill);
                colours.late.text
            }
            (false, true) => colours.muted,
            (false, false) => colours.ink,
        };
        let print = drawing::Inks::plain(ink);
        let centre = pos2(at.left() + 10.0, at.center().y);
        drawing::paint(ui.painter(), *kind, centre, 16.0, print);
        let words = if late {
            format!("{count}!")
        } else if done {
            format!("{} {count}", mark::TICK)
        } else {
            count.to_string()
        };
        let font = theme::bold(type_size::SMALL);
        one_line(
            ui,
            at.with_min_x(at.left() + 21.0),
            at.center().y,
            &words,
            font,
            ink,
        );
    }
    if shown < figures.len() {
        let more = format!("+{}", figures.len() - shown);
        line_in(ui, place(shown), &more, colours.muted);
    }
}

/// One line of a day, in small type.
fn line_in(ui: &Ui, line: Rect, text: &str, ink: egui::Color32) {
    let room = line.shrink2(vec2(space::XS, 0.0));
    let font = FontId::proportional(type_size::SMALL);
    one_line(ui, room, line.center().y, text, font, ink);
}
