//! `scourline tides` and the tide sources of `scourline beach`, as a stranger runs them.

use std::path::Path;
use std::process::{Command, Output};

use jiff::{SignedDuration, Timestamp};
use scourline::tide::{Catalogue, Datum, Predictor};
use serde_json::Value;

/// TICON-4's constants for Newlyn: the outside source that these records are made from.
const NEWLYN: &str = "ticon/newlyn-new-gbr-bodc";

fn scourline(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_scourline")).args(args).output().expect("the program was built for this test")
}

fn json(args: &[&str]) -> Value {
    let out = scourline(args);
    assert!(out.status.success(), "{args:?}: {}", String::from_utf8_lossy(&out.stderr));
    serde_json::from_slice(&out.stdout).expect("one JSON document on standard output")
}

/// In place of options: every record of the file is refused.
const REFUSED: [&str; 1] = ["refused"];

/// The document of an import of which every record was refused: it is shown all the same.
fn all_refused(args: &[&str]) -> Value {
    let out = scourline(args);
    let words = String::from_utf8_lossy(&out.stderr);
    assert_eq!(out.status.code(), Some(3), "{args:?}: {words}");
    assert!(words.contains("every record was refused, so nothing was changed"), "{words}");
    serde_json::from_slice(&out.stdout).expect("one JSON document on standard output")
}

fn refuses(code: i32, args: &[&str]) -> String {
    let out = scourline(args);
    let words = String::from_utf8_lossy(&out.stderr).into_owned();
    assert_eq!(out.status.code(), Some(code), "{args:?}: {words}");
    assert!(out.stdout.is_empty(), "{args:?} printed to standard output");
    words
}

fn text(path: &Path) -> &str {
    path.to_str().expect("a temporary path is text")
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

/// A book in a fresh folder with one beach near Newlyn, and a file beside it imported as `what`.
fn book_with(name: &str, content: &str, what: &str) -> (tempfile::TempDir, String) {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, file) = (dir.path().join("book.gpkg"), dir.path().join(name));
    std::fs::write(&file, content).expect("a file");
    json(&[
        "beach",
        "--book",
        text(&book),
        "--beach",
        "Invented Bay",
        "--near",
        "-5.54,50.10",
        "--zone",
        "Europe/London",
        "--json",
    ]);
    json(&["import", "--book", text(&book), "--beach", "Invented Bay", "--as", what, "--json", text(&file)]);
    let book = text(&book).to_owned();
    (dir, book)
}

/// Hourly levels at Newlyn as a gauge would log them, a gap of two and a half days in them.
fn logged(days: i64) -> String {
    let station = Catalogue::shipped().get(NEWLYN).expect("a shipped station");
    let predictor = Predictor::new(station, &Datum::Msl).expect("a usable station");
    let start: Timestamp = "2025-01-01T00:00:00Z".parse().expect("a time");
    let rows = (0..days * 24).filter(|hour| !(200..260).contains(hour)).map(|hour| {
        let time = start + SignedDuration::from_hours(hour);
        format!("{time},{:.3}\n", predictor.height_m(time))
    });
    format!("time,height_m\n{}", rows.collect::<String>())
}

