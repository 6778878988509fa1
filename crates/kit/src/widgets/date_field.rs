//! A date: typed as people type it, stepped by arrows, or chosen from a month.

use chrono::{Datelike as _, NaiveDate, Weekday};
use egui::{
    Align2, Button, EventFilter, Id, Key, Modifiers, Popup, PopupCloseBehavior, Rect, Role, Sense,
    Stroke, StrokeKind, Ui, WidgetInfo, vec2,
};

use super::{
    days::{self, STEP_KEYS, add_months, full_date, month_grid, month_name},
    draft::{DraftField, FieldResponse, problem_line},
};
use crate::{
    dates::{self, DayOrder},
    fonts::mark,
    theme::{space, tokens},
};

const DAY: f32 = 32.0;

/// A field for one day.
#[derive(Clone, Copy, Debug)]
pub struct DateField<'a> {
    name: &'a str,
    today: NaiveDate,
    first_weekday: Weekday,
}

impl<'a> DateField<'a> {
    /// A field called `name`; `today` is where its calendar opens and what its 'Today' button gives.
    pub fn new(name: &'a str, today: NaiveDate) -> Self {
        Self {
            name,
            today,
            first_weekday: Weekday::Mon,
        }
    }

    /// The first column of the calendar; Monday unless said otherwise.
    #[must_use]
    pub fn first_weekday(mut self, weekday: Weekday) -> Self {
        self.first_weekday = weekday;
        self
    }

    /// Draws a field that must hold a date.
    pub fn show(&self, ui: &mut Ui, value: &mut NaiveDate) -> FieldResponse {
        let mut optional = Some(*value);
        let response = self.draw(ui, &mut optional, false);
        *value = optional.unwrap_or(*value);
        response
    }

    /// Draws a field that may stay empty: not known, not yet.
    pub fn show_optional(&self, ui: &mut Ui, value: &mut Option<NaiveDate>) -> FieldResponse {
        self.draw(ui, value, true)
    }

    fn draw(
        &self,
        ui: &mut Ui,
        value: &mut Option<NaiveDate>,
        may_be_empty: bool,
    ) -> FieldResponse {
        let field = DraftField {
            name: self.name,
            width: 92.0,
            hint: "no date",
            figures: false,
        };
        ui.vertical(|ui| {
            let mut stepped = None;
            if ui.memory(|memory| memory.has_focus(field.id(ui))) {
                let by = ui.input_mut(|input| {
                    i64::from(input.consume_key(Modifiers::NONE, Key::ArrowUp))
                        - i64::from(input.consume_key(Modifiers::NONE, Key::ArrowDown))
                });
                if by != 0 {
                    let from = value.unwrap_or(self.today);
                    stepped = Some(if by > 0 {
                        days::later(from, 1)
                    } else {
                        days::earlier(from, 1)
                    });
                }
            }
            let (drafted, picked) = ui
                .horizontal(|ui| {
                    ui.spacing_mut().item_spacing.x = 2.0;
                    let shown = value.map(dates::day).unwrap_or_default();
                    let order = DayOrder::of(ui.ctx());
                    let parse = |text: &str| {
                        if may_be_empty && text.trim().is_empty() {
                            Ok(None)
                        } else {
                            dates::read(text, self.today, order).map(Some)
                        }
                    };
                    let understood = |date: &Option<NaiveDate>| {
                        Some(date.map_or_else(|| "no date".to_owned(), dates::weekday_and_day))
                    };
                    let drafted = field.show_understood(ui, &shown, parse, understood);
                    if let Some(words) = &drafted.understood {
                        // It floats, so that the field and what is beside it stay where they are.
                        drafted.response.show_tooltip_text(words);
                    }
                    (drafted, self.drop_down(ui, *value, may_be_empty))
                })
                .inner;
            problem_line(ui, drafted.problem.as_ref());
            let mut response = drafted.store(value);
            if let Some(Choice(chosen)) = picked.or(stepped.map(|day| Choice(Some(day)))) {
                field.forget(ui);
                response.problem = None;
                if *value != chosen {
                    *value = chosen;
                    response.changed = true;
                    response.ticket = field.ticket(ui);
                }
            }
            response
        })
        .inner
    }

