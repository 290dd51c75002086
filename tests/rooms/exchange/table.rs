//! Tables and GeoJSON as strangers write them.

use super::common::{book, find_of, records, take};
use scourline::book::{Edit, Record, RecordKind, TideChoice};
use scourline::exchange::{Fault, Options, What};

#[test]
fn finds_in_any_order_case_and_wording() {
    let text = "Weight (g);What;Lat;Lng;Depth in;Target ID;Found date;colour\n\
                3,5;Bent 2p coin;45,0001;-20,0002;6;12-14;13/05/2024 14:30;green\n\
                heavy;lead sinker;45,0002;-20,0003;4 cm;;01/06/2024;\n";
    let intake = take("finds.csv", text, &book(), &Options::default());
    assert_eq!(intake.refused, []);
    let finds: Vec<_> = records(&intake).into_iter().filter_map(find_of).collect();
    let coin = finds.iter().find(|f| f.what == "Bent 2p coin").unwrap();
    assert_eq!(coin.kind.key(), "coin");
    assert!((coin.depth_m.unwrap() - 0.1524).abs() < 1e-9);
    assert_eq!((coin.mass_g, coin.target_id), (Some(3.5), Some(13.0)));
    assert_eq!((coin.at.lon_deg(), coin.at.lat_deg()), (-20.0002, 45.0001));
    assert_eq!(coin.time.unwrap().to_string(), "2024-05-13T13:30:00Z", "the beach's clock is an hour ahead in summer");
    let lead = finds.iter().find(|f| f.what == "lead sinker").unwrap();
    assert_eq!(lead.weight.unwrap().word(), "heavy");
    assert_eq!(lead.depth_m, Some(0.04));
    let told = format!("{:?}", intake.understood);
    for part in ["decimal sign", "comma", "day first, as a date in the file can only be that", "colour", "inches"] {
        assert!(told.contains(part), "{part} in {told}");
    }
}

#[test]
fn the_same_finds_in_another_format_are_already_there() {
    let mut book = book();
    let csv = "lon,lat,time,what,depth_cm\n-20.0002,45.0001,2024-05-13T13:30:00Z,penny,15\n";
    let first = take("a.csv", csv, &book, &Options::default());
    book.apply(&first.edit).unwrap();
    let json = r#"{"type":"FeatureCollection","features":[{"type":"Feature",
        "geometry":{"type":"Point","coordinates":[-20.0002,45.0001]},
        "properties":{"what":"Penny","time":"2024-05-13T13:30:00Z","depth_m":0.15}}]}"#;
    let second = take("b.geojson", json, &book, &Options::default());
    assert_eq!((second.taken_count(), second.already_there_count()), (0, 1));
}

#[test]
fn an_edited_find_is_known_again_and_left_alone() {
    let mut book = book();
    let csv = "lon,lat,what\n-20,45,penny\n-20,45,penny\n";
    let first = take("a.csv", csv, &book, &Options::default());
    // The second row repeats the first in everything: asked about, and in a new book nothing is there already.
    assert_eq!((first.taken_count(), first.already_there_count(), first.unsettled.len()), (1, 0, 1));
    book.apply(&first.edit).unwrap();
    let mut find = book.finds().values().next().unwrap().clone();
    find.what = "silver penny of an invented king".into();
    book.apply(&Edit::put(find)).unwrap();
    let again = take("copy.csv", csv, &book, &Options::default());
    assert!(again.changes_nothing() && again.already_there_count() == 1);
}

