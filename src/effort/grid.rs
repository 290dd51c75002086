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

use super::capsule::{ALIKE, COLUMNS, Capsule, Lines, MOST_ROWS};
use super::stretch::Sweep;

/// Squares along one side of a tile.
const TILE: i64 = 32;

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
    // Fine enough that at least 88 rows cross the narrowest swath: even what a coil held still sweeps is then true to 2 %.
    let rows = (((cell_m * 44.0 / narrowest).ceil() as usize).div_ceil(4) * 4).clamp(8, MOST_ROWS);
    let mut squares: Vec<Square> = by_tile(sweeps, cell_m * TILE as f64)
        .par_iter()
        .map_init(
            || (Tile::new(rows, cell_m, again_s), Lines::default()),
            |(tile, lines), (place, numbers)| {
                tile.place = *place;
                for n in numbers {
                    tile.sweep(*n, &sweeps[*n as usize], lines);
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
    /// Passes of this outing that are over, and what the last of them covered, dots.
    passes: u32,
    last_pass: u32,
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
}

impl Tile {
    fn new(rows: usize, cell_m: f64, again_s: f64) -> Self {
        let states = vec![State::default(); (TILE * TILE) as usize];
        Self { place: (0, 0), rows, cell_m, again_s, states, pictures: Vec::new() }
    }

    fn sweep(&mut self, number: u32, s: &Sweep, lines: &mut Lines) {
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
    state.last_pass = ones(pass);
    state.passed += u64::from(state.last_pass);
    state.passes += 1;
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
    // Mostly an outing passes over a square once, and dots need no second count.
    let all = if state.passes == 1 { state.last_pass } else { ones(outing) };
    let fresh = || outing.iter().zip(before.iter()).map(|(o, b)| (o & !b).count_ones()).sum();
    let new = if state.groups.is_empty() { all } else { fresh() };
    state.passes = 0;
    if all > 0 {
        state.groups.push((state.group, all, new));
    }
    for (before, outing) in before.iter_mut().zip(outing) {
        *before |= *outing;
        *outing = 0;
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

    /// Standing still is the hardest case: nothing but two round ends.
    #[test]
    fn a_coil_held_still_sweeps_the_area_of_a_disc() {
        let worst = (0..540)
            .map(|n| {
                let (r, at) = (0.3 + 0.005 * f64::from(n), f64::from(n));
                let place = ((at * 0.618).fract() - 42.7, (at * 0.414).fract() + 45.4);
                let found = area(&lay(&[sweep(place, place, r, 0.0, 0)], 1.0, 20.0));
                (found / (std::f64::consts::PI * r * r) - 1.0).abs()
            })
            .fold(0.0, f64::max);
        println!("worst {worst:.4}");
        assert!(worst < 0.02, "{worst}");
    }

    proptest! {
        #![proptest_config(crate::cases::kept())]
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
