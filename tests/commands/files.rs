//! Files as people have them, through the command line: folders, questions, photographs, and what is exported again.

use std::path::{Path, PathBuf};

use super::end_to_end::{json, refuses, scourline, text};

fn reference(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/exchange").join(name)
}

const FINDS: &str = "lon,lat,what,time,depth_cm\n-20.0001,45.0001,invented penny,2024-05-01T10:05:00Z,12\n-20.0002,45.0002,ring pull,2024-05-02T10:05:00Z,\n";
const WALK: &str = r#"<gpx version="1.1"><trk><name>walk</name><trkseg>
<trkpt lat="45.000" lon="-20"><time>2024-05-01T10:00:00Z</time></trkpt>
<trkpt lat="45.001" lon="-20"><time>2024-05-01T10:04:00Z</time></trkpt>
<trkpt lat="45.002" lon="-20"><time>2024-05-01T10:08:00Z</time></trkpt></trkseg></trk></gpx>"#;

/// A folder with a season in it, and beside it the place for a book with an invented beach.
fn season() -> (tempfile::TempDir, PathBuf, PathBuf) {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, folder) = (dir.path().join("book.gpkg"), dir.path().join("season"));
    std::fs::create_dir(&folder).expect("a folder");
    for (name, bytes) in [("finds.csv", FINDS), ("walk.gpx", WALK), ("diary.txt", "Dear diary,\nrain again.\n")] {
        std::fs::write(folder.join(name), bytes).expect("a file");
    }
    json(&["beach", "--book", text(&book), "--beach", "Invented Bay", "--near", "-20,45", "--zone", "Europe/London", "--json"]);
    (dir, book, folder)
}

#[test]
fn a_folder_is_taken_whole_and_what_is_passed_over_is_told() {
    let (_dir, book, folder) = season();
    let told = json(&["import", "--book", text(&book), "--json", text(&folder)]);
    let names: Vec<String> = told["files"]
        .as_array()
        .expect("files")
        .iter()
        .map(|f| f["file"].as_str().expect("a name").rsplit('/').next().expect("a name").to_owned())
        .collect();
    assert_eq!(names, ["finds.csv", "walk.gpx"]);
    assert_eq!(told["taken"], 4, "two finds, a track and its outing");
    assert!(told["passed_over"][0]["file"].as_str().expect("a name").ends_with("diary.txt"), "{told}");
    assert!(told["passed_over"][0]["why"].as_str().expect("a reason").contains("neither GPX"), "{told}");
    let again = json(&["import", "--book", text(&book), "--json", text(&folder.join("*.csv"))]);
    assert_eq!((&again["taken"], again["files"].as_array().expect("files").len()), (&0.into(), 1));
    let words = refuses(3, &["import", "--book", text(&book), text(&folder.join("*.kmz"))]);
    assert!(words.contains("fits no file") && words.contains("nothing was changed"), "{words}");
    let shown = scourline(&["import", "--book", text(&book), "--dry-run", text(&folder)]);
    let shown = String::from_utf8_lossy(&shown.stdout).into_owned();
    assert!(shown.contains("passed over") && shown.contains("diary.txt: it is neither"), "{shown}");
}

/// What may not be believed is asked about: nothing is taken, and the sentence names the option that answers it.
#[test]
fn a_camera_s_clock_and_old_dates_are_asked_about_before_anything_is_taken() {
    let (dir, book, folder) = season();
    json(&["import", "--book", text(&book), "--json", text(&folder.join("walk.gpx"))]);
    let photo = reference("photos/bare.jpg");
    let words = refuses(3, &["import", "--book", text(&book), text(&photo)]);
    assert!(words.contains("--answer camera=beach") && words.contains("--camera-clock"), "{words}");
    refuses(2, &["import", "--book", text(&book), "--camera-clock", "an hour", text(&photo)]);
    let told = json(&["import", "--book", text(&book), "--camera-clock", "+01:00:00", "--json", text(&photo)]);
    assert_eq!((&told["files"][0]["format"], &told["files"][0]["taken"]["find"]), (&"photograph".into(), &1.into()), "{told}");
    let log = dir.path().join("old.nmea");
    let body = "GPRMC,100000,A,4500.0060,N,02000.0000,W,0.5,90.0,010305,,,A";
    let sum = body.bytes().fold(0_u8, |sum, b| sum ^ b);
    std::fs::write(&log, format!("${body}*{sum:02X}\r\n")).expect("a file");
    let words = refuses(3, &["import", "--book", text(&book), text(&log)]);
    assert!(words.contains("2024-10-15") && words.contains("--answer weeks=later"), "{words}");
    let told = json(&["import", "--book", text(&book), "--answer", "weeks=later", "--json", text(&log)]);
    assert_eq!(told["files"][0]["taken"]["track"], 1);
}

