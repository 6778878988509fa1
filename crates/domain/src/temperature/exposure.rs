//! What temperatures add up to: hours in the target range, below it, at or under freezing, above it, and not known.
//!
//! Between two readings the temperature is taken to go straight from the one to the other, so that time is weighted
//! as it passed and not by the number of readings. Across a gap nothing is assumed: its hours are not known.

use crate::record::protocol::Regimen;
use crate::record::readings::{Reading, Readings, moment};
use chrono::NaiveDateTime;

/// The bounds that tell a temperature's zone, in °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Seed must never be this cold or colder.
    pub freezing: f64,
    /// The lower end of the band.
    pub from: f64,
    /// The upper end of the band.
    pub to: f64,
}

impl From<&Regimen> for Band {
    fn from(regimen: &Regimen) -> Self {
        Self {
            freezing: regimen.freezing.0,
            from: regimen.cold_from.0,
            to: regimen.cold_to.0,
        }
    }
}

/// Where a temperature lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Zone {
    /// At or under freezing.
    Freezing,
    /// Under the band, but not freezing.
    Below,
    /// In the band, its ends with it.
    InBand,
    /// Over the band.
    Above,
}

impl Zone {
    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Freezing => "at or under freezing",
            Self::Below => "below the target range",
            Self::InBand => "in the target range",
            Self::Above => "above the target range",
        }
    }
}

impl Band {
    /// The zone of a temperature.
    pub fn zone(self, celsius: f64) -> Zone {
        if celsius <= self.freezing {
            Zone::Freezing
        } else if celsius < self.from {
            Zone::Below
        } else if celsius <= self.to {
            Zone::InBand
        } else {
            Zone::Above
        }
    }
}

/// A time outside the band without a break.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spell {
    /// Freezing, below or above.
    pub zone: Zone,
    /// Its beginning, in seconds on the local clock.
    pub from: f64,
    /// Its end.
    pub to: f64,
    /// The temperature furthest out, in °C.
    pub extreme: f64,
}

impl Spell {
    /// Its length.
    pub fn hours(&self) -> f64 {
        (self.to - self.from) / 3600.0
    }

    /// When it began.
    pub fn began(&self) -> NaiveDateTime {
        moment(self.from.round() as i64)
    }

    /// When it ended.
    pub fn ended(&self) -> NaiveDateTime {
        moment(self.to.round() as i64)
    }
}

/// What the temperatures of a period add up to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Exposure {
    /// Hours in the target range.
    pub in_band: f64,
    /// Hours below it, but not freezing.
    pub below: f64,
    /// Hours at or under freezing.
    pub freezing: f64,
    /// Hours above it.
    pub above: f64,
    /// Hours of the period for which there is no temperature.
    pub unknown: f64,
    /// The mean over the known hours, each moment weighing the same.
    pub mean: Option<f64>,
    /// The lowest and the highest temperature, in °C.
    pub extremes: Option<(f64, f64)>,
    /// Times outside the band, in the order of time.
    pub spells: Vec<Spell>,
    /// Gaps of the period, in seconds on the local clock.
    pub gaps: Vec<(f64, f64)>,
    /// How many readings fall into the period.
    pub readings: usize,
}

impl Exposure {
    /// Hours for which there is a temperature.
    pub fn known(&self) -> f64 {
        self.in_band + self.below + self.freezing + self.above
    }

    /// The part of the known hours that lay in the target range.
    pub fn share_in_band(&self) -> Option<f64> {
        let known = self.known();
        (known > 0.0).then(|| self.in_band / known)
    }

    /// The longest time above the target range without a break.
    pub fn longest_warm(&self) -> Option<&Spell> {
        self.longest(Zone::Above)
    }

    /// The longest time in a zone without a break.
    pub fn longest(&self, zone: Zone) -> Option<&Spell> {
        self.spells
            .iter()
            .filter(|spell| spell.zone == zone)
            .max_by(|one, other| one.hours().total_cmp(&other.hours()))
    }

    /// What the readings of one log add up to, from the first to the last.
    pub fn of_readings(readings: &Readings, band: Band) -> Self {
        let (Some(first), Some(last)) = (readings.first(), readings.last()) else {
            return Self::default();
        };
        let limit = readings.gap_limit();
        let pieces = readings
            .as_slice()
            .windows(2)
            .filter(|pair| pair[1].at - pair[0].at <= limit)
            .map(|pair| Segment::between(pair[0], pair[1]));
        let mut exposure = Self::of(pieces, band, first.at as f64, last.at as f64);
        exposure.readings = readings.len();
        exposure
    }

