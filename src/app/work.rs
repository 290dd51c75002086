//! Work off the drawing thread: one result per question, the newest question wins.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};

use crate::Progress;

/// Wakes the window when a result is there.
pub(crate) type Waker = Arc<dyn Fn() + Send + Sync>;

type Job<V> = Box<dyn FnOnce(&Progress) -> Result<V, String> + Send>;

/// One derived thing, known by the key of what it was made from.
///
/// At most one job runs for it; a newer question calls the running one off and waits for its
/// thread to end, so that a hasty hand never starts a crowd of threads.
pub(crate) struct Slot<K, V> {
    /// The last question.
    wanted: Option<K>,
    value: Option<(K, Arc<V>)>,
    failed: Option<(K, String)>,
    running: Option<Running<K, V>>,
    waiting: Option<(K, Job<V>)>,
}

struct Running<K, V> {
    key: K,
    progress: Progress,
    result: Receiver<Result<V, String>>,
}

impl<K, V> Default for Slot<K, V> {
    fn default() -> Self {
        Self { wanted: None, value: None, failed: None, running: None, waiting: None }
    }
}

impl<K: Clone + PartialEq + Send + 'static, V: Send + Sync + 'static> Slot<K, V> {
    /// The newest result there is, even when a newer question is open.
    pub(crate) fn value(&self) -> Option<&Arc<V>> {
        self.value.as_ref().map(|(_, v)| v)
    }

    /// What the newest result was made from.
    pub(crate) fn key(&self) -> Option<&K> {
        self.value.as_ref().map(|(k, _)| k)
    }

    /// Why the last question has no answer.
    pub(crate) fn failure(&self) -> Option<&str> {
        self.failed.as_ref().filter(|(k, _)| Some(k) == self.wanted.as_ref()).map(|(_, why)| why.as_str())
    }

    /// Whether work is under way.
    pub(crate) fn is_busy(&self) -> bool {
        self.running.is_some() || self.waiting.is_some()
    }

    /// Whether what is shown was made from something else than the last question.
    pub(crate) fn is_stale(&self, wanted: &K) -> bool {
        self.key() != Some(wanted)
    }

    /// The share done of the work under way, 0 to 1.
    pub(crate) fn share(&self) -> Option<f64> {
        self.running.as_ref().map(|r| r.progress.share())
    }

    /// Calls off the work under way; the question stays unanswered until it is asked anew.
    pub(crate) fn cancel(&mut self) {
        if let Some(running) = &self.running {
            running.progress.cancel();
        }
        self.waiting = None;
    }

    /// Forgets everything.
    pub(crate) fn clear(&mut self) {
        self.cancel();
        self.value = None;
        self.failed = None;
    }

    /// Asks the question `key`, unless it is answered, has failed or is being worked on.
    pub(crate) fn want(&mut self, key: K, waker: &Waker, job: impl FnOnce(&Progress) -> Result<V, String> + Send + 'static) {
        self.wanted = Some(key.clone());
        // A failure speaks of the last question only; asked again after another one it is tried again.
        self.failed.take_if(|(k, _)| *k != key);
        let known = self.value.as_ref().is_some_and(|(k, _)| *k == key) || self.failed.as_ref().is_some_and(|(k, _)| *k == key);
        let asked = match (&self.waiting, &self.running) {
            (Some((k, _)), _) => *k == key,
            (None, Some(r)) => r.key == key,
            (None, None) => false,
        };
        if asked || (known && !self.is_busy()) {
            return;
        }
        if known {
            // Back to what is already there: what runs is no longer wanted.
            self.cancel();
            return;
        }
        if let Some(running) = &self.running {
            running.progress.cancel();
            self.waiting = Some((key, Box::new(job)));
        } else {
            self.start(key, Box::new(job), waker);
        }
    }

    fn start(&mut self, key: K, job: Job<V>, waker: &Waker) {
        let (send, result) = channel();
        let progress = Progress::new();
        let (mine, waker) = (progress.clone(), Arc::clone(waker));
        let started = std::thread::Builder::new().name("reckoning".into()).spawn(move || {
            // The window may have closed meanwhile; then nobody waits for the result.
            let _ = send.send(job(&mine));
            waker();
        });
        match started {
            Ok(_) => self.running = Some(Running { key, progress, result }),
            Err(e) => self.failed = Some((key, format!("no thread could be started: {e}"))),
        }
    }

