//! What a permission's holder is handed, looked at by somebody who wants the exact places: who has the pack, knows the
//! beach, the program and its source, but not the book.

use geo::{BoundingRect as _, Contains as _};
use geo_types::{MultiPolygon, Point, polygon};
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use scourline::book::{Beach, Book, Find, Kind, Outing, Permission, Record, Signal, Uid};
use scourline::earth::{EarthSquare, LonLat, SquareSide, distance_m};
use scourline::query::{Ask as _, AtOnce, HandOver, Inquiry};
use serde_json::Value;

const FINDS: usize = 400;

fn now() -> jiff::Timestamp {
    "2027-03-01T12:00:00Z".parse().unwrap()
}

/// A straight beach of 2 km by 300 m with finds strewn evenly, and a permission for all of it.
fn searched(seed: u64, coarsen_m: f64) -> (Book, Permission) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let place =
        |rng: &mut ChaCha8Rng| LonLat::new(rng.random_range(-20.0100..-19.9850), rng.random_range(45.0000..45.0027)).unwrap();
    let beach = Beach::new("Invented Strand", LonLat::new(-20.0, 45.001).unwrap());
    let area = MultiPolygon::new(vec![
        polygon![(x: -20.02, y: 44.99), (x: -19.97, y: 44.99), (x: -19.97, y: 45.01), (x: -20.02, y: 45.01)],
    ]);
    let permission = Permission {
        uid: Uid::of_content("permission", [&b"invented"[..]]),
        holder: "Invented Trust".into(),
        coarsen_m: Some(coarsen_m),
        key: Uid::of_content("key", [&b"secret"[..]]),
        ..Permission::new(beach.uid, "Strand", area)
    };
    let start: jiff::Timestamp = "2026-06-01T08:00:00Z".parse().unwrap();
    let hours = jiff::SignedDuration::from_hours;
    let outing = Outing { name: "hush, a walk".into(), ..Outing::new(beach.uid, start, start + hours(4)) };
    let mut records: Vec<Record> = vec![beach.clone().into(), permission.clone().into(), outing.clone().into()];
    for n in 0..FINDS {
        let (at, time) = (place(&mut rng), start + jiff::SignedDuration::from_secs(31 * n as i64));
        let find = Find::new(beach.uid, at, "coin", Kind::keyed("coin"));
        // As an import makes it: a hash of place and time.
        let uid = Uid::of_content("find", [at.to_string().as_bytes(), time.to_string().as_bytes()]);
        let notes = "hush: by the third groyne".to_owned();
        records.push(Find { uid, time: Some(time), outing: Some(outing.uid), notes, ..find }.into());
        if n % 10 == 0 {
            records.push(Signal { time: Some(time), ..Signal::new(beach.uid, place(&mut rng)) }.into());
        }
    }
    (Book::gather(records).unwrap(), permission)
}

fn pack(book: &Book, permission: &Permission) -> HandOver {
    let inquiry = Inquiry::new(book, permission.beach, now()).unwrap();
    let made = AtOnce::default().ask(inquiry.hand_over(Some(permission.uid), now())).unwrap();
    HandOver { files: made.files.clone(), said: made.said.clone(), setting: made.setting.clone(), read: made.read.clone() }
}

fn text<'p>(pack: &'p HandOver, name: &str) -> &'p str {
    let (_, bytes) = pack.files.iter().find(|(n, _)| n == name).unwrap();
    std::str::from_utf8(bytes).unwrap()
}

fn features(pack: &HandOver, name: &str) -> Vec<Value> {
    let document: Value = serde_json::from_str(text(pack, name)).unwrap();
    document["features"].as_array().unwrap().clone()
}

fn outline(feature: &Value) -> geo_types::Polygon<f64> {
    geo_types::Polygon::try_from(serde_json::from_value::<geojson::Geometry>(feature["geometry"].clone()).unwrap()).unwrap()
}

#[test]
fn no_file_of_a_pack_holds_an_exact_place_a_minute_or_the_name_of_a_find() {
    let (book, permission) = searched(1, 100.0);
    let pack = pack(&book, &permission);
    for (name, bytes) in &pack.files {
        let content = String::from_utf8_lossy(bytes);
        for find in book.finds().values() {
            let [lon, lat] = [find.at.lon_deg(), find.at.lat_deg()];
            for digits in [format!("{lon:.7}"), format!("{lat:.7}"), find.uid.to_string(), find.time.unwrap().to_string()] {
                assert!(!content.contains(&digits), "{name} holds {digits}");
            }
        }
        let private = ["hush", &permission.key.to_string(), "groyne", "08:0", "T08"];
        assert!(private.iter().all(|p| !content.contains(p)), "{name}");
    }
    // Nothing that is drawn or told of a reading says more than the squares do.
    let names: Vec<&str> = pack.files.iter().map(|(n, _)| n.as_str()).collect();
    assert_eq!(names, ["finds.geojson", "signals.geojson", "plan.svg", "report.html"]);
    for told in ["clusters of finds", "finds by tide band", "m² swept"] {
        assert!(!text(&pack, "report.html").to_lowercase().contains(told), "{told}");
    }
}

