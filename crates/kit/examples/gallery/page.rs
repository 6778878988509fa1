//! The pages of the gallery, apart from the window so that tests can drive them.

use std::collections::BTreeMap;

use chrono::{Days, NaiveDate};
use kit::{
    fonts::mark,
    theme::{Meaning, Theme, space, tokens},
    widgets::{
        BarKind, Column, DateField, DayEntry, Lane, LaneBar, LanePoint, LanesState, MonthState,
        MonthView, NumberField, Rows, SeasonLanes, Sort, Table, TableState, TemperatureField,
        TemperatureUnit, badge, bench_button, caution, detail, empty_state, explained, find_box,
        form_row, heading, list_and_detail, main_button, marked_badge, notice, section_heading,
        segmented,
    },
};

#[path = "face.rs"]
mod face;

/// One page of the gallery.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Page {
    Table,
    Scores,
    Calendar,
    Season,
    Fields,
    Words,
    Drawings,
    Time,
}

impl Page {
    pub(crate) const ALL: [(Self, &'static str); 8] = [
        (Self::Table, "Table"),
        (Self::Scores, "Scores"),
        (Self::Calendar, "Calendar"),
        (Self::Season, "Season"),
        (Self::Fields, "Fields"),
        (Self::Words, "Words"),
        (Self::Drawings, "Drawings"),
        (Self::Time, "Time"),
    ];
}

/// What the gallery holds.
pub(crate) struct Gallery {
    page: Page,
    theme: Theme,
    pub(crate) plants: TableState<u32>,
    order: Vec<u32>,
    detail_open: bool,
    find: String,
    pub(crate) scores: BTreeMap<(usize, usize), u8>,
    score_table: TableState<u32>,
    pub(crate) month: MonthState,
    entries: BTreeMap<NaiveDate, Vec<DayEntry>>,
    lanes: Vec<Lane>,
    pub(crate) lanes_state: LanesState,
    pub(crate) picked_lane: Option<usize>,
    pub(crate) sown: NaiveDate,
    pub(crate) harvested: Option<NaiveDate>,
    pub(crate) weight: f64,
    pub(crate) seeds: Option<f64>,
    pub(crate) celsius: f64,
    unit: TemperatureUnit,
    pub(crate) said: Option<String>,
}

pub(crate) const PLANTS: u32 = 100_000;

pub(crate) fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 25).unwrap_or_default()
}

fn day(offset: i64) -> NaiveDate {
    let by = Days::new(offset.unsigned_abs());
    let moved = if offset < 0 {
        today().checked_sub_days(by)
    } else {
        today().checked_add_days(by)
    };
    moved.unwrap_or_default()
}

impl Gallery {
    pub(crate) fn new(page: Page) -> Self {
        Self {
            page,
            theme: Theme::Light,
            plants: TableState::default(),
            order: (0..PLANTS).collect(),
            detail_open: true,
            find: String::new(),
            scores: BTreeMap::from([((0, 1), 7), ((1, 1), 5)]),
            score_table: TableState::default(),
            month: MonthState::on(today()),
            entries: entries(),
            lanes: lanes(),
            lanes_state: LanesState::new(day(-60), day(200)),
            picked_lane: None,
            sown: today(),
            harvested: None,
            weight: 3.2,
            seeds: Some(120.0),
            celsius: 4.0,
            unit: TemperatureUnit::Celsius,
            said: Some("Moved 14 seedlings to bench B.".to_owned()),
        }
    }

    pub(crate) fn show(&mut self, ui: &mut egui::Ui) {
        egui::CentralPanel::default().show(ui, |ui| {
            ui.horizontal(|ui| {
                segmented(ui, "Page", &mut self.page, &Page::ALL);
                ui.add_space(space::L);
                let choices = [(Theme::Light, "Light"), (Theme::Dark, "Dark")];
                if ui.visuals().dark_mode {
                    self.theme = Theme::Dark;
                }
                if segmented(ui, "Theme", &mut self.theme, &choices) {
                    self.theme.choose(ui.ctx());
                }
            });
            match self.page {
                Page::Table => self.table(ui),
                Page::Scores => self.score_grid(ui),
                Page::Calendar => {
                    MonthView::new("Month", today()).show(ui, &mut self.month, |date| {
                        self.entries.get(&date).map_or(&[], Vec::as_slice)
                    });
                }
                Page::Season => {
                    ui.horizontal(SeasonLanes::legend);
                    let lanes = SeasonLanes::new("Season", today());
                    if let Some(lane) = lanes.show(ui, &mut self.lanes_state, &self.lanes) {
                        self.picked_lane = Some(lane);
                    }
                }
                Page::Fields => self.fields(ui),
                Page::Words => self.words(ui),
                Page::Drawings => face::drawings(ui),
                Page::Time => face::time(ui),
            }
        });
    }

