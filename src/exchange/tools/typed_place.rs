//! A place as a person types it, in any notation that the readers know.

use super::degrees::{Axis, pair};
use super::grid_ref::reference;
use crate::earth::LonLat;

/// The place that a text names: degrees, decimal or with minutes and seconds, latitude first unless letters say otherwise;
/// `POINT (lon lat)`; or a reference of the British or Irish grid, MGRS or UTM with its zone.
///
/// # Errors
/// A sentence on what is wrong with it.
pub fn place_typed(text: &str) -> Result<LonLat, String> {
    let text = text.trim();
    let read = pair(text).or_else(|| four_numbers(text).and_then(|lettered| pair(&lettered)));
    if let Some([first, second]) = read {
        let lon_first = match (first.axis, second.axis) {
            (Some(a), Some(b)) if a == b => {
                return Err(format!("\"{text}\" names the {} twice", a.name()));
            }
            (Some(axis), _) => axis == Axis::Lon,
            (None, Some(axis)) => axis == Axis::Lat,
            // Only one of the two can be a latitude.
            (None, None) => first.value.abs() > 90.0 && second.value.abs() <= 90.0,
        };
        let (lon, lat) = if lon_first { (first.value, second.value) } else { (second.value, first.value) };
        return LonLat::new(lon, lat).map_err(|e| e.to_string());
    }
    match reference(text) {
        Some(Ok(found)) => found.at.first().copied().ok_or_else(|| format!("\"{text}\" names no square of the grid")),
        Some(Err(why)) => Err(why),
        None => Err(format!("\"{text}\" is no place such as 50.123, -5.456 or 50° 7.4' N 5° 27.4' W or SW 123 456")),
    }
}

/// Degrees and minutes of both, or degrees, minutes and seconds of both, without letters: the first half is the latitude.
fn four_numbers(text: &str) -> Option<String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let plain = words.iter().all(|w| w.trim_matches(|c| "°'\"′″-−".contains(c)).parse::<f64>().is_ok());
    if !plain || !matches!(words.len(), 4 | 6) {
        return None;
    }
    let (lat, lon) = words.split_at(words.len() / 2);
    Some(format!("{}; {}", lat.join(" "), lon.join(" ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_place_in_every_notation() {
        let wanted = LonLat::new(-5.5, 50.1).unwrap();
        for text in [
            "50.1, -5.5",
            "50.1 -5.5",
            "50,1 -5,5",
            "50.1N 5.5W",
            "5.5 W, 50.1 N",
            "50° 06' N 5° 30' W",
            "50° 6' 0\" N, 5° 30' 0\" W",
            "50 06 -5 30",
            "50 06 00 -5 30 00",
            "POINT (-5.5 50.1)",
        ] {
            let got = place_typed(text).unwrap_or_else(|why| panic!("{text}: {why}"));
            assert!(
                (got.lon_deg() - wanted.lon_deg()).abs() < 1e-9 && (got.lat_deg() - wanted.lat_deg()).abs() < 1e-9,
                "{text}: {got}"
            );
        }
        // The guide's example of Ordnance Survey, TG 51409 13177, lies at 52° 39' 28.7" N 1° 42' 57.8" E (OSGB36 to WGS 84 by
        // its online tool; good to some metres).
        let os = place_typed("TG 51409 13177").unwrap();
        assert!((os.lat_deg() - 52.657_98).abs() < 2e-4 && (os.lon_deg() - 1.716_05).abs() < 2e-4, "{os}");
        assert!((place_typed("120.5 -33.1").unwrap().lon_deg() - 120.5).abs() < 1e-12, "only one can be a latitude");
    }

    #[test]
    fn what_is_no_place_is_told() {
        for text in ["", "near the pier", "50.1", "50.1 N 5.5 N", "195, 95", "50 75 -5 30"] {
            assert!(place_typed(text).is_err(), "{text}");
        }
        assert!(place_typed("50.1 N, 5.5 N").unwrap_err().contains("latitude twice"));
        assert!(place_typed("by the groyne").unwrap_err().contains("such as 50.123, -5.456"));
    }
}