#[test]
fn every_find_is_told_once_as_its_square_and_counts_agree() {
    let (book, permission) = searched(2, 100.0);
    let pack = pack(&book, &permission);
    let told = features(&pack, "finds.geojson");
    assert_eq!((told.len(), features(&pack, "signals.geojson").len()), (book.finds().len(), book.signals().len()));
    for find in book.finds().values() {
        let id = find.uid.disguised(permission.key).to_string();
        let own = told.iter().find(|f| f["properties"]["uid"] == id.as_str()).unwrap();
        assert!(outline(own).contains(&Point::new(find.at.lon_deg(), find.at.lat_deg())));
        assert_eq!((&own["properties"]["day"], &own["properties"]["square_m"]), (&"2026-06-01".into(), &100.0.into()));
        // As GeoJSON writes it, to a centimetre.
        let square = EarthSquare::around(find.at, SquareSide::M100).outline();
        let (a, b) = (outline(own).bounding_rect().unwrap(), square.bounding_rect().unwrap());
        assert!((a.min().x - b.min().x).abs() < 1e-7 && (a.max().y - b.max().y).abs() < 1e-7);
    }
    let drawn = text(&pack, "plan.svg");
    let in_squares: usize = drawn
        .split("<text")
        .filter(|t| t.contains("text-anchor=\"middle\""))
        .filter_map(|t| t.split_once('>')?.1.split('<').next()?.trim().parse::<usize>().ok())
        .sum();
    assert_eq!(in_squares, FINDS, "the squares of the picture hold every find");
    assert!(text(&pack, "report.html").contains(&format!("{FINDS} finds (")) && !drawn.contains("<circle"));
}

/// The best guess from the pack is the middle of a square: it misses by as much as guessing evenly does.
#[test]
fn a_place_cannot_be_guessed_better_than_evenly_within_its_square() {
    for (seed, coarsen_m) in [(3, 10.0), (4, 100.0), (5, 1000.0)] {
        let (book, permission) = searched(seed, coarsen_m);
        let told = features(&pack(&book, &permission), "finds.geojson");
        let (mut missed_m2, mut even_m2) = (0.0, 0.0);
        for find in book.finds().values() {
            let id = find.uid.disguised(permission.key).to_string();
            let ring = outline(told.iter().find(|f| f["properties"]["uid"] == id.as_str()).unwrap());
            let bounds = ring.bounding_rect().unwrap();
            let corner = |x, y| LonLat::new(x, y).unwrap();
            let (low, high) = (bounds.min(), bounds.max());
            let [wide_m, high_m] = [
                distance_m(corner(low.x, low.y), corner(high.x, low.y)),
                distance_m(corner(low.x, low.y), corner(low.x, high.y)),
            ];
            // The second moment of an even density about its middle.
            even_m2 += (wide_m * wide_m + high_m * high_m) / 12.0;
            let middle = corner(0.5 * (low.x + high.x), 0.5 * (low.y + high.y));
            missed_m2 += distance_m(middle, find.at).powi(2);
        }
        // 400 places; where squares of 1 km reach beyond the sand anybody sees that they do.
        let ratio = (missed_m2 / even_m2).sqrt();
        let least = if coarsen_m > 300.0 { 0.6 } else { 0.93 };
        assert!(ratio > least, "{coarsen_m} m: {ratio}");
    }
}

#[test]
fn two_packs_together_say_no_more_than_the_finer_alone() {
    let (book, fine) = searched(6, 10.0);
    let coarse = Permission { coarsen_m: Some(100.0), key: Uid::of_content("key", [&b"another"[..]]), ..fine.clone() };
    let mut other = book.clone();
    other.apply(&scourline::book::Edit::put(coarse.clone())).unwrap();
    let (finer, coarser) = (features(&pack(&book, &fine), "finds.geojson"), features(&pack(&other, &coarse), "finds.geojson"));
    let ids = |told: &[Value]| told.iter().map(|f| f["properties"]["uid"].to_string()).collect::<std::collections::BTreeSet<_>>();
    assert!(ids(&finer).is_disjoint(&ids(&coarser)));
    // Each fine square lies whole in one coarse one, so crossing them cuts nothing off.
    for find in book.finds().values() {
        let (inner, outer) = (EarthSquare::around(find.at, SquareSide::M10), EarthSquare::around(find.at, SquareSide::M100));
        let (a, b) = (inner.outline().bounding_rect().unwrap(), outer.outline().bounding_rect().unwrap());
        let within = |low: f64, high: f64, of: (f64, f64)| of.0 - 1e-12 <= low && high <= of.1 + 1e-12;
        assert!(within(a.min().x, a.max().x, (b.min().x, b.max().x)) && within(a.min().y, a.max().y, (b.min().y, b.max().y)));
    }
    // The same for the same holder, to the byte.
    assert_eq!(pack(&book, &fine).files, pack(&book, &fine).files);
}
