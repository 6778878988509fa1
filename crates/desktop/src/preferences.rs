//! What a person prefers on this machine, apart from any project.

use chrono::Weekday;
use exchange::logger::Mapping;
use kit::theme::Theme;
use kit::widgets::TemperatureUnit;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use store::{Earlier, Store, StoreError};

/// How many projects the welcome page remembers.
const RECENT_LIMIT: usize = 8;

/// How tables of one shape are read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TableReading {
    /// What its columns mean.
    pub mapping: domain::import::Mapping,
    /// The order of dates and the decimal mark, where they were said.
    pub wishes: exchange::sheets::Wishes,
}

/// What a person prefers on this machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Preferences {
    /// The unit temperatures are shown and typed in.
    pub temperature: TemperatureUnit,
    /// Light, dark, or as the machine is set.
    pub theme: ThemeChoice,
    /// Everything larger or smaller: 1 is as designed.
    pub zoom: f32,
    /// Weeks begin on Sunday rather than Monday.
    pub week_begins_sunday: bool,
    /// Who is at the keyboard: signs checks and the journal.
    pub who: String,
    /// The person was asked for a name, and may have said no.
    pub asked_for_name: bool,
    /// The first steps of a project need not be shown any more.
    pub knows_the_way: bool,
    /// How many labels are printed of each record: the last number chosen.
    pub label_copies: u32,
    /// Projects opened lately, the latest first.
    pub recent: Vec<PathBuf>,
    /// How the files of each logger are read, as a person set it.
    pub loggers: BTreeMap<String, Mapping>,
    /// How tables of each shape were read when they were imported last.
    pub tables: BTreeMap<String, TableReading>,
    /// The calendar file of each project that has one kept up to date, by the path of the project.
    pub calendars: BTreeMap<String, PathBuf>,
}

impl Default for Preferences {
    fn default() -> Self {
        Self {
            temperature: TemperatureUnit::Celsius,
            theme: ThemeChoice::System,
            zoom: 1.0,
            week_begins_sunday: false,
            who: String::new(),
            asked_for_name: false,
            knows_the_way: false,
            // One goes with the plant, one hangs outside (common practice).
            label_copies: 2,
            recent: Vec::new(),
            loggers: BTreeMap::new(),
            tables: BTreeMap::new(),
            calendars: BTreeMap::new(),
        }
    }
}

/// Light or dark, as kept on disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "each says what it is")]
pub enum ThemeChoice {
    #[default]
    System,
    Light,
    Dark,
}

impl From<ThemeChoice> for Theme {
    fn from(choice: ThemeChoice) -> Self {
        match choice {
            ThemeChoice::System => Self::System,
            ThemeChoice::Light => Self::Light,
            ThemeChoice::Dark => Self::Dark,
        }
    }
}

impl Preferences {
    /// The day weeks begin on.
    pub const fn first_weekday(&self) -> Weekday {
        if self.week_begins_sunday {
            Weekday::Sun
        } else {
            Weekday::Mon
        }
    }

    /// Where the calendar of this project is kept up to date, if it is.
    pub fn calendar_of(&self, project: &Path) -> Option<&Path> {
        Some(self.calendars.get(project.to_str()?)?.as_path())
    }

    /// Keeps a calendar of this project at a path.
    ///
    /// # Errors
    /// A sentence that says why it can't be kept there.
    pub fn keep_calendar(&mut self, project: &Path, calendar: &Path) -> Result<(), String> {
        let (Some(of), Some(_)) = (project.to_str(), calendar.to_str()) else {
            return Err(
                "The calendar can't be kept: the name of its file or of the project has signs that aren't Unicode. Rename it."
                    .into(),
            );
        };
        let mut others = self.calendars.iter();
        let other = others.find(|(other, at)| at.as_path() == calendar && other.as_str() != of);
        if let Some((other, _)) = other {
            return Err(format!(
                "In this file the calendar of another project is kept ({other}). Choose another name."
            ));
        }
        self.calendars.insert(of.to_owned(), calendar.to_owned());
        Ok(())
    }

    /// Keeps no calendar of this project any more.
    pub fn leave_calendar(&mut self, project: &Path) {
        if let Some(project) = project.to_str() {
            self.calendars.remove(project);
        }
    }

    /// The project goes on in another file, and its calendar with it.
    pub fn take_calendar_along(&mut self, from: &Path, to: &Path) {
        let (Some(from), Some(to)) = (from.to_str(), to.to_str()) else {
            return;
        };
        if let Some(calendar) = self.calendars.remove(from) {
            self.calendars.insert(to.to_owned(), calendar);
        }
    }

    /// Puts a project at the head of the recent ones.
    pub fn remember(&mut self, path: &Path) {
        // A name that isn't Unicode can't be written among the preferences.
        if path.to_str().is_none() {
            return;
        }
        self.recent.retain(|other| other != path);
        self.recent.insert(0, path.to_owned());
        self.recent.truncate(RECENT_LIMIT);
    }

    /// Reads preferences; a missing or damaged file gives the defaults, since nothing of worth is lost with it.
    pub fn read(path: &Path) -> Self {
        std::fs::read(path)
            .ok()
            .and_then(|bytes| serde_json::from_slice(&bytes).ok())
            .unwrap_or_default()
    }

    /// Writes preferences.
    pub fn write(&self, path: &Path) -> Result<(), StoreError> {
        let store = Store::new("");
        store.make_folder_for(path)?;
        // Plain data with string keys: writing it into memory can't fail.
        let text = serde_json::to_vec_pretty(self).unwrap_or_default();
        store.write_file(path, &text, &[], Earlier::Drop)
    }
}
