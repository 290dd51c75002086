//! Counts of a pack held against the book and against each other, and what is handed over a second time.

use std::collections::BTreeMap;
use std::sync::Arc;

use scourline::book::{Agreed, Edit, Find, Outing, Permission, PlaceRule, Track, TrackPoint};
use scourline::earth::{Frame, Local};
use scourline::output::as_written;
use scourline::query::HandOver;
use scourline::share::PackAsk;
use serde_json::Value;
use sha2::{Digest as _, Sha256};

use super::{FINDS, at, bytes, features, over, pack, rows, searched, text, try_pack};

/// How many finds the squares of the picture say to hold.
fn in_squares(drawn: &str) -> usize {
    let titles = drawn.split("<title>no. ").skip(1).filter_map(|t| t.split_once(": ")?.1.split_once(" find(s)<"));
    titles.map(|(n, _)| n.parse::<usize>().unwrap()).sum()
}

/// The rows of the table under a heading of the page.
fn rows_under(page: &str, heading: &str) -> usize {
    let (_, from) = page.split_once(&format!("<h2>{heading}</h2>")).unwrap();
    let body = from.split_once("<tbody>").unwrap().1.split_once("</tbody>").unwrap().0;
    body.matches("<tr>").count()
}

fn agree(made: &HandOver, finds: usize, outings: usize) {
    let manifest: Value = serde_json::from_slice(bytes(made, "manifest.json")).unwrap();
    let page = text(made, "report.html");
    assert_eq!((features(made, "finds.geojson").len(), features(made, "outings.geojson").len()), (finds, outings));
    assert_eq!((rows(made, "finds.csv").len(), rows(made, "outings.csv").len()), (finds, outings));
    assert_eq!((&manifest["finds"], &manifest["outings"]), (&finds.into(), &outings.into()));
    assert_eq!((rows_under(page, "What was found"), rows_under(page, "When, how long and how much ground")), (finds, outings));
    assert!(page.contains(&format!("{finds} things were found, of which")), "{page:.3000}");
    assert_eq!(in_squares(text(made, "plan.svg")), finds, "the squares of the picture hold every find");
    assert_eq!(made.receipt.as_ref().unwrap().finds.len(), finds);
    // The list of what leaves has a line for each.
    let lines = |name: &str| made.leaves.iter().filter(|l| l.starts_with(name) && l.contains("uid ")).count();
    assert_eq!((lines("finds.csv"), lines("outings.csv")), (finds, outings));
}

#[test]
fn report_geojson_table_picture_and_manifest_agree_with_the_book() {
    let (book, permission) = searched(2, 100.0);
    let made = pack(&book, &permission);
    agree(&made, book.finds().len(), book.outings().len());
    let half = try_pack(&book, &permission, over("2026-06-02", "2026-06-03")).unwrap();
    agree(&half, FINDS / 2, 2);
    // Figure for figure with the book.
    let rubbish = book.finds().values().filter(|f| f.kind.is_rubbish()).count();
    let page = text(&made, "report.html");
    assert!(
        page.contains(&format!("of which {rubbish} rubbish")) && page.contains("1 kg of litter") && page.contains("12 hours")
    );
    for row in rows(&made, "finds.csv") {
        let find = book.finds().values().find(|f| f.uid.disguised(permission.key).to_string() == row["uid"]).unwrap();
        // Words with a figure are not told of a coarsened place: its kind stands for them.
        let what = if find.what.contains("1914") { find.kind.label() } else { find.what.as_str() };
        assert_eq!((row["what"].as_str(), row["kind"].as_str()), (what, find.kind.label()));
        assert_eq!(row["day"], find.time.unwrap().to_string()[..10]);
        assert_eq!(row["reported"], find.reported);
    }
    for (feature, row) in features(&made, "finds.geojson").iter().zip(rows(&made, "finds.csv")) {
        for (key, value) in
            feature["properties"].as_object().unwrap().iter().filter(|(k, _)| !["role", "square_m"].contains(&k.as_str()))
        {
            let said = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
            assert_eq!(row.get(key), Some(&said), "{key}: all that leaves stands in the table, which the preview lists");
        }
    }
}

#[test]
fn the_manifest_lists_every_file_as_it_stands_on_disk() {
    let (book, permission) = searched(12, 100.0);
    let made = pack(&book, &permission);
    let folder = tempfile::tempdir().unwrap();
    let files: Vec<_> = made.files.iter().map(|(name, bytes)| (folder.path().join(name), bytes)).collect();
    scourline::output::write_instead(&files, &made.left_out_in(folder.path()), scourline::output::Over::Own).unwrap();
    let manifest: Value = serde_json::from_slice(&std::fs::read(folder.path().join("manifest.json")).unwrap()).unwrap();
    let listed = manifest["files"].as_array().unwrap();
    assert_eq!(listed.len() + 1, made.files.len());
    let sum = |bytes: &[u8]| Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect::<String>();
    for file in listed {
        let bytes = std::fs::read(folder.path().join(file["name"].as_str().unwrap())).unwrap();
        assert_eq!((&file["sha256"], &file["bytes"]), (&sum(&bytes).into(), &bytes.len().into()), "{}", file["name"]);
    }
    let own = sum(&as_written(bytes(&made, "manifest.json")));
    assert_eq!(made.receipt.as_ref().unwrap().manifest, own);
    // Files of the same names, one of them somebody's own: nothing is written, nothing is lost.
    std::fs::write(folder.path().join("report.html"), "mine").unwrap();
    assert!(scourline::output::write_instead(&files, &[], scourline::output::Over::Own).is_err());
    assert_eq!(std::fs::read(folder.path().join("report.html")).unwrap(), b"mine");
}

