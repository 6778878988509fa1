//! What temperatures outside the band mean for damp seed, said with care.
//!
//! Nothing published on hop seed was found for any of it: each sentence is common practice, or general knowledge of
//! seed from memory, and says so.

use super::batch::BatchCold;
use super::exposure::Zone;
use crate::words::plural;

/// What a spell outside the band may mean, and what can be done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Advice {
    /// In which zone.
    pub zone: Zone,
    /// What happened, in numbers; temperatures stand in it as `{t}` in the order of `temperatures`.
    pub what: String,
    /// The temperatures named, in hundredths of °C.
    pub temperatures: Vec<i32>,
    /// What it may mean.
    pub meaning: &'static str,
    /// What to do.
    pub remedy: &'static str,
    /// Where this is from.
    pub source: &'static str,
}

impl Advice {
    /// What happened, temperatures written as `show` writes them.
    pub fn what_with(&self, show: impl Fn(f64) -> String) -> String {
        let mut words = self.what.clone();
        for hundredths in &self.temperatures {
            words = words.replacen("{t}", &show(f64::from(*hundredths) / 100.0), 1);
        }
        words
    }
}

const PRACTICE: &str = "Common practice and general knowledge of seed, from memory; nothing published on hop seed was found.";

/// Warmth of at least this many hours without a break is told: shorter is the door. Our own rule.
const WARM_HOURS: f64 = 6.0;
/// Cold below the target range of at least this many hours in all is told. Our own rule.
const BELOW_HOURS: f64 = 24.0;

/// What the temperatures of a batch mean, the gravest first; nothing while they were as they should be.
pub fn advice(cold: &BatchCold) -> Vec<Advice> {
    let exposure = &cold.exposure;
    let hundredths = |celsius: f64| (celsius * 100.0).round() as i32;
    let mut told = Vec::new();
    let freezes: Vec<_> = exposure
        .spells
        .iter()
        .filter(|spell| spell.zone == Zone::Freezing)
        .collect();
    if let Some(worst) = freezes
        .iter()
        .min_by(|one, other| one.extreme.total_cmp(&other.extreme))
    {
        let times = freezes.len() as u32;
        told.push(Advice {
            zone: Zone::Freezing,
            what: format!(
                "{} at or under {{t}}, in {times} {}; the lowest was {{t}} on {}.",
                hours(exposure.freezing),
                plural(times, "spell", "spells"),
                worst.began().format("%-d %b %Y")
            ),
            temperatures: vec![hundredths(cold.band.freezing), hundredths(worst.extreme)],
            meaning: "Dry seed bears frost; moist seed can be killed by ice forming inside it. How many seeds died \
                can't be seen from outside: seed on a damp towel may cool a degree or two under freezing before ice \
                forms.",
            remedy: "Let it thaw slowly in the cold, don't throw it out, and count its germination apart from other boxes. Find out why: the thermostat, or boxes against the cold plate.",
            source: PRACTICE,
        });
    }
    if let Some(warm) = exposure
        .longest_warm()
        .filter(|spell| spell.hours() >= WARM_HOURS)
    {
        told.push(Advice {
            zone: Zone::Above,
            what: format!(
                "{} above the target range in total, at the longest {} without a break from {}, up to {{t}}.",
                hours(exposure.above),
                hours(warm.hours()),
                warm.began().format("%-d %b %Y %H:%M")
            ),
            temperatures: vec![hundredths(warm.extreme)],
            meaning: "Hours above the target range are not counted as cold. In seed of many kinds a long warm interruption can undo part of the cold already received; seed whose cold is nearly over may begin to sprout, and mould grows faster.",
            remedy: "Check the boxes for mould and early sprouts now, and add the lost days at the end. After days \
                of warmth, treat the chill as starting again.",
            source: PRACTICE,
        });
    }
    if exposure.below >= BELOW_HOURS {
        let lowest = exposure
            .longest(Zone::Below)
            .map_or(cold.band.from, |spell| spell.extreme);
        told.push(Advice {
            zone: Zone::Below,
            what: format!(
                "{} below the target range but above freezing, down to {{t}}.",
                hours(exposure.below)
            ),
            temperatures: vec![hundredths(lowest)],
            meaning: "It does no harm that is known of, but it is near freezing, and whether it counts as cold isn't known: it is left out here.",
            remedy: "Set the refrigerator a degree higher.",
            source: PRACTICE,
        });
    }
    told
}

/// Hours in words: hours up to two days, then days and hours.
pub fn hours(hours: f64) -> String {
    if hours < 1.0 {
        return format!("{:.0} min", (hours * 60.0).max(1.0));
    }
    if hours < 48.0 {
        return format!("{hours:.1} h");
    }
    let whole = hours.round() as u64;
    match (whole / 24, whole % 24) {
        (days, 0) => format!("{days} days"),
        (days, hours) => format!("{days} days {hours} h"),
    }
}
