//! Readings kept compactly: a million of them are a few megabytes of text that can still be read by eye.

use crate::units::Celsius;
use chrono::{DateTime, NaiveDateTime};
use serde::ser::SerializeSeq as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt::Write as _;
use std::sync::Arc;

/// One temperature at one moment of the local clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reading {
    /// Seconds on the local clock since 1970-01-01 00:00:00.
    pub at: i64,
    /// Hundredths of a degree Celsius.
    pub hundredths: i16,
}

impl Reading {
    /// A reading, rounded to a hundredth of a degree; temperatures out of all bounds stay out of all bounds.
    pub fn new(moment: NaiveDateTime, temperature: Celsius) -> Self {
        Self {
            at: moment.and_utc().timestamp(),
            hundredths: (temperature.0 * 100.0).round() as i16,
        }
    }

    /// Its moment on the local clock.
    pub fn moment(self) -> NaiveDateTime {
        moment(self.at)
    }

    /// Its temperature.
    pub fn celsius(self) -> Celsius {
        Celsius(f64::from(self.hundredths) / 100.0)
    }
}

/// The moment so many seconds after 1970-01-01 00:00:00, kept inside the calendar.
pub(crate) fn moment(seconds: i64) -> NaiveDateTime {
    let kept = seconds.clamp(
        DateTime::<chrono::Utc>::MIN_UTC.timestamp(),
        DateTime::<chrono::Utc>::MAX_UTC.timestamp(),
    );
    DateTime::from_timestamp(kept, 0)
        .unwrap_or_default()
        .naive_utc()
}

/// Readings in the order of time, at most one at a moment. A clone shares them.
///
/// In a file they are lines of text. Each begins with a moment and a step in seconds; its temperatures in °C follow,
/// one a step. `3.5x12` are twelve of one temperature, and `+1200` before a temperature says that it came so many
/// seconds after the one before it, instead of a step.
///
/// ```
/// use domain::temperature::Readings;
/// let text = r#"["2026-01-05 08:00:00 every 600 s: 3.5 3.52x3 +1200 -0.1"]"#;
/// let readings: Readings = serde_json::from_str(text)?;
/// assert_eq!(readings.len(), 5);
/// assert_eq!(readings.last().unwrap().moment().to_string(), "2026-01-05 08:50:00");
/// assert_eq!(serde_json::to_string(&readings)?, text);
/// # Ok::<(), serde_json::Error>(())
/// ```
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Readings(Arc<Vec<Reading>>);

#[cfg(feature = "schema")]
impl schemars::JsonSchema for Readings {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Readings".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "type": "array", "items": { "type": "string" } })
    }
}

impl Readings {
    /// These readings, brought into the order of time. Of several at one moment the first stays.
    pub fn new(mut readings: Vec<Reading>) -> Self {
        readings.sort_by_key(|reading| reading.at);
        readings.dedup_by_key(|reading| reading.at);
        Self(Arc::new(readings))
    }

    /// The same and one more; a reading of the same moment gives way to it.
    #[must_use]
    pub fn with(&self, reading: Reading) -> Self {
        let mut all = vec![reading];
        all.extend(self.iter());
        Self::new(all)
    }

    /// All of them.
    pub fn as_slice(&self) -> &[Reading] {
        &self.0
    }

    /// All of them, in the order of time.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = Reading> + ExactSizeIterator + '_ {
        self.0.iter().copied()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The first.
    pub fn first(&self) -> Option<Reading> {
        self.0.first().copied()
    }

    /// The last.
    pub fn last(&self) -> Option<Reading> {
        self.0.last().copied()
    }

    /// The usual time between two, in seconds: their median.
    pub fn usual_step(&self) -> Option<i64> {
        // A few thousand steps, taken from all over, tell as much as all of them.
        let every = (self.0.len() / 4096).max(1);
        let mut steps: Vec<i64> = self
            .0
            .windows(2)
            .step_by(every)
            .map(|pair| pair[1].at - pair[0].at)
            .collect();
        let middle = steps.len() / 2;
        (!steps.is_empty()).then(|| *steps.select_nth_unstable(middle).1)
    }