#[test]
fn a_workbook_and_layers_of_others_are_taken_and_a_book_is_not() {
    let (_dir, book, _) = season();
    let told = json(&["import", "--book", text(&book), "--json", text(&reference("sheets/season.xlsx"))]);
    assert_eq!(told["files"][0]["taken"]["find"], 3);
    let odd = reference("sheets/season.ods");
    let given =
        json(&["import", "--book", text(&book), "--columns", "Colour=material,What=name", "--dry-run", "--json", text(&odd)]);
    assert!(
        given["files"][0]["understood"].to_string().contains("column \\\"Colour\\\"\",\"material")
            || given["files"][0]["understood"].to_string().contains("material"),
        "{given}"
    );
    let words = refuses(3, &["import", "--book", text(&book), text(&book)]);
    assert!(words.contains("open it as a book"), "{words}");
}

#[test]
fn what_is_exported_comes_back_and_a_stranger_s_file_is_not_replaced() {
    let (dir, book, folder) = season();
    json(&["import", "--book", text(&book), "--json", text(&folder)]);
    for name in ["all.gpx", "all.kml", "finds.csv", "all.geojson"] {
        let out = dir.path().join(name);
        let said = scourline(&["export", "--book", text(&book), "--out", text(&out)]);
        let said = String::from_utf8_lossy(&said.stdout).into_owned();
        assert!(said.contains("2 finds") && said.contains("it is for yourself") && said.contains("share"), "{name}: {said}");
        let again = json(&["import", "--book", text(&book), "--json", text(&out)]);
        assert_eq!(again["taken"], 0, "{name}: {again}");
        // A second run replaces its own file; one that was edited stays.
        assert!(scourline(&["export", "--book", text(&book), "--out", text(&out)]).status.success());
        let mut edited = std::fs::read(&out).expect("it was just written");
        edited.extend(b"\n");
        std::fs::write(&out, &edited).expect("a file");
        let words = refuses(4, &["export", "--book", text(&book), "--out", text(&out)]);
        assert!(words.contains("--force") && std::fs::read(&out).expect("it is there") == edited, "{words}");
    }
    let (tracks, coins) = (dir.path().join("tracks.csv"), dir.path().join("may.kml"));
    assert!(scourline(&["export", "--book", text(&book), "--what", "tracks", "--out", text(&tracks)]).status.success());
    assert_eq!(json(&["import", "--book", text(&book), "--json", text(&tracks)])["taken"], 0);
    assert!(
        scourline(&[
            "export",
            "--book",
            text(&book),
            "--what",
            "finds",
            "--kind",
            "coin",
            "--to",
            "2024-05-01",
            "--out",
            text(&coins)
        ])
        .status
        .success()
    );
    let written = std::fs::read_to_string(&coins).expect("it was just written");
    assert!(written.contains("invented penny") && !written.contains("ring pull"), "{written}");
    refuses(2, &["export", "--book", text(&book), "--out", text(&dir.path().join("what.doc"))]);
    refuses(2, &["export", "--book", text(&book), "--what", "finds,tracks", "--out", text(&dir.path().join("both.csv"))]);
    refuses(4, &["export", "--book", text(&book), "--force", "--format", "gpx", "--out", text(&book)]);
    refuses(3, &["export", "--book", text(&book), "--what", "signals", "--out", text(&dir.path().join("none.gpx"))]);
}

/// In a book that has no beach yet, what is wrong with the rows used to be hidden behind the want of a place for the beach.
#[test]
fn rows_that_are_refused_are_told_where_the_beach_is_still_to_be_made() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, file) = (dir.path().join("new.gpkg"), dir.path().join("log.csv"));
    std::fs::write(&file, "lon,lat,what,date\n-20,45,ring,yesterday\n-20,45,key,the day before\n").expect("a file");
    let out = scourline(&["import", "--book", text(&book), "--beach", "Invented Bay", text(&file)]);
    let (shown, words) = (String::from_utf8_lossy(&out.stdout).into_owned(), String::from_utf8_lossy(&out.stderr).into_owned());
    assert_eq!(out.status.code(), Some(3), "{shown} {words}");
    assert!(words.contains("every record was refused") && words.contains("\"yesterday\" could not be read"), "{words}");
    assert!(shown.contains("refused, line 2") && shown.contains("refused, line 3"), "{shown}");
}

