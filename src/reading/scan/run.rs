//! How a scan is run, and how it went.

use serde::{Deserialize, Serialize};

use super::statistic::Settings;
use crate::reading::given::WeightChoice;
use crate::reading::params::Params;

/// How one scan went, whether or not it found anything.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ScanRun {
    /// Which finds.
    pub of: WeightChoice,
    /// What was sought: "hot_spot" or "scour_line".
    pub sought: String,
    /// Finds on ground swept.
    pub finds: usize,
    /// Side of a cell along the shore, metres.
    pub cell_m: f64,
    /// Cells with effort.
    pub cells: usize,
    /// Replicates under the null hypothesis.
    pub replicates: usize,
    /// Chance of a window as strong as the strongest; `None` when nothing exceeded its expectation.
    pub p: Option<f64>,
    /// The same after all scans of the reading were allowed for.
    pub q: Option<f64>,
}

pub(in crate::reading) fn settings(params: &Params, salt: u64) -> Settings {
    Settings {
        least_finds: params.least_in_spot,
        replicates: params.replicates,
        seed: params.seed.wrapping_add(salt),
        worst_p: params.worst_p,
        margin: 1.0 + params.effort_error,
    }
}
