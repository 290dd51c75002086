use geo_types::{Polygon, polygon};

use super::LonLat;

/// Metres in a degree of latitude where a degree is shortest, on the equator of WGS 84; so that no square is smaller
/// than it is said to be.
const LEAST_DEGREE_M: f64 = 110_574.0;
/// Metres in a degree of longitude on the equator of WGS 84 (6,378,137 m times pi over 180).
const EQUATOR_DEGREE_M: f64 = 111_319.49;
/// The coarsest squares, metres: all finer ones lie in these without a rest.
const COARSEST_M: f64 = 100_000.0;

/// The side of a square of the grid that is fixed to the earth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SquareSide {
    /// 10 m.
    M10,
    /// 100 m.
    M100,
    /// 1 km.
    Km1,
    /// 10 km.
    Km10,
    /// 100 km.
    Km100,
}

impl SquareSide {
    const ALL: [Self; 5] = [Self::M10, Self::M100, Self::Km1, Self::Km10, Self::Km100];

    /// The finest that hides at least so many metres; the coarsest there is for more than 100 km.
    pub fn of_at_least(m: f64) -> Self {
        Self::ALL.into_iter().find(|side| side.m() >= m).unwrap_or(Self::Km100)
    }

    /// The side of exactly so many metres, if there is one.
    pub fn with_side(m: f64) -> Option<Self> {
        Self::ALL.into_iter().find(|side| (side.m() - m).abs() < 1e-9)
    }

    /// Its length, metres; squares are up to a few hundredths larger and, but at the 180th meridian, never smaller.
    pub fn m(self) -> f64 {
        COARSEST_M / self.in_coarsest() as f64
    }

    /// How many stand side by side in the coarsest square.
    fn in_coarsest(self) -> i64 {
        match self {
            Self::M10 => 10_000,
            Self::M100 => 1_000,
            Self::Km1 => 100,
            Self::Km10 => 10,
            Self::Km100 => 1,
        }
    }
}

/// A square of a grid that is fixed to the earth and the same for everyone: the coarser hold the finer whole, so that
/// two of different sides that hold one place say no more together than the finer alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EarthSquare {
    side: SquareSide,
    /// Rows of the coarsest squares, from the equator northward.
    coarse_row: i64,
    /// Rows of its own side, from the equator northward, and columns from Greenwich eastward.
    row: i64,
    column: i64,
}

impl EarthSquare {
    /// The square that a place lies in; its southern and western edges belong to it.
    pub fn around(at: LonLat, side: SquareSide) -> Self {
        let n = side.in_coarsest();
        let high_deg = COARSEST_M / LEAST_DEGREE_M;
        let coarse_row = (at.lat_deg() / high_deg).floor() as i64;
        // Counted in the finest rows and columns and then joined, so that rounding never parts what is nested.
        let finest = SquareSide::M10.in_coarsest();
        let row = (at.lat_deg() / (high_deg / finest as f64)).floor() as i64;
        let row = row.clamp(coarse_row * finest, (coarse_row + 1) * finest - 1);
        let column = (at.lon_deg() / (wide_deg(coarse_row) / finest as f64)).floor() as i64;
        Self { side, coarse_row, row: row.div_euclid(finest / n), column: column.div_euclid(finest / n) }
    }

    /// Every square that the straight line in degrees between two places passes through, in its order: where it only touches a
    /// corner or runs along an edge, one of those that meet there.
    pub fn along(from: LonLat, to: LonLat, side: SquareSide) -> Vec<Self> {
        let (x, y) = (from.lon_deg(), from.lat_deg());
        let (dx, dy) = (to.lon_deg() - x, to.lat_deg() - y);
        let n = side.in_coarsest() as f64;
        let coarse_deg = COARSEST_M / LEAST_DEGREE_M;
        // The parts of the line, 0 to 1, at which it passes from one row or column to the next.
        let mut at: Vec<f64> = vec![0.0, 1.0];
        at.extend(passed(y, dy, coarse_deg / n, (0.0, 1.0)));
        let mut rows: Vec<f64> = vec![0.0, 1.0];
        rows.extend(passed(y, dy, coarse_deg, (0.0, 1.0)));
        rows.sort_by(f64::total_cmp);
        // Columns are as wide as their coarse row has them.
        for within in rows.windows(2) {
            let middle = y + 0.5 * (within[0] + within[1]) * dy;
            let wide_deg = wide_deg((middle / coarse_deg).floor() as i64) / n;
            at.extend(passed(x, dx, wide_deg, (within[0], within[1])));
        }
        at.sort_by(f64::total_cmp);
        let mut squares: Vec<Self> = Vec::with_capacity(at.len());
        for between in at.windows(2) {
            let t = 0.5 * (between[0] + between[1]);
            let Ok(place) = LonLat::new(x + t * dx, y + t * dy) else { continue };
            let square = Self::around(place, side);
            if squares.last() != Some(&square) {
                squares.push(square);
            }
        }
        squares
    }

    /// Its side.
    pub fn side(self) -> SquareSide {
        self.side
    }

    /// Its outline on WGS 84, degrees; cut off at the 180th meridian, where the last square of a row is smaller than it is
    /// said to be.
    pub fn outline(self) -> Polygon<f64> {
        let n = self.side.in_coarsest() as f64;
        let (high_deg, wide_deg) = (COARSEST_M / LEAST_DEGREE_M / n, wide_deg(self.coarse_row) / n);
        let lat = |rows: i64| (rows as f64 * high_deg).clamp(-90.0, 90.0);
        let lon = |columns: i64| (columns as f64 * wide_deg).clamp(-180.0, 180.0);
        let (south, north, west, east) = (lat(self.row), lat(self.row + 1), lon(self.column), lon(self.column + 1));
        polygon![(x: west, y: south), (x: east, y: south), (x: east, y: north), (x: west, y: north)]
    }
}

