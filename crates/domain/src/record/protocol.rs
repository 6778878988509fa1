//! How seed is chilled and brought up: bands, lengths and cadences.

use crate::date::Span;
use crate::id::AnyId;
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::refusal::Refusal;
use crate::units::Celsius;
use serde::{Deserialize, Serialize};

record! {
    /// A regimen with a name and a source.
    Protocol, ProtocolField {
        required {
            /// Its name.
            Name name: String,
            /// Its figures.
            Regimen regimen: Regimen,
        }
        optional {
            /// Who published it, or 'common practice'.
            Source source: String,
        }
    }
}

/// The figures of a protocol. A batch carries its own copy, so that changing the protocol later doesn't
/// rewrite what was meant for seed already in the cold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Regimen {
    /// The lower end of the cold band.
    pub cold_from: Celsius,
    /// The upper end of the cold band.
    pub cold_to: Celsius,
    /// Seed must never be this cold or colder.
    pub freezing: Celsius,
    /// How long seed stays in the cold.
    pub chill: Span,
    /// For how many days from the start a box is looked into every day.
    pub daily_checks: u32,
    /// Afterwards at least once in so many days.
    pub check_every: u32,
    /// Look again this many days after mould was found or a box was dry.
    pub recheck_after: u32,
    /// The fewest seeds worth a box.
    pub box_from: u32,
    /// The most seeds a box takes without two touching.
    pub box_to: u32,
    /// The warm temperature.
    pub warm: Celsius,
    /// Hours of light a day in warmth.
    pub light_hours: f64,
    /// First seedlings come up this many days after the move, at the earliest.
    pub sprouts_from: u32,
    /// First seedlings come up this many days after the move, at the latest.
    pub sprouts_to: u32,
    /// Sprouts are counted every so many days in warmth.
    pub count_every: u32,
    /// After so many days in warmth the rest is decided on.
    pub give_up_after: u32,
}

impl Regimen {
    /// Whether the figures make sense together; if not, what is wrong and what to do.
    pub fn check(&self) -> Result<(), (String, &'static str)> {
        let temperatures = [self.cold_from, self.cold_to, self.freezing, self.warm];
        if temperatures
            .iter()
            .any(|each| !(each.0.is_finite() && (-30.0..=60.0).contains(&each.0)))
        {
            return Err((
                "a temperature is out of all bounds.".into(),
                "Give temperatures between -30 and 60 °C.",
            ));
        }
        if self.cold_from >= self.cold_to {
            return Err((
                format!(
                    "the cold band can't run from {} to {}.",
                    self.cold_from, self.cold_to
                ),
                "Give the lower temperature first.",
            ));
        }
        if self.freezing > self.cold_from {
            return Err((
                format!(
                    "the target range begins at {}, where seed must not be.",
                    self.cold_from
                ),
                "Raise the target range, or lower the limit of freezing.",
            ));
        }
        if self.warm <= self.cold_to {
            return Err((
                format!("{} isn't warmer than the cold band.", self.warm),
                "Give the temperature at which the seed germinates.",
            ));
        }
        if self.chill.is_zero()
            || self.check_every == 0
            || self.recheck_after == 0
            || self.count_every == 0
            || self.give_up_after == 0
        {
            return Err(("a length of time is zero.".into(), "Give at least 1."));
        }
        if self.box_to == 0 || self.box_from > self.box_to {
            return Err((
                format!(
                    "a box can't hold {} to {} seeds.",
                    self.box_from, self.box_to
                ),
                "Give the smaller number first.",
            ));
        }
        if self.sprouts_from > self.sprouts_to || self.sprouts_to > self.give_up_after {
            return Err((
                "the days of sprouting are out of order.".into(),
                "First seedlings come before the rest is given up.",
            ));
        }
        if !(self.light_hours.is_finite() && (0.0..=24.0).contains(&self.light_hours)) {
            return Err((
                format!("a day can't have {} hours of light.", self.light_hours),
                "Give 0 to 24 hours.",
            ));
        }
        Ok(())
    }
}

impl Record for Protocol {
    fn name(&self, _project: &Project) -> Option<String> {
        Some(self.name.clone())
    }

    fn summary(&self, _project: &Project) -> String {
        format!("protocol {}", self.name)
    }

    fn each_reference(&self, _visit: &mut dyn FnMut(AnyId)) {}

    fn check(&self, _project: &Project) -> Result<(), Refusal> {
        if self.name.trim().is_empty() {
            return Err(Refusal::about(
                self.id,
                "A protocol needs a name.",
                "Type one.",
            ));
        }
        self.regimen.check().map_err(|(what, remedy)| {
            Refusal::about(self.id, format!("{}: {what}", self.name), remedy)
        })
    }
}
