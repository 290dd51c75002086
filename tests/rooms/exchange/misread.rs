//! Files as people have them that used to be read as something else, without a word. All of them are invented.

use std::collections::BTreeMap;

use super::common::{book, fault, find_of, records, take};
use scourline::book::{Beach, Book, Edit, Find, Outing, Record, RecordKind};
use scourline::earth::LonLat;
use scourline::exchange::{About, Intake, Options, What, geojson, gpx};

fn answered(about: About, answer: &'static str) -> Options {
    Options { answers: BTreeMap::from([(about, answer)]), ..Options::default() }
}

fn finds(intake: &Intake) -> Vec<Find> {
    let mut finds: Vec<Find> = records(intake).into_iter().filter_map(find_of).collect();
    finds.sort_by(|a, b| (a.time, &a.what).cmp(&(b.time, &b.what)));
    finds
}

fn must_answer(intake: &Intake) -> Vec<About> {
    intake.must_be_answered().map(|u| u.about).collect()
}

fn told(intake: &Intake) -> String {
    format!("{:?} {:?}", intake.warnings, intake.understood)
}

/// A logger's rows two seconds apart, its heights some metres off: once taken as a survey of the sand.
fn logged(heading: &str) -> String {
    let rows = (0..30).map(|n| {
        format!("45.{:06},-20.000100,{:.1},2024-05-13,09:{:02}:{:02}\n", n * 12, 52.0 + f64::from(n % 4), n * 2 / 60, n * 2 % 60)
    });
    format!("lat,lon,{heading},date,time\n{}", rows.collect::<String>())
}

#[test]
fn a_receivers_log_is_a_track_and_its_heights_are_no_levels() {
    for heading in ["height", "altitude", "Elevation (m)"] {
        let intake = take("log.csv", &logged(heading), &book(), &Options::default());
        assert_eq!(intake.taken.get(&RecordKind::Level), None, "{heading}");
        assert_eq!((intake.taken.get(&RecordKind::Track), intake.refused_count), (Some(&1), 0), "{heading}: {}", told(&intake));
        let Some(Record::Track(track)) = records(&intake).into_iter().find(|r| r.kind() == RecordKind::Track) else { panic!() };
        assert_eq!((track.len(), track.points().next().unwrap().height_m()), (30, Some(52.0)));
        assert!(told(&intake).contains("no levels of the sand"), "{}", told(&intake));
    }
    // Asked for, they are levels, with the error that a receiver has.
    let options = Options { what: Some(What::Levels), ..Options::default() };
    let intake = take("log.csv", &logged("height"), &book(), &options);
    let levels: Vec<_> =
        records(&intake).into_iter().filter_map(|r| if let Record::Level(l) = r { Some(l) } else { None }).collect();
    assert_eq!((levels.len(), levels[0].sigma_m), (30, Some(5.0)));
    assert!(told(&intake).contains("standard deviation of 5 m"), "{}", told(&intake));
}

#[test]
fn heights_that_could_be_either_are_asked_about_and_a_survey_is_not() {
    let surveyed = logged("level (m OD)");
    let intake = take("shots.csv", &surveyed, &book(), &Options::default());
    assert_eq!(must_answer(&intake), [About::Heights]);
    let intake = take("shots.csv", &surveyed, &book(), &answered(About::Heights, "levels"));
    assert_eq!((must_answer(&intake).len(), intake.taken.get(&RecordKind::Level)), (0, Some(&30)));
    for plain in [
        "lon,lat,level_m\n-20,45,1.5\n-20.0001,45,1.2\n",
        "lon,lat,z,date\n-20,45,1.5,2024-05-01\n-20.0001,45,1.2,2024-05-01\n",
        "lon,lat,height,sigma_m,time\n-20,45,1.5,0.02,2024-05-01T09:00:00Z\n-20.0001,45,1.2,0.02,2024-05-01T09:00:10Z\n",
    ] {
        let intake = take("survey.csv", plain, &book(), &Options::default());
        assert_eq!((intake.unsettled.as_slice(), intake.taken.get(&RecordKind::Level)), ([].as_slice(), Some(&2)), "{plain}");
    }
    let alone = take("alt.csv", "lon,lat,altitude\n-20,45,51\n-20.0001,45,50\n", &book(), &Options::default());
    assert_eq!(must_answer(&alone), [About::Heights], "altitude is a receiver's word");
}

