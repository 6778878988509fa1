//! What every screen is built from. Nothing here knows what a hop is.

pub mod table;
