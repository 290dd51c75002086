//! Finds per 100 m² swept, with exact intervals.
//!
//! A count over known ground is taken as Poisson, its interval is that of Garwood ([`poisson_interval`]).

use serde::{Deserialize, Serialize};

use crate::chance::{COVERAGE, poisson_interval};

/// Finds per 100 m² of ground swept.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Rate {
    /// Finds counted.
    pub finds: f64,
    /// Ground swept, m².
    pub swept_m2: f64,
    /// Finds per 100 m².
    pub rate_per_100m2: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
    /// Further ground, swept at the same rate, that would halve the interval, m².
    pub to_halve_m2: f64,
}

impl Rate {
    /// The rate of a count on ground swept, m². `None` when no ground was swept.
    pub fn new(finds: f64, swept_m2: f64) -> Option<Self> {
        if !(swept_m2.is_finite() && swept_m2 > 0.0 && finds.is_finite() && finds >= 0.0) {
            return None;
        }
        let (low, high) = poisson_interval(finds, COVERAGE);
        let per_100m2 = 100.0 / swept_m2;
        Some(Self {
            finds,
            swept_m2,
            rate_per_100m2: finds * per_100m2,
            low: low * per_100m2,
            high: high * per_100m2,
            to_halve_m2: (times_to_halve(finds) - 1.0) * swept_m2,
        })
    }
}

/// How many times the ground is needed for an interval half as wide at the same rate.
fn times_to_halve(finds: f64) -> f64 {
    let width = |times: f64| {
        let (low, high) = poisson_interval(finds * times, COVERAGE);
        (high - low) / times
    };
    let wanted = 0.5 * width(1.0);
    let (mut low, mut high) = (1.0, 6.0);
    for _ in 0..30 {
        let mid = 0.5 * (low + high);
        if width(mid) > wanted { low = mid } else { high = mid }
    }
    high
}
