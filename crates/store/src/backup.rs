//! Earlier states of a project, kept in a folder beside it and thinned with age.
//!
//! A save leaves a copy if the newest one is an hour old: a whole project file named for its moment, such as
//! `season.binewright-backups/2026-03-01T09-30-00Z.binewright`, which can be opened like any other. The last
//! day keeps one an hour, the last month one a day, the last two years one a month, and then one a year stays.

use crate::document;
use crate::error::StoreError;
use crate::files::{FileSystem, beside, folder_of, replace};
use crate::open::Store;
use chrono::{DateTime, Datelike as _, NaiveDateTime, TimeDelta, Timelike as _, Utc};
use domain::Project;
use std::io;
use std::path::{Path, PathBuf};

const NAME: &str = "%Y-%m-%dT%H-%M-%SZ.binewright";

/// The most bytes that the backups of a project take; the newest stays even if it is larger.
pub const MOST_BACKUP_BYTES: u64 = 1 << 30;

/// An earlier state of a project.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Backup {
    /// The file.
    pub path: PathBuf,
    /// When it was saved, to the second.
    pub at: DateTime<Utc>,
    /// Its size in bytes.
    pub size: u64,
}

/// For how long a backup is kept: it stands for its hour, its day, its month or its year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kept {
    /// One of each hour of the last day.
    Hourly,
    /// One of each day of the last month.
    Daily,
    /// One of each month of the last two years.
    Monthly,
    /// One of each year before.
    Yearly,
}

impl Kept {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hourly => "hourly",
            Self::Daily => "daily",
            Self::Monthly => "monthly",
            Self::Yearly => "yearly",
        }
    }

    fn of_age(age: TimeDelta) -> Self {
        if age < TimeDelta::days(1) {
            Self::Hourly
        } else if age < TimeDelta::days(31) {
            Self::Daily
        } else if age < TimeDelta::days(2 * 366) {
            Self::Monthly
        } else {
            Self::Yearly
        }
    }
}

impl Backup {
    /// For how long it is kept, as its age is now.
    pub fn kept(&self, now: DateTime<Utc>) -> Kept {
        Kept::of_age(now - self.at)
    }
}

impl Store {
    /// The backups of a project, newest first.
    pub fn backups(&self, project: &Path) -> Result<Vec<Backup>, StoreError> {
        let project = self
            .files
            .resolve(project)
            .unwrap_or_else(|_| project.into());
        let folder = beside(&project, "-backups");
        list(&*self.files, &folder)
            .map_err(|error| StoreError::from_io(&error, "listing the backups", &folder))
    }

    /// The project as it was then, without what the journal has, and the number of the last change made to it, where
    /// the file tells.
    pub fn read_backup(&self, backup: &Backup) -> Result<(Project, Option<u64>), StoreError> {
        let bytes = self.read(&backup.path)?;
        match document::read(&bytes) {
            Ok(document) => Ok((document.project, document.mark.map(|mark| mark.sequence))),
            Err(why) => Err(StoreError::NotAProject {
                path: backup.path.clone(),
                why,
            }),
        }
    }

    /// Leaves a copy of what was just saved, if it is time, and takes away what age has made superfluous.
    pub(crate) fn back_up(&self, project: &Path, text: &[u8]) -> Result<(), StoreError> {
        let folder = beside(project, "-backups");
        let now = DateTime::<Utc>::from(self.files.now());
        back_up(&*self.files, project, &folder, text, now)
            .map_err(|error| StoreError::from_io(&error, "backing up the project", &folder))
    }
}

fn back_up(
    files: &dyn FileSystem,
    project: &Path,
    folder: &Path,
    text: &[u8],
    now: DateTime<Utc>,
) -> io::Result<()> {
    let mut backups = list(files, folder)?;
    // A copy from the future means that the clock was wrong, then or now.
    let recent = |at| now - at < TimeDelta::hours(1) && at <= now;
    if backups.iter().any(|backup| recent(backup.at)) {
        return Ok(());
    }
    if backups.is_empty() {
        files.make_folder(folder)?;
        files.sync_folder(folder_of(folder))?;
    }
    let path = folder.join(now.format(NAME).to_string());
    replace(files, &path, text, Some(project))?;
    backups.insert(
        0,
        Backup {
            path,
            at: now,
            size: text.len() as u64,
        },
    );
    for backup in superfluous(backups, now, MOST_BACKUP_BYTES) {
        files.remove(&backup.path)?;
    }
    Ok(())
}