    /// What the pieces of time between `from` and `to` (seconds on the local clock) add up to. The pieces are in the
    /// order of time and don't overlap; what lies outside the period is left out.
    pub(super) fn of(
        pieces: impl IntoIterator<Item = Segment>,
        band: Band,
        from: f64,
        to: f64,
    ) -> Self {
        let mut sum = Summing {
            exposure: Self::default(),
            band,
            weighted: 0.0,
        };
        let mut known_to = from;
        for piece in pieces
            .into_iter()
            .filter_map(|piece| piece.within(from, to))
        {
            if piece.from > known_to {
                sum.exposure.gaps.push((known_to, piece.from));
            }
            known_to = known_to.max(piece.to);
            sum.add(&piece);
        }
        if to > known_to {
            sum.exposure.gaps.push((known_to, to));
        }
        let mut exposure = sum.exposure;
        let known = exposure.known();
        exposure.unknown = ((to - from) / 3600.0 - known).max(0.0);
        exposure.mean = (known > 0.0).then(|| sum.weighted / known);
        exposure
    }
}

/// A piece of time between two readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Segment {
    pub(super) from: f64,
    pub(super) to: f64,
    /// The temperature at its beginning and at its end, in °C.
    pub(super) at_from: f64,
    pub(super) at_to: f64,
}

impl Segment {
    pub(super) fn between(one: Reading, other: Reading) -> Self {
        Self {
            from: one.at as f64,
            to: other.at as f64,
            at_from: one.celsius().0,
            at_to: other.celsius().0,
        }
    }

    fn at(&self, time: f64) -> f64 {
        let part = (time - self.from) / (self.to - self.from);
        self.at_from + part * (self.at_to - self.at_from)
    }

    /// The part of it that lies in a period, if any.
    pub(super) fn within(&self, from: f64, to: f64) -> Option<Self> {
        if from <= self.from && self.to <= to {
            return (self.from < self.to).then_some(*self);
        }
        let (begin, end) = (self.from.max(from), self.to.min(to));
        (begin < end).then(|| Self {
            from: begin,
            to: end,
            at_from: self.at(begin),
            at_to: self.at(end),
        })
    }
}

struct Summing {
    exposure: Exposure,
    band: Band,
    /// Degrees times hours.
    weighted: f64,
}

impl Summing {
    fn add(&mut self, piece: &Segment) {
        let (low, high) = (
            piece.at_from.min(piece.at_to),
            piece.at_from.max(piece.at_to),
        );
        let (lowest, highest) = self.exposure.extremes.unwrap_or((low, high));
        self.exposure.extremes = Some((lowest.min(low), highest.max(high)));
        let zones = (self.band.zone(low), self.band.zone(high));
        if zones.0 == zones.1 {
            self.part(piece, zones.0);
            return;
        }
        // The line crosses from one zone into another: cut it where it does.
        let mut cuts = [piece.to; 5];
        let mut count = 0;
        for bound in [self.band.freezing, self.band.from, self.band.to] {
            if low < bound && bound < high {
                let part = (bound - piece.at_from) / (piece.at_to - piece.at_from);
                cuts[count] = piece.from + part * (piece.to - piece.from);
                count += 1;
            }
        }
        cuts[..count].sort_by(f64::total_cmp);
        let mut begin = piece.from;
        for end in cuts[..=count].iter().copied() {
            if let Some(part) = piece.within(begin, end) {
                let zone = self.band.zone(f64::midpoint(part.at_from, part.at_to));
                self.part(&part, zone);
            }
            begin = end;
        }
    }