/// A program that is killed while it makes a book leaves its draft; the next run takes it away, and nothing of anybody else's.
#[cfg(target_os = "linux")]
#[test]
fn what_a_killed_program_left_beside_a_book_goes_with_the_next_run() {
    let (dir, book, _) = season();
    let (_, made) = scourline::output::draft_in(dir.path()).expect("a draft").keep().expect("it stays");
    let name = made.file_name().expect("a name").to_string_lossy().into_owned();
    let mut child = std::process::Command::new("true").spawn().expect("a program");
    let gone = name.replace(&format!("-{}-", std::process::id()), &format!("-{}-", child.id()));
    child.wait().expect("its end");
    assert_ne!(name, gone);
    let (left, strange) = (dir.path().join(&gone), dir.path().join(".scourline-notes.part"));
    std::fs::rename(&made, &left).expect("another name");
    std::fs::write(dir.path().join(format!("{gone}-journal")), b"").expect("a file");
    let used = dir.path().join(&name);
    for kept in [&strange, &used] {
        std::fs::write(kept, b"my own words").expect("a file");
    }
    json(&["beach", "--book", text(&book), "--json"]);
    assert!(!left.exists() && !dir.path().join(format!("{gone}-journal")).exists(), "{gone}");
    assert!(strange.exists() && used.exists());
}

/// What a command that ends with exit code 3 says on standard error, whatever it shows before.
fn ends_with_three(args: &[&str]) -> String {
    let out = scourline(args);
    let words = String::from_utf8_lossy(&out.stderr).into_owned();
    assert_eq!(out.status.code(), Some(3), "{args:?}: {words}");
    words
}

#[test]
fn headings_below_a_title_are_found_and_no_record_above_them_is_lost() {
    let (dir, book, _) = season();
    let file = dir.path().join("title.csv");
    std::fs::write(&file, "Finds 2024\n\nlon,lat,what,date\n-20.0001,45.0001,invented ring,2024-05-01\n").expect("a file");
    let told = json(&["import", "--book", text(&book), "--json", text(&file)]);
    assert_eq!(told["files"][0]["taken"]["find"], 1, "{told}");
    let warned = told["files"][0]["warnings"].to_string();
    assert!(warned.contains("1 line(s) above the headings in line 3 were passed over"), "{warned}");
    std::fs::write(&file, "-20.0003,45.0003,key\nlon,lat,what\n-20.0004,45.0004,coin\n").expect("a file");
    let words = refuses(3, &["import", "--book", text(&book), text(&file)]);
    assert!(words.contains("headings in line 2") && words.contains("reads like a record, which would be lost"), "{words}");
}

#[test]
fn a_table_without_headings_is_asked_about_and_loses_no_row() {
    let (dir, book, folder) = season();
    let file = dir.path().join("plain.csv");
    std::fs::write(&file, "-20.0001,45.0001,invented ring,2024-05-01\n-20.0002,45.0002,key,2024-05-02\n").expect("a file");
    let words = refuses(3, &["import", "--book", text(&book), text(&file)]);
    assert!(words.contains("the first line reads like data, not headings") && words.contains("--columns 1=lon,2=lat"), "{words}");
    let columns = "1=lon,2=lat,3=what,4=date";
    let told = json(&["import", "--book", text(&book), "--columns", columns, "--json", text(&file)]);
    assert_eq!(told["files"][0]["taken"]["find"], 2, "{told}");
    // A book that has no beach yet is asked for no place before the columns are known.
    let new = dir.path().join("new.gpkg");
    let words = ends_with_three(&["import", "--book", text(&new), "--beach", "Other Bay", text(&file)]);
    assert!(words.contains("the first line reads like data, not headings"), "{words}");
    let told = json(&["import", "--book", text(&new), "--beach", "Other Bay", "--columns", columns, "--json", text(&file)]);
    assert_eq!(told["files"][0]["taken"]["find"], 2, "{told}");
    // Some columns alone do not say where the finds lie.
    let words = refuses(3, &["import", "--book", text(&book), "--columns", "3=what", text(&file)]);
    assert!(words.contains("what do its 4 columns hold"), "{words}");
    // In a folder it is passed over, and told.
    std::fs::copy(&file, folder.join("plain.csv")).expect("a copy");
    let told = json(&["import", "--book", text(&book), "--dry-run", "--json", text(&folder)]);
    assert!(told["passed_over"].to_string().contains("reads like data, not headings"), "{told}");
}

