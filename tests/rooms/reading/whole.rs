//! A whole reading of an invented beach, and of beaches with hardly anything on them.

use std::sync::Arc;

use jiff::Timestamp;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use scourline::Progress;
use scourline::book::{
    Beach, Book, Find, Kind, Outing, Record, SeaState, Signal, Storm, TideChoice, Track, TrackPoint, Uid, Zone, ZoneUse,
};
use scourline::earth::{Frame, Local, LonLat};
use scourline::effort;
use scourline::reading::{
    Covered, CoveredCell, Ground, Params, Reading, ReadingError, Searched, TideState, Visit, WeightChoice, read,
};
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
        let setting = Setting::from_book(&book, self.beach.uid).unwrap();
        let now = Some("2024-06-01T00:00:00Z".parse::<Timestamp>().unwrap());
        read(&Ground { book: &(&book).into(), setting: &setting, covered, now }, params, &Progress::new())
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
    let all: Vec<_> = reading.clusters.iter().filter(|c| c.of == WeightChoice::All).collect();
    assert_eq!(all.len(), 2, "{:?}", reading.cluster_runs);
    assert!(all[0].counts.finds >= 40 && all[0].kinds[0].kind == Kind::keyed("lead"));
    let shore = all[0].shore.unwrap();
    assert!((shore.along_m - 100.0).abs() < 3.0 && (shore.across_m - 60.0).abs() < 2.0, "{shore:?}");
    let level = all[0].level.unwrap();
    assert!((level.median_m - 2.2).abs() < 0.1 && level.low_m < level.high_m, "{level:?}");
    assert!(all[0].band.is_some() && all[0].band_share.unwrap() > 0.5);
    assert!(all[0].hull.first() == all[0].hull.last() && all[0].area_m2 > 30.0);
    assert!(reading.clusters.iter().any(|c| c.of == WeightChoice::Light && c.kinds[0].kind == Kind::keyed("ring_pull")));
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
    let covered = Covered { cell_m: 10.0, cells: cells.collect(), visits: Vec::new(), searched: Vec::new() };
    let reading = sand.read(Some(&covered), &Params::default()).unwrap();
    let rate = reading.whole.rate.unwrap();
    assert!((rate.per_100m2 - 125.0 / 24_000.0 * 100.0).abs() < 1e-9);
    assert!(rate.low < rate.per_100m2 && rate.per_100m2 < rate.high);
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
    assert!(reading.clusters.is_empty() && reading.pinned[0].finds == 30, "where thirty were noted is not where they lay");
    assert!(reading.notes.iter().any(|n| n.starts_with("30 finds share one position (48.")), "{:?}", reading.notes);

    let time = Some("2031-01-01T12:30:00Z".parse().unwrap());
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
        closure: None,
        notes: String::new(),
    };
    sand.records.push(zone.into());
    for north in [-50.0, -60.0, -110.0] {
        let at = sand.frame.to_lonlat(Local::new(100.0, north)).unwrap();
        sand.records.push(Signal::new(sand.beach.uid, at).into());
    }
    let reading = sand.read(None, &Params::default()).unwrap();
    let (inside, all) = (&reading.zones[0].gave, &reading.whole);
    let outside = format!("{} finds lie outside every zone", all.counts.finds - inside.counts.finds);
    assert!(reading.notes.iter().any(|n| n.contains(&outside)), "{outside}: {:?}", reading.notes);
    // What was left in the ground is counted, but never as a find.
    assert_eq!((inside.signals, all.signals, all.counts.finds), (2, 3, 125));
    assert_eq!(reading.bands.iter().map(|b| b.gave.signals).sum::<usize>(), 3);
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
    let (mut visits, mut searched) = (Vec::new(), Vec::new());
    for (day, finds) in days {
        let at = |clock: &str| format!("{day}T{clock}:00Z").parse::<Timestamp>().unwrap();
        let outing = Outing::new(sand.beach.uid, at("10:00"), at("12:00"));
        for n in 0..*finds {
            sand.find(92.0 + n as f64, 60.0, "lead");
            let Some(Record::Find(find)) = sand.records.last_mut() else { panic!("a find was just put there") };
            let find = Arc::make_mut(find);
            (find.time, find.outing) = (Some(at("11:00")), Some(outing.uid));
        }
        let fresh_m2 = if visits.is_empty() { 400.0 } else { 0.0 };
        visits.push(Visit { cell: 0, outing: Some(outing.uid), swept_m2: 400.0, fresh_m2 });
        let (from_s, to_s) = (outing.start.as_second() as f64, outing.end.as_second() as f64);
        searched.push(Searched { outing: Some(outing.uid), from_s, to_s, swath_m2: 400.0, band: None });
        sand.records.push(outing.into());
    }
    Covered { cell_m: 20.0, cells, visits, searched }
}

