//! The time of an execution.

use std::sync::atomic::{AtomicU64, Ordering::Relaxed};
use std::time::Duration;

use cpu_time::ProcessTime;

/// Most time for one execution.
const MOST: Duration = Duration::from_secs(1);

/// Longest time so far, ms; said each time it grows beyond this.
static SLOWEST_MS: AtomicU64 = AtomicU64::new(20);

/// One execution, held to a second of the processor: what other programs take meanwhile does not count.
///
/// # Panics
/// When it takes longer.
pub fn timed(execution: impl FnOnce()) {
    let before = ProcessTime::now();
    execution();
    let took = before.elapsed();
    let milliseconds = u64::try_from(took.as_millis()).unwrap_or(u64::MAX);
    if SLOWEST_MS.fetch_max(milliseconds, Relaxed) < milliseconds {
        eprintln!("slowest so far: {milliseconds} ms of the processor");
    }
    assert!(took < MOST, "{milliseconds} ms of the processor");
}
