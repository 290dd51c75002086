//! GPX against PyPI gpxpy 1.6.2 on awkward files of our own; `tests/reference/exchange/check.py` does the same with
//! that library's.

use std::path::{Path, PathBuf};

use scourline::Progress;
use scourline::book::{Beach, Book, Edit, Record};
use scourline::earth::LonLat;
use scourline::exchange::{Options, Source, extent, look};

fn reference() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/exchange")
}

fn book_at(lon: f64, lat: f64) -> Book {
    let mut book = Book::new();
    book.apply(&Edit::put(Beach::new("Invented Bay", LonLat::new(lon, lat).unwrap()))).unwrap();
    book
}

/// The same counts as gpxpy for every sample file; `make_gpx_counts.py` made the table.
#[test]
fn counts_agree_with_gpxpy() {
    let mut table = csv::Reader::from_path(reference().join("gpx_counts.csv")).unwrap();
    let mut checked = 0;
    for row in table.records().map(|r| r.unwrap()) {
        let source = Source::path(reference().join("samples").join(&row[0]));
        let Some(extent) = extent(std::slice::from_ref(&source), &Options::default(), &Progress::new()).unwrap() else {
            assert_eq!(&row[4], "0", "{}", &row[0]);
            continue;
        };
        let book = book_at(extent.middle.lon_deg(), extent.middle.lat_deg());
        let intake = look(&source, &book, &Options::default(), &Progress::new()).unwrap();
        assert_eq!(&row[1], "read", "{}", &row[0]);
        let wanted = format!(
            "{} track(s) with {} segment(s) and {} position(s), {} route(s) with {} position(s), {} waypoint(s)",
            &row[2], &row[3], &row[4], &row[5], &row[6], &row[7]
        );
        assert!(intake.guess.ends_with(&wanted), "{}: {} but {wanted}", &row[0], intake.guess);
        checked += 1;
        let mut book = book;
        book.apply(&intake.edit).unwrap();
        let again = look(&source, &book, &Options::default(), &Progress::new()).unwrap();
        assert!(again.changes_nothing(), "{} twice", &row[0]);
    }
    assert_eq!(checked, 8, "all but the two without any position");
}

#[test]
fn a_track_keeps_its_segments_and_what_each_fix_said() {
    let gpx = br#"<?xml version="1.0"?>
<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">
 <trk><name>lanes</name>
  <trkseg>
   <trkpt lat="45.0001" lon="-20.0"><ele>1.5</ele><time>2024-05-01T10:00:00Z</time><sat>9</sat><hdop>0.8</hdop></trkpt>
   <trkpt lat="95" lon="-20.0"/>
   <trkpt lat="NaN" lon="-20.0"/>
   <trkpt lat="45.0002" lon="-20.0"><extensions><a><b/></a><c/></extensions></trkpt>
  </trkseg>
  <trkseg/>
  <trkseg><trkpt lat="45.0003" lon="-20.0"/></trkseg>
 </trk>
</gpx>"#;
    let intake =
        look(&Source::bytes("t.gpx", gpx.to_vec()), &book_at(-20.0, 45.0), &Options::default(), &Progress::new()).unwrap();
    let singles = intake.edit.singles();
    let track = singles.iter().find_map(|e| match e {
        Edit::Put(Record::Track(t)) => Some(t.clone()),
        _ => None,
    });
    let track = track.unwrap();
    assert_eq!(track.segments.iter().map(|s| s.len()).collect::<Vec<_>>(), [2, 1]);
    let first = track.points().next().unwrap();
    assert_eq!((first.height_m(), first.satellites()), (Some(1.5), Some(9)));
    assert_eq!(intake.ignored_extensions, 2);
    assert_eq!(intake.refused.iter().map(|r| r.line).collect::<Vec<_>>(), [6, 7]);
    assert!(intake.refused[0].why.contains("latitude 95"), "{}", intake.refused[0]);
    assert_eq!(singles.len(), 2, "the track and its outing");
}
