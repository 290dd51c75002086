use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::{BookError, Uid, check_range};

/// The sea at one instant, offshore.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SeaState {
    /// When.
    pub time: Timestamp,
    /// Significant wave height, metres.
    pub hs_m: f64,
    /// Peak period, seconds.
    pub tp_s: Option<f64>,
    /// Direction the waves come from, degrees from true north.
    pub dir_deg: Option<f64>,
    /// Water level above the predicted tide, metres.
    pub surge_m: Option<f64>,
}

/// A spell of heavy sea.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Storm {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it struck.
    pub beach: Uid,
    /// What the person calls it.
    pub name: String,
    /// The sea through it, in time order; at least one.
    pub series: Vec<SeaState>,
    /// Anything else.
    pub notes: String,
}

impl Storm {
    /// First and last instant.
    pub fn span(&self) -> Option<(Timestamp, Timestamp)> {
        Some((self.series.first()?.time, self.series.last()?.time))
    }

    /// The state with the highest waves.
    pub fn peak(&self) -> Option<&SeaState> {
        self.series.iter().max_by(|a, b| a.hs_m.total_cmp(&b.hs_m))
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        if self.series.is_empty() {
            return Err(BookError::field("storm", "has no record of the sea"));
        }
        if !self.series.is_sorted_by_key(|s| s.time) {
            return Err(BookError::field("storm", "is not in order of time"));
        }
        self.series.iter().try_for_each(SeaState::validate)
    }
}

/// Of their length, the steepest significant height; see [`SeaState::is_too_steep`].
const STEEPEST: f64 = 0.1;
/// Standard gravity to the digits that coastal engineering works with, metres a second squared.
const GRAVITY: f64 = 9.81;

impl SeaState {
    /// Length in deep water of waves of a period in seconds, metres: g T² / 2π (linear theory).
    pub fn length_m(period_s: f64) -> f64 {
        GRAVITY * period_s * period_s / std::f64::consts::TAU
    }

    /// Whether no sea stands so steep: a significant height, metres, over a tenth of the length that its period has in deep
    /// water. A single wave breaks at a seventh (Michell 1893), and the highest of a sea stand well above its significant
    /// height; that a tenth is never reached is this project's judgement, no published source.
    pub fn is_too_steep(height_m: f64, period_s: f64) -> bool {
        height_m > STEEPEST * Self::length_m(period_s)
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        check_range("wave height", Some(self.hs_m), 0.0, 40.0, "m")?;
        check_range("wave period", self.tp_s, 0.5, 40.0, "s")?;
        check_range("wave direction", self.dir_deg, 0.0, 360.0, "degrees")?;
        check_range("surge", self.surge_m, -5.0, 15.0, "m")
    }
}
