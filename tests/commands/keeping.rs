//! What a book keeps of itself, from the command line: history, what was taken out, backups, doubles, cleaning.

use std::fs;
use std::path::Path;

use super::end_to_end::{json, refuses, scourline, text};

fn made(dir: &Path) -> std::path::PathBuf {
    let (book, file) = (dir.join("my book.gpkg"), dir.join("a.csv"));
    let table = "lat,lon,time,what,depth_cm,photo,finder\n48.9,-11.9,2026-03-01T09:10:00Z,penny,10,,a friend\n\
         48.90001,-11.9,2026-03-01T09:11:00Z,IMG 3,,3.jpg,\n48.91,-11.9,2026-03-01T10:00:00Z,ring,5,,\n";
    fs::write(&file, table).expect("a file");
    let out = scourline(&["import", "--book", text(&book), "--beach", "Invented Bay", text(&file)]);
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    book
}

#[test]
fn a_change_is_taken_back_and_a_backup_put_back() {
    let dir = tempfile::tempdir().expect("a folder");
    let book = made(dir.path());
    let told = json(&["book", "--book", text(&book), "--json"]);
    let first = &told["changes"];
    assert_eq!(
        (first.as_array().unwrap().len(), first[0]["what"].as_str()),
        (1, Some("import a.csv")),
        "the first import is noted too"
    );
    assert_eq!(told["backups"].as_array().unwrap().len(), 0);
    let surge = || json(&["beach", "--book", text(&book), "--json"])["beach"]["surge"]["known"].clone();
    let calm = surge();
    assert!(scourline(&["beach", "--book", text(&book), "--surge", "0.3"]).status.success());
    let copied = json(&["book", "--book", text(&book), "--back-up", "--json"]);
    assert_eq!(copied["backups"][0]["occasion"], "asked");
    let number = copied["changes"][0]["number"].to_string();
    let back = json(&["book", "--book", text(&book), "--take-back", &number, "--json"]);
    assert_eq!(back["changes"][0]["what"], "take back: change beach");
    assert_eq!(surge(), calm);
    let restored = json(&["book", "--book", text(&book), "--restore", "latest", "--json"]);
    assert!(restored["done"][1].as_str().unwrap().contains("before a restore"), "{restored}");
    assert_ne!(surge(), calm);
    let why = refuses(3, &["book", "--book", text(&book), "--restore", "no such"]);
    assert!(why.contains("there is no backup \"no such\"") && why.contains("by hand"), "{why}");
    refuses(3, &["book", "--book", text(&book), "--take-back", "77"]);
    refuses(3, &["book", "--book", text(&book), "--bring-back", "000000000000000000000000000000aa"]);
}

#[test]
fn doubles_are_told_and_merged_only_by_name() {
    let dir = tempfile::tempdir().expect("a folder");
    let book = made(dir.path());
    let finds = || json(&["beach", "--book", text(&book), "--json"])["beach"]["counts"]["find"].as_u64().unwrap();
    let told = json(&["doubles", "--book", text(&book), "--json"]);
    let name = told["doubles"][0]["name"].as_str().unwrap().to_owned();
    assert_eq!(
        (told["doubles"].as_array().unwrap().len(), told["doubles"][0]["twice"].as_str()),
        (1, Some("photo_and_receiver"))
    );
    assert_eq!(finds(), 3, "telling changes nothing");
    refuses(3, &["doubles", "--book", text(&book), "--merge", &name, "--merge", "photo-00000000"]);
    assert_eq!(finds(), 3, "a slip of the pen merges nothing");
    let merged = json(&["doubles", "--book", text(&book), "--merge", &name, "--json"]);
    assert_eq!((finds(), merged["merged"][0].as_str(), merged["doubles"].as_array().unwrap().len()), (2, Some(name.as_str()), 0));
    let deleted = json(&["book", "--book", text(&book), "--json"]);
    let uid = deleted["deleted"][0]["uid"].as_str().unwrap().to_owned();
    assert_eq!(deleted["deleted"][0]["record"], "find");
    json(&["book", "--book", text(&book), "--bring-back", &uid, "--json"]);
    assert_eq!(finds(), 3);
}

#[test]
fn tracks_are_cleaned_only_by_name_and_it_can_be_taken_back() {
    let dir = tempfile::tempdir().expect("a folder");
    let (book, file) = (dir.path().join("book.gpkg"), dir.path().join("walk.gpx"));
    let fix = |n: u32| {
        let lat = if n == 50 { 48.99 } else { 48.9 + f64::from(n) * 4e-6 };
        format!("<trkpt lat=\"{lat:.6}\" lon=\"-11.9\"><time>2026-03-01T09:{:02}:{:02}Z</time></trkpt>", n / 60, n % 60)
    };
    let fixes: String = (0..120).map(fix).collect();
    fs::write(&file, format!("<gpx version=\"1.1\" creator=\"x\"><trk><trkseg>{fixes}</trkseg></trk></gpx>")).expect("a file");
    assert!(scourline(&["import", "--book", text(&book), "--beach", "Bay", text(&file)]).status.success());
    let before = fs::read(&book).expect("a book");
    let told = json(&["clean", "--book", text(&book), "--json"]);
    let track = &told["tracks"][0];
    assert_eq!(
        (track["fixes"].as_u64(), track["fixes_after"].as_u64(), track["cleaned"].as_bool()),
        (Some(120), Some(119), Some(false))
    );
    assert_eq!(fs::read(&book).expect("a book"), before, "telling changes nothing");
    let uid = track["track"].as_str().unwrap();
    assert_eq!(json(&["clean", "--book", text(&book), "--track", uid, "--json"])["tracks"][0]["cleaned"], true);
    assert_eq!(json(&["clean", "--book", text(&book), "--json"])["tracks"].as_array().unwrap().len(), 0);
    // Its file is known again, and brings the spike back no more than anything else.
    assert!(scourline(&["import", "--book", text(&book), text(&file)]).status.success());
    assert_eq!(json(&["clean", "--book", text(&book), "--json"])["tracks"].as_array().unwrap().len(), 0);
    json(&["book", "--book", text(&book), "--take-back", "2", "--json"]);
    assert_eq!(json(&["clean", "--book", text(&book), "--json"])["tracks"][0]["fixes"], 120);
    refuses(3, &["clean", "--book", text(&book), "--track", "000000000000000000000000000000aa"]);
    refuses(2, &["clean", "--book", text(&book), "--track", "walk"]);
}
