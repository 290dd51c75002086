//! What is chosen on the bench.

use super::bench_forms::{Asking, EntryForm, KindForm, SetupForm};
use crate::book::Uid;
use crate::query::{Item, OneSignal};

/// What is chosen and typed on the bench.
#[derive(Default)]
pub(crate) struct BenchView {
    /// The bench learns from the first time the sheet is opened.
    pub(crate) wanted: bool,
    pub(crate) setup: Option<Uid>,
    /// A set-up that was just kept and is not in the book yet.
    pub(crate) awaited: Option<Uid>,
    pub(crate) form: Option<SetupForm>,
    pub(crate) entry: EntryForm,
    pub(crate) asking: Asking,
    pub(crate) kind: KindForm,
    pub(crate) part: Part,
    pub(crate) signal_seen: Option<Item>,
    /// Whether what was learned is before the person's eyes, so that leaving out in turn is worth its while.
    pub(crate) open: bool,
    /// Two set-ups that are before the person's eyes side by side.
    pub(crate) beside: Option<(Uid, Uid)>,
    /// The signal that is before the person's eyes.
    pub(crate) signal: Option<OneSignal>,
}

/// What the bench is used for just now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Part {
    #[default]
    Readings,
    Signal,
    Learned,
    Compare,
}

impl Part {
    /// Every part with its name on screen.
    pub(crate) const ALL: [(Self, &'static str); 4] = [
        (Self::Readings, "take readings"),
        (Self::Signal, "ask of a signal"),
        (Self::Learned, "what it learned"),
        (Self::Compare, "compare"),
    ];
}

impl BenchView {
    /// The set-up whose readings are to be left out in turn.
    pub(crate) fn calibrating(&mut self) -> Option<Uid> {
        std::mem::take(&mut self.open).then_some(self.setup).flatten()
    }

    /// The signal that is asked after.
    pub(crate) fn asking_of(&mut self) -> Option<OneSignal> {
        self.signal.take()
    }

    /// The set-ups that are to be compared.
    pub(crate) fn comparing(&mut self) -> Option<(Uid, Uid)> {
        self.beside.take()
    }
}
