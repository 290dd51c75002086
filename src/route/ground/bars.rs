//! What bars the way, laid in the plane of the walking ground.

use geo::{Intersects, MapCoords};
use geo_types::{Coord, Line, MultiPolygon, Polygon};

use super::chord_plane::ChordPlane;
use crate::book::{BarrierShape, Uid, Zone, ZoneUse};
use crate::earth::{Frame, LonLat};
use crate::route::tables::RouteTables;

/// Barriers and closed ground in the coordinates of a [`ChordPlane`].
pub(in crate::route) struct Bars {
    /// Lines nobody crosses.
    pub(in crate::route) lines: Vec<Line<f64>>,
    /// Ground nobody walks.
    pub(in crate::route) areas: Vec<MultiPolygon<f64>>,
}

impl Bars {
    /// The barriers of a beach: everything drawn as one, zones of rock, mud, channel and no search, and the
    /// zones closed for the day or the season. Never passable, whatever the water does, as nothing says when they are.
    pub(in crate::route) fn on_beach(
        book: &RouteTables,
        beach: Uid,
        closed: &dyn Fn(&Zone) -> bool,
        frame: &Frame,
        lay: &ChordPlane,
    ) -> Self {
        let mut bars = Self { lines: Vec::new(), areas: Vec::new() };
        let place = |c: Coord<f64>| -> Result<Coord<f64>, crate::earth::EarthError> {
            Ok(lay.lay_at(frame.to_local(LonLat::try_from(c)?)?))
        };
        for barrier in book.barriers().values().filter(|b| b.beach == beach) {
            match &barrier.shape {
                // What lies too far off to be laid in the plane bars nothing here.
                BarrierShape::Line(lines) => {
                    bars.lines.extend(
                        lines
                            .try_map_coords(place)
                            .into_iter()
                            .flat_map(|l| l.0.into_iter().flat_map(|line| line.lines().collect::<Vec<_>>())),
                    );
                }
                BarrierShape::Area(area) => bars.areas.extend(area.try_map_coords(place)),
            }
        }
        let shut = |usage| matches!(usage, ZoneUse::Rocks | ZoneUse::Mud | ZoneUse::Channel);
        for zone in book.zones_of(beach).filter(|z| shut(z.usage) || closed(z)) {
            bars.areas.extend(zone.area.try_map_coords(place));
        }
        bars
    }

    /// Whether a straight step is barred.
    pub(in crate::route) fn bar(&self, step: Line<f64>) -> bool {
        self.lines.iter().any(|l| l.intersects(&step)) || self.areas.iter().any(|a| a.intersects(&step))
    }

    /// Whether ground touches anything that bars.
    pub(in crate::route) fn touch(&self, ground: &Polygon<f64>) -> bool {
        self.lines.iter().any(|l| ground.intersects(l)) || self.areas.iter().any(|a| a.intersects(ground))
    }
}
