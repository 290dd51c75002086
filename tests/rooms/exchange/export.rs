//! What is exported for oneself: read back the same, known again, and laid out as the formats ask.

use std::sync::Arc;

use super::common::{book, records, try_take};
use jiff::Timestamp;
use proptest::prelude::*;
use quick_xml::Reader;
use quick_xml::events::Event;
use scourline::book::{Book, Edit, Find, Kind, Record, RecordKind, Signal, Steadiness, Track, TrackPoint, Uid, Weight};
use scourline::earth::LonLat;
use scourline::exchange::{Chosen, Options, Written, export};

fn beach() -> Uid {
    book().beaches().keys().next().copied().unwrap()
}

fn at() -> impl Strategy<Value = LonLat> {
    (-5000_i32..5000, -5000_i32..5000)
        .prop_map(|(x, y)| LonLat::new(-20.0 + f64::from(x) * 1e-6, 45.0 + f64::from(y) * 1e-6).unwrap())
}

/// After 1980: fixes from before are those of a receiver that has not found its clock, and are left out.
fn time() -> impl Strategy<Value = Timestamp> {
    (400_000_000_000_i64..2_000_000_000_000).prop_map(|ms| Timestamp::from_millisecond(ms).unwrap())
}

fn words() -> impl Strategy<Value = String> {
    "[a-zA-Zäß][a-zA-Zäß<>&\"'|;,]{4,8}( [a-z0-9]{1,8}){0,2}"
}

prop_compose! {
    fn find()(at in at(), time in proptest::option::of(time()), what in words(), depth in proptest::option::of(0_u32..200), mass in proptest::option::of(0_u32..10_000), id in proptest::option::of(-9_i32..99), heavy in any::<bool>(), notes in proptest::option::of(words())) -> Find {
        Find {
            time,
            depth_m: depth.map(|d| f64::from(d) / 100.0),
            mass_g: mass.map(|m| f64::from(m) / 10.0),
            target_id: id.map(f64::from),
            weight: heavy.then_some(Weight::Heavy),
            notes: notes.unwrap_or_default(),
            ..Find::new(beach(), at, what, Kind::keyed("coin"))
        }
    }
}

prop_compose! {
    fn signal()(at in at(), time in proptest::option::of(time()), ids in proptest::collection::vec(-9_i32..99, 0..4), notes in proptest::option::of(words())) -> Signal {
        let steadiness = ids.first().map(|_| Steadiness::Jumpy);
        Signal { time, target_ids: ids, steadiness, notes: notes.unwrap_or_default(), ..Signal::new(beach(), at) }
    }
}

prop_compose! {
    fn track()(points in proptest::collection::vec((at(), time(), proptest::option::of(-50.0_f32..50.0)), 2..20), cut in 0_usize..20, timed in any::<bool>(), name in words()) -> Track {
        let points: Vec<_> = points.into_iter().map(|(at, time, height)| {
            TrackPoint::new(at).with_time(timed.then_some(time)).with_height_m(height.map(f64::from))
        }).collect();
        let (a, b) = points.split_at(cut.min(points.len()));
        let segments: Vec<Arc<[TrackPoint]>> = [a, b].into_iter().filter(|s| !s.is_empty()).map(Arc::from).collect();
        Track { uid: Track::content_uid(beach(), &segments), beach: beach(), outing: None, name, segments }
    }
}

/// As at a day when every track made up here has been walked.
fn walked() -> Options {
    Options { now: Some("2034-01-01T00:00:00Z".parse().unwrap()), ..Options::default() }
}

fn back(bytes: &[u8], kind: RecordKind) -> Vec<Record> {
    let intake = try_take("back", bytes, &book(), &walked()).unwrap();
    assert_eq!(intake.refused, []);
    assert!(intake.must_be_answered().next().is_none(), "{:?}", intake.unsettled);
    records(&intake).into_iter().filter(|r| r.kind() == kind).collect()
}

fn holding(all: impl IntoIterator<Item = Record>) -> Book {
    let mut book = book();
    all.into_iter().for_each(|r| drop(book.apply(&Edit::put(r)).unwrap()));
    book
}

proptest! {
    #[test]
    fn finds_and_signals_come_back_the_same(find in find(), signal in signal()) {
        let chosen = Chosen { name: "<Bay>".into(), finds: vec![&find], signals: vec![&signal], ..Chosen::default() };
        for written in [Written::Kml, Written::Csv, Written::GeoJson] {
            let bytes = export(&chosen, written).unwrap();
            prop_assert_eq!(back(&bytes, RecordKind::Find), [Record::from(find.clone())], "{:?}", written);
            prop_assert_eq!(back(&bytes, RecordKind::Signal), [Record::from(signal.clone())], "{:?}", written);
        }
        // GPX has no place for depth and the like, but the records are known again.
        let book = holding([find.clone().into(), signal.clone().into()]);
        for (written, _) in Written::ALL {
            let bytes = export(&chosen, written).unwrap();
            let again = try_take("again", &bytes, &book, &walked()).unwrap();
            prop_assert!(again.changes_nothing(), "{:?}: {:?}", written, again.taken);
        }
    }

    #[test]
    fn tracks_come_back_the_same(track in track()) {
        let chosen = Chosen { tracks: vec![&track], ..Chosen::default() };
        // A line of one position is none in KML, and GeoJSON leaves it out.
        let whole = track.segments.iter().all(|s| s.len() > 1) || track.points().all(|p| p.time().is_some());
        for written in [Written::Gpx, Written::Csv, Written::Kml] {
            if written == Written::Kml && !whole {
                continue;
            }
            let bytes = export(&chosen, written).unwrap();
            prop_assert_eq!(back(&bytes, RecordKind::Track), [Record::from(track.clone())], "{:?}", written);
            prop_assert!(try_take("again", &bytes, &holding([track.clone().into()]), &walked()).unwrap().changes_nothing());
        }
    }
}

