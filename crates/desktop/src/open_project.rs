//! An open project: the session, its file, and what is derived from it.

use crate::derived::Derived;
use crate::file_watcher::{FileWatcher, Outside};
use crate::past_state::{Past, PastState};
use crate::preferences::Preferences;
use crate::record_history::{RecordHistory, time};
use crate::view::View;
use chrono::{NaiveDate, Utc};
use domain::{AnyId, Edit, IdSource, Project, RecordKind, Refusal, Session};
use kit::working_day::WorkingDay;
use std::hash::{BuildHasher as _, RandomState};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::Receiver;
use store::{ChangedOutside, Existing, ProjectFile, QuarantinedPart, Report, Store, StoreError};

mod drafts;
mod saving;

use drafts::KeptDrafts;
use saving::Saving;
pub use saving::{PhotosCopied, SaveState};

/// A project with its file.
pub struct OpenProject {
    store: Store,
    session: Session,
    file: Arc<ProjectFile>,
    report: Report,
    read_only: Option<String>,
    /// Kept by revision.
    derived: Derived,
    /// Read when a screen first asks.
    record_history: RecordHistory,
    /// The moment that is looked at instead of the present.
    past: Option<Past>,
    ids: IdSource,
    /// What others did to the file, once a frame asked for it to be watched.
    watch: Option<FileWatcher>,
    /// A save under way on a worker.
    saving: Option<Saving>,
    /// Photos under way to beside the project.
    copying: Vec<Receiver<PhotosCopied>>,
    /// Why the last save left no backup, if one was due.
    no_backup: Option<String>,
    /// What is typed and not yet recorded.
    drafts: KeptDrafts,
    /// Why drafts of before can't be read, if so.
    drafts_trouble: Option<String>,
    /// Up to which change the file was saved when it was opened.
    saved_then: u64,
}

impl OpenProject {
    fn new(store: Store, project: Project, file: ProjectFile, report: Report) -> Self {
        let (drafts, drafts_trouble) = KeptDrafts::beside(&file);
        Self {
            drafts,
            drafts_trouble,
            derived: Derived::beside(&store, file.path()),
            record_history: RecordHistory::default(),
            past: None,
            store,
            session: Session::new(project),
            read_only: file.read_only().map(ToString::to_string),
            saved_then: file.saved_up_to(),
            file: Arc::new(file),
            report,
            ids: new_ids(),
            watch: None,
            saving: None,
            copying: Vec::new(),
            no_backup: None,
        }
    }

    /// Makes a new file for a project. A file already there stays as it is, and the answer is an error.
    pub fn create(path: &Path, project: Project, who: &str) -> Result<Self, StoreError> {
        let store = Store::new(signature(who));
        let file = store.create(path, &project, Existing::Keep)?;
        Ok(Self::new(store, project, file, Report::default()))
    }

    /// Opens the project in a file; for reading only if another window has it.
    pub fn open(path: &Path, who: &str) -> Result<Self, StoreError> {
        Self::open_in(Store::new(signature(who)), path)
    }

    /// The same, where this store keeps its files.
    pub fn open_in(store: Store, path: &Path) -> Result<Self, StoreError> {
        let opened = store.open(path)?;
        Ok(Self::new(store, opened.project, opened.file, opened.report))
    }

    /// Opens a project for writing that another machine seems to have open, and nobody works on there.
    pub fn take_over(path: &Path, who: &str) -> Result<Self, StoreError> {
        let store = Store::new(signature(who));
        let opened = store.take_over(path)?;
        Ok(Self::new(store, opened.project, opened.file, opened.report))
    }

    /// Opens a damaged file with what is missing brought back from its journal or a backup.
    pub fn bring_back(path: &Path, who: &str) -> Result<Self, StoreError> {
        let store = Store::new(signature(who));
        let opened = store.bring_back(path)?;
        Ok(Self::new(store, opened.project, opened.file, opened.report))
    }

    /// Opens a damaged file as far as it can be read; what is missing stays told.
    pub fn go_on_without(path: &Path, who: &str) -> Result<Self, StoreError> {
        let store = Store::new(signature(who));
        let opened = store.go_on_without(path)?;
        Ok(Self::new(store, opened.project, opened.file, opened.report))
    }

    /// A fresh copy of the sample season in this folder, dated for today. One that another window has open stays.
    pub fn sample(folder: &Path, today: NaiveDate, who: &str) -> Result<Self, String> {
        let project = sample::sample_project(today).map_err(|refusal| refusal.to_string())?;
        std::fs::create_dir_all(folder).map_err(|error| {
            format!("The sample can't be made: {error} ({}).", folder.display())
        })?;
        let store = Store::new(signature(who));
        let mut number = 1;
        loop {
            let path = folder.join(format!("Sample season {number}.{}", store::EXTENSION));
            match store.create(&path, &project, Existing::Replace) {
                Err(StoreError::Held { .. }) if number < 20 => number += 1,
                Err(error) => return Err(error.to_string()),
                Ok(file) => return Ok(Self::new(store, project, file, Report::default())),
            }
        }
    }