    /// The longest time between two readings, in seconds, over which the temperature is taken to go straight: two and
    /// a half usual steps, at most six hours. Our own rule: over a longer one nothing is assumed.
    pub fn gap_limit(&self) -> i64 {
        self.usual_step()
            .map_or(0, |step| (step * 5 / 2).min(LONGEST_STEP))
    }
}

/// No reading stands for longer than this to its neighbour, in seconds.
const LONGEST_STEP: i64 = 6 * 3600;

/// The most temperatures in a line, so that a change of a file shows where it is.
const LINE: usize = 400;
/// A longer silence than this begins a new line.
const SILENCE: i64 = 86_400;

impl Serialize for Readings {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut lines = serializer.serialize_seq(None)?;
        let mut rest = self.as_slice();
        while !rest.is_empty() {
            let (line, taken) = write_line(rest);
            lines.serialize_element(&line)?;
            rest = &rest[taken..];
        }
        lines.end()
    }
}

fn write_line(readings: &[Reading]) -> (String, usize) {
    let first = readings[0];
    let step = readings.get(1).map_or(0, |second| second.at - first.at);
    let step = if step > SILENCE { 0 } else { step };
    let mut line = format!("{} every {step} s:", first.moment());
    let (mut taken, mut words) = (0, 0);
    while taken < readings.len() && words < LINE {
        let reading = readings[taken];
        if taken > 0 {
            let since = reading.at - readings[taken - 1].at;
            if since > SILENCE {
                break;
            }
            if since != step {
                let _never = write!(line, " +{since}");
            }
        }
        let same = readings[taken..]
            .windows(2)
            .take_while(|pair| {
                pair[1].hundredths == reading.hundredths && pair[1].at - pair[0].at == step
            })
            .count();
        line.push(' ');
        write_degrees(&mut line, reading.hundredths);
        if same > 0 {
            let _never = write!(line, "x{}", same + 1);
        }
        taken += same + 1;
        words += 1;
    }
    (line, taken)
}

fn write_degrees(line: &mut String, hundredths: i16) {
    let size = hundredths.unsigned_abs();
    if hundredths < 0 {
        line.push('-');
    }
    let (whole, part) = (size / 100, size % 100);
    let _never = match part {
        0 => write!(line, "{whole}"),
        _ if part % 10 == 0 => write!(line, "{whole}.{}", part / 10),
        _ => write!(line, "{whole}.{part:02}"),
    };
}

impl<'de> Deserialize<'de> for Readings {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let mut readings = Vec::new();
        for line in Vec::<String>::deserialize(deserializer)? {
            read_line(&line, &mut readings).ok_or_else(|| {
                let begin: String = line.chars().take(60).collect();
                serde::de::Error::custom(format!("'{begin}' is no line of temperatures"))
            })?;
        }
        Ok(Self::new(readings))
    }
}

/// The longest row of one temperature a line may tell, so that a damaged file can't ask for all memory.
const REPEATED: usize = 10_000_000;

fn read_line(line: &str, readings: &mut Vec<Reading>) -> Option<()> {
    let (head, words) = line.split_once(':').and_then(|_| line.split_once(" s:"))?;
    let (begin, step) = head.split_once(" every ")?;
    let step: i64 = step.parse().ok().filter(|step| *step >= 0)?;
    let begin = NaiveDateTime::parse_from_str(begin, "%Y-%m-%d %H:%M:%S").ok()?;
    let mut next = begin.and_utc().timestamp();
    let mut last = None;
    for word in words.split_ascii_whitespace() {
        if let Some(since) = word.strip_prefix('+') {
            let since: i64 = since.parse().ok().filter(|since| *since >= 0)?;
            next = i64::checked_add(last?, since)?;
            continue;
        }
        let (degrees, times) = match word.split_once('x') {
            Some((degrees, times)) => (degrees, times.parse::<usize>().ok()?),
            None => (word, 1),
        };
        let hundredths = read_degrees(degrees)?;
        if times == 0 || times.checked_add(readings.len())? > REPEATED {
            return None;
        }
        for _ in 0..times {
            readings.push(Reading {
                at: next,
                hundredths,
            });
            last = Some(next);
            next = next.checked_add(step)?;
        }
    }
    Some(())
}