#[test]
fn levels_on_a_declared_grid() {
    // EPSG:32627, zone 27 north: tests/rooms/earth.rs checks the grid itself against PROJ.
    let text = "Easting,Northing,Level (m),sigma_m,Date,Survey\n578815.303,4983436.768,2.5,0.02,2024-05-01,spring\n";
    let options = Options { grid: Some("EPSG:32627".into()), ..Options::default() };
    let intake = take("levels.csv", text, &book(), &options);
    assert_eq!(intake.taken.get(&RecordKind::Level), Some(&1), "{:?}", intake.refused);
    let Some(Record::Level(level)) = records(&intake).into_iter().next() else { panic!("no level") };
    assert!((level.at.lon_deg() + 20.0).abs() < 1e-4 && (level.at.lat_deg() - 45.0).abs() < 1e-4, "{}", level.at);
    assert_eq!((level.level_m, level.sigma_m, level.survey.as_str()), (2.5, Some(0.02), "spring"));
    let error = super::common::fault("levels.csv", text, &book(), &Options::default());
    assert!(matches!(error, Fault::Option(ref why) if why.contains("EPSG:27700")), "{error}");
}

/// A cell `0,58` used to be taken for 0, with no more than a note: sand up to a metre too high, tides as far too low.
#[test]
fn decimals_with_commas_in_a_file_parted_by_commas_are_refused() {
    let grid = Options { grid: Some("EPSG:32627".into()), ..Options::default() };
    let tide = Options { what: Some(What::TideTable), ..Options::default() };
    let plain = Options::default();
    let cases = [
        (
            "easting,northing,level_m\n578815,4983436,-1,85\n578816,4983436,0,58\n578817,4983436,2\n578818,4983436,1,05\n",
            &grid,
            2,
        ),
        ("lon,lat,level_m\n-20.0,45.0,1.0\n-20,0001,45,0001,-1,85\n-20,0002,45,0001,0,58\n-20,0003,45,0001,0,60\n", &plain, 3),
        // Degrees with points beside heights with commas, and a cell behind the heights.
        ("lon,lat,level_m,note\n-20.0,45.0,-1,85,a\n-20.0,45.0,0,58,b\n-20.0,45.0,0,60,c\n", &plain, 2),
        ("time,height\n2025-06-02 00:10,4,58\n2025-06-02 06:20,0,91\n2025-06-02 12:40,4,70\n2025-06-02 18:50,0,84\n", &tide, 2),
        ("Date,Time,Height,High/Low\n2025-06-02,00:10,4,58,H\n2025-06-02,06:20,0,91,L\n2025-06-02,12:40,4,70,H\n", &tide, 2),
        // As a sheet fills up the headings when it saves them again.
        ("time,height,\n2025-06-02 00:10,4,58\n2025-06-02 06:20,0,91\n2025-06-02 12:40,4,70\n", &tide, 2),
    ];
    for (text, options, line) in cases {
        let why = super::common::fault("a.csv", text, &book(), options).to_string();
        assert!(why.contains(&format!("the first in line {line} ")), "{text}: {why}");
        assert!(why.contains("written with commas in a file whose columns are parted by commas"), "{text}: {why}");
        assert!(why.contains("save it with points, or parted by semicolons"), "{text}: {why}");
    }
}

#[test]
fn a_few_odd_rows_with_more_cells_than_headings_stay_a_note() {
    let grid = Options { grid: Some("EPSG:32627".into()), ..Options::default() };
    let row = |n: u32, level: &str| format!("{},4983436,{level}\n", 578_800 + n);
    let table = |odd: u32, all: u32| {
        let rows: String = (0..all).map(|n| row(n, if n < odd { "1,85" } else { "1.85" })).collect();
        format!("easting,northing,level_m\n{rows}")
    };
    // Two of two are too few to tell; three of six are not the most of them.
    for (odd, all) in [(2, 2), (3, 6)] {
        let intake = take("a.csv", &table(odd, all), &book(), &grid);
        assert!(intake.warnings.iter().any(|w| w.contains("hold more cells than there are headings")), "{:?}", intake.warnings);
    }
    // Words behind the last heading are no decimals, nor is what stands in quotes or between semicolons.
    for text in [
        "lon,lat,what\n-20.0,45.0,penny,worn\n-20.0,45.0001,ring,gold\n-20.0,45.0002,key,iron\n",
        "lon,lat,what,depth_cm\n-20.0,45.0,penny,\"5,5\"\n-20.0,45.0001,ring,\"6,5\"\n-20.0,45.0002,key,\"7,5\"\n",
        "lon;lat;what;depth_cm\n-20,0;45,0;penny;5,5\n-20,0;45,0001;ring;6,5\n-20,0;45,0002;key;7,5\n",
    ] {
        let intake = take("a.csv", text, &book(), &Options::default());
        assert_eq!(intake.taken.get(&RecordKind::Find), Some(&3), "{text}: {:?}", intake.refused);
    }
}