fn sample() -> (Find, Signal, Track) {
    let place = LonLat::new(-20.0, 45.0).unwrap();
    let time = |s: i64| Some(Timestamp::from_second(1_714_557_600 + s).unwrap());
    let find =
        Find { time: time(5), notes: "wet & <deep>".into(), ..Find::new(beach(), place, "invented penny", Kind::keyed("coin")) };
    let signal = Signal { target_ids: vec![12, 13], ..Signal::new(beach(), place) };
    let run = |from: i64| -> Arc<[TrackPoint]> {
        (from..from + 3).map(|s| TrackPoint::new(place).with_time(time(s)).with_height_m(Some(1.5))).collect()
    };
    let segments = vec![run(0), run(60)];
    (
        find,
        signal,
        Track { uid: Track::content_uid(beach(), &segments), beach: beach(), outing: None, name: "lanes".into(), segments },
    )
}

/// The names of an element's children, for every element of a document; fails on what is not well-formed.
fn children(bytes: &[u8]) -> Vec<(String, Vec<String>)> {
    let mut reader = Reader::from_reader(bytes);
    let (mut open, mut done): (Vec<(String, Vec<String>)>, Vec<_>) = (Vec::new(), Vec::new());
    loop {
        match reader.read_event().unwrap() {
            Event::Start(e) => {
                let name = e.name().as_ref().to_owned();
                if let Some((_, children)) = open.last_mut() {
                    children.push(name.clone());
                }
                open.push((name, Vec::new()));
            }
            Event::End(_) => done.push(open.pop().unwrap()),
            Event::Eof => break,
            _ => {}
        }
    }
    assert!(open.is_empty());
    done
}

/// The order of an element's children as the schemas ask: KML 2.2 (OGC 07-147r2, 9.11 and 13), its extension for tracks,
/// and GPX 1.1 (`wptType`, `trkType`).
#[test]
fn elements_stand_in_the_order_of_the_schemas() {
    let (find, signal, track) = sample();
    let chosen = Chosen { name: "Invented Bay".into(), finds: vec![&find], signals: vec![&signal], tracks: vec![&track] };
    let orders: [(&str, &[&str]); 8] = [
        ("kml", &["Document"]),
        ("Document", &["name", "description", "Folder"]),
        ("Folder", &["name", "Placemark"]),
        ("Placemark", &["name", "description", "TimeStamp", "ExtendedData", "Point", "gx:MultiTrack"]),
        ("gx:Track", &["altitudeMode", "when", "gx:coord"]),
        ("gpx", &["metadata", "wpt", "rte", "trk"]),
        ("wpt", &["ele", "time", "name", "desc", "type", "extensions"]),
        ("trk", &["name", "type", "extensions", "trkseg"]),
    ];
    let mut checked = 0;
    for written in [Written::Kml, Written::Gpx] {
        for (name, children) in children(&export(&chosen, written).unwrap()) {
            let Some((_, order)) = orders.iter().find(|(n, _)| *n == name) else { continue };
            let places: Vec<usize> =
                children.iter().map(|c| order.iter().position(|o| o == c).unwrap_or_else(|| panic!("{c} in {name}"))).collect();
            assert!(places.is_sorted(), "{name}: {children:?}");
            checked += 1;
        }
    }
    assert!(checked >= 10, "{checked}");
}

#[test]
fn a_table_holds_one_sort_and_the_formats_are_known_by_their_endings() {
    let (find, signal, track) = sample();
    let all = Chosen { finds: vec![&find], signals: vec![&signal], tracks: vec![&track], ..Chosen::default() };
    assert!(export(&all, Written::Csv).unwrap_err().to_string().contains("choose one of them"));
    for (path, written) in [
        ("a.GPX", Some(Written::Gpx)),
        ("a/b.json", Some(Written::GeoJson)),
        ("x.kml", Some(Written::Kml)),
        ("csv", None),
        ("a.txt", None),
    ] {
        assert_eq!(Written::of_path(path.as_ref()), written, "{path}");
    }
}

/// The notes of a find once became its name where they spoke of a known kind and the name did not.
#[test]
fn what_a_find_is_and_what_is_noted_of_it_are_not_exchanged_on_the_way() {
    let plain = Find::new(beach(), LonLat::new(-20.0, 45.0).unwrap(), "gold hoop", Kind::keyed("other"));
    let find = Find { notes: "found near a coin spill".into(), ..plain };
    let chosen = Chosen { finds: vec![&find], ..Chosen::default() };
    let Record::Find(again) = back(&export(&chosen, Written::Gpx).unwrap(), RecordKind::Find).remove(0) else { panic!() };
    assert_eq!((&again.what, &again.notes), (&find.what, &find.notes));
}