#[test]
fn a_gauge_record_becomes_the_source_with_errors_for_each_constituent() {
    let (_dir, book) = book_with("logger.csv", &logged(60), "gauge");
    let chosen = json(&["beach", "--book", &book, "--beach", "Invented Bay", "--gauge", "Logger", "--json"]);
    assert_eq!(chosen["beach"]["tide"]["kind"], "gauge");
    let told = json(&["tides", "--book", &book, "--from", "2025-04-01", "--days", "2", "--every", "60", "--json"]);
    assert_eq!(told["source"]["kind"], "gauge");
    let found = told["analysis"]["constituents"].as_array().expect("constituents");
    let m2 = found.iter().find(|c| c["name"] == "M2").expect("M2");
    let published = Catalogue::shipped().get(NEWLYN).and_then(|s| s.constants.iter().find(|c| *c.name == *"M2")).expect("M2");
    assert!((number(&m2["amplitude_m"]) - published.amplitude_m).abs() < 0.03, "{m2}");
    assert!(number(&m2["amplitude_sd_m"]) > 0.0 && number(&m2["phase_sd_deg"]) > 0.0);
    assert!(!told["analysis"]["unresolved"].as_array().expect("a list").is_empty());
    let notes = told["notes"].to_string();
    assert!(notes.contains("gap") && notes.contains("too short to tell"), "{notes}");
    // A month after the record ends its prediction still keeps to the station's own within what K2 and the season hide.
    let station = json(&["tides", "--station", NEWLYN, "--from", "2025-04-01T00:00:00+01:00", "--days", "2", "--json"]);
    let (own, theirs) = (told["turns"].as_array().expect("turns"), station["turns"].as_array().expect("turns"));
    assert_eq!(own.len(), theirs.len());
    let minutes = |t: &Value| t["time"].as_str().and_then(|t| t.parse::<Timestamp>().ok()).expect("a time").as_second() / 60;
    assert!(own.iter().zip(theirs).all(|(a, b)| (minutes(a) - minutes(b)).abs() < 15), "{own:?} {theirs:?}");
}

#[test]
fn a_record_too_short_is_refused_in_a_sentence_and_the_beach_stays_usable() {
    let (_dir, book) = book_with("logger.csv", &logged(1), "gauge");
    let chosen = json(&["beach", "--book", &book, "--beach", "Invented Bay", "--gauge", "logger", "--json"]);
    assert!(chosen["warnings"].to_string().contains("longer record"), "{}", chosen["warnings"]);
    let words = refuses(3, &["tides", "--book", &book, "--from", "2025-04-01"]);
    assert!(words.contains("logger") && words.contains("longer record"), "{words}");
    let words = refuses(3, &["beach", "--book", &book, "--beach", "Invented Bay", "--gauge", "other"]);
    assert!(words.contains("it has logger"), "{words}");
}

#[test]
fn a_secondary_port_is_its_standard_port_shifted_by_the_printed_differences() {
    let (_dir, book) = book_with("logger.csv", &logged(3), "gauge");
    let set = |differences: &str| {
        let made = json(&[
            "beach",
            "--book",
            &book,
            "--beach",
            "Invented Bay",
            "--secondary",
            "Invented Haven",
            "--station",
            NEWLYN,
            "--differences",
            differences,
            "--json",
        ]);
        assert_eq!(made["beach"]["tide"]["kind"], "secondary_port");
        json(&["tides", "--book", &book, "--from", "2025-04-01", "--days", "3", "--json"])
    };
    let standard = json(&["tides", "--station", NEWLYN, "--from", "2025-04-01T00:00:00+01:00", "--days", "3", "--json"]);
    let moved = set("0010,0010,-0005,-0005,0.3,0.3,-0.1,-0.1");
    assert_eq!(moved["source"]["standard_port"]["id"], NEWLYN);
    let second = |t: &Value| t["time"].as_str().and_then(|t| t.parse::<Timestamp>().ok()).expect("a time").as_second();
    let of = |told: &Value| told["turns"].as_array().expect("turns").clone();
    for turn in of(&moved).iter().take(10) {
        let (later_s, higher_m) = if turn["kind"] == "high" { (600, 0.3) } else { (-300, -0.1) };
        let there = of(&standard).into_iter().find(|s| (second(s) + later_s - second(turn)).abs() <= 1);
        let there = there.unwrap_or_else(|| panic!("{turn} has no standard turn"));
        assert!((number(&turn["m"]) - number(&there["m"]) - higher_m).abs() < 2e-3, "{turn} {there}");
    }
    let bad = refuses(
        2,
        &["beach", "--book", &book, "--beach", "Invented Bay", "--secondary", "X", "--station", NEWLYN, "--differences", "1,2"],
    );
    assert!(bad.contains("eight figures"), "{bad}");
    // An hour and a quarter typed with a point used to be taken for a minute.
    let typed = "--differences=1.15,1.15,1.15,1.15,0,0,0,0";
    let bad = refuses(2, &["beach", "--book", &book, "--beach", "Invented Bay", "--secondary", "X", "--station", NEWLYN, typed]);
    assert!(bad.contains("\"1.15\" has a decimal sign") && bad.contains("0115 for 1 h 15 min"), "{bad}");
}

