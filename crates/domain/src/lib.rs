//! What a hop breeding program is, and every rule about it.
//!
//! A [`Project`] is plain data: plants ([`Genotype`]), crosses, seed lots, boxes in the cold, sprouts
//! counted, scores. It changes through one door, [`Project::apply`], which checks an [`Edit`], makes it and
//! returns its exact inverse. Everything else (the calendar, balances, ages, findings) is derived from it
//! by pure functions that take the day as an argument.
//!
//! This crate knows no files, no window and no clock.

mod macros;
mod sorted;

pub mod actions;
pub mod agenda;
pub mod ancestry;
pub mod catching_up;
pub mod cautions;
pub mod chill_response;
pub mod code;
pub mod compare;
pub mod date;
pub mod derived_traits;
pub mod display;
pub mod edit;
pub mod explanation;
mod finding;
pub mod findings;
#[cfg(test)]
mod fixtures;
pub mod genetics;
pub mod germination;
pub mod grounds;
pub mod history;
pub mod id;
pub mod import;
pub mod ledger;
pub mod merge;
pub mod own_score;
pub mod permission;
pub mod planning;
pub mod progress;
pub mod project;
pub mod protocols;
pub mod record;
pub mod recording;
pub mod refusal;
pub mod risk;
pub mod segregation;
pub mod status;
pub mod steps;
pub mod sterilising;
pub mod stock;
pub mod table;
pub mod temperature;
pub mod timeline;
pub mod units;
pub mod words;

pub use date::{PartialDate, Span};
pub use edit::{Change, Edit};
pub use history::Session;
pub use id::{AnyId, Id, IdSource, RecordKind};
pub use project::{Project, ProjectParts};
pub use record::chill::{BoxEnd, BoxFate, Check, ChillBatch, ChillBox, Moisture, Sterilisation};
pub use record::cross::{Advised, Cross, CrossEvent, CrossEventKind, Pollen, PollenShare};
pub use record::disease_test::{DiseaseTest, Infection};
pub use record::genotype::{
    End, EndKind, Genotype, Origin, Ploidy, Selection, Sex, SexBasis, SexRecord,
};
pub use record::germination::{Count, Germination, GerminationEnd, RestFate};
pub use record::journal::{Note, Photo, Task};
pub use record::observation::{Direction, Observation, Stage, Trait};
pub use record::permission::{BreedingUse, Permission};
pub use record::protocol::{Protocol, Regimen};
pub use record::sample::{PlantPart, Sample};
pub use record::scale::{Basis, Level, Rule, Scale, Value};
pub use record::scoring_sheet::{ScoringSheet, SheetColumn, SheetPaper};
pub use record::seed_lot::{LotSource, Movement, MovementKind, SeedAmount, SeedLot};
pub use record::seed_test::{GerminationTest, SeedWeighing};
pub use record::settings::{CrossTiming, Hemisphere, Settings};
pub use record::temperature_log::{LogPlace, TemperatureLog};
pub use refusal::Refusal;
pub use table::Table;
pub use units::{Celsius, Grams};
pub use uuid::Uuid;
