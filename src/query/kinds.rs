//! The kinds there are to choose from.

use std::collections::BTreeMap;

use super::{Question, Refusal, Work};
use crate::book::{Kind, KindTables, Kinds, Uid};

/// The kinds to choose from, and those that were found.
pub(crate) struct KindsKnown {
    /// Every kind: the shipped list, then the person's own by name.
    pub(crate) all: Vec<Kind>,
    /// Kinds with finds on the beach, each with their number, the most frequent first; a particular kind counts
    /// for its general one.
    pub(crate) here: Vec<(Kind, usize)>,
}

/// Which kinds there are, and which of them a beach gave.
#[derive(Clone, PartialEq)]
pub(crate) struct KindsQuestion {
    pub(crate) tables: KindTables,
    pub(crate) beach: Uid,
}

impl Question for KindsQuestion {
    type Answer = KindsKnown;
    const NAME: &'static str = "the list of kinds";

    fn work_out(&self, _work: &Work<KindsKnown>) -> Result<KindsKnown, Refusal> {
        let list = Kinds::shipped();
        // Of many finds few differ in kind.
        let mut finds: BTreeMap<&Kind, usize> = BTreeMap::new();
        self.tables.finds_of(self.beach).for_each(|f| *finds.entry(&f.kind).or_default() += 1);
        let mut counts: BTreeMap<Kind, usize> = BTreeMap::new();
        for (kind, count) in finds {
            *counts.entry(list.within(kind).unwrap_or(kind).clone()).or_default() += count;
        }
        let mut here: Vec<(Kind, usize)> = counts.into_iter().collect();
        here.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.label().cmp(b.0.label())));
        Ok(KindsKnown { all: self.tables.kinds(), here })
    }
}