#[test]
fn a_second_pack_may_hold_what_is_new_only() {
    let (mut book, permission) = searched(13, 100.0);
    let first = try_pack(&book, &permission, over("", "2026-06-02")).unwrap();
    book.apply(&Edit::put(first.receipt.clone().unwrap())).unwrap();
    let new = try_pack(&book, &permission, PackAsk { new_only: true, ..PackAsk::default() }).unwrap();
    assert_eq!(features(&new, "finds.geojson").len(), FINDS / 2);
    assert!(text(&new, "report.html").contains(&format!("{} were handed over before", FINDS / 2)));
    book.apply(&Edit::put(new.receipt.clone().unwrap())).unwrap();
    let none = try_pack(&book, &permission, PackAsk { new_only: true, ..PackAsk::default() }).unwrap();
    assert!(features(&none, "finds.geojson").is_empty());
    // Receipts change nothing of a whole pack.
    assert_eq!(pack(&book, &permission).files.len(), first.files.len());
}

#[test]
fn only_what_is_older_than_agreed_is_told_and_what_is_of_unknown_age() {
    let (mut book, permission) = searched(14, 100.0);
    let mut older = permission.clone();
    older.agreed.older_than = Some(1910);
    book.apply(&Edit::put(older.clone())).unwrap();
    let pennies = book.finds().values().filter(|f| f.what.contains("1914")).count();
    let made = pack(&book, &older);
    assert_eq!(features(&made, "finds.geojson").len(), FINDS - pennies);
    assert!(text(&made, "report.html").contains(&format!("{pennies} younger than 1910 are not listed, as you asked")));
}

fn withheld() -> Agreed {
    Agreed { places: PlaceRule::read_all("jewellery withheld").unwrap(), ..Agreed::default() }
}

/// A walk straight across the edge of the ground: half of what was covered lies on it.
#[test]
fn ground_covered_is_that_of_the_permission() {
    let (mut book, coarse) = searched(15, 100.0);
    let permission = Permission { exact_positions: true, coarsen_m: None, ..coarse.clone() };
    book.apply(&Edit::put(permission.clone())).unwrap();
    let beach = book.beaches()[&permission.beach].clone();
    let frame = Frame::centred_on(beach.origin).unwrap();
    let start = at("2026-07-01T08:00:00Z");
    let outing = Outing::new(beach.uid, start, start + jiff::SignedDuration::from_hours(1));
    let east_edge = frame.to_local(scourline::earth::LonLat::new(-19.97, 45.001).unwrap()).unwrap().east_m;
    let fix = |n: i64| {
        let place = Local::new(east_edge - 100.0 + 0.5 * n as f64, 0.0);
        TrackPoint::new(frame.to_lonlat(place).unwrap()).with_time(Some(start + jiff::SignedDuration::from_secs(n)))
    };
    let segments: Vec<Arc<[TrackPoint]>> = vec![(0..400).map(fix).collect()];
    let uid = Track::content_uid(beach.uid, &segments);
    let track = Track { uid, beach: beach.uid, outing: Some(outing.uid), name: String::new(), segments };
    book.apply(&Edit::Batch(vec![Edit::put(outing.clone()), Edit::put(track)])).unwrap();
    let covered = |permission: &Permission, book: &scourline::book::Book| -> BTreeMap<String, String> {
        let id = outing.uid.disguised(permission.key).to_string();
        rows(&pack(book, permission), "outings.csv").into_iter().find(|r| r["uid"] == id).unwrap()
    };
    let half: f64 = covered(&permission, &book)["covered_m2"].parse().unwrap();
    let area =
        geo::MapCoords::map_coords(&permission.area, |c| geo_types::Coord { x: if c.x > -19.98 { -19.9 } else { c.x }, y: c.y });
    let wide = Permission { area, ..permission.clone() };
    book.apply(&Edit::put(wide.clone())).unwrap();
    let all: f64 = covered(&wide, &book)["covered_m2"].parse().unwrap();
    assert!(all > 100.0 && (half / all - 0.5).abs() < 0.05, "{half} of {all}");
    // Where places are told as squares so small a figure would tell the edge, and so would none at all.
    for (coarsen_m, told) in [(100.0, "1000.0"), (1000.0, "10000.0")] {
        let coarse = Permission { coarsen_m: Some(coarsen_m), ..coarse.clone() };
        book.apply(&Edit::put(coarse.clone())).unwrap();
        let row = covered(&coarse, &book);
        assert_eq!((row["covered_m2"].as_str(), row["covered_less_than_m2"].as_str()), ("", told));
        assert!(row["hours"] == "1.0", "{row:?}");
        let page = text(&pack(&book, &coarse), "report.html").to_owned();
        let less = told.trim_end_matches(".0");
        assert!(page.contains(&format!("less than {less} square metres of your ground on 1 of the visits each")), "{page:.3000}");
        assert!(!page.contains(&format!("about {half:.0} square metres")));
    }
    let withheld = Permission { agreed: withheld(), ..coarse.clone() };
    book.apply(&Edit::put(withheld.clone())).unwrap();
    let row = covered(&withheld, &book);
    assert_eq!((row["covered_m2"].as_str(), row["covered_less_than_m2"].as_str()), ("", ""));
    assert!(text(&pack(&book, &withheld), "report.html").contains("not told"));
    book.apply(&Edit::put(permission.clone())).unwrap();
    // A find by itself needs no track to be told.
    let lone = Find { outing: None, ..book.finds().values().next().unwrap().clone() };
    book.apply(&Edit::put(lone)).unwrap();
    assert_eq!(features(&pack(&book, &permission), "finds.geojson").len(), FINDS);
}
