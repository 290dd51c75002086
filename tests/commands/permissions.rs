//! Permissions, what stands against finds, and packs, from the command line.

use std::path::{Path, PathBuf};

use serde_json::Value;

use super::end_to_end::{json, refuses, scourline, text};

const GROUND: &str = r#"{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"role":"permission","name":"Strand","holder":"an invented trust","from":"2026-01-01","to":"2026-12-31","coarsen_m":100,"deepest_cm":30,"places_by_kind":"jewellery withheld"},"geometry":{"type":"Polygon","coordinates":[[[-20.01,45.0],[-19.99,45.0],[-19.99,45.01],[-20.01,45.01],[-20.01,45.0]]]}},
{"type":"Feature","properties":{"role":"zone","name":"Tern plot","use":"bird closure","closed season":"03-01/08-31"},"geometry":{"type":"Polygon","coordinates":[[[-20.001,45.001],[-20.0,45.001],[-20.0,45.002],[-20.001,45.002],[-20.001,45.001]]]}}]}"#;

const FINDS: &str = "what,kind,lat,lon,time,depth_cm,age\n\
penny,coin,45.0050000,-20.0050000,2026-05-01T09:00:00Z,10,1914\n\
gold ring,ring,45.0052000,-20.0052000,2026-05-01T09:10:00Z,40,\n\
penny,coin,45.0015000,-20.0005000,2026-05-01T09:20:00Z,10,1967\n\
penny,coin,45.0055000,-20.0055000,2027-05-01T09:20:00Z,10,1967\n\
penny,coin,45.0500000,-20.0050000,2026-05-01T09:30:00Z,10,1967\n";

fn book(dir: &Path) -> PathBuf {
    let (book, ground, finds) = (dir.join("b.gpkg"), dir.join("ground.geojson"), dir.join("finds.csv"));
    std::fs::write(&ground, GROUND).expect("a file");
    std::fs::write(&finds, FINDS).expect("a file");
    let out = scourline(&["import", "--book", text(&book), "--beach", "Strand", text(&ground), text(&finds)]);
    assert!(out.status.success(), "{out:?}");
    book
}

fn said(args: &[&str]) -> String {
    let out = scourline(args);
    assert!(out.status.success(), "{out:?}");
    String::from_utf8(out.stdout).expect("text")
}

#[test]
fn terms_are_taken_in_shown_changed_and_refused_with_a_sentence() {
    let dir = tempfile::tempdir().expect("a folder");
    let book = book(dir.path());
    let shown = json(&["permission", "--book", text(&book), "--json"]);
    let p = &shown["permissions"][0];
    assert_eq!((&p["name"], &p["deepest_m"], &p["square_m"]), (&"Strand".into(), &0.3.into(), &100.0.into()));
    assert_eq!((&p["places_by_kind"], &p["to"]), (&"jewellery withheld".into(), &"2026-12-31".into()));
    let changed = [
        "--name",
        "strand",
        "--contact",
        "the office",
        "--due",
        "yearly",
        "--older-than",
        "1950",
        "--to",
        "",
        "--precision",
        "10",
    ];
    let told = json(&[&["permission", "--book", text(&book), "--json"][..], &changed].concat());
    let p = &told["permissions"][0];
    assert_eq!((&p["contact"], &p["report_due"], &p["older_than"]), (&"the office".into(), &"yearly".into(), &1950.into()));
    assert_eq!((&p["to"], &p["square_m"]), (&Value::Null, &10.0.into()));
    let why = refuses(2, &["permission", "--book", text(&book), "--name", "Strand", "--precision", "250"]);
    assert!(why.contains("250") && why.contains("squares of 10"), "{why}");
    // A file that names an unusual square is refused as well, and not rounded.
    let odd = dir.path().join("odd.geojson");
    std::fs::write(&odd, GROUND.replace("\"coarsen_m\":100", "\"coarsen_m\":250")).expect("a file");
    let read = json(&["import", "--book", text(&book), "--dry-run", "--json", text(&odd)]);
    assert!(read["files"][0]["refused"].to_string().contains("no squares of 250 m"), "{read}");
}

#[test]
fn what_stands_against_finds_is_checked() {
    let dir = tempfile::tempdir().expect("a folder");
    let book = book(dir.path());
    let told = json(&["check", "--book", text(&book), "--json"]);
    let flags = told["beaches"][0]["flags"].as_array().expect("a list").clone();
    let whys: Vec<&str> = flags.iter().filter_map(|f| f["why"].as_str()).collect();
    assert_eq!(whys, ["closed", "outside", "expired", "toodeep"], "{flags:?}");
    assert!(flags[0]["sentence"].as_str().is_some_and(|s| s.contains("bird closure, 1 March to 31 August")));
    let open = told["beaches"][0]["unanswered"].as_array().expect("a list").len();
    assert_eq!(open, 2, "the penny of 1914 may be an antiquity, and gold of unknown age: {told}");
    let beach = &told["beaches"][0];
    assert!(beach["country_name"].is_null() && beach["law"].to_string().contains("no list here for this place"), "{told}");
    assert!(said(&["check", "--book", text(&book)]).contains("always check the law where you are"));
}

#[test]
fn a_pack_is_previewed_written_remembered_and_followed_by_what_is_new() {
    let dir = tempfile::tempdir().expect("a folder");
    let book = book(dir.path());
    let share = ["share", "--book", text(&book), "--permission", "Strand"];
    let listed = said(&[&share[..], &["--preview"]].concat());
    assert!(listed.contains("This would leave, and nothing else:") && listed.contains("place_told withheld"), "{listed}");
    assert!(!listed.contains("45.0050000") && !listed.contains("09:00"));
    let out = dir.path().join("handed");
    let may = ["--from", "2026-01-01", "--to", "2026-12-31", "--out", text(&out)];
    let first = said(&[&share[..], &may].concat());
    assert!(first.contains("3 finds") && first.contains("The book keeps a receipt of it."), "{first}");
    let manifest: Value = serde_json::from_slice(&std::fs::read(out.join("manifest.json")).expect("a manifest")).expect("JSON");
    assert_eq!(manifest["finds"], 3);
    let handed = json(&["permission", "--book", text(&book), "--json"]);
    assert_eq!(handed["permissions"][0]["handed"][0]["finds"], 3);
    let second = dir.path().join("second");
    let new = said(&[&share[..], &["--new", "--out", text(&second)]].concat());
    assert!(new.contains("1 find ") && new.contains("3 handed over before"), "{new}");
    refuses(2, &[&share[..], &["--from", "spring", "--out", text(&second)]].concat());
}

#[test]
fn a_club_mates_finds_are_kept_apart() {
    let dir = tempfile::tempdir().expect("a folder");
    let book = book(dir.path());
    let theirs = dir.path().join("finds.csv");
    let told = json(&["import", "--book", text(&book), "--by", "an invented friend", "--json", text(&theirs)]);
    assert_eq!((&told["taken"], &told["already_there"]), (&5.into(), &0.into()), "their own, though of the very same content");
    let again = json(&["import", "--book", text(&book), "--by", "an invented friend", "--json", text(&theirs)]);
    assert_eq!((&again["taken"], &again["already_there"]), (&0.into(), &5.into()));
    let listed = said(&["share", "--book", text(&book), "--permission", "Strand", "--preview"]);
    assert!(listed.contains("4 finds") && listed.contains("4 of other people"), "{listed}");
}
