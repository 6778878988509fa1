//! What every screen is built from. Nothing here knows what a hop is.

mod controls;
mod date_field;
mod days;
mod draft;
mod lanes;
mod month_view;
mod number_field;
mod split;
mod table;
mod words;

pub use self::{
    controls::{bench_button, find_box, focus_find_box, main_button, segmented},
    date_field::DateField,
    days::{add_months, full_date, month_grid, month_name, parse_date},
    draft::FieldResponse,
    lanes::{BarKind, Lane, LaneBar, LanePoint, LanesState, SeasonLanes, TimeView},
    month_view::{DayEntry, MonthState, MonthView},
    number_field::{NumberField, TemperatureField, TemperatureUnit},
    split::list_and_detail,
    table::{Column, Entry, Rows, Sort, Table, TableResponse, TableState},
    words::{
        NoticeAnswer, badge, caution, detail, detail_with, empty_state, form_row, heading,
        marked_badge, notice, section_heading,
    },
};
