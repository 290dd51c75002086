//! Swaths laid on a grid: the union of capsules, square by square, with passes and fresh ground.
//!
//! Every square is a small picture, 64 columns wide, one 64-bit word a row. A sweep is a capsule (a
//! segment widened by half the swath); in each row it is an interval, found exactly, and the columns
//! whose points lie in it are set. So a union costs one `or`, an area one popcount.
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
const COLUMNS: usize = 64;
/// Rows that a square's picture may have.
const MOST_ROWS: usize = 128;
/// Offsets below 1, spread evenly however many are taken: multiples of the golden ratio's share.
const SHIFTS: [f32; MOST_ROWS] = {
    let mut shifts = [0.0; MOST_ROWS];
    let mut n = 0;
    while n < MOST_ROWS {
        // 2^32 times the share; the upper 24 bits make an exact 32-bit float.
        shifts[n] = ((n as u32).wrapping_mul(2_654_435_769) >> 8) as f32 / 16_777_216.0;
        n += 1;
    }
    shifts
};

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
    // Fine enough that at least 64 rows cross the narrowest swath: an area of a few square metres is then true to 1 %.
    let rows = (((cell_m * 32.0 / narrowest).ceil() as usize).div_ceil(4) * 4).clamp(8, MOST_ROWS);
    let mut squares: Vec<Square> = by_tile(sweeps, cell_m * TILE as f64)
        .par_iter()
        .map_init(
            || Tile::new(rows, cell_m, again_s),
            |tile, (place, numbers)| {
                tile.place = *place;
                for n in numbers {
                    tile.sweep(*n, &sweeps[*n as usize]);
                }
                tile.finish()
            },
        )
        .flatten_iter()
        .collect();
    squares.par_sort_unstable_by_key(|s| (s.row, s.column));
    squares
}

/// Row and column of a tile.
type Place = (i64, i64);

/// The numbers of the sweeps that may touch each tile, in order.
fn by_tile(sweeps: &[Sweep], tile_m: f64) -> Vec<(Place, Vec<u32>)> {
    let mut numbers: BTreeMap<Place, usize> = BTreeMap::new();
    let mut tiles: Vec<(Place, Vec<u32>)> = Vec::new();
    // One sweep mostly lies where the one before did.
    let mut last = 0;
    for (n, s) in (0u32..).zip(sweeps) {
        let span = |a: f64, b: f64| {
            let index = |v: f64| (v / tile_m).floor() as i64;
            index(a.min(b) - s.radius_m)..=index(a.max(b) + s.radius_m)
        };
        for row in span(s.from.1, s.to.1) {
            for column in span(s.from.0, s.to.0) {
                let place = (row, column);
                if tiles.get(last).is_none_or(|t| t.0 != place) {
                    last = *numbers.entry(place).or_insert(tiles.len());
                    if last == tiles.len() {
                        tiles.push((place, Vec::new()));
                    }
                }
                tiles[last].1.push(n);
            }
        }
    }
    tiles.sort_by_key(|t| t.0);
    tiles
}

/// What is known of a square besides its pictures.
#[derive(Clone, Default)]
struct State {
    /// Place of its pictures, in squares; none yet if it was never swept.
    slot: Option<u32>,
    last_sweep: Option<u32>,
    last_s: f64,
    group: u32,
    /// Whether the pass under way has covered all of it.
    full: bool,
    passed: u64,
    groups: Vec<(u32, u32, u32)>,
}

/// The tile that is being swept; used for one after the other, as its pictures take some megabytes.
struct Tile {
    place: Place,
    /// Rows of a picture.
    rows: usize,
    cell_m: f64,
    again_s: f64,
    states: Vec<State>,
    /// Three pictures a square, one after the other: pass, outing, before.
    pictures: Vec<u64>,
    lines: Box<Lines>,
}

impl Tile {
    fn new(rows: usize, cell_m: f64, again_s: f64) -> Self {
        let states = vec![State::default(); (TILE * TILE) as usize];
        Self { place: (0, 0), rows, cell_m, again_s, states, pictures: Vec::new(), lines: Box::default() }
    }

    fn sweep(&mut self, number: u32, s: &Sweep) {
        // In squares from the tile's corner.
        let place = |v: f64, tile: i64| v / self.cell_m - (tile * TILE) as f64;
        let (tile_row, tile_column) = self.place;
        let a = (place(s.from.0, tile_column), place(s.from.1, tile_row));
        let b = (place(s.to.0, tile_column), place(s.to.1, tile_row));
        let r = s.radius_m / self.cell_m;
        let capsule = Capsule::new(a, b, r);
        let squares = |a: f64, b: f64| {
            let index = |v: f64| v.floor().clamp(0.0, (TILE - 1) as f64) as usize;
            index(a.min(b) - r)..=index(a.max(b) + r)
        };
        let mut lines = std::mem::take(&mut self.lines);
        for row in squares(a.1, b.1) {
            let mut drawn_for = None;
            for column in squares(a.0, b.0) {
                let square = row * TILE as usize + column;
                let done = self.is_done(square, s);
                if drawn_for != Some(column / ALIKE) {
                    drawn_for = Some(column / ALIKE);
                    lines.cross(&capsule, self.rows, column / ALIKE, row);
                }
                if done {
                    // Nothing is left to draw; only the time at which the coil was last there moves on.
                    if lines.reach(column) {
                        self.states[square].last_sweep = Some(number);
                        self.states[square].last_s = s.to_s;
                    }
                } else if lines.draw(column) {
                    let at = self.enter(square, number, s);
                    let picture = &mut self.pictures[at..at + self.rows];
                    for (word, new) in picture[lines.first..lines.end].iter_mut().zip(&lines.words) {
                        *word |= *new;
                    }
                    // A square is filled by sweeps that cross it from its lowest row to its highest.
                    if lines.first == 0 && lines.end == self.rows {
                        self.states[square].full = picture.iter().fold(u64::MAX, |all, w| all & w) == u64::MAX;
                    }
                }
            }
        }
        self.lines = lines;
    }