#[test]
fn a_table_in_feet_can_be_a_source_or_a_standard_port_and_two_highs_in_a_row_are_refused() {
    let feet = "Date,Time,Height (ft),High/Low\n2025-06-02,00:10,18,H\n2025-06-02,06:20,3,L\n2025-06-02,12:40,18.5,H\n2025-06-02,18:50,2.5,L\n";
    let (dir, book) = book_with("almanac.csv", feet, "tide-table");
    json(&["beach", "--book", &book, "--beach", "Invented Bay", "--tide-table", "almanac", "--json"]);
    let told = json(&["tides", "--book", &book, "--from", "2025-06-02", "--json"]);
    assert_eq!(told["source"]["kind"], "tide_table");
    // 18 international feet of 0.3048 m.
    assert!((number(&told["turns"][0]["m"]) - 5.486).abs() < 1e-3, "{}", told["turns"]);
    assert_eq!(told["turns"][0]["time"], "2025-06-01T23:10:00Z");
    let port = |levels: &[&str]| {
        let mut args =
            vec!["beach", "--book", &book, "--beach", "Invented Bay", "--secondary", "Haven", "--tide-table", "almanac"];
        args.extend(["--differences", "0010,0010,0010,0010,0,0,0,0", "--json"]);
        args.extend(levels);
        args.iter().map(ToString::to_string).collect::<Vec<_>>()
    };
    let words = refuses(3, &port(&[]).iter().map(String::as_str).collect::<Vec<_>>());
    assert!(words.contains("MHWS"), "{words}");
    json(&port(&["--standard-levels", "5.6,4.4,2.0,0.8"]).iter().map(String::as_str).collect::<Vec<_>>());

    let twice = feet.replace("06:20,3,L", "06:20,17,H");
    let file = dir.path().join("twice.csv");
    std::fs::write(&file, twice).expect("a file");
    let out = scourline(&["import", "--book", &book, "--beach", "Invented Bay", "--as", "tide-table", "--json", text(&file)]);
    let said = format!("{}{}", String::from_utf8_lossy(&out.stdout), String::from_utf8_lossy(&out.stderr));
    assert!(said.contains("two high waters in a row"), "{said}");
}

