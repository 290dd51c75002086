use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use encoding_rs::Encoding;
use geo_types::{Coord, LineString, MultiPolygon, Polygon};
use geojson::{Geometry, GeometryValue, JsonObject, JsonValue, Position};
use jiff::Timestamp;

use super::MORE;
use super::parts::{self, Part};
use crate::Progress;
use crate::earth::{Grid, LonLat};
use crate::exchange::error::{Fault, Stop};
use crate::exchange::formats::text_of;
use crate::exchange::records::precision;
use crate::exchange::records::row::Row;
use crate::exchange::records::shape::{self, Placed, Shape};
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::beside::beside;
use crate::exchange::tools::heading::{Field, Meaning, meaning};
use crate::exchange::tools::source::Source;
use crate::exchange::tools::text::{DEPTH, marked_encoding};
use crate::exchange::tools::when::When;

/// Reads a GeoJSON text feature by feature: a collection, one feature, a bare geometry, or several of these in a row.
pub(in crate::exchange) fn read(source: &Source, taking: &mut Taking<'_>, progress: &Progress) -> Result<String, Stop> {
    let encoding = marked_encoding(&source.head()?).unwrap_or(encoding_rs::UTF_8);
    let stated = taking.options.grid()?;
    let set_aside = stated.is_some() && is_in_degrees(source, encoding, progress)?;
    let grid = stated.filter(|_| !set_aside);
    let (shapes, unused, named) = (BTreeMap::new(), BTreeSet::new(), HashMap::new());
    let mut reader = FeatureReader { taking, grid, set_aside, features: 0, shapes, unused, named };
    beside(source, |give| parts::take_apart(source, encoding, progress, give), |parts| reader.take(parts))?;
    reader.finish()
}

/// Whether a text is in degrees, as RFC 7946 (section 4) asks: all of its positions lie within their range, and it names no
/// other grid. It is read once for this alone, as a late position may decide.
fn is_in_degrees(source: &Source, encoding: &'static Encoding, progress: &Progress) -> Result<bool, Stop> {
    let one = |part: Part| match part {
        Part::Feature(feature, _) => feature.get("geometry").map_or_else(|| lies_in_degrees(&feature), lies_in_degrees),
        Part::Crs(crs, _) => named_grid(&crs).is_none(),
    };
    let see = |parts: Vec<Part>| if parts.into_iter().all(one) { Ok(()) } else { Err(Stop::Enough) };
    match beside(source, |give| parts::take_apart(source, encoding, progress, give), see) {
        Ok(()) => Ok(true),
        Err(Stop::Enough) => Ok(false),
        Err(other) => Err(other),
    }
}

/// Whether every position of a geometry can be in degrees.
fn lies_in_degrees(geometry: &JsonValue) -> bool {
    let within = |value: &JsonValue, most: f64| value.as_f64().is_none_or(|degrees| degrees.abs() <= most);
    match geometry {
        JsonValue::Object(object) => ["coordinates", "geometries"].iter().filter_map(|n| object.get(*n)).all(lies_in_degrees),
        JsonValue::Array(values) => match values.as_slice() {
            [x, y, ..] if x.is_number() => within(x, 180.0) && within(y, 90.0),
            values => values.iter().all(lies_in_degrees),
        },
        _ => true,
    }
}

/// What the member `crs` names, which GeoJSON had before RFC 7946, where it is not degrees on WGS 84.
fn named_grid(crs: &JsonValue) -> Option<&str> {
    let name = crs.pointer("/properties/name").and_then(JsonValue::as_str)?;
    (!(name.contains("CRS84") || name.ends_with(":4326"))).then_some(name)
}

/// Takes features one by one, and keeps what is told once for all of them.
struct FeatureReader<'t, 'b> {
    taking: &'t mut Taking<'b>,
    grid: Option<Grid>,
    /// Whether a grid was stated that is not this file's, whose positions are degrees.
    set_aside: bool,
    features: u64,
    /// How many shapes of each name.
    shapes: BTreeMap<&'static str, usize>,
    /// Names of properties that mean nothing here.
    unused: BTreeSet<String>,
    /// Names of properties as headings, with what they mean.
    named: HashMap<String, (Arc<str>, Option<Meaning>)>,
}

/// How many names of unused properties are told.
const UNUSED_TOLD: usize = 30;
/// How many names of properties are remembered with what they mean.
const NAMES_KEPT: usize = 1000;