    /// Signs changes with this name from now on; with the machine's if it is empty.
    pub fn sign_as(&self, who: &str) {
        self.file.sign_as(&signature(who));
    }

    /// What to say on opening, if anything.
    pub fn opening_words(&self) -> Option<String> {
        let mut sentences = self.report.sentences_by(time);
        sentences.extend(self.drafts_trouble.clone());
        let drafts = self.drafts.pending();
        if !drafts.is_empty() {
            sentences.push(format!("Not recorded yet: {}.", words_of(&drafts)));
        }
        (!sentences.is_empty()).then(|| sentences.join(" "))
    }

    /// What was found on opening.
    pub const fn report(&self) -> &Report {
        &self.report
    }

    /// What another program changed in the file before it was opened here, until the next save.
    pub fn changed_outside(&self) -> Option<&ChangedOutside> {
        let outside = self.report.changed_outside.as_ref()?;
        let unsaved = self.file.saved_up_to() == self.saved_then;
        (unsaved && outside.differs.is_some()).then_some(outside)
    }

    /// A file that was put aside at opening and can be brought in, until the next save. Later it is among the findings.
    pub fn put_aside(&self) -> Option<&Path> {
        let mut kept = self.report.kept.iter();
        let unsaved = self.file.saved_up_to() == self.saved_then;
        kept.find(|path| QuarantinedPart::of(path).is_some_and(QuarantinedPart::may_come_in))
            .filter(|_| unsaved)
            .map(PathBuf::as_path)
    }

    /// The records whose changes aren't on the disk in their time: themselves, and for what is written on the page of
    /// another record that one too.
    pub fn unkept(&self) -> kit::unkept::Unkept {
        let mut unkept = kit::unkept::Unkept::default();
        let late = self.file.not_on_disk();
        let mut add = |id: AnyId| {
            unkept.add_key(id);
            unkept.add_key(id.uuid);
            unkept.add_name(&id.uuid);
        };
        for id in late {
            add(id);
            if !has_own_page(id.kind) {
                self.session
                    .project()
                    .references(id)
                    .into_iter()
                    .for_each(&mut add);
            }
        }
        unkept
    }

    /// Its file.
    pub fn path(&self) -> &Path {
        self.file.path()
    }

    /// The file with its journal.
    pub fn file(&self) -> &ProjectFile {
        &self.file
    }

    /// What others did to the file, as last seen.
    pub fn outside(&mut self, ctx: &egui::Context) -> Outside {
        self.watch
            .get_or_insert_with(|| FileWatcher::begin(&self.file, ctx.clone()))
            .seen()
    }

    /// Whether another program was last seen to have written to a file that is open here for writing.
    fn is_changed_by_others(&self) -> bool {
        let seen = self.watch.as_ref().map(FileWatcher::seen);
        self.file.read_only().is_none() && seen == Some(Outside::Changed)
    }

    /// Why nothing can be changed, if so.
    pub fn read_only(&self) -> Option<&str> {
        let past = self.past.as_ref().map(|past| past.words.as_str());
        past.or(self.read_only.as_deref())
    }

    /// The project as it is shown: as it stands, or as it stood at the moment that is looked at.
    pub const fn project(&self) -> &Project {
        match &self.past {
            Some(past) => &past.moment.project,
            None => self.session.project(),
        }
    }

    /// The session of the present, with its steps of undo and redo.
    pub const fn session(&self) -> &Session {
        &self.session
    }

    /// What is derived from the project that is shown.
    pub const fn derived(&self) -> &Derived {
        match &self.past {
            Some(past) => &past.derived,
            None => &self.derived,
        }
    }

    /// Shows the project as it stood at this moment. The present goes on as it is, and nothing of the moment reaches it.
    pub fn look_back(&mut self, moment: PastState) {
        let derived = Derived::beside(&self.store, self.path());
        self.past = Some(Past::new(moment, derived));
    }

    /// Shows the project as it stands.
    pub fn return_to_now(&mut self) {
        self.past = None;
    }

    /// The moment that is looked at instead of the present.
    pub fn moment(&self) -> Option<&PastState> {
        self.past.as_ref().map(|past| &past.moment)
    }

    /// The day for which things are shown: today, or that of the moment.
    pub fn day(&self, today: NaiveDate) -> NaiveDate {
        self.moment().map_or(today, PastState::day)
    }

    /// Forgets what is derived and no longer holds.
    pub fn refresh(&mut self, today: NaiveDate) {
        match &mut self.past {
            Some(past) => past.derived.refresh(&past.moment.project, today),
            None => self.derived.refresh(self.session.project(), today),
        }
    }

