//! Temperatures over time: how they are kept, what they add up to, and what they mean for seed in the cold.

mod advice;
mod batch;
mod exposure;
mod harm;

pub use crate::record::readings::{Reading, Readings};
pub use advice::{Advice, advice, hours};
pub use batch::{
    BatchCold, ReadyEstimate, cold_until, cold_week, manual_readings, readings_of, stands_in,
};
pub use exposure::{Band, Exposure, Spell, Zone};
pub use harm::Harm;
