//! Harm that came to the seed of a batch by its temperatures, told until somebody has dealt with it.

use super::advice::{Advice, advice};
use super::batch::BatchCold;
use super::exposure::Zone;
use crate::date::InWords as _;
use crate::record::journal::Note;
use crate::words::plural;
use crate::{AnyId, ChillBatch, ChillBox, Edit, Id, IdSource, Project};
use chrono::NaiveDate;

/// Warmth of at least this many hours without a break sets the chill back: days, not an open door. Our own rule.
const RUINOUS_WARMTH: f64 = 48.0;

/// A freeze, or days of warmth, that seed still in boxes went through.
#[derive(Debug, Clone, PartialEq)]
pub struct Harm {
    /// The batch.
    pub batch: Id<ChillBatch>,
    /// Its boxes with seed that may still come up.
    pub boxes: Vec<Id<ChillBox>>,
    /// The last day of it.
    pub on: NaiveDate,
    /// What happened, what it may mean, what to do.
    pub advice: Advice,
    /// A note on the batch, or on one of its boxes, was written on that day or later, or all of them are in warmth.
    pub answered: bool,
}

impl Harm {
    /// What came to a batch whose seed still waits, the gravest alone; nothing where its temperatures did no harm.
    pub fn of(project: &Project, batch: &ChillBatch, cold: &BatchCold) -> Option<Self> {
        let waits = |each: &&ChillBox| {
            let open = project.run_of(each.id).is_none_or(|run| run.end.is_none());
            each.end.is_none() && open
        };
        let boxes: Vec<_> = project
            .boxes_of(batch.id)
            .filter(waits)
            .map(|each| each.id)
            .collect();
        if boxes.is_empty() {
            return None;
        }
        let is_grave = |advice: &Advice| match advice.zone {
            Zone::Freezing => true,
            Zone::Above => cold
                .exposure
                .longest_warm()
                .is_some_and(|spell| spell.hours() >= RUINOUS_WARMTH),
            Zone::Below | Zone::InBand => false,
        };
        let advice = advice(cold).into_iter().find(is_grave)?;
        let spells = cold.exposure.spells.iter();
        let on = spells
            .filter(|spell| spell.zone == advice.zone)
            .map(|spell| spell.ended().date())
            .max()?;
        let told = |about: AnyId| project.notes_on(about).any(|note| note.date >= on);
        let mut abouts = project.boxes_of(batch.id).map(|each| each.id.into());
        // Once every box is in warmth its counts tell what came of it: nothing is left to be done in the cold.
        let in_warmth = boxes.iter().all(|id| project.run_of(*id).is_some());
        let answered = in_warmth || told(batch.id.into()) || abouts.any(told);
        Some(Self {
            batch: batch.id,
            boxes,
            on,
            advice,
            answered,
        })
    }

    /// One word for it.
    pub const fn word(&self) -> &'static str {
        match self.advice.zone {
            Zone::Freezing => "Frozen",
            _ => "Too warm",
        }
    }

    /// The codes of its boxes, no more of them than a line holds.
    pub fn box_codes(&self, project: &Project, of: impl Fn(&ChillBox) -> bool) -> String {
        const SHOWN: usize = 6;
        let codes: Vec<&str> = self
            .boxes
            .iter()
            .filter_map(|id| project.chill_boxes().get(*id))
            .filter(|each| of(each))
            .map(|each| each.code.as_str())
            .collect();
        let count = codes.len();
        let shown = codes[..count.min(SHOWN)].join(", ");
        let more = count.saturating_sub(SHOWN);
        if more > 0 {
            format!("boxes {shown} and {more} more")
        } else {
            format!("{} {shown}", plural(count as u32, "box", "boxes"))
        }
    }

    /// Says on the batch that the boxes were seen to: the alarm is then told quietly.
    pub fn answer(&self, today: NaiveDate, by: &str, ids: &mut IdSource) -> Edit {
        let what = match self.advice.zone {
            Zone::Freezing => "the freeze",
            _ => "the warmth",
        };
        Edit::add(Note {
            id: ids.next(),
            about: self.batch.into(),
            date: today.max(self.on),
            text: format!(
                "Boxes looked at after {what} of {}; their counts are kept apart.",
                self.on.in_words()
            ),
            by: by.to_owned(),
        })
    }
}
