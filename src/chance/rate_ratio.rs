//! One rate over another, with its interval.

use serde::{Deserialize, Serialize};

/// One rate over another.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RateRatio {
    /// The first rate over the second; `None` when the second counts nothing.
    pub ratio: Option<f64>,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval; `None` when it is not bounded.
    pub high: Option<f64>,
    /// Two-sided chance of a difference as large as this with equal rates.
    pub p: f64,
}