impl FeatureReader<'_, '_> {
    fn take(&mut self, parts: Vec<Part>) -> Result<(), Stop> {
        parts.into_iter().try_for_each(|part| match part {
            Part::Feature(JsonValue::Object(object), line) => self.feature(object, line),
            Part::Feature(_, line) => {
                self.features += 1;
                self.taking.refuse(Mark { line, noun: "feature", number: self.features }, "is not an object");
                Ok(())
            }
            Part::Crs(crs, after_features) => Ok(self.crs(&crs, after_features)?),
        })
    }

    fn finish(self) -> Result<String, Stop> {
        let plain = match self.set_aside {
            true => {
                "WGS 84, as RFC 7946 asks, as all of them lie within the range of degrees; the grid stated is not taken for theirs"
            }
            false => "WGS 84, as RFC 7946 asks",
        };
        let grid = self.grid.as_ref().map_or(plain, |g| g.name()).to_owned();
        self.taking.understand("positions", grid);
        if !self.unused.is_empty() {
            let names = self.unused.into_iter().collect::<Vec<_>>().join(", ");
            self.taking.understand("properties not known", format!("{names}; kept with each find under their names"));
        }
        if self.features == 0 {
            self.taking.warn("the file holds no feature");
        }
        let shapes: Vec<_> = self.shapes.iter().map(|(name, count)| format!("{count} {name}")).collect();
        Ok(format!(
            "GeoJSON: {} feature(s): {}",
            self.features,
            if shapes.is_empty() { "none".to_owned() } else { shapes.join(", ") }
        ))
    }

    /// Notes the grid of the member `crs`, which GeoJSON had before RFC 7946.
    fn crs(&mut self, crs: &JsonValue, after_features: bool) -> Result<(), Fault> {
        let Some(name) = named_grid(crs).filter(|_| self.grid.is_none()) else { return Ok(()) };
        let code = name.rsplit(':').next().unwrap_or(name);
        let grid = Grid::named(code).map_err(|e| Fault::Option(e.to_string()))?;
        if after_features {
            return Err(Fault::Option(format!(
                "names its grid ({}) only after its features; state the grid when importing it",
                grid.name()
            )));
        }
        self.grid = Some(grid);
        Ok(())
    }

    fn feature(&mut self, mut object: JsonObject, line: u64) -> Result<(), Stop> {
        self.features += 1;
        let mark = Mark { line, noun: "feature", number: self.features };
        let (geometry, properties) = match object.get("type").and_then(JsonValue::as_str) {
            Some("Feature") => (object.remove("geometry").unwrap_or_default(), object.remove("properties").unwrap_or_default()),
            _ => (JsonValue::Object(object), JsonValue::Null),
        };
        if geometry.is_null() {
            self.nowhere(mark, &properties);
            return Ok(());
        }
        let geometry: Geometry = match serde_json::from_value(geometry) {
            Ok(geometry) => geometry,
            Err(why) => {
                self.taking.refuse(mark, format!("its geometry is not GeoJSON: {why}"));
                return Ok(());
            }
        };
        let mut row = Row::new(mark, self.taking.options.day_first.unwrap_or(true));
        let mut times = JsonValue::Null;
        if let JsonValue::Object(properties) = properties {
            let of_a_book = properties.contains_key("uid");
            let of_a_permission = properties.get("role").and_then(JsonValue::as_str) == Some("permission");
            for (name, value) in properties {
                if let Some(title) = name.strip_prefix(MORE) {
                    row.add_other(&Arc::from(title), &text_of(&value));
                    continue;
                }
                let (title, meant) = self.named(&name);
                match meant {
                    Some(m) if m.field == Field::Times => times = value,
                    Some(m) => row.add(&m, &title, &text_of(&value), false),
                    None => {
                        if of_a_book {
                            row.add_from_layer(&title, &text_of(&value))
                        } else {
                            row.add_other(&title, &text_of(&value))
                        }
                        let is_read = of_a_permission && precision::is_read(&name);
                        if self.unused.len() < UNUSED_TOLD && !is_read {
                            self.unused.insert(name);
                        }
                    }
                }
            }
        }
        let done = self.geometry(&mut row, &geometry.value, &times, 0);
        row.tell_unread(self.taking);
        done
    }

    /// Sees to a feature without a geometry. Of another person's only finds are taken, so that a visit or the like is no
    /// mistake of the file.
    fn nowhere(&mut self, mark: Mark, properties: &JsonValue) {
        let role = properties.get("role").and_then(JsonValue::as_str).unwrap_or_default();
        match (self.taking.options.by.is_some(), role) {
            (true, "find") => self.taking.refuse(mark, "is a find whose place is not told, so it cannot stand on the beach"),
            (true, role) if !role.is_empty() => self.taking.leave_out_of_another(mark.line),
            _ => self.taking.refuse(mark, "has no geometry"),
        }
    }

