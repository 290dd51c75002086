//! Files so large that a thread of its own takes them apart: nothing is lost, and every fault keeps its line. All invented.

use std::fmt::Write as _;

use super::common::{book, fault, records, take, try_take};
use scourline::Progress;
use scourline::book::{Record, RecordKind};
use scourline::exchange::{ExchangeError, Fault, Options, Source, look};

/// How many records; as text they are more than half a megabyte.
const MANY: usize = 12_000;
/// The one that is wrong.
const BAD: usize = 11_000;

fn place(n: usize) -> (f64, f64) {
    (-20.0 + (n % 100) as f64 * 1e-5, if n == BAD { 95.0 } else { 45.0 + (n / 100) as f64 * 1e-5 })
}

fn table() -> String {
    let mut text = String::from("lon,lat,time,what,depth_cm,notes\n");
    for n in 0..MANY {
        let (lon, lat) = place(n);
        writeln!(text, "{lon:.5},{lat:.5},2024-05-01T10:{:02}:{:02}Z,find {n},{},\"note {n}\"", n / 60 % 60, n % 60, n % 40)
            .unwrap();
        // A row that holds nothing is none.
        if n % 1000 == 0 {
            text.push_str(",,,,,\n");
        }
    }
    text
}

fn features() -> String {
    let mut text = String::from("{\"type\":\"FeatureCollection\",\"features\":[\n");
    for n in 0..MANY {
        let (lon, lat) = place(n);
        let comma = if n + 1 < MANY { "," } else { "" };
        writeln!(
            text,
            "{{\"type\":\"Feature\",\"geometry\":{{\"type\":\"Point\",\"coordinates\":[{lon:.5},{lat:.5}]}},\"properties\":{{\"what\":\"find \
             {n}\",\"depth_m\":0.1}}}}{comma}"
        )
        .unwrap();
    }
    text + "]}\n"
}

fn waypoints() -> String {
    let mut text = String::from("<gpx version=\"1.1\">\n");
    for n in 0..MANY {
        let (lon, lat) = place(n);
        writeln!(text, "<wpt lon=\"{lon:.5}\" lat=\"{lat:.5}\"><name>find &amp; {n}</name><desc>d{n}</desc></wpt>").unwrap();
    }
    text + "</gpx>\n"
}

#[test]
fn a_large_file_is_read_whole_and_its_faults_keep_their_lines() {
    // The headings and a blank row for every thousand; the head of the collection; the opening tag.
    let files = [("a.csv", table(), BAD + 2 + 11), ("b.geojson", features(), BAD + 2), ("c.gpx", waypoints(), BAD + 2)];
    for (name, text, bad_line) in files {
        assert!(text.len() > 500_000, "{name}");
        let intake = take(name, &text, &book(), &Options::default());
        assert_eq!((intake.taken[&RecordKind::Find], intake.refused_count), (MANY - 1, 1), "{name}: {intake:?}");
        assert_eq!(intake.refused[0].line, bad_line as u64, "{name}");
        let whats: Vec<String> = records(&intake)
            .into_iter()
            .filter_map(|r| if let Record::Find(f) = r { Some(f.what.clone()) } else { None })
            .collect();
        let right = |n: usize| if name == "c.gpx" { format!("find & {n}") } else { format!("find {n}") };
        assert!(whats.iter().eq((0..MANY).filter(|n| *n != BAD).map(right).collect::<Vec<_>>().iter()), "{name}: out of order");
    }
}

#[test]
fn a_large_file_that_breaks_off_is_told_by_its_last_line() {
    for (name, text) in [("b.geojson", features()), ("c.gpx", waypoints())] {
        let lines = text.lines().count();
        let cut = &text[..text.len() - if name == "b.geojson" { 4 } else { 8 }];
        match fault(name, cut, &book(), &Options::default()) {
            Fault::Truncated { line } => assert!((line as usize).abs_diff(lines) <= 1, "{name}: {line} of {lines}"),
            other => panic!("{name}: {other}"),
        }
    }
    // Bytes that are no text, far down.
    let mut bytes = table().into_bytes();
    let at = bytes.len() - 20;
    bytes[at] = 0xFF;
    let of_a_code_page = try_take("a.csv", &bytes, &book(), &Options::default()).unwrap();
    assert_eq!(of_a_code_page.taken[&RecordKind::Find], MANY - 1, "text that is not UTF-8 is of the old Western code page");
    let mut bytes = features().into_bytes();
    bytes[at.min(700_000)] = 0xFF;
    assert!(matches!(fault("b.geojson", &bytes, &book(), &Options::default()), Fault::Encoding { .. }));
}

#[test]
fn the_reading_of_a_large_file_can_be_called_off() {
    for (name, text) in [("a.csv", table()), ("b.geojson", features()), ("c.gpx", waypoints())] {
        let progress = Progress::new();
        progress.cancel();
        let stopped = look(&Source::bytes(name, text.into_bytes()), &book(), &Options::default(), &progress);
        assert!(matches!(stopped, Err(ExchangeError::Cancelled(_))), "{name}: {stopped:?}");
    }
}