fn storm(sand: &mut Sand, name: &str, from: &str, to: &str) {
    let state = |time: &str| SeaState { time: time.parse().unwrap(), hs_m: 3.0, tp_s: None, dir_deg: None, surge_m: None };
    let (uid, series) = (Uid::fresh(), vec![state(from), state(to)]);
    let storm = Storm { uid, beach: sand.beach.uid, name: name.into(), series, notes: String::new() };
    sand.records.push(storm.into());
}

#[test]
fn a_find_counts_against_its_own_outing_or_against_none() {
    let mut sand = Sand::new();
    let covered = visited(&mut sand, &[("2024-01-10", 8), ("2024-02-20", 6), ("2024-03-30", 7)]);
    let before = sand.read(Some(&covered), &Params::default()).unwrap();
    // A day without a track, on the very ground that the others searched; and finds of no outing and no time.
    let at = |clock: &str| format!("2024-04-20T{clock}:00Z").parse::<Timestamp>().unwrap();
    let untracked = Outing::new(sand.beach.uid, at("10:00"), at("12:00"));
    for n in 0..30 {
        sand.find(91.0 + 0.5 * f64::from(n), 60.0 + 0.1 * f64::from(n), if n % 3 == 0 { "iron" } else { "coin" });
        let Some(Record::Find(find)) = sand.records.last_mut() else { panic!("a find was just put there") };
        let find = Arc::make_mut(find);
        (find.time, find.outing) = if n < 20 { (Some(at("11:00")), Some(untracked.uid)) } else { (None, None) };
    }
    sand.records.push(untracked.into());
    let after = sand.read(Some(&covered), &Params::default()).unwrap();
    assert_eq!(after.whole.rate, before.whole.rate);
    assert_eq!((after.hot_spots.len(), after.drop_zones.len(), after.renewal), (0, 0, before.renewal));
    assert_eq!((after.apart.without_track, after.apart.all()), (30, 30));
    // Counted and told all the same, iron as a class of its own.
    let (whole, old) = (after.whole.counts, before.whole.counts);
    assert_eq!((whole.finds - old.finds, whole.heavy - old.heavy, whole.iron), (30, 20, 10));
    assert!(
        after.notes.iter().any(|n| n.starts_with("30 finds were made on no outing whose track is known")),
        "{:?}",
        after.notes
    );
}

#[test]
fn thirty_finds_pinned_to_one_place_are_no_drop_zone() {
    let mut sand = Sand::new();
    let days: Vec<String> = (1..=9).map(|n| format!("2024-01-0{n}")).collect();
    let days: Vec<(&str, usize)> = days.iter().map(|d| (d.as_str(), 9)).collect();
    let covered = visited(&mut sand, &days);
    let spread = sand.read(Some(&covered), &Params::default()).unwrap();
    assert!(spread.pinned.is_empty(), "each day's finds lie a metre apart, and nine days' on each other: {:?}", spread.pinned);
    let Some(Record::Find(noted)) = sand.records.iter().rev().find(|r| matches!(r, Record::Find(_))).cloned() else { panic!() };
    for n in 0..30 {
        sand.find(88.0, 52.0, "coin");
        let Some(Record::Find(find)) = sand.records.last_mut() else { panic!("a find was just put there") };
        let find = Arc::make_mut(find);
        let time = noted.time.unwrap() + jiff::SignedDuration::from_secs(n);
        (find.time, find.outing) = (Some(time), noted.outing);
    }
    let reading = sand.read(Some(&covered), &Params::default()).unwrap();
    assert_eq!((reading.pinned.len(), reading.apart.pinned), (1, 30));
    assert!(reading.drop_zones.is_empty() && reading.clusters.iter().all(|c| c.counts.finds <= 81), "{:?}", reading.clusters);
    assert_eq!(reading.whole.rate.unwrap().finds, spread.whole.rate.unwrap().finds);
}

