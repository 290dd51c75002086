//! Swaths laid on a grid: the union of capsules, square by square, with passes and fresh ground.
//!
//! Every square is a small picture, 64 columns wide and `rows` high, one 64-bit word a row. A sweep is a
//! capsule (a segment widened by half the swath); in each row it is an interval, found exactly, and
//! the columns whose middles lie in it are set. So a union costs one `or`, an area one popcount.
//! Three pictures a square: the pass under way, the outing so far, and all outings before.
//!
//! Squares lie in tiles of 32 by 32; each tile takes its sweeps in order and independently of the
//! others, so the result does not depend on how many threads there are. O(sweeps x rows crossed).

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::stretch::Sweep;

/// Squares along one side of a tile.
const TILE: i64 = 32;
/// Columns of a square's picture: the bits of a word.
const COLUMNS: i64 = 64;

/// A swept square, by its place on the grid.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Square {
    pub(super) column: i64,
    pub(super) row: i64,
    /// Share of it that was swept at least once.
    pub(super) swept: f64,
    /// Shares swept by each pass, added up.
    pub(super) passed: f64,
    /// For each outing that swept in it: the outing, the share it swept, the share that was fresh then.
    pub(super) groups: Vec<(u32, f64, f64)>,
}

/// Lays sweeps on a grid with squares of `cell_m`. The squares come out in order of row and column.
pub(super) fn lay(sweeps: &[Sweep], cell_m: f64, again_s: f64) -> Vec<Square> {
    let narrowest = sweeps.iter().map(|s| s.radius_m).fold(f64::INFINITY, f64::min);
    // Fine enough that the narrowest swath is crossed by at least 64 rows, so that even a lane dead
    // along the rows is off by less than 1.6 %; others are off by far less.
    let rows = ((cell_m * 32.0 / narrowest).ceil().clamp(8.0, 512.0) as u64).next_power_of_two() as i64;
    let mut tiles: BTreeMap<(i64, i64), Vec<u32>> = BTreeMap::new();
    let tile_m = cell_m * TILE as f64;
    for (n, s) in (0u32..).zip(sweeps) {
        let span = |a: f64, b: f64| {
            let index = |v: f64| (v / tile_m).floor() as i64;
            index(a.min(b) - s.radius_m)..=index(a.max(b) + s.radius_m)
        };
        for row in span(s.from.1, s.to.1) {
            for column in span(s.from.0, s.to.0) {
                tiles.entry((row, column)).or_default().push(n);
            }
        }
    }
    let tiles: Vec<_> = tiles.into_iter().collect();
    let mut squares: Vec<Square> = tiles
        .par_iter()
        .flat_map_iter(|((row, column), numbers)| {
            let mut tile = Tile::new(*row, *column, rows, cell_m, again_s);
            for n in numbers {
                tile.sweep(*n, &sweeps[*n as usize]);
            }
            tile.finish()
        })
        .collect();
    squares.sort_by_key(|s| (s.row, s.column));
    squares
}

/// What is known of a square besides its pictures.
#[derive(Clone)]
struct State {
    /// Place of its pictures, in squares; none yet if it was never swept.
    slot: Option<u32>,
    last_sweep: u32,
    last_s: f64,
    group: u32,
    passed: u64,
    groups: Vec<(u32, u32, u32)>,
}

struct Tile {
    row: i64,
    column: i64,
    /// Rows of a picture.
    rows: i64,
    cell_m: f64,
    again_s: f64,
    states: Vec<State>,
    /// Three pictures a square, one after the other: pass, outing, before.
    pictures: Vec<u64>,
}

impl Tile {
    fn new(row: i64, column: i64, rows: i64, cell_m: f64, again_s: f64) -> Self {
        let fresh =
            State { slot: None, last_sweep: u32::MAX, last_s: f64::NEG_INFINITY, group: 0, passed: 0, groups: Vec::new() };
        let states = vec![fresh; (TILE * TILE) as usize];
        Self { row, column, rows, cell_m, again_s, states, pictures: Vec::new() }
    }

    fn sweep(&mut self, number: u32, s: &Sweep) {
        // In squares from the tile's corner.
        let place = |v: f64, tile: i64| v / self.cell_m - (tile * TILE) as f64;
        let a = (place(s.from.0, self.column), place(s.from.1, self.row));
        let b = (place(s.to.0, self.column), place(s.to.1, self.row));
        let r = s.radius_m / self.cell_m;
        let capsule = Capsule::new(a, b, r);
        let height = self.rows as f64;
        let first = ((a.1.min(b.1) - r) * height - 0.5).ceil().max(0.0) as i64;
        let last = ((a.1.max(b.1) + r) * height - 0.5).floor().min((TILE * self.rows - 1) as f64) as i64;
        for line in first..=last {
            let Some((left, right)) = capsule.interval((line as f64 + 0.5) / height) else { continue };
            let from = (left * COLUMNS as f64 - 0.5).ceil().max(0.0) as i64;
            let to = (right * COLUMNS as f64 - 0.5).floor().min((TILE * COLUMNS - 1) as f64) as i64;
            if from <= to {
                self.set(number, s, line, from, to);
            }
        }
    }

