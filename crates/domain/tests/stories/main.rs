//! Stories of a breeding program: what the model takes, what it refuses and why, and what it derives.

mod calendar;
mod codes;
mod cold;
mod doubts;
mod fathers;
mod genetics;
mod grounds;
mod lanes;
mod ledger;
mod measurements;
mod own_score;
mod permission;
mod planning;
mod played_seasons;
mod program;
mod random_edits;
mod refusals;
mod season_crosses;
mod season_plan;
mod seed_science;
mod undo;
