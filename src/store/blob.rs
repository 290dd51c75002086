//! The geometry blob of a GeoPackage: a short header with the envelope, then ISO well-known binary.
//!
//! OGC 12-128, clause 2.1.3 (the GeoPackage binary format): `GP`, version 0, flags, reference
//! system, envelope, then WKB as in OGC 06-103 with the ISO type numbers (1000 added for Z, 2000
//! for M, 3000 for both). Written little-endian; read in either order of bytes, as others may write.

/// The reference system of every geometry in a book: WGS 84 longitude and latitude.
pub(super) const SRS: i32 = 4326;

/// One position; `z` and `m` are NaN where there is none.
#[derive(Debug, Clone, Copy)]
pub(super) struct Position {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) z: f64,
    pub(super) m: f64,
}

impl Position {
    pub(super) fn flat(x: f64, y: f64) -> Self {
        Self { x, y, z: f64::NAN, m: f64::NAN }
    }
}

/// Which of Z and M each position carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Dims {
    pub(super) z: bool,
    pub(super) m: bool,
}

impl Dims {
    pub(super) const XY: Self = Self { z: false, m: false };
    pub(super) const XYZ: Self = Self { z: true, m: false };
    pub(super) const XYZM: Self = Self { z: true, m: true };

    fn bytes(self) -> usize {
        8 * (2 + usize::from(self.z) + usize::from(self.m))
    }

    fn code(self) -> u32 {
        1000 * u32::from(self.z) + 2000 * u32::from(self.m)
    }
}

/// A run of positions.
pub(super) type Run = Vec<Position>;

/// The geometries a book holds.
#[derive(Debug, Clone)]
pub(super) enum Shape {
    Point(Position),
    Line(Run),
    Polygon(Vec<Run>),
    Lines(Vec<Run>),
    Polygons(Vec<Vec<Run>>),
}

impl Shape {
    /// Visits every run of positions.
    fn each(&self, f: &mut dyn FnMut(&[Position])) {
        match self {
            Self::Point(p) => f(std::slice::from_ref(p)),
            Self::Line(run) => f(run),
            Self::Polygon(runs) | Self::Lines(runs) => runs.iter().for_each(|r| f(r)),
            Self::Polygons(parts) => parts.iter().flatten().for_each(|r| f(r)),
        }
    }

    /// The smallest box around it, if it has any position.
    pub(super) fn bounds(&self) -> Option<Bounds> {
        let mut bounds: Option<Bounds> = None;
        self.each(&mut |run| {
            for p in run.iter().filter(|p| p.x.is_finite() && p.y.is_finite()) {
                let point = Bounds { min_x: p.x, max_x: p.x, min_y: p.y, max_y: p.y };
                bounds = Some(bounds.map_or(point, |b| b.with(point)));
            }
        });
        bounds
    }
}

/// A box in degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bounds {
    pub(super) min_x: f64,
    pub(super) max_x: f64,
    pub(super) min_y: f64,
    pub(super) max_y: f64,
}

impl Bounds {
    /// The box around both.
    pub(super) fn with(self, o: Self) -> Self {
        Self {
            min_x: self.min_x.min(o.min_x),
            max_x: self.max_x.max(o.max_x),
            min_y: self.min_y.min(o.min_y),
            max_y: self.max_y.max(o.max_y),
        }
    }

    /// Whether `inner`, a part of this box, reaches one of its sides: without it the box may shrink.
    pub(super) fn leans_on(self, inner: Self) -> bool {
        inner.min_x <= self.min_x || inner.max_x >= self.max_x || inner.min_y <= self.min_y || inner.max_y >= self.max_y
    }
}

/// Bytes of the header with an envelope, enough to read the envelope back.
pub(super) const HEADER: usize = 40;

/// Writes a geometry with its header.
pub(super) fn encode(shape: &Shape, dims: Dims) -> Vec<u8> {
    let mut positions = 0;
    shape.each(&mut |run| positions += run.len());
    let mut out = Vec::with_capacity(HEADER + 64 + positions * dims.bytes());
    let bounds = shape.bounds();
    out.extend(b"GP\0");
    // Flags: little-endian (bit 0), envelope of x and y (bits 1 to 3), empty (bit 4).
    out.push(if bounds.is_some() { 0b0000_0011 } else { 0b0001_0001 });
    out.extend(SRS.to_le_bytes());
    if let Some(b) = bounds {
        [b.min_x, b.max_x, b.min_y, b.max_y].iter().for_each(|v| out.extend(v.to_le_bytes()));
    }
    put_shape(&mut out, shape, dims);
    out
}

fn put_head(out: &mut Vec<u8>, kind: u32, dims: Dims) {
    out.push(1);
    out.extend((kind + dims.code()).to_le_bytes());
}

fn put_count(out: &mut Vec<u8>, count: usize) {
    // A book in memory cannot hold four thousand million positions in one run.
    out.extend(u32::try_from(count).unwrap_or(u32::MAX).to_le_bytes());
}

