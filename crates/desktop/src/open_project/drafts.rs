//! What is typed and not yet recorded: kept in the open project, and beside its file.

use kit::drafts::{self, Drafts, Shared};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, PoisonError};
use std::thread::JoinHandle;
use store::ProjectFile;

/// Seconds without a new letter after which drafts are written down.
const PAUSE: f64 = 0.3;

/// The drafts of an open project.
pub(super) struct KeptDrafts {
    shared: Shared,
    /// What was changed when it was last handed to be written.
    written: u64,
    /// The changes seen last, and when.
    seen: (u64, f64),
    writer: Option<Writer>,
}

/// Writes drafts one after the other, off the drawing thread.
struct Writer {
    texts: Sender<String>,
    failed: Receiver<String>,
    thread: JoinHandle<()>,
}

impl Writer {
    fn begin(file: Arc<ProjectFile>) -> Self {
        let (texts, to_write) = channel::<String>();
        let (tell, failed) = channel();
        let thread = std::thread::spawn(move || {
            while let Ok(mut text) = to_write.recv() {
                // Only the latest counts.
                while let Ok(later) = to_write.try_recv() {
                    text = later;
                }
                if let Err(error) = file.keep_drafts(&text) {
                    // Nobody listens once the project is closed; closing writes them itself.
                    let _ = tell.send(error.to_string());
                }
            }
        });
        Self {
            texts,
            failed,
            thread,
        }
    }
}

impl KeptDrafts {
    /// The drafts that lie beside this file; a sentence if they can't be read.
    pub(super) fn beside(file: &ProjectFile) -> (Self, Option<String>) {
        let read = file
            .drafts()
            .map_err(|error| error.to_string())
            .and_then(|text| Drafts::read(&text));
        let (drafts, trouble) = match read {
            Ok(drafts) => (drafts, None),
            Err(sentence) => (Drafts::default(), Some(sentence)),
        };
        let written = drafts.changes();
        let kept = Self {
            shared: Arc::new(drafts.into()),
            written,
            seen: (written, 0.0),
            writer: None,
        };
        (kept, trouble)
    }

    pub(super) const fn shared(&self) -> &Shared {
        &self.shared
    }

    /// Hands drafts to be written once nothing was typed for a moment. Says what went wrong with those before.
    pub(super) fn keep(&mut self, ctx: &egui::Context, file: &Arc<ProjectFile>) -> Option<String> {
        let failed = self
            .writer
            .as_ref()
            .and_then(|writer| writer.failed.try_recv().ok());
        let drafts = self.shared.lock().unwrap_or_else(PoisonError::into_inner);
        let changes = drafts.changes();
        if changes == self.written {
            return failed;
        }
        let now = ctx.input(|input| input.time);
        if self.seen.0 != changes {
            self.seen = (changes, now);
        }
        if now - self.seen.1 < PAUSE {
            ctx.request_repaint_after_secs(PAUSE as f32);
            return failed;
        }
        let text = drafts.to_text();
        drop(drafts);
        self.written = changes;
        let writer = self
            .writer
            .get_or_insert_with(|| Writer::begin(Arc::clone(file)));
        // A thread that is gone has failed already, and said so.
        let _ = writer.texts.send(text);
        failed
    }

    /// Writes everything now, and lets go of the file.
    pub(super) fn finish(&mut self, file: &ProjectFile) -> Result<(), store::StoreError> {
        if let Some(Writer { texts, thread, .. }) = self.writer.take() {
            drop(texts);
            // It panics nowhere; if it did, what follows writes all the same.
            let _ = thread.join();
        }
        let drafts = self.shared.lock().unwrap_or_else(PoisonError::into_inner);
        file.keep_drafts(&drafts.to_text())?;
        self.written = drafts.changes();
        Ok(())
    }

    /// What isn't recorded, in words.
    pub(super) fn pending(&self) -> Vec<drafts::Pending> {
        let drafts = self.shared.lock().unwrap_or_else(PoisonError::into_inner);
        drafts.pending()
    }
}
