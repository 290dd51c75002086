//! In which area of the permission's ground a place is told to lie: its square of the grid that is fixed to the earth, or,
//! where the ground's edge cuts that off, several such squares that hold a whole square of ground together.
//!
//! Which squares belong together follows from the ground alone and not from what lies in it, and squares are joined only
//! within one area of the next coarser grid; so two packs of one ground at different sides say no more together than the
//! finer alone. Every square that the edge passes through is looked at, however little it cuts off: a find in one that was not
//! would be told by a coarser square than agreed, and so named. O(squares along the edge times corners of the ground).

use std::collections::BTreeMap;

use geo::{Area as _, Centroid as _};
use geo_types::{Coord, LineString, MultiPolygon, Polygon};

use crate::earth::{EarthSquare, LonLat, SquareSide};

/// A square counts as whole from this part of its area on.
const WHOLE: f64 = 0.999;
/// Less ground than this in a square is none, m²: it is what rounding leaves. The same at every side, so that what counts in a
/// square counts in the coarser that holds it.
const NONE_M2: f64 = 1e-7;
/// No more sides of squares than this round one ground: a larger ground is told by coarser squares alone.
const MOST_SIDES: f64 = 160_000.0;
/// A place this near to the next square, degrees, may belong to it: the ground's very edge may lie on the grid's.
const BESIDE_DEG: f64 = 2e-9;

/// The ways from a place to the squares beside it.
const BESIDE: [(f64, f64); 8] =
    [(-1.0, 0.0), (0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)];

/// The areas that one ground parts into, at one side of squares.
struct Parts {
    /// Squares that are not told alone, each with its area.
    of: BTreeMap<EarthSquare, usize>,
    areas: Vec<Vec<EarthSquare>>,
}

/// An area of a ground that a place is told to lie in, apart from others of the same side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum AreaId {
    /// One square.
    Alone(EarthSquare),
    /// Several.
    Joined(SquareSide, usize),
}

/// The areas of one permission's ground.
pub(super) struct Areas {
    ground: MultiPolygon<f64>,
    made: BTreeMap<SquareSide, Parts>,
    /// Squares that are in no part, and whether each is ground all over.
    whole: BTreeMap<EarthSquare, bool>,
}

impl Areas {
    /// The ground may be drawn from any corner, either way round and in any order of its parts.
    pub(super) fn of_ground(ground: &MultiPolygon<f64>) -> Self {
        Self { ground: in_one_order(ground), made: BTreeMap::new(), whole: BTreeMap::new() }
    }

    /// The area in which a place is told to lie, at least as large as a square of this side.
    pub(super) fn around(&mut self, at: LonLat, side: SquareSide) -> AreaId {
        let side = self.side_at_hand(side);
        let square = EarthSquare::around(at, side);
        if let Some(area) = self.area_of(square) {
            return area;
        }
        // A place on the ground's very edge may lie in a square that holds none of the ground.
        let beside = |(x, y): (f64, f64)| LonLat::new(at.lon_deg() + x * BESIDE_DEG, at.lat_deg() + y * BESIDE_DEG).ok();
        for place in BESIDE.into_iter().filter_map(beside) {
            if let Some(area) = self.area_of(EarthSquare::around(place, side)) {
                return area;
            }
        }
        match coarser(side) {
            Some(above) => self.around(at, above),
            None => AreaId::Alone(square),
        }
    }

    /// The area that a square of the ground belongs to; `None` where it holds none of it.
    fn area_of(&mut self, square: EarthSquare) -> Option<AreaId> {
        if let Some(n) = self.parts(square.side()).of.get(&square) {
            return Some(AreaId::Joined(square.side(), *n));
        }
        let known = self.whole.get(&square).copied();
        let is_whole = known.unwrap_or_else(|| self.part(square) >= WHOLE);
        self.whole.insert(square, is_whole);
        is_whole.then_some(AreaId::Alone(square))
    }

