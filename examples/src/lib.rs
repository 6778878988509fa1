//! The sample project: a hop breeding program in an invented place, with invented people and plants.
//!
//! It is made through the public API alone, every change through the project's one door, so it holds nothing that a
//! person at the window couldn't have entered. All its dates are told from the day it is made for: the calendar is
//! alive on any day of the year, and the same day gives the same project to the byte.

mod chance;
mod cold;
mod crosses;
mod founders;
mod journal;
mod maker;
mod merit;
mod people_and_place;
mod seed;
mod seedlings;
mod selections;
mod story;
mod warmth;
mod winter;

pub use winter::logger_file;

use chrono::NaiveDate;
use domain::{Project, Refusal};

/// The sample as it stands on a day: three seasons of crosses behind it, seed in the cold and in warmth.
///
/// # Errors
///
/// A day so near the ends of the calendar (the years 1800 and 2200) that a date of the sample can't be.
pub fn sample_project(today: NaiveDate) -> Result<Project, Refusal> {
    story::tell(today)
}