    /// The button and its calendar; gives what was chosen.
    fn drop_down(
        &self,
        ui: &mut Ui,
        value: Option<NaiveDate>,
        may_be_empty: bool,
    ) -> Option<Choice> {
        let button = ui.add(
            Button::new(egui::RichText::new(mark::DESCENDING).size(10.0))
                .min_size(vec2(space::TARGET, space::TARGET)),
        );
        button.widget_info(|| {
            WidgetInfo::labeled(
                Role::Button,
                true,
                format!("Choose {}", lower_first(self.name)),
            )
        });
        let id = Popup::default_response_id(&button);
        let memory_id = id.with("calendar");
        let fresh = OpenCalendar {
            cursor: value.unwrap_or(self.today),
            reached: false,
        };
        if button.clicked() {
            ui.data_mut(|data| data.insert_temp(memory_id, fresh));
        }
        let mut chosen = None;
        Popup::from_toggle_button_response(&button)
            .accessible_name(format!("Calendar for {}", lower_first(self.name)))
            .close_behavior(PopupCloseBehavior::CloseOnClickOutside)
            .width(DAY * 7.0)
            .show(|ui| {
                let mut calendar: OpenCalendar =
                    ui.data(|data| data.get_temp(memory_id)).unwrap_or(fresh);
                month_bar(ui, &mut calendar.cursor, "month");
                if let Some(day) = self.grid(ui, id, &mut calendar, value) {
                    chosen = Some(Choice(Some(day)));
                }
                ui.horizontal(|ui| {
                    if ui.button("Today").clicked() {
                        chosen = Some(Choice(Some(self.today)));
                    }
                    if may_be_empty && ui.button("No date").clicked() {
                        chosen = Some(Choice(None));
                    }
                });
                ui.data_mut(|data| data.insert_temp(memory_id, calendar));
            });
        if chosen.is_some() {
            Popup::close_id(ui.ctx(), id);
            button.request_focus();
        }
        chosen
    }

