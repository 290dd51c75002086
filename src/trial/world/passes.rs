//! The coil over the sand: which places it passes, and when it passes them again.

use std::collections::{HashMap, HashSet};

use crate::earth::Local;

/// Side of a square of the index, metres; more than any coil reaches.
const SIDE_M: f64 = 2.0;
/// The coil passes anew over what it had left for more seconds than this.
const AGAIN_S: u32 = 15;

type Square = (i32, i32);

fn square(p: Local) -> Square {
    ((p.east_m / SIDE_M).floor() as i32, (p.north_m / SIDE_M).floor() as i32)
}

/// The squares that any coil came near.
#[derive(Default)]
pub(super) struct Touched {
    squares: HashSet<Square>,
    /// Where it was last: most steps stay in their square.
    last: Option<Square>,
}

impl Touched {
    pub(super) fn touch(&mut self, p: Local) {
        let (x, y) = square(p);
        if self.last.replace((x, y)) == Some((x, y)) {
            return;
        }
        for dx in -1..=1 {
            for dy in -1..=1 {
                self.squares.insert((x + dx, y + dy));
            }
        }
    }

    pub(super) fn holds(&self, p: Local) -> bool {
        self.squares.contains(&square(p))
    }

    /// Places over the squares in order, one in each piece of a grid of this spacing. Within its piece each stands
    /// elsewhere, by a sequence that fills a square evenly, so that no lane falls in with the grid.
    pub(super) fn grid(&self, spacing_m: f64) -> Vec<Local> {
        let mut squares: Vec<Square> = self.squares.iter().copied().collect();
        squares.sort_unstable();
        let per_side = (SIDE_M / spacing_m).round() as usize;
        let step = SIDE_M / per_side as f64;
        let mut places = Vec::with_capacity(squares.len() * per_side * per_side);
        for (x, y) in squares {
            for n in 0..per_side * per_side {
                // The plastic number's powers: the two-dimensional kin of the golden ratio.
                let off = |ratio: f64| (places.len() as f64 * ratio).fract();
                let dx = ((n % per_side) as f64 + off(0.754_877_666_246_693)) * step;
                let dy = ((n / per_side) as f64 + off(0.569_840_290_998_053_3)) * step;
                places.push(Local::new(f64::from(x) * SIDE_M + dx, f64::from(y) * SIDE_M + dy));
            }
        }
        places
    }
}

/// Places in the sand by their squares.
pub(super) struct Places {
    at: Vec<Local>,
    by_square: HashMap<Square, Vec<u32>>,
}

impl Places {
    pub(super) fn new(at: Vec<Local>) -> Self {
        let mut by_square: HashMap<Square, Vec<u32>> = HashMap::new();
        for (n, p) in at.iter().enumerate() {
            by_square.entry(square(*p)).or_default().push(n as u32);
        }
        Self { at, by_square }
    }
}

/// One outing's coil over places: each place is passed once until the coil has left it for a while.
pub(super) struct Coil<'a> {
    places: &'a Places,
    radius_m: f64,
    /// When each was last under the coil, in seconds of the way; [`NEVER`] of those that never were.
    last: Vec<u32>,
}

/// No way takes so many seconds.
const NEVER: u32 = u32::MAX;

impl<'a> Coil<'a> {
    pub(super) fn new(places: &'a Places, radius_m: f64) -> Self {
        Self { places, radius_m, last: vec![NEVER; places.at.len()] }
    }

    /// The coil's middle goes from one place to another in second `second` of the way; `passed` hears of each place
    /// that it passes anew.
    pub(super) fn step(&mut self, second: u32, from: Local, to: Local, mut passed: impl FnMut(usize)) {
        let reach = |v: f64, w: f64| {
            (((v.min(w) - self.radius_m) / SIDE_M).floor() as i32, ((v.max(w) + self.radius_m) / SIDE_M).floor() as i32)
        };
        let (west, east) = reach(from.east_m, to.east_m);
        let (south, north) = reach(from.north_m, to.north_m);
        let radius2_m2 = self.radius_m * self.radius_m;
        for x in west..=east {
            for y in south..=north {
                for n in self.places.by_square.get(&(x, y)).into_iter().flatten() {
                    let n = *n as usize;
                    if off2_m2(self.places.at[n], from, to) > radius2_m2 {
                        continue;
                    }
                    let before = std::mem::replace(&mut self.last[n], second);
                    if before == NEVER || second - before > AGAIN_S {
                        passed(n);
                    }
                }
            }
        }
    }
}

/// Distance of a place from a straight step, squared, m²: it is asked of every place near every second of the way, and a root
/// of each takes longer than all else.
fn off2_m2(p: Local, from: Local, to: Local) -> f64 {
    let (dx, dy) = (to.east_m - from.east_m, to.north_m - from.north_m);
    let length2 = dx * dx + dy * dy;
    let part = if length2 > 0.0 {
        (((p.east_m - from.east_m) * dx + (p.north_m - from.north_m) * dy) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let (east_m, north_m) = (p.east_m - (from.east_m + part * dx), p.north_m - (from.north_m + part * dy));
    east_m * east_m + north_m * north_m
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_passed_once_a_lane_and_again_on_the_way_back() {
        let places = Places::new(vec![Local::new(10.0, 0.5), Local::new(10.0, 1.2)]);
        let mut coil = Coil::new(&places, 0.75);
        let mut passed = Vec::new();
        let way: Vec<f64> = (0..=60).map(f64::from).map(|t| if t <= 30.0 { t } else { 60.0 - t }).collect();
        for (n, pair) in way.windows(2).enumerate() {
            coil.step(n as u32, Local::new(pair[0], 0.0), Local::new(pair[1], 0.0), |p| passed.push((p, n)));
        }
        assert_eq!(passed, [(0, 9), (0, 49)], "the second place lies out of reach");
    }
}