#[test]
fn next_to_no_effort_is_no_rate_and_no_panic() {
    for (swept_m2, passes) in [(0.0, 1.0), (1e-12, 1.0), (f64::MIN_POSITIVE, 1.0), (400.0, f64::INFINITY), (400.0, 0.0)] {
        let mut sand = Sand::new();
        let mut covered = visited(&mut sand, &[("2024-01-10", 40), ("2024-02-20", 3)]);
        covered.cells[0].swept_m2 = swept_m2;
        covered.cells[0].passes = passes;
        covered.visits.iter_mut().for_each(|v| (v.swept_m2, v.fresh_m2) = (swept_m2, 0.0));
        let reading = sand.read(Some(&covered), &Params { replicates: 19, ..Params::default() }).unwrap();
        let finite = |r: &scourline::reading::Rate| r.per_100m2.is_finite() && r.low.is_finite() && r.high.is_finite();
        assert!(reading.whole.rate.iter().all(finite), "{swept_m2} {passes}: {:?}", reading.whole.rate);
        assert!(reading.cells.cells.iter().all(|c| c.drawn_per_100m2.is_finite()), "{swept_m2} {passes}");
    }
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
    let heavy = first.changes.iter().find(|c| c.band.is_none() && c.of == WeightChoice::Heavy).unwrap();
    assert_eq!((heavy.before.unwrap().finds, heavy.after.unwrap().finds), (4.0, 15.0));
    let ratio = heavy.ratio.unwrap();
    // Two outings on either side cannot tell good days from what the storm did.
    let told = ratio.ratio.unwrap();
    assert!(told > 3.0 && ratio.low < 1.0 && ratio.high.unwrap() > 10.0 && !heavy.too_little, "{ratio:?}");
    assert!(heavy.q.unwrap() >= ratio.p && heavy.q.unwrap() > 0.05, "{heavy:?}");
    // The same in the one band where all of it lies.
    let band = first.changes.iter().find(|c| c.band.is_some() && c.of == WeightChoice::Heavy && c.after.is_some()).unwrap();
    assert_eq!(band.ratio.unwrap(), ratio);
    // Nobody came between the middle and the second storm.
    let second = &reading.storms.each[1].changes[1];
    assert!(second.too_little && second.ratio.is_none() && second.surer.contains("not enough ground covered yet: 0 m² before"));
    let over_all = &reading.storms.over_all[1];
    assert_eq!((over_all.before.unwrap().finds, over_all.after.unwrap().finds), (4.0, 24.0));
    // The ratio is that of the very rates beside it: 1.13 before, 1.35 after and a ratio of 0.50 would contradict itself.
    let (before, after) = (over_all.before.unwrap().per_100m2, over_all.after.unwrap().per_100m2);
    let told = over_all.ratio.unwrap().ratio.unwrap();
    assert!((told / (after / before) - 1.0).abs() < 0.02, "{over_all:?}");
    assert!(over_all.surer.contains("would halve"), "{}", over_all.surer);
    let lights = &reading.storms.over_all[2];
    assert!(lights.too_little && lights.surer.contains("not enough finds yet: 0"), "{}", lights.surer);
}

