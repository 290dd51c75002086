//! What is written is read back: the same records, and into the same book nothing at all.

use std::sync::Arc;

use super::common::{book, records, try_take};
use jiff::Timestamp;
use proptest::prelude::*;
use scourline::book::{Book, Edit, Find, Kind, Record, RecordKind, Signal, Track, TrackPoint, Uid, Weight, Zone, ZoneUse};
use scourline::earth::LonLat;
use scourline::exchange::{Options, geojson, gpx};

fn at() -> impl Strategy<Value = LonLat> {
    (-5000_i32..5000, -5000_i32..5000)
        .prop_map(|(x, y)| LonLat::new(-20.0 + f64::from(x) * 1e-6, 45.0 + f64::from(y) * 1e-6).unwrap())
}

/// After 1980: fixes from before are those of a receiver that has not found its clock, and are left out.
fn time() -> impl Strategy<Value = Option<Timestamp>> {
    proptest::option::of((400_000_000_000_i64..2_000_000_000_000).prop_map(|ms| Timestamp::from_millisecond(ms).unwrap()))
}

fn words() -> impl Strategy<Value = String> {
    "[a-zA-Zäß<>&\"'|;,]{1,8}( [a-z0-9]{1,8}){0,2}"
}

prop_compose! {
    fn find(beach: Uid)(at in at(), time in time(), what in words(), depth in proptest::option::of(0_u32..200), mass in proptest::option::of(0_u32..10_000), id in proptest::option::of(-9_i32..99), heavy in any::<bool>(), notes in words(), own in proptest::collection::vec(words(), 7), title in "[A-Za-z :]{1,12}") -> Find {
        Find {
            time,
            depth_m: depth.map(|d| f64::from(d) / 100.0),
            mass_g: mass.map(|m| f64::from(m) / 10.0),
            target_id: id.map(f64::from),
            weight: heavy.then_some(Weight::Heavy),
            notes,
            finder: own[0].clone(),
            permission: own[1].clone(),
            value: own[2].clone(),
            age: own[3].clone(),
            disposal: own[4].clone(),
            reported: own[5].clone(),
            more: [(title.trim(), &own[6]), ("Depth (in)", &own[6]), ("more: colour", &own[6])]
                .into_iter()
                .filter(|(title, _)| !title.is_empty())
                .map(|(title, text)| (title.to_owned(), text.clone()))
                .collect(),
            ..Find::new(beach, at, what, Kind::keyed("coin"))
        }
    }
}

prop_compose! {
    fn track(beach: Uid)(points in proptest::collection::vec((at(), time(), proptest::option::of(-50.0_f32..50.0), proptest::option::of(0.5_f32..20.0), proptest::option::of(1_u8..30)), 1..30), cut in 0_usize..30, name in words()) -> Track {
        let points: Vec<_> = points.into_iter().map(|(at, time, height, hdop, sat)| {
            TrackPoint::new(at).with_time(time).with_height_m(height.map(f64::from)).with_hdop(hdop.map(f64::from)).with_satellites(sat)
        }).collect();
        let (a, b) = points.split_at(cut.min(points.len()));
        let segments: Vec<Arc<[TrackPoint]>> = [a, b].into_iter().filter(|s| !s.is_empty()).map(Arc::from).collect();
        Track { uid: Track::content_uid(beach, &segments), beach, outing: None, name, segments }
    }
}

fn beach() -> Uid {
    book().beaches().keys().next().copied().unwrap()
}

fn with(record: impl Into<Record>) -> Book {
    let mut book = book();
    book.apply(&Edit::put(record)).unwrap();
    book
}

/// As at a day when every track made up here has been walked.
fn walked() -> Options {
    Options { now: Some("2034-01-01T00:00:00Z".parse().unwrap()), ..Options::default() }
}

fn only(kind: RecordKind, bytes: &[u8]) -> Vec<Record> {
    let intake = try_take("back", bytes, &book(), &walked()).unwrap();
    assert_eq!(intake.refused, []);
    records(&intake).into_iter().filter(|r| r.kind() == kind).collect()
}

fn adds_nothing(book: &Book, bytes: &[u8]) -> bool {
    try_take("again", bytes, book, &walked()).unwrap().changes_nothing()
}

proptest! {
    #[test]
    fn finds_through_geojson(find in find(beach())) {
        let bytes = geojson::write(&geojson::finds([&find])).unwrap();
        prop_assert_eq!(only(RecordKind::Find, &bytes), [Record::from(find.clone())]);
        prop_assert!(adds_nothing(&with(find), &bytes));
    }

    #[test]
    fn tracks_through_gpx(track in track(beach())) {
        let bytes = gpx::write(&gpx::tracks("walks", [&track])).unwrap();
        let back = only(RecordKind::Track, &bytes);
        let [Record::Track(back)] = back.as_slice() else { panic!("not one track") };
        prop_assert_eq!((back.uid, &back.name), (track.uid, &track.name));
        // Through text, as an absent height is NaN, which equals nothing.
        prop_assert_eq!(format!("{:?}", back.segments), format!("{:?}", track.segments));
        prop_assert!(adds_nothing(&with(track), &bytes));
    }

    #[test]
    fn finds_and_signals_through_gpx_are_known_again(find in find(beach()), ids in proptest::collection::vec(-9_i32..99, 0..4), place in at()) {
        let signal = Signal { target_ids: ids, ..Signal::new(beach(), place) };
        let mut content = gpx::Content { waypoints: gpx::finds([&find]), ..gpx::Content::default() };
        content.waypoints.extend(gpx::signals([&signal]));
        let bytes = gpx::write(&content).unwrap();
        let back = only(RecordKind::Signal, &bytes);
        let Some(Record::Signal(back)) = back.iter().find(|r| r.uid() == signal.uid) else { panic!("no signal") };
        prop_assert_eq!(&back.target_ids, &signal.target_ids);
        let mut book = with(find);
        book.apply(&Edit::put(signal)).unwrap();
        prop_assert!(adds_nothing(&book, &bytes));
    }

    #[test]
    fn zones_through_geojson(a in at(), b in at(), c in at(), name in words()) {
        let ring = vec![a.into(), b.into(), c.into(), a.into()];
        let area = geo_types::MultiPolygon(vec![geo_types::Polygon::new(geo_types::LineString(ring), Vec::new())]);
        let zone = Zone { uid: Uid::fresh(), beach: beach(), name, usage: ZoneUse::Bathing, area, closure: None, notes: String::new() };
        let bytes = geojson::write(&geojson::zones([&zone])).unwrap();
        let back = only(RecordKind::Zone, &bytes);
        let [Record::Zone(back)] = back.as_slice() else { panic!("not one zone") };
        prop_assert_eq!((back.uid, &back.name, back.usage), (zone.uid, &zone.name, zone.usage));
        prop_assert!(adds_nothing(&with(zone), &bytes));
    }
}