    /// Whether a sweep goes on with a pass that has covered all of a square.
    fn is_done(&self, square: usize, s: &Sweep) -> bool {
        let state = &self.states[square];
        state.full && state.group == s.group && s.from_s - state.last_s <= self.again_s
    }

    /// The place of a square's picture of the pass under way; begins a new pass or outing if this
    /// sweep does.
    fn enter(&mut self, square: usize, number: u32, s: &Sweep) -> usize {
        let size = 3 * self.rows;
        let state = &mut self.states[square];
        let slot = match state.slot {
            Some(slot) => slot as usize,
            None => {
                let slot = self.pictures.len() / size;
                *state = State { slot: Some(slot as u32), group: s.group, last_s: f64::NEG_INFINITY, ..State::default() };
                self.pictures.resize(self.pictures.len() + size, 0);
                slot
            }
        };
        if state.last_sweep != Some(number) {
            let pictures = &mut self.pictures[slot * size..(slot + 1) * size];
            if state.group != s.group {
                end_outing(state, pictures);
                state.group = s.group;
            } else if s.from_s - state.last_s > self.again_s {
                end_pass(state, pictures);
            }
            state.last_sweep = Some(number);
            state.last_s = s.to_s;
        }
        slot * size
    }

    /// The squares swept; the tile is then as new.
    fn finish(&mut self) -> Vec<Square> {
        let size = 3 * self.rows;
        let dots = (self.rows * COLUMNS) as f64;
        let mut squares = Vec::new();
        for (n, state) in self.states.iter_mut().enumerate() {
            let mut state = std::mem::take(state);
            let Some(slot) = state.slot else { continue };
            let pictures = &mut self.pictures[slot as usize * size..(slot as usize + 1) * size];
            end_outing(&mut state, pictures);
            let swept = ones(&pictures[size / 3 * 2..]);
            if swept == 0 {
                continue;
            }
            squares.push(Square {
                column: self.place.1 * TILE + n as i64 % TILE,
                row: self.place.0 * TILE + n as i64 / TILE,
                swept: f64::from(swept) / dots,
                passed: state.passed as f64 / dots,
                groups: state.groups.iter().map(|(g, all, new)| (*g, f64::from(*all) / dots, f64::from(*new) / dots)).collect(),
            });
        }
        self.pictures.clear();
        squares
    }
}

fn ones(picture: &[u64]) -> u32 {
    picture.iter().map(|w| w.count_ones()).sum()
}