#[test]
fn sides_stand_in_letters_columns_and_signs() {
    for (table, lon, lat) in [
        ("Lat,N/S,Lon,E/W,What\n45.5,N,20.5,W,penny\n", -20.5, 45.5),
        ("Latitude;Lat_Ref;Longitude;Lon_Ref;Find\n45,5;S;20,5;E;penny\n", 20.5, -45.5),
        ("lat,lon,what\n45.5N,20.5W,penny\n", -20.5, 45.5),
        ("lat,lon,what\n45 30.0 N,20 30.0 W,penny\n", -20.5, 45.5),
        ("lat,lon,what\n45° 30' 00\" N,20° 30' 00\" W,penny\n", -20.5, 45.5),
        ("Lat deg,Lat min,N/S,Lon deg,Lon min,E/W,What\n45,30,N,20,30,W,penny\n", -20.5, 45.5),
        ("Lat d,Lat min,Lat sec,Lon d,Lon min,Lon sec,What\n45,29,60,-20,30,0,penny\n", f64::NAN, f64::NAN),
        ("position,what\n\"45.5, -20.5\",penny\n", -20.5, 45.5),
        ("lat/lon,what\n\"45.5,-20.5\",penny\n", -20.5, 45.5),
        ("lon/lat,what\n-20.5 45.5,penny\n", -20.5, 45.5),
        ("Coordinates;What\n45,5N 20,5W;penny\n", -20.5, 45.5),
        ("WKT,what\n\"POINT (-20.5 45.5)\",penny\n", -20.5, 45.5),
    ] {
        let mut own = Book::new();
        let origin = LonLat::new(if lon > 0.0 { 20.5 } else { -20.5 }, if lat < 0.0 { -45.5 } else { 45.5 }).unwrap();
        own.apply(&Edit::put(Beach::new("Invented Bay", origin))).unwrap();
        let intake = take("sides.csv", table, &own, &Options::default());
        if lon.is_nan() {
            assert_eq!(intake.refused_count, 1, "sixty seconds are none: {table}");
            continue;
        }
        assert_eq!(intake.refused, [], "{table}");
        let find = &finds(&intake)[0];
        assert!((find.at.lon_deg() - lon).abs() < 1e-9 && (find.at.lat_deg() - lat).abs() < 1e-9, "{table}: {}", find.at);
    }
}

#[test]
fn sides_that_cannot_be_are_refused_and_never_guessed() {
    let table = "lat,N/S,lon,E/W,what\n45.5,N,20.5,O,a\n45.5,N,-20.5,E,b\n45.5,E,20.5,W,c\n45.5,N,20.5,W,d\n45.5,,20.5 N,,e\n";
    let origin = LonLat::new(-20.5, 45.5).unwrap();
    let mut own = Book::new();
    own.apply(&Edit::put(Beach::new("Invented Bay", origin))).unwrap();
    let intake = take("sides.csv", table, &own, &Options::default());
    assert_eq!(intake.refused.iter().map(|r| r.line).collect::<Vec<_>>(), [2, 3, 4, 6], "{:?}", intake.refused);
    assert!(intake.refused[0].why.contains("east in some languages and west in others"), "{}", intake.refused[0].why);
    // Without any side the beach tells that west was meant, and the row is refused rather than put into another sea.
    let bare = take("bare.csv", "lat,lon,what\n45.5,20.5,penny\n", &own, &Options::default());
    assert_eq!(bare.taken_count(), 0);
    assert!(bare.refused[0].why.contains("west for east"), "{}", bare.refused[0].why);
    // A pair whose order nothing tells is asked about.
    let mut far = Book::new();
    far.apply(&Edit::put(Beach::new("Elsewhere", LonLat::new(100.0, 0.0).unwrap()))).unwrap();
    let pair = take("pair.csv", "position,what\n\"45.5, 20.5\",penny\n", &far, &Options::default());
    assert_eq!(must_answer(&pair), [About::Pairs]);
    let pair = take("pair.csv", "position,what\n\"45.5, 20.5\",penny\n", &far, &answered(About::Pairs, "lon-first"));
    assert_eq!((finds(&pair)[0].at.lon_deg(), pair.unsettled.len()), (45.5, 0));
}

