//! The threads that work is shared out to: as many as help, one where the system gives no more.

use std::hint::black_box;
use std::thread::available_parallelism;

use rayon::{ThreadPool, ThreadPoolBuilder};

/// Most threads, whatever the machine has and whatever is asked for.
const MOST: usize = 64;

/// Most threads for each core. More of them only wait for each other.
const MOST_PER_CORE: usize = 4;

/// Stack of a thread, bytes: what a main thread has on most systems. The whole command runs in the pool.
const STACK: usize = 8 << 20;

/// Addresses that threads leave to the work, bytes.
const ROOM: usize = 24 << 20;

/// Runs a command with a pool of threads to share its work out to.
///
/// The pool of rayon's own ends the program where its threads cannot be started. This one then works in the
/// thread there is.
pub(super) fn run<R: Send>(command: impl FnOnce() -> R + Send) -> R {
    match several(count()).or_else(one) {
        Some(pool) => pool.install(command),
        // A pool of this thread alone starts none, so it can always be made.
        None => command(),
    }
}

/// A pool of so many threads; none where there is no room for them and for the work. Threads that were started in vain
/// leave their stacks behind, so the room is taken while they are.
fn several(count: usize) -> Option<ThreadPool> {
    let mut room: Vec<u8> = Vec::new();
    room.try_reserve_exact(ROOM).ok()?;
    let pool = ThreadPoolBuilder::new().num_threads(count).stack_size(STACK).build().ok();
    drop(black_box(room));
    pool
}

/// A pool of the thread that calls.
fn one() -> Option<ThreadPool> {
    ThreadPoolBuilder::new().num_threads(1).use_current_thread().build().ok()
}

/// How many threads: a thread for each core, or what `RAYON_NUM_THREADS` says, within bounds.
fn count() -> usize {
    let cores = available_parallelism().map_or(1, usize::from);
    let wanted = std::env::var("RAYON_NUM_THREADS").ok().and_then(|text| text.parse().ok());
    bounded(wanted, cores)
}

fn bounded(wanted: Option<usize>, cores: usize) -> usize {
    let wanted = wanted.filter(|&count| count > 0).unwrap_or(cores);
    wanted.min(cores.saturating_mul(MOST_PER_CORE)).clamp(1, MOST)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_of_threads_has_bounds() {
        assert_eq!(bounded(None, 2), 2);
        assert_eq!(bounded(Some(1), 2), 1);
        assert_eq!(bounded(Some(0), 2), 2);
        assert_eq!(bounded(Some(100_000), 2), 8);
        assert_eq!(bounded(Some(usize::MAX), usize::MAX), MOST);
        assert_eq!(bounded(None, 400), MOST);
        assert_eq!(bounded(None, 0), 1);
    }

    #[test]
    fn one_thread_does_the_work_too() {
        use rayon::prelude::*;
        // A thread of its own: it stays in the pool for as long as it lives.
        let sum = std::thread::spawn(|| {
            let pool = one().expect("a pool of this thread");
            pool.install(|| (0..1000_u32).into_par_iter().sum::<u32>())
        });
        assert_eq!(sum.join().expect("no panic"), 499_500);
    }
}
