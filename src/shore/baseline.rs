//! Along and across coordinates over a baseline of several legs.
//!
//! Each leg carries a strip bounded by the mitres (half-angle lines) at its ends. Within a strip,
//! across is the perpendicular distance to the leg and along runs linearly between the mitres, so
//! that coordinates are continuous over a kink and have an exact inverse, which nearest-point
//! coordinates lack (they fold a whole wedge outside a kink onto one value of along).
//!
//! Limits: on the inner side of a bend the strips shrink and end at [`Baseline::reach_m`]; beyond
//! that the nearest point of the line is used, and the way back is no longer exact. Outside a bend
//! one metre of along is longer on the ground than on the line. A line traced with a wobble would
//! have a reach of a few metres, so it is first straightened (Douglas & Peucker 1973) just enough
//! for the reach wanted, at most by 32 m.

use geo::Simplify;
use geo_types::{Coord, LineString};

use super::ShorePoint;
use crate::book::Seaward;
use crate::earth::Local;

/// The furthest that straightening may move the line, metres.
const MOST_SHIFT_M: f64 = 32.0;

/// The line along the back of a beach, ready to measure from.
#[derive(Debug, Clone, PartialEq)]
pub struct Baseline {
    legs: Vec<Leg>,
    shift_m: f64,
    reach_m: f64,
    reach_back_m: f64,
}

/// One straight part, with the mitres at both ends scaled so that they advance one metre across
/// for each metre of length perpendicular to the leg.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Leg {
    from: Local,
    /// Unit vector along the leg.
    ahead: Local,
    /// Unit vector seaward.
    sea: Local,
    length_m: f64,
    start_m: f64,
    mitre_from: Local,
    mitre_to: Local,
}

fn dot(a: Local, b: Local) -> f64 {
    a.east_m * b.east_m + a.north_m * b.north_m
}

fn add(a: Local, b: Local, times: f64) -> Local {
    Local::new(a.east_m + b.east_m * times, a.north_m + b.north_m * times)
}

impl Baseline {
    /// The baseline through `points`, straightened as far as needed for its coordinates to hold
    /// up to `wanted_reach_m` on both sides. `None` when the points span less than a metre.
    pub fn new(points: &[Local], seaward: Seaward, wanted_reach_m: f64) -> Option<Self> {
        let line: LineString<f64> = points.iter().map(|p| Coord::from(*p)).collect();
        let mut best: Option<Self> = None;
        let mut shift_m = 0.0;
        while shift_m <= MOST_SHIFT_M {
            let straight = if shift_m > 0.0 { line.simplify(shift_m) } else { line.clone() };
            if let Some(candidate) = Self::exact(&straight, seaward, shift_m) {
                let (had, has) = (best.as_ref().map_or(-1.0, Self::least_reach_m), candidate.least_reach_m());
                if has > had {
                    best = Some(candidate);
                }
                if has >= wanted_reach_m {
                    break;
                }
            }
            shift_m = if shift_m == 0.0 { 0.5 } else { shift_m * 2.0 };
        }
        best
    }

    fn exact(line: &LineString<f64>, seaward: Seaward, shift_m: f64) -> Option<Self> {
        let side = match seaward {
            Seaward::Left => 1.0,
            Seaward::Right => -1.0,
        };
        let mut legs: Vec<Leg> = Vec::new();
        let mut start_m = 0.0;
        let mut from = Local::from(*line.0.first()?);
        for to in line.0.iter().skip(1).map(|c| Local::from(*c)) {
            let length_m = from.distance_m(to);
            // Points on top of each other make no leg.
            if length_m < 0.01 {
                continue;
            }
            let ahead = Local::new((to.east_m - from.east_m) / length_m, (to.north_m - from.north_m) / length_m);
            let sea = Local::new(-side * ahead.north_m, side * ahead.east_m);
            legs.push(Leg { from, ahead, sea, length_m, start_m, mitre_from: sea, mitre_to: sea });
            start_m += length_m;
            from = to;
        }
        if start_m < 1.0 {
            return None;
        }
        for n in 1..legs.len() {
            let (a, b) = (legs[n - 1].sea, legs[n].sea);
            // A line that doubles back on itself has no half-angle; its mitre is capped.
            let scale = 1.0 / (1.0 + dot(a, b)).max(0.05);
            let mitre = Local::new((a.east_m + b.east_m) * scale, (a.north_m + b.north_m) * scale);
            legs[n - 1].mitre_to = mitre;
            legs[n].mitre_from = mitre;
        }
        let reach = |sign: f64| {
            legs.iter()
                .map(|leg| {
                    let closing = -sign * (dot(leg.mitre_to, leg.ahead) - dot(leg.mitre_from, leg.ahead));
                    if closing > 1e-12 { leg.length_m / closing } else { f64::INFINITY }
                })
                .fold(f64::INFINITY, f64::min)
        };
        let (reach_m, reach_back_m) = (reach(1.0), reach(-1.0));
        Some(Self { legs, shift_m, reach_m, reach_back_m })
    }