#[test]
fn ground_swept_again_is_told_apart_from_fresh_ground() {
    let mut sand = Sand::new();
    let covered = visited(&mut sand, &[("2024-01-10", 8), ("2024-01-20", 2), ("2024-01-30", 2)]);
    let reading = sand.read(Some(&covered), &Params::default()).unwrap();
    let whole = &reading.fresh[0];
    let (fresh, again) = (whole.fresh.unwrap(), whole.again.unwrap());
    assert_eq!((fresh.finds, fresh.exposure_m2, again.finds, again.exposure_m2), (8.0, 400.0, 4.0, 800.0));
    assert!((whole.ratio.unwrap().ratio.unwrap() - 0.25).abs() < 1e-6 && !whole.too_little, "{whole:?}");
    // With 0.7 found per pass 0.3 is left after one visit and 0.09 after two.
    assert!((whole.ratio_if_nothing_came_back.unwrap() - 0.195).abs() < 1e-9, "{whole:?}");
    assert_eq!(whole.detection_per_pass, 0.7);
    let cells = &reading.cells;
    assert_eq!((cells.cell_m, cells.cells.len()), (20.0, 1));
    assert_eq!((cells.cells[0].swept_m2, cells.cells[0].again_m2), (400.0, 800.0));
    // The finds, some metres west of the middle of their square, lie in the cell beside it but are counted where their
    // outings searched. One cell has no others to be drawn towards: the exact interval of its own count (scipy 1.17.1:
    // chi2.ppf(0.025, 24) / 2 = 6.2006, chi2.ppf(0.975, 26) / 2 = 20.9616).
    let cell = &cells.cells[0];
    assert_eq!((cell.counts.finds, cell.counted), (0, 12));
    let exact = [6.2006, 20.9616].map(|n| 100.0 * n / cell.exposure_m2);
    assert!((cell.low - exact[0]).abs() < 1e-3 && (cell.high - exact[1]).abs() < 1e-3, "{cell:?}");
    // Two visits more within three weeks add less than two rested visits would, and more than nothing.
    let rested = reading.whole.rate.unwrap().exposure_m2;
    assert!((400.0..1200.0).contains(&rested), "{rested}");
    assert_eq!(reading.kinds[0].rate.unwrap().finds, 12.0);
    // All of it lies in one band.
    assert_eq!(reading.fresh.iter().skip(1).filter(|f| f.fresh.is_some()).count(), 1);
    // Half the interval of a ratio takes somewhat less than four times the ground, as exact ones are wide for small counts.
    assert!(whole.surer.ends_with("on this beach would halve this interval"), "{}", whole.surer);
    let more: f64 = whole.surer.split(' ').nth(1).unwrap().parse().unwrap();
    assert!((2.0 * 400.0..3.5 * 400.0).contains(&more), "{}", whole.surer);
    let bare = reading.fresh.iter().skip(1).find(|f| f.fresh.is_none()).unwrap();
    assert!(bare.surer.starts_with("another 200 m² of fresh ground and 200 m² of ground swept again"), "{}", bare.surer);
}

