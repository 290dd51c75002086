//! Finds that are set apart: counted and told, but in no rate and no verdict.

use serde::{Deserialize, Serialize};

use super::CountedAt;

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

/// How a find stands to the ground that its outing swept.
pub(super) enum Standing {
    /// No outing of its own is known to have a track.
    WithoutTrack,
    /// Its outing swept nothing near it.
    OffTrack,
    /// It counts here.
    On(CountedAt),
}

impl Apart {
    /// Of how each find stands to its outing's ground, and whether it is one of a heap.
    pub(super) fn tally(standings: &[Standing], heaps: &[bool]) -> Self {
        let mut apart = Self::default();
        for (standing, heaped) in standings.iter().zip(heaps) {
            match standing {
                _ if *heaped => apart.pinned += 1,
                Standing::WithoutTrack => apart.without_track += 1,
                Standing::OffTrack => apart.off_track += 1,
                Standing::On(_) => (),
            }
        }
        apart
    }

    /// All of them.
    pub fn all(self) -> usize {
        self.without_track + self.off_track + self.pinned
    }
}
