//! What a pack says of finds and visits that its permission did not cover, and of the country.

use geo_types::{MultiPolygon, polygon};
use scourline::book::{Beach, Edit, Find, Permission, Uid, Zone, ZoneUse};
use scourline::duties::NO_LIST;
use scourline::earth::LonLat;
use scourline::query::{Ask as _, AtOnce, CheckQuestion};
use scourline::trust::zone_given;

use super::{FINDS, pack, rows, searched, text};

#[test]
fn a_pack_says_what_came_after_the_permission_ended() {
    let (mut book, permission) = searched(50, 100.0);
    let ended = Permission { to: Some("2026-06-02".parse().unwrap()), ..permission };
    book.apply(&Edit::put(ended.clone())).unwrap();
    let made = pack(&book, &ended);
    let late = |name: &str| rows(&made, name).iter().filter(|r| r["remark"] == "after the permission ended").count();
    assert_eq!((late("finds.csv"), late("outings.csv")), (FINDS / 2, 2));
    let sentence = format!("{} of the finds and 2 of the visits came after the permission ended.", FINDS / 2);
    assert!(text(&made, "report.html").contains(&sentence) && made.said.contains(&sentence));
}

#[test]
fn a_pack_says_what_lay_on_closed_ground_and_which_only_where_places_are_exact() {
    let (mut book, permission) = searched(51, 100.0);
    let area =
        MultiPolygon(vec![polygon![(x: -20.0, y: 44.99), (x: -19.97, y: 44.99), (x: -19.97, y: 45.01), (x: -20.0, y: 45.01)]]);
    let (uid, beach) = (Uid::fresh(), permission.beach);
    let zone = Zone { uid, beach, name: "Terns".into(), usage: ZoneUse::NoSearch, area, closure: None, notes: String::new() };
    book.apply(&Edit::put(zone)).unwrap();
    let closed = book.finds().values().filter(|f| f.at.lon_deg() >= -20.0).count();
    let sentence = format!("{closed} of the finds lay on ground that was closed to searching on that day.");
    let made = pack(&book, &permission);
    // Its holder knows the closed ground: of one find in a square the sentence alone would tell in which part of it.
    assert!(made.said.contains(&sentence) && !text(&made, "report.html").contains("closed to searching"));
    assert!(rows(&made, "finds.csv").iter().all(|r| r["remark"].is_empty()), "it would narrow a square down");
    let exact = Permission { exact_positions: true, coarsen_m: None, ..permission };
    book.apply(&Edit::put(exact.clone())).unwrap();
    let made = pack(&book, &exact);
    assert!(text(&made, "report.html").contains(&sentence));
    let told = rows(&made, "finds.csv");
    assert_eq!(told.iter().filter(|r| r["remark"] == "on closed ground").count(), closed);
}

#[test]
fn words_that_are_not_told_are_said_to_be_noted() {
    let (mut book, permission) = searched(52, 100.0);
    let find = book.finds().values().next().unwrap().clone();
    book.apply(&Edit::put(Find { reported: "office, 7731".into(), age: "1837 to 1901".into(), ..find })).unwrap();
    let made = pack(&book, &permission);
    let told = rows(&made, "finds.csv");
    assert!(told.iter().any(|r| r["reported"] == "noted, not told here" && r["age"] == "1837 to 1901"));
    assert!(text(&made, "report.html").contains("noted, not told here") && !text(&made, "report.html").contains("7731"));
}

/// Newlyn, Calais and Rømø by GeoNames, rounded.
#[test]
fn the_country_is_told_where_clock_and_station_agree_and_else_no_law_is_told_as_the_one_that_holds() {
    let law = |at: Option<(f64, f64)>, zone: &str| {
        let (mut book, permission) = searched(53, 100.0);
        let bare = book.beaches()[&permission.beach].clone();
        let origin = at.map_or(bare.origin, |(x, y)| LonLat::new(x, y).unwrap());
        let beach = zone_given(Beach { origin, ..bare }, zone, super::at("2026-06-01T08:00:00Z"));
        book.apply(&Edit::put(beach.clone())).unwrap();
        let checked = AtOnce::default().ask(CheckQuestion::new(&book, &beach)).unwrap();
        (checked.lies_in.clone(), text(&pack(&book, &permission), "report.html").to_owned())
    };
    let (lies_in, page) = law(Some((-5.53, 50.1)), "Europe/London");
    assert_eq!(lies_in.settled().map(|c| c.code), Some("GB"));
    assert!(page.contains(&format!("{} (GB)", lies_in.settled().unwrap().name)) && !page.contains(NO_LIST));
    let supposed = |page: &str| page.split("If in ").skip(1).map(|rest| rest.chars().take(60).collect()).collect::<Vec<String>>();
    assert_eq!(supposed(&page), Vec::<String>::new());
    for ((at, zone), codes) in [
        ((Some((-5.53, 50.1)), "Europe/Paris"), &["FR", "GB"][..]),
        ((Some((1.85, 50.97)), "Europe/London"), &["GB", "FR"]),
        ((Some((8.50, 55.10)), "Europe/Copenhagen"), &["DK", "DE"]),
        ((None, "Europe/London"), &["GB"]),
    ] {
        let (lies_in, page) = law(at, zone);
        assert_eq!((lies_in.settled(), lies_in.codes().as_slice()), (None, codes), "{zone}");
        assert!(page.contains("is not settled") && page.contains("by its clock"), "{zone}");
        let lines = supposed(page.split_once("What the law may ask").unwrap().1).len();
        assert_eq!(lines, codes.iter().map(|c| scourline::duties::duties_in(c).len()).sum::<usize>(), "{zone}");
    }
    assert!(law(None, "UTC").1.contains(NO_LIST));
}
