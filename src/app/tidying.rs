//! What could be put right in the book, worked out off the drawing thread.

use crate::query::{Question, Refusal, WholeBook, Work};
use crate::tidy::{Cleaned, Proposal, Thresholds, clean, doubles};

/// What stands twice in the book, and what of its tracks is not where the coil went.
#[derive(Clone, PartialEq)]
pub(crate) struct TidyQuestion {
    pub(crate) book: WholeBook,
}

/// The proposals; nothing of them is done before a person says so.
pub(crate) struct Proposals {
    pub(crate) doubles: Vec<Proposal>,
    /// Each with the name of its track.
    pub(crate) tracks: Vec<(String, Cleaned)>,
}

impl Question for TidyQuestion {
    type Answer = Proposals;
    const NAME: &'static str = "the look for doubles and spikes";
    const ONLY_WHILE_ASKED: bool = true;
    const IS_LONG: bool = true;

    fn work_out(&self, work: &Work<Self::Answer>) -> Result<Self::Answer, Refusal> {
        let book = &self.book.0;
        let by = Thresholds::default();
        let mut tracks = Vec::new();
        for track in book.tracks().values() {
            work.check()?;
            tracks.extend(clean(track, &by).map(|cleaned| (track.name.clone(), cleaned)));
        }
        Ok(Proposals { doubles: doubles(book), tracks })
    }
}