fn read_degrees(text: &str) -> Option<i16> {
    let (negative, size) = match text.strip_prefix('-') {
        Some(size) => (true, size),
        None => (false, text),
    };
    let (whole, part) = size.split_once('.').unwrap_or((size, "0"));
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(whole) || !digits(part) || part.len() > 2 {
        return None;
    }
    let scale = if part.len() == 1 { 10 } else { 1 };
    let size = whole
        .parse::<i16>()
        .ok()?
        .checked_mul(100)?
        .checked_add(part.parse::<i16>().ok()? * scale)?;
    Some(if negative { -size } else { size })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn lines(readings: &Readings) -> Vec<String> {
        serde_json::from_value(serde_json::to_value(readings).unwrap()).unwrap()
    }

    #[test]
    fn a_winter_of_quarter_hours_is_short_and_legible() {
        let begin: NaiveDateTime = "2025-11-01T00:00:00".parse().unwrap();
        let begin = begin.and_utc().timestamp();
        let readings = (0..10_000_i64).map(|nth| Reading {
            at: begin + nth * 900,
            hundredths: (300 + (nth / 3) % 7 * 10) as i16,
        });
        let readings = Readings::new(readings.collect());
        let text = serde_json::to_string(&readings).unwrap();
        assert!(
            text.starts_with(r#"["2025-11-01 00:00:00 every 900 s: 3x3 3.1x3 3.2x3"#),
            "{}",
            &text[..80]
        );
        assert!(text.len() < 25_000, "{}", text.len());
        assert_eq!(readings.usual_step(), Some(900));
    }

    #[test]
    fn a_silence_begins_a_line_and_a_late_reading_is_told() {
        let at = |at, hundredths| Reading { at, hundredths };
        let readings = Readings::new(vec![
            at(0, 305),
            at(600, 305),
            at(1250, -10),
            at(1850, -200),
            at(200_000, 400),
        ]);
        assert_eq!(
            lines(&readings),
            [
                "1970-01-01 00:00:00 every 600 s: 3.05x2 +650 -0.1 -2",
                "1970-01-03 07:33:20 every 0 s: 4"
            ]
        );
    }

    #[test]
    fn what_is_no_line_is_refused() {
        for wrong in [
            "",
            "2026-01-01 00:00:00 every x s: 3",
            "2026-01-01 00:00:00 every 600 s: 3x0",
            "2026-01-01 00:00:00 every 600 s: 3x99999999999",
            "2026-01-01 00:00:00 every 600 s: +600 3",
            "2026-01-01 00:00:00 every 600 s: 3.123",
            "2026-01-01 00:00:00 every 600 s: 999",
            "2026-13-01 00:00:00 every 600 s: 3",
            "2026-01-01 00:00:00 every -600 s: 3",
        ] {
            let read = serde_json::from_value::<Readings>(serde_json::json!([wrong]));
            assert!(read.is_err(), "{wrong}");
        }
    }

    proptest! {
        #[test]
        fn what_is_written_reads_back_the_same(
            steps in proptest::collection::vec((prop_oneof![Just(600_i64), 1..200_000_i64], -8000..8000_i16), 0..700)
        ) {
            let mut at = 1_700_000_000;
            let readings: Vec<_> = steps.iter().map(|(step, hundredths)| {
                at += step;
                Reading { at, hundredths: hundredths / 50 * 50 }
            }).collect();
            let readings = Readings::new(readings);
            let text = serde_json::to_string(&readings).unwrap();
            prop_assert_eq!(serde_json::from_str::<Readings>(&text).unwrap(), readings);
        }
    }
}
