//! Tables as other people's receivers and programs write them, and files read a second time in another way. All invented.

use std::collections::BTreeMap;

use super::common::{book, fault, find_of, records, take, try_take};
use scourline::book::{Find, Record, RecordKind};
use scourline::exchange::{About, Intake, Options, What, geojson};

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

/// Headings that hold the side beside the degrees: the table used to become a record of a tide gauge.
#[test]
fn degrees_under_a_heading_with_their_sides_are_a_track() {
    let row = |n: u32, lat: &str, lon: &str| format!("{n},T,2024-05-13,09:00:{n:02},{lat},{lon},{},3\n", 12 + n % 3);
    let trailing: String = (1..30).map(|n| row(n, &format!("45.{:06}N", n * 12), "20.000100W")).collect();
    let paired: String = (1..30).map(|n| row(n, &format!("45.{:06},N", n * 12), "20.000100,W")).collect();
    let head = "INDEX,TAG,DATE,TIME";
    let compact = trailing.replace("2024-05-13", "20240513").replace("09:00:", "0900");
    for (columns, rows) in [
        ("LATITUDE N/S,LONGITUDE E/W", &trailing),
        ("Latitude (N/S),Longitude (E/W)", &trailing),
        ("LATITUDE N/S,LONGITUDE E/W", &compact),
        ("LATITUDE,N/S,LONGITUDE,E/W", &paired),
        ("LATITUDE,LATITUDE N/S,LONGITUDE,LONGITUDE E/W", &paired),
        ("LATITUDE N/S,,LONGITUDE E/W,", &paired),
        ("LATITUDE,N,LONGITUDE,W", &paired),
    ] {
        let intake = take("log.csv", &format!("{head},{columns},HEIGHT,SPEED\n{rows}"), &book(), &Options::default());
        let kinds: Vec<RecordKind> = intake.taken.keys().copied().collect();
        assert_eq!(
            (kinds, intake.refused_count),
            (vec![RecordKind::Outing, RecordKind::Track], 0),
            "{columns}: {:?}",
            intake.refused
        );
        let track = records(&intake).into_iter().find_map(|r| if let Record::Track(t) = r { Some(t) } else { None }).unwrap();
        let first = track.points().next().unwrap();
        assert_eq!((track.len(), first.at.lat_deg(), first.at.lon_deg()), (29, 45.000_012, -20.000_1), "{columns}");
        assert_eq!(first.time().unwrap().to_string(), "2024-05-13T08:00:01Z", "{columns}");
    }
}

/// Heights without a word of what they are above used to become surveyed levels, unasked.
#[test]
fn heights_without_times_are_levels_only_where_they_say_so() {
    for heading in ["height", "Elevation (m)", "ele"] {
        let table = format!("lat,lon,{heading}\n45,-20,51.5\n45.0001,-20,50.5\n");
        let intake = take("shots.csv", &table, &book(), &Options::default());
        assert_eq!(must_answer(&intake), [About::Heights], "{heading}");
        let levels = take("shots.csv", &table, &book(), &answered(About::Heights, "levels"));
        assert_eq!((levels.unsettled.len(), levels.taken.get(&RecordKind::Level)), (0, Some(&2)), "{heading}");
        let asked = Options { what: Some(What::Levels), ..Options::default() };
        assert_eq!(take("shots.csv", &table, &book(), &asked).taken.get(&RecordKind::Level), Some(&2), "{heading}");
    }
    for heading in ["level_m", "Height AOD", "height (m) ODN", "Height above datum", "z"] {
        let intake = take("shots.csv", &format!("lat,lon,{heading}\n45,-20,1.5\n"), &book(), &Options::default());
        assert_eq!((must_answer(&intake), intake.taken.get(&RecordKind::Level)), (vec![], Some(&1)), "{heading}");
    }
    let point = |name: &str| {
        format!(
            "{{\"type\":\"Feature\",\"geometry\":{{\"type\":\"Point\",\"coordinates\":[-20,45]}},\"properties\":{{\"{name}\":1.5}}}}"
        )
    };
    assert_eq!(must_answer(&take("a.geojson", &point("height"), &book(), &Options::default())), [About::Heights]);
    let said = take("a.geojson", &point("level_m"), &book(), &Options::default());
    assert_eq!((must_answer(&said), said.taken.get(&RecordKind::Level)), (vec![], Some(&1)));
}

