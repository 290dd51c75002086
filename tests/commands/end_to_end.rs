//! The command line from end to end: the program as a stranger runs it.

use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;

pub(crate) fn scourline(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_scourline"))
        .args(args)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .output()
        .expect("the program was built for this test")
}

pub(crate) fn json(args: &[&str]) -> Value {
    let out = scourline(args);
    assert!(out.status.success(), "{args:?}: {}", said(&out));
    serde_json::from_slice(&out.stdout).expect("one JSON document on standard output")
}

fn said(out: &Output) -> String {
    String::from_utf8_lossy(&out.stderr).into_owned()
}

/// Fails with this code and one sentence on standard error, and nothing on standard output.
pub(crate) fn refuses(code: i32, args: &[&str]) -> String {
    let out = scourline(args);
    let words = said(&out);
    assert_eq!(out.status.code(), Some(code), "{args:?}: {words}");
    assert!(out.stdout.is_empty(), "{args:?} printed to standard output");
    if code != 2 {
        assert_eq!(words.trim_end().lines().count(), 1, "{args:?}: {words}");
    }
    words
}

pub(crate) fn text(path: &Path) -> &str {
    path.to_str().expect("a temporary path is text")
}

const GPX: &str = r#"<?xml version="1.0"?>
<gpx version="1.1" creator="by hand" xmlns="http://www.topografix.com/GPX/1/1">
 <wpt lat="48.9000" lon="-11.9000"><time>2026-03-01T09:10:00Z</time><name>invented penny</name></wpt>
 <wpt lat="48.9001" lon="-11.9002"><time>2026-03-01T09:20:00Z</time><name>ring pull</name></wpt>
 <wpt lat="148.9" lon="-11.9"><name>off the earth</name></wpt>
 <trk><name>morning</name><trkseg>
  <trkpt lat="48.9000" lon="-11.9000"><time>2026-03-01T09:00:00Z</time></trkpt>
  <trkpt lat="48.9001" lon="-11.9001"><time>2026-03-01T09:30:00Z</time></trkpt>
 </trkseg></trk>
</gpx>"#;