    /// The days of the month, one stop for Tab, arrows within; gives the day chosen.
    fn grid(
        &self,
        ui: &mut Ui,
        id: Id,
        calendar: &mut OpenCalendar,
        value: Option<NaiveDate>,
    ) -> Option<NaiveDate> {
        let grid_id = id.with("days");
        let OpenCalendar { cursor, reached } = calendar;
        let weeks = month_grid(cursor.year(), cursor.month(), self.first_weekday);
        // Six weeks high whatever the month, so that the buttons beneath stay where they are.
        let (rect, _) = ui.allocate_exact_size(vec2(DAY * 7.0, DAY * 7.0), Sense::hover());
        let focus = ui.interact(rect, grid_id, Sense::focusable_noninteractive());
        focus.widget_info(|| {
            WidgetInfo::labeled(Role::Grid, true, format!("Days of {}", month_name(*cursor)))
        });
        // The first pass of a pop-up only measures it and can't hold the focus: ask until it is given.
        let focused = focus.has_focus();
        if focused {
            *reached = true;
        } else if !*reached {
            focus.request_focus();
        }
        let mut chosen = None;
        if focused {
            *cursor = step_by_keys(ui, grid_id, *cursor, self.first_weekday);
            if ui.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Enter)) {
                chosen = Some(*cursor);
            }
        }
        let at = |column: usize, row: usize| {
            Rect::from_min_size(
                rect.min + vec2(column as f32 * DAY, row as f32 * DAY),
                vec2(DAY, DAY),
            )
        };
        let colours = tokens(ui);
        for (column, (short, _)) in days::weekdays(self.first_weekday).into_iter().enumerate() {
            let small = egui::TextStyle::Small.resolve(ui.style());
            ui.painter().text(
                at(column, 0).center(),
                Align2::CENTER_CENTER,
                short,
                small,
                colours.muted,
            );
        }
        for (row, week) in weeks.iter().enumerate() {
            for (column, &day) in week.iter().enumerate() {
                let cell = at(column, row + 1).shrink(1.0);
                let response = ui.interact(cell, grid_id.with(day), Sense::CLICK);
                let selected = value == Some(day);
                response.widget_info(|| {
                    WidgetInfo::selected(Role::Button, true, selected, full_date(day))
                });
                let fill = if selected {
                    Some(colours.accent)
                } else if response.hovered() {
                    Some(colours.hover)
                } else {
                    None
                };
                if let Some(fill) = fill {
                    ui.painter().rect_filled(cell, 3.0, fill);
                }
                if day == self.today {
                    let ink = if selected {
                        colours.on_accent
                    } else {
                        colours.accent
                    };
                    ui.painter().hline(
                        cell.shrink(8.0).x_range(),
                        cell.bottom() - 4.0,
                        Stroke::new(2.0, ink),
                    );
                }
                if focused && day == *cursor {
                    let stroke = Stroke::new(
                        2.0,
                        if selected {
                            colours.ink
                        } else {
                            colours.accent
                        },
                    );
                    ui.painter()
                        .rect_stroke(cell, 3.0, stroke, StrokeKind::Inside);
                }
                let ink = match (selected, day.month() == cursor.month()) {
                    (true, _) => colours.on_accent,
                    (false, true) => colours.ink,
                    (false, false) => colours.muted,
                };
                let font = egui::TextStyle::Body.resolve(ui.style());
                ui.painter().text(
                    cell.center(),
                    Align2::CENTER_CENTER,
                    day.day().to_string(),
                    font,
                    ink,
                );
                if response.clicked() {
                    chosen = Some(day);
                }
            }
        }
        chosen
    }
}

/// What was chosen from the calendar: a day, or no date.
struct Choice(Option<NaiveDate>);

/// What the calendar of a field remembers while it is open.
#[derive(Clone, Copy)]
struct OpenCalendar {
    /// The day under the cursor; its month is the one shown.
    cursor: NaiveDate,
    /// The keyboard has reached the days.
    reached: bool,
}

/// The month's name between buttons to the month before and after.
pub(super) fn month_bar(ui: &mut Ui, shown: &mut NaiveDate, what: &str) {
    ui.horizontal(|ui| {
        let mut turn = |ui: &mut Ui, sign: &str, by: i32| {
            let button = ui.add(Button::new(sign).min_size(vec2(space::TARGET, space::TARGET)));
            let name = if by < 0 {
                format!("Previous {what}")
            } else {
                format!("Next {what}")
            };
            button.widget_info(|| WidgetInfo::labeled(Role::Button, true, &name));
            if button.clicked() {
                *shown = add_months(*shown, by);
            }
        };
        turn(ui, mark::LEFT, -1);
        turn(ui, mark::RIGHT, 1);
        ui.label(crate::theme::strong(month_name(*shown)));
    });
}

/// Moves a day by the keys typed while the grid `id` has the focus.
pub(super) fn step_by_keys(
    ui: &Ui,
    id: Id,
    mut cursor: NaiveDate,
    first_weekday: Weekday,
) -> NaiveDate {
    let filter = EventFilter {
        horizontal_arrows: true,
        vertical_arrows: true,
        ..EventFilter::default()
    };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(id, filter));
    for key in STEP_KEYS {
        if ui.input_mut(|input| input.consume_key(Modifiers::NONE, key)) {
            cursor = days::step(cursor, key, first_weekday).unwrap_or(cursor);
        }
    }
    cursor
}

fn lower_first(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(letters).collect()
    })
}
