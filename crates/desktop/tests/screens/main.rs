//! Screens of the window, driven by accessible names: one program, so that they share how a window is opened.

mod chill;
mod crosses;
mod kinship;
mod plants;
mod seed_lots;
mod window;
