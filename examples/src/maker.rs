//! The hand that makes the sample: every change goes through the project's one door.

use crate::chance::Chance;
use crate::merit::Merit;
use chrono::{Datelike as _, Days, NaiveDate, NaiveTime};
use domain::{Edit, Genotype, Id, IdSource, Project, Refusal};
use std::collections::BTreeMap;

pub(crate) type Made<T = ()> = Result<T, Refusal>;

/// A project in the making.
///
/// Its story is written for a whole year and told up to yesterday: what is dated later is left out, so that the
/// program stands on any day where a real one would. Days are offsets from 15 March of the year it is made for,
/// when most of the seed is in the cold and the first of it in warmth.
#[derive(Debug)]
pub(crate) struct Maker {
    pub(crate) project: Project,
    pub(crate) ids: IdSource,
    pub(crate) chance: Chance,
    /// What each plant is truly like, which a breeder never sees: scores are drawn around it.
    pub(crate) merits: BTreeMap<Id<Genotype>, Merit>,
    /// 15 March of the year.
    middle: NaiveDate,
    /// Today, as an offset.
    today: i64,
    /// How many days behind the hand is that writes what is told now.
    behind: i64,
    /// Whether what is told now has happened and was written up.
    happened: bool,
}

impl Maker {
    pub(crate) fn new(today: NaiveDate) -> Self {
        let middle = NaiveDate::from_ymd_opt(today.year(), 3, 15).unwrap_or(today);
        Self {
            project: Project::default(),
            ids: IdSource::new(0, 0x000B_1EE7),
            chance: Chance(0x00B1_4E51),
            merits: BTreeMap::new(),
            middle,
            today: today.signed_duration_since(middle).num_days(),
            behind: 0,
            happened: true,
        }
    }

    /// Today, as an offset from 15 March.
    pub(crate) const fn today(&self) -> i64 {
        self.today
    }

    /// Tells what a hand records that has not written up the last days.
    pub(crate) fn behind(&mut self, days: i64, tell: impl FnOnce(&mut Self) -> Made) -> Made {
        self.behind = days;
        let told = tell(self);
        self.behind = 0;
        told
    }

    /// The day so many days from 15 March.
    pub(crate) fn day(&self, offset: i64) -> NaiveDate {
        let days = Days::new(offset.unsigned_abs());
        let day = if offset < 0 {
            self.middle.checked_sub_days(days)
        } else {
            self.middle.checked_add_days(days)
        };
        day.unwrap_or(self.middle)
    }

    /// From here on, records are made on that day, unless it is still to come: their identities carry its time.
    pub(crate) fn turn_to(&mut self, offset: i64) -> NaiveDate {
        self.happened = offset < self.today - self.behind;
        let day = self.day(offset);
        let morning = day.and_time(NaiveTime::MIN).and_utc().timestamp_millis();
        self.ids.advance_to(u64::try_from(morning).unwrap_or(0));
        day
    }

    /// Makes the edit, if its day has come.
    pub(crate) fn apply(&mut self, edit: Edit) -> Made {
        if !self.happened {
            return Ok(());
        }
        self.project.apply(edit).map(drop)
    }

    /// Makes these edits as one step.
    pub(crate) fn apply_all(&mut self, label: &str, edits: Vec<Edit>) -> Made {
        self.apply(Edit::all(label, edits))
    }
}
