//! Where people go with the coil: lanes along or across, one line, wandering, a corner, near the car park.

use std::f64::consts::TAU;

use super::draw::{Rng, chance, log_uniform, normal, pick, uniform};
use super::land::Land;

/// How a person lays a search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Way {
    /// Lanes along the shore, one beside the other.
    LanesAlong,
    /// Lanes across it.
    LanesAcross,
    /// To and fro along one level, which lies this far across.
    Line(f64),
    /// Hither and thither.
    Wander,
}

/// Where a person searches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Haunt {
    /// All over the beach.
    Anywhere,
    /// Always in one corner, metres along and across.
    Corner((f64, f64), (f64, f64)),
    /// About the place where the car stands, at most about so many metres off.
    CarPark(f64),
}

/// What a person is used to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Habit {
    /// How.
    pub way: Way,
    /// Where.
    pub haunt: Haunt,
    /// Whether only after storms.
    pub after_storms: bool,
}

impl Habit {
    pub(super) fn draw(land: &Land, rng: &mut Rng) -> Self {
        let way = match pick(rng, 4) {
            0 => Way::LanesAlong,
            1 => Way::LanesAcross,
            2 => Way::Line(uniform(rng, 2.0, land.width_m - 2.0)),
            _ => Way::Wander,
        };
        let haunt = match pick(rng, 6) {
            0 => Self::corner(land, rng),
            1 => Haunt::CarPark(uniform(rng, 40.0, 120.0)),
            _ => Haunt::Anywhere,
        };
        Self { way, haunt, after_storms: chance(rng, 0.15) }
    }

    pub(super) fn corner(land: &Land, rng: &mut Rng) -> Haunt {
        let length_m = uniform(rng, 0.15, 0.4) * land.length_m;
        let from_m = uniform(rng, 0.0, land.length_m - length_m);
        let depth_m = uniform(rng, 0.4, 1.0) * land.width_m;
        let near_m = uniform(rng, 0.0, land.width_m - depth_m);
        Haunt::Corner((from_m, from_m + length_m), (near_m, near_m + depth_m))
    }
}

/// A second of a way: metres along and across, and whether the coil is in use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pace {
    pub(super) along_m: f64,
    pub(super) across_m: f64,
    pub(super) searching: bool,
}

/// How one outing goes about it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gait {
    /// Metres per second with the coil in use.
    pub(super) speed: f64,
    /// From lane to lane, metres.
    pub(super) spacing_m: f64,
    /// How far seaward the sand is dry, metres.
    pub(super) limit_m: f64,
    /// Where the car stands, metres along.
    pub(super) car_park_m: f64,
    /// How long, seconds.
    pub(super) seconds: usize,
}

/// A piece of ground in hand, metres along and across.
#[derive(Debug, Clone, Copy)]
struct Block {
    along_m: (f64, f64),
    across_m: (f64, f64),
}

/// The way of one outing, second by second, as if nothing were dug.
pub(super) fn way(land: &Land, habit: &Habit, gait: Gait, rng: &mut Rng) -> Vec<Pace> {
    let mut block = first_block(land, habit.haunt, gait, rng);
    let start = (block.along_m.0, block.across_m.0);
    let mut pen = Pen { land, gait, at: start, paces: Vec::new() };
    if chance(rng, 0.5) {
        let far_m = uniform(rng, 20.0, 150.0);
        pen.at = (start.0 + if gait.car_park_m > start.0 { far_m } else { -far_m }, 1.0);
        pen.go(start, false);
    }
    while !pen.is_done() {
        match habit.way {
            Way::LanesAlong => pen.lanes_along(block, rng),
            Way::LanesAcross => pen.lanes_across(block, rng),
            Way::Line(across_m) => pen.line(block, across_m, rng),
            Way::Wander => pen.wander(block, rng),
        }
        block = match habit.haunt {
            Haunt::Anywhere if chance(rng, 0.7) => beside(land, block),
            haunt => first_block(land, haunt, gait, rng),
        };
    }
    pen.paces
}

fn first_block(land: &Land, haunt: Haunt, gait: Gait, rng: &mut Rng) -> Block {
    let near_m = uniform(rng, 0.5, 0.8 * gait.limit_m);
    let across_m = (near_m, (near_m + uniform(rng, 6.0, gait.limit_m.max(8.0))).min(gait.limit_m).max(near_m + 1.0));
    let lay = |middle_m: f64, length_m: f64| {
        let length_m = length_m.min(land.length_m);
        let from_m = (middle_m - 0.5 * length_m).clamp(0.0, land.length_m - length_m);
        (from_m, from_m + length_m)
    };
    match haunt {
        Haunt::Anywhere => {
            let length_m = log_uniform(rng, 40.0, 320.0);
            Block { along_m: lay(uniform(rng, 0.0, land.length_m), length_m), across_m }
        }
        Haunt::Corner(along_m, (near_m, far_m)) => {
            // Where the corner lies under water that day, the dry edge next to it is searched.
            let near_m = near_m.min(gait.limit_m - 4.0).max(0.5);
            Block { along_m, across_m: (near_m, far_m.min(gait.limit_m).max(near_m + 2.0)) }
        }
        Haunt::CarPark(far_m) => {
            let length_m = uniform(rng, 0.5, 1.0) * far_m;
            let middle_m = gait.car_park_m + uniform(rng, -0.5, 0.5) * far_m;
            Block { along_m: lay(middle_m, length_m), across_m }
        }
    }
}

