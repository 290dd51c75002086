//! A geometry as GeoPackage keeps it: a head (OGC 12-128r18, 2.1.3) and well-known binary (ISO 13249-3; OGC 06-103r4, 8).

use geo_types::{Coord, LineString, MultiPolygon, Polygon};

use crate::earth::{Grid, LonLat};
use crate::exchange::records::shape::{Placed, Shape};

/// The shapes of one geometry; a collection may hold several sorts.
#[derive(Debug, Default)]
pub(super) struct Shapes {
    points: Vec<Placed>,
    lines: Vec<Vec<Placed>>,
    areas: Vec<Polygon<f64>>,
}

impl Shapes {
    pub(super) fn into_shapes(self) -> Vec<Shape> {
        let mut shapes = Vec::new();
        if !self.points.is_empty() {
            shapes.push(Shape::Points(self.points));
        }
        if !self.lines.is_empty() {
            let timeless = |line: Vec<Placed>| line.into_iter().map(|p| (p, None)).collect();
            shapes.push(Shape::Lines(self.lines.into_iter().map(timeless).collect()));
        }
        if !self.areas.is_empty() {
            shapes.push(Shape::Area(MultiPolygon(self.areas)));
        }
        shapes
    }
}

/// How deep collections may nest.
const DEEPEST: usize = 16;

/// Reads a geometry, its positions on `grid`, or in degrees without one.
///
/// # Errors
/// A sentence on what is wrong with it.
pub(super) fn shapes(blob: &[u8], grid: Option<&Grid>) -> Result<Shapes, String> {
    let head = blob.get(..8).filter(|h| h.starts_with(b"GP")).ok_or("its geometry is none of a GeoPackage")?;
    let flags = head[3];
    if flags & 0x20 != 0 {
        return Err("its geometry is of an extended sort that is not known here".to_owned());
    }
    let envelope = match flags >> 1 & 7 {
        0 => 0,
        1 => 32,
        2 | 3 => 48,
        4 => 64,
        _ => return Err("its geometry has a broken head".to_owned()),
    };
    let mut reading = Reading { bytes: blob.get(8 + envelope..).unwrap_or_default(), grid, shapes: Shapes::default() };
    reading.geometry(0)?;
    Ok(reading.shapes)
}

struct Reading<'b> {
    bytes: &'b [u8],
    grid: Option<&'b Grid>,
    shapes: Shapes,
}

/// How one geometry writes its numbers.
#[derive(Clone, Copy)]
struct Way {
    little: bool,
    /// Whether a height follows, and whether a measure does.
    height: bool,
    measure: bool,
}

fn cut() -> String {
    "its geometry is cut off".to_owned()
}