/// 5 April became 4 May, as the time of day beside it voted for the month.
#[test]
fn a_time_of_day_says_nothing_about_the_order_of_a_date() {
    let table =
        "lon,lat,what,Date,Time\n-20,45,penny,05/04/2024,09:45\n-20,45,ring,17/04/2024,14:30\n-20,45,key,06/04/2024,9.15\n";
    let intake = take("log.csv", table, &book(), &Options::default());
    assert_eq!((intake.refused.as_slice(), intake.unsettled.len()), ([].as_slice(), 0));
    let times: Vec<String> = finds(&intake).iter().map(|f| f.time.unwrap().to_string()).collect();
    assert_eq!(times, ["2024-04-05T08:45:00Z", "2024-04-06T08:15:00Z", "2024-04-17T13:30:00Z"]);
    assert!(!told(&intake).contains("other order"), "{}", told(&intake));
}

#[test]
fn an_open_order_is_told_by_the_outings_else_by_the_country_and_can_be_answered() {
    let table = "lon,lat,what,date\n-20,45,penny,05/04/2024\n-20,45,ring,06/04/2024\n";
    let day = |intake: &Intake| finds(intake)[0].time.unwrap().to_string()[..10].to_owned();
    let open = take("a.csv", table, &book(), &Options::default());
    assert_eq!((day(&open).as_str(), must_answer(&open).len()), ("2024-04-05", 0));
    let asked = &open.unsettled[0];
    assert_eq!((asked.about, asked.taken), (About::Dates, Some("day-first")));
    assert!(asked.question.contains("\"05/04/2024\" at line 2 is read as 5 April 2024"), "{}", asked.question);
    let answered = take("a.csv", table, &book(), &answered(About::Dates, "month-first"));
    assert_eq!((day(&answered).as_str(), answered.unsettled.len()), ("2024-05-04", 0));
    let us = Beach { time_zone: "America/New_York".into(), ..Beach::new("Invented Cove", LonLat::new(-20.0, 45.0).unwrap()) };
    let mut there = Book::new();
    there.apply(&Edit::put(us)).unwrap();
    assert_eq!(day(&take("a.csv", table, &there, &Options::default())), "2024-05-04");
    // One's own outings know better than the country.
    let mut out = book();
    let beach = out.beaches().values().next().unwrap().uid;
    for day in ["2024-05-04", "2024-06-04"] {
        let at = |clock: &str| format!("{day}T{clock}Z").parse().unwrap();
        out.apply(&Edit::put(Outing::new(beach, at("09:00:00"), at("12:00:00")))).unwrap();
    }
    let by_outings = take("a.csv", table, &out, &Options::default());
    assert_eq!((day(&by_outings).as_str(), by_outings.unsettled.len()), ("2024-05-04", 0));
    assert!(told(&by_outings).contains("days of your outings"), "{}", told(&by_outings));
}

#[test]
fn dates_of_both_orders_are_asked_about_before_anything_is_taken() {
    let table = "lon,lat,what,date\n-20,45,penny,13/05/2024\n-20,45,ring,05/14/2024\n-20,45,key,05/06/2024\n";
    let intake = take("a.csv", table, &book(), &Options::default());
    assert_eq!(must_answer(&intake), [About::Dates]);
    let intake = take("a.csv", table, &book(), &answered(About::Dates, "month-first"));
    assert_eq!((intake.refused.iter().map(|r| r.line).collect::<Vec<_>>(), finds(&intake).len()), (vec![2], 2));
}