#[test]
fn a_record_of_the_sea_is_split_into_storms() {
    let mut text = "time,hs_m,tp_s,dir_deg,surge_m\n".to_owned();
    for hour in 0..72 {
        let hs = if (6..10).contains(&hour) || (14..18).contains(&hour) || (50..53).contains(&hour) {
            3.0 + f64::from(hour) / 100.0
        } else {
            1.0
        };
        text += &format!("2024-01-{:02}T{:02}:00:00Z,{hs},9,250,0.4\n", 1 + hour / 24, hour % 24);
    }
    let intake = take("sea.csv", &text, &book(), &Options::default());
    assert_eq!(intake.taken.get(&RecordKind::Storm), Some(&2));
    let lengths: Vec<_> =
        records(&intake).into_iter().filter_map(|r| if let Record::Storm(s) = r { Some(s.series.len()) } else { None }).collect();
    assert_eq!(lengths.iter().sum::<usize>(), 12 + 3, "a calm of four hours does not part a storm");
    assert!(format!("{:?}", intake.understood).contains("at least 2.0 m"));
    let calm = take("sea.csv", &text, &book(), &Options { storm_threshold_m: Some(9.0), ..Options::default() });
    assert_eq!(calm.taken.keys().copied().collect::<Vec<_>>(), [RecordKind::SeaRecord], "no storm");
    assert!(calm.warnings[0].contains("below the threshold of 9.0 m"));
}

#[test]
fn a_surge_is_read_under_its_other_names_and_one_without_waves_says_what_to_do() {
    let rows = "2024-01-01T00:00:00Z,1.0,8,0.4\n2024-01-01T03:00:00Z,,8,1.2\n";
    for heading in ["storm_surge_m", "sea_level_anomaly_m", "surge_m"] {
        let intake = take("sea.csv", &format!("time,hs_m,tp_s,{heading}\n{rows}"), &book(), &Options::default());
        let record =
            records(&intake).into_iter().find_map(|r| if let Record::SeaRecord(s) = r { Some(s) } else { None }).unwrap();
        assert_eq!(record.states.iter().map(|s| s.surge_m).collect::<Vec<_>>(), [Some(0.4)], "{heading}");
        let refused = format!("{:?}", intake.refused);
        assert!(refused.contains("a surge of 1.20 m and no wave height") && refused.contains("--surge"), "{refused}");
    }
}

/// Of a record only the storms were kept, so that a calm day had no waves to run up.
#[test]
fn a_record_of_the_sea_is_kept_whole_and_a_forecast_of_its_name_carries_it_on() {
    let rows = |from: i64, to: i64, hs: f64| -> String {
        let row = |h: i64| format!("2024-01-{:02}T{:02}:00:00Z,{hs},8,250,0.1\n", 1 + h / 24, h % 24);
        "time,hs_m,tp_s,dir_deg,surge_m\n".to_owned() + &(from..to).map(row).collect::<String>()
    };
    let kept = |intake: &scourline::exchange::Intake| {
        records(intake).into_iter().find_map(|r| if let Record::SeaRecord(s) = r { Some(s) } else { None })
    };
    let mut book = book();
    let first = take("sea.csv", &rows(0, 48, 0.8), &book, &Options::default());
    let record = kept(&first).unwrap();
    assert_eq!((record.states.len(), record.name.as_str(), record.states[7].hs_m), (48, "sea", 0.8));
    book.apply(&first.edit).unwrap();
    let again = take("sea.csv", &rows(0, 48, 0.8), &book, &Options::default());
    assert!(again.changes_nothing() && again.already_there_count() == 1, "{again:?}");
    // The next day's forecast replaces what it overlaps and reaches further.
    let forecast = take("sea.csv", &rows(24, 72, 1.6), &book, &Options::default());
    book.apply(&forecast.edit).unwrap();
    let records = book.seas().values().collect::<Vec<_>>();
    let [record] = records[..] else { panic!("one record of one name: {records:?}") };
    assert_eq!(record.states.len(), 72);
    assert!(record.states.iter().enumerate().all(|(n, s)| s.hs_m == if n < 24 { 0.8 } else { 1.6 }));
    let other = take("buoy.csv", &rows(0, 3, 0.5), &book, &Options::default());
    assert_eq!(other.taken.get(&RecordKind::SeaRecord), Some(&1), "another name is another record");
}