/// A corrected order of dates used to bring every find in a second time.
#[test]
fn a_file_read_again_in_the_other_order_of_dates_is_offered_as_a_correction() {
    let table = "lon,lat,what,depth_cm,date,time\n-20,45,penny,10,05/04/2024,10:15\n-20,45.0001,ring,,11/12/2024,11:00\n-20,45.0002,key,,07/07/2024,11:00\n";
    let mut own = book();
    own.apply(&take("a.csv", table, &own, &answered(About::Dates, "month-first")).edit).unwrap();
    let day_first = answered(About::Dates, "day-first");
    let asked = take("a.csv", table, &own, &day_first);
    assert_eq!((finds(&asked).len(), asked.already_there_count()), (0, 3), "{asked:?}");
    assert_eq!((asked.unsettled[0].about, asked.unsettled[0].taken), (About::Exchanged, Some("keep")));
    assert!(asked.unsettled[0].question.contains("the first at line 2"), "{}", asked.unsettled[0].question);
    let with = |answer| {
        let mut options = day_first.clone();
        options.answers.insert(About::Exchanged, answer);
        options
    };
    let each = take("a.csv", table, &own, &with("each"));
    assert_eq!((finds(&each).len(), each.already_there_count()), (2, 1));
    let taken = take("a.csv", table, &own, &with("take"));
    let times: Vec<String> = finds(&taken).iter().map(|f| f.time.unwrap().to_string()).collect();
    assert_eq!(times, ["2024-04-05T09:15:00Z", "2024-12-11T11:00:00Z"]);
    own.apply(&taken.edit).unwrap();
    assert_eq!(own.finds().len(), 3);
    // Once corrected it is known in either way.
    let again = take("copy.csv", table, &own, &day_first);
    assert_eq!((finds(&again).len(), again.already_there_count()), (0, 3));
    assert!(!again.unsettled.iter().any(|u| u.about == About::Exchanged), "{:?}", again.unsettled);
}

/// Two finds of one place on days whose numbers are each other's exchanged, as those kept at one position are.
#[test]
fn finds_of_both_days_are_two_finds() {
    let first = "lon,lat,what,date\n-20,45,penny,2024-04-05\n";
    let both = "lon,lat,what,date\n-20,45,penny,2024-05-04\n-20,45,penny,2024-04-05\n";
    let mut own = book();
    own.apply(&take("a.csv", first, &own, &Options::default()).edit).unwrap();
    let intake = take("b.csv", both, &own, &Options::default());
    assert_eq!((finds(&intake).len(), intake.already_there_count(), intake.unsettled.len()), (1, 1, 0), "{intake:?}");
}

#[test]
fn answers_are_remembered_for_files_with_the_same_headings_and_told() {
    let table = |day: &str| format!("lon,lat,what,date,time\n-20,45,penny,{day},10:00\n");
    let mut own = book();
    let stated = Options { zone: Some("UTC".into()), ..answered(About::Dates, "month-first") };
    let first = take("a.csv", &table("05/04/2024"), &own, &stated);
    assert_eq!(first.taken_count(), 1, "what is remembered is no record of the file: {:?}", first.taken);
    own.apply(&first.edit).unwrap();
    let kept = own.remembered().values().next().unwrap();
    assert_eq!((kept.headings.as_str(), kept.zone.as_str()), ("lon | lat | what | date | time", "UTC"));
    let time = |intake: &Intake| finds(intake)[0].time.unwrap().to_string();
    let next = take("b.csv", &table("06/04/2024").replace("lon,lat", "LON,Lat"), &own, &Options::default());
    assert_eq!(time(&next), "2024-06-04T10:00:00Z");
    let told = format!("{:?} {:?}", next.unsettled, next.understood);
    assert!(told.contains("For the last file with these headings you said: the month comes first"), "{told}");
    assert!(told.contains("is read as 4 June 2024, as in the last file with these headings"), "{told}");
    assert!(told.contains("the clock of UTC, as for the last file with these headings"), "{told}");
    assert_eq!((must_answer(&next), next.unsettled[0].taken), (vec![], Some("month-first")));
    // It can be answered otherwise, and that is remembered in its place.
    let otherwise = take("b.csv", &table("06/04/2024"), &own, &answered(About::Dates, "day-first"));
    assert_eq!(time(&otherwise), "2024-04-06T10:00:00Z");
    own.apply(&otherwise.edit).unwrap();
    assert_eq!(own.remembered().len(), 1);
    assert_eq!(time(&take("c.csv", &table("07/04/2024"), &own, &Options::default())), "2024-04-07T10:00:00Z");
    // A file with other headings is another file, and one that brings nothing new changes nothing.
    let other = take("d.csv", &table("06/05/2024").replace("what", "find"), &own, &Options::default());
    assert_eq!(time(&other), "2024-05-06T09:00:00Z");
    assert!(take("b.csv", &table("06/04/2024"), &own, &answered(About::Dates, "day-first")).changes_nothing());
}

