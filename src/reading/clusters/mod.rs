//! Finds that lie near to each other, by one distance or by how dense they lie.

mod cluster;
mod dbscan;
mod hdbscan;
mod kd_tree;
mod spanning;
mod surer;

pub use cluster::{Cluster, ClusterRun};
pub use dbscan::{Dbscan, dbscan};
pub use hdbscan::{Hdbscan, hdbscan};

pub(super) use cluster::clusters;
pub(super) use surer::tell_surer;
