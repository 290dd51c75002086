use std::any::{Any, TypeId};
use std::collections::BTreeMap;
use std::fmt;
use std::ops::Deref;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

use super::refusal::Refusal;
use super::runner::Waker;
use crate::Progress;

/// A derived thing, as the inputs that it is worked out from.
///
/// The fields are the declared inputs: parts of the book ([`Part`](crate::book::Part), the same until
/// one of their tables is edited), answers to other questions ([`Given`]) and plain parameters. Equality
/// of questions is equality of the fields, so that the key of an answer cannot lack an input; and
/// [`work_out`](Self::work_out) is handed nothing but them, so that it cannot use another.
pub trait Question: Clone + PartialEq + Send + Sync + 'static {
    /// What it is answered with.
    type Answer: Send + Sync + 'static;

    /// What a person calls the answer, in the middle of a sentence: "the reading".
    const NAME: &'static str;

    /// How many answers to earlier questions of this kind are kept, in case one is asked again.
    const KEPT: usize = 1;

    /// Whether the work is called off once nobody asks any more.
    const ONLY_WHILE_ASKED: bool = false;

    /// Whether it takes many seconds on a large book: it is then worked out by threads of its own, so that short work
    /// that all cores share does not wait for its end.
    const IS_LONG: bool = false;

    /// Whether a new answer says nothing that an earlier one did not: then the earlier one stays, and whatever stands
    /// on it stays fresh.
    fn is_same(_earlier: &Self::Answer, _new: &Self::Answer) -> bool {
        false
    }

    /// Works the answer out.
    ///
    /// # Errors
    /// A [`Refusal`] when something is missing or cannot be, or the work was called off.
    fn work_out(&self, work: &Work<Self::Answer>) -> Result<Self::Answer, Refusal>;
}

/// An answer, shared; two are the same when they are one and the same in memory.
pub struct Given<A>(Arc<A>);

impl<A> Given<A> {
    /// An answer of one's own making.
    pub fn new(answer: A) -> Self {
        Self(Arc::new(answer))
    }
}

impl<A> Clone for Given<A> {
    fn clone(&self) -> Self {
        Self(Arc::clone(&self.0))
    }
}

impl<A> PartialEq for Given<A> {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

impl<A> Deref for Given<A> {
    type Target = A;
    fn deref(&self) -> &A {
        &self.0
    }
}

impl<A> fmt::Debug for Given<A> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "an answer at {:p}", Arc::as_ptr(&self.0))
    }
}

/// What work under way shares with whoever watches it.
pub struct Work<A> {
    progress: Progress,
    so_far: Arc<Mutex<Option<Given<A>>>>,
    enough: Arc<AtomicBool>,
    wake: Option<Waker>,
}

impl<A> Clone for Work<A> {
    fn clone(&self) -> Self {
        Self {
            progress: self.progress.clone(),
            so_far: Arc::clone(&self.so_far),
            enough: Arc::clone(&self.enough),
            wake: self.wake.clone(),
        }
    }
}

impl<A> Work<A> {
    /// Work that nobody but the caller watches.
    pub fn unwatched(progress: &Progress) -> Self {
        Self { progress: progress.clone(), so_far: Arc::default(), enough: Arc::default(), wake: None }
    }

    /// Work whose watcher is woken when there is something to see.
    pub(super) fn watched(wake: Waker) -> Self {
        Self { wake: Some(wake), ..Self::unwatched(&Progress::new()) }
    }

    /// How far it has come, and whether it is still wanted.
    pub fn progress(&self) -> &Progress {
        &self.progress
    }

    /// Shows an answer that is good, though a better one may come: the best so far.
    pub fn show(&self, answer: A) {
        if !self.progress.is_cancelled() {
            *self.so_far.lock().unwrap_or_else(PoisonError::into_inner) = Some(Given::new(answer));
            if let Some(wake) = &self.wake {
                wake();
            }
        }
    }

    /// Whether the best so far will do.
    pub fn is_enough(&self) -> bool {
        self.enough.load(Ordering::Relaxed)
    }

    /// Says that the best so far will do.
    pub(super) fn enough(&self) {
        self.enough.store(true, Ordering::Relaxed);
    }

    /// The best so far.
    pub(super) fn so_far(&self) -> Option<Given<A>> {
        self.so_far.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// To be called now and then, the error passed on.
    ///
    /// # Errors
    /// A refusal once the work was called off.
    pub fn check(&self) -> Result<(), Refusal> {
        Ok(self.progress.check()?)
    }
}

/// Why an answer is not there.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotYet {
    /// It is being worked out, or waits for what it stands on.
    #[error("this is still being worked out")]
    Waiting,
    /// It was called off by hand; asked as before it stays so until [`Answers::ask_again`](super::Answers::ask_again).
    #[error("it was called off")]
    CalledOff,
    /// It cannot be answered; the sentence says why.
    #[error(transparent)]
    Failed(#[from] Refusal),
}

/// Whoever can be asked: the window, that gets its answers by and by, or a command, that waits.
pub trait Ask {
    /// The answer to a question.
    ///
    /// # Errors
    /// [`NotYet`] when it is not there.
    fn ask<Q: Question>(&mut self, question: Q) -> Result<Given<Q::Answer>, NotYet>;
}

/// Works out each answer on the thread of whoever asks, and keeps the last of each kind.
#[derive(Default)]
pub struct AtOnce {
    progress: Progress,
    /// The last question of each kind with its answer.
    known: BTreeMap<TypeId, Box<dyn Any>>,
}

impl AtOnce {
    /// Work that can be called off by `progress`.
    pub fn watched_by(progress: &Progress) -> Self {
        Self { progress: progress.clone(), known: BTreeMap::new() }
    }
}

impl Ask for AtOnce {
    fn ask<Q: Question>(&mut self, question: Q) -> Result<Given<Q::Answer>, NotYet> {
        let last = self.known.get(&TypeId::of::<Q>()).and_then(|k| k.downcast_ref::<(Q, Given<Q::Answer>)>());
        if let Some((_, answer)) = last.filter(|(asked, _)| *asked == question) {
            return Ok(answer.clone());
        }
        let answer = question.work_out(&Work::unwatched(&self.progress)).map(Given::new).map_err(NotYet::Failed)?;
        self.known.insert(TypeId::of::<Q>(), Box::new((question, answer.clone())));
        Ok(answer)
    }
}
