use serde::{Deserialize, Serialize};

use super::error::ReadingError;
use crate::book::{ClusterMethod, ReadingSettings};

/// How finds are clustered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ClusterBy {
    /// By one distance for the whole beach ([`dbscan`](super::dbscan)).
    #[default]
    Dbscan,
    /// By how dense finds lie against what lies round them ([`hdbscan`](super::hdbscan)): no distance is asked for, and a
    /// loose cluster is seen beside a tight one.
    Hdbscan,
}

impl From<ClusterMethod> for ClusterBy {
    fn from(method: ClusterMethod) -> Self {
        match method {
            ClusterMethod::Dbscan => Self::Dbscan,
            ClusterMethod::Hdbscan => Self::Hdbscan,
        }
    }
}

/// The settings of a reading. Part of every reading, so that it can be run again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Params {
    /// How finds are clustered.
    pub cluster_by: ClusterBy,
    /// Finds this near to each other belong together, metres. `None`: taken from the finds, so that
    /// on evenly strewn ground one find in a hundred would be the core of a cluster by chance. HDBSCAN* has none.
    pub cluster_distance_m: Option<f64>,
    /// Finds within that distance, itself counted, that make a find the core of a cluster; with HDBSCAN* the
    /// least finds of a cluster, and those that tell how dense they lie.
    pub cluster_points: usize,
    /// Fewer finds than this on the beach, and no cluster is read from them.
    pub least_finds: usize,
    /// Less ground swept than this in a part of the beach, m², and its rate is told as not known yet.
    pub least_swept_m2: f64,
    /// A rate before a storm is compared with that after it over at most this many days on either side.
    pub storm_days: u32,
    /// Fewer finds than this before and after together, and their rates are not compared.
    pub least_compared: u32,
    /// Side of a square of the rates on a grid, metres; coarser on very large beaches.
    pub rate_cell_m: f64,
    /// Within this of a high or low water it is neither ebb nor flood, minutes.
    pub slack_minutes: f64,
    /// Chance that one pass of the coil finds what lies under it, 0 to 1: ground swept again counts less.
    pub detection_per_pass: f64,
    /// Share by which the effort in one place may be misjudged against the rest, 0 to 2: nothing is told that
    /// this alone could bring about.
    pub effort_error: f64,
    /// Side of a cell of the scans, metres; coarser on very large beaches.
    pub scan_cell_m: f64,
    /// Finds that a hot spot or scour line needs at least.
    pub least_in_spot: u32,
    /// Replicates drawn under the null hypothesis.
    pub replicates: usize,
    /// Seed of the replicates.
    pub seed: u64,
    /// A hot spot or scour line is told of up to this chance of a false alarm.
    pub worst_p: f64,
}

impl Default for Params {
    fn default() -> Self {
        Self {
            cluster_by: ClusterBy::Dbscan,
            cluster_distance_m: None,
            cluster_points: 6,
            least_finds: 20,
            least_swept_m2: 200.0,
            storm_days: 60,
            least_compared: 5,
            rate_cell_m: 10.0,
            slack_minutes: 30.0,
            detection_per_pass: 0.7,
            effort_error: 0.15,
            scan_cell_m: 4.0,
            least_in_spot: 5,
            replicates: 999,
            seed: 1,
            worst_p: 0.05,
        }
    }
}

impl Params {
    /// What a person set for a beach, and the usual for the rest.
    pub fn from_settings(set: &ReadingSettings) -> Self {
        let usual = Self::default();
        let cluster_by = set.cluster_by.map_or(usual.cluster_by, ClusterBy::from);
        Self {
            cluster_by,
            cluster_distance_m: set.cluster_distance_m.filter(|_| cluster_by == ClusterBy::Dbscan),
            cluster_points: set.cluster_points.map_or(usual.cluster_points, |n| n as usize),
            detection_per_pass: set.detection_per_pass.unwrap_or(usual.detection_per_pass),
            effort_error: set.effort_error.unwrap_or(usual.effort_error),
            storm_days: set.storm_days.unwrap_or(usual.storm_days),
            ..usual
        }
    }

    pub(super) fn check(&self) -> Result<(), ReadingError> {
        let bad = |what, why: &str| Err(ReadingError::Parameter { what, why: why.to_owned() });
        if self.cluster_distance_m.is_some_and(|d| !(0.1..=1000.0).contains(&d)) {
            return bad("cluster distance", "it must be between 0.1 and 1000 m");
        }
        if self.cluster_by == ClusterBy::Hdbscan && self.cluster_distance_m.is_some() {
            return bad("cluster distance", "HDBSCAN* has none; leave the distance out or cluster with DBSCAN");
        }
        if !(2..=10_000).contains(&self.cluster_points) {
            return bad("points of a cluster", "there must be between 2 and 10,000");
        }
        if !(1..=3650).contains(&self.storm_days) {
            return bad("days before and after a storm", "there must be between 1 and 3650");
        }
        if !(1.0..=1000.0).contains(&self.rate_cell_m) {
            return bad("square of the rates", "it must be between 1 and 1000 m");
        }
        if !(0.0..=180.0).contains(&self.slack_minutes) {
            return bad("minutes about high and low water", "there must be between 0 and 180");
        }
        if !(0.01..=1.0).contains(&self.detection_per_pass) {
            return bad("chance per pass", "it must be between 0.01 and 1");
        }
        if !(0.0..=2.0).contains(&self.effort_error) {
            return bad("share by which effort may be misjudged", "it must be between 0 and 2");
        }
        if !(0.5..=100.0).contains(&self.scan_cell_m) {
            return bad("cell of the scan", "it must be between 0.5 and 100 m");
        }
        if !(19..=99_999).contains(&self.replicates) {
            return bad("replicates", "there must be between 19 and 99,999");
        }
        if !(0.0001..=0.2).contains(&self.worst_p) || self.least_in_spot < 2 {
            return bad("evidence asked for", "the chance must be between 0.0001 and 0.2, the finds at least 2");
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_book_takes_is_what_can_be_used() {
        assert_eq!(Params::from_settings(&ReadingSettings::default()), Params::default());
        type Field = fn(&mut ReadingSettings, f64);
        let fields: [(Field, f64, f64, f64); 5] = [
            (|s, v| s.cluster_distance_m = Some(v), 0.1, 1000.0, 1e-9),
            (|s, v| s.detection_per_pass = Some(v), 0.01, 1.0, 1e-9),
            (|s, v| s.effort_error = Some(v), 0.0, 2.0, 1e-9),
            (|s, v| s.cluster_points = Some(v as u32), 2.0, 10_000.0, 1.0),
            (|s, v| s.storm_days = Some(v as u32), 1.0, 3650.0, 1.0),
        ];
        for (set_to, low, high, step) in fields {
            for (value, fits) in [(low, true), (high, true), (low - step, false), (high + step, false)] {
                let mut set = ReadingSettings::default();
                set_to(&mut set, value);
                let used = Params::from_settings(&set);
                assert_eq!((set.validate().is_ok(), used.check().is_ok()), (fits, fits), "{value}");
                assert_ne!(used, Params::default(), "{value} is used");
            }
        }
    }

    #[test]
    fn a_distance_is_kept_but_of_no_account_while_clusters_are_made_by_density() {
        let set = ReadingSettings {
            cluster_by: Some(ClusterMethod::Hdbscan),
            cluster_distance_m: Some(8.0),
            ..ReadingSettings::default()
        };
        let used = Params::from_settings(&set);
        assert_eq!((used.cluster_by, used.cluster_distance_m), (ClusterBy::Hdbscan, None));
        assert!(set.validate().is_ok() && used.check().is_ok());
    }
}
