//! A whole reading of an invented beach, and of beaches with hardly anything on them.

#![allow(clippy::unwrap_used, reason = "a test may stop at once, in its helpers too")]

use jiff::Timestamp;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use scourline::Progress;
use scourline::book::{Beach, Book, Find, Kind, Outing, Record, SeaState, Storm, TideChoice, Uid, Zone, ZoneUse};
use scourline::earth::{Frame, Local, LonLat};
use scourline::reading::{Covered, CoveredCell, Ground, Of, Params, Reading, ReadingError, Visit, read};
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

/// One square of 20 m by 20 m, swept whole on each of the given days; heavy finds of each day's number lie in it.
fn visited(sand: &mut Sand, days: &[(&str, usize)]) -> Covered {
    let cells = vec![CoveredCell { along_m: 100.0, across_m: 60.0, swept_m2: 400.0, passes: days.len() as f64 }];
    let mut visits = Vec::new();
    for (day, finds) in days {
        let at = |clock: &str| format!("{day}T{clock}:00Z").parse::<Timestamp>().unwrap();
        let outing = Outing::new(sand.beach.uid, at("10:00"), at("12:00"));
        for n in 0..*finds {
            sand.find(92.0 + n as f64, 60.0, "lead");
            let Some(Record::Find(find)) = sand.records.last_mut() else { panic!("a find was just put there") };
            (find.time, find.outing) = (Some(at("11:00")), Some(outing.uid));
        }
        let fresh_m2 = if visits.is_empty() { 400.0 } else { 0.0 };
        visits.push(Visit { cell: 0, outing: Some(outing.uid), swept_m2: 400.0, fresh_m2 });
        sand.records.push(outing.into());
    }
    Covered { cell_m: 20.0, cells, visits }
}

fn storm(sand: &mut Sand, name: &str, from: &str, to: &str) {
    let state = |time: &str| SeaState { time: time.parse().unwrap(), hs_m: 3.0, tp_s: None, dir_deg: None, surge_m: None };
    let (uid, series) = (Uid::fresh(), vec![state(from), state(to)]);
    let storm = Storm { uid, beach: sand.beach.uid, name: name.into(), series, notes: String::new() };
    sand.records.push(storm.into());
}

#[test]
fn storms_part_the_outings_before_them_from_those_after() {
    let mut sand = Sand::new();
    let days =
        [("2023-11-20", 2), ("2023-12-20", 2), ("2024-01-10", 12), ("2024-01-12", 3), ("2024-02-20", 9), ("2024-05-20", 1)];
    let covered = visited(&mut sand, &days);
    storm(&mut sand, "Second", "2024-02-01T00:00:00Z", "2024-02-03T00:00:00Z");
    storm(&mut sand, "First", "2024-01-01T00:00:00Z", "2024-01-03T00:00:00Z");
    let reading = sand.read(Some(&covered), &Params::default()).unwrap();
    let names: Vec<&str> = reading.storms.each.iter().map(|s| s.name.as_str()).collect();
    assert_eq!(names, ["First", "Second"]);
    let first = &reading.storms.each[0];
    // The 12th of January lies before the middle of the time between the storms, the 20th of May too late after the second.
    assert_eq!((first.before.outings, first.after.outings), (2, 2));
    let heavy = first.changes.iter().find(|c| c.band.is_none() && c.of == Of::Heavy).unwrap();
    assert_eq!((heavy.before.unwrap().finds, heavy.after.unwrap().finds), (4.0, 15.0));
    let ratio = heavy.ratio.unwrap();
    assert!((ratio.ratio.unwrap() - 3.75).abs() < 1e-9 && ratio.low > 1.0 && !heavy.too_little, "{ratio:?}");
    // The same in the one band where all of it lies.
    let band = first.changes.iter().find(|c| c.band.is_some() && c.of == Of::Heavy && c.after.is_some()).unwrap();
    assert_eq!(band.ratio.unwrap(), ratio);
    // Nobody came between the middle and the second storm.
    let second = &reading.storms.each[1].changes[1];
    assert!(second.too_little && second.ratio.is_none() && second.surer.contains("not enough ground covered yet: 0 m² before"));
    let over_all = &reading.storms.over_all[1];
    assert_eq!((over_all.before.unwrap().finds, over_all.after.unwrap().finds), (4.0, 24.0));
    assert!((over_all.ratio.unwrap().ratio.unwrap() - 3.75).abs() < 1e-6, "the second has no side before it: {over_all:?}");
    assert!(over_all.surer.contains("would halve"), "{}", over_all.surer);
    let lights = &reading.storms.over_all[2];
    assert!(lights.too_little && lights.surer.contains("not enough finds yet: 0"), "{}", lights.surer);
}
