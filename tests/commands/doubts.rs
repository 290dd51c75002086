//! Inputs that must not be believed: told where they are given, in the way of every route until they are settled.

use serde_json::Value;

use super::end_to_end::{json, refuses, scourline, text};

/// The doubts of a document by the kind their key begins with, with their weight and whether they are confirmed.
fn kinds(document: &Value) -> Vec<(String, String, bool)> {
    let one = |d: &Value| {
        let word = |key: &str| d[key].as_str().unwrap().to_owned();
        (word("key").split([':', '<']).next().unwrap().to_owned(), word("weight"), !d["confirmed"].is_null())
    };
    document["doubts"].as_array().unwrap().iter().map(one).collect()
}

fn bars(document: &Value) -> Vec<String> {
    let grave = |w: &str| w == "blocks" || w == "refuses";
    kinds(document).into_iter().filter(|(_, w, confirmed)| grave(w) && !confirmed).map(|(kind, ..)| kind).collect()
}

#[test]
fn an_offset_in_feet_and_a_far_station_are_told_and_plan_no_route_until_they_are_settled() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("demo");
    let demo = crate::demo_in(&out);
    // The invented beach is exempt from distance, and says so; nobody followed the water's edge there.
    let told = ["invented", "unwitnessed"].map(|kind| (kind.to_owned(), "caution".to_owned(), false));
    assert_eq!(kinds(&demo), told);
    let book = out.join("tarrow-sands.gpkg");
    let beach = |more: &[&str]| json(&[&["beach", "--book", text(&book), "--json"], more].concat());
    let after = "2026-09-26T00:00:00Z";
    let route =
        |more: &[&'static str]| [&["route", "--book", text(&book), "--after", after, "--rounds", "5", "--json"], more].concat();

    // 3.05 m typed in feet: told where it is typed, where the lows are listed and in place of a route.
    let feet = beach(&["--offset", "10"]);
    // The person's own outings speak against it as well.
    assert_eq!(bars(&feet), ["offset-feet", "witness"]);
    let told = scourline(&["tides", "--book", text(&book), "--from", "2026-09-26", "--days", "2", "--lows", "2"]);
    let told = String::from_utf8(told.stdout).unwrap();
    assert!(told.contains("NO ROUTE UNTIL SETTLED") && told.contains("read as feet"), "{told}");
    let why = refuses(3, &route(&[]));
    assert!(why.contains("read as feet it is +3.05 m") && why.contains("give 3.048 m") && why.contains("--confirm"), "{why}");

    // A confirmation holds for its value alone; a slip of the pen confirms nothing.
    let key = feet["doubts"][0]["key"].as_str().unwrap();
    let slip = refuses(3, &["beach", "--book", text(&book), "--confirm", "offset-feet:11.000"]);
    assert!(slip.contains(key), "{slip}");
    let witness = feet["doubts"][1]["key"].as_str().unwrap();
    assert_eq!(bars(&beach(&["--confirm", key])), ["witness"], "one is not the other");
    let confirmed = beach(&["--confirm", witness]);
    assert_eq!(bars(&confirmed), Vec::<String>::new());
    let planned = json(&route(&[]));
    let caution = planned["cautions"][0].as_str().unwrap();
    assert!(
        caution.starts_with("Confirmed by you: An offset of +10.00 m"),
        "what was confirmed bars no more, and is repeated: {caution}"
    );
    assert_eq!(bars(&beach(&["--unconfirm", key])), ["offset-feet"]);
    beach(&["--confirm", key]);
    assert_eq!(bars(&beach(&["--offset", "9.9"])), ["offset-feet", "witness"]);

    // Another source asks for its offset again, and this one is far away.
    assert_eq!(bars(&beach(&["--offset", "2.85"])), Vec::<String>::new());
    let newlyn = beach(&["--station", "ticon/newlyn-new-gbr-bodc"]);
    let mut barring = bars(&newlyn);
    barring.sort();
    assert_eq!(barring, ["offset-kept", "station-far"]);
    assert_eq!(bars(&beach(&["--offset", "2.85"])), ["station-far"]);
    let why = refuses(3, &route(&[]));
    assert!(why.contains("km away") && !why.contains("offset"), "{why}");

    // Trusted for one route, it is planned with the wider margin, and the card repeats it.
    let card = out.join("card.html");
    let planned = json(&[&route(&["--trust-station"])[..], &["--card", text(&card)]].concat());
    assert_eq!(planned["doubts"][0]["confirmed"], "for this route");
    assert!(planned["margins"]["source_m"].as_f64().unwrap() > 1.0, "{}", planned["margins"]);
    assert!(planned["cautions"][0].as_str().unwrap().starts_with("Trusted by you for this route: Newlyn is"), "{planned}");
    let card = std::fs::read_to_string(&card).unwrap();
    assert!(card.contains("Trusted by you for this route") && card.contains("Tide: Newlyn, tide station"));
}

#[test]
fn a_zone_a_position_and_a_weather_that_cannot_be_are_told_where_they_are_typed() {
    let dir = tempfile::tempdir().unwrap();
    let book = dir.path().join("book.gpkg");
    let beach = |more: &[&str]| json(&[&["beach", "--book", text(&book), "--json"], more].concat());
    // Newlyn, by its published position; its zone is guessed from the station.
    let sound = beach(&["--beach", "Invented Bay", "--near", "-5.54,50.10"]);
    assert!(!kinds(&sound).iter().any(|(kind, ..)| ["zone", "zone-beside", "place", "weather-calm"].contains(&kind.as_str())));
    let sydney = beach(&["--zone", "Australia/Sydney"]);
    assert_eq!(bars(&sydney), ["zone"]);
    beach(&["--zone", "Europe/London"]);
    let calm = beach(&["--surge-sd", "0"]);
    assert!(kinds(&calm).contains(&("weather-calm".to_owned(), "caution".to_owned(), false)), "{:?}", kinds(&calm));
    // A surge that the beach takes, a route takes as well, and neither takes more.
    refuses(3, &["beach", "--book", text(&book), "--surge", "16"]);
    beach(&["--surge", "12"]);

    let swapped = beach(&["--beach", "Swapped Bay", "--near", "50.10,-5.54"]);
    let told =
        swapped["doubts"].as_array().unwrap().iter().find(|d| d["key"].as_str().unwrap().starts_with("place-sea:")).unwrap();
    assert!(told["weight"] == "blocks" && told["sentence"].as_str().unwrap().contains("latitude exchanged?"), "{told}");
    // A beach that holds something is not carried off to another sea.
    let out = dir.path().join("demo");
    crate::demo_in(&out);
    let demo = out.join("tarrow-sands.gpkg");
    let why = refuses(3, &["beach", "--book", text(&demo), "--beach", "Tarrow Sands", "--near", "48.9,-11.9"]);
    assert!(why.contains("from everything that the book holds") && why.contains("longitude first"), "{why}");
}
