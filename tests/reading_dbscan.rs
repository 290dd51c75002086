//! Clusters against scikit-learn: every label of every point, number and all.

#![allow(clippy::unwrap_used, reason = "a test may stop at once, in its helpers too")]

use scourline::Progress;
use scourline::reading::dbscan;
use serde::Deserialize;

#[derive(Deserialize)]
struct Reference {
    sets: Vec<Set>,
}

#[derive(Deserialize)]
struct Set {
    name: String,
    points: Vec<[f64; 2]>,
    runs: Vec<Run>,
}

#[derive(Deserialize)]
struct Run {
    eps: f64,
    min_samples: usize,
    labels: Vec<i64>,
}

/// `sklearn.cluster.DBSCAN`; version in the file.
#[test]
fn labels_are_those_of_scikit_learn() {
    let reference: Reference = serde_json::from_str(include_str!("reference/reading/dbscan.json")).unwrap();
    for set in reference.sets {
        for run in set.runs {
            let found = dbscan(&set.points, run.eps, run.min_samples, &Progress::new()).unwrap();
            let labels: Vec<i64> = found.labels.iter().map(|l| l.map_or(-1, i64::from)).collect();
            assert_eq!(labels, run.labels, "{} eps {} min {}", set.name, run.eps, run.min_samples);
        }
    }
}
