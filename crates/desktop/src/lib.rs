//! The window and the command line of Binewright.

pub mod fonts;
pub mod theme;
pub mod widgets;
