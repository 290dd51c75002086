//! What is wrong with a stranger's file is said in one sentence, and the book stays as it was.

use super::common::{book, fault, take, try_take};
use proptest::prelude::*;
use scourline::book::{Beach, Book, Edit};
use scourline::earth::LonLat;
use scourline::exchange::{ExchangeError, Fault, Options, Source, extent, look, look_all};
use scourline::{Cancelled, Progress};

const GPX: &str = "<?xml version=\"1.0\"?>\n<gpx version=\"1.1\">\n<wpt lat=\"45\" lon=\"-20\"><name>penny</name></wpt>\n";

/// Each bad file with a part of the sentence it must get.
#[test]
fn each_bad_file_gets_its_sentence() {
    let deep_xml = format!("<gpx>{}", "<a>".repeat(1_000_000));
    let deep_json = format!("{{\"type\":\"Feature\",\"properties\":{}", "[".repeat(1_000_000));
    let utf16_odd = b"\xFF\xFE<\0g\0p\0x\0>\0\x00\xD8".to_vec();
    let cases: Vec<(&str, Vec<u8>, &str)> = vec![
        ("empty", b"".to_vec(), "is empty"),
        ("blank", b" \r\n\t".to_vec(), "is empty"),
        ("binary", vec![7, 0, 1, 2, 200], "is no text"),
        ("zip", b"PK\x03\x04\x14\0".to_vec(), "save the sheet as CSV"),
        ("book", b"SQLite format 3\0..".to_vec(), "open it as a book"),
        ("html", b"<!DOCTYPE html><html><body/></html>".to_vec(), "first element is <html>, not <gpx>"),
        ("prose", b"Dear diary,\ntoday I dug a hole.\n".to_vec(), "neither GPX, GeoJSON nor a table"),
        ("truncated xml", format!("{GPX}<trk><trkseg><trkpt lat=\"45\"").into_bytes(), "ends too early, at line 4"),
        ("truncated between tags", format!("{GPX}<trk>\n").into_bytes(), "ends too early, at line 5"),
        ("crossed tags", format!("{GPX}<trk></rte></gpx>").into_bytes(), "not well-formed at line 4"),
        ("wrong encoding", [GPX.as_bytes(), b"<wpt lat=\"1\" lon=\"2\"><name>caf\xE9</name></wpt></gpx>"].concat(), "not valid UTF-8 text at line 4"),
        ("odd utf-16", utf16_odd, "not valid UTF-16LE text at line 1"),
        ("unknown encoding", b"<?xml version='1.0' encoding='klingon'?><gpx/>".to_vec(), "\"klingon\", which is not known"),
        ("deep xml", deep_xml.into_bytes(), "more than 128 deep"),
        ("deep json", deep_json.into_bytes(), "more than 128 deep"),
        ("truncated json", b"{\"type\":\"FeatureCollection\",\n\"features\":[".to_vec(), "ends too early, at line 2"),
        ("json NaN", b"{\"type\":\"Point\",\n\"coordinates\":[NaN,1]}".to_vec(), "not well-formed at line 2"),
        ("other json", b"{\"a\":1}".to_vec(), "not GeoJSON"),
        ("json list", b"[1,2]".to_vec(), "neither GPX, GeoJSON"),
        ("old crs late", b"{\"type\":\"FeatureCollection\",\"features\":[],\"crs\":{\"type\":\"name\",\"properties\":{\"name\":\"urn:ogc:def:crs:EPSG::27700\"}}}".to_vec(), "only after its features"),
        ("no grid", b"easting,northing,what\n1,2,penny\n".to_vec(), "without their grid"),
        ("no headings", b"my own,words\nstand,here\n".to_vec(), "no column of its first line"),
    ];
    for (name, bytes, wanted) in cases {
        let error = try_take(name, &bytes, &book(), &Options::default()).expect_err(name).to_string();
        assert!(error.contains(wanted), "{name}: {error}");
        assert!(error.starts_with(&format!("{name}: ")) && !error.contains('\n'), "{name}: {error}");
    }
}

