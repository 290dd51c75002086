//! A pack looked at by somebody who wants the exact places: who has the pack, knows the beach, the program and its source,
//! but not the book.

use std::collections::BTreeSet;

use geo::{Area as _, BooleanOps as _, BoundingRect as _, Contains as _};
use geo_types::{MultiPolygon, Point, polygon};
use scourline::book::{Book, Edit, Permission, PlaceRule, Uid};
use scourline::earth::{EarthSquare, LonLat, SquareSide, distance_m};
use scourline::query::HandOver;
use serde_json::Value;

use super::{FINDS, features, outline, over, pack, rows, searched, text, try_pack};

fn told_of<'t>(told: &'t [Value], permission: &Permission, find: Uid) -> &'t Value {
    let id = find.disguised(permission.key).to_string();
    told.iter().find(|f| f["properties"]["uid"] == id.as_str()).unwrap()
}

#[test]
fn no_file_of_a_pack_holds_an_exact_place_a_minute_or_the_name_of_a_find() {
    let (book, permission) = searched(1, 100.0);
    let pack = pack(&book, &permission);
    for (name, bytes) in &pack.files {
        let content = String::from_utf8_lossy(bytes);
        for find in book.finds().values() {
            let [lon, lat] = [find.at.lon_deg(), find.at.lat_deg()];
            let time = find.time.unwrap();
            for digits in [format!("{lon:.7}"), format!("{lat:.7}"), find.uid.to_string(), time.to_string(), find.photo.clone()] {
                assert!(!content.contains(&digits), "{name} holds {digits}");
            }
        }
        for outing in book.outings().values() {
            assert!(!content.contains(&outing.uid.to_string()), "{name}");
        }
        let private = ["hush", &permission.key.to_string(), "groyne", "08:0", "T08", "IMG"];
        assert!(private.iter().all(|p| !content.contains(p)), "{name}");
    }
    let names: Vec<&str> = pack.files.iter().map(|(n, _)| n.as_str()).collect();
    let wanted = [
        "finds.geojson",
        "outings.geojson",
        "zones.geojson",
        "plan.svg",
        "report.html",
        "finds.csv",
        "outings.csv",
        "manifest.json",
    ];
    assert_eq!(names, wanted);
    // What is told of an outing has no place, and of its time the length to the quarter of an hour.
    for outing in features(&pack, "outings.geojson") {
        assert_eq!((&outing["geometry"], &outing["properties"]["hours"]), (&Value::Null, &3.0.into()));
    }
}

