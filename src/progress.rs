use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

/// How far a piece of long work has come, and whether it is still wanted.
///
/// Clones share the same state: one goes to the worker, one stays with whoever watches.
///
/// Work in several steps hands each a [`part`](Progress::part), so that the share goes on from one to the next.
#[derive(Debug, Clone)]
pub struct Progress {
    state: Arc<State>,
    /// The stretch of the whole that this stands for.
    from: f64,
    to: f64,
}

impl Default for Progress {
    fn default() -> Self {
        Self { state: Arc::default(), from: 0.0, to: 1.0 }
    }
}

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

    /// The same work, for a step that stands for this stretch of it, 0 to 1.
    #[must_use]
    pub fn part(&self, from: f64, to: f64) -> Self {
        let within = |share: f64| self.from + (self.to - self.from) * share.clamp(0.0, 1.0);
        Self { state: Arc::clone(&self.state), from: within(from), to: within(to) }
    }

    /// States the share done, 0 to 1; of a part, its own share.
    pub fn set(&self, share: f64) {
        let share = self.from + (self.to - self.from) * share.clamp(0.0, 1.0);
        self.state.done.store((share.clamp(0.0, 1.0) * 1e6) as u32, Ordering::Relaxed);
    }

    /// The share done, 0 to 1.
    pub fn share(&self) -> f64 {
        f64::from(self.state.done.load(Ordering::Relaxed)) / 1e6
    }

    /// Asks the worker to stop.
    pub fn cancel(&self) {
        self.state.cancelled.store(true, Ordering::Relaxed);
    }

    /// Whether it was asked to stop.
    pub fn is_cancelled(&self) -> bool {
        self.state.cancelled.load(Ordering::Relaxed)
    }

    /// To be called now and then by the worker, which passes the error on with `?`.
    ///
    /// # Errors
    /// [`Cancelled`] once the work was called off.
    pub fn check(&self) -> Result<(), Cancelled> {
        if self.is_cancelled() { Err(Cancelled) } else { Ok(()) }
    }
}