    /// The side of its squares, and its outline: one polygon where its squares touch.
    pub(super) fn outline(&self, id: AreaId) -> (SquareSide, MultiPolygon<f64>) {
        match id {
            AreaId::Alone(square) => (square.side(), MultiPolygon(vec![square.outline()])),
            AreaId::Joined(side, n) => {
                let squares = self.made.get(&side).and_then(|p| p.areas.get(n)).map_or(&[][..], Vec::as_slice);
                let outlines: Vec<Polygon<f64>> = squares.iter().map(|s| s.outline()).collect();
                (side, geo::unary_union(outlines.iter()))
            }
        }
    }

    /// The side, or the next coarser one where the ground is too large for it.
    fn side_at_hand(&self, side: SquareSide) -> SquareSide {
        let round_m: f64 = rings(&self.ground).flat_map(|r| r.lines()).map(|l| metres(l.start, l.end)).sum();
        let mut side = side;
        while round_m / side.m() > MOST_SIDES {
            match coarser(side) {
                Some(next) => side = next,
                None => break,
            }
        }
        side
    }

    fn parts(&mut self, side: SquareSide) -> &Parts {
        if !self.made.contains_key(&side) {
            let parts = self.make(side);
            self.made.insert(side, parts);
        }
        &self.made[&side]
    }

    fn make(&mut self, side: SquareSide) -> Parts {
        let edge = self.along_the_edge(side);
        let mut by_coarser: BTreeMap<Option<AreaId>, Vec<(EarthSquare, f64)>> = BTreeMap::new();
        for (square, part) in edge {
            let within = coarser(side).and_then(|above| Some(self.around(middle(square)?, above)));
            by_coarser.entry(within).or_default().push((square, part));
        }
        let mut parts = Parts { of: BTreeMap::new(), areas: Vec::new() };
        for squares in by_coarser.into_values() {
            for area in self.joined(squares) {
                let number = parts.areas.len();
                parts.of.extend(area.iter().map(|s| (*s, number)));
                parts.areas.push(area);
            }
        }
        parts
    }

    /// Squares one after the other, joined until they hold a whole square of ground; what is left goes to the last ones, or
    /// to a whole square beside it.
    fn joined(&self, squares: Vec<(EarthSquare, f64)>) -> Vec<Vec<EarthSquare>> {
        let (mut areas, mut open, mut sum) = (Vec::<Vec<EarthSquare>>::new(), Vec::new(), 0.0);
        for (square, part) in squares {
            open.push(square);
            sum += part;
            if sum >= WHOLE {
                areas.push(std::mem::take(&mut open));
                sum = 0.0;
            }
        }
        if open.is_empty() {
            return areas;
        }
        match areas.last_mut() {
            Some(last) => last.extend(open),
            None => {
                open.extend(self.whole_beside(&open));
                areas.push(open);
            }
        }
        areas
    }

    /// A square wholly on the ground that touches one of these, and lies in the same coarser square as it.
    fn whole_beside(&self, squares: &[EarthSquare]) -> Option<EarthSquare> {
        squares.iter().find_map(|square| {
            let side = square.side();
            let at = middle(*square)?;
            let (high, wide) = size(*square);
            [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)].iter().find_map(|(x, y)| {
                let beside = EarthSquare::around(LonLat::new(at.lon_deg() + x * wide, at.lat_deg() + y * high).ok()?, side);
                let there = middle(beside)?;
                let same = coarser(side).is_none_or(|c| EarthSquare::around(at, c) == EarthSquare::around(there, c));
                (same && self.part(beside) >= WHOLE).then_some(beside)
            })
        })
    }

    /// The squares that the ground's edge runs through, in its order, each with the part of it that is ground.
    fn along_the_edge(&self, side: SquareSide) -> Vec<(EarthSquare, f64)> {
        let mut seen = BTreeMap::new();
        let mut squares = Vec::new();
        let none = NONE_M2 / (side.m() * side.m());
        for line in rings(&self.ground).flat_map(|r| r.lines()) {
            let (Ok(from), Ok(to)) = (LonLat::try_from(line.start), LonLat::try_from(line.end)) else { continue };
            for square in EarthSquare::along(from, to, side) {
                if seen.insert(square, ()).is_some() {
                    continue;
                }
                let part = self.part(square);
                if part > none && part < WHOLE {
                    squares.push((square, part));
                }
            }
        }
        squares
    }

    /// The part of a square that is ground.
    fn part(&self, square: EarthSquare) -> f64 {
        let outline = square.outline();
        let of = |ring: &LineString<f64>| Polygon::new(clipped(ring, &outline), Vec::new()).unsigned_area();
        let all: f64 = self.ground.iter().map(|p| of(p.exterior()) - p.interiors().iter().map(of).sum::<f64>()).sum();
        (all / outline.unsigned_area().max(1e-300)).clamp(0.0, 1.0)
    }
}