const LOGGER: &str = "DATE,TIME,LATITUDE,LONGITUDE\n241012,081530,45.0001,-20.0001\n241012,081540,45.0002,-20.0001\n\
    241012,081550,45.0003,-20.0001\n";

#[test]
fn dates_of_six_digits_are_asked_about_unless_one_s_own_days_tell() {
    let (dir, book, _) = season();
    let file = dir.path().join("log.csv");
    std::fs::write(&file, LOGGER).expect("a file");
    let words = refuses(3, &["import", "--book", text(&book), text(&file)]);
    assert!(words.contains("12 October 2024 or 24 October 2012") && words.contains("--answer digits=year-first"), "{words}");
    let told = json(&["import", "--book", text(&book), "--answer", "digits=year-first", "--json", text(&file)]);
    assert_eq!((&told["files"][0]["taken"]["track"], &told["refused"]), (&1.into(), &0.into()), "{told}");
    let out = dir.path().join("tracks.csv");
    assert!(scourline(&["export", "--book", text(&book), "--what", "tracks", "--out", text(&out)]).status.success());
    // On the beach's clock, an hour ahead of UTC in October.
    assert!(std::fs::read_to_string(&out).expect("it was written").contains("2024-10-12T07:15:30Z"));
    let (dir, book, _) = season();
    let (outings, file) = (dir.path().join("outings.csv"), dir.path().join("log.csv"));
    std::fs::write(&outings, "start,end\n2024-10-12 08:00,2024-10-12 09:00\n2024-10-13 08:00,2024-10-13 09:00\n")
        .expect("a file");
    json(&["import", "--book", text(&book), "--json", text(&outings)]);
    let more = "241013,081530,45.0001,-20.0001\n241013,081540,45.0002,-20.0001\n241013,081550,45.0003,-20.0001\n";
    std::fs::write(&file, format!("{LOGGER}{more}")).expect("a file");
    let told = json(&["import", "--book", text(&book), "--json", text(&file)]);
    assert_eq!(told["files"][0]["taken"]["track"], 2, "{told}");
    assert!(
        told["files"][0]["understood"].to_string().contains("YYMMDD, the year first, as the dates are then days of your outings")
    );
}

#[test]
fn a_column_of_which_nothing_can_be_read_is_named_with_the_option_that_mends_it() {
    let (dir, book, _) = season();
    let file = dir.path().join("odd.csv");
    std::fs::write(&file, "lon,lat,what,recorded\n-20,45,ring,by Ann\n-20,45.0001,key,by Ben\n").expect("a file");
    let words = ends_with_three(&["import", "--book", text(&book), text(&file)]);
    assert!(
        words.contains("none of 2 looked at under \"recorded\"") && words.contains("--columns \"recorded=notes\""),
        "{words}"
    );
    let told = json(&["import", "--book", text(&book), "--columns", "recorded=finder", "--json", text(&file)]);
    assert_eq!(told["files"][0]["taken"]["find"], 2, "{told}");
    std::fs::write(&file, "lon,lat,what,depth\n-20,45.001,ring,gold\n-20,45.002,key,iron\n").expect("a file");
    let told = json(&["import", "--book", text(&book), "--json", text(&file)]);
    let warned = told["files"][0]["warnings"].to_string();
    assert!(warned.contains("none of 2 looked at under") && warned.contains("depth=notes"), "{warned}");
    // One bad value among good ones is no misread column.
    std::fs::write(&file, "lon,lat,what,date\n-20,45.003,ring,2024-05-01\n-20,45.004,key,yesterday\n").expect("a file");
    let told = json(&["import", "--book", text(&book), "--json", text(&file)]);
    let why = told["files"][0]["refused"][0]["why"].as_str().expect("a sentence");
    assert!(why.contains("\"yesterday\"") && !why.contains("--columns"), "{why}");
}

