use geo::Orient;
use geo::orient::Direction;
use geo_types::{Coord, Geometry, LineString, Polygon};
use serde_json::{Map, Value, json};

use crate::earth::LonLat;
use crate::exchange::error::ExchangeError;
use crate::output::MARK;

/// A shape in longitude and latitude with its properties.
#[derive(Debug, Clone, PartialEq)]
pub struct Feature {
    /// The shape, degrees on WGS 84.
    pub geometry: Geometry<f64>,
    /// What is known of it.
    pub properties: Map<String, Value>,
}

impl Feature {
    /// A shape without properties.
    pub fn new(geometry: impl Into<Geometry<f64>>) -> Self {
        Self { geometry: geometry.into(), properties: Map::new() }
    }

    /// The same with one more property; a null says nothing and is left out.
    #[must_use]
    pub fn with(mut self, name: &str, value: impl Into<Value>) -> Self {
        let value = value.into();
        if !value.is_null() {
            self.properties.insert(name.to_owned(), value);
        }
        self
    }
}

/// Writes a feature collection as RFC 7946 asks: WGS 84 without a `crs`, longitude first, a `bbox`,
/// outer rings counterclockwise and inner ones clockwise, at most seven decimals (a centimetre).
///
/// One feature stands on each line, so that a line number names a feature. The foreign member `generator` (RFC 7946,
/// 6.1) says what made the file.
///
/// # Errors
/// [`ExchangeError::Write`] when a position is not on earth or a ring has fewer than four positions.
pub fn write(features: &[Feature]) -> Result<Vec<u8>, ExchangeError> {
    let mut bounds = Bounds::default();
    let mut lines = Vec::with_capacity(features.len());
    for (n, feature) in features.iter().enumerate() {
        let wrong = |why| ExchangeError::Write { what: format!("feature {}", n + 1), why };
        let geometry = geometry(&feature.geometry, &mut bounds).map_err(wrong)?;
        lines.push(json!({ "type": "Feature", "properties": feature.properties, "geometry": geometry }).to_string());
    }
    let bbox = bounds.bbox().map(|b| format!("\n\"bbox\": {},", json!(b))).unwrap_or_default();
    Ok(format!(
        "{{ \"type\": \"FeatureCollection\",\n\"generator\": \"Scourline {MARK}\",{bbox}\n\"features\": [\n{}\n] }}\n",
        lines.join(",\n")
    )
    .into_bytes())
}

/// The longitudes of either hemisphere and the latitudes met, each as lowest and highest.
#[derive(Default)]
struct Bounds {
    west: Option<(f64, f64)>,
    east: Option<(f64, f64)>,
    lat: Option<(f64, f64)>,
}

fn widen(span: &mut Option<(f64, f64)>, value: f64) {
    let (low, high) = span.unwrap_or((value, value));
    *span = Some((low.min(value), high.max(value)));
}

impl Bounds {
    fn add(&mut self, at: LonLat) {
        let lon = round(at.lon_deg());
        widen(if lon < 0.0 { &mut self.west } else { &mut self.east }, lon);
        widen(&mut self.lat, round(at.lat_deg()));
    }

    /// West, south, east, north; west is greater than east across the antimeridian (RFC 7946, 5.2).
    fn bbox(&self) -> Option<[f64; 4]> {
        let (south, north) = self.lat?;
        let (west, east) = match (self.west, self.east) {
            (Some(west), Some(east)) if east.0 - west.1 > 180.0 => (east.0, west.1),
            (Some(west), Some(east)) => (west.0, east.1),
            (one, other) => one.or(other)?,
        };
        Some([west, south, east, north])
    }
}

fn round(degrees: f64) -> f64 {
    (degrees * 1e7).round() / 1e7
}

