//! The hand that makes the sample: every change goes through the project's one door.

use crate::chance::Chance;
use crate::merit::Merit;
use chrono::{Days, NaiveDate, NaiveTime};
use domain::{Edit, Genotype, Id, IdSource, Project, Refusal};
use std::collections::BTreeMap;

pub(crate) type Made<T = ()> = Result<T, Refusal>;

/// A project in the making. Days are told as an offset from today: -365 is about a year ago.
#[derive(Debug)]
pub(crate) struct Maker {
    pub(crate) project: Project,
    pub(crate) ids: IdSource,
    pub(crate) chance: Chance,
    /// What each plant is truly like, which a breeder never sees: scores are drawn around it.
    pub(crate) merits: BTreeMap<Id<Genotype>, Merit>,
    today: NaiveDate,
}

impl Maker {
    pub(crate) fn new(today: NaiveDate) -> Self {
        Self {
            project: Project::default(),
            ids: IdSource::new(0, 0x000B_1EE7),
            chance: Chance(0x00B1_4E51),
            merits: BTreeMap::new(),
            today,
        }
    }

    /// The day so many days from today.
    pub(crate) fn day(&self, offset: i64) -> NaiveDate {
        let days = Days::new(offset.unsigned_abs());
        let day = if offset < 0 {
            self.today.checked_sub_days(days)
        } else {
            self.today.checked_add_days(days)
        };
        day.unwrap_or(self.today)
    }

    /// From here on, records are made on that day: their identities carry its time.
    pub(crate) fn turn_to(&mut self, offset: i64) -> NaiveDate {
        let day = self.day(offset);
        let morning = day.and_time(NaiveTime::MIN).and_utc().timestamp_millis();
        self.ids.advance_to(u64::try_from(morning).unwrap_or(0));
        day
    }

    /// Makes the edit.
    pub(crate) fn apply(&mut self, edit: Edit) -> Made {
        self.project.apply(edit).map(drop)
    }

    /// Makes these edits as one step.
    pub(crate) fn apply_all(&mut self, label: &str, edits: Vec<Edit>) -> Made {
        self.apply(Edit::all(label, edits))
    }
}