#[test]
fn ground_and_finds_are_shared_out_by_state_of_the_tide() {
    let mut sand = Sand::new();
    let covered = visited(&mut sand, &[("2024-01-10", 3), ("2024-01-14", 4), ("2024-01-18", 5)]);
    let reading = sand.read(Some(&covered), &Params::default()).unwrap();
    assert_eq!(reading.tides.len(), 4);
    assert!(reading.tides.iter().all(|t| t.band.is_none()), "nothing tells in which band the coil was");
    let swept: f64 = reading.tides.iter().filter_map(|t| t.gave.swept_m2).sum();
    let hours: f64 = reading.tides.iter().map(|t| t.hours).sum();
    let finds: usize = reading.tides.iter().map(|t| t.gave.counts.finds).sum();
    assert!((swept - 1200.0).abs() < 1e-6 && (hours - 6.0).abs() < 1e-9 && finds == 12, "{swept} {hours} {finds}");
    // At eleven o'clock of these days the state is that of the station's own high and low waters.
    let station = Catalogue::shipped().nearest(LonLat::new(-12.0, 48.9).unwrap(), 1)[0].0;
    let water = scourline::tide::Water::of_station(station, station.chart_datum.clone()).unwrap();
    for (day, count) in [("2024-01-10", 3), ("2024-01-14", 4), ("2024-01-18", 5)] {
        let at: Timestamp = format!("{day}T11:00:00Z").parse().unwrap();
        let minutes = |n| jiff::SignedDuration::from_mins(n);
        let nearest = water.turns(at - minutes(30), at + minutes(30));
        let falls = water.height_m(at + minutes(5)).unwrap() < water.height_m(at - minutes(5)).unwrap();
        let state = match nearest.first().map(|t| t.kind) {
            Some(scourline::tide::TurnKind::High) => TideState::HighWater,
            Some(scourline::tide::TurnKind::Low) => TideState::LowWater,
            None if falls => TideState::Ebb,
            None => TideState::Flood,
        };
        let told = reading.tides.iter().find(|t| t.state == state).unwrap();
        assert!(told.gave.counts.finds >= count, "{day} {state:?}: {:?}", reading.tides);
    }
}

/// Finds whose day alone is known come back at noon; they used to count as finds of the tide of that hour.
#[test]
fn finds_of_a_day_alone_are_in_no_state_of_the_tide() {
    let mut sand = Sand::new();
    let covered = visited(&mut sand, &[("2024-01-10", 3), ("2024-01-14", 4), ("2024-01-18", 5)]);
    let noon: Timestamp = "2024-01-18T12:00:00Z".parse().unwrap();
    let of_the_day =
        |r: &&mut Record| matches!(r, Record::Find(f) if f.time.is_some_and(|t| noon.duration_since(t).as_hours() == 1));
    let mut changed = 0;
    for record in sand.records.iter_mut().filter(of_the_day).take(2) {
        let Record::Find(find) = record else { panic!("finds alone were kept") };
        Arc::make_mut(find).time = Some(noon);
        changed += 1;
    }
    assert_eq!(changed, 2);
    let reading = sand.read(Some(&covered), &Params::default()).unwrap();
    let finds: usize = reading.tides.iter().map(|t| t.gave.counts.finds).sum();
    let swept: f64 = reading.tides.iter().filter_map(|t| t.gave.swept_m2).sum();
    // Two of the five finds of the last outing, and so two fifths of its 400 m².
    assert!(finds == 10 && (swept - 1040.0).abs() < 1e-6, "{finds} {swept}");
    assert_eq!(reading.whole.rate.unwrap().finds, 12.0, "nothing else asks for the minute");
    let told = "2 finds are known by their day alone and are left out of the rates by state of the tide";
    assert!(reading.notes.iter().any(|n| n.starts_with(told)), "{:?}", reading.notes);
}

