//! Finds and outings as GeoJSON (RFC 7946) and as tables (RFC 4180).

use geo_types::{Geometry, GeometryCollection, Point};
use serde_json::{Value, json};

use super::places::AreaId;
use super::told::{Covered, Place, ToldFind, ToldOuting};
use crate::book::{Permission, Zone};
use crate::exchange::ExchangeError;
use crate::exchange::geojson::{self, Feature};
use crate::output::MARK;
use crate::share::cut::metres;

/// The headings of the table of finds; its GeoJSON has no property that is not among them.
const FINDS: [&str; 17] = [
    "uid",
    "day",
    "time",
    "what",
    "kind",
    "material",
    "age",
    "depth_m",
    "mass_g",
    "size_mm",
    "state",
    "reported",
    "done_with_it",
    "picture",
    "remark",
    "place_told",
    "place",
];
const OUTINGS: [&str; 9] =
    ["uid", "day", "hours", "covered_m2", "covered_less_than_m2", "finds", "holes_filled", "litter_kg", "remark"];

/// How a place is told, in words.
pub(super) fn place_words(place: &Place) -> String {
    match place {
        Place::Exact(_) => "exact".to_owned(),
        Place::Area(AreaId::Alone(_), side, _) => format!("square of {}", metres(*side)),
        Place::Area(AreaId::Joined(..), side, _) => format!("several squares of {}", metres(*side)),
        Place::Withheld => "withheld".to_owned(),
    }
}

/// A feature without a place, which is written as null (RFC 7946, 3.2).
fn nowhere() -> Geometry<f64> {
    Geometry::GeometryCollection(GeometryCollection(Vec::new()))
}

fn text(words: &str) -> Value {
    if words.is_empty() { Value::Null } else { words.into() }
}

fn find_feature(find: &ToldFind, picture: Option<&String>) -> Feature {
    let geometry: Geometry<f64> = match &find.place {
        Place::Exact(at) => Point(geo_types::Coord::from(*at)).into(),
        Place::Area(_, _, outline) => outline.clone().into(),
        Place::Withheld => nowhere(),
    };
    let feature = Feature::new(geometry)
        .with("uid", find.id.to_string())
        .with("day", find.day.map_or(Value::Null, |d| d.to_string().into()))
        .with("time", find.time.map_or(Value::Null, |t| t.to_string().into()))
        .with("what", text(&find.what))
        .with("kind", text(&find.kind))
        .with("material", find.material)
        .with("age", text(&find.age))
        .with("depth_m", find.depth_m)
        .with("mass_g", find.mass_g)
        .with("size_mm", find.size_mm)
        .with("state", text(&find.state))
        .with("reported", text(&find.reported))
        .with("done_with_it", text(&find.done_with))
        .with("picture", picture.map_or(Value::Null, |p| p.as_str().into()))
        .with("remark", text(&find.remark))
        .with("place_told", place_words(&find.place));
    match &find.place {
        Place::Area(_, side, _) => feature.with("square_m", side.m()),
        _ => feature,
    }
}

/// The finds, with the name of each one's picture if it has one.
pub(super) fn finds_geojson(finds: &[(&ToldFind, Option<&String>)]) -> Result<Vec<u8>, ExchangeError> {
    let features: Vec<Feature> = finds.iter().map(|(f, p)| find_feature(f, *p).with("role", "find")).collect();
    geojson::write(&features)
}

fn outing_properties(outing: &ToldOuting) -> Feature {
    let (about_m2, below_m2) = match outing.covered {
        Covered::About(m2) => (Some(m2), None),
        Covered::Below(m2) => (None, Some(m2)),
        Covered::NotNoted | Covered::NotTold => (None, None),
    };
    Feature::new(nowhere())
        .with("uid", outing.id.to_string())
        .with("day", outing.day.to_string())
        .with("hours", outing.hours)
        .with("covered_m2", about_m2)
        .with("covered_less_than_m2", below_m2)
        .with("finds", outing.finds)
        .with("holes_filled", outing.holes_filled)
        .with("litter_kg", outing.litter_kg)
        .with("remark", text(&outing.remark))
}

