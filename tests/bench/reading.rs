//! How long patterns take. `cargo bench --bench reading`

#![allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};
use scourline::Progress;
use scourline::book::{Beach, LevelPoint, Uid};
use scourline::earth::{Frame, Local, LonLat};
use scourline::reading::{dbscan, hdbscan};
use scourline::shore::Shore;

/// Half in 200 clumps of 2-12 m spread, half strewn over 4 km by 1 km.
fn points(count: usize) -> Vec<[f64; 2]> {
    let mut rng = ChaCha8Rng::seed_from_u64(11);
    // Ground grows with the count, so that density stays the same.
    let scale = (count as f64 / 1e6).sqrt();
    let clumps: Vec<([f64; 2], f64)> = (0..(200.0 * scale * scale).ceil() as usize)
        .map(|_| ([rng.random_range(0.0..4000.0 * scale), rng.random_range(0.0..1000.0 * scale)], rng.random_range(2.0..12.0)))
        .collect();
    (0..count)
        .map(|n| {
            if n % 2 == 0 {
                let (centre, spread) = clumps[rng.random_range(0..clumps.len())];
                let around = Normal::new(0.0, spread).expect("a spread of metres is a valid one");
                [centre[0] + around.sample(&mut rng), centre[1] + around.sample(&mut rng)]
            } else {
                [rng.random_range(0.0..4000.0 * scale), rng.random_range(0.0..1000.0 * scale)]
            }
        })
        .collect()
}

fn clusters(c: &mut Criterion) {
    let mut group = c.benchmark_group("dbscan");
    group.sample_size(10);
    for count in [10_000, 100_000, 1_000_000] {
        let points = points(count);
        group.bench_function(format!("{count} points"), |b| {
            b.iter(|| dbscan(black_box(&points), 2.0, 10, &Progress::new()).expect("the settings are valid"));
        });
    }
    group.finish();
    let mut group = c.benchmark_group("hdbscan");
    group.sample_size(10);
    for count in [10_000, 100_000] {
        let points = points(count);
        group.bench_function(format!("{count} points"), |b| {
            b.iter(|| hdbscan(black_box(&points), 10, 10, &Progress::new()).expect("the settings are valid"));
        });
    }
    group.finish();
}

/// The water's edge over 5,000 surveyed levels, as dragging along the tide asks for it.
fn water_edge(c: &mut Criterion) {
    let origin = LonLat::new(-12.0, 48.9).expect("a position on earth");
    let frame = Frame::centred_on(origin).expect("a plane can be laid there");
    let at = |e: f64, n: f64| frame.to_lonlat(Local::new(e, n)).expect("near the centre");
    let mut beach = Beach::new("Invented Bay", origin);
    beach.baseline = vec![at(0.0, 0.0), at(800.0, 0.0)];
    beach.datum_offset_m = Some(3.0);
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let level = |_| {
        let (e, n) = (rng.random_range(0.0..800.0), rng.random_range(-200.0..0.0));
        LevelPoint {
            uid: Uid::fresh(),
            beach: beach.uid,
            at: at(e, n),
            level_m: 4.0 + 0.03 * n + 0.3 * f64::sin(e / 30.0),
            sigma_m: None,
            date: None,
            survey: String::new(),
        }
    };
    let levels: Vec<LevelPoint> = (0..5000).map(level).collect();
    let shore = Shore::build(&beach, &levels).expect("it has a baseline");
    c.bench_function("water edge, 5000 levels", |b| b.iter(|| shore.water_edge(black_box(4.1)).expect("it has levels")));
    c.bench_function("ground under water, 5000 levels", |b| {
        b.iter(|| shore.under_water(black_box(4.1)).expect("it has levels"));
    });
}

criterion_group!(benches, clusters, water_edge);
criterion_main!(benches);
