//! A calendar file that is kept up to date: written anew when its project was opened or saved, on a thread of its own.
//!
//! Where it lies is a matter of this machine, so it is among the preferences. A failure is told at the foot, each time.

use super::{App, Notice};
use crate::dialogs::Question;
use crate::open_project::OpenProject;
use chrono::NaiveDate;
use domain::Project;
use domain::date::shift;
use egui::Context;
use kit::worker::Worker;
use std::path::{Path, PathBuf};
use store::{Earlier, Store};

/// What of the project is told in calendars: so many days back and ahead.
const DAYS: (i64, i64) = (60, 365);

/// What is to be written, and what was.
#[derive(Default)]
pub(super) struct State {
    /// Which writing is wanted.
    wanted: Option<u64>,
    count: u64,
    worker: Worker<u64, Result<(), String>>,
    /// The state of the project and the day that the file tells of.
    written: Option<(u64, NaiveDate)>,
}

/// One writing of the file.
struct Job {
    project: Project,
    project_file: PathBuf,
    calendar: PathBuf,
    today: NaiveDate,
}

impl App {
    /// Asks where a calendar of the open project is to be kept, and writes it there from now on.
    pub(super) fn keep_calendar(&mut self) {
        let Some(open) = &self.open else { return };
        let Some(path) = (self.dialogs)(&Question::SaveCalendar("agenda.ics".into())) else {
            return;
        };
        let own = open.path().to_owned();
        let may = Store::new("").may_write(&path, &[own.as_path()]);
        let refused = match may {
            Err(error) => Some(error.to_string()),
            Ok(()) => self.preferences.keep_calendar(&own, &path).err(),
        };
        if let Some(sentence) = refused {
            self.notice = Some(Notice::refused(sentence));
            return;
        }
        self.notice = Some(Notice::said(format!(
            "From now on the calendar is written anew after each save: {}.",
            path.display()
        )));
        self.keep_preferences();
        self.refresh_calendar();
    }

    /// Leaves the calendar of the open project as it is from now on.
    pub(super) fn leave_calendar(&mut self) {
        let Some(open) = &self.open else { return };
        self.preferences.leave_calendar(open.path());
        self.notice = Some(Notice::said(
            "The calendar is no longer written. The file stays as it is.".into(),
        ));
        self.keep_preferences();
    }

    /// Has the calendar written anew, if one is kept.
    pub(super) fn refresh_calendar(&mut self) {
        self.kept_calendar.count += 1;
        self.kept_calendar.wanted = Some(self.kept_calendar.count);
    }

    /// Writes what is wanted, and tells a failure.
    pub(super) fn follow_calendar(&mut self, ctx: &Context) {
        let Some(wanted) = self.kept_calendar.wanted else {
            return;
        };
        let Some(job) = self.calendar_job() else {
            self.kept_calendar.wanted = None;
            return;
        };
        let told_of = (job.project.revision(), job.today);
        let kept = &mut self.kept_calendar;
        let calendar = job.calendar.clone();
        let ended = kept
            .worker
            .follow(ctx, wanted, || move |_| Some(job.write()));
        let outcome = ended.filter(|ended| ended.current);
        if outcome.is_none() && kept.worker.ended_without() != Some(&wanted) {
            return;
        }
        kept.wanted = None;
        let outcome = outcome.map_or_else(
            || Err("Writing it broke off.".to_owned()),
            |outcome| (*outcome.value).clone(),
        );
        match outcome {
            Ok(()) => kept.written = Some(told_of),
            Err(why) => self.tell_calendar_failure(&calendar, &why),
        }
    }

    /// Writes the calendar of a project that is being closed, unless it tells of this state already.
    pub(super) fn last_calendar(&mut self) -> Option<Notice> {
        let job = self.calendar_job()?;
        let told_of = (job.project.revision(), job.today);
        self.kept_calendar.wanted = None;
        if self.kept_calendar.written.take() == Some(told_of) {
            return None;
        }
        let why = job.write().err()?;
        Some(Notice::failed(failure(&job.calendar, &why)))
    }

    fn tell_calendar_failure(&mut self, calendar: &Path, why: &str) {
        self.notice = Some(Notice::failed(failure(calendar, why)));
    }

    /// What is to be written, if a calendar of the open project is kept and this window may write.
    fn calendar_job(&self) -> Option<Job> {
        let open: &OpenProject = self.open.as_ref()?;
        if open.file().read_only().is_some() {
            return None;
        }
        Some(Job {
            project: open.session().project().clone(),
            project_file: open.path().to_owned(),
            calendar: self.preferences.calendar_of(open.path())?.to_owned(),
            today: (self.today)(),
        })
    }
}

impl Job {
    fn write(&self) -> Result<(), String> {
        let days = (shift(self.today, -DAYS.0), shift(self.today, DAYS.1));
        let text = paper::agenda::calendar(&self.project, days, self.today, self.today.into());
        let there = std::fs::read(&self.calendar).ok();
        if there.as_deref() == Some(text.as_bytes()) {
            return Ok(());
        }
        // What the program wrote itself is replaced; anything else stays beside it.
        let own = there.is_none_or(|there| exchange::calendar::is_own(&there));
        let earlier = if own { Earlier::Drop } else { Earlier::Keep };
        let inputs = [self.project_file.as_path()];
        let written = Store::new("").write_file(&self.calendar, text.as_bytes(), &inputs, earlier);
        written.map_err(|error| error.to_string())
    }
}

fn failure(calendar: &Path, why: &str) -> String {
    format!(
        "The calendar isn't up to date ({}). {why} Stop keeping it, or choose another place, under Tables.",
        calendar.display()
    )
}
