//! How long patterns take. `cargo bench --bench reading`

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};
use scourline::Progress;
use scourline::reading::dbscan;

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
}

criterion_group!(benches, clusters);
criterion_main!(benches);