/// The best guess from the pack is the middle of a square: it misses by as much as guessing evenly does.
#[test]
fn a_place_cannot_be_guessed_better_than_evenly_within_its_square() {
    for (seed, coarsen_m) in [(3, 10.0), (4, 100.0), (5, 1000.0)] {
        let (book, permission) = searched(seed, coarsen_m);
        let told = features(&pack(&book, &permission), "finds.geojson");
        let (mut missed_m2, mut even_m2) = (0.0, 0.0);
        for find in book.finds().values() {
            let bounds = outline(told_of(&told, &permission, find.uid)).bounding_rect().unwrap();
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

/// What a field says of a place beyond its square: every property of every find, as classes of equal value, against the place
/// within the square. With 400 finds a class of a hundred has a mean offset of at most a few of its standard errors.
#[test]
fn no_field_and_no_order_goes_with_where_in_its_square_a_find_lies() {
    let (book, permission) = searched(11, 100.0);
    let pack = pack(&book, &permission);
    let told = features(&pack, "finds.geojson");
    let offset = |uid: &Value| {
        let find = book.finds().values().find(|f| f.uid.disguised(permission.key).to_string() == *uid).unwrap();
        let bounds = EarthSquare::around(find.at, SquareSide::M100).outline().bounding_rect().unwrap();
        [
            (find.at.lon_deg() - bounds.min().x) / bounds.width() - 0.5,
            (find.at.lat_deg() - bounds.min().y) / bounds.height() - 0.5,
        ]
    };
    let offsets: Vec<[f64; 2]> = told.iter().map(|f| offset(&f["properties"]["uid"])).collect();
    let keys: BTreeSet<String> = told.iter().flat_map(|f| f["properties"].as_object().unwrap().keys().cloned()).collect();
    let mut classes: Vec<(String, Vec<usize>)> = Vec::new();
    for key in keys {
        let values: Vec<String> = told.iter().map(|f| f["properties"][&key].to_string()).collect();
        let different: BTreeSet<&String> = values.iter().collect();
        for value in different.iter().filter(|_| different.len() < 50) {
            classes.push((format!("{key}={value}"), (0..told.len()).filter(|n| values[*n] == **value).collect()));
        }
    }
    // By the order in the file, and by the first digit of the id.
    classes.extend((0..4).map(|part| (format!("part {part}"), (0..told.len()).filter(|n| 4 * n / told.len() == part).collect())));
    for half in ["01234567", "89abcdef"] {
        let of = |n: &usize| told[*n]["properties"]["uid"].as_str().is_some_and(|id| half.contains(&id[..1]));
        classes.push((format!("ids {half}"), (0..told.len()).filter(of).collect()));
    }
    for (name, of) in classes.iter().filter(|(_, of)| of.len() > 20) {
        let means = of.iter().fold([0.0; 2], |sum, n| [sum[0] + offsets[*n][0], sum[1] + offsets[*n][1]]);
        let error = (1.0 / 12.0 / of.len() as f64).sqrt();
        for mean in means.map(|sum| sum / of.len() as f64) {
            assert!(mean.abs() < 4.0 * error, "{name}: {mean} +- {error}");
        }
    }
}

#[test]
fn two_packs_together_say_no_more_than_the_finer_alone() {
    let (book, fine) = searched(6, 10.0);
    let coarse = Permission { coarsen_m: Some(100.0), key: Uid::of_content("key", [&b"another"[..]]), ..fine.clone() };
    let mut other = book.clone();
    other.apply(&Edit::put(coarse.clone())).unwrap();
    let (finer, coarser) = (features(&pack(&book, &fine), "finds.geojson"), features(&pack(&other, &coarse), "finds.geojson"));
    let ids = |told: &[Value]| told.iter().map(|f| f["properties"]["uid"].to_string()).collect::<BTreeSet<_>>();
    assert!(ids(&finer).is_disjoint(&ids(&coarser)));
    // Each fine square lies whole in one coarse one, so crossing them cuts nothing off.
    for find in book.finds().values() {
        let (inner, outer) = (outline(told_of(&finer, &fine, find.uid)), outline(told_of(&coarser, &coarse, find.uid)));
        let (both, alone) = (inner.intersection(&outer).unsigned_area(), inner.unsigned_area());
        assert!(both > 0.99 * alone, "{}", both / alone);
    }
}

/// At the edge of a slanted ground, where squares are cut off: whatever pack and sides are crossed with the ground, a whole
/// square of ground is left.
#[test]
fn crossed_with_the_edge_of_the_ground_a_whole_square_is_left() {
    let (book, wide) = searched(7, 100.0);
    let slanted = MultiPolygon(vec![
        polygon![(x: -20.009, y: 45.0004), (x: -19.986, y: 45.0011), (x: -19.988, y: 45.0021), (x: -20.004, y: 45.0016)],
    ]);
    let with = |coarsen_m: f64| Permission { area: slanted.clone(), coarsen_m: Some(coarsen_m), ..wide.clone() };
    let told = |permission: &Permission| {
        let mut own = book.clone();
        own.apply(&Edit::put(permission.clone())).unwrap();
        features(&pack(&own, permission), "finds.geojson")
    };
    let (fine, coarse) = (told(&with(10.0)), told(&with(100.0)));
    assert!(fine.len() > 100 && fine.len() == coarse.len());
    let mut joined = 0;
    for find in book.finds().values().filter(|f| slanted.contains(&Point::new(f.at.lon_deg(), f.at.lat_deg()))) {
        for (told, other, side) in [(&coarse, &coarse, SquareSide::M100), (&fine, &coarse, SquareSide::M10)] {
            let (a, b) = (outline(told_of(told, &wide, find.uid)), outline(told_of(other, &wide, find.uid)));
            assert!(a.contains(&Point::new(find.at.lon_deg(), find.at.lat_deg())));
            let square = EarthSquare::around(find.at, side).outline().unsigned_area();
            joined += usize::from(a.unsigned_area() > 1.5 * square);
            let left = a.intersection(&b).intersection(&slanted).unsigned_area() / square;
            assert!(left > 0.98, "{side:?}: {left}");
        }
    }
    assert!(joined > 20, "the edge cuts squares off: {joined}");
}

#[test]
fn packs_of_two_periods_know_a_find_by_one_id_and_share_none() {
    let (book, permission) = searched(8, 100.0);
    let of = |from: &str, to: &str| try_pack(&book, &permission, over(from, to)).unwrap();
    let (first, second, all) = (of("", "2026-06-02"), of("2026-06-03", ""), pack(&book, &permission));
    let told = |pack: &HandOver| {
        rows(pack, "finds.csv").into_iter().map(|r| (r["uid"].clone(), r)).collect::<std::collections::BTreeMap<_, _>>()
    };
    let (one, two, whole) = (told(&first), told(&second), told(&all));
    assert_eq!((one.len(), two.len(), whole.len()), (FINDS / 2, FINDS / 2, FINDS));
    assert!(one.keys().all(|id| !two.contains_key(id)));
    // What is told of a find does not depend on the period, so that two packs hold no difference to be read.
    for (id, row) in one.iter().chain(&two) {
        let same = |key: &str| whole[id][key] == row[key];
        assert!(row.keys().filter(|k| !k.starts_with("scourline-made")).all(|key| same(key)), "{row:?}");
    }
    // The same for the same holder, to the byte, whenever it is made.
    assert_eq!(pack(&book, &permission).files, all.files);
}

#[test]
fn each_kind_is_told_as_agreed_and_what_is_withheld_has_no_place() {
    let (book, permission) = searched(9, 100.0);
    let mut permission = Permission { exact_positions: true, coarsen_m: None, ..permission };
    permission.agreed.places = PlaceRule::read_all("coins withheld; rubbish 1 km").unwrap();
    let mut own = book.clone();
    own.apply(&Edit::put(permission.clone())).unwrap();
    let made = pack(&own, &permission);
    let (told, table) = (features(&made, "finds.geojson"), rows(&made, "finds.csv"));
    assert_eq!((told.len(), table.len()), (FINDS, FINDS));
    let middle = scourline::earth::LonLat::new(-20.0, 45.001).unwrap();
    let one_km = EarthSquare::around(middle, SquareSide::Km1).outline().unsigned_area();
    for (feature, row) in told.iter().zip(&table) {
        let coin = feature["properties"]["kind"] == "coin";
        assert_eq!(feature["geometry"].is_null(), coin);
        // At the ground's edge squares are joined, and several are called so.
        let several = !coin && outline(feature).unsigned_area() > 1.5 * one_km;
        let place_told = match (coin, several) {
            (true, _) => "withheld",
            (false, true) => "several squares of 1 km",
            (false, false) => "square of 1 km",
        };
        assert_eq!((row["place"].is_empty(), row["place_told"].as_str()), (coin, place_told));
        assert!(row["time"].is_empty(), "no minute where the place is not told");
    }
    let exact = Permission { agreed: scourline::book::Agreed::default(), ..permission.clone() };
    own.apply(&Edit::put(exact.clone())).unwrap();
    let made = pack(&own, &exact);
    assert!(features(&made, "finds.geojson").iter().all(|f| f["geometry"]["type"] == "Point"));
    // Even then values, private notes, finders and what else a file said do not leave.
    assert!(made.files.iter().all(|(_, bytes)| !String::from_utf8_lossy(bytes).contains("hush")));
    assert!(text(&made, "report.html").contains("exact"));
}

#[test]
fn finds_of_another_permission_never_leave() {
    let (book, permission) = searched(10, 100.0);
    let other =
        Permission { uid: Uid::of_content("permission", [&b"second"[..]]), name: "Upper sand".into(), ..permission.clone() };
    let mut own = book.clone();
    own.apply(&Edit::put(other)).unwrap();
    let finds: Vec<_> = book.finds().values().take(7).cloned().collect();
    for find in finds {
        own.apply(&Edit::put(scourline::book::Find { permission: " upper SAND".into(), ..find })).unwrap();
    }
    let made: Book = own;
    let handed = pack(&made, &permission);
    assert_eq!(features(&handed, "finds.geojson").len(), FINDS - 7);
    assert!(handed.said.iter().any(|s| s.contains("7 of another permission")), "{:?}", handed.said);
}