#[test]
fn highs_and_lows_in_turn_are_a_tide_table_and_readings_a_gauge() {
    let table = "Date,Time,Height (ft)\n2024-01-01,00:10,10\n2024-01-01,06:20,2\n2024-01-01,12:40,10.5\n2024-01-01,18:50,1.5\n";
    let intake = take("tides.csv", table, &book(), &Options::default());
    let Some(Record::TideTable(tides)) = records(&intake).into_iter().next() else { panic!("no table: {intake:?}") };
    assert_eq!(tides.turns.iter().map(|t| t.high).collect::<Vec<_>>(), [true, false, true, false]);
    assert!((tides.turns[0].level_m - 3.048).abs() < 1e-9);
    let gauge: String = (0..60).map(|m| format!("2024-01-01 00:{m:02},{}\n", 1.0 + f64::from(m % 2) / 100.0)).collect();
    let intake = take("gauge.csv", &format!("time,height\n{gauge}"), &book(), &Options::default());
    assert_eq!(intake.taken.get(&RecordKind::Gauge), Some(&1));
    assert!(matches!(book().beaches().values().next().unwrap().tide, TideChoice::None));
}

/// Two ports in one table were taken for the record of one gauge.
#[test]
fn the_water_of_several_places_is_not_taken_for_that_of_one() {
    let row = |port: &str, n: i32| {
        format!("{port},2026-11-{:02}T{:02}:{}:00Z,{}\n", 1 + n / 4, n % 4 * 6, 10 + n, [5.1, 1.1][n as usize % 2])
    };
    let rows = |port: &str| (0..8).map(|n| row(port, n)).collect::<String>();
    let of =
        |heading: &str, rows: String| take("t.csv", &format!("{heading},time,height_m\n{rows}"), &book(), &Options::default());
    for heading in ["port", "Station name", "Harbour"] {
        let both = of(heading, rows("North Quay") + &rows("South Quay"));
        let [refused] = both.refused.as_slice() else { panic!("{both:?}") };
        assert!(
            both.taken.is_empty() && refused.why.contains("2 places") && refused.why.contains("South Quay"),
            "{}",
            refused.why
        );
    }
    let one = of("port", rows("North Quay") + &rows("north quay ").replace("-02T", "-04T").replace("-01T", "-03T"));
    assert_eq!(one.taken.get(&RecordKind::TideTable), Some(&1), "{one:?}");
}