    fn least_reach_m(&self) -> f64 {
        self.reach_m.min(self.reach_back_m)
    }

    /// Length, metres.
    pub fn length_m(&self) -> f64 {
        self.legs.last().map_or(0.0, |leg| leg.start_m + leg.length_m)
    }

    /// How far seaward along and across can be turned back into a place exactly, metres;
    /// infinite for a straight line or one that only bends away from the sea.
    pub fn reach_m(&self) -> f64 {
        self.reach_m
    }

    /// The same on the landward side, metres.
    pub fn reach_back_m(&self) -> f64 {
        self.reach_back_m
    }

    /// The most by which straightening moved the line, metres; 0 when it was taken as drawn.
    pub fn shift_m(&self) -> f64 {
        self.shift_m
    }

    /// Its points, in order.
    pub fn points(&self) -> Vec<Local> {
        let last = self.legs.last().map(|leg| add(leg.from, leg.ahead, leg.length_m));
        self.legs.iter().map(|leg| leg.from).chain(last).collect()
    }

    /// The values of along at its points, metres.
    pub(super) fn corners_m(&self) -> Vec<f64> {
        self.legs.iter().map(|leg| leg.start_m).chain([self.length_m()]).collect()
    }

    /// Metres along and across of a place.
    pub fn to_shore(&self, p: Local) -> ShorePoint {
        let mut best: Option<ShorePoint> = None;
        for (n, leg) in self.legs.iter().enumerate() {
            if let Some(found) = leg.strip(p, n == 0, n + 1 == self.legs.len())
                && best.is_none_or(|b| found.across_m.abs() < b.across_m.abs())
            {
                best = Some(found);
            }
        }
        best.unwrap_or_else(|| self.nearest(p))
    }

    /// By the nearest point of the line: for places beyond the reach of every strip.
    fn nearest(&self, p: Local) -> ShorePoint {
        let mut best = (f64::INFINITY, ShorePoint::default());
        for leg in &self.legs {
            let v = add(p, leg.from, -1.0);
            let t = dot(v, leg.ahead).clamp(0.0, leg.length_m);
            let distance_m = p.distance_m(add(leg.from, leg.ahead, t));
            if distance_m < best.0 {
                best = (distance_m, ShorePoint::new(leg.start_m + t, distance_m.copysign(dot(v, leg.sea))));
            }
        }
        best.1
    }

    /// The place at metres along and across.
    pub fn to_local(&self, s: ShorePoint) -> Local {
        let n = self.legs.partition_point(|leg| leg.start_m <= s.along_m).max(1) - 1;
        let Some(leg) = self.legs.get(n) else { return Local::default() };
        let run_m = s.along_m - leg.start_m;
        let t = (run_m / leg.length_m).clamp(0.0, 1.0);
        let foot = add(leg.from, leg.ahead, run_m);
        add(add(foot, leg.mitre_from, s.across_m * (1.0 - t)), leg.mitre_to, s.across_m * t)
    }
}

