//! Where a place is, for someone who stands on the beach: by what is near, by its coordinates, and by how far it lies
//! from a named end of the beach.

use geo::{Distance, Euclidean};
use geo_types::{Coord, Point};

use crate::earth::{Local, LonLat, bearing_deg};
use crate::reading::given::Ground;
use crate::shore::{Shore, ShorePoint};

/// Further off than this nothing is named, metres.
const FAR_M: f64 = 250.0;

/// The places of one beach that others are told by.
pub(in crate::reading) struct Whereabouts<'a> {
    shore: &'a Shore,
    named: Vec<Named>,
    /// The end from which along is counted: "north-west".
    end: &'static str,
}

/// An access or a zone with its name.
struct Named {
    name: String,
    shape: Shape,
}

enum Shape {
    Spot(Local),
    Area(geo_types::MultiPolygon<f64>),
}

impl<'a> Whereabouts<'a> {
    pub(in crate::reading) fn new(ground: &Ground, shore: &'a Shore) -> Self {
        let beach = ground.setting.beach.uid;
        let mut named = Vec::new();
        for access in ground.book.accesses().values().filter(|a| a.beach == beach && !a.name.trim().is_empty()) {
            if let Ok(at) = shore.frame().to_local(access.at) {
                named.push(Named { name: access.name.clone(), shape: Shape::Spot(at) });
            }
        }
        for zone in ground.book.zones_of(beach).filter(|z| !z.name.trim().is_empty()) {
            if let Ok(area) = shore.area_to_local(&zone.area) {
                named.push(Named { name: zone.name.clone(), shape: Shape::Area(area) });
            }
        }
        let at = |along_m: f64| shore.to_lonlat(ShorePoint::new(along_m, 0.0));
        let end = at(0.0).and_then(|first| Ok(wind(bearing_deg(at(shore.baseline().length_m())?, first)))).unwrap_or("first");
        Self { shore, named, end }
    }

    /// "15 m from Dune path, 54.12345, -1.23456, 1119 m along from the west end".
    pub(in crate::reading) fn said(&self, s: ShorePoint) -> String {
        let at = self.shore.to_local(s);
        let here = Point::from(Coord::from(at));
        let off_m = |n: &Named| match &n.shape {
            Shape::Spot(p) => p.distance_m(at),
            Shape::Area(area) => Euclidean.distance(&here, area),
        };
        let nearest = self.named.iter().map(|n| (off_m(n), n.name.as_str()));
        let nearest = nearest.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(b.1))).filter(|n| n.0 <= FAR_M);
        let by =
            nearest.map_or_else(
                String::new,
                |(m, name)| {
                    if m < 0.5 { format!("at {name}, ") } else { format!("{m:.0} m from {name}, ") }
                },
            );
        let place = self.shore.to_lonlat(s).map_or_else(|_| String::new(), |p| format!("{}, ", coordinates(p)));
        let off = if s.along_m < 0.0 { "beyond" } else { "along from" };
        format!("{by}{place}{:.0} m {off} the {} end of the baseline", s.along_m.abs(), self.end)
    }
}

/// Latitude and longitude as a handheld GPS shows them.
fn coordinates(at: LonLat) -> String {
    format!("{:.5}, {:.5}", at.lat_deg(), at.lon_deg())
}

/// The nearest of eight winds.
fn wind(bearing_deg: f64) -> &'static str {
    const WINDS: [&str; 8] = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
    WINDS[((bearing_deg / 45.0).round() as i64).rem_euclid(8).unsigned_abs() as usize % WINDS.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn winds_are_the_nearest_of_eight() {
        let told = [0.0, 22.4, 22.6, 90.0, 180.0, -90.0, 337.6, 359.0, -45.0].map(wind);
        assert_eq!(told, ["north", "north", "north-east", "east", "south", "west", "north", "north", "north-west"]);
    }
}
