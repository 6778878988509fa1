//! Processor time: on a machine that others use too, the clock on the wall measures them as well.

use std::fs;
use std::hint::black_box;
use std::time::{Duration, Instant};

/// The processor time that `work` takes, as the mean over so many runs.
pub(crate) fn processor_time<T>(runs: u32, mut work: impl FnMut() -> T) -> Duration {
    let (begin, begun) = (Instant::now(), spent());
    for _ in 0..runs {
        black_box(work());
    }
    let taken = match (begun, spent()) {
        (Some(begun), Some(now)) => now.saturating_sub(begun),
        _ => begin.elapsed(),
    };
    taken / runs
}

/// What this thread has had so far. Linux tells it; elsewhere the clock on the wall has to do.
fn spent() -> Option<Duration> {
    let told = fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    let nanoseconds = told.split(' ').next()?.parse().ok()?;
    Some(Duration::from_nanos(nanoseconds))
}