/// One outing over two squares in two bands, an hour in each: finds and ground go by state and by band.
#[test]
fn states_of_the_tide_are_told_by_band() {
    let mut sand = Sand::new();
    // Mean high water springs between the sand at 60 m across (2.2 m above the land datum) and that at 110 m (0.7 m).
    let mhws_m = sand.read(None, &Params::default()).unwrap().bands[0].low_m.unwrap();
    sand.beach.datum_offset_m = Some(mhws_m - 1.45);
    let outing = Outing::new(sand.beach.uid, "2024-01-10T10:00:00Z".parse().unwrap(), "2024-01-10T12:00:00Z".parse().unwrap());
    let start_s = outing.start.as_second() as f64;
    for (along, across, minutes) in [(100.0, 60.0, 20), (101.0, 60.0, 40), (300.0, 110.0, 90)] {
        sand.find(along, across, "lead");
        let Some(Record::Find(find)) = sand.records.last_mut() else { panic!("a find was just put there") };
        let find = Arc::make_mut(find);
        (find.time, find.outing) = (Some(outing.start + jiff::SignedDuration::from_mins(minutes)), Some(outing.uid));
    }
    let uid = outing.uid;
    sand.records.push(outing.into());
    let square = |along_m, across_m, swept_m2| CoveredCell { along_m, across_m, swept_m2, passes: 1.0 };
    let visit = |cell, swept_m2| Visit { cell, outing: Some(uid), swept_m2, fresh_m2: swept_m2 };
    let mut covered = Covered {
        cell_m: 20.0,
        cells: vec![square(100.0, 60.0, 300.0), square(300.0, 110.0, 250.0)],
        visits: vec![visit(0, 300.0), visit(1, 250.0)],
        searched: Vec::new(),
    };
    let bands = sand.read(Some(&covered), &Params::default()).unwrap().bands;
    let swept: Vec<(&str, Option<f64>)> = bands.iter().map(|b| (b.name.as_str(), b.gave.swept_m2)).collect();
    let band_of = |m2: f64| swept.iter().position(|(_, s)| *s == Some(m2)).unwrap_or_else(|| panic!("{m2} in {swept:?}"));
    let (high, low) = (band_of(300.0), band_of(250.0));
    // The swath is half as long again as the ground is large: lanes overlap.
    for (hour, band, swath_m2) in [(0.0, high, 450.0), (1.0, low, 375.0)] {
        let (from_s, to_s) = (start_s + 3600.0 * hour, start_s + 3600.0 * (hour + 1.0));
        covered.searched.push(Searched { outing: Some(uid), from_s, to_s, swath_m2, band: Some(band) });
    }
    let reading = sand.read(Some(&covered), &Params::default()).unwrap();
    assert_eq!(reading.tides.len(), 12, "four states of the beach and of each band searched");
    for (band, swept_m2, finds) in [(high, 300.0, 2), (low, 250.0, 1)] {
        let of_band = || reading.tides.iter().filter(|t| t.band.as_ref() == Some(&bands[band].name));
        let swept: f64 = of_band().filter_map(|t| t.gave.swept_m2).sum();
        let hours: f64 = of_band().map(|t| t.hours).sum();
        let found: usize = of_band().map(|t| t.gave.counts.finds).sum();
        assert!((swept - swept_m2).abs() < 1e-6 && (hours - 1.0).abs() < 1e-9 && found == finds, "{swept} {hours} {found}");
    }
    // What the bands were searched in each state adds up to what the beach was.
    for state in TideState::ALL {
        let of_state = |whole: bool| reading.tides.iter().filter(move |t| t.state == state && t.band.is_none() == whole);
        let sums = |whole: bool| {
            let hours: f64 = of_state(whole).map(|t| t.hours).sum();
            let swept: f64 = of_state(whole).filter_map(|t| t.gave.swept_m2).sum();
            (hours, swept, of_state(whole).map(|t| t.gave.counts.finds).sum::<usize>())
        };
        let (beach, bands) = (sums(true), sums(false));
        assert!(
            (beach.0 - bands.0).abs() < 1e-9 && (beach.1 - bands.1).abs() < 1e-6 && beach.2 == bands.2,
            "{beach:?} {bands:?}"
        );
    }
}

