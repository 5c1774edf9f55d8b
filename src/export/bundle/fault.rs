//! A disk that fails, or a program that is killed, at a chosen step.

use std::io;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// Kinds of fault at the chosen step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum FaultKind {
    /// The program is killed: neither this step nor any later one is made. Of a write, half is.
    Kill,
    /// This step fails, as on a full disk; later ones work.
    Fail,
}

/// Counts steps.
#[derive(Debug)]
pub(super) struct Fault {
    kind: FaultKind,
    at: usize,
    made: AtomicUsize,
    hit: AtomicBool,
}

impl Fault {
    /// A fault at this step, counted from 0.
    pub(super) fn new(kind: FaultKind, at: usize) -> Self {
        Fault { kind, at, made: AtomicUsize::new(0), hit: AtomicBool::new(false) }
    }

    /// Whether it has happened.
    pub(super) fn hit(&self) -> bool {
        self.hit.load(Ordering::Relaxed)
    }

    pub(super) fn step(&self, torn: impl FnOnce()) -> io::Result<()> {
        let number = self.made.fetch_add(1, Ordering::Relaxed);
        let here = number == self.at;
        if here {
            self.hit.store(true, Ordering::Relaxed);
            if self.kind == FaultKind::Kill {
                torn();
            }
        }
        if here || (self.kind == FaultKind::Kill && number > self.at) {
            return Err(io::Error::other("a fault of the test"));
        }
        Ok(())
    }
}