impl Leg {
    /// Shore coordinates of a place in this leg's strip; the first and last strips run on.
    fn strip(&self, p: Local, first: bool, last: bool) -> Option<ShorePoint> {
        let v = add(p, self.from, -1.0);
        let (across_m, run_m) = (dot(v, self.sea), dot(v, self.ahead));
        let begin_m = across_m * dot(self.mitre_from, self.ahead);
        let end_m = self.length_m + across_m * dot(self.mitre_to, self.ahead);
        let width_m = end_m - begin_m;
        // The slack keeps a place on a mitre from falling between two strips by rounding.
        const SLACK_M: f64 = 1e-9;
        if width_m <= SLACK_M || (run_m < begin_m - SLACK_M && !first) || (run_m > end_m + SLACK_M && !last) {
            return None;
        }
        let along_m = if run_m < begin_m {
            run_m - begin_m
        } else if run_m > end_m {
            self.length_m + run_m - end_m
        } else {
            (run_m - begin_m) / width_m * self.length_m
        };
        Some(ShorePoint::new(self.start_m + along_m, across_m))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn line(points: &[(f64, f64)]) -> Vec<Local> {
        points.iter().map(|(e, n)| Local::new(*e, *n)).collect()
    }

    #[test]
    fn straight_line_measures_plainly_on_either_hand() {
        let points = line(&[(0.0, 0.0), (100.0, 0.0)]);
        let right = Baseline::new(&points, Seaward::Right, 200.0).unwrap();
        let left = Baseline::new(&points, Seaward::Left, 200.0).unwrap();
        let p = Local::new(130.0, -20.0);
        assert_eq!(right.to_shore(p), ShorePoint::new(130.0, 20.0));
        assert_eq!(left.to_shore(p), ShorePoint::new(130.0, -20.0));
        assert_eq!(right.to_shore(Local::new(-7.0, 3.0)), ShorePoint::new(-7.0, -3.0));
        assert_eq!(right.reach_m(), f64::INFINITY);
    }

    #[test]
    fn along_runs_on_over_a_kink_where_nearest_point_would_stand_still() {
        // The line turns left by 60 degrees, the sea is on the right: a headland.
        let points = line(&[(0.0, 0.0), (100.0, 0.0), (150.0, 86.602_540_378)]);
        let b = Baseline::new(&points, Seaward::Right, 150.0).unwrap();
        let mut before = f64::NEG_INFINITY;
        for step in 0..=60 {
            let turn = (-90.0 + f64::from(step)).to_radians();
            let s = b.to_shore(Local::new(100.0 + 40.0 * turn.cos(), 40.0 * turn.sin()));
            assert!(s.along_m > before + 0.05, "stands still at step {step}");
            before = s.along_m;
        }
    }

    #[test]
    fn reach_ends_where_the_strips_meet() {
        // A bay: two legs of 100 m at a right angle, the sea inside. Mitres meet the far ends' normals at 100 m.
        let b = Baseline::new(&line(&[(0.0, 0.0), (100.0, 0.0), (100.0, 100.0)]), Seaward::Left, 50.0).unwrap();
        assert!((b.reach_m() - 100.0).abs() < 1e-9);
        // Beyond it, still an answer.
        assert!(b.to_shore(Local::new(-200.0, 300.0)).across_m.is_finite());
    }

    #[test]
    fn a_wobbling_line_is_straightened_until_it_reaches() {
        let wobble: Vec<_> = (0..200).map(|n| Local::new(f64::from(n), if n % 2 == 0 { 0.4 } else { -0.4 })).collect();
        let b = Baseline::new(&wobble, Seaward::Left, 150.0).unwrap();
        assert!(b.reach_m() >= 150.0 && b.shift_m() <= 1.0, "{} {}", b.reach_m(), b.shift_m());
    }

    #[test]
    fn no_length_is_no_baseline() {
        assert!(Baseline::new(&line(&[(1.0, 1.0), (1.0, 1.0)]), Seaward::Left, 10.0).is_none());
        assert!(Baseline::new(&[], Seaward::Left, 10.0).is_none());
        // Doubling back on itself must not break anything either.
        let b = Baseline::new(&line(&[(0.0, 0.0), (50.0, 0.0), (0.0, 0.1)]), Seaward::Left, 10.0).unwrap();
        assert!(b.to_shore(Local::new(10.0, 5.0)).across_m.is_finite());
    }

    proptest! {
        #![proptest_config(crate::cases::kept())]
        #[test]
        fn there_and_back_within_reach(
            turns in prop::collection::vec(-0.5_f64..0.5, 1..6),
            lengths in prop::collection::vec(30.0_f64..200.0, 6),
            along in -50.0_f64..900.0,
            share in -0.9_f64..0.9,
            left in any::<bool>(),
        ) {
            let (mut heading, mut at) = (0.3_f64, Local::new(-100.0, 40.0));
            let mut points = vec![at];
            for (turn, length) in turns.iter().zip(&lengths) {
                at = Local::new(at.east_m + length * heading.cos(), at.north_m + length * heading.sin());
                points.push(at);
                heading += turn;
            }
            let side = if left { Seaward::Left } else { Seaward::Right };
            let b = Baseline::new(&points, side, 1e9).unwrap();
            let limit = if share > 0.0 { b.reach_m() } else { b.reach_back_m() }.min(60.0);
            let s = ShorePoint::new(along, share * limit);
            let back = b.to_shore(b.to_local(s));
            // Legs may curl round and come nearer than the one meant; the place must agree all the same.
            prop_assert!(b.to_local(back).distance_m(b.to_local(s)) < 1e-6);
            if back.across_m.abs() > s.across_m.abs() - 1e-6 {
                prop_assert!((back.along_m - s.along_m).abs() < 1e-6 && (back.across_m - s.across_m).abs() < 1e-6);
            }
        }
    }
}
