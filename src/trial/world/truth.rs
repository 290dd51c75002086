//! What is so on an invented beach, whatever a reading makes of it.

use super::land::Land;
use super::pattern::{DropZone, ScourLine};
use super::receiver::Receiver;
use super::sand::{Cause, Class, Richness};
use super::search::Visit;
use crate::book::Uid;

/// How the sand was surveyed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Survey {
    /// Every ten to thirty metres.
    Dense,
    /// A few lines across the shore.
    Sparse,
    /// Not at all, but the person set an even slope.
    Slope,
    /// Not at all.
    Missing,
}

/// A find, as it was and as it is in the book.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// Its uid in the book.
    pub uid: Uid,
    /// Number of its outing.
    pub visit: usize,
    /// What sort of thing.
    pub class: Class,
    /// Why it lay there.
    pub cause: Cause,
    /// When, seconds since 1970.
    pub time_s: i64,
    /// Where it lay, metres along and across.
    pub lay: (f64, f64),
    /// Where the book says, metres along and across.
    pub noted: (f64, f64),
    /// Whether the book names its outing and that has a track.
    pub counted: bool,
}

/// The truth behind a world.
#[derive(Debug, Clone)]
pub struct Truth {
    /// The ground.
    pub land: Land,
    /// The scour lines.
    pub lines: Vec<ScourLine>,
    /// The drop zones.
    pub zones: Vec<DropZone>,
    /// How rich the sand is elsewhere.
    pub richness: Richness,
    /// First and last instant, seconds since 1970.
    pub span_s: (i64, i64),
    /// Peaks of the storms, seconds since 1970.
    pub storms_s: Vec<i64>,
    /// How the sand was surveyed.
    pub survey: Survey,
    /// The receivers.
    pub receiver: Receiver,
    /// Chance per pass on an ordinary day.
    pub chance: f64,
    /// How much days differ: coefficient of variation.
    pub days_cv: f64,
    /// The outings in order of time.
    pub visits: Vec<Visit>,
    /// The finds.
    pub finds: Vec<Found>,
}

/// An even world without outings, for tests of what is worked out from a truth.
#[cfg(test)]
impl Truth {
    pub(crate) fn bare(land: Land) -> Self {
        Self {
            lines: Vec::new(),
            zones: Vec::new(),
            richness: Richness {
                per_100m2: 100.0,
                gradient: 0.0,
                heavy_share: 0.5,
                iron_share: 0.0,
                renewal_days: None,
                storm_gain: 0.0,
                storm_days: 1.0,
            },
            span_s: (0, 86_400 * 30),
            storms_s: Vec::new(),
            survey: Survey::Missing,
            receiver: Receiver { error_m: 1.0, white: 0.0, drift_s: 60.0, every_s: 1 },
            chance: 0.5,
            days_cv: 0.0,
            visits: Vec::new(),
            finds: Vec::new(),
            land,
        }
    }
}