/// A mixed tide at neaps, or one that stands double, prints a high and a low water alike (common practice, no published source).
#[test]
fn two_turns_of_one_height_are_water_that_stands_and_all_such_pairs_are_told_at_once() {
    let rows = [
        ("2025-06-02 00:10", "1.20", "H"),
        ("2025-06-02 05:30", "0.62", "L"),
        ("2025-06-02 09:40", "0.62", "H"),
        ("2025-06-02 15:50", "0.20", "L"),
        ("2025-06-02 23:10", "1.10", "H"),
        ("2025-06-03 05:10", "0.50", "L"),
        ("2025-06-03 09:30", "0.50", "H"),
        ("2025-06-03 16:30", "0.30", "L"),
    ];
    let open: String = rows.iter().map(|(at, m, _)| format!("{at},{m}\n")).collect();
    let named: String = rows.iter().map(|(at, m, kind)| format!("{at},{m},{kind}\n")).collect();
    for content in [format!("time,height\n{open}"), format!("time,height,High/Low\n{named}")] {
        let dir = tempfile::tempdir().expect("a temporary folder");
        let (book, file) = (dir.path().join("book.gpkg"), dir.path().join("printed.csv"));
        let at = ["beach", "--book", text(&book), "--beach", "Invented Bay", "--near", "-5.54,50.10", "--zone", "UTC", "--json"];
        json(&at);
        let args = ["import", "--book", text(&book), "--beach", "Invented Bay", "--as", "tide-table", "--json", text(&file)];
        std::fs::write(&file, &content).expect("a file");
        let told = json(&args)["files"][0].clone();
        assert_eq!(told["taken"]["tide_table"], 1, "{told}");
        let warned = told["warnings"].to_string();
        assert!(warned.contains("lines 3 and 4 (0.62 m), 7 and 8 (0.50 m) give the same height"), "{told}");
        let kept = scourline::store::OpenBook::open(&book).expect("a book");
        let table = kept.book().tide_tables().values().next().expect("a tide table").clone();
        drop(kept);
        assert_eq!(table.turns.iter().map(|t| t.high).collect::<Vec<_>>(), [true, false, true, false, true, false, true, false]);
        json(&["beach", "--book", text(&book), "--beach", "Invented Bay", "--tide-table", "printed", "--json"]);
        let tides = json(&["tides", "--book", text(&book), "--from", "2025-06-02", "--json"]);
        assert!(tides["turns"].as_array().is_some_and(|t| !t.is_empty()), "{tides}");

        // Three in a row are no turns, and all such runs are named; a pair at the foot of a fall is one turn.
        let three = content.replace("15:50,0.20", "15:50,0.62").replace("16:30,0.30", "16:30,0.50");
        std::fs::write(&file, three).expect("a file");
        let why = all_refused(&args)["files"][0]["refused"][0]["why"].to_string();
        assert!(why.contains("lines 3 to 5 (0.62 m), 7 to 9 (0.50 m)"), "{why}");
    }
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, file) = (dir.path().join("book.gpkg"), dir.path().join("printed.csv"));
    let at = ["beach", "--book", text(&book), "--beach", "Invented Bay", "--near", "-5.54,50.10", "--zone", "UTC", "--json"];
    json(&at);
    std::fs::write(&file, format!("time,height\n{}", open.replace("15:50,0.20", "15:50,0.90"))).expect("a file");
    let args = ["import", "--book", text(&book), "--beach", "Invented Bay", "--as", "tide-table", "--json", text(&file)];
    let why = all_refused(&args)["files"][0]["refused"][0]["why"].to_string();
    assert!(why.contains("lines 3 and 4 give the same height, 0.62 m") && why.contains("that is one turn"), "{why}");
}

#[test]
fn times_in_the_hour_that_the_clocks_skip_or_show_twice_are_told_of() {
    let spring = "time,height\n2025-03-29 19:00,5.0\n2025-03-30 01:15,1.0\n2025-03-30 08:30,5.1\n2025-03-30 14:45,0.9\n";
    let dir = tempfile::tempdir().expect("a temporary folder");
    let book = dir.path().join("book.gpkg");
    json(&[
        "beach",
        "--book",
        text(&book),
        "--beach",
        "Invented Bay",
        "--near",
        "-5.54,50.10",
        "--zone",
        "Europe/London",
        "--json",
    ]);
    let autumn = spring.replace("03-29", "10-25").replace("03-30", "10-26");
    let take = |name: &str, content: &str, more: &[&str]| {
        let file = dir.path().join(name);
        std::fs::write(&file, content).expect("a file");
        let mut args =
            vec!["import", "--book", text(&book), "--beach", "Invented Bay", "--as", "tide-table", "--json", text(&file)];
        args.extend(more);
        if more == REFUSED { all_refused(&args[..args.len() - 1])["files"][0].clone() } else { json(&args)["files"][0].clone() }
    };
    // A table in the clock's own time cannot have 01:15 on the day on which it jumps from 01:00 to 02:00.
    let told = take("spring.csv", spring, &REFUSED);
    assert_eq!(told["refused"][0]["line"], 3, "{told}");
    assert!(told["refused"][0]["why"].as_str().is_some_and(|w| w.contains("clocks of Europe/London")), "{told}");
    assert_eq!(told["taken"]["tide_table"], Value::Null);
    // One that is printed in UTC all year can.
    let told = take("spring.csv", spring, &["--zone", "UTC"]);
    assert_eq!(told["taken"]["tide_table"], 1, "{told}");
    // The hour that is shown twice: of 00:15 and 01:15 UTC the first is six hours from its neighbours.
    let told = take("autumn.csv", &autumn, &["--zone", "Europe/London"]);
    let warned = told["warnings"].to_string();
    assert!(warned.contains("line 3") && warned.contains("2025-10-26 00:15 UTC"), "{told}");
    let later = autumn.replace("19:00", "19:50").replace("08:30", "07:40").replace("14:45", "13:50");
    let told = take("later.csv", &later, &["--zone", "Europe/London"]);
    assert!(told["warnings"].to_string().contains("2025-10-26 01:15 UTC"), "{told}");
    refuses(
        3,
        &["import", "--book", text(&book), "--beach", "Invented Bay", "--zone", "Nowhere", text(&dir.path().join("later.csv"))],
    );
}