/// Newest first; none if there is no folder.
fn list(files: &dyn FileSystem, folder: &Path) -> io::Result<Vec<Backup>> {
    let names = match files.list(folder) {
        Ok(names) => names,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(error),
    };
    let mut backups = Vec::new();
    for name in names {
        let Ok(at) = NaiveDateTime::parse_from_str(&name, NAME) else {
            continue;
        };
        let path = folder.join(name);
        if let Some(facts) = files.facts(&path)? {
            backups.push(Backup {
                path,
                at: at.and_utc(),
                size: facts.length,
            });
        }
    }
    backups.sort_by_key(|backup| std::cmp::Reverse(backup.at));
    Ok(backups)
}

/// The span of time of which one backup is kept, the finer the newer.
fn span(at: DateTime<Utc>, now: DateTime<Utc>) -> (i32, u32, u32, u32) {
    let (year, month, day, hour) = (at.year(), at.month(), at.day(), at.hour());
    match Kept::of_age(now - at) {
        Kept::Hourly => (year, month, day, hour + 1),
        Kept::Daily => (year, month, day, 0),
        Kept::Monthly => (year, month, 0, 0),
        Kept::Yearly => (year, 0, 0, 0),
    }
}

/// Which of these, newest first, age and size have made superfluous. The newest never is.
fn superfluous(backups: Vec<Backup>, now: DateTime<Utc>, most: u64) -> Vec<Backup> {
    let mut backups = backups.into_iter();
    let newest = backups.next();
    let mut kept: Vec<Backup> = Vec::new();
    let mut gone = Vec::new();
    for backup in backups.rev() {
        // Of each span the earliest stays: it is what the coarser span will want later.
        let same = |last: &Backup| span(last.at, now) == span(backup.at, now);
        if kept.last().is_some_and(same) {
            gone.push(backup);
        } else {
            kept.push(backup);
        }
    }
    kept.extend(newest);
    while kept.len() > 1 && kept.iter().map(|each| each.size).sum::<u64>() > most {
        // The one closest to its successor is missed least.
        let closest = (0..kept.len() - 1).min_by_key(|at| kept[at + 1].at - kept[*at].at);
        gone.push(kept.remove(closest.unwrap_or(0)));
    }
    gone
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M")
            .unwrap()
            .and_utc()
    }

    fn of(times: impl IntoIterator<Item = DateTime<Utc>>) -> Vec<Backup> {
        let mut backups: Vec<_> = times
            .into_iter()
            .map(|at| Backup {
                path: at.to_string().into(),
                at,
                size: 10,
            })
            .collect();
        backups.sort_by_key(|backup| std::cmp::Reverse(backup.at));
        backups
    }

    /// Ten years of saving every four hours, pruned each time as it happens.
    #[test]
    fn ten_years_leave_a_day_of_hours_a_month_of_days_two_years_of_months_and_years() {
        let start = at("2016-01-01 00:30");
        let mut backups = Vec::new();
        let mut now = start;
        while now < at("2026-01-01 00:00") {
            now += TimeDelta::hours(4);
            backups.insert(0, of([now]).remove(0));
            for gone in superfluous(backups.clone(), now, u64::MAX) {
                backups.retain(|each| *each != gone);
            }
        }
        let older = |days| {
            backups
                .iter()
                .filter(|each| now - each.at >= TimeDelta::days(days))
                .count()
        };
        let (hours, days, months, years) = (
            backups.len() - older(1),
            older(1) - older(31),
            older(31) - older(732),
            older(732),
        );
        assert_eq!(hours, 6);
        assert!((29..=31).contains(&days), "{days} days");
        assert!((22..=25).contains(&months), "{months} months");
        assert!((8..=9).contains(&years), "{years} years");
    }

    #[test]
    fn the_newest_stays_and_the_rest_fits_the_bound() {
        let now = at("2026-03-01 12:00");
        let backups = of((0..20).map(|n| now - TimeDelta::days(n)));
        let gone = superfluous(backups.clone(), now, 55);
        let kept: Vec<_> = backups.iter().filter(|each| !gone.contains(each)).collect();
        assert_eq!(kept.len(), 5);
        assert_eq!(kept[0].at, now);
        let gone = superfluous(backups.clone(), now, 3);
        assert_eq!(gone.len(), 19);
        assert!(!gone.contains(&backups[0]));
    }

    #[test]
    fn of_one_hour_the_first_stays_and_the_newest() {
        let now = at("2026-03-01 12:50");
        let backups = of([at("2026-03-01 12:10"), at("2026-03-01 12:30"), now]);
        let gone = superfluous(backups.clone(), now, 100);
        assert_eq!(gone, [backups[1].clone()]);
    }
}
