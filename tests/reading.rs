//! A whole reading of an invented beach, and of beaches with hardly anything on them.

#![allow(clippy::unwrap_used, reason = "a test may stop at once, in its helpers too")]

use jiff::Timestamp;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use scourline::Progress;
use scourline::book::{Beach, Book, Find, Kind, Record, TideChoice, Uid, Zone, ZoneUse};
use scourline::earth::{Frame, Local, LonLat};
use scourline::reading::{Covered, CoveredCell, Ground, Of, Params, Reading, ReadingError, read};
use scourline::shore::Setting;
use scourline::tide::Catalogue;

struct Sand {
    beach: Beach,
    frame: Frame,
    records: Vec<Record>,
}

impl Sand {
    /// 400 m of straight shore, sea to the south, falling 3 in 100 from 4 m.
    fn new() -> Self {
        let origin = LonLat::new(-12.0, 48.9).unwrap();
        let frame = Frame::centred_on(origin).unwrap();
        let at = |e: f64, n: f64| frame.to_lonlat(Local::new(e, n)).unwrap();
        let mut beach = Beach::new("Invented Bay", origin);
        beach.baseline = vec![at(0.0, 0.0), at(400.0, 0.0)];
        (beach.slope, beach.back_level_m, beach.datum_offset_m) = (Some(0.03), Some(4.0), Some(3.0));
        beach.tide = TideChoice::Station(Catalogue::shipped().nearest(origin, 1)[0].0.id.clone());
        Self { beach, frame, records: Vec::new() }
    }

    fn find(&mut self, along_m: f64, across_m: f64, kind: &str) {
        let at = self.frame.to_lonlat(Local::new(along_m, -across_m)).unwrap();
        self.records.push(Find::new(self.beach.uid, at, kind, Kind::keyed(kind)).into());
    }

    fn read(&self, covered: Option<&Covered>, params: &Params) -> Result<Reading, ReadingError> {
        let book = Book::gather(self.records.iter().cloned().chain([self.beach.clone().into()])).unwrap();
        let setting = Setting::of(&book, self.beach.uid).unwrap();
        let now = Some("2024-06-01T00:00:00Z".parse::<Timestamp>().unwrap());
        read(&Ground { book: &book, setting: &setting, covered, now }, params, &Progress::new())
    }
}

fn clumps() -> Sand {
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let mut sand = Sand::new();
    for (along, across, kind, count) in [(100.0, 60.0, "lead", 40), (300.0, 30.0, "ring_pull", 25)] {
        for _ in 0..count {
            sand.find(along + rng.random_range(-6.0..6.0), across + rng.random_range(-3.0..3.0), kind);
        }
    }
    for _ in 0..60 {
        sand.find(rng.random_range(0.0..400.0), rng.random_range(0.0..120.0), "coin");
    }
    sand
}

#[test]
fn clumps_come_back_with_their_make_up_and_level() {
    let reading = clumps().read(None, &Params::default()).unwrap();
    let all: Vec<_> = reading.clusters.iter().filter(|c| c.of == Of::All).collect();
    assert_eq!(all.len(), 2, "{:?}", reading.cluster_runs);
    assert!(all[0].counts.finds >= 40 && all[0].kinds[0].kind == Kind::keyed("lead"));
    let shore = all[0].shore.unwrap();
    assert!((shore.along_m - 100.0).abs() < 3.0 && (shore.across_m - 60.0).abs() < 2.0, "{shore:?}");
    let level = all[0].level.unwrap();
    assert!((level.median_m - 2.2).abs() < 0.1 && level.low_m < level.high_m, "{level:?}");
    assert!(all[0].band.is_some() && all[0].band_share.unwrap() > 0.5);
    assert!(all[0].hull.first() == all[0].hull.last() && all[0].area_m2 > 30.0);
    assert!(reading.clusters.iter().any(|c| c.of == Of::Light && c.kinds[0].kind == Kind::keyed("ring_pull")));
    let banded: usize = reading.bands.iter().map(|b| b.gave.counts.finds).sum();
    assert_eq!(banded, reading.whole.counts.finds);
    assert!(reading.notes.iter().any(|n| n.contains("no rates")), "{:?}", reading.notes);
}