    /// Takes in a finished result and starts what waits. Returns whether anything changed.
    pub(crate) fn poll(&mut self, waker: &Waker) -> bool {
        let Some(running) = &self.running else { return false };
        let result = match running.result.try_recv() {
            Ok(result) => result,
            Err(TryRecvError::Empty) => return false,
            Err(TryRecvError::Disconnected) => {
                Err("the work ended without a result; this is a mistake in the program".to_owned())
            }
        };
        if let Some(Running { key, progress, .. }) = self.running.take() {
            match result {
                Ok(v) if !progress.is_cancelled() => {
                    self.value = Some((key, Arc::new(v)));
                    self.failed = None;
                }
                // Called off for a newer question it is of no interest; called off by hand it stays unanswered.
                _ if progress.is_cancelled() => self.failed = Some((key, "it was called off".to_owned())),
                Ok(_) => {}
                Err(why) => self.failed = Some((key, why)),
            }
        }
        if let Some((key, job)) = self.waiting.take() {
            self.start(key, job, waker);
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn waker() -> Waker {
        Arc::new(|| ())
    }

    fn settle(slot: &mut Slot<u32, u32>) {
        while slot.is_busy() {
            slot.poll(&waker());
            std::thread::yield_now();
        }
    }

    #[test]
    fn the_newest_question_wins() {
        let mut slot = Slot::default();
        slot.want(1, &waker(), |p| {
            while !p.is_cancelled() {
                std::thread::yield_now();
            }
            Ok(10)
        });
        slot.want(2, &waker(), |_| Ok(20));
        slot.want(3, &waker(), |_| Ok(30));
        assert!(slot.is_stale(&3) && slot.is_busy());
        settle(&mut slot);
        assert_eq!(slot.value().map(|v| **v), Some(30));
        assert!(!slot.is_stale(&3));
    }

    #[test]
    fn a_known_answer_is_not_worked_out_again_and_a_failure_is_told_once() {
        let mut slot: Slot<u32, u32> = Slot::default();
        slot.want(1, &waker(), |_| Ok(10));
        settle(&mut slot);
        slot.want(1, &waker(), |_| panic!("asked twice"));
        assert!(!slot.is_busy());
        slot.want(2, &waker(), |_| Err("no".into()));
        settle(&mut slot);
        assert_eq!((slot.failure(), slot.value().map(|v| **v)), (Some("no"), Some(10)));
        slot.want(2, &waker(), |_| panic!("asked twice"));
        assert!(!slot.is_busy());
    }

    #[test]
    fn what_is_called_off_stays_unanswered_and_says_so() {
        let mut slot: Slot<u32, u32> = Slot::default();
        let patient = |p: &Progress| {
            while !p.is_cancelled() {
                std::thread::yield_now();
            }
            Err("called off".to_owned())
        };
        slot.want(1, &waker(), patient);
        slot.cancel();
        settle(&mut slot);
        slot.want(1, &waker(), |_| panic!("asked again"));
        assert!(slot.failure().is_some_and(|w| w.contains("called off")) && !slot.is_busy());
        slot.want(2, &waker(), |_| Ok(2));
        settle(&mut slot);
        assert!(slot.failure().is_none());
    }

    #[test]
    fn what_was_called_off_for_another_question_can_be_asked_again() {
        let mut slot: Slot<u32, u32> = Slot::default();
        slot.want(1, &waker(), |_| Ok(10));
        settle(&mut slot);
        slot.want(2, &waker(), |p| {
            while !p.is_cancelled() {
                std::thread::yield_now();
            }
            Err("called off".to_owned())
        });
        slot.want(1, &waker(), |_| panic!("asked twice"));
        settle(&mut slot);
        slot.want(1, &waker(), |_| panic!("asked twice"));
        assert!(slot.failure().is_none());
        slot.want(2, &waker(), |_| Ok(20));
        settle(&mut slot);
        assert_eq!(slot.value().map(|v| **v), Some(20));
    }

    #[test]
    fn a_job_that_dies_says_so() {
        let mut slot: Slot<u32, u32> = Slot::default();
        slot.want(1, &waker(), |_| panic!("on purpose"));
        settle(&mut slot);
        assert!(slot.failure().is_some_and(|w| w.contains("without a result")));
    }
}