/// The same ground, each ring counterclockwise from its first corner in order of longitude and latitude, and the parts by those.
/// Squares at the edge are joined one after the other along it: begun elsewhere they would be joined otherwise, and a ground
/// that was read anew would tell in two packs what neither tells.
fn in_one_order(ground: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    let order = |a: &Coord<f64>, b: &Coord<f64>| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y));
    let ring = |ring: &LineString<f64>| {
        let mut corners = ring.0.clone();
        corners.pop();
        // Twice the area with its sign (the shoelace formula).
        let turn: f64 = ring.lines().map(|l| l.start.x * l.end.y - l.end.x * l.start.y).sum();
        if turn < 0.0 {
            corners.reverse();
        }
        let first = (0..corners.len()).min_by(|a, b| order(&corners[*a], &corners[*b])).unwrap_or(0);
        corners.rotate_left(first);
        corners.extend(corners.first().copied());
        LineString(corners)
    };
    let by_first = |a: &LineString<f64>, b: &LineString<f64>| match (a.0.first(), b.0.first()) {
        (Some(a), Some(b)) => order(a, b),
        (a, b) => a.is_some().cmp(&b.is_some()),
    };
    let part = |p: &Polygon<f64>| {
        let mut holes: Vec<_> = p.interiors().iter().map(ring).collect();
        holes.sort_by(by_first);
        Polygon::new(ring(p.exterior()), holes)
    };
    let mut parts: Vec<_> = ground.iter().map(part).collect();
    parts.sort_by(|a, b| by_first(a.exterior(), b.exterior()));
    MultiPolygon(parts)
}

fn rings(ground: &MultiPolygon<f64>) -> impl Iterator<Item = &LineString<f64>> {
    ground.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
}

fn coarser(side: SquareSide) -> Option<SquareSide> {
    match side {
        SquareSide::M10 => Some(SquareSide::M100),
        SquareSide::M100 => Some(SquareSide::Km1),
        SquareSide::Km1 => Some(SquareSide::Km10),
        SquareSide::Km10 => Some(SquareSide::Km100),
        SquareSide::Km100 => None,
    }
}

fn middle(square: EarthSquare) -> Option<LonLat> {
    LonLat::try_from(Coord::from(square.outline().centroid()?)).ok()
}

/// Height and width, degrees.
fn size(square: EarthSquare) -> (f64, f64) {
    let ring = square.outline();
    let (a, c) = (ring.exterior().0[0], ring.exterior().0[2]);
    (c.y - a.y, c.x - a.x)
}

/// Metres between two places, near enough to count squares by.
fn metres(a: Coord<f64>, b: Coord<f64>) -> f64 {
    let cos = (0.5 * (a.y + b.y)).to_radians().cos();
    111_320.0 * ((b.x - a.x) * cos).hypot(b.y - a.y)
}

/// A ring cut off at the sides of a square (Sutherland and Hodgman, "Reentrant polygon clipping", 1974): its parts may hang
/// together along the square's sides, which adds no area.
fn clipped(ring: &LineString<f64>, square: &Polygon<f64>) -> LineString<f64> {
    let corners = &square.exterior().0;
    let (low, high) = (corners[0], corners[2]);
    let mut points: Vec<Coord<f64>> = ring.0.clone();
    points.pop();
    for (limit, above, across) in [(low.x, true, true), (high.x, false, true), (low.y, true, false), (high.y, false, false)] {
        let of = |c: &Coord<f64>| if across { c.x } else { c.y };
        let inside = |c: &Coord<f64>| if above { of(c) >= limit } else { of(c) <= limit };
        let mut kept = Vec::with_capacity(points.len() + 4);
        for n in 0..points.len() {
            let (a, b) = (points[(n + points.len() - 1) % points.len()], points[n]);
            if inside(&a) != inside(&b) {
                let t = (limit - of(&a)) / (of(&b) - of(&a));
                let mut cut = Coord { x: a.x + t * (b.x - a.x), y: a.y + t * (b.y - a.y) };
                if across {
                    cut.x = limit
                } else {
                    cut.y = limit
                }
                kept.push(cut);
            }
            if inside(&b) {
                kept.push(b);
            }
        }
        points = kept;
        if points.is_empty() {
            return LineString(Vec::new());
        }
    }
    points.push(points[0]);
    LineString(points)
}

