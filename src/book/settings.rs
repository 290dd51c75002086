//! What a person set of how a beach's ground and finds are read: kept with the beach, taken back like any edit.

use serde::{Deserialize, Serialize};

use super::words::words;
use super::{BookError, check_range};

words! {
    /// How finds are put together into clusters.
    ClusterMethod, "way to cluster finds" {
        /// Finds within one distance of each other (DBSCAN).
        Dbscan = "dbscan", "by one distance";
        /// Finds that lie denser than what is round them (HDBSCAN*).
        Hdbscan = "hdbscan", "by density";
    }
}

/// What counts as searched, and how wide. `None` stands for what is usual, so that it follows when that changes.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct SearchSettings {
    /// Way of the coil's middle from one end of a swing to the other, metres, 0 to 5.
    pub swing_m: Option<f64>,
    /// Width of the coil where the set-up gives none, metres, 0.05 to 3.
    pub coil_width_m: Option<f64>,
    /// Share of the swath that the coil really passes over, 0.05 to 1.
    pub overlap: Option<f64>,
    /// Faster than this is walking, not searching, metres per second, 0.05 to 10.
    pub walk_m_per_s: Option<f64>,
    /// Who turns by more than this is searching whatever the speed, degrees, 1 to 180.
    pub turn_deg: Option<f64>,
    /// A longer pause between two fixes is a gap, seconds, 1 to 3600.
    pub gap_s: Option<f64>,
}

impl SearchSettings {
    /// Whether every figure can be.
    ///
    /// # Errors
    /// [`BookError::Field`] naming the figure and its range.
    pub fn validate(&self) -> Result<(), BookError> {
        check_range("swing", self.swing_m, 0.0, 5.0, "m")?;
        check_range("width of the coil", self.coil_width_m, 0.05, 3.0, "m")?;
        check_range("share of the swath covered", self.overlap, 0.05, 1.0, "of 1")?;
        check_range("speed of walking", self.walk_m_per_s, 0.05, 10.0, "m/s")?;
        check_range("turning of who searches", self.turn_deg, 1.0, 180.0, "degrees")?;
        check_range("pause that is a gap", self.gap_s, 1.0, 3600.0, "s")
    }
}

/// How a reading is made. `None` stands for what is usual, so that it follows when that changes.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct ReadingSettings {
    /// How finds are clustered.
    pub cluster_by: Option<ClusterMethod>,
    /// Finds this near to each other belong together, metres, 0.1 to 1000; usual is a distance that fits how densely
    /// the finds lie. Kept, but of no account, while clusters are made by density.
    pub cluster_distance_m: Option<f64>,
    /// Finds that make the core of a cluster; by density, the least finds of one; 2 to 10,000.
    pub cluster_points: Option<u32>,
    /// Chance that one pass of the coil finds what lies under it, 0.01 to 1.
    pub detection_per_pass: Option<f64>,
    /// Share by which the effort in one place may be misjudged against the rest, 0 to 2.
    pub effort_error: Option<f64>,
    /// Rates before and after a storm are compared over at most this many days on either side, 1 to 3650.
    pub storm_days: Option<u32>,
}

impl ReadingSettings {
    /// Whether every figure can be.
    ///
    /// # Errors
    /// [`BookError::Field`] naming the figure and its range.
    pub fn validate(&self) -> Result<(), BookError> {
        check_range("distance of a cluster's finds", self.cluster_distance_m, 0.1, 1000.0, "m")?;
        check_range("finds of a cluster", self.cluster_points.map(f64::from), 2.0, 10_000.0, "finds")?;
        check_range("chance per pass", self.detection_per_pass, 0.01, 1.0, "of 1")?;
        check_range("share by which effort may be misjudged", self.effort_error, 0.0, 2.0, "of 1")?;
        check_range("days before and after a storm", self.storm_days.map(f64::from), 1.0, 3650.0, "days")
    }
}