#[test]
fn a_plan_of_one_s_own_comes_back_as_a_plan_however_often() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    super::demo_in(dir.path());
    let at = |name: &str| dir.path().join(name);
    let (book, gpx, geojson) = (at("tarrow-sands.gpkg"), at("route.gpx"), at("route.geojson"));
    let asked = ["route", "--book", text(&book), "--after", "2026-11-28", "--rounds", "20", "--gpx", text(&gpx)];
    json(&[&asked[..], &["--geojson", text(&geojson), "--json"][..]].concat());
    for round in 0..3 {
        for file in [&gpx, &geojson] {
            let told = json(&["import", "--book", text(&book), "--json", text(file)]);
            let is_new = told["taken"].as_u64().expect("a count") > 0;
            assert_eq!((is_new, &told["refused"]), (round == 0, &0.into()), "{round}: {told}");
            assert!(told["files"][0]["understood"].to_string().contains("a way that is planned"), "{told}");
            let warned = told["files"][0]["warnings"].as_array().expect("warnings").len();
            assert_eq!(warned, usize::from(file == &geojson), "{told}");
        }
    }
    let told = json(&["import", "--book", text(&book), "--json", text(&at("bands.geojson"))]);
    assert_eq!((&told["taken"], &told["refused"]), (&0.into(), &0.into()), "{told}");
    assert!(told["files"][0]["warnings"][0].as_str().expect("a warning").contains("no records of a book"), "{told}");
}

/// A walk of twenty minutes as a receiver keeps it: a fix every 20 s.
fn walk(name: &str, ahead_s: i64, lon: f64) -> String {
    let fix = |n: i64| {
        let s = 20 * n + ahead_s;
        let time = jiff::Timestamp::from_second(1_714_557_600 + s).expect("a time");
        format!("<trkpt lat=\"{}\" lon=\"{lon}\"><time>{time}</time></trkpt>\n", 45.0 + s as f64 * 4.5e-6)
    };
    let fixes: String = (0..60).map(fix).collect();
    format!("<gpx version=\"1.1\"><trk><name>{name}</name><trkseg>{fixes}</trkseg></trk></gpx>")
}

#[test]
fn the_walk_of_a_second_receiver_is_told_when_it_is_taken_in() {
    let (dir, book, _) = season();
    let (first, second) = (dir.path().join("first.gpx"), dir.path().join("second.gpx"));
    std::fs::write(&first, walk("receiver", 0, -20.0)).expect("a file");
    std::fs::write(&second, walk("watch", 10, -20.00003)).expect("a file");
    let warned = |file: &Path| {
        let told = json(&["import", "--book", text(&book), "--json", text(file)]);
        let all = told["files"][0]["warnings"].as_array().expect("warnings").clone();
        all.iter().filter_map(|w| w.as_str()).filter(|w| w.contains("same walk")).map(str::to_owned).collect::<Vec<_>>()
    };
    assert!(warned(&first).is_empty());
    let said = warned(&second);
    let [one] = said.as_slice() else { panic!("{said:?}") };
    assert!(one.contains("\"watch\" is the same walk as \"receiver\" of the outing of 2024-05-01 11:00"), "{one}");
    assert!(one.contains("`doubles`"), "{one}");
    let doubles = json(&["doubles", "--book", text(&book), "--json"]);
    assert_eq!(doubles["doubles"][0]["twice"], "two_receivers", "{doubles}");
}