#[test]
fn the_demo_does_the_whole_job_without_a_window() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let out = dir.path().join("demo");
    let told = json(&["demo", "--out", text(&out), "--no-window", "--json"]);
    let book = out.join("tarrow-sands.gpkg");
    assert_eq!(told["import"]["refused"], 0);
    assert_eq!(told["schema"], 2);
    let outings = told["beach"]["counts"]["outing"].as_u64().expect("a count");
    let finds = told["beach"]["counts"]["find"].as_u64().expect("a count");
    assert!((25..=40).contains(&outings) && (1_300..=1_700).contains(&finds), "{outings} outings, {finds} finds");
    assert_eq!(told["beach"]["counts"]["storm"], 5);
    assert_eq!(told["beach"]["counts"]["sea_record"], 1);
    assert!(!told["reading"]["clusters"].as_array().expect("clusters").is_empty());
    for file in ["finds.geojson", "zones.geojson", "clusters.geojson", "bands.geojson", "report.html", "plan.svg"] {
        assert!(out.join(file).metadata().is_ok_and(|m| m.len() > 200), "{file}");
    }
    for file in ["finds.geojson", "zones.geojson", "clusters.geojson", "bands.geojson"] {
        let bytes = std::fs::read(out.join(file)).expect("it was just written");
        let document: Value = serde_json::from_slice(&bytes).expect("JSON");
        assert_eq!(document["type"], "FeatureCollection", "{file}");
        assert!(document["bbox"].is_array() && document.get("crs").is_none(), "{file}");
    }

    // What was written is a book that the other commands read alike.
    let shown = json(&["beach", "--book", text(&book), "--beach", "tarrow sands", "--json"]);
    assert_eq!(shown["beach"]["counts"]["find"].as_u64(), Some(finds));
    let read = json(&["read", "--book", text(&book), "--json"]);
    assert_eq!(read["reading"]["clusters"], told["reading"]["clusters"]);
    assert!(read["filter"]["season"].is_null());
    // Each outing is told with what it searched; what was fresh of it adds up to the ground swept.
    let (effort, m2) = (&read["effort"], |value: &Value| value.as_f64().expect("ground"));
    let by_outing = effort["outings"].as_array().expect("outings");
    assert_eq!(by_outing.len() as u64, outings);
    let fresh: f64 = by_outing.iter().map(|o| m2(&o["fresh_m2"])).sum();
    let swept: f64 = by_outing.iter().map(|o| m2(&o["swept_m2"])).sum();
    assert!((fresh / m2(&effort["swept_m2"]) - 1.0).abs() < 1e-9, "{fresh} m2 of {}", effort["swept_m2"]);
    assert!(swept > fresh && swept < m2(&effort["passed_m2"]), "{swept} m2 of {}", effort["passed_m2"]);

    // A filter takes the ground of the same outings as the finds and says what it took.
    let took = |told: &Value| {
        let count = |key: &str| told["taken"][key].as_u64().expect("a count");
        (count("finds"), count("outings"), told["reading"]["whole"]["swept_m2"].as_f64().expect("ground"))
    };
    // How sure a pattern is does not hang on it: few replicates will do.
    let few = ["read", "--book", text(&book), "--replicates", "19", "--json"];
    let filtered = |args: [&str; 2]| took(&json(&[&few[..], &args[..]].concat()));
    let (all, until, coins) = (took(&read), filtered(["--to", "2026-03-31"]), filtered(["--kind", "coin"]));
    assert!(until.0 < all.0 && until.1 < all.1 && until.2 < all.2, "{until:?} {all:?}");
    assert!(coins.0 < all.0 && coins.1 == all.1 && (coins.2 - all.2).abs() < 1e-6, "kinds leave the ground: {coins:?}");

    // What counts as searched can be set, is told, and is refused where it cannot be.
    let narrow = json(&[&few[..], &["--swing", "0.4", "--walk-speed", "0.7", "--effort-error", "0.3"]].concat());
    let (effort, params) = (&narrow["effort"]["params"], &narrow["reading"]["params"]);
    assert_eq!((effort["swing_m"].as_f64(), effort["walk_m_per_s"].as_f64()), (Some(0.4), Some(0.7)));
    assert_eq!(params["effort_error"].as_f64(), Some(0.3));
    assert!(took(&narrow).2 < 0.7 * all.2, "{} of {} m²", took(&narrow).2, all.2);
    for wrong in [["--swing", "9"], ["--overlap", "0"], ["--effort-error", "-1"], ["--turn", "NaN"]] {
        refuses(2, &["read", "--book", text(&book), wrong[0], wrong[1]]);
    }
    for wrong in [
        ["--kind", "unicorn"],
        ["--season", "monsoon"],
        ["--from", "soon"],
        ["--weight", "middling"],
        ["--after-storm", "of the century"],
        ["--setup", "none such"],
    ] {
        let mut args = vec!["read", "--book", text(&book)];
        args.extend(wrong);
        refuses(2, &args);
    }
    refuses(2, &["read", "--book", text(&book), "--from", "2026-04-01", "--to", "2026-03-01"]);

    // A second run into the same folder replaces its own files and nothing is doubled.
    let again = json(&["demo", "--out", text(&out), "--no-window", "--json"]);
    assert_eq!(again["beach"]["counts"], told["beach"]["counts"]);
}

#[test]
fn import_says_first_and_takes_once() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, file) = (dir.path().join("book.gpkg"), dir.path().join("morning.gpx"));
    std::fs::write(&file, GPX).expect("a file");
    let import = |more: &[&str]| {
        let mut args = vec!["import", "--book", text(&book), "--beach", "Invented Bay", "--json"];
        args.extend(more);
        args.push(text(&file));
        json(&args)
    };
    let dry = import(&["--dry-run"]);
    assert!(!book.exists(), "a dry run makes no book");
    assert_eq!(dry["files"][0]["taken"]["find"], 2);
    assert_eq!(dry["files"][0]["taken"]["track"], 1);
    assert_eq!(dry["files"][0]["refused"][0]["line"], 5);

    let first = import(&[]);
    assert_eq!(first["files"], dry["files"], "it does what it said");
    let second = import(&[]);
    assert_eq!(second["taken"], 0);
    assert_eq!(second["files"][0]["already_there"]["find"], 2);

    let shown = json(&["beach", "--book", text(&book), "--beach", "Invented Bay", "--json"]);
    assert_eq!(shown["beach"]["counts"]["find"], 2);
    assert_eq!(shown["beach"]["counts"]["outing"], 1);
    let warned = shown["warnings"].to_string();
    assert!(warned.contains("offset"), "{warned}");
}

