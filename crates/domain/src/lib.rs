//! What a hop breeding program is, and every rule about it.
//!
//! Plain data and pure functions: no files, no window, no clock.