fn geometry(shape: &Geometry<f64>, bounds: &mut Bounds) -> Result<Value, String> {
    let mut place = |c: &Coord<f64>| -> Result<Value, String> {
        let at = LonLat::try_from(*c).map_err(|e| e.to_string())?;
        bounds.add(at);
        Ok(json!([round(at.lon_deg()), round(at.lat_deg())]))
    };
    Ok(match shape {
        Geometry::Point(p) => json!({ "type": "Point", "coordinates": place(&p.0)? }),
        Geometry::MultiPoint(points) => {
            let points = points.iter().map(|p| place(&p.0)).collect::<Result<Vec<_>, _>>()?;
            json!({ "type": "MultiPoint", "coordinates": points })
        }
        Geometry::LineString(l) => json!({ "type": "LineString", "coordinates": line(l, &mut place)? }),
        Geometry::MultiLineString(lines) => {
            let lines = lines.iter().map(|l| line(l, &mut place)).collect::<Result<Vec<_>, _>>()?;
            json!({ "type": "MultiLineString", "coordinates": lines })
        }
        Geometry::Polygon(p) => json!({ "type": "Polygon", "coordinates": rings(p, &mut place)? }),
        Geometry::MultiPolygon(polygons) => {
            let polygons = polygons.iter().map(|p| rings(p, &mut place)).collect::<Result<Vec<_>, _>>()?;
            match polygons.as_slice() {
                [one] => json!({ "type": "Polygon", "coordinates": one }),
                _ => json!({ "type": "MultiPolygon", "coordinates": polygons }),
            }
        }
        Geometry::Line(l) => json!({ "type": "LineString", "coordinates": [place(&l.start)?, place(&l.end)?] }),
        Geometry::Rect(r) => json!({ "type": "Polygon", "coordinates": rings(&r.to_polygon(), &mut place)? }),
        Geometry::Triangle(t) => json!({ "type": "Polygon", "coordinates": rings(&t.to_polygon(), &mut place)? }),
        // A feature without a place (RFC 7946, 3.2).
        Geometry::GeometryCollection(shapes) if shapes.is_empty() => Value::Null,
        Geometry::GeometryCollection(shapes) => {
            let shapes = shapes.iter().map(|g| geometry(g, bounds)).collect::<Result<Vec<_>, _>>()?;
            json!({ "type": "GeometryCollection", "geometries": shapes })
        }
    })
}

type Place<'p> = dyn FnMut(&Coord<f64>) -> Result<Value, String> + 'p;

fn line(line: &LineString<f64>, place: &mut Place<'_>) -> Result<Vec<Value>, String> {
    if line.0.len() < 2 {
        return Err("a line has fewer than two positions".to_owned());
    }
    line.0.iter().map(place).collect()
}

fn rings(polygon: &Polygon<f64>, place: &mut Place<'_>) -> Result<Vec<Value>, String> {
    // The default direction of `orient` is the right-hand rule of RFC 7946, 3.1.6.
    let polygon = polygon.orient(Direction::Default);
    let mut out = Vec::new();
    for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
        if ring.0.len() < 4 {
            return Err("a ring has fewer than four positions".to_owned());
        }
        out.push(Value::Array(ring.0.iter().map(&mut *place).collect::<Result<_, _>>()?));
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo_types::{MultiPoint, Point, polygon};

    fn parse(features: &[Feature]) -> Value {
        serde_json::from_slice(&write(features).unwrap()).unwrap()
    }

    #[test]
    fn rings_turn_by_the_right_hand_rule_whatever_they_were() {
        let clockwise = polygon![(x: 0.0, y: 0.0), (x: 0.0, y: 1.0), (x: 1.0, y: 1.0), (x: 1.0, y: 0.0)];
        let json = parse(&[Feature::new(clockwise).with("name", "square").with("nothing", Value::Null)]);
        let ring: Vec<[f64; 2]> = serde_json::from_value(json["features"][0]["geometry"]["coordinates"][0].clone()).unwrap();
        let area: f64 = ring.windows(2).map(|w| w[0][0] * w[1][1] - w[1][0] * w[0][1]).sum();
        assert!(area > 0.0 && ring.first() == ring.last());
        assert_eq!(json["bbox"], json!([0.0, 0.0, 1.0, 1.0]));
        assert_eq!(json["features"][0]["properties"], json!({ "name": "square" }));
        assert!(json.get("crs").is_none());
    }

    #[test]
    fn seven_decimals_and_a_box_across_the_antimeridian() {
        let points: MultiPoint<f64> = vec![(179.123_456_789, -17.0), (-179.5, -17.25), (179.9, -17.1)].into();
        let json = parse(&[Feature::new(points)]);
        assert_eq!(json["features"][0]["geometry"]["coordinates"][0], json!([179.123_456_8, -17.0]));
        assert_eq!(json["bbox"], json!([179.123_456_8, -17.25, -179.5, -17.0]));
    }

    #[test]
    fn nothing_and_what_is_not_on_earth() {
        assert_eq!(parse(&[])["features"], json!([]));
        let error = write(&[Feature::new(Point::new(0.0, 91.0))]).unwrap_err().to_string();
        assert!(error.starts_with("feature 1 cannot be written") && error.contains("91"), "{error}");
        assert!(write(&[Feature::new(Point::new(f64::NAN, 0.0))]).is_err());
    }
}
