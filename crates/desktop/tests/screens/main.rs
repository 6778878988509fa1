//! Screens of the window, driven by accessible names: one program, so that they share how a window is opened.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

mod aside;
mod bench;
mod chill;
mod crosses;
mod everywhere;
mod few_presses;
mod first_steps;
mod form_walk;
mod frame;
mod frames;
mod history;
mod kinship;
mod layout;
mod measure;
mod monkey;
mod past;
mod pending;
mod photos;
mod planning;
mod plants;
mod saving;
mod season_plan;
mod seed_lots;
mod selection;
mod sheets;
mod signing;
mod steady;
mod sterilising;
mod tables;
mod taken_along;
mod taps;
mod targets;
mod temperatures;
mod traits;
mod typed;
mod window;
mod wrong_files;
