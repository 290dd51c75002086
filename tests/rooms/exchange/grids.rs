//! Grid references in tables; `src/exchange/tools/grid_ref.rs` holds the references themselves to values from outside.

use super::common::{fault, find_of, records, take};
use proptest::prelude::*;
use scourline::book::{Beach, Book, Edit};
use scourline::earth::{LonLat, distance_m};
use scourline::exchange::{About, Fault, Intake, Options};

fn book_at(lon: f64, lat: f64) -> Book {
    let mut book = Book::new();
    let beach = Beach { time_zone: "Europe/London".into(), ..Beach::new("Invented Bay", LonLat::new(lon, lat).unwrap()) };
    book.apply(&Edit::put(beach)).unwrap();
    book
}

/// Near a water tower whose place on both grids Ordnance Survey publishes ("Transformations and OSGM15 user guide", annexe A).
const TOWER: (f64, f64) = (1.716_073_973, 52.658_007_833);

fn place(intake: &Intake) -> LonLat {
    records(intake).into_iter().find_map(find_of).unwrap_or_else(|| panic!("{intake:?}")).at
}

fn off_m(intake: &Intake, (lon, lat): (f64, f64)) -> f64 {
    distance_m(place(intake), LonLat::new(lon, lat).unwrap())
}

#[test]
fn references_under_any_of_their_headings_and_their_error_told() {
    let book = book_at(TOWER.0, TOWER.1);
    for (heading, cell) in [
        ("Grid ref", "TG 51409 13177"),
        ("NGR", "TG5140913177"),
        ("Grid", "tg 51409 13177"),
        ("Position", "TG 51409 13177"),
        ("MGRS", "31UDU1315735001"),
    ] {
        let intake = take("finds.csv", &format!("{heading},what\n{cell},penny\n"), &book, &Options::default());
        assert_eq!(intake.refused_count, 0, "{heading}: {:?}", intake.refused);
        // PyPI mgrs 1.6.0 gave the military one.
        assert!(off_m(&intake, TOWER) < if heading == "MGRS" { 1.5 } else { 5.0 }, "{heading}");
        if heading != "MGRS" {
            let told = format!("{:?}", intake.understood);
            assert!(told.contains("British National Grid") && told.contains("good to about 5 m"), "{told}");
        }
    }
    let coarse = take("finds.csv", "ngr,what\nTG 514 131,penny\nTG 51,penny\nXX 1,penny\n,penny\n", &book, &Options::default());
    assert!(
        coarse.warnings.iter().any(|w| w.contains("1 grid reference(s) name squares of 100 m or more")),
        "{:?}",
        coarse.warnings
    );
    for (refusal, wanted) in coarse.refused.iter().zip(["square of 10 km", "of no grid known", "has no grid reference"]) {
        assert!(refusal.why.contains(wanted), "{refusal}");
    }
    assert_eq!(coarse.refused_count, 3);
}

/// PROJ by pyproj 3.7.2: -5.54, 50.10 on EPSG:32630.
#[test]
fn utm_with_its_zone_in_a_column() {
    let book = book_at(-5.54, 50.10);
    for (headings, cells) in [
        ("zone,easting,northing", "30U,318353,5552839"),
        ("Zone,E,N", "30,318353,5552839"),
        ("UTM zone,UTM E,UTM N", "30N,318353,5552839"),
        ("utm", "30U 318353 5552839"),
    ] {
        let intake = take("finds.csv", &format!("{headings},what\n{cells},penny\n"), &book, &Options::default());
        assert!(off_m(&intake, (-5.54, 50.10)) < 1.5, "{headings}: {:?}", intake.refused);
    }
    // Elsewhere a zone is a word for part of the beach, and stays with the find.
    let words = take("finds.csv", "lon,lat,what,zone\n-5.54,50.1,penny,dry sand\n", &book, &Options::default());
    assert_eq!(records(&words).into_iter().find_map(find_of).unwrap().more["zone"], "dry sand");
}