/// What was headed `sea_level_m` or `level_m` was dropped, and the surge was nought without a word.
#[test]
fn what_may_be_a_surge_beside_waves_is_taken_or_told() {
    let rows = "2026-11-01T00:00:00Z,1.2,7,0.5\n2026-11-01T03:00:00Z,1.3,7,0.6\n";
    let of = |heading: &str, options: &Options| {
        let intake = take("sea.csv", &format!("time,hs_m,tp_s,{heading}\n{rows}"), &book(), options);
        let surge =
            records(&intake).into_iter().find_map(|r| if let Record::SeaRecord(s) = r { s.states[0].surge_m } else { None });
        let told = intake.warnings.iter().find(|w| w.contains("may be the surge or the whole height of the water")).cloned();
        (surge, told)
    };
    for heading in ["surge", "residual", "residual_m", "surge_m", "non_tidal_residual_m"] {
        assert_eq!(of(heading, &Options::default()), (Some(0.5), None), "{heading}");
    }
    for heading in ["sea_level_m", "level_m", "change_m", "water_level_m", "tide_m"] {
        let (surge, told) = of(heading, &Options::default());
        let told = told.unwrap_or_else(|| panic!("{heading} is told"));
        assert!(surge.is_none() && told.contains(&format!("--columns \"{heading}=surge_m\"")), "{told}");
        let columns = vec![(heading.to_owned(), "surge_m".to_owned())];
        assert_eq!(of(heading, &Options { columns, ..Options::default() }), (Some(0.5), None), "{heading}");
    }
    for heading in ["water_temperature", "sea_level_pressure", "wind"] {
        assert_eq!(of(heading, &Options::default()), (None, None), "{heading}");
    }
}

/// A permission whose hours were words was refused, all else was taken, and the route asked nobody.
#[test]
fn a_permission_whose_hours_cannot_be_read_is_refused_with_what_that_means() {
    let of = |hours: &str| {
        let text = format!(
            r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{"role":"permission","name":"p","holder":"An Invented Estate","hours":"{hours}"}},"geometry":{{"type":"Polygon","coordinates":[[[-20,45],[-19.99,45],[-19.99,45.01],[-20,45]]]}}}}]}}"#
        );
        take("p.geojson", &text, &book(), &Options::default())
    };
    for (hours, read) in
        [("00:00-24:00", (0, 0)), ("6-8", (6, 8)), ("06:00 to 24:00", (6, 0)), ("8am-6pm", (8, 18)), ("9-17:30", (9, 17))]
    {
        let permission = records(&of(hours)).into_iter().find_map(|r| if let Record::Permission(p) = r { p.hours } else { None });
        assert_eq!(permission.map(|(a, b)| (a.hour(), b.hour())), Some(read), "{hours}");
    }
    for hours in ["sunrise-sunset", "dawn to dusk", "6-8pm", "office hours"] {
        let intake = of(hours);
        let [refused] = intake.refused.as_slice() else { panic!("{intake:?}") };
        let by_the_sun = hours.starts_with("sun") || hours.starts_with("dawn");
        assert!(refused.why.contains("no route keeps to its ground, days and hours"), "{}", refused.why);
        assert_eq!(refused.why.contains("hours of the clock"), by_the_sun, "{}", refused.why);
    }
}