    fn part(&mut self, part: &Segment, zone: Zone) {
        let hours = (part.to - part.from) / 3600.0;
        self.weighted += hours * f64::midpoint(part.at_from, part.at_to);
        let exposure = &mut self.exposure;
        let sum = match zone {
            Zone::Freezing => &mut exposure.freezing,
            Zone::Below => &mut exposure.below,
            Zone::InBand => &mut exposure.in_band,
            Zone::Above => &mut exposure.above,
        };
        *sum += hours;
        if zone == Zone::InBand {
            return;
        }
        let further = |one: f64, other: f64| match zone {
            Zone::Above => one.max(other),
            _ => one.min(other),
        };
        let out = further(part.at_from, part.at_to);
        match exposure.spells.last_mut() {
            Some(spell) if spell.zone == zone && spell.to >= part.from - 1e-6 => {
                spell.to = part.to;
                spell.extreme = further(spell.extreme, out);
            }
            _ => exposure.spells.push(Spell {
                zone,
                from: part.from,
                to: part.to,
                extreme: out,
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BAND: Band = Band {
        freezing: 0.0,
        from: 1.0,
        to: 4.0,
    };

    fn pieces(points: &[(f64, f64)]) -> Vec<Segment> {
        let piece = |pair: &[(f64, f64)]| Segment {
            from: pair[0].0 * 3600.0,
            to: pair[1].0 * 3600.0,
            at_from: pair[0].1,
            at_to: pair[1].1,
        };
        points.windows(2).map(piece).collect()
    }

    #[track_caller]
    fn near(one: f64, other: f64) {
        assert!((one - other).abs() < 1e-9, "{one} is not {other}");
    }

    #[test]
    fn a_line_through_all_zones_is_cut_where_it_crosses() {
        // From -2 to 6 °C in 8 hours, one degree an hour: 2 h freezing, 1 h below, 3 h in the target range, 2 h above. By hand.
        let exposure = Exposure::of(pieces(&[(0.0, -2.0), (8.0, 6.0)]), BAND, 0.0, 10.0 * 3600.0);
        near(exposure.freezing, 2.0);
        near(exposure.below, 1.0);
        near(exposure.in_band, 3.0);
        near(exposure.above, 2.0);
        near(exposure.unknown, 2.0);
        near(exposure.mean.unwrap(), 2.0);
        assert_eq!(exposure.extremes, Some((-2.0, 6.0)));
        let zones: Vec<Zone> = exposure.spells.iter().map(|spell| spell.zone).collect();
        assert_eq!(zones, [Zone::Freezing, Zone::Below, Zone::Above]);
        near(exposure.spells[0].extreme, -2.0);
        near(exposure.longest_warm().unwrap().hours(), 2.0);
    }

    #[test]
    fn the_ends_of_the_band_belong_to_it_and_freezing_to_freezing() {
        for (celsius, zone) in [
            (0.0, Zone::Freezing),
            (0.01, Zone::Below),
            (1.0, Zone::InBand),
            (4.0, Zone::InBand),
            (4.01, Zone::Above),
        ] {
            assert_eq!(BAND.zone(celsius), zone, "{celsius}");
            let still = pieces(&[(0.0, celsius), (1.0, celsius)]);
            let exposure = Exposure::of(still, BAND, 0.0, 3600.0);
            let hours = match zone {
                Zone::Freezing => exposure.freezing,
                Zone::Below => exposure.below,
                Zone::InBand => exposure.in_band,
                Zone::Above => exposure.above,
            };
            near(hours, 1.0);
        }
    }

    #[test]
    fn a_gap_is_not_known_and_parts_a_spell() {
        let mut warm = pieces(&[(0.0, 8.0), (1.0, 8.0)]);
        warm.extend(pieces(&[(5.0, 9.0), (7.0, 9.0)]));
        let exposure = Exposure::of(warm, BAND, 0.0, 8.0 * 3600.0);
        near(exposure.above, 3.0);
        near(exposure.unknown, 5.0);
        assert_eq!(exposure.spells.len(), 2);
        near(exposure.longest_warm().unwrap().hours(), 2.0);
        let hours: Vec<f64> = exposure
            .gaps
            .iter()
            .map(|(from, to)| (to - from) / 3600.0)
            .collect();
        assert_eq!(hours, [4.0, 1.0]);
        near(exposure.mean.unwrap(), (8.0 + 2.0 * 9.0) / 3.0);
    }

    #[test]
    fn only_the_period_counts() {
        let line = pieces(&[(0.0, 2.0), (10.0, 2.0)]);
        let exposure = Exposure::of(line, BAND, 3.0 * 3600.0, 5.0 * 3600.0);
        near(exposure.in_band, 2.0);
        near(exposure.unknown, 0.0);
        assert!(exposure.gaps.is_empty());
    }
}
