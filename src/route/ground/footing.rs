//! Whether an access is a way off the sand at all: some lie on sand that the next high water covers, and some on an
//! island that it makes.
//!
//! From the squares about the access the highest way to the back of the beach is sought: the one whose lowest square is
//! highest (a widest path, by a heap of squares in order of the lowest level met; O(squares x log squares)). When the
//! water with its margin covers that, whoever stands at the access is cut off, and when it covers the access itself, under
//! water. What stands at the back of the beach, behind it or off all surveyed sand is left alone: steps and roads have no
//! levels here.

use std::collections::BinaryHeap;

use geo_types::{Coord, Rect};

use super::cells::{Cells, Sand};
use crate::earth::Local;

/// So far seaward of the baseline, or of the surveyed sand nearest to it, the back of a beach reaches, metres.
const BACK_M: f64 = 20.0;
/// An access belongs to the squares within this, metres.
const NEAR_M: f64 = 40.0;

/// How high an access stands, above the tide's datum with the error of the sand taken off, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::route) struct Footing {
    /// The sand at the access.
    pub(in crate::route) own_m: f64,
    /// The lowest sand on the highest way from there to the back of the beach; never above `own_m`, and minus infinity
    /// where no surveyed way leads there.
    pub(in crate::route) way_m: f64,
}

/// How each access stands; `None` at the back of the beach, and where nothing is known of the sand there.
pub(in crate::route) fn footings(cells: &Cells, sand: &Sand<'_>, accesses: &[Local]) -> Vec<Option<Footing>> {
    let out_m = |at: &Local| sand.shore.to_shore(*at).across_m;
    if accesses.iter().all(|a| out_m(a) <= BACK_M) {
        return vec![None; accesses.len()];
    }
    let across: Vec<f64> = (0..cells.len()).map(|n| out_m(&cells.lay.to_local(cells.middle(n)))).collect();
    let first_m = (0..cells.len()).filter(|n| cells.is_ground(*n)).map(|n| across[n]).fold(f64::INFINITY, f64::min);
    let back_m = BACK_M.max(first_m + BACK_M / 2.0);
    let of_one = |at: &Local| (out_m(at) > back_m).then(|| footing(cells, sand, *at, |n| across[n] <= back_m)).flatten();
    accesses.iter().map(of_one).collect()
}

fn footing(cells: &Cells, sand: &Sand<'_>, access: Local, is_back: impl Fn(usize) -> bool) -> Option<Footing> {
    let place = cells.lay.lay_at(access);
    let reach = Coord { x: NEAR_M, y: NEAR_M };
    let away_m = |n: usize| geo::Distance::distance(&geo::Euclidean, place, cells.middle(n));
    let near = cells.within(Rect::new(place - reach, place + reach)).filter(|n| cells.is_ground(*n) && away_m(*n) <= NEAR_M);
    let first = near.min_by(|a, b| away_m(*a).total_cmp(&away_m(*b)))?;
    let own_m = sand.level(access).map_or(cells.level_m(first), |(m, _)| m);
    Some(Footing { own_m, way_m: highest_way_m(cells, first, is_back).min(own_m) })
}

/// The lowest level on the highest way from a square to any that is wanted, metres, rounded down to millimetres.
fn highest_way_m(cells: &Cells, first: usize, wanted: impl Fn(usize) -> bool) -> f64 {
    let mm = |n: usize| (cells.level_m(n) * 1000.0).floor() as i64;
    let mut best = vec![i64::MIN; cells.len()];
    best[first] = mm(first);
    let mut heap = BinaryHeap::from([(best[first], first)]);
    while let Some((lowest, n)) = heap.pop() {
        if lowest < best[n] {
            continue;
        }
        if wanted(n) {
            return lowest as f64 / 1000.0;
        }
        for (to, _, _) in cells.steps(n) {
            let lowest = lowest.min(mm(to));
            if lowest > best[to] {
                best[to] = lowest;
                heap.push((lowest, to));
            }
        }
    }
    f64::NEG_INFINITY
}