fn put_run(out: &mut Vec<u8>, run: &[Position], dims: Dims) {
    for p in run {
        out.extend(p.x.to_le_bytes());
        out.extend(p.y.to_le_bytes());
        if dims.z {
            out.extend(p.z.to_le_bytes());
        }
        if dims.m {
            out.extend(p.m.to_le_bytes());
        }
    }
}

fn put_counted(out: &mut Vec<u8>, run: &[Position], dims: Dims) {
    put_count(out, run.len());
    put_run(out, run, dims);
}

fn put_polygon(out: &mut Vec<u8>, rings: &[Run], dims: Dims) {
    put_head(out, 3, dims);
    put_count(out, rings.len());
    rings.iter().for_each(|r| put_counted(out, r, dims));
}

fn put_shape(out: &mut Vec<u8>, shape: &Shape, dims: Dims) {
    match shape {
        Shape::Point(p) => {
            put_head(out, 1, dims);
            put_run(out, std::slice::from_ref(p), dims);
        }
        Shape::Line(run) => {
            put_head(out, 2, dims);
            put_counted(out, run, dims);
        }
        Shape::Polygon(rings) => put_polygon(out, rings, dims),
        Shape::Lines(runs) => {
            put_head(out, 5, dims);
            put_count(out, runs.len());
            for run in runs {
                put_head(out, 2, dims);
                put_counted(out, run, dims);
            }
        }
        Shape::Polygons(parts) => {
            put_head(out, 6, dims);
            put_count(out, parts.len());
            parts.iter().for_each(|rings| put_polygon(out, rings, dims));
        }
    }
}

/// The envelope in a blob's header, without reading the geometry; the geometry's own where the
/// header has none.
pub(super) fn bounds_of(blob: &[u8]) -> Option<Bounds> {
    let (body, envelope) = header(blob).ok()?;
    match envelope {
        Some([min_x, max_x, min_y, max_y]) if [min_x, max_x, min_y, max_y].iter().all(|v| v.is_finite()) => {
            Some(Bounds { min_x, max_x, min_y, max_y })
        }
        _ => Reader { rest: body, little: true }.shape(0).ok()?.bounds(),
    }
}

/// Reads a geometry; the error says what is wrong with it, fit to follow "the geometry".
pub(super) fn decode(blob: &[u8]) -> Result<Shape, String> {
    let (body, _) = header(blob)?;
    let mut reader = Reader { rest: body, little: true };
    let shape = reader.shape(0)?;
    if reader.rest.is_empty() { Ok(shape) } else { Err(format!("has {} bytes too many", reader.rest.len())) }
}

/// What follows the header, and the envelope of x and y if it carries one.
fn header(blob: &[u8]) -> Result<(&[u8], Option<[f64; 4]>), String> {
    let [b'G', b'P', 0, flags, rest @ ..] = blob else {
        return Err("does not begin as a GeoPackage geometry does".to_owned());
    };
    if flags & 0b0010_0000 != 0 {
        return Err("is of an extended type that is not known here".to_owned());
    }
    let mut reader = Reader { rest, little: flags & 1 == 1 };
    let srs = reader.u32()?.cast_signed();
    if srs != SRS {
        return Err(format!("is in the reference system {srs}; a book holds WGS 84 longitude and latitude ({SRS})"));
    }
    let pairs = match (flags >> 1) & 7 {
        0 => 0,
        1 => 2,
        2 | 3 => 3,
        4 => 4,
        other => return Err(format!("has an unknown kind of envelope ({other})")),
    };
    let mut envelope = [f64::NAN; 8];
    for value in &mut envelope[..pairs * 2] {
        *value = reader.f64()?;
    }
    let [a, b, c, d, ..] = envelope;
    Ok((reader.rest, (pairs > 0).then_some([a, b, c, d])))
}

/// Deeper nesting than a multi-polygon's does not occur in what a book holds.
const DEPTH: u32 = 2;

struct Reader<'a> {
    rest: &'a [u8],
    little: bool,
}