    /// The name of a property as a heading, and what it means. Features have the same few, so each is made out once.
    fn named(&mut self, name: &str) -> (Arc<str>, Option<Meaning>) {
        if let Some(known) = self.named.get(name) {
            return known.clone();
        }
        let made = (Arc::from(name), meaning(name).filter(|m| m.field != Field::Id));
        if self.named.len() < NAMES_KEPT {
            self.named.insert(name.to_owned(), made.clone());
        }
        made
    }

    fn geometry(&mut self, row: &mut Row, value: &GeometryValue, times: &JsonValue, depth: usize) -> Result<(), Stop> {
        if let GeometryValue::GeometryCollection { geometries } = value {
            if depth >= DEPTH {
                return Err(Fault::TooDeep { line: row.mark.line, limit: DEPTH }.into());
            }
            return geometries.iter().try_for_each(|g| self.geometry(row, &g.value, times, depth + 1));
        }
        *self.shapes.entry(value.type_name()).or_default() += 1;
        match self.shape(value, times) {
            Ok(shape) => shape::take(self.taking, row, shape),
            Err(why) => {
                self.taking.refuse(row.mark, why);
                Ok(())
            }
        }
    }

    fn shape(&self, value: &GeometryValue, times: &JsonValue) -> Result<Shape, String> {
        let place = |p: &Position| self.place(p);
        let line = |l: &[Position], times: &JsonValue| -> Result<Vec<(Placed, Option<Timestamp>)>, String> {
            l.iter().enumerate().map(|(n, p)| Ok((place(p)?, times.get(n).and_then(instant)))).collect()
        };
        let polygon = |rings: &[Vec<Position>]| -> Result<Polygon<f64>, String> {
            let ring = |r: &Vec<Position>| -> Result<LineString<f64>, String> {
                let mut coords = r.iter().map(|p| place(p).map(|(at, _)| Coord::from(at))).collect::<Result<Vec<_>, _>>()?;
                // Some writers leave rings open; closing them changes no ground.
                if coords.first() != coords.last() && coords.len() >= 3 {
                    coords.extend(coords.first().copied());
                }
                if coords.len() < 4 { Err("has a ring of fewer than four positions".to_owned()) } else { Ok(LineString(coords)) }
            };
            let mut rings = rings.iter().map(ring);
            let outer = rings.next().ok_or("has a polygon without rings")??;
            Ok(Polygon::new(outer, rings.collect::<Result<_, _>>()?))
        };
        Ok(match value {
            GeometryValue::Point { coordinates } => Shape::Points(vec![place(coordinates)?]),
            GeometryValue::MultiPoint { coordinates } => Shape::Points(coordinates.iter().map(place).collect::<Result<_, _>>()?),
            GeometryValue::LineString { coordinates } => Shape::Lines(vec![line(coordinates, times)?]),
            GeometryValue::MultiLineString { coordinates } => {
                let none = JsonValue::Null;
                let lines = coordinates.iter().enumerate().map(|(n, l)| line(l, times.get(n).unwrap_or(&none)));
                Shape::Lines(lines.collect::<Result<_, _>>()?)
            }
            GeometryValue::Polygon { coordinates } => Shape::Area(MultiPolygon(vec![polygon(coordinates)?])),
            GeometryValue::MultiPolygon { coordinates } => {
                Shape::Area(MultiPolygon(coordinates.iter().map(|p| polygon(p)).collect::<Result<_, _>>()?))
            }
            GeometryValue::GeometryCollection { .. } => return Err("is a collection of shapes".to_owned()),
        })
    }

    fn place(&self, position: &Position) -> Result<Placed, String> {
        let (Some(x), Some(y)) = (position.as_slice().first(), position.as_slice().get(1)) else {
            return Err("has a position of fewer than two numbers".to_owned());
        };
        let at = match &self.grid {
            Some(grid) => grid.to_lonlat(*x, *y),
            None => LonLat::new(*x, *y),
        };
        Ok((at.map_err(|e| e.to_string())?, position.as_slice().get(2).copied().filter(|z| z.is_finite())))
    }
}

fn instant(value: &JsonValue) -> Option<Timestamp> {
    match When::read(value.as_str()?, true)? {
        When::Instant(time) => Some(time),
        _ => None,
    }
}
