use std::collections::BTreeSet;

use geo_types::{Coord, LineString, MultiPolygon};
use jiff::civil::Date;

use crate::book::{BarrierShape, Uid, ZoneUse};
use crate::earth::{Frame, Local, LonLat};
use crate::route::tables::RouteTables;

/// Lines nobody crosses and rings nobody is inside of, in the beach's plane.
pub(super) struct Fence {
    lines: Vec<(Local, Local)>,
    areas: Vec<Vec<Vec<Local>>>,
}

fn places(line: &LineString<f64>, frame: &Frame) -> Vec<Local> {
    let place = |c: &Coord<f64>| frame.to_local(LonLat::try_from(*c).ok()?).ok();
    line.0.iter().filter_map(place).collect()
}

/// The rings of an area, outer and inner alike.
pub(super) fn rings(area: &MultiPolygon<f64>, frame: &Frame) -> Vec<Vec<Local>> {
    area.0.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors())).map(|r| places(r, frame)).collect()
}

/// Whether a place lies inside an odd number of rings: a ray eastward is followed.
pub(super) fn inside(rings: &[Vec<Local>], p: Local) -> bool {
    let crosses = |a: &Local, b: &Local| {
        (a.north_m > p.north_m) != (b.north_m > p.north_m)
            && p.east_m < a.east_m + (p.north_m - a.north_m) / (b.north_m - a.north_m) * (b.east_m - a.east_m)
    };
    rings.iter().map(|r| r.windows(2).filter(|w| crosses(&w[0], &w[1])).count()).sum::<usize>() % 2 == 1
}

/// Twice the area of a triangle: its sign tells on which side of a line the third corner lies.
fn side(a: Local, b: Local, c: Local) -> f64 {
    (b.east_m - a.east_m) * (c.north_m - a.north_m) - (b.north_m - a.north_m) * (c.east_m - a.east_m)
}

fn cross(a: Local, b: Local, c: Local, d: Local) -> bool {
    let apart = |p: f64, q: f64, r: f64, s: f64| p.max(q) < r.min(s) || r.max(s) < p.min(q);
    if apart(a.east_m, b.east_m, c.east_m, d.east_m) || apart(a.north_m, b.north_m, c.north_m, d.north_m) {
        return false;
    }
    side(a, b, c) * side(a, b, d) <= 0.0 && side(c, d, a) * side(c, d, b) <= 0.0
}

impl Fence {
    pub(super) fn on_beach(book: &RouteTables, beach: Uid, closed: &BTreeSet<Uid>, days: &[Date], frame: &Frame) -> Self {
        let mut fence = Self { lines: Vec::new(), areas: Vec::new() };
        for barrier in book.barriers().values().filter(|b| b.beach == beach) {
            match &barrier.shape {
                BarrierShape::Line(lines) => lines.iter().for_each(|l| fence.add(&places(l, frame))),
                BarrierShape::Area(area) => fence.shut(rings(area, frame)),
            }
        }
        for zone in book.zones_of(beach) {
            let shut = match zone.usage {
                ZoneUse::Rocks | ZoneUse::Mud | ZoneUse::Channel => true,
                // One without a reason holds all year, and so does a reason without a season.
                ZoneUse::NoSearch => match zone.closure.and_then(|c| c.season) {
                    Some(season) => days.iter().any(|day| season.holds(*day)) || closed.contains(&zone.uid),
                    None => true,
                },
                _ => closed.contains(&zone.uid),
            };
            if shut {
                fence.shut(rings(&zone.area, frame));
            }
        }
        fence
    }

    fn add(&mut self, line: &[Local]) {
        self.lines.extend(line.windows(2).map(|w| (w[0], w[1])));
    }

    fn shut(&mut self, rings: Vec<Vec<Local>>) {
        rings.iter().for_each(|r| self.add(r));
        self.areas.push(rings);
    }

    /// Whether anything stands between two places, or one of them lies on closed ground.
    pub(super) fn between(&self, a: Local, b: Local) -> bool {
        self.lines.iter().any(|(c, d)| cross(a, b, *c, *d)) || self.holds(a)
    }

    /// Whether a place lies on closed ground.
    pub(super) fn holds(&self, p: Local) -> bool {
        self.areas.iter().any(|rings| inside(rings, p))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(x: f64, y: f64) -> Local {
        Local::new(x, y)
    }

    #[test]
    fn lines_that_cross_touch_or_miss() {
        assert!(cross(at(0.0, 0.0), at(2.0, 2.0), at(0.0, 2.0), at(2.0, 0.0)));
        assert!(cross(at(0.0, 0.0), at(2.0, 0.0), at(1.0, 0.0), at(1.0, 5.0)), "touching counts");
        assert!(!cross(at(0.0, 0.0), at(2.0, 0.0), at(3.0, -1.0), at(3.0, 1.0)));
        assert!(!cross(at(0.0, 0.0), at(1.0, 1.0), at(1.0, 0.0), at(2.0, 0.9)));
    }

    #[test]
    fn a_ring_with_a_hole_holds_only_what_is_between() {
        let ring = |r: f64| vec![at(-r, -r), at(r, -r), at(r, r), at(-r, r), at(-r, -r)];
        let rings = [ring(10.0), ring(4.0)];
        assert!(inside(&rings, at(7.0, 1.0)) && !inside(&rings, at(1.0, 1.0)) && !inside(&rings, at(20.0, 0.5)));
    }
}