#[test]
fn bad_files_are_refused_with_a_sentence_and_the_book_stays_as_it_was() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, good) = (dir.path().join("book.gpkg"), dir.path().join("good.gpx"));
    std::fs::write(&good, GPX).expect("a file");
    json(&["import", "--book", text(&book), "--beach", "Invented Bay", "--json", text(&good)]);
    let before = json(&["beach", "--book", text(&book), "--beach", "Invented Bay", "--json"]);

    let deep = format!("<gpx version=\"1.1\">{}", "<extensions>".repeat(200_000));
    let bomb = "<?xml version=\"1.0\"?><!DOCTYPE gpx [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;&a;&a;&a;&a;\">]><gpx version=\"1.1\"><wpt lat=\"48.9\" lon=\"-11.9\"><name>&b;</name></wpt></gpx>";
    let nested_json = "[".repeat(100_000);
    let half = &GPX[..GPX.len() / 2];
    let cases: [(&str, &[u8]); 8] = [
        ("empty.gpx", b""),
        ("prose.gpx", b"dear diary, no beach today"),
        ("page.gpx", b"<html><body>not found</body></html>"),
        ("half.gpx", half.as_bytes()),
        ("deep.gpx", deep.as_bytes()),
        ("deep.geojson", nested_json.as_bytes()),
        ("binary.gpx", &[0, 159, 146, 150, 0, 1, 2, 3]),
        ("bomb.gpx", bomb.as_bytes()),
    ];
    for (name, bytes) in cases {
        let path = dir.path().join(name);
        std::fs::write(&path, bytes).expect("a file");
        if name == "bomb.gpx" {
            // The entity is not expanded: either the file or the record is refused, and quickly.
            let out = scourline(&["import", "--book", text(&book), "--json", "--dry-run", text(&path)]);
            assert!(!String::from_utf8_lossy(&out.stdout).contains("aaaaaaaaaaaaaaaaaaaa"));
            continue;
        }
        let words = refuses(3, &["import", "--book", text(&book), text(&path)]);
        assert!(words.contains(name), "{name}: {words}");
    }
    // Of the whole folder the one good file is there already.
    let all = scourline(&["import", "--book", text(&book), text(dir.path())]);
    assert_eq!(all.status.code(), Some(3), "{}", said(&all));
    refuses(3, &["import", "--book", text(&book), text(&dir.path().join("nowhere.gpx"))]);
    let shown = || json(&["beach", "--book", text(&book), "--beach", "Invented Bay", "--json"]);
    assert_eq!(shown(), before);
    // One bad file among good ones keeps out none of them, and is told.
    let fresh = dir.path().join("fresh.gpx");
    std::fs::write(&fresh, GPX.replace("09:", "11:")).expect("a file");
    let both = scourline(&["import", "--book", text(&book), text(&fresh), text(&dir.path().join("empty.gpx"))]);
    assert_eq!(both.status.code(), Some(3), "{}", said(&both));
    assert!(said(&both).contains("empty.gpx") && said(&both).contains("the others were taken"), "{}", said(&both));
    assert_eq!(shown()["beach"]["counts"]["find"], 4);
}

#[test]
fn what_is_no_book_is_left_alone() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (notes, gpx) = (dir.path().join("notes.txt"), dir.path().join("good.gpx"));
    std::fs::write(&notes, "not a book").expect("a file");
    std::fs::write(&gpx, GPX).expect("a file");
    for args in [
        vec!["read", "--book", text(&notes)],
        vec!["import", "--book", text(&notes), "--beach", "Bay", text(&gpx)],
        vec!["beach", "--book", text(dir.path()), "--beach", "Bay"],
        vec!["tides", "--book", text(&notes), "--from", "2026-01-01"],
    ] {
        refuses(3, &args);
    }
    assert_eq!(std::fs::read_to_string(&notes).expect("still there"), "not a book");
}

