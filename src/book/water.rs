use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::{BookError, Uid, check_range};

/// A high or low water as a tide table prints it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TideTurn {
    /// When.
    pub time: Timestamp,
    /// Height above the table's datum, metres.
    pub level_m: f64,
    /// High water or low water.
    pub high: bool,
}

/// A tide table of the person's own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TideTable {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it is for.
    pub beach: Uid,
    /// What the person calls it.
    pub name: String,
    /// High and low waters in turn, in order of time.
    pub turns: Vec<TideTurn>,
}

impl TideTable {
    pub(crate) fn validate(&self) -> Result<(), BookError> {
        if self.turns.len() < 2 {
            return Err(BookError::field("tide table", "has fewer than two turns of the tide"));
        }
        for pair in self.turns.windows(2) {
            if pair[1].time <= pair[0].time {
                return Err(BookError::field("tide table", format!("is not in order of time at {}", pair[1].time)));
            }
            if pair[1].high == pair[0].high {
                let kind = if pair[1].high { "high" } else { "low" };
                return Err(BookError::field("tide table", format!("has two {kind} waters in a row at {}", pair[1].time)));
            }
        }
        self.turns.iter().try_for_each(|t| check_range("tide height", Some(t.level_m), -20.0, 30.0, "m"))
    }
}

/// Levels as a gauge or logger recorded them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GaugeRecord {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it is for.
    pub beach: Uid,
    /// What the person calls it.
    pub name: String,
    /// Instants and heights above the gauge's datum, metres, in order of time.
    pub readings: Vec<(Timestamp, f64)>,
}

impl GaugeRecord {
    pub(crate) fn validate(&self) -> Result<(), BookError> {
        if self.readings.is_empty() {
            return Err(BookError::field("gauge record", "is empty"));
        }
        if !self.readings.is_sorted_by_key(|r| r.0) {
            return Err(BookError::field("gauge record", "is not in order of time"));
        }
        self.readings.iter().try_for_each(|r| check_range("gauge height", Some(r.1), -50.0, 50.0, "m"))
    }
}
