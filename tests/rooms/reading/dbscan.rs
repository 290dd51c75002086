//! Clusters against scikit-learn: every label of every point; of DBSCAN number and all.

use scourline::Progress;
use scourline::book::{Beach, Book, Find, Kind, Record};
use scourline::earth::{Frame, Local, LonLat};
use scourline::reading::{ClusterBy, Ground, Params, ReadingError, WeightChoice, dbscan, hdbscan, read};
use scourline::shore::Setting;
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
    let reference: Reference = serde_json::from_str(include_str!("../../reference/reading/dbscan.json")).unwrap();
    for set in reference.sets {
        for run in set.runs {
            let found = dbscan(&set.points, run.eps, run.min_samples, &Progress::new()).unwrap();
            let labels: Vec<i64> = found.labels.iter().map(|l| l.map_or(-1, i64::from)).collect();
            assert_eq!(labels, run.labels, "{} eps {} min {}", set.name, run.eps, run.min_samples);
        }
    }
}

#[derive(Deserialize)]
struct ByDensity {
    sets: Vec<DensitySet>,
}

#[derive(Deserialize)]
struct DensitySet {
    name: String,
    points: Vec<[f64; 2]>,
    runs: Vec<DensityRun>,
}

#[derive(Deserialize)]
struct DensityRun {
    min_cluster_size: usize,
    min_samples: usize,
    labels: Vec<i64>,
    probabilities: Vec<f64>,
    by_chance: Vec<i64>,
    hdbscan_agrees: bool,
}

/// How many labels differ once clusters are paired by the points they share, largest share first.
fn differing(ours: &[i64], theirs: &[i64]) -> usize {
    let mut shared = std::collections::BTreeMap::<(i64, i64), usize>::new();
    ours.iter().zip(theirs).for_each(|pair| *shared.entry((*pair.0, *pair.1)).or_default() += 1);
    let mut pairs: Vec<_> = shared.into_iter().filter(|((a, b), _)| (*a < 0) == (*b < 0)).collect();
    pairs.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    let (mut left, mut right) = (std::collections::BTreeSet::new(), std::collections::BTreeSet::new());
    let same: usize = pairs.iter().filter(|((a, b), _)| left.insert(*a) & right.insert(*b)).map(|p| p.1).sum();
    ours.len() - same
}

/// `sklearn.cluster.HDBSCAN` and the package `hdbscan`; versions in the file. Where edges are equal scikit-learn
/// takes either, so its own labels may differ at those points; with ties in our order none may.
#[test]
fn clusters_by_density_are_those_of_scikit_learn() {
    let reference: ByDensity = serde_json::from_str(include_str!("../../reference/reading/hdbscan_labels.json")).unwrap();
    for set in reference.sets {
        for run in set.runs {
            let found = hdbscan(&set.points, run.min_cluster_size, run.min_samples, &Progress::new()).unwrap();
            let labels: Vec<i64> = found.labels.iter().map(|l| l.map_or(-1, i64::from)).collect();
            let which = format!("{} size {} samples {}", set.name, run.min_cluster_size, run.min_samples);
            assert_eq!(differing(&labels, &run.labels), 0, "{which}");
            for (ours, theirs) in found.probabilities.iter().zip(&run.probabilities) {
                assert!((ours - theirs).abs() < 1e-6, "{which}: {ours} {theirs}");
            }
            let by_chance = differing(&labels, &run.by_chance);
            assert!(run.hdbscan_agrees && by_chance * 33 <= labels.len(), "{which}: {by_chance} of {}", labels.len());
        }
    }
}

/// A tight heap and a loose one: one distance cannot tell both from what is strewn between.
#[test]
fn a_reading_clusters_by_density_when_asked_to() {
    let beach = Beach::new("Invented Bay", LonLat::new(-12.0, 48.9).unwrap());
    let frame = Frame::centred_on(beach.origin).unwrap();
    let spiral = |n: u32, spread_m: f64| {
        let (turn, far) = (f64::from(n) * 2.399_963, spread_m * f64::from(n).sqrt());
        (far * turn.cos(), far * turn.sin())
    };
    let heaps = (0..40).map(|n| (spiral(n, 0.5), 0.0)).chain((0..40).map(|n| (spiral(n, 4.0), 120.0)));
    let mut records: Vec<Record> = vec![beach.clone().into()];
    for ((east, north), away) in heaps.chain([((60.0, 200.0), 0.0), ((-90.0, -150.0), 0.0)]) {
        let at = frame.to_lonlat(Local::new(east + away, north)).unwrap();
        records.push(Find::new(beach.uid, at, "lead", Kind::keyed("lead")).into());
    }
    let book = Book::gather(records).unwrap();
    let setting = Setting::from_book(&book, beach.uid).unwrap();
    let ground = Ground { book: &(&book).into(), setting: &setting, covered: None, now: None };
    let params = Params { cluster_by: ClusterBy::Hdbscan, cluster_points: 10, ..Params::default() };
    let reading = read(&ground, &params, &Progress::new()).unwrap();
    let sizes: Vec<usize> = reading.clusters.iter().filter(|c| c.of == WeightChoice::All).map(|c| c.uids.len()).collect();
    assert_eq!(sizes, [40, 40]);
    let run = reading.cluster_runs[0];
    assert_eq!((run.by, run.clusters, run.scattered), (ClusterBy::Hdbscan, 2, 2));
    assert!(run.distance_m > 4.0 && run.distance_m < 60.0, "{}", run.distance_m);
    let both = Params { cluster_distance_m: Some(5.0), ..params };
    assert!(matches!(read(&ground, &both, &Progress::new()), Err(ReadingError::Parameter { .. })));
}
