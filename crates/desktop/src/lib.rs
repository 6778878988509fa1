//! The window and the command line of Binewright.
//!
//! The window holds no rule of the trade: screens read a [`domain::Project`] through a [`view::View`] and hand back
//! edits through an [`view::Outbox`]; [`app::App`] applies them.

pub mod app;
pub mod bell;
pub mod chronicle;
pub mod command;
pub mod command_line;
pub mod derived;
pub mod dialogs;
pub mod family_tree;
pub mod fonts;
pub mod moment;
pub mod open_project;
pub mod photos;
pub mod preferences;
pub mod screens;
pub mod season_paper;
pub mod theme;
pub mod timers;
pub mod view;
pub mod watch;
pub mod widgets;
pub mod window;
pub mod worker;