    fn table(&mut self, ui: &mut egui::Ui) {
        ui.horizontal(|ui| {
            heading(ui, "Seedlings");
            find_box(ui, "Find a seedling", &mut self.find);
        });
        let mut open = self.detail_open;
        let title = self
            .plants
            .only_selected()
            .map_or_else(|| "No one seedling".to_owned(), code);
        list_and_detail(
            ui,
            "plants",
            &mut open,
            &title,
            self,
            Self::plant_list,
            |ui, gallery| {
                if let Some(plant) = gallery.plants.only_selected() {
                    section_heading(ui, "Record");
                    detail(ui, "Code", &code(plant));
                    detail(
                        ui,
                        "Family",
                        "Wren Hollow × an unknown male from the hedge by the lower yard",
                    );
                    detail(ui, "Sex", "Not yet known");
                    section_heading(ui, "State");
                    badge(ui, Meaning::Soon, "Transplant this week");
                } else {
                    ui.label(format!("{} selected.", gallery.plants.selected.len()));
                }
            },
        );
        self.detail_open = open;
    }

    fn plant_list(ui: &mut egui::Ui, gallery: &mut Self) {
        let columns = [
            Column::text("Code", 96.0),
            Column::text("Family", 200.0).stretch(),
            Column::text("State", 112.0),
            Column::number("Height, cm", 88.0).hint("Highest shoot above the soil"),
            Column::number("Alpha acids, %", 112.0),
        ];
        let order = &gallery.order;
        let rows = Rows {
            count: order.len(),
            key: |row: usize| order[row],
            name: |row: usize| code(order[row]),
            cell: |ui: &mut egui::Ui, row: usize, column: usize| {
                let plant = order[row];
                match column {
                    0 => ui.label(code(plant)),
                    1 => ui.label(format!("Wren Hollow × Old Tithe {}", plant % 37)),
                    2 => match plant % 5 {
                        0 => badge(ui, Meaning::Good, "Strong"),
                        1 => badge(ui, Meaning::Soon, "Pot on"),
                        2 => badge(ui, Meaning::Late, "Late"),
                        _ => ui.label("Potted"),
                    },
                    3 => ui.label(format!("{:.1}", f64::from(plant % 411) / 10.0)),
                    _ => ui.label(format!("{:.2}", 4.0 + f64::from(plant % 97) / 12.0)),
                };
            },
        };
        let response =
            Table::new("Seedlings", &columns).show_with_menu(ui, &mut gallery.plants, rows, |ui| {
                let _ = ui.button("Pot on");
            });
        if let Some(Sort { column, ascending }) = response.sort {
            gallery.order.sort_by_key(|&plant| match column {
                1 => plant % 37,
                2 => plant % 5,
                3 => plant % 411,
                4 => plant % 97,
                _ => plant,
            });
            if !ascending {
                gallery.order.reverse();
            }
        }
    }

    fn score_grid(&mut self, ui: &mut egui::Ui) {
        heading(ui, "Scores");
        let columns = [
            Column::text("Seedling", 120.0).unsortable(),
            Column::score("Vigour, 1-9", 96.0).unsortable(),
            Column::score("Downy mildew, 1-9", 136.0).unsortable(),
            Column::score("Cone shape, 1-9", 120.0).unsortable(),
        ];
        let scores = &self.scores;
        let rows = Rows {
            count: 40,
            key: |row: usize| row as u32,
            name: |row: usize| code(row as u32),
            cell: |ui: &mut egui::Ui, row: usize, column: usize| {
                if column == 0 {
                    ui.label(code(row as u32));
                } else if let Some(score) = scores.get(&(row, column)) {
                    ui.label(score.to_string());
                }
            },
        };
        let response = Table::new("Scores", &columns).show(ui, &mut self.score_table, rows);
        for entry in response.entries {
            match entry.digit {
                Some(digit) => self.scores.insert((entry.row, entry.column), digit),
                None => self.scores.remove(&(entry.row, entry.column)),
            };
        }
    }

    fn fields(&mut self, ui: &mut egui::Ui) {
        heading(ui, "Fields");
        form_row(ui, "Sown on", |ui| {
            DateField::new("Sown on", today()).show(ui, &mut self.sown)
        });
        form_row(ui, "Harvested on", |ui| {
            DateField::new("Harvested on", today()).show_optional(ui, &mut self.harvested)
        });
        form_row(ui, "Thousand-seed weight", |ui| {
            NumberField::new("Thousand-seed weight", "g")
                .range(0.1..=20.0)
                .show(ui, &mut self.weight)
        });
        form_row(ui, "Seeds", |ui| {
            NumberField::new("Seeds", "")
                .decimals(0)
                .range(0.0..=1e6)
                .show_optional(ui, &mut self.seeds)
        });
        form_row(ui, "Temperatures in", |ui| {
            let units = [
                (TemperatureUnit::Celsius, "°C"),
                (TemperatureUnit::Fahrenheit, "°F"),
            ];
            segmented(ui, "Temperatures in", &mut self.unit, &units);
        });
        form_row(ui, "Box temperature", |ui| {
            TemperatureField::new("Box temperature", self.unit).show(ui, &mut self.celsius)
        });
        form_row(ui, "", |ui| {
            ui.horizontal(|ui| {
                main_button(ui, "Save batch");
                let _ = ui.button("Cancel");
                ui.add_enabled(false, egui::Button::new("Not yet"));
                let mut on = true;
                ui.checkbox(&mut on, "Bagged");
            });
        });
        form_row(ui, "Seeds in the lot", |ui| {
            explained(ui, "Seeds in the lot", "1 250", |ui| {
                ui.label("Lot weight ÷ thousand-seed weight × 1000 = 4.0 g ÷ 3.2 g × 1000.");
            })
        });
        section_heading(ui, "Bench");
        ui.horizontal_wrapped(|ui| {
            bench_button(ui, "Moist", "Box C-12 needs nothing");
            bench_button(ui, "Dry", "Water added");
            bench_button(ui, "Mould", "Take out and rinse");
        });
    }

