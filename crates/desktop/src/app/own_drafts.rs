//! What is typed where no project is open to keep it: kept beside the preferences, so that it outlives the program too.

use egui::Context;
use kit::drafts::{Drafts, FormKey, Shared};
use std::path::{Path, PathBuf};
use std::sync::{Arc, MutexGuard, PoisonError};
use store::{Earlier, Store};

/// Seconds without a new letter after which drafts are written down.
const PAUSE: f64 = 0.3;

/// The drafts of the window itself.
pub(super) struct OwnDrafts {
    shared: Shared,
    /// Where they are written; nothing keeps them, in a test.
    file: Option<PathBuf>,
    written: u64,
    /// The changes seen last, and when.
    seen: (u64, f64),
}

impl OwnDrafts {
    /// Those that lie beside these preferences. What can't be read is of no use, and nothing of a project hangs on it.
    pub(super) fn beside(preferences: Option<&Path>) -> Self {
        let file = preferences.map(|path| path.with_extension("drafts"));
        let read = file
            .as_ref()
            .and_then(|path| std::fs::read_to_string(path).ok())
            .and_then(|text| Drafts::read(&text).ok())
            .unwrap_or_default();
        let written = read.changes();
        Self {
            shared: Arc::new(read.into()),
            file,
            written,
            seen: (written, 0.0),
        }
    }

    pub(super) const fn shared(&self) -> &Shared {
        &self.shared
    }

    pub(super) fn drafts(&self) -> MutexGuard<'_, Drafts> {
        self.shared.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Closes a form in which nothing was typed.
    pub(super) fn close_untouched(&self, key: &FormKey) {
        let mut drafts = self.drafts();
        if !drafts.pending().iter().any(|each| each.form() == Some(key)) {
            drafts.close(key);
        }
    }

    /// Writes them once nothing was typed for a moment; a sentence if that fails.
    pub(super) fn keep(&mut self, ctx: &Context) -> Option<String> {
        let changes = self.drafts().changes();
        if changes == self.written {
            return None;
        }
        let now = ctx.input(|input| input.time);
        if self.seen.0 != changes {
            self.seen = (changes, now);
        }
        if now - self.seen.1 < PAUSE {
            ctx.request_repaint_after_secs(PAUSE as f32);
            return None;
        }
        self.write()
    }

    /// Writes them now; a sentence if that fails.
    pub(super) fn write(&mut self) -> Option<String> {
        let (changes, text) = {
            let drafts = self.drafts();
            (drafts.changes(), drafts.to_text())
        };
        if changes == self.written {
            return None;
        }
        self.written = changes;
        let path = self.file.as_deref()?;
        let store = Store::new("");
        let written = store
            .make_folder_for(path)
            .and_then(|()| store.write_file(path, text.as_bytes(), &[], Earlier::Drop));
        let error = written.err()?;
        Some(format!("What was typed could not be kept. {error}"))
    }
}