/// Turns of a double water as a harbour with one has them: invented figures, after the shape that Southampton's tide has by
/// the constituents of the shipped catalogue.
#[test]
fn a_few_heights_a_day_at_odd_hours_are_a_table_or_refused_with_what_is_wrong_and_never_a_gauge() {
    let doubled = [
        ("2026-11-15 02:12", 4.01),
        ("2026-11-15 07:46", 1.55),
        ("2026-11-15 10:24", 2.60),
        ("2026-11-15 11:12", 2.56),
        ("2026-11-15 14:28", 3.93),
        ("2026-11-15 20:08", 1.39),
        ("2026-11-15 22:58", 2.36),
        ("2026-11-15 23:14", 2.35),
        ("2026-11-16 03:00", 3.90),
        ("2026-11-16 08:28", 1.77),
    ];
    let read = |rows: &[(&str, f64)]| {
        let rows: String = rows.iter().map(|(time, m)| format!("{time},{m:.2}\n")).collect();
        take("table.csv", &format!("time,height\n{rows}"), &book(), &Options::default())
    };
    let refused = |rows: &[(&str, f64)]| {
        let intake = read(rows);
        assert!(intake.taken.is_empty() && intake.refused_count == 1, "{intake:?}");
        (intake.refused[0].line, intake.refused[0].why.clone())
    };
    assert_eq!(read(&doubled).taken.get(&RecordKind::TideTable), Some(&1));
    let alike: Vec<(&str, f64)> = doubled.iter().map(|(t, m)| (*t, if *m == 2.35 { 2.36 } else { *m })).collect();
    let intake = read(&alike);
    assert_eq!(intake.taken.get(&RecordKind::TideTable), Some(&1));
    assert!(intake.warnings.iter().any(|w| w.starts_with("lines 8 and 9 (2.36 m)") && w.contains("stand there")), "{intake:?}");
    // Only its low waters, twelve hours apart; the highs of the same days would rise and fall like them.
    let lows = [("15 07:46", 1.5), ("15 20:08", 1.3), ("16 08:28", 1.7), ("16 20:49", 1.6), ("17 09:18", 1.9), ("17 21:46", 2.0)];
    let dated: Vec<(String, f64)> = lows.iter().map(|(t, m)| (format!("2026-11-{t}"), *m)).collect();
    let (_, why) = refused(&dated.iter().map(|(t, m)| (t.as_str(), *m)).collect::<Vec<_>>());
    assert!(why.contains("only its low waters or only its high waters: give the others too"), "{why}");
    // Where each row says which it is, in so many words.
    let named: String = dated.iter().map(|(t, m)| format!("{t},{m},low\n")).collect();
    let intake = take("lows.csv", &format!("time,height,turn\n{named}"), &book(), &Options::default());
    assert!(intake.refused[0].why.starts_with("only low waters: "), "{intake:?}");
    assert!(intake.refused[0].why.contains("give the high waters too"), "{intake:?}");
    // The afternoon lost.
    let lost: Vec<(String, f64)> = doubled
        .iter()
        .map(|(t, m)| {
            let hour: u32 = t[11..13].parse().unwrap();
            (format!("{} {:02}{}", &t[..10], if hour > 12 { hour - 12 } else { hour }, &t[13..]), *m)
        })
        .collect();
    let (_, why) = refused(&lost.iter().map(|(t, m)| (t.as_str(), *m)).collect::<Vec<_>>());
    assert!(why.contains("no row is of the afternoon") && why.contains("--as gauge"), "{why}");
    // Every three hours, or a person's word: a gauge.
    let even: String = (0..16).map(|n| format!("2026-11-{:02} {:02}:00,{}\n", 15 + n / 8, n % 8 * 3, n % 5)).collect();
    let intake = take("gauge.csv", &format!("time,height\n{even}"), &book(), &Options::default());
    assert_eq!(intake.taken.get(&RecordKind::Gauge), Some(&1), "{intake:?}");
    let rows: String = alike.iter().map(|(time, m)| format!("{time},{m:.2}\n")).collect();
    let options = Options { what: Some(What::Gauge), ..Options::default() };
    let intake = take("table.csv", &format!("time,height\n{rows}"), &book(), &options);
    assert_eq!(intake.taken.get(&RecordKind::Gauge), Some(&1), "{intake:?}");
}

#[test]
fn setups_outings_and_bench_build_on_each_other() {
    let mut book = book();
    let setups = "name,machine,mode,sensitivity,ground balance,coil_width_cm\nwet sand,an invented machine,salt ground,half of full,by hand,28\n";
    let outings = "start,end,setup,sand\n2024-05-01 09:00,2024-05-01 12:00,Wet Sand,cut; black sand\n2024-05-02 09:00,2024-05-02 08:00,,\n2024-05-03 09:00,2024-05-03 10:00,no such,\n";
    let bench = "setup,target,depth_cm,target ids,dig\nwet sand,invented penny,20,12 13 12,yes\nwet sand,control,20,,no\n";
    let all = super::common::take_all(
        &[("bench.csv", bench), ("outings.csv", outings), ("setups.csv", setups)],
        &book,
        &Options::default(),
    );
    assert!(all.failed.is_empty(), "{:?}", all.failed);
    assert_eq!(all.intakes.iter().map(|i| i.taken_count()).collect::<Vec<_>>(), [2, 1, 1]);
    assert_eq!(all.intakes[1].refused.iter().map(|r| r.line).collect::<Vec<_>>(), [3, 4]);
    book.apply(&all.edit()).unwrap();
    let outing = book.outings().values().next().unwrap();
    assert_eq!((outing.setup.is_some(), outing.sand.len()), (true, 2));
    let control = book.bench().values().find(|b| b.kind.is_none()).unwrap();
    assert_eq!((control.target_ids.len(), control.dig), (0, Some(false)));
}