/// The ground next to it along the shore, back at the other end where the beach ends.
fn beside(land: &Land, block: Block) -> Block {
    let length_m = block.along_m.1 - block.along_m.0;
    let from_m = if block.along_m.1 + length_m <= land.length_m { block.along_m.1 } else { 0.0 };
    Block { along_m: (from_m, from_m + length_m), ..block }
}

/// Walks and notes each second.
struct Pen<'a> {
    land: &'a Land,
    gait: Gait,
    at: (f64, f64),
    paces: Vec<Pace>,
}

impl Pen<'_> {
    fn is_done(&self) -> bool {
        self.paces.len() >= self.gait.seconds
    }

    /// Straight to a place; with the coil up where the way is not searched.
    fn go(&mut self, to: (f64, f64), searching: bool) {
        let speed = if searching { self.gait.speed } else { 1.3 };
        let seaward_m = self.gait.limit_m + self.land.swerve_m(to.0);
        let to = (to.0.clamp(0.0, self.land.length_m), to.1.min(seaward_m).max(0.5));
        while !self.is_done() {
            let stretch = self.land.stretch(self.at.0, self.at.1);
            let (da, dc) = (to.0 - self.at.0, to.1 - self.at.1);
            let left_m = (da * stretch).hypot(dc);
            if left_m < speed {
                break;
            }
            self.at = (self.at.0 + da * speed / left_m, self.at.1 + dc * speed / left_m);
            self.paces.push(Pace { along_m: self.at.0, across_m: self.at.1, searching });
        }
    }

    /// To where the next piece begins, with the coil up when that is far.
    fn reach(&mut self, to: (f64, f64)) {
        let far = (to.0 - self.at.0).hypot(to.1 - self.at.1) > 12.0;
        self.go(to, !far);
    }

    /// One lane along, as straight as people walk.
    fn lane_along(&mut self, from_m: f64, to_m: f64, across_m: impl Fn(f64) -> f64, rng: &mut Rng) {
        let pieces = ((to_m - from_m).abs() / 20.0).ceil().max(1.0) as usize;
        for n in 0..=pieces {
            let along_m = from_m + (to_m - from_m) * n as f64 / pieces as f64;
            let to = (along_m, across_m(along_m) + normal(rng, 0.25));
            if n == 0 { self.reach(to) } else { self.go(to, true) }
        }
    }

    fn lanes_along(&mut self, block: Block, rng: &mut Rng) {
        let land = self.land;
        let mut lane_m = block.across_m.0;
        let mut ends = block.along_m;
        while lane_m <= block.across_m.1 && !self.is_done() {
            self.lane_along(ends.0, ends.1, |a| lane_m + land.swerve_m(a), rng);
            ends = (ends.1, ends.0);
            lane_m += self.gait.spacing_m;
        }
    }

    fn lanes_across(&mut self, block: Block, rng: &mut Rng) {
        let mut lane_m = block.along_m.0;
        let mut ends = block.across_m;
        while lane_m <= block.along_m.1 && !self.is_done() {
            self.reach((lane_m, ends.0));
            self.go((lane_m + normal(rng, 0.3), ends.1), true);
            ends = (ends.1, ends.0);
            lane_m += self.gait.spacing_m;
        }
    }

    fn line(&mut self, block: Block, across_m: f64, rng: &mut Rng) {
        let land = self.land;
        let across_m = across_m.min(self.gait.limit_m) + normal(rng, 1.5);
        let mut ends = block.along_m;
        for lane in 0..2 + pick(rng, 3) {
            let off_m = self.gait.spacing_m * lane.div_ceil(2) as f64 * if lane % 2 == 0 { 1.0 } else { -1.0 };
            self.lane_along(ends.0, ends.1, |a| across_m + off_m + land.swerve_m(a), rng);
            ends = (ends.1, ends.0);
        }
    }

    fn wander(&mut self, block: Block, rng: &mut Rng) {
        let within = |v: f64, (low, high): (f64, f64)| v.clamp(low, high);
        self.reach((within(self.at.0, block.along_m), within(self.at.1, block.across_m)));
        let mut heading = uniform(rng, 0.0, TAU);
        for _ in 0..200 {
            if self.is_done() {
                break;
            }
            heading += normal(rng, 0.5);
            let to = (self.at.0 + 4.0 * heading.cos(), self.at.1 + 4.0 * heading.sin());
            let kept = (within(to.0, block.along_m), within(to.1, block.across_m));
            if kept != to {
                heading += 2.0;
            }
            self.go(kept, true);
            // Held in a corner too small for a step, somebody stands still.
            self.paces.push(Pace { along_m: self.at.0, across_m: self.at.1, searching: true });
        }
    }
}
