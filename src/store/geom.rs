//! How the geometries of records are laid out as GeoPackage shapes.

use geo_types::{Coord, LineString, MultiLineString, MultiPolygon, Polygon};
use jiff::Timestamp;

use super::blob::{Dims, Position, Run, Shape};
use crate::book::{BarrierShape, TrackPoint};
use crate::earth::LonLat;

/// What a layer's geometry column is declared to hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct GeomType {
    pub(super) name: &'static str,
    pub(super) dims: Dims,
}

/// A geometry that a layer holds.
pub(super) trait Geom: Sized {
    /// What its column is declared as.
    const TYPE: GeomType;

    /// Its shape.
    fn shape(&self) -> Shape;

    /// The geometry of a shape; the error is fit to follow "the geometry".
    fn from_shape(shape: Shape) -> Result<Self, String>;
}

const fn flat(name: &'static str) -> GeomType {
    GeomType { name, dims: Dims::XY }
}

fn lonlat(p: &Position) -> Result<LonLat, String> {
    LonLat::new(p.x, p.y).map_err(|e| format!("has a bad position: {e}"))
}

fn position(p: LonLat) -> Position {
    Position::flat(p.lon_deg(), p.lat_deg())
}

fn wrong(wanted: &str) -> String {
    format!("is not {wanted}")
}

impl Geom for LonLat {
    const TYPE: GeomType = flat("POINT");
    fn shape(&self) -> Shape {
        Shape::Point(position(*self))
    }
    fn from_shape(shape: Shape) -> Result<Self, String> {
        let Shape::Point(p) = shape else { return Err(wrong("a point")) };
        lonlat(&p)
    }
}

/// A position with a height, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Raised {
    pub(super) at: LonLat,
    pub(super) z_m: f64,
}

impl Geom for Raised {
    const TYPE: GeomType = GeomType { name: "POINT", dims: Dims::XYZ };
    fn shape(&self) -> Shape {
        Shape::Point(Position { z: self.z_m, ..position(self.at) })
    }
    fn from_shape(shape: Shape) -> Result<Self, String> {
        let Shape::Point(p) = shape else { return Err(wrong("a point")) };
        Ok(Self { at: lonlat(&p)?, z_m: p.z })
    }
}

/// A line of positions. One of a single position is written with it twice, as a line needs two;
/// the count beside it tells.
impl Geom for Vec<LonLat> {
    const TYPE: GeomType = flat("LINESTRING");
    fn shape(&self) -> Shape {
        Shape::Line(doubled(self.iter().map(|p| position(*p)).collect()))
    }
    fn from_shape(shape: Shape) -> Result<Self, String> {
        let Shape::Line(run) = shape else { return Err(wrong("a line")) };
        run.iter().map(lonlat).collect()
    }
}

/// A run of fixes: Z the height in metres, M the seconds since 1970-01-01 UTC, NaN where unknown.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Fixes(pub(super) Vec<TrackPoint>);

impl Geom for Fixes {
    const TYPE: GeomType = GeomType { name: "LINESTRING", dims: Dims::XYZM };
    fn shape(&self) -> Shape {
        let one = |p: &TrackPoint| Position {
            z: p.height_m().unwrap_or(f64::NAN),
            m: p.time_s().unwrap_or(f64::NAN),
            ..position(p.at)
        };
        Shape::Line(doubled(self.0.iter().map(one).collect()))
    }
    fn from_shape(shape: Shape) -> Result<Self, String> {
        let Shape::Line(run) = shape else { return Err(wrong("a line")) };
        let one = |p: &Position| {
            let time = match p.m.is_nan() {
                true => None,
                false => Some(
                    Timestamp::from_millisecond((p.m * 1000.0).round() as i64)
                        .map_err(|_| format!("has a time that cannot be (M = {})", p.m))?,
                ),
            };
            Ok(TrackPoint::new(lonlat(p)?).with_time(time).with_height_m(Some(p.z)))
        };
        run.iter().map(one).collect::<Result<_, String>>().map(Self)
    }
}

fn doubled(mut run: Run) -> Run {
    if let [only] = run[..] {
        run.push(only);
    }
    run
}

/// Takes back the doubling of a single position, as the count beside the line says; a line that
/// another program drew has no count.
pub(super) fn undouble<T>(run: &mut Vec<T>, count: Option<u32>) {
    if count == Some(1) && run.len() == 2 {
        run.truncate(1);
    }
}

/// Declared MULTIPOLYGON since a zone or permission may have several parts; single polygons that
/// other programs write are read as well.
impl Geom for MultiPolygon<f64> {
    const TYPE: GeomType = flat("MULTIPOLYGON");
    fn shape(&self) -> Shape {
        Shape::Polygons(self.iter().map(rings).collect())
    }
    fn from_shape(shape: Shape) -> Result<Self, String> {
        match shape {
            Shape::Polygon(rings) => polygon(rings).map(|p| Self(vec![p])),
            Shape::Polygons(parts) => parts.into_iter().map(polygon).collect::<Result<_, _>>().map(Self),
            _ => Err(wrong("a polygon")),
        }
    }
}

impl Geom for BarrierShape {
    const TYPE: GeomType = flat("GEOMETRY");
    fn shape(&self) -> Shape {
        match self {
            Self::Line(lines) => Shape::Lines(lines.iter().map(run).collect()),
            Self::Area(area) => area.shape(),
        }
    }
    fn from_shape(shape: Shape) -> Result<Self, String> {
        match shape {
            Shape::Line(run) => Ok(Self::Line(MultiLineString(vec![line(&run)]))),
            Shape::Lines(runs) => Ok(Self::Line(MultiLineString(runs.iter().map(|r| line(r)).collect()))),
            Shape::Point(_) => Err(wrong("a line or an area")),
            area => MultiPolygon::from_shape(area).map(Self::Area),
        }
    }
}

fn run(line: &LineString<f64>) -> Run {
    line.0.iter().map(|c| Position::flat(c.x, c.y)).collect()
}

fn line(run: &[Position]) -> LineString<f64> {
    run.iter().map(|p| Coord { x: p.x, y: p.y }).collect()
}

fn rings(polygon: &Polygon<f64>) -> Vec<Run> {
    std::iter::once(polygon.exterior()).chain(polygon.interiors()).map(run).collect()
}

fn polygon(rings: Vec<Run>) -> Result<Polygon<f64>, String> {
    let mut rings = rings.iter().map(|r| line(r));
    let outer = rings.next().ok_or_else(|| "has a polygon without a ring".to_owned())?;
    Ok(Polygon::new(outer, rings.collect()))
}
