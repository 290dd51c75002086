//! Ground covered by 1,000,000 fixes in 100 tracks on a grid of 1 m.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic")]
#![allow(missing_docs, reason = "a bench")]

use std::sync::Arc;

use criterion::{Criterion, criterion_group, criterion_main};
use jiff::Timestamp;
use scourline::Progress;
use scourline::book::{Beach, Book, Record, Track, TrackPoint};
use scourline::earth::{Frame, Local, LonLat};
use scourline::effort::{Effort, Params, walks_of};

/// Lanes along 900 m of beach at 0.5 m/s, with the wobble of a receiver.
fn book() -> (Book, scourline::book::Uid) {
    let beach = Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).expect("on earth"));
    let frame = Frame::centred_on(beach.origin).expect("a plane");
    let mut records = vec![Record::from(beach.clone())];
    for track in 0..100u32 {
        let fix = |n: u32| {
            let (lane, along) = (n / 1000, f64::from(n % 1000) * 0.5);
            let along = if lane % 2 == 0 { along } else { 500.0 - along };
            let wobble = f64::from(n) * 0.05 + f64::from(track);
            let x = f64::from(track % 10) * 45.0 + along + wobble.sin();
            let y = f64::from(track / 10) * 15.0 + f64::from(lane) * 1.4 + (wobble * 1.7).cos();
            let at = frame.to_lonlat(Local::new(x, y)).expect("on the beach");
            TrackPoint::new(at).with_time(Timestamp::from_second(1_600_000_000 + i64::from(track) * 100_000 + i64::from(n)).ok())
        };
        let segments: Vec<Arc<[TrackPoint]>> = vec![(0..10_000).map(fix).collect()];
        let uid = Track::content_uid(beach.uid, &segments);
        records.push(Track { uid, beach: beach.uid, outing: None, name: String::new(), segments }.into());
    }
    (Book::gather(records).expect("a valid book"), beach.uid)
}

fn bench(c: &mut Criterion) {
    let (book, beach) = book();
    let params = Params::default();
    let (walks, _) = walks_of(&(&book).into(), &book.beaches()[&beach], |p| p, &params).expect("walks");
    let mut group = c.benchmark_group("effort");
    group.sample_size(10);
    group.bench_function("1,000,000 fixes onto a 1 m grid", |b| {
        b.iter(|| Effort::from_book(&book, beach, |p| p, &params, &Progress::new()).expect("an effort"));
    });
    group.bench_function("the same, projected before", |b| {
        b.iter(|| Effort::of_walks(&walks, &params, &Progress::new()).expect("an effort"));
    });
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
