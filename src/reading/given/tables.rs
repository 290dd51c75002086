//! What a reading reads of a book.

use crate::bench::BenchTables;
use crate::book::part::part;
use crate::book::{Find, Signal, Track};
use crate::effort::EffortTables;

part! {
    /// What a reading is made from.
    pub struct ReadingTables: setups, outings, tracks, finds, signals, zones, accesses, storms, bench;
    holds EffortTables: outings, setups, tracks;
    holds BenchTables: setups, outings, bench, finds, signals;
    holds OutingTables: setups, outings, storms, tracks;
}

part! {
    /// What tells outings apart: a choice of some of them is made by these.
    pub struct OutingTables: setups, outings, storms, tracks;
    holds EffortTables: outings, setups, tracks;
}

impl ReadingTables {
    /// The same with only those finds, signals and tracks: what a question about some of them is asked of.
    #[must_use]
    pub fn narrowed(
        &self,
        find: impl Fn(&Find) -> bool,
        signal: impl Fn(&Signal) -> bool,
        track: impl Fn(&Track) -> bool,
    ) -> Self {
        Self {
            finds: self.finds.narrowed(find),
            signals: self.signals.narrowed(signal),
            tracks: self.tracks.narrowed(track),
            ..self.clone()
        }
    }

    /// The same with only those finds.
    #[must_use]
    pub(in crate::reading) fn with_finds(&self, find: impl Fn(&Find) -> bool) -> Self {
        Self { finds: self.finds.narrowed(find), ..self.clone() }
    }
}

impl OutingTables {
    /// The same with only those tracks.
    #[must_use]
    pub(in crate::reading) fn with_tracks(&self, takes: impl Fn(&Track) -> bool) -> Self {
        Self { tracks: self.tracks.narrowed(takes), ..self.clone() }
    }
}