impl Reader<'_> {
    fn take<const N: usize>(&mut self) -> Result<[u8; N], String> {
        let (head, rest) = self.rest.split_first_chunk::<N>().ok_or_else(|| "is cut short".to_owned())?;
        self.rest = rest;
        Ok(*head)
    }

    fn u32(&mut self) -> Result<u32, String> {
        let bytes = self.take()?;
        Ok(if self.little { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) })
    }

    fn f64(&mut self) -> Result<f64, String> {
        let bytes = self.take()?;
        Ok(if self.little { f64::from_le_bytes(bytes) } else { f64::from_be_bytes(bytes) })
    }

    /// A count of things of at least `least` bytes each: never more than there are bytes for.
    fn count(&mut self, least: usize) -> Result<usize, String> {
        let count = self.u32()? as usize;
        if count.saturating_mul(least) > self.rest.len() { Err("is cut short".to_owned()) } else { Ok(count) }
    }

    fn position(&mut self, dims: Dims) -> Result<Position, String> {
        let (x, y) = (self.f64()?, self.f64()?);
        let z = if dims.z { self.f64()? } else { f64::NAN };
        let m = if dims.m { self.f64()? } else { f64::NAN };
        Ok(Position { x, y, z, m })
    }

    fn run(&mut self, dims: Dims) -> Result<Run, String> {
        let count = self.count(dims.bytes())?;
        (0..count).map(|_| self.position(dims)).collect()
    }

    fn rings(&mut self, dims: Dims) -> Result<Vec<Run>, String> {
        let count = self.count(4)?;
        (0..count).map(|_| self.run(dims)).collect()
    }

    fn shape(&mut self, depth: u32) -> Result<Shape, String> {
        if depth > DEPTH {
            return Err("is nested too deeply".to_owned());
        }
        self.little = match self.take()? {
            [0] => false,
            [1] => true,
            [other] => return Err(format!("has an unknown order of bytes ({other})")),
        };
        let code = self.u32()?;
        let dims = match code / 1000 {
            0 => Dims::XY,
            1 => Dims::XYZ,
            2 => Dims { z: false, m: true },
            3 => Dims::XYZM,
            _ => return Err(format!("is of an unknown type ({code})")),
        };
        match code % 1000 {
            1 => Ok(Shape::Point(self.position(dims)?)),
            2 => Ok(Shape::Line(self.run(dims)?)),
            3 => Ok(Shape::Polygon(self.rings(dims)?)),
            5 => self.parts(depth, |part| if let Shape::Line(run) = part { Some(run) } else { None }).map(Shape::Lines),
            6 => self.parts(depth, |part| if let Shape::Polygon(rings) = part { Some(rings) } else { None }).map(Shape::Polygons),
            _ => Err(format!("is of a type that a book does not hold ({code})")),
        }
    }

    fn parts<T>(&mut self, depth: u32, pick: fn(Shape) -> Option<T>) -> Result<Vec<T>, String> {
        let count = self.count(9)?;
        (0..count).map(|_| pick(self.shape(depth + 1)?).ok_or_else(|| "holds parts of the wrong type".to_owned())).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn run(least: usize) -> impl Strategy<Value = Run> {
        let position = (-180.0..180.0, -90.0..90.0, -50.0..50.0, 0.0..2e9).prop_map(|(x, y, z, m)| Position { x, y, z, m });
        prop::collection::vec(position, least..9)
    }

    fn shape() -> impl Strategy<Value = Shape> {
        let rings = || prop::collection::vec(run(1), 1..4);
        prop_oneof![
            run(1).prop_map(|r| Shape::Point(r[0])),
            run(0).prop_map(Shape::Line),
            rings().prop_map(Shape::Polygon),
            rings().prop_map(Shape::Lines),
            prop::collection::vec(rings(), 0..3).prop_map(Shape::Polygons),
        ]
    }

    fn same(a: &Shape, b: &Shape, dims: Dims) -> bool {
        encode(a, dims) == encode(b, dims)
    }

    proptest! {
        #![proptest_config(crate::cases::kept())]
        #[test]
        fn reads_back_what_it_wrote(shape in shape(), z: bool, m: bool) {
            let dims = Dims { z, m };
            let blob = encode(&shape, dims);
            let back = decode(&blob).unwrap();
            prop_assert!(same(&back, &shape, dims));
            prop_assert_eq!(std::mem::discriminant(&back), std::mem::discriminant(&shape));
            prop_assert_eq!(bounds_of(&blob), shape.bounds());
        }

        #[test]
        fn never_panics_on_what_others_write(mut blob in prop::collection::vec(any::<u8>(), 0..80), cut in 0usize..200) {
            let _ = decode(&blob);
            blob.splice(0..blob.len().min(8), *b"GP\0\x01\xe6\x10\0\0");
            let _ = (decode(&blob), bounds_of(&blob));
            let whole = encode(&Shape::Polygons(vec![vec![vec![Position::flat(1.0, 2.0); 5]]]), Dims::XY);
            if cut < whole.len() {
                prop_assert!(decode(&whole[..cut]).is_err());
            }
        }
    }

    /// The point example of OGC 06-103r4 clause 8.2.7 in both byte orders: `POINT (1 2)`, from memory.
    #[test]
    fn reads_either_byte_order() {
        let little = [b"GP\0\x01\xe6\x10\0\0".as_slice(), &[1, 1, 0, 0, 0], &1f64.to_le_bytes(), &2f64.to_le_bytes()].concat();
        let big = [b"GP\0\0\0\0\x10\xe6".as_slice(), &[0, 0, 0, 0, 1], &1f64.to_be_bytes(), &2f64.to_be_bytes()].concat();
        for blob in [little, big] {
            let Shape::Point(p) = decode(&blob).unwrap() else { panic!("not a point") };
            assert_eq!((p.x, p.y), (1.0, 2.0));
            assert!(p.z.is_nan() && p.m.is_nan());
        }
    }

    #[test]
    fn a_count_beyond_the_bytes_is_refused_before_memory_is_taken() {
        let blob = [b"GP\0\x01\xe6\x10\0\0".as_slice(), &[1, 2, 0, 0, 0], &u32::MAX.to_le_bytes()].concat();
        assert_eq!(decode(&blob).unwrap_err(), "is cut short");
    }
}
