//! How a scan is run, and how it went.

use serde::{Deserialize, Serialize};

use super::asked::{Scanned, Settings};
use crate::reading::exposure::LEAST_OUTINGS;
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
    /// Cells that were searched.
    pub cells: usize,
    /// Replicates that were drawn under the null hypothesis; fewer than asked for where luck was plain early on.
    pub replicates: usize,
    /// How much outings differ beyond what they searched: the coefficient of variation of their effects.
    #[serde(default)]
    pub outings_cv: f64,
    /// Whether scour lines were sought by their distance from the baseline, as hardly any level is known.
    #[serde(default)]
    pub by_distance: bool,
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
        least_outings: LEAST_OUTINGS,
    }
}

impl ScanRun {
    /// Of what a scan gave.
    pub(in crate::reading) fn of_scan(
        (of, sought): (WeightChoice, &str),
        scanned: &Scanned,
        finds: usize,
        cell_m: f64,
        cells: usize,
    ) -> Self {
        Self {
            of,
            sought: sought.to_owned(),
            finds,
            cell_m,
            cells,
            replicates: scanned.replicates,
            outings_cv: if scanned.phi > 0.0 { scanned.phi.sqrt().recip() } else { 0.0 },
            by_distance: false,
            p: scanned.p,
            q: None,
        }
    }
}