#[test]
fn whose_a_find_is_and_what_became_of_it_is_read_in_six_languages_and_written_again() {
    for (columns, language) in [
        ("finder,permission,value,age,disposal,reported", "English"),
        ("Entdecker,Erlaubnis,Wert,Alter,Verbleib,Gemeldet", "German"),
        ("découvreur,autorisation,valeur,époque,destination,déclaré", "French"),
        ("vinder,toestemming,waarde,ouderdom,bestemming,gemeld", "Dutch"),
        ("descubridor,permiso,valor,edad,destino,declarado", "Spanish"),
        ("finder,tilladelse,værdi,periode,opbevaring,anmeldt", "Danish"),
        ("scopritore,permesso,valore,età,destinazione,segnalato", "Italian"),
    ] {
        let table = format!(
            "lat,lon,what,{columns},hue,Name\n45,-20,ring,a friend,west half,12 EUR,of an invented century,in a drawer,to an office,green,No 7\n"
        );
        let mut own = book();
        let intake = take("a.csv", &table, &own, &Options::default());
        let find = finds(&intake).remove(0);
        let fields = [&find.finder, &find.permission, &find.value, &find.age, &find.disposal, &find.reported].map(String::as_str);
        let wanted = ["a friend", "west half", "12 EUR", "of an invented century", "in a drawer", "to an office"];
        assert_eq!(fields, wanted, "{language}");
        let more: Vec<(&str, &str)> = find.more.iter().map(|(t, x)| (t.as_str(), x.as_str())).collect();
        assert_eq!((more, find.notes.as_str()), (vec![("Name", "No 7"), ("hue", "green")], ""), "{language}");
        own.apply(&intake.edit).unwrap();
        let written = String::from_utf8(geojson::write(&geojson::finds(own.finds().values())).unwrap()).unwrap();
        let again = take("finds.geojson", &written, &own, &Options::default());
        assert!(again.changes_nothing() && again.unsettled.is_empty(), "{language}: {:?}", again.unsettled);
        let edited = written.replace("12 EUR", "15 EUR").replace("green", "blue");
        let changed = take("finds.geojson", &edited, &own, &answered(About::Changes, "take"));
        own.apply(&changed.edit).unwrap();
        let find = own.finds().values().next().unwrap();
        assert_eq!((find.value.as_str(), find.more["hue"].as_str()), ("15 EUR", "blue"), "{language}");
    }
}