    fn words(&mut self, ui: &mut egui::Ui) {
        egui::ScrollArea::vertical().show(ui, |ui| {
            if let Some(text) = self.said.clone()
                && notice(ui, Meaning::Good, &text, Some("Undo")).is_some()
            {
                self.said = None;
            }
            notice(
                ui,
                Meaning::Late,
                "Box C-12 has had no check for 9 days.",
                None,
            );
            section_heading(ui, "Meanings");
            ui.horizontal(|ui| {
                for (meaning, word) in Meaning::ALL.into_iter().zip([
                    "Resting",
                    "In order",
                    "This week",
                    "Late",
                    "Danger",
                ]) {
                    badge(ui, meaning, word);
                }
                marked_badge(ui, Meaning::Plain, mark::FEMALE, "Female");
                marked_badge(ui, Meaning::Plain, mark::MALE, "Male");
            });
            ui.horizontal(|ui| {
                for sign in mark::ALL {
                    ui.label(sign);
                }
            });
            section_heading(ui, "Series");
            ui.horizontal(|ui| {
                for index in 0..6 {
                    let (rect, _) =
                        ui.allocate_exact_size(egui::vec2(60.0, 20.0), egui::Sense::hover());
                    ui.painter()
                        .rect_filled(rect, 2.0, tokens(ui).series(index));
                }
            });
            section_heading(ui, "Caution");
            caution(
                ui,
                "Bleach",
                "Work in fresh air, wear gloves, never mix with acids or ammonia.",
                "the product's label and local rules on chemicals",
            );
            section_heading(ui, "Empty");
            if empty_state(
                ui,
                "Crosses planned for this season stand here.",
                "Plan a cross",
            ) {
                self.said = Some("A cross was planned.".to_owned());
            }
        });
    }
}

fn code(plant: u32) -> String {
    format!("B26-{plant:03}")
}

fn entries() -> BTreeMap<NaiveDate, Vec<DayEntry>> {
    let mut entries = BTreeMap::new();
    for offset in -20..30_i64 {
        let count = (offset.unsigned_abs() * 7 % 5) as usize;
        let lines = [
            DayEntry::new(
                "Check box C-12",
                if offset < 0 {
                    Meaning::Late
                } else {
                    Meaning::Soon
                },
            ),
            DayEntry::new("Pot on family 26-03", Meaning::Plain),
            DayEntry::new("Photograph bench B", Meaning::Good),
            DayEntry::new("Bleach rinse", Meaning::Danger),
        ];
        entries.insert(day(offset), lines[..count.min(4)].to_vec());
    }
    let many = (1..12).map(|number| DayEntry::new(format!("Check box C-{number}"), Meaning::Soon));
    entries.insert(today(), many.collect());
    entries
}

fn lanes() -> Vec<Lane> {
    let bar = |from: i64, to: i64, kind, series, text: &str| LaneBar {
        from: day(from),
        to: day(to),
        kind,
        series,
        text: text.to_owned(),
    };
    (0..24)
        .map(|index| {
            let shift = i64::from(index) * 3;
            Lane {
                name: format!("Cross 26-{index:02}"),
                detail: "Wren Hollow × Old Tithe".to_owned(),
                bars: vec![
                    bar(-50 + shift, -20 + shift, BarKind::Actual, 0, "Dry storage"),
                    bar(
                        -19 + shift,
                        40 + shift,
                        if index % 2 == 0 {
                            BarKind::Actual
                        } else {
                            BarKind::Projected
                        },
                        1,
                        "Chill",
                    ),
                    bar(44 + shift, 80 + shift, BarKind::Projected, 2, "Germination"),
                    bar(90 + shift, 150 + shift, BarKind::Planned, 3, "Nursery"),
                ],
                points: vec![
                    LanePoint {
                        on: day(-50 + shift),
                        mark: mark::FULL,
                        meaning: Meaning::Good,
                        text: "Harvested".to_owned(),
                    },
                    LanePoint {
                        on: day(41 + shift),
                        mark: mark::WARNING,
                        meaning: Meaning::Danger,
                        text: "Mould found".to_owned(),
                    },
                ],
            }
        })
        .collect()
}