#[test]
fn a_gauge_keeps_both_hours_that_the_clock_shows_twice() {
    // Every half hour from 00:00 BST on the night on which 01:00 to 02:00 comes twice: ten readings, ten instants.
    let clock = ["00:00", "00:30", "01:00", "01:30", "01:00", "01:30", "02:00", "02:30", "03:00", "03:30"];
    let rows: String = clock.iter().enumerate().map(|(n, t)| format!("2025-10-26 {t},{}.0\n", n % 5)).collect();
    let (_dir, book) = book_with("logger.csv", &format!("time,height\n{rows}"), "gauge");
    let kept = scourline::store::OpenBook::open(std::path::Path::new(&book)).expect("a book");
    let gauge = kept.book().gauges().values().next().expect("a gauge record");
    let from = gauge.readings[0].0;
    let after: Vec<i64> = gauge.readings.iter().map(|(t, _)| t.as_second() - from.as_second()).collect();
    assert_eq!(after, (0..10).map(|n| n * 1800).collect::<Vec<_>>());
}

#[test]
fn heights_in_feet_are_known_by_their_heading_asked_for_and_never_taken_for_metres_unseen() {
    let table = |range: f64| {
        let rows = ["2025-06-29 19:00", "2025-06-30 01:15", "2025-06-30 07:30", "2025-06-30 13:45"];
        let rows = rows.iter().enumerate().map(|(n, t)| format!("{t},{}\n", if n % 2 == 0 { range + 1.0 } else { 1.0 }));
        format!("time,height\n{}", rows.collect::<String>())
    };
    let dir = tempfile::tempdir().expect("a temporary folder");
    let book = dir.path().join("book.gpkg");
    let at =
        ["beach", "--book", text(&book), "--beach", "Invented Bay", "--near", "-5.54,50.10", "--zone", "Europe/London", "--json"];
    json(&at);
    let take = |name: &str, content: &str, more: &[&str]| {
        let file = dir.path().join(name);
        std::fs::write(&file, content).expect("a file");
        let mut args = vec!["import", "--book", text(&book), "--beach", "Invented Bay", "--json", text(&file)];
        args.extend(more);
        if more == REFUSED { all_refused(&args[..args.len() - 1])["files"][0].clone() } else { json(&args)["files"][0].clone() }
    };
    let said = take("fathomless.csv", &table(24.0), &REFUSED);
    assert!(said["refused"][0]["why"].as_str().is_some_and(|w| w.contains("feet")), "{said}");
    let said = take("doubtful.csv", &table(13.0), &[]);
    assert!(said["warnings"].to_string().contains("feet"), "{said}");
    let said = take("heading.csv", &table(13.0).replace("height", "height (ft)"), &[]);
    assert!(!said["warnings"].to_string().contains("feet"), "{said}");
    take("asked.csv", &table(13.5), &["--feet"]);
    // Newlyn's mean range is 3.6 m, 12 feet; the doubtful table would have 13 m.
    for (name, odd) in [("doubtful", true), ("asked", false), ("heading", false)] {
        let told = json(&["beach", "--book", text(&book), "--beach", "Invented Bay", "--tide-table", name, "--json"]);
        assert_eq!(told["notes"].to_string().contains("are its heights in feet"), odd, "{name}: {told}");
    }
    let told = json(&["tides", "--book", text(&book), "--from", "2025-06-29", "--json"]);
    assert!((number(&told["turns"][0]["m"]) - 14.0 * 0.3048).abs() < 1e-3, "{told}");
}