#[test]
fn tides_of_the_nearest_station_with_its_turns_levels_and_sun() {
    let told = json(&["tides", "--near=-5.54,50.10", "--from", "2026-06-01", "--days", "3", "--every", "60", "--json"]);
    assert_eq!(told["heights"].as_array().map(Vec::len), Some(72));
    let turns = told["turns"].as_array().expect("turns");
    assert!((10..=13).contains(&turns.len()), "{}", turns.len());
    for pair in turns.windows(2) {
        assert_ne!(pair[0]["kind"], pair[1]["kind"]);
        let high = |t: &Value| (t["kind"] == "high", t["m"].as_f64().expect("metres"));
        let ((first_high, a), (_, b)) = (high(&pair[0]), high(&pair[1]));
        assert_eq!(first_high, a > b, "a high water stands above the low beside it");
    }
    assert_eq!(told["sun"].as_array().map(Vec::len), Some(3));
    assert!(told["caution"].as_str().is_some_and(|c| c.contains("Not for navigation")));
    assert!(told["attribution"].as_str().is_some_and(|c| c.contains("CC BY 4.0")));
    let (msl, lat) = (&told["levels"]["msl"]["m"], &told["levels"]["lat"]["m"]);
    assert!(msl.as_f64() > lat.as_f64());

    let id = told["source"]["id"].as_str().expect("a station").to_owned();
    let by_id = json(&["tides", "--station", &id, "--from", "2026-06-01", "--days", "3", "--json"]);
    assert_eq!(by_id["turns"], told["turns"]);
}

#[test]
fn bad_use_is_said_with_exit_code_2() {
    for args in [
        &["tides", "--from", "2026-01-01"][..],
        &["tides", "--near", "500,0", "--from", "2026-01-01"],
        &["tides", "--near", "0,50", "--from", "yesterday"],
        &["tides", "--near", "0,50", "--from", "2026-01-01", "--days", "0"],
        &["import", "--book", "never-made.gpkg"],
        &["no-such-command", "x"],
        &["beach", "--book", "never-made.gpkg", "--beach", "Nowhere"],
    ] {
        refuses(2, args);
    }
    assert!(!Path::new("never-made.gpkg").exists());
    refuses(3, &["tides", "--station", "no-such-station", "--from", "2026-01-01"]);
}

#[cfg(feature = "window")]
#[test]
fn without_a_display_it_says_which_command_works() {
    let words = refuses(2, &[]);
    assert_eq!(words.trim_end().lines().count(), 1, "{words}");
    assert!(words.contains("scourline demo") && words.contains("--no-window"), "{words}");
}

#[test]
fn what_cannot_be_written_is_said_with_exit_code_4() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let file = dir.path().join("in-the-way");
    std::fs::write(&file, "a file where a folder is wanted").expect("a file");
    let words = refuses(4, &["demo", "--no-window", "--out", text(&file.join("demo"))]);
    assert!(words.contains("in-the-way"), "{words}");
}