#[test]
fn finds_meet_the_outings_of_tracks_whatever_the_order() {
    let track = r#"<gpx version="1.1"><trk><trkseg>
        <trkpt lat="45" lon="-20"><time>2024-05-01T10:00:00Z</time></trkpt>
        <trkpt lat="45.001" lon="-20"><time>2024-05-01T12:00:00Z</time></trkpt></trkseg></trk></gpx>"#;
    let finds = "lon,lat,what,time\n-20,45,penny,2024-05-01T11:00:00Z\n";
    let all = super::common::take_all(&[("finds.csv", finds), ("walk.gpx", track)], &book(), &Options::default());
    let mut book = book();
    book.apply(&all.edit()).unwrap();
    assert_eq!(book.count(RecordKind::Outing), 1);
    assert_eq!(book.finds().values().next().unwrap().outing, book.outings().keys().next().copied());
}

#[test]
fn geojson_roles_decide_and_lines_are_asked_about() {
    let text = r#"{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"role":"baseline","seaward":"left"},"geometry":{"type":"LineString","coordinates":[[-20,45],[-20,45.01]]}},
{"type":"Feature","properties":{"name":"bathing","use":"bathing"},"geometry":{"type":"Polygon","coordinates":[[[-20,45],[-19.99,45],[-19.99,45.01],[-20,45]]]}},
{"type":"Feature","properties":{"role":"permission","name":"the estate","holder":"An Invented Estate","from":"2024-01-01","to":"2024-12-31","hours":"09:00-18:00","exact_positions":false,"coarsen_m":100},"geometry":{"type":"MultiPolygon","coordinates":[[[[-20,45],[-19.99,45],[-19.99,45.01],[-20,45]]]]}},
{"type":"Feature","properties":{"role":"access","name":"slipway"},"geometry":{"type":"Point","coordinates":[-20,45]}},
{"type":"Feature","properties":{"role":"barrier","kind":"groyne"},"geometry":{"type":"LineString","coordinates":[[-20,45],[-20,45.001]]}},
{"type":"Feature","properties":{"role":"level","level_m":1.25},"geometry":{"type":"MultiPoint","coordinates":[[-20,45],[-20,45.0001]]}},
{"type":"Feature","properties":{"role":"signal","target_id":[12,13]},"geometry":{"type":"Point","coordinates":[-20,45]}},
{"type":"Feature","properties":{"find":"ring pull","mass_g":0.4},"geometry":{"type":"Point","coordinates":[-20,45,1.5]}},
{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[-20,45],[-20,45.001]]}},
{"type":"Feature","properties":{},"geometry":null},
{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[-20]}},
{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[-20,145]}},
{"type":"Feature","properties":{"role":"songs"},"geometry":{"type":"Point","coordinates":[-20,45]}}
]}"#;
    let mut book = book();
    let intake = take("all.geojson", text, &book, &Options::default());
    assert_eq!(intake.refused.iter().map(|r| r.line).collect::<Vec<_>>(), [10, 11, 12, 13, 14], "{:?}", intake.refused);
    assert!(intake.refused[0].why.contains("baseline or as tracks"));
    for (kind, count) in [
        (RecordKind::Beach, 1),
        (RecordKind::Zone, 1),
        (RecordKind::Permission, 1),
        (RecordKind::Access, 1),
        (RecordKind::Barrier, 1),
        (RecordKind::Level, 2),
        (RecordKind::Signal, 1),
        (RecordKind::Find, 1),
    ] {
        assert_eq!(intake.taken.get(&kind), Some(&count), "{kind}");
    }
    book.apply(&intake.edit).unwrap();
    assert_eq!(book.beaches().values().next().unwrap().baseline.len(), 2);
    assert_eq!(book.permissions().values().next().unwrap().hours.map(|h| h.0.hour()), Some(9));
    let again = take("again.geojson", text, &book, &Options::default());
    assert!(again.changes_nothing(), "{:?}", again.taken);
    let line = r#"{"type":"LineString","coordinates":[[-20,45],[-20,45.02]]}"#;
    let forced = take("line.json", line, &book, &Options { what: Some(What::Baseline), ..Options::default() });
    assert!(forced.warnings[0].contains("is replaced"), "{:?}", forced.warnings);
}