fn end_pass(state: &mut State, pictures: &mut [u64]) {
    let (pass, rest) = pictures.split_at_mut(pictures.len() / 3);
    state.passed += u64::from(ones(pass));
    state.full = false;
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

/// The lesser of two that are numbers; plainer than `f32::min`, so that the compiler takes four at once.
fn less(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// The greater of two that are numbers.
fn more(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// A segment widened by a radius, in squares from its tile's corner: there a 32-bit number tells
/// millionths of a square apart, and four rows are worked out at once.
struct Capsule {
    a: (f32, f32),
    b: (f32, f32),
    r: f32,
    /// How far one goes along a row for each row up, following the segment, and following its normal.
    slope: f32,
    lean: f32,
    /// Half the width of the strip along the segment, and the width of that along its normal, both
    /// measured along a row.
    half: f32,
    span: f32,
}

impl Capsule {
    fn new(a: (f64, f64), b: (f64, f64), r: f64) -> Self {
        // A step along the rows or columns is turned by a millionth, which spares a case apart.
        let off_zero = |d: f64| if d.abs() < 1e-6 { 1e-6 } else { d };
        let (dx, dy) = (off_zero(b.0 - a.0), off_zero(b.1 - a.1));
        let length2 = dx * dx + dy * dy;
        let single = |p: (f64, f64)| (p.0 as f32, p.1 as f32);
        let half = (r * length2.sqrt() / dy.abs()) as f32;
        let (slope, lean, span) = ((dx / dy) as f32, (-dy / dx) as f32, (length2 / dx) as f32);
        Self { a: single(a), b: single(b), r: r as f32, slope, lean, half, span }
    }

    /// Where the line at height `y` lies in it; empty when the first is greater. A capsule is convex,
    /// so that is one interval: the hull of those in the two discs and in the rectangle between.
    fn interval(&self, y: f32) -> (f32, f32) {
        let disc = |end: (f32, f32)| {
            let h2 = self.r * self.r - (y - end.1) * (y - end.1);
            let h = more(h2, 0.0).sqrt();
            if h2 >= 0.0 { (end.0 - h, end.0 + h) } else { (f32::INFINITY, f32::NEG_INFINITY) }
        };
        let (one, two) = (disc(self.a), disc(self.b));
        // Within the rectangle the distance from the line through both ends is at most the radius,
        // and the foot lies between them: two intervals, of which the overlap counts.
        let up = y - self.a.1;
        let side = (up * self.slope - self.half, up * self.slope + self.half);
        let foot = up * self.lean;
        let (low, high) = (less(foot, foot + self.span), more(foot, foot + self.span));
        let (left, right) = (self.a.0 + more(side.0, low), self.a.0 + less(side.1, high));
        let (left, right) = if left <= right { (left, right) } else { (f32::INFINITY, f32::NEG_INFINITY) };
        (less(less(one.0, two.0), left), more(more(one.1, two.1), right))
    }
}

/// Squares side by side of which the rows of dots lie at the same heights.
const ALIKE: usize = 8;

/// The words of the first n columns, for n from 0 to 64; the rest is never asked for.
const COLUMNS_BELOW: [u64; 128] = {
    let mut words = [u64::MAX; 128];
    let mut n = 0;
    while n < COLUMNS {
        words[n] = (1 << n) - 1;
        n += 1;
    }
    words
};

/// A capsule cut by the rows of dots of one row of squares.
///
/// The rows of some squares are shifted by an offset of their own and the columns of each row likewise, so
/// that a swath dead along them is not too wide or too narrow all the way.
struct Lines {
    /// The rows it may lie in.
    first: usize,
    end: usize,
    /// For each of those rows the interval that lies in it, and the word drawn last.
    lefts: [f32; MOST_ROWS],
    rights: [f32; MOST_ROWS],
    words: [u64; MOST_ROWS],
}

impl Default for Lines {
    fn default() -> Self {
        Self { first: 0, end: 0, lefts: [0.0; MOST_ROWS], rights: [0.0; MOST_ROWS], words: [0; MOST_ROWS] }
    }
}

impl Lines {
    fn cross(&mut self, capsule: &Capsule, rows: usize, alike: usize, row: usize) {
        let offset = SHIFTS[(7 * alike + 13 * row) % MOST_ROWS];
        // The rows between its lowest and its highest point; the cast takes what is below zero to zero.
        let bottom = capsule.a.1.min(capsule.b.1) - capsule.r - row as f32;
        let top = capsule.a.1.max(capsule.b.1) + capsule.r - row as f32;
        self.first = ((bottom * rows as f32 - offset) as usize).min(rows);
        self.end = ((top * rows as f32 - offset) as usize + 1).min(rows);
        let (base, height) = (row as f32 + (self.first as f32 + offset) / rows as f32, 1.0 / rows as f32);
        let count = self.end.saturating_sub(self.first);
        for (k, (left, right)) in self.lefts[..count].iter_mut().zip(&mut self.rights[..count]).enumerate() {
            (*left, *right) = capsule.interval(base + k as f32 * height);
        }
    }

    /// Whether it lies in a square of the row.
    fn reach(&self, column: usize) -> bool {
        let count = self.end.saturating_sub(self.first);
        let corner = column as f32;
        self.lefts[..count].iter().zip(&self.rights[..count]).any(|(left, right)| *left < corner + 1.0 && *right > corner)
    }

    /// Draws what of it lies in a square of the row, one word for each row of dots; whether anything does.
    fn draw(&mut self, column: usize) -> bool {
        let count = self.end.saturating_sub(self.first);
        let corner = column as f32;
        // Columns up to an end of the interval: from 0 to 64. Added to this large number only whole ones are left,
        // in the lowest bits.
        let columns = |x: f32, shift: f32| {
            let ahead = (x - corner) * COLUMNS as f32 + (0.5 - shift);
            (less(more(ahead, 0.0), COLUMNS as f32) + 12_582_912.0).to_bits() & 127
        };
        let (mut from, mut to) = ([0_u32; MOST_ROWS], [0_u32; MOST_ROWS]);
        let (from, to) = (&mut from[..count], &mut to[..count]);
        let shifts = &SHIFTS[self.first..self.first + count];
        for (((from, to), shift), (left, right)) in
            from.iter_mut().zip(to.iter_mut()).zip(shifts).zip(self.lefts[..count].iter().zip(&self.rights[..count]))
        {
            (*from, *to) = (columns(*left, *shift), columns(*right, *shift));
        }
        let mut any = 0;
        for ((word, from), to) in self.words[..count].iter_mut().zip(from.iter()).zip(to.iter()) {
            *word = COLUMNS_BELOW[*to as usize] & !COLUMNS_BELOW[*from as usize];
            any |= *word;
        }
        any != 0
    }
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
