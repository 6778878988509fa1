//! What windows are built from, and nothing that knows what a hop is: the theme, the fonts, the widgets, work off the
//! drawing thread, the bell.
//!
//! `cargo run -p kit --example gallery` shows every widget in a window.

pub mod bell;
pub mod bine;
pub mod drawing;
pub mod fonts;
pub mod state_mark;
pub mod theme;
pub mod widgets;
pub mod worker;
pub mod working_day;