/// Headings that say nothing, or something else than is meant, are given a meaning by hand.
#[test]
fn columns_are_given_a_meaning_by_their_heading() {
    let text = "North-ish;East-ish;Ding;Deep;Colour\n45,0001;-20,0001;invented penny;12,5;7\n";
    let given = |columns: &[(&str, &str)]| Options {
        columns: columns.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect(),
        ..Options::default()
    };
    let options =
        given(&[("north-ish", "lat"), ("East-ish", "lon"), ("ding", "what"), ("Deep", "depth_cm"), ("Kolour", "material")]);
    let intake = take("odd.csv", text, &book(), &options);
    let find = records(&intake).into_iter().find_map(find_of).unwrap();
    assert_eq!((find.at.lat_deg(), find.what.as_str(), find.depth_m), (45.0001, "invented penny", Some(0.125)));
    assert_eq!(find.more["Colour"], "7");
    assert!(intake.warnings.iter().any(|w| w.contains("no column \"kolour\"")), "{:?}", intake.warnings);
    assert!(
        intake.understood.iter().any(|u| u.what == "column \"Deep\"" && u.how.starts_with("depth")),
        "{:?}",
        intake.understood
    );
    let none = take("f.csv", "lat,lon,what,depth\n45,-20,penny,3\n", &book(), &given(&[("depth", "none")]));
    let find = records(&none).into_iter().find_map(find_of).unwrap();
    assert_eq!((find.depth_m, find.more["depth"].as_str()), (None, "3"));
    let wrong = super::common::fault("odd.csv", text, &book(), &given(&[("Deep", "songs")]));
    assert!(matches!(wrong, Fault::Option(ref why) if why.contains("\"songs\" is no meaning of a column")), "{wrong}");
}

/// Said to be feet, levels were once kept as metres.
#[test]
fn levels_that_are_said_to_be_feet_are() {
    let table = "lon,lat,level\n-20,45,16.4\n-20,45.0001,-2\n";
    let options = Options { feet: true, what: Some(scourline::exchange::What::Levels), ..Options::default() };
    let intake = take("levels.csv", table, &book(), &options);
    let levels: Vec<f64> = records(&intake)
        .into_iter()
        .filter_map(|r| if let scourline::book::Record::Level(l) = r { Some(l.level_m) } else { None })
        .collect();
    // A foot is 0.3048 m by definition (the international yard and pound agreement of 1959).
    let is_there = |ft: f64| levels.iter().any(|m| (m - 0.3048 * ft).abs() < 1e-9);
    assert!(levels.len() == 2 && is_there(16.4) && is_there(-2.0), "{levels:?}");
    let stated = take("stated.csv", &table.replace("level", "level (ft)"), &book(), &options);
    assert_eq!(stated.understood.iter().filter(|u| u.how.contains("feet as asked")).count(), 0);
}

/// A refusal names the line that a row stands on, whatever blank lines and cells of several lines come before it.
#[test]
fn a_row_is_named_by_its_own_line() {
    let text = "lat,lon,what,notes\n\n\n45.0001,-20.0001,penny,\"two\nlines\"\n\n45.0002,north,penny,\n45.0003,north,penny,";
    let intake = take("finds.csv", text, &book(), &Options::default());
    assert_eq!(intake.refused.iter().map(|r| r.line).collect::<Vec<_>>(), [7, 8], "{:?}", intake.refused);
}
