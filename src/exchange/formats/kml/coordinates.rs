//! Positions as KML writes them: longitude, latitude and, if any, height, in degrees and metres on WGS 84.

use geo_types::{Coord, LineString};

use crate::earth::LonLat;
use crate::exchange::records::shape::Placed;

/// Tuples parted by blanks, each `longitude,latitude[,height]` (OGC 07-147r2, 16.10). Blanks behind a comma, which the
/// standard does not have but some writers do, are read past.
///
/// # Errors
/// A sentence that quotes the tuple.
pub(super) fn tuples(text: &str, heights: bool) -> Result<Vec<Placed>, String> {
    let mut places = Vec::new();
    let mut open = String::new();
    for part in text.split_whitespace() {
        if part.starts_with(',') || open.ends_with(',') {
            open.push_str(part);
            continue;
        }
        if !open.is_empty() {
            places.push(place(open.split(','), heights, &open)?);
        }
        part.clone_into(&mut open);
    }
    if !open.is_empty() {
        places.push(place(open.split(','), heights, &open)?);
    }
    Ok(places)
}

/// One position of a track, its numbers parted by blanks (OGC 12-007r2, `kml:coord`).
pub(super) fn coord(text: &str, heights: bool) -> Result<Placed, String> {
    place(text.split_whitespace(), heights, text)
}

fn place<'t>(mut parts: impl Iterator<Item = &'t str>, heights: bool, whole: &str) -> Result<Placed, String> {
    let mut number = || parts.next().map(|p| p.trim().parse::<f64>());
    let wrong = || format!("its position \"{}\" is not longitude, latitude", whole.chars().take(60).collect::<String>());
    let (Some(Ok(lon)), Some(Ok(lat))) = (number(), number()) else { return Err(wrong()) };
    let height_m = match number() {
        None => None,
        Some(Ok(height_m)) => Some(height_m).filter(|h| heights && h.is_finite()),
        Some(Err(_)) => return Err(wrong()),
    };
    Ok((LonLat::new(lon, lat).map_err(|e| e.to_string())?, height_m))
}

/// A ring of an area; one that was left open is closed, which changes no ground.
pub(super) fn ring(places: &[Placed]) -> Result<LineString<f64>, String> {
    let mut coords: Vec<Coord<f64>> = places.iter().map(|(at, _)| Coord::from(*at)).collect();
    if coords.first() != coords.last() && coords.len() >= 3 {
        coords.extend(coords.first().copied());
    }
    if coords.len() < 4 { Err("has a ring of fewer than four positions".to_owned()) } else { Ok(LineString(coords)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(lon: f64, lat: f64) -> LonLat {
        LonLat::new(lon, lat).unwrap()
    }

    /// The line of the example in OGC 07-147r2, 10.7.4.
    #[test]
    fn the_standard_s_own_line() {
        let text = "\n  -122.364383,37.824664,0 -122.364152,37.824322,0\n";
        let places = tuples(text, true).unwrap();
        assert_eq!(places, [(at(-122.364383, 37.824664), Some(0.0)), (at(-122.364152, 37.824322), Some(0.0))]);
        assert_eq!(tuples("-122.364383,37.824664,50", false).unwrap(), [(at(-122.364383, 37.824664), None)]);
    }

    #[test]
    fn sloppy_and_wrong_positions() {
        assert_eq!(tuples("1, 2, 3 4 ,5", true).unwrap(), [(at(1.0, 2.0), Some(3.0)), (at(4.0, 5.0), None)]);
        assert_eq!(tuples("  ", true).unwrap(), []);
        assert_eq!(coord("1.5 2.5", true).unwrap(), (at(1.5, 2.5), None));
        for wrong in ["1", "1,x", "1,2,x", "NaN,2", "1,91", ",", "1;2"] {
            assert!(tuples(wrong, true).is_err(), "{wrong}");
        }
    }
}
