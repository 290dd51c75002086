//! The window and the command line ask the same questions, so the same book and the same parameters give the same
//! reading, the same route and the same files to hand over in both.

use std::collections::BTreeMap;
use std::path::Path;
use std::time::{Duration, Instant};

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use jiff::{SignedDuration, Timestamp};
use scourline::app::{App, Options, SheetChoice, Start};
use scourline::route;
use serde_json::Value;

use crate::end_to_end::{json, text};

type Window = Harness<'static, App>;

fn settle(h: &mut Window) {
    let (began, mut still) = (Instant::now(), 0);
    while still < 3 {
        h.step();
        still = if h.state().is_idle() { still + 1 } else { 0 };
        assert!(began.elapsed() < Duration::from_secs(120), "the window never came to rest");
        // Drawing frame upon frame would take from the work that is waited for.
        std::thread::sleep(Duration::from_millis(if still > 0 { 5 } else { 50 }));
    }
}

fn window(book: &Path, sheet: SheetChoice) -> Window {
    let options = Options { start: Start::Book(book.to_owned()), sheet, remember: false, ..Options::default() };
    let mut h =
        Harness::builder().with_size([1440.0, 900.0]).with_max_steps(200).build_eframe(move |cc| App::new(&cc.egui_ctx, options));
    settle(&mut h);
    h
}

/// Writes what a sheet hands over into a folder that is typed.
fn write(h: &mut Window, field: &str, folder: &Path, button: &str) {
    h.get_by_label(field).focus();
    h.run_steps(2);
    h.get_by_label(field).type_text(text(folder));
    h.run_steps(2);
    h.get_by_label(button).click_accesskit();
    settle(h);
}

/// The files of a folder by name.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let read = |entry: std::io::Result<std::fs::DirEntry>| {
        let path = entry.unwrap().path();
        (path.file_name().unwrap().to_string_lossy().into_owned(), std::fs::read(&path).unwrap())
    };
    std::fs::read_dir(folder).unwrap().map(read).collect()
}

/// A hand-over of the window once read the beach by the sheet's filter while the command read all of it, and a route
/// was sought for so many seconds in the one and for so many rounds in the other.
#[test]
fn the_window_and_the_command_line_give_the_same_reading_route_and_hand_over() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("demo");
    crate::demo_in(&out);
    let book = out.join("tarrow-sands.gpkg");

    let mut h = window(&book, SheetChoice::Read);
    let read = json(&["read", "--book", text(&book), "--json"]);
    let shown = serde_json::to_string(h.state().fresh_reading().expect("a fresh reading")).unwrap();
    let shown: Value = serde_json::from_str(&shown).unwrap();
    for (key, value) in shown.as_object().unwrap() {
        assert_eq!(Some(value), read["reading"].get(key), "{key}");
    }

    // How past forecasts went is said in the same words.
    let told = crate::end_to_end::scourline(&["read", "--book", text(&book)]);
    let told = String::from_utf8(told.stdout).unwrap();
    let said = told.lines().find_map(|l| l.trim().strip_prefix("forecasts: your")).expect("forecasts are told").to_owned();
    assert!(said.starts_with(" last 20 outings gave "), "{said}");
    h.run_steps(2);
    assert_eq!(h.query_all_by_label(&format!("Your{said}.")).count(), 1, "{said}");

    // The low that the command takes first, then both from the same instant on.
    let (gpx, geojson, card) = (dir.path().join("route.gpx"), dir.path().join("route.geojson"), dir.path().join("card.html"));
    let route = |after: &str, rounds: &str| {
        let mut asked = vec!["route", "--book", text(&book), "--after", after, "--rounds", rounds, "--json"];
        asked.extend(["--gpx", text(&gpx), "--geojson", text(&geojson), "--card", text(&card)]);
        json(&asked)
    };
    let low: Timestamp = route("2026-09-26T00:00:00Z", "1")["low"]["time"].as_str().unwrap().parse().unwrap();
    // The window sets out four hours before low water at the earliest.
    route(&(low - SignedDuration::from_hours(4)).to_string(), "60");
    h.state_mut().show_sheet(SheetChoice::NextLow);
    h.state_mut().plan_for(low, route::Params { rounds: 60, ..route::Params::default() });
    settle(&mut h);
    assert_eq!(h.query_all_by_label(&format!("Your{said}.")).count(), 1, "{said}");
    let folder = dir.path().join("by the window");
    write(&mut h, "Folder for the route", &folder, "Write the route");
    let written = files(&folder);
    assert_eq!(written.len(), 3);
    for (name, path) in [("route.gpx", gpx), ("route.geojson", geojson), ("card.html", card)] {
        let (mine, commands) = (written[name].clone(), std::fs::read(path).unwrap());
        assert!(without_the_moment(mine) == without_the_moment(commands), "{name}");
    }

    let (mine, commands) = (dir.path().join("mine"), dir.path().join("commands"));
    h.state_mut().show_sheet(SheetChoice::Share);
    h.run_steps(2);
    write(&mut h, "Folder", &mine, "Write");
    let shared = crate::end_to_end::scourline(&["share", "--book", text(&book), "--out", text(&commands)]);
    assert!(shared.status.success(), "{shared:?}");
    let (mine, commands) = (files(&mine), files(&commands));
    assert_eq!(mine.keys().collect::<Vec<_>>(), commands.keys().collect::<Vec<_>>());
    assert!(mine.len() >= 6);
    for (name, bytes) in &mine {
        if name == "report.html" {
            let (mine, commands) = (without_instant(bytes), without_instant(&commands[name]));
            assert!(mine == commands, "{name}");
        } else {
            assert!(*bytes == commands[name], "{name}");
        }
    }
}

/// What stands before the day at which a report was made, the one thing in it that may differ.
const MADE: &str = "Made on ";

/// A route's file without the moment at which it was planned: the clock goes on between the two.
fn without_the_moment(file: Vec<u8>) -> String {
    let mut text = String::from_utf8(file).unwrap();
    // It stands in sentences, in a member of GeoJSON and in the metadata of GPX, and the seal of a file is over it.
    for before in ["Planned ", "was planned on ", "\"made_at\":\"", "</name><time>", "scourline-made-"] {
        let parts: Vec<String> = text.split(before).map(str::to_owned).collect();
        let tail = |part: &String| part.find(['<', '"']).map_or(String::new(), |at| part[at..].to_owned());
        text = std::iter::once(parts[0].clone()).chain(parts[1..].iter().map(tail)).collect::<Vec<_>>().join(before);
    }
    text
}

/// A report without the day at which it was made.
fn without_instant(report: &[u8]) -> String {
    let report = String::from_utf8(report.to_vec()).unwrap();
    let at = report.find(MADE).expect("the report says when it was made");
    let end = at + report[at..].find('<').unwrap();
    format!("{}{}", &report[..at], &report[end..])
}
