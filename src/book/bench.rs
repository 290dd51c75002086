use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::words::words;
use super::{BookError, Ground, Kind, Steadiness, Uid, check_range};

words! {
    /// How a bench target lay.
    Lie, "lie" {
        /// Flat to the coil.
        Flat = "flat", "flat";
        /// On edge.
        Edge = "edge", "on edge";
        /// In between.
        Tilted = "tilted", "tilted";
    }
}

/// One known target read at a known depth with one set-up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BenchReading {
    /// Its lasting name.
    pub uid: Uid,
    /// The settings it was read with.
    pub setup: Uid,
    /// What was buried; `None` for the bare hole, the control.
    pub kind: Option<Kind>,
    /// What the person calls that very target.
    pub target: String,
    /// Depth from the surface, as it was when read, to the target, metres.
    pub depth_m: f64,
    /// How much had been scraped off the top before it was read, metres; `None` for the surface as it was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scraped_m: Option<f64>,
    /// The ground it was read in, where that is noted with the reading and not with the set-up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ground: Option<Ground>,
    /// How it lay.
    pub lie: Option<Lie>,
    /// The target IDs as they came, pass by pass; empty when there was none.
    pub target_ids: Vec<i32>,
    /// How steady they were.
    pub steadiness: Option<Steadiness>,
    /// The tone, in the person's words.
    pub tone: String,
    /// The detector's depth step.
    pub gauge_step: Option<i32>,
    /// Whether one would have dug.
    pub dig: Option<bool>,
    /// When.
    pub time: Option<Timestamp>,
    /// Anything else.
    pub notes: String,
}

impl BenchReading {
    pub(crate) fn validate(&self) -> Result<(), BookError> {
        check_range("depth", Some(self.depth_m), 0.0, 3.0, "m")?;
        check_range("depth scraped off", self.scraped_m, 0.0, 3.0, "m")?;
        for id in &self.target_ids {
            check_range("target ID", Some(f64::from(*id)), -1000.0, 10_000.0, "")?;
        }
        check_range("gauge step", self.gauge_step.map(f64::from), 0.0, 100.0, "")
    }
}
