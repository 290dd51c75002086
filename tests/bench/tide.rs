//! How long the tide takes: a year of heights, a year of turns, the levels, the catalogue.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use jiff::{SignedDuration, Timestamp};
use scourline::tide::{Analysis, Catalogue, Datum, Levels, Predictor, Water, dry_windows};

fn tide(c: &mut Criterion) {
    let from: Timestamp = "2024-01-01T00:00:00Z".parse().expect("a valid time");
    let to = from + SignedDuration::from_hours(366 * 24);
    // NOAA's standard 37 constituents, and TICON's 50 at a place with double waters.
    for (name, id) in [("seattle", "noaa/9447130"), ("southampton", "ticon/southampton-sou-gbr-da_idh")] {
        let station = Catalogue::shipped().get(id).expect("a shipped station");
        let predictor = Predictor::new(station, &Datum::Msl).expect("a usable station");
        println!("{name}: {} constituents", predictor.used().count());
        c.bench_function(&format!("{name}: a year of heights every 6 minutes"), |b| {
            b.iter(|| predictor.heights(black_box(from), 360.0, 87_840));
        });
        c.bench_function(&format!("{name}: a year of turns"), |b| b.iter(|| predictor.turns(black_box(from), to)));
        c.bench_function(&format!("{name}: levels, HAT and LAT by 19 years"), |b| {
            b.iter(|| Levels::computed(black_box(&predictor)));
        });
        c.bench_function(&format!("{name}: one height"), |b| b.iter(|| predictor.height_m(black_box(from))));
    }
    let station = Catalogue::shipped().get("noaa/9447130").expect("a shipped station");
    let water = Water::of_station(station, Datum::Mllw).expect("a usable station");
    c.bench_function("a year of dry windows", |b| b.iter(|| dry_windows(black_box(&water), 1.0, 0.3, from, to)));
    let names: Vec<&str> = water.predictor().expect("a station").used().map(|(name, _)| name).collect();
    let heights = water.predictor().expect("a station").heights(from, 3600.0, 8784);
    let record: Vec<(Timestamp, f64)> =
        heights.iter().enumerate().map(|(i, &h)| (from + SignedDuration::from_hours(i as i64), h)).collect();
    c.bench_function(&format!("analysis of a year of hours for {} constituents", names.len()), |b| {
        b.iter(|| Analysis::for_constituents(black_box(&record), &names).expect("a long record"));
    });
    let mut text = String::new();
    let packed = &include_bytes!("../../data/tides/catalogue.tsv.gz")[..];
    c.bench_function("the catalogue unpacked and read", |b| {
        b.iter(|| {
            text.clear();
            std::io::Read::read_to_string(&mut flate2::read::GzDecoder::new(packed), &mut text).expect("a gzip file");
            Catalogue::from_tsv(&text).expect("a readable catalogue")
        });
    });
}

criterion_group!(benches, tide);
criterion_main!(benches);
