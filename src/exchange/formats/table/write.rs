use geo_types::Geometry;

use crate::book::{Find, Signal, Track};
use crate::exchange::error::ExchangeError;
use crate::exchange::formats::geojson::{self, Feature};
use crate::exchange::formats::text_of;
use crate::output::MARK;

/// Columns that come first, in this order; the others follow in that of their names.
const FIRST: [&str; 5] = ["role", "what", "kind", "time", "notes"];

fn failed(why: impl ToString) -> ExchangeError {
    ExchangeError::Write { what: "the table".to_owned(), why: why.to_string() }
}

/// Writes finds and signals as one table (RFC 4180), a row each, with a column for everything that is known of any of them;
/// `role` tells the two apart. The last heading, with nothing under it, is the mark by which the file is known as made here.
///
/// # Errors
/// None that can be named: the table is written into memory.
pub(in crate::exchange) fn points(finds: &[&Find], signals: &[&Signal]) -> Result<Vec<u8>, ExchangeError> {
    let mut features = geojson::finds(finds.iter().copied());
    features.extend(geojson::signals(signals.iter().copied()));
    let mut keys: Vec<&str> = FIRST.to_vec();
    let mut others: Vec<&str> = features.iter().flat_map(|f| f.properties.keys().map(String::as_str)).collect();
    others.sort_unstable();
    others.dedup();
    keys.extend(others.into_iter().filter(|k| !FIRST.contains(k)));
    let mut table = csv::Writer::from_writer(Vec::new());
    let headings = ["lon", "lat"].into_iter().chain(keys.iter().copied()).chain([MARK]);
    table.write_record(headings).map_err(failed)?;
    for Feature { geometry, properties } in &features {
        let Geometry::Point(at) = geometry else { continue };
        let cells = keys.iter().map(|key| properties.get(*key).map_or_else(String::new, text_of));
        let row = [at.x().to_string(), at.y().to_string()].into_iter().chain(cells).chain([String::new()]);
        table.write_record(row).map_err(failed)?;
    }
    table.into_inner().map_err(|e| failed(e.error()))
}

/// Writes tracks as a table, a row for each fix.
///
/// # Errors
/// As [`points`].
pub(in crate::exchange) fn tracks(tracks: &[&Track]) -> Result<Vec<u8>, ExchangeError> {
    let mut table = csv::Writer::from_writer(Vec::new());
    table.write_record(["lon", "lat", "time", "height_m", "role", "name", "segment", "uid", MARK]).map_err(failed)?;
    for track in tracks {
        let uid = track.uid.to_string();
        for (n, segment) in track.segments.iter().enumerate() {
            let segment_number = (n + 1).to_string();
            for p in segment.iter() {
                let time = p.time().map(|t| t.to_string()).unwrap_or_default();
                let height = p.height_m().map(|h| (h as f32).to_string()).unwrap_or_default();
                let (lon, lat) = (p.at.lon_deg().to_string(), p.at.lat_deg().to_string());
                let row = [&lon, &lat, &time, &height, "track", &track.name, &segment_number, &uid, ""];
                table.write_record(row).map_err(failed)?;
            }
        }
    }
    table.into_inner().map_err(|e| failed(e.error()))
}

/// Whether a heading is the mark of a table made here, whatever its seal.
pub(super) fn is_mark(heading: &str) -> bool {
    let tag = MARK.trim_end_matches('0');
    heading
        .strip_prefix(tag)
        .is_some_and(|seal| seal.len() == MARK.len() - tag.len() && seal.bytes().all(|b| b.is_ascii_hexdigit()))
}

#[cfg(test)]
mod tests {
    use serde_json::Value;

    use super::*;

    #[test]
    fn the_mark_is_known_and_no_heading_else() {
        assert!(is_mark(MARK) && is_mark(&MARK.replace('0', "a")));
        for other in ["", "scourline-made-", "scourline-made-by-me", "notes"] {
            assert!(!is_mark(other), "{other}");
        }
    }

    #[test]
    fn an_empty_table_has_its_headings() {
        assert!(String::from_utf8(points(&[], &[]).unwrap()).unwrap().starts_with("lon,lat,role,what"));
        assert_eq!(text_of(&Value::from(vec![1, 2])), "1 2");
    }
}
