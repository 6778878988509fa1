//! Long work off the window's thread: one job at a time over a snapshot, with progress, a way to stop, and a key that
//! says what the answer holds for.
//!
//! ```
//! use kit::worker::Worker;
//! use std::ops::ControlFlow;
//!
//! let mut worker: Worker<u64, u64> = Worker::default();
//! let ctx = egui::Context::default();
//! worker.start(&ctx, 7, |progress| {
//!     for step in 0..10 {
//!         if progress.tell("Adding up", Some(step as f32 / 10.0)).is_break() {
//!             return None;
//!         }
//!     }
//!     Some(45)
//! });
//! worker.wait();
//! assert_eq!(worker.latest().map(|answer| (answer.key, *answer.value)), Some((7, 45)));
//! ```

use egui::Context;
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// How often progress asks for a frame, at most.
const FRAMES: Duration = Duration::from_millis(100);

/// How far a job is.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Progress {
    /// What is being done, in a few words; empty before the first word.
    pub words: String,
    /// The part that is done, 0 to 1, where it can be known.
    pub part: Option<f32>,
}

/// An answer and what it holds for.
#[derive(Debug)]
pub struct Answer<Key, T> {
    /// What it holds for, such as the revision of the project and the parameters.
    pub key: Key,
    /// The answer.
    pub value: Arc<T>,
}

impl<Key: Clone, T> Clone for Answer<Key, T> {
    fn clone(&self) -> Self {
        Self {
            key: self.key.clone(),
            value: Arc::clone(&self.value),
        }
    }
}

/// An answer as it is shown: it may be one of an earlier state.
#[derive(Debug)]
pub struct Latest<T> {
    /// The answer.
    pub value: Arc<T>,
    /// Whether it holds for what was asked; otherwise the new one is on its way.
    pub current: bool,
}

impl<T> Clone for Latest<T> {
    fn clone(&self) -> Self {
        Self {
            value: Arc::clone(&self.value),
            current: self.current,
        }
    }
}

/// Nothing yet: the first answer is on its way.
impl<T: Default> Default for Latest<T> {
    fn default() -> Self {
        Self {
            value: Arc::default(),
            current: false,
        }
    }
}

impl<T> Latest<T> {
    /// The same, no longer current if what it was made from isn't.
    #[must_use]
    pub fn while_current<Source>(self, source: &Latest<Source>) -> Self {
        Self {
            current: self.current && source.current,
            ..self
        }
    }
}

impl<T> std::ops::Deref for Latest<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.value
    }
}

/// What a job tells the window while it runs, and how it hears that it is no longer wanted.
pub struct JobProgress {
    shared: Arc<Shared>,
    ctx: Context,
    drawn: Instant,
}

#[derive(Default)]
struct Shared {
    stop: AtomicBool,
    progress: Mutex<Progress>,
}

impl JobProgress {
    fn new(ctx: &Context) -> Self {
        Self {
            shared: Arc::default(),
            ctx: ctx.clone(),
            drawn: Instant::now(),
        }
    }

    /// Says how far the job is. The answer is [`ControlFlow::Break`] once the job is to end: it then returns `None`.
    pub fn tell(&mut self, words: &str, part: Option<f32>) -> ControlFlow<()> {
        if self.shared.stop.load(Ordering::Relaxed) {
            return ControlFlow::Break(());
        }
        {
            let mut kept = self
                .shared
                .progress
                .lock()
                .unwrap_or_else(PoisonError::into_inner);
            if kept.words != words {
                words.clone_into(&mut kept.words);
            }
            kept.part = part;
        }
        if self.drawn.elapsed() >= FRAMES {
            self.drawn = Instant::now();
            self.ctx.request_repaint();
        }
        ControlFlow::Continue(())
    }
}

struct Running<Key, T> {
    key: Key,
    shared: Arc<Shared>,
    answer: Receiver<Option<T>>,
    /// Told to end because another key is wanted, not because a person stopped it.
    superseded: bool,
}

/// One kind of long work: the last answer, and the job that is under way.
///
/// Two jobs of one worker never run at once. An answer stays, marked by its key as one of an earlier state, until a
/// newer one is there. Dropping the worker stops its job.
pub struct Worker<Key, T> {
    latest: Option<Answer<Key, T>>,
    running: Option<Running<Key, T>>,
    /// The job that ended without an answer: it was stopped, or it failed.
    ended: Option<Key>,
}

impl<Key, T> Default for Worker<Key, T> {
    fn default() -> Self {
        Self {
            latest: None,
            running: None,
            ended: None,
        }
    }
}

impl<Key: std::fmt::Debug, T> std::fmt::Debug for Worker<Key, T> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Worker")
            .field("latest", &self.latest.as_ref().map(|latest| &latest.key))
            .field(
                "running",
                &self.running.as_ref().map(|running| &running.key),
            )
            .field("ended", &self.ended)
            .finish()
    }
}