/// At which parts of a way from a coordinate on, of those within two, it passes whole multiples of a step.
fn passed(from: f64, way: f64, step: f64, (first, last): (f64, f64)) -> Vec<f64> {
    let (a, b) = (from + first * way, from + last * way);
    let (low, high) = ((a.min(b) / step).floor() as i64, (a.max(b) / step).ceil() as i64);
    if way == 0.0 {
        return Vec::new();
    }
    (low..=high).map(|n| (n as f64 * step - from) / way).filter(|t| first < *t && *t < last).collect()
}

/// Width of the coarsest squares of a row, degrees: as many metres as they are high along the edge nearer to the pole,
/// where a degree is shortest.
fn wide_deg(coarse_row: i64) -> f64 {
    let high_deg = COARSEST_M / LEAST_DEGREE_M;
    let poleward_deg = (coarse_row as f64 * high_deg).abs().max(((coarse_row + 1) as f64 * high_deg).abs());
    // Near the poles few degrees are many; there a square is a few columns round the earth.
    let cos = poleward_deg.min(89.0).to_radians().cos();
    COARSEST_M / (EQUATOR_DEGREE_M * cos)
}

#[cfg(test)]
mod tests {
    use geo::{Area as _, Centroid as _, Contains as _};
    use geo_types::{Coord, Point};
    use proptest::prelude::*;

    use super::*;
    use crate::earth::distance_m;

    fn corners(square: EarthSquare) -> [LonLat; 3] {
        let ring = square.outline().exterior().0.clone();
        [0, 1, 3].map(|n| LonLat::new(ring[n].x, ring[n].y).unwrap())
    }

    proptest! {
        #![proptest_config(crate::cases::kept())]
        #[test]
        fn squares_hold_their_place_nest_and_are_never_smaller_than_said(lon in -170.0..170.0_f64, lat in -75.0..75.0_f64) {
            let at = LonLat::new(lon, lat).unwrap();
            let squares = SquareSide::ALL.map(|side| EarthSquare::around(at, side));
            for (finer, coarser) in squares.iter().zip(&squares[1..]) {
                let (inner, outer) = (finer.outline(), coarser.outline());
                let middle = inner.centroid().unwrap();
                for c in &inner.exterior().0 {
                    // A step inward, as an edge may be shared.
                    let inside = Coord { x: 0.999 * c.x + 0.001 * middle.x(), y: 0.999 * c.y + 0.001 * middle.y() };
                    prop_assert!(outer.contains(&Point::from(inside)), "{finer:?} in {coarser:?}");
                }
                prop_assert!(inner.unsigned_area() < outer.unsigned_area());
            }
            for square in squares {
                let [corner, east, north] = corners(square);
                let (wide_m, high_m, side_m) = (distance_m(corner, east), distance_m(corner, north), square.side().m());
                // A place on an edge may be held by either square, to rounding.
                let near = square.outline().exterior().0.iter().all(|c| (c.x - lon).abs() < 4.0 && (c.y - lat).abs() < 1.0);
                prop_assert!(near && wide_m >= 0.999 * side_m && high_m >= 0.999 * side_m, "{square:?} {wide_m} {high_m}");
                prop_assert!(high_m <= 1.02 * side_m, "{square:?} {high_m}");
            }
        }
    }

    proptest! {
        #![proptest_config(crate::cases::kept())]
        /// Whatever square a place of the line lies in, but for one at a corner that is cut by less than a millimetre.
        #[test]
        fn a_line_passes_through_every_square_that_its_places_lie_in(
            lon in -170.0..170.0_f64, lat in -75.0..75.0_f64, east in -0.02..0.02_f64, north in -0.02..0.02_f64,
        ) {
            let (from, to) = (LonLat::new(lon, lat).unwrap(), LonLat::new(lon + east, lat + north).unwrap());
            for side in [SquareSide::M100, SquareSide::Km1, SquareSide::Km10] {
                let squares = EarthSquare::along(from, to, side);
                let at = |t: f64| LonLat::new(lon + t * east, lat + t * north).unwrap();
                for n in 0..=500 {
                    let t = f64::from(n) / 500.0;
                    let square = EarthSquare::around(at(t), side);
                    // A place on an edge lies in one of two.
                    let near = [t - 1e-9, t + 1e-9].map(|t| EarthSquare::around(at(t.clamp(0.0, 1.0)), side));
                    prop_assert!(squares.contains(&square) || near.iter().any(|s| squares.contains(s)), "{side:?} {t} {square:?}");
                }
            }
        }
    }

    #[test]
    fn the_grid_stays_where_it_is() {
        let at = |lon, lat| EarthSquare::around(LonLat::new(lon, lat).unwrap(), SquareSide::M100);
        // Two places 1 m apart in one square, two 100 m apart in different ones.
        assert_eq!(at(-4.9200, 50.1237), at(-4.92001, 50.1237));
        assert_ne!(at(-4.9200, 50.1230), at(-4.9200, 50.1240));
        let ring = at(-4.92, 50.1237).outline();
        let south = ring.exterior().0[0].y;
        assert!((south / (100.0 / LEAST_DEGREE_M) - (south / (100.0 / LEAST_DEGREE_M)).round()).abs() < 1e-6);
    }

    #[test]
    fn the_side_hides_at_least_what_was_asked() {
        let of = |m| SquareSide::of_at_least(m).m();
        assert_eq!([1.0, 10.0, 11.0, 50.0, 100.0, 250.0, 5e3, 1e6].map(of), [10.0, 10.0, 100.0, 100.0, 100.0, 1e3, 1e4, 1e5]);
    }
}
