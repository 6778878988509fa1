//! Keeps an eye on what others do to the open file, on a thread of its own.

use std::sync::atomic::{AtomicU8, Ordering};
use std::sync::{Arc, Weak};
use std::time::Duration;
use store::ProjectFile;

/// How often the file is looked at. Nothing is drawn for it unless something is seen.
const EVERY: Duration = Duration::from_secs(2);

/// What others did to the open file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Outside {
    /// Nothing.
    #[default]
    Quiet,
    /// Another program or window wrote to it.
    Changed,
    /// The window that had it open for writing has let go of it.
    LetGo,
}

/// A watch over a file, ended when the file is let go of.
pub struct FileWatcher(Arc<AtomicU8>);

impl FileWatcher {
    /// Begins to watch; asks for a frame whenever something else is seen.
    pub fn begin(file: &Arc<ProjectFile>, ctx: egui::Context) -> Self {
        let seen = Arc::new(AtomicU8::new(0));
        let (file, theirs) = (Arc::downgrade(file), Arc::downgrade(&seen));
        std::thread::spawn(move || {
            loop {
                std::thread::sleep(EVERY);
                let Some(now) = look(&file) else { return };
                let Some(seen) = Weak::upgrade(&theirs) else {
                    return;
                };
                if seen.swap(now as u8, Ordering::Relaxed) != now as u8 {
                    ctx.request_repaint();
                }
            }
        });
        Self(seen)
    }

    /// What was seen last.
    pub fn seen(&self) -> Outside {
        match self.0.load(Ordering::Relaxed) {
            1 => Outside::Changed,
            2 => Outside::LetGo,
            _ => Outside::Quiet,
        }
    }
}

/// Nothing once the file is closed.
fn look(file: &Weak<ProjectFile>) -> Option<Outside> {
    let file = file.upgrade()?;
    if file.is_let_go() {
        return Some(Outside::LetGo);
    }
    // A disk that can't be asked is told of by what is written to it.
    let changed = file.is_changed_elsewhere().unwrap_or(false);
    Some(if changed {
        Outside::Changed
    } else {
        Outside::Quiet
    })
}