/// Known headings that mean nothing for a find, and a second one of the same meaning, used to be dropped.
#[test]
fn no_column_of_a_find_is_dropped() {
    let table =
        "lat,lon,height,hdop,what,detector,notes,comments,depth_cm,x,y\n45,-20,12,0.9,ring,the old one,worn,by the pier,10,7,8\n";
    let intake = take("a.csv", table, &book(), &Options::default());
    let find = finds(&intake).remove(0);
    let more: Vec<(&str, &str)> = find.more.iter().map(|(t, x)| (t.as_str(), x.as_str())).collect();
    let wanted =
        [("comments", "by the pier"), ("detector", "the old one"), ("hdop", "0.9"), ("height", "12"), ("x", "7"), ("y", "8")];
    assert_eq!((more, find.notes.as_str(), find.depth_m), (wanted.to_vec(), "worn", Some(0.1)));
    let nested = r#"{"type":"Feature","geometry":{"type":"Point","coordinates":[-20,45]},"properties":{"what":"ring","box":{"row":3},"id":7,"tags":["a","b"]}}"#;
    let find = finds(&take("a.geojson", nested, &book(), &Options::default())).remove(0);
    let more: Vec<(&str, &str)> = find.more.iter().map(|(t, x)| (t.as_str(), x.as_str())).collect();
    assert_eq!(more, [("box", r#"{"row":3}"#), ("id", "7"), ("tags", "a b")]);
    // A layer of the book as another program writes it out: its own columns are no words about the find.
    let layer = "fid,uid,beach,outing,lat,lon,what,more\n3,000000000000000000000000000000aa,x,y,45,-20,ring,\"{\"\"hue\"\":\"\"green\"\"}\"\n";
    let find = finds(&take("layer.csv", layer, &book(), &Options::default())).remove(0);
    assert_eq!(find.more.into_iter().collect::<Vec<_>>(), [("hue".to_owned(), "green".to_owned())]);
}

#[test]
fn times_that_can_hardly_be_are_told_and_two_tables_side_by_side_are_refused() {
    let options = Options { now: Some("2026-06-01T00:00:00Z".parse().unwrap()), ..Options::default() };
    let table = "lat,lon,time,what,depth\n45.0,-20.0,1899-12-30T00:00:00Z,coin,1ft 2in\n45.0001,-20.0,2031-05-01T10:00:00Z,ring,5-7 cm\n\
                 0,0,2026-05-01T10:00:00Z,button,4 cm\n45.0002,-20.0,2026-05-01T10:00:00Z,nail,\n";
    let intake = try_take("old.csv", table, &book(), &options).unwrap();
    let told = |what: &str| intake.warnings.iter().any(|w| w.contains(what));
    assert!(told("dated before 1960") && told("dated in days to come") && told("\"5-7 cm\""), "{:?}", intake.warnings);
    assert_eq!(intake.refused_count, 1);
    assert!(intake.refused[0].why.contains("0, 0"), "{}", intake.refused[0].why);
    let coin = records(&intake).into_iter().filter_map(find_of).find(|f| f.what == "coin").unwrap();
    assert!((coin.depth_m.unwrap() - 0.3556).abs() < 1e-9);

    let gpx = |times: [&str; 3]| {
        let fix = |(n, t): (usize, &str)| format!("<trkpt lat=\"45.000{n}\" lon=\"-20\"><time>2026-05-01T{t}Z</time></trkpt>");
        format!(
            "<gpx version=\"1.1\"><trk><trkseg>{}</trkseg></trk></gpx>",
            times.into_iter().enumerate().map(fix).collect::<String>()
        )
    };
    let back =
        |times| try_take("walk.gpx", gpx(times), &book(), &options).unwrap().warnings.iter().any(|w| w.contains("run backwards"));
    assert!(back(["10:00:00", "10:05:00", "10:01:00"]));
    assert!(!back(["10:00:00", "09:59:57", "10:00:30"]), "a clock that is set right while it runs");

    let twice = "lat,lon,what,,lat,lon,what\n45,-20,coin,,45.1,-20,ring\n";
    let why = super::common::fault("two.csv", twice, &book(), &options).to_string();
    assert!(why.contains("\"lat\" twice") && why.contains("sheet of its own"), "{why}");
    // The same heading over nothing is a slip of the pen.
    assert!(try_take("one.csv", "lat,lon,what,lat\n45,-20,coin,\n", &book(), &options).is_ok());
}

#[test]
fn known_targets_side_by_side_cut_names_and_broken_numbers_are_refused_aloud() {
    let none = Options::default();
    let bench = |table: &str| take("bench.csv", table, &scourline::book::Book::new(), &none);
    let twice = "setup,target,kind,depth_cm,ID1,,target,kind,depth_cm,ID1\nS,c,coin,10,60,,n,nail,10,-5\n";
    let why = super::common::fault("two.csv", twice, &scourline::book::Book::new(), &none).to_string();
    assert!(why.contains("\"target\" twice"), "{why}");
    // Two tables under different headings, and the second has a row more.
    let other = "Date,What,Lat,Lon,,Found,Item,Latitude,Longitude\n2026-05-01,coin,45,-20,,2026-05-02,ring,45.001,-20\n,,,,,2026-05-03,ring,45.002,-20\n";
    let why = super::common::fault("other.csv", other, &book(), &none).to_string();
    assert!(why.contains("\"Lat\" and \"Latitude\""), "{why}");
    // The same position twice is none.
    assert_eq!(take("same.csv", "what,lat,lon,latitude,longitude\ncoin,45,-20,45,-20\n", &book(), &none).refused_count, 0);

    // A comma that is the decimal sign parts no numbers.
    let broken = bench("setup;target;kind;depth_cm;ID1;ID2\nS;c;coin;5,5;60,5;61,5\nS;d;coin;10,5;60;61\n");
    assert_eq!(broken.refused_count, 1);
    assert!(broken.refused[0].why.contains("whole numbers"), "{}", broken.refused[0].why);
    // The name once and the depths below it.
    let cut = bench("setup,target,kind,depth_cm,target_ids\nA,coin 1,coin,5,60\n,,,10,61\nA,bare hole,,15,\n");
    assert_eq!((cut.refused_count, cut.taken_count()), (1, 3));
    assert!(cut.refused[0].why.contains("neither target nor kind"), "{}", cut.refused[0].why);
    // A kind that is not known is named.
    let odd = bench("setup,target,kind,depth_cm,target_ids\nA,n1,Zyx,5,60\n");
    assert!(odd.warnings.iter().any(|w| w.contains("\"Zyx\"")), "{:?}", odd.warnings);
}

/// A stray quote once took four hundred of five hundred rows for words of one cell, and the import ended as if all was well.
#[test]
fn a_quote_that_is_not_closed_refuses_the_file_and_a_line_break_within_quotes_is_read() {
    let row = |n: usize| format!("45.00{n:02},-20.0002,coin {n}\n");
    let table: String = (10..60).map(row).collect();
    let stray = format!("lat,lon,what\n{}", table.replacen("coin 30", "\"Queen penny", 1));
    let said = fault("finds.csv", &stray, &book(), &Options::default()).to_string();
    assert!(said.contains("not well-formed at line 22") && said.contains("a quote opens there"), "{said}");
    // To a later quote too.
    let stray = stray.replacen("coin 40", "\"King penny", 1);
    let said = fault("finds.csv", &stray, &book(), &Options::default()).to_string();
    assert!(said.contains("line 22"), "{said}");
    let honest = format!("lat,lon,what\n{}", table.replacen("coin 30", "\"penny,\nworn and \"\"bent\"\"\"", 1));
    let intake = take("finds.csv", &honest, &book(), &Options::default());
    assert_eq!((finds(&intake).len(), intake.refused_count), (50, 0));
    assert!(finds(&intake).iter().any(|f| f.what.starts_with("penny,") && f.what.ends_with("worn and \"bent\"")), "{intake:?}");
}

#[test]
fn one_line_of_another_encoding_does_not_spoil_the_others() {
    let bytes = b"Lat;Lon;Fund\n45.0001;-20.0001;M\xC3\xBCnze\n45.0002;-20.0002;M\xFCnze\n";
    let intake = try_take("funde.csv", bytes, &book(), &Options::default()).unwrap();
    assert!(finds(&intake).iter().all(|f| f.what == "M\u{fc}nze"), "{intake:?}");
    assert_eq!(finds(&intake).len(), 2);
    assert!(intake.warnings.iter().any(|w| w.starts_with("1 line(s), first line 3, are not in UTF-8")), "{:?}", intake.warnings);
}

#[test]
fn a_fix_without_a_place_or_a_time_is_left_out_and_the_walk_kept() {
    let fix = |n: u32, at: &str, time: &str| format!("<trkpt {at}><time>{time}:{n:02}Z</time></trkpt>");
    for (at, time) in [("lat=\"0\" lon=\"0\"", "2024-05-01T10:00"), ("lat=\"45.0001\" lon=\"-20.0001\"", "1970-01-01T00:00")] {
        let walk: String =
            (1..20).map(|n| fix(n, &format!("lat=\"45.0001{n:02}\" lon=\"-20.0001\""), "2024-05-01T10:00")).collect();
        let gpx = format!(
            "<gpx version=\"1.1\" xmlns=\"http://www.topografix.com/GPX/1/1\"><trk><trkseg>{}{walk}</trkseg></trk></gpx>",
            fix(0, at, time)
        );
        let intake = take("walk.gpx", &gpx, &book(), &Options::default());
        let tracks: Vec<_> =
            records(&intake).into_iter().filter_map(|r| if let Record::Track(t) = r { Some(t) } else { None }).collect();
        assert_eq!((tracks.len(), intake.refused_count), (1, 0), "{:?}", intake.refused);
        assert_eq!((tracks[0].len(), tracks[0].outing.is_some()), (19, true), "{at} {time}");
        assert!(intake.warnings.iter().any(|w| w.starts_with("1 fix(es) at 0, 0")), "{:?}", intake.warnings);
    }
}

/// A point before three digits once made 1.2 g of a sinker of 1,200 g, without a word.
#[test]
fn thousands_in_a_file_that_writes_its_fractions_otherwise_are_told() {
    let german = "Datum;Breite;L\u{e4}nge;Fund;Gewicht (g)\n25.04.2026;45,0001;-20,0001;Ring;3,5\n25.04.2026;45,0002;-20,0002;Ring;4,5\n\
                  26.04.2026;45,0003;-20,0003;Blei;1.200\n";
    let alone = "Datum;Breite;L\u{e4}nge;Fund;Gewicht (g)\n25.04.2026;45,0001;-20,0001;Blei;1.201\n26.04.2026;45,0002;-20,0002;Blei;1.450\n";
    let english = "lat,lon,what,mass_g\n45.0001,-20.0001,lead,\"1,200\"\n";
    for (table, count, line, value) in [(german, 1, 4, "1.200"), (alone, 2, 2, "1.201"), (english, 1, 2, "1,200")] {
        let intake = take("a.csv", table, &book(), &Options::default());
        let told = intake.warnings.iter().any(|w| {
            w.starts_with(&format!("{count} value(s) under"))
                && w.contains(&format!("line {line}: \"{value}\""))
                && w.contains("thousands")
        });
        assert!(told, "{value}: {:?}", intake.warnings);
    }
    let plain = german.replace("1.200", "12,5");
    assert!(!format!("{:?}", take("a.csv", &plain, &book(), &Options::default()).warnings).contains("thousands"));
}

#[test]
fn depths_below_one_without_a_unit_are_told_and_can_be_said_to_be_metres() {
    let table = "lat,lon,what,depth\n45.0001,-20.0001,coin,0.1\n45.0002,-20.0002,coin,0.25\n";
    let intake = take("a.csv", table, &book(), &Options::default());
    assert!(intake.warnings.iter().any(|w| w.contains("--columns \"depth=depth_m\"")), "{:?}", intake.warnings);
    let metres = Options { columns: vec![("depth".into(), "depth_m".into())], ..Options::default() };
    let intake = take("a.csv", table, &book(), &metres);
    let depths: Vec<_> = finds(&intake).iter().map(|f| f.depth_m).collect();
    assert!(depths.contains(&Some(0.25)) && depths.contains(&Some(0.1)), "{depths:?}");
    assert!(!format!("{:?}", intake.warnings).contains("depth_m"), "{:?}", intake.warnings);
    for usual in ["depth\n45,-20,coin,0.5\n45.001,-20,coin,12\n", "depth_cm\n45,-20,coin,0.5\n", "depth\n45,-20,coin,0.2 m\n"] {
        let intake = take("a.csv", &format!("lat,lon,what,{usual}"), &book(), &Options::default());
        assert!(!format!("{:?}", intake.warnings).contains("as metres are"), "{usual}: {:?}", intake.warnings);
    }
}

#[test]
fn a_table_of_finds_without_a_date_says_so() {
    let told = |heads: &str| {
        let table = format!("lat,lon,what,{heads}\n45,-20,coin,5 May 2024\n");
        let intake = take("a.csv", &table, &book(), &Options::default());
        format!("{:?} {:?}", intake.warnings, intake.understood)
    };
    let lost = told("dug out on");
    assert!(lost.contains("no column is known as a date") && lost.contains("--columns HEADING=date"), "{lost}");
    for heading in ["date", "Fecha del hallazgo", "Fundet den", "Giorno", "Fundtag", "Vinddatum", "When found", "Date Created"] {
        assert!(!told(heading).contains("no column is known as a date"), "{heading}");
    }
}

#[test]
fn a_date_in_three_columns_is_one() {
    for heads in ["Day,Month,Year", "Tag,Monat,Jahr", "Giorno,Mese,Anno"] {
        let table = format!("{heads},lat,lon,what\n5,4,2026,45,-20,ring\n25,Dec,2025,45.001,-20,key\n");
        let intake = take("a.csv", &table, &book(), &Options::default());
        let days: Vec<String> = finds(&intake).iter().map(|f| f.time.unwrap().to_string()[..10].to_owned()).collect();
        assert_eq!((days, intake.refused_count), (vec!["2025-12-25".to_owned(), "2026-04-05".to_owned()], 0), "{heads}");
        assert!(finds(&intake).iter().all(|f| f.more.is_empty()), "{heads}: {intake:?}");
    }
}

/// Feet and inches in other languages used to be taken as metres and centimetres, under "no unit stated". The international
/// inch is 0.0254 m, the US survey foot 1200/3937 m and the grain 64.79891 mg (NIST Handbook 44, appendix C).
#[test]
fn units_in_other_languages_are_heeded_and_one_that_is_not_known_is_asked_about() {
    for heading in ["Tiefe (Zoll)", "Profondeur (pouces)", "Profundidad (pulgadas)", "Profondit\u{e0} (pollici)", "Diepte (duim)"]
    {
        let table = format!("lat,lon,what,{heading}\n45,-20,coin,6\n");
        let got = finds(&take("a.csv", &table, &book(), &Options::default()));
        assert!((got[0].depth_m.unwrap() - 0.1524).abs() < 1e-9, "{heading}: {got:?}");
    }
    let grains = take("a.csv", "lat,lon,what,weight (grains)\n45,-20,coin,10\n", &book(), &Options::default());
    assert!((finds(&grains)[0].mass_g.unwrap() - 0.647_989_1).abs() < 1e-9);
    let as_levels = Options { what: Some(What::Levels), ..Options::default() };
    for (heading, foot_m) in
        [("H\u{f6}he (Fu\u{df})", 0.3048), ("hauteur (pieds)", 0.3048), ("level (US survey feet)", 1200.0 / 3937.0)]
    {
        let intake = take("a.csv", &format!("lat,lon,{heading}\n45,-20,10\n"), &book(), &as_levels);
        let level = records(&intake).into_iter().find_map(|r| if let Record::Level(l) = r { Some(l.level_m) } else { None });
        assert!((level.unwrap() - 10.0 * foot_m).abs() < 1e-9, "{heading}: {level:?}");
    }
    let table = "lat,lon,what,depth (spits)\n45,-20,coin,6\n";
    let why = fault("a.csv", table, &book(), &Options::default()).to_string();
    assert!(why.contains("\"spits\"") && why.contains("--columns \"depth (spits)=depth_cm\""), "{why}");
    let said = Options { columns: vec![("depth (spits)".into(), "depth_cm".into())], ..Options::default() };
    assert_eq!(finds(&take("a.csv", table, &book(), &said))[0].depth_m, Some(0.06));
    // Words that are no unit ask nothing, and neither do values with units of their own.
    for table in [table.replace("spits", "approx."), table.replace(",6\n", ",6 cm\n")] {
        assert_eq!(finds(&take("a.csv", &table, &book(), &Options::default()))[0].depth_m, Some(0.06), "{table}");
    }
}

/// "Tid" is Danish for time and was read as a target ID, so that 10.15 became the number and the hour was lost.
#[test]
fn a_danish_column_of_times_is_no_target_id() {
    let table = |first: &str, second: &str| {
        format!(
            "Dato;Tid;Breddegrad;L\u{e6}ngdegrad;Fund\n13.10.2023;{first};45,0001;-20,0001;ring\n14.10.2023;{second};45,0002;-20,0002;nail\n"
        )
    };
    for (first, second) in [("10.15", "11.05"), ("1015", "1105"), ("10:15", "11:05")] {
        let got = finds(&take("da.csv", &table(first, second), &book(), &Options::default()));
        let times: Vec<_> = got.iter().map(|f| (f.time.unwrap().to_string(), f.target_id)).collect();
        assert_eq!(times, [("2023-10-13T09:15:00Z".to_owned(), None), ("2023-10-14T10:05:00Z".to_owned(), None)], "{first}");
    }
    let ids = finds(&take("da.csv", &table("44", "12"), &book(), &Options::default()));
    assert_eq!(ids.iter().map(|f| f.target_id).collect::<Vec<_>>(), [Some(44.0), Some(12.0)]);
    let open = table("915", "845");
    let why = fault("da.csv", &open, &book(), &Options::default()).to_string();
    assert!(why.contains("--columns Tid=time") && why.contains("--columns Tid=target_id"), "{why}");
    let said = Options { columns: vec![("Tid".into(), "target_id".into())], ..Options::default() };
    assert_eq!(finds(&take("da.csv", &open, &book(), &said))[0].target_id, Some(915.0));
}

/// 15 October 2024 is 7,168 days, 1,024 weeks, after 1 March 2005; only GPX and NMEA used to be asked about it.
#[test]
fn times_that_are_1_024_weeks_too_early_are_asked_about_in_tables_kml_and_tcx_too() {
    let table: String = (0..5).map(|n| format!("2005-03-01,10:0{n}:00,45.000{n},-20\n")).collect();
    let fix = |n: u32| {
        format!(
            "<Trackpoint><Time>2005-03-01T10:0{n}:00Z</Time><Position><LatitudeDegrees>45.000{n}</LatitudeDegrees>\
             <LongitudeDegrees>-20</LongitudeDegrees></Position></Trackpoint>"
        )
    };
    let tcx = format!(
        "<TrainingCenterDatabase><Activities><Activity><Lap><Track>{}</Track></Lap></Activity></Activities></TrainingCenterDatabase>",
        (0..5).map(fix).collect::<String>()
    );
    let (whens, coords): (String, String) =
        (0..5).map(|n| (format!("<when>2005-03-01T10:0{n}:00Z</when>"), format!("<gx:coord>-20 45.000{n} 0</gx:coord>"))).unzip();
    let kml = format!(
        "<kml xmlns=\"http://www.opengis.net/kml/2.2\" xmlns:gx=\"http://www.google.com/kml/ext/2.2\"><Document><Placemark>\
         <gx:Track>{whens}{coords}</gx:Track></Placemark></Document></kml>"
    );
    for (name, text) in [("a.csv", format!("date,time,lat,lon\n{table}")), ("a.tcx", tcx), ("a.kml", kml)] {
        for (answer, day) in [(None, "2005-03-01"), (Some("later"), "2024-10-15")] {
            let answers = answer.map(|a| (About::Weeks, a)).into_iter().collect();
            let options = Options { answers, now: Some("2026-06-01T00:00:00Z".parse().unwrap()), ..Options::default() };
            let intake = take(name, &text, &book(), &options);
            let track = records(&intake).into_iter().find_map(|r| if let Record::Track(t) = r { Some(t) } else { None }).unwrap();
            assert!(track.span().unwrap().0.to_string().starts_with(day), "{name} {answer:?}: {track:?}");
            let asked: Vec<_> = intake.unsettled.iter().map(|u| (u.about, u.taken)).collect();
            let open = if answer.is_none() { vec![(About::Weeks, Some("as-written"))] } else { Vec::new() };
            assert_eq!(asked, open, "{name}");
        }
    }
}

#[test]
fn the_side_in_a_heading_counts_for_degrees_that_state_none() {
    for (lon, value, got) in [
        ("Longitude (W)", "20.0001", -20.0001),
        ("Longitude (W)", "-20.0001", -20.0001),
        ("Longitude (W)", "20.0001 W", -20.0001),
        ("Longitude (\u{b0}W)", "20.0001", -20.0001),
        ("Longitude (deg)", "-20.0001", -20.0001),
    ] {
        let intake = take("a.csv", &format!("Latitude (N),{lon},what\n45.0001,{value},coin\n"), &book(), &Options::default());
        let at = finds(&intake)[0].at;
        assert_eq!((at.lon_deg(), at.lat_deg()), (got, 45.0001), "{lon} {value}");
    }
    let west = "Latitude (N),Longitud (O),what\n45.0001,20.0001,coin\n";
    let intake = take("a.csv", west, &book(), &Options::default());
    assert_eq!(intake.refused_count, 1);
    assert!(intake.refused[0].why.contains("east in some languages"), "{:?}", intake.refused);
}

/// Columns that name the clock of their row were kept as words, and the times read on the beach's own.
#[test]
fn a_column_of_clocks_is_heeded_row_by_row() {
    for heading in ["timezone", "tz", "UTC offset", "Time zone", "zone"] {
        let rows = "2024-07-13,10:00,UTC,45.0001,-20,coin\n2024-07-13,10:30,+02:00,45.0002,-20,nail\n\
                    2024-07-13,11:00,,45.0003,-20,ring\n";
        let intake = take("a.csv", &format!("date,time,{heading},lat,lon,what\n{rows}"), &book(), &Options::default());
        let times: Vec<_> = finds(&intake).iter().map(|f| (f.what.clone(), f.time.unwrap().to_string())).collect();
        let right = [("nail", "2024-07-13T08:30:00Z"), ("coin", "2024-07-13T10:00:00Z"), ("ring", "2024-07-13T10:00:00Z")];
        assert_eq!(times, right.map(|(what, time)| (what.to_owned(), time.to_owned())), "{heading}");
    }
    let named = "date,time,tz,lat,lon,what\n2024-07-13,10:00,America/New_York,45,-20,coin\n";
    assert_eq!(finds(&take("a.csv", named, &book(), &Options::default()))[0].time.unwrap().to_string(), "2024-07-13T14:00:00Z");
    let short = take("a.csv", &named.replace("America/New_York", "EST"), &book(), &Options::default());
    assert_eq!((short.refused_count, finds(&short).len()), (1, 0));
    assert!(short.refused[0].why.contains("\"EST\"") && short.refused[0].why.contains("--zone"), "{:?}", short.refused);
    // A part of the beach is none.
    let part = "date,time,zone,lat,lon,what\n2024-07-13,10:00,upper,45,-20,coin\n";
    assert_eq!(finds(&take("a.csv", part, &book(), &Options::default()))[0].time.unwrap().to_string(), "2024-07-13T09:00:00Z");
}

/// "Jour" and "Dag" are days of the week as well, "Bredde" and "Længde" width and length: what stands there tells.
#[test]
fn headings_of_several_meanings_are_told_by_their_values() {
    for (day, lat, lon) in [
        ("Dag", "Bredde", "L\u{e6}ngde"),
        ("Dag", "Breedte", "Lengte"),
        ("Jour", "lat", "lon"),
        ("D\u{ed}a", "lat", "lon"),
        ("Dia", "lat", "lon"),
    ] {
        let table = format!("{day};{lat};{lon};what\n13.10.2023;45,0001;-20,0001;coin\n14.10.2023;45,0002;-20,0002;ring\n");
        let intake = take("a.csv", &table, &book(), &Options::default());
        let got: Vec<_> = finds(&intake).iter().map(|f| (f.at.lat_deg(), f.at.lon_deg(), f.time.unwrap().to_string())).collect();
        let noon = |day: u32| format!("2023-10-{day}T11:00:00Z");
        assert_eq!(got, [(45.0001, -20.0001, noon(13)), (45.0002, -20.0002, noon(14))], "{day} {lat}: {intake:?}");
    }
    let widths = "date;lat;lon;what;Dag;Lengte\n2023-10-13;45,0001;-20,0001;coin;vrijdag;12\n";
    let find = &finds(&take("a.csv", widths, &book(), &Options::default()))[0];
    assert_eq!((find.more["Dag"].as_str(), find.more["Lengte"].as_str()), ("vrijdag", "12"));
}
