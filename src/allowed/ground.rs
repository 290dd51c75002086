//! Whether a place lies on some ground.

use geo::{Area as _, BooleanOps as _, BoundingRect as _, Contains as _, Distance as _, Euclidean, Validation as _};
use geo_types::{Coord, MultiPolygon, Point, Rect};

use crate::earth::LonLat;

/// Ground with its bounds, so that most places are told apart at once.
#[derive(Debug, Clone, Copy)]
pub struct PermittedGround<'a> {
    area: &'a MultiPolygon<f64>,
    bounds: Option<Rect<f64>>,
}

impl<'a> PermittedGround<'a> {
    /// Ground of this area, longitude and latitude in degrees.
    pub fn new(area: &'a MultiPolygon<f64>) -> Self {
        Self { area, bounds: area.bounding_rect() }
    }

    /// Whether a place lies on it; its very edge belongs to it.
    pub fn holds(&self, at: LonLat) -> bool {
        let point = Point::from(Coord::from(at));
        let (x, y) = point.x_y();
        let near = self.bounds.is_some_and(|b| b.min().x <= x && x <= b.max().x && b.min().y <= y && y <= b.max().y);
        near && (self.area.contains(&point) || Euclidean.distance(&point, self.area) == 0.0)
    }

    /// Whether a place lies on its very edge.
    pub fn has_on_edge(&self, at: LonLat) -> bool {
        self.holds(at) && !self.area.contains(&Point::from(Coord::from(at)))
    }

    /// Whether it and another only touch: no ground is of both.
    pub fn only_touches(&self, other: &Self) -> bool {
        let least = self.area.unsigned_area().min(other.area.unsigned_area());
        // Less in common than this is what rounding leaves.
        self.area.intersection(other.area).unsigned_area() <= 1e-6 * least
    }

    /// Whether its outline crosses itself, so that nobody can say what lies within.
    pub fn crosses_itself(&self) -> bool {
        !self.area.is_valid()
    }
}

/// Cells along each side of a [`GriddedGround`].
const CELLS: usize = 48;

/// Ground that is asked of very many places: of most of them a grid over its bounds answers at once.
#[derive(Debug, Clone)]
pub(super) struct GriddedGround<'a> {
    ground: PermittedGround<'a>,
    /// Row by row whether a cell lies on the ground; `None` where the edge comes near.
    cells: Vec<Option<bool>>,
}

impl<'a> GriddedGround<'a> {
    pub(super) fn new(area: &'a MultiPolygon<f64>) -> Self {
        let ground = PermittedGround::new(area);
        let Some(bounds) = ground.bounds else { return Self { ground, cells: Vec::new() } };
        let mut near = vec![false; CELLS * CELLS];
        let rings = area.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
        for line in rings.flat_map(|r| r.lines()) {
            let (a, b) = (Self::spot(bounds, line.start), Self::spot(bounds, line.end));
            // Half a cell a step, and the cells about each: no cell that the edge runs through is left.
            let steps = (2.0 * (b.0 - a.0).abs().max((b.1 - a.1).abs())).ceil().clamp(1.0, 1e6);
            for n in 0..=steps as usize {
                let t = n as f64 / steps;
                let (column, row) = Self::cell((a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1)));
                for r in row.saturating_sub(1)..=(row + 1).min(CELLS - 1) {
                    for c in column.saturating_sub(1)..=(column + 1).min(CELLS - 1) {
                        near[r * CELLS + c] = true;
                    }
                }
            }
        }
        let middle = |n: usize| {
            let part = |cell: usize| (cell as f64 + 0.5) / CELLS as f64;
            let (x, y) = (bounds.min().x + part(n % CELLS) * bounds.width(), bounds.min().y + part(n / CELLS) * bounds.height());
            LonLat::new(x, y).ok()
        };
        let state = |(n, near): (usize, bool)| if near { None } else { middle(n).map(|at| ground.holds(at)) };
        Self { ground, cells: near.into_iter().enumerate().map(state).collect() }
    }

    /// As [`PermittedGround::holds`].
    pub(super) fn holds(&self, at: LonLat) -> bool {
        let c = Coord::from(at);
        let Some(b) = self.ground.bounds else { return false };
        if c.x < b.min().x || c.x > b.max().x || c.y < b.min().y || c.y > b.max().y {
            return false;
        }
        let (column, row) = Self::cell(Self::spot(b, c));
        self.cells.get(row * CELLS + column).copied().flatten().unwrap_or_else(|| self.ground.holds(at))
    }

    /// A place in cells from the corner.
    fn spot(b: Rect<f64>, c: Coord<f64>) -> (f64, f64) {
        let part = |from: f64, wide: f64| if wide > 0.0 { from / wide * CELLS as f64 } else { 0.0 };
        (part(c.x - b.min().x, b.width()), part(c.y - b.min().y, b.height()))
    }

    fn cell((x, y): (f64, f64)) -> (usize, usize) {
        ((x as usize).min(CELLS - 1), (y as usize).min(CELLS - 1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(crate::cases::kept())]
        /// The grid answers as the ground itself does, of stars with a hole and of slivers.
        #[test]
        fn a_grid_over_ground_answers_as_the_ground_does(
            radii in prop::collection::vec(0.05f64..1.0, 3..12), flat in 1e-4f64..1.0,
            places in prop::collection::vec((-1.1f64..1.1, -1.1f64..1.1), 40),
        ) {
            let turn = std::f64::consts::TAU / radii.len() as f64;
            let ring = |part: f64| -> geo_types::LineString<f64> {
                let corner = |(n, r): (usize, &f64)| {
                    let (sin, cos) = (n as f64 * turn).sin_cos();
                    (part * r * cos, part * r * sin * flat)
                };
                radii.iter().enumerate().map(corner).collect::<Vec<_>>().into()
            };
            let area = MultiPolygon(vec![geo_types::Polygon::new(ring(1.0), vec![ring(0.4)])]);
            let (plain, gridded) = (PermittedGround::new(&area), GriddedGround::new(&area));
            for (x, y) in places {
                let at = LonLat::new(x, y * flat).unwrap();
                prop_assert_eq!(plain.holds(at), gridded.holds(at), "{} {}", x, y);
            }
        }
    }
    use geo_types::polygon;

    #[test]
    fn the_edge_belongs_to_the_ground_and_a_figure_of_eight_is_known() {
        let area = MultiPolygon(vec![polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 0.0), (x: 1.0, y: 1.0), (x: 0.0, y: 1.0)]]);
        let ground = PermittedGround::new(&area);
        let at = |x, y| LonLat::new(x, y).unwrap();
        assert!(
            ground.holds(at(0.5, 0.5)) && ground.holds(at(0.0, 0.3)) && ground.holds(at(1.0, 1.0)) && !ground.holds(at(1.1, 0.5))
        );
        assert!(ground.has_on_edge(at(1.0, 0.5)) && !ground.has_on_edge(at(0.5, 0.5)) && !ground.has_on_edge(at(1.1, 0.5)));
        let east = MultiPolygon(vec![polygon![(x: 1.0, y: 0.0), (x: 2.0, y: 0.0), (x: 2.0, y: 1.0), (x: 1.0, y: 1.0)]]);
        assert!(ground.only_touches(&PermittedGround::new(&east)) && !ground.only_touches(&ground));
        assert!(!ground.crosses_itself());
        let eight = MultiPolygon(vec![polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 1.0), (x: 1.0, y: 0.0), (x: 0.0, y: 1.0)]]);
        assert!(PermittedGround::new(&eight).crosses_itself());
    }
}
