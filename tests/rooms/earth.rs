//! The earth room against PROJ and GeographicLib; `tests/reference/earth/make.py` made the values.

use std::path::Path;

use proptest::prelude::*;
use scourline::earth::{Frame, Grid, Local, LonLat, bearing_deg, distance_m};

/// Rows of a reference table, its first line with the versions left out.
fn table(name: &str) -> Vec<csv::StringRecord> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/earth").join(name);
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_path(path).unwrap();
    reader.records().map(|r| r.unwrap()).collect()
}

fn numbers(row: &csv::StringRecord, from: usize) -> Vec<f64> {
    row.iter().skip(from).map(|cell| cell.parse().unwrap()).collect()
}

fn at(lon: f64, lat: f64) -> LonLat {
    LonLat::new(lon, lat).unwrap()
}

/// PROJ's exact transverse Mercator (pyproj). The series used here is good to nanometres within the
/// reach of a frame; a micrometre is the tables' own rounding, a tenth of a millimetre the bound at 2 degrees.
#[test]
fn frame_agrees_with_proj() {
    for row in table("frame.csv") {
        let [lon0, lat0, lon, lat, east, north] = numbers(&row, 0).try_into().unwrap();
        let frame = Frame::centred_on(at(lon0, lat0)).unwrap();
        let local = frame.to_local(at(lon, lat)).unwrap();
        let off_m = local.distance_m(Local::new(east, north));
        assert!(off_m < 1e-4, "{row:?}: {local:?}, off by {off_m} m");
        let back = frame.to_lonlat(Local::new(east, north)).unwrap();
        assert!(distance_m(back, at(lon, lat)) < 1e-4, "{row:?}: {back}");
    }
}

/// GeographicLib (Karney 2013), printed to a micrometre and a billionth of a degree. Over half a
/// metre or so a micrometre turns the bearing by more than that, hence the tolerance by distance.
#[test]
fn distance_and_bearing_agree_with_geographiclib() {
    for row in table("geodesic.csv") {
        let [lon1, lat1, lon2, lat2, metres, degrees] = numbers(&row, 0).try_into().unwrap();
        let (from, to) = (at(lon1, lat1), at(lon2, lat2));
        assert!((distance_m(from, to) - metres).abs() < 2e-6, "{row:?}");
        let turn = (bearing_deg(from, to) - degrees + 540.0).rem_euclid(360.0) - 180.0;
        assert!(turn.abs() < 2e-9 + 1e-4 / metres, "{row:?}: {turn}");
    }
}

/// PROJ (pyproj) without grid files. Grids on WGS 84 and RGF93 need no datum shift and agree to a
/// millimetre. The British National Grid does, and both take a seven-parameter shift: their arithmetic
/// agrees to a centimetre, which says nothing of the shift itself, good to some 5 m only.
#[test]
fn grids_agree_with_proj() {
    for row in table("grid.csv") {
        let [lon, lat, east, north] = numbers(&row, 1).try_into().unwrap();
        let grid = Grid::named(&row[0]).unwrap();
        let off_m = distance_m(grid.to_lonlat(east, north).unwrap(), at(lon, lat));
        let allowed_m = if &row[0] == "EPSG:27700" { 0.01 } else { 1e-3 };
        assert!(off_m < allowed_m, "{row:?}: off by {off_m} m");
    }
}

#[test]
fn grids_by_any_common_spelling_and_none_by_another() {
    for text in ["EPSG:27700", "epsg 27700", " 27700 ", "EPSG:4326"] {
        assert!(Grid::named(text).is_ok(), "{text}");
    }
    for text in ["", "OSGB", "EPSG:1", "EPSG:999999"] {
        assert!(Grid::named(text).is_err(), "{text}");
    }
    assert!(Grid::named("EPSG:32630").unwrap().to_lonlat(f64::NAN, 0.0).is_err());
}

proptest! {
    /// Both hemispheres and across the antimeridian, up to 25 km out: there and back within 10 micrometres.
    #[test]
    fn to_the_plane_and_back(lon0 in -180.0..180.0, lat0 in -80.0..80.0, east_m in -25_000.0..25_000.0, north_m in -25_000.0..25_000.0) {
        let frame = Frame::centred_on(at(lon0, lat0)).unwrap();
        let there = Local::new(east_m, north_m);
        let place = frame.to_lonlat(there).unwrap();
        let back = frame.to_local(place).unwrap();
        prop_assert!(back.distance_m(there) < 1e-5, "{:?} became {:?}", there, back);
    }

    /// A frame's distances are true to 1 part in 100,000 within 25 km, as its documentation says.
    #[test]
    fn the_plane_keeps_distances(lon0 in -180.0..180.0, lat0 in -80.0..80.0, east_m in -17_000.0..17_000.0, north_m in -17_000.0..17_000.0, bearing in 0.0..std::f64::consts::TAU) {
        let frame = Frame::centred_on(at(lon0, lat0)).unwrap();
        let a = Local::new(east_m, north_m);
        let b = Local::new(east_m + 100.0 * bearing.sin(), north_m + 100.0 * bearing.cos());
        let metres = distance_m(frame.to_lonlat(a).unwrap(), frame.to_lonlat(b).unwrap());
        prop_assert!((metres / 100.0 - 1.0).abs() < 1e-5, "{}", metres);
    }
}