    /// Sets columns `from` to `to` of one line of the tile.
    fn set(&mut self, number: u32, s: &Sweep, line: i64, from: i64, to: i64) {
        let (row, picture_row) = (line / self.rows, (line % self.rows) as usize);
        for column in from / COLUMNS..=to / COLUMNS {
            let low = (from - column * COLUMNS).max(0);
            let high = (to - column * COLUMNS).min(COLUMNS - 1);
            let mask = (u64::MAX << low) & (u64::MAX >> (COLUMNS - 1 - high));
            let at = self.enter((row * TILE + column) as usize, number, s);
            self.pictures[at + picture_row] |= mask;
        }
    }

    /// The place of a square's picture of the pass under way; begins a new pass or outing if this
    /// sweep does.
    fn enter(&mut self, square: usize, number: u32, s: &Sweep) -> usize {
        let size = 3 * self.rows as usize;
        let state = &mut self.states[square];
        let slot = match state.slot {
            Some(slot) => slot as usize,
            None => {
                let slot = self.pictures.len() / size;
                state.slot = Some(slot as u32);
                state.group = s.group;
                self.pictures.resize(self.pictures.len() + size, 0);
                slot
            }
        };
        if state.last_sweep != number {
            let pictures = &mut self.pictures[slot * size..(slot + 1) * size];
            if state.group != s.group {
                end_outing(state, pictures);
                state.group = s.group;
            } else if s.from_s - state.last_s > self.again_s {
                end_pass(state, pictures);
            }
            state.last_sweep = number;
            state.last_s = s.to_s;
        }
        slot * size
    }

    fn finish(mut self) -> Vec<Square> {
        let size = 3 * self.rows as usize;
        let dots = (self.rows * COLUMNS) as f64;
        let mut squares = Vec::new();
        for (n, state) in self.states.iter_mut().enumerate() {
            let Some(slot) = state.slot else { continue };
            let pictures = &mut self.pictures[slot as usize * size..(slot as usize + 1) * size];
            end_outing(state, pictures);
            let swept = ones(&pictures[size / 3 * 2..]);
            if swept == 0 {
                continue;
            }
            squares.push(Square {
                column: self.column * TILE + n as i64 % TILE,
                row: self.row * TILE + n as i64 / TILE,
                swept: f64::from(swept) / dots,
                passed: state.passed as f64 / dots,
                groups: state.groups.iter().map(|(g, all, new)| (*g, f64::from(*all) / dots, f64::from(*new) / dots)).collect(),
            });
        }
        squares
    }
}

fn ones(picture: &[u64]) -> u32 {
    picture.iter().map(|w| w.count_ones()).sum()
}

fn end_pass(state: &mut State, pictures: &mut [u64]) {
    let (pass, rest) = pictures.split_at_mut(pictures.len() / 3);
    state.passed += u64::from(ones(pass));
    for (outing, pass) in rest.iter_mut().zip(pass) {
        *outing |= *pass;
        *pass = 0;
    }
}

fn end_outing(state: &mut State, pictures: &mut [u64]) {
    end_pass(state, pictures);
    let rows = pictures.len() / 3;
    let (outing, before) = pictures[rows..].split_at_mut(rows);
    let all = ones(outing);
    let new = outing.iter().zip(before.iter()).map(|(o, b)| (o & !b).count_ones()).sum();
    if all > 0 {
        state.groups.push((state.group, all, new));
    }
    for (before, outing) in before.iter_mut().zip(outing) {
        *before |= *outing;
        *outing = 0;
    }
}

/// A segment widened by a radius.
struct Capsule {
    a: (f64, f64),
    b: (f64, f64),
    d: (f64, f64),
    length2: f64,
    reach: f64,
    r2: f64,
}

impl Capsule {
    fn new(a: (f64, f64), b: (f64, f64), r: f64) -> Self {
        let d = (b.0 - a.0, b.1 - a.1);
        let length2 = d.0 * d.0 + d.1 * d.1;
        Self { a, b, d, length2, reach: r * length2.sqrt(), r2: r * r }
    }

    /// Where the line at height `y` lies in it. A capsule is convex, so that is one interval: the
    /// hull of those in the two discs and in the rectangle between them.
    fn interval(&self, y: f64) -> Option<(f64, f64)> {
        let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
        for end in [self.a, self.b] {
            let h2 = self.r2 - (y - end.1) * (y - end.1);
            if h2 >= 0.0 {
                let h = h2.sqrt();
                left = left.min(end.0 - h);
                right = right.max(end.0 + h);
            }
        }
        if let Some((l, r)) = self.rectangle(y) {
            left = left.min(l);
            right = right.max(r);
        }
        (left <= right).then_some((left, right))
    }