#[test]
fn the_clock_that_a_heading_names_is_the_clock() {
    for (heading, wanted) in [
        ("Time (UTC)", "2024-07-01T10:00:00Z"),
        ("time_utc", "2024-07-01T10:00:00Z"),
        ("GMT", "2024-07-01T10:00:00Z"),
        ("Time (+02:00)", "2024-07-01T08:00:00Z"),
        ("Time UTC-5", "2024-07-01T15:00:00Z"),
        ("Time (Asia/Tokyo)", "2024-07-01T01:00:00Z"),
        ("local time", "2024-07-01T09:00:00Z"),
        ("Time", "2024-07-01T09:00:00Z"),
    ] {
        for table in [
            format!("lon,lat,what,{heading}\n-20,45,penny,2024-07-01 10:00\n"),
            format!("lon,lat,what,Date,{heading}\n-20,45,penny,2024-07-01,10:00\n"),
        ] {
            let intake = take("a.csv", &table, &book(), &Options::default());
            assert_eq!(finds(&intake)[0].time.map(|t| t.to_string()).as_deref(), Some(wanted), "{table}");
            let named = !matches!(heading, "Time" | "local time");
            assert_eq!(told(&intake).contains("the clock of Europe/London"), !named, "{table}: {}", told(&intake));
        }
    }
    let short = take("a.csv", "lon,lat,what,Time (BST)\n-20,45,penny,2024-07-01 10:00\n", &book(), &Options::default());
    assert!(told(&short).contains("names the clock BST"), "{}", told(&short));
    // A tide table printed in UTC, its heading says so: the zone of the beach no longer shifts it.
    let tides = "Time (GMT),height\n2024-07-01 00:10,4.0\n2024-07-01 06:20,1.0\n2024-07-01 12:40,4.1\n";
    let intake = take("tides.csv", tides, &book(), &Options::default());
    let Some(Record::TideTable(table)) = records(&intake).into_iter().next() else { panic!("{}", told(&intake)) };
    assert_eq!(table.turns[0].time.to_string(), "2024-07-01T00:10:00Z");
    let json = r#"{"type":"Feature","geometry":{"type":"Point","coordinates":[-20,45]},"properties":{"what":"penny","time_utc":"2024-07-01 10:00"}}"#;
    let intake = take("a.geojson", json, &book(), &Options::default());
    assert_eq!(finds(&intake)[0].time.unwrap().to_string(), "2024-07-01T10:00:00Z");
}