/// 15 October 2024 is 7,168 days, 1,024 weeks, after 1 March 2005.
#[test]
fn times_that_are_1_024_weeks_too_early_are_asked_about_and_never_shifted_unasked() {
    let (dir, book, _) = season();
    let file = dir.path().join("early.gpx");
    let gpx = |made: &str| format!("<gpx version=\"1.1\">{made}{}", walk_of("2005-03-01"));
    std::fs::write(&file, gpx("<metadata><time>2024-10-16T09:00:00Z</time></metadata>")).expect("a file");
    let words = refuses(3, &["import", "--book", text(&book), text(&file)]);
    assert!(words.contains("2024-10-15, when the file says it was made") && words.contains("--answer weeks=later"), "{words}");
    let told = json(&["import", "--book", text(&book), "--answer", "weeks=later", "--json", text(&file)]);
    assert_eq!(told["files"][0]["taken"]["track"], 1, "{told}");
    let out = dir.path().join("tracks.csv");
    assert!(scourline(&["export", "--book", text(&book), "--what", "tracks", "--out", text(&out)]).status.success());
    let tracks = std::fs::read_to_string(&out).expect("it was written");
    assert!(tracks.contains("2024-10-15T10:00:00Z") && !tracks.contains("2005-"), "{tracks}");
    // Now the book has an outing of that day.
    std::fs::write(&file, gpx("").replace("10:0", "15:0")).expect("a file");
    let words = refuses(3, &["import", "--book", text(&book), text(&file)]);
    assert!(words.contains("a day of which the book has an outing"), "{words}");
    // An old walk that nothing speaks against is taken as it is, and told.
    std::fs::write(&file, gpx("").replace("2005-03-01", "2004-06-01")).expect("a file");
    let told = json(&["import", "--book", text(&book), "--json", text(&file)]);
    let asked = &told["files"][0]["unsettled"][0];
    assert_eq!((&asked["about"], &asked["taken"]), (&"weeks".into(), &"as-written".into()), "{told}");
    assert_eq!(told["files"][0]["taken"]["track"], 1);
}

fn walk_of(day: &str) -> String {
    let fix = |n: u32| format!("<trkpt lat=\"45.000{n}\" lon=\"-20\"><time>{day}T10:0{n}:00Z</time></trkpt>\n");
    format!("<trk><name>old</name><trkseg>{}</trkseg></trk></gpx>", (0..5).map(fix).collect::<String>())
}

#[test]
fn a_find_of_another_kind_keeps_its_kind_and_words_in_every_format() {
    let (dir, book, _) = season();
    let file = dir.path().join("others.csv");
    let rows = [
        "comb of bone,other,in the wash,0123456789abcdef0123456789abcdef",
        // Words that would be taken for a coin, for a number and for a signal.
        "coin box lid,other,,1123456789abcdef0123456789abcdef",
        "12,other,,2123456789abcdef0123456789abcdef",
        "\"signal flag, 12 cm\",other,,3123456789abcdef0123456789abcdef",
        "dog tag,own:other:dog tags,,4123456789abcdef0123456789abcdef",
    ];
    let row = |(n, row): (usize, &&str)| format!("-20.000{n},45.0001,2024-05-01T10:0{n}:00Z,{row}\n");
    let table: String = rows.iter().enumerate().map(row).collect();
    std::fs::write(&file, format!("lon,lat,time,what,kind,notes,uid\n{table}")).expect("a file");
    json(&["import", "--book", text(&book), "--json", text(&file)]);
    let export = |book: &Path, name: &str| {
        let out = dir.path().join(name);
        let done = scourline(&["export", "--book", text(book), "--what", "finds", "--force", "--out", text(&out)]);
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
        out
    };
    let whole = std::fs::read_to_string(export(&book, "whole.csv")).expect("it was written");
    assert!(whole.contains("coin box lid,other,") && whole.contains("dog tag,own:other:dog tags,"), "{whole}");
    for name in ["a.geojson", "b.csv", "c.kml", "d.gpx"] {
        let file = export(&book, name);
        let other = dir.path().join(format!("{name}.gpkg"));
        json(&[
            "beach",
            "--book",
            text(&other),
            "--beach",
            "Invented Bay",
            "--near",
            "-20,45",
            "--zone",
            "Europe/London",
            "--json",
        ]);
        let told = json(&["import", "--book", text(&other), "--json", text(&file)]);
        assert_eq!(told["files"][0]["taken"]["find"], 5, "{name}: {told}");
        let again = std::fs::read_to_string(export(&other, "again.csv")).expect("it was written");
        assert_eq!(again, whole, "{name}");
    }
}

