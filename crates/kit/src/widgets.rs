//! What every screen is built from. Nothing here knows what a hop is.
//!
//! A screen keeps the small states ([`TableState`], [`MonthState`], [`LanesState`]), hands them in each frame with
//! what it shows, and makes one edit of each thing that comes back: a committed field
//! ([`FieldResponse::changed`]), a typed score ([`Entry`]), a picked row, day or lane.
//!
//! A widget's `name` is what it is called aloud and its id within the `Ui`: two of one name in one `Ui` need
//! [`egui::Ui::push_id`] with the id of their record. `cargo run -p kit --example gallery` shows every widget.
//!
//! ```
//! use kit::widgets::{Column, Rows, Table, TableState};
//!
//! fn boxes(ui: &mut egui::Ui, state: &mut TableState<u32>, boxes: &[(u32, &str, f64)]) -> Option<u32> {
//!     let columns = [Column::text("Box", 96.0).stretch(), Column::number("Seeds, g", 88.0)];
//!     let rows = Rows {
//!         count: boxes.len(),
//!         key: |row: usize| boxes[row].0,
//!         name: |row: usize| boxes[row].1.to_owned(),
//!         cell: |ui: &mut egui::Ui, row: usize, column: usize| {
//!             let (_, code, grams) = boxes[row];
//!             ui.label(if column == 0 { code.to_owned() } else { format!("{grams:.1}") });
//!         },
//!     };
//!     Table::new("Boxes", &columns).show(ui, state, rows).opened
//! }
//! ```

mod alarm;
mod bench;
mod chart;
mod choice_plot;
mod controls;
mod date_field;
mod days;
mod draft;
mod furniture;
mod germination_plot;
mod heat_map;
mod lanes;
mod line_plot;
mod load_bars;
mod min_max_series;
mod month_view;
mod number_field;
mod ruler;
mod share_bar;
mod split;
mod stepper;
mod table;
mod temperature_chart;
mod text;
mod text_field;
mod time_line;
mod words;

pub use self::{
    alarm::{alarm, past_alarm},
    bench::{NextStep, Weight, in_hand, next_step, row_button, row_inks, tick_box, wide_button},
    choice_plot::ChoicePlot,
    controls::{bench_button, find_box, focus_find_box, main_button, segmented},
    date_field::DateField,
    days::{add_months, full_date, month_grid, month_name},
    draft::FieldResponse,
    furniture::{
        PRINTERS_RULE, figure, focus_outline, hairline, key_hint, key_hint_width, numbered_section,
        page_head, paint_key, paint_key_on, paint_printers_rule, parent, printers_rule, room, tag,
    },
    germination_plot::{CourseLine, CoursePoint, GerminationPlot},
    heat_map::{HeatMap, ShadeStep},
    lanes::{BarKind, Lane, LaneBar, LanePoint, LanesState, SeasonLanes, TimeView},
    line_plot::{LinePlot, Series},
    load_bars::{Load, LoadBars, load_bars_height},
    min_max_series::{Bucket, MinMaxSeries},
    month_view::{DayEntry, MonthState, MonthView},
    number_field::{NumberField, TemperatureField, TemperatureUnit},
    ruler::{RULER_HEIGHT, Ruler, RulerDay},
    share_bar::{growth, paint_share, share_bar},
    split::{beside_or_below, halves, list_and_detail, list_and_record, sideways, with_room},
    stepper::stepper,
    table::{
        Column, Entry, Rows, ShortTable, Sort, Table, TableResponse, TableState, TakenTable,
        ask_for_tables, offer_table, tables_taken,
    },
    temperature_chart::{Excursion, Period, TemperatureChart},
    text::{one_line, one_line_middle, one_line_right},
    text_field::TextField,
    time_line::{Station, TIME_LINE_HEIGHT, time_line},
    words::{
        NoticeAnswer, answer, badge, capital, caution, caution_line, detail, detail_with,
        empty_state, explained, form_row, grouped, heading, marked_badge, notice, section_heading,
        whose_rules,
    },
};