#[test]
fn what_would_make_it_surer_is_told_with_figures_where_nothing_stands_out_and_where_too_little_is_known() {
    // Thirty finds strewn evenly over ground swept all over: nothing to tell from luck.
    let mut sand = Sand::new();
    for n in 0..30 {
        sand.find(20.0 + 12.0 * f64::from(n), 50.0 + f64::from(n % 3) * 4.0, "ring_pull");
    }
    let squares = |swept_m2: f64| {
        let cells = (0..40).flat_map(|a| (4..7).map(move |b| (10.0 * f64::from(a) + 5.0, 10.0 * f64::from(b) + 5.0)));
        let cells = cells.map(|(along_m, across_m)| CoveredCell { along_m, across_m, swept_m2, passes: 1.0 });
        Covered { cell_m: 10.0, cells: cells.collect(), visits: Vec::new(), searched: Vec::new() }
    };
    let even = sand.read(Some(&squares(80.0)), &Params { replicates: 99, ..Params::default() }).unwrap();
    assert!(even.hot_spots.is_empty() && even.scour_lines.is_empty());
    let told = even.to_tell.iter().find(|t| t.of == WeightChoice::All).unwrap();
    let needed = told.needed.unwrap();
    let rate = even.whole.rate.unwrap().per_100m2;
    assert!((needed.expected / needed.swept_m2 * 100.0 - rate).abs() < 1e-9, "{needed:?}");
    assert!(needed.expected > 20.0 && needed.expected < 60.0 && needed.times_now.unwrap() > 2.0, "{needed:?}");
    assert!(
        told.surer.contains("m² swept in one place of 60 by 60 m")
            && told.surer.contains("2 times as rich in finds as the beach"),
        "{}",
        told.surer
    );
    // Half the ground with the same finds has twice the rate, so half the ground is needed in one place.
    let denser = sand.read(Some(&squares(40.0)), &Params { replicates: 99, ..Params::default() }).unwrap();
    let less = denser.to_tell[0].needed.unwrap();
    assert!((needed.swept_m2 / less.swept_m2 - 2.0).abs() < 1e-6, "{needed:?} {less:?}");
    // No heavy find: how much ground would bring the least that a scan takes.
    let heavy = even.to_tell.iter().find(|t| t.of == WeightChoice::Heavy).unwrap();
    assert!(heavy.needed.is_none() && heavy.surer.contains("would bring the 20 heavy finds"), "{}", heavy.surer);
    // A band with next to nothing swept says how much is lacking.
    let thin = even.bands.iter().find(|b| b.gave.too_little).unwrap();
    let short = 200.0 - thin.gave.swept_m2.unwrap();
    assert!(thin.gave.surer.as_ref().unwrap().contains(&format!("another {:.0} m²", short.ceil())), "{:?}", thin.gave.surer);
}

#[test]
fn a_cluster_says_what_would_make_it_surer() {
    let sand = clumps();
    let bare = sand.read(None, &Params::default()).unwrap();
    let cluster = bare.clusters.iter().find(|c| c.of == WeightChoice::All).unwrap();
    assert!(cluster.rate.is_none() && cluster.surer.starts_with("tracks over it: "), "{}", cluster.surer);
    let cells = (0..200).flat_map(|a| (0..60).map(move |b| (2.0 * f64::from(a) + 1.0, 2.0 * f64::from(b) + 1.0)));
    let cells = cells.map(|(along_m, across_m)| CoveredCell { along_m, across_m, swept_m2: 2.0, passes: 1.0 });
    let covered = Covered { cell_m: 2.0, cells: cells.collect(), visits: Vec::new(), searched: Vec::new() };
    let reading = sand.read(Some(&covered), &Params { replicates: 99, ..Params::default() }).unwrap();
    let cluster = reading.clusters.iter().find(|c| c.of == WeightChoice::All).unwrap();
    // Half of every square was swept, so about half of the outline.
    let swept = cluster.swept_m2.unwrap();
    assert!((swept / cluster.area_m2 - 0.5).abs() < 0.15, "{swept} of {}", cluster.area_m2);
    let rate = cluster.rate.unwrap();
    assert_eq!(rate.finds, cluster.uids.len() as f64);
    assert!((rate.exposure_m2 - swept).abs() < 1e-3, "one visit to rested ground: {} of {swept}", rate.exposure_m2);
    assert!(cluster.surer.contains("would halve this interval") && cluster.surer.contains("nobody knows how much days differ"));
    assert!(cluster.surer.contains(&format!("it has {}", cluster.uids.len())), "{}", cluster.surer);
}

