//! Whether a place lies on some ground.

use geo::{BoundingRect as _, Contains as _, Distance as _, Euclidean, Validation as _};
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

    /// Whether its outline crosses itself, so that nobody can say what lies within.
    pub fn crosses_itself(&self) -> bool {
        !self.area.is_valid()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo_types::polygon;

    #[test]
    fn the_edge_belongs_to_the_ground_and_a_figure_of_eight_is_known() {
        let area = MultiPolygon(vec![polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 0.0), (x: 1.0, y: 1.0), (x: 0.0, y: 1.0)]]);
        let ground = PermittedGround::new(&area);
        let at = |x, y| LonLat::new(x, y).unwrap();
        assert!(
            ground.holds(at(0.5, 0.5)) && ground.holds(at(0.0, 0.3)) && ground.holds(at(1.0, 1.0)) && !ground.holds(at(1.1, 0.5))
        );
        assert!(!ground.crosses_itself());
        let eight = MultiPolygon(vec![polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 1.0), (x: 1.0, y: 0.0), (x: 0.0, y: 1.0)]]);
        assert!(PermittedGround::new(&eight).crosses_itself());
    }
}
