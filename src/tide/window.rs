use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// A span of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Window {
    /// First second.
    pub from: Timestamp,
    /// Last second.
    pub to: Timestamp,
}

impl From<(Timestamp, Timestamp)> for Window {
    fn from((from, to): (Timestamp, Timestamp)) -> Self {
        Self { from, to }
    }
}

impl Window {
    /// Length, seconds.
    pub fn length_s(&self) -> f64 {
        self.to.duration_since(self.from).as_secs_f64()
    }

    /// The part that two windows share, if it lasts.
    pub fn shared(&self, other: &Self) -> Option<Self> {
        let both = Self { from: self.from.max(other.from), to: self.to.min(other.to) };
        (both.from < both.to).then_some(both)
    }

    /// Whether a moment lies inside.
    pub fn holds(&self, time: Timestamp) -> bool {
        self.from <= time && time <= self.to
    }
}