#[test]
fn a_scour_line_that_a_storm_shifted_is_told_with_its_shift() {
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let mut sand = Sand::new();
    storm(&mut sand, "Shift", "2024-01-01T00:00:00Z", "2024-01-03T00:00:00Z");
    for (day, across_m) in [("2023-12-20", 60.0), ("2024-01-10", 63.0)] {
        for n in 0..40 {
            sand.find(100.0 + 5.0 * f64::from(n), across_m + rng.random_range(-1.5..1.5), "lead");
            let Some(Record::Find(find)) = sand.records.last_mut() else { panic!("a find was just put there") };
            let find = Arc::make_mut(find);
            find.time = Some(format!("{day}T11:00:00Z").parse().unwrap());
        }
    }
    for _ in 0..120 {
        sand.find(rng.random_range(0.0..400.0), rng.random_range(0.0..120.0), "ring_pull");
    }
    let cell = |i: u32, j: u32| CoveredCell {
        along_m: 2.5 + 5.0 * f64::from(i),
        across_m: 2.5 + 5.0 * f64::from(j),
        swept_m2: 25.0,
        passes: 1.0,
    };
    let cells = (0..80).flat_map(|i| (0..24).map(move |j| cell(i, j))).collect();
    let covered = Covered { cell_m: 5.0, cells, visits: Vec::new(), searched: Vec::new() };
    let reading = sand.read(Some(&covered), &Params { replicates: 99, ..Params::default() }).unwrap();
    assert_eq!(reading.scour_lines.len(), 1, "{:?}", reading.scan_runs);
    let line = &reading.scour_lines[0];
    let [before, after] = &line.states[..] else { panic!("{:?}", line.states) };
    assert_eq!((before.after.as_deref(), after.after.as_deref()), (None, Some("Shift")));
    assert_eq!(before.finds + after.finds, line.counts.heavy);
    let (seaward, rose) = (after.seaward_m.unwrap(), after.rose_m.unwrap());
    assert!(seaward.low > 1.5 && seaward.high < 4.5 && seaward.mean > 2.0, "{seaward:?}");
    // 3 m seaward on sand falling 3 in 100.
    assert!(rose.high < 0.0 && (rose.mean + 0.03 * seaward.mean).abs() < 0.01, "{rose:?}");
    assert!(before.rose_m.is_none() && before.level_m.unwrap().low > after.level_m.unwrap().high);
}

#[test]
fn a_track_without_times_still_shows_ground_and_is_told_of() {
    let mut sand = clumps();
    let point = |k: u32| sand.frame.to_lonlat(Local::new(60.0 + 5.0 * f64::from(k), -60.0)).unwrap();
    let segments = vec![(0..40).map(|k| TrackPoint::new(point(k))).collect()];
    let uid = Track::content_uid(sand.beach.uid, &segments);
    sand.records.push(Track { uid, beach: sand.beach.uid, outing: None, name: "no clock".into(), segments }.into());
    let book = Book::gather(sand.records.iter().cloned().chain([sand.beach.clone().into()])).unwrap();
    let setting = Setting::from_book(&book, sand.beach.uid).unwrap();
    let (covered, _) = Covered::from_tracks(&book, &setting, &effort::Params::default(), &Progress::new()).unwrap().unwrap();
    // 195 m of a swath 1.48 m wide with round ends.
    let swath_m2 = 195.0 * 1.48 + std::f64::consts::PI * 0.74 * 0.74;
    assert!((covered.swept_m2() / swath_m2 - 1.0).abs() < 0.02, "{} {swath_m2}", covered.swept_m2());
    let reading = sand.read(Some(&covered), &Params::default()).unwrap();
    assert!(reading.whole.rate.is_some() && reading.tides.is_empty());
    let notes = reading.notes.join(" ");
    assert!(notes.contains("1 track has no times: it is taken as searched from end to end"), "{notes}");
    // Most of the scattered finds lie where this track did not go.
    assert!(notes.contains("lie off the tracks of their own outings and are in no rate and no verdict"), "{notes}");
    let counted: u32 = reading.cells.cells.iter().map(|c| c.counted).sum();
    assert_eq!(counted as usize + reading.apart.all(), reading.whole.counts.finds);
    assert!(counted > 0 && reading.apart.off_track > 0);
}
