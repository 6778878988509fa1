//! What enters and leaves a project: labels, reports, tables, calendars, pedigrees, records and temperatures of loggers.
//!
//! Everything here is plain data in, bytes or text out: no clock, no files, no window, and no
//! knowledge of the model. The caller maps its records to the structs of this crate.

pub mod calendar;
pub mod cards;
pub mod charts;
pub mod label;
pub mod logger;
pub mod lot_counts;
pub mod names;
pub mod pedigree;
pub mod photo;
pub mod plots;
pub mod poster;
pub mod records;
pub mod report;
pub mod rows;
pub mod scoring_sheet;
pub mod sheets;
pub mod table;
pub mod typeface;