#[test]
fn a_directory_a_missing_file_and_one_that_may_not_be_read() {
    let dir = tempfile::tempdir().unwrap();
    let said = |source: Source| look(&source, &book(), &Options::default(), &Progress::new()).unwrap_err().to_string();
    assert!(said(Source::path(dir.path())).contains("is a directory"));
    assert!(said(Source::path(dir.path().join("gone.gpx"))).contains("no such file"));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let path = dir.path().join("locked.gpx");
        std::fs::write(&path, GPX).unwrap();
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o000)).unwrap();
        // Whoever runs the tests as root may read everything.
        if std::fs::File::open(&path).is_err() {
            assert!(said(Source::path(&path)).contains("permission denied"));
        }
    }
}

#[test]
fn bad_records_are_refused_with_their_line_and_the_good_ones_taken() {
    let text = format!(
        "{GPX}<wpt lat=\"NaN\" lon=\"1\"/>\n<wpt lat=\"91\" lon=\"1\"/>\n<wpt lon=\"1\"/>\n<wpt lat=\"4 5\" lon=\"1\"/>\n\
         <wpt lat=\"-20\" lon=\"45\"/>\n<wpt lat=\"45\" lon=\"-20\"><name>&bomb;</name></wpt>\n<trk></trk></gpx>"
    );
    let intake = take("bad.gpx", &text, &book(), &Options::default());
    assert_eq!(intake.taken_count(), 1);
    assert_eq!(intake.refused.iter().map(|r| r.line).collect::<Vec<_>>(), [4, 5, 6, 7, 8, 9, 10]);
    for (refusal, wanted) in intake.refused.iter().zip([
        "latitude NaN",
        "latitude 91",
        "no lat and lon",
        "not a number",
        "exchanged",
        "entity",
        "no positions",
    ]) {
        assert!(refusal.why.contains(wanted), "{refusal}");
    }
}

#[test]
fn an_entity_bomb_stays_small() {
    let mut dtd = "<!ENTITY a0 \"ha\">".to_owned();
    for n in 1..40 {
        dtd += &format!("<!ENTITY a{n} \"&a{};&a{};&a{};\">", n - 1, n - 1, n - 1);
    }
    let text = format!(
        "<?xml version=\"1.0\"?><!DOCTYPE gpx [{dtd}]><gpx version=\"1.1\"><wpt lat=\"45\" lon=\"-20\"><name>&a39;</name></wpt></gpx>"
    );
    let intake = take("bomb.gpx", &text, &book(), &Options::default());
    assert_eq!((intake.taken_count(), intake.refused_count), (0, 1));
}

#[test]
fn bad_rows_of_a_table_are_refused_and_unreadable_extras_kept_in_the_notes() {
    let text = "lon,lat,what,depth_cm,date\n-20,45,penny,deep,\n-20,,penny,,\n-20,95,penny,,\n-20,45,penny,900,\n-20,45,penny,,32/01/2024\nx,45,penny,,\n";
    let intake = take("bad.csv", text, &book(), &Options::default());
    assert_eq!(intake.refused.iter().map(|r| r.line).collect::<Vec<_>>(), [3, 4, 5, 6, 7], "{:?}", intake.refused);
    let find = super::common::records(&intake).into_iter().find_map(super::common::find_of).unwrap();
    assert_eq!(find.notes, "depth: deep");
    assert!(intake.warnings.iter().any(|w| w.contains("kept in the notes")), "{:?}", intake.warnings);
}

#[test]
fn only_the_first_refusals_are_kept_but_all_are_counted() {
    let text = format!("lon,lat,what\n{}", "0,95,penny\n".repeat(5000));
    let intake = take("many.csv", &text, &book(), &Options::default());
    assert_eq!((intake.refused.len(), intake.refused_count), (200, 5000));
}

