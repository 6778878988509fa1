//! Drawings, marks, the bine, the line of time: what gives the window its face.

use std::collections::BTreeMap;

use chrono::{Days, Weekday};
use egui::{Rect, Ui, UiBuilder, Vec2, pos2, vec2};
use kit::{
    bine::{self, Course, Habit, Leaves},
    drawing::{Drawing, draw},
    state_mark::{StateMark, state},
    theme::{space, tokens},
    widgets::{
        NextStep, Ruler, RulerDay, Station, Weight, figure, key_hint, next_step, numbered_section,
        page_head, parent, tag, time_line, wide_button,
    },
};

pub(super) fn drawings(ui: &mut Ui) {
    page_head(ui, "Drawings", |_| {});
    egui::Grid::new("drawings")
        .num_columns(12)
        .spacing(vec2(space::L, space::M))
        .show(ui, |ui| {
            for (nth, drawing) in Drawing::ALL.into_iter().enumerate() {
                for size in [48.0, 24.0, 16.0] {
                    draw(ui, drawing, size);
                }
                ui.label(drawing.word());
                if nth % 3 == 2 {
                    ui.end_row();
                }
            }
        });
    ui.add_space(space::M);
    let words = [
        "done",
        "now, due here",
        "expected",
        "not known",
        "in order",
        "due today",
        "2 days late",
        "frozen: check at once",
        "failed",
    ];
    ui.horizontal_wrapped(|ui| {
        for (mark, word) in StateMark::ALL.into_iter().zip(words) {
            state(ui, mark, word);
            ui.add_space(space::M);
        }
    });
    ui.horizontal_wrapped(|ui| {
        key_hint(ui, &["Space"], "checked, nothing found");
        key_hint(ui, &["[", "]"], "day before, after");
    });
}

#[expect(clippy::too_many_lines, reason = "one example after the other")]
pub(super) fn time(ui: &mut Ui) {
    let station = |drawing, word: &str, day: &str, mark, days_before| Station {
        drawing,
        word: word.to_owned(),
        day: day.to_owned(),
        mark,
        days_before,
    };
    ui.horizontal(|ui| {
        tag(ui, "26-03", false);
        ui.add_space(space::M);
        parent(ui, "24-01-025", true);
        parent(ui, "24-02-021", false);
        ui.add_space(space::XL);
        figure(ui, "38", "cones");
        figure(ui, "57", "days on the plant");
        tag(ui, "C-38", true);
    });
    let stations = [
        station(Drawing::Cross, "planned", "14 Mar", StateMark::Done, None),
        station(Drawing::Bag, "bagged", "24 Jun", StateMark::Done, Some(102)),
        station(
            Drawing::Pollen,
            "pollinated",
            "12 Jul",
            StateMark::Done,
            Some(18),
        ),
        station(
            Drawing::Cone,
            "harvested",
            "7 Sep",
            StateMark::Done,
            Some(57),
        ),
        station(
            Drawing::Seed,
            "seed clean",
            "today",
            StateMark::Now,
            Some(82),
        ),
        station(
            Drawing::Cold,
            "in the cold",
            "about 14 Dec",
            StateMark::Expected,
            Some(16),
        ),
        station(
            Drawing::Pot,
            "first pots",
            "not known",
            StateMark::Unknown,
            None,
        ),
    ];
    time_line(ui, "Line of time of 26-03", &stations);
    next_step(
        ui,
        NextStep {
            drawing: Drawing::Seed,
            title: "Clean the seed",
            detail: "Cones dry since 24 Sep. Sieve, winnow, weigh; the lot is made here.",
            state: (StateMark::Soon, "due today"),
            day: "Sat 28 Nov",
            key: "Enter",
            loud: true,
            enabled: true,
        },
    );
    numbered_section(ui, Some(1), "Morning round", "6 boxes in the cold, 4 to go");
    wide_button(
        ui,
        Weight::Solid,
        "Record 7 sprouts in C-12, today",
        "Enter",
        true,
    );
    wide_button(ui, Weight::Outline, "All 4 left: nothing found", "A", true);
    wide_button(ui, Weight::Solid, "Take on: 3 kept, 2 open", "", false);
    let day = super::today();
    let mut entries = BTreeMap::new();
    for (offset, late, due, coming, done) in [(0, 0, 13, 0, 3), (3, 0, 0, 4, 0)] {
        if let Some(on) = day.checked_add_days(Days::new(offset)) {
            entries.insert(
                on,
                RulerDay {
                    late,
                    due,
                    coming,
                    done,
                },
            );
        }
    }
    if let Some(on) = day.checked_sub_days(Days::new(3)) {
        entries.insert(
            on,
            RulerDay {
                late: 2,
                done: 6,
                ..RulerDay::default()
            },
        );
    }
    let missed = day
        .checked_sub_days(Days::new(9))
        .zip(day.checked_sub_days(Days::new(5)))
        .map(|(from, to)| (from, to, "5 days without an entry"));
    Ruler {
        name: "Month",
        day,
        first_weekday: Weekday::Mon,
        missed,
    }
    .show(ui, &entries);
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 150.0), egui::Sense::hover());
    let inks = bine::Inks::of(tokens(ui));
    let page = ui.new_child(UiBuilder::new().max_rect(rect));
    for (top, habit) in [(16.0, Habit::PAGE), (40.0, Habit::LANE)] {
        let course = Course::Line {
            from: rect.min + vec2(0.0, top),
            to: pos2(rect.right(), rect.top() + top),
        };
        bine::draw(page.painter(), course, 400.0, Leaves::Regular, habit, inks);
    }
    let year = Rect::from_center_size(rect.center() + vec2(0.0, 30.0), Vec2::splat(80.0));
    let course = Course::Circle {
        centre: year.center(),
        radius: 60.0,
        begin: 0.0,
    };
    bine::draw(
        page.painter(),
        course,
        course.length(),
        Leaves::Regular,
        Habit::YEAR,
        inks,
    );
}