#[test]
fn a_route_is_planned_written_and_refused_without_a_window() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let out = dir.path().join("demo");
    crate::demo_in(&out);
    let book = out.join("tarrow-sands.gpkg");
    let (gpx, geojson, card) = (out.join("route.gpx"), out.join("route.geojson"), out.join("card.html"));
    let after = "2026-09-26T00:00:00Z";
    let mut asked = vec!["route", "--book", text(&book), "--beach", "Tarrow Sands", "--after", after, "--rounds", "60", "--json"];
    asked.extend(["--gpx", text(&gpx), "--geojson", text(&geojson), "--card", text(&card)]);
    let route = json(&asked);
    let blocks = route["blocks"].as_array().expect("blocks");
    assert!(blocks.len() > 5 && route["schema"] == 2);
    let gone_by: Vec<&str> = blocks.iter().filter_map(|b| b["leave_by"].as_str()).collect();
    assert_eq!(route["turn_back"].as_str(), gone_by.iter().min().copied());
    for b in blocks {
        assert!(b["leave"].as_str() <= b["leave_by"].as_str() && b["leave_by"].as_str() <= b["dry_by"].as_str(), "{b}");
        assert!(b["leave_by"].as_str() <= route["off_sand_by"].as_str(), "{b}");
    }
    // The pace learnt from the outings is used, and the usual one where that is asked for.
    let pace = |route: &Value| route["params"]["ground_m2_s"].as_f64();
    let learnt = route["params"]["paces"]["ground_m2_s"]["value"].as_f64().expect("a pace was learnt");
    assert_eq!(pace(&route), Some(learnt));
    asked.truncate(10);
    asked.push("--usual-paces");
    let usual = json(&asked);
    assert!(pace(&usual).is_none() && usual["params"]["paces"].is_null());
    let swept = |route: &Value| route["swept_m2"].as_f64().expect("ground");
    assert!(swept(&route) > 1.5 * swept(&usual), "{} and {} m2", swept(&route), swept(&usual));
    // No clock in the search: the same parameters give the same route.
    assert!(route["params"]["time_limit_s"].is_null());
    let read = std::fs::read_to_string(&card).expect("the card was written");
    assert!(read.contains("Off the sand by") && read.contains("First to be left") && read.contains("<svg"));
    // Of the demo's own record: every three hours through the autumn of 2026, of which a storm alone was kept once.
    assert_eq!(route["sea"]["from"], "record");
    assert!(route["sea"]["run_up_m"].as_f64().expect("metres") > 0.3, "{}", route["sea"]);
    assert_eq!((&route["tide_source"]["borrowed"], &route["datum_offset_m"]), (&Value::from(true), &Value::from(2.85)));
    assert_eq!(route["book"], "tarrow-sands.gpkg");
    assert!(route["made_at"].as_str().is_some_and(|t| t.ends_with('Z')) && route["off_sand_by"] == route["back"]);
    // A plan of one's own is a plan, its track as well as its route: nobody searched there yet.
    let other = out.join("other.gpkg");
    let taken = json(&["import", "--book", text(&other), "--beach", "Elsewhere", "--json", text(&gpx)]);
    let kinds = &taken["files"][0]["taken"];
    assert!(kinds["plan"] == 2 && kinds["track"].is_null(), "{taken}");
    // What this program made is replaced, what it did not make only with --force.
    let again = ["route", "--book", text(&book), "--after", after, "--rounds", "20", "--json", "--card", text(&card)];
    json(&again);
    std::fs::write(&card, "<p>my own notes</p>").expect("a file");
    let words = refuses(4, &again);
    assert!(words.contains("card.html is already there and not as this program made it") && words.contains("--force"), "{words}");
    assert_eq!(std::fs::read_to_string(&card).expect("a file"), "<p>my own notes</p>");
    json(&[&again[..], &["--force"]].concat());
    assert!(std::fs::read_to_string(&card).expect("a card").contains("Off the sand by"));
    assert!(out.read_dir().expect("a folder").all(|e| !e.expect("a file").file_name().to_string_lossy().ends_with(".part")));
    // After the record's end a cautious sea is taken, or the one that is expected; never less than worked out.
    let later = |more: &[&str]| {
        let asked =
            ["route", "--book", text(&book), "--after", "2026-12-01T00:00:00Z", "--head-torch", "--rounds", "20", "--json"];
        json(&[&asked[..], more].concat())
    };
    let run_up = |route: &Value| route["margins"]["run_up_m"].as_f64().expect("metres");
    let (cautious, calm) = (later(&[]), later(&["--sea", "0.3m,5s"]));
    assert_eq!((&cautious["sea"]["from"], &calm["sea"]["from"]), (&Value::from("past"), &Value::from("asked")));
    assert!(cautious["cautions"].to_string().contains("no record or forecast covers these hours"));
    assert!(run_up(&cautious) > run_up(&calm) + 0.1, "{} {}", run_up(&cautious), run_up(&calm));
    assert_eq!(run_up(&later(&["--run-up", "0.05"])), run_up(&cautious));
    refuses(2, &["route", "--book", text(&book), "--after", after, "--sea", "rough"]);
    let never = refuses(3, &["route", "--book", text(&other), "--after", after]);
    assert!(never.contains("no route can be planned"), "{never}");
    refuses(2, &["route", "--book", text(&book), "--after", "soon"]);
}

