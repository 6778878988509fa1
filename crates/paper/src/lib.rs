//! What of a project goes on paper or into a spreadsheet: records and plans mapped to the tables and reports of
//! [`exchange`], the same from the window and from the command line.

pub mod agenda;
pub mod bench_sheet;
pub mod crossing_cards;
pub mod passport;
pub mod photos;
pub mod scoring_sheet;
pub mod season_plan;
pub mod season_report;
pub mod tables;
pub mod workbook;