#[cfg(test)]
mod tests {
    use geo::{BooleanOps as _, Contains as _};
    use geo_types::{Point, polygon};
    use proptest::prelude::*;

    use super::*;

    fn triangle(x: f64, y: f64, wide: f64, high: f64) -> MultiPolygon<f64> {
        let ring = vec![(x, y), (x + wide, y + 0.3 * high), (x + 0.2 * wide, y + high), (x, y)];
        MultiPolygon(vec![Polygon::new(ring.into(), Vec::new())])
    }

    proptest! {
        #![proptest_config(crate::cases::kept())]
        /// Of a slanted ground of some squares: the told area holds the place and a whole square of ground, whatever the
        /// side; and a finer one lies in the coarser but for its squares' corners.
        #[test]
        fn an_area_at_the_edge_holds_a_whole_square_of_ground(
            x in -20.02..-19.98_f64, y in 45.0..45.02_f64, wide in 0.004..0.02_f64, high in 0.004..0.02_f64,
            s in 0.05..0.9_f64, t in 0.05..0.9_f64,
        ) {
            let ground = triangle(x, y, wide, high);
            let (s, t) = if s + t > 0.95 { (0.45 * s, 0.45 * t) } else { (s, t) };
            let at = LonLat::new(x + s * wide + t * 0.2 * wide, y + s * 0.3 * high + t * high).unwrap();
            let mut areas = Areas::of_ground(&ground);
            let told: Vec<(SquareSide, MultiPolygon<f64>)> = [SquareSide::M10, SquareSide::M100]
                .into_iter()
                .map(|side| { let id = areas.around(at, side); areas.outline(id) })
                .collect();
            for (side, outline) in &told {
                prop_assert!(outline.contains(&Point::new(at.lon_deg(), at.lat_deg())));
                let square = EarthSquare::around(at, *side).outline().unsigned_area();
                let of_ground = outline.intersection(&ground).unsigned_area();
                prop_assert!(of_ground > 0.99 * square, "{side:?}: {}", of_ground / square);
            }
            let crossed = told[0].1.intersection(&told[1].1).intersection(&ground).unsigned_area();
            let fine = EarthSquare::around(at, SquareSide::M10).outline().unsigned_area();
            prop_assert!(crossed > 0.99 * fine, "{}", crossed / fine);
        }
    }

    #[test]
    fn a_ground_drawn_from_another_corner_or_the_other_way_round_parts_alike() {
        let ground =
            MultiPolygon(vec![triangle(-20.0, 45.0, 0.011, 0.013).0.remove(0), triangle(-20.03, 45.0, 0.006, 0.004).0.remove(0)]);
        let turned = |by: usize, back: bool| {
            let ring = |p: &Polygon<f64>| {
                let mut corners = p.exterior().0[1..].to_vec();
                corners.rotate_left(by);
                if back {
                    corners.reverse();
                }
                Polygon::new(LineString(corners), Vec::new())
            };
            let mut parts: Vec<_> = ground.iter().map(ring).collect();
            if by == 1 {
                parts.reverse();
            }
            MultiPolygon(parts)
        };
        let parts_of = |ground: &MultiPolygon<f64>| {
            let mut areas = Areas::of_ground(ground);
            [SquareSide::M10, SquareSide::M100].map(|side| areas.parts(side).of.clone())
        };
        let usual = parts_of(&ground);
        assert!(usual.iter().all(|p| p.len() > 4));
        for (by, back) in [(0, false), (1, false), (2, true), (1, true)] {
            assert_eq!(parts_of(&turned(by, back)), usual, "{by} {back}");
        }
    }