impl<Key, T> Drop for Worker<Key, T> {
    fn drop(&mut self) {
        self.stop();
    }
}

impl<Key, T> Worker<Key, T> {
    /// Tells the job that is under way to end. It ends where it next speaks of its progress.
    pub fn stop(&self) {
        if let Some(running) = &self.running {
            running.shared.stop.store(true, Ordering::Relaxed);
        }
    }

    /// How far the job under way is; `None` when there is none.
    pub fn progress(&self) -> Option<Progress> {
        let running = self.running.as_ref()?;
        let kept = running.shared.progress.lock();
        Some(kept.unwrap_or_else(PoisonError::into_inner).clone())
    }

    /// The last answer, which may hold for an earlier key.
    pub const fn latest(&self) -> Option<&Answer<Key, T>> {
        self.latest.as_ref()
    }
}

impl<Key: PartialEq + Clone, T: Send + 'static> Worker<Key, T> {
    /// Keeps the answer up to date: takes in what has come, and starts the job that `prepare` makes (from a snapshot)
    /// if neither the last answer nor the job under way is for `key`. A job for another key is told to end first. Call it each frame the answer is shown in;
    /// it returns the last answer there is.
    #[expect(clippy::needless_pass_by_value, reason = "made for the call")]
    pub fn follow<Job>(
        &mut self,
        ctx: &Context,
        key: Key,
        prepare: impl FnOnce() -> Job,
    ) -> Option<Latest<T>>
    where
        Job: FnOnce(&mut JobProgress) -> Option<T> + Send + 'static,
    {
        // Under a finger nothing moves: what came meanwhile is taken in once it is lifted.
        if ctx.input(|input| input.pointer.any_down() || input.pointer.any_released()) {
            ctx.request_repaint_after_secs(0.05);
            if let Some(latest) = self.latest_for(&key) {
                return Some(latest);
            }
        }
        self.take_in();
        if let Some(running) = &mut self.running {
            if running.key != key {
                // Its end asks for a frame, in which the next one starts.
                running.superseded = true;
                self.stop();
            }
        } else if !self.is_current(&key) && self.ended.as_ref() != Some(&key) {
            self.start(ctx, key.clone(), prepare());
        }
        self.latest_for(&key)
    }

    /// The same for work that may be little or much: the little is done at once, so that nothing flickers.
    pub fn follow_sized<Job>(
        &mut self,
        ctx: &Context,
        key: Key,
        little: bool,
        prepare: impl FnOnce() -> Job,
    ) -> Option<Latest<T>>
    where
        Job: FnOnce(&mut JobProgress) -> Option<T> + Send + 'static,
    {
        if !little {
            return self.follow(ctx, key, prepare);
        }
        if !self.is_current(&key) {
            // What runs for an earlier key is told to end and no longer heard.
            self.stop();
            self.running = None;
            let value = prepare()(&mut JobProgress::new(ctx))?;
            self.latest = Some(Answer {
                key: key.clone(),
                value: Arc::new(value),
            });
        }
        self.latest_for(&key)
    }

    /// Starts `job` on a thread, whatever answers there are. Nothing happens while another is under way.
    pub fn start(
        &mut self,
        ctx: &Context,
        key: Key,
        job: impl FnOnce(&mut JobProgress) -> Option<T> + Send + 'static,
    ) {
        self.take_in();
        if self.running.is_some() {
            return;
        }
        let mut progress = JobProgress::new(ctx);
        let shared = Arc::clone(&progress.shared);
        let (sender, answer) = channel();
        let frame = RepaintAtEnd(ctx.clone());
        std::thread::spawn(move || {
            // Whoever stopped listening needs no answer. A frame is asked for even if the job fails.
            let _frame = frame;
            let _unheard = sender.send(job(&mut progress));
        });
        self.ended = None;
        self.running = Some(Running {
            key,
            shared,
            answer,
            superseded: false,
        });
    }

    /// Whether the last answer holds for `key`.
    pub fn is_current(&self, key: &Key) -> bool {
        self.latest
            .as_ref()
            .is_some_and(|latest| latest.key == *key)
    }

    /// The last answer, and whether it holds for `key`.
    pub fn latest_for(&self, key: &Key) -> Option<Latest<T>> {
        self.latest.as_ref().map(|latest| Latest {
            value: Arc::clone(&latest.value),
            current: latest.key == *key,
        })
    }

    /// The key of the last job, if it was stopped or failed and gave no answer.
    pub const fn ended_without(&self) -> Option<&Key> {
        self.ended.as_ref()
    }

    /// Takes in the answer of the job under way, if it is there.
    pub fn take_in(&mut self) {
        if let Some(running) = self.running.take() {
            match running.answer.try_recv() {
                Ok(answer) => self.keep(running, answer),
                Err(TryRecvError::Empty) => self.running = Some(running),
                Err(TryRecvError::Disconnected) => self.keep(running, None),
            }
        }
    }

    /// Waits for the job under way. For tests and the command line; a window never waits.
    pub fn wait(&mut self) {
        if let Some(running) = self.running.take() {
            let answer = running.answer.recv().unwrap_or_default();
            self.keep(running, answer);
        }
    }

    fn keep(&mut self, running: Running<Key, T>, answer: Option<T>) {
        match answer {
            Some(value) => {
                self.latest = Some(Answer {
                    key: running.key,
                    value: Arc::new(value),
                });
            }
            None if running.superseded => {}
            None => self.ended = Some(running.key),
        }
    }
}

