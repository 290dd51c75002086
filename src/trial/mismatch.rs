//! What a trial holds against a reading.

use serde::{Deserialize, Serialize};

use super::oracle::Both;

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
    /// What there was to be told of a planted one.
    #[serde(default)]
    pub evidence: Option<Both>,
    /// How many times as rich a planted one is.
    #[serde(default)]
    pub times: Option<f64>,
    /// Whether a missed one was told of as a hot spot at least.
    #[serde(default)]
    pub hot_spot: Option<bool>,
    /// Log likelihood ratio that the reading gives a told one.
    #[serde(default)]
    pub told_log_likelihood_ratio: Option<f64>,
    /// Outings of its beach.
    #[serde(default)]
    pub outings: usize,
    /// Natural logarithm of the beach's rate at its back over that at its lower edge.
    #[serde(default)]
    pub gradient: f64,
    /// Coefficient of variation of its days.
    #[serde(default)]
    pub days_cv: f64,
    /// Root mean square error of its receivers, metres.
    #[serde(default)]
    pub receiver_m: f64,
}

/// A beach that came to nothing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Failed {
    /// Its sort.
    pub sort: super::world::Sort,
    /// Its seed.
    pub seed: u64,
    /// What went wrong.
    pub why: String,
}