#[test]
fn the_lowest_daylight_lows_of_a_season_are_ranked_with_their_dry_windows() {
    let ask = |more: &[&str]| {
        let mut args = vec!["tides", "--station", NEWLYN, "--from", "2025-10-01", "--days", "180", "--lows", "10", "--json"];
        args.extend(more);
        json(&args)["lows"].clone()
    };
    let lows = ask(&["--daylight"]);
    let ranked = lows["ranked"].as_array().expect("a list");
    assert_eq!(ranked.len(), 10);
    assert!(ranked.is_sorted_by(|a, b| number(&a["m"]) <= number(&b["m"])));
    assert!(ranked.iter().all(|l| number(&l["daylight"]) >= 0.5 && number(&l["lower_than"]) > 0.9));
    // Nothing known: twice 0.2 m for the weather, and what a sea of 1.5 m and 8 s runs up a slope of 0.12
    // (py-wave-runup 0.1.12: 1.3065 m).
    assert!((number(&lows["margin_m"]) - 1.707).abs() < 1.5e-3, "{lows}");
    for low in ranked {
        assert_eq!(low["moon"], "spring", "{low}");
        let dry = low["dry"].as_array().expect("windows");
        let minutes: Vec<f64> = dry.iter().map(|w| number(&w["minutes"])).collect();
        assert!(minutes.is_sorted_by(|a, b| a >= b), "higher ground is dry longer: {low}");
    }
    let free = ask(&["--daylight", "--lows-by", "usable", "--free", "sat sun 8-18"]);
    let usable: Vec<f64> = free["ranked"].as_array().expect("a list").iter().map(|l| number(&l["usable_min"])).collect();
    assert!(usable.is_sorted_by(|a, b| a >= b) && usable[0] > 60.0, "{usable:?}");
    refuses(2, &["tides", "--station", NEWLYN, "--from", "2025-10-01", "--lows", "3", "--free", "whenever"]);
    // A number that is none is refused where it stands, whichever option it is.
    for no_number in [["--merge-below", "NaN"], ["--dry", "inf"], ["--surge", "-inf"], ["--surge-sd", "nan"]] {
        let words = refuses(2, &["tides", "--station", NEWLYN, "--from", "2025-10-01", no_number[0], no_number[1]]);
        assert!(words.contains(no_number[0]) && words.contains("a plain number is wanted"), "{words}");
    }
    refuses(2, &["tides", "--station", NEWLYN, "--from", "2025-10-01", "--free", "8-18"]);
}

