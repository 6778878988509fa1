//! The window of Binewright: the only crate that knows both egui and the domain.
//!
//! The window holds no rule of the trade: screens read a [`domain::Project`] through a [`view::View`] and hand back
//! edits through an [`view::Outbox`]; [`app::App`] applies them. The crate `binewright` puts it into a native window.

pub mod app;
pub mod command;
pub mod derived;
pub mod dialogs;
pub mod file_watcher;
pub mod forms;
pub mod open_project;
pub mod past_state;
pub mod photos;
pub mod preferences;
pub mod record_history;
pub mod screens;
pub mod timers;
pub mod view;