#[test]
fn settings_are_kept_with_the_beach_and_used_by_every_command() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let out = dir.path().join("demo");
    crate::demo_in(&out);
    let book = out.join("tarrow-sands.gpkg");
    let told = |more: &[&str]| {
        let mut args = vec!["beach", "--book", text(&book), "--json"];
        args.extend(more);
        json(&args)["beach"].clone()
    };
    let read = |more: &[&str]| {
        let mut args = vec!["read", "--book", text(&book), "--replicates", "19", "--json"];
        args.extend(more);
        json(&args)
    };
    let before = told(&[]);
    assert_eq!(before["invented"], true);
    for group in ["search", "reading"] {
        let settings = before["settings"][group].as_object().expect("settings");
        assert!(settings.len() == 6 && settings.values().all(Value::is_null), "{settings:?}");
    }
    let usual = read(&[]);

    let kept = told(&["--swing", "0.4", "--turn", "60", "--per-pass", "0.5", "--storm-days", "30", "--least", "7"]);
    assert_eq!(kept["settings"]["search"]["swing_m"], 0.4);
    assert_eq!(kept["settings"]["reading"]["detection_per_pass"], 0.5);
    assert_eq!(told(&[])["settings"], kept["settings"]);
    let set = read(&[]);
    let (effort, params) = (&set["effort"]["params"], &set["reading"]["params"]);
    assert_eq!((&effort["swing_m"], &effort["turn_deg"]), (&Value::from(0.4), &Value::from(60.0)));
    assert_eq!((&params["detection_per_pass"], &params["storm_days"]), (&Value::from(0.5), &Value::from(30)));
    assert_eq!(params["cluster_points"], 7);
    assert_eq!(effort["gap_s"], usual["effort"]["params"]["gap_s"], "what is not set stays usual");
    let swept = |told: &Value| told["effort"]["swept_m2"].as_f64().expect("ground");
    assert!(swept(&set) < 0.7 * swept(&usual), "{} and {}", swept(&set), swept(&usual));

    // An option of one run goes before what is kept, and changes nothing of it.
    let once = read(&["--swing", "1.2", "--clusters", "hdbscan"]);
    assert_eq!(once["effort"]["params"]["swing_m"], 1.2);
    assert_eq!(once["effort"]["params"]["turn_deg"], 60.0);
    assert_eq!(once["reading"]["params"]["cluster_by"], "hdbscan");
    assert_eq!(told(&[])["settings"], kept["settings"]);

    // A route rests on the same ground: at the 0.48 m/s of the invented walker a swath of 0.4 + 0.28 m gives no more than
    // 0.33 m2 a second.
    let route = json(&["route", "--book", text(&book), "--after", "2026-09-26T00:00:00Z", "--rounds", "5", "--json"]);
    let pace = route["params"]["paces"]["ground_m2_s"]["value"].as_f64().expect("a pace was learnt");
    assert!((0.2..0.34).contains(&pace), "{pace}");
    // So do the clusters handed over.
    let handed = out.join("own");
    assert!(scourline(&["share", "--book", text(&book), "--out", text(&handed)]).status.success());
    let clusters: Value =
        serde_json::from_slice(&std::fs::read(handed.join("clusters.geojson")).expect("clusters")).expect("JSON");
    let of_all = |told: &Value| told["reading"]["clusters"].as_array().expect("clusters").len();
    assert_eq!(clusters["features"].as_array().map(Vec::len), Some(of_all(&set)));
    assert_ne!(of_all(&set), of_all(&usual), "seven finds make fewer cores than six");

    // The word none sets each back to what is usual.
    let back = told(&["--swing", "none", "--turn", "none", "--per-pass", "none", "--storm-days", "none", "--least", "none"]);
    assert_eq!(back, before);

    for wrong in [
        ["--swing", "9"],
        ["--overlap", "0"],
        ["--gap", "soon"],
        ["--turn", "NaN"],
        ["--least", "1"],
        ["--least", "2.5"],
        ["--per-pass", "0"],
        ["--effort-error", "3"],
        ["--storm-days", "0"],
        ["--clusters", "by luck"],
        ["--radius", "0"],
    ] {
        refuses(2, &["beach", "--book", text(&book), wrong[0], wrong[1]]);
    }
    refuses(2, &["beach", "--book", text(&book), "--clusters", "hdbscan", "--radius", "8"]);
    refuses(2, &["read", "--book", text(&book), "--clusters", "hdbscan", "--radius", "8"]);
    assert_eq!(told(&[]), before, "what was refused changed nothing");
    // A name, place or tide of one's own makes it somebody's own beach.
    assert_eq!(told(&["--station", "ticon/newlyn-new-gbr-bodc"])["invented"], false);
}