#[test]
fn small_pairs_of_turns_are_left_out_on_request_and_levels_tell_published_from_computed() {
    let ask = |more: &[&str]| {
        let mut args =
            vec!["tides", "--station", "ticon/southampton-sou-gbr-da_idh", "--from", "2025-03-01", "--days", "15", "--json"];
        args.extend(more);
        json(&args)
    };
    let (all, merged) = (ask(&[]), ask(&["--merge-below", "0.2"]));
    let kinds = |told: &Value| told["turns"].as_array().expect("turns").iter().map(|t| t["kind"].to_string()).collect::<Vec<_>>();
    assert!(kinds(&merged).len() < kinds(&all).len(), "Southampton has double high waters");
    assert!(kinds(&merged).windows(2).all(|w| w[0] != w[1]));
    let noaa = json(&["tides", "--station", "noaa/9447130", "--from", "2025-03-01", "--json"]);
    let mhhw = &noaa["levels"]["mhhw"];
    assert_eq!(mhhw["origin"], "published");
    assert!((number(&mhhw["m"]) - number(&mhhw["computed_m"]) - number(&mhhw["difference_m"])).abs() < 2e-3);
    assert!(noaa["constituents"]["used"].as_array().is_some_and(|u| u.len() >= 30));
}

#[test]
fn weather_widens_what_dry_windows_keep_clear_of() {
    let (_dir, book) = book_with("logger.csv", &logged(3), "gauge");
    let set = |more: &[&str]| {
        let mut args = vec!["beach", "--book", &book, "--beach", "Invented Bay", "--json"];
        args.extend(more);
        json(&args)["beach"]["surge"].clone()
    };
    assert_eq!(set(&[])["known"], false);
    let near = |value: &Value, m: f64| assert!((number(value) - m).abs() < 1e-9, "{value} against {m}");
    // 30 hPa below the mean lifts the water by 0.30 m; twice 0.1 m of uncertainty on top, and the waves.
    let told = set(&["--pressure", "983.25", "--surge-sd", "0.1"]);
    near(&told["surge_margin_m"], 0.5);
    near(&told["margin_m"], 0.5 + number(&told["run_up_m"]));
    assert_eq!(told["sea"]["from"], "usual");
    assert!(number(&told["run_up_m"]) > 0.5 && told["sea"]["said"].to_string().contains("common practice"), "{told}");
    // A negative surge takes nothing from what the doubt alone asks for.
    near(&set(&["--surge", "-0.2"])["surge_margin_m"], 0.2);
    near(&set(&["--surge", "none", "--run-up", "1.75"])["margin_m"], 2.25);
    let cautious = number(&set(&["--run-up", "none"])["run_up_m"]);
    // A typed run-up below what the sea asks for lowers nothing.
    near(&set(&["--run-up", "0.2"])["run_up_m"], cautious);
    near(&set(&["--run-up", "none"])["margin_m"], cautious + 0.5);
    // The options of one question stand in for what is kept.
    let lows = |more: &[&str]| {
        let mut args = vec!["tides", "--book", &book, "--from", "2025-10-01", "--days", "15", "--lows", "40", "--json"];
        args.extend(more);
        json(&args)
    };
    let minutes = |told: &Value| -> f64 {
        let ranked = told["lows"]["ranked"].as_array().expect("a list").clone();
        ranked.iter().flat_map(|l| l["dry"].as_array().expect("windows").clone()).map(|w| number(&w["minutes"])).sum()
    };
    let (calm, swell) = (lows(&[]), lows(&["--run-up", "2.5"]));
    near(&swell["lows"]["surge"]["run_up_m"], 2.5);
    // The sea that a person expects stands in for the cautious one.
    let still = lows(&["--sea", "0.3m,4s"]);
    near(&still["lows"]["surge"]["run_up_m"], 0.3);
    assert_eq!(still["lows"]["surge"]["sea"]["from"], "asked");
    assert!(minutes(&still) > minutes(&calm));
    refuses(2, &["tides", "--book", &book, "--from", "2025-10-01", "--sea", "rough"]);
    assert!(minutes(&swell) < minutes(&calm) - 600.0, "{} {}", minutes(&swell), minutes(&calm));
    assert!(minutes(&lows(&["--surge", "0.8"])) < minutes(&calm) - 300.0);
    refuses(2, &["tides", "--book", &book, "--from", "2025-10-01", "--run-up", "99"]);
    refuses(3, &["beach", "--book", &book, "--beach", "Invented Bay", "--run-up", "99"]);
    refuses(2, &["beach", "--book", &book, "--beach", "Invented Bay", "--surge", "much"]);
    refuses(3, &["beach", "--book", &book, "--beach", "Invented Bay", "--pressure", "30"]);
}

