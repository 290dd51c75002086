use std::fmt;

use serde::{Deserialize, Serialize};

use super::EarthError;

/// A position on the WGS 84 ellipsoid, in degrees, always within range.
///
/// Serialised as `[lon, lat]`, the order of RFC 7946.
#[derive(Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "[f64; 2]", into = "[f64; 2]")]
pub struct LonLat {
    lon_deg: f64,
    lat_deg: f64,
}

impl LonLat {
    /// A position from longitude and latitude in degrees.
    ///
    /// # Errors
    /// [`EarthError::Latitude`] or [`EarthError::Longitude`] when a value is not finite or out of
    /// range (|lat| ≤ 90, |lon| ≤ 180).
    pub fn new(lon_deg: f64, lat_deg: f64) -> Result<Self, EarthError> {
        if !(-90.0..=90.0).contains(&lat_deg) {
            return Err(EarthError::Latitude(lat_deg));
        }
        if !(-180.0..=180.0).contains(&lon_deg) {
            return Err(EarthError::Longitude(lon_deg));
        }
        Ok(Self { lon_deg, lat_deg })
    }

    /// Longitude in degrees east of Greenwich, -180 to 180.
    pub fn lon_deg(self) -> f64 {
        self.lon_deg
    }

    /// Latitude in degrees north, -90 to 90.
    pub fn lat_deg(self) -> f64 {
        self.lat_deg
    }

    /// Where the position lies with a slip that is easily made, and what the slip is: coordinates exchanged, or a sign lost.
    pub fn slips(self) -> Vec<(Self, &'static str)> {
        let (lon, lat) = (self.lon_deg(), self.lat_deg());
        let of = |lon: f64, lat: f64, how: &'static str| Self::new(lon, lat).ok().map(|at| (at, how));
        let all = [
            of(lat, lon, "longitude and latitude exchanged"),
            of(-lon, lat, "west for east"),
            of(lon, -lat, "south for north"),
            of(-lon, -lat, "both sides exchanged"),
        ];
        all.into_iter().flatten().collect()
    }

    /// The same position with longitude and latitude exchanged, if that is a position at all.
    pub fn swapped(self) -> Option<Self> {
        Self::new(self.lat_deg, self.lon_deg).ok()
    }
}

impl TryFrom<[f64; 2]> for LonLat {
    type Error = EarthError;
    fn try_from([lon, lat]: [f64; 2]) -> Result<Self, EarthError> {
        Self::new(lon, lat)
    }
}

impl From<LonLat> for [f64; 2] {
    fn from(p: LonLat) -> Self {
        [p.lon_deg, p.lat_deg]
    }
}

impl From<LonLat> for geo_types::Coord<f64> {
    fn from(p: LonLat) -> Self {
        Self { x: p.lon_deg, y: p.lat_deg }
    }
}

impl TryFrom<geo_types::Coord<f64>> for LonLat {
    type Error = EarthError;
    fn try_from(c: geo_types::Coord<f64>) -> Result<Self, EarthError> {
        Self::new(c.x, c.y)
    }
}

impl fmt::Debug for LonLat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// As people write it: latitude first with its hemisphere, five decimals (about a metre).
impl fmt::Display for LonLat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ns = if self.lat_deg < 0.0 { 'S' } else { 'N' };
        let ew = if self.lon_deg < 0.0 { 'W' } else { 'E' };
        write!(f, "{:.5}° {ns}, {:.5}° {ew}", self.lat_deg.abs(), self.lon_deg.abs())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refuses_what_is_not_on_earth() {
        for (lon, lat) in [(0.0, 90.1), (0.0, f64::NAN), (180.5, 0.0), (f64::INFINITY, 0.0)] {
            assert!(LonLat::new(lon, lat).is_err(), "{lon} {lat}");
        }
        assert!(LonLat::new(-180.0, 90.0).is_ok());
    }

    #[test]
    fn reads_itself_back_from_json_in_lon_lat_order() {
        let p = LonLat::new(-3.25, 51.5).unwrap();
        let text = serde_json::to_string(&p).unwrap();
        assert_eq!(text, "[-3.25,51.5]");
        assert_eq!(serde_json::from_str::<LonLat>(&text).unwrap(), p);
        assert!(serde_json::from_str::<LonLat>("[0,95]").is_err());
    }
}
