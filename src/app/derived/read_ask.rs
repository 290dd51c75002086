use crate::effort;
use crate::reading::{ClusterBy, Filter, Params};

/// What a reading is asked for.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ReadAsk {
    /// Which finds and outings; the weight is a matter of what is shown and never part of it.
    pub(crate) filter: Filter,
    pub(crate) cluster_by: ClusterBy,
    /// Finds this near to each other belong together; taken from the finds when `None`, metres. Of no
    /// account when clusters are made by density.
    pub(crate) radius_m: Option<f64>,
    /// Finds that make the core of a cluster; by density, the least finds of one.
    pub(crate) least: usize,
    /// What counts as searched, and how wide.
    pub(crate) effort: effort::Params,
    /// Chance that one pass finds what lies under it, 0 to 1.
    pub(crate) per_pass: f64,
    /// Share by which the effort in one place may be misjudged.
    pub(crate) effort_error: f64,
}

impl ReadAsk {
    /// The settings of the reading.
    pub(crate) fn params(&self) -> Params {
        Params {
            cluster_by: self.cluster_by,
            cluster_distance_m: self.radius_m.filter(|_| self.cluster_by == ClusterBy::Dbscan),
            cluster_points: self.least,
            detection_per_pass: self.per_pass,
            effort_error: self.effort_error,
            ..Params::default()
        }
    }
}

impl Default for ReadAsk {
    fn default() -> Self {
        let usual = Params::default();
        Self {
            filter: Filter::default(),
            cluster_by: usual.cluster_by,
            radius_m: usual.cluster_distance_m,
            least: usual.cluster_points,
            effort: effort::Params::default(),
            per_pass: usual.detection_per_pass,
            effort_error: usual.effort_error,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_distance_that_was_set_waits_while_clusters_are_made_by_density() {
        let ask = ReadAsk { cluster_by: ClusterBy::Dbscan, radius_m: Some(8.0), least: 9, ..ReadAsk::default() };
        assert_eq!((ask.params().cluster_distance_m, ask.params().cluster_points), (Some(8.0), 9));
        let ask = ReadAsk { cluster_by: ClusterBy::Hdbscan, ..ask };
        assert_eq!((ask.params().cluster_by, ask.params().cluster_distance_m), (ClusterBy::Hdbscan, None));
        assert_eq!(ReadAsk::default().params(), Params::default());
    }
}
