use serde::{Deserialize, Serialize};

use super::ReadingError;

/// The settings of a reading. Part of every reading, so that it can be run again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Params {
    /// Finds this near to each other belong together, metres. `None`: taken from the finds, so that
    /// on evenly strewn ground one find in a hundred would be the core of a cluster by chance.
    pub cluster_distance_m: Option<f64>,
    /// Finds within that distance, itself counted, that make a find the core of a cluster.
    pub cluster_points: usize,
    /// Fewer finds than this on the beach, and no cluster is read from them.
    pub least_finds: usize,
    /// Less ground swept than this in a part of the beach, m², and its rate is told as not known yet.
    pub least_swept_m2: f64,
}

impl Default for Params {
    fn default() -> Self {
        Self { cluster_distance_m: None, cluster_points: 6, least_finds: 20, least_swept_m2: 200.0 }
    }
}

impl Params {
    pub(super) fn check(&self) -> Result<(), ReadingError> {
        let bad = |what, why: &str| Err(ReadingError::Parameter { what, why: why.to_owned() });
        if self.cluster_distance_m.is_some_and(|d| !(0.1..=1000.0).contains(&d)) {
            return bad("cluster distance", "it must be between 0.1 and 1000 m");
        }
        if !(2..=10_000).contains(&self.cluster_points) {
            return bad("points of a cluster", "there must be between 2 and 10,000");
        }
        Ok(())
    }
}
