use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::words::words;
use super::{Aside, BookError, Uid, check_range};

words! {
    /// What the sand looked like.
    SandNote, "sand note" {
        /// A step where sand has been stripped.
        Cut = "cut", "cut";
        /// The opposite of a cut.
        SandedIn = "sanded_in", "sanded in";
        /// Streaks or sheets of heavy mineral sand.
        BlackSand = "black_sand", "black sand";
        /// Shell or shingle laid bare.
        Shell = "shell", "shell or shingle";
        /// Clay or hard pan laid bare.
        Clay = "clay", "clay or hard pan";
    }
}

/// One visit to a beach.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outing {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach visited.
    pub beach: Uid,
    /// What the person calls it; may be empty.
    pub name: String,
    /// When it began.
    pub start: Timestamp,
    /// When it ended; not before `start`.
    pub end: Timestamp,
    /// The detector settings held through it, if noted.
    pub setup: Option<Uid>,
    /// What the sand looked like.
    pub sand: Vec<SandNote>,
    /// Stretches that are no witness of where the water stood.
    pub asides: Vec<Aside>,
    /// Whether every hole was filled, if noted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holes_filled: Option<bool>,
    /// Litter carried off, kilograms, if weighed or guessed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub litter_kg: Option<f64>,
    /// Anything else.
    pub notes: String,
}

impl Outing {
    /// An outing between two instants, nothing else known.
    pub fn new(beach: Uid, start: Timestamp, end: Timestamp) -> Self {
        Self {
            uid: Uid::of_content("outing", [beach.to_string().as_bytes(), start.to_string().as_bytes()]),
            beach,
            name: String::new(),
            start,
            end,
            setup: None,
            sand: Vec::new(),
            asides: Vec::new(),
            holes_filled: None,
            litter_kg: None,
            notes: String::new(),
        }
    }

    /// Whether an instant lies in the outing, widened on both sides by `slack_s` seconds.
    pub fn covers(&self, time: Timestamp, slack_s: i64) -> bool {
        let t = time.as_second();
        t >= self.start.as_second() - slack_s && t <= self.end.as_second() + slack_s
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        if self.end < self.start {
            return Err(BookError::field("outing", format!("ends at {} before it starts at {}", self.end, self.start)));
        }
        check_range("litter", self.litter_kg, 0.0, 10_000.0, "kg")?;
        self.asides.iter().try_for_each(Aside::validate)
    }
}