#[test]
fn the_decimal_sign_is_found_column_by_column() {
    let table = "Lat;Lon;What;Weight (g);Depth (cm)\n45.0001;-20.0002;ring;3,5;12,5\n45.0002;-20.0003;penny;8,75;10\n";
    let intake = take("a.csv", table, &book(), &Options::default());
    assert_eq!((intake.refused.as_slice(), intake.unread_count), ([].as_slice(), 0));
    let all = finds(&intake);
    let ring = all.iter().find(|f| f.what == "ring").unwrap();
    assert_eq!((ring.at.lat_deg(), ring.mass_g, ring.depth_m), (45.0001, Some(3.5), Some(0.125)));
    assert!(told(&intake).contains(r#"comma in \"Weight (g)\", \"Depth (cm)\", point elsewhere"#), "{}", told(&intake));
    let table = "lat,lon,what,Depth (cm),VDI\n45,-20,ring,a hand,x\n45,-20.0001,key,12,4\n45,-20.0002,coin,two,7\n";
    let intake = take("a.csv", table, &book(), &Options::default());
    assert_eq!(intake.unread_count, 3);
    let wanted = "2 value(s) of the column \"Depth (cm)\" could not be read, first at line 2: \"a hand\"; kept in the notes";
    assert!(intake.warnings.iter().any(|w| w == wanted), "{:?}", intake.warnings);
    assert!(finds(&intake).iter().any(|f| f.notes == "depth: a hand; targetid: x"));
}

#[test]
fn a_number_of_ones_own_is_no_target_id() {
    let ids = |heading: &str, values: &[&str]| {
        let rows = values.iter().enumerate().map(|(n, v)| format!("{v},45.{:04},-20,coin,10\n", n + 1));
        format!("{heading},lat,lon,what,depth_cm\n{}", rows.collect::<String>())
    };
    let read = |table: &str, options: &Options| {
        let intake = take("a.csv", table, &book(), options);
        let mut ids: Vec<(f64, Option<f64>)> = finds(&intake).iter().map(|f| (f.at.lat_deg(), f.target_id)).collect();
        ids.sort_by(|a, b| a.0.total_cmp(&b.0));
        (must_answer(&intake), ids.into_iter().map(|i| i.1).collect::<Vec<_>>())
    };
    let none = Options::default();
    for heading in ["id", "ID", "no", "No.", "#", "Find No"] {
        assert_eq!(read(&ids(heading, &["1", "2", "3"]), &none), (vec![], vec![None; 3]), "{heading}");
    }
    assert_eq!(read(&ids("#", &["#1", "#2"]), &none), (vec![], vec![None; 2]), "rows that begin with # are rows");
    assert_eq!(read(&ids("ID", &["12", "71", "12", "44"]), &none), (vec![], [12.0, 71.0, 12.0, 44.0].map(Some).to_vec()));
    assert_eq!(read(&ids("ID", &["44", "12"]), &none).0, [About::Id]);
    assert_eq!(read(&ids("ID", &["44", "12"]), &answered(About::Id, "target")).1, [Some(44.0), Some(12.0)]);
    assert_eq!(read(&ids("ID", &["44", "12"]), &answered(About::Id, "number")).1, [None, None]);
    // Beside a column that is named as the target ID it is asked about, unless it only counts.
    let both = "ID,VDI,lat,lon,what\n44,45,45.0001,-20,coin\n12,13,45.0002,-20,coin\n44,44,45.0003,-20,coin\n";
    assert_eq!(read(both, &none).0, [About::Id]);
    assert_eq!(read(both, &answered(About::Id, "number")).1, [Some(45.0), Some(13.0), Some(44.0)]);
    assert_eq!(read(both, &answered(About::Id, "target")).1, [Some(44.0), Some(12.0), Some(44.0)]);
    let counted = both.replace("\n44,45", "\n1,45").replace("\n12,", "\n2,").replace("\n44,44", "\n3,44");
    assert_eq!(read(&counted, &none), (vec![], [45.0, 13.0, 44.0].map(Some).to_vec()));
    // Several numbered ones are one reading's.
    let several = "lat,lon,ID1,ID2,ID3\n45,-20,12,13,12\n";
    let intake = take("a.csv", several, &book(), &Options { what: Some(What::Signals), ..Options::default() });
    let Some(Record::Signal(signal)) = records(&intake).into_iter().next() else { panic!("{}", told(&intake)) };
    assert_eq!(signal.target_ids, [12, 13, 12]);
    let json =
        r#"{"type":"Feature","id":7,"geometry":{"type":"Point","coordinates":[-20,45]},"properties":{"what":"penny","id":7}}"#;
    assert_eq!(finds(&take("a.geojson", json, &book(), &none))[0].target_id, None);
}

#[test]
fn rows_alike_but_for_a_note_are_two_finds_and_rows_alike_in_everything_are_asked_about() {
    let table = "lon,lat,time,what,notes\n\
        -20,45,2024-05-01T10:00:00Z,coin,in the first scoop\n\
        -20,45,2024-05-01T10:00:00Z,coin,in the second scoop\n\
        -20,45,2024-05-01T10:00:00Z,coin,in the second scoop\n";
    let mut once = book();
    let intake = take("a.csv", table, &once, &Options::default());
    assert_eq!((finds(&intake).len(), intake.already_there_count()), (2, 0));
    assert_eq!((intake.unsettled[0].about, intake.unsettled[0].taken), (About::Alike, Some("one")));
    assert!(told(&intake).contains("1 row(s) repeat an earlier one in everything"), "{}", told(&intake));
    once.apply(&intake.edit).unwrap();
    assert!(take("copy.csv", table, &once, &Options::default()).changes_nothing());
    let each = answered(About::Alike, "each");
    let intake = take("a.csv", table, &book(), &each);
    assert_eq!((finds(&intake).len(), intake.unsettled.len()), (3, 0));
    let mut all = book();
    all.apply(&intake.edit).unwrap();
    let again = take("copy.csv", table, &all, &each);
    assert!(again.changes_nothing() && again.already_there_count() == 3);
}

/// Common practice, no published source.
#[test]
fn what_may_be_ordnance_is_said_at_once_and_other_words_are_not_read_past() {
    let table = "lon,lat,what,kind\n-20,45,old shell button,\n-20,45.0001,brass fuze,brass\n-20,45.0002,Scherbe,Keramik\n-20,45.0003,live rounds,\n";
    let intake = take("a.csv", table, &book(), &Options::default());
    let mut kinds: Vec<(String, String)> = finds(&intake).iter().map(|f| (f.what.clone(), f.kind.key().to_owned())).collect();
    kinds.sort();
    let kind = |what: &str| kinds.iter().find(|k| k.0 == what).unwrap().1.as_str();
    assert_eq!((kind("old shell button"), kind("brass fuze"), kind("live rounds")), ("button", "ordnance", "ordnance"));
    let first = &intake.warnings[0];
    assert!(first.starts_with("2 find(s), first at line 3, may be ordnance") && first.contains("call the emergency"), "{first}");
    assert!(intake.warnings.iter().any(|w| w.contains("a kind \"Keramik\" that is not known here")), "{:?}", intake.warnings);
    assert_eq!(finds(&intake).iter().find(|f| f.what == "Scherbe").unwrap().notes, "kind: Keramik");
}

const WALK: &str = r#"<trkseg><trkpt lat="45" lon="-20"><time>2031-05-01T10:00:00Z</time></trkpt>
    <trkpt lat="45.001" lon="-20"><time>2031-05-01T12:00:00Z</time></trkpt></trkseg>"#;

#[test]
fn a_plan_read_back_is_a_plan_and_a_track_of_the_future_is_asked_about() {
    let now = Some("2024-06-01T00:00:00Z".parse().unwrap());
    let options = Options { now, ..Options::default() };
    let text = format!("<gpx version=\"1.1\" creator=\"an invented receiver\"><trk><name>Saturday</name>{WALK}</trk></gpx>");
    let intake = take("ahead.gpx", &text, &book(), &options);
    assert_eq!((must_answer(&intake), intake.taken_count()), (vec![About::Future], 0));
    for (answer, kind) in [("plans", RecordKind::Plan), ("tracks", RecordKind::Track)] {
        let intake = take("ahead.gpx", &text, &book(), &Options { now, ..answered(About::Future, answer) });
        assert_eq!((intake.taken.get(&kind), intake.unsettled.len()), (Some(&1), 0), "{answer}");
    }
    let later = Options { now: Some("2031-05-02T00:00:00Z".parse().unwrap()), ..Options::default() };
    let walked = take("ahead.gpx", &text, &book(), &later);
    assert_eq!(walked.taken.get(&RecordKind::Track), Some(&1));
    // Written as planned, it is a plan whatever the day, and makes no outing.
    let mut past = book();
    past.apply(&walked.edit).unwrap();
    let track = past.tracks().values().next().unwrap();
    let bytes = gpx::write(&gpx::Content { planned: vec![track], ..gpx::Content::default() }).unwrap();
    let back = take("route.gpx", std::str::from_utf8(&bytes).unwrap(), &book(), &later);
    assert_eq!((back.taken.get(&RecordKind::Plan), back.taken.len()), (Some(&1), 1), "{:?}", back.taken);
}

#[test]
fn waypoints_name_places_and_say_more_than_the_thing() {
    let text = r#"<gpx version="1.1" creator="an invented receiver">
        <wpt lat="45" lon="-20"><time>2024-05-01T10:00:00Z</time><name>gold ring 44 15cm</name></wpt>
        <wpt lat="45.0001" lon="-20"><name>Car park</name></wpt>
        <wpt lat="45.0002" lon="-20"><name>014</name><sym>Parking Area</sym></wpt>
        <wpt lat="45.0003" lon="-20"><name>penny 1914</name></wpt></gpx>"#;
    let intake = take("day.gpx", text, &book(), &Options::default());
    let all = finds(&intake);
    assert_eq!(all.len(), 2, "{all:?}");
    let ring = all.iter().find(|f| f.what.starts_with("gold")).unwrap();
    assert_eq!(
        (ring.kind.key(), ring.target_id, ring.depth_m, ring.what.as_str()),
        ("gold_ring", Some(44.0), Some(0.15), "gold ring 44 15cm")
    );
    assert_eq!(all.iter().find(|f| f.what.starts_with("penny")).unwrap().target_id, None);
    assert_eq!((intake.unsettled[0].about, intake.unsettled[0].taken), (About::Waypoints, Some("leave")));
    assert!(told(&intake).contains("2 waypoint(s) name a place and were left out"), "{}", told(&intake));
    assert!(told(&intake).contains("behind the first word a number in cm"), "{}", told(&intake));
    for (answer, kind, count) in [("finds", RecordKind::Find, 4), ("accesses", RecordKind::Access, 2)] {
        let intake = take("day.gpx", text, &book(), &answered(About::Waypoints, answer));
        assert_eq!(intake.taken.get(&kind), Some(&count), "{answer}");
    }
    // What the rule adds does not change by what a waypoint is known again.
    let mut before = book();
    before.apply(&intake.edit).unwrap();
    assert!(take("copy.gpx", text, &before, &Options::default()).changes_nothing());
}

#[test]
fn waypoints_of_danger_bans_and_losses_are_no_finds_unasked() {
    let point = |n: usize, name: &str| format!("<wpt lat=\"45.000{n}\" lon=\"-20\"><name>{name}</name></wpt>");
    for name in ["Danger soft mud", "Quicksand", "Do not dig here", "Gold ring lost here"] {
        let text = format!("<gpx version=\"1.1\">{}{}</gpx>", point(1, name), point(2, "silver coin"));
        let intake = take("day.gpx", &text, &book(), &Options::default());
        let whats: Vec<String> = finds(&intake).into_iter().map(|f| f.what).collect();
        assert_eq!(whats, ["silver coin"], "{name}");
        assert_eq!((intake.unsettled[0].about, intake.unsettled[0].taken), (About::Waypoints, Some("leave")), "{name}");
        assert!(intake.unsettled[0].question.contains(name) && told(&intake).contains("left out"), "{name}");
        let all = take("day.gpx", &text, &book(), &answered(About::Waypoints, "finds"));
        assert_eq!(finds(&all).len(), 2, "{name}");
    }
}

/// Numbers that count the waypoints, years and finenesses used to become target IDs.
#[test]
fn numbers_in_names_of_waypoints_that_count_or_stamp_are_no_target_ids() {
    let gpx = |names: &[&str]| {
        let point = |(n, name): (usize, &&str)| format!("<wpt lat=\"45.000{n}\" lon=\"-20\"><name>{name}</name></wpt>");
        format!("<gpx version=\"1.1\">{}</gpx>", names.iter().enumerate().map(point).collect::<String>())
    };
    let ids = |names: &[&str]| -> Vec<Option<f64>> {
        finds(&take("day.gpx", &gpx(names), &book(), &Options::default())).iter().map(|f| f.target_id).collect()
    };
    let counted = ["coin 1", "coin 2", "coin 3"];
    assert_eq!(ids(&counted), [None; 3]);
    let said = told(&take("day.gpx", &gpx(&counted), &book(), &Options::default()));
    assert!(said.contains("3 name(s) of waypoints end with a number that seems to count them"), "{said}");
    assert_eq!(ids(&["coin 1", "nail 2", "ring 3"]), [None; 3], "through the file");
    assert_eq!(ids(&["Waypoint 7", "button 1914-18", "ring 585", "Find 8"]), [None; 4]);
    // By their names: the coin, the nail.
    assert_eq!(ids(&["nail 12", "coin 71"]), [Some(71.0), Some(12.0)]);
}

#[test]
fn headings_in_other_languages() {
    let german = "Breite;Länge;Fund;Tiefe (cm);Gewicht (g);Datum;Uhrzeit;Bemerkung\n45,0001;-20,0002;Münze;12,5;3,5;13.05.2024;14:30;am Strand\n";
    let danish = "Breddegrad;Længdegrad;Genstand;Dybde (cm);Vægt (g);Dato;Klokkeslæt;Noter\n45,0001;-20,0002;Münze;12,5;3,5;13.05.2024;14:30;am Strand\n";
    let italian = "latitudine;longitudine;oggetto;profondità (cm);peso (g);data;ora;osservazioni\n45,0001;-20,0002;Münze;12,5;3,5;13/05/2024;14:30;am Strand\n";
    let french = "latitude;longitude;objet;profondeur (cm);poids (g);date;heure;remarque\n45,0001;-20,0002;Münze;12,5;3,5;13/05/2024;14:30;am Strand\n";
    let dutch = "breedtegraad;lengtegraad;vondst;diepte (cm);gewicht (g);datum;tijd;opmerking\n45,0001;-20,0002;Münze;12,5;3,5;13-05-2024;14:30;am Strand\n";
    let spanish = "latitud;longitud;hallazgo;profundidad (cm);peso (g);fecha;hora;observaciones\n45,0001;-20,0002;Münze;12,5;3,5;13/05/2024;14:30;am Strand\n";
    for table in [german, danish, italian, french, dutch, spanish] {
        let intake = take("a.csv", table, &book(), &Options::default());
        assert_eq!((intake.refused.as_slice(), intake.unsettled.as_slice()), ([].as_slice(), [].as_slice()), "{table}");
        let find = &finds(&intake)[0];
        assert_eq!((find.at.lat_deg(), find.at.lon_deg()), (45.0001, -20.0002), "{table}");
        assert_eq!((find.depth_m, find.mass_g, find.notes.as_str()), (Some(0.125), Some(3.5), "am Strand"), "{table}");
        assert_eq!(find.time.unwrap().to_string(), "2024-05-13T13:30:00Z", "{table}");
        assert_eq!(find.kind.key(), "coin", "{table}");
    }
}

/// A column of one's own used to be dropped.
#[test]
fn columns_that_are_not_known_are_kept_with_the_find_under_their_heading() {
    let table = "No,lon,lat,what,Finder,colour\n7,-20,45,ring,an invented friend,green\n8,-20,45.0001,penny,,\n";
    let intake = take("a.csv", table, &book(), &Options::default());
    let kept: Vec<(String, String, String)> = finds(&intake)
        .into_iter()
        .map(|f| {
            (f.finder, f.notes, f.more.into_iter().map(|(title, text)| format!("{title}={text}")).collect::<Vec<_>>().join(" "))
        })
        .collect();
    let of = |finder: &str, more: &str| (finder.to_owned(), String::new(), more.to_owned());
    assert_eq!(kept, [of("", "No=8"), of("an invented friend", "No=7 colour=green")]);
    assert!(told(&intake).contains("No, colour; kept with each find under their headings"), "{}", told(&intake));
    let heard = "lon,lat,target id,where heard\n-20,45,12,by the pier\n";
    let intake = take("b.csv", heard, &book(), &Options::default());
    let Some(Record::Signal(signal)) = records(&intake).into_iter().next() else { panic!("{}", told(&intake)) };
    assert_eq!(signal.notes, "where heard: by the pier");
}

#[test]
fn lines_without_a_role_are_asked_about() {
    let line = r#"{"type":"LineString","coordinates":[[-20,45],[-20,45.001]]}"#;
    let intake = take("line.geojson", line, &book(), &Options::default());
    assert_eq!((intake.unsettled[0].about, intake.unsettled[0].taken, intake.refused_count), (About::Lines, Some("leave"), 1));
    assert!(intake.refused[0].why.contains("--as tracks"), "{}", intake.refused[0].why);
    for (answer, kind) in [("tracks", RecordKind::Track), ("plans", RecordKind::Plan), ("baseline", RecordKind::Beach)] {
        let intake = take("line.geojson", line, &book(), &answered(About::Lines, answer));
        assert_eq!((intake.taken.get(&kind), intake.refused_count), (Some(&1), 0), "{answer}");
    }
}

/// One's own finds, written out, edited in a program for maps and read back.
#[test]
fn edits_made_elsewhere_to_ones_own_finds_are_offered_as_changes() {
    let mut own = book();
    let table = "lon,lat,time,what,depth_cm,notes\n-20,45,2024-05-01T10:00:00Z,coin,15,worn\n-20,45.0001,,ring pull,,\n";
    own.apply(&take("a.csv", table, &own, &Options::default()).edit).unwrap();
    let written = String::from_utf8(geojson::write(&geojson::finds(own.finds().values())).unwrap()).unwrap();
    let same = take("finds.geojson", &written, &own, &Options::default());
    assert!(same.changes_nothing() && same.unsettled.is_empty(), "{same:?}");
    let edited = written.replace("worn", "worn, of an invented king").replace("0.15", "0.2");
    assert_ne!(edited, written);
    let asked = take("finds.geojson", &edited, &own, &Options::default());
    assert!(asked.changes_nothing());
    assert_eq!((asked.unsettled[0].about, asked.unsettled[0].taken), (About::Changes, Some("keep")));
    assert!(asked.unsettled[0].question.contains("differs in notes, depth"), "{}", asked.unsettled[0].question);
    let taken = take("finds.geojson", &edited, &own, &answered(About::Changes, "take"));
    assert_eq!((taken.taken_count(), taken.already_there_count()), (1, 1));
    let before = own.clone();
    let undo = own.apply(&taken.edit).unwrap();
    let coin = own.finds().values().find(|f| f.what == "coin").unwrap();
    assert_eq!((coin.depth_m, coin.notes.as_str()), (Some(0.2), "worn, of an invented king"));
    own.apply(&undo).unwrap();
    assert!(own == before);
}

#[test]
fn an_answer_that_is_none_of_those_there_are_is_refused() {
    assert!(About::answered("dates=sometimes").unwrap_err().contains("dates=day-first|month-first"));
    assert!(matches!(fault("empty.csv", "", &book(), &Options::default()), scourline::exchange::Fault::Empty));
}
