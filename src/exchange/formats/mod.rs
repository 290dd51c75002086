//! The formats, one folder each: what a file of the format holds, and how it is written.

use serde_json::Value;

pub mod geojson;
pub(super) mod geopackage;
pub mod gpx;
pub(super) mod kml;
pub(super) mod nmea;
pub(super) mod photo;
pub(super) mod sheet;
pub(super) mod table;
pub(super) mod watch;

/// A property's value as the text that a cell of a table holds.
fn text_of(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Array(items) => items.iter().map(text_of).collect::<Vec<_>>().join(" "),
        Value::Null => String::new(),
        other => other.to_string(),
    }
}