struct RepaintAtEnd(Context);

impl Drop for RepaintAtEnd {
    fn drop(&mut self) {
        self.0.request_repaint();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc::sync_channel;

    /// Prepares no job: nothing is to be started.
    fn nothing<T>(why: &'static str) -> impl FnOnce() -> fn(&mut JobProgress) -> Option<T> {
        move || unreachable!("{why}")
    }

    #[test]
    fn an_earlier_answer_stays_until_the_next_is_there() {
        let ctx = Context::default();
        let mut worker = Worker::default();
        worker.follow(&ctx, 1, || |_: &mut JobProgress| Some("one"));
        worker.wait();
        assert!(worker.is_current(&1));
        let (go, wait) = sync_channel::<()>(0);
        worker.follow(&ctx, 2, || {
            move |_: &mut JobProgress| wait.recv().ok().map(|()| "two")
        });
        let kept = worker.latest().cloned().unwrap();
        assert_eq!((kept.key, *kept.value), (1, "one"));
        assert!(!worker.is_current(&2) && worker.progress().is_some());
        go.send(()).unwrap();
        worker.wait();
        assert_eq!(*worker.latest().unwrap().value, "two");
        worker.follow(&ctx, 2, nothing("the answer is there"));
    }

    #[test]
    fn a_job_hears_that_it_is_stopped_and_is_not_begun_again_by_itself() {
        let ctx = Context::default();
        let mut worker = Worker::<u8, ()>::default();
        let (said, hear) = sync_channel(0);
        worker.follow(&ctx, 1, || {
            move |progress: &mut JobProgress| {
                let mut told = false;
                while progress.tell("Walking", Some(0.5)).is_continue() {
                    if !told {
                        said.send(()).ok()?;
                        told = true;
                    }
                    std::thread::yield_now();
                }
                None
            }
        });
        hear.recv().unwrap();
        let progress = worker.progress().unwrap();
        assert_eq!(
            (progress.words.as_str(), progress.part),
            ("Walking", Some(0.5))
        );
        worker.stop();
        worker.wait();
        assert!(worker.latest().is_none() && worker.ended_without() == Some(&1));
        worker.follow(&ctx, 1, nothing("it was stopped"));
        assert!(worker.progress().is_none());
    }

    #[test]
    fn another_key_ends_the_job_under_way_first() {
        let ctx = Context::default();
        let mut worker = Worker::<u8, u8>::default();
        worker.follow(&ctx, 1, || {
            |progress: &mut JobProgress| {
                while progress.tell("Walking", None).is_continue() {
                    std::thread::yield_now();
                }
                None
            }
        });
        worker.follow(&ctx, 2, || |_: &mut JobProgress| Some(2));
        worker.wait();
        worker.follow(&ctx, 2, || |_: &mut JobProgress| Some(2));
        worker.wait();
        assert!(worker.is_current(&2));
    }

    #[test]
    fn little_work_is_done_at_once_and_ends_what_ran_before() {
        let ctx = Context::default();
        let mut worker = Worker::<u8, u8>::default();
        let (hear, wait) = sync_channel::<()>(0);
        worker.follow_sized(&ctx, 1, false, || {
            move |progress: &mut JobProgress| {
                while progress.tell("Walking", None).is_continue() {
                    std::thread::yield_now();
                }
                drop(hear);
                Some(1)
            }
        });
        let answer = worker.follow_sized(&ctx, 2, true, || |_: &mut JobProgress| Some(2));
        assert_eq!(
            answer.map(|answer| (*answer, answer.current)),
            Some((2, true))
        );
        assert!(wait.recv().is_err(), "the earlier job has ended");
        worker.follow_sized(&ctx, 2, true, nothing("the answer is there"));
    }

    #[test]
    fn a_job_that_fails_leaves_no_answer_and_is_not_begun_again() {
        let ctx = Context::default();
        let mut worker = Worker::<u8, u8>::default();
        worker.follow(&ctx, 1, || |_: &mut JobProgress| panic!("on purpose"));
        worker.wait();
        assert!(worker.latest().is_none() && worker.ended_without() == Some(&1));
    }
}
