//! What windows are built from, and nothing that knows what a hop is: the theme, the fonts, the widgets, work off the
//! drawing thread, the bell.
//!
//! `cargo run -p kit --example gallery` shows every widget in a window.

pub mod bell;
pub mod bine;
pub mod dates;
pub mod drafts;
pub mod drawing;
pub mod figures;
pub mod fonts;
pub mod form;
pub mod page_keys;
pub mod selection;
pub mod state_mark;
pub mod steady_rows;
pub mod theme;
pub mod unkept;
pub mod widgets;
pub mod worker;
pub mod working_day;
