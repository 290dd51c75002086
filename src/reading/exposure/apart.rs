//! Finds that are set apart: counted and told, but in no rate and no verdict.

use serde::{Deserialize, Serialize};

/// How many finds are set apart, and why.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Apart {
    /// Their outing has no track, or no outing of theirs is known.
    pub without_track: usize,
    /// They lie off the track of their outing by more than receivers err.
    pub off_track: usize,
    /// They share one position with many others.
    pub pinned: usize,
}

impl Apart {
    /// Of what is known of each find: its outing and square, and whether it is one of a heap.
    pub(super) fn tally(told: &[Option<(u32, Option<u32>)>], heaps: &[bool]) -> Self {
        let mut apart = Self::default();
        for (at, heaped) in told.iter().zip(heaps) {
            match at {
                _ if *heaped => apart.pinned += 1,
                None => apart.without_track += 1,
                Some((_, None)) => apart.off_track += 1,
                Some(_) => (),
            }
        }
        apart
    }

    /// All of them.
    pub fn all(self) -> usize {
        self.without_track + self.off_track + self.pinned
    }
}