#[test]
fn the_only_beach_need_not_be_named_and_several_are_named_to_choose_from() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, file) = (dir.path().join("book.gpkg"), dir.path().join("morning.gpx"));
    std::fs::write(&file, GPX).expect("a file");
    // A new book still needs a name and a place.
    for args in [&["beach", "--book", text(&book)][..], &["beach", "--book", text(&book), "--near=-11.9,48.9"]] {
        let words = refuses(2, args);
        assert!(words.contains("--beach"), "{words}");
    }
    refuses(3, &["import", "--book", text(&book), text(&file)]);
    assert!(!book.exists());

    json(&["beach", "--book", text(&book), "--beach", "Invented Bay", "--near=-11.9,48.9", "--json"]);
    let taken = json(&["import", "--book", text(&book), "--json", text(&file)]);
    assert_eq!(taken["files"][0]["taken"]["find"], 2);
    let set = json(&["beach", "--book", text(&book), "--offset", "2.5", "--station", "ticon/newlyn-new-gbr-bodc", "--json"]);
    assert_eq!((&set["beach"]["name"], &set["beach"]["datum_offset_m"]), (&Value::from("Invented Bay"), &Value::from(2.5)));
    assert_eq!(set["beach"]["invented"], false);
    json(&["tides", "--book", text(&book), "--from", "2026-06-01", "--json"]);
    json(&["read", "--book", text(&book), "--json"]);
    let own = dir.path().join("own");
    let out = scourline(&["share", "--book", text(&book), "--out", text(&own)]);
    assert!(out.status.success(), "{}", said(&out));
    let words = String::from_utf8_lossy(&out.stdout).into_owned();
    assert!(words.contains("Exact positions of finds invite others"), "{words}");
    let finds = std::fs::read_to_string(own.join("finds.geojson")).expect("finds");
    assert!(finds.contains("-11.9002") && finds.contains("48.9001"), "positions are exact: {finds}");
    assert!(own.join("report.html").exists() && own.join("plan.svg").exists());
    // With a permission only what that lets its holder see, as ever; here there is none.
    let never = refuses(3, &["share", "--book", text(&book), "--permission", "council", "--out", text(&own)]);
    assert!(never.contains("\"council\"") && never.contains("none"), "{never}");

    json(&["beach", "--book", text(&book), "--beach", "Second Bay", "--near=-11.0,48.0", "--json"]);
    let after = ["--after", "2026-09-26T00:00:00Z"];
    for args in [
        &["beach", "--book", text(&book), "--offset", "1"][..],
        &["read", "--book", text(&book)],
        &["tides", "--book", text(&book), "--from", "2026-06-01"],
        &["route", "--book", text(&book), after[0], after[1]],
        &["share", "--book", text(&book), "--out", text(&own)],
    ] {
        let words = refuses(2, args);
        assert!(words.contains("Invented Bay") && words.contains("Second Bay") && words.contains("--beach"), "{args:?}: {words}");
    }
    json(&["beach", "--book", text(&book), "--beach", "Second Bay", "--offset", "1", "--json"]);
    assert!(scourline(&["share", "--book", text(&book), "--beach", "Invented Bay", "--out", text(&own)]).status.success());
}

#[test]
fn every_json_document_says_which_promise_its_keys_keep() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, file, setups) = (dir.path().join("book.gpkg"), dir.path().join("morning.gpx"), dir.path().join("setups.csv"));
    std::fs::write(&file, GPX).expect("a file");
    std::fs::write(&setups, "name,machine,mode,coil_width_cm\nwet sand,an invented machine,beach,28\n").expect("a file");
    let trial = ["trial", "--beaches", "1", "--replicates", "19", "--json"];
    for args in [
        &["import", "--book", text(&book), "--beach", "Invented Bay", "--json", text(&file)][..],
        &["import", "--book", text(&book), "--as", "setups", "--json", text(&setups)],
        &["beach", "--book", text(&book), "--json"],
        &["tides", "--near=-5.54,50.10", "--from", "2026-06-01", "--json"],
        &["read", "--book", text(&book), "--json"],
        &["bench", "--book", text(&book), "--json"],
        &trial,
    ] {
        assert_eq!(json(args)["schema"], 2, "{args:?}");
    }
}

/// A build without the feature `window` says so in one sentence, with the commands that it has.
#[cfg(not(feature = "window"))]
#[test]
fn a_build_without_a_window_says_so() {
    let said = refuses(2, &[]);
    assert_eq!(said.trim_end().lines().count(), 1, "{said}");
    assert!(said.contains("no window") && said.contains("demo, beach, import"), "{said}");
}
