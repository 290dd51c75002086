use geo::{Bearing, Distance, Geodesic, Point};

use super::LonLat;

/// Length of the geodesic between two positions on WGS 84, metres.
///
/// Karney (2013), *Algorithms for geodesics*, through `geographiclib-rs`.
pub fn distance_m(from: LonLat, to: LonLat) -> f64 {
    Geodesic.distance(Point::new(from.lon_deg(), from.lat_deg()), Point::new(to.lon_deg(), to.lat_deg()))
}

/// Azimuth at `from` of the geodesic to `to`, degrees clockwise from true north, 0 to 360.
///
/// Karney (2013), through `geographiclib-rs`.
pub fn bearing_deg(from: LonLat, to: LonLat) -> f64 {
    Geodesic.bearing(Point::new(from.lon_deg(), from.lat_deg()), Point::new(to.lon_deg(), to.lat_deg()))
}