/// The outings, none of which has a place.
pub(super) fn outings_geojson(outings: &[ToldOuting]) -> Result<Vec<u8>, ExchangeError> {
    let features: Vec<Feature> = outings.iter().map(|o| outing_properties(o).with("role", "outing")).collect();
    geojson::write(&features)
}

/// The permission's own ground, and the zones of the beach where places are told exactly.
pub(super) fn ground_geojson(permission: &Permission, zones: &[&Zone]) -> Result<Vec<u8>, ExchangeError> {
    let ground = Feature::new(permission.area.clone()).with("role", "permission").with("name", text(&permission.name));
    let zones = zones.iter().map(|z| {
        Feature::new(z.area.clone())
            .with("role", "zone")
            .with("name", text(&z.name))
            .with("use", z.usage.word())
            .with("closure", z.closure.map_or(Value::Null, |c| c.to_string().into()))
    });
    geojson::write(&std::iter::once(ground).chain(zones).collect::<Vec<_>>())
}

/// Text that no program takes for a formula: one that begins like one gets an apostrophe before it.
fn cell(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) if text.starts_with(['=', '+', '-', '@', '\t', '\r']) => format!("'{text}"),
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}

fn table(headings: &[&str], features: impl Iterator<Item = (Feature, String)>) -> Result<Vec<u8>, ExchangeError> {
    let failed = |why: String| ExchangeError::Write { what: "the table".to_owned(), why };
    let mut table = csv::Writer::from_writer(Vec::new());
    // The last heading, with nothing under it, is the mark by which the file is known as made here.
    table.write_record(headings.iter().copied().chain([MARK])).map_err(|e| failed(e.to_string()))?;
    for (feature, place) in features {
        let cells = headings.iter().map(|h| match *h {
            "place" => place.clone(),
            name => cell(feature.properties.get(name).unwrap_or(&json!(null))),
        });
        table.write_record(cells.chain([String::new()])).map_err(|e| failed(e.to_string()))?;
    }
    table.into_inner().map_err(|e| failed(e.error().to_string()))
}

/// The finds as a table; a place as well-known text, longitude first: a point where it is exact, else an area.
pub(super) fn finds_csv(finds: &[(&ToldFind, Option<&String>)]) -> Result<Vec<u8>, ExchangeError> {
    table(&FINDS, finds.iter().map(|(f, picture)| (find_feature(f, *picture), well_known(&f.place))))
}

/// The outings as a table.
pub(super) fn outings_csv(outings: &[ToldOuting]) -> Result<Vec<u8>, ExchangeError> {
    table(&OUTINGS, outings.iter().map(|o| (outing_properties(o), String::new())))
}

/// OGC 06-103r4, 7.2; seven decimals at most.
fn well_known(place: &Place) -> String {
    let pair = |c: &geo_types::Coord<f64>| format!("{} {}", round(c.x), round(c.y));
    match place {
        Place::Withheld => String::new(),
        Place::Exact(at) => format!("POINT ({})", pair(&geo_types::Coord::from(*at))),
        Place::Area(_, _, outline) => {
            let ring = |r: &geo_types::LineString<f64>| format!("({})", r.0.iter().map(pair).collect::<Vec<_>>().join(", "));
            let polygon = |p: &geo_types::Polygon<f64>| {
                format!("({})", std::iter::once(p.exterior()).chain(p.interiors()).map(ring).collect::<Vec<_>>().join(", "))
            };
            match outline.0.as_slice() {
                [one] => format!("POLYGON {}", polygon(one)),
                all => format!("MULTIPOLYGON ({})", all.iter().map(polygon).collect::<Vec<_>>().join(", ")),
            }
        }
    }
}

fn round(degrees: f64) -> f64 {
    (degrees * 1e7).round() / 1e7
}