/// A new beach is centred on its files, and so cannot tell which of a pair of degrees comes first.
#[test]
fn a_pair_of_degrees_is_asked_about_where_the_book_is_new() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, file, out) = (dir.path().join("book.gpkg"), dir.path().join("pairs.csv"), dir.path().join("out.csv"));
    std::fs::write(&file, "date,position,what\n2024-05-01,\"-3.8301, 53.3301\",coin\n").expect("a file");
    let words = refuses(3, &["import", "--book", text(&book), "--beach", "Invented Bay", text(&file)]);
    assert!(words.contains("--answer pairs=lat-first") && words.contains("--answer pairs=lon-first"), "{words}");
    let told =
        json(&["import", "--book", text(&book), "--beach", "Invented Bay", "--answer", "pairs=lon-first", "--json", text(&file)]);
    assert_eq!(told["taken"], 1, "{told}");
    assert!(scourline(&["export", "--book", text(&book), "--out", text(&out)]).status.success());
    let written = std::fs::read_to_string(&out).expect("it was written");
    assert!(written.contains("-3.8301,53.3301,find,coin"), "{written}");
}

/// Own files of a format that holds less than the book are no reason to pass over what the fuller one adds.
#[test]
fn what_a_find_lacks_is_offered_by_a_fuller_file_and_a_kind_of_one_s_own_layer_is_taken() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let path = |name: &str| dir.path().join(name);
    let (first, second, full) = (path("first.gpkg"), path("second.gpkg"), path("full.csv"));
    let table = "date,time,lat,lon,what,depth_cm,target_id,mass_g\n2024-05-01,10:00,45.0001,-20,coin,12,44,3.5\n";
    std::fs::write(&full, table).expect("a file");
    for book in [&first, &second] {
        json(&[
            "beach",
            "--book",
            text(book),
            "--beach",
            "Invented Bay",
            "--near",
            "-20,45",
            "--zone",
            "Europe/London",
            "--json",
        ]);
    }
    json(&["import", "--book", text(&first), "--json", text(&full)]);
    let own = path("own.gpx");
    assert!(scourline(&["export", "--book", text(&first), "--out", text(&own)]).status.success());
    json(&["import", "--book", text(&second), "--json", text(&own)]);
    let offered = json(&["import", "--book", text(&second), "--json", text(&full)]);
    let asked = &offered["files"][0]["unsettled"][0];
    assert_eq!((&asked["about"], &asked["taken"]), (&"changes".into(), &"keep".into()), "{offered}");
    json(&["import", "--book", text(&second), "--answer", "changes=take", "--json", text(&full)]);
    let layer = path("layer.geojson");
    assert!(scourline(&["export", "--book", text(&second), "--out", text(&layer)]).status.success());
    let written = std::fs::read_to_string(&layer).expect("it was written");
    assert!(written.contains("\"depth_m\":0.12") && written.contains("\"kind\":\"coin\""), "{written}");
    std::fs::write(&layer, written.replace("\"kind\":\"coin\"", "\"kind\":\"other\"")).expect("a file");
    json(&["import", "--book", text(&second), "--answer", "changes=take", "--json", text(&layer)]);
    let again = path("again.geojson");
    assert!(scourline(&["export", "--book", text(&second), "--out", text(&again)]).status.success());
    let written = std::fs::read_to_string(&again).expect("it was written");
    assert!(written.contains("\"kind\":\"other\""), "{written}");
}

/// A heading that would be taken for one of the program's own is written with "more: " before it, and read without.
#[test]
fn a_heading_of_one_s_own_comes_back_as_it_was() {
    let (dir, book, _) = season();
    let (file, own, new) = (dir.path().join("m.csv"), dir.path().join("own.csv"), dir.path().join("new.gpkg"));
    let rows = "1,2024-05-01,10:00,45.0001,-20,coin\n2,2024-05-01,10:01,45.0002,-20,ring\n3,2024-05-01,10:02,45.0003,-20,nail\n";
    std::fs::write(&file, format!("ID,date,time,lat,lon,what\n{rows}")).expect("a file");
    json(&["import", "--book", text(&book), "--json", text(&file)]);
    assert!(scourline(&["export", "--book", text(&book), "--out", text(&own)]).status.success());
    let told = json(&["import", "--book", text(&book), "--json", text(&own)]);
    assert_eq!((&told["taken"], &told["files"][0]["unsettled"]), (&0.into(), &serde_json::json!([])), "{told}");
    json(&["import", "--book", text(&new), "--beach", "Invented Bay", "--json", text(&own)]);
    let out = dir.path().join("out.csv");
    assert!(scourline(&["export", "--book", text(&new), "--out", text(&out)]).status.success());
    let written = std::fs::read_to_string(&out).expect("it was written");
    assert!(written.contains("more: ID") && !written.contains("more: more"), "{written}");
}
