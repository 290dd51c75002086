//! The halves of the live cross-checks that this crate does; `tests/reference/exchange/check.py` does the rest.

use std::fmt::Write;
use std::path::PathBuf;

use super::common::{book, take};
use scourline::Progress;
use scourline::book::{Beach, Book, Edit};
use scourline::earth::LonLat;
use scourline::exchange::{Options, Source, extent, geojson, gpx, look};

/// Reads every GPX file of a directory and writes what was found in each beside it, as `counts.txt`.
#[test]
#[ignore = "check.py runs it with SCOURLINE_GPX_DIR"]
fn count_gpx_files() {
    let dir = PathBuf::from(std::env::var_os("SCOURLINE_GPX_DIR").unwrap());
    let mut out = String::new();
    for entry in std::fs::read_dir(&dir).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "gpx") {
            continue;
        }
        let source = Source::path(&path);
        let middle = extent(std::slice::from_ref(&source), &Options::default(), &Progress::new());
        let at = middle.ok().flatten().map_or(LonLat::new(0.0, 0.0).unwrap(), |e| e.middle);
        let mut book = Book::new();
        book.apply(&Edit::put(Beach::new("Invented Bay", at))).unwrap();
        let said = match look(&source, &book, &Options::default(), &Progress::new()) {
            Ok(intake) => intake.guess,
            Err(error) => format!("refused: {error}"),
        };
        writeln!(out, "{}\t{said}", path.file_name().unwrap().to_string_lossy()).unwrap();
    }
    std::fs::write(dir.join("counts.txt"), out).unwrap();
}

/// Writes one GeoJSON and one GPX file with every kind of record that is exported.
#[test]
#[ignore = "check.py runs it with SCOURLINE_OUT_DIR"]
fn write_samples() {
    let dir = PathBuf::from(std::env::var_os("SCOURLINE_OUT_DIR").unwrap());
    let mut book = book();
    let walk = r#"<gpx version="1.1"><rte><name>plan</name><rtept lat="45" lon="-20"/></rte><trk><name>walk &amp; dig</name><trkseg>
        <trkpt lat="45" lon="-20"><ele>1.5</ele><time>2024-05-01T10:00:00Z</time><sat>9</sat><hdop>0.8</hdop></trkpt>
        <trkpt lat="45.001" lon="-20"><time>2024-05-01T10:10:00Z</time></trkpt></trkseg></trk></gpx>"#;
    // Clockwise on purpose: the writer turns it.
    let places = r#"{"type":"FeatureCollection","features":[
        {"type":"Feature","properties":{"role":"zone","use":"bathing","name":"z"},"geometry":{"type":"Polygon","coordinates":[[[-20,45],[-20,45.01],[-19.99,45.01],[-20,45]]]}},
        {"type":"Feature","properties":{"role":"permission","name":"p","holder":"An Invented Estate","hours":"9:00-18:00"},"geometry":{"type":"MultiPolygon","coordinates":[[[[-20,45],[-20,45.01],[-19.99,45.01],[-20,45]]],[[[-19.9,45],[-19.9,45.01],[-19.89,45.01],[-19.9,45]]]]}},
        {"type":"Feature","properties":{"role":"signal","target_ids":[12,13]},"geometry":{"type":"Point","coordinates":[-20,45]}}]}"#;
    let finds =
        "lon,lat,what,depth_cm,time\n-20.0001,45.0001,invented penny,12,2024-05-01T10:05:00Z\n-20.0002,45.0002,ring pull,,\n";
    for (name, text) in [("walk.gpx", walk), ("places.geojson", places), ("finds.csv", finds)] {
        let intake = take(name, text, &book, &Options::default());
        assert_eq!(intake.refused, []);
        book.apply(&intake.edit).unwrap();
    }
    let mut features = geojson::finds(book.finds().values());
    features.extend(geojson::signals(book.signals().values()));
    features.extend(geojson::zones(book.zones().values()));
    features.extend(geojson::permissions(book.permissions().values()));
    features.extend(geojson::tracks(book.tracks().values()));
    std::fs::write(dir.join("sample.geojson"), geojson::write(&features).unwrap()).unwrap();
    let mut content = gpx::tracks("walks", book.tracks().values());
    content.waypoints = gpx::finds(book.finds().values());
    content.waypoints.extend(gpx::signals(book.signals().values()));
    content.routes = gpx::plans(book.plans().values());
    std::fs::write(dir.join("sample.gpx"), gpx::write(&content).unwrap()).unwrap();
}
