//! The open files that go with a report: GeoJSON as RFC 7946 asks.

use geo_types::{Coord, LineString, Polygon};
use serde_json::{Map, Value, json};

use crate::book::Book;
use crate::earth::EarthError;
use crate::exchange::ExchangeError;
use crate::exchange::geojson::{self, Feature};
use crate::reading::{BandReading, Cluster, Reading};
use crate::shore::Setting;

/// Why an open file could not be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OpenError {
    /// A feature that cannot be written.
    #[error(transparent)]
    Exchange(#[from] ExchangeError),
    /// A shape that leads off the map.
    #[error(transparent)]
    Earth(#[from] EarthError),
}

/// Finds, signals, zones, clusters and bands of one beach, each a GeoJSON file with its name, for oneself.
///
/// # Errors
/// When a shape cannot be laid on the globe.
pub fn open_files(book: &Book, setting: &Setting, reading: &Reading) -> Result<Vec<(&'static str, Vec<u8>)>, OpenError> {
    let beach = setting.beach.uid;
    Ok(vec![
        ("finds.geojson", geojson::write(&geojson::finds(book.finds_of(beach)))?),
        ("signals.geojson", geojson::write(&geojson::signals(book.signals_of(beach)))?),
        ("zones.geojson", geojson::write(&geojson::zones(book.zones_of(beach)))?),
        ("clusters.geojson", geojson::write(&reading.clusters.iter().map(cluster).collect::<Vec<_>>())?),
        ("bands.geojson", geojson::write(&bands(setting, &reading.bands)?)?),
    ])
}

/// The figures of something read, as properties; what they hold as a list or an object stays out, as
/// most programs that open GeoJSON cannot show it.
fn figures(read: &impl serde::Serialize) -> Map<String, Value> {
    match serde_json::to_value(read) {
        Ok(Value::Object(map)) => map.into_iter().filter(|(_, v)| !v.is_null() && !v.is_array() && !v.is_object()).collect(),
        _ => Map::new(),
    }
}

fn cluster(cluster: &Cluster) -> Feature {
    let ring: LineString<f64> = cluster.hull.iter().map(|p| Coord::from(*p)).collect();
    let mut properties = figures(cluster);
    properties.insert("role".into(), json!("cluster"));
    properties.insert("name".into(), json!(format!("cluster {}", cluster.number)));
    let kinds: Vec<String> = cluster.kinds.iter().map(|k| format!("{} {}", k.finds, k.kind)).collect();
    properties.insert("kinds".into(), json!(kinds.join(", ")));
    if let Some(level) = cluster.level {
        properties.insert("level_low_m".into(), json!(level.low_m));
        properties.insert("level_high_m".into(), json!(level.high_m));
    }
    Feature { geometry: Polygon::new(ring, Vec::new()).into(), properties }
}

fn bands(setting: &Setting, readings: &[BandReading]) -> Result<Vec<Feature>, EarthError> {
    let Ok(shore) = &setting.shore else { return Ok(Vec::new()) };
    let mut features = Vec::new();
    for (band, reading) in setting.bands.iter().zip(readings) {
        if band.area.0.is_empty() {
            continue;
        }
        let mut properties = figures(reading);
        properties.insert("role".into(), json!("band"));
        if let Some(rate) = &reading.gave.rate {
            properties.insert("finds_per_100m2_rested".into(), json!(rate.per_100m2));
            properties.insert("rate_low".into(), json!(rate.low));
            properties.insert("rate_high".into(), json!(rate.high));
        }
        features.push(Feature { geometry: shore.area_to_lonlat(&band.area)?.into(), properties });
    }
    Ok(features)
}
