use std::collections::BTreeMap;

use crate::bench::{Expected, Learned, Mix, Pace, Undug, learn_all, pace, undug_by};
use crate::book::{Book, Uid};

/// What the bench was taught by a snapshot of the book.
pub(crate) struct BenchLessons {
    pub(crate) learned: BTreeMap<Uid, Learned>,
    pub(crate) mix: Mix,
    pub(crate) pace: Option<Pace>,
    undug: Undug,
}

impl BenchLessons {
    /// What a book teaches for the finds of a beach.
    pub(crate) fn learned_from(book: &Book, beach: Uid) -> Self {
        let (learned, mix) = (learn_all(book), Mix::on(book, beach));
        let undug = undug_by(&book.into(), beach, &learned, &mix);
        Self { learned, mix, pace: book.beaches().get(&beach).and_then(|b| pace(book, b)), undug }
    }

    /// What an undug signal counts for, if the bench has an answer.
    pub(crate) fn expected_of(&self, signal: Uid) -> Option<&Expected> {
        let n = self.undug.expected.binary_search_by_key(&signal, |e| e.signal).ok()?;
        self.undug.expected.get(n)
    }

    /// What the undug signals of the beach count for.
    pub(crate) fn undug(&self) -> &Undug {
        &self.undug
    }
}
