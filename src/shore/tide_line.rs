//! Where a level meets the sand: the contour of a surface of linear facets.
//!
//! Each facet crossed by the level gives one straight piece, exact on it; pieces share the crossing
//! of the edge between two facets and are joined into lines there. O(facets) a level. The higher
//! ground lies on the left hand of each line; a line that closes repeats its first point.

use std::collections::{HashMap, HashSet};

use geo_types::{Coord, LineString, MultiLineString};

use super::surface::Surface;

/// An edge between two corners, the smaller number first.
pub(super) type Edge = (u32, u32);

pub(super) fn edge(a: u32, b: u32) -> Edge {
    if a < b { (a, b) } else { (b, a) }
}

impl Surface {
    /// The level itself, or one a nanometre lower where a corner lies exactly at it: no contour then
    /// runs through a corner, and every edge is either crossed once or not at all.
    pub(super) fn free_level(&self, land_m: f64) -> f64 {
        let mut level = land_m;
        while self.corners.iter().any(|c| c.land_m == level) {
            level -= 1e-9;
        }
        level
    }

    /// Where the level crosses an edge; the same for both facets that share it.
    pub(super) fn crossing(&self, (a, b): Edge, land_m: f64) -> Coord<f64> {
        let (a, b) = (self.corner(a), self.corner(b));
        let t = (land_m - a.land_m) / (b.land_m - a.land_m);
        Coord { x: a.at.east_m + t * (b.at.east_m - a.at.east_m), y: a.at.north_m + t * (b.at.north_m - a.at.north_m) }
    }

    /// The contour at a level above the land datum, metres, in the beach's plane.
    pub(super) fn contour(&self, land_m: f64) -> MultiLineString<f64> {
        let level = self.free_level(land_m);
        // From the edge by which the line enters a facet to the edge by which it leaves.
        let mut next: HashMap<Edge, Edge> = HashMap::new();
        let mut starts: Vec<Edge> = Vec::new();
        for facet in &self.facets {
            let mut enter = None;
            let mut leave = None;
            for n in 0..3 {
                let (a, b) = (facet[n], facet[(n + 1) % 3]);
                match (self.corner(a).land_m > level, self.corner(b).land_m > level) {
                    // Round the facet anticlockwise: going down here, the higher ground of the piece
                    // that leaves through this edge is on its left.
                    (true, false) => enter = Some(edge(a, b)),
                    (false, true) => leave = Some(edge(a, b)),
                    _ => {}
                }
            }
            if let (Some(enter), Some(leave)) = (enter, leave) {
                next.insert(enter, leave);
                starts.push(enter);
            }
        }
        let ends: HashSet<Edge> = next.values().copied().collect();
        let mut lines = Vec::new();
        // Open lines first, each from its own beginning; what is left closes on itself.
        let (open, closed): (Vec<Edge>, Vec<Edge>) = starts.into_iter().partition(|e| !ends.contains(e));
        for start in open.into_iter().chain(closed) {
            let mut points = Vec::new();
            let mut at = start;
            while let Some(to) = next.remove(&at) {
                if points.is_empty() {
                    points.push(self.crossing(at, level));
                }
                points.push(self.crossing(to, level));
                at = to;
            }
            if points.len() > 1 {
                lines.push(LineString::new(points));
            }
        }
        MultiLineString::new(lines)
    }
}