/// A seven-figure number could be of any grid: nothing is believed without a word.
#[test]
fn figures_without_their_grid_are_asked_about_where_they_lie_by_the_beach() {
    let text = "easting,northing,what\n651409.804,313177.450,penny\n";
    let book = book_at(TOWER.0, TOWER.1);
    let open = take("finds.csv", text, &book, &Options::default());
    assert_eq!(open.unsettled.iter().map(|u| (u.about, u.taken)).collect::<Vec<_>>(), [(About::Grid, None)]);
    assert!(open.unsettled[0].question.contains("on the British one"), "{}", open.unsettled[0].question);
    let answered = Options { answers: [(About::Grid, "british")].into(), ..Options::default() };
    let intake = take("finds.csv", text, &book, &answered);
    assert!(intake.unsettled.is_empty() && off_m(&intake, TOWER) < 5.0);
    // Far from both there is nothing to ask: the grid has to be named.
    let elsewhere = fault("finds.csv", text, &super::common::book(), &Options::default());
    assert!(matches!(elsewhere, Fault::Option(ref why) if why.contains("without their grid")), "{elsewhere}");
    let irish = "east,north,what\n315900.56,234671.36,penny\n";
    let intake = take(
        "finds.csv",
        irish,
        &book_at(-6.26, 53.35),
        &Options { answers: [(About::Grid, "irish")].into(), ..Options::default() },
    );
    assert!(off_m(&intake, (-6.2603, 53.3498)) < 1.5);
}

/// GeoJSON is in degrees (RFC 7946, section 4), GPX and KML are too: a grid stated for the table beside them is not theirs.
/// The grid: PROJ by pyproj 3.7.2, -5.54, 50.10 on EPSG:32630.
#[test]
fn a_stated_grid_is_not_taken_for_degrees() {
    let book = book_at(-5.54, 50.10);
    let stated = Options { grid: Some("EPSG:32630".into()), ..Options::default() };
    let features = |crs: &str, coordinates: &[&str]| {
        let one = |c: &&str| {
            format!(
                "{{\"type\":\"Feature\",\"properties\":{{\"what\":\"penny\"}},\"geometry\":{{\"type\":\"Point\",\"coordinates\":{c}}}}}"
            )
        };
        let all: Vec<String> = coordinates.iter().map(one).collect();
        format!("{{\"type\":\"FeatureCollection\",{crs}\"features\":[{}]}}", all.join(","))
    };
    let old = |code: &str| format!("\"crs\":{{\"type\":\"name\",\"properties\":{{\"name\":\"urn:ogc:def:crs:EPSG::{code}\"}}}},");
    let (degrees, metres) = ("[-5.54,50.10]", "[318353,5552839]");
    let gpx = "<gpx version=\"1.1\"><wpt lat=\"50.10\" lon=\"-5.54\"><name>penny</name></wpt></gpx>";
    let kml = "<kml><Placemark><name>penny</name><Point><coordinates>-5.54,50.10</coordinates></Point></Placemark></kml>";
    for (name, text) in [
        ("a.geojson", features("", &[degrees])),
        ("a.geojson", features(&old("4326"), &[degrees])),
        // Metres, as they lie out of the range of degrees, or as the file says so.
        ("a.geojson", features("", &[metres])),
        ("a.geojson", features(&old("32630"), &[metres])),
        ("a.gpx", gpx.to_owned()),
        ("a.kml", kml.to_owned()),
        ("a.csv", "easting,northing,what\n318353,5552839,penny\n".to_owned()),
    ] {
        let intake = take(name, &text, &book, &stated);
        assert!(off_m(&intake, (-5.54, 50.10)) < 1.5, "{text}: {:?}", intake.refused);
    }
    let told = take("a.geojson", &features("", &[degrees]), &book, &stated);
    assert!(format!("{:?}", told.understood).contains("the grid stated is not taken for theirs"), "{:?}", told.understood);
    // A line is looked at to its last position, a collection of shapes to its last shape.
    let line = "{\"type\":\"GeometryCollection\",\"geometries\":[{\"type\":\"LineString\",\"coordinates\":[[100,60],[318353,5552839]]}]}";
    let told = super::common::try_take("a.geojson", line, &book, &stated);
    assert!(!format!("{told:?}").contains("as RFC 7946 asks"), "{told:?}");
}

proptest! {
    #[test]
    fn any_reference_is_read_or_refused(cell in "[0-9]{0,2}[A-Z]{0,3}[ ]?[0-9]{0,6}[ ]?[0-9]{0,7}|[ -~é]{0,20}") {
        for heading in ["grid ref", "position", "utm"] {
            let quoted = cell.replace('"', "");
            let _ = super::common::try_take("any.csv", format!("{heading},what\n\"{quoted}\",penny\n"), &book_at(TOWER.0, TOWER.1), &Options::default());
        }
    }
}