    /// Within the rectangle the distance from the line through both ends is at most the radius, and
    /// the foot lies between them: two intervals, of which the overlap counts.
    fn rectangle(&self, y: f64) -> Option<(f64, f64)> {
        if self.length2 == 0.0 {
            return None;
        }
        let ((dx, dy), up) = (self.d, y - self.a.1);
        let side = between(-dy, up * dx, -self.reach, self.reach)?;
        let foot = between(dx, up * dy, 0.0, self.length2)?;
        let (left, right) = (self.a.0 + side.0.max(foot.0), self.a.0 + side.1.min(foot.1));
        (left <= right).then_some((left, right))
    }
}

/// The `x` for which `low <= factor * x + rest <= high`.
fn between(factor: f64, rest: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    if factor == 0.0 {
        return (low..=high).contains(&rest).then_some((f64::NEG_INFINITY, f64::INFINITY));
    }
    let (one, two) = ((low - rest) / factor, (high - rest) / factor);
    Some((one.min(two), one.max(two)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sweep(from: (f64, f64), to: (f64, f64), radius_m: f64, at_s: f64, group: u32) -> Sweep {
        Sweep { from, to, radius_m, from_s: at_s, to_s: at_s + 1.0, group }
    }

    fn area(squares: &[Square]) -> f64 {
        squares.iter().map(|s| s.swept).sum()
    }

    proptest! {
        #[test]
        fn one_capsule_has_the_area_of_one(ax in -50.0..50.0, ay in -50.0..50.0, dx in -9.0..9.0f64, dy in -9.0..9.0f64, r in 0.3..3.0f64) {
            let truth = std::f64::consts::PI * r * r + 2.0 * r * dx.hypot(dy);
            let found = area(&lay(&[sweep((ax, ay), (ax + dx, ay + dy), r, 0.0, 0)], 1.0, 20.0));
            prop_assert!((found / truth - 1.0).abs() < 0.02, "{found} {truth}");
        }

        /// Against a count of points, one by one.
        #[test]
        fn a_union_is_what_a_count_of_points_says(ends in prop::collection::vec((-8.0..8.0f64, -8.0..8.0f64), 2..7)) {
            let sweeps: Vec<_> = ends.windows(2).map(|w| sweep(w[0], w[1], 0.7, 0.0, 0)).collect();
            let found = area(&lay(&sweeps, 1.0, 20.0));
            let near = |p: (f64, f64)| sweeps.iter().any(|s| {
                let d = (s.to.0 - s.from.0, s.to.1 - s.from.1);
                let l2 = (d.0 * d.0 + d.1 * d.1).max(1e-12);
                let t = (((p.0 - s.from.0) * d.0 + (p.1 - s.from.1) * d.1) / l2).clamp(0.0, 1.0);
                (p.0 - s.from.0 - t * d.0).hypot(p.1 - s.from.1 - t * d.1) <= 0.7
            });
            let step = 0.05;
            let count = (0..400).flat_map(|i| (0..400).map(move |j| (i, j)))
                .filter(|(i, j)| near((f64::from(*i) * step - 10.0, f64::from(*j) * step - 10.0))).count();
            let truth = count as f64 * step * step;
            prop_assert!((found / truth - 1.0).abs() < 0.02, "{found} {truth}");
        }
    }

    #[test]
    fn coming_back_is_a_second_pass_and_standing_is_not() {
        let line = |t: f64| sweep((0.0, 5.0), (20.0, 5.0), 0.75, t, 0);
        let still = lay(&[line(0.0), line(1.0), line(2.0)], 1.0, 20.0);
        let again = lay(&[line(0.0), line(100.0)], 1.0, 20.0);
        for (squares, passes) in [(still, 1.0), (again, 2.0)] {
            for s in squares {
                assert!((s.passed / s.swept - passes).abs() < 1e-9, "{s:?}");
            }
        }
    }

    #[test]
    fn fresh_ground_is_fresh_once() {
        let squares = lay(&[sweep((0.0, 0.0), (10.0, 0.0), 0.5, 0.0, 0), sweep((5.0, 0.0), (15.0, 0.0), 0.5, 1e6, 1)], 1.0, 20.0);
        let sum = |f: fn(&(u32, f64, f64)) -> f64, group| -> f64 {
            squares.iter().flat_map(|s| &s.groups).filter(|g| g.0 == group).map(f).sum()
        };
        assert_eq!(sum(|g| g.1, 0), sum(|g| g.2, 0), "all of the first outing's ground is fresh");
        let whole = std::f64::consts::PI * 0.25 + 10.0;
        assert!((sum(|g| g.1, 1) / whole - 1.0).abs() < 0.02);
        assert!((sum(|g| g.2, 1) - 5.0).abs() < 0.1, "{}", sum(|g| g.2, 1));
        let fresh: f64 = squares.iter().flat_map(|s| &s.groups).map(|g| g.2).sum();
        assert!((fresh - area(&squares)).abs() < 1e-9);
    }
}
