//! What a trial holds against a reading.

use serde::{Deserialize, Serialize};

/// A pattern that was planted and missed, or told and wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mismatch {
    /// Seed of its beach.
    pub seed: u64,
    /// Its middle, or its two ends, metres along.
    pub along_m: Vec<f64>,
    /// Its middle, metres across.
    pub across_m: f64,
    /// Level of a scour line, metres above the land datum.
    pub level_m: Option<f64>,
    /// Finds that it gave.
    pub finds: usize,
}