    #[test]
    fn a_corner_that_the_edge_cuts_off_is_told_by_the_squares_agreed_and_never_alone() {
        // A ground of some kilometres whose slanted side cuts the corner of a square of 1 km over some 20 m.
        let corner = EarthSquare::around(LonLat::new(-20.0, 45.0).unwrap(), SquareSide::Km1).outline();
        let at = corner.exterior().0[2];
        let (x, y) = (0.000_25, 0.000_18);
        let ring = vec![
            (at.x - x + 0.000_5 * 40.0, at.y - 0.000_36 * 40.0),
            (at.x + 0.06, at.y + 0.01),
            (at.x + 0.03, at.y + 0.05),
            (at.x - x - 0.000_5 * 40.0, at.y + 0.000_36 * 40.0),
        ];
        let ground = MultiPolygon(vec![Polygon::new(ring.into(), Vec::new())]);
        let find = LonLat::new(at.x - 0.2 * x, at.y - 0.2 * y).unwrap();
        let mut areas = Areas::of_ground(&ground);
        let id = areas.around(find, SquareSide::Km1);
        let (side, outline) = areas.outline(id);
        assert_eq!(side, SquareSide::Km1, "a coarser square than agreed would name the corner");
        let hidden = outline.intersection(&ground).unsigned_area();
        assert!(hidden > 0.99 * corner.unsigned_area(), "{}", hidden / corner.unsigned_area());
    }

    #[test]
    fn a_place_on_an_edge_that_lies_on_the_grids_is_told_by_the_squares_agreed() {
        let outline = EarthSquare::around(LonLat::new(-20.0, 45.0).unwrap(), SquareSide::Km1).outline();
        let (low, high) = (outline.exterior().0[0], outline.exterior().0[2]);
        let ground = MultiPolygon(vec![polygon![
            (x: low.x - 0.03, y: low.y - 0.03), (x: high.x, y: low.y - 0.03), (x: high.x, y: high.y), (x: low.x - 0.03, y: high.y)
        ]]);
        let mut areas = Areas::of_ground(&ground);
        for (x, y) in [(high.x, 0.5 * (low.y + high.y)), (0.5 * (low.x + high.x), high.y), (high.x, high.y)] {
            let id = areas.around(LonLat::new(x, y).unwrap(), SquareSide::M100);
            let (side, outline) = areas.outline(id);
            assert_eq!(side, SquareSide::M100, "{x} {y}");
            let square = EarthSquare::around(LonLat::new(x, y).unwrap(), SquareSide::M100).outline().unsigned_area();
            assert!(outline.intersection(&ground).unsigned_area() > 0.99 * square, "{x} {y}");
        }
    }

    #[test]
    fn inside_the_ground_a_square_stands_alone_and_a_ground_smaller_than_it_is_one_area() {
        let ground = triangle(-20.0, 45.0, 0.02, 0.02);
        let mut areas = Areas::of_ground(&ground);
        let at = LonLat::new(-19.99, 45.008).unwrap();
        assert!(matches!(areas.around(at, SquareSide::M10), AreaId::Alone(_)));
        let small = triangle(-20.0001, 45.0001, 0.0002, 0.0002);
        let mut areas = Areas::of_ground(&small);
        let id = areas.around(LonLat::new(-20.00004, 45.00018).unwrap(), SquareSide::Km1);
        let (_, outline) = areas.outline(id);
        assert!(outline.intersection(&small).unsigned_area() > 0.999 * small.unsigned_area());
    }

    #[test]
    fn a_clipped_ring_has_the_area_of_what_both_hold() {
        let ground = triangle(-20.0013, 45.0007, 0.004, 0.003);
        let areas = Areas::of_ground(&ground);
        for (x, y) in [(-20.0005, 45.0012), (-19.9985, 45.0015), (-20.0, 45.0031)] {
            let square = EarthSquare::around(LonLat::new(x, y).unwrap(), SquareSide::M100);
            let both =
                MultiPolygon(vec![square.outline()]).intersection(&ground).unsigned_area() / square.outline().unsigned_area();
            assert!((areas.part(square) - both).abs() < 1e-6, "{} {both}", areas.part(square));
        }
    }
}
