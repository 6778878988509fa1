//! `binewright trial`, run as a script runs it.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

mod plain;
mod published;
mod script;
mod slips;
mod space;
mod told;
mod whole;