#[test]
fn which_beach_is_told_from_the_data_or_asked_for() {
    let find = "lon,lat,what\n-30.01,40.01,penny\n";
    let none = fault("f.csv", find, &Book::new(), &Options::default());
    assert_eq!(none, Fault::NoBeach);
    let middle =
        extent(&[Source::bytes("f.csv", find.as_bytes().to_vec())], &Options::default(), &Progress::new()).unwrap().unwrap();
    assert_eq!(middle.middle, LonLat::new(-30.01, 40.01).unwrap());

    let mut two = book();
    let other = Beach::new("Other Bay", LonLat::new(-30.0, 40.0).unwrap());
    two.apply(&Edit::put(other.clone())).unwrap();
    assert_eq!(take("f.csv", find, &two, &Options::default()).beach, Some(other.uid));
    let far = fault("f.csv", "lon,lat,what\n10,10,penny\n", &two, &Options::default()).to_string();
    assert!(far.contains("km from the nearest beach (Invented Bay)") || far.contains("(Other Bay)"), "{far}");
    let swapped = fault("f.csv", "lon,lat,what\n40,-30,penny\n", &two, &Options::default()).to_string();
    assert!(swapped.contains("exchange") && swapped.contains("Other Bay"), "{swapped}");
    let tides = fault("t.csv", "time,height\n2024-01-01 00:00,1\n", &two, &Options::default()).to_string();
    assert!(tides.contains("Invented Bay") && tides.contains("Other Bay"), "{tides}");
    let far_away = take("f.csv", "lon,lat,what\n10,10,penny\n", &book(), &Options::default());
    assert!(far_away.warnings[0].contains("more than 100 km"), "{:?}", far_away.warnings);
}

#[test]
fn one_bad_file_among_several_is_told_and_the_rest_looked_at() {
    let sources =
        [Source::bytes("bad.gpx", b"<gpx".to_vec()), Source::bytes("good.csv", b"lon,lat,what\n-20,45,penny\n".to_vec())];
    let all = look_all(&sources, &book(), &Options::default(), &Progress::new()).unwrap();
    assert_eq!((all.intakes.len(), all.failed.len(), all.taken_count()), (1, 1, 1));
}

#[test]
fn called_off_it_stops() {
    let progress = Progress::new();
    progress.cancel();
    let source = Source::bytes("f.csv", b"lon,lat,what\n-20,45,penny\n".to_vec());
    assert_eq!(look_all(std::slice::from_ref(&source), &book(), &Options::default(), &progress).unwrap_err(), Cancelled);
    assert!(matches!(look(&source, &book(), &Options::default(), &progress), Err(ExchangeError::Cancelled(_))));
}

fn never_panics(bytes: &[u8]) {
    if let Ok(intake) = try_take("any", bytes, &book(), &Options::default()) {
        let mut book = book();
        book.apply(&intake.edit).expect("an edit that was offered can be applied");
    }
}

proptest! {
    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        never_panics(&bytes);
    }

    #[test]
    fn any_damage_to_a_gpx_file_is_read_or_refused(at in 0_usize..1000, junk in proptest::collection::vec(any::<u8>(), 0..4)) {
        let mut bytes = format!("{GPX}<trk><trkseg><trkpt lat=\"45\" lon=\"-20\"><time>2024-05-01T10:00:00Z</time></trkpt></trkseg></trk></gpx>").into_bytes();
        let at = at % bytes.len();
        bytes.splice(at..(at + 2).min(bytes.len()), junk);
        never_panics(&bytes);
    }

    #[test]
    fn any_damage_to_geojson_is_read_or_refused(at in 0_usize..1000, junk in "[\\[\\]{}\",:0-9a-z.-]{0,4}") {
        let mut text = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"role":"zone","from":"2024-01-01"},"geometry":{"type":"Polygon","coordinates":[[[-20,45],[-19,45],[-19,46],[-20,45]]]}},{"type":"Feature","properties":{"depth_cm":3,"time":"2024-05-01"},"geometry":{"type":"Point","coordinates":[-20,45]}}]}"#.to_owned();
        let at = at % text.len();
        text.replace_range(at..(at + 2).min(text.len()), &junk);
        never_panics(text.as_bytes());
    }

    #[test]
    fn any_table_is_read_or_refused(
        headings in proptest::collection::vec(proptest::sample::select(vec!["lon", "lat", "what", "depth in", "weight", "date", "time", "hs_m", "level_m", "start", "end", "setup", "target id", "epsg", "easting", "northing", "hours", "high/low", "colour"]), 1..7),
        cells in proptest::collection::vec("[-0-9a-zA-Z.,:/;\" ]{0,12}|-20|45|2024-05-01T10:00:00Z|1/2/2024|[0-9]{1,2}:[0-9]{2} ?[ap]m|é°’", 0..40),
        delimiter in proptest::sample::select(vec![",", ";", "\t", "|"]),
    ) {
        let mut text = headings.join(delimiter) + "\n";
        for row in cells.chunks(headings.len()) {
            text += &(row.join(delimiter) + "\n");
        }
        never_panics(text.as_bytes());
    }
}