#[test]
fn rates_divide_by_the_ground_swept() {
    let sand = clumps();
    let cells = (0..40).flat_map(|i| {
        (0..12).map(move |j| CoveredCell {
            along_m: 5.0 + 10.0 * f64::from(i),
            across_m: 5.0 + 10.0 * f64::from(j),
            swept_m2: 50.0,
            passes: 1.0,
        })
    });
    let covered = Covered { cell_m: 10.0, cells: cells.collect(), visits: Vec::new() };
    let reading = sand.read(Some(&covered), &Params::default()).unwrap();
    let rate = reading.whole.rate.unwrap();
    assert!((rate.rate_per_100m2 - 125.0 / 24_000.0 * 100.0).abs() < 1e-9);
    assert!(rate.low < rate.rate_per_100m2 && rate.rate_per_100m2 < rate.high);
    let swept: f64 = reading.bands.iter().filter_map(|b| b.gave.swept_m2).sum();
    assert!((swept - 24_000.0).abs() < 1e-6, "{swept}");
    assert!(reading.whole.surer.as_ref().unwrap().contains("would halve"), "{:?}", reading.whole.surer);
}

#[test]
fn a_reading_repeats_and_reads_itself_back_from_json() {
    let sand = clumps();
    let reading = sand.read(None, &Params::default()).unwrap();
    assert_eq!(sand.read(None, &reading.params).unwrap(), reading);
    let text = serde_json::to_string(&reading).unwrap();
    let back: Reading = serde_json::from_str(&text).unwrap();
    assert_eq!(back.clusters.len(), reading.clusters.len());
    assert!(text.contains("\"distance_m\"") && text.contains("\"low_m\"") && text.contains("\"density_per_100m2\""));
}

#[test]
fn five_finds_are_no_pattern() {
    let mut sand = Sand::new();
    for n in 0..5 {
        sand.find(f64::from(n), 10.0, "coin");
    }
    let reading = sand.read(None, &Params::default()).unwrap();
    assert!(reading.clusters.is_empty());
    assert!(reading.notes.iter().any(|n| n.contains("Not enough finds")), "{:?}", reading.notes);
}

#[test]
fn odd_finds_are_told_of() {
    let mut sand = Sand::new();
    for _ in 0..30 {
        sand.find(50.0, 20.0, "coin");
    }
    let reading = sand.read(None, &Params::default()).unwrap();
    assert!(reading.notes.iter().any(|n| n.contains("one and the same position")), "{:?}", reading.notes);
    assert!(reading.clusters[0].hull.len() >= 4 && reading.clusters[0].area_m2 > 0.0);

    let time = Some("2031-01-01T12:00:00Z".parse().unwrap());
    let find = Find { time, ..Find::new(sand.beach.uid, LonLat::new(-12.0, 48.9).unwrap(), "key", Kind::keyed("key")) };
    sand.records.push(Find { uid: Uid::fresh(), ..find.clone() }.into());
    sand.records.push(find.into());
    sand.records.push(Find::new(sand.beach.uid, LonLat::new(100.0, 10.0).unwrap(), "key", Kind::keyed("key")).into());
    let notes = sand.read(None, &Params::default()).unwrap().notes.join(" ");
    for said in ["1 find is dated in the future", "1 find repeats another", "1 find lies too far"] {
        assert!(notes.contains(said), "{said}: {notes}");
    }
}

#[test]
fn no_baseline_and_no_finds_still_give_a_reading() {
    let mut sand = Sand::new();
    sand.beach.baseline.clear();
    let reading = sand.read(None, &Params::default()).unwrap();
    assert!(reading.clusters.is_empty() && reading.whole.counts.finds == 0);
}

#[test]
fn zones_count_what_lies_in_them() {
    let mut sand = clumps();
    let ring: geo::LineString<f64> = [(80.0, -40.0), (120.0, -40.0), (120.0, -80.0), (80.0, -80.0), (80.0, -40.0)]
        .iter()
        .map(|(e, n)| geo::Coord::from(sand.frame.to_lonlat(Local::new(*e, *n)).unwrap()))
        .collect();
    let zone = Zone {
        uid: Uid::fresh(),
        beach: sand.beach.uid,
        name: "by the stump".into(),
        usage: ZoneUse::Seats,
        area: geo::MultiPolygon::new(vec![geo::Polygon::new(ring, vec![])]),
        notes: String::new(),
    };
    sand.records.push(zone.into());
    let reading = sand.read(None, &Params::default()).unwrap();
    assert!((reading.zones[0].area_m2 - 1600.0).abs() < 0.1);
    assert!(reading.zones[0].gave.counts.heavy >= 40);
}

#[test]
fn bad_settings_are_refused_in_words() {
    let sand = clumps();
    for params in
        [Params { cluster_distance_m: Some(f64::NAN), ..Params::default() }, Params { cluster_points: 0, ..Params::default() }]
    {
        assert!(matches!(sand.read(None, &params), Err(ReadingError::Parameter { .. })));
    }
}
