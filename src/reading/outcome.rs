use serde::{Deserialize, Serialize};

use super::clusters::{Cluster, ClusterRun};
use super::exposure::{Apart, Renewal};
use super::given::Pinned;
use super::params::Params;
use super::rates::{
    BandReading, Cells, Differ, Forecasts, FreshAgain, KindReading, Storms, TideReading, UndugReading, Yield, ZoneReading,
};
use super::scan::{HotSpot, ScanRun, ToTell};
use super::verdicts::{DropZone, ScourLine};

/// All that was read from one beach.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Name of the beach.
    pub beach: String,
    /// The settings it was made with.
    pub params: Params,
    /// What the reader ought to know: what is missing, left out or too little. One sentence each.
    pub notes: Vec<String>,
    /// Finds of the whole beach and their rates.
    pub whole: Yield,
    /// How the finds were clustered.
    pub cluster_runs: Vec<ClusterRun>,
    /// Clusters of all finds, then of the heavy, then of the light ones; largest first.
    pub clusters: Vec<Cluster>,
    /// How many finds are set apart, and why; they are counted, and enter no rate and no verdict.
    #[serde(default)]
    pub apart: Apart,
    /// Positions that many finds share.
    #[serde(default)]
    pub pinned: Vec<Pinned>,
    /// How ground that was swept fills up again, as exposure has it; `None` without ground covered.
    pub renewal: Option<Renewal>,
    /// How the scans went.
    pub scan_runs: Vec<ScanRun>,
    /// Hot spots that are more than luck, of all finds, then of the heavy, then of the light ones.
    pub hot_spots: Vec<HotSpot>,
    /// What it takes to tell a place from luck: of all finds, the heavy and the light ones.
    #[serde(default)]
    pub to_tell: Vec<ToTell>,
    /// What was not sought, and for lack of what; one sentence each.
    #[serde(default)]
    pub not_sought: Vec<String>,
    /// Hot spots that are drop zones.
    pub drop_zones: Vec<DropZone>,
    /// Scour lines, strongest first.
    pub scour_lines: Vec<ScourLine>,
    /// What each band gave, from the highest down.
    pub bands: Vec<BandReading>,
    /// What each zone gave, in order of name.
    pub zones: Vec<ZoneReading>,
    /// What each kind gave, most frequent first.
    #[serde(default)]
    pub kinds: Vec<KindReading>,
    /// Rates on a grid along and across the shore.
    #[serde(default)]
    pub cells: Cells,
    /// How much cells and outings differ beyond luck; `None` where no ground was swept.
    #[serde(default)]
    pub differ: Option<Differ>,
    /// Each past outing forecast from the others; `None` with too few outings, and then a note says so.
    #[serde(default)]
    pub forecasts: Option<Forecasts>,
    /// What fresh ground gave and what ground swept again: the beach, then each band from the highest down.
    #[serde(default)]
    pub fresh: Vec<FreshAgain>,
    /// What the beach gave by state of the tide, then each band from the highest down.
    #[serde(default)]
    pub tides: Vec<TideReading>,
    /// Signals heard and left, as the finds they are expected to be; they enter no rate.
    #[serde(default)]
    pub undug: UndugReading,
    /// What the beach and each band gave before and after storms.
    #[serde(default)]
    pub storms: Storms,
}
