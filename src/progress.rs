use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

/// How far a piece of long work has come, and whether it is still wanted.
///
/// Clones share the same state: one goes to the worker, one stays with whoever watches.
#[derive(Debug, Clone, Default)]
pub struct Progress(Arc<State>);

#[derive(Debug, Default)]
struct State {
    /// Parts per million done.
    done: AtomicU32,
    cancelled: AtomicBool,
}

/// The work was called off before it ended; nothing was changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the work was called off; nothing was changed")]
pub struct Cancelled;

impl Progress {
    /// Nothing done yet, not cancelled.
    pub fn new() -> Self {
        Self::default()
    }

    /// States the share done, 0 to 1.
    pub fn set(&self, share: f64) {
        self.0.done.store((share.clamp(0.0, 1.0) * 1e6) as u32, Ordering::Relaxed);
    }

    /// The share done, 0 to 1.
    pub fn share(&self) -> f64 {
        f64::from(self.0.done.load(Ordering::Relaxed)) / 1e6
    }

    /// Asks the worker to stop.
    pub fn cancel(&self) {
        self.0.cancelled.store(true, Ordering::Relaxed);
    }

    /// Whether it was asked to stop.
    pub fn is_cancelled(&self) -> bool {
        self.0.cancelled.load(Ordering::Relaxed)
    }

    /// To be called now and then by the worker, which passes the error on with `?`.
    ///
    /// # Errors
    /// [`Cancelled`] once the work was called off.
    pub fn check(&self) -> Result<(), Cancelled> {
        if self.is_cancelled() { Err(Cancelled) } else { Ok(()) }
    }
}
