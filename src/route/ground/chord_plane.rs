use geo_types::Coord;

use crate::earth::Local;

/// A plane of its own for the walking ground: x along the chord of the baseline, y seaward of it, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::route) struct ChordPlane {
    origin: Local,
    along: Local,
    sea: Local,
}

impl ChordPlane {
    /// Laid along the chord of a line whose sea is on the right; `None` when the chord has no length.
    pub(in crate::route) fn along(line: &[Local]) -> Option<Self> {
        let (first, last) = (*line.first()?, *line.last()?);
        let length_m = first.distance_m(last);
        // A baseline that closes on itself still has a first leg.
        let to = if length_m >= 1.0 { last } else { *line.iter().find(|p| p.distance_m(first) >= 1.0)? };
        let length_m = first.distance_m(to);
        let along = Local::new((to.east_m - first.east_m) / length_m, (to.north_m - first.north_m) / length_m);
        Some(Self { origin: first, along, sea: Local::new(along.north_m, -along.east_m) })
    }

    pub(in crate::route) fn lay_at(self, p: Local) -> Coord<f64> {
        let (e, n) = (p.east_m - self.origin.east_m, p.north_m - self.origin.north_m);
        Coord { x: e * self.along.east_m + n * self.along.north_m, y: e * self.sea.east_m + n * self.sea.north_m }
    }

    pub(in crate::route) fn to_local(self, c: Coord<f64>) -> Local {
        Local::new(
            self.origin.east_m + c.x * self.along.east_m + c.y * self.sea.east_m,
            self.origin.north_m + c.x * self.along.north_m + c.y * self.sea.north_m,
        )
    }
}