    /// What a screen sees, and the source of identities for what it hands back.
    pub fn view<'a>(
        &'a mut self,
        working: WorkingDay,
        preferences: &'a Preferences,
    ) -> (View<'a>, &'a mut IdSource) {
        self.ids
            .advance_to(Utc::now().timestamp_millis().max(0) as u64);
        let (project, derived, read_only) = match &self.past {
            Some(past) => (
                &past.moment.project,
                &past.derived,
                Some(past.words.as_str()),
            ),
            None => (
                self.session.project(),
                &self.derived,
                self.read_only.as_deref(),
            ),
        };
        let today = self.day(working.day());
        let view = View {
            project,
            path: self.file.path(),
            file: &self.file,
            quarantined: &self.report.quarantined,
            losses: &self.report.losses,
            lost_changes: &self.report.lost_changes,
            moment: self.past.as_ref().map(|past| &past.moment),
            today,
            working,
            preferences,
            now: self.session.project(),
            record_history: &self.record_history,
            derived,
            read_only,
            clock: working.today(),
            done: &[],
        };
        (view, &mut self.ids)
    }

    /// What is typed and not yet recorded.
    pub fn drafts(&self) -> &kit::drafts::Shared {
        self.drafts.shared()
    }

    /// The same as a list.
    pub fn not_recorded(&self) -> Vec<kit::drafts::Pending> {
        self.drafts.pending()
    }

    /// Keeps what is typed beside the project, once nothing was typed for a moment. Says what went wrong.
    pub fn keep_drafts(&mut self, ctx: &egui::Context) -> Option<String> {
        self.drafts.keep(ctx, &self.file)
    }

    /// Takes back one step, whatever came after it. Returns whether there was one.
    pub fn take_back(&mut self, step: u64) -> Result<bool, String> {
        self.refuse_if_read_only()?;
        let taken = self
            .session
            .take_back(step)
            .map_err(|refusal| refusal.to_string())?;
        let Some(edit) = taken else { return Ok(false) };
        self.journal(&edit)?;
        Ok(true)
    }

    /// Makes an edit and puts it in the journal. Returns its words.
    pub fn apply(&mut self, edit: &Edit) -> Result<String, String> {
        self.refuse_if_read_only()?;
        self.make(edit)
    }

    /// The same, in the present whatever moment is looked at.
    fn make(&mut self, edit: &Edit) -> Result<String, String> {
        if let Some(why) = &self.read_only {
            return Err(why.clone());
        }
        let label = edit.describe(self.session.project());
        self.session
            .apply(edit.clone())
            .map_err(|refusal| refusal.to_string())?;
        self.journal(edit)?;
        Ok(label)
    }

    /// Takes back the last step. Returns its words, nothing if there is none.
    pub fn undo(&mut self) -> Result<Option<String>, String> {
        let label = self.session.undo_label().map(str::to_owned);
        self.step(Session::undo, label)
    }

    /// Makes the last undone step again. Returns its words, nothing if there is none.
    pub fn redo(&mut self) -> Result<Option<String>, String> {
        let label = self.session.redo_label().map(str::to_owned);
        self.step(Session::redo, label)
    }

    fn step(
        &mut self,
        step: fn(&mut Session) -> Result<Option<Edit>, Refusal>,
        label: Option<String>,
    ) -> Result<Option<String>, String> {
        self.refuse_if_read_only()?;
        let Some(edit) = step(&mut self.session).map_err(|refusal| refusal.to_string())? else {
            return Ok(None);
        };
        self.journal(&edit)?;
        Ok(label)
    }

    fn refuse_if_read_only(&self) -> Result<(), String> {
        self.read_only().map_or(Ok(()), |why| Err(why.to_owned()))
    }

    fn journal(&mut self, edit: &Edit) -> Result<(), String> {
        if let Some(saving) = &mut self.saving {
            saving.since.push(edit.clone());
        }
        self.file
            .append(edit)
            .map(|_| ())
            .map_err(|error| error.to_string())
    }
}

/// Whether records of this kind are told apart where they are listed; others stand on the page of what they are about.
const fn has_own_page(kind: RecordKind) -> bool {
    matches!(
        kind,
        RecordKind::Stage
            | RecordKind::Trait
            | RecordKind::Protocol
            | RecordKind::Genotype
            | RecordKind::Cross
            | RecordKind::SeedLot
            | RecordKind::ChillBatch
            | RecordKind::ChillBox
    )
}

/// Identities from the clock and the machine's randomness.
pub fn new_ids() -> IdSource {
    let millis = Utc::now().timestamp_millis().max(0) as u64;
    IdSource::new(millis, RandomState::new().hash_one(millis))
}

/// Who signs changes: the person, or else the machine.
fn signature(who: &str) -> String {
    match who.trim() {
        "" => store::machine_name(),
        who => who.to_owned(),
    }
}

/// What isn't recorded, the first three by name.
pub fn words_of(pending: &[kit::drafts::Pending]) -> String {
    let mut words: Vec<&str> = pending
        .iter()
        .take(3)
        .map(|each| each.words.as_str())
        .collect();
    let more = format!("{} more", pending.len().saturating_sub(3));
    if pending.len() > 3 {
        words.push(&more);
    }
    words.join(", ")
}