impl Reading<'_> {
    fn take<const N: usize>(&mut self) -> Result<[u8; N], String> {
        let (head, rest) = self.bytes.split_first_chunk::<N>().ok_or_else(cut)?;
        self.bytes = rest;
        Ok(*head)
    }

    fn whole(&mut self, little: bool) -> Result<u32, String> {
        let bytes = self.take::<4>()?;
        Ok(if little { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) })
    }

    fn number(&mut self, little: bool) -> Result<f64, String> {
        let bytes = self.take::<8>()?;
        Ok(if little { f64::from_le_bytes(bytes) } else { f64::from_be_bytes(bytes) })
    }

    /// How many of something follow, each of which takes at least so many bytes.
    fn count(&mut self, little: bool, least: usize) -> Result<usize, String> {
        let count = self.whole(little)? as usize;
        if count.saturating_mul(least) > self.bytes.len() { Err(cut()) } else { Ok(count) }
    }

    fn geometry(&mut self, depth: usize) -> Result<(), String> {
        if depth > DEEPEST {
            return Err("its geometry nests without end".to_owned());
        }
        let little = match self.take::<1>()? {
            [0] => false,
            [1] => true,
            _ => return Err("its geometry states no order of bytes".to_owned()),
        };
        let code = self.whole(little)?;
        let (sort, dimensions) = (code % 1000, code / 1000);
        let way = Way { little, height: matches!(dimensions, 1 | 3), measure: matches!(dimensions, 2 | 3) };
        if dimensions > 3 {
            return Err(format!("its geometry is of the sort {code}, which is not known here"));
        }
        match sort {
            1 => {
                // A point without numbers is an empty one.
                if let Some(place) = self.place(way)? {
                    self.shapes.points.push(place);
                }
            }
            2 => {
                let line = self.line(way)?;
                if !line.is_empty() {
                    self.shapes.lines.push(line);
                }
            }
            3 => self.polygon(way)?,
            4..=7 => {
                for _ in 0..self.count(little, 5)? {
                    self.geometry(depth + 1)?;
                }
            }
            _ => return Err(format!("its geometry is of the sort {code}, such as a curve, which is not known here")),
        }
        Ok(())
    }

    fn place(&mut self, way: Way) -> Result<Option<Placed>, String> {
        let (x, y) = (self.number(way.little)?, self.number(way.little)?);
        let height_m = if way.height { Some(self.number(way.little)?).filter(|h| h.is_finite()) } else { None };
        if way.measure {
            self.number(way.little)?;
        }
        if x.is_nan() && y.is_nan() {
            return Ok(None);
        }
        let at = match self.grid {
            Some(grid) => grid.to_lonlat(x, y),
            None => LonLat::new(x, y),
        };
        Ok(Some((at.map_err(|e| e.to_string())?, height_m)))
    }

    fn line(&mut self, way: Way) -> Result<Vec<Placed>, String> {
        let count = self.count(way.little, 16)?;
        let mut places = Vec::with_capacity(count);
        for _ in 0..count {
            places.extend(self.place(way)?);
        }
        Ok(places)
    }

    fn polygon(&mut self, way: Way) -> Result<(), String> {
        let mut rings = Vec::new();
        for _ in 0..self.count(way.little, 4)? {
            let ring: Vec<Coord<f64>> = self.line(way)?.into_iter().map(|(at, _)| Coord::from(at)).collect();
            if ring.len() < 4 {
                return Err("has a ring of fewer than four positions".to_owned());
            }
            rings.push(LineString(ring));
        }
        let mut rings = rings.into_iter();
        if let Some(outer) = rings.next() {
            self.shapes.areas.push(Polygon::new(outer, rings.collect()));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A point with height and measure, big-endian, and a line, little-endian, laid out by hand as the standards say.
    #[test]
    fn points_and_lines_in_either_order_of_bytes() {
        let mut point = b"GP\0\x01\xE6\x10\0\0".to_vec();
        point.extend([0]);
        point.extend(3001_u32.to_be_bytes());
        [-20.0, 45.0, 1.5, 9.0].iter().for_each(|v: &f64| point.extend(v.to_be_bytes()));
        let read = shapes(&point, None).unwrap();
        assert_eq!(read.points, [(LonLat::new(-20.0, 45.0).unwrap(), Some(1.5))]);
        let mut line = b"GP\0\x03\xE6\x10\0\0".to_vec();
        line.extend([0; 32]);
        line.extend([1]);
        line.extend(2_u32.to_le_bytes());
        line.extend(2_u32.to_le_bytes());
        [-20.0, 45.0, -20.0, 45.1].iter().for_each(|v: &f64| line.extend(v.to_le_bytes()));
        assert_eq!(shapes(&line, None).unwrap().lines[0].len(), 2);
        // Cut anywhere, or with a count that is a lie, it is refused and costs nothing.
        for n in 0..line.len() {
            assert!(shapes(&line[..n], None).is_err(), "{n}");
        }
        line[45..49].copy_from_slice(&u32::MAX.to_le_bytes());
        assert_eq!(shapes(&line, None).unwrap_err(), cut());
    }
}
