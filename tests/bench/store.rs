//! Writing and reading a large book: 100,000 finds and 1,000,000 fixes in 200 tracks.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic")]
#![allow(missing_docs, reason = "a bench")]

use std::sync::Arc;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use jiff::Timestamp;
use scourline::book::{Beach, Edit, Find, Kind, Record, Track, TrackPoint};
use scourline::earth::LonLat;
use scourline::store::Store;

fn large() -> Edit {
    let beach = Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).expect("on earth"));
    let at = |n: u32| LonLat::new(-20.0 + f64::from(n % 1000) * 1e-5, 45.0 + f64::from(n / 1000) * 1e-5).expect("on earth");
    let mut records = vec![Record::from(beach.clone())];
    records.extend((0..100_000).map(|n| {
        let mut find = Find::new(beach.uid, at(n), format!("invented find {n}"), Kind::keyed("coin"));
        find.depth_m = Some(0.1);
        find.time = Timestamp::from_second(1_700_000_000 + i64::from(n)).ok();
        find.into()
    }));
    records.extend((0..200u32).map(|track| {
        let fix =
            |n: u32| TrackPoint::new(at(track * 5000 + n)).with_time(Timestamp::from_second(i64::from(track * 5000 + n)).ok());
        let segments: Vec<Arc<[TrackPoint]>> = vec![(0..5000).map(fix).collect()];
        Track { uid: Track::content_uid(beach.uid, &segments), beach: beach.uid, outing: None, name: String::new(), segments }
            .into()
    }));
    Edit::Batch(records.into_iter().map(Edit::put).collect())
}

fn bench(c: &mut Criterion) {
    let edit = large();
    let mut group = c.benchmark_group("store");
    group.sample_size(10);
    group.bench_function("write 100,000 finds and 1,000,000 fixes", |b| {
        b.iter_batched(
            || {
                let dir = tempfile::tempdir().expect("a folder");
                let store = Store::create(dir.path().join("book.gpkg")).expect("a book");
                (dir, store)
            },
            |(dir, mut store)| {
                store.write(&edit).expect("room on the disk");
                (dir, store)
            },
            BatchSize::PerIteration,
        );
    });
    let dir = tempfile::tempdir().expect("a folder");
    let mut store = Store::create(dir.path().join("book.gpkg")).expect("a book");
    store.write(&edit).expect("room on the disk");
    group.bench_function("read them", |b| b.iter(|| store.load().expect("a book")));
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