#[test]
fn free_hours_stay_with_the_beach_and_count_unless_others_are_given() {
    let (_dir, book) = book_with("logger.csv", &logged(3), "gauge");
    json(&["beach", "--book", &book, "--beach", "Invented Bay", "--free", "Sat Sunday 8-18", "--json"]);
    let ask = |more: &[&str]| {
        let mut args = vec!["tides", "--book", &book, "--from", "2025-10-01", "--days", "15", "--lows", "40", "--json"];
        args.extend(more);
        json(&args)["lows"].clone()
    };
    let kept = ask(&[]);
    assert_eq!(kept["free"], "sat sun 08:00-18:00");
    assert!(kept["ranked"].as_array().expect("a list").iter().any(|l| number(&l["usable_min"]) == 0.0), "weekdays are not free");
    assert_eq!(ask(&["--free", "mon 6-9"])["free"], "mon 06:00-09:00");
    assert_eq!(ask(&["--free", "always"])["free"], Value::Null);
    let told = json(&["beach", "--book", &book, "--beach", "Invented Bay", "--free", "always", "--json"]);
    assert_eq!(told["beach"]["free"], Value::Null);
    refuses(2, &["beach", "--book", &book, "--beach", "Invented Bay", "--free", "sometimes"]);
}

#[test]
fn a_level_and_a_place_are_told_when_they_are_dry() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let book = dir.path().join("book.gpkg");
    json(&["beach", "--book", text(&book), "--beach", "Invented Bay", "--near", "-5.54,50.10", "--offset", "3", "--json"]);
    let levels: String = (0..30)
        .flat_map(|n| [(n, 0), (n, 10), (n, 20)])
        .map(|(n, e)| {
            format!("{},{},{:.2}\n", -5.54 + f64::from(e) * 1e-4, 50.10 + f64::from(n) * 1e-4, 4.0 - 0.25 * f64::from(n))
        })
        .collect();
    let file = dir.path().join("levels.csv");
    std::fs::write(&file, format!("lon,lat,level_m\n{levels}")).expect("a file");
    json(&["import", "--book", text(&book), "--beach", "Invented Bay", "--as", "levels", "--json", text(&file)]);
    let ask = |more: &[&str]| {
        let mut args = vec!["tides", "--book", text(&book), "--from", "2025-10-01", "--days", "7", "--json"];
        args.extend(more);
        json(&args)["dry"].clone()
    };
    // Sand at 4.0 - 0.25 * 16 = 0.0 m above land datum, 3.0 m above the tide's.
    let place = ask(&["--dry-at", "-5.5390,50.1016"]);
    assert!((number(&place["level_m"]) - 3.0).abs() < 0.01, "{place}");
    let parts = ["surge_margin_m", "run_up_m", "sand_margin_m"].map(|part| number(&place[part]));
    assert!((parts.iter().sum::<f64>() - number(&place["margin_m"])).abs() < 2e-3 && parts[2] > 0.0, "{place}");
    // The lines of levels stand 71 m apart.
    assert_eq!(place["guessed"], true);
    // The same level known exactly is dry a little longer.
    let level = ask(&["--dry", &number(&place["level_m"]).to_string()]);
    let minutes = |dry: &Value| dry["windows"].as_array().expect("windows").iter().map(|w| number(&w["minutes"])).sum::<f64>();
    assert!(minutes(&level) > minutes(&place) && minutes(&place) > 600.0, "{level} {place}");
    refuses(3, &["tides", "--book", text(&book), "--from", "2025-10-01", "--dry-at", "-5.60,50.10"]);
    refuses(2, &["tides", "--station", NEWLYN, "--from", "2025-10-01", "--dry-at", "-5.60,50.10"]);
}