/// Invented levels about a place, longitude first or not.
fn levels_at(lon: f64, lat: f64, exchanged: bool) -> String {
    let row = |n: u32| {
        let (x, y) = (lon + f64::from(n) * 1e-4, lat);
        let (x, y) = if exchanged { (y, x) } else { (x, y) };
        format!("{x:.5},{y:.5},{:.2}\n", 3.0 - f64::from(n) * 0.1)
    };
    format!("lon,lat,level_m\n{}", (0..20).map(row).collect::<String>())
}

fn shore_at(lon: f64, lat: f64) -> String {
    format!(
        r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{"role":"baseline"}},"geometry":{{"type":"LineString","coordinates":[[{lon},{lat}],[{},{lat}]]}}}}]}}"#,
        lon + 0.003
    )
}

/// The shore file has few positions and the levels many: their number must not tell which of the two is right.
#[test]
fn files_that_lie_together_only_with_their_coordinates_exchanged_place_no_beach() {
    let places = |levels: &str| {
        let sources = [("shore.geojson", shore_at(-20.0, 45.0)), ("levels.csv", levels.to_owned())];
        let sources: Vec<_> = sources.iter().map(|(name, text)| Source::bytes(*name, text.as_bytes().to_vec())).collect();
        extent(&sources, &Options::default(), &Progress::new())
    };
    let why = places(&levels_at(-20.0, 45.0, true)).unwrap_err().to_string();
    assert!(why.contains("shore.geojson") && why.contains("levels.csv") && why.contains("cannot be known"), "{why}");
    assert!(why.contains("with longitude and latitude exchanged the one lies where the other does"), "{why}");
    let why = places(&levels_at(20.0, 45.0, false)).unwrap_err().to_string();
    assert!(why.contains("with west for east the one lies"), "{why}");
    assert!(places(&levels_at(-20.0, 45.0, false)).unwrap().is_some());
    // Of another place altogether, with no slip that explains it: the middle of both, as ever.
    assert!(places(&levels_at(-3.0, 54.0, false)).unwrap().is_some());
}

#[test]
fn levels_off_the_beach_are_told_with_both_places_and_what_would_bring_them_together() {
    let take = |text: &str| super::common::take("levels.csv", text, &super::common::book(), &Options::default());
    // As far as another beach of the coast: taken, and told.
    let beside = take(&levels_at(-20.0, 45.1, false));
    let told = beside.warnings.join(" ");
    assert!(told.contains("the levels lie near ") && told.contains("11 km from Invented Bay, which lies at"), "{told}");
    assert!(told.contains("which of the two is off cannot be known"), "{told}");
    assert!(take(&levels_at(-20.0, 45.01, false)).warnings.iter().all(|w| !w.contains("the levels lie near")));
    // On it with the two exchanged: refused, whichever of the two is wrong.
    let exchanged = take(&levels_at(-20.0, 45.0, true));
    assert!(exchanged.taken.is_empty());
    let why = &exchanged.refused[0].why;
    assert!(
        why.contains("but on it with longitude and latitude exchanged") && why.contains("if Invented Bay itself lies wrong"),
        "{why}"
    );
}
