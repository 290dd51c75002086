use std::fmt;

use proj4rs::{adaptors::transform_vertex_2d, proj::Proj};

use super::{EarthError, LonLat};

/// A point in a beach's own plane: metres east and north of the frame's centre.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Local {
    /// Metres towards grid east.
    pub east_m: f64,
    /// Metres towards grid north.
    pub north_m: f64,
}

impl Local {
    /// A point from its metres east and north.
    pub fn new(east_m: f64, north_m: f64) -> Self {
        Self { east_m, north_m }
    }

    /// Straight distance in the plane, metres.
    pub fn distance_m(self, other: Self) -> f64 {
        (self.east_m - other.east_m).hypot(self.north_m - other.north_m)
    }
}

impl From<Local> for geo_types::Coord<f64> {
    fn from(p: Local) -> Self {
        Self { x: p.east_m, y: p.north_m }
    }
}

impl From<geo_types::Coord<f64>> for Local {
    fn from(c: geo_types::Coord<f64>) -> Self {
        Self::new(c.x, c.y)
    }
}

/// A beach's local metric frame: transverse Mercator on WGS 84 with scale 1 at the beach.
///
/// Distances in it are true to better than 1 part in 100,000 within 25 km of the centre.
/// The projection is the extended transverse Mercator of PROJ (Poder & Engsager, the Krüger
/// series as in Karney 2011), here from `proj4rs`.
#[derive(Clone)]
pub struct Frame {
    origin: LonLat,
    globe: Proj,
    plane: Proj,
}

/// Beyond this many degrees from the centre a position cannot belong to the beach.
const REACH_DEG: f64 = 5.0;

impl Frame {
    /// The frame centred on `origin`.
    ///
    /// # Errors
    /// [`EarthError::TooFar`] when no plane can be laid there (the poles themselves).
    pub fn centred_on(origin: LonLat) -> Result<Self, EarthError> {
        let globe = Proj::from_proj_string("+proj=longlat +datum=WGS84 +no_defs").map_err(|_| EarthError::TooFar(origin))?;
        let plane = Proj::from_proj_string(&format!(
            "+proj=etmerc +lat_0={} +lon_0={} +k=1 +x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs",
            origin.lat_deg(),
            origin.lon_deg()
        ))
        .map_err(|_| EarthError::TooFar(origin))?;
        Ok(Self { origin, globe, plane })
    }

    /// The position that lies at (0, 0).
    pub fn origin(&self) -> LonLat {
        self.origin
    }

    /// Metres east and north of the centre.
    ///
    /// # Errors
    /// [`EarthError::TooFar`] beyond 5 degrees from the centre.
    pub fn to_local(&self, p: LonLat) -> Result<Local, EarthError> {
        let d_lon = (p.lon_deg() - self.origin.lon_deg() + 540.0).rem_euclid(360.0) - 180.0;
        if d_lon.abs() > REACH_DEG || (p.lat_deg() - self.origin.lat_deg()).abs() > REACH_DEG {
            return Err(EarthError::TooFar(p));
        }
        let (x, y) = transform_vertex_2d(&self.globe, &self.plane, (p.lon_deg().to_radians(), p.lat_deg().to_radians()))
            .map_err(|_| EarthError::TooFar(p))?;
        if x.is_finite() && y.is_finite() { Ok(Local::new(x, y)) } else { Err(EarthError::TooFar(p)) }
    }

    /// The position of a point of the plane.
    ///
    /// # Errors
    /// [`EarthError::TooFar`] when the point leads to no position.
    pub fn to_lonlat(&self, p: Local) -> Result<LonLat, EarthError> {
        let (lon, lat) =
            transform_vertex_2d(&self.plane, &self.globe, (p.east_m, p.north_m)).map_err(|_| EarthError::TooFar(self.origin))?;
        LonLat::new((lon.to_degrees() + 540.0).rem_euclid(360.0) - 180.0, lat.to_degrees())
    }
}

impl fmt::Debug for Frame {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Frame").field("origin", &self.origin).finish_non_exhaustive()
    }
}
